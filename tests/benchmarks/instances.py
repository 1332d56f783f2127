"""Readers for two published formats of scheduling instances, both onto the one planning core.

`.dzn`: project scheduling with weighted earliness and tardiness (MiniZinc benchmarks). Starts lie in 0..t_max-1.
`.txt`: PSPLIB instances in Patterson format (Kolisch & Sprecher 1996, EJOR 96:205-216); the cost is the makespan.
"""

from __future__ import annotations

import re
from pathlib import Path

from assistant.planning.problem import Lag, Problem, Store, Task, Wish


def read_instance(path: Path) -> Problem:
    """The problem in this file, by its ending."""
    text = path.read_text()
    return read_wet(text) if path.suffix == ".dzn" else read_patterson(text)


def _numbers(text: str) -> list[int]:
    return [int(n) for n in re.findall(r"-?\d+", text)]


def read_wet(text: str) -> Problem:
    """An instance of the weighted earliness/tardiness problem."""
    text = re.sub(r"%.*", "", text)
    fields = {m[1]: m[2] for m in re.finditer(r"(\w+)\s*=\s*([^;]*);", text)}
    count, resources, horizon = int(fields["n_tasks"]), int(fields["n_res"]), int(fields["t_max"])
    durations, capacities = _numbers(fields["d"]), _numbers(fields["rc"])
    needs = _numbers(fields["rr"].split("[", 1)[1])
    wishes = _numbers(fields["deadline"].split("[", 1)[1])
    successors = [_numbers(s) for s in re.findall(r"\{([^}]*)\}", fields["suc"])]
    tasks = tuple(
        Task(
            str(i + 1),
            durations[i],
            needs=tuple((str(r), n) for r in range(resources) if (n := needs[r * count + i])),
            latest=horizon - 1,
            wish=Wish(*wishes[3 * i : 3 * i + 3]),
        )
        for i in range(count)
    )
    lags = tuple(Lag(str(i + 1), str(j)) for i, after in enumerate(successors) for j in after)
    stores = tuple(Store(str(r), c) for r, c in enumerate(capacities))
    return Problem(tasks, lags, stores=stores, horizon=horizon + max(durations))


def read_patterson(text: str) -> Problem:
    """An instance whose cost is the start of its last task: the makespan."""
    numbers = iter(_numbers(text))
    count, resources = next(numbers), next(numbers)
    stores = tuple(Store(str(r), next(numbers)) for r in range(resources))
    tasks: list[Task] = []
    lags: list[Lag] = []
    for i in range(count):
        duration = next(numbers)
        needs = tuple((str(r), n) for r in range(resources) if (n := next(numbers)))
        wish = Wish(0, late=1) if i == count - 1 else None
        tasks.append(Task(str(i + 1), duration, needs=needs, wish=wish))
        lags.extend(Lag(str(i + 1), str(next(numbers))) for _ in range(next(numbers)))
    return Problem(tuple(tasks), tuple(lags), stores=stores, horizon=sum(t.usual for t in tasks))
