"""What the ear takes for likely, in whole evenings."""

import pytest
from script_kit import SCRIPTS, run

from assistant.evening import Evening
from assistant.session.commands import Command, Reject
from assistant.understander import Understander, moments
from assistant.understanding.expecting import SENSELESS, expected


def test_nothing_a_cook_says_in_these_evenings_is_taken_for_senseless(monkeypatch: pytest.MonkeyPatch) -> None:
    """What is held against lifting from an empty pot or a clock of 153 minutes touches none of the four hundred lines of the rehearsed evenings, at
    the moment each is said."""
    lines, held_against = 0, []
    typed = Understander.typed

    def watched(self: Understander, words: str, evening: Evening) -> tuple[Command | Reject, str]:
        nonlocal lines
        meanings = self.interpreter.interpret(words, typed=True).meanings()
        now = moments(evening)()
        lines += 1
        if expected(meanings, now) == -SENSELESS:
            held_against.append((words, now))
        return typed(self, words, evening)

    monkeypatch.setattr(Understander, "typed", watched)
    for script in SCRIPTS:
        run(script)
    assert lines > 400
    assert not held_against
