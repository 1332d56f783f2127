"""The quick answer: orders kept, facts kept, nothing earlier than told, and never better than the longest path allows."""

from __future__ import annotations

import networkx as nx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from planning_kit import broken
from test_planning_solve import problems

from assistant.planning.happened import happened
from assistant.planning.problem import Lag, Machine, Plan, Problem, Task, Use, Wish
from assistant.planning.shift import graph, held_up_by, least_times, over_limits, shift, slack, tidy
from assistant.planning.solve import solve

HANDS = (Use(("hands",)),)


def chain() -> tuple[Problem, Plan]:
    """a, b on the hands, then serve at 20, at most 8 after b ends (priced)."""
    tasks = (Task("a", 5, uses=HANDS), Task("b", 5, uses=HANDS), Task("serve", 0, earliest=20, wish=Wish(20, late=100)))
    lags = (Lag("a", "serve"), Lag("b", "serve", 0, 8, 5))
    plan = Plan("optimal", {"a": 0, "b": 10, "serve": 20}, {"a": 5, "b": 15, "serve": 20}, {"a": ("hands",), "b": ("hands",), "serve": ()})
    return Problem(tasks, lags, (Machine("hands"),), horizon=200), plan


def test_without_facts_nothing_moves() -> None:
    """Told and shifted are the same."""
    problem, plan = chain()
    moved = shift(problem, plan)
    assert moved is not None
    assert moved.starts == plan.starts


@pytest.mark.parametrize(("a_ends", "b_starts", "serves"), [(8, 10, 20), (12, 12, 20), (30, 30, 35)])
def test_a_late_task_pushes_what_waits_for_it_and_no_more(a_ends: int, b_starts: int, serves: int) -> None:
    """What fits in the air stays; serving slips only when it must."""
    problem, plan = chain()
    moved = shift(happened(problem, {"a": 0}, {"a": a_ends}, a_ends), plan)
    assert moved is not None
    assert (moved.starts["b"], moved.starts["serve"]) == (b_starts, serves)
    assert moved.starts["a"] == 0


def test_a_later_serving_time_takes_its_limits_along() -> None:
    """Serving moves from 20 to 60: b, which keeps for 8, moves to end at 52; a, which keeps for ever, stays."""
    problem, plan = chain()
    tasks = tuple(Task("serve", 0, earliest=60, wish=Wish(60, late=100)) if t.id == "serve" else t for t in problem.tasks)
    moved = shift(Problem(tasks, problem.lags, problem.machines, horizon=200), plan)
    assert moved is not None
    assert (moved.starts["a"], moved.ends["b"], moved.starts["serve"]) == (0, 52, 60)
    assert over_limits(problem, moved) == []


def test_the_cause_of_a_late_serving_is_named() -> None:
    """Serving waits for b; a, before it on the hands, is over, so b that could begin only now is the cause."""
    problem, plan = chain()
    late = happened(problem, {"a": 0}, {"a": 30}, 30)
    moved = shift(late, plan)
    assert moved is not None
    assert held_up_by(late, moved, "serve") == "b"


def test_slack_by_hand() -> None:
    """Serving at 20: b may start at 15 at most, so a, before it on the hands, at 10."""
    problem, plan = chain()
    assert slack(problem, plan) == {"a": 10, "b": 5, "serve": 0}


def test_contradicting_distances_have_no_times() -> None:
    """b at least 5 after a and a at least 1 after b: no timetable, and it is noticed."""
    assert least_times(2, [(0, 1, 5), (1, 0, 1)], [0, 0], frozenset()) is None


@settings(max_examples=25, deadline=None)
@given(problems())
def test_the_earliest_times_are_the_longest_paths_of_networkx(problem: Problem) -> None:
    """The least times of the graph of a plan, without its upper bounds, against networkx's longest paths."""
    plan = solve(problem)
    g = graph(problem, plan)
    edges = [e for e in g.hard if e[2] >= 0 and e[0] != e[1]]
    times = least_times(2 * len(g.tasks), edges, [0] * 2 * len(g.tasks), frozenset())
    assert times is not None
    net = nx.DiGraph()
    net.add_nodes_from(range(2 * len(g.tasks)))
    for a, b, units in edges:
        net.add_edge(a, b, weight=max(units, net[a][b]["weight"] if net.has_edge(a, b) else 0))
    assert max(times) == nx.dag_longest_path_length(net)
    assert all(times[2 * i] <= plan.starts[t.id] for i, t in enumerate(g.tasks))


@settings(max_examples=30, deadline=None)
@given(problems(), st.integers(0, 60), st.integers(0, 15))
def test_a_shift_keeps_what_happened_and_breaks_no_rule(problem: Problem, until: int, stall: int) -> None:
    """Random evenings that go by the plan until an instant and then stand still: facts stay, the rest lies ahead, every hard rule holds."""
    plan = solve(problem)
    now = until + stall
    starts = {t: s for t, s in plan.starts.items() if s <= until}
    ends = {t: e for t, e in plan.ends.items() if t in starts and e <= until}
    after = happened(problem, starts, ends, now)
    moved = shift(after, plan)
    assert moved is not None
    assert all(moved.starts[t] == s for t, s in starts.items())
    assert all(moved.ends[t] == e for t, e in ends.items())
    assert all(moved.starts[t] >= max(now, plan.starts[t]) for t in plan.starts if t not in starts)
    assert broken(after, moved) == []


def test_what_has_a_window_of_its_own_goes_to_its_beginning() -> None:
    """`a` may begin from 3 to 9 and the solver had it at 9, long before the rest: tidied it begins at 3, and b, which has no window, where it was."""
    problem = Problem(
        (Task("a", 2, uses=(Use(("m",)),), earliest=3, latest=9), Task("b", 2, uses=(Use(("m",)),), earliest=20)), (), (Machine("m"),), horizon=40
    )
    moved = tidy(problem, Plan("optimal", {"a": 9, "b": 20}, {"a": 11, "b": 22}, {"a": ("m",), "b": ("m",)}))
    assert (moved.starts, moved.ends) == ({"a": 3, "b": 20}, {"a": 5, "b": 22})
