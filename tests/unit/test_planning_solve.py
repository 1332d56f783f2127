"""The planning core against published optima, hand-worked cases and properties."""

from __future__ import annotations

import subprocess
import sys
from itertools import combinations
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from planning_kit import broken

from assistant.planning.problem import Lag, Machine, Order, Plan, Problem, ProblemError, Store, Task, Use, Wish, from_dict, to_dict
from assistant.planning.shift import cost, slack, tidy
from assistant.planning.solve import solve

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT / "tests" / "benchmarks"))
from instances import read_instance  # noqa: E402

INSTANCES = ROOT.parent / "shared" / "benchmarks"


def hands(*tasks: Task, **more: object) -> Problem:
    """Tasks that share one machine, `hands`."""
    return Problem(tasks, machines=(Machine("hands"),), horizon=100, **more)  # type: ignore[arg-type]


def on_hands(task_id: str, usual: int, **more: object) -> Task:
    return Task(task_id, usual, uses=(Use(("hands",)),), **more)  # type: ignore[arg-type]


@pytest.mark.parametrize(("name", "optimum"), [("j30_1_3", 93), ("j30_27_5", 84), ("j30_44_8", 97), ("j60_19_6", 227), ("j60_28_3", 266)])
def test_weighted_earliness_and_tardiness_reaches_the_published_optimum(name: str, optimum: int) -> None:
    """Costs are those in the README beside the MiniZinc benchmark instances, starts in 0..t_max-1."""
    path = INSTANCES / "rcpsp-wet" / f"{name}-wet.dzn"
    if not path.exists():
        pytest.skip(f"the published instances are not here: {path.parent} is missing")
    plan = solve(read_instance(path))
    assert plan.optimal
    assert plan.cost == plan.bound == optimum


def test_makespan_reaches_the_best_known() -> None:
    """J30 instance 29 of PSPLIB: 65 (best_known.csv)."""
    path = INSTANCES / "rcpsp" / "J30_29.txt"
    if not path.exists():
        pytest.skip(f"the published instances are not here: {path.parent} is missing")
    assert solve(read_instance(path)).cost == 65


@pytest.mark.parametrize(("together", "ends"), [(False, 4), (True, 5)])
def test_a_machine_may_do_all_of_one_state_before_another(together: bool, ends: int) -> None:
    """a (state x) is first; b (state y) is dearer to keep waiting than c (state x), so it comes between them, unless x must be done before y."""
    pot = Machine("pot", together=together)
    tasks = (
        Task("a", 2, uses=(Use(("pot",), "x"),), latest=0),
        Task("b", 2, uses=(Use(("pot",), "y"),), wish=Wish(0, late=3)),
        Task("c", 1, uses=(Use(("pot",), "x"),), wish=Wish(0, late=1)),
    )
    plan = solve(Problem(tasks, machines=(pot,), horizon=20))
    assert plan.optimal
    assert plan.ends["b"] == ends
    assert plan.ends["c"] == (3 if together else 5)


def test_set_up_between_states_is_waited_for() -> None:
    """a (state x), b and c (state y): x to y takes 10, y to x 4; by hand y, y, x: 3 x 5 + 4 = 19, shorter than x first (25)."""
    pot = Machine("pot", (((("x", "y")), 10), ((("y", "x")), 4)))
    tasks = (
        Task("a", 5, uses=(Use(("pot",), "x"),)),
        Task("b", 5, uses=(Use(("pot",), "y"),)),
        Task("c", 5, uses=(Use(("pot",), "y"),)),
        Task("end", 0, wish=Wish(0, late=1)),
    )
    lags = tuple(Lag(t, "end") for t in "abc")
    plan = solve(Problem(tasks, lags, (pot,), horizon=100))
    assert plan.cost == 19
    assert plan.starts["a"] == 14


def test_an_open_machine_runs_one_state_side_by_side() -> None:
    """Two bakes at one temperature share the oven; a third at another waits."""
    oven = Machine("oven", open=True)
    bakes = (Task(n, 10, uses=(Use(("oven",), s),)) for n, s in (("a", "200"), ("b", "200"), ("c", "230")))
    end = Task("end", 0, wish=Wish(0, late=1))
    plan = solve(Problem((*bakes, end), tuple(Lag(t, "end") for t in "abc"), (oven,), horizon=100))
    assert plan.cost == 20


def test_a_second_pair_of_hands_is_used_where_allowed() -> None:
    """Two tasks of which one may be done by the helper run together; two that only the cook may do do not."""
    crew = (Machine("cook"), Machine("helper"))
    either, only = Use(("cook", "helper")), Use(("cook",))
    end = Task("end", 0, wish=Wish(0, late=1))
    lags = (Lag("a", "end"), Lag("b", "end"))
    both = solve(Problem((Task("a", 10, uses=(only,)), Task("b", 10, uses=(either,)), end), lags, crew, horizon=50))
    assert both.cost == 10
    assert both.by["b"] == ("helper",)
    alone = solve(Problem((Task("a", 10, uses=(only,)), Task("b", 10, uses=(only,)), end), lags, crew, horizon=50))
    assert alone.cost == 20


def test_an_elastic_lag_costs_only_what_goes_over() -> None:
    """b must come 20 after a, at most 12 at 3 a unit: 8 over cost 24; hard, there is no timetable."""
    tasks = (Task("a", 1, latest=0), Task("b", 1, earliest=21))
    assert solve(Problem(tasks, (Lag("a", "b", most=12, price=3),), horizon=50)).cost == 24
    assert solve(Problem(tasks, (Lag("a", "b", most=12),), horizon=50)).status == "infeasible"


def test_a_task_is_left_out_only_when_that_is_cheaper() -> None:
    """Two tasks cannot both fit before 10: the one with the lower price goes."""
    plan = solve(hands(on_hands("a", 8, latest=2, skip_price=5), on_hands("b", 8, latest=2, skip_price=7)))
    assert plan.left_out == {"a"}
    assert plan.cost == 5
    assert "a" not in plan.starts


def test_stretching_is_paid_by_the_unit() -> None:
    """A task of usual 5, at most 20, must reach to 12: 7 units at 2."""
    tasks = (Task("fry", 5, least=4, most=20, stretch_price=2, latest=0), Task("lift", 1, earliest=12))
    plan = solve(Problem(tasks, (Lag("fry", "lift", least=0, most=0),), horizon=50))
    assert (plan.cost, plan.ends["fry"]) == (14, 12)


def test_staying_and_order_have_their_price() -> None:
    """Two tasks that were told 0 and 5 stay there; a broken order costs its price once."""
    told = hands(on_hands("a", 5, was=0), on_hands("b", 5, was=5), stay_price=1)
    assert solve(told).starts == {"a": 0, "b": 5}
    forced = hands(on_hands("a", 5, earliest=50), on_hands("b", 5, latest=5), orders=(Order("a", "b", 9),))
    assert solve(forced).cost == 9


def test_no_timetable_has_no_values() -> None:
    """An infeasible problem gives a plan without starts, whatever the library would hand out."""
    plan = solve(hands(on_hands("a", 8, latest=0), on_hands("b", 8, latest=0)))
    assert plan == Plan("infeasible")


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (lambda: Problem((Task("a", 1), Task("a", 1)), horizon=5), "two tasks"),
        (lambda: Problem((Task("a", 1, uses=(Use(("pot",)),)),), horizon=5), "unknown machine"),
        (lambda: Problem((Task("a", 1, needs=(("burner", 2),)),), stores=(Store("burner", 1),), horizon=5), "more burner than there is"),
        (lambda: Problem((Task("a", 1, least=2),), horizon=5), "out of order"),
        (lambda: Problem((Task("a", 1),), (Lag("a", "b"),), horizon=5), "unknown task"),
        (lambda: Problem((Task("a", 1), Task("b", 1)), (Lag("a", "b", 3, 2),), horizon=5), "longer at least"),
    ],
)
def test_a_contradictory_problem_cannot_be_made(make: object, says: str) -> None:
    """The maker of a problem hears of its fault at once."""
    with pytest.raises(ProblemError, match=says):
        make()  # type: ignore[operator]


def test_set_ups_without_triangle_inequality_are_refused() -> None:
    """Going by way of b would be shorter than going straight: the pair constraints would then be wrong."""
    pot = Machine("pot", ((("x", "z"), 50), (("x", "y"), 1), (("y", "z"), 1)))
    tasks = tuple(Task(n, 1, uses=(Use(("pot",), n),)) for n in "xyz")
    with pytest.raises(ProblemError, match="by way of"):
        Problem(tasks, machines=(pot,), horizon=99)


@st.composite
def problems(draw: st.DrawFn) -> Problem:
    """Small problems with hands, a pot of two states, burners, lags and wishes."""
    count = draw(st.integers(2, 7))
    tasks = []
    for i in range(count):
        uses = draw(st.sampled_from([(), (Use(("cook",)),), (Use(("cook", "helper")),), (Use(("pot",), "cool"),), (Use(("pot",), "hot"),)]))
        needs = draw(st.sampled_from([(), (("burner", 1),), (("burner", 2),)]))
        wish = Wish(draw(st.integers(0, 40)), draw(st.integers(0, 3)), draw(st.integers(0, 3)), draw(st.sampled_from(["start", "end"])))
        tasks.append(Task(str(i), draw(st.integers(1, 8)), uses=uses, needs=needs, wish=wish))
    lags = tuple(
        Lag(str(a), str(b), draw(st.integers(0, 3)), draw(st.none() | st.integers(3, 9)), price=draw(st.integers(1, 3)))
        for a, b in combinations(range(count), 2)
        if draw(st.integers(0, 4)) == 0
    )
    pot = Machine("pot", ((("cool", "hot"), 6), (("hot", "cool"), 9), (("hot", "hot"), 2), (("cool", "cool"), 1)))
    return Problem(tuple(tasks), lags, (Machine("cook"), Machine("helper"), pot), (Store("burner", 2),), horizon=120)


@settings(max_examples=30, deadline=None)
@given(problems())
def test_no_rule_is_broken_and_none_is_beaten(problem: Problem) -> None:
    """Any timetable keeps every hard rule; its cost is what plain arithmetic counts; equal problems give equal timetables."""
    plan = solve(problem)
    assert plan.found
    assert broken(problem, plan) == []
    assert plan.bound <= plan.cost == cost(problem, plan)
    assert solve(problem) == plan


@settings(max_examples=25, deadline=None)
@given(problems())
def test_tidying_costs_nothing_and_slack_is_real(problem: Problem) -> None:
    """A tidied timetable is as good and nothing in it starts later; using up a task's slack breaks nothing that was kept."""
    plan = solve(problem)
    neat = tidy(problem, plan)
    assert broken(problem, neat) == []
    assert cost(problem, neat) <= plan.cost
    assert all(neat.starts[t] <= plan.starts[t] for t in plan.starts)
    assert all(units >= 0 for units in slack(problem, neat).values())


@settings(max_examples=25, deadline=None)
@given(problems())
def test_a_problem_survives_json(problem: Problem) -> None:
    """from_dict(to_dict(p)) == p."""
    assert from_dict(to_dict(problem)) == problem


def test_the_solver_leaves_ctrl_c_alone() -> None:
    """After a solve an interrupt is still Python's: the evening ends by it instead of being killed. In a process of its own, because another solver
    may have taken the signal in this one."""
    code = (
        "import signal\n"
        "signal.signal(signal.SIGINT, signal.default_int_handler)\n"
        "from assistant.planning.problem import Problem, Task\n"
        "from assistant.planning.solve import solve\n"
        "solve(Problem((Task('a', 3),), horizon=10))\n"
        "try:\n    signal.raise_signal(signal.SIGINT)\n"
        "except KeyboardInterrupt:\n    print('ours')\n"
    )
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert out.stdout == "ours\n"
