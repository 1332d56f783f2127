"""The room that the hearing benches put a cook in: sound falls off as it must, and the noise is as loud as it is said to be."""

from __future__ import annotations

import math
import sys
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "benchmarks"))
from kitchen_sounds import NOISES, in_room, response  # found through the line above

from assistant.hearing.noise import SPEECH_DB
from assistant.hearing.recogniser import RATE

METRES = {"1 m": 1.0, "2 m": 2.0, "3 m": 3.0}


def energy(place: str, order: int) -> float:
    """Of the impulse response, dB; order: reflections that are followed, 0 for a room without walls."""
    return 10 * math.log10(float(np.sum(response(place, order) ** 2)))


@pytest.mark.parametrize("place", ["2 m", "3 m"])
def test_without_walls_sound_follows_the_inverse_square_law(place: str) -> None:
    """Outside check, from acoustics: 6 dB less at twice the distance, 9.5 dB at three times, to half a decibel."""
    assert energy("1 m", 0) - energy(place, 0) == pytest.approx(20 * math.log10(METRES[place]), abs=0.5)


def test_walls_give_sound_back() -> None:
    """In the room it falls off more slowly than the law has it, because the reflections arrive everywhere, and nowhere is it fainter than without."""
    assert 1.0 < energy("1 m", 12) - energy("3 m", 12) < 20 * math.log10(3) - 1.0
    assert all(energy(place, 12) > energy(place, 0) for place in METRES)


def test_a_turned_back_takes_the_direct_sound() -> None:
    """Facing away at the same distance the direct sound is fainter by more than 6 dB, all of it by less."""
    assert energy("2 m", 0) - energy("2 m, facing away", 0) > 6.0
    assert energy("2 m", 0) - energy("2 m, facing away", 0) > energy("2 m", 12) - energy("2 m, facing away", 12) > 0.0


@pytest.mark.parametrize("noise", [name for name in NOISES if name != "talker"])
def test_noise_is_as_loud_as_it_is_said_to_be(noise: str) -> None:
    """What is added at 10 dB lies 10 dB under the active level of speech, and is the same for the same seed."""
    speech = (0.1 * np.sin(np.arange(RATE) * 0.2)).astype(np.float32)
    clean, noisy = (in_room(speech, "2 m", noise, snr_db, 4) for snr_db in (None, 10.0))
    added = noisy - clean
    assert 10 * math.log10(float(np.mean(added**2))) == pytest.approx(SPEECH_DB - 10.0, abs=0.3)
    assert np.array_equal(noisy, in_room(speech, "2 m", noise, 10.0, 4))
