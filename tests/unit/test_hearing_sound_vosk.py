"""Vosk's adapter without a model, two ears that must agree, what `hear` prints, and the noise of a kitchen. With a real model: tests/live."""

import json
import math
from pathlib import Path

import numpy as np
import pytest

from assistant.hearing.endpoint import Follow
from assistant.hearing.frames import level_db
from assistant.hearing.listener import follows_in
from assistant.hearing.noise import active_level_db, at_level, kitchen_noise
from assistant.hearing.recogniser import RATE, RecogniserError, Samples
from assistant.hearing.report import line, understand
from assistant.hearing.two_ears import TwoEars
from assistant.hearing.utterance import Scores, Utterance
from assistant.hearing.vosk_ear import VoskEar, check_model, doubt, find_model, merge, phrases_of, spoken, vocabulary
from assistant.kitchen.meal import Name
from assistant.session.commands import Command, Intent, Reject
from assistant.understanding.interpreter import Interpreter


def model_at(folder: Path, flat: bool = False) -> Path:
    """Something that looks like an unpacked model."""
    file = folder / "final.mdl" if flat else folder / "am" / "final.mdl"
    file.parent.mkdir(parents=True)
    file.write_bytes(b"model")
    return folder


@pytest.fixture(scope="module")
def interpreter() -> Interpreter:
    """The English grammar with two dishes."""
    return Interpreter([Name("chips", "dish", ("chips",)), Name("fish", "dish", ("fish",))], "F")


def test_a_model_is_found_without_a_flag(tmp_path: Path) -> None:
    """In the data folder and in Vosk's caches, by its name; the small one, a flat one, and the first folder first."""
    data, cache = tmp_path / "data", tmp_path / "cache"
    assert find_model("en", {}, [data, cache]) is None
    there = model_at(cache / "vosk-model-small-en-us-0.15")
    assert find_model("en", {}, [data, cache]) == there
    nearer = model_at(data / "vosk-model-en-us-0.22", flat=True)
    assert find_model("en", {}, [data, cache]) == nearer


def test_models_of_other_languages_and_folders_that_are_none_are_passed_over(tmp_path: Path) -> None:
    """A Korean model is none for English; an English name without a model inside is none either."""
    model_at(tmp_path / "vosk-model-small-ko-0.22")
    (tmp_path / "vosk-model-en-us-0.22").mkdir()
    (tmp_path / "vosk-model-en-us-0.22.zip").write_bytes(b"PK")
    assert find_model("en", {}, [tmp_path]) is None
    assert find_model("ko", {}, [tmp_path]) == tmp_path / "vosk-model-small-ko-0.22"


def test_the_path_variable_comes_first_and_may_be_a_model_or_a_folder_of_models(tmp_path: Path) -> None:
    """VOSK_MODEL_PATH wins over every folder."""
    elsewhere = model_at(tmp_path / "else" / "vosk-model-en-us-0.22")
    model_at(tmp_path / "data" / "vosk-model-en-us-0.22")
    mine = model_at(tmp_path / "mine")
    assert find_model("en", {"VOSK_MODEL_PATH": str(mine)}, [tmp_path / "data"]) == mine
    assert find_model("en", {"VOSK_MODEL_PATH": str(tmp_path / "else")}, [tmp_path / "data"]) == elsewhere


@pytest.mark.parametrize(("exists", "words"), [(False, "There is no Vosk model at"), (True, "is no Vosk model (am/final.mdl is missing)")])
def test_a_named_model_that_is_none_is_one_sentence(tmp_path: Path, exists: bool, words: str) -> None:
    """Somebody set VOSK_MODEL_PATH and meant it: not passed over in silence."""
    folder = tmp_path / "model"
    if exists:
        (folder / "am").mkdir(parents=True)
    for attempt in (lambda: find_model("en", {"VOSK_MODEL_PATH": str(folder)}, []), lambda: check_model(folder), lambda: VoskEar(folder, [], bool)):
        with pytest.raises(RecogniserError) as fault:
            attempt()
        assert words in str(fault.value)
        assert str(folder) in str(fault.value)
        assert "\n" not in str(fault.value)


def test_a_damaged_model_is_one_sentence(tmp_path: Path) -> None:
    """A folder that looks right and holds rubbish: Vosk itself refuses it, and we say what to do."""
    folder = model_at(tmp_path / "vosk-model-en-us-0.22")
    with pytest.raises(RecogniserError, match="is damaged: unpack its zip file again"):
        VoskEar(folder, ["yes"], bool)


@pytest.mark.parametrize(
    ("results", "expected"),
    [
        (["{}"], ("", False, None)),
        (['{"text": ""}'], ("", False, None)),
        (["not json"], ("", False, None)),
        (['{"text": "[unk]"}'], ("", True, None)),
        (['{"text": "chips down", "result": [{"word": "chips", "conf": 1.0}, {"word": "down", "conf": 0.4}]}'], ("chips down", False, 0.4)),
        (['{"text": "kitchen"}', '{"text": "hold"}', '{"text": ""}'], ("kitchen hold", False, None)),
        ([json.dumps({"text": "chips [unk]", "result": [{"word": "chips", "conf": 0.9}, {"word": "[unk]", "conf": 0.1}]})], ("chips", True, 0.9)),
    ],
)
def test_results_are_read_with_suspicion(results: list[str], expected: tuple[str, bool, float | None]) -> None:
    """Vosk's own endpoints are joined again, unknown words taken out and told, the lowest confidence kept, rubbish survived."""
    assert merge(results) == expected


@pytest.mark.parametrize(
    ("missing", "says"),
    [
        ([], "Vosk knows all 300 words of this meal."),
        (["samosas"], "Vosk knows 299 of the 300 words of this meal; it cannot hear: samosas."),
        (
            [f"w{i}" for i in range(20)],
            "Vosk knows 280 of the 300 words of this meal; it cannot hear: w0, w1, w2, w3, w4, w5, w6, w7, w8, w9, w10, w11 and 8 more.",
        ),
    ],
)
def test_the_vocabulary_report_is_one_sentence(missing: list[str], says: str) -> None:
    """How many words the model knows, and which not; a long list is cut."""
    assert vocabulary(300, missing) == says


@pytest.mark.parametrize(
    ("words", "confidence", "inside", "danger", "reason"),
    [
        ("", None, True, False, "nothing heard"),
        ("chips up", 1.0, False, False, "outside the grammar"),
        ("chips down", 1.0, True, False, ""),
        ("chips down", None, True, False, ""),
        ("chips down", 0.79, True, False, "confidence"),
        ("fire", 0.3, True, True, ""),
        ("on fire we", 0.3, False, True, "outside the grammar"),
    ],
)
def test_why_vosk_is_not_believed(words: str, confidence: float | None, inside: bool, danger: bool, reason: str) -> None:
    """A sentence of the grammar with no faint word in it; a danger may be faint."""
    assert doubt(words, confidence, inside=inside, danger=danger) == reason


def test_phrases_are_put_in_the_words_of_a_model() -> None:
    """Models write numbers as words, compounds apart."""
    assert spoken(["set a clock for twenty-five minutes", "340", "7:30", "hold"]) == ["set a clock for twenty five minutes", "hold"]


def test_vosk_is_given_sentences_of_the_grammar_and_every_word(interpreter: Interpreter) -> None:
    """Walks are whole sentences, the same each time, of many lengths, and words that no walk came by are there alone."""
    phrases = phrases_of(interpreter.automaton, 300)
    assert phrases == phrases_of(interpreter.automaton, 300)
    assert all(interpreter.automaton.complete(p.split()) for p in phrases[:300])
    assert {len(p.split()) for p in phrases[:300]} >= {1, 2, 3, 4, 5, 6}
    assert {"kitchen", "chips", "fire", "forty"} <= set(phrases[300:])
    assert not any(c.isdigit() for p in phrases for c in p)


class Fixed:
    """A recogniser that always hears the same."""

    def __init__(self, words: str, sure: bool = True, name: str = "vosk") -> None:
        self.words, self.sure, self._name, self.asked = words, sure, name, 0

    @property
    def name(self) -> str:
        return self._name

    def recognise(self, samples: Samples, start_s: float = 0.0, end_s: float = 0.0) -> Utterance:
        self.asked += 1
        return Utterance(self.words, start_s, end_s, self.sure, "" if self.sure else "unsure", decode_ms=10.0, engine=self._name)


@pytest.mark.parametrize(
    ("first", "second", "sure", "asked"),
    [
        ("kitchen set a clock for six minutes", "kitchen set a clock for six minutes", True, 1),
        ("kitchen set a clock for six minutes", "set a timer for six minutes", True, 1),
        ("kitchen set a clock for six minutes", "kitchen set a clock for sixteen minutes", False, 1),
        ("kitchen set a clock for six minutes", "", False, 1),
        ("oil is at three forty", "oil is at three fifty", False, 1),
        ("oil is at three forty", "the oil reads three forty", True, 1),
        ("skip the fish", "skip the chips", False, 1),
        ("two more minutes on the chips", "two more minutes", False, 1),
        ("three forty", "three fifty", False, 1),
        ("what's next", "louder", True, 0),
        ("fire", "", True, 0),
        ("not a sentence at all", "hold", True, 0),
    ],
)
def test_where_it_matters_two_ears_must_agree(interpreter: Interpreter, first: str, second: str, sure: bool, asked: int) -> None:
    """Temperatures, clocks and skips need the same meaning from both; the words may differ; everything else is not asked twice."""
    vosk, embedded = Fixed(first), Fixed(second, name="embedded")
    heard = TwoEars(vosk, embedded, lambda w: interpreter.interpret(w).result).recognise(np.zeros(RATE, np.float32), 1.0, 2.0)
    assert (heard.words, heard.sure, embedded.asked) == (first, sure, asked)
    assert heard.reason == ("" if sure else "ears disagree")
    assert (heard.start_s, heard.end_s, heard.engine) == (1.0, 2.0, "vosk")


def test_an_unsure_first_ear_stays_unsure(interpreter: Interpreter) -> None:
    """The second ear confirms; it does not overrule."""
    vosk, embedded = Fixed("oil is at three forty", sure=False), Fixed("oil is at three forty")
    heard = TwoEars(vosk, embedded, lambda w: interpreter.interpret(w).result).recognise(np.zeros(RATE, np.float32))
    assert not heard.sure
    assert embedded.asked == 0


@pytest.mark.parametrize(
    ("words", "follow"),
    [
        ("kitchen what's next", Follow.NOTHING),
        ("oil is at one sixty", Follow.MORE),
        ("kitchen set a clock for", Follow.UNFINISHED),
        ("kitchen", Follow.UNFINISHED),
        ("", Follow.UNFINISHED),
    ],
)
def test_the_grammar_says_what_may_follow(interpreter: Interpreter, words: str, follow: Follow) -> None:
    """Endpointing asks the grammar: complete and closed, complete and open, or not yet a sentence."""
    assert follows_in(interpreter)(words) is follow


def test_what_hear_prints(interpreter: Interpreter) -> None:
    """One line an utterance with the slots in SI, and a reason where it would not be acted on."""
    said = Utterance("kitchen set a clock for six minutes", 1.0, 2.5, scores=Scores(pmi=3.21), decode_ms=90.04, engine="embedded")
    assert line("a.wav", said, understand(said, interpreter)) == {
        "file": "a.wav",
        "start_s": 1.0,
        "end_s": 2.5,
        "words": "kitchen set a clock for six minutes",
        "command": "set_clock",
        "slots": {"seconds": 360.0},
        "accepted": True,
        "reason": "",
        "score": 3.21,
        "decode_ms": 90.0,
        "engine": "embedded",
    }


@pytest.mark.parametrize(
    ("heard", "accepted", "reason"),
    [
        (Utterance("fire"), True, ""),
        (Utterance("what's next"), True, ""),
        (Utterance("three forty"), False, "unknown"),
        (Utterance("we had fish last time"), False, "not_addressed"),
        (Utterance("kitchen what's next"), True, ""),
        (Utterance("kitchen what's next", sure=False, reason="margin"), False, "margin"),
        (Utterance("kitchen purple monkeys"), False, "unknown"),
        (Utterance("", sure=False, reason="nothing heard", scores=Scores(confidence=0.5)), False, "nothing heard"),
    ],
)
def test_what_would_be_acted_on(interpreter: Interpreter, heard: Utterance, accepted: bool, reason: str) -> None:
    """Sure and a command of its own (not a bare value): else the reason is told and nothing is accepted."""
    result = understand(heard, interpreter)
    printed = line("a.wav", heard, result)
    assert isinstance(result, Command | Reject)
    assert (printed["accepted"], printed["reason"]) == (accepted, reason)
    json.dumps(printed)


def test_danger_heard_unsure_is_not_acted_on(interpreter: Interpreter) -> None:
    """An unsure "fire" is a question, not an alarm."""
    result = understand(Utterance("fire", sure=False, reason="pmi"), interpreter)
    assert isinstance(result, Reject)
    assert result.guess is not None
    assert result.guess.intent is Intent.FIRE


@pytest.mark.parametrize("level_db_wanted", [-50.0, -36.0, -26.0])
def test_kitchen_noise_has_its_level_and_is_the_same_each_time(level_db_wanted: float) -> None:
    """A level in dB below full scale, reproducible by seed, different for another."""
    noise = kitchen_noise(3.0, 7, level_db_wanted)
    assert level_db(noise) == pytest.approx(level_db_wanted, abs=0.3)
    assert np.array_equal(noise, kitchen_noise(3.0, 7, level_db_wanted))
    assert not np.array_equal(noise, kitchen_noise(3.0, 8, level_db_wanted))
    assert len(noise) == 3 * RATE


def test_speech_is_brought_to_a_level() -> None:
    """Pauses do not count; digital silence stays what it is."""
    tone = (0.4 * np.sin(np.arange(5 * RATE) * 0.3)).astype(np.float32)
    speech = np.concatenate([np.zeros(5 * RATE, np.float32), tone, np.zeros(5 * RATE, np.float32)])
    assert level_db(at_level(speech, -26.0)[5 * RATE : 10 * RATE]) == pytest.approx(-26.0, abs=0.25)
    assert not at_level(np.zeros(10, np.float32)).any()
    faint = 1e-6 * np.ones(RATE, np.float32)  # under every threshold
    assert active_level_db(faint) == pytest.approx(-120.0, abs=0.1)


def test_the_active_level_is_the_one_of_the_recommendation() -> None:
    """Outside check, ITU-T P.56 (12/2011), method B, written once more as it is there, sample by sample: an envelope by two filters in a row, and for
    each threshold a count of samples that a hangover of 0.2 s keeps active; the level lies where it is 15.9 dB above its threshold."""
    rng = np.random.default_rng(3)
    speech = 0.05 * rng.standard_normal(2 * RATE) * np.repeat(rng.random(20) > 0.6, RATE // 10)
    kept, first, second = math.exp(-1 / (RATE * 0.03)), 0.0, 0.0
    thresholds = [2.0**-k for k in range(15, 0, -1)]
    active, hangover = [0] * 15, [RATE] * 15
    for sample in speech:
        first = kept * first + (1 - kept) * abs(sample)
        second = kept * second + (1 - kept) * first
        for j, threshold in enumerate(thresholds):
            hangover[j] = 0 if second >= threshold else hangover[j] + 1
            active[j] += hangover[j] <= 0.2 * RATE
    levels = [10 * math.log10(float(np.sum(speech**2)) / count) for count in active if count]
    above = [level - 20 * math.log10(threshold) for level, threshold in zip(levels, thresholds, strict=False)]
    expected = float(np.interp(-15.9, [-x for x in above], levels))
    assert active_level_db(speech) == pytest.approx(expected, abs=0.05)
