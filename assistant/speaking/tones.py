"""The four sounds, made with numpy; nothing here plays them.

Rules:
- Four kinds and no more (`Sound`), in three priorities after the idea of IEC 60601-1-8: DANGER is high (3 + 2 short pulses), ALARM is medium (3
  longer pulses), CLOCK and READY are low (2 and 1). Pulse counts and intervals are from memory of its tables 3 and 4.
- Each pulse has a fundamental between 150 and 1,000 Hz and at least four harmonics between 300 and 4,000 Hz within 15 dB of one another; most of
  the energy lies between 500 and 2,500 Hz, where a danger signal is heard best over a kitchen (ISO 7731).
- Any two can be told apart within the first half second, by rhythm, by pitch and by the shape of a pulse.
- None may resemble the fire-evacuation pattern of ISO 8201 (three times 0.5 s on, 0.5 s off, then 1.5 s off) or the carbon-monoxide one (four times
  0.1 s on, 0.1 s off, then 5 s off): no pulse here lasts more than 0.3 s, no period of pulses is within a quarter of theirs (1 s, 0.2 s).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from assistant.speaking.line import Sound

Samples = NDArray[np.float32]

_PEAK: Final = 0.8  # of full scale; speech is brought to a similar loudness (voices.py)
_HIGHEST_HZ: Final = 3600.0


@dataclass(frozen=True, slots=True)
class Pulse:
    """at, length: s; hertz: fundamental; fall: 0 for a level pulse, else the time constant of a bell, s."""

    at: float
    length: float
    hertz: float
    fall: float = 0.0


def _row(start: float, count: int, length: float, period: float, hertz: float) -> tuple[Pulse, ...]:
    return tuple(Pulse(start + i * period, length, hertz) for i in range(count))


PULSES: Final[dict[Sound, tuple[Pulse, ...]]] = {
    # 150 ms pulses every 260 ms: the 3 + 2 of a high priority
    Sound.DANGER: _row(0.0, 3, 0.15, 0.26, 830.0) + _row(0.89, 2, 0.15, 0.26, 830.0),
    # 210 ms pulses every 360 ms, the pitch falling: the 3 of a medium priority
    Sound.ALARM: (Pulse(0.0, 0.21, 587.0), Pulse(0.36, 0.21, 494.0), Pulse(0.72, 0.21, 494.0)),
    # a struck bell, rising: the 2 of a low priority
    Sound.CLOCK: (Pulse(0.0, 0.20, 349.0, fall=0.07), Pulse(0.30, 0.30, 440.0, fall=0.10)),
    # one soft note
    Sound.READY: (Pulse(0.0, 0.30, 262.0, fall=0.12),),
}

_LEAD: Final = {Sound.DANGER: 3, Sound.ALARM: 3, Sound.CLOCK: 2, Sound.READY: 1}
_TAIL_S: Final = 0.06


def _wave(pulse: Pulse, rate: int) -> Samples:
    """One pulse. Level pulses rise and fall over an eighth of their length (no click, and the shape the ear locates best); bells decay."""
    t = np.arange(round(pulse.length * rate)) / rate
    harmonics = [k for k in range(1, 16) if k * pulse.hertz <= min(_HIGHEST_HZ, rate / 2)]
    # amplitudes fall gently (k^-0.5) and the fundamental is held back when it lies under the band that carries
    amplitudes = [(0.45 if k * pulse.hertz < 500 else 1.0) * k**-0.5 if k * pulse.hertz <= 2500 else 0.4 * k**-0.5 for k in harmonics]
    # Schroeder phases keep the peak of a sum of harmonics low, so that it may be louder
    phases = [np.pi * k * k / len(harmonics) for k in harmonics]
    wave: NDArray[np.float64] = np.sum(
        [a * np.sin(2 * np.pi * k * pulse.hertz * t + p) for k, a, p in zip(harmonics, amplitudes, phases, strict=True)], axis=0
    )
    edge = pulse.length / 8 if not pulse.fall else 0.006
    shape = np.minimum(1.0, np.minimum(t, pulse.length - t) / edge)
    if pulse.fall:
        shape = shape * np.exp(-t / pulse.fall)
    shaped = wave * np.sin(shape.clip(0, 1) * np.pi / 2) ** 2 if not pulse.fall else wave * shape
    level = _PEAK if not pulse.fall else 0.6 * _PEAK
    return np.asarray(level * shaped / np.max(np.abs(wave)), dtype=np.float32)


@cache
def tone(sound: Sound, rate: int) -> Samples:
    """The whole of a sound at `rate` samples a second, mono, within -1 to 1, with 60 ms of silence after it. Treat it as read-only.

    >>> round(tone(Sound.DANGER, 48000).size / 48000, 2)
    1.36
    """
    pulses = PULSES[sound]
    out = np.zeros(round((pulses[-1].at + pulses[-1].length + _TAIL_S) * rate), dtype=np.float32)
    for pulse in pulses:
        start = round(pulse.at * rate)
        wave = _wave(pulse, rate)
        out[start : start + wave.size] += wave
    out.flags.writeable = False
    return out


def lead_length(sound: Sound, rate: int) -> int:
    """How many samples of `tone` must sound before words may follow: of DANGER the first three pulses, of the others all.

    >>> round(lead_length(Sound.DANGER, 48000) / 48000, 2)
    0.73
    """
    last = PULSES[sound][_LEAD[sound] - 1]
    return round((last.at + last.length + _TAIL_S) * rate)
