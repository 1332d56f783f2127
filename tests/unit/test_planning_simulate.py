"""Simulated evenings against the closed form for a serial chain."""

from __future__ import annotations

import numpy as np
import pytest

from assistant.planning.problem import Lag, Machine, Plan, Problem, Task, Use
from assistant.planning.simulate import simulate


def serial(lengths: list[int]) -> tuple[Problem, Plan]:
    """Tasks one after the other, planned without air."""
    tasks = tuple(Task(str(i), n) for i, n in enumerate(lengths))
    lags = tuple(Lag(str(i), str(i + 1)) for i in range(len(lengths) - 1))
    starts = {str(i): 0 for i in range(len(lengths))}
    return Problem(tasks, lags, horizon=10_000), Plan("feasible", starts, {t.id: t.usual for t in tasks})


def test_a_serial_chain_sums_up_as_the_closed_form_says() -> None:
    """Sum of log-normals: mean `sum n exp(s^2/2)`, variance `sum n^2 (exp(s^2)-1) exp(s^2)` (from memory);
    within four standard errors of 20,000 evenings."""
    lengths, sigma, samples = [10, 20, 30, 40], 0.3, 20_000
    problem, plan = serial(lengths)
    runs = simulate(problem, plan, {str(i): sigma for i in range(4)}, samples=samples)
    total = runs.ends["3"]
    mean = sum(lengths) * np.exp(sigma**2 / 2)
    variance = sum(n**2 for n in lengths) * (np.exp(sigma**2) - 1) * np.exp(sigma**2)
    assert abs(total.mean() - mean) < 4 * np.sqrt(variance / samples)
    assert total.var() == pytest.approx(variance, rel=0.08)


def test_no_spread_gives_the_plan_itself() -> None:
    """Without spreads every evening is the plan."""
    problem, plan = serial([3, 4])
    runs = simulate(problem, plan, {}, samples=5)
    assert runs.ends["1"].tolist() == [7.0] * 5


def test_air_swallows_lateness_and_hands_pass_it_on() -> None:
    """b is planned at 50 on the hands that a holds until 10: a must quintuple before b is late."""
    tasks = (Task("a", 10, uses=(Use(("hands",)),)), Task("b", 10, uses=(Use(("hands",)),)))
    problem = Problem(tasks, machines=(Machine("hands"),), horizon=500)
    plan = Plan("feasible", {"a": 0, "b": 50}, {"a": 10, "b": 60}, {"a": ("hands",), "b": ("hands",)})
    assert simulate(problem, plan, {"a": 0.2}).starts["b"].max() == 50.0
    late = simulate(problem, plan, {"a": 0.2}, {"a": 60.0})
    assert (late.starts["b"] >= np.maximum(50.0, late.ends["a"]) - 1e-9).all()
    assert late.starts["b"].max() > 60.0


def test_the_seed_decides() -> None:
    """One seed, one set of evenings."""
    problem, plan = serial([10, 20])
    once, again = (simulate(problem, plan, {"0": 0.5}, seed=7).ends["1"] for _ in range(2))
    assert (once == again).all()
    assert (once != simulate(problem, plan, {"0": 0.5}, seed=8).ends["1"]).any()
