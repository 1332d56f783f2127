"""What the cook tells: steps begun and done, food put somewhere, people, times, notes; and bare values, for the question that wants one.

The pot has rooms of its own (`frying`, `oil_told`); steering (yes, undo, skip, holds) is in `decide`, clocks are in `clocks`.
"""

from __future__ import annotations

from dataclasses import replace

from assistant.kitchen.scale import MOST_PEOPLE
from assistant.session import clocks, closing, food, frying, guests, helping, leaving, oil_care, oil_told, oven, sizing
from assistant.session import events as e
from assistant.session.commands import Command, Intent
from assistant.session.frying import finish
from assistant.session.said_back import ask_whether
from assistant.session.state import BY_HAND, IN_HEAT, State, Status, due_t
from assistant.session.turn import Turn, from_pairs, in_heat, matches, open_steps, present, spoken
from assistant.speaking import prompts as p

BOILS_C = 100.0
"""No core is hotter while there is water in it, and no oil that has fried is so cold."""
EARLY = 0.5
"""Share of its time that food in the heat has left when "done" is doubted."""


def begin(turn: Turn, command: Command) -> None:
    """A step begins because the cook says so."""
    step = next((s for s in open_steps(turn.state) if matches(turn.state, s, command.item)), None)
    if step is None:
        turn.say(_not_now(turn.state, command.item))
        return
    if step.fry is not None:
        frying.dropping(turn, command)
    else:
        present(turn, step)


def done(turn: Turn, command: Command) -> None:
    """What is at hand is finished: by hand, or put into heat, or lifted. Long before it is due in the heat, or of a dish whose next work has not
    begun, it is asked first: "is the fish done" is all but the same words."""
    state = turn.state
    focus = state.meal.step(state.focus) if state.focus else None
    if focus is not None and matches(state, focus, command.item):
        if focus.kind in BY_HAND:
            finish(turn, focus)
        else:
            frying.into_heat(turn, focus)
        return
    heat = in_heat(state, command.item)
    if heat is not None and (command.item is not None or f"lift:{heat[0].id}:{heat[1].n}" in state.alerts):
        step, batch = heat
        if due_t(step, batch) - turn.t > EARLY * step.span.usual_s:
            ask_whether(turn, Command(Intent.LIFT, item=command.item))
        else:
            frying.lift(turn, command)
        return
    named = [s for s in state.meal.steps() if command.item is not None and matches(state, s, command.item)]
    running = next((s for s in named if s.kind not in IN_HEAT and state.steps[s.id].status is Status.RUNNING), None)
    todo = next((s for s in open_steps(state) if s.kind in BY_HAND and s in named), None)
    if running is not None:
        finish(turn, running)
    elif todo is not None and todo.id == command.item:
        finish(turn, todo)
    elif todo is not None:
        ask_whether(turn, Command(Intent.DONE, item=todo.id))
    elif command.item is None and focus is None and (job := helping.at_it(state)) is not None:
        finish(turn, job)
    else:
        turn.say(_not_now(state, command.item))


def _not_now(state: State, item: str | None) -> str:
    """Why nothing that was named can begin or be done: it waits for something, or is finished."""
    named = [s for s in state.meal.steps() if item in (s.id, s.dish)]
    for step in named:
        waits = next((a for a in step.after if state.steps[a].status in (Status.TODO, Status.RUNNING)), None)
        if waits is not None and state.steps[step.id].status is Status.TODO:
            return p.step_waits_for(step.said[0], spoken(state, waits))
    if named and all(state.steps[s.id].status is Status.DONE for s in named):
        return p.step_done(spoken(state, str(item)))
    return p.NOT_NOW


def place(turn: Turn, command: Command) -> None:
    """Food was put somewhere; into the oven may be a step of its own."""
    assert command.item is not None
    assert command.place is not None
    step = next((s for s in open_steps(turn.state) if s.bake is not None and matches(turn.state, s, command.item)), None)
    if command.place == "oven" and step is not None:
        frying.into_heat(turn, step)
        return
    before = len(turn.events)
    turn.happen(e.Placed(turn.t, command.item, command.place))
    if command.place == "oven":
        oven.used(turn)
    told = any(isinstance(x, e.Said) for x in turn.events[before:])
    lost = command.place in food.ENDED_AT or any(turn.state.ledger.items[i].over for i in food.meant(turn.state, command.item))
    if not (told and lost):  # "Too late: discard ..." is all there is to say
        turn.say(p.place_noted(spoken(turn.state, command.item), command.place))


def out_of(turn: Turn, command: Command) -> None:
    """Something has run out."""
    assert command.item is not None
    leaving.out_of(turn, command.item)


def headcount(turn: Turn, command: Command) -> None:
    """So many eat, or so many more or fewer."""
    assert command.count is not None
    by = {"more": command.count, "fewer": -command.count}.get(command.sign or "")
    count = command.count if by is None else turn.state.people + by
    if not 1 <= count <= MOST_PEOPLE:
        turn.say(p.HOW_MANY_PEOPLE)
        return
    turn.happen(e.PeopleCounted(turn.t, count))
    turn.say(p.people(count))


def serve_at(turn: Turn, command: Command) -> None:
    """Another serving time."""
    assert command.day_s is not None
    question = next((q for q in turn.state.questions if q.id == "time"), None)
    if question is not None and str(Intent.SERVE_AT) in question.accepts:
        answer(turn, command)
        return
    told = turn.state.serve_t
    # the time so called that is nearest to the serving as it stands: an evening may begin the day before
    wanted = told + (command.day_s - turn.state.day_at(told) + 43200.0) % 86400.0 - 43200.0
    if wanted <= turn.t:
        turn.ask(f"passed:{wanted + 86400.0:.0f}", p.has_passed(command.day_s), (Intent.YES, Intent.NO))
        return
    move_serving(turn, wanted - told, "the cook asked")
    turn.say(p.serve_at(command.day_s))


def running_late(turn: Turn, command: Command) -> None:
    """Everything later by so much."""
    assert command.seconds is not None
    move_serving(turn, command.seconds, "running late")
    turn.say(p.running_late(command.seconds, turn.state.day_at(turn.state.serve_t)))


def move_serving(turn: Turn, by_s: float, why: str) -> None:
    """Move the serving time and everything that has not begun."""
    state = turn.state
    turn.happen(e.ServingMoved(turn.t, state.serve_t + by_s))
    if state.plan is not None:
        return  # the plan moves what must move
    slots = tuple((i, a + by_s, b + by_s) if state.steps[i].status is Status.TODO else (i, a, b) for i, a, b in state.slots)
    turn.happen(e.OrderAdopted(turn.t, slots, why))


def note(turn: Turn, command: Command) -> None:
    """Words to keep, with what is going on."""
    running = ", ".join(spoken(turn.state, s.id) for s, _ in turn.state.in_heat()) or (
        spoken(turn.state, turn.state.focus) if turn.state.focus else ""
    )
    turn.happen(e.Noted(turn.t, command.text or "", running))
    turn.say(p.NOTED)


def served(turn: Turn, command: Command) -> None:
    """It is on the table: what must still be looked after."""
    turn.happen(e.Focused(turn.t, ""))
    closing.dinner_up(turn)


def everyone(turn: Turn, command: Command) -> None:
    """Everyone is there."""
    turn.close("everyone", "yes")
    turn.close("guests", "yes")
    if turn.state.second:
        guests.here(turn)
        return
    turn.say(p.CARRYING_ON)


def late_guests(turn: Turn, command: Command) -> None:
    """Some are late."""
    turn.close("everyone", "no")
    if command.count is None:
        guests.ask_how_many(turn)
    else:
        guests.late(turn, command.count)


def answer(turn: Turn, command: Command) -> None:
    """A bare value, for the open question that wants one."""
    count = command.count if command.count is not None else command.number
    if count is not None and count <= turn.state.people and any(q.id == "late" for q in turn.state.questions):
        guests.late(turn, int(count))  # so few are no degrees, whatever was asked since
        return
    celsius = value_c(turn.state, command)
    not_this = "" if celsius is None or not _core_and_oil(turn.state) else "oil" if celsius < BOILS_C else "core"
    for q in reversed(turn.state.questions):
        kind, _, rest = q.id.partition(":")
        if kind == not_this:
            continue
        if kind == "time" and command.day_s is not None:
            turn.happen(e.Answered(turn.t, q.id, "value"))
            turn.happen(e.TimeOfDaySet(turn.t, command.day_s))
            turn.say(p.time_set(command.day_s))
            return
        if kind == "how-long" and command.seconds is not None:
            clocks.set_one(turn, replace(from_pairs(q.pending), seconds=command.seconds))
            return
        if kind == "pot" and sizing.answer(turn, q, command):
            return
        if kind == "bread" and oil_told.bread_answered(turn, rest, command):
            return
        if kind == "topup" and command.litres is not None:
            oil_told.topped_up(turn, command)
            return
        if kind in ("signs", "which") and (command.sign is not None or (kind == "which" and command.level == "unknown")):
            turn.happen(e.Answered(turn.t, q.id, "value"))
            oil_care.signs_answered(turn, rest, command.sign or "")
            return
        if kind == oven.TURNED and celsius is not None:
            oven.told_temp(turn, Command(Intent.OVEN_TEMP, celsius=celsius, words=command.words))
            return
        if kind in ("oil", "core", "reading") and celsius is not None:
            {"oil": oil_told.oil_read, "core": frying.core_read, "reading": food.read}[kind](turn, celsius, rest)
            return
    turn.say(p.SAY_AGAIN)


def _core_and_oil(state: State) -> bool:
    """Whether a core and oil that has fried were asked for in one breath: then the figure itself says which of the two it is."""
    oil = [q.id.partition(":")[2] for q in state.questions if q.id.startswith("oil:")]
    return bool(oil) and all(state.pots[pot].drops > 0 for pot in oil) and any(q.id.startswith("core:") for q in state.questions)


def value_c(state: State, command: Command) -> float | None:
    """The temperature a bare answer means, C: a number without a unit is in the cook's units."""
    if command.celsius is not None:
        return command.celsius
    number = command.number if command.number is not None else command.count
    if number is None:
        return None
    return (number - 32.0) / 1.8 if state.units == "F" else float(number)
