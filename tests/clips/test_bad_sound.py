"""Sound as bad microphones make it, through the whole ear: what is still heard, and that the rest is nothing, never a fault."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import soundfile
from ear_kit import FIXTURES, ears

from assistant.hearing.frames import MicrophoneLost
from assistant.hearing.listener import Listener
from assistant.hearing.recogniser import RATE, Samples
from assistant.hearing.sources import FileSource, read_sound
from assistant.hearing.utterance import Utterance
from assistant.speaking.voices import resample

CLIP = FIXTURES / "commands" / "kitchen-whats-next-kumo.ogg"
WORDS = "kitchen what's next"

pytestmark = pytest.mark.clips


def heard(path: Path) -> list[Utterance]:
    """Everything heard in a file, through the listener's thread: a fault in the ear would come out as a lost microphone."""
    got: list[object] = []
    listener = Listener(ears()[1], FileSource(path), got.append)
    listener.start()
    listener.join(120)
    assert not [item for item in got if isinstance(item, MicrophoneLost)], got
    return [item for item in got if isinstance(item, Utterance)]


def hum(size: int, rate: int) -> Samples:
    """The mains, at -20 dB, with its third and fifth harmonic."""
    t = np.arange(size) / rate
    return np.asarray(0.14 * sum(np.sin(2 * np.pi * 50 * k * t) / k for k in (1, 3, 5)), np.float32)


def sprinkled(sound: Samples) -> Samples:
    """Every two hundredth sample is no number, and one stretch of 5 ms."""
    out = sound.copy()
    out[::200] = np.nan
    out[8_000:8_080] = np.inf
    return out


@pytest.mark.parametrize(
    ("rate", "channels", "spoil"),
    [
        (RATE, 1, lambda sound: np.clip(12.0 * sound, -1.0, 1.0)),
        (RATE, 1, lambda sound: 12.0 * sound),
        (8_000, 1, lambda sound: sound),
        (48_000, 2, lambda sound: sound),
        (RATE, 1, sprinkled),
        (RATE, 1, lambda sound: sound + hum(sound.size, RATE)),
        (RATE, 1, lambda sound: sound + 0.3),
    ],
    ids=["clipped", "past full scale", "8 kHz", "48 kHz stereo", "not a number", "hum", "off centre"],
)
def test_a_sentence_comes_through(rate: int, channels: int, spoil: Callable[[Samples], Samples], tmp_path: Path) -> None:
    """Overdriven, telephone sound, a studio's, broken samples, a humming cable, a constant added: the same words."""
    sound = spoil(np.pad(read_sound(CLIP), RATE // 2)).astype(np.float32)
    path = tmp_path / "spoiled.wav"
    row = resample(sound, RATE, rate) if rate != RATE else sound
    soundfile.write(path, np.repeat(row[:, None], channels, axis=1), rate, subtype="FLOAT")
    assert [u.words for u in heard(path) if u.sure] == [WORDS]


@pytest.mark.parametrize(
    "make",
    [
        lambda size: np.zeros(size),
        lambda size: np.full(size, np.nan),
        lambda size: hum(size, RATE),
        lambda size: np.sign(hum(size, RATE)),
        lambda size: np.full(size, 1.0),
        lambda size: np.random.default_rng(1).normal(0, 3.0, size),
    ],
    ids=["silence", "not a number", "hum", "clipped hum", "stuck", "clipped noise"],
)
def test_what_holds_no_words_is_no_command(make: Callable[[int], Samples], tmp_path: Path) -> None:
    """Twelve seconds of it: nothing that would be acted on."""
    path = tmp_path / "bad.wav"
    soundfile.write(path, make(12 * RATE).astype(np.float32), RATE, subtype="FLOAT")
    assert not [u for u in heard(path) if u.sure]


def test_half_a_minute_of_babble_without_a_breath(tmp_path: Path) -> None:
    """Three people talking on and on: cut into pieces that can be decoded, and none of it is a command."""
    chatter = sorted((FIXTURES / "chatter").glob("*.ogg"))
    rows = [np.concatenate([read_sound(p) for p in chatter[i::3][:8]])[: 30 * RATE] for i in range(3)]
    size = min(map(len, rows))
    path = tmp_path / "babble.wav"
    soundfile.write(path, np.clip(sum(row[:size] for row in rows), -1, 1), RATE)
    found = heard(path)
    assert found
    assert not [u for u in found if u.sure]
