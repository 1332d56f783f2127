"""Learning a cook's own times: robust, bounded, kept in one file, forgotten on request."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from planning_kit import HOUR, fried, meal, step

from assistant.kitchen.evening import Setting
from assistant.kitchen.my_times import FILE, MyTimes, forget, learn, own_time, read_times, write_times
from assistant.kitchen.plan_meal import plan_meal

CARD = meal(fried("chips"))


@pytest.mark.parametrize(
    ("seen", "seconds"), [((600.0,), 400.0), ((600.0, 600.0), 450.0), ((300.0, 300.0, 6000.0), 300.0), ((6000.0,) * 9, 600.0), ((1.0,) * 9, 150.0)]
)
def test_an_own_time_is_the_median_drawn_to_the_card(seen: tuple[float, ...], seconds: float) -> None:
    """Card 300 s, counted twice, by hand: (2*300 + n*median)/(2+n), within half and twice the card's."""
    assert own_time(step("cut", minutes=5), seen) == pytest.approx(seconds)


@given(st.lists(st.floats(1, 10_000), min_size=1, max_size=20))
def test_no_evening_makes_it_absurd(seen: list[float]) -> None:
    """Whatever was measured, the time stays between half and twice the card's."""
    assert 150 <= own_time(step("cut", minutes=5), tuple(seen)) <= 600


def test_the_next_plan_uses_them_and_says_so() -> None:
    """Cutting took eight minutes instead of four: the next plan takes longer for it and names it."""
    times = learn(MyTimes(), CARD, {"chips-cut": 480.0, "no-such-step": 5.0})
    plan = plan_meal(CARD, 18.5 * HOUR, setting=Setting(usual_s=times.for_meal(CARD)))
    task = plan.task("chips-cut")
    assert task.end_s - task.start_s == 330  # (2*240 + 480)/3 = 320, on a grid of 30 s
    assert plan.learned == ("chips-cut",)


def test_times_are_kept_and_forgotten(tmp_path: Path) -> None:
    """Written whole, read back, forgotten for one meal or all; a broken file counts as none."""
    times = learn(learn(MyTimes(), CARD, {"chips-cut": 480.0}), CARD, {"chips-cut": 500.0, "chips-fry": 310.0})
    write_times(tmp_path / "new", times)
    assert read_times(tmp_path / "new") == times
    assert forget(times, "another-meal") == times
    assert forget(times, CARD.id) == forget(times) == MyTimes()
    (tmp_path / FILE).write_text("[1, 2")
    assert read_times(tmp_path) == MyTimes()
    assert read_times(tmp_path / "nowhere") == MyTimes()
