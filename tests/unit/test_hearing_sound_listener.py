"""The ear put together, on sound whose speech is known to the block; the recogniser answers by a table."""

import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
import soundfile

from assistant.hearing.endpoint import Follow
from assistant.hearing.frames import BLOCK, BLOCK_S, Block, MicrophoneBack, MicrophoneLost, Sound, Source
from assistant.hearing.listener import DANGER_AGAIN_S, Ear, Heard, Listener
from assistant.hearing.recogniser import RATE, Samples
from assistant.hearing.sources import FileSource
from assistant.hearing.utterance import Utterance


class LoudIsSpeech:
    """A detector that takes every block louder than a whisper for speech."""

    resets = 0

    def probability(self, samples: Samples) -> float:
        return float(np.max(np.abs(samples)) > 0.01)

    def reset(self) -> None:
        self.resets += 1


class Table:
    """A recogniser that knows a word by the loudness of its middle: 0.1 -> "a", 0.2 -> "b", ...; sound of several words gives them in order."""

    name = "table"

    def __init__(self, words: dict[float, str], sure: bool = True) -> None:
        self._words, self._sure = words, sure
        self.lengths: list[int] = []

    def recognise(self, samples: Samples, start_s: float = 0.0, end_s: float = 0.0) -> Utterance:
        self.lengths.append(len(samples))
        levels = [round(float(v), 1) for v in samples[:: BLOCK // 4] if abs(v) > 0.01]
        said = [v for i, v in enumerate(levels) if i == 0 or levels[i - 1] != v]
        return Utterance(" ".join(self._words[v] for v in said), start_s, end_s, sure=self._sure, engine=self.name)


class Script(Source):
    """A source that plays (seconds, loudness) one after the other, from a time on, with whatever else is put between."""

    def __init__(self, *parts: tuple[float, float] | MicrophoneLost | MicrophoneBack, start_s: float = 0.0) -> None:
        self._parts, self._start_s = parts, start_s

    def sounds(self) -> Iterator[Sound]:
        now = self._start_s
        for part in self._parts:
            if not isinstance(part, tuple):
                yield part
                continue
            for _ in range(round(part[0] / BLOCK_S)):
                yield Block(now, np.full(BLOCK, part[1], np.float32))
                now += BLOCK_S


WORDS = {0.1: "kitchen", 0.2: "stop", 0.3: "fire", 0.4: "one sixty"}


def ear(recogniser: Table, follow: Follow = Follow.NOTHING) -> Ear:
    """An ear on the stand-ins; "kitchen" alone is unfinished, fire is danger."""
    return Ear(LoudIsSpeech(), recogniser, lambda words: Follow.UNFINISHED if words == "kitchen" else follow, lambda words: "fire" in words)


def test_an_utterance_has_its_words_and_times() -> None:
    """Speech from 1.024 to 1.984 s is one utterance with those times, handed on 0.28 s after the speech ended, as its block is over."""
    (heard,) = ear(Table(WORDS)).listen(Script((1.024, 0), (0.96, 0.2), (2.0, 0)))
    assert isinstance(heard, Utterance)
    assert heard.words == "stop"
    assert (heard.start_s, heard.end_s) == pytest.approx((1.024, 1.984))
    assert heard.handed_s - heard.end_s == pytest.approx(0.288, abs=1e-6)


def test_a_finished_sentence_is_decoded_once() -> None:
    """The decode at the first short silence is the result when nothing more is said: no second one is paid for."""
    table = Table(WORDS)
    assert len(list(ear(table, Follow.MORE).listen(Script((0.5, 0), (0.8, 0.4), (2.0, 0))))) == 1
    assert len(table.lengths) == 1


def test_a_pause_after_the_address_word_is_waited_out() -> None:
    """ "Kitchen ... stop" with a second between is one utterance, because the first word alone is unfinished."""
    (heard,) = ear(Table(WORDS)).listen(Script((0.5, 0), (0.5, 0.1), (1.0, 0), (0.5, 0.2), (2.0, 0)))
    assert isinstance(heard, Utterance)
    assert heard.words == "kitchen stop"


def test_what_the_recogniser_is_unsure_of_waits_as_if_more_could_come() -> None:
    """An unsure decode says nothing about the end: 0.57 s."""
    (heard,) = ear(Table(WORDS, sure=False)).listen(Script((0.5, 0), (0.5, 0.2), (2.0, 0)))
    assert isinstance(heard, Utterance)
    assert heard.handed_s - heard.end_s == pytest.approx(0.57, abs=BLOCK_S)
    assert not heard.sure


def test_danger_words_are_heard_in_a_shout_that_does_not_end() -> None:
    """Eight seconds of shouting without a breath: the words are there within 1.5 s and one window, once in DANGER_AGAIN_S."""
    heard = [h for h in ear(Table(WORDS)).listen(Script((0.512, 0), (8.0, 0.3))) if isinstance(h, Utterance)]
    assert heard[0].words == "fire"
    assert heard[0].handed_s - 0.512 <= 1.5 + BLOCK_S
    assert heard[1].handed_s - heard[0].handed_s >= DANGER_AGAIN_S
    assert len(heard) == 2


@pytest.mark.parametrize(("loudness", "expected"), [(0.3, ["fire"]), (0.4, [])])
def test_danger_inside_speech_needs_both_ears(loudness: float, expected: list[str]) -> None:
    """An ear for danger alone calls everything fire: inside speech that goes on it is believed only where the other hears danger too."""
    alone = Table(dict.fromkeys(WORDS, "fire"))
    both = Ear(LoudIsSpeech(), Table(WORDS), lambda words: Follow.MORE, lambda words: "fire" in words, alone)
    heard = both.listen(Script((0.5, 0), (3.0, loudness), (1.0, 0)))
    assert [h.words for h in heard if isinstance(h, Utterance) and "fire" in h.words] == expected


def test_the_same_shout_in_another_recording_is_heard_again() -> None:
    """Each source has its own time: what was shouted in the one before does not silence the next."""
    one = ear(Table(WORDS))
    for _ in range(2):
        assert [h.words for h in one.listen(Script((0.5, 0), (0.6, 0.3), (1.0, 0))) if isinstance(h, Utterance)] == ["fire"]


def test_other_words_wait_for_their_end() -> None:
    """Long speech without danger words comes out once, at its end."""
    assert len(list(ear(Table(WORDS)).listen(Script((0.5, 0), (6.0, 0.2), (2.0, 0))))) == 1


def test_a_jump_of_the_source_ends_the_utterance() -> None:
    """Clips of an evening: sound of one never runs into the next, and the detector starts afresh."""

    class Two(Source):
        def sounds(self) -> Iterator[Sound]:
            yield from Script((0.5, 0.1)).sounds()
            yield from Script((0.5, 0.2), (1.0, 0), start_s=100.0).sounds()

    first, second = (h for h in ear(Table(WORDS)).listen(Two()) if isinstance(h, Utterance))
    assert (first.words, second.words) == ("kitchen", "stop")
    assert second.start_s == pytest.approx(100.0)


def test_a_lost_microphone_comes_through_in_its_place() -> None:
    """What was said before the loss is heard, then the loss, then what is said after."""
    lost, back = MicrophoneLost(0.9, "The microphone is gone."), MicrophoneBack(5.0, "mic")
    heard = list(ear(Table(WORDS)).listen(Script((0.5, 0), (0.4, 0.2), lost, back, (0.5, 0.4), (1.0, 0))))
    assert [type(h) for h in heard] == [Utterance, MicrophoneLost, MicrophoneBack, Utterance]


def test_an_hour_of_sound_keeps_nothing_it_does_not_need() -> None:
    """Half an hour of talk without a breath: no decode gets more than the longest utterance, and the ear keeps no more than that."""
    table = Table(WORDS)
    listening = ear(table)
    largest = 0
    for _ in listening.listen(Script((1800.0, 0.2))):
        largest = max(largest, len(listening._sound))
    assert max(table.lengths) <= 9.25 * RATE
    assert largest * BLOCK_S <= 9.25


@pytest.mark.skipif(sys.platform != "linux", reason="counts threads in /proc")
def test_the_voice_detector_keeps_to_one_thread() -> None:
    """Its library would start one for each core, which wait by spinning; in a process of its own, because the limit is read once."""
    program = (
        "import os, numpy as np\n"
        "from assistant.hearing.voice_activity import VoiceDetector\n"
        "before = len(os.listdir('/proc/self/task'))\n"
        "VoiceDetector().probability(np.zeros(512, np.float32))\n"
        "print(len(os.listdir('/proc/self/task')) - before)"
    )
    assert subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True).stdout.strip() == "0"


def test_silence_says_nothing(tmp_path: Path) -> None:
    """A file of silence: no utterance, no decode."""
    path = tmp_path / "silence.wav"
    soundfile.write(path, np.zeros(5 * RATE, np.float32), RATE)
    table = Table(WORDS)
    assert list(ear(table).listen(FileSource(path))) == []
    assert table.lengths == []


def test_a_listener_in_a_thread_hears_the_same() -> None:
    """The thread hands on exactly what the generator does, in the same order."""
    parts = ((0.5, 0.0), (0.5, 0.1), (0.4, 0.0), (0.5, 0.2), (2.0, 0.0), (0.6, 0.4), (2.0, 0.0))
    got: list[Heard] = []
    listener = Listener(ear(Table(WORDS)), Script(*parts), got.append)
    listener.start()
    listener.join(10)
    assert got == list(ear(Table(WORDS)).listen(Script(*parts)))


def test_a_fault_inside_the_ear_is_an_event() -> None:
    """A recogniser that breaks ends hearing with a sentence, never with a thread that dies unseen."""

    class Broken(Table):
        def recognise(self, samples: Samples, start_s: float = 0.0, end_s: float = 0.0) -> Utterance:
            raise RuntimeError("the model went away")

    got: list[Heard] = []
    listener = Listener(ear(Broken(WORDS)), Script((0.5, 0), (0.5, 0.2), (2.0, 0)), got.append)
    listener.start()
    listener.join(10)
    assert got == [MicrophoneLost(0.0, "Hearing stopped: the model went away.")]
