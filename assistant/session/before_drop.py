"""What comes before food goes into oil: the check before the burner is lit, because nobody can pour out hot oil; when the next drop is due, and its
reminder a minute before; the oil's temperature, asked for where nobody said it lately.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial

from assistant.kitchen.drop_check import drop_lines, full_check
from assistant.kitchen.limits import batch_limits, heat_time
from assistant.kitchen.meal import Fry, Heat, Step
from assistant.kitchen.oil.life import Verdict as OilVerdict
from assistant.session import events as e
from assistant.session import oil_care, plan
from assistant.session.commands import Intent
from assistant.session.state import State, Status
from assistant.session.turn import Turn, batches_left, frying_next, in_pot
from assistant.speaking import prompts as p

REMIND_S = 60.0
REMIND_AGAIN_S = 120.0
STALE_OIL_S = 300.0
BETWEEN_BATCHES_S = 90.0  # drain, salt, skim, dry tongs, look at level and heat: 60 to 90 s of hands, common practice
CHECK_S = 60.0  # time to answer the check before the burner is lit
ROOM_C = 20.0


def agenda(state: State) -> Iterator[tuple[float, int, str, Callable[[Turn], None]]]:
    """(when, rank, key, act): the check of every pot that is to be lit, and the reminder of the next drop."""
    for pot_id in state.pots:
        found = heat_due(state, pot_id)
        if found is not None and f"check:{pot_id}" not in state.told:
            first, at = found
            yield at, 4, f"check:{pot_id}", partial(check_before_heat, pot_id=pot_id, step=first)
    step = frying_next(state)
    if step is None or step.fry is None or batches_left(state, step) == 0:
        return
    if any(s.fry is not None and s.fry.pot == step.fry.pot for s, _ in state.in_heat()):
        return
    key = f"remind:{step.id}:{len(state.steps[step.id].batches) + 1}"
    if key not in state.told:
        yield drop_planned(state, step) - REMIND_S, 4, key, partial(remind, step=step)


def drop_planned(state: State, step: Step) -> float:
    """When the next batch of a fry step should go in: after the order, after the last lift and the oil's recovery. Kitchen time, s."""
    pot = state.pot_of(step)
    lifts = [b.lifted_t for s in state.meal.steps() if s.fry and s.fry.pot == pot.id for b in state.steps[s.id].batches if b.lifted_t is not None]
    after_lift = max(lifts) + max(BETWEEN_BATCHES_S, batch_limits(step, pot).recovery_s) if lifts else 0.0
    needs = [done for a in step.after if (done := state.steps[a].done_t) is not None]
    first = not state.steps[step.id].batches
    return max([after_lift, *(needs if first else []), state.start_of(step.id) if first else 0.0])


def _heat_first(state: State, pot_id: str) -> Step | None:
    todo = [s for s in state.meal.steps() if s.fry is not None and s.fry.pot == pot_id and state.steps[s.id].status is Status.TODO]
    return min(todo, key=lambda s: state.start_of(s.id)) if todo else None


def heat_due(state: State, pot_id: str) -> tuple[Step, float] | None:
    """The step a pot must be heated for and when to begin, kitchen time; None when there is none, it is on already or nothing
    fries in it any more."""
    step = _heat_first(state, pot_id)
    if pot_id not in state.pots or state.pots[pot_id].on or state.pots[pot_id].drops > 0 or step is None or step.fry is None:
        return None
    planned = state.light_at(pot_id)
    at = planned if planned is not None else state.start_of(step.id) - heat_time(state.pot_of(step), ROOM_C, step.fry.oil_c) - CHECK_S
    return step, at


def check_before_heat(turn: Turn, pot_id: str, step: Step) -> None:
    """The whole check, then the burner."""
    if turn.told(f"check:{pot_id}") or step.fry is None:
        return
    turn.say_list(full_check(turn.state.pot_of(step), turn.state.thermometer))
    oil_care.check_full(turn, pot_id)
    old = turn.state.pots[pot_id].life
    if old.verdict is not OilVerdict.KEEP:
        turn.say(p.OIL_DONE if old.verdict is OilVerdict.DISCARD else p.OIL_OLD)
    if not turn.state.pots[pot_id].on:
        fryer = turn.state.pot_of(step).heat is Heat.FRYER
        if fryer:
            turn.happen(e.ThermostatSet(turn.t, pot_id, step.fry.oil_c))
        turn.say(in_pot(turn.state, pot_id, p.heat_to(step.fry.oil_c, turn.state.units, fryer)))


def remind(turn: Turn, step: Step, now: bool = False) -> None:
    """What to think of before this drop, and the oil's temperature if nobody said it lately. now: the cook is at it already."""
    state = turn.state
    if step.fry is None:
        return
    pot_id, n = step.fry.pot, len(state.steps[step.id].batches) + 1
    turn.happen(e.Told(turn.t, f"remind:{step.id}:{n}"))
    pot = state.pots[pot_id]
    if not pot.on and pot.drops == 0:
        check_before_heat(turn, pot_id, step)
    turn.say(p.next_at(step.said[0], 0.0 if now else drop_planned(state, step) - turn.t))
    plan.say_batch(turn, step)
    before = _fried_before(state, pot_id)
    turn.say_list(drop_lines(state.pot_of(step), step, pot.drops + 1, pot.fresh and not pot.tested, before))
    ask_oil(turn, step.fry, f"askoil:{step.id}:{n}")


def _fried_before(state: State, pot_id: str) -> Step | None:
    """The step whose batch went into this pot last."""
    began = [(b.begun_t, s) for s in state.meal.steps() if s.fry and s.fry.pot == pot_id for b in state.steps[s.id].batches]
    return max(began, key=lambda x: x[0])[1] if began else None


def ask_oil(turn: Turn, fry: Fry, key: str) -> None:
    """Ask for the oil's temperature if none was said for five minutes and none was asked for since the last lift, or for a bread cube."""
    pot = turn.state.pots[fry.pot]
    stale = (pot.read_t is None or turn.t - pot.read_t > STALE_OIL_S) and not (pot.estimate is not None and pot.estimate.asked)
    if not turn.state.thermometer:
        if oil_care.bread_lately(turn.state, fry.pot, fry) is None and pot.on and not turn.told(key):
            oil_care.ask_bread(turn, fry.pot, fry)
    elif stale and not turn.told(key):
        turn.happen(e.OilAsked(turn.t, fry.pot, "drop"))
        turn.ask(f"oil:{fry.pot}", p.ask_oil(), (Intent.ANSWER, Intent.OIL_TEMP), wait_s=60.0)
