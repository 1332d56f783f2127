"""Which line is said next. Pure: every method takes the time (s, any steady clock); no thread, no sound, no waiting.

Rules:
- Most urgent first, and within a priority in the order they came.
- A DANGER or ALARM line cuts in on anything less urgent. The cut line is not lost: it is said again from its first word, in its old place, however
  much of it had been heard; half a sentence after an alarm helps nobody, and the last word is often the number.
- A line whose words already wait, or are being said, is dropped; if the newcomer is more urgent it takes the other's place.
- A REMARK that waited 20 s is stale and dropped; an ANSWER after 120 s (what it answered is forgotten). DANGER and ALARM never are.
- After a line comes a breath of 0.25 s, or its `pause_s`, which holds back what waited before the line was over. What comes meanwhile (the cook
  answered), or is more urgent, ends it; but nothing goes ahead of a DANGER or ALARM line that waits only for that.
- While a danger is being dealt with, and 10 s after its last line, less urgent lines from before it wait; replies to what is said meanwhile do not.
- `quiet` stops the line being said with the rest of its batch (a list is one batch) and silences remarks for a time; DANGER and ALARM go on.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from enum import Enum
from itertools import count
from typing import Final

from assistant.speaking.line import Line, Priority

LIFE_S: Final = {Priority.REMARK: 20.0, Priority.ANSWER: 120.0}
"""How long a line may wait, s; the urgent ones for ever."""

BREATH_S: Final = 0.25
AFTER_DANGER_S: Final = 10.0
_NEVER: Final = float("-inf")


class Verdict(Enum):
    """What became of a line handed in."""

    WAITS = "waits"
    CUTS_IN = "cuts in"  # what was being said went back to wait: silence it
    DUPLICATE = "duplicate"
    HUSHED = "hushed"  # a remark while quiet is wanted


@dataclass(frozen=True, slots=True, order=True)
class Entry:
    """A line in the queue. sequence: order of arrival; batch: lines handed in together share it; since: s, when it came."""

    priority: Priority
    sequence: int
    line: Line = field(compare=False)
    batch: int = field(compare=False)
    since: float = field(compare=False)


def urgent(line: Line) -> bool:
    """Whether a line cuts in, is never dropped for age and is never hushed."""
    return line.priority <= Priority.ALARM


class SpeechQueue:
    """The lines that wait and the one being said (`current`)."""

    def __init__(self) -> None:
        self._waiting: list[Entry] = []
        self._count = count()
        self.current: Entry | None = None
        self._last: Entry | None = None  # the line before, when it was over, and until when its pause lasts
        self._over_at = _NEVER
        self._pause_until = _NEVER
        self._danger_began = _NEVER
        self._danger_until = _NEVER
        self._hushed_until = _NEVER

    def __len__(self) -> int:
        return len(self._waiting)

    def add(self, lines: Iterable[Line], now: float) -> list[Verdict]:
        """Hand in the lines of one decision, in order. If any verdict is CUTS_IN, `current` has gone back to wait."""
        batch = next(self._count)
        return [self._add(line, batch, now) for line in lines]

    def _add(self, line: Line, batch: int, now: float) -> Verdict:
        if line.priority is Priority.REMARK and now < self._hushed_until:
            return Verdict.HUSHED
        being_said = self.current is not None and self.current.line.words == line.words
        cuts = self.current is not None and urgent(line) and line.priority < self.current.priority
        if (being_said and not cuts) or any(e.line.words == line.words and e.priority <= line.priority for e in self._waiting):
            return Verdict.DUPLICATE
        if cuts:
            self.put_back()
        self._waiting = [e for e in self._waiting if e.line.words != line.words]
        self._waiting.append(Entry(line.priority, next(self._count), line, batch, now))
        if line.priority is Priority.DANGER:
            if now >= self._danger_until:
                self._danger_began = now
            self._danger_until = max(self._danger_until, now + AFTER_DANGER_S)
        return Verdict.CUTS_IN if cuts else Verdict.WAITS

    def take(self, now: float) -> Entry | None:
        """The line to say now, which becomes `current`; None while one is being said, a pause lasts, or nothing waits."""
        if self.current:
            return None
        self._waiting = [e for e in self._waiting if now - e.since <= LIFE_S.get(e.priority, float("inf"))]
        self.current = min((e for e in self._waiting if self._due(e) <= now), default=None)
        if self.current:
            self._waiting.remove(self.current)
        return self.current

    def _due(self, entry: Entry) -> float:
        """When this entry may be said, s: not before an urgent line that is more urgent than it."""
        before = [e for e in self._waiting if urgent(e.line) and e.priority < entry.priority]
        return max(self._own_due(entry), min(map(self._own_due, before), default=_NEVER))

    def _own_due(self, entry: Entry) -> float:
        held_by_pause = self._last is not None and entry.since <= self._over_at and entry.priority >= self._last.priority
        held_by_danger = not urgent(entry.line) and entry.since < self._danger_began
        return max(self._pause_until if held_by_pause else _NEVER, self._danger_until if held_by_danger else _NEVER)

    def next_due(self) -> float | None:
        """When to call `take` again if nothing else happens; None: only when a line comes or the current one is over."""
        if self.current:
            return None
        return min((self._due(e) for e in self._waiting), default=None)

    def done(self, now: float) -> None:
        """The current line has been said (its last sample is out). Its pause begins."""
        if self.current is None:
            return
        self._last, self.current = self.current, None
        self._over_at = now
        self._pause_until = now + max(BREATH_S, self._last.line.pause_s)
        if self._last.priority is Priority.DANGER:
            self._danger_until = now + AFTER_DANGER_S

    def put_back(self) -> None:
        """The current line was cut or could not be heard: it waits again, in its old place."""
        if self.current:
            self._waiting.append(self.current)
            self.current = None

    def quiet(self, seconds: float, now: float) -> bool:
        """Silence remarks for `seconds`. True: the line being said must stop too, and is not said again."""
        self._hushed_until = now + seconds
        stopped = self.current if self.current and not urgent(self.current.line) else None
        if stopped:
            self.current = None
        batch = stopped.batch if stopped else None
        self._waiting = [e for e in self._waiting if urgent(e.line) or (e.priority is not Priority.REMARK and e.batch != batch)]
        return stopped is not None
