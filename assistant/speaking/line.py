"""What flows to the voice: a `Line` of words with a priority. No state, no sound; safe to import anywhere.

Four priorities; a lower number is more urgent. DANGER and ALARM cut in on whatever is being said; the cut line resumes.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum, StrEnum


class Priority(IntEnum):
    """How soon a line must sound."""

    DANGER = 0  # fire, boil-over, burn: over everything
    ALARM = 1  # an alert that must be acted on now
    ANSWER = 2  # the reply to what the cook just said, a question, a due step
    REMARK = 3  # look-ahead, free minutes: waits its turn


class Sound(StrEnum):
    """What may sound before the words, four kinds and no more: a cook must know each within half a second."""

    DANGER = "danger"  # fire, boil-over, burn
    ALARM = "alarm"  # act now
    CLOCK = "clock"  # a clock ran out
    READY = "ready"  # something worth a glance


@dataclass(frozen=True, slots=True)
class Line:
    """One spoken sentence. words: at most 12 (8 for DANGER and ALARM); pause_s: silence kept after it, for an answer; sound: a tone before the
    words. DANGER and ALARM lines get theirs without asking, once for a run of lines."""

    words: str
    priority: Priority = Priority.ANSWER
    pause_s: float = 0.0
    sound: Sound | None = None
