"""The one clock: elapsed counts suspend, the time of day may jump, a reboot is bridged."""

from __future__ import annotations

import sys
import time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.clock import EveningClock, FakeClock, Now, SystemClock


@pytest.mark.skipif(sys.platform != "linux", reason="CLOCK_BOOTTIME is Linux's")
def test_elapsed_is_the_boot_time_clock() -> None:
    """On Linux `elapsed` reads CLOCK_BOOTTIME, which goes on during suspend (clock_gettime(2))."""
    before = time.clock_gettime(time.CLOCK_BOOTTIME)
    now = SystemClock().now()
    assert before <= now.elapsed <= time.clock_gettime(time.CLOCK_BOOTTIME)
    assert now.boot


@given(st.lists(st.tuples(st.sampled_from(["advance", "set", "reboot"]), st.floats(0, 1e5)), max_size=20))
def test_kitchen_time_never_goes_back_within_a_boot(steps: list[tuple[str, float]]) -> None:
    """Whatever is done to the time of day, kitchen time only grows while the machine stays on."""
    clock = FakeClock(wall=5e4, elapsed=10.0)
    evening = EveningClock(clock.now())
    last = 0.0
    for what, value in steps:
        if what == "advance":
            clock.advance(value)
        elif what == "set":
            clock.set_wall(value)
        else:
            break
        t = evening.kitchen_time(clock.now())
        assert t >= last
        last = t


def test_a_clock_set_back_across_a_reboot_counts_as_no_time() -> None:
    """With neither clock to go by, kitchen time stands still rather than going back."""
    evening = EveningClock(Now(wall=1000.0, elapsed=50.0, boot="a"), at=70.0)
    assert evening.kitchen_time(Now(wall=10.0, elapsed=3.0, boot="b")) == 70.0
