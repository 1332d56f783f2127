"""What the cook tells about food in heat: about to lower it, in, out, more time, core temperatures.

The gate before a drop, by the card's band: five degrees F under the set point and rising may go, fifteen over still may (both settable on
the card); no reading for five minutes is no reading. The answer is "Go" with the temperature, or "Hold" with what is wrong; the cook may
overrule, and that is journaled.
"""

from __future__ import annotations

from assistant.kitchen.doneness import Verdict, food_of, judge, needs_core
from assistant.kitchen.drop_check import drop_lines
from assistant.kitchen.meal import Heat, Step
from assistant.kitchen.oil import foam
from assistant.kitchen.oil.flame import Flame
from assistant.kitchen.oil.gate import Reason
from assistant.kitchen.oil.life import TOP_UP_RULES
from assistant.session import agenda, before_drop, food, oil_care, oil_gate, oven
from assistant.session import events as e
from assistant.session.commands import FLAME_ANSWERS, Command, Intent
from assistant.session.state import IN_HEAT, Batch, State, Status, due_t
from assistant.session.turn import (
    Turn,
    batches_left,
    core_wanted,
    frying_next,
    heat_said,
    heating_next,
    in_heat,
    in_pot,
    matches,
    wanted_next,
)
from assistant.speaking import prompts as p
from assistant.speaking.line import Priority

READING_K = 1.0  # a kitchen thermometer is read to about this
READ_AGAIN_S = 120.0
LEAST_PART = 0.15  # of a batch; less is not worth a batch of its own


def finish(turn: Turn, step: Step) -> None:
    """A step is done; say so only when the cook could not know which was meant."""
    named = turn.state.focus != step.id
    turn.happen(e.StepDone(turn.t, step.id))
    turn.clear(f"late:{step.id}")
    if named:
        turn.say(p.step_done(step.said[0]))
    oven.keep(turn, step)


def gate(state: State, step: Step, oil_alone: bool = False) -> tuple[str, ...]:
    """Why this drop should wait, as short sentences; empty when it may go. A reading that is missing or stale is a reason of its own.
    oil_alone: whether the oil is right, whatever else is to be done first."""
    fry = step.fry
    if fry is None:
        return ()
    pot = state.pots[fry.pot]
    if pot.foaming:
        return (p.FOAM_FIRST,)
    if pot.fresh and not pot.tested and not oil_alone:
        return (p.TEST_FIRST,)
    found = oil_gate.verdict(state, step)
    if found is not None:
        return oil_gate.hard_reasons(found) or oil_gate.soft_reasons(found, state.units, pot.on and state.pot_now(fry.pot).heat is not Heat.FRYER)
    if pot.oil_c is None or pot.read_t is None or state.t - pot.read_t > before_drop.STALE_OIL_S:
        return (p.OIL_UNKNOWN,)
    if pot.oil_c > fry.oil_c + fry.over_c + 0.3:
        return (p.hold_hot(pot.oil_c, fry.oil_c, state.units),)
    under = fry.oil_c - pot.oil_c
    if under > fry.under_c + 0.3 or (under > READING_K and not pot.rising):
        return (p.hold_cold(pot.oil_c, fry.oil_c, state.units),)
    return ()


def dropping(turn: Turn, command: Command) -> None:
    """The cook is about to lower food: the reminder if it is not fresh in mind, then go or hold."""
    _test_is_out(turn, command.item)
    lowering = next(((s, b) for s, b in turn.state.in_heat() if s.fry is not None and not b.sure and matches(turn.state, s, command.item)), None)
    if lowering is not None:
        turn.say(p.all_in(heat_said(turn.state, lowering[0])))
        return
    step = _to_fry(turn, command.item)
    if step is None or step.fry is None:
        into = heating_next(turn.state, command.item) if command.item is not None else None
        if into is not None:
            into_heat(turn, into)
        else:
            turn.say(p.NOT_NOW)
        return
    _remind_if_due(turn, step)
    reasons = gate(turn.state, step)
    if reasons:
        for words in reasons:
            turn.say(words)
        if reasons == (p.OIL_UNKNOWN,):
            turn.happen(e.Asked(turn.t, f"oil:{step.fry.pot}", (str(Intent.ANSWER), str(Intent.OIL_TEMP)), turn.t + 60.0))
        set_flame(turn, step)
        _make_smaller(turn, step)
        oil_care.check_full(turn, step.fry.pot)
        if p.BREAD_FIRST in reasons:
            oil_care.ask_bread(turn, step.fry.pot, step.fry)
        turn.happen(e.Told(turn.t, f"hold:{step.id}:{next_n(turn.state, step)}"))
        return
    now = oil_gate.oil_now(turn.state, step.fry.pot)
    if now is not None:
        turn.say(p.oil_go(now[0], turn.state.units))
    elif not turn.state.thermometer:
        turn.say(p.BREAD_GO)
    _lower(turn, step)


def set_flame(turn: Turn, step: Step) -> None:
    """Whoever is held back by the oil's temperature turns the flame with it: off was said with the hold, more is said now."""
    level = oil_gate.flame_for(turn.state, step)
    if level is None or step.fry is None:
        return
    run = turn.state.pots[step.fry.pot]
    said = run.advised == level and turn.t - run.advised_t < READ_AGAIN_S
    turn.happen(e.FlameAdvised(turn.t, step.fry.pot, str(level)))
    turn.close("flame:")
    answers = tuple(str(intent) for intent in FLAME_ANSWERS)
    turn.happen(e.Asked(turn.t, f"flame:{step.fry.pot}:{level}", answers, turn.t + before_drop.STALE_OIL_S))
    if level is not Flame.OFF and not said:
        turn.say(in_pot(turn.state, step.fry.pot, p.FLAME[str(level)]))


def _make_smaller(turn: Turn, step: Step) -> None:
    """A batch that was held for its size is made as large as may go in, and with it what is left of its lot."""
    found = oil_gate.verdict(turn.state, step)
    if found is None or found.most is None or step.fry is None or Reason.TOO_MUCH not in found.reasons:
        return
    part = found.most.kg / (step.fry.kg / step.fry.batches)
    if LEAST_PART <= part < 1.0:
        turn.happen(e.NextBatch(turn.t, step.id, part, why="too much"))
        turn.say(p.smaller_next(batches_left(turn.state, turn.state.meal.step(step.id))))


def _test_is_out(turn: Turn, item: str | None) -> None:
    """Whoever goes on to the full batch has taken the test batch out, and saw its foam stay low."""
    for step in turn.state.meal.steps():
        if step.fry is not None and matches(turn.state, step, item):
            turn.close(f"foam:{step.id}:")
    for step, batch in turn.state.in_heat():
        if batch.test and matches(turn.state, step, item):
            _lifted(turn, step, batch)


def test_foam(turn: Turn, step_id: str, low: bool) -> None:
    """How the foam of the test batch behaved, which is out by now. Where it rose the batches are smaller from here."""
    step = turn.state.meal.step(step_id)
    batch = turn.state.steps[step_id].current
    if batch is not None and batch.test:
        _lifted(turn, step, batch)
    if low:
        turn.say(p.TEST_OUT)
    elif step.fry is not None:
        turn.happen(e.FoamRose(turn.t, step.fry.pot, "test_batch_rose"))
        turn.happen(e.NextBatch(turn.t, step_id, part=foam.AFTER, why="foam"))
        turn.say(p.TEST_ROSE)


def drop(turn: Turn, command: Command) -> None:
    """The last piece is in: the clock starts now."""
    _test_is_out(turn, command.item)
    state = turn.state
    lowering = in_heat(state, command.item)
    if lowering is not None and not lowering[1].sure and lowering[0].fry is not None:
        step, batch = lowering
        turn.happen(e.BatchIn(turn.t, step.id, batch.n))
        turn.close("in:", "value")
        _say_in(turn, step, turn.state.steps[step.id].current or batch)
        return
    to_fry = _to_fry(turn, command.item)
    if to_fry is None or to_fry.fry is None:
        into = heating_next(state, command.item)
        if into is not None and (command.item is not None or lowering is None or state.focus == into.id):
            into_heat(turn, into)
        elif lowering is not None:
            turn.say(p.time_left(heat_said(state, lowering[0]), due_t(*lowering) - turn.t))
        else:
            turn.say(p.NOT_NOW)
        return
    step = to_fry
    _remind_if_due(turn, step)
    reasons = gate(turn.state, step)
    if reasons:
        # it is in already: say what is wrong all the same, and keep it for the report
        turn.happen(e.Overruled(turn.t, step.id, next_n(turn.state, step), reasons))
        for words in reasons:
            if words not in (p.OIL_UNKNOWN, p.BREAD_FIRST, p.PAT_DRY):
                turn.say(_IN_ALREADY.get(words) or p.not_to_hold(words))
    _lower(turn, step, sure=True)


_IN_ALREADY = {p.TEST_FIRST: p.NO_TEST, p.FOAM_FIRST: p.IN_FOAM}
"""What is said of food that is in, for what would have held it."""


def drop_anyway(turn: Turn, command: Command) -> None:
    """The cook overrules a hold: the last one."""
    step = _to_fry(turn, _held_last(turn.state))
    if step is None:
        turn.say(p.NOT_NOW)
        return
    turn.happen(e.Overruled(turn.t, step.id, next_n(turn.state, step), gate(turn.state, step)))
    found = oil_gate.verdict(turn.state, step)
    for words in oil_gate.hard_reasons(found) if found is not None else ():
        turn.say(words, Priority.ALARM)
    turn.say(p.OVERRULED)
    _lower(turn, step)


def _held_last(state: State) -> str | None:
    """The fry step that was told last to wait with its next batch."""
    holds = {f"hold:{s.id}:{next_n(state, s)}": s.id for s in state.meal.steps() if s.fry is not None}
    return max(((state.told[key], step_id) for key, step_id in holds.items() if key in state.told), default=(0.0, None))[1]


def test_batch(turn: Turn, command: Command) -> None:
    """The small first batch in fresh oil is in."""
    step = _to_fry(turn, None)
    if step is None or step.fry is None:
        turn.say(p.NOT_NOW)
        return
    _remind_if_due(turn, step)
    n = next_n(turn.state, step)
    turn.happen(e.BatchBegun(turn.t, step.id, n, turn.t, test=True))
    turn.happen(e.BatchIn(turn.t, step.id, n))
    turn.close("oil:")
    turn.close("bread:")
    turn.say(p.TEST_IN)


def _to_fry(turn: Turn, item: str | None) -> Step | None:
    """The fry step whose next batch is meant. What it waits for counts as done when only the cook could have told (work by hand, a wait)."""
    state = turn.state
    steps = [s for s in state.meal.steps() if s.fry is not None and matches(state, s, item) and state.steps[s.id].current is None]
    steps = [s for s in steps if s.id not in state.second or "first-table" in state.told]
    under_way = [s for s in steps if state.steps[s.id].status is Status.RUNNING and batches_left(state, s) > 0]
    todo = [s for s in steps if state.steps[s.id].status is Status.TODO]
    step = min(under_way or todo, key=lambda s: state.start_of(s.id), default=None)
    if step is None:
        return None
    if step.id in state.second:
        turn.told("guests")  # whoever drops the second wave has its guests there
    missing = _missing(state, step)
    if any(m.kind in IN_HEAT for m in missing):
        ready = frying_next(state, item)
        return ready if ready is not None and state.steps[ready.id].current is None and batches_left(state, ready) > 0 else None
    for m in missing:
        turn.happen(e.StepDone(turn.t, m.id))
    return step


def _missing(state: State, step: Step) -> list[Step]:
    """Everything before this step that nobody has said was done, first things first."""
    found: list[Step] = []
    for a in step.after:
        if state.steps[a].status in (Status.TODO, Status.RUNNING):
            before = state.meal.step(a)
            found += [m for m in (*_missing(state, before), before) if m not in found]
    return found


def next_n(state: State, step: Step) -> int:
    """The number of its next batch, test batches counted."""
    return len(state.steps[step.id].batches) + 1


def _remind_if_due(turn: Turn, step: Step) -> None:
    key = f"remind:{step.id}:{next_n(turn.state, step)}"
    at = turn.state.told.get(key)
    if at is None:
        before_drop.remind(turn, step, now=True)
    elif turn.t - at > before_drop.REMIND_AGAIN_S and step.fry is not None:
        pot = turn.state.pots[step.fry.pot]
        turn.say(p.next_at(step.said[0], 0.0))
        turn.say_list(drop_lines(turn.state.pot_of(step), step, pot.drops + 1, pot.fresh and not pot.tested))
        turn.happen(e.Told(turn.t, key))
        before_drop.ask_oil(turn, step.fry, f"askoil:{step.id}:{next_n(turn.state, step)}")


def _lower(turn: Turn, step: Step, sure: bool = False) -> None:
    fry = step.fry
    assert fry is not None
    n = next_n(turn.state, step)
    pieces = 0.0 if fry.pieces is None else fry.pieces / max(1, fry.batches) * fry.piece_s
    turn.happen(e.BatchBegun(turn.t, step.id, n, turn.t if sure else turn.t + max(5.0, pieces)))
    turn.close("oil:")
    turn.close("bread:")
    if not sure:
        turn.happen(e.Asked(turn.t, f"in:{step.id}:{n}", (str(Intent.DROP),), turn.t + max(60.0, 2 * pieces)))
    if sure:
        turn.happen(e.BatchIn(turn.t, step.id, n))
        batch = turn.state.steps[step.id].current
        if batch is not None:
            _say_in(turn, step, batch)


def _say_in(turn: Turn, step: Step, batch: Batch) -> None:
    if batch.test:
        turn.say(p.TEST_IN)
        return
    turn.say(p.batch_in(heat_said(turn.state, step), due_t(step, batch) - turn.t))


def into_heat(turn: Turn, step: Step) -> None:
    """Something goes into the oven or onto the stove: its clock starts."""
    n = next_n(turn.state, step)
    turn.happen(e.BatchBegun(turn.t, step.id, n, turn.t))
    turn.happen(e.BatchIn(turn.t, step.id, n))
    if step.bake is not None:
        oven.used(turn)
    turn.say(p.batch_in(heat_said(turn.state, step), step.span.usual_s))


def lift(turn: Turn, command: Command) -> None:
    """Food is out of the heat."""
    found = in_heat(turn.state, command.item)
    if "test" in command.words.split():  # the test batch and nothing else
        found = next(((s, b) for s, b in turn.state.in_heat() if b.test), None)
    if found is None:
        turn.say(p.NOT_NOW)
        return
    step, batch = found
    _lifted(turn, step, batch)
    name = heat_said(turn.state, step)
    if step.fry is None:
        turn.say(p.out(name))
        turn.happen(e.StepDone(turn.t, step.id))
    elif batch.test:
        if turn.state.script is None:
            turn.ask(f"foam:{step.id}:{batch.n}", p.TEST_FOAM, (Intent.YES, Intent.NO), wait_s=60.0)
    else:
        turn.say(p.lifted(name))
        if batches_left(turn.state, step) == 0:
            turn.happen(e.StepDone(turn.t, step.id))
        else:
            turn.say(p.batches_left(name, batches_left(turn.state, step)))
            extra = turn.state.steps[step.id].extra_s
            if extra > 0:
                turn.say(p.extra_next(extra))
        _oil_after_lift(turn, step.fry.pot)
    if step.core_c is not None and not batch.test and turn.state.good_cores.get(step.id, 0) < 2:
        if turn.state.meal.equipment.core_thermometer:
            turn.ask(f"core:{step.id}", core_wanted(turn.state, step), (Intent.ANSWER, Intent.CORE), wait_s=120.0)
        else:
            turn.say(p.NO_THERMOMETER_POULTRY if needs_core(turn.state.meal.dish(step.dish)) else p.CUT_OPEN)


def _lifted(turn: Turn, step: Step, batch: Batch) -> None:
    """It is out: what called for it is over."""
    turn.happen(e.BatchLifted(turn.t, step.id, batch.n))
    for key in ("lift", "over"):
        turn.clear(f"{key}:{step.id}:{batch.n}")
    for key in ("look", "out", "in"):
        turn.close(f"{key}:{step.id}:{batch.n}", "value")


def _oil_after_lift(turn: Turn, pot_id: str) -> None:
    """Before more goes in: how long the oil takes to come back, when that is known, and whether food has taken so much that it wants topping up."""
    life, coming = turn.state.pots[pot_id].life, wanted_next(turn.state, pot_id)
    if coming is None or coming.fry is None:
        return
    if seconds := oil_gate.ready_s(turn.state, pot_id, coming.fry.oil_c):
        turn.say(p.oil_heats(heat_said(turn.state, coming), seconds))
    if life.runs_low and not turn.told(f"low:{pot_id}:{life.topped_up:g}"):
        turn.say(p.RUNS_LOW)
        turn.say_list(TOP_UP_RULES)


def looked(turn: Turn, step_id: str, n: int, ok: bool) -> None:
    """The look was asked and answered: as it should be, or not yet."""
    step = turn.state.meal.step(step_id)
    batch = turn.state.steps[step_id].current
    if batch is None or batch.n != n:
        return
    name = heat_said(turn.state, step)
    if ok:
        key = f"lift:{step_id}:{n}"
        turn.happen(e.Told(turn.t, key))
        agenda.call_out(turn, key, step, name, f"{name} looked done")
    else:
        left = due_t(step, batch) - turn.t
        turn.say(p.time_left(name, left) if left > 20 else p.ahead("look again", 60.0))
        if left <= 20:
            turn.happen(e.BatchExtended(turn.t, step_id, batch.n, 60.0 - max(0.0, left)))


def more_time(turn: Turn, command: Command) -> None:
    """More time for what is in the heat, or on a clock."""
    assert command.seconds is not None
    found = in_heat(turn.state, command.item)
    if found is not None:
        step, batch = found
        now_due = due_t(step, batch)
        extend = command.seconds + max(0.0, turn.t - now_due)  # counted from now when it is overdue already
        turn.happen(e.BatchExtended(turn.t, step.id, batch.n, extend))
        for key in ("lift", "over"):
            turn.clear(f"{key}:{step.id}:{batch.n}")
            turn.happen(e.Untold(turn.t, f"{key}:{step.id}:{batch.n}"))
        turn.close(f"look:{step.id}:{batch.n}")
        turn.close(f"out:{step.id}:{batch.n}")
        turn.say(p.more_time(heat_said(turn.state, step), command.seconds))
        return
    clock = turn.state.clocks.get(command.item or "")
    if clock is not None:
        turn.clear(f"clock:{clock.id}")
        turn.happen(e.ClockSet(turn.t, clock.id, clock.name, max(clock.ends_t, turn.t) + command.seconds))
        turn.say(p.more_time(clock.name, command.seconds))
        return
    turn.say(p.NOT_NOW)


def core(turn: Turn, command: Command) -> None:
    """A core temperature was read, or the temperature of food that waits, or of the room."""
    assert command.celsius is not None
    state = turn.state
    if command.item == food.ROOM:
        food.room_read(turn, command.celsius)
        return
    asked = next((q.id.partition(":")[2] for q in reversed(state.questions) if q.id.startswith("core:")), None)
    waits = food.asked_to_read(state, command.item) if asked is None else None
    steps = [s for s in state.meal.steps() if s.core_c is not None and matches(state, s, command.item)]
    active = [s for s in steps if state.steps[s.id].status in (Status.RUNNING, Status.DONE)]
    step_id = asked or (active[-1].id if active else (steps[0].id if steps else None))
    if waits is None and step_id is None and command.item is not None:
        waits = next(iter(food.meant(state, command.item)), None)
    if waits is not None:
        food.read(turn, command.celsius, waits)
    elif step_id is not None:
        core_read(turn, command.celsius, step_id)
    else:
        turn.say(p.NOT_NOW)


def core_read(turn: Turn, celsius: float, step_id: str) -> None:
    """Judge a core temperature of what a step cooks."""
    state = turn.state
    step = state.meal.step(step_id)
    judged = judge(food_of(state.meal.dish(step.dish)), celsius, state.units, step.core_c, piece=state.good_cores.get(step_id, 0) + 1)
    turn.close(f"core:{step_id}", "value")
    if judged.verdict is not Verdict.IMPOSSIBLE:
        turn.happen(e.CoreRead(turn.t, step_id, celsius))
    clock = f"core-{step_id}"
    if clock in turn.state.clocks:
        turn.happen(e.ClockCancelled(turn.t, clock))
        turn.clear(f"clock:{clock}")
    turn.say(judged.say)
    if judged.verdict is Verdict.COOK_ON:
        turn.happen(e.ClockSet(turn.t, clock, p.core_clock(heat_said(state, step)), turn.t + READ_AGAIN_S))
    elif judged.verdict in (Verdict.NEXT_PIECE, Verdict.IMPOSSIBLE):
        turn.happen(e.Asked(turn.t, f"core:{step_id}", (str(Intent.ANSWER), str(Intent.CORE)), turn.t + 120.0))
