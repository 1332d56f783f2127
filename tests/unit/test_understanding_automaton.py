"""The automaton: what may be said next, whole sentences and their tags, and that its size does not follow the number of sentences."""

from __future__ import annotations

import random
import re
import tracemalloc
from concurrent.futures import ThreadPoolExecutor

import pytest

from assistant.kitchen.meal import Name
from assistant.understanding import jsgf, numbers
from assistant.understanding.automaton import FREE, Automaton, Fill, Span, WordClass
from assistant.understanding.interpreter import Interpreter

DIGITS = WordClass("figures", ("1", "2", "3"), re.compile(r"\d+"))


def automaton(rules: str, fill: Fill | None = None) -> Automaton:
    """An automaton of one file; its root rule is <s>."""
    grammar = jsgf.parse(f"#JSGF V1.0; grammar t; {rules}")
    return Automaton(jsgf.Book(grammar, {"t": grammar}), "s", fill)


KITCHEN = automaton(
    "public <s> = [kitchen {addressed}] (<item> {item} down {drop} | clock for <n> [minutes] {clock} | note <free>+ {text}) [<thanks> {courtesy}];"
    "<thanks> = please | thank you;"
    "<item> = chips | white fish | fish;",
    {"free": FREE, "n": DIGITS},
)


def test_arcs_are_the_words_that_may_come_next() -> None:
    """Each word is listed once, class words beside spoken ones, and leads to the state that `walk` reaches."""
    assert dict(KITCHEN.arcs(KITCHEN.start)).keys() == {"kitchen", "chips", "white", "fish", "clock", "note"}
    after = KITCHEN.walk(["clock", "for"])
    assert after is not None
    assert [word for word, _ in KITCHEN.arcs(after)] == ["1", "2", "3"]
    assert {state for _, state in KITCHEN.arcs(after)} == {KITCHEN.walk(["clock", "for", "2"])}


def test_classes_accept_more_than_they_list() -> None:
    """A number that is not worth decoding is still parsed, to be refused by its value."""
    assert KITCHEN.complete(["clock", "for", "900"])
    assert not KITCHEN.complete(["clock", "for", "ten"])


@pytest.mark.parametrize(
    ("words", "complete", "follow"),
    [
        ("chips down", True, False),  # courtesy does not count
        ("chips", False, True),
        ("clock for 3", True, True),
        ("clock for 3 minutes", True, False),
        ("clock for 3 please", True, False),
        ("white", False, True),
        ("white fish down thank you", True, False),
        ("note buy", True, True),
        ("down", False, False),
        ("", False, True),
    ],
)
def test_endpoints(words: str, complete: bool, follow: bool) -> None:
    """Complete, unfinished, or complete with more to come: what the silence after a sentence is measured by."""
    assert KITCHEN.complete(words.split()) is complete
    assert KITCHEN.can_follow(words.split()) is follow


def test_tags_cover_the_words_of_their_item() -> None:
    """A tag comes out with the range of words that its item covered."""
    (reading,) = KITCHEN.parse(["kitchen", "white", "fish", "down", "please"])
    assert reading == (Span("addressed", 0, 1), Span("item", 1, 3), Span("drop", 3, 4), Span("courtesy", 4, 5))


def test_free_words_are_any_words() -> None:
    """A free word is listed by no arc; `free` says where it may stand."""
    state = KITCHEN.walk(["note"])
    assert state is not None
    assert KITCHEN.free(state)
    assert KITCHEN.arcs(state) == ()
    assert KITCHEN.step(state, "xylophone") is not None
    assert not KITCHEN.free(KITCHEN.start)


def test_readings_keep_the_order_of_the_file() -> None:
    """Of several readings of one sentence the first written comes first, through nested and optional parts too."""
    both = automaton("public <s> = [<a>] out {lifted} | out {yes} | (<NULL> | <a>) {again} out; <a> = all;")
    assert [[span.tag for span in reading] for reading in both.parse(["out"])] == [["lifted"], ["yes"], ["again"]]


def test_nested_repeats_end() -> None:
    """Repeats of things that may be nothing are laid out without going round for ever (an example of sphinx4's documentation)."""
    nasty = automaton("public <s> = I saw a ((cat* | dog* | mouse*)+)+;")
    assert nasty.complete(["i", "saw", "a", "cat", "cat", "mouse", "dog"])
    assert nasty.complete(["i", "saw", "a"])
    assert not nasty.complete(["i", "saw", "a", "bird"])


def test_sentences_are_listed_shortest_first() -> None:
    """The first sentences, by length and then in the order of the file."""
    assert list(KITCHEN.sentences(4)) == ["chips down", "fish down", "kitchen chips down", "kitchen fish down"]
    assert list(automaton("public <s> = a [b];").sentences(9)) == ["a", "a b"]


def reference(item: jsgf.Expansion, rules: dict[str, jsgf.Rule]) -> str:
    """The same language as a regular expression over words that each end in a space: an independent way to accept."""
    match item:
        case jsgf.Token(text):
            return "".join(f"{re.escape(word)} " for word in text.split())
        case jsgf.Ref(name):
            return "" if name == "NULL" else "(?!)" if name == "VOID" else f"(?:{reference(rules[name].body, rules)})"
        case jsgf.Sequence(items):
            return "".join(f"(?:{reference(part, rules)})" for part in items)
        case jsgf.Alternatives(options):
            return "|".join(f"(?:{reference(option, rules)})" for option in options)
        case jsgf.Maybe(inner):
            return f"(?:{reference(inner, rules)})?"
        case jsgf.Repeat(inner, least):
            return f"(?:{reference(inner, rules)}){'+' if least else '*'}"
        case jsgf.Tagged(inner, _):
            return reference(inner, rules)


def test_random_grammars_accept_what_a_regular_expression_accepts() -> None:
    """400 random trees over three words, against Python's own regular expressions, every sentence of up to four words."""
    chance = random.Random(7)

    def tree(depth: int) -> jsgf.Expansion:
        if depth == 0 or chance.random() < 0.2:
            return chance.choice([jsgf.Token("a"), jsgf.Token("b"), jsgf.Token("a c"), jsgf.Ref("r"), jsgf.Ref("NULL"), jsgf.Ref("VOID")])
        parts = tuple(tree(depth - 1) for _ in range(chance.randint(1, 3)))
        make = chance.choice(["seq", "alt", "maybe", "star", "plus", "tag"])
        if make == "seq":
            return jsgf.Sequence(parts)
        if make == "alt":
            return jsgf.Alternatives(parts)
        if make == "maybe":
            return jsgf.Maybe(parts[0])
        return jsgf.Tagged(parts[0], ("t",)) if make == "tag" else jsgf.Repeat(parts[0], int(make == "plus"))

    sentences = [()]
    for _ in range(4):
        sentences += [(*sentence, word) for sentence in sentences for word in "abc"]
    sentences = sorted(set(sentences))
    for _ in range(400):
        rules = {"s": jsgf.Rule("s", True, tree(3)), "r": jsgf.Rule("r", False, jsgf.Alternatives((jsgf.Token("c"), jsgf.Token("b b"))))}
        grammar = jsgf.Grammar("t", rules)
        ours, theirs = Automaton(jsgf.Book(grammar, {"t": grammar}), "s"), re.compile(reference(rules["s"].body, rules))
        for sentence in sentences:
            text = "".join(f"{word} " for word in sentence)
            assert ours.complete(sentence) is (theirs.fullmatch(text) is not None), (rules["s"].body, sentence)
            assert bool(ours.parse(list(sentence))) is ours.complete(sentence)


def size(of: Automaton) -> int:
    """How many sentences an automaton without repeats has."""
    known: dict[int, int] = {}

    def count(state: int) -> int:
        if of.free(state):
            return 1  # the text of a note goes on for ever
        if state not in known:
            known[state] = int(of.final(state)) + sum(count(after) for _, after in of.arcs(state))
        return known[state]

    return count(of.start)


def test_size_does_not_follow_the_number_of_sentences() -> None:
    """A billion sentences and more, wholly laid out, take a few MB: under 40 MB with every state visited."""
    names = tuple(Name(f"dish-{n}", "dish", (f"dish {word}",)) for n, word in enumerate(numbers.TENS_AND_ONES[:9]))
    tracemalloc.start()
    kitchen = Interpreter(names)
    sentences = size(kitchen.automaton)
    memory, _ = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert sentences > 1e9
    assert memory < 40e6


def test_walks_over_arcs_parse_and_end_where_they_began() -> None:
    """Whatever a recogniser puts together from `arcs` is parsed, word for word, and `complete` agrees with `final`."""
    chance, kitchen = random.Random(3), Interpreter((Name("chips", "dish", ("chips",)),)).automaton
    for _ in range(300):
        state, words = kitchen.start, []
        while not (kitchen.final(state) and chance.random() < 0.4):
            arcs = kitchen.arcs(state)
            if not arcs:
                break
            word, state = chance.choice(arcs)
            words.append(word)
        if kitchen.final(state):
            assert kitchen.complete(words), words
            assert kitchen.parse(words), words


def test_several_ears_walk_one_automaton() -> None:
    """Threads that lay out the same states at once end with one number for each set of places, and the same sentences."""
    kitchen = Interpreter((Name("chips", "dish", ("chips",)),)).automaton
    walks = [words.split() for words in ("oil is at three hundred and forty", "set a clock for seven and a half minutes", "core is one fifty-eight")]
    with ThreadPoolExecutor(8) as ears:
        states = list(ears.map(kitchen.walk, walks * 40))
    assert states == [kitchen.walk(words) for words in walks] * 40
    assert None not in states
    assert len(set(kitchen._states)) == len(kitchen._states)
