"""Many evenings with one plan: durations drawn, orders kept, nothing begun before its time in the plan. Seeded, in numpy.

A duration is log-normal about its usual value, because work runs late more than it runs early: `usual * exp(sigma * z)`, with mean
`usual * exp(sigma^2 / 2)`. What must follow follows as soon as it can; pinned instants stay pinned; limits are not helped along, they are measured.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from assistant.planning.problem import Plan, Problem
from assistant.planning.shift import kept_orders

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

SAMPLES = 2000
SEED = 1


@dataclass(frozen=True, slots=True)
class Runs:
    """Starts and ends of every task, an array of samples each."""

    starts: Mapping[str, NDArray[np.float64]]
    ends: Mapping[str, NDArray[np.float64]]


def simulate(
    problem: Problem, plan: Plan, sigma: Mapping[str, float], usual: Mapping[str, float] | None = None, samples: int = SAMPLES, seed: int = SEED
) -> Runs:
    """Run the plan `samples` times. sigma: spread by task (missing: none); usual: durations that differ from the problem's, by task."""
    import numpy as np

    rng = np.random.default_rng(seed)
    tasks = [t for t in problem.tasks if t.id in plan.starts]
    number = {t.id: i for i, t in enumerate(tasks)}
    times = np.empty((2 * len(tasks), samples))
    edges: list[tuple[int, int, Any]] = []
    for i, task in enumerate(tasks):
        length = (usual or {}).get(task.id, float(task.usual if task.stretch_price else task.shortest))
        # drawn for every task, so that one more spread does not change the others
        factor = np.exp(sigma.get(task.id, 0.0) * rng.standard_normal(samples))
        times[2 * i] = plan.starts[task.id]
        times[2 * i + 1] = plan.starts[task.id]
        edges.append((2 * i, 2 * i + 1, length * factor))
    for lag in problem.lags:
        if lag.first in number and lag.then in number and lag.least is not None:
            a, b = 2 * number[lag.first] + (lag.of_first == "end"), 2 * number[lag.then] + (lag.of_then == "end")
            edges.append((a, b, lag.least))
            if lag.most == lag.least and lag.price is None:
                edges.append((b, a, -lag.most))
    edges += [(2 * number[a] + 1, 2 * number[b], units) for a, b, units in kept_orders(problem, plan)]
    edges.sort(key=lambda e: float(times[e[0], 0]))
    for _ in range(2 * len(tasks)):
        before = times.copy()
        for a, b, units in edges:
            np.maximum(times[b], times[a] + units, out=times[b])
        if np.array_equal(before, times):
            break
    return Runs({t.id: times[2 * i] for i, t in enumerate(tasks)}, {t.id: times[2 * i + 1] for i, t in enumerate(tasks)})
