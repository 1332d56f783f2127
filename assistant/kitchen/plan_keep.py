"""What follows what, and how long each state keeps.

Rules. Each part of a lot goes on when the batches that hold it are out, oldest first. What a state keeps is a hard limit while planning and has a
price once cooking has begun, because food in the oil and a late cook must still have a plan; heating and frying times stay hard. What comes hot from
stove or oven and is finished by hand had better not stand.
"""

from __future__ import annotations

from dataclasses import replace
from math import floor, inf

from assistant.kitchen.evening import HoldOf, Item, PlanError
from assistant.kitchen.limits import windows
from assistant.kitchen.meal import Dish, Hold, Keep, Step, StepKind
from assistant.kitchen.plan_board import Board, at_line
from assistant.kitchen.plan_figures import (
    GAP_PRICE,
    HOLD_PRICE,
    HOT_OVEN_PRICE,
    OUT_OF_FRIDGE_S,
    OVEN_KEEP_C,
    OVEN_KEEP_PRICE,
    OVEN_LIGHT_S,
    OVER_LIMIT_PRICE,
    ROOM_C,
    ROOM_FOR_LATENESS_S,
    SPARE_PRICE,
    STANDS_PRICE,
    TOSS_PRICE,
    TOSS_WITHIN_S,
    default_hold,
    hold_gap,
    oven_s,
)
from assistant.planning.problem import Lag, Task, Use


def follow(b: Board, step: Step) -> None:
    befores = [b.by_id[a] for a in step.after if a in b.by_id]
    for before in befores:
        pairs = b.pairs(step, before)
        for first, then in pairs:
            b.lag(first, then)
            if then.endswith(":drop"):
                b.lag(first, then.removesuffix("drop") + "fry")
        if step.kind is StepKind.TOSS and before.kind is StepKind.FRY:
            b.lags.append(Lag(*pairs[-1], None, b.up(TOSS_WITHIN_S), b.price(TOSS_PRICE)))
        if step.kind is StepKind.WAIT and len(befores) == 1:
            # a wait begins when what it waits on is done; a gap while cooking only means that it was told late
            b.lags.append(Lag(*pairs[-1], None, 0, b.price(GAP_PRICE) if b.setting.cooking else None))
        if before.kind is StepKind.WAIT and before.hold is None and before.span.most_s > before.span.least_s:
            _ends_a_wait(b, before, *pairs[0])


def _ends_a_wait(b: Board, wait: Step, task: str, then: str) -> None:
    """What comes next comes within the window, and better well inside it, so that a slip does not leave it."""
    # the food-safety rules may make it shorter than the card does
    window = windows(wait, b.meal.dish(wait.dish))
    most_s = wait.span.most_s if window is None else max(wait.span.least_s, min(wait.span.most_s, window.most_s))
    if most_s == inf:
        return
    most, middle = floor(most_s / b.grid + 1e-9), floor((wait.span.least_s + most_s) / 2 / b.grid)
    limit = b.price(OVER_LIMIT_PRICE) if b.setting.cooking else None
    b.lags.append(Lag(task, then, None, most, limit, of_first="start"))
    b.lags.append(Lag(task, then, None, middle, b.price(SPARE_PRICE), of_first="start"))


def share(b: Board, step: Step, task: str) -> float:
    """Which part of what a step makes this task ends: a bigger batch is dearer to keep waiting."""
    before = 0.0
    for last, upto in b.last[step.id]:
        if last == task:
            return upto - before
        before = upto
    return 1.0


def keep(b: Board, step: Step) -> None:
    dish, followers = b.meal.dish(step.dish), b.followers(step)
    hold = step.hold
    if not followers and not dish.component:
        _until_serving(b, step, hold or default_hold(step, dish))
    elif hold is not None and all(_serves(b, f) for f in followers):
        _until_serving(b, step, hold)
    else:
        if step.fry is not None and hold is None and not step.fry.first_stage and not dish.component:
            _ages(b, step, dish)
        if hold is None and step.makes_perishable and step.kind is not StepKind.WAIT:
            hold = Hold(OUT_OF_FRIDGE_S, OUT_OF_FRIDGE_S)
        if hold is None and step.kind in (StepKind.STOVE, StepKind.BAKE):
            for first, then in [pair for f in followers if f.kind is not StepKind.WAIT for pair in b.pairs(f, step)]:
                b.lags.append(Lag(first, then, None, 0, b.price(STANDS_PRICE)))
        if hold is not None:
            for first, then in [pair for f in followers for pair in b.pairs(f, step)]:
                _held(b, step, hold, first, then)


def _ages(b: Board, step: Step, dish: Dish) -> None:
    """Fried food that is finished later still ages from its lift."""
    later = [h for s in _downstream(b, step) if (h := s.hold) is not None]
    fried = default_hold(step, dish)
    longer = 2 if dish.id in b.setting.oven_hold else 1
    best, most = longer * max([fried.best_s, *(h.best_s for h in later)]), longer * max([fried.most_s, *(h.most_s for h in later)])
    lifts = [task for task, _ in b.last[step.id]]
    for lift in lifts:
        b.lags.append(Lag(lift, "serve", None, floor(best / b.grid), b.price(HOLD_PRICE * share(b, step, lift))))
        b.within(lift, "serve", most, lift != lifts[-1])
        b.holds.append(HoldOf(lift, dish.id, best, most))


def _downstream(b: Board, step: Step) -> list[Step]:
    """All that waits for a step, near ones first."""
    found: list[Step] = []
    queue = b.followers(step)
    while queue:
        here = queue.pop(0)
        if here not in found:
            found.append(here)
            queue += b.followers(here)
    return found


def _serves(b: Board, step: Step) -> bool:
    """Whether nothing but serving comes after it."""
    return step.kind is StepKind.PLATE and step.hold is None and not b.followers(step)


def _held(b: Board, step: Step, hold: Hold, first: str, then: str) -> None:
    if hold.most_s < b.grid:
        raise PlanError(f"{at_line(b.meal, step.line)}: '{step.name}' keeps for no time at all; give its hold at least a minute.")
    most = max(hold.most_s - b.setting.pads.hold_s, min(hold.most_s, 60.0))
    b.within(first, then, most, step.fry is not None and first != b.last[step.id][-1][0])
    if hold.best_s < hold.most_s:
        best = floor(hold.best_s / b.grid)
        b.lags.append(Lag(first, then, None, best, b.price(HOLD_PRICE * share(b, step, first))))


def _until_serving(b: Board, step: Step, hold: Hold) -> None:
    dish = b.meal.dish(step.dish)
    asked = dish.id in b.setting.oven_hold
    warm = hold.oven_c or (OVEN_KEEP_C if asked else None)
    if asked and hold.oven_c is None:
        # warm on a rack in a low oven plain fried food keeps twice as long (common practice); sauced food does not
        hold = replace(hold, best_s=2 * hold.best_s, most_s=2 * hold.most_s, keep=Keep.OVEN)
    for first, _ in b.last[step.id]:
        b.lag(first, "serve", b.setting.pads.early_s)
        _held(b, step, hold, first, "serve")
        if step.kind is not StepKind.PLATE or not any(b.by_id[a].hold for a in step.after if a in b.by_id):
            b.holds.append(HoldOf(first, dish.id, hold.best_s, hold.most_s))
        if warm is not None and hold.keep is Keep.OVEN and b.meal.equipment.oven:
            _kept_warm(b, step, first, warm)


def _kept_warm(b: Board, step: Step, first: str, warm_c: float) -> None:
    """Soft: when the oven is needed hotter, the dish waits on a rack instead. Where nothing bakes it is lit for this."""
    light, warms_s = "oven:light", oven_s(ROOM_C, warm_c)
    alone = light not in b.tasks
    if alone:
        b.add(Item(light, "light", "oven"), OVEN_LIGHT_S, [b.hands()])
    name = f"{first}:keep"
    b.items[name] = Item(name, "keep", step.name, step.id, step.dish, b.items[first].batch)
    use = Use(("oven",), f"{warm_c:.0f}")
    b.tasks[name] = Task(name, 0, 0, b.horizon + b.up(ROOM_FOR_LATENESS_S), uses=(use,), skip_price=b.price(OVEN_KEEP_PRICE) * b.up(hold_gap(step)))
    b.lag(light, name, warms_s)
    if alone:
        b.lags.append(Lag(light, name, None, b.up(warms_s), b.price(HOT_OVEN_PRICE)))
    b.pin(first, name, "end", "start")
    b.pin(name, "serve", "end", "start")
