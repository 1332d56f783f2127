"""The one interface of everything that turns a stretch of sound into words: sound in, `Utterance` out.

Rules: a recogniser decides which words were said and how sure it is, never what they mean for the meal; whatever the sound is (silence,
not-a-number, one sample, an hour) it answers with an `Utterance` and does not raise; it downloads nothing and keeps no sound.
"""

from __future__ import annotations

from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from assistant.hearing.utterance import Utterance

RATE = 16_000
"""Samples a second of everything a recogniser is handed; mono float32 in -1..1."""

Samples = NDArray[np.float32]


class RecogniserError(Exception):
    """A recogniser cannot be set up (its model is missing or damaged); the message is one sentence with the way out."""


class Recogniser(Protocol):
    """What the ear needs of a recogniser."""

    @property
    def name(self) -> str:
        """`embedded` or `vosk`: what `Utterance.engine` says."""
        ...

    def recognise(self, samples: Samples, start_s: float = 0.0, end_s: float = 0.0) -> Utterance:
        """The words in `samples` (16 kHz mono). start_s and end_s, on the source's own clock, are handed through to the utterance."""
        ...


def usable(samples: Samples) -> Samples:
    """The samples as one finite float32 row in -1..1: not-a-number becomes silence, anything louder than full scale is cut.

    >>> usable(np.array([0.5, np.nan, np.inf], dtype=np.float32)).tolist()
    [0.5, 0.0, 1.0]
    """
    row = np.asarray(samples, dtype=np.float32).reshape(-1)
    return np.clip(np.nan_to_num(row, nan=0.0, posinf=1.0, neginf=-1.0), -1.0, 1.0)
