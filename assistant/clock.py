"""The only time in the program.

`Now` carries three readings of one instant: the time of day (`wall`, seconds since the Unix epoch, may be wrong and may jump),
a counter that only goes forward and also counts a suspended laptop (`elapsed`, seconds), and the boot it counts from (`boot`).
Everything that runs (frying, soaking, cooling) is measured on `elapsed`; `wall` is for saying the time and for bridging a reboot.

Pure code never asks for the time: it is handed *kitchen time*, seconds since the evening began (`EveningClock`).
"""

from __future__ import annotations

import sys
import time
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Protocol

_BOOT_ID = Path("/proc/sys/kernel/random/boot_id")


@dataclass(frozen=True, slots=True)
class Now:
    """One instant. wall: s since the epoch; elapsed: s on a counter that never goes back; boot: which boot it counts from."""

    wall: float
    elapsed: float
    boot: str


class Clock(Protocol):
    """The port through which time enters; built in one place (`runtime`)."""

    def now(self) -> Now: ...


class SystemClock:
    """The machine's clock. On Linux `elapsed` is CLOCK_BOOTTIME, because the monotonic clock stops while a laptop sleeps."""

    def __init__(self) -> None:
        self._boot = _BOOT_ID.read_text().strip() if _BOOT_ID.exists() else "this-boot"

    def now(self) -> Now:
        if sys.platform == "linux":
            elapsed = time.clock_gettime(time.CLOCK_BOOTTIME)
        else:
            elapsed = time.monotonic()
        return Now(time.time(), elapsed, self._boot)


class FakeClock:
    """A clock that moves only when told to; ships with the package because rehearsals run on it.

    >>> c = FakeClock(wall=1000.0)
    >>> c.advance(90); c.now().wall, c.now().elapsed
    (1090.0, 90.0)
    """

    def __init__(self, wall: float = 0.0, elapsed: float = 0.0, boot: str = "fake") -> None:
        self._now = Now(wall, elapsed, boot)

    def now(self) -> Now:
        return self._now

    def advance(self, seconds: float) -> None:
        """Let time pass (also while the program is not running: suspend looks just like this)."""
        self._now = replace(self._now, wall=self._now.wall + seconds, elapsed=self._now.elapsed + seconds)

    def set_wall(self, wall: float) -> None:
        """Set the time of day without time passing: somebody corrects the clock."""
        self._now = replace(self._now, wall=wall)

    def reboot(self, off_for: float, boot: str) -> None:
        """Switch off for `off_for` seconds: the counter starts again at zero under another boot id."""
        self._now = Now(self._now.wall + off_for, 0.0, boot)


@dataclass(frozen=True, slots=True)
class EveningClock:
    """Maps `Now` to kitchen time, s since the evening began, from one remembered instant (`anchor` was kitchen time `at`)."""

    anchor: Now
    at: float = 0.0

    def kitchen_time(self, now: Now) -> float:
        """Seconds since the evening began. Within one boot the counter decides, whatever the time of day does; across a
        reboot only the time of day is left, and it can never move kitchen time back.

        >>> e = EveningClock(Now(wall=100.0, elapsed=10.0, boot="a"))
        >>> e.kitchen_time(Now(wall=0.0, elapsed=70.0, boot="a"))   # time of day set back: no matter
        60.0
        >>> e.kitchen_time(Now(wall=400.0, elapsed=5.0, boot="b"))  # after a reboot
        300.0
        """
        if now.boot == self.anchor.boot:
            return self.at + max(0.0, now.elapsed - self.anchor.elapsed)
        return self.at + max(0.0, now.wall - self.anchor.wall)
