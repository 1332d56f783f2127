"""A kitchen to be heard in: synthetic noise for the recorded evening and for tests, the same samples for the same seed.

Four sounds in one: frying (bright hiss, breathing, with pops), an extractor hood (low rumble and mains hum), running water for a part of the time,
and now and then a clatter of dishes. Made, not recorded: figures measured in it rank recognisers, they do not say how a real kitchen fares.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from assistant.hearing.recogniser import RATE, Samples

SPEECH_DB = -26.0
"""Active level that speech is brought to before it is mixed with noise, dB below full scale: a cook two metres from a laptop."""


def kitchen_noise(seconds: float, seed: int, level_db: float = -46.0) -> Samples:
    """So much kitchen at this root mean square level, dB below full scale."""
    size = max(1, round(seconds * RATE))
    rng = np.random.default_rng(seed)
    t = np.arange(size) / RATE
    frying = _band(rng, size, 2_000, 7_500) * (1 + 0.4 * np.sin(2 * np.pi * rng.uniform(0.2, 0.8) * t))
    pops = _band(rng, size, 1_000, 6_000, rng.random(size) > 1 - 4 / RATE)
    hum = sum(np.sin(2 * np.pi * 100 * k * t + rng.uniform(0, 6)) / k for k in (1, 2, 3))
    water = _band(rng, size, 400, 5_000) * (np.sin(2 * np.pi * t / 17 + rng.uniform(0, 6)) > 0.6)
    clatter = _clatter(rng, size)
    mixed = frying + 0.5 * pops + _band(rng, size, 60, 600) + 0.3 * hum + 0.7 * water + clatter
    wanted = 10 ** (level_db / 20)
    return np.asarray(np.clip(mixed * wanted / np.sqrt(np.mean(mixed**2)), -1.0, 1.0), np.float32)


def at_level(speech: Samples, level_db: float = SPEECH_DB) -> Samples:
    """The same speech at this active level, dB below full scale; silence stays silence."""
    if not speech.any():
        return speech
    gain = 10 ** ((level_db - active_level_db(speech)) / 20)
    return np.asarray(np.clip(gain * speech, -1.0, 1.0), np.float32)


def active_level_db(speech: Samples) -> float:
    """How loud speech is while somebody speaks, dB below full scale, by method B of ITU-T P.56 (12/2011): the power of all of it, over the share of
    the time in which its envelope (smoothed twice by 30 ms) lies above a threshold or did within the last 0.2 s; the threshold is the one 15.9 dB
    under this level. Where none lies so far under it, the level of the whole.

    >>> tone = 0.1 * np.sin(np.arange(10 * RATE) * 0.3)
    >>> [round(active_level_db(np.append(tone, np.zeros(size))), 1) for size in (0, 10 * RATE)]
    [-23.0, -23.1]
    """
    row = np.asarray(speech, np.float64)
    kept, after = math.exp(-1 / (0.03 * RATE)), np.arange(RATE // 2)
    smoothing = (1 - kept) ** 2 * (after + 1) * kept**after  # both at once; after half a second nothing is left of it
    size = row.size + after.size
    envelope = np.fft.irfft(np.fft.rfft(np.abs(row), size) * np.fft.rfft(smoothing, size), size)[: row.size]
    power, since, before = float(np.sum(row**2)) + 1e-30, np.arange(row.size), None
    for threshold in 2.0 ** np.arange(-19, 0):
        last = np.maximum.accumulate(np.where(envelope >= threshold, since, -row.size))
        active = np.count_nonzero(since - last <= 0.2 * RATE)
        if not active:
            break
        level = 10 * math.log10(power / active)
        above = level - 20 * math.log10(threshold)
        if above <= 15.9:
            if before is None:
                break
            share = (before[1] - 15.9) / (before[1] - above)
            return before[0] + share * (level - before[0])
        before = level, above
    return 10 * math.log10(power / row.size)


def _band(rng: np.random.Generator, size: int, low: float, high: float, where: NDArray[np.bool_] | None = None) -> NDArray[np.float64]:
    """Noise of unit power between two frequencies, Hz; where: only these samples excite it."""
    white = rng.standard_normal(size) * (1.0 if where is None else where)
    spectrum, hz = np.fft.rfft(white), np.fft.rfftfreq(size, 1 / RATE)
    sound = np.fft.irfft(spectrum * ((hz >= low) & (hz <= high)), size)
    return np.asarray(sound / max(1e-9, float(sound.std())))


def _clatter(rng: np.random.Generator, size: int) -> NDArray[np.float64]:
    """About one clatter in five seconds: three partials that die away in a tenth of a second."""
    out = np.zeros(size)
    length = min(size, RATE // 4)
    t = np.arange(length) / RATE
    for start in np.flatnonzero(rng.random(size) > 1 - 0.2 / RATE):
        partials = sum(np.sin(2 * np.pi * rng.uniform(1_500, 6_000) * t) for _ in range(3))
        hit = 2.5 * partials * np.exp(-t / 0.03)
        rest = out[start : start + length]
        rest += hit[: len(rest)]
    return out
