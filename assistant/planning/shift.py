"""The quick answer: keep every order of a plan and move what must move to the right. Plain Python, no solver, a few milliseconds.

With the orders on machines and stores kept, every rule is a least distance between two instants, so the earliest timetable is the longest
path. Priced limits are kept afterwards, one by one, as long as keeping one moves no wish and breaks nothing else. The same graph
tells how much later a task may start (`slack`) and packs what has no price of its own to the left (`tidy`).
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from itertools import pairwise

from assistant.planning.problem import Machine, Plan, Problem, Task, Use

Edge = tuple[int, int, int]


@dataclass(frozen=True, slots=True)
class Graph:
    """Instants as numbers (task i: 2i its start, 2i+1 its end) and least distances (from, to, units) between them. soft: distances that a price may
    break, dearest first; fixed: instants that cannot move."""

    tasks: tuple[Task, ...]
    hard: tuple[Edge, ...]
    soft: tuple[Edge, ...]
    fixed: frozenset[int]


def graph(problem: Problem, plan: Plan) -> Graph:
    """The graph of a problem with the orders of this plan."""
    tasks = tuple(t for t in problem.tasks if t.id in plan.starts)
    number = {t.id: i for i, t in enumerate(tasks)}
    hard: list[Edge] = []
    soft: list[tuple[int, Edge]] = []
    fixed: set[int] = set()
    for i, task in enumerate(tasks):
        hard.append((2 * i, 2 * i + 1, task.usual if task.stretch_price else task.shortest))
        if task.longest < problem.horizon:
            hard.append((2 * i + 1, 2 * i, -task.longest))
        if task.latest is not None and task.latest <= task.earliest:
            fixed.add(2 * i)
            if task.shortest == task.longest:
                fixed.add(2 * i + 1)
    for lag in problem.lags:
        if lag.first not in number or lag.then not in number:
            continue
        a = 2 * number[lag.first] + (lag.of_first == "end")
        b = 2 * number[lag.then] + (lag.of_then == "end")
        if lag.least is not None:
            hard.append((a, b, lag.least))
        if lag.most is not None and lag.price is None:
            hard.append((b, a, -lag.most))
        elif lag.most is not None:
            soft.append((lag.price or 0, (b, a, -lag.most)))
    hard += [(2 * number[a] + 1, 2 * number[b], units) for a, b, units in kept_orders(problem, plan)]
    soft.sort(key=lambda x: -x[0])
    return Graph(tasks, tuple(hard), tuple(e for _, e in soft), frozenset(fixed))


def kept_orders(problem: Problem, plan: Plan) -> list[tuple[str, str, int]]:
    """(task, next task, set-up) on every machine, and on every place of a store, as in this plan."""
    tasks = {t.id: t for t in problem.tasks if t.id in plan.starts}
    pairs: list[tuple[str, str, int]] = []
    for machine in problem.machines:
        pairs += _on_machine(machine, tasks, plan)
    for store in problem.stores:
        free: list[str | None] = [None] * store.capacity
        users = [(t, n) for t in tasks.values() for s, n in t.needs if s == store.id]
        for task, amount in sorted(users, key=lambda u: _order(u[0], plan)):
            # a place free since longest goes first; the task waits for whoever had its places
            free.sort(key=lambda t: -1 if t is None else plan.ends[t])
            pairs += [(t, task.id, 0) for t in set(free[:amount]) if t is not None]
            free[:amount] = [task.id] * amount
    return pairs


def _order(task: Task, plan: Plan) -> tuple[int, int, int]:
    """By the start in the plan, or, where that is gone, by when it can start now; what is level stays as it was."""
    told = plan.starts[task.id]
    fixed = task.latest is not None and task.latest <= task.earliest
    return task.earliest if fixed else max(told, task.earliest), told, plan.ends[task.id]


def _machine(task: Task, use: Use, plan: Plan) -> str:
    return next((m for m in plan.by.get(task.id, ()) if m in use.machines), use.machines[0])


def _on_machine(machine: Machine, tasks: Mapping[str, Task], plan: Plan) -> Iterable[tuple[str, str, int]]:
    users = [(t.id, use.state) for t in tasks.values() for use in t.uses if _machine(t, use, plan) == machine.id]
    users.sort(key=lambda u: _order(tasks[u[0]], plan))
    setup = machine.setups()
    if machine.open:
        return [(a, b, setup.get((x, y), 0)) for i, (a, x) in enumerate(users) for b, y in users[i + 1 :] if x != y]
    return [(a, b, setup.get((x, y), 0)) for (a, x), (b, y) in pairwise(users)]


def least_times(count: int, edges: Iterable[Edge], at_least: list[int], fixed: frozenset[int]) -> list[int] | None:
    """The earliest time of each instant, none before `at_least`, fixed ones unmoved; None when the distances contradict each other."""
    after = _after(count, edges, fixed)
    times = list(at_least)
    return times if _settle(after, times, deque(range(count)), frozenset()) else None


def _after(count: int, edges: Iterable[Edge], fixed: frozenset[int]) -> list[list[tuple[int, int]]]:
    after: list[list[tuple[int, int]]] = [[] for _ in range(count)]
    for a, b, units in edges:
        if b not in fixed:
            after[a].append((b, units))
    return after


def _settle(after: list[list[tuple[int, int]]], times: list[int], queue: deque[int], still: frozenset[int]) -> bool:
    """Raise times until every distance holds, from the queued instants on; False when that never ends or would raise one of `still`."""
    raised = [0] * len(times)
    waiting = [False] * len(times)
    for a in queue:
        waiting[a] = True
    while queue:
        a = queue.popleft()
        waiting[a] = False
        here = times[a]
        for b, units in after[a]:
            if here + units > times[b]:
                times[b] = here + units
                raised[b] += 1
                if raised[b] > len(times) or b in still:
                    return False
                if not waiting[b]:
                    waiting[b] = True
                    queue.append(b)
    return True


def shift(problem: Problem, plan: Plan, *, stay: bool = True) -> Plan | None:
    """The plan moved to the right as far as the problem (what has happened, new durations) asks. stay: nothing starts earlier than in the plan;
    otherwise only the orders are kept. None when even that is impossible."""
    g = graph(problem, plan)
    times = least_times(2 * len(g.tasks), g.hard, _at_least(g, plan, stay), g.fixed)
    if times is None:
        plan = _in_order(problem, plan)
        g = graph(problem, plan)
        times = least_times(2 * len(g.tasks), g.hard, _at_least(g, plan, stay), g.fixed)
    if times is None:
        return None
    told = [x for t in g.tasks for x in (plan.starts[t.id], plan.ends[t.id])]
    times = _keep_limits(g, times, told)
    starts = {t.id: times[2 * i] for i, t in enumerate(g.tasks)}
    ends = {t.id: times[2 * i + 1] for i, t in enumerate(g.tasks)}
    moved = replace(plan, status="feasible", starts=starts, ends=ends, bound=0)
    return replace(moved, cost=cost(problem, moved))


def _at_least(g: Graph, plan: Plan, stay: bool) -> list[int]:
    at_least: list[int] = []
    for i, task in enumerate(g.tasks):
        start = task.earliest if 2 * i in g.fixed or not stay else max(task.earliest, plan.starts[task.id])
        at_least += [start, start + task.shortest]
    return at_least


def _in_order(problem: Problem, plan: Plan) -> Plan:
    """The plan with what must follow behind what it follows, where new lags contradict its orders: machines are then taken in that order."""
    g = graph(replace(problem, machines=(), stores=(), tasks=tuple(replace(t, uses=(), needs=()) for t in problem.tasks)), plan)
    times = least_times(2 * len(g.tasks), g.hard, _at_least(g, plan, True), g.fixed)
    if times is None:
        return plan
    starts = {t.id: times[2 * i] for i, t in enumerate(g.tasks)}
    return replace(plan, starts=starts, ends={t.id: times[2 * i + 1] for i, t in enumerate(g.tasks)})


def _keep_limits(g: Graph, times: list[int], told: list[int]) -> list[int]:
    """Push right what came further out of a limit than it was told. Nothing lasts longer for it, and no wished instant moves."""
    wished = frozenset(2 * i + (t.wish.of == "end") for i, t in enumerate(g.tasks) if t.wish is not None)
    stretchable = [i for i, t in enumerate(g.tasks) if t.stretch_price]
    still = wished | {2 * i + 1 for i in stretchable if 2 * i in g.fixed}
    lengths = [(2 * i + 1, 2 * i, times[2 * i] - times[2 * i + 1]) for i in stretchable if 2 * i not in g.fixed]
    after = _after(len(times), (*g.hard, *lengths), g.fixed)
    for a, b, limit in g.soft:
        if b in g.fixed:
            continue
        units = min(limit, told[b] - told[a])
        if times[a] + units > times[b]:
            pushed = list(times)
            pushed[b] = times[a] + units
            # pushing `a` along would have to push `b` again, and so for ever
            if b in still or not _settle(after, pushed, deque([b]), still | {a}):
                continue
            times = pushed
        after[a].append((b, units))
    return times


def tidy(problem: Problem, plan: Plan) -> Plan:
    """The same plan with everything that has no price of its own as early as the orders allow: air goes to the end of the preparation. What has a
    window of its own goes to its beginning, where that costs nothing."""
    priced = {t.id for t in problem.tasks if t.wish is not None or t.stretch_price or t.was is not None}
    priced |= {x for lag in problem.lags if lag.price is not None for x in (lag.first, lag.then)}
    windowed = {t.id for t in problem.tasks if t.latest is not None and t.latest > t.earliest}
    begin = min(plan.starts.values(), default=0)
    g = graph(problem, plan)
    for held in (priced - windowed, priced):
        at_least: list[int] = []
        for task in g.tasks:
            start = task.earliest if task.id in windowed - held else max(begin, task.earliest)
            at_least += [plan.starts[task.id], plan.ends[task.id]] if task.id in held else [start, start]
        times = least_times(2 * len(g.tasks), g.hard, at_least, g.fixed)
        if times is None:
            continue
        starts = {t.id: times[2 * i] for i, t in enumerate(g.tasks)}
        moved = replace(plan, starts=starts, ends={t.id: times[2 * i + 1] for i, t in enumerate(g.tasks)})
        if cost(problem, moved) <= plan.cost:
            return moved
    return plan


def slack(problem: Problem, plan: Plan) -> dict[str, int]:
    """Units that each task may start later: orders kept, no wished instant moved, no limit broken (priced ones as far as they hold now)."""
    g = graph(problem, plan)
    times = [x for t in g.tasks for x in (plan.starts[t.id], plan.ends[t.id])]
    edges = [*g.hard, *(e for e in g.soft if times[e[0]] + e[2] <= times[e[1]])]
    count = len(times)
    held = {2 * i + (t.wish.of == "end") for i, t in enumerate(g.tasks) if t.wish is not None} | set(g.fixed)
    held |= {k for i, t in enumerate(g.tasks) if t.latest is not None for k in (2 * i,) if plan.starts[t.id] >= t.latest}
    # the latest times are least times of the mirrored graph: distances turned round, held instants where they are
    mirror = [-problem.horizon if k not in held else -times[k] for k in range(count)]
    latest = least_times(count, [(b, a, units) for a, b, units in edges], mirror, frozenset(held))
    if latest is None:
        return dict.fromkeys(plan.starts, 0)
    return {t.id: max(0, -latest[2 * i] - times[2 * i]) for i, t in enumerate(g.tasks)}


def held_up_by(problem: Problem, plan: Plan, task_id: str) -> str:
    """The task at the head of a chain without air that leads to the start of this one, the latest such: what it waits for in the end. Where all
    chains begin in the air (at what was moved so that a limit is kept), the machine that is busy longest on them; the task itself where none is."""
    g = graph(problem, plan)
    times = [x for t in g.tasks for x in (plan.starts[t.id], plan.ends[t.id])]
    into: dict[int, list[int]] = {}
    for a, b, units in g.hard:
        if b not in g.fixed and times[a] + units == times[b]:
            into.setdefault(b, []).append(a)
    own = next(2 * i for i, t in enumerate(g.tasks) if t.id == task_id)
    stack, seen = [own], {own}
    while stack:
        before = [a for a in into.get(stack.pop(), []) if a not in seen]
        seen.update(before)
        stack += before
    # a chain begins where something cannot move, or has only just become possible
    heads = [k for k in seen - {own} if k in g.fixed or (k % 2 == 0 and 0 < times[k] <= g.tasks[k // 2].earliest)]
    if heads:
        return g.tasks[max(heads, key=lambda k: (times[k], k in g.fixed)) // 2].id
    busy: dict[str, int] = {}
    for task in (g.tasks[k // 2] for k in seen if k % 2 == 0):
        for use in task.uses:
            machine = _machine(task, use, plan)
            busy[machine] = busy.get(machine, 0) + plan.ends[task.id] - plan.starts[task.id]
    return max(busy, key=lambda m: busy[m], default=task_id)


def over_limits(problem: Problem, plan: Plan, least_price: int = 1) -> list[tuple[str, str, int]]:
    """(first, then, units over) for every elastic lag of at least this price that the plan does not keep."""
    at = {"start": plan.starts, "end": plan.ends}
    over = []
    for lag in problem.lags:
        if lag.most is None or lag.price is None or lag.price < least_price or lag.first not in plan.starts or lag.then not in plan.starts:
            continue
        gap = at[lag.of_then][lag.then] - at[lag.of_first][lag.first]
        if gap > lag.most:
            over.append((lag.first, lag.then, gap - lag.most))
    return over


def cost(problem: Problem, plan: Plan) -> int:
    """What a timetable costs, counted without the solver."""
    at = {"start": plan.starts, "end": plan.ends}
    total = 0
    for task in problem.tasks:
        if task.id not in plan.starts:
            total += task.skip_price or 0
            continue
        start, end = plan.starts[task.id], plan.ends[task.id]
        total += task.stretch_price * max(0, end - start - task.usual)
        if task.wish is not None:
            late = (start if task.wish.of == "start" else end) - task.wish.at
            total += task.wish.late * max(0, late) + task.wish.early * max(0, -late)
        if task.was is not None:
            total += problem.stay_price * abs(start - task.was)
    for lag in problem.lags:
        if lag.most is not None and lag.price and lag.first in plan.starts and lag.then in plan.starts:
            total += lag.price * max(0, at[lag.of_then][lag.then] - at[lag.of_first][lag.first] - lag.most)
    for order in problem.orders:
        if order.first in plan.starts and order.then in plan.starts and plan.starts[order.first] > plan.starts[order.then]:
            total += order.price
    return total
