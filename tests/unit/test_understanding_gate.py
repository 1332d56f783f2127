"""What is let through to the kitchen: by word, by moment, by the question that is open."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.kitchen.meal import Name
from assistant.session.commands import DANGER, OVER_SPEECH, Command, Intent, Reject
from assistant.understanding.gate import Addressing, Ear, admit
from assistant.understanding.interpreter import Interpreter

KITCHEN = Interpreter((Name("chips", "dish", ("chips",)), Name("fish", "dish", ("fish",))))
QUIET_ROOM = Ear()
WINDOW = Ear(since_spoken_s=5.0)
LATE = Ear(since_spoken_s=8.1)
SPEAKING = Ear(speaking=True, since_spoken_s=0.0)
ECHO = Ear(since_spoken_s=0.29)


def outcome(sentence: str, ear: Ear, *, typed: bool = False) -> str:
    """The intent let through, or the reason it was not."""
    result = admit(KITCHEN.interpret(sentence, now_day_s=17 * 3600.0, typed=typed), ear)
    return result.intent.value if isinstance(result, Command) else result.reason


@pytest.mark.parametrize(
    ("sentence", "ear", "expected"),
    [
        # danger acts bare, at any moment
        ("fire", QUIET_ROOM, "fire"),
        ("the pan's on fire", SPEAKING, "fire"),
        ("it's foaming up", LATE, "foaming"),
        ("I burned my hand", Ear(address="always"), "burned"),
        ("false alarm", SPEAKING, "false_alarm"),
        # nothing else does
        ("yes", QUIET_ROOM, "not_addressed"),
        ("done", QUIET_ROOM, "not_addressed"),
        ("undo", LATE, "not_addressed"),
        ("repeat", LATE, "not_addressed"),
        ("chips down", QUIET_ROOM, "not_addressed"),
        ("what's next", LATE, "not_addressed"),
        # the address word, or the window after the assistant spoke
        ("kitchen done", QUIET_ROOM, "done"),
        ("kitchen chips down", LATE, "drop"),
        ("done", WINDOW, "done"),
        ("chips down", Ear(since_spoken_s=8.0), "drop"),
        ("yes", WINDOW, "yes"),
        ("kitchen yes", QUIET_ROOM, "yes"),
        # a setting makes it always or never needed
        ("chips down", Ear(since_spoken_s=5.0, address="always"), "not_addressed"),
        ("kitchen chips down", Ear(address="always"), "drop"),
        ("chips down", Ear(address="never"), "drop"),
        ("done", Ear(address="never"), "not_addressed"),
        ("done", Ear(since_spoken_s=5.0, address="never"), "done"),
        # an open question takes its answers bare
        ("yes", Ear(question_accepts=frozenset({Intent.YES, Intent.NO})), "yes"),
        ("yes", Ear(question_accepts=frozenset({Intent.YES, Intent.NO}), address="always"), "yes"),
        ("done", Ear(question_accepts=frozenset({Intent.YES, Intent.NO})), "not_addressed"),
        ("three forty", Ear(question_accepts=frozenset({Intent.ANSWER})), "answer"),
        ("three forty", WINDOW, "unknown"),
        ("kitchen three forty", WINDOW, "unknown"),
        ("it's out", WINDOW, "lift"),
        ("it's out", Ear(question_accepts=frozenset({Intent.YES, Intent.NO})), "yes"),
        # while the assistant speaks and 300 ms after: only quiet, hold everything and danger
        ("quiet", SPEAKING, "quiet"),
        ("hold everything", ECHO, "hold"),
        ("kitchen what's next", SPEAKING, "speaking"),
        ("yes", Ear(speaking=True, since_spoken_s=0.0, question_accepts=frozenset({Intent.YES})), "speaking"),
        ("yes", ECHO, "speaking"),
        ("yes", Ear(since_spoken_s=0.3), "yes"),
        ("quiet", QUIET_ROOM, "not_addressed"),
        # help is a danger word while there is hot oil
        ("help", QUIET_ROOM, "not_addressed"),
        ("help", Ear(hot_oil=True), "help"),
        ("help", Ear(speaking=True, since_spoken_s=0.0, hot_oil=True), "help"),
        # so is a question about a danger
        ("how do I put out a fire", QUIET_ROOM, "not_addressed"),
        ("how do I put out a fire", Ear(hot_oil=True), "what_if"),
        ("what do I do if the oil catches fire", Ear(speaking=True, since_spoken_s=0.0, hot_oil=True, address="always"), "what_if"),
        ("what's next", Ear(hot_oil=True), "not_addressed"),
        # what was not understood
        ("kitchen open the garage", QUIET_ROOM, "unknown"),
        ("carry on camping is on the telly", WINDOW, "not_addressed"),
        ("carry on camping is on the telly", QUIET_ROOM, "not_addressed"),
        ("chips are town", WINDOW, "unknown"),
        ("chips are town", QUIET_ROOM, "not_addressed"),
        ("kitchen rice down", QUIET_ROOM, "unknown_item"),
        ("come in", WINDOW, "not_addressed"),
        ("oil is at nine hundred", WINDOW, "value"),
        ("oil is at nine hundred", QUIET_ROOM, "not_addressed"),
        ("anything at all", SPEAKING, "speaking"),
    ],
)
def test_gate(sentence: str, ear: Ear, expected: str) -> None:
    """One row a rule: sentence, moment, what becomes of it."""
    assert outcome(sentence, ear) == expected


@pytest.mark.parametrize(
    ("sentence", "ear", "expected"),
    [
        ("chips down", QUIET_ROOM, "drop"),
        ("done", Ear(address="always"), "done"),
        ("what's next", SPEAKING, "whats_next"),
        ("yes", QUIET_ROOM, "yes"),
        ("340", QUIET_ROOM, "unknown"),
        ("340", Ear(question_accepts=frozenset({Intent.ANSWER})), "answer"),
        ("open the garage", SPEAKING, "unknown"),
    ],
)
def test_typed_sentences_are_addressed(sentence: str, ear: Ear, expected: str) -> None:
    """Typing is talking to the assistant: no address word, no speech over it; bare values still need their question."""
    assert outcome(sentence, ear, typed=True) == expected


EARS = st.builds(
    Ear,
    speaking=st.booleans(),
    since_spoken_s=st.floats(0, 60),
    question_accepts=st.frozensets(st.sampled_from(list(Intent)), max_size=4),
    address=st.sampled_from(("sometimes", "always", "never")),
    hot_oil=st.booleans(),
)
SENTENCES = st.sampled_from(
    [
        "fire",
        "smoking",
        "false alarm",
        "quiet",
        "hold everything",
        "yes",
        "no",
        "done",
        "chips down",
        "kitchen done",
        "kitchen fish down",
        "what's next",
        "three forty",
        "it's out",
        "help",
        "how do I put out a fire",
        "rubbish",
        "kitchen rubbish",
        "oil is at 900",
        "fish down",
    ]
)


@given(SENTENCES, EARS, st.booleans())
def test_rules_hold_at_every_moment(sentence: str, ear: Ear, typed: bool) -> None:
    """Danger always passes; over speech only its few words; unaddressed words only in the window or to a question; values only to a question."""
    reading = KITCHEN.interpret(sentence, typed=typed)
    result = admit(reading, ear)
    intents = {meaning.intent for meaning in reading.meanings()}
    if intents & DANGER:
        assert isinstance(result, Command)
        assert result.intent in DANGER
        return
    if isinstance(result, Reject):
        return
    assert result.intent in intents
    if result.intent is Intent.ANSWER:
        assert Intent.ANSWER in ear.question_accepts
    if typed or (result.intent in (Intent.HELP, Intent.WHAT_IF) and ear.hot_oil):
        return
    if ear.speaking or ear.since_spoken_s < 0.3:
        assert result.intent in OVER_SPEECH
        return
    asked = result.intent in ear.question_accepts
    window = ear.since_spoken_s <= 8 and ear.address != "always"
    whole = ear.address == "never" and " " in sentence
    assert reading.addressed or asked or window or whole


@given(SENTENCES, EARS)
def test_a_reject_stays_a_reject(sentence: str, ear: Ear) -> None:
    """What was not understood never becomes a command, whatever the moment."""
    reading = KITCHEN.interpret(f"and then he said {sentence}")
    assert isinstance(admit(reading, ear), Reject)


@pytest.mark.parametrize("address", ["sometimes", "always"])
def test_two_people_talking_do_not_drive_it(address: Addressing) -> None:
    """Outside the window, a conversation full of whole commands does nothing at all."""
    talk = [
        "what's next",
        "no",
        "yes",
        "they're out",
        "done",
        "okay",
        "hold on",
        "go on",
        "come again",
        "that's enough",
        "I'm back",
        "how long",
        "too loud",
    ]
    for sentence in talk:
        assert outcome(sentence, Ear(since_spoken_s=30.0, address=address)) == "not_addressed", sentence
