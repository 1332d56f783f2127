"""A whole evening on virtual devices: `stovehand cook` hears clips in its microphone, and an independent reader hears its loudspeaker."""

from __future__ import annotations

import csv
import re
import signal
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest
import soundfile
from conftest import Child, Start
from rapidfuzz import fuzz
from sound_server import RATE, Recorder, Samples, SoundServer

Record = Callable[[SoundServer], Recorder]
Read = Callable[[Samples], list[str]]
Clip = Callable[[str], Path]
FIXTURES = Path(__file__).parents[2] / "audio_fixtures"
COOK = "kumo"  # the voice of the cook in these tests
MEAL = "fish-supper"
QUIET_S = 2.3  # longer than the pauses between the lines of a list: it has said what it had to say


@pytest.fixture(scope="session")
def clip(tmp_path_factory: pytest.TempPathFactory) -> Clip:
    """Finds the clip of a cook saying something, in another voice than the program's, as a file for the virtual microphone."""
    from assistant.speaking.voices import resample

    folder = tmp_path_factory.mktemp("clips")
    with (FIXTURES / "manifest.csv").open(encoding="utf-8") as lines:
        spoken = {row["words"]: row["file"] for row in csv.DictReader(lines) if row["voice"] == COOK}

    def find(words: str) -> Path:
        path = folder / f"{Path(spoken[words]).stem}.wav"
        if not path.exists():
            sound, rate = soundfile.read(FIXTURES / spoken[words], dtype="float32")
            soundfile.write(path, resample(sound, rate, RATE), RATE)
        return path

    return find


class Cook:
    """A running evening."""

    def __init__(self, child: Child) -> None:
        self.child = child

    def said(self, pattern: str, timeout_s: float = 15.0) -> str:
        """The next line it says that matches."""
        return self.child.until(lambda line: line.startswith("< ") and re.search(pattern, line, re.IGNORECASE) is not None, timeout_s)[2:]

    def shown(self, pattern: str, timeout_s: float = 15.0) -> str:
        """The next line on its screen that matches."""
        return self.child.until(lambda line: re.search(pattern, line, re.IGNORECASE) is not None, timeout_s)

    def leave(self) -> int:
        """Ctrl-C, as a cook would."""
        self.child.process.send_signal(signal.SIGINT)
        return self.child.process.wait(timeout=30)


@pytest.fixture
def cook(server: SoundServer, start: Start, tmp_path: Path) -> Callable[[], Cook]:
    """Starts `stovehand cook` on the virtual devices, in a room that is not quite silent, and waits until it listens."""
    settings = Path(server.env["XDG_CONFIG_HOME"], "stovehand")
    settings.mkdir(parents=True)
    (settings / "settings.toml").write_text('microphone = "kitchen_mic"\nspeaker = "kitchen_speaker"\nvosk = false\n')

    server.hiss()

    def run() -> Cook:
        # whoever runs the tests in the background has Ctrl-C ignored, and children inherit it
        program = "import signal; signal.signal(signal.SIGINT, signal.default_int_handler); from assistant.cli import main; main()"
        one = Cook(start([sys.executable, "-u", "-c", program, "cook", MEAL, "--data", str(tmp_path / "journal")], server.env))
        one.shown("recogniser hears", 30)
        return one

    return run


def until_said(recorder: Recorder, timeout_s: float = 40.0) -> None:
    """Wait until the loudspeaker has sounded since the recording began, and then been silent for a while."""
    give_up = time.monotonic() + timeout_s
    while time.monotonic() < give_up and not recorder.sounded():
        time.sleep(0.05)
    while time.monotonic() < give_up and not recorder.quiet_for(QUIET_S):
        time.sleep(0.1)


def past_the_opening(evening: Cook, recorder: Recorder) -> None:
    """The cook will not hear the opening out: quiet, typed as soon as it speaks."""
    evening.child.write("quiet")
    evening.shown("> quiet")
    evening.said(".")
    until_said(recorder)


def test_a_question_is_heard_and_its_answer_is_spoken(
    server: SoundServer, cook: Callable[[], Cook], clip: Clip, record: Record, read_words: Read
) -> None:
    """The first words of the evening, then a question in the microphone: what the screen shows as said is what the loudspeaker says."""
    opening = record(server)
    evening = cook()
    until_said(opening)
    shown = " ".join(line[2:] for line in evening.child.seen if line.startswith("< "))
    words = " ".join(read_words(opening.stop()[0]))
    assert fuzz.token_set_ratio(words, re.sub(r"[^a-z0-9 ]", "", shown.lower())) > 80, words
    answer = record(server)
    server.play_into_microphone(clip("kitchen, what's next"))
    evening.shown("> .*what's next")
    said = evening.said(".")
    until_said(answer)
    words = " ".join(read_words(answer.stop()[0]))
    assert fuzz.partial_ratio(re.sub(r"[^a-z ]", "", said.lower()), words) > 80, (said, words)
    assert evening.leave() == 0


def test_fire_is_answered_over_its_own_speech(server: SoundServer, cook: Callable[[], Cook], clip: Clip, record: Record, read_words: Read) -> None:
    """While it reads its opening the cook shouts: the script begins, and the loudspeaker says it."""
    recorder = record(server)
    evening = cook()
    time.sleep(1.0)
    assert not recorder.quiet_for(0.5)
    server.play_into_microphone(clip("the pan's on fire"))
    evening.said("heat off", 10)
    evening.said("no water", 20)
    time.sleep(9)  # the script goes on by itself; its first lines are out by then
    words = " ".join(read_words(recorder.stop()[0]))
    # Whole lines, because the recogniser that reads them back may miss one short word of the voice.
    assert fuzz.partial_ratio("heat off if you can reach it safely", words) > 80, words
    assert fuzz.partial_ratio("do not move the pan", words) > 80, words


def test_chatter_drives_nothing(server: SoundServer, cook: Callable[[], Cook], clip: Clip, record: Record) -> None:
    """Two people talking about something else, no question being open: no command is shown, nothing is answered."""
    recorder = record(server)
    evening = cook()
    evening.child.write("yes")
    evening.shown("> yes")
    past_the_opening(evening, recorder)
    time.sleep(8)  # the open window after speech is over
    before = len(evening.child.seen)
    for words in ("carry on camping is on the telly", "the milk boiled over at my mother's place", "two more minutes and we would have won"):
        server.play_into_microphone(clip(words))
    time.sleep(2.5)
    evening.child.write("kitchen what's next")
    evening.shown("> kitchen what's next")
    assert evening.child.seen[before:] == ["> kitchen what's next"]


def test_the_microphone_vanishes_and_comes_back(server: SoundServer, cook: Callable[[], Cook], clip: Clip, record: Record) -> None:
    """Said within seconds, although the server quietly gives the program its own loudspeaker to hear; typing works meanwhile; then it hears again."""
    recorder = record(server)
    evening = cook()
    past_the_opening(evening, recorder)
    server.unplug_microphone()
    evening.shown("microphone", 12)
    evening.child.write("what's next")
    evening.said(".")
    server.plug_microphone()
    again = record(server)
    evening.said("hear|microphone", 25)
    until_said(again)
    server.play_into_microphone(clip("kitchen, what's next"))
    evening.shown("> kitchen what's next", 10)


def test_the_sound_server_dies_and_comes_back(server: SoundServer, cook: Callable[[], Cook], clip: Clip, record: Record, read_words: Read) -> None:
    """Both devices go: the evening goes on typed; both come back: it speaks and hears again."""
    recorder = record(server)
    evening = cook()
    past_the_opening(evening, recorder)
    server.kill()
    recorder.stop()
    evening.shown("speaker|sound system|microphone", 12)
    evening.child.write("what's next")
    evening.shown("> what's next")
    evening.said(".")
    server.start()
    server.hiss()
    again = record(server)
    deadline = time.monotonic() + 40
    heard = False
    while not heard and time.monotonic() < deadline:
        time.sleep(1)
        server.play_into_microphone(clip("kitchen, what's next"))
        try:
            evening.shown("> kitchen what's next", 3)
            heard = True
        except AssertionError:
            continue
    assert heard
    said = evening.said(".")
    until_said(again)
    words = " ".join(read_words(again.stop()[0]))
    assert fuzz.partial_ratio(re.sub(r"[^a-z ]", "", said.lower()), words) > 80, (said, words)


def test_no_sound_at_all_is_one_sentence_each_and_typing(server: SoundServer, cook: Callable[[], Cook]) -> None:
    """No server, no card: the evening begins, says once what is missing, and answers what is typed; Ctrl-C leaves it resumable."""
    server.kill()
    evening = cook()
    evening.shown("loudspeaker|microphone")
    evening.child.write("what's next")
    evening.shown("> what's next")
    evening.said(".")
    time.sleep(4)
    screen = [line for line in evening.child.seen if "plug one in" in line or "There is none" in line]
    assert len(screen) <= 3, screen
    assert evening.leave() == 0
    assert not any("Traceback" in line for line in evening.child.errors)


def test_its_own_voice_in_the_room_is_no_command(server: SoundServer, cook: Callable[[], Cook], clip: Clip, record: Record) -> None:
    """The microphone hears the loudspeaker: nothing of the opening is taken for something said, and the cook is heard after it. (That they are heard
    over it is tested on recordings: the delays of this sound server jump whenever something begins to play.)"""
    server.join_speaker_to_microphone(-10.0)
    recorder = record(server)
    evening = cook()
    until_said(recorder)
    assert not [line for line in evening.child.seen if line.startswith("> ")]
    server.play_into_microphone(clip("kitchen, what's next"))
    evening.shown("> kitchen what's next", 20)
