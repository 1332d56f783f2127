"""Sound on its way in: blocks of samples with the time of their source, and the one format everything behind a source works in.

Rules: 16 kHz, mono, float32 within [-1, 1], no NaN; a `Block` is 512 samples (32 ms, what the voice detector takes), its `start_s` on the
source's own clock. A source may jump ahead in time between blocks (clips of an evening), never back. What goes wrong with a microphone is
an item of the same stream.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from math import gcd, log10
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from assistant.hearing.recogniser import RATE, Samples

BLOCK = 512
"""Samples in a block."""
BLOCK_S = BLOCK / RATE
LOWEST_RATE, HIGHEST_RATE = 4_000, 384_000
"""Rates a source may come in, Hz: telephone sound has 8,000, the best sound cards 384,000."""


@dataclass(frozen=True, slots=True, eq=False)
class Block:
    """512 samples that began at start_s on the source's clock, s."""

    start_s: float
    samples: Samples

    @property
    def end_s(self) -> float:
        """When the block ended, s on the source's clock."""
        return self.start_s + len(self.samples) / RATE


@dataclass(frozen=True, slots=True)
class MicrophoneLost:
    """Nothing can be heard any more. at_s: on the source's clock; reason: one sentence that can be shown as it is."""

    at_s: float
    reason: str


@dataclass(frozen=True, slots=True)
class MicrophoneBack:
    """Sound comes again. name: of the device."""

    at_s: float
    name: str


Sound = Block | MicrophoneLost | MicrophoneBack


class Source(Protocol):
    """Where sound comes from. `sounds` ends when the source does; it never raises for what happens in the world."""

    def sounds(self) -> Iterator[Sound]: ...


class SoundFileError(ValueError):
    """A sound file that cannot be used: the message is one sentence with the file's name."""


def clean(raw: NDArray[np.float32]) -> Samples:
    """Mono, finite and within [-1, 1]: channels (columns) averaged, NaN and infinities silenced.

    >>> clean(np.array([[0.5, 0.25], [np.nan, 0.0], [9.0, 9.0]], np.float32)).tolist()
    [0.375, 0.0, 1.0]
    """
    finite = np.nan_to_num(np.asarray(raw, np.float32), nan=0.0, posinf=0.0, neginf=0.0)
    mono = finite if finite.ndim == 1 else finite.mean(axis=1, dtype=np.float32)
    return np.clip(mono, -1.0, 1.0)


def level_db(samples: Samples) -> float:
    """Root mean square, dB below full scale; -120 for digital silence.

    >>> level_db(np.full(512, 0.1, np.float32))
    -20.0
    """
    power = float(np.mean(np.square(samples, dtype=np.float64))) if len(samples) else 0.0
    return max(-120.0, round(10 * log10(power), 1)) if power > 0 else -120.0


class Resampler:
    """A stream at any rate brought to 16 kHz, chunk by chunk, without a seam: the same samples as `scipy.signal.resample_poly` gives for the whole.

    Polyphase with the usual Kaiser-windowed low pass of 10 zero crossings a side; lags by those 10 samples of the lower rate until `flush`. Done here
    because importing scipy.signal for it costs 0.4 s and 80 MB.
    """

    def __init__(self, rate: int) -> None:
        if not LOWEST_RATE <= rate <= HIGHEST_RATE:
            raise ValueError(f"A rate of {rate} Hz is outside {LOWEST_RATE} to {HIGHEST_RATE} Hz.")
        step = gcd(RATE, rate)
        self._up, self._down = RATE // step, rate // step
        wider = max(self._up, self._down)
        self._half = 10 * wider
        at = np.arange(-self._half, self._half + 1)
        taps = np.sinc(at / wider) * np.kaiser(at.size, 5.0)
        # [up, m]: of an output so many input samples of 1/up behind one, the weights of that one, the one before it and so on
        self._phases = np.pad(taps * self._up / taps.sum(), (0, -taps.size % self._up)).reshape(-1, self._up).T.astype(np.float32)
        self._kept = np.zeros(0, np.float32)
        self._kept_from = 0  # index of the first kept input sample
        self._seen = 0
        self._given = 0

    def push(self, samples: Samples) -> Samples:
        """What can be computed exactly now that these samples, too, are known."""
        if self._up == self._down:
            return samples
        self._kept = np.concatenate([self._kept, samples])
        self._seen += len(samples)
        return self._upto((self._seen * self._up - self._half - 1) // self._down + 1)

    def flush(self) -> Samples:
        """The rest, as if silence followed; the stream is over."""
        if self._up == self._down:
            return np.zeros(0, np.float32)
        return self._upto(-(-self._seen * self._up // self._down))

    def _upto(self, end: int) -> Samples:
        if end <= self._given:
            return np.zeros(0, np.float32)
        newest, phase = np.divmod(np.arange(self._given, end) * self._down + self._half, self._up)
        long = self._phases.shape[1]
        first = int(newest[0]) - long + 1  # of the input samples that are needed; what lies before or after all of them is silence
        row = np.pad(self._kept, (max(0, self._kept_from - first), max(0, int(newest[-1]) + 1 - self._kept_from - len(self._kept))))
        windows = np.lib.stride_tricks.sliding_window_view(row, long)[newest - long + 1 - min(first, self._kept_from), ::-1]
        self._given = end
        drop = (end * self._down + self._half) // self._up - long + 1 - self._kept_from
        if drop > 0:
            self._kept = self._kept[drop:]
            self._kept_from += drop
        out: Samples = np.einsum("nm,nm->n", windows, self._phases[phase])
        return out


class Blocker:
    """Cuts a stream of any chunk lengths into blocks of 512."""

    def __init__(self, start_s: float = 0.0) -> None:
        self._start_s = start_s
        self._rest = np.zeros(0, np.float32)
        self._count = 0

    def push(self, samples: Samples) -> Iterator[Block]:
        """The blocks that are now full."""
        rest = np.concatenate([self._rest, samples])
        whole = len(rest) // BLOCK * BLOCK
        for at in range(0, whole, BLOCK):
            yield Block(self._start_s + self._count / RATE, rest[at : at + BLOCK])
            self._count += BLOCK
        self._rest = rest[whole:]

    def flush(self) -> Iterator[Block]:
        """The last, filled up with silence."""
        if len(self._rest):
            yield from self.push(np.zeros(BLOCK - len(self._rest), np.float32))


def blocks_of(chunks: Iterable[NDArray[np.float32]], rate: int, start_s: float = 0.0) -> Iterator[Block]:
    """Blocks of a stream of raw chunks (any length, mono or one column a channel) at `rate`, Hz; the last one filled up with silence."""
    resampler, blocker = Resampler(rate), Blocker(start_s)
    for chunk in chunks:
        yield from blocker.push(resampler.push(clean(chunk)))
    yield from blocker.push(resampler.flush())
    yield from blocker.flush()
