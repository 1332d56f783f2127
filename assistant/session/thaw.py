"""Frozen raw food: moved to the fridge when the plan says so, or asked about when it should have been there for a day.

Rules. A plan that has no time to thaw takes the food as thawed (`Setting.done`), and the cook is asked before anything else; "no", or no answer, and
it is planned anew with its thawing. When the time to move it comes that is told once and counts as done: nobody says more about it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from assistant.kitchen.plan_facts import THAW
from assistant.session import events as e
from assistant.session.commands import Intent
from assistant.session.state import State
from assistant.session.turn import Turn
from assistant.speaking import prompts as p

ANSWER_S = 120.0
PLAN_S = 20.0
"""Nothing is begun for so long after "no": the new plan is a matter of seconds."""

Entry = tuple[float, int, str, Callable[[Turn], None]]


def thawed(state: State) -> frozenset[str]:
    """What the plan takes for thawed, less what the cook says is frozen still."""
    return frozenset(task for task in _done(state) if task.endswith(THAW) and f"frozen:{task.removesuffix(THAW)}" not in state.told)


def asking(state: State) -> bool:
    """Whether something is still to be asked about, or answered."""
    unasked = any(f"thawed:{task.removesuffix(THAW)}" not in state.told for task in thawed(state))
    return unasked or any(q.id.startswith("thawed:") for q in state.questions) or _planned_at(state) is not None


def _planned_at(state: State) -> float | None:
    """Until when a plan with thawing in it is waited for; None when none is to come."""
    told = [t for key, t in state.told.items() if key.startswith("frozen:") and f"{key.removeprefix('frozen:')}{THAW}" in _done(state)]
    return max(told) + PLAN_S if told and state.t < max(told) + PLAN_S else None


def _done(state: State) -> frozenset[str]:
    return state.plan.setting.done if state.plan is not None else frozenset()


def agenda(state: State) -> Iterator[Entry]:
    """(when, rank, key, act): the question about what should be thawed, and what is to be moved to the fridge now."""
    if any(q.id.partition(":")[0] in ("time", "made", "thawed") for q in state.questions):
        return
    for thing in sorted(task.removesuffix(THAW) for task in thawed(state)):
        if f"thawed:{thing}" not in state.told:
            yield state.t, 4, f"thawed:{thing}", _act(_ask, thing)
            return
    if (at := _planned_at(state)) is not None:
        yield at, 6, "thaw", lambda turn: turn.happen(e.Told(turn.t, "thaw"))
    for task in state.plan.tasks if state.plan is not None else ():
        thing = task.id.removesuffix(THAW)
        if task.id.endswith(THAW) and f"thaw:{thing}" not in state.told and state.plan is not None:
            yield state.plan.serve_s + task.start_s, 4, f"thaw:{thing}", _act(_move, thing)


def _act(do: Callable[[Turn, str], None], thing: str) -> Callable[[Turn], None]:
    return lambda turn: do(turn, thing)


def _ask(turn: Turn, thing: str) -> None:
    turn.told(f"thawed:{thing}")
    turn.ask(f"thawed:{thing}", p.is_it_thawed(_name(turn.state, thing)), (Intent.YES, Intent.NO), wait_s=ANSWER_S)


def _move(turn: Turn, thing: str) -> None:
    turn.told(f"thaw:{thing}")
    turn.say(p.to_thaw(_name(turn.state, thing)))


def answer(turn: Turn, thing: str, good: bool) -> None:
    """Whether what should be thawed is."""
    if good:
        turn.say(p.THAWED)
    else:
        turn.happen(e.Told(turn.t, f"frozen:{thing}"))
        turn.say(p.STILL_FROZEN)


def _name(state: State, thing: str) -> str:
    return next((i.name for i in state.meal.ingredients() if i.id == thing), thing)
