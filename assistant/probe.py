"""A thermometer that another program reads: JSON lines in a file or a pipe, each with a time and a temperature; and what of it is handed on.

    {"time": 1764000000.0, "temperature": 163.4}
    {"time": "2026-01-31T18:02:11+01:00", "temperature": 326.0, "unit": "F"}
time: seconds since the epoch, or ISO 8601; temperature: degrees Celsius unless `unit` says F. `poll` never blocks; a pipe that nobody writes to, a
file that is not there yet, is cut short or begins anew is simply waited for. A line that cannot be read is a fault to be told once, never an
exception.
"""

from __future__ import annotations

import json
import math
import os
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from assistant.clock import Clock

MOST_BYTES = 65536
"""Read at most this at once."""

POLL_S = 1.0
"""How often the file is looked at, s."""

EVERY_S = 10.0
"""A reading is handed on so often, s, or at once when it has moved by MOVED_K."""

MOVED_K = 2.0

SILENT_S = 60.0
"""Nothing for so long is a fault, s."""

OLD_S = 60.0
"""What stood in the file before, older than this by its own time, is history, s."""


@dataclass(frozen=True, slots=True)
class ProbeReading:
    """wall: s since the epoch, as the other program says; celsius."""

    wall: float
    celsius: float


@dataclass(frozen=True, slots=True)
class ProbeFault:
    """A line or a file that cannot be read: one sentence."""

    why: str


@dataclass(frozen=True, slots=True)
class ProbeBack:
    """It reads again after a fault."""


def parse_line(line: str) -> ProbeReading | ProbeFault:
    """One line of a probe.

    >>> parse_line('{"time": 5, "temperature": 329, "unit": "F"}')
    ProbeReading(wall=5.0, celsius=165.0)
    """
    try:
        said = json.loads(line)
    except (json.JSONDecodeError, RecursionError):
        return ProbeFault(f"The probe wrote a line that is no JSON: {line[:60]!r}.")
    if not isinstance(said, dict) or "time" not in said or "temperature" not in said:
        return ProbeFault(f"The probe's lines need a time and a temperature: {line[:60]!r}.")
    wall, celsius, unit = _time(said["time"]), _number(said["temperature"]), said.get("unit", "C")
    if wall is None or celsius is None or unit not in ("C", "F"):
        return ProbeFault(f"The probe's time, temperature or unit is no such thing: {line[:60]!r}.")
    return ProbeReading(wall, (celsius - 32.0) / 1.8 if unit == "F" else celsius)


def _number(value: object) -> float | None:
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    try:
        number = float(value)
    except OverflowError:
        return None
    return number if math.isfinite(number) else None


def _time(value: object) -> float | None:
    if not isinstance(value, str):
        return _number(value)
    try:
        return datetime.fromisoformat(value).timestamp()
    except (ValueError, OverflowError):
        return None


class Probe:
    """Reads a probe's file or pipe as it grows. One reader, called from one thread."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._file: int | None = None
        self._rest = b""
        self._told = ""

    def poll(self) -> tuple[ProbeReading | ProbeFault, ...]:
        """What has been written since the last call, oldest first; nothing when nothing was. The same trouble with the file is told once."""
        try:
            chunk = self._read()
        except OSError as wrong:
            self.close()
            why = f"The probe's file {self._path} cannot be read: {wrong.strerror or wrong}."
            if why == self._told:
                return ()
            self._told = why
            return (ProbeFault(why),)
        self._told = ""
        *lines, self._rest = (self._rest + chunk).split(b"\n")
        if len(self._rest) > MOST_BYTES:  # a line without an end
            self._rest = b""
        return tuple(parse_line(line.decode("utf-8", "replace")) for line in lines if line.strip())

    def close(self) -> None:
        """Let go of the file; `poll` opens it again."""
        if self._file is not None:
            os.close(self._file)
        self._file, self._rest = None, b""

    def _read(self) -> bytes:
        if self._file is None:
            self._file = os.open(self._path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0))
        elif self._begun_anew(self._file):
            os.close(self._file)
            self._rest, self._file = b"", None
            self._file = os.open(self._path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0))
        try:
            return os.read(self._file, MOST_BYTES)
        except BlockingIOError:  # a pipe with nothing in it
            return b""

    def _begun_anew(self, file: int) -> bool:
        """Whether the file was replaced, or cut short below where we are."""
        ours, theirs = os.fstat(file), os.stat(self._path)
        if (ours.st_dev, ours.st_ino) != (theirs.st_dev, theirs.st_ino):
            return True
        try:
            return os.lseek(file, 0, os.SEEK_CUR) > theirs.st_size
        except OSError:  # a pipe has no place
            return False


class Follower:
    """What of a probe's lines is handed on: a reading now and then, the first fault, and that it is back. Called from one thread."""

    def __init__(self, probe: Probe, clock: Clock) -> None:
        self._probe = probe
        self._clock = clock
        self._heard_s = clock.now().elapsed
        self._last_wall = math.nan
        self._handed: ProbeReading | None = None
        self._handed_s = -math.inf
        self._first = True
        self._faulty = False

    def step(self) -> tuple[ProbeReading | ProbeFault | ProbeBack, ...]:
        """Look once."""
        now = self._clock.now()
        found = self._probe.poll()
        readings = [x for x in found if isinstance(x, ProbeReading) and x.wall != self._last_wall]
        faults = [x for x in found if isinstance(x, ProbeFault)]
        if self._first and found:
            self._first = False
            readings = [x for x in readings if now.wall - x.wall <= OLD_S]
        if readings:
            return self._take(readings[-1], now.elapsed)
        if not self._faulty and (faults or now.elapsed - self._heard_s > SILENT_S):
            self._faulty = True
            return (faults[0] if faults else ProbeFault("The probe has written nothing for a minute."),)
        return ()

    def _take(self, reading: ProbeReading, elapsed: float) -> tuple[ProbeReading | ProbeFault | ProbeBack, ...]:
        self._heard_s, self._last_wall = elapsed, reading.wall
        back = (ProbeBack(),) if self._faulty else ()
        self._faulty = False
        moved = self._handed is None or abs(reading.celsius - self._handed.celsius) >= MOVED_K
        if not back and not moved and elapsed - self._handed_s < EVERY_S:
            return ()
        self._handed, self._handed_s = reading, elapsed
        return (*back, reading)
