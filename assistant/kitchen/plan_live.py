"""The plan while cooking: facts in, the plan that follows from them out. Pure: no clock, no journal.

`for_cooking` makes a plan ready for the evening: limits get prices, serving may slip at the dearest one. Then, with all facts of the evening so far,
`shift` answers within milliseconds in plain Python (every order kept, what must moves later), and `replan` asks the solver for at most 0.3 s;
its plan is taken only if it is `worth_it`. What was told stays unless leaving it keeps a limit or saves two minutes. What has happened never moves.
Facts name tasks by the ids of `evening.task_id`; they are applied to the plan's own problem each time, all of them, so that a journal replays to the
same plan.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from math import ceil, floor

from assistant.kitchen.evening import EveningPlan, Item, Pads, PlanError, Setting
from assistant.kitchen.meal import Meal
from assistant.kitchen.plan_build import build
from assistant.kitchen.plan_chance import with_air
from assistant.kitchen.plan_facts import Began, Ended, Fact, Helper, Late, LeftOut, MoreTime, People, ServeAt
from assistant.kitchen.plan_figures import LATE_PRICE, ROOM_FOR_LATENESS_S
from assistant.kitchen.plan_laid import lay_out
from assistant.kitchen.plan_meal import try_plan
from assistant.kitchen.plan_soonest import check_meal, earliest
from assistant.planning import shift as quick
from assistant.planning.happened import happened
from assistant.planning.problem import Lag, Machine, Order, Plan, Problem, Task, Use, Wish

LIMIT_S = 0.3
WORTH_S = 120.0


def for_cooking(meal: Meal, plan: EveningPlan) -> EveningPlan:
    """The same timetable with prices on its limits, ready for facts. Its air is there to be used up: no rule keeps it."""
    setting = replace(plan.setting, cooking=True, pads=Pads())
    serve = plan.serve_s - plan.origin_s
    built = build(meal, setting, serve, serve, serve_late=True)
    told = Plan("feasible", plan.starts, plan.ends, plan.by)
    return lay_out(replace(plan, problem=built.problem, setting=setting), _finer(built.problem, plan.grid_s), told, 1)


def plan_now(meal: Meal, serve_s: float | None, now_s: float, setting: Setting) -> EveningPlan:
    """A plan for a cook who begins now: at the wanted time, with air, or at the soonest that keeps every limit when that is later or None was wanted.
    meal: as the card has it, people in the setting. PlanError for a meal that can never be planned."""
    setting = replace(setting, people=setting.people or meal.serves)
    check_meal(meal, setting)
    plan = try_plan(meal, serve_s, now_s, setting, choose=True) if serve_s is not None and serve_s > now_s else None
    if plan is not None:
        return for_cooking(meal, _counted_from(now_s, with_air(meal, plan, now_s, setting)))
    plan = try_plan(meal, earliest(meal, setting, now_s).serve_s, now_s, setting, choose=True)
    if plan is None:
        raise PlanError(f"{meal.file or meal.id}: no order of its steps keeps all its limits; leave a dish out.")
    return for_cooking(meal, _counted_from(now_s, plan))


def _counted_from(now_s: float, plan: EveningPlan) -> EveningPlan:
    """The same plan with room from now on: what the cook begins early is before its first task."""
    more = floor((plan.origin_s - now_s) / plan.grid_s) * plan.grid_s
    starts, ends = ({t: s + more for t, s in found.items()} for found in (plan.starts, plan.ends))
    return replace(plan, origin_s=plan.origin_s - more, starts=starts, ends=ends)


def plan_again(plan: EveningPlan, done: frozenset[str], facts: Iterable[Fact], now_s: float, meal: Meal) -> EveningPlan:
    """The plan once steps that it took for done must be done after all: made anew for the same serving, or the soonest after. done: what is left."""
    facts = tuple(facts)
    return shift(plan_now(meal, plan.serve_s, plan.origin_s, replace(plan.setting, done=done, cooking=False)), facts, now_s, meal)


def shift(plan: EveningPlan, facts: Iterable[Fact], now_s: float, meal: Meal | None = None) -> EveningPlan:
    """The first answer: everything in its order, moved later only as far as the facts ask. meal: needed once people have changed."""
    facts = tuple(facts)
    base = _resized(plan, facts, meal)
    problem = _with_facts(base, facts, now_s, unit_s=1)
    told = Plan("feasible", base.starts, base.ends, base.by)
    told = _with_new_tasks(problem, told)
    serve = problem.by_id()["serve"]
    earlier = serve.wish is not None and serve.wish.at < told.starts["serve"] and any(isinstance(f, ServeAt) for f in facts)
    moved = quick.shift(problem, told, stay=not earlier)
    if moved is None:
        # two facts that contradict each other: what is told stays as it is
        return plan
    return lay_out(base, problem, moved, 1)


def replan(plan: EveningPlan, facts: Iterable[Fact], now_s: float, meal: Meal | None = None, time_limit: float = LIMIT_S) -> EveningPlan | None:
    """The solver's answer within so many seconds; None when it found none. Compare with `worth_it` against what `shift` gave."""
    from assistant.planning.solve import solve

    facts = tuple(facts)
    base = _resized(plan, facts, meal)
    grid = base.grid_s
    coarse = _with_facts(base, facts, now_s, unit_s=grid)
    told = {t: round(s / grid) for t, s in base.starts.items()}
    tasks = tuple(t if (t.latest is not None and t.latest <= t.earliest) or t.id not in told else replace(t, was=told[t.id]) for t in coarse.tasks)
    coarse = replace(coarse, tasks=tasks)
    found = solve(coarse, wall_s=time_limit, hint=told)
    if not found.found:
        return None
    fine = _with_facts(base, facts, now_s, unit_s=1)
    units = Plan("feasible", {t: u * grid for t, u in found.starts.items()}, {t: u * grid for t, u in found.ends.items()}, found.by, found.left_out)
    exact = quick.shift(fine, units)
    if exact is None:
        return None
    return replace(lay_out(base, fine, exact, 1), cost=found.cost, bound=found.bound, optimal=found.optimal)


def worth_it(old: EveningPlan, new: EveningPlan) -> bool:
    """Whether the cook should hear the new plan: it serves two minutes sooner, or keeps a limit that the old one breaks."""
    return old.serve_s - new.serve_s >= WORTH_S or (len(new.broken) < len(old.broken) and new.serve_s <= old.serve_s)


# -- facts onto the problem


def _resized(plan: EveningPlan, facts: tuple[Fact, ...], meal: Meal | None) -> EveningPlan:
    """The plan for as many people as there are now; lots that have begun keep their batches."""
    count = next((f.count for f in reversed(facts) if isinstance(f, People)), plan.people)
    if count == plan.people or meal is None:
        return plan
    begun = {f.task for f in facts if isinstance(f, Began | Ended)}
    kept = {step: len(sizes) for step, sizes in plan.batches.items() if any(t.startswith(f"{step}#") for t in begun)}
    setting = replace(plan.setting, people=count, cooking=True, batches=kept, small_first=plan.setting.small_first & kept.keys())
    serve = plan.serve_s - plan.origin_s
    built = build(meal, setting, max(serve, plan.problem.horizon * plan.grid_s - ROOM_FOR_LATENESS_S), serve, serve_late=True)
    problem = built.problem
    wish = plan.problem.by_id()["serve"].wish
    problem = replace(problem, tasks=tuple(replace(t, earliest=wish.at, wish=wish) if t.id == "serve" and wish else t for t in problem.tasks))
    batches = {**built.batches, **{step: plan.batches[step] for step in kept}}
    return replace(plan, people=count, setting=setting, problem=problem, items=tuple(built.items.values()), holds=built.holds, batches=batches)


def _with_new_tasks(problem: Problem, told: Plan) -> Plan:
    """Batches that the told plan did not have go behind the last of their lot, and everything after moves on by their length, so that there is an
    order to keep."""
    tasks = problem.by_id()
    starts = {t: s for t, s in told.starts.items() if t in tasks}
    ends = {t: told.ends[t] for t in starts}
    missing = [t for t in tasks if t not in starts and tasks[t].skip_price is None]  # what need not be stays left out
    for drop in (t for t in missing if t.endswith(":drop")):
        lot, _, number = drop.removesuffix(":drop").partition("#")
        fry, lift = f"{lot}#{number}:fry", f"{lot}#{number}:lift"
        begin = ends[f"{lot}#{int(number) - 1}:lift"]
        length = tasks[fry].usual + tasks[lift].usual
        for later in [t for t, s in starts.items() if s >= begin]:
            starts[later] += length
            ends[later] += length
        for task, start in ((drop, begin), (fry, begin), (lift, begin + tasks[fry].usual)):
            starts[task], ends[task] = start, start + tasks[task].usual
    for task in (t for t in missing if t not in starts):
        before = [ends[g.first] for g in problem.lags if g.then == task and g.least is not None and g.first in ends and g.of_then == "start"]
        starts[task] = ends[task] = max(before, default=0)
    by = {t: told.by.get(t, tuple(u.machines[0] for u in tasks[t].uses)) for t in starts}
    return replace(told, starts=starts, ends=ends, by=by)


def _with_facts(plan: EveningPlan, facts: tuple[Fact, ...], now_s: float, unit_s: int) -> Problem:
    """The plan's problem, in units of `unit_s`, after these facts."""
    items = {i.id: i for i in plan.items}
    problem = _finer(plan.problem, plan.grid_s) if unit_s == 1 else plan.problem
    problem = _left_out(problem, items, {f.id for f in facts if isinstance(f, LeftOut)})
    helpers = [f.here for f in facts if isinstance(f, Helper)]
    if helpers:
        problem = _helped(problem, items, helpers[-1])
    wanted = [f.serve_s for f in facts if isinstance(f, ServeAt)]
    if wanted:
        at = max(0, ceil((wanted[-1] - plan.origin_s) / unit_s))
        price = LATE_PRICE * plan.grid_s * 40 // 60
        late = 0 if at > problem.horizon else price
        serve = replace(problem.by_id()["serve"], earliest=at, latest=None, wish=Wish(at, late=late or price))
        problem = replace(
            problem,
            tasks=tuple(serve if t.id == "serve" else t for t in problem.tasks),
            horizon=max(problem.horizon, at + ROOM_FOR_LATENESS_S // unit_s),
        )
    problem = _longer(problem, facts, unit_s)
    starts, ends = _instants(plan, problem, facts)
    begun = {t: floor((s - plan.origin_s) / unit_s) for t, s in starts.items()}
    over = {t: max(begun[t], (ceil if unit_s > 1 else round)((s - plan.origin_s) / unit_s)) for t, s in ends.items()}
    now = max(0, ceil((now_s - plan.origin_s) / unit_s))
    problem = happened(replace(problem, horizon=max(problem.horizon, now + ROOM_FOR_LATENESS_S // unit_s)), begun, over, now)
    busy = max((f.until_s for f in facts if isinstance(f, Late)), default=0.0)
    if busy > now_s:
        free = ceil((busy - plan.origin_s) / unit_s)
        tasks = tuple(replace(t, earliest=max(t.earliest, free)) if t.id not in begun and _by_hand(t) else t for t in problem.tasks)
        problem = replace(problem, tasks=tasks)
    return problem


def _by_hand(task: Task) -> bool:
    return any(set(u.machines) <= {"cook", "helper"} for u in task.uses)


def _finer(problem: Problem, by: int) -> Problem:
    """The same problem in units `by` times as short; costs come out `by` times as high."""

    def more(units: int | None) -> int | None:
        return None if units is None else units * by

    tasks = tuple(
        replace(
            t,
            usual=t.usual * by,
            least=more(t.least),
            most=more(t.most),
            earliest=t.earliest * by,
            latest=more(t.latest),
            wish=None if t.wish is None else replace(t.wish, at=t.wish.at * by),
            was=more(t.was),
            skip_price=more(t.skip_price),
        )
        for t in problem.tasks
    )
    return Problem(
        tasks,
        tuple(Lag(g.first, g.then, more(g.least), more(g.most), g.price, g.of_first, g.of_then) for g in problem.lags),
        tuple(replace(m, setup=tuple((pair, n * by) for pair, n in m.setup)) for m in problem.machines),
        problem.stores,
        tuple(Order(o.first, o.then, o.price * by) for o in problem.orders),
        problem.horizon * by,
        problem.stay_price,
    )


def _left_out(problem: Problem, items: Mapping[str, Item], names: set[str]) -> Problem:
    gone = {t.id for t in problem.tasks if (i := items.get(t.id)) is not None and {i.dish, i.step, f"{i.step}#{i.batch}"} & names}
    # a pot that nothing is fried in any more is not lit
    for machine in problem.machines:
        lots = [t.id for t in problem.tasks for u in t.uses if u.machines == (machine.id,) and u.state not in ("", "cold")]
        if machine.id not in ("oven", "cook", "helper") and lots and set(lots) <= gone:
            gone |= {f"{machine.id}:light", f"{machine.id}:heat"}
    if not gone:
        return problem
    # what followed a step that is left out follows what came before it
    before = {g: [lag.first for lag in problem.lags if lag.then == g and lag.of_then == "start" and lag.least is not None] for g in gone}
    bridged = [
        Lag(first, lag.then, 0)
        for lag in problem.lags
        if lag.first in gone and lag.then not in gone and lag.least is not None and lag.of_first == "end" and lag.of_then == "start"
        for first in _left_before(before, lag.first)
    ]
    return replace(
        problem,
        tasks=tuple(t for t in problem.tasks if t.id not in gone),
        lags=(*(g for g in problem.lags if g.first not in gone and g.then not in gone), *bridged),
        orders=tuple(o for o in problem.orders if o.first not in gone and o.then not in gone),
    )


def _left_before(before: Mapping[str, list[str]], gone: str) -> list[str]:
    """The nearest tasks before one that is gone which are not gone themselves."""
    found: list[str] = []
    queue, seen = list(before[gone]), {gone}
    while queue:
        here = queue.pop()
        if here in seen:
            continue
        seen.add(here)
        if here in before:
            queue += before[here]
        elif here != "evening":
            found.append(here)
    return sorted(found)


def _helped(problem: Problem, items: Mapping[str, Item], here: bool) -> Problem:
    machines = tuple(m for m in problem.machines if m.id != "helper") + ((Machine("helper"),) if here else ())
    hands = {("cook",), ("cook", "helper")}

    def use(u: Use, item: Item | None) -> Use:
        if u.machines not in hands:
            return u
        return Use(("cook", "helper") if here and item is not None and item.helper else ("cook",), u.state)

    tasks = tuple(replace(t, uses=tuple(use(u, items.get(t.id)) for u in t.uses)) for t in problem.tasks)
    return replace(problem, machines=machines, tasks=tasks)


def _longer(problem: Problem, facts: tuple[Fact, ...], unit_s: int) -> Problem:
    more: dict[str, float] = {}
    for fact in facts:
        if isinstance(fact, MoreTime):
            more[fact.task] = more.get(fact.task, 0.0) + fact.seconds
    if not more:
        return problem

    def longer(t: Task) -> Task:
        if t.id not in more:
            return t
        extra = ceil(more[t.id] / unit_s)
        return replace(t, usual=t.usual + extra, least=t.shortest + extra, most=max(t.longest, t.shortest + extra, t.usual + extra))

    return replace(problem, tasks=tuple(longer(t) for t in problem.tasks))


def _instants(plan: EveningPlan, problem: Problem, facts: tuple[Fact, ...]) -> tuple[dict[str, float], dict[str, float]]:
    """Starts and ends that are known, s: those told, and those pinned to them."""
    known = {t.id for t in problem.tasks}
    starts = {f.task: f.at_s for f in facts if isinstance(f, Began) and f.task in known}
    ends = {f.task: f.at_s for f in facts if isinstance(f, Ended) and f.task in known}
    at = {"start": starts, "end": ends}
    pins = [
        (g.first, g.of_first, g.then, g.of_then)
        for g in problem.lags
        if g.least == g.most == 0 and g.price is None and "evening" not in (g.first, g.then)
    ]
    waits = {i.id for i in plan.items if i.action == "wait"} & known
    # in the order of the card's chains a few rounds reach everything
    for _ in range(4):
        for a, of_a, b, of_b in pins:
            if a in at[of_a] and b not in at[of_b]:
                at[of_b][b] = at[of_a][a]
            elif b in at[of_b] and a not in at[of_a] and of_a == "start":
                at[of_a][a] = at[of_b][b]
        for wait in waits:
            before = [g.first for g in problem.lags if g.then == wait and g.of_then == "start" and g.of_first == "end" and g.least is not None]
            if wait not in starts and before and all(x in ends for x in before):
                starts[wait] = max(ends[x] for x in before)
            after = [starts[g.then] for g in problem.lags if g.first == wait and g.of_first == "end" and g.of_then == "start" and g.then in starts]
            if wait in starts and wait not in ends and after:
                ends[wait] = max(starts[wait], min(after))
    for task, end in ends.items():
        told = plan.origin_s + plan.starts.get(task, plan.ends.get(task, 0))
        starts.setdefault(task, min(end, told))
    return starts, ends
