"""The plan during the evening: facts of the session told to it, and the order that follows from them.

The plan itself comes from outside (`PlanAdopted`, made by the solver on its own thread) and is kept with all facts since the beginning. When
facts have come, the order is shifted in plain Python and adopted as an event, so that replay calls neither. What the cook was told stays unless it
moves by two minutes; the serving time slips only when it must, and the reason is said. Without a plan the order of the card is followed, and
nothing of planning is loaded.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from assistant.kitchen.meal import Meal, Step, StepKind
from assistant.kitchen.plan_facts import THAW, Began, Ended, Fact, Helper, LeftOut, MoreTime, People, ServeAt, task_id
from assistant.kitchen.scale import in_smaller_batches
from assistant.session import events as e
from assistant.session import waves
from assistant.session.state import State, Status
from assistant.speaking import prompts as p

if TYPE_CHECKING:
    from assistant.kitchen.evening import EveningPlan
    from assistant.session.turn import Turn

MOVED_S = 30.0
"""A step that moves by less keeps its place in the journal."""
LIFT_S = 75.0
"""Hands after a lift: drain, salt, skim, dry tongs, 60 to 90 s (common practice)."""
TOLD_S = 120.0
"""A move by less is not worth a word."""
FAR_OFF = 0.1
"""Of what is far off, a move by less than this part of the time until then is not either: it will move again."""


def read_plan(text: str) -> EveningPlan:
    """The plan that `PlanAdopted` carries."""
    from assistant.kitchen.evening import EveningPlan

    return EveningPlan.from_dict(json.loads(text))


def slots_of(plan: EveningPlan, meal: Meal) -> tuple[tuple[str, float, float], ...]:
    """(step, start, end) in kitchen time, in order; steps that the plan leaves out are not among them."""
    found = []
    for step in meal.steps():
        tasks = plan.of_step(step.id)
        if tasks:
            found.append((step.id, plan.serve_s + min(t.start_s for t in tasks), plan.serve_s + max(t.end_s for t in tasks)))
    return tuple(sorted(found, key=lambda slot: slot[1]))


def lights_of(plan: EveningPlan) -> tuple[tuple[str, float], ...]:
    """(pot or `oven`, when it is to be lit), kitchen time."""
    return tuple((t.id.removesuffix(":light"), plan.serve_s + t.start_s) for t in plan.tasks if t.action == "light")


def adopted(state: State, plan: EveningPlan) -> State:
    """The state that follows a new plan: its order, its serving time, its batches, or smaller ones where this evening taught so."""
    dishes = []
    for dish in state.meal.dishes:
        steps = []
        for step in dish.steps:
            batches = sum(1 for t in plan.of_step(step.id) if t.action == "drop")
            if step.fry is not None and batches and state.steps[step.id].status is Status.TODO:
                fry = replace(step.fry, batches=batches)
                step = replace(step, fry=in_smaller_batches(fry, 0, state.steps[step.id].part))
            steps.append(step)
        dishes.append(replace(dish, steps=tuple(steps)))
    meal = replace(state.meal, dishes=tuple(dishes))
    return replace(state, meal=meal, plan=plan, slots=slots_of(plan, meal), lights=lights_of(plan), serve_t=plan.serve_s)


def say_batch(turn: Turn, step: Step) -> None:
    """How much goes into the batch that comes next, once: of an even lot at its first. Nothing where the evening went other ways than the plan."""
    plan = turn.state.plan
    sizes = plan.batches.get(step.id, ()) if plan is not None else ()
    n = turn.state.steps[step.id].full_batches
    if step.fry is None or len(sizes) < 2 or len(sizes) != step.fry.batches or n >= len(sizes) or turn.told(f"size:{step.id}:{n}"):
        return
    if len({s.pieces or s.kg for s in sizes}) > 1:
        turn.say(p.batch_of(n + 1, len(sizes), sizes[n].kg, sizes[n].pieces))
    elif n == 0:
        turn.say(p.batches_each(len(sizes), sizes[0].kg, sizes[0].pieces))


def facts_of(state: State, event: e.Event) -> Iterator[Fact]:
    """What an event tells the plan; `state` is as it was before."""
    match event:
        case e.StepBegan(step=step):
            yield Began(_done_by_hand(state, step), event.t)
        case e.StepDone(step=step):
            kind = state.meal.step(step).kind
            if kind not in (StepKind.FRY, StepKind.BAKE, StepKind.STOVE):
                if state.steps[step].began_t is None:
                    yield Began(_done_by_hand(state, step), event.t)
                yield Ended(_done_by_hand(state, step), event.t)
            elif (fry := state.meal.step(step).fry) is not None:
                # a lot that ends early: what did not go in is left out
                yield from (LeftOut(f"{step}#{n}") for n in range(_number(state, step), fry.batches + 1))
        case e.BatchBegun(step=step, test=False):
            yield Began(_in(state, step), event.t)
        case e.BatchIn(step=step):
            batch = state.steps[step].current
            if batch is not None and not batch.test:
                yield Ended(_in(state, step), event.t)
                yield Began(_inside(state, step), event.t)
        case e.BatchExtended(step=step, seconds=seconds):
            yield MoreTime(_inside(state, step), seconds)
        case e.BatchLifted(step=step):
            batch = state.steps[step].current
            if batch is not None and not batch.test:
                yield Ended(_inside(state, step), event.t)
                yield from _taken_out(state, step, event.t)
        case e.BurnerSet(pot=pot, level=level) if level != "off" and not state.pots[pot].on and state.pots[pot].drops == 0:
            yield from (Began(f"{pot}:light", event.t), Ended(f"{pot}:light", event.t))
        case e.Told(key=key) if key.startswith("preheat:") and not any(k.startswith("preheat:") for k in state.told):
            yield from (Began("oven:light", event.t), Ended("oven:light", event.t))
        case e.Told(key=key) if key.startswith("thaw:"):
            task = f"{key.removeprefix('thaw:')}{THAW}"
            yield from (Began(task, event.t), Ended(task, event.t))
        case e.StepSkipped(step=step):
            yield LeftOut(step)
        case e.GuestsLate(late=late):
            yield from (LeftOut(batch) for batch in waves.surplus(state, late))
        case e.ServingMoved(serve_t=serve_t, slipped=False):
            yield ServeAt(serve_t)
        case e.PeopleCounted(people=people):
            yield People(people)
        case e.HelperChanged(here=here):
            yield Helper(here)


def _taken_out(state: State, step: str, t: float) -> Iterator[Fact]:
    """Hands are at it for a while after a lift; nobody says when they are free again."""
    kind = state.meal.step(step).kind
    if kind is StepKind.FRY:
        task = task_id(step, "lift", _number(state, step))
        yield from (Began(task, t), Ended(task, t + LIFT_S))
    elif kind is StepKind.BAKE:
        task = task_id(step, "take out")
        yield from (Began(task, t), Ended(task, t))


def _number(state: State, step: str) -> int:
    """Which batch of the plan is in, or next: test batches are not counted there."""
    return state.steps[step].full_batches + 1


def _done_by_hand(state: State, step: str) -> str:
    return task_id(step, "wait" if state.meal.step(step).kind is StepKind.WAIT else "do")


def _in(state: State, step: str) -> str:
    kind = state.meal.step(step).kind
    if kind is StepKind.FRY:
        return task_id(step, "drop", _number(state, step))
    return task_id(step, "put in" if kind is StepKind.BAKE else "begin")


def _inside(state: State, step: str) -> str:
    kind = state.meal.step(step).kind
    if kind is StepKind.FRY:
        return task_id(step, "fry", _number(state, step))
    return task_id(step, "bake" if kind is StepKind.BAKE else "stove")


def follow(turn: Turn, facts_before: int) -> None:
    """Shift the order when facts have come, and say what moves by two minutes or more."""
    state = turn.state
    if state.plan is None or len(state.facts) == facts_before or "first-table" in state.told:
        return
    from assistant.kitchen.plan_live import shift

    new = shift(state.plan, state.facts, turn.t, state.meal)
    slots = slots_of(new, state.meal)
    moves = _moves(state, slots)
    if all(abs(by) < MOVED_S for _, _, by in moves) and abs(new.serve_s - state.serve_t) < MOVED_S:
        return
    turn.happen(e.OrderAdopted(turn.t, slots, "shifted by what happened", lights_of(new)))
    late = new.serve_s - state.serve_t
    if abs(late) >= TOLD_S:
        turn.happen(e.ServingMoved(turn.t, new.serve_s, slipped=True))
        turn.say(p.serving_moves(state.day_at(new.serve_s), _why(state, new, facts_before) if late > 0.0 else ""))
    elif words := words_of(state, slots):
        turn.say(words)


def _moves(state: State, slots: tuple[tuple[str, float, float], ...]) -> list[tuple[str, float, float]]:
    """(step, its new start, by how much that moves it) of all that has not begun and was in the order before."""
    todo = [(step, start) for step, start, _ in slots if state.steps[step].status is Status.TODO and step in state.starts]
    return [(step, start, start - state.starts[step]) for step, start in todo]


def words_of(state: State, slots: tuple[tuple[str, float, float], ...]) -> str:
    """What is said of an order that replaces the one that was told: the first dish that moves by as much as is worth a word; "" when none does."""
    coming = [(step, start, by) for step, start, by in _moves(state, slots) if start > state.t]
    worth = [(step, start) for step, start, by in coming if abs(by) >= max(TOLD_S, FAR_OFF * (start - by - state.t))]
    moved = [(state.meal.step(step).dish, start) for step, start in worth]
    if not moved:
        return ""
    dish, first = moved[0]
    return p.dish_moves(state.meal.dish(dish).said[0], state.day_at(first), alone=len({d for d, _ in moved}) == 1)


def _why(state: State, new: EveningPlan, facts_before: int) -> str:
    """What serving waits for, and what became of it: more people, longer at it, or late with it; "" when nothing is."""
    people = next((f.count for f in state.facts[facts_before:] if isinstance(f, People)), None)
    if people is not None:
        return p.why_people(people)
    if new.because in {m.id for m in new.problem.machines}:
        return p.why_busy(new.names.get(new.because, new.because))
    item = next((i for i in new.items if i.id == _by_somebody(new)), None)
    if item is None or not item.name or item.action == "serve" or state.plan is None:
        return ""
    if item.action == "light":
        return p.why_lit(item.name)
    told = state.plan.starts.get(item.id, new.starts[item.id])
    over = new.ends[item.id] - new.starts[item.id] - (state.plan.ends.get(item.id, told) - told)
    begun = any(isinstance(f, Began) and f.task == item.id for f in state.facts)
    return p.why_longer(item.name) if begun and over >= MOVED_S and over >= new.starts[item.id] - told else p.why_late(item.name)


def _by_somebody(new: EveningPlan) -> str:
    """What serving waits for; of a wait that is late, what it waited on."""
    waits = {i.id for i in new.items if i.action == "wait"}
    before = [g.first for g in new.problem.lags if g.then == new.because and g.of_first == "end" and g.least is not None and g.first in new.starts]
    return before[-1] if new.because in waits and before else new.because
