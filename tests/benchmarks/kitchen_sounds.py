"""A kitchen to hear in, made from what it is: a room, and six noises.

The room follows the inverse square law (tests/unit/test_hearing_room.py). The noises are our own guess at the physics: no published spectrum of
frying was found and no recording was compared.

Frying is a Poisson process of bubble bursts, each a tone of 1.5 to 7 kHz that dies away in a few milliseconds; water is ringing air bubbles at
Minnaert's frequency (f r = 3.26 m/s); clatter is struck modes; music is chords with a beat; a second talker talks on. The same samples for the same
seed, but for the talker, whose voice (espeak-ng) varies by a sample or two.
"""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
import pyroomacoustics as pra
import scipy.signal
from hearing_corpus import talk
from numpy.typing import NDArray
from synthetic_voices import _espeak

from assistant.hearing.noise import SPEECH_DB, at_level
from assistant.hearing.recogniser import RATE, Samples

PLACES = {"1 m": (1.0, True), "2 m": (2.0, True), "3 m": (3.0, True), "2 m, facing away": (2.0, False)}
"""How far the cook stands from the microphone, and whether they face it."""


def frying(rng: np.random.Generator, size: int) -> NDArray[np.float64]:
    """About 600 bubble bursts a second, sizes log-normal."""
    return _bursts(rng, size, 600.0, lambda n: 1_500 * (7_000 / 1_500) ** rng.random(n), 0.003)


def water(rng: np.random.Generator, size: int) -> NDArray[np.float64]:
    """Bubbles of 0.6 to 3 mm ringing at 3.26 m/s over their radius (Minnaert 1933), 900 a second."""
    return _bursts(rng, size, 900.0, lambda n: 3.26 / rng.uniform(0.6e-3, 3e-3, n), 0.006)


def _bursts(rng: np.random.Generator, size: int, a_second: float, tones: Any, decay_s: float) -> NDArray[np.float64]:
    count = rng.poisson(a_second * size / RATE)
    out = np.zeros(size + RATE // 20)
    t = np.arange(RATE // 20) / RATE
    for start, hz, loud in zip(rng.integers(0, size, count), tones(count), rng.lognormal(0.0, 0.9, count), strict=True):
        out[start : start + t.size] += loud * np.sin(2 * np.pi * hz * t) * np.exp(-t / decay_s)
    return out[:size]


def hood(rng: np.random.Generator, size: int) -> NDArray[np.float64]:
    """A fan: noise falling above 200 Hz, its blades and the mains."""
    hz = np.fft.rfftfreq(size, 1 / RATE)
    air = np.fft.irfft(np.fft.rfft(rng.standard_normal(size)) / np.sqrt(1 + (hz / 200) ** 2), size)
    t = np.arange(size) / RATE
    return np.asarray(air / air.std() + 0.4 * np.sin(2 * np.pi * 245 * t) + 0.3 * np.sin(2 * np.pi * 100 * t))


def clatter(rng: np.random.Generator, size: int) -> NDArray[np.float64]:
    """Three blows a second, each of five struck modes."""
    return sum((_bursts(rng, size, 3.0, lambda n: rng.uniform(900, 6_500, n), 0.04) for _ in range(5)), 0.05 * rng.standard_normal(size))


def music(rng: np.random.Generator, size: int) -> NDArray[np.float64]:
    """Chords of sawtooth-like tones, two a second, with a beat of hiss."""
    t = np.arange(size) / RATE
    out = np.zeros(size)
    for start in range(0, size, RATE // 2):
        here = t[start : start + RATE // 2] - start / RATE
        root = 110 * 2 ** (rng.integers(0, 12) / 12)
        for ratio in (1.0, 1.26, 1.5):
            out[start : start + here.size] += sum(np.sin(2 * np.pi * root * ratio * k * here) / k for k in range(1, 6)) * np.exp(-2 * here)
        out[start : start + here.size] += 0.8 * rng.standard_normal(here.size) * np.exp(-here / 0.03)
    return out


def talker(rng: np.random.Generator, size: int) -> NDArray[np.float64]:
    """Somebody else, talking on."""
    said = " ".join(talk(int(rng.integers(1_000_000))) + "." for _ in range(1 + size // (3 * RATE)))
    row = np.asarray(_espeak("en-us+m3", 160)(said), np.float64)
    return np.resize(row, size)


NOISES = {"frying": frying, "hood": hood, "water": water, "clatter": clatter, "music": music, "talker": talker}


@cache
def response(place: str, order: int = 12) -> NDArray[np.float64]:
    """Impulse response of a kitchen of 4.5 x 3.6 x 2.5 m, from the cook's mouth to the microphone on the worktop; the voice is a wide cardioid."""
    from pyroomacoustics.directivities import CardioidFamily, DirectionVector

    away_m, facing = PLACES[place]
    room = pra.ShoeBox([4.5, 3.6, 2.5], fs=RATE, materials=pra.Material(0.25), max_order=order)
    toward = CardioidFamily(orientation=DirectionVector(azimuth=180 if facing else 0, colatitude=90, degrees=True), p=0.6)
    room.add_source([0.6 + away_m, 1.7, 1.1], directivity=toward)
    room.add_microphone([0.6, 1.7, 1.1])
    room.compute_rir()
    return np.asarray(room.rir[0][0], np.float64)


def in_room(speech: Samples, place: str, noise: str, snr_db: float | None, seed: int, before_s: float = 0.3, after_s: float = 0.3) -> Samples:
    """The sound at the microphone: the ratio of speech (its active level, ITU-T P.56) to noise (its power) is measured there, after the room."""
    heard = scipy.signal.fftconvolve(speech, response(place)).astype(np.float32)
    row = np.pad(at_level(heard), (int(before_s * RATE), int(after_s * RATE)))
    if snr_db is None:
        return row
    around = NOISES[noise](np.random.default_rng(seed), row.size)
    around *= 10 ** ((SPEECH_DB - snr_db) / 20) / max(1e-9, float(np.sqrt(np.mean(around**2))))
    return np.clip(row + around, -1.0, 1.0).astype(np.float32)
