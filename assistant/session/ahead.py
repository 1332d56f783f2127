"""A meal over several sessions: what was made before is asked about once, and between two sessions it is said when the next one begins.

Rules. What an earlier evening made counts as done from the first moment (the plan was made so), and the cook is asked about it once the time of day
is settled. "No", or no answer, and it is made again: its steps are reopened, what is left of it goes into the bin. While that is open nothing
else is begun. A step whose time is hours away belongs to another session: it is not begun early, however free the hands are. Before a long silence it
is said what comes next and when.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from assistant.kitchen.meal import Step, StepKind
from assistant.kitchen.plan_facts import THAW
from assistant.session import before_drop
from assistant.session import events as e
from assistant.session.commands import Intent
from assistant.session.state import State, Status
from assistant.session.turn import Turn, spoken
from assistant.speaking import prompts as p

ANSWER_S = 120.0
ANOTHER_SESSION_S = 6 * 3600.0
"""A step that begins later than this is not of this session."""
SILENT_S = 1200.0
"""A cook who hears nothing for longer is told so before."""


def asking(state: State) -> bool:
    """Whether something made before is still to be asked about, or answered."""
    return any(f"made:{m[0]}" not in state.told for m in state.made) or any(q.id.startswith("made:") for q in state.questions)


def agenda(state: State) -> Iterator[tuple[float, int, str, Callable[[Turn], None]]]:
    """(when, rank, key, act): the question for the first thing that was not asked about yet."""
    if any(q.id.partition(":")[0] in ("time", "made", "thawed") for q in state.questions):
        return
    for dish, days, *_ in state.made:
        if f"made:{dish}" not in state.told:
            yield state.t, 4, f"made:{dish}", lambda turn, dish=dish, days=days: _ask(turn, dish, days)  # type: ignore[misc]
            return


def _ask(turn: Turn, dish: str, days: int) -> None:
    turn.told(f"made:{dish}")
    turn.ask(f"made:{dish}", p.still_good(spoken(turn.state, dish), days), (Intent.YES, Intent.NO), wait_s=ANSWER_S)


def answer(turn: Turn, dish: str, good: bool) -> None:
    """Whether what was made before is still good."""
    name = spoken(turn.state, dish)
    if good:
        turn.say(p.made_already(name))
        return
    steps = next((m[3] for m in turn.state.made if m[0] == dish), ())
    for step in steps:
        turn.happen(e.StepReopened(turn.t, step))
    for item in [i.id for i in turn.state.ledger.open() if i.id in steps]:
        turn.happen(e.Placed(turn.t, item, "bin"))
    turn.say(p.make_again(name))


def of_another_session(state: State, step: Step) -> bool:
    """Whether a step's time is so far off that it is not begun today."""
    return state.start_of(step.id) - state.t > ANOTHER_SESSION_S


def can_be_early(state: State, step: Step) -> bool:
    """Whether doing this step before its time does no harm: work by hand whose result keeps, and no wait after it that would run out. What comes from
    a wait and goes straight into oil or oven keeps better where it waits: wet flour, dry dough, brown potatoes."""
    if step.kind is not StepKind.HANDS or step.hold is not None or of_another_session(state, step):
        return False
    waited = any(state.meal.step(a).kind is StepKind.WAIT for a in step.after)
    for follower in (s for s in state.meal.steps() if step.id in s.after):
        if waited and follower.kind in (StepKind.FRY, StepKind.BAKE):
            return False
        if follower.kind is StepKind.WAIT:
            wanted = [state.start_of(s.id) for s in state.meal.steps() if follower.id in s.after]
            if wanted and state.t + step.span.usual_s + follower.span.most_s < min(wanted):
                return False
    return True


def pause(state: State) -> Iterator[tuple[float, int, str, Callable[[Turn], None]]]:
    """When there is nothing to do for a long while, at the beginning or between two sessions: what comes next and when, once."""
    if state.focus or any(r.status is Status.RUNNING for r in state.steps.values()) or any(q.id == "time" for q in state.questions):
        return
    todo = [(state.start_of(s.id), s.id, s.said[0]) for s in state.meal.steps() if state.steps[s.id].status is Status.TODO]
    at, id, name = min([*todo, *_moves(state), *_pots(state)], default=(0.0, "", ""))
    if at - state.t > SILENT_S and f"pause:{id}" not in state.told:
        yield state.t, 6, f"pause:{id}", lambda turn: _pause(turn, at, id, name)


def _moves(state: State) -> Iterator[tuple[float, str, str]]:
    """What is still to be moved from the freezer to the fridge: (when, id, name)."""
    for task in state.plan.tasks if state.plan is not None else ():
        thing = task.id.removesuffix(THAW)
        if task.id.endswith(THAW) and f"thaw:{thing}" not in state.told and state.plan is not None:
            yield state.plan.serve_s + task.start_s, task.id, p.thawing(spoken(state, thing))


def _pots(state: State) -> Iterator[tuple[float, str, str]]:
    """Which pot is to be lit when: (when, id, name)."""
    for pot in state.meal.equipment.pots:
        found = before_drop.heat_due(state, pot.id)
        if found is not None and f"check:{pot.id}" not in state.told:
            yield found[1], pot.id, pot.name


def _pause(turn: Turn, at: float, id: str, name: str) -> None:
    turn.told(f"pause:{id}")
    state = turn.state
    begun = any(r.status is Status.DONE for r in state.steps.values()) or any(key.startswith("thaw:") for key in state.told)
    say = p.session_over if begun and at - state.t > ANOTHER_SESSION_S else p.call_you
    turn.say(say(name, state.day_at(at), state.days_until(at)))
