"""Every word the program can say: short enough, without danger words or the address word, and never a command the microphone would obey."""

from __future__ import annotations

import inspect
import itertools
from collections.abc import Iterator
from typing import Any

import pytest
from kitchen_kit import Kit
from num2words import num2words

from assistant.ears import interpreter_for
from assistant.kitchen.cards import find_meal, list_meals, read_card
from assistant.kitchen.oil.batch import BatchLimit
from assistant.kitchen.oil.headroom import Limit
from assistant.kitchen.oil.quality import LOOKS, Cause
from assistant.kitchen.scripts import SCRIPT_NAMES, script
from assistant.session.commands import DANGER, OVER_SPEECH, Command
from assistant.settings import Settings
from assistant.speaking import prompts

LONGEST = 12
LONGEST_ALARM = 8
_NO_SENTENCE = {
    "are_many",
    "number",
    "duration",
    "degrees",
    "day_time",
    "one_breath",
    "upper",
    "listed",
    "lift",
    "take_out",
    "take_off",
    "core_clock",
    "cold_clock",
    "when_made",
    "in_days",
    "thawing",
    "of_pot",
    "why_people",
    "why_busy",
    "why_lit",
    "why_longer",
    "why_late",
}
_VALUES: dict[str, tuple[Any, ...]] = {
    "name": ("chips", "chips second fry"),
    "first": ("batter rest",),
    "text": ("", "Peel potatoes and cut sticks as thick as a finger."),
    "looks": ("golden and crisp",),
    "action": ("lift the chips", "take the peas off the heat"),
    "place": ("counter", "fridge", "oven", "rack"),
    "level": ("on", "full", "up", "down", "off"),
    "what": ("chips drop", "depth of oil"),
    "unit": ("centimetres", "inches"),
    "least": (0.2,),
    "piece": ("width", "height", "oil", "burner"),
    "words": ("nine hundred", "3 handfuls", "4 pieces"),
    "why": tuple(str(x) for x in (*BatchLimit, *Cause, *Limit)),
    "look": LOOKS,
    "limit": tuple(str(x) for x in Limit),
    "units": ("F", "C"),
    "names": (["chips"], ["chips", "fish", "peas", "bread"]),
    "whom": ([], ["egg", "milk"]),
    "by_oil": (True, False),
    "dish": ("chips", "mushy peas"),
    "begun": (True, False),
    "past": (True, False),
    "n": (0, 1, 3),
    "of": (2, 3),
    "days": (0, 1, 3),
    "people": (1, 6),
    "pieces": (None, 4),
    "kg": (0.35,),
    "litres": (0.25,),
    "two": (True, False),
    "lit": (True, False),
    "because": (
        "",
        *(
            prompts.why_people(6),
            prompts.why_busy("hands"),
            prompts.why_lit("wide pot"),
            prompts.why_longer("chips second fry"),
            prompts.why_late("batter rest"),
        ),
    ),
}


def spoken() -> Iterator[tuple[str, str]]:
    """(name of the prompt, words) for every prompt with a table of values."""
    for name, value in vars(prompts).items():
        if name.startswith("_"):
            continue
        if isinstance(value, str):
            yield name, value
        elif isinstance(value, dict):
            yield from ((name, words) for words in value.values())
        elif inspect.isfunction(value) and value.__module__ == prompts.__name__ and name not in _NO_SENTENCE:
            parameters = inspect.signature(value).parameters
            table = [_VALUES.get(p, (0.0, 29.0, 450.0, 5400.0)) for p in parameters]
            yield from ((name, value(*row)) for row in itertools.product(*table))


def test_a_prompt_is_one_breath() -> None:
    """At most twelve words, ending as a sentence does."""
    wrong = [(name, words) for name, words in spoken() if not 0 < len(words.split()) <= LONGEST or words[-1] not in ".?"]
    assert wrong == []


def test_no_prompt_is_a_command_heard_while_speaking() -> None:
    """No prompt, nor any sentence in it, is one of the commands heard while we speak, and none holds the address word."""
    interpreter = interpreter_for(read_card(find_meal("fish-supper")), Settings())
    parts: set[str] = set()
    for name, words in spoken():
        assert "kitchen" not in words.lower(), name
        parts |= {part.strip() for part in (words, *words.replace("?", ".").replace(":", ".").split("."))}
    for part in parts:
        if interpreter.complete(part):
            assert not [meaning for meaning in interpreter.interpret(part).meanings() if meaning.intent in OVER_SPEECH], part


def test_danger_words_are_in_no_prompt_outside_a_script() -> None:
    """The bare danger words are nowhere in what is said on a plain evening."""
    bare = {"fire", "flames", "smoking", "foaming", "spitting", "burned", "burnt"}
    for name, words in spoken():
        assert not bare & set(words.lower().replace(".", " ").replace(",", " ").split()), (name, words)


@pytest.mark.parametrize("name", SCRIPT_NAMES)
def test_a_script_line_is_an_alarm(name: str) -> None:
    """At most eight words, and no danger command in it."""
    interpreter = interpreter_for(read_card(find_meal("fish-supper")), Settings())
    for line in script(name).lines:
        assert len(line.words.split()) <= LONGEST_ALARM, line.words
        assert not [m for m in interpreter.interpret(line.words).meanings() if m.intent in DANGER], line.words


@pytest.mark.parametrize("meal", [name for name, _ in list_meals()])
def test_every_line_of_a_card_can_be_said(meal: str) -> None:
    """What a card has us say is one breath too, and no command heard while speaking."""
    card = read_card(find_meal(meal))
    interpreter = interpreter_for(card, Settings())
    for step in card.steps():
        for words in (step.text, step.else_do, prompts.look(step.said[0], step.looks) if step.looks else ""):
            assert len(words.split()) <= LONGEST, (step.id, words)
            reading = interpreter.interpret(words.rstrip("."))
            assert not [m for m in reading.meanings() if isinstance(m, Command) and m.intent in OVER_SPEECH], (step.id, words)


def test_alarms_are_at_most_eight_words() -> None:
    """Every alert of a whole late evening is at most eight words."""
    kit = Kit()
    t = kit.reach_first_fry()
    kit.say(t, "chips down")
    kit.wait(t + 4000)
    words = [alert.words for alert in kit.state.alerts.values()]
    assert words
    assert all(len(w.split()) <= LONGEST_ALARM for w in words)


@pytest.mark.parametrize("n", range(1000))
def test_numbers_are_spelled_as_num2words_does(n: int) -> None:
    """Against the library num2words 0.5, its British "and" left out."""
    assert prompts.number(n) == num2words(n).replace(" and ", " ")
