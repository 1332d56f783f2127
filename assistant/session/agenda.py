"""What time brings: every moment at which something must be done or said, derived from the state. Timers are data, not threads.

`agenda(state)` lists what is due and when; `pass_time` does what has come due, the most urgent first; `next_deadline` is the soonest of the
rest. Doing an entry always removes it from the agenda (it raises an alert, tells a key, ends a step), so that time can pass in steps of any
length and come to the same. Nothing in heat is ever left out here, whatever is on hold.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from assistant.kitchen.doneness import food_of, probe_times_of
from assistant.kitchen.drop_check import cutting_check
from assistant.kitchen.meal import Step, StepKind
from assistant.session import ahead, before_drop, closing, danger, food, guests, helping, oil, oil_care, oven, sizing, thaw
from assistant.session import events as e
from assistant.session.before_drop import CHECK_S, REMIND_S, drop_planned
from assistant.session.commands import Intent
from assistant.session.state import BY_HAND, COOLING, IN_HEAT, State, Status, due_t, most_t
from assistant.session.turn import (
    Turn,
    batches_left,
    frying_next,
    heat_said,
    open_steps,
    present,
    wanted_next,
)
from assistant.speaking import prompts as p
from assistant.speaking.line import Priority

LOOK_AHEAD_S = 120.0
SURE_S = 60.0  # whoever has not said by then that the last piece is in has forgotten to
CALLED_S = 300.0  # how long "chips out" needs no address after it was called


@dataclass(frozen=True, slots=True)
class Due:
    """t: when, kitchen time; rank: which goes first when several are due (0 the most urgent); act: what is done about it."""

    t: float
    rank: int
    key: str
    act: Callable[[Turn], None]


def pass_time(turn: Turn) -> None:
    """Do all that has come due by the turn's time, the most urgent first."""
    while due := [d for d in agenda(turn.state) if d.t <= turn.t]:
        min(due, key=lambda d: (d.rank, d.t)).act(turn)


def next_deadline(state: State) -> float | None:
    """Kitchen time of the next thing that time brings; None when there is none."""
    return min((d.t for d in agenda(state)), default=None)


def agenda(state: State) -> Iterator[Due]:
    """All that time will bring, in no order."""
    if state.ended:
        return
    yield from _script(state)
    urgent = danger.how_bad(state) >= 2
    yield from _questions(state, "script:" if urgent else "")
    if urgent:
        return  # people first; clocks run on, and what ran out is said when it is over
    yield from _alerts(state)
    yield from (Due(*entry) for entry in oil.agenda(state, lambda pot_id: wanted_next(state, pot_id), drop_planned))
    if danger.how_bad(state) == 1:
        return  # first aid is said without a word between; too hot oil still is
    yield from _heat(state)
    yield from _clocks(state)
    yield from _waits(state)
    if state.script is None:
        yield from (Due(*entry) for entry in food.agenda(state))
    yield from _everyone(state)
    if state.held_t is None and state.script is None and (ahead.asking(state) or thaw.asking(state)):
        yield from (Due(*entry) for entry in (*ahead.agenda(state), *thaw.agenda(state)))
    elif state.held_t is None and state.script is None and "dinner" not in state.told:
        yield from (Due(*entry) for entry in thaw.agenda(state))
        yield from (Due(*entry) for entry in ahead.pause(state))
        yield from (Due(*entry) for entry in sizing.agenda(state))
        yield from (Due(*entry) for entry in before_drop.agenda(state))
        yield from (Due(*entry) for entry in oven.agenda(state))
        yield from _focus(state)
        yield from (Due(*entry) for entry in helping.agenda(state))
    elif state.held_t is None and state.script is None:
        yield from (Due(*entry) for entry in closing.agenda(state))


def _do(act: Callable[..., None], *args: object) -> Callable[[Turn], None]:
    """An entry's act with what it is about bound now, not when it is called."""
    return lambda turn: act(turn, *args)


def _everyone(state: State) -> Iterator[Due]:
    """Before the last step that cannot wait, whether everyone is there; not of whoever said that some are late."""
    if state.plan is not None and state.plan.ask_s is not None and "everyone" not in state.told and not state.second:
        fry = frying_next(state)
        left = sum(batches_left(state, s) for s in state.meal.steps() if s.fry is not None)
        # a cook who is ahead of the plan is asked before the last drop all the same
        frying = any(s.fry is not None for s, _ in state.in_heat())
        early = drop_planned(state, fry) - LOOK_AHEAD_S if fry is not None and left == 1 and not frying else math.inf
        yield Due(min(state.serve_t + state.plan.ask_s, early), 4, "everyone", _ask_everyone)
    yield from (Due(*entry) for entry in guests.agenda(state))


def _ask_everyone(turn: Turn) -> None:
    turn.happen(e.Told(turn.t, "everyone"))
    turn.ask("everyone", p.EVERYONE_HERE, (Intent.YES, Intent.NO, Intent.EVERYONE_HERE, Intent.LATE_GUESTS), wait_s=60.0)


def _script(state: State) -> Iterator[Due]:
    if state.script is not None and not any(q.id.startswith("script:") for q in state.questions):
        yield Due(state.script.next_t, 0, "script", danger.advance)


def _heat(state: State) -> Iterator[Due]:
    """Looks, due times and overtime of everything in heat."""
    for step, batch in state.in_heat():
        name, n = heat_said(state, step), batch.n
        key, due, most = f"lift:{step.id}:{n}", due_t(step, batch), most_t(step, batch)
        over = f"over:{step.id}:{n}"
        if step.fry is not None and state.held_t is not None and state.hazard_pot == step.fry.pot:
            continue  # stand back was said; what is in is called when the cook goes on
        if COOLING in state.clocks and state.held_t is not None:
            # hands are under the tap: whoever else is there is asked, once; what is still in is called when they are free
            another = f"another:{step.id}:{n}"
            if another not in state.told:
                lit = step.fry is not None and state.pots[step.fry.pot].on
                yield Due(due, 2, another, _do(_answer_once, another, p.someone_else(out_action(step, name), lit)))
            continue
        if over not in state.told and not batch.test:
            yield Due(most, 1, over, _do(_overtime, key, over, p.over_time(name)))
        if key not in state.told and over not in state.told:
            yield Due(due, 2, key, _do(_lift_due, key, step, name, batch.test))
        if batch.next_look_t is not None and batch.next_look_t < due and key not in state.told:
            yield Due(batch.next_look_t, 3, f"look:{step.id}:{n}", _do(_look, step, n))
        ahead = f"ahead:{step.id}:{n}"
        looked = step.look_s is not None and abs(due - LOOK_AHEAD_S - batch.in_t - step.look_s) < 60.0  # the look says it already
        if ahead not in state.told and key not in state.told and due - batch.in_t > 2 * LOOK_AHEAD_S and not looked:
            yield Due(due - LOOK_AHEAD_S, 6, ahead, _do(_remark, ahead, p.ahead(out_action(step, name), LOOK_AHEAD_S)))
        probe = f"probe:{step.id}:{n}"
        if probe not in state.told and step.id not in state.cores and not batch.test and state.meal.equipment.core_thermometer:
            first = probe_times_of(step, food_of(state.meal.dish(step.dish)))
            if first is not None and batch.in_t + first.first_s < most:
                yield Due(batch.in_t + first.first_s, 4, probe, _do(_answer_once, probe, p.probe_from_now(name)))
        if step.fry is not None and not batch.sure:
            sure = f"sure:{step.id}:{n}"
            if sure not in state.told:
                yield Due(batch.in_t + 20.0, 4, sure, _do(_answer_once, sure, p.all_in(name)))


def out_action(step: Step, name: str) -> str:
    """Taking food out of what it is in, as an action to name."""
    if step.kind is StepKind.BAKE:
        return p.take_out(name)
    return p.take_off(name) if step.kind is StepKind.STOVE else p.lift(name)


def _lift_due(turn: Turn, key: str, step: Step, name: str, test: bool) -> None:
    turn.happen(e.Told(turn.t, key))
    turn.close(f"look:{key.removeprefix('lift:')}")
    call_out(turn, key, step, name, f"{name} is due", test)


def call_out(turn: Turn, key: str, step: Step, name: str, cause: str, test: bool = False) -> None:
    """Food is to come out: an alert until it is, and whoever lifts it need not address us."""
    words = p.TEST_AGAIN if test else food.lift_order(turn, step, name, p.upper(out_action(step, name)) + ".")
    lifting = (Intent.LIFT, Intent.MORE_TIME, Intent.DONE)
    turn.happen(e.Asked(turn.t, f"out:{key.removeprefix('lift:')}", tuple(str(i) for i in lifting), turn.t + CALLED_S))
    if test:
        _ask_foam(turn, key)
    turn.alert(key, "medium", cause, "it is lifted or given more time", words)


def _ask_foam(turn: Turn, key: str) -> None:
    """Whenever a test batch is called out its foam is asked about, in the same words."""
    turn.happen(e.Asked(turn.t, f"foam:{key.removeprefix('lift:')}", (str(Intent.YES), str(Intent.NO)), turn.t + 60.0))


def _overtime(turn: Turn, key: str, over: str, words: str) -> None:
    turn.happen(e.Told(turn.t, over))
    turn.clear(key, acted=False)
    turn.alert(key, "high", "in the heat longer than its card allows", "it is lifted or given more time", words)


def _look(turn: Turn, step: Step, n: int) -> None:
    words = p.look(heat_said(turn.state, step), step.looks)
    turn.ask(f"look:{step.id}:{n}", words, (Intent.YES, Intent.NO, Intent.MORE_TIME), wait_s=60.0)


def _remark(turn: Turn, key: str, words: str) -> None:
    turn.happen(e.Told(turn.t, key))
    turn.say(words, Priority.REMARK)


def _answer_once(turn: Turn, key: str, words: str) -> None:
    turn.happen(e.Told(turn.t, key))
    turn.say(words)


def _alerts(state: State) -> Iterator[Due]:
    rank = {"high": 1, "medium": 3, "low": 7}
    for alert in state.alerts.values():
        yield Due(alert.next_t, rank[alert.priority], f"again:{alert.id}", _do(_repeat, alert.id))


def _repeat(turn: Turn, id: str) -> None:
    alert = turn.state.alerts[id]
    turn.happen(e.AlertRepeated(turn.t, id))
    tests = {f"lift:{step.id}:{batch.n}" for step, batch in turn.state.in_heat() if batch.test}
    if id in tests and turn.state.script is None:  # a yes there is the script's
        _ask_foam(turn, id)
    turn.say(alert.words, Priority.ALARM if alert.priority == "high" else Priority.ANSWER)


def _clocks(state: State) -> Iterator[Due]:
    for clock in state.clocks.values():
        if f"clock:{clock.id}" not in state.alerts:
            yield Due(clock.ends_t, 2, f"clock:{clock.id}", _do(_ring, clock.id))


def _ring(turn: Turn, id: str) -> None:
    clock = turn.state.clocks[id]
    if id == COOLING:
        turn.happen(e.ClockCancelled(turn.t, id))
        danger.comes_after(turn, "after_burn")
        return
    if id.startswith(oil_care.COLD):
        oil_care.oil_is_cold(turn, id)
        return
    turn.alert(f"clock:{id}", "medium", f"the clock on {clock.name or 'this'} ran out", "it is answered or cleared", p.clock_rang(clock.name))


def _questions(state: State, only: str = "") -> Iterator[Due]:
    """Questions that lapse; only: those whose id begins so."""
    for q in (q for q in state.questions if q.id.startswith(only)):
        yield Due(q.expires_t, 4 if not q.id.startswith("script:") else 0, f"lapse:{q.id}", _do(_lapse, q.id))


def _lapse(turn: Turn, id: str) -> None:
    if id.startswith("script:"):
        danger.answer(turn, "silence")
        return
    turn.happen(e.Answered(turn.t, id, "silence"))
    if id == "guests":
        guests.not_yet(turn)
    if id.startswith(closing.ASK):
        closing.answered(turn, id.removeprefix(closing.ASK), "silence")
    if id.startswith("which:"):
        oil_care.signs_answered(turn, id.removeprefix("which:"), "")
    if id.startswith("made:"):
        ahead.answer(turn, id.removeprefix("made:"), good=False)
    if id.startswith("thawed:"):
        thaw.answer(turn, id.removeprefix("thawed:"), good=False)


def _waits(state: State) -> Iterator[Due]:
    """Waits begin by themselves when what they wait for is done, end when their usual time is up, and are missed when what follows comes too late."""
    for step in state.meal.steps():
        if step.kind is not StepKind.WAIT:
            continue
        run = state.steps[step.id]
        if run.status is Status.TODO and step.after and all(state.steps[a].status is Status.SKIPPED for a in step.after):
            yield Due(state.t, 5, f"wait:{step.id}", _do(_skip_wait, step))
        elif run.status is Status.TODO and state.ready(step) and step.after:
            yield Due(state.t, 5, f"wait:{step.id}", _do(_begin_wait, step))
        elif run.status is Status.RUNNING and run.began_t is not None:
            yield Due(run.began_t + step.span.usual_s, 3, f"wait:{step.id}", _do(_end_wait, step))
        elif run.status is Status.DONE and run.began_t is not None and step.else_do and f"most:{step.id}" not in state.told:
            follows = [s for s in state.meal.steps() if step.id in s.after]
            if follows and all(state.steps[s.id].status is Status.TODO for s in follows):
                at = run.began_t + step.span.most_s
                yield Due(at, 3, f"most:{step.id}", _do(_wait_missed, step))


def _begin_wait(turn: Turn, step: Step) -> None:
    turn.happen(e.StepBegan(turn.t, step.id))
    if step.text:
        turn.say(p.do_now(step.said[0], step.text))
    turn.say(p.waiting(step.said[0], step.span.usual_s), Priority.REMARK)


def _skip_wait(turn: Turn, step: Step) -> None:
    """What would have waited was left out."""
    turn.happen(e.StepSkipped(turn.t, step.id))


def _end_wait(turn: Turn, step: Step) -> None:
    turn.happen(e.StepDone(turn.t, step.id))
    turn.say(p.wait_over(step.said[0]), Priority.REMARK)


def _wait_missed(turn: Turn, step: Step) -> None:
    turn.happen(e.Told(turn.t, f"most:{step.id}"))
    words = p.upper(step.else_do.rstrip(".")) + "."
    turn.say(words if p.one_breath(words) else p.late_by(step.said[0], 0.0))


def _focus(state: State) -> Iterator[Due]:
    """What to do now: a step by hand as soon as it can be done, anything that must be hot when its time has come."""
    if state.focus or any(batch.test for _, batch in state.in_heat()):
        return  # whoever has a test batch in watches how far it rises
    fry = frying_next(state)
    heat = [s.id for s in state.meal.steps() if s.kind in IN_HEAT and state.steps[s.id].status in (Status.TODO, Status.RUNNING)]
    drop = drop_planned(state, fry) if fry is not None and batches_left(state, fry) > 0 else math.inf
    if fry is not None and any(batch.test for batch in state.steps[fry.id].batches[-1:]):
        drop = state.t  # the full batch follows its test at once
    # whoever was just told to check and light a pot, or lowers food, has no hands for anything new
    lit = max((state.told.get(f"check:{name}", -CHECK_S) + CHECK_S for name, pot in state.pots.items() if not pot.on and pot.drops == 0), default=0.0)
    lit = max([lit, *(batch.in_t + SURE_S for step, batch in state.in_heat() if step.fry is not None and not batch.sure)])
    probing = any(q.id.startswith("core:") for q in state.questions)
    for step in open_steps(state):
        if step.fry is not None:
            continue
        if step.kind is StepKind.PLATE and any(s not in state.second or step.id in state.second for s in heat):
            continue  # plates are filled when the last thing is out of the heat
        at = state.t if step.kind is StepKind.TOSS or ahead.can_be_early(state, step) else state.start_of(step.id)
        hands = step.span.usual_s if step.kind in BY_HAND else step.hands_s
        if step.kind is not StepKind.TOSS and (probing or at + max(hands, REMIND_S) > drop):
            continue  # hands are wanted at the pot, or at the thermometer, first
        rank = 4 if step.kind is StepKind.TOSS else 5  # salt and sauce go on within the half minute
        yield Due(max(at, lit), rank, f"focus:{step.id}", _do(_present, step))
    if fry is None and all(r.status in (Status.DONE, Status.SKIPPED) for r in state.steps.values()) and "dinner" not in state.told:
        yield Due(state.t, 5, "dinner", closing.dinner_up)


def _present(turn: Turn, step: Step) -> None:
    if (
        "knife" not in turn.state.told
        and step.kind is StepKind.HANDS
        and any(w in step.text.lower().split() for w in ("cut", "slice", "chop", "peel"))
    ):
        turn.happen(e.Told(turn.t, "knife"))
        turn.say_list(cutting_check())
    present(turn, step)
