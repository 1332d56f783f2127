"""A minute with a kitchen, by stand-ins: what is told, kept and advised, and what a worthless minute says."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from dataclasses import asdict, replace
from pathlib import Path

import numpy as np
import pytest
import soundfile

from assistant.acquaint import LINE_S, NOISE_S, TURN_S, Acquainting, NotAcquaintedError, judge, lines_to_say
from assistant.cli import main
from assistant.ears import interpreter_for, is_danger
from assistant.hearing.endpoint import Follow
from assistant.hearing.frames import MicrophoneLost, Sound, Source, blocks_of
from assistant.hearing.kitchen_ear import FILE, MOST_MARGIN, Acquainted, KitchenEar, least_margin, least_pmi, noise_db, read_kitchen, write_kitchen
from assistant.hearing.listener import Ear
from assistant.hearing.noise import kitchen_noise
from assistant.hearing.recogniser import RATE, Samples
from assistant.hearing.utterance import Scores, Utterance
from assistant.kitchen.meal import Meal
from assistant.settings import Settings

LINES = lines_to_say("chips")
KNOWN = KitchenEar("2026-01-31", quiet_db=-60.0, hood_db=-40.0, speech_db=-20.0, quiet_pmi=0.5, hood_pmi=2.5, margin=2.0)


class LoudIsSpeech:
    """Speech is what is louder than the hood."""

    def probability(self, samples: Samples) -> float:
        return float(np.max(np.abs(samples)) > 0.1)

    def reset(self) -> None:
        """It has no memory."""


class Says:
    """A recogniser that gives these words one after the other; margin: of each."""

    name = "embedded"

    def __init__(self, words: list[str], margin: float = 4.0, sure: bool = True) -> None:
        self._words, self._margin, self._sure = iter(words), margin, sure

    def recognise(self, samples: Samples, start_s: float = 0.0, end_s: float = 0.0) -> Utterance:
        scores = Scores(pmi=1.0, margin=self._margin)
        return Utterance(next(self._words, ""), start_s, end_s, self._sure, "" if self._sure else "pmi", scores=scores, engine=self.name)


class Minute(Source):
    """Noise at two levels, dB below full scale, then beeps for the lines; loud: of the beeps; lost_s: when the microphone goes."""

    def __init__(self, quiet_db: float = -60.0, hood_db: float = -45.0, loud: float = 0.3, beeps: int = 8, lost_s: float = 1e9) -> None:
        quiet, hood = kitchen_noise(NOISE_S + 0.1, 1, quiet_db), kitchen_noise(TURN_S + NOISE_S + 0.1, 2, hood_db)
        t = np.arange(round(0.9 * RATE)) / RATE
        beep = np.clip(loud * np.sin(2 * np.pi * 300 * t), -1, 1).astype(np.float32)
        gap = np.zeros(round(1.5 * RATE), np.float32)
        self.sound, self._lost_s = np.concatenate([quiet, hood, *[row for _ in range(beeps) for row in (gap, beep)], gap]), lost_s

    def sounds(self) -> Iterator[Sound]:
        for block in blocks_of([self.sound], RATE):
            if block.start_s >= self._lost_s:
                yield MicrophoneLost(block.start_s, "The microphone is gone: check its plug.")
                return
            yield block


def run(meal: Meal, source: Source, says: Says, noise: Says | None = None) -> tuple[list[str], KitchenEar, int, bool, str]:
    """What was shown, and what came of it."""
    interpreter = interpreter_for(meal, Settings())
    shown: list[str] = []
    ear = Ear(LoudIsSpeech(), says, lambda words: Follow.NOTHING, lambda words: is_danger(interpreter, words))
    found = Acquainting(source, ear, noise or Says([""] * 99), LoudIsSpeech(), interpreter, shown.append).run("chips", "2026-01-31")
    return shown, found.kitchen, found.understood, found.well, found.advice


Bundled = Callable[[str], Meal]


def test_the_lines_are_commands_with_confusable_numbers_a_danger_and_a_dish(bundled: Bundled) -> None:
    """Eight sentences of the grammar; pairs of numbers that differ in one syllable; one danger; one dish."""
    interpreter = interpreter_for(bundled("fish-supper"), Settings())
    assert len(LINES) == 8
    assert all(interpreter.complete(line) for line in LINES)
    assert sum(is_danger(interpreter, line) for line in LINES) == 1
    assert {"oil is at three fifteen", "oil is at three fifty"} <= set(LINES)
    assert any("chips" in line for line in LINES)


def test_a_good_minute(bundled: Bundled) -> None:
    """What to do is told before it is listened for, every line is shown with its margin, levels are about right, and all is well."""
    shown, kitchen, understood, well, advice = run(bundled("fish-supper"), Minute(), Says(list(LINES)))
    assert (understood, well, advice) == (8, True, "All is well where the microphone is: 8 of 8 lines were understood.")
    assert kitchen.quiet_db == pytest.approx(-60, abs=4)
    assert kitchen.hood_db == pytest.approx(-45, abs=4)
    assert kitchen.speech_db == pytest.approx(20 * np.log10(0.3 / np.sqrt(2)), abs=1)
    assert kitchen.margin == 0.0
    assert shown[0].startswith("Turn the hood off")
    assert [line for line in LINES if any(s.endswith(line) for s in shown)] == list(LINES)
    assert sum("understood, margin 4.0" in s for s in shown) == 8


def test_what_was_misheard_with_confidence_must_not_pass_again(bundled: Bundled) -> None:
    """ "Fifty" for "fifteen" at a margin of 3: shown as misheard, and from now on more is asked for."""
    words = [*LINES[:3], "oil is at three fifty", *LINES[4:]]
    shown, kitchen, understood, _, _ = run(bundled("fish-supper"), Minute(), Says(words, margin=3.0))
    assert understood == 7
    assert "   MISHEARD as 'oil is at three fifty', margin 3.0" in shown
    assert kitchen.margin == 3.5


def test_noise_that_sounds_like_words_asks_for_more(bundled: Bundled) -> None:
    """The support of noise alone, and half a nat on top of it."""
    _, kitchen, _, _, _ = run(bundled("fish-supper"), Minute(), Says(list(LINES)), Says(["yes"] * 99))
    assert (kitchen.quiet_pmi, kitchen.hood_pmi) == (1.5, 1.5)


@pytest.mark.parametrize(
    ("quiet", "hood", "speech", "understood", "says"),
    [
        (-60, -50, -30, 8, "All is well"),
        (-40, -35, -30, 8, "nearer to you: even with the hood off your words stand out by only 10 dB"),
        (-60, -35, -30, 8, "away from the hood, or nearer to you: with the hood on your words stand out by only 5 dB"),
        (-60, -50, -30, 5, "nearer to you: 5 of 8 lines were understood"),
    ],
)
def test_the_advice_is_one_sentence(quiet: float, hood: float, speech: float, understood: int, says: str) -> None:
    """Whether to move the microphone, where to, and why."""
    well, advice = judge(replace(KNOWN, quiet_db=quiet, hood_db=hood, speech_db=speech), understood, 8)
    assert says in advice
    assert well is advice.startswith("All is well")
    assert advice.count(".") == 1


@pytest.mark.parametrize(
    ("source", "says"),
    [
        (Minute(quiet_db=-120.0), "hears nothing at all"),
        (Minute(quiet_db=-15.0), "Somebody talked"),
        (Minute(loud=5.0), "overdriven"),
        (Minute(beeps=0), "ended before all was heard"),
        (Minute(beeps=3), "ended before all was heard"),
        (Minute(lost_s=7.0), "The microphone is gone"),
        (Minute(lost_s=0.0), "The microphone is gone"),
    ],
    ids=["silence", "talk", "clipped", "no lines", "three lines", "lost", "none"],
)
def test_a_worthless_minute_is_one_sentence(bundled: Bundled, source: Source, says: str) -> None:
    """Nothing comes of it but the sentence that says what to do."""
    with pytest.raises(NotAcquaintedError, match=says) as fault:
        run(bundled("fish-supper"), source, Says(list(LINES)))
    assert str(fault.value).count(".") == 1


def test_a_cook_who_says_nothing_is_one_sentence(bundled: Bundled) -> None:
    """Ten seconds are waited for each line."""
    long = Minute(beeps=0)
    long.sound = np.concatenate([long.sound, np.zeros(round(8.5 * LINE_S * RATE), np.float32)])
    with pytest.raises(NotAcquaintedError, match="Not one line was heard"):
        run(bundled("fish-supper"), long, Says([]))


def test_what_is_kept_comes_back(tmp_path: Path) -> None:
    """A file of numbers; none, a broken one, and one with something that is no number count as none."""
    assert read_kitchen(tmp_path) is None
    path = write_kitchen(tmp_path / "new", KNOWN)
    assert read_kitchen(path.parent) == KNOWN
    for text in ("", "{}", "[]", json.dumps(asdict(KNOWN) | {"margin": "much"}), json.dumps(asdict(KNOWN) | {"margin": float("nan")})):
        path.write_text(text)
        assert read_kitchen(path.parent) is None


def sound_at(level: float) -> Samples:
    """A second of kitchen with a word in its middle."""
    row = kitchen_noise(1.0, 3, level)
    row[6_000:9_000] += 0.2
    return row


@pytest.mark.parametrize(
    ("words", "pmi", "margin", "level", "reason"),
    [
        ("chips down", 3.0, 5.0, -40.0, ""),
        ("chips down", 2.0, 5.0, -40.0, "pmi"),
        ("chips down", 2.0, 5.0, -60.0, ""),
        ("chips down", 3.0, 1.9, -40.0, "margin"),
        ("fire", 1.0, 0.1, -40.0, ""),
    ],
)
def test_a_known_kitchen_asks_for_more_where_it_is_loud(bundled: Bundled, words: str, pmi: float, margin: float, level: float, reason: str) -> None:
    """The threshold follows the noise between the words; a danger word is never made harder to say."""
    interpreter = interpreter_for(bundled("fish-supper"), Settings())

    class Fixed(Says):
        def recognise(self, samples: Samples, start_s: float = 0.0, end_s: float = 0.0) -> Utterance:
            return Utterance(words, start_s, end_s, scores=Scores(pmi=pmi, margin=margin))

    heard = Acquainted(Fixed([]), KNOWN, lambda said: is_danger(interpreter, said)).recognise(sound_at(level), 1.0, 2.0)
    assert (heard.reason, heard.sure) == (reason, not reason)
    assert (heard.words, heard.start_s) == (words, 1.0)


def test_the_level_between_the_words(bundled: Bundled) -> None:
    """A word in the middle does not count as noise."""
    assert noise_db(sound_at(-50.0)) == pytest.approx(-51, abs=1.5)
    assert noise_db(np.zeros(0, np.float32)) == -120.0


def test_thresholds_have_an_end() -> None:
    """One bad minute makes nobody repeat everything."""
    assert least_margin(0.0) == 0.0
    assert least_margin(99.0) == MOST_MARGIN
    assert least_pmi(-2.0) == 0.0
    assert least_pmi(99.0) == 3.0


@pytest.mark.parametrize(
    ("command", "says"),
    [
        (["check", "--kitchen", "--hear", "{missing}"], "There is no sound file"),
        (["check", "--hear", "{missing}"], "--hear goes with --kitchen."),
        (["check", "--kitchen", "--hear", "{text}"], "not a sound file"),
    ],
)
def test_what_is_no_sound_is_one_sentence(
    command: list[str], says: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Exit 2, one line, nothing kept."""
    text = tmp_path / "text.wav"
    text.write_text("no sound")
    monkeypatch.setattr("sys.argv", ["stovehand", *[c.format(missing=tmp_path / "none.wav", text=text) for c in command]])
    with pytest.raises(SystemExit) as end:
        main()
    assert end.value.code == 2
    said = capsys.readouterr().err.strip()
    assert says in said
    assert said.count("\n") == 0
    assert not list(tmp_path.rglob(FILE))


def test_silence_through_the_command_is_one_sentence(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """The real ear and a muted microphone: exit 1, what to do, nothing kept."""
    path = tmp_path / "muted.flac"
    soundfile.write(path, np.zeros(60 * RATE, np.float32), RATE)
    monkeypatch.setattr("sys.argv", ["stovehand", "check", "--kitchen", "--hear", str(path)])
    with pytest.raises(SystemExit) as end:
        main()
    assert end.value.code == 1
    assert capsys.readouterr().err.strip() == "The microphone hears nothing at all: check its mute switch and its permission, and begin again."
    assert not list(tmp_path.rglob(FILE))
