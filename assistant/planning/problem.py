"""A scheduling problem as plain values: tasks, lags, machines, stores of capacity, wishes and prices. Knows nothing of what is scheduled.

Rules. Time is a whole number of units, 0 to `horizon`; the caller chooses the unit. Every cost is a whole number.
A *task* runs from its start to its end without a break. A *lag* keeps two instants (start or end of a task) at least and at most so
far apart; its `most` is hard, or elastic at a price a unit. A *store* has a capacity that running tasks share. A *machine* runs one
task at a time, in a state; between two tasks it needs the set-up time from the one state to the other (an `open` machine runs tasks
of one state side by side). A task may name several machines of which any one will do. A task with a `skip_price` may be left out.
Set-up times must obey the triangle inequality over the tasks between, because they are required of every ordered pair.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import permutations
from typing import Any, Literal

Instant = Literal["start", "end"]


class ProblemError(ValueError):
    """The problem contradicts itself before anything is solved: whoever made it is at fault."""


@dataclass(frozen=True, slots=True)
class Use:
    """One of `machines` does it, in `state` (empty: states do not matter)."""

    machines: tuple[str, ...]
    state: str = ""


@dataclass(frozen=True, slots=True)
class Wish:
    """Wanted time of the start or the end; price of each unit early and late."""

    at: int
    early: int = 0
    late: int = 0
    of: Instant = "start"


@dataclass(frozen=True, slots=True)
class Task:
    """Something that takes time. least <= usual <= most: its duration; each unit over `usual` costs `stretch_price`. earliest, latest: bounds of the
    start; was: where it started in the plan that was told last; skip_price: what leaving it out costs (None: it must be done)."""

    id: str
    usual: int
    least: int | None = None
    most: int | None = None
    stretch_price: int = 0
    uses: tuple[Use, ...] = ()
    needs: tuple[tuple[str, int], ...] = ()
    earliest: int = 0
    latest: int | None = None
    wish: Wish | None = None
    was: int | None = None
    skip_price: int | None = None

    @property
    def shortest(self) -> int:
        """The least duration."""
        return self.usual if self.least is None else self.least

    @property
    def longest(self) -> int:
        """The greatest duration."""
        return self.usual if self.most is None else self.most


@dataclass(frozen=True, slots=True)
class Lag:
    """least <= (instant of `then`) - (instant of `first`) <= most. price None: `most` is hard; else each unit over it costs that much."""

    first: str
    then: str
    least: int | None = 0
    most: int | None = None
    price: int | None = None
    of_first: Instant = "end"
    of_then: Instant = "start"


@dataclass(frozen=True, slots=True)
class Machine:
    """Runs one task at a time. setup: ((a, b), units) from a task in state a to one in b (missing: 0); open: tasks of one state may overlap;
    together: all tasks of one state come before all of another, or after."""

    id: str
    setup: tuple[tuple[tuple[str, str], int], ...] = ()
    open: bool = False
    together: bool = False

    def setups(self) -> dict[tuple[str, str], int]:
        """Set-up times by pair of states."""
        return dict(self.setup)


@dataclass(frozen=True, slots=True)
class Store:
    """A capacity that running tasks share."""

    id: str
    capacity: int


@dataclass(frozen=True, slots=True)
class Order:
    """Task `first` had better start no later than task `then`; price when it does not."""

    first: str
    then: str
    price: int


@dataclass(frozen=True, slots=True)
class Problem:
    """All of it. Cost: wishes, stretched tasks, elastic lags, orders not kept, tasks left out, `stay_price` a unit that a task with `was` moved."""

    tasks: tuple[Task, ...]
    lags: tuple[Lag, ...] = ()
    machines: tuple[Machine, ...] = ()
    stores: tuple[Store, ...] = ()
    orders: tuple[Order, ...] = ()
    horizon: int = 0
    stay_price: int = 0

    def __post_init__(self) -> None:
        check(self)

    def by_id(self) -> dict[str, Task]:
        """Tasks by their id."""
        return {t.id: t for t in self.tasks}


@dataclass(frozen=True, slots=True)
class Plan:
    """A timetable. starts, ends: by task; by: the machine of each use, by task; left_out: tasks skipped; cost and proven lower bound; status:
    `optimal`, `feasible`, `infeasible`, or `unknown` (stopped before anything was found); work: what it took, in the solver's units. Only status
    and work are set when there is no timetable."""

    status: str
    starts: Mapping[str, int] = field(default_factory=dict)
    ends: Mapping[str, int] = field(default_factory=dict)
    by: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    left_out: frozenset[str] = frozenset()
    cost: int = 0
    bound: int = 0
    work: float = field(default=0.0, compare=False)

    @property
    def optimal(self) -> bool:
        """Proven that no timetable costs less."""
        return self.status == "optimal"

    @property
    def found(self) -> bool:
        """Whether there is a timetable."""
        return self.status in ("optimal", "feasible")


def check(problem: Problem) -> None:
    """ProblemError naming the first thing that contradicts itself: names, durations, capacities, set-up times without triangle inequality."""
    tasks = {t.id: t for t in problem.tasks}
    if len(tasks) != len(problem.tasks):
        raise ProblemError("two tasks have one id")
    machines = {m.id for m in problem.machines}
    stores = {s.id: s.capacity for s in problem.stores}
    for t in problem.tasks:
        if not 0 <= t.shortest <= t.usual <= t.longest:
            raise ProblemError(f"task {t.id}: least, usual, most are out of order")
        for use in t.uses:
            if not use.machines or not set(use.machines) <= machines:
                raise ProblemError(f"task {t.id} uses an unknown machine")
        for store, amount in t.needs:
            if store not in stores:
                raise ProblemError(f"task {t.id} needs an unknown store {store}")
            if amount > stores[store]:
                raise ProblemError(f"task {t.id} needs more {store} than there is")
    for lag in problem.lags:
        if lag.first not in tasks or lag.then not in tasks:
            raise ProblemError(f"a lag names an unknown task: {lag.first} to {lag.then}")
        if lag.least is not None and lag.most is not None and lag.least > lag.most:
            raise ProblemError(f"the lag from {lag.first} to {lag.then} is longer at least than at most")
    for order in problem.orders:
        if order.first not in tasks or order.then not in tasks:
            raise ProblemError(f"an order names an unknown task: {order.first} before {order.then}")
    for machine in problem.machines:
        _check_triangle(machine, problem)


def _check_triangle(machine: Machine, problem: Problem) -> None:
    setup = machine.setups()
    if not setup:
        return
    shortest: dict[str, int] = {}
    for t in problem.tasks:
        for use in t.uses:
            if machine.id in use.machines:
                shortest[use.state] = min(t.shortest, shortest.get(use.state, t.shortest))
    for a, b, c in permutations(shortest, 3):
        if setup.get((a, c), 0) > setup.get((a, b), 0) + shortest[b] + setup.get((b, c), 0):
            raise ProblemError(f"machine {machine.id}: setting up from {a} to {c} takes longer than by way of {b}")


def to_dict(problem: Problem) -> dict[str, Any]:
    """The problem as JSON values; `from_dict` reads it back."""
    return {
        "horizon": problem.horizon,
        "stay_price": problem.stay_price,
        "tasks": [
            [
                t.id,
                t.usual,
                t.least,
                t.most,
                t.stretch_price,
                [[list(u.machines), u.state] for u in t.uses],
                [list(n) for n in t.needs],
                t.earliest,
                t.latest,
                None if t.wish is None else [t.wish.at, t.wish.early, t.wish.late, t.wish.of],
                t.was,
                t.skip_price,
            ]
            for t in problem.tasks
        ],
        "lags": [[g.first, g.then, g.least, g.most, g.price, g.of_first, g.of_then] for g in problem.lags],
        "machines": [[m.id, [[a, b, n] for (a, b), n in m.setup], m.open, m.together] for m in problem.machines],
        "stores": [[s.id, s.capacity] for s in problem.stores],
        "orders": [[o.first, o.then, o.price] for o in problem.orders],
    }


def from_dict(data: Mapping[str, Any]) -> Problem:
    """The problem that `to_dict` wrote."""
    return Problem(
        tasks=tuple(
            Task(
                task_id,
                usual,
                least,
                most,
                stretch,
                tuple(Use(tuple(ms), state) for ms, state in uses),
                tuple((store, amount) for store, amount in needs),
                earliest,
                latest,
                None if wish is None else Wish(*wish),
                was,
                skip,
            )
            for task_id, usual, least, most, stretch, uses, needs, earliest, latest, wish, was, skip in data["tasks"]
        ),
        lags=tuple(Lag(*g) for g in data["lags"]),
        machines=tuple(Machine(i, tuple(((a, b), n) for a, b, n in setup), *how) for i, setup, *how in data["machines"]),
        stores=tuple(Store(*s) for s in data["stores"]),
        orders=tuple(Order(*o) for o in data["orders"]),
        horizon=data["horizon"],
        stay_price=data["stay_price"],
    )
