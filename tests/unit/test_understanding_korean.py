"""The main commands in Korean, through the same reader, automaton, interpreter and gate."""

from __future__ import annotations

import pytest

from assistant.kitchen.meal import Name
from assistant.session.commands import BARE_VALUES, Command, Intent, Reject
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
        ("불 꺼 줘", Intent.TURN_BURNER, {"level": "off"}),
        ("오븐 켜 줘", Intent.TURN_BURNER, {"level": "on", "place": "oven"}),
        ("오븐 껐어", Intent.OVEN, {"level": "off"}),
        ("오븐 켜져 있어", Intent.OVEN_READY, {}),
        ("오븐 온도 이백 도", Intent.OVEN_TEMP, {"celsius": 200, "unit": "C"}),
        ("네", Intent.YES, {}),
        ("아니요", Intent.NO, {}),
        ("불이야", Intent.FIRE, {}),
        ("손 데었어", Intent.BURNED, {}),
        ("새우 튀김 속 온도 칠십오 도", Intent.CORE, {"item": "shrimp", "celsius": 75.0, "unit": "C"}),
        ("반죽 냉장고에 넣었어", Intent.PLACE, {"item": "batter", "place": "fridge"}),
        ("새우 튀김 몇 번 더 튀겨", Intent.BATCHES_LEFT, {"item": "shrimp"}),
        ("이제 새우 튀김 넣을게", Intent.DROPPING, {"item": "shrimp"}),
        ("그래도 넣을게", Intent.DROP_ANYWAY, {}),
        ("기름 반 리터 더 부었어", Intent.TOPPED_UP, {"litres": 0.5}),
        ("십 분 늦을 것 같아", Intent.RUNNING_LATE, {"seconds": 600}),
        ("모두 네 명이야", Intent.HEADCOUNT, {"count": 4}),
        ("여섯 시 반에 먹자", Intent.SERVE_AT, {"day_s": 66600}),
        ("새우 튀김 색이 너무 연해", Intent.QUALITY, {"item": "shrimp", "look": "pale"}),
        ("기름이 넘치면 어떻게 해", Intent.WHAT_IF, {"hazard": "boil_over"}),
        ("어디에 전화해", Intent.WHAT_IF, {"hazard": "call"}),
        ("반죽 얼마나 둬도 돼", Intent.KEEPS, {"item": "batter"}),
        ("다시", Intent.REPEAT, {}),
    ],
)
def test_korean_commands(sentence: str, intent: Intent, slots: dict[str, str | float]) -> None:
    """Names of the meal and minutes as slots."""
    result = KITCHEN.interpret(sentence).result
    assert isinstance(result, Command)
    assert (result.intent, result.slots()) == (intent, slots)


def test_every_command_can_be_said() -> None:
    """Another language is data: every intent but the note, whose words are free, and bare values."""
    said = {meaning.intent for s in KITCHEN.automaton.sentences(5000) for meaning in KITCHEN.interpret(s).meanings()}
    assert set(Intent) - said == {Intent.NOTE} | BARE_VALUES


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
    sentences = list(KITCHEN.automaton.sentences(5000))
    assert 500 < len(sentences) < 5000
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
