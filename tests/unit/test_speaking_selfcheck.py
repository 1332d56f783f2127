"""The self-check: each finding is one sentence, and one that is not well says what to do."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np
import pytest

from assistant.clock import SystemClock
from assistant.hearing.frames import Block, MicrophoneLost, Sound
from assistant.hearing.utterance import Utterance
from assistant.selfcheck import HEARD, judge_noise, say_inside, try_loudspeaker, try_microphone
from assistant.speaking import speaker as speaker_module
from assistant.speaking.player import NoSpeakerError
from assistant.speaking.voices import RATE, Samples, ToneVoice, VoiceError


@pytest.mark.parametrize(
    ("level", "ok", "says"),
    [
        (1e-5, False, "nearly nothing"),
        (2e-4, True, "good"),
        (3e-3, True, "good"),
        (0.02, True, "good"),
        (0.05, False, "too loud"),
        (0.5, False, "too loud"),
    ],
)
def test_noise_is_judged_by_its_level(level: float, ok: bool, says: str) -> None:
    """From -75 to -30 dB under full scale speech stands out; outside, the sentence says what to change."""
    sound = np.random.default_rng(3).normal(0, level, 32000).astype(np.float32).clip(-1, 1)
    finding = judge_noise(sound)
    assert finding.ok is ok
    assert says in finding.sentence
    assert ok or "level" in finding.sentence


class FakeMicrophone:
    """A microphone that delivers what it is given, then waits."""

    def __init__(self, sounds: list[Sound]) -> None:
        self._sounds = sounds

    def sounds(self) -> Iterator[Sound]:
        yield from self._sounds

    def stop(self) -> None:
        """Nothing to stop."""


BLOCKS: list[Sound] = [Block(i * 0.032, np.full(512, 0.003, dtype=np.float32)) for i in range(40)]


@pytest.mark.parametrize(
    ("sounds", "ok", "says"),
    [
        (BLOCKS, True, "good"),
        ([], False, "sends nothing"),
        ([MicrophoneLost(0.0, "There is no microphone: plug one in.")], False, "plug one in. Until then, type."),
        ([*BLOCKS, MicrophoneLost(1.3, "The microphone is gone.")], False, "is gone. Until then, type."),
    ],
)
def test_a_microphone_is_tried(sounds: list[Sound], ok: bool, says: str) -> None:
    """Sound is judged; no sound, no microphone and one that goes away are each a sentence that ends in typing."""
    make: Callable[[], object] = lambda: FakeMicrophone(sounds)  # noqa: E731 - a port, made when wanted
    sound, finding = try_microphone(make, 0.05)  # type: ignore[arg-type]
    assert finding.ok is ok
    assert says in finding.sentence
    assert bool(len(sound)) is ok


class FakeRecogniser:
    """Hears what it is told to, and remembers how long the sound was."""

    name = "fake"

    def __init__(self, words: str) -> None:
        self.words, self.seconds = words, 0.0

    def recognise(self, samples: Samples, start_s: float = 0.0, end_s: float = 0.0) -> Utterance:
        self.seconds = len(samples) / 16000
        return Utterance(self.words)


class Dumb(ToneVoice):
    """A voice that cannot."""

    def synthesise(self, words: str, speed: float = 1.0) -> Samples:
        raise VoiceError("The voice is broken.")


def test_the_sentence_inside_the_computer() -> None:
    """The right words are well; others are quoted; a voice that fails is its own sentence. The sound comes at the ear's rate with silence around."""
    right = FakeRecogniser(HEARD)
    assert say_inside(ToneVoice(), right).ok
    assert right.seconds == pytest.approx(ToneVoice().synthesise("x").size / RATE + 0.5, abs=0.01)
    wrong = say_inside(ToneVoice(), FakeRecogniser("kitchen what's left"))
    assert not wrong.ok
    assert "'kitchen what's left'" in wrong.sentence
    assert say_inside(Dumb(), right).sentence == "The voice is broken."


def test_no_loudspeaker_is_a_sentence(monkeypatch: pytest.MonkeyPatch) -> None:
    """The reason of the device, and where the words are meanwhile."""

    def refuse(*_: object) -> None:
        raise NoSpeakerError("There is no loudspeaker: plug one in.")

    monkeypatch.setattr(speaker_module, "open_first", refuse)
    finding = try_loudspeaker(ToneVoice(), SystemClock(), None)
    assert not finding.ok
    assert finding.sentence == "There is no loudspeaker: plug one in. Until then the words are on the screen."
