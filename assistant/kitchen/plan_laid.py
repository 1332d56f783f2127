"""The solver's timetable in kitchen terms: lines of the evening, how long dishes wait, which limits are not kept, and simple bounds on its length."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from math import floor

from assistant.kitchen.evening import EveningPlan, HoldOf, Item, PlanTask, Setting, Wait
from assistant.kitchen.meal import Meal
from assistant.kitchen.plan_build import Built
from assistant.kitchen.plan_clock import minutes
from assistant.kitchen.plan_figures import KEPT_S, OVER_LIMIT_PRICE, unit_price
from assistant.planning.problem import Plan, Problem
from assistant.planning.shift import held_up_by, least_times, over_limits, slack

ASK_BEFORE_S = 120.0


def evening(meal: Meal, setting: Setting, built: Built, plan: Plan, serve_s: float, origin_s: float) -> EveningPlan:
    """The solver's timetable in kitchen terms."""
    grid = setting.grid_s
    blank = EveningPlan(
        meal=meal.id,
        people=setting.people or meal.serves,
        serve_s=serve_s,
        origin_s=origin_s,
        grid_s=grid,
        tasks=(),
        waits=(),
        batches=built.batches,
        cost=plan.cost,
        bound=plan.bound,
        optimal=plan.optimal,
        ask_s=None,
        limits={words: s for s, words in bounds(meal, built, grid)},
        problem=built.problem,
        items=tuple(built.items.values()),
        holds=built.holds,
        setting=setting,
        names={p.id: p.name for p in meal.equipment.pots} | {"cook": "hands"},
        starts={},
        ends={},
        learned=tuple(sorted(setting.usual_s)),
    )
    return lay_out(blank, built.problem, plan, grid)


def lay_out(base: EveningPlan, problem: Problem, plan: Plan, unit_s: int) -> EveningPlan:
    """The evening with this timetable, whose units are `unit_s`; cost and proof come from the timetable, all else of the problem from `base`."""
    items = {i.id: i for i in base.items}
    serve_s = base.origin_s + plan.starts["serve"] * unit_s
    spare = slack(problem, plan)
    # a wait is shown until the first of what comes next
    ends_wait: dict[str, int] = {}
    for lag in problem.lags:
        if lag.of_first == "end" and lag.of_then == "start" and lag.least is not None and lag.first in plan.starts and lag.then in plan.starts:
            ends_wait[lag.first] = min(plan.starts[lag.then], ends_wait.get(lag.first, plan.starts[lag.then]))
    tasks = []
    for task in problem.tasks:
        item = items[task.id]
        if task.id not in plan.starts or item.action == "evening":
            continue
        sizes = base.batches.get(item.step, ())
        size = sizes[item.batch - 1] if 0 < item.batch <= len(sizes) and item.action in ("drop", "fry", "lift") else None
        until = plan.ends[task.id] if item.action != "wait" else max(plan.ends[task.id], ends_wait.get(task.id, 0))
        start, end = base.origin_s + plan.starts[task.id] * unit_s - serve_s, base.origin_s + until * unit_s - serve_s
        tasks.append(
            PlanTask(
                id=task.id,
                step=item.step,
                dish=item.dish,
                action=item.action,
                name=item.name,
                batch=item.batch,
                start_s=start,
                end_s=max(start, end - floor(item.pad_s / base.grid_s) * base.grid_s),
                resources=(*(base.names.get(m, m) for m in plan.by.get(task.id, ())), *(s for s, _ in task.needs)),
                slack_s=spare[task.id] * unit_s,
                kg=size.kg if size else None,
                pieces=size.pieces if size else None,
            )
        )
    tasks = sorted(_worth_the_oven(tasks), key=lambda t: (t.start_s, t.end_s, t.id))
    drops = [t.start_s for t in tasks if t.action == "drop"]
    serve = problem.by_id()["serve"]
    late = serve.wish is not None and serve.wish.late > 0 and plan.starts["serve"] > serve.wish.at
    return replace(
        base,
        serve_s=serve_s,
        tasks=tuple(tasks),
        waits=waits(base.holds, {t.id: t.end_s for t in tasks}),
        cost=plan.cost * unit_s // base.grid_s,
        bound=plan.bound * unit_s // base.grid_s,
        optimal=plan.optimal,
        ask_s=max(drops) - ASK_BEFORE_S if drops else None,
        starts={t: u * unit_s for t, u in plan.starts.items()},
        ends={t: u * unit_s for t, u in plan.ends.items()},
        by=dict(plan.by),
        because=held_up_by(problem, plan, "serve") if late else "",
        broken=tuple(broken(items, problem, plan, unit_s, unit_price(OVER_LIMIT_PRICE, base.grid_s))),
    )


def _worth_the_oven(tasks: list[PlanTask]) -> list[PlanTask]:
    """Without what waits too shortly for a way to the oven, and without the oven when nothing else is in it."""
    used = [t for t in tasks if t.action != "keep" or t.end_s - t.start_s >= KEPT_S]
    hot = any(t.action in ("bake", "keep") for t in used)
    return [t for t in used if hot or t.id != "oven:light"]


def waits(holds: tuple[HoldOf, ...], ends: Mapping[str, float]) -> tuple[Wait, ...]:
    """How long the oldest part of each dish waits for serving."""
    longest: dict[str, Wait] = {}
    for hold in (h for h in holds if h.task in ends):
        wait = Wait(hold.dish, -ends[hold.task], hold.best_s, hold.most_s)
        if hold.dish not in longest or wait.seconds > longest[hold.dish].seconds:
            longest[hold.dish] = wait
    return tuple(longest.values())


def too_long(plan: EveningPlan) -> Iterator[str]:
    """What a plan holds too long, a sentence's words for each lot: the worst of its batches and how many there are."""
    units = Plan("feasible", {t: s // plan.grid_s for t, s in plan.starts.items()}, {t: s // plan.grid_s for t, s in plan.ends.items()}, plan.by)
    items = {i.id: i for i in plan.items}
    lots: dict[tuple[str, str], list[int]] = {}
    for first, then, over in over_limits(plan.problem, units, unit_price(OVER_LIMIT_PRICE, plan.grid_s)):
        lots.setdefault((items[first].name, items[then].name if then not in ("serve", first) else ""), []).append(over * plan.grid_s)
    for (name, then), overs in lots.items():
        until = f" for {then}" if then else ""
        if len(overs) == 1:
            yield f"{name} waits {minutes(overs[0])} too long{until}"
        else:
            yield f"{name}: {len(overs)} batches wait up to {minutes(max(overs))} too long{until}"


def broken(items: Mapping[str, Item], problem: Problem, plan: Plan, unit_s: int, limit_price: int) -> Iterator[str]:
    """What of the limits that had a price is not kept, in words."""
    for first, then, over in over_limits(problem, plan, least_price=limit_price):
        item = items[first]
        batch = f", batch {item.batch}," if item.batch else ""
        until = "" if then in ("serve", first) else f" for {items[then].name}"
        yield f"{item.name}{batch} waits {minutes(over * unit_s)} too long{until}"


def bounds(meal: Meal, built: Built, grid_s: int) -> list[tuple[float, str]]:
    """(seconds, in words) of simple lower bounds on the time from the first task to serving, largest first: longest chain, hands, each pot."""
    problem = built.problem
    found = [_longest_chain(meal, built, grid_s)]
    cooks = sum(1 for m in problem.machines if m.id in ("cook", "helper"))
    load = sum(t.shortest for t in problem.tasks for u in t.uses if set(u.machines) <= {"cook", "helper"})
    found.append((load * grid_s / cooks, f"the hands alone need {minutes(load * grid_s / cooks)}"))
    for pot in meal.equipment.pots:
        units = _pot_load(problem, pot.id)
        if units:
            found.append((units * grid_s, f"the {pot.name.removeprefix('the ')} alone needs {minutes(units * grid_s)}"))
    return sorted(found, key=lambda b: (-b[0], b[1]))


def _pot_load(problem: Problem, pot: str) -> int:
    """Units a pot is at least busy: its tasks, and before each but the first the least set-up into its state."""
    users = [(t, u.state) for t in problem.tasks for u in t.uses if u.machines == (pot,)]
    setup = next(m.setups() for m in problem.machines if m.id == pot)
    load = sum(t.shortest for t, _ in users)
    lots = [state for _, state in users if state != "cold"]
    if lots:
        load += min(setup.get(("cold", s), 0) for s in lots)
        into = sorted(min((setup.get((o, s), 0) for o in [*lots] if o != s or lots.count(s) > 1), default=0) for s in lots)
        load += sum(into[: len(lots) - 1])
    return load


def _longest_chain(meal: Meal, built: Built, grid_s: int) -> tuple[float, str]:
    tasks = built.problem.tasks
    number = {t.id: i for i, t in enumerate(tasks)}
    edges = [(2 * i, 2 * i + 1, t.shortest) for i, t in enumerate(tasks)]
    for lag in built.problem.lags:
        if lag.least is not None and built.items[lag.first].action != "evening":
            edges.append((2 * number[lag.first] + (lag.of_first == "end"), 2 * number[lag.then] + (lag.of_then == "end"), lag.least))
    into: dict[int, list[tuple[int, int]]] = {}
    for a, b, units in edges:
        into.setdefault(b, []).append((a, units))
    times = least_times(2 * len(tasks), edges, [0] * (2 * len(tasks)), frozenset())
    assert times is not None
    at, name = 2 * number["serve"], ""
    seen: set[int] = set()
    while not name and at not in seen:
        seen.add(at)
        before = next((a for a, units in into.get(at, []) if times[a] + units == times[at] and a not in seen), None)
        if before is None:
            break
        at = before
        dish = built.items[tasks[at // 2].id].dish
        name = meal.dish(dish).name if dish else ""
    seconds = times[2 * number["serve"]] * grid_s
    return seconds, f"the steps of the {name or 'longest dish'} alone need {minutes(seconds)}"
