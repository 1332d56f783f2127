"""Days before: steps that the card allows ahead, each on its own day, and frozen food that thaws by its weight.

Rules. A day before serving has one session, from an hour before the time of serving to four hours after it; as many days count as there is time
for (`Setting.ahead`), and with none everything is done on the evening itself. A step done ahead goes to the day before, or as many nights earlier as
the long waits after it take. Raw frozen food thaws in the fridge, a day for every 4 lb and at least one, and waits there two days at most.
"""

from __future__ import annotations

from dataclasses import replace
from math import ceil

from assistant.kitchen.evening import Item
from assistant.kitchen.meal import Ingredient, Meal, Step, StepKind
from assistant.kitchen.plan_board import Board
from assistant.kitchen.plan_facts import THAW
from assistant.kitchen.plan_figures import (
    AHEAD_BEGINS_S,
    AHEAD_ENDS_S,
    AHEAD_ROOM_S,
    DAY_S,
    LONG_WAIT_S,
    OVEN_HANDS_S,
    THAW_S_KG,
    THAWED_KEEPS_S,
    is_ahead,
)
from assistant.planning.problem import Lag

THAWING = ":thawing"
"""Ends the id of the day or more that it takes."""


def days_ahead(length_s: float) -> int:
    """How many days before serving have a session that is not over, when serving is so far off."""
    return max(0, int((length_s + AHEAD_ENDS_S - AHEAD_ROOM_S) // DAY_S))


def thaw_s(thing: Ingredient) -> float | None:
    """How long an ingredient thaws in the fridge, s; None for one that need not (USDA: 24 h for every 4 to 5 lb)."""
    kg = (thing.prepared or thing.bought).kg
    return max(DAY_S, THAW_S_KG * kg) if thing.frozen and thing.raw and kg else None


def thawing(meal: Meal, steps: list[Step], done: frozenset[str] = frozenset()) -> dict[str, float]:
    """How long each ingredient that thaws does so, s, by the id of the task that moves it; what is fried frozen, or done, does not."""
    fried_frozen = {s.dish for s in steps if s.fry is not None and s.fry.frozen}
    cooked = {s.dish for s in steps} - fried_frozen
    things = [i for d in meal.dishes if d.id in cooked for i in d.ingredients]
    return {task: seconds for i in things if (seconds := thaw_s(i)) is not None and (task := f"{i.id}{THAW}") not in done}


def longest_ahead_s(meal: Meal, steps: list[Step], done: frozenset[str] = frozenset()) -> float:
    """Seconds before serving by which work on earlier days must be able to begin; 0 when the card has none."""
    thaws = list(thawing(meal, steps, done).values())
    ahead = [s for s in steps if is_ahead(s)]
    if not thaws and not ahead:
        return 0.0
    nights = sum(1 + s.span.least_s // DAY_S for s in ahead if s.kind is StepKind.WAIT and s.span.least_s >= LONG_WAIT_S)
    return (1 + nights + ceil(max(thaws, default=0.0) / DAY_S)) * DAY_S + 4 * 3600


def thaw(b: Board) -> None:
    """Frozen raw food goes into the fridge in time: its own task and wait before the first step that handles it."""
    thaws = thawing(b.meal, b.steps, b.setting.done)
    for dish in b.meal.dishes:
        steps = [s for s in b.steps if s.dish == dish.id]
        if not steps:
            continue
        user = next((s for s in steps if s.raw_in), steps[0])
        before_user = b.first[user.id][0][0]
        for thing in dish.ingredients:
            seconds = thaws.get(f"{thing.id}{THAW}")
            if seconds is None:
                continue
            move = Item(f"{thing.id}{THAW}", "do", f"move {thing.name} from the freezer to the fridge", "", dish.id)
            first = b.add(move, OVEN_HANDS_S, [b.hands()])
            then = b.add(Item(f"{thing.id}{THAWING}", "wait", f"{thing.name} thaws", "", dish.id), seconds)
            b.tasks[then] = replace(b.tasks[then], least=b.up(seconds), most=b.up(seconds + THAWED_KEEPS_S), stretch_price=b.price(1))
            b.pin(first, then, "end", "start")
            b.lag(then, before_user)
            b.lags.append(Lag(then, before_user, None, 0, b.price(1)))
            days = ceil(seconds / DAY_S) + b.ahead.get(before_user, 0)
            if days <= b.setting.ahead:
                b.ahead[first] = b.ahead[then] = days


def days_before(b: Board, step: Step) -> int:
    """How many days before serving a step begins: 0 on the evening itself. A long wait takes a night."""
    if not (b.setting.ahead and is_ahead(step) and b.serve_at is not None):
        return 0
    after = max((days_before(b, s) for s in b.followers(step)), default=0)
    night = step.kind is StepKind.WAIT and step.span.least_s >= LONG_WAIT_S
    return min(b.setting.ahead, max(1, after + night))


def earlier_days(b: Board) -> None:
    """Which tasks are of an earlier day."""
    for step in b.steps:
        if days := days_before(b, step):
            for task in [t for t, i in b.items.items() if i.step == step.id]:
                b.ahead[task] = days


def bound_sessions(b: Board) -> None:
    """Hands on an earlier day work in the session of that day."""
    for task, days in b.ahead.items():
        if b.serve_at is None or not b.tasks[task].uses:
            continue
        time = b.serve_at - days * DAY_S
        earliest, latest = b.up(max(0.0, time + AHEAD_BEGINS_S)), b.up(max(0.0, time + AHEAD_ENDS_S))
        b.tasks[task] = replace(b.tasks[task], earliest=earliest, latest=latest)
