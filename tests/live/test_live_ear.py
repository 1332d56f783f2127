"""The ear on a real sound server: it hears what is said into the microphone when it was said, and outlives what happens to microphones."""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest
import soundfile
from conftest import Child
from sound_server import RATE, SoundServer, now

HERE = Path(__file__).parent
Start = Callable[..., Child]


@pytest.fixture
def spoken(tmp_path: Path) -> Path:
    """A sentence of the recorded evening at the rate of the sound server."""
    from assistant.hearing.sources import read_sound
    from assistant.speaking.voices import resample

    path = tmp_path / "said.wav"
    sound = read_sound(HERE.parents[1] / "audio_fixtures" / "commands" / "chips-down-heart.ogg")
    soundfile.write(path, np.concatenate([resample(sound, 16_000, RATE), np.zeros(RATE // 2, np.float32)]), RATE)
    return path


Hiss = Callable[[SoundServer], None]


@pytest.fixture
def hiss(tmp_path: Path) -> Iterator[Hiss]:
    """Makes a server's microphone hear a faint hiss, as every real one does: digital silence is a fault."""
    path = tmp_path / "hiss.wav"
    soundfile.write(path, (1e-3 * np.random.default_rng(1).standard_normal(90 * RATE)).astype(np.float32), RATE)
    players: list[subprocess.Popen[bytes]] = []

    def run(server: SoundServer) -> None:
        players.append(subprocess.Popen(["paplay", "--device=micfeed", str(path)], env=server.env, stderr=subprocess.DEVNULL))

    yield run
    for player in players:
        player.kill()
        player.wait()


@pytest.fixture
def room(server: SoundServer, hiss: Hiss) -> SoundServer:
    """A server with a hissing microphone."""
    hiss(server)
    return server


def ear(start: Start, server: SoundServer, name: str = "kitchen_mic", libraries: str = "all") -> Child:
    """An ear process that has begun to listen."""
    child = start([sys.executable, str(HERE / "ear_process.py"), name, libraries], server.env)
    child.event("Started", 30)
    time.sleep(1.0)
    return child


@pytest.mark.parametrize(("name", "libraries"), [("kitchen_mic", "all"), ("-", "miniaudio"), ("remapped", "miniaudio")])
def test_a_sentence_is_heard_when_it_was_said(room: SoundServer, start: Start, spoken: Path, name: str, libraries: str) -> None:
    """Through PortAudio and through miniaudio, by name and by default; times agree with the clock of the machine."""
    child = ear(start, room, name, libraries)
    began = now()
    ended = room.play_into_microphone(spoken)
    heard = child.event("Utterance")
    assert began - 0.1 < heard["start_s"] < heard["end_s"] < ended + 0.3
    assert 0.4 < heard["end_s"] - heard["start_s"] < 2.0
    assert child.end() == 0


@pytest.mark.parametrize(("name", "libraries"), [("kitchen_mic", "all"), ("-", "miniaudio")])
def test_a_microphone_that_vanishes_and_comes_back(room: SoundServer, start: Start, spoken: Path, name: str, libraries: str) -> None:
    """Pulled out: said within 5 s, and nothing that the loudspeaker plays is taken for the cook. Plugged in again: heard again."""
    child = ear(start, room, name, libraries)
    pulled = now()
    room.unplug_microphone()
    lost = child.event("MicrophoneLost", 10)
    assert lost["at_s"] - pulled < 5.0
    assert lost["reason"].endswith(".")
    room.plug_microphone()
    child.event("MicrophoneBack", 20)
    room.play_into_microphone(spoken)
    child.event("Utterance")
    assert child.end() == 0


def test_a_sound_server_that_dies_and_comes_back(room: SoundServer, start: Start, spoken: Path, hiss: Hiss) -> None:
    """The server is killed: one sentence. Started again: heard again."""
    child = ear(start, room)
    room.kill()
    child.event("MicrophoneLost", 10)
    room.start()
    hiss(room)
    child.event("MicrophoneBack", 30)
    room.play_into_microphone(spoken)
    child.event("Utterance")
    assert child.end() == 0


def test_a_muted_microphone_is_lost(server: SoundServer, start: Start) -> None:
    """Nothing but zeros for 2 s: said, although the stream runs."""
    child = ear(start, server)
    lost = child.event("MicrophoneLost", 10)
    assert "only silence" in lost["reason"]
    assert child.end() == 0


@pytest.mark.parametrize(("name", "words"), [("-", "There is no microphone: plug one in."), ("attic", "No microphone is called 'attic'")])
def test_no_such_device_is_one_sentence(server: SoundServer, start: Start, name: str, words: str) -> None:
    """No sound server at all, or a name that no device has: said once, no library complains beside it, and the ear can still be ended."""
    if name == "-":
        server.kill()
    child = start([sys.executable, str(HERE / "ear_process.py"), name, "all"], server.env)
    assert words in child.event("MicrophoneLost", 20)["reason"]
    assert child.end() == 0
    assert not child.errors
