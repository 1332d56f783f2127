"""The problem of an evening while it is put together: tasks, lags and what they mean, in the solver's units.

A `Board` is filled by the modules beside it, one for each side of the kitchen: `plan_steps` (what each kind of step occupies), `plan_lots`
(batches), `plan_heat` (pots and oven), `plan_keep` (what follows what, and how long things keep) and `plan_ahead` (days before). `plan_build` calls
them in order.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from math import ceil, floor, inf

from assistant.kitchen.evening import BatchSize, HoldOf, Item, Setting
from assistant.kitchen.meal import Meal, Step
from assistant.kitchen.plan_facts import task_id
from assistant.kitchen.plan_figures import (
    CROWD_SPARE,
    LIFT_S,
    LOWER_LEAST_S,
    OVER_FRY_PRICE,
    OVER_LIMIT_PRICE,
    ROOM_FOR_LATENESS_S,
    spread_s,
    unit_price,
)
from assistant.kitchen.scale import scaled
from assistant.planning.problem import Instant, Lag, Order, Task, Use


def at_line(meal: Meal, line: int) -> str:
    """How a sentence about this line of the card begins."""
    return f"{meal.file or meal.id}, line {line}"


def planned_steps(meal: Meal, setting: Setting) -> list[Step]:
    """The steps that are left to plan: not done, not left out, and no component that only left-out dishes use."""
    gone = {d.id for d in meal.dishes if d.id in setting.skip}
    users: dict[str, set[str]] = {}
    for dish in meal.dishes:
        for component, _ in dish.uses:
            users.setdefault(component, set()).add(dish.id)
    gone |= {d.id for d in meal.dishes if d.component and users.get(d.id) and users[d.id] <= gone}
    return [s for s in meal.steps() if s.dish not in gone and s.id not in setting.skip and s.id not in setting.done]


class Board:
    """serve_at: serving, s from the origin (None: as early as can be); tasks, items: by task; ahead: tasks of earlier days and how many days
    before; first, last: by step, the tasks that begin it and those that end it, each with the part of its food up to and with it."""

    def __init__(self, meal: Meal, setting: Setting, horizon_s: float, serve_at_s: float | None, serve_late: bool) -> None:
        self.meal = scaled(meal, setting.people or meal.serves)
        self.card = meal
        self.setting = setting
        self.grid = setting.grid_s
        self.horizon = self.up(horizon_s)
        self.serve_at = serve_at_s
        self.serve_late = serve_late
        self.tasks: dict[str, Task] = {}
        self.items: dict[str, Item] = {}
        self.lags: list[Lag] = []
        self.orders: list[Order] = []
        self.holds: list[HoldOf] = []
        self.batches: dict[str, tuple[BatchSize, ...]] = {}
        self.steps = planned_steps(self.meal, setting)
        self.by_id = {s.id: s for s in self.steps}
        self.pots = {p.id: p for p in self.meal.equipment.pots}
        # by step: the tasks that begin it and those that end it, each with the part of its food up to and with it
        self.ahead: dict[str, int] = {}  # tasks of earlier days: how many days before
        self.first: dict[str, list[tuple[str, float]]] = {}
        self.last: dict[str, list[tuple[str, float]]] = {}

    def up(self, seconds: float) -> int:
        """Units that hold so many seconds."""
        return ceil(seconds / self.grid - 1e-9)

    def price(self, a_minute: float) -> int:
        return unit_price(a_minute, self.grid)

    def add(self, item: Item, seconds: float, uses: Iterable[Use] = (), needs: tuple[tuple[str, int], ...] = (), **more: int | None) -> str:
        units = self.up(seconds + item.pad_s) if seconds else 0
        self.tasks[item.id] = Task(item.id, units, uses=tuple(uses), needs=needs, **more)  # type: ignore[arg-type]
        self.items[item.id] = item
        return item.id

    def lag(self, first: str, then: str, least_s: float = 0.0, of_first: Instant = "end", of_then: Instant = "start") -> None:
        self.lags.append(Lag(first, then, self.up(least_s), of_first=of_first, of_then=of_then))

    def pin(self, first: str, then: str, of_first: Instant, of_then: Instant) -> None:
        self.lags.append(Lag(first, then, 0, 0, of_first=of_first, of_then=of_then))

    def within(self, first: str, then: str, most_s: float, early_batch: bool = False, of_first: Instant = "end", of_then: Instant = "start") -> None:
        """The time between is at most so long: hard while planning, priced once cooking has begun, or where batches crowd; there it is still hard at
        what all that is finished in the pots takes on top."""
        if most_s == inf:
            return
        crowds = early_batch and self.setting.crowded and not self.setting.cooking
        price = self.price(OVER_LIMIT_PRICE) if self.setting.cooking or crowds else None
        self.lags.append(Lag(first, then, None, floor(most_s / self.grid + 1e-9), price, of_first, of_then))
        if crowds:
            longest = floor((most_s + self.finishing_s()) / self.grid)
            self.lags.append(Lag(first, then, None, longest, None, of_first, of_then))

    def finishing_s(self) -> float:
        """How long all lots that are not half fried take in their pots, one batch after the other, s."""
        lots = [s for s in self.steps if s.fry is not None and not s.fry.first_stage]
        return CROWD_SPARE * sum(len(self.batches[s.id]) * (self.usual(s) + LOWER_LEAST_S + LIFT_S) for s in lots)

    def hands(self, step: Step | None = None) -> Use:
        helped = self.setting.helper and (step is None or step.helper)
        return Use(("cook", "helper") if helped else ("cook",))

    def pad(self, step: Step) -> float:
        return self.setting.pads.hands_sigma * spread_s(step, self.usual(step))

    def usual(self, step: Step) -> float:
        return self.setting.usual_s.get(step.id, step.span.usual_s)

    def item(self, step: Step, action: str, batch: int = 0, pad: bool = False) -> Item:
        helper = step.helper and action not in ("drop", "lift")
        return Item(task_id(step.id, action, batch), action, step.name, step.id, step.dish, batch, self.pad(step) if pad else 0.0, helper)

    def followers(self, step: Step) -> list[Step]:
        return [s for s in self.steps if step.id in s.after]

    def lots(self, pot: str) -> list[Step]:
        return [s for s in self.steps if s.fry is not None and s.fry.pot == pot]

    def stretchable(self, task: str) -> None:
        """Once cooking has begun a late cook lifts late: at a price, for otherwise there may be no plan at all."""
        if self.setting.cooking:
            long = self.horizon + self.up(ROOM_FOR_LATENESS_S)
            self.tasks[task] = replace(self.tasks[task], most=long, stretch_price=self.price(OVER_FRY_PRICE))

    def pairs(self, step: Step, before: Step) -> list[tuple[str, str]]:
        """(task that ends a part of `before`, task of `step` that takes it up) for every batch that meets."""
        low, high = self.range(step, before)
        pairs = []
        done = 0.0
        for then, upto in self.first[step.id]:
            begin, end = low + done * (high - low), low + upto * (high - low)
            part_begin = 0.0
            for first, part_end in self.last[before.id]:
                if part_begin < end - 1e-6 and part_end > begin + 1e-6:
                    pairs.append((first, then))
                part_begin = part_end
            done = upto
        return pairs

    def range(self, step: Step, before: Step) -> tuple[float, float]:
        """Which part of the lot `before` this step takes: parts are dealt out in the order of the card, oldest batches first."""
        takers = [s for s in self.meal.steps() if before.id in s.after]
        if step.share >= 1.0 or len(takers) < 2:
            return 0.0, 1.0
        low = sum(s.share for s in takers[: [s.id for s in takers].index(step.id)] if s.share < 1.0)
        return low, low + step.share
