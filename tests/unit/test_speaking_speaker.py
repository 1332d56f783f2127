"""The mouth put together, on a loudspeaker driven by hand: cutting in, resuming, tones, faults, recordings."""

from __future__ import annotations

import subprocess
import sys
import threading
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import soundfile

from assistant import sound_devices
from assistant.clock import FakeClock
from assistant.speaking.line import Line, Priority, Sound
from assistant.speaking.mouth import Begun, Mouth, Said, Silent, SpeakerBack, SpeakerEvent, SpeakerLost, open_mouth
from assistant.speaking.player import Fill, NoSpeakerError, Opened, Samples
from assistant.speaking.queue import AFTER_DANGER_S, BREATH_S
from assistant.speaking.speaker import RUN_S, Recording, Speaker, loudened
from assistant.speaking.tones import lead_length
from assistant.speaking.voices import RATE, VoiceError

D, A, N, R = Priority.DANGER, Priority.ALARM, Priority.ANSWER, Priority.REMARK
BLOCK = RATE // 100
LEVELS = {"one": 0.1, "two": 0.2, "three": 0.3, "four": 0.4}
DEVICE_S = 0.05


class Plain:
    """A voice whose lines are one second of a level that tells which line it is."""

    name = "plain"

    def __init__(self) -> None:
        self.made: list[tuple[str, float]] = []

    def synthesise(self, words: str, speed: float = 1.0) -> Samples:
        self.made.append((words, speed))
        if words == "unsayable":
            raise VoiceError("It cannot be said.")
        return np.full(RATE, LEVELS.get(words, 0.05), dtype=np.float32)


class Hand:
    """A loudspeaker whose samples a test takes by hand; `present` is whether it can be opened."""

    def __init__(self, clock: FakeClock) -> None:
        self.clock, self.present, self.opens = clock, True, 0
        self.fill: Fill | None = None
        self.stuck: threading.Event | None = None
        self.ended: Callable[[], None] = lambda: None

    def open(self, name: str | None, make: Callable[[int], Fill], ended: Callable[[], None]) -> Opened:
        if not self.present:
            raise NoSpeakerError("There is no loudspeaker: plug one in.")
        self.opens += 1
        self.fill, self.ended = make(RATE), ended
        return Opened("hand", RATE, self.close)

    def close(self) -> None:
        stuck, self.stuck = self.stuck, None
        if stuck is not None:
            stuck.wait(10)
        else:
            self.fill = None

    def names(self) -> tuple[str, ...]:
        return ("hand",)


class Room:
    """A speaker, its loudspeaker and a clock, moved on together in blocks of 10 ms."""

    def __init__(self) -> None:
        self.clock = FakeClock()
        self.hand = Hand(self.clock)
        self.voice = Plain()
        self.events: list[SpeakerEvent] = []
        self.played: list[tuple[Samples, float, int]] = []
        played = lambda samples, at_s, rate: self.played.append((samples.copy(), at_s, rate))  # noqa: E731 - a port
        self.speaker = Speaker(self.voice, self.clock, tell=self.events.append, outputs=(self.hand,), played=played)
        self.speaker.step()

    def listen(self, seconds: float) -> Samples:
        """What comes out in the next so many seconds."""
        out = []
        for _ in range(round(seconds * 100)):
            self.speaker.step()
            block = np.zeros(BLOCK, dtype=np.float32)
            if self.hand.fill:
                self.hand.fill(block, DEVICE_S)
            self.clock.advance(0.01)
            out.append(block)
        self.speaker.step()
        return np.concatenate(out)

    def said(self) -> list[str]:
        return [e.line.words for e in self.events if isinstance(e, Said) and e.whole]


@pytest.fixture
def room() -> Room:
    return Room()


def when(samples: Samples, level: float) -> float:
    """When a line of this level is first heard, s; infinity if never."""
    place = np.flatnonzero(np.isclose(samples, level, atol=1e-6))
    return float(place[0]) / RATE if place.size > 10 else float("inf")


def test_lines_are_said_in_order_and_reported(room: Room) -> None:
    """Two lines come out with a breath between them; each is told when it begins and when it is over, with times that count the device's delay."""
    room.speaker.say(Line("one"), Line("two"))
    out = room.listen(2.3)
    assert when(out, 0.1) < 0.03
    assert when(out, 0.2) == pytest.approx(1.0 + BREATH_S + DEVICE_S, abs=0.05)
    first, second = [e for e in room.events if isinstance(e, Said)]
    assert first.words_s == pytest.approx(when(out, 0.1) + DEVICE_S, abs=0.011)
    assert first.at_s == pytest.approx(first.words_s + 1.0, abs=0.011)
    assert second.line.words == "two"
    begun = next(e for e in room.events if isinstance(e, Begun))
    assert begun.at_s == first.words_s
    assert begun.asked_s == 0.0


def test_all_that_is_played_is_told_with_its_time(room: Room) -> None:
    """Silence too, sample by sample as it goes to the device, at the time when it sounds: the ear takes it out of the microphone."""
    room.speaker.say(Line("one"))
    out = room.listen(1.5)
    assert np.array_equal(np.concatenate([samples for samples, _, _ in room.played]), out)
    assert [at for _, at, _ in room.played] == pytest.approx([DEVICE_S + i / 100 for i in range(150)])
    assert {rate for _, _, rate in room.played} == {RATE}


def test_speaking_lasts_until_the_last_sample_is_out(room: Room) -> None:
    """The gate of the ear relies on it: true from the moment a line is taken until the device has played it, then the time of its end stays."""
    assert not room.speaker.speaking
    assert room.speaker.last_spoke_s == float("-inf")
    room.speaker.say(Line("one"))
    assert room.speaker.speaking
    out = room.listen(0.9)
    assert room.speaker.speaking
    out = np.concatenate([out, room.listen(0.5)])
    assert not room.speaker.speaking
    assert room.speaker.last_spoke_s == pytest.approx((when(out, 0.1) + 1.0 + DEVICE_S), abs=0.011)


def test_an_urgent_line_cuts_in_before_any_word_of_it_is_made(room: Room) -> None:
    """In the very call of say the old words fade, within 8 ms of the next block, and the tone sounds; then the words; then the cut line, whole."""
    room.speaker.say(Line("one"))
    room.listen(0.5)
    room.speaker.say(Line("two", A))
    assert ("two", 1.0) not in room.voice.made
    block = np.zeros(BLOCK, dtype=np.float32)
    assert room.hand.fill is not None
    room.hand.fill(block, DEVICE_S)
    fade = round(0.008 * RATE)
    assert not np.isclose(block[fade:], 0.1).any()
    out = room.listen(4.0)
    lead = lead_length(Sound.ALARM, RATE) / RATE
    assert np.abs(out[: round(0.2 * RATE)]).max() > 0.5
    assert when(out, 0.2) == pytest.approx(lead, abs=0.03)
    again = when(out, 0.1)
    assert again == pytest.approx(lead + 1.0 + BREATH_S + DEVICE_S, abs=0.05)
    assert np.isclose(out[round(again * RATE) : round((again + 0.99) * RATE)], 0.1).all()
    assert room.said() == ["two", "one"]


def test_whoever_listens_is_told_of_every_end(room: Room) -> None:
    """Each Begun is followed by a Said before the next one, also when the line was cut in on, silenced by quiet, or lost with its loudspeaker: the
    ear is deaf to most things in between."""
    room.speaker.say(Line("one"))
    room.listen(0.5)
    room.speaker.say(Line("two", A))
    room.listen(2.5)
    room.speaker.quiet(60)
    room.speaker.say(Line("three"))
    room.listen(0.5)
    room.hand.ended()
    room.listen(3.0)
    kinds = [(type(e).__name__, e.line.words, getattr(e, "whole", None)) for e in room.events if isinstance(e, Begun | Said)]
    assert kinds == [
        ("Begun", "one", None),
        ("Said", "one", False),
        ("Begun", "two", None),
        ("Said", "two", True),
        ("Begun", "one", None),
        ("Said", "one", False),
        ("Begun", "three", None),
        ("Said", "three", False),
        ("Begun", "three", None),
        ("Said", "three", True),
    ]


def test_a_second_alarm_that_cuts_in_has_its_own_tone(room: Room) -> None:
    """Soon after the first: no run of alarms, because speech lay between; the words wait for the tone's lead."""
    lead = lead_length(Sound.ALARM, RATE) / RATE
    room.speaker.say(Line("one", A), Line("two"))
    room.listen(lead + 1.5)
    room.speaker.say(Line("three", A))
    assert when(room.listen(3.0), 0.3) == pytest.approx(lead, abs=0.03)


def test_a_line_cut_while_its_words_are_made_is_not_heard_late(room: Room) -> None:
    """The urgent line comes during synthesis: the words made for the old one are thrown away, and made again afterwards."""
    make = room.voice.synthesise

    def interrupted(words: str, speed: float = 1.0) -> Samples:
        if words == "one" and ("two", 1.0) not in room.voice.made:
            room.speaker.say(Line("two", D))
        return make(words, speed)

    room.voice.synthesise = interrupted  # type: ignore[method-assign]
    room.speaker.say(Line("one"))
    out = room.listen(2.5 + AFTER_DANGER_S)
    assert when(out, 0.2) < when(out, 0.1)
    assert int(np.isclose(out, 0.1).sum()) == pytest.approx(RATE, abs=2)
    assert room.said() == ["two", "one"]


def test_a_run_of_danger_lines_has_one_tone(room: Room) -> None:
    """The tone sounds before the first; the second follows after a breath; after a rest longer than a run the tone sounds again."""
    lead = lead_length(Sound.DANGER, RATE) / RATE
    room.speaker.say(Line("one", D), Line("two", D))
    out = room.listen(3.2)
    assert when(out, 0.1) == pytest.approx(lead, abs=0.03)
    assert when(out, 0.2) == pytest.approx(lead + 1.0 + BREATH_S + DEVICE_S, abs=0.05)
    room.listen(RUN_S)
    room.speaker.say(Line("three", D))
    assert when(room.listen(3.0), 0.3) == pytest.approx(lead, abs=0.03)


def test_a_line_may_name_its_sound(room: Room) -> None:
    """A due clock sounds before the words; an answer without a sound has none."""
    room.speaker.say(Line("one", sound=Sound.CLOCK))
    assert when(room.listen(2.0), 0.1) == pytest.approx(lead_length(Sound.CLOCK, RATE) / RATE, abs=0.03)
    room.speaker.say(Line("two"))
    assert when(room.listen(2.0), 0.2) < 0.03


def test_quiet_stops_a_list_at_once(room: Room) -> None:
    """The list stops within a block and never goes on; an alarm afterwards is heard."""
    room.speaker.say(Line("one"), Line("two"), Line("three"))
    room.listen(0.5)
    room.speaker.quiet(60)
    assert when(room.listen(3.0)[round(0.01 * RATE) :], 0.1) == float("inf")
    room.speaker.say(Line("remark", R), Line("four", A))
    room.listen(4.0)
    assert room.said() == ["four"]


def test_a_pause_is_kept_and_a_reply_ends_it(room: Room) -> None:
    """1.5 s of silence follow the first line of a list, then the second; a reply that comes in the pause does not wait."""
    room.speaker.say(Line("one", pause_s=1.5), Line("two", pause_s=1.5))
    out = room.listen(3.9)
    assert when(out, 0.2) == pytest.approx(1.0 + 1.5 + DEVICE_S, abs=0.05)
    room.speaker.say(Line("three"))
    assert when(room.listen(1.5), 0.3) < 0.03


def test_slower_and_louder_reach_the_next_line(room: Room) -> None:
    """Slower is asked of the voice; louder is 3 dB a step; softer never makes an alarm softer than usual."""
    room.speaker.say(Line("one"))
    room.listen(0.1)
    room.speaker.speed(-1)
    room.speaker.volume(1)
    assert when(room.listen(1.5), 0.1) < 0.05
    room.speaker.say(Line("two"))
    assert when(room.listen(1.5), 0.2 * 10 ** (3 / 20)) < 0.05
    assert room.voice.made[-1] == ("two", pytest.approx(0.85))
    room.speaker.volume(-9)
    room.speaker.say(Line("three"))
    assert when(room.listen(1.5), 0.3 * 10 ** (-4 * 3 / 20)) < 0.05
    room.speaker.say(Line("four", A))
    assert when(room.listen(2.5), 0.4) < 1.1


def test_words_that_no_voice_can_say_become_a_tone(room: Room) -> None:
    """The line is heard as a sound and counts as said; the next line is spoken."""
    room.speaker.say(Line("unsayable"), Line("two"))
    out = room.listen(3.0)
    assert np.abs(out[: RATE // 4]).max() > 0.2
    assert room.said() == ["unsayable", "two"]


def test_no_loudspeaker_is_told_once_and_tried_again_with_growing_pauses(room: Room) -> None:
    """One sentence; tries after 0.5, 1, 2, 4, 8 and then every 10 s; when one is there, what still matters is said: the alarm, not the old remark."""
    room.hand.present = False
    room.hand.ended()
    room.listen(0.1)
    room.speaker.say(Line("remark", R), Line("two", A))
    assert not room.speaker.speaking
    room.listen(60.0)
    lost = [e for e in room.events if isinstance(e, SpeakerLost)]
    assert [e.reason for e in lost] == ["The loudspeaker stopped: the words are on the screen."]
    room.hand.present = True
    out = room.listen(14.0)
    assert when(out, 0.2) < 12
    assert room.said() == ["two"]
    back = [e for e in room.events if isinstance(e, SpeakerBack)]
    assert [e.device for e in back] == ["hand"]
    assert room.hand.opens == 2


def test_a_loudspeaker_that_asks_for_nothing_is_lost_and_its_line_is_said_again(room: Room) -> None:
    """No request for a second, seen twice: lost without any error of the device; after it is open again the line comes from its start."""
    room.speaker.say(Line("one"))
    room.listen(0.5)
    room.clock.advance(1.2)
    room.speaker.step()
    assert not any(isinstance(e, SpeakerLost) for e in room.events)
    room.clock.advance(0.4)
    room.speaker.step()
    assert any(isinstance(e, SpeakerLost) for e in room.events)
    out = room.listen(2.0)
    assert int(np.isclose(out, 0.1).sum()) == pytest.approx(RATE, abs=2)
    assert room.said() == ["one"]


def test_a_loudspeaker_that_never_closes_is_left_alone(room: Room, monkeypatch: pytest.MonkeyPatch) -> None:
    """A killed sound server can leave its stream stuck: the next one is opened while the first still closes, and the line is said."""
    monkeypatch.setattr(sound_devices, "PATIENCE_S", 0.05)
    room.hand.stuck = stuck = threading.Event()
    room.hand.ended()
    room.speaker.say(Line("one", A))
    room.listen(3.0)
    assert room.said() == ["one"]
    assert any(thread.name == "closing a device" for thread in threading.enumerate())
    stuck.set()


def test_a_laptop_that_slept_is_not_a_lost_loudspeaker(room: Room) -> None:
    """The clock counts suspend: one stale look, then the stream asks again, and nothing is told."""
    room.listen(0.1)
    room.clock.advance(3600)
    room.listen(1.0)
    assert room.events == []


def test_nobody_waits_for_a_lost_loudspeaker(room: Room) -> None:
    """The program leaves at once although a line is waiting."""
    room.hand.present = False
    room.hand.ended()
    room.listen(0.1)
    room.speaker.say(Line("two", A))
    waiting = threading.Thread(target=room.speaker.wait, args=(1e6,), daemon=True)
    waiting.start()
    waiting.join(30)
    assert not waiting.is_alive()


def test_no_device_at_the_start_is_one_sentence() -> None:
    """The reason of the device reaches the screen."""
    clock, events = FakeClock(), list[SpeakerEvent]()
    hand = Hand(clock)
    hand.present = False
    Speaker(Plain(), clock, tell=events.append, outputs=(hand,)).step()
    assert events == [SpeakerLost(0.0, "There is no loudspeaker: plug one in.")]


def test_the_thread_speaks_by_itself_and_stops_when_closed() -> None:
    """The same with the real voice thread: a device takes blocks as fast as it can until the line has been said; close ends the voice thread."""
    clock = FakeClock()
    hand = Hand(clock)
    done = threading.Event()

    def tell(event: SpeakerEvent) -> None:
        if isinstance(event, Said):
            done.set()

    speaker = Speaker(Plain(), clock, tell=tell, outputs=(hand,))
    speaker.start()
    speaker.say(Line("one", A))

    def device() -> None:
        while not done.wait(0.001):
            if hand.fill:
                hand.fill(np.zeros(BLOCK, dtype=np.float32), 0.0)

    driver = threading.Thread(target=device)
    driver.start()
    assert done.wait(20)
    driver.join()
    clock.advance(1.0)
    assert speaker.wait(20)
    speaker.close()
    assert not any(t.name == "voice" for t in threading.enumerate())


def test_loud_speech_is_bent_not_clipped() -> None:
    """At the loudest setting the wave stays below full scale and in order: a louder sample is never the softer one afterwards."""
    ramp = np.linspace(-0.9, 0.9, 2001, dtype=np.float32)
    out = loudened(ramp, 10 ** (9 / 20))
    assert np.abs(out).max() < 1.0
    assert np.all(np.diff(out) >= 0)
    assert out[1000] == 0.0


def test_a_recording_is_every_line_in_turn_with_short_gaps(tmp_path: Path) -> None:
    """Three lines at three kitchen times an hour apart: the file holds tone and words of each, and no hour of silence; pauses are kept short."""
    clock = FakeClock()
    path = tmp_path / "evening.wav"
    mouth: Mouth = Recording(path, Plain(), clock)
    mouth.say(Line("one", pause_s=1.5), Line("two", A))
    clock.advance(3600)
    mouth.say(Line("three"))
    mouth.close()
    samples, rate = soundfile.read(path, dtype="float32")
    assert rate == RATE
    lead = lead_length(Sound.ALARM, RATE) / RATE
    levels = [float(x) for x in samples]
    starts = [
        next(i for i, x in enumerate(levels) if abs(x - want) < 1e-3 and abs(levels[i + 2000] - want) < 1e-3) / RATE for want in (0.1, 0.2, 0.3)
    ]
    assert starts[1] == pytest.approx(lead, abs=0.01)
    assert starts[0] > starts[1] + 1.0
    assert starts[2] > starts[0] + 1.0
    assert samples.size / RATE < 3 + lead + 3 * 0.8 + 0.1


def test_a_recording_that_cannot_be_written_is_an_os_error(tmp_path: Path) -> None:
    """The file's name is in the sentence."""
    with pytest.raises(OSError, match=r"evening\.wav"):
        open_mouth(str(tmp_path / "missing" / "evening.wav"), FakeClock(), voice="tone")


def test_silence_says_everything_at_once() -> None:
    """A typed session: nothing to wait for."""
    mouth = open_mouth("silent", FakeClock())
    assert isinstance(mouth, Silent)
    mouth.say(Line("one"))
    assert mouth.wait(0)
    assert not mouth.speaking
    mouth.close()


def test_a_silent_session_imports_no_sound_and_no_numpy() -> None:
    """In a fresh interpreter the silent mouth brings none of the heavy libraries."""
    code = (
        "import sys; from assistant.clock import FakeClock; from assistant.speaking.mouth import open_mouth; open_mouth('silent', FakeClock());"
        "print([m for m in ('numpy', 'sounddevice', 'miniaudio', 'onnxruntime', 'pyttsx3', 'soundfile') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
