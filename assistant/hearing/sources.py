"""Sound that was recorded: one file, or clips of an evening each at its kitchen time. The live microphone is in `microphone`.

Rules: the sample count is the clock, so times are exact and nothing waits; any rate, any number of channels, any length, read as a stream.
A file that is missing, empty or no sound is the author's fault: `SoundFileError`, one sentence, when the source is made.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import soundfile

from assistant.hearing.frames import BLOCK, HIGHEST_RATE, LOWEST_RATE, Block, SoundFileError, Source, blocks_of
from assistant.hearing.recogniser import RATE, Samples

TAIL_S = 2.0
"""Silence after recorded sound, s: longer than the longest silence that ends an utterance, so that the last one ends too."""


def check_sound_file(path: Path) -> None:
    """SoundFileError when this file cannot be listened to."""
    if not path.exists():
        raise SoundFileError(f"There is no sound file '{path}'.")
    try:
        info = soundfile.info(path)
    except (soundfile.SoundFileError, OSError):
        raise SoundFileError(f"'{path}' is not a sound file that can be read: use wav, flac or ogg.") from None
    if info.frames == 0:
        raise SoundFileError(f"'{path}' holds no sound at all.")
    if not LOWEST_RATE <= info.samplerate <= HIGHEST_RATE:
        raise SoundFileError(f"'{path}' has {info.samplerate} samples a second: use {LOWEST_RATE} to {HIGHEST_RATE}.")


def read_sound(path: Path) -> Samples:
    """A whole short file, as 16 kHz mono."""
    return np.concatenate([block.samples for block in file_blocks(path)])


def file_blocks(path: Path, start_s: float = 0.0) -> Iterator[Block]:
    """The blocks of one file, read a second at a time."""
    check_sound_file(path)
    with soundfile.SoundFile(path) as sound:
        yield from blocks_of(sound.blocks(blocksize=sound.samplerate, dtype="float32"), sound.samplerate, start_s)


@dataclass(frozen=True, slots=True)
class Clip:
    """A recording and the kitchen time it was said at, s."""

    at_s: float
    path: Path


class Clips(Source):
    """Clips at their kitchen times, each followed by TAIL_S of silence; the clock jumps from one to the next. A clip that begins before the
    one in front is over follows it without a gap. bed: noise of the kitchen at 16 kHz, laid under everything, over and over."""

    def __init__(self, clips: Sequence[Clip], bed: Samples | None = None) -> None:
        for clip in clips:
            check_sound_file(clip.path)
        self._clips = tuple(clips)
        self._bed = bed if bed is not None and len(bed) else None
        self._played = 0

    def sounds(self) -> Iterator[Block]:
        now = 0.0
        for clip in self._clips:
            for block in _with_tail(clip.path, max(now, clip.at_s)):
                now = block.end_s
                yield self._on_bed(block)

    def _on_bed(self, block: Block) -> Block:
        if self._bed is None:
            return block
        under = np.take(self._bed, range(self._played, self._played + BLOCK), mode="wrap")
        self._played = (self._played + BLOCK) % len(self._bed)
        return Block(block.start_s, np.clip(block.samples + under, -1.0, 1.0))


class FileSource(Clips):
    """One recording as the microphone, from time 0."""

    def __init__(self, path: Path, bed: Samples | None = None) -> None:
        super().__init__([Clip(0.0, path)], bed)


def _with_tail(path: Path, start_s: float) -> Iterator[Block]:
    end_s = start_s
    for block in file_blocks(path, start_s):
        end_s = block.end_s
        yield block
    silence = np.zeros(int(TAIL_S * RATE), np.float32)
    yield from blocks_of([silence], RATE, end_s)
