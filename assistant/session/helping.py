"""A second pair of hands: jobs are named for the helper beside the cook's own, one at a time.

Rules. Only work by hand that the card leaves to a helper, what the plan gave them first; never what the cook is at. A job is begun when it is named
and done when it is called done by its name. When the helper leaves, the job they were at is the cook's.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial

from assistant.kitchen.meal import Step, StepKind
from assistant.session import ahead
from assistant.session import events as e
from assistant.session.commands import Command, Intent
from assistant.session.state import IN_HEAT, State, Status
from assistant.session.turn import Turn, open_steps
from assistant.speaking import prompts as p

GIVEN = "helper:"
"""Told of a job that was named for the helper; its step follows."""


def jobs(state: State) -> list[Step]:
    """Work by hand for a second pair of hands, what they are at first: not the cook's own step, not what the card keeps from helpers; what the plan
    gave to the helper goes before the rest."""
    given = {x.step for x in state.plan.tasks if "helper" in x.resources} if state.plan is not None else set()
    found = [x for x in open_steps(state) if x.kind in (StepKind.HANDS, StepKind.PLATE) and x.helper and x.id != state.focus]
    now = at_it(state)
    return [*([] if now is None else [now]), *sorted(found, key=lambda x: x.id not in given)]


def at_it(state: State) -> Step | None:
    """What the helper is at."""
    running = (s for s in state.meal.steps() if state.steps[s.id].status is Status.RUNNING and s.id != state.focus)
    return next((s for s in running if f"{GIVEN}{s.id}" in state.told), None)


def agenda(state: State) -> Iterator[tuple[float, int, str, Callable[[Turn], None]]]:
    """(when, rank, key, act): the next job for a helper who has none; the cook's own goes before."""
    if not state.helper or at_it(state) is not None:
        return
    heat = any(s.kind in IN_HEAT and state.steps[s.id].status in (Status.TODO, Status.RUNNING) for s in state.meal.steps())
    for step in jobs(state):
        if not (step.kind is StepKind.PLATE and heat):
            at = state.t if ahead.can_be_early(state, step) else state.start_of(step.id)
            yield at, 6, f"{GIVEN}{step.id}", partial(_give, step=step)


def _give(turn: Turn, step: Step) -> None:
    turn.told(f"{GIVEN}{step.id}")
    turn.say(p.for_helper(step.said[0], step.text))
    turn.happen(e.StepBegan(turn.t, step.id))


def changed(turn: Turn, command: Command) -> None:
    """A helper has come, or left."""
    here = command.intent is Intent.HELPER_HERE
    left = None if here else at_it(turn.state)
    turn.happen(e.HelperChanged(turn.t, here))
    turn.say(p.HELPER_HERE if here else p.HELPER_GONE)
    if left is not None:
        turn.happen(e.StepReopened(turn.t, left.id))
