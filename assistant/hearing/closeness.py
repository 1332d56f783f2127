"""Whether the cook spoke close to the microphone and in quiet, from the utterance alone. Pure.

Rules: close is what stands far above the noise and falls silent at once. Anything else comes through a room.

**Noise.** An utterance is cut with a little sound before its first word and after its last (`endpoint.LEAD_S`, `TRAIL_S`): there is the kitchen
without the cook. The quietest places inside the words would be the usual thing to look at, but between blows of dishes and in a second talker's
pauses there is silence, while the words are drowned: at 0 dB of clatter that finds 25 dB, of a talker 15. What it finds (median, in brackets 5th to
95th percentile of 140 clips: three voices, six noises, four places): with noise 40 dB under the speech 38 dB (36 to 39), at 20 dB 18 (15 to 23), at
10 dB 8.5 (6 to 15), at 5 dB 5.7 (4 to 12), at 0 dB 4.0 (2 to 10). Steady noises are told apart within 2 dB; blows of dishes, when none falls at an
end, are taken for quiet.

**Room.** Close to the microphone speech falls by 20 to 50 dB within 80 ms when a word stops; a room's echo does not let it. What it finds (median,
5th to 95th percentile): as recorded, pocketsphinx' test sentences 22 dB (19 to 30), Debian's English prompts 28 (18 to 36), synthetic voices 51 (24
to 65); the same in the bench's room at 1 m 16 (13 to 18), 16 (13 to 19), 18 (13 to 24), further off less.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from assistant.hearing.recogniser import RATE, Samples

QUIET_DB = 33.0
"""Speech over noise from which on it is quiet: none of 140 clips with noise 20 dB under the speech came so far."""
DRY_DB = 21.0
"""Fall in 80 ms from which on there is no room."""
EDGE_S = 0.15
"""Sound taken for noise at either end, s: what is left of the lead when the detector was late."""
FLOOR = 1e-9
"""Power below which there is no noise (a digital silence), full scale 1."""
FRAME = RATE // 100
"""Samples of 10 ms."""
FALL = 8
"""Frames."""
LOUD_DB = 10.0
"""A word is where a frame is at most this much below the loudest tenth."""


def close(samples: Samples) -> bool:
    """Whether it was spoken close to the microphone and in quiet."""
    return speech_over_noise(samples) >= QUIET_DB and steepest_fall(samples) >= DRY_DB


def speech_over_noise(samples: Samples) -> float:
    """dB between the louder half of the samples and both ends of the clip; 0 for nothing.

    >>> quiet, loud = np.full(4_000, 0.01, np.float32), np.full(8_000, 0.1, np.float32)
    >>> round(speech_over_noise(np.concatenate([quiet, loud, quiet])))
    20
    """
    edge = int(EDGE_S * RATE)
    power = samples.astype(np.float64) ** 2
    if power.size < 2 * edge:
        return 0.0
    noise = float(np.mean(np.concatenate([power[:edge], power[-edge:]])))
    speech = float(np.mean(np.partition(power, power.size // 2)[power.size // 2 :]))
    return _db(speech) - _db(noise)


def steepest_fall(samples: Samples) -> float:
    """dB by which the sound falls within 80 ms of a word, at the second steepest of a hundred places; 0 for nothing.

    >>> round(steepest_fall(np.concatenate([np.full(2_000, 0.1), np.full(2_000, 0.001)]).astype(np.float32)))
    40
    """
    frames = samples[: samples.size // FRAME * FRAME].astype(np.float64).reshape(-1, FRAME)
    if len(frames) <= FALL:
        return 0.0
    level = 10 * np.log10(np.mean(frames**2, axis=1) + FLOOR)
    words = np.flatnonzero(level[:-FALL] >= np.percentile(level, 90) - LOUD_DB)
    falls: NDArray[np.float64] = level[words] - level[words + FALL]
    return float(np.percentile(falls, 98)) if falls.size else 0.0


def _db(power: float) -> float:
    return 10 * float(np.log10(power + FLOOR))
