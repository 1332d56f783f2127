"""Our own voice taken out of the microphone: what the loudspeaker plays is known, so its echo can be learned and subtracted.

On the path: **sound** -> Utterance. `Playback` is written by the loudspeaker's thread and read by the ear's; everything else is pure arithmetic.

The filter is a frequency-domain Kalman filter in partitions of one block (Enzner & Vary, Signal Processing 86 (2006) 1140-1156; partitioned after
Kuech, Mabande & Enzner, ICASSP 2014): each bin of each partition has an estimate of the echo path and of its own error, so that it learns fast while
the path is unknown and holds still while the cook talks over us; no detector of double talk is needed. It is linear; of what is left, blocks that
are faint beside the echo are only its rest, and are turned down.
Devices lie about their delays, so the delay is measured, too: by the peak of the cross-correlation with whitened spectra (Knapp & Carter, IEEE
Trans. ASSP 24 (1976) 320-327). And loudspeaker and microphone may have two clocks that differ by parts in ten thousand: the slope of the measured
delays says by how much, and what was played is read at that pace.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from assistant.hearing.frames import BLOCK, BLOCK_S, Block, Resampler, Sound, Source
from assistant.hearing.recogniser import RATE, Samples

LONGEST_ECHO_S = 0.26
"""From the first echo to the last, s: what is left of the delay, and the room."""
FORGETTING = 0.99
"""How far the echo path of one block is believed to be that of the block before: people move, and two devices have two clocks. With 0.999 it takes
27 dB off where the clocks agree, 14 and 6 dB where they differ by 50 and 150 parts in a million; with 0.99 22, 19 and 11; with 0.97 19, 18 and 13."""
SMOOTHING = 0.8
"""Share of the old in the estimate of what is no echo, a block."""
DOUBT = 0.03
"""Power of the echo path's gain that is thought possible before anything was heard: a loudspeaker hardly louder in the microphone than it plays.
A tenth of it learns as fast, ten times more overshoots (tried at 0.003, 0.03 and 0.3)."""
REST = 0.5
"""Power of the rest, as a share of the echo's, at which a block is turned down by 6 dB. The voice detector takes even a rest of -20 dB for speech,
and then no sentence of the cook's ever ends. A cook as loud as the echo loses 3.5 dB, 10 dB louder half a decibel."""
FAINT = 1e-4
"""Played below this, nothing is to be heard."""
GAP_S = 0.1
"""A stream that is off its own sample count by more, s, was opened anew."""
EARLIEST_S, LATEST_S = -0.1, 0.7
"""Delays that are looked for, s: a device that says it plays later than it does, and a wireless loudspeaker."""
LOOK_S = 1.6
"""Sound that a delay is measured on, s."""
AHEAD_S = 0.02
"""The echo is put so far behind the start of the filter, s."""
CLEAR = 8.0
"""Height of the peak, in standard deviations of the correlation, that counts as an echo."""
SAME_S = 0.0005
"""Delays that differ by less, s, are one echo whose clocks drift."""
LOOK_EVERY_S = 0.4
LOOKS = 24
"""How many delays the drift is fitted to, from LOOKS / 6 on: two to ten seconds of our speech."""
MOST_DRIFT = 5e-4
"""No two clocks differ by more."""


class EchoCanceller:
    """Feed it every block of the microphone in order, each with what the loudspeaker played at that time."""

    def __init__(self) -> None:
        parts = round(LONGEST_ECHO_S * RATE / BLOCK)
        self._played = np.zeros(2 * BLOCK)
        self._spectra = np.zeros((parts, BLOCK + 1), complex)
        self._path = np.zeros((parts, BLOCK + 1), complex)
        self._doubt = np.full((parts, BLOCK + 1), DOUBT)
        self._other = np.ones(BLOCK + 1)
        self._silent = parts + 1  # blocks since anything was played
        self._gain = 1.0

    def step(self, heard: Samples, played: Samples) -> Samples:
        """One block of the microphone without the echo."""
        self._silent = 0 if float(np.abs(played).max()) > FAINT else self._silent + 1
        if self._silent > len(self._path):
            self._gain = 1.0
            return heard
        self._played = np.concatenate([self._played[BLOCK:], played])
        self._spectra = np.roll(self._spectra, 1, axis=0)
        self._spectra[0] = np.fft.rfft(self._played)
        echo = np.fft.irfft((self._spectra * self._path).sum(axis=0))[BLOCK:]
        left = heard - echo
        self._learn(left)
        power = float(np.mean(left**2)) + 1e-12
        before, self._gain = self._gain, power / (power + REST * float(np.mean(echo**2)))
        return np.clip(left * np.linspace(before, self._gain, BLOCK), -1.0, 1.0).astype(np.float32)

    def _learn(self, left: NDArray[np.float64]) -> None:
        error = np.fft.rfft(np.concatenate([np.zeros(BLOCK), left]))
        power = np.abs(self._spectra) ** 2
        self._other = SMOOTHING * self._other + (1 - SMOOTHING) * np.abs(error) ** 2
        gain = self._doubt / (0.5 * (power * self._doubt).sum(axis=0) + self._other + 1e-9)
        step = np.fft.irfft(gain * np.conj(self._spectra) * error, axis=1)
        step[:, BLOCK:] = 0.0  # a path longer than its partition would be circular
        self._path += np.fft.rfft(step, axis=1)
        self._doubt = FORGETTING**2 * (1 - 0.5 * gain * power) * self._doubt + (1 - FORGETTING**2) * np.abs(self._path) ** 2


class Playback:
    """What the loudspeaker plays, at 16 kHz and by the clock, the last few seconds of it."""

    def __init__(self) -> None:
        self._handed: deque[tuple[Samples, float, int]] = deque(maxlen=1_000)  # ten seconds, should nobody listen
        self._row = np.zeros(0, np.float32)
        self._from_s = 0.0
        self._rate = 0
        self._resampler = Resampler(RATE)

    def note(self, samples: Samples, at_s: float, rate: int) -> None:
        """These samples sound from at_s on. From the audio thread."""
        self._handed.append((samples.copy(), at_s, rate))

    def at(self, start_s: float, size: int = BLOCK) -> Samples:
        """What sounds from start_s on, between samples too; silence where nothing is known."""
        self._collect()
        place = (start_s - self._from_s) * RATE
        first = int(np.floor(place))
        known = np.zeros(size + 3, np.float32)
        have = self._row[max(0, first - 1) : max(0, first + size + 2)]
        known[max(0, 1 - first) : max(0, 1 - first) + have.size] = have[: known.size - max(0, 1 - first)] if first < 1 else have
        x = place - first  # Lagrange's cubic through four samples
        taps = (-x * (x - 1) * (x - 2) / 6, (x + 1) * (x - 1) * (x - 2) / 2, -(x + 1) * x * (x - 2) / 2, (x + 1) * x * (x - 1) / 6)
        out = sum(tap * known[i : i + size] for i, tap in enumerate(taps))
        old = first - round((LATEST_S + LOOK_S + 1.0) * RATE)
        if old > RATE:
            self._row, self._from_s = self._row[old:], self._from_s + old / RATE
        return np.asarray(out, np.float32)

    def _collect(self) -> None:
        new: list[Samples] = []
        size = self._row.size
        while self._handed:
            samples, at_s, rate = self._handed.popleft()
            if rate != self._rate or abs(at_s - self._from_s - size / RATE) > GAP_S:
                self._row, self._from_s, self._rate, size = np.zeros(0, np.float32), at_s, rate, 0
                self._resampler = Resampler(rate)
                new.clear()
            new.append(self._resampler.push(samples))
            size += new[-1].size
        if new:
            self._row = np.concatenate([self._row, *new])


class WithoutEcho(Source):
    """A microphone without our own voice."""

    def __init__(self, microphone: Source, playback: Playback) -> None:
        self._microphone, self._playback = microphone, playback
        self._canceller = EchoCanceller()
        self._lag_s, self._drift = 0.0, 0.0
        self._found: deque[tuple[float, float]] = deque(maxlen=LOOKS)
        self._heard: deque[Samples] = deque(maxlen=round(LOOK_S / BLOCK_S))

    def sounds(self) -> Iterator[Sound]:
        since_look = 0
        for sound in self._microphone.sounds():
            if not isinstance(sound, Block):
                self._heard.clear()
                yield sound
                continue
            self._lag_s += self._drift * BLOCK_S
            played = self._playback.at(sound.start_s - self._lag_s)
            self._heard.append(sound.samples)
            since_look += 1
            if since_look * BLOCK_S > LOOK_EVERY_S and len(self._heard) == self._heard.maxlen:
                since_look = 0
                self._align(sound.end_s)
            yield Block(sound.start_s, self._canceller.step(sound.samples, played))

    def _align(self, end_s: float) -> None:
        """Measure the delay on what was just heard; one that stays (but for a drift) is believed."""
        heard = np.concatenate(self._heard)
        played = self._playback.at(end_s - heard.size / RATE - LATEST_S, heard.size + round((LATEST_S - EARLIEST_S) * RATE))
        found_s = delay_s(heard, played)
        if np.isnan(found_s):
            return
        if self._found and abs(found_s - self._found[-1][1]) > SAME_S + MOST_DRIFT * (end_s - self._found[-1][0]):
            self._found.clear()
        self._found.append((end_s, found_s))
        if len(self._found) > 1 and not 0.0 <= found_s - self._lag_s <= LONGEST_ECHO_S / 2:
            self._lag_s, self._canceller = found_s - AHEAD_S, EchoCanceller()
        if len(self._found) >= LOOKS / 6:
            times, delays = np.array(self._found).T
            self._drift = float(np.clip(np.polyfit(times - times[0], delays, 1)[0], -MOST_DRIFT, MOST_DRIFT))


def delay_s(heard: Samples, played: Samples) -> float:
    """How long after it was played the echo is heard, s; not-a-number where none is clear. played begins LATEST_S before heard and ends
    -EARLIEST_S after it."""
    if float(np.sqrt(np.mean(np.square(played)))) < FAINT:
        return float("nan")
    size = heard.size + played.size
    cross = np.fft.rfft(played, size) * np.conj(np.fft.rfft(heard, size))
    peak = np.fft.irfft(cross / (np.abs(cross) + 1e-9), size)[: played.size - heard.size]  # heard begins so late in played
    best = int(np.argmax(peak))
    if not 0 < best < peak.size - 1 or peak[best] < CLEAR * float(peak.std()):
        return float("nan")
    before, top, after = peak[best - 1 : best + 2]
    return float(LATEST_S - (best + 0.5 * (before - after) / (before - 2 * top + after)) / RATE)  # the top of the parabola through them
