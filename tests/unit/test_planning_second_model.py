"""One bundled meal in a second model, written apart from ours straight from the card, with PyJobShop.

The fish supper for two: the soonest serving, and at a fixed serving time the least weighted waiting of what is done. Both must agree with
the planner. PyJobShop has no elastic waits, so waits are distances here; what is pinned to the hands is written as equal starts and ends.
"""

from __future__ import annotations

import warnings
from dataclasses import replace
from math import ceil, floor
from typing import Any

import pytest

from assistant.kitchen.cards import find_meal, read_card
from assistant.kitchen.evening import Setting
from assistant.kitchen.limits import batch_limits, heat_time
from assistant.kitchen.meal import Meal, Step, StepKind
from assistant.kitchen.plan_build import build
from assistant.kitchen.plan_figures import HOLD_PRICE, LIFT_S, LIGHT_S, LOWER_LEAST_S, unit_price
from assistant.planning.problem import Problem
from assistant.planning.solve import solve

GRID = 30
HORIZON = 400
HORIZON_S = HORIZON * GRID


def up(seconds: float) -> int:
    return ceil(seconds / GRID - 1e-9)


class Second:
    """A meal with one pot and no oven. serve_at: fixed serving, in units; None: only the soonest serving counts."""

    def __init__(self, meal: Meal, serve_at: int | None) -> None:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            from pyjobshop import Model

            self.model: Any = Model()
        self.meal, self.serve_at = meal, serve_at
        self.steps = {s.id: s for s in meal.steps()}
        self.followers = {s.id: [f for f in meal.steps() if s.id in f.after] for s in meal.steps()}
        self.pot = meal.equipment.pots[0]
        self.cook, self.oil = self.model.add_machine(), self.model.add_machine()
        self.free, self.burners = self.model.add_renewable(99), self.model.add_renewable(meal.equipment.burners)
        fixed = {} if serve_at is None else {"earliest_start": serve_at, "latest_start": serve_at}
        self.serve = self.task(0, self.free, 0, **fixed)
        self.begins: dict[str, list[Any]] = {}
        self.ends: dict[str, list[Any]] = {}
        self.in_oil: list[tuple[Any, Step]] = []
        light = self.task(LIGHT_S, self.cook)
        for step in meal.steps():
            self.add(step)
        for step in meal.steps():
            if not self.is_distance(step):
                self.link(step)
                self.keep(step)
        self.heat(light)

    def task(self, seconds: float, resource: Any, demand: int | None = None, wait: tuple[int, float] | None = None, **more: Any) -> Any:
        """wait: (price, best): a finish that costs so much for each unit it waits longer than `best` for serving."""
        job = None if wait is None or self.serve_at is None else self.model.add_job(weight=wait[0], due_date=self.serve_at - floor(wait[1] / GRID))
        task = self.model.add_task(job=job, **more)
        self.model.add_mode(task, resource, up(seconds), demand)
        return task

    def within(self, first: Any, then: Any, most: float) -> None:
        self.model.add_start_before_end(then, first, -floor(most / GRID))

    def is_distance(self, step: Step) -> bool:
        return step.kind is StepKind.WAIT and step.hold is None

    def hold(self, step: Step) -> tuple[float, float] | None:
        """(best, most) of what waits for serving from the end of this step; the figures without a card's are common practice."""
        last = not self.followers[step.id] and not self.meal.dish(step.dish).component
        plated = all(f.kind is StepKind.PLATE for f in self.followers[step.id])
        if step.hold is not None and (last or plated):
            return step.hold.best_s, step.hold.most_s
        if last:
            return {StepKind.PLATE: (120.0, 600.0)}.get(step.kind, (1800.0, 7200.0))
        if step.fry is not None and not step.fry.first_stage:
            later, queue = [], list(self.followers[step.id])
            while queue:
                here = queue.pop()
                queue += self.followers[here.id]
                later += [here.hold] if here.hold else []
            best, most = {"potato": (300.0, 600.0), "fish": (300.0, 900.0)}[self.meal.dish(step.dish).food_kind]
            return max([best, *(h.best_s for h in later)]), max([most, *(h.most_s for h in later)])
        return None

    def price(self, step: Step, number: int = 1) -> tuple[int, float] | None:
        kept = self.hold(step)
        return None if kept is None else (unit_price(HOLD_PRICE / number, GRID), kept[0])

    def add(self, step: Step) -> None:
        if step.fry is not None:
            self.fry(step)
        elif step.kind is StepKind.STOVE:
            pan = self.task(step.span.usual_s, self.burners, 1)
            begin = self.task(step.hands_s, self.cook)
            self.model.add_start_at_start(begin, pan)
            self.begins[step.id], self.ends[step.id] = [begin], [pan]
        elif not self.is_distance(step):
            waits = step.kind is StepKind.WAIT
            args = (step.span.least_s, self.free, 0) if waits else (step.span.usual_s, self.cook, None)
            self.begins[step.id] = self.ends[step.id] = [self.task(*args, wait=self.price(step))]

    def fry(self, step: Step) -> None:
        assert step.fry is not None
        number = step.fry.batches
        lower = max(LOWER_LEAST_S, ceil((step.fry.pieces or 0) / number) * step.fry.piece_s)
        self.begins[step.id], self.ends[step.id] = [], []
        for n in range(number):
            drop, lift = self.task(lower, self.cook), self.task(LIFT_S, self.cook, wait=self.price(step, number))
            oil = self.task(lower + step.span.usual_s, self.oil)
            self.model.add_start_at_start(drop, oil)
            self.model.add_end_at_start(oil, lift)
            if n:
                self.model.add_end_before_start(self.ends[step.id][-1], drop)
            self.in_oil.append((oil, step))
            self.begins[step.id].append(drop)
            self.ends[step.id].append(lift)

    def link(self, step: Step, at: Step | None = None, least: float = 0.0) -> None:
        """Everything a step waits for, through the waits between, which are distances."""
        for before in (self.steps[b] for b in (at or step).after):
            if self.is_distance(before):
                self.link(step, before, least + before.span.least_s)
                bounded = before.span.most_s > before.span.least_s and len(before.after) == 1
                if bounded and not self.is_distance(self.steps[before.after[0]]):
                    self.within(self.ends[before.after[0]][-1], self.begins[step.id][0], before.span.most_s)
                continue
            self.model.add_end_before_start(self.ends[before.id][-1], self.begins[step.id][0], up(least))
            if at is None and before.makes_perishable and before.hold is None:
                self.within(self.ends[before.id][-1], self.begins[step.id][0], 7200.0)
            if at is None and step.kind is StepKind.WAIT and len(step.after) == 1:
                self.model.add_end_at_start(self.ends[before.id][-1], self.begins[step.id][0])

    def keep(self, step: Step) -> None:
        if not self.followers[step.id]:
            self.model.add_end_before_start(self.ends[step.id][-1], self.serve)
        kept = self.hold(step)
        for end in self.ends[step.id] if kept else ():
            self.within(end, self.serve, kept[1] if kept else 0.0)

    def heat(self, light: Any) -> None:
        """Heating and recovery as set-up times between every two lots of the pot."""
        own = self.task(LIGHT_S, self.oil)
        self.model.add_start_at_start(own, light)
        for task, step in self.in_oil:
            assert step.fry is not None
            self.model.add_end_before_start(own, task, up(heat_time(self.pot, 20.0, step.fry.oil_c)))
            for other, then in self.in_oil:
                if other is not task and then.fry is not None:
                    change = heat_time(self.pot, step.fry.oil_c, then.fry.oil_c)
                    recovery = 0.0 if then.fry.oil_c < step.fry.oil_c else batch_limits(step, self.pot).recovery_s
                    self.model.add_setup_time(self.oil, task, other, up(change + recovery))


def only_waiting(problem: Problem) -> Problem:
    """Our problem with no price left but that of waiting for serving."""
    price = (unit_price(HOLD_PRICE, GRID), unit_price(HOLD_PRICE / 2, GRID))
    tasks = tuple(replace(t, stretch_price=0, skip_price=0 if t.skip_price is not None else None) for t in problem.tasks)
    lags = tuple(g for g in problem.lags if g.price is None or (g.then == "serve" and g.price in price))
    return replace(problem, tasks=tasks, lags=lags, orders=())


@pytest.fixture(scope="module")
def card() -> Meal:
    return read_card(find_meal("fish-supper"))


def test_the_soonest_serving_agrees(card: Meal) -> None:
    """Least makespan, proven by both."""
    second = Second(card, None)
    second.model.set_objective(weight_makespan=1)
    result = second.model.solve(display=False, num_workers=1, time_limit=30)
    ours = solve(build(card, Setting(people=2), HORIZON_S, None).problem)
    assert ours.optimal
    assert result.status.name == "OPTIMAL"
    assert round(result.objective) == ours.starts["serve"]


def test_the_waiting_at_a_fixed_serving_time_agrees(card: Meal) -> None:
    """Serving 84 minutes after the first possible start: the least weighted waiting, proven by both."""
    at = 170
    second = Second(card, at)
    second.model.set_objective(weight_total_earliness=1)
    result = second.model.solve(display=False, num_workers=1, time_limit=30)
    ours = solve(only_waiting(build(card, Setting(people=2), at * GRID, at * GRID).problem))
    assert ours.optimal
    assert result.status.name == "OPTIMAL"
    assert round(result.objective) == ours.cost
