"""What is left out: a step, a whole dish, or the rest of a lot whose coating has run out. Each is asked once.

Rules. Who names a dish means all of it that is still to do, with what is made for it alone. Who names a thing it is made of means the step that is
called after it; where none is, no step goes for it. What is in the heat is lifted as always, and nothing of it follows. Fried pieces of a lot
that ends early are finished and plated.
"""

from __future__ import annotations

from collections.abc import Iterator

from assistant.kitchen.meal import Dish, Step
from assistant.session import events as e
from assistant.session.commands import Command, Intent
from assistant.session.state import ENDS, State, Status
from assistant.session.turn import Turn, batches_left, matches, open_steps, spoken
from assistant.speaking import prompts as p

_LEFT = (Status.TODO, Status.RUNNING)


def skip(turn: Turn, command: Command) -> None:
    """Leave something out: what is at hand, a step, or a dish."""
    state, item = turn.state, command.item
    if item is None:
        _ask_step(turn, state.meal.step(state.focus) if state.focus else next(iter(open_steps(state)), None))
    elif (dish := next((d for d in state.meal.dishes if d.id == item), None)) is not None:
        if any(_left(state, dish)):
            turn.ask(f"leave:{dish.id}", p.leave_sure(dish.said[0]), (Intent.YES, Intent.NO))
        else:
            turn.say(p.NOT_NOW)
    else:
        steps = [s for s in state.meal.steps() if state.steps[s.id].status in _LEFT and state.steps[s.id].current is None and matches(state, s, item)]
        words = spoken(state, item).split()
        step = next((s for s in steps if s.id == item or words[-1] in s.name.split()), None)
        if step is None and steps:
            turn.say(p.only_a_part(spoken(state, steps[0].dish)))
        else:
            _ask_step(turn, step)


def _ask_step(turn: Turn, step: Step | None) -> None:
    if step is None:
        turn.say(p.NOT_NOW)
    else:
        turn.ask(f"skip:{step.id}", p.skip_sure(step.said[0]), (Intent.YES, Intent.NO))


def step_goes(turn: Turn, step_id: str) -> None:
    """A step is left out."""
    turn.happen(e.StepSkipped(turn.t, step_id))
    turn.say(p.skipped(spoken(turn.state, step_id)))


def dish_goes(turn: Turn, dish_id: str) -> None:
    """A dish is left out: all that is still to do of it. What is in the heat is named, and its lot ends with it."""
    dish = turn.state.meal.dish(dish_id)
    turn.say(p.skipped(dish.said[0]))
    heated = False
    for step in list(_left(turn.state, dish)):
        if turn.state.steps[step.id].current is None:
            turn.happen(e.StepSkipped(turn.t, step.id))
        else:
            heated = True
            turn.told(f"{ENDS}{step.id}")
    if heated:
        turn.say(p.still_in([dish.said[0]]))


def _left(state: State, dish: Dish) -> Iterator[Step]:
    """What is still to do of a dish, and of the components that no other dish needs any more."""
    yield from (s for s in dish.steps if state.steps[s.id].status in _LEFT)
    others = [d for d in state.meal.dishes if d.id != dish.id and any(state.steps[s.id].status in _LEFT for s in d.steps)]
    for component, _ in dish.uses:
        if not any(component in [c for c, _ in d.uses] for d in others):
            yield from _left(state, state.meal.dish(component))


def out_of(turn: Turn, item: str) -> None:
    """Something has run out: where food is still to be coated with it, whether the rest is left out."""
    turn.happen(e.RanOut(turn.t, item))
    state = turn.state
    for step in state.meal.steps():
        if state.steps[step.id].status in _LEFT and batches_left(state, step) > 0 and _coats(state.meal.dish(step.dish), step, item):
            begun = bool(state.steps[step.id].full_batches) or state.steps[step.id].current is not None
            words = p.out_of_coating(spoken(state, item), spoken(state, step.dish), begun)
            turn.ask(f"rest:{step.id}" if begun else f"leave:{step.dish}", words, (Intent.YES, Intent.NO))
            return
    turn.say(p.out_of(spoken(state, item)))


def _coats(dish: Dish, step: Step, item: str) -> bool:
    if step.fry is None or not step.fry.coated:
        return False
    mixed = any(s.id == item and s.id in step.after for s in dish.steps) or any(s.id in step.after and item in s.after for s in dish.steps)
    return mixed or any(i.id == item and i.coats for i in dish.ingredients)


def rest_goes(turn: Turn, step_id: str) -> None:
    """A lot ends with what is fried, or in the oil now."""
    run = turn.state.steps[step_id]
    turn.told(f"{ENDS}{step_id}")
    turn.say(p.rest_left_out(spoken(turn.state, turn.state.meal.step(step_id).dish)))
    if run.current is None and run.status is Status.RUNNING:
        turn.happen(e.StepDone(turn.t, step_id))
