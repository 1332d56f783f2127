"""The cook is heard over the assistant's own voice: recordings mixed 10 dB over its echo, through the real canceller, ear and gate."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import scipy.signal
from ear_kit import FIXTURES, ears

from assistant.hearing.echo import Playback, WithoutEcho
from assistant.hearing.frames import Sound, Source, blocks_of
from assistant.hearing.noise import at_level
from assistant.hearing.recogniser import RATE, Samples
from assistant.hearing.sources import read_sound
from assistant.hearing.utterance import Utterance
from assistant.session.commands import Command, Intent
from assistant.speaking.voices import RATE as VOICE_RATE
from assistant.speaking.voices import EmbeddedVoice, resample
from assistant.understanding.gate import Ear as Moment
from assistant.understanding.gate import admit

SPOKEN = (
    "Peel potatoes and cut sticks as thick as a finger.",
    "The oil is ready in about four minutes.",
    "Salt the chips while they are hot.",
    "Two batches of chips are left, four minutes each.",
)
AT_S = 7.0
"""When the cook speaks, s: by then the echo is learned."""

pytestmark = pytest.mark.clips


@cache
def own_speech() -> Samples:
    """Prompts in the embedded voice, without a pause that the cook could use."""
    voice = EmbeddedVoice()
    return np.concatenate([resample(voice.synthesise(words), VOICE_RATE, RATE) for words in SPOKEN])


class Room(Source):
    """Our own voice at -36 dB after 50 ms and with a tail, hiss at -66 dB, and the clip at -26 dB."""

    def __init__(self, clip: Path | None) -> None:
        self.played = own_speech()
        tail = np.random.default_rng(9).standard_normal(RATE // 4) * 10 ** (-3 * np.linspace(0, 1, RATE // 4)) * 0.05
        tail[0] = 1.0
        late = np.concatenate([np.zeros(RATE // 20), scipy.signal.fftconvolve(self.played, tail)])[: self.played.size]
        self.heard = at_level(late.astype(np.float32), -36.0)
        self.heard += (5e-4 * np.random.default_rng(1).standard_normal(self.heard.size)).astype(np.float32)
        if clip is not None:
            words = at_level(read_sound(clip), -26.0)
            self.heard[round(AT_S * RATE) :][: words.size] += words

    def sounds(self) -> Iterator[Sound]:
        return blocks_of([self.heard], RATE)


def acted(room: Room, cancel: bool) -> list[Intent]:
    """What would be acted on while we speak."""
    interpreter, ear = ears()
    playback = Playback()
    chunks = [room.played[i : i + RATE] for i in range(0, room.played.size, RATE)]
    for i, chunk in enumerate(chunks):
        playback.note(chunk, float(i), RATE)
    heard = ear.listen(WithoutEcho(room, playback) if cancel else room)
    results = [admit(interpreter.interpret(u.words), Moment(speaking=True)) for u in heard if isinstance(u, Utterance) and u.sure]
    return [r.intent for r in results if isinstance(r, Command)]


@pytest.mark.parametrize(
    ("clip", "intent"),
    [
        ("commands/hold-everything-kumo", Intent.HOLD),
        ("commands/thats-enough-kumo", Intent.QUIET),
        ("commands/kitchen-quiet-gongitsune", Intent.QUIET),
        ("danger/fire-kumo", Intent.FIRE),
        ("danger/its-foaming-up-gongitsune", Intent.FOAMING),
        ("danger/i-burned-my-hand-kumo", Intent.BURNED),
    ],
)
def test_the_cook_is_heard_over_our_own_voice(clip: str, intent: Intent) -> None:
    """The few commands that count then, once each and nothing else."""
    assert acted(Room(FIXTURES / f"{clip}.ogg"), cancel=True) == [intent]


def test_our_own_voice_is_no_command() -> None:
    """With and without the canceller."""
    assert acted(Room(None), cancel=True) == []
    assert acted(Room(None), cancel=False) == []
