"""Problem -> Plan with CP-SAT, repeatably: one worker, a fixed seed, stopped on the solver's own count of work, not on the clock.

One Boolean a pair of tasks on a machine with set-up times, `start of j >= end of i + setup(i, j)`, and none where the lags already order the
pair. Two workers gave four different plans in ten equal runs, so there is one. The library is imported on first use: it takes 0.5 to 0.9 s.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from assistant.planning.problem import Instant, Lag, Machine, Plan, Problem, Task

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

SEED = 1
EFFORT = 10.0
"""Deterministic work allowed by default, in the solver's units: a second each where it bounds a relaxation, up to ten where it searches orders."""


def warm_up() -> None:
    """Import the solver, so that the first plan does not wait for it. Call it on a thread at start."""
    solve(Problem((Task("a", 1),), horizon=2))


def solve(
    problem: Problem, *, effort: float = EFFORT, wall_s: float | None = None, hint: Mapping[str, int] | None = None, below: int | None = None
) -> Plan:
    """The cheapest timetable. effort: deterministic work allowed; wall_s: also stop after so many seconds (then equal runs may differ);
    hint: starts to try first; below: only a timetable that costs less than this (`infeasible`: proven that there is none)."""
    from ortools.sat.python import cp_model

    model = _Model(problem)
    if below is not None:
        model.cheaper_than(below)
    if hint:
        model.hint(hint)
    solver = cp_model.CpSolver()
    solver.parameters.catch_sigint_signal = False  # its handler would leave Ctrl-C killing the program instead of ending the evening
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = SEED
    solver.parameters.max_deterministic_time = effort
    if model.terms < 2:
        # a relaxation pays where many prices add up, not where one instant is all that counts
        solver.parameters.linearization_level = 0
    if problem.machines:
        # one busy machine (the hands) decides: with these a meal of 8 dishes is proven in a fifteenth of the work. Probing every pair's order
        # first takes longer than the search (8 dishes 2.6 s with it, 0.6 s without)
        solver.parameters.use_dynamic_precedence_in_disjunctive = True
        solver.parameters.use_strong_propagation_in_disjunctive = True
        solver.parameters.cp_model_probing_level = 0
    if wall_s is not None:
        solver.parameters.max_time_in_seconds = wall_s
    return model.read(solver, solver.solve(model.cp))


def _work(solver: cp_model.CpSolver) -> float:
    # rounded: the last digits of a sum are not repeatable
    return round(float(solver.response_proto.deterministic_time), 6)


def _ordered(problem: Problem) -> set[tuple[str, str]]:
    """Pairs (a, b) where the lags already make a end before b starts (transitively)."""
    tasks = problem.by_id()
    after: dict[str, set[str]] = {t.id: set() for t in problem.tasks}
    for lag in problem.lags:
        if lag.least is None or tasks[lag.first].skip_price is not None or tasks[lag.then].skip_price is not None:
            continue
        if lag.of_then == "start" and (lag.least >= 0 if lag.of_first == "end" else lag.least >= tasks[lag.first].longest):
            after[lag.first].add(lag.then)
    pairs: set[tuple[str, str]] = set()
    for task in after:
        reach: set[str] = set()
        stack = list(after[task])
        while stack:
            nxt = stack.pop()
            if nxt not in reach:
                reach.add(nxt)
                stack.extend(after[nxt])
        pairs |= {(task, other) for other in reach}
    return pairs


class _Model:
    """The CP-SAT model of one problem, and the way back."""

    def __init__(self, problem: Problem) -> None:
        from ortools.sat.python import cp_model

        self.problem = problem
        self.cp = cp_model.CpModel()
        self._start: dict[str, Any] = {}
        self._end: dict[str, Any] = {}
        self._length: dict[str, Any] = {}
        self._there: dict[str, Any] = {}
        self._on: dict[tuple[str, int, str], Any] = {}
        self._before: dict[tuple[str, str], Any] = {}
        self._states: dict[tuple[str, str, str], Any] = {}
        self._cost: list[Any] = []
        self._ordered = _ordered(problem)
        for task in problem.tasks:
            self._add_task(task)
        for store in problem.stores:
            users = [(t, n) for t in problem.tasks for s, n in t.needs if s == store.id and n > 0]
            if users:
                self.cp.add_cumulative([self._interval(t, self._there[t.id]) for t, _ in users], [n for _, n in users], store.capacity)
        for machine in problem.machines:
            self._add_machine(machine)
        for lag in problem.lags:
            self._add_lag(lag)
        for order in problem.orders:
            kept = self._pair(order.first, order.then)
            self._cost.append(order.price * (1 - kept))
        if self._cost:
            self.cp.minimize(sum(self._cost))

    @property
    def terms(self) -> int:
        """How many prices the cost adds up."""
        return len(self._cost)

    def _interval(self, task: Task, there: Any) -> Any:
        start, end, length = self._start[task.id], self._end[task.id], self._length[task.id]
        if there is None:
            return self.cp.new_interval_var(start, length, end, task.id)
        return self.cp.new_optional_interval_var(start, length, end, there, task.id)

    def _add_task(self, task: Task) -> None:
        cp, horizon = self.cp, self.problem.horizon
        latest = horizon - task.shortest if task.latest is None else task.latest
        start = cp.new_int_var(task.earliest, max(task.earliest, latest), f"s {task.id}")
        if task.shortest == task.longest:
            length: Any = task.usual
            end: Any = start + task.usual
        else:
            longest = min(task.longest, horizon)
            length = cp.new_int_var(task.shortest, max(task.shortest, longest), f"d {task.id}")
            end = cp.new_int_var(0, horizon, f"e {task.id}")
            cp.add(end == start + length)
            if task.stretch_price:
                over = cp.new_int_var(0, max(0, longest - task.usual), f"over {task.id}")
                cp.add(over >= length - task.usual)
                self._cost.append(task.stretch_price * over)
        self._start[task.id], self._end[task.id], self._length[task.id] = start, end, length
        self._there[task.id] = None
        if task.skip_price is not None:
            self._there[task.id] = cp.new_bool_var(f"there {task.id}")
            self._cost.append(task.skip_price * (1 - self._there[task.id]))
        if task.wish is not None:
            at = start if task.wish.of == "start" else end
            for price, off in ((task.wish.early, task.wish.at - at), (task.wish.late, at - task.wish.at)):
                if price:
                    self._cost.append(price * self._excess(off, f"wish {task.id}"))
        if task.was is not None and self.problem.stay_price:
            moved = cp.new_int_var(0, horizon, f"moved {task.id}")
            cp.add(moved >= start - task.was)
            cp.add(moved >= task.was - start)
            self._cost.append(self.problem.stay_price * moved)

    def _excess(self, expression: Any, name: str) -> Any:
        over = self.cp.new_int_var(0, 2 * self.problem.horizon, name)
        self.cp.add(over >= expression)
        return over

    def _add_machine(self, machine: Machine) -> None:
        used: list[tuple[Task, str, Any]] = []
        for task in self.problem.tasks:
            for number, use in enumerate(task.uses):
                if machine.id not in use.machines:
                    continue
                on = self._there[task.id]
                if len(use.machines) > 1:
                    on = self.cp.new_bool_var(f"{task.id} on {machine.id}")
                    self._on[(task.id, number, machine.id)] = on
                used.append((task, use.state, on))
        self._choose_one(machine)
        setup = machine.setups()
        if not machine.open:
            self.cp.add_no_overlap([self._interval(t, on) for t, _, on in used])
        if not setup and not machine.open and not machine.together:
            return
        for i, (a, a_state, a_on) in enumerate(used):
            for b, b_state, b_on in used[i + 1 :]:
                if machine.open and a_state == b_state:
                    continue
                to_b, to_a = setup.get((a_state, b_state), 0), setup.get((b_state, a_state), 0)
                on = [x for x in (a_on, b_on) if x is not None]
                a_first = self._pair(a.id, b.id)
                if machine.together and a_state != b_state:
                    states = (machine.id, a_state, b_state)
                    self.cp.add(a_first == self._states.setdefault(states, a_first))
                    self._states.setdefault((machine.id, b_state, a_state), ~a_first)
                first = self.cp.add(self._start[b.id] >= self._end[a.id] + to_b)
                first.only_enforce_if([a_first, *on])
                second = self.cp.add(self._start[a.id] >= self._end[b.id] + to_a)
                second.only_enforce_if([~a_first, *on])

    def _choose_one(self, machine: Machine) -> None:
        """Once all machines of a use have their literal: exactly one of them, if the task is there."""
        for task in self.problem.tasks:
            for number, use in enumerate(task.uses):
                if len(use.machines) < 2 or use.machines[-1] != machine.id:
                    continue
                literals = [self._on[key] for m in use.machines if (key := (task.id, number, m)) in self._on]
                there = self._there[task.id]
                if len(literals) == len(use.machines):
                    self.cp.add(sum(literals) == (1 if there is None else there))

    def _pair(self, a: str, b: str) -> Any:
        """Literal: a comes before b. A constant where the lags decide."""
        if (a, b) in self._before:
            return self._before[(a, b)]
        if (a, b) in self._ordered or (b, a) in self._ordered:
            literal = self.cp.new_constant(int((a, b) in self._ordered))
        else:
            literal = self.cp.new_bool_var(f"{a} before {b}")
            self.cp.add(self._start[a] <= self._start[b]).only_enforce_if(literal)
            self.cp.add(self._start[b] <= self._start[a]).only_enforce_if(~literal)
        self._before[(a, b)], self._before[(b, a)] = literal, ~literal
        return literal

    def _at(self, task: str, instant: Instant) -> Any:
        return self._start[task] if instant == "start" else self._end[task]

    def _add_lag(self, lag: Lag) -> None:
        gap = self._at(lag.then, lag.of_then) - self._at(lag.first, lag.of_first)
        there = [x for x in (self._there[lag.first], self._there[lag.then]) if x is not None]
        constraints = []
        if lag.least is not None:
            constraints.append(self.cp.add(gap >= lag.least))
        if lag.most is not None and lag.price is None:
            constraints.append(self.cp.add(gap <= lag.most))
        elif lag.most is not None and lag.price:
            over = self.cp.new_int_var(0, 2 * self.problem.horizon, f"{lag.first} over {lag.then}")
            constraints.append(self.cp.add(gap <= lag.most + over))
            self._cost.append(lag.price * over)
        for constraint in constraints:
            if there:
                constraint.only_enforce_if(there)

    def cheaper_than(self, cost: int) -> None:
        """Only timetables that cost less."""
        self.cp.add(sum(self._cost) <= cost - 1)

    def hint(self, starts: Mapping[str, int]) -> None:
        """Try these starts first."""
        for task, start in starts.items():
            if task in self._start:
                self.cp.add_hint(self._start[task], start)

    def read(self, solver: cp_model.CpSolver, status: Any) -> Plan:
        """What the solver found. Values are read only after the status was looked at: reading them after INFEASIBLE does not fail."""
        from ortools.sat.python import cp_model

        names = {cp_model.OPTIMAL: "optimal", cp_model.FEASIBLE: "feasible", cp_model.INFEASIBLE: "infeasible"}
        name = names.get(status, "unknown")
        if name not in ("optimal", "feasible"):
            return Plan(name, work=_work(solver))
        left_out = frozenset(t for t, there in self._there.items() if there is not None and not solver.value(there))
        here = [t for t in self.problem.tasks if t.id not in left_out]
        by = {t.id: tuple(self._machine(solver, t, n) for n in range(len(t.uses))) for t in here}
        return Plan(
            name,
            {t.id: int(solver.value(self._start[t.id])) for t in here},
            {t.id: int(solver.value(self._end[t.id])) for t in here},
            by,
            left_out,
            round(solver.objective_value) if self._cost else 0,
            round(solver.best_objective_bound) if self._cost else 0,
            _work(solver),
        )

    def _machine(self, solver: cp_model.CpSolver, task: Task, number: int) -> str:
        machines = task.uses[number].machines
        return next(m for m in machines if len(machines) == 1 or solver.value(self._on[(task.id, number, m)]))
