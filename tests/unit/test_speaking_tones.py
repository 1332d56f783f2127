"""The four sounds: rhythm, pitch, band, and what they must never be taken for."""

from __future__ import annotations

from itertools import combinations, pairwise

import numpy as np
import pytest
from numpy.typing import NDArray

from assistant.speaking.line import Sound
from assistant.speaking.tones import PULSES, lead_length, tone

RATE = 16000
Array = NDArray[np.float64]


def on_off(signal: Array, frame: int = 160) -> NDArray[np.bool_]:
    """Whether each 10 ms frame is sounding: within 24 dB of the loudest."""
    n = signal.size // frame * frame
    level = np.sqrt((signal[:n].reshape(-1, frame) ** 2).mean(axis=1))
    return np.asarray(level > level.max() * 10 ** (-24 / 20))


def runs(on: NDArray[np.bool_]) -> list[tuple[bool, float]]:
    """(sounding, seconds) for each stretch."""
    edges = [0, *(np.flatnonzero(np.diff(on.astype(int))) + 1).tolist(), on.size]
    return [(bool(on[a]), (b - a) / 100) for a, b in pairwise(edges)]


def evacuation(times: int, beat: float, rest: float) -> NDArray[np.bool_]:
    """`times` pulses of `beat` on and `beat` off, then `rest` more silence, in 10 ms frames, two rounds of it."""
    one = np.zeros(round((2 * beat * times + rest) * 100), dtype=bool)
    for i in range(times):
        one[round(2 * beat * i * 100) : round((2 * beat * i + beat) * 100)] = True
    return np.concatenate([one, one])


# ISO 8201 / NFPA 72 temporal-3 (0.5 s on, 0.5 s off, three times, then 1.5 s), and the carbon-monoxide temporal-4 (4 x 0.1 s, then 5 s)
T3 = evacuation(3, 0.5, 1.0)
T4 = evacuation(4, 0.1, 4.9)


def likeness(a: NDArray[np.bool_], b: NDArray[np.bool_]) -> float:
    """Best correlation of two on-off patterns over all shifts, 0 to 1, each seen as deviation from its mean."""
    x, y = a - a.mean(), b - b.mean()
    return float(np.correlate(x, y, mode="full").max() / np.sqrt((x**2).sum() * (y**2).sum()))


def repeated(sound: Sound, every: float) -> NDArray[np.bool_]:
    one = np.zeros(round(every * RATE))
    wave = tone(sound, RATE)
    one[: wave.size] = wave
    return on_off(np.concatenate([one, one]))


@pytest.mark.parametrize("sound", Sound)
@pytest.mark.parametrize("every", [2.5, 4.0, 5.0, 10.0])
def test_no_sound_resembles_an_evacuation_signal(sound: Sound, every: float) -> None:
    """However often a sound is repeated, its rhythm is neither temporal-3 nor temporal-4; clocks are least like them."""
    pattern = repeated(sound, every)
    limit = 0.6 if sound in (Sound.DANGER, Sound.ALARM) else 0.5
    assert likeness(pattern, T3) < limit
    assert likeness(pattern, T4) < 0.6


def test_the_likeness_measure_knows_the_evacuation_signal() -> None:
    """The measure itself says 1 for temporal-3 against itself and stays high with the 10 % tolerance that the standard grants."""
    assert likeness(T3, T3) == pytest.approx(1.0)
    assert likeness(evacuation(3, 0.52, 1.0), T3) > 0.75


@pytest.mark.parametrize("sound", Sound)
def test_pulses_are_short_and_their_period_is_neither_that_of_t3_nor_t4(sound: Sound) -> None:
    """Read off the wave: no stretch over 0.3 s, no two starts as far apart as in temporal-3 (1 s) or temporal-4 (0.2 s), a quarter off."""
    stretches = runs(on_off(np.asarray(tone(sound, RATE), dtype=float)))
    assert max(length for on, length in stretches if on) <= 0.31
    starts, at = [], 0.0
    for on, length in stretches:
        if on:
            starts.append(at)
        at += length
    for gap in np.diff(starts):
        assert gap > 0.25 or gap < 0.15
        assert gap < 0.75


@pytest.mark.parametrize(("sound", "pulses"), [(Sound.DANGER, 5), (Sound.ALARM, 3), (Sound.CLOCK, 2), (Sound.READY, 1)])
def test_priorities_have_the_pulse_counts_of_iec_60601_1_8(sound: Sound, pulses: int) -> None:
    """High 3 + 2, medium 3, low 2 or 1 (IEC 60601-1-8 tables 3 and 4, from memory), counted on the wave."""
    assert sum(on for on, _ in runs(on_off(np.asarray(tone(sound, RATE), dtype=float)))) == pulses


def test_danger_has_a_longer_rest_between_its_three_and_its_two() -> None:
    """The 3 + 2 of a high priority is heard as two groups: the rest between them is at least half as long again as within."""
    rests = [length for on, length in runs(on_off(np.asarray(tone(Sound.DANGER, RATE), dtype=float)))[1:-1] if not on]
    assert len(rests) == 4
    assert rests[2] > 1.5 * max(rests[0], rests[1], rests[3])


@pytest.mark.parametrize("sound", Sound)
def test_energy_lies_where_a_kitchen_lets_it_through(sound: Sound) -> None:
    """ISO 7731: the main energy is between 500 and 2,500 Hz; fundamentals are between 150 and 1,000 Hz with four harmonics within 15 dB."""
    wave = np.asarray(tone(sound, RATE), dtype=float)
    power = np.abs(np.fft.rfft(wave)) ** 2
    hertz = np.fft.rfftfreq(wave.size, 1 / RATE)
    assert power[(hertz >= 500) & (hertz <= 2500)].sum() > 0.75 * power.sum()
    pulse = PULSES[sound][0]
    assert 150 <= pulse.hertz <= 1000
    first = wave[: round(pulse.length * RATE)]
    spectrum = np.abs(np.fft.rfft(first * np.hanning(first.size), 8 * RATE))
    fine = np.fft.rfftfreq(8 * RATE, 1 / RATE)
    heights = sorted(
        (20 * np.log10(spectrum[np.abs(fine - k * pulse.hertz) < 20].max()) for k in range(1, 16) if 300 <= k * pulse.hertz <= 4000), reverse=True
    )
    assert heights[0] - heights[3] <= 15


def picture(half_second: Array) -> Array:
    """What an ear has of half a second: loudness in ten bands a 20 ms frame, log, without its mean (level and room do not count)."""
    frame = RATE // 50
    rows = half_second[: half_second.size // frame * frame].reshape(-1, frame) * np.hanning(frame)
    power = np.abs(np.fft.rfft(rows, axis=1)) ** 2
    hertz = np.fft.rfftfreq(frame, 1 / RATE)
    edges = np.geomspace(200, 4000, 11)
    bands = np.stack([power[:, (hertz >= a) & (hertz < b)].sum(axis=1) for a, b in pairwise(edges)], axis=1)
    log = np.log10(bands + 1e-3 * bands.max())
    return np.asarray(log - log.mean())


def test_any_sound_is_known_from_its_first_half_second_in_noise() -> None:
    """Half a second of each, at 0 dB in noise, is nearest to its own clean picture: 200 trials a sound, none mistaken."""
    n = RATE // 2
    clean = {}
    for sound in Sound:
        padded = np.zeros(n)
        wave = tone(sound, RATE)[:n]
        padded[: wave.size] = wave
        clean[sound] = padded
    pictures = {sound: picture(wave + 1e-3) for sound, wave in clean.items()}
    rng = np.random.default_rng(7)
    for sound, wave in clean.items():
        for _ in range(200):
            noisy = wave + rng.standard_normal(n) * np.sqrt((wave**2).mean())
            seen = picture(noisy)
            likest = max(pictures, key=lambda s: float((pictures[s] * seen).sum() / np.linalg.norm(pictures[s])))
            assert likest is sound


def test_the_sounds_differ_in_more_than_one_way() -> None:
    """Of any two, within half a second, two of these differ: pulses begun, pitch of the first (by a fourth), shape, movement of pitch."""
    for a, b in combinations(Sound, 2):
        first = {s: [p for p in PULSES[s] if p.at < 0.5] for s in (a, b)}
        ways = [
            len(first[a]) != len(first[b]),
            abs(np.log2(first[a][0].hertz / first[b][0].hertz)) >= 5 / 12,
            bool(first[a][0].fall) != bool(first[b][0].fall),
            np.sign(first[a][-1].hertz - first[a][0].hertz) != np.sign(first[b][-1].hertz - first[b][0].hertz),
        ]
        assert sum(ways) >= 2, (a, b)


@pytest.mark.parametrize("sound", Sound)
def test_words_wait_for_the_lead_of_a_sound_only(sound: Sound) -> None:
    """Words follow the lead: at most 1 s, long enough to be known (0.25 s), ending in silence, and never longer than the sound."""
    lead = lead_length(sound, RATE)
    assert 0.25 * RATE <= lead <= 1.0 * RATE
    assert lead <= tone(sound, RATE).size
    assert np.abs(tone(sound, RATE)[lead - 160 : lead]).max() < 1e-3


@pytest.mark.parametrize("rate", [8000, 22050, 24000, 44100, 48000])
def test_sounds_stay_within_full_scale_at_any_rate(rate: int) -> None:
    """No rate clips, and the urgent ones are the loudest."""
    loudest = {sound: float(np.abs(tone(sound, rate)).max()) for sound in Sound}
    assert max(loudest.values()) <= 0.85
    assert min(loudest[Sound.DANGER], loudest[Sound.ALARM]) > max(loudest[Sound.CLOCK], loudest[Sound.READY])
