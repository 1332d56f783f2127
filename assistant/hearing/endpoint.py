"""Where an utterance begins and ends. Pure: one verdict a block goes in, what to do comes out; no sound, no clock of its own.

Rules. An utterance starts LEAD_S before the first speech. After PROBE_S of silence it asks for a decode (`Probe`), and the answer (`hint`)
says how long the silence must get: NOTHING can follow 0.28 s, MORE could ("one sixty", "five") 0.57 s, UNFINISHED ("set a clock for") 1.5 s;
without an answer 0.57 s. Speech that goes on makes the answer void. An utterance of LONGEST_S is cut there and its rest is a new one.
Somebody who shouts never falls silent, so while speech lasts a `Window` of the last 1.5 s is handed out twice a second, for the danger
words alone.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

LEAD_S = 0.35
"""Kept before the first block found to be speech, s: the detector's onset is late by 114 to 181 ms, and soft consonants come before it."""
TRAIL_S = 0.25
"""Kept after the last speech, s."""
PROBE_S = 0.16
"""Silence after which a decode is worth its cost, s: 73 of 582 sentences, 162 of them by recorded people, have one so long within them, 56 one of
0.19 s; none has one of 0.5 s."""
WINDOW_S = 1.5
WINDOW_EVERY_S = 0.5
LONGEST_S = 8.9
"""Longest utterance, s: with its trail it fits the embedded recogniser (9.25 s), and "make a note" with a dozen words takes 6. What is longer is not
meant for us, and memory has an end."""


class Follow(Enum):
    """What may come after the words heard so far; the value is the silence that ends the utterance, s."""

    NOTHING = 0.28
    MORE = 0.57
    UNFINISHED = 1.5


@dataclass(frozen=True, slots=True)
class Probe:
    """Decode the sound from start_s to end_s now, and say with `hint` what may follow."""

    start_s: float
    end_s: float


@dataclass(frozen=True, slots=True)
class Window:
    """Look for danger words from start_s to end_s; the utterance goes on."""

    start_s: float
    end_s: float


@dataclass(frozen=True, slots=True)
class Ended:
    """One utterance. start_s, end_s: first and last speech; from_s, to_s: the sound to decode, with lead and trail; probed: nothing was said
    since the last probe, its answer stands; cut: ended by its length, not by silence."""

    start_s: float
    end_s: float
    from_s: float
    to_s: float
    probed: bool
    cut: bool


Verdict = Probe | Window | Ended


class Endpointer:
    """Feed it every block once, in order; feed `hint` the answer to a probe before the next block."""

    def __init__(self) -> None:
        self._first: float | None = None  # start of the first speech of this utterance, None between utterances
        self._last = 0.0  # end of the last speech
        self._from = 0.0
        self._floor = 0.0  # end of the utterance before: its sound is not taken twice
        self._window_at = 0.0
        self._probed = False
        self._follow = Follow.MORE

    @property
    def keeps_from_s(self) -> float | None:
        """Sound from here on is still needed; None between utterances, when LEAD_S is enough."""
        return self._from if self._first is not None else None

    def hint(self, follow: Follow) -> None:
        """The answer to the last probe."""
        self._follow = follow

    def step(self, start_s: float, end_s: float, speaking: bool, rising_s: float = 0.0) -> tuple[Verdict, ...]:
        """One block from start_s to end_s. speaking: somebody speaks in it; rising_s: how long before it the speech began, s, if it is the first."""
        if speaking:
            return self._speech(start_s - rising_s, end_s)
        return self._silence(end_s)

    def flush(self) -> tuple[Verdict, ...]:
        """The source ends or jumps: so does the utterance."""
        return () if self._first is None else (self._end(self._last + TRAIL_S, cut=False),)

    def _speech(self, start_s: float, end_s: float) -> tuple[Verdict, ...]:
        if self._first is None:
            self._first = max(start_s, self._floor)
            self._from = max(start_s - LEAD_S, self._floor)
            self._window_at = self._first + WINDOW_S
        self._last, self._probed, self._follow = end_s, False, Follow.MORE
        if end_s - self._from >= LONGEST_S:
            return (self._end(end_s, cut=True),)
        if end_s >= self._window_at:
            self._window_at += WINDOW_EVERY_S
            return (Window(max(self._from, end_s - WINDOW_S), end_s),)
        return ()

    def _silence(self, end_s: float) -> tuple[Verdict, ...]:
        if self._first is None:
            return ()
        silence = end_s - self._last + 1e-9
        if silence >= self._follow.value or end_s - self._from >= LONGEST_S:
            return (self._end(min(end_s, self._last + TRAIL_S), cut=False),)
        if silence >= PROBE_S and not self._probed:
            self._probed = True
            return (Probe(self._from, end_s),)
        return ()

    def _end(self, to_s: float, cut: bool) -> Ended:
        assert self._first is not None
        ended = Ended(self._first, self._last, self._from, to_s, self._probed, cut)
        self._floor = self._last if cut else to_s
        self._first, self._probed, self._follow = None, False, Follow.MORE
        return ended
