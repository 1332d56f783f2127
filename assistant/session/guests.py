"""Who is there: what is said about late guests, and when their second wave begins. What is divided and how is `waves`' work."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from assistant.session import events as e
from assistant.session import waves
from assistant.session.commands import Intent
from assistant.session.state import State, Status
from assistant.session.turn import Turn
from assistant.speaking import prompts as p

AGAIN_S = 300.0
BEFORE_S = 60.0


def agenda(state: State) -> Iterator[tuple[float, int, str, Callable[[Turn], None]]]:
    """(when, rank, key, act): the first wave is on the table; the others are asked for before the second goes in."""
    if not state.second or "dinner" in state.told:
        return
    first = [r for step, r in state.steps.items() if step not in state.second]
    if "first-table" not in state.told and all(r.status in (Status.DONE, Status.SKIPPED) for r in first):
        yield state.t, 5, "first-table", _first_table
    if "guests" not in state.told and not any(q.id == "guests" for q in state.questions):
        yield state.wave_t - BEFORE_S, 4, "guests", _ask


def ask_how_many(turn: Turn) -> None:
    """Somebody is missing: how many."""
    turn.ask("late", p.HOW_MANY_LATE, (Intent.ANSWER, Intent.LATE_GUESTS), wait_s=60.0)


def late(turn: Turn, count: int) -> None:
    """So many are not there: their part of what is not in the oil yet is kept for a second wave."""
    turn.close("late", "value")
    state = turn.state
    if count >= state.people:
        turn.say(p.ALL_LATE)
        return
    parts = waves.kept_back(state, count)
    if not parts or count < 1:
        turn.say(p.ALL_COOKED if count else p.CARRYING_ON)
        return
    turn.happen(e.GuestsLate(turn.t, count, max(state.serve_t, turn.t) + waves.AFTER_SERVING_S))
    turn.say(p.rest_in_fridge(_names(turn.state), state.people - count))
    for part in parts:
        run = turn.state.steps[part.step]
        fry = turn.state.meal.step(part.step).fry
        if run.status is Status.RUNNING and run.current is None and fry is not None and run.full_batches >= fry.batches:
            turn.happen(e.StepDone(turn.t, part.step))
    _say_when(turn)


def here(turn: Turn) -> None:
    """The others have come: the second wave goes in as soon as it can."""
    if turn.told("guests"):
        return
    if turn.state.wave_t > turn.t + BEFORE_S and "first-table" in turn.state.told:
        turn.happen(e.SecondWaveMoved(turn.t, turn.t + BEFORE_S))
        _say_when(turn)
        return
    turn.say(p.SECOND_NOW)


def not_yet(turn: Turn) -> None:
    """Still not there: asked again later; nothing goes in before."""
    turn.happen(e.SecondWaveMoved(turn.t, turn.t + AGAIN_S + BEFORE_S))
    turn.say(p.ASK_AGAIN_LATER)


def _ask(turn: Turn) -> None:
    turn.ask("guests", p.guests_here(_names(turn.state)), (Intent.YES, Intent.NO, Intent.EVERYONE_HERE), wait_s=60.0)


def _first_table(turn: Turn) -> None:
    turn.told("first-table")
    turn.say(p.FIRST_TABLE)


def _say_when(turn: Turn) -> None:
    state = turn.state
    turn.say(p.second_wave(_names(state), state.day_at(state.wave_t), state.day_at(waves.table_t(state))))


def _names(state: State) -> str:
    """What the second wave is of."""
    fried = dict.fromkeys(state.meal.dish(s.dish).said[0] for s in state.meal.steps() if s.id in state.second and s.fry is not None)
    return p.listed(list(fried)[:2])
