"""Whether the cook spoke close to the microphone and in quiet, from the utterance alone."""

import numpy as np
import pytest

from assistant.hearing.closeness import close, speech_over_noise, steepest_fall
from assistant.hearing.noise import SPEECH_DB, kitchen_noise
from assistant.hearing.recogniser import RATE, Samples


def utterance() -> Samples:
    """Half a second of something as loud as speech, a pause in it, and a quarter of a second before and after."""
    t = np.arange(RATE // 2) / RATE
    tone = 10 ** (SPEECH_DB / 20) * np.sqrt(2) * np.sin(2 * np.pi * 300 * t)
    return np.pad(np.concatenate([tone, np.zeros(RATE // 5), tone]), RATE // 4).astype(np.float32)


@pytest.mark.parametrize("snr_db", [20.0, 10.0, 5.0])
def test_the_noise_around_the_words_is_what_counts(snr_db: float) -> None:
    """Within 5 dB of the ratio that was mixed (at little over the noise, what is louder half is noise, too)."""
    words = utterance()
    mixed = words + kitchen_noise(words.size / RATE, 8, SPEECH_DB - snr_db)
    assert speech_over_noise(mixed) == pytest.approx(snr_db, abs=5.0)


def test_more_noise_is_a_smaller_ratio() -> None:
    """The ratio falls as the same noise grows."""
    words = utterance()
    found = [speech_over_noise(words + kitchen_noise(words.size / RATE, 8, level)) for level in (-80.0, -60.0, -50.0, -40.0, -30.0)]
    assert found == sorted(found, reverse=True)


def test_silence_and_a_click_have_no_ratio() -> None:
    """Nothing raises and nothing is infinite: a recogniser is handed anything."""
    assert speech_over_noise(np.zeros(0, np.float32)) == 0.0
    assert speech_over_noise(np.zeros(RATE, np.float32)) == 0.0
    assert speech_over_noise(np.ones(100, np.float32)) == 0.0


def test_the_same_words_are_close_dry_and_not_with_an_echo_or_in_noise() -> None:
    """Close: what falls silent at once, in quiet. An echo that dies by 60 dB in 0.4 s (an ordinary kitchen) or noise 20 dB under it is a room."""
    words = utterance()
    t = np.arange(RATE // 2) / RATE
    echo = np.random.default_rng(3).standard_normal(t.size) * np.exp(-6.9 * t / 0.4)
    echo *= 0.7 / np.sqrt(np.sum(echo**2))
    echo[0] = 1.0
    in_a_room = np.convolve(words, echo)[: words.size].astype(np.float32)
    assert close(words)
    assert not close(in_a_room)
    assert not close(words + kitchen_noise(words.size / RATE, 8, SPEECH_DB - 20.0))
    assert steepest_fall(in_a_room) < steepest_fall(words) - 10.0
    assert steepest_fall(np.zeros(0, np.float32)) == steepest_fall(np.zeros(RATE, np.float32)) == 0.0
