"""The main commands in Korean, through the same reader, automaton, interpreter and gate."""

from __future__ import annotations

import pytest

from assistant.kitchen.meal import Name
from assistant.session.commands import Command, Intent, Reject
from assistant.understanding import jsgf
from assistant.understanding.gate import Ear, admit
from assistant.understanding.interpreter import Interpreter, grammar_folder

KITCHEN = Interpreter((Name("shrimp", "dish", ("새우 튀김",)), Name("batter", "step", ("반죽",))), "C", language="ko", address="주방")


@pytest.mark.parametrize(
    ("sentence", "intent", "slots"),
    [
        ("새우 튀김 넣었어", Intent.DROP, {"item": "shrimp"}),
        ("새우 튀김 건졌어", Intent.LIFT, {"item": "shrimp"}),
        ("반죽 시작", Intent.BEGIN, {"item": "batter"}),
        ("이 분 더", Intent.MORE_TIME, {"seconds": 120}),
        ("타이머 십 분", Intent.SET_CLOCK, {"seconds": 600}),
        ("불 껐어", Intent.BURNER, {"level": "off"}),
        ("네", Intent.YES, {}),
        ("아니요", Intent.NO, {}),
        ("불이야", Intent.FIRE, {}),
        ("손 데었어", Intent.BURNED, {}),
    ],
)
def test_korean_commands(sentence: str, intent: Intent, slots: dict[str, str | float]) -> None:
    """Names of the meal and minutes as slots."""
    result = KITCHEN.interpret(sentence).result
    assert isinstance(result, Command)
    assert (result.intent, result.slots()) == (intent, slots)


def test_every_example_means_its_rule() -> None:
    """Each @example of the Korean grammar is a sentence with the intent of its rule."""
    grammar = jsgf.load(grammar_folder("ko"), "kitchen").root
    examples = {rule.name: rule.examples for rule in grammar.rules.values() if rule.examples}
    assert len(examples) >= 20
    for name, sentences in examples.items():
        for sentence in sentences:
            result = KITCHEN.interpret(sentence).result
            assert isinstance(result, Command), sentence
            assert result.intent.value == name


def test_every_sentence_is_a_command() -> None:
    """All sentences, with the address word and without, are understood."""
    sentences = list(KITCHEN.automaton.sentences(2000))
    assert 100 < len(sentences) < 2000
    for sentence in sentences:
        assert isinstance(KITCHEN.interpret(sentence).result, Command), sentence


def test_the_gate_is_the_same() -> None:
    """Fire acts bare; yes needs its question; other talk is nothing."""
    far = Ear(since_spoken_s=60.0)
    fire, yes = admit(KITCHEN.interpret("불이야"), far), admit(KITCHEN.interpret("네"), far)
    assert isinstance(fire, Command)
    assert isinstance(yes, Reject)
    assert yes.reason == "not_addressed"
    assert isinstance(KITCHEN.interpret("불이 예쁘다").result, Reject)
