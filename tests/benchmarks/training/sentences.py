"""Sentences to train an encoder on: what cooks say, and what is no command though full of the same words. A sentence follows from its seed.

Of 100 sentences 50 are drawn from our own grammar over the names of a bundled meal, 8 from its words of danger, 22 are such sentences broken off,
changed or among other words, 20 are words at random out of the recogniser's vocabulary, common ones oftener, half of them only one to three. What the
benches say is never among them, nor what thresholds are set with.

Drawn from the grammar means: along its rules, an alternative the likelier the more it has inside, but far from as much likelier (`EVENLY`), what may
be left out left out two times in three, and times, temperatures and numbers mostly as cooks say them (`_VALUES`). Trainings one to seven walked
through the automaton, each next word as likely as any other: where a number may come hundreds of words may, so that "sixty", "fifteen" and "many"
were in none of 12,000 sentences. The eighth was taught before `BRIEF`, and heard short commands no better, or worse.

Up to the eighth the benches' spelling was not the grammar's ("I", "sixty three"), so that six of their phrases were said after all, once to seven
times in a training; the benches say others in their place since, which no grammar of those trainings had.
"""

from __future__ import annotations

import gzip
import json
import sys
from dataclasses import dataclass
from functools import cache
from importlib import resources
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
from bench_recogniser import CHATTER, COMMANDS
from hearing_corpus import DANGER, MEAL, TUNING_DANGER, TUNING_OPEN, later, lines, phrases

from assistant.hearing.model import Tokenizer, installed_folder, read_checked
from assistant.kitchen.cards import find_meal, read_card
from assistant.kitchen.meal import names
from assistant.understanding import jsgf, numbers
from assistant.understanding.automaton import FREE, WordClass
from assistant.understanding.expecting import Moment, senseless
from assistant.understanding.interpreter import Interpreter

MEALS = (MEAL, "fritter-night", "sunday-thighs")
EVENLY = 0.35
"""Power of an alternative's breadth that it is drawn by: 0, all alike; 1, every sentence of the grammar alike."""
VALUE = 8.0
"""Breadth of what stands for a time, a temperature or a number."""
SAID = 1 / 3
"""How often what may be left out is said."""
ADDRESSED = 0.25
"""How often an address word or a courtesy may be said as well."""
BRIEF, FEW = 0.2, 2
"""How often a command is to have so few words at most: they are the hardest to tell from talk."""
LONGEST = 12
"""Words."""
SPOKEN_AS = 0.85
"""How often a value is said in one of the ways of _VALUES."""
_VALUES = """
duration: {few} minutes; {few} minutes; {many} minutes; {many} minutes; {few} and a half minutes; {tens} seconds
duration: {few} minutes {tens} seconds; a minute
duration: half a minute; a minute and a half; a minute {tens}; one minute; a couple of minutes; {few} hours; an hour; half an hour; an hour and a half
bare_duration: {few}; {many}; {few} and a half; {few} {tens}
more: {few} more minutes; {few} more minutes; another {few} minutes; one more minute; another minute; {tens} more seconds; {many} more minutes
temperature: {hundred} {tens}{unit}; {hundred} {tens}{unit}; {hundred} {tens}{unit}; {hundred} hundred and {tens}{unit}; {hundred} hundred{unit}
temperature: {hundred} {tens}{unit}; {hundred} hundred {tens}{unit}; a hundred and {tens}{unit}; {tens}{unit}; sixty-{few}{unit}; seventy-{few}{unit}
clock: {hour}{day}; {hour} o'clock; {hour} {tens}{day}; {hour} {quarter}{day}; {hour} {quarter}; half past {hour}; quarter past {hour}; {hour} oh five
clock: a quarter to {hour}; quarter to {hour}; {past} past {hour}; {past} to {hour}
count: {few}; {few}; {few}; {many}
whole: {few}; {many}; {hundred} {tens}; {hundred} hundred; {hundred} hundred and {tens}
volume: half a litre; a litre; {few} litres; a cup; {few} cups; half a cup; a pint; {few} tablespoons; a litre and a half; a bottle
"""
"""Ways to say a time, a temperature or a number: what is in braces is one of the words below. Common practice."""
_WORDS = """
few: one two three four five six seven eight nine
many: ten eleven twelve thirteen fourteen fifteen sixteen eighteen twenty twenty-five thirty thirty-five
many: forty forty-five fifty fifty-five sixty
tens: ten fifteen twenty twenty-five thirty thirty-five forty forty-five fifty fifty-five
tens: sixty sixty-five seventy seventy-five eighty eighty-five ninety
hundred: one one two three three three four
hour: five six six seven seven seven eight eight nine ten
quarter: fifteen thirty forty-five
past: five ten twenty twenty-five
"""
UNITS = ("", "", "", " degrees", " fahrenheit", " celsius", " degrees celsius", " degrees fahrenheit", " centigrade")
OF_DAY = ("", "", "", "", " tonight", " pm", " in the evening")
_SHORT = "a i of to in is it he at on as by we or be so my an up if me no do go us am"
"""Real words of one or two letters; the others of the vocabulary are pieces of words."""


@cache
def held_out() -> frozenset[str]:
    """What the benches say, in the grammar's spelling."""
    return frozenset(map(_spelled, [*(s for s, _ in [*phrases(), *later()]), *lines(DANGER)]))


def _spelled(said: str) -> str:
    return " ".join(numbers.normal(said))


@cache
def unsaid() -> frozenset[str]:
    """What no training says: that, and what thresholds are set with."""
    return held_out() | {_spelled(s) for block in (COMMANDS, CHATTER, TUNING_DANGER, *(b for _, b in TUNING_OPEN)) for s in lines(block)}


@cache
def vocabulary() -> tuple[str, ...]:
    """Words of the recogniser's vocabulary that hibari's American lexicon knows, the commonest first."""
    short, tokens = frozenset(_SHORT.split()), Tokenizer(read_checked(installed_folder(), "tokenizer.bin"))
    words = (tokens.text(i)[1:] for i in range(259, len(tokens)) if tokens.text(i)[:1] == "▁")
    lexicon = json.loads(gzip.decompress((resources.files("hibari") / "assets" / "lexicon_us_gold.json.gz").read_bytes()))
    return tuple(w for w in words if w in lexicon and (len(w) > 2 or w in short))


@cache
def grammars() -> tuple[Interpreter, ...]:
    """Of every bundled meal."""
    return tuple(Interpreter(names(read_card(find_meal(meal))), "F") for meal in MEALS)


@dataclass(frozen=True, slots=True)
class Text:
    """A sentence to speak. meal: place in MEALS of the names that may be in it; command: whether that meal's grammar has it."""

    meal: int
    words: str
    command: bool


def text(seed: int) -> Text:
    """A sentence that no bench says: a command, a call of danger, pieces of commands among words at random, or such words alone."""
    rng = np.random.default_rng([77, seed, 9])
    meal, dice = int(rng.integers(len(MEALS))), rng.random()
    while True:
        if dice < 0.5:
            said = _said(rng, meal)
        elif dice < 0.58:
            said = _drawn(meal).sentence(rng, "danger")
        elif dice < 0.8:
            said = _nearly(rng, meal)
        else:
            said = _at_random(rng, int(rng.integers(1, 4) if rng.random() < 0.5 else rng.integers(3, 11)))
        words, command = " ".join(said), dice < 0.58
        if said and len(said) <= LONGEST and _spelled(words) not in unsaid() and grammars()[meal].complete(words) == command:
            return Text(meal, words, command)


def _said(rng: np.random.Generator, meal: int) -> list[str]:
    """A sentence of the grammar that means something; seldom what nobody says, such as 153 minutes."""
    most = FEW if rng.random() < BRIEF else LONGEST
    while True:
        words = _drawn(meal).sentence(rng, "sentence" if rng.random() < ADDRESSED else "meaning")
        meant = grammars()[meal].interpret(" ".join(words)).meanings() if len(words) <= most else ()
        if meant and (rng.random() < 0.1 or not all(senseless(c, Moment()) for c in meant)):
            return words


def _at_random(rng: np.random.Generator, count: int) -> list[str]:
    """Uniform in the logarithm of the rank: about Zipf's law."""
    words = vocabulary()
    return [words[int(len(words) ** rng.random()) - 1] for _ in range(count)]


def _nearly(rng: np.random.Generator, meal: int) -> list[str]:
    """Talk with the words of commands in it: one within a longer sentence, one that breaks off, or with a word of it changed, half the time
    for one that another command has: "turn the oven ready"."""
    command = _drawn(meal).sentence(rng, "danger") if rng.random() < 0.3 else _said(rng, meal)
    way = rng.integers(4)
    if way == 0:
        return [*_at_random(rng, int(rng.integers(0, 4))), *command, *_at_random(rng, int(rng.integers(1, 5)))]
    if way == 1:
        return [*command[: int(rng.integers(1, len(command) + 1))], *_at_random(rng, int(rng.integers(1, 6)))]
    other = _said(rng, meal)
    if way == 2:
        command[int(rng.integers(len(command)))] = str(rng.choice(other)) if rng.random() < 0.5 else _at_random(rng, 1)[0]
        return command
    return [*command[: len(command) // 2 + 1], *_at_random(rng, int(rng.integers(0, 3))), *other[len(other) // 2 :]]


@cache
def _drawn(meal: int) -> _Rules:
    return _Rules(grammars()[meal])


class _Rules:
    """The grammar's rules with one meal's names, to draw sentences from."""

    def __init__(self, grammar: Interpreter) -> None:
        self._book, self._fill = grammar.book, grammar.fill
        self._breadths: dict[tuple[str, jsgf.Expansion], float] = {}

    def sentence(self, rng: np.random.Generator, rule: str) -> list[str]:
        """Words of a sentence of this rule."""
        return self._draw(rng, self._book.root, jsgf.Ref(rule))

    def _draw(self, rng: np.random.Generator, grammar: jsgf.Grammar, item: jsgf.Expansion) -> list[str]:
        match item:
            case jsgf.Token(said):
                return said.lower().split()
            case jsgf.Ref(name):
                return self._named(rng, grammar, name)
            case jsgf.Sequence(items):
                return [word for part in items for word in self._draw(rng, grammar, part)]
            case jsgf.Alternatives(options):
                breadths = np.array([self._breadth(grammar, option) for option in options]) ** EVENLY
                return self._draw(rng, grammar, options[int(rng.choice(len(options), p=breadths / breadths.sum()))])
            case jsgf.Maybe(inner):
                return self._draw(rng, grammar, inner) if rng.random() < SAID and self._breadth(grammar, inner) else []
            case jsgf.Repeat(inner):
                return [word for _ in range(int(rng.integers(1, 6))) for word in self._draw(rng, grammar, inner)]
            case jsgf.Tagged(inner):
                return self._draw(rng, grammar, inner)

    def _named(self, rng: np.random.Generator, grammar: jsgf.Grammar, name: str) -> list[str]:
        found = self._book.resolve(grammar, name)
        if found is not None:
            ways = _listed(_VALUES, "; ").get(name)
            return _filled(rng, str(rng.choice(ways))) if ways and rng.random() < SPOKEN_AS else self._draw(rng, found[0], found[1].body)
        filled = self._fill[name]
        if filled is FREE:
            return _at_random(rng, 1)
        return [str(rng.choice(_number_words(filled)))] if isinstance(filled, WordClass) else self._draw(rng, grammar, filled)

    def _breadth(self, grammar: jsgf.Grammar, item: jsgf.Expansion) -> float:
        """About how many sentences it has inside. A value counts as VALUE, a name or a number as two, the address or a free word as one, figures and
        missing names as none."""
        key = grammar.name, item
        if key not in self._breadths:
            self._breadths[key] = self._count(grammar, item)
        return self._breadths[key]

    def _count(self, grammar: jsgf.Grammar, item: jsgf.Expansion) -> float:
        match item:
            case jsgf.Ref(name):
                found = self._book.resolve(grammar, name)
                if found is not None:
                    return VALUE if found[0].name == "values" else self._breadth(found[0], found[1].body)
                filled = self._fill[name]
                if isinstance(filled, WordClass):
                    return 1.0 if filled is FREE else 2.0 if _number_words(filled) else 0.0
                return min(2.0, self._breadth(grammar, filled))
            case jsgf.Sequence(items):
                return float(np.prod([self._breadth(grammar, part) for part in items]))
            case jsgf.Alternatives(options):
                return sum(self._breadth(grammar, option) for option in options)
            case jsgf.Maybe(inner):
                return 1.0 + self._breadth(grammar, inner)
            case jsgf.Tagged(inner) | jsgf.Repeat(inner):
                return self._breadth(grammar, inner)
        return 1.0


def _filled(rng: np.random.Generator, way: str) -> list[str]:
    words = {name: str(rng.choice(ways)) for name, ways in _listed(_WORDS, " ").items()}
    return way.format(**words, unit=rng.choice(UNITS), day=rng.choice(OF_DAY)).split()


@cache
def _listed(text: str, between: str) -> dict[str, list[str]]:
    """Lines `name: way, way` as lists; a name may have several lines."""
    out: dict[str, list[str]] = {}
    for name, _, ways in (line.partition(": ") for line in lines(text)):
        out.setdefault(name, []).extend(ways.split(between))
    return out


@cache
def _number_words(numbered: WordClass) -> tuple[str, ...]:
    """Of a class of numbers, those that are words: figures are spoken as words too."""
    return tuple(word for word in numbered.words if word[0].isalpha())
