"""For planning tests: a timetable checked in plain Python, and small meals built by hand."""

from __future__ import annotations

from itertools import combinations

from assistant.kitchen.cards import find_meal, read_card
from assistant.kitchen.meal import Bake, Dish, Equipment, Fry, Hold, Meal, Pot, Span, Step, StepKind
from assistant.planning.problem import Plan, Problem

POT = Pot("pot", "the pot", 0.26, 0.15, 2.0)
HOUR = 3600.0
SERVE = 18.5 * HOUR


def broken(problem: Problem, plan: Plan) -> list[str]:
    """Every hard rule this timetable breaks, checked without the solver's model."""
    faults = []
    tasks = problem.by_id()
    for t in plan.starts:
        length = plan.ends[t] - plan.starts[t]
        if not tasks[t].shortest <= length <= tasks[t].longest:
            faults.append(f"{t} lasts {length}")
    at = {"start": plan.starts, "end": plan.ends}
    for g in problem.lags:
        if g.first in plan.starts and g.then in plan.starts:
            gap = at[g.of_then][g.then] - at[g.of_first][g.first]
            if (g.least is not None and gap < g.least) or (g.most is not None and g.price is None and gap > g.most):
                faults.append(f"{g.first} to {g.then} is {gap}")
    for store in problem.stores:
        for instant in plan.starts.values():
            load = sum(n for t in plan.starts for s, n in tasks[t].needs if s == store.id and plan.starts[t] <= instant < plan.ends[t])
            if load > store.capacity:
                faults.append(f"{store.id} holds {load} at {instant}")
    for machine in problem.machines:
        setup = machine.setups()
        runs = sorted(
            (plan.starts[t], plan.ends[t], use.state)
            for t in plan.starts
            for use in tasks[t].uses
            if (machine.id in plan.by[t] if t in plan.by and len(use.machines) > 1 else use.machines == (machine.id,))
        )
        for (_, end, a), (start, _, b) in combinations(runs, 2):
            if start < end + setup.get((a, b), 0) and not (machine.open and a == b):
                faults.append(f"{machine.id} changes from {a} to {b} too fast")
    return faults


def span(minutes: float, least: float | None = None, most: float | None = None) -> Span:
    """A duration in minutes."""
    return Span(60 * (minutes if least is None else least), 60 * minutes, 60 * (minutes if most is None else most))


def step(step_id: str, kind: StepKind = StepKind.HANDS, minutes: float = 5.0, dish: str = "chips", **more: object) -> Step:
    """A step of so many minutes."""
    seconds = 60 * minutes
    hands = seconds if kind in (StepKind.HANDS, StepKind.TOSS, StepKind.PLATE) else 0.0
    values: dict[str, object] = {"span": Span(seconds, seconds, seconds), "hands_s": hands, "line": 10}
    return Step(id=step_id, name=step_id.replace("-", " "), said=(step_id,), dish=dish, kind=kind, **(values | more))  # type: ignore[arg-type]


def fry(kg: float = 0.4, batches: int = 2, **more: object) -> Fry:
    """A frying lot in the pot, of a cut that the table of foods does not know, so that the card's batches count."""
    values: dict[str, object] = {"oil_c": 175.0, "floor_c": 150.0, "pot": "pot", "cut": "something unknown"}
    return Fry(kg=kg, batches=batches, **(values | more))  # type: ignore[arg-type]


def dish(dish_id: str, *steps: Step, **more: object) -> Dish:
    """A dish of these steps."""
    return Dish(id=dish_id, name=dish_id.replace("-", " "), said=(dish_id,), steps=steps, ingredients=(), **more)  # type: ignore[arg-type]


def meal(*dishes: Dish, **more: object) -> Meal:
    """A meal for two in a kitchen with one pot."""
    values: dict[str, object] = {"equipment": Equipment((POT,)), "serves": 2}
    return Meal(id="test-meal", title="Test", file="test-meal.yaml", dishes=dishes, **(values | more))  # type: ignore[arg-type]


def fried(
    dish_id: str, kind: str = "clean", minutes: float = 5.0, hold: Hold | None = None, batches: int = 1, kg: float = 0.3, **more: object
) -> Dish:
    """A dish that is cut and fried."""
    cut = step(f"{dish_id}-cut", minutes=4, dish=dish_id)
    oil = step(f"{dish_id}-fry", StepKind.FRY, minutes, dish_id, after=(cut.id,), fry=fry(kg, batches), hold=hold or Hold(600, 1800), line=20)
    return dish(dish_id, cut, oil, food_kind=kind, **more)


def baked(dish_id: str, oven_c: float = 200.0, minutes: float = 10.0) -> Dish:
    """A dish that only goes into the oven."""
    return dish(dish_id, step(f"{dish_id}-bake", StepKind.BAKE, minutes, dish_id, bake=Bake(oven_c), hold=Hold(600, 1800)))


def bundled(name: str) -> Meal:
    return read_card(find_meal(name))
