"""A meal and a serving time -> a plan of the evening, or one sentence that says when it can be.

`plan_meal` for a wanted time, `earliest` for the soonest one with its reason, `menu` for what could be given up to be sooner. A plan is solved on
a grid of 30 s to proven optimum, then packed to the left where nothing has a price.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from math import ceil, floor

from assistant.kitchen.evening import EveningPlan, HoldOf, Item, PlanError, PlanTask, Setting, Wait
from assistant.kitchen.meal import Meal, Step, StepKind
from assistant.kitchen.oil.foods import UnknownCutError, cut
from assistant.kitchen.plan_ahead import days_ahead, longest_ahead_s
from assistant.kitchen.plan_board import at_line, planned_steps
from assistant.kitchen.plan_build import Built, build
from assistant.kitchen.plan_figures import DAY_S, OVER_LIMIT_PRICE, limits_of, unit_price
from assistant.kitchen.plan_lots import other_lots
from assistant.planning.problem import Plan, Problem
from assistant.planning.shift import held_up_by, least_times, over_limits, slack, tidy
from assistant.planning.solve import EFFORT, solve
from assistant.speaking.prompts import number as in_words

ASK_BEFORE_S = 120.0
ROUND_S = 60.0
MENU_EFFORT = 2.0


@dataclass(frozen=True, slots=True)
class Earliest:
    """The soonest serving time. serve_s: when (the solver's, rounded up to the minute); before_s: proven that it cannot be sooner; reason: the
    largest simple bound, in words; what: what it takes ("" for the whole meal as it stands)."""

    serve_s: float
    before_s: float
    reason: str
    what: str = ""


class NotReadyError(PlanError):
    """The meal cannot be ready at the wanted time. soonest: with everything; others: what could be given up, soonest first."""

    def __init__(self, soonest: Earliest, others: tuple[Earliest, ...], now_s: float) -> None:
        self.soonest = soonest
        self.others = others
        ways = "".join(f" {e.what}: {clock_and_day(e.serve_s, now_s)}." for e in others)
        super().__init__(f"Cannot be ready before {clock_and_day(soonest.serve_s, now_s)}: {soonest.reason}.{ways}")


def clock(day_s: float) -> str:
    """Seconds after midnight as HH:MM.

    >>> clock(18.5 * 3600)
    '18:30'
    """
    minutes = round(day_s / 60)
    return f"{minutes // 60 % 24:02d}:{minutes % 60:02d}"


def clock_and_day(day_s: float, now_s: float) -> str:
    """HH:MM, with the day when it is a later one.

    >>> clock_and_day(20 * 3600, 17 * 3600), clock_and_day(26 * 3600, 17 * 3600)
    ('20:00', 'tomorrow 02:00')
    """
    days = int(day_s // DAY_S - now_s // DAY_S)
    return ("" if days <= 0 else "tomorrow " if days == 1 else "the day after tomorrow " if days == 2 else f"{days} days from now, ") + clock(day_s)


def plan_meal(
    meal: Meal, serve_s: float | None, people: int | None = None, now_s: float | None = None, setting: Setting | None = None, effort: float = EFFORT
) -> EveningPlan:
    """The best plan that serves at `serve_s`, or as soon as can be when it is None. now_s: the present on the same clock (None: there is all the time
    in the world, for a serving time). Raises PlanError for a meal that can never be planned, NotReadyError when the time cannot be met."""
    setting = replace(setting or Setting(), people=people or (setting.people if setting else 0) or meal.serves)
    check_meal(meal, setting)
    if serve_s is None:
        serve_s = earliest(meal, setting, now_s or 0.0).serve_s
    if now_s is not None and serve_s <= now_s:
        raise PlanError(f"Serving at {clock(serve_s)} has passed, it is {clock(now_s)}; name a later time.")
    plan = try_plan(meal, serve_s, now_s, setting, effort, choose=True)
    if plan is None:
        begin = now_s if now_s is not None else serve_s - _long_enough_s(meal, setting)
        soonest = earliest(meal, setting, begin)
        raise NotReadyError(soonest, menu(meal, setting, begin, soonest.serve_s), begin)
    return plan


def try_plan(meal: Meal, serve_s: float, now_s: float | None, setting: Setting, effort: float = EFFORT, choose: bool = False) -> EveningPlan | None:
    """The best plan that serves at this time, None when there is none. choose: number and size of batches too, within the limits."""
    ahead_s = longest_ahead_s(meal, planned_steps(meal, setting))
    length_s = max(_long_enough_s(meal, setting), ahead_s) if now_s is None else serve_s - now_s
    horizon = floor(length_s / setting.grid_s + 1e-9)
    ahead = days_ahead(length_s) if ahead_s else 0
    # with no room on the days before, or none that its long waits leave, all of it is done on the evening
    tries = [replace(setting, ahead=days) for days in dict.fromkeys((ahead, 0))]
    for attempt in [*tries, replace(tries[0], crowded=True)]:
        if attempt.crowded and not _crowds(meal, setting, effort):
            return None
        built = build(meal, attempt, horizon * setting.grid_s, horizon * setting.grid_s)
        plan = solve(built.problem, effort=effort)
        if plan.found:
            if choose:
                attempt, built, plan = _best_lots(meal, attempt, built, plan, effort)
            return evening(meal, attempt, built, tidy(built.problem, plan), serve_s, serve_s - horizon * setting.grid_s)
    return None


def _best_lots(meal: Meal, setting: Setting, built: Built, plan: Plan, effort: float) -> tuple[Setting, Built, Plan]:
    """The cheapest among the other ways to divide the lots; proven only when every one of them is, and none was left out."""
    horizon_s = built.problem.by_id()["serve"].earliest * setting.grid_s
    others, every = other_lots(setting, built.batches)
    proven = plan.optimal and every
    for other in others:
        again = build(meal, other, horizon_s, horizon_s)
        better = solve(again.problem, effort=effort, below=plan.cost)
        proven = proven and better.status in ("optimal", "infeasible")
        if better.found:
            setting, built, plan = other, again, better
    return setting, built, replace(plan, status="optimal" if proven else "feasible", bound=plan.cost if proven else 0)


def _crowds(meal: Meal, setting: Setting, effort: float) -> bool:
    """Whether, given all the time in the world, batches still outlast what they leave."""
    return not solve(build(meal, setting, _long_enough_s(meal, setting), None).problem, effort=effort).found


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
    tasks.sort(key=lambda t: (t.start_s, t.end_s, t.id))
    drops = [t.start_s for t in tasks if t.action == "drop"]
    serve = problem.by_id()["serve"]
    late = serve.wish is not None and serve.wish.late > 0 and plan.starts["serve"] > serve.wish.at
    why = items[held_up_by(problem, plan, "serve")] if late else items["serve"]
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
        because=(why.dish or why.name) if late else "",
        broken=tuple(broken(items, problem, plan, unit_s, unit_price(OVER_LIMIT_PRICE, base.grid_s))),
    )


def waits(holds: tuple[HoldOf, ...], ends: Mapping[str, float]) -> tuple[Wait, ...]:
    """How long the oldest part of each dish waits for serving."""
    longest: dict[str, Wait] = {}
    for hold in (h for h in holds if h.task in ends):
        wait = Wait(hold.dish, -ends[hold.task], hold.best_s, hold.most_s)
        if hold.dish not in longest or wait.seconds > longest[hold.dish].seconds:
            longest[hold.dish] = wait
    return tuple(longest.values())


def broken(items: Mapping[str, Item], problem: Problem, plan: Plan, unit_s: int, limit_price: int) -> Iterator[str]:
    """What of the limits that had a price is not kept, in words."""
    for first, then, over in over_limits(problem, plan, least_price=limit_price):
        item = items[first]
        batch = f", batch {item.batch}," if item.batch else ""
        until = "" if then in ("serve", first) else f" for {items[then].name}"
        yield f"{item.name}{batch} waits {minutes(over * unit_s)} too long{until}"


def minutes(seconds: float) -> str:
    """A duration in words, to the minute, at least one; from two hours on in hours.

    >>> minutes(68 * 60), minutes(20), minutes(26.5 * 3600)
    ('68 minutes', '1 minute', '26 hours 30 minutes')
    """
    n = max(1, round(seconds / 60))
    hours, rest = divmod(n, 60) if n >= 120 else (0, n)
    parts = [f"{n} {unit}{'' if n == 1 else 's'}" for n, unit in ((hours, "hour"), (rest, "minute")) if n]
    return " ".join(parts)


# -- the soonest time, and why


def earliest(meal: Meal, setting: Setting, now_s: float, effort: float = EFFORT, what: str = "") -> Earliest:
    """The soonest time at which all of it can be served. PlanError when there is none at all."""
    length = _long_enough_s(meal, setting)
    built = build(meal, setting, length, None)
    plan = solve(built.problem, effort=effort)
    if not plan.found:
        built = build(meal, replace(setting, crowded=True), length, None)
        plan = solve(built.problem, effort=effort)
    if not plan.found:
        raise PlanError(_why_never(meal, setting, length))
    serve_s = ceil((now_s + plan.starts["serve"] * setting.grid_s) / ROUND_S) * ROUND_S
    return Earliest(serve_s, now_s + plan.bound * setting.grid_s, bounds(meal, built, setting.grid_s)[0][1], what)


def menu(meal: Meal, setting: Setting, now_s: float, than_s: float) -> tuple[Earliest, ...]:
    """What could be given up to be sooner than `than_s`: each dish, each lot in fewer, fuller batches where the pot takes them; soonest first."""
    ways = []
    dishes = [d for d in meal.dishes if not d.component and d.id not in setting.skip]
    for dish in dishes if len(dishes) > 1 else ():
        ways.append((replace(setting, skip=setting.skip | {dish.id}), f"Without the {dish.name}"))
    for step, number in fuller(meal, setting):
        lot = f"In {in_words(number)} batch{'' if number == 1 else 'es'} of {meal.dish(step.dish).name}"
        ways.append((replace(setting, batches={**setting.batches, step.id: number}), lot))
    found = []
    for other, what in ways:
        try:
            found.append(earliest(meal, other, now_s, MENU_EFFORT, what))
        except PlanError:
            continue  # without that dish there is still no way
    return tuple(sorted((e for e in found if e.serve_s < than_s), key=lambda e: e.serve_s))


def fuller(meal: Meal, setting: Setting) -> list[tuple[Step, int]]:
    """Lots that the pot itself would take in one batch less than the card has them in, with that number."""
    built = build(meal, setting, _long_enough_s(meal, setting), None)
    pots = {p.id: p for p in meal.equipment.pots}
    found = []
    for step_id, sizes in built.batches.items():
        step = meal.step(step_id)
        assert step.fry is not None
        number = len(sizes) - 1
        try:
            cut(step.fry.cut)
        except UnknownCutError:
            continue  # nobody knows what the pot would take of it
        limit = limits_of(replace(step, fry=replace(step.fry, batches=1)), pots[step.fry.pot])
        if number >= 1 and sum(s.kg for s in sizes) / number <= limit.most_kg * (1 + 1e-6):
            found.append((step, number))
    return found


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


def _long_enough_s(meal: Meal, setting: Setting) -> float:
    """Seconds in which all of it fits one after the other."""
    built = build(meal, setting, 0.0, None)
    units = sum(t.shortest for t in built.problem.tasks)
    into: dict[str, int] = {}
    for machine in built.problem.machines:
        for (_, state), n in machine.setup:
            into[state] = max(n, into.get(state, 0))
    # no pot is let cool to the room's temperature on the way
    setups = sum(into.get(u.state, 0) for t in built.problem.tasks for u in t.uses if u.state != "cold")
    lags = sum(g.least or 0 for g in built.problem.lags)
    return float((units + setups + lags) * setting.grid_s + 3600)


# -- meals that can never be planned


def check_meal(meal: Meal, setting: Setting) -> None:
    """PlanError for what no plan can mend: circles, names of no dish, steps that do not fit their own window."""
    known = {d.id for d in meal.dishes} | {s.id for s in meal.steps()}
    for name in sorted(setting.skip):
        if name not in known:
            raise PlanError(f"{meal.file or meal.id}: there is no dish '{name}'; it has {', '.join(d.id for d in meal.dishes if not d.component)}.")
    steps = planned_steps(meal, setting)
    if not steps:
        raise PlanError(f"{meal.file or meal.id}: nothing is left to cook; keep at least one dish.")
    for step in steps:
        if step.kind is StepKind.WAIT and step.span.most_s < step.span.least_s:
            least, most = minutes(step.span.least_s), minutes(step.span.most_s)
            raise PlanError(f"{at_line(meal, step.line)}: '{step.name}' wants at least {least} and at most {most}; make its window longer.")
    _check_circles(meal, steps)


def _check_circles(meal: Meal, steps: list[Step]) -> None:
    by_id = {s.id: s for s in steps}
    done: set[str] = set()

    def visit(step: Step, trail: tuple[str, ...]) -> None:
        if step.id in trail:
            circle = [by_id[s].name for s in (*trail[trail.index(step.id) :], step.id)]
            said = ", which waits for ".join(f"'{n}'" for n in circle[1:])
            raise PlanError(f"{at_line(meal, step.line)}: '{circle[0]}' waits for {said}: a circle; take one 'after' out of it.")
        for before in step.after:
            if before in by_id and before not in done:
                visit(by_id[before], (*trail, step.id))
        done.add(step.id)

    for step in steps:
        visit(step, ())


def _why_never(meal: Meal, setting: Setting, length_s: float) -> str:
    """Which limit makes it impossible at any time: the first step without whose limits there is a plan."""
    for step in planned_steps(meal, setting):
        freed = replace(
            step, hold=None, makes_perishable=False, span=replace(step.span, most_s=float("inf")) if step.kind is StepKind.WAIT else step.span
        )
        if freed == step:
            continue
        dishes = tuple(replace(d, steps=tuple(freed if s.id == step.id else s for s in d.steps)) for d in meal.dishes)
        if solve(build(replace(meal, dishes=dishes), setting, length_s, None).problem, effort=MENU_EFFORT).found:
            return (
                f"{at_line(meal, step.line)}: '{step.name}' cannot wait as long as what must come between; let it keep longer, or leave a dish out."
            )
    return f"{meal.file or meal.id}: no order of its steps keeps all its limits; leave a dish out or let more of them keep longer."
