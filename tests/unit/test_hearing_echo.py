"""Our own voice is taken out of the microphone: how much, how soon, at whatever delay, and without harm to the cook's."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest
import scipy.signal

from assistant.hearing.echo import EchoCanceller, Playback, WithoutEcho, delay_s
from assistant.hearing.frames import BLOCK, Block, MicrophoneLost, Sound, Source, blocks_of
from assistant.hearing.recogniser import RATE, Samples


def speechlike(seconds: float, seed: int) -> Samples:
    """Noise with the long-term spectrum of speech (falling 6 dB an octave from 500 Hz), in syllables."""
    rng = np.random.default_rng(seed)
    size = round(seconds * RATE)
    row = scipy.signal.lfilter([1.0], [1.0, -0.82], rng.standard_normal(size))
    syllables = np.repeat(rng.random(1 + size // 3_200) * (rng.random(1 + size // 3_200) > 0.25), 3_200)[:size]
    row *= scipy.signal.lfilter([0.005], [1.0, -0.995], syllables)
    return np.asarray(0.1 * row / row.std(), np.float32)


def room(sound: Samples, delay: float, gain: float = 0.3) -> Samples:
    """A direct sound, and a tail that falls by 60 dB in 0.25 s."""
    rng = np.random.default_rng(9)
    tail = rng.standard_normal(RATE // 4) * 10 ** (-3 * np.arange(RATE // 4) / (RATE // 4)) * 0.05
    tail[0] = 1.0
    late = np.concatenate([np.zeros(round(delay * RATE)), scipy.signal.fftconvolve(sound, tail)])[: sound.size]
    return np.asarray(gain * late, np.float32)


def power_db(sound: Samples) -> float:
    """Mean power."""
    return float(10 * np.log10(np.mean(np.square(sound, dtype=np.float64)) + 1e-12))


def cancelled(heard: Samples, played: Samples) -> Samples:
    """All of it through a canceller."""
    canceller = EchoCanceller()
    n = heard.size // BLOCK * BLOCK
    return np.concatenate([canceller.step(heard[i : i + BLOCK], played[i : i + BLOCK]) for i in range(0, n, BLOCK)])


@pytest.mark.parametrize("delay", [0.0, 0.03, 0.1])
def test_an_echo_is_learned_within_seconds(delay: float) -> None:
    """At least 8 dB after two seconds, 15 after six, whatever the delay of the device; never louder than it was."""
    played = speechlike(8.0, 1)
    heard = room(played, delay)
    left = cancelled(heard, played)
    gone = [power_db(heard[a * RATE : b * RATE]) - power_db(left[a * RATE : b * RATE]) for a, b in ((0, 1), (2, 4), (6, 7))]
    assert gone[0] > -1.0
    assert gone[1] > 8.0
    assert gone[2] > 15.0


def test_the_cook_is_left_as_they_are() -> None:
    """Somebody who talks over us 10 dB louder than our echo loses nothing and does not undo what was learned."""
    played, cook = speechlike(12.0, 2), speechlike(12.0, 3)
    cook[: 5 * RATE] = 0.0
    cook[8 * RATE :] = 0.0
    echo = room(played, 0.04)
    echo *= 10 ** ((power_db(cook[5 * RATE : 8 * RATE]) - 10 - power_db(echo)) / 20)
    left = cancelled(echo + cook, played)
    talking, after = slice(5 * RATE, 8 * RATE), slice(9 * RATE, 11 * RATE)
    assert power_db(left[talking] - cook[talking]) < power_db(cook[talking]) - 17  # the echo alone would be at -10
    assert power_db(left[after]) < power_db(echo[after]) - 12


def test_nothing_is_touched_while_nothing_is_played() -> None:
    """Bit by bit the same: an evening of silence costs nothing and changes nothing."""
    heard = speechlike(2.0, 4)
    assert np.array_equal(cancelled(heard, np.zeros_like(heard)), heard[: heard.size // BLOCK * BLOCK])


@pytest.mark.parametrize("delay", [0.0, 0.05, 0.3, 0.6])
def test_the_delay_is_measured(delay: float) -> None:
    """Within a millisecond, with the room's tail and noise 10 dB under the echo; nothing where nothing was played or heard of it."""
    played = speechlike(4.0, 5)
    echo = room(played, delay)
    noise = (np.random.default_rng(1).standard_normal(echo.size) * 10 ** ((power_db(echo) - 10) / 20)).astype(np.float32)
    first, size = round(1.2 * RATE), round(1.6 * RATE)
    heard = (echo + noise)[first : first + size]
    then = played[first - round(0.7 * RATE) : first + size + round(0.1 * RATE)]
    assert delay_s(heard, then) == pytest.approx(delay, abs=1e-3)
    assert np.isnan(delay_s(noise[:size], then))
    assert np.isnan(delay_s(heard, np.zeros_like(then)))


@pytest.mark.parametrize("rate", [16_000, 44_100, 48_000])
def test_what_was_played_is_found_by_the_clock(rate: int) -> None:
    """Chunks of 10 ms at the device's rate come back at 16 kHz, at their time; around it is silence; a stream that is opened anew starts anew."""
    t = np.arange(rate) / rate
    tone = (0.3 * np.sin(2 * np.pi * 440 * t)).astype(np.float32)
    playback = Playback()
    for i in range(100):
        playback.note(tone[i * rate // 100 : (i + 1) * rate // 100], 50.0 + i / 100, rate)
    assert not playback.at(49.9).any()
    got = playback.at(50.4, RATE // 10)
    wanted = 0.3 * np.sin(2 * np.pi * 440 * (0.4 + np.arange(RATE // 10) / RATE))
    assert np.abs(got - wanted).max() < 0.02
    assert not playback.at(60.0).any()
    playback.note(tone[: rate // 100], 70.0, rate)
    assert not playback.at(50.4).any()
    assert playback.at(70.0, 100).any()


def test_an_hour_of_playing_is_not_kept() -> None:
    """Whether somebody reads it or not, a few seconds are held."""
    playback = Playback()
    chunk = np.full(480, 0.1, np.float32)
    for i in range(6_000):
        playback.note(chunk, i / 100, 48_000)
        if i % 3 == 0 and i < 3_000:
            playback.at(i / 100 - 0.05)
    assert len(playback._handed) <= 1_000
    playback.at(59.9)
    assert playback._row.size < 15 * RATE


class Microphone(Source):
    """A microphone whose clock starts at 100 s; lost in between."""

    def __init__(self, heard: Samples) -> None:
        self._heard = heard

    def sounds(self) -> Iterator[Sound]:
        for i, block in enumerate(blocks_of([self._heard], RATE, 100.0)):
            if i == 20:
                yield MicrophoneLost(block.start_s, "The microphone is gone.")
            yield block


@pytest.mark.parametrize("delay", [0.05, 0.45])
def test_a_loudspeaker_that_is_late_is_found_and_silenced(delay: float) -> None:
    """A wireless loudspeaker plays half a second after it says so: the delay is measured and its echo learned all the same. What happens to the
    microphone comes through in its place."""
    played = speechlike(14.0, 6)
    heard = room(played, delay) + (1e-4 * np.random.default_rng(2).standard_normal(played.size)).astype(np.float32)
    playback, out = Playback(), []
    for at in range(0, played.size, 160):
        playback._handed = type(playback._handed)(playback._handed, maxlen=None)
        playback.note(played[at : at + 160], 100.0 + at / RATE, RATE)
    for sound in WithoutEcho(Microphone(heard), playback).sounds():
        out.append(sound)
    assert [type(s) for s in out].index(MicrophoneLost) == 20
    left = np.concatenate([s.samples for s in out if isinstance(s, Block)])
    late = slice(11 * RATE, 13 * RATE)
    assert power_db(heard[late]) - power_db(left[late]) > 12
