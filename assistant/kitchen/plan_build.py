"""Meal -> scheduling problem: what each step occupies, what must follow what, how long each state keeps, and what each wish costs.

The sides of the kitchen are modules of their own, named in `plan_board`; here they are put together, with serving and the length of the evening.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from assistant.kitchen.evening import BatchSize, HoldOf, Item, Setting
from assistant.kitchen.meal import Meal
from assistant.kitchen.plan_ahead import THAWING, bound_sessions, earlier_days, thaw
from assistant.kitchen.plan_board import Board
from assistant.kitchen.plan_facts import THAW
from assistant.kitchen.plan_figures import EVENING_PRICE, LATE_PRICE, ROOM_FOR_LATENESS_S
from assistant.kitchen.plan_heat import oven, oven_setup, pot_order, pot_setup, pots
from assistant.kitchen.plan_keep import follow, keep
from assistant.kitchen.plan_steps import add_step
from assistant.planning.problem import Lag, Machine, Problem, Store, Task, Wish


@dataclass(frozen=True, slots=True)
class Built:
    """The problem of an evening and what its tasks mean."""

    problem: Problem
    items: Mapping[str, Item]
    holds: tuple[HoldOf, ...]
    batches: Mapping[str, tuple[BatchSize, ...]]


def build(meal: Meal, setting: Setting, horizon_s: float, serve_at_s: float | None, serve_late: bool = False) -> Built:
    """The problem over `horizon_s` seconds from its origin. serve_at_s: serving, s from the origin (None: as early as can be, and
    nothing else counts); serve_late: serving may slip, at a price."""
    return _built(Board(meal, setting, horizon_s, serve_at_s, serve_late))


def _built(b: Board) -> Built:
    _serve(b)
    for step in b.steps:
        add_step(b, step)
    earlier_days(b)
    thaw(b)
    pots(b)
    oven(b)
    for step in b.steps:
        follow(b, step)
    for step in b.steps:
        keep(b, step)
    pot_order(b)
    bound_sessions(b)
    _evening(b)
    equipment = b.meal.equipment
    machines = [Machine("cook"), *([Machine("helper")] if b.setting.helper else [])]
    machines += [Machine(p.id, pot_setup(b, p), together=b.setting.unmixed and not b.setting.cooking) for p in equipment.pots]
    machines.append(Machine("oven", oven_setup(b), open=True))
    problem = Problem(
        tuple(b.tasks.values()),
        tuple(b.lags),
        tuple(machines),
        (Store("burner", equipment.burners), Store("tray", equipment.trays)),
        tuple(b.orders),
        b.horizon + b.up(ROOM_FOR_LATENESS_S),
        b.price(1) if b.setting.cooking else 0,
    )
    return Built(problem, b.items, tuple(b.holds), b.batches)


def _serve(b: Board) -> None:
    if b.serve_at is None:
        b.tasks["serve"] = Task("serve", 0, wish=Wish(0, late=1))
    elif b.serve_late:
        at = b.up(b.serve_at)
        b.tasks["serve"] = Task("serve", 0, earliest=at, wish=Wish(at, late=b.price(LATE_PRICE)))
    else:
        at = b.up(b.serve_at)
        b.tasks["serve"] = Task("serve", 0, earliest=at, latest=at)
    b.items["serve"] = Item("serve", "serve", "Serve")


def _evening(b: Board) -> None:
    """The evening lasts from the first task to serving, and is better short."""
    if b.serve_at is None:
        _only_serving(b)
        return
    parts = [t for t in b.tasks if t != "serve" and t not in b.ahead and not t.endswith((THAW, THAWING))]
    b.tasks["evening"] = Task(
        "evening", 0, 0, b.horizon + b.up(ROOM_FOR_LATENESS_S), stretch_price=0 if b.setting.cooking else b.price(EVENING_PRICE)
    )
    b.items["evening"] = Item("evening", "evening", "")
    for part in parts:
        b.lags.append(Lag("evening", part, 0, of_first="start"))
    b.pin("evening", "serve", "end", "start")


def _only_serving(b: Board) -> None:
    """When only the earliest serving time is wanted, nothing else has a price."""
    b.orders.clear()
    b.tasks = {name: replace(t, stretch_price=0) for name, t in b.tasks.items()}
    b.lags = [replace(g, most=None, price=None) if g.price is not None else g for g in b.lags]
    b.lags = [g for g in b.lags if g.least is not None or g.most is not None]
