"""Answers to what the cook asks, from the state alone. Nothing here changes anything but what was said."""

from __future__ import annotations

from collections.abc import Iterator
from math import ceil

from assistant.kitchen import doneness
from assistant.kitchen.food_clocks import Place
from assistant.kitchen.limits import batch_limits
from assistant.kitchen.meal import Step, StepKind
from assistant.kitchen.notices import standing
from assistant.kitchen.oil import allergens
from assistant.kitchen.oil.batch import BatchLimit
from assistant.kitchen.oil.gate import STALE_K
from assistant.kitchen.scripts import advice, whom_to_call
from assistant.session import agenda, before_drop, danger, food, oil_gate, oven
from assistant.session.commands import Command, Intent
from assistant.session.oil import USED_BEFORE
from assistant.session.state import IN_HEAT, State, Status, due_t
from assistant.session.turn import Turn, batches_left, core_wanted, frying_next, heat_said, in_heat, matches, next_step, wanted_next
from assistant.speaking import prompts as p

OVERDUE_S = 120.0
SIT_S = 120.0


def whats_next(turn: Turn, command: Command) -> None:
    """The next thing by time: something due out, a drop, a step."""
    state = turn.state
    fry = frying_next(state)
    due = state.in_heat()
    drop_t = before_drop.drop_planned(state, fry) if fry is not None and batches_left(state, fry) > 0 else None
    lift_t = due_t(*due[0]) if due else None
    if (
        fry is not None
        and drop_t is not None
        and (lift_t is None or drop_t <= lift_t)
        and (not state.focus or drop_t - turn.t <= before_drop.REMIND_S * 2)
    ):
        turn.say(p.next_at(fry.said[0], drop_t - turn.t))
        return
    if lift_t is not None and due and lift_t - turn.t <= 300.0:
        turn.say(p.next_at(agenda.out_action(due[0][0], heat_said(state, due[0][0])), lift_t - turn.t))
        return
    if state.focus and state.steps[state.focus].status is not Status.DONE:
        step = state.meal.step(state.focus)
        turn.say(p.do_now(step.said[0], step.text))
        return
    upcoming = next_step(state)
    if upcoming is None:
        turn.say(p.NOTHING_NEXT)
        return
    turn.say(p.next_at(upcoming.said[0], state.start_of(upcoming.id) - turn.t))


def repeat(turn: Turn, command: Command) -> None:
    """The last words again."""
    turn.say(turn.state.last_words or p.NOTHING_RUNNING)


def which_step(turn: Turn, command: Command) -> None:
    """What the cook was told to do."""
    state = turn.state
    if state.focus:
        turn.say(p.step_is(state.meal.step(state.focus).said[0]))
        return
    heat = state.in_heat()
    turn.say(p.step_is(heat[0][0].said[0]) if heat else p.NOTHING_RUNNING)


def how_long(turn: Turn, command: Command) -> None:
    """Time left on what was named, or on what is due first; how it stands with what is not under way."""
    state = turn.state
    clock = state.clocks.get(command.item or "")
    if clock is not None:
        turn.say(p.time_left(clock.name, clock.ends_t - turn.t))
        return
    found = in_heat(state, command.item)
    if found is not None:
        turn.say(p.time_left(heat_said(state, found[0]), due_t(*found) - turn.t))
        return
    for step in state.meal.steps():
        run = state.steps[step.id]
        named = command.item in (None, step.id, step.dish)
        if named and step.kind is StepKind.WAIT and run.status is Status.RUNNING and run.began_t is not None:
            turn.say(p.time_left(step.said[0], run.began_t + step.span.usual_s - turn.t))
            return
    if command.item is None and state.clocks:
        first = min(state.clocks.values(), key=lambda c: c.ends_t)
        turn.say(p.time_left(first.name or "your clock", first.ends_t - turn.t))
        return
    _standing(turn, command.item)


def when_drop(turn: Turn, command: Command) -> None:
    """When the next batch of what was named goes in, or it goes into the oven, else on the stove: after the lift, when the oil is hot, as planned."""
    state = turn.state
    named = [s for s in _named(state, command.item) if s.kind in IN_HEAT]
    heat = [s for s in named if state.steps[s.id].status in (Status.TODO, Status.RUNNING)]
    if not heat and any(s.fry is not None for s in named):
        turn.say(p.batches_left(heat_said(state, named[0]), 0))
        return
    if not heat:
        _standing(turn, command.item)
        return
    step = min(heat, key=lambda s: (state.steps[s.id].status is Status.TODO, s.kind is StepKind.STOVE, state.start_of(s.id)))
    batch = state.steps[step.id].current
    if batch is not None and batches_left(state, step) > 0:
        turn.say(p.after_lift(heat_said(state, step), due_t(step, batch) - turn.t))
    elif batch is not None:
        turn.say(p.time_left(heat_said(state, step), due_t(step, batch) - turn.t))
    elif state.steps[step.id].status is Status.RUNNING:
        turn.say(p.when_hot(heat_said(state, step)))
    else:
        turn.say(_planned(turn, step))


def _named(state: State, item: str | None) -> list[Step]:
    """Steps of this name or of the dish of this name; else those in heat of dishes with this ingredient."""
    own = [s for s in state.meal.steps() if item in (s.id, s.dish)]
    return own or [s for s in state.meal.steps() if s.kind in IN_HEAT and item not in s.uses and matches(state, s, item)]


def _standing(turn: Turn, item: str | None) -> None:
    """How it is with what is not under way: to be probed, what the cook is at, when it is planned to be in heat or to begin, or finished."""
    state = turn.state
    named = _named(state, item) if item else []
    todo = [s for s in named if state.steps[s.id].status is Status.TODO]
    probed = next((s for s in named if any(q.id == f"core:{s.id}" for q in state.questions)), None)
    if probed is not None:
        turn.say(core_wanted(state, probed))
    elif any(s.id == state.focus for s in named):
        turn.say(p.step_is(state.meal.step(state.focus).said[0]))
    elif todo:
        turn.say(_planned(turn, min(todo, key=lambda s: (s.kind not in IN_HEAT, state.start_of(s.id)))))
    elif named and all(state.steps[s.id].status is Status.DONE for s in named):
        turn.say(p.step_done(named[0].said[0] if len(named) == 1 else state.meal.dish(named[0].dish).said[0]))
    else:
        turn.say(p.NOT_NOW)


def _planned(turn: Turn, step: Step) -> str:
    """By the order, whatever has been late since."""
    starts_t = turn.state.start_of(step.id)
    return p.planned(step.said[0], turn.state.day_at(starts_t), starts_t < turn.t)


def whats_running(turn: Turn, command: Command) -> None:
    """Every running clock, the soonest first; then every pot that only heats. Of the oven what bakes in it, then what is kept hot there."""
    state = turn.state
    if command.place == "oven":
        baking = [p.time_left(heat_said(state, s), due_t(s, b) - turn.t) for s, b in state.in_heat() if s.bake is not None]
        kept = [p.kept_hot(i.name) for i in state.ledger.open() if i.place is Place.HOT]
        turn.say_list([*baking, *kept][:4] or [p.OVEN_EMPTY])
        return
    running = [(due_t(s, b), heat_said(state, s)) for s, b in state.in_heat()]
    running += [(c.ends_t, c.name or "your clock") for c in state.clocks.values()]
    running += [
        (run.began_t + s.span.usual_s, s.said[0])
        for s in state.meal.steps()
        if s.kind is StepKind.WAIT and (run := state.steps[s.id]).status is Status.RUNNING and run.began_t is not None
    ]
    lines = [p.time_left(name, end - turn.t) for end, name in sorted(running)[:4]]
    turn.say_list([*lines, *_heating(turn)] or [p.NOTHING_RUNNING])


def _heating(turn: Turn) -> Iterator[str]:
    state = turn.state
    frying = {step.fry.pot for step, _ in state.in_heat() if step.fry is not None}
    for pot_id, pot in state.pots.items():
        if pot.on and pot_id not in frying:
            step = wanted_next(state, pot_id)
            ready = None if step is None or step.fry is None else oil_gate.ready_s(state, pot_id, step.fry.oil_c)
            yield p.oil_heats("" if step is None else heat_said(state, step), ready)


def what_forgotten(turn: Turn, command: Command) -> None:
    """What is overdue, the most urgent first."""
    state = turn.state
    rank = {"high": 0, "medium": 1, "low": 2}
    missed = [a.words for a in sorted(state.alerts.values(), key=lambda a: rank[a.priority])]
    missed += [
        p.late_by(s.said[0], turn.t - state.start_of(s.id))
        for s in state.meal.steps()
        if state.steps[s.id].status is Status.TODO and state.ready(s) and turn.t - state.start_of(s.id) > OVERDUE_S and s.id != state.focus
    ]
    turn.say_list(missed[:4] or [p.NOTHING_MISSED])


def oil_ready(turn: Turn, command: Command) -> None:
    """Whether the next drop may go, by the last reading."""
    state = turn.state
    pot_id = danger.pot_in_use(state)
    pot, step = state.pots.get(pot_id), wanted_next(state, pot_id)
    now = None if pot is None else oil_gate.oil_now(state, pot_id)
    if now is None or now[1] > STALE_K:
        turn.say(p.OIL_UNKNOWN)
        return
    celsius = now[0]
    if step is None or step.fry is None:
        turn.say(p.oil_noted(celsius, None, state.units))
        return
    want = step.fry.oil_c
    ok = want - step.fry.under_c - 0.3 <= celsius <= want + step.fry.over_c + 0.3
    coming = None if ok else oil_gate.ready_words(state, pot_id, want)
    turn.say(p.oil_ready(celsius, state.units) if ok else p.oil_noted(celsius, want, state.units))
    if coming is not None:
        turn.say(coming)


def batches(turn: Turn, command: Command) -> None:
    """Batches of a fry still to go in."""
    state = turn.state
    named = [s for s in state.meal.steps() if s.fry is not None and command.item in (None, s.id, s.dish)]
    current = (
        [s for s in named if state.steps[s.id].status is Status.RUNNING] or [s for s in named if state.steps[s.id].status is Status.TODO] or named
    )
    if not current:
        turn.say(p.NOT_NOW)
        return
    step = current[0]
    turn.say(p.batches_left(heat_said(state, step), batches_left(state, step)))


def how_many(turn: Turn, command: Command) -> None:
    """The largest batch that may go in next, its oil hot or still cold, by what this pot has taught, and what limits it."""
    state = turn.state
    left = [s for s in state.meal.steps() if batches_left(state, s) > 0 and state.steps[s.id].status in (Status.TODO, Status.RUNNING)]
    coming = [s for s in left if matches(state, s, command.item)]
    step = min(coming, key=lambda s: (state.steps[s.id].status is Status.TODO, state.start_of(s.id)), default=None)
    if step is None:
        turn.say(p.NOT_NOW)
        return
    later = frying_next(state, command.item) is None  # nobody would drop it now, so the test batch is not what is asked about
    found = oil_gate.largest(state, step, after_test=later)
    name = heat_said(turn.state, step)
    if found is None or step.fry is None:
        limits = batch_limits(step, turn.state.pot_of(step))
        turn.say(p.batch_size(name, limits.most_kg, limits.most_pieces))
        return
    most, why = found
    rest = step.fry.kg / step.fry.batches * batches_left(turn.state, step)
    if most.kg >= rest * 0.999 and most.limited_by is not BatchLimit.FRESH:
        turn.say(p.batch_size(name, rest, None if step.fry.pieces is None else ceil(step.fry.pieces / step.fry.kg * rest - 1e-6)))
        turn.say(p.ALL_OF_IT)
        return
    turn.say(p.batch_size(name, most.kg, most.pieces))
    turn.say(p.batch_limit(why))


def when_eat(turn: Turn, command: Command) -> None:
    """When the meal comes to the table, or that it has."""
    state = turn.state
    late = lateness(turn)
    left_s = state.serve_t + late - turn.t
    if "dinner" in state.told:
        turn.say(p.SERVED_NOW)
    elif left_s < 0:
        turn.say(p.eat_was(state.day_at(state.serve_t + late)))
    else:
        turn.say(p.eat_at(state.day_at(state.serve_t + late), left_s))


def keeps(turn: Turn, command: Command) -> None:
    """How long what is perishable of this name may stay as it is, the soonest first."""
    state = turn.state
    mine = food.meant(state, command.item or "")
    turn.say_list(standing(state.ledger, mine, turn.t, state.units)[:2] or [p.NOT_PERISHABLE])


def what_time(turn: Turn, command: Command) -> None:
    """The time, and how long until the meal while that is to come; what it is, while it is asked of the cook, only the cook knows."""
    state = turn.state
    if any(q.id == "time" and Intent.SERVE_AT in q.accepts for q in state.questions):
        turn.say(p.ASK_TIME)
        return
    to_come = "dinner" not in state.told
    turn.say(p.time_is(state.day_at(turn.t), state.serve_t + lateness(turn) - turn.t if to_come else 0.0))


def lateness(turn: Turn) -> float:
    """How far behind the order the evening is, s: the longest delay of a step that could have begun."""
    state = turn.state
    late = [
        turn.t - state.start_of(s.id)
        for s in state.meal.steps()
        if state.steps[s.id].status is Status.TODO and state.ready(s) and s.kind is not StepKind.WAIT
    ]
    return max([0.0, *late])


def how_doing(turn: Turn, command: Command) -> None:
    """On time, or how far behind."""
    late = lateness(turn)
    turn.say(p.ON_TIME if late < OVERDUE_S else p.behind(late))


def can_sit(turn: Turn, command: Command) -> None:
    """How long hands are free."""
    state = turn.state
    coming = agenda.next_deadline(state)
    free = 0.0 if state.focus or coming is None else coming - turn.t
    turn.say(p.sit(free if free >= SIT_S else 0.0))


def who_can_eat(turn: Turn, command: Command) -> None:
    """Every allergen of a dish, as the card has them, with those that its oil carries; none is left out for shortness."""
    state = turn.state
    dishes = [d for d in state.meal.dishes if command.item in (None, d.id) and not d.component]
    in_oil = {pot: run.life.allergens for pot, run in state.pots.items()}
    was = {i: frozenset(a for b in run.batches for a in b.oil_allergens) for i, run in state.steps.items()}
    fried = {i for i, run in state.steps.items() if run.status in (Status.DONE, Status.SKIPPED)}
    for dish in dishes:
        own = sorted(allergens.own(state.meal, dish))
        by_oil = sorted(allergens.by_the_oil(state.meal, dish, in_oil, was, fried))
        lines = [p.allergens(dish.said[0], own[i : i + 2]) for i in range(0, len(own), 2)]
        lines += [p.allergens(dish.said[0], by_oil[i : i + 2], by_oil=True) for i in range(0, len(by_oil), 2)]
        lines = lines or [p.allergens(dish.said[0], [])]
        pots = {s.fry.pot for d in allergens.parts(state.meal, dish) for s in d.steps if s.fry is not None}
        if any(f.name == USED_BEFORE for pot in pots for f in state.pots[pot].life.fried):
            lines.append(p.OIL_WITH_A_PAST)
        turn.say_list(lines)
    if not dishes:
        turn.say(p.NOT_NOW)


def what_temp(turn: Turn, command: Command) -> None:
    """Which temperatures something wants: oil, oven, core; nothing named: the oil for the next drop."""
    state = turn.state
    if command.place == "oven":
        uses = [p.oven_for(heat_said(state, state.meal.step(step_id)), celsius, state.units) for step_id, celsius, _ in oven.wanted(state)]
        turn.say_list(uses[:4] or [p.NO_FIGURE])
        return
    if command.item is None:
        found = [s for pot in state.pots if (s := wanted_next(state, pot)) is not None]
    else:
        named = [s for s in state.meal.steps() if command.item in (s.id, s.dish)]
        found = named or [s for s in state.meal.steps() if matches(state, s, command.item)]
    fries = [s for s in found if s.fry is not None]
    lines = []
    for step in found:
        name = step.said[0] if len(fries) > 1 else heat_said(state, step)
        if step.fry is not None:
            lines.append(p.oil_for(name, step.fry.oil_c, state.units))
        if step.bake is not None:
            lines.append(p.oven_for(name, step.bake.oven_c, state.units))
        if step.core_c is not None:
            want = doneness.target(doneness.food_of(state.meal.dish(step.dish)), step.core_c)
            lines.append(p.core_for(heat_said(state, step), want.core_c, state.units))
    turn.say_list(lines[:4] or [p.NO_FIGURE])


def what_if(turn: Turn, command: Command) -> None:
    """A danger asked about calmly: what its script would say, in short; nothing begins. Leaving hot oil, and whom to call, are in none."""
    state = turn.state
    if command.hazard == "leave":
        turn.say_list((p.NEVER_LEAVE, p.OFF_BEFORE_LEAVING))
        return
    if command.hazard == "call":
        turn.say(whom_to_call(state.region))
        return
    if command.hazard == "cut" and any(pot.on for pot in state.pots.values()):
        turn.say(p.NOBODY_AT_THE_OIL)
    turn.say_list(advice(command.hazard or "fire", state.region))


def help_me(turn: Turn, command: Command) -> None:
    """Help: with hot oil about, first whether it is a danger."""
    if any(pot.on or pot.drops > 0 for pot in turn.state.pots.values()):
        danger.begin(turn, "get_help")
    else:
        what_to_say(turn, command)


def what_to_say(turn: Turn, command: Command) -> None:
    """What there is to say."""
    turn.say(p.HELP_ASK, pause_s=1.5)
    turn.say(p.HELP_MORE)
