"""The mouth on a real sound server: heard by an independent reader, cutting in, surviving what happens to loudspeakers."""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from conftest import Child
from numpy.typing import NDArray
from rapidfuzz import fuzz
from sound_server import RATE, Recorder, Samples, SoundServer, level_db

Mouth = Callable[..., Child]
Record = Callable[[SoundServer], Recorder]
Read = Callable[[Samples], list[str]]


def power_at(sound: Samples, hertz: float, frame: int = RATE // 100) -> NDArray[np.float64]:
    """How much of one pitch there is in each 10 ms."""
    n = sound.size // frame
    wave = np.exp(-2j * np.pi * hertz * np.arange(frame) / RATE) * np.hanning(frame)
    return np.asarray(np.abs(sound[: n * frame].reshape(n, frame) @ wave))


@pytest.mark.parametrize("outputs", ["all", "miniaudio"])
def test_words_come_out_of_the_loudspeaker(server: SoundServer, mouth: Mouth, record: Record, read_words: Read, outputs: str) -> None:
    """A line said on the virtual loudspeaker is read back by a recogniser that knows nothing of it, through PortAudio and through miniaudio."""
    recorder = record(server)
    child = mouth(server, outputs=outputs)
    child.tell("say", "ANSWER", "Lift the chips and let them drain on the rack.")
    said = child.whole()
    child.tell("wait", 5)
    sound, times = recorder.stop()
    words = " ".join(read_words(sound))
    assert fuzz.ratio(words, "lift the chips and let them drain on the rack") > 85, words
    assert -30 < level_db(sound) < -10
    loud = np.flatnonzero(np.abs(sound) > 0.02)
    # the event says when the words sounded and ended: the recording agrees
    assert abs(times[loud[0]] - said["words_s"]) < 0.15
    assert abs(times[loud[-1]] - said["at_s"]) < 0.2


def test_an_urgent_line_is_heard_within_150_ms_and_the_cut_line_resumes(
    server: SoundServer, mouth: Mouth, record: Record, capsys: pytest.CaptureFixture[str]
) -> None:
    """Eight times, timed on the recording (a sample arrives there later than it sounds, so the truth is faster): old words silent, tone
    sounding. Afterwards the cut line is said again."""
    child = mouth(server, voice="hum")
    child.tell("say", "REMARK", "warm up")
    child.whole()
    silent, toned = [], []
    for trial in range(8):
        recorder = record(server)
        child.tell("say", "ANSWER", f"old line {trial}")
        child.event("Begun")
        time.sleep(0.4 + 0.013 * trial)
        asked = child.tell("say", "ALARM", f"urgent line {trial}")["at_s"]
        time.sleep(0.6)
        sound, times = recorder.stop()
        hum, tone = power_at(sound, 200.0), power_at(sound, 587.0)
        at = times[:: RATE // 100][: hum.size] + 0.01
        humming = at[hum > 0.1 * hum.max()]
        silent.append(float(humming[humming < asked + 0.5].max() - asked))
        toned.append(float(at[(tone > 0.3 * tone.max()) & (at > asked)].min() - asked))
        assert child.whole(20)["line"]["words"] == f"urgent line {trial}"
        assert child.event("Begun", 20)["line"]["words"] == f"old line {trial}"
        child.tell("quiet", 0)
    report = ", ".join(f"{what} {1e3 * np.median(x):.0f}/{1e3 * max(x):.0f} ms" for what, x in (("old words silent", silent), ("tone sounds", toned)))
    with capsys.disabled():
        print(f"\n  cut-in, median/max of 8: {report}")
    assert np.median(silent) < 0.15, report
    assert np.median(toned) < 0.15, report
    assert max(silent) < 0.3, report
    assert max(toned) < 0.3, report


def test_louder_is_louder(server: SoundServer, mouth: Mouth, record: Record) -> None:
    """Two steps up are 6 dB on the recording, give or take what is bent near full scale."""
    child = mouth(server)
    levels = []
    for steps in (0, 2):
        child.tell("volume", steps)
        recorder = record(server)
        child.tell("say", "ANSWER", "Turn the chips in the basket.")
        child.whole()
        child.tell("wait", 5)
        levels.append(level_db(recorder.stop()[0]))
    assert 3.5 < levels[1] - levels[0] < 7


def test_a_sound_server_that_dies_and_comes_back(server: SoundServer, mouth: Mouth, record: Record, read_words: Read) -> None:
    """Lost, told in one sentence; an alarm raised meanwhile is said when the server is back; the program never notices more than that."""
    child = mouth(server)
    child.tell("say", "ANSWER", "Salt the chips.")
    child.whole()
    server.kill()
    lost = child.event("SpeakerLost", 10)
    assert lost["reason"].endswith(".")
    child.tell("say", "ALARM", "Lift the chips now.")
    time.sleep(1.0)
    server.start()
    recorder = record(server)
    child.event("SpeakerBack", 20)
    assert child.whole(20)["line"]["words"] == "Lift the chips now."
    child.tell("wait", 5)
    words = " ".join(read_words(recorder.stop()[0]))
    assert fuzz.partial_ratio("lift the chips now", words) > 80, words
    assert child.end() == 0


def test_no_loudspeaker_at_all_is_one_sentence(server: SoundServer, mouth: Mouth) -> None:
    """A computer without a sound server or card: one event with the way out, and the program goes on."""
    server.kill()
    child = mouth(server, outputs="all")
    assert "loudspeaker" in child.event("SpeakerLost")["reason"]
    child.tell("say", "ALARM", "Lift the chips now.")
    assert child.end() == 0
    assert not any(line for line in child.errors if "Traceback" in line)


CHECK = """
import json, sys
from assistant.selfcheck import check_sound
from assistant.settings import Settings
for f in check_sound(Settings(microphone=sys.argv[1] or None, speaker=sys.argv[2] or None)):
    print(json.dumps([f.what, f.ok, f.sentence]))
"""


def findings(server: SoundServer, microphone: str, speaker: str) -> dict[str, tuple[bool, str]]:
    import json

    done = subprocess.run(
        [sys.executable, "-c", CHECK, microphone, speaker], env=server.env, capture_output=True, text=True, timeout=60, cwd=Path.cwd()
    )
    assert done.returncode == 0, done.stderr
    return {what: (ok, sentence) for what, ok, sentence in map(json.loads, done.stdout.splitlines())}


def test_the_self_check_hears_its_own_sentence_through_the_air(server: SoundServer) -> None:
    """With loudspeaker and microphone in one room and some noise everything is well: six findings, the last one through the air."""
    server.join_speaker_to_microphone()
    server.hiss(0.002)
    found = findings(server, "kitchen_mic", "kitchen_speaker")
    assert list(found) == ["voice", "loudspeaker", "microphone", "recogniser", "sentence", "air"]
    assert all(ok for ok, _ in found.values()), found


def test_the_self_check_without_any_device_says_what_to_do(server: SoundServer) -> None:
    """No server: loudspeaker and microphone each get one sentence with the way out; voice and recogniser are still tried."""
    server.kill()
    found = findings(server, "", "")
    assert not found["loudspeaker"][0]
    assert "plug one in" in found["loudspeaker"][1]
    assert not found["microphone"][0]
    assert "type" in found["microphone"][1]
    assert found["sentence"][0]


def test_the_self_check_hears_a_muted_microphone(server: SoundServer) -> None:
    """Nothing but zeros: said as such, not as a quiet kitchen."""
    found = findings(server, "kitchen_mic", "kitchen_speaker")
    assert found["loudspeaker"][0]
    assert not found["microphone"][0]
    assert "silence" in found["microphone"][1] or "nothing" in found["microphone"][1]


def test_a_minute_with_a_kitchen_without_a_microphone_is_one_sentence(server: SoundServer) -> None:
    """No sound server, no card: `check --kitchen` says what to do and keeps nothing."""
    server.kill()
    done = subprocess.run(
        [sys.executable, "-c", "from assistant.cli import main; main()", "check", "--kitchen"],
        env=server.env,
        capture_output=True,
        text=True,
        timeout=60,
    )
    assert done.returncode == 1
    assert done.stderr.strip().splitlines()[-1] == "There is no microphone: plug one in."
    assert "Traceback" not in done.stderr
    assert not list(Path(server.env["XDG_DATA_HOME"]).rglob("kitchen.json"))
