"""A sentence said again: two unsure hearings decide together, at the place where what was heard becomes a command."""

from pathlib import Path

import pytest

from assistant.clock import FakeClock
from assistant.ears import interpreter_for
from assistant.evening import Evening
from assistant.hearing.utterance import Scores, Utterance
from assistant.journal import Journal
from assistant.kitchen.cards import find_meal, read_card
from assistant.session.commands import Command, Intent, Reject
from assistant.session.events import EveningBegan
from assistant.settings import Settings
from assistant.understander import Understander

Hear = tuple[str, float | None, float]
"""Words (a star before them: heard surely), log odds, seconds after what was said before."""


@pytest.fixture
def kitchen(tmp_path: Path) -> tuple[Understander, Evening, FakeClock]:
    """An evening that has begun; nothing is spoken."""
    path, settings, clock = find_meal("fish-supper"), Settings(), FakeClock()
    card = read_card(path)
    first = EveningBegan(0.0, path.read_text(encoding="utf-8"), path.name, 17 * 3600.0, None, 2, "F", "US")
    evening = Evening.begin(Journal(tmp_path / "evening.sqlite"), clock, first, path.stem, lambda lines: None)
    return Understander(interpreter_for(card, settings), settings), evening, clock


def said(kitchen: tuple[Understander, Evening, FakeClock], heard: Hear) -> Command | Reject:
    """What becomes of it."""
    understander, evening, clock = kitchen
    words, belief, after_s = heard
    clock.advance(after_s)
    utterance = Utterance(words.removeprefix("*"), sure=words.startswith("*"), scores=Scores(belief=belief), engine="embedded")
    return understander.heard(utterance, evening, speaking=False, since_s=2.0)


@pytest.mark.parametrize(
    ("heard", "last"),
    [
        ([("kitchen how long on the chips", -0.8, 0), ("how long on the chips", -0.9, 5)], Intent.HOW_LONG),
        ([("kitchen how long on the chips", -0.8, 0), ("how much longer on the chips", -0.9, 5)], Intent.HOW_LONG),
        ([("kitchen how long on the chips", -0.8, 0), ("what did your mother say", 3.0, 3), ("how long on the chips", -0.9, 3)], Intent.HOW_LONG),
        ([("kitchen how long on the chips", -0.8, 0), ("how long on the chips", -1.3, 5)], "not_addressed"),  # together too unlikely
        ([("kitchen how long on the chips", -0.8, 0), ("how long on the chips", -0.9, 16)], "not_addressed"),  # too long ago
        ([("kitchen how long on the chips", -0.8, 0), ("how long on the peas", -0.9, 5)], "not_addressed"),  # about something else
        ([("how long on the chips", -0.8, 0), ("how long on the chips", -0.9, 5)], "not_addressed"),  # nobody asked for it again
        ([("kitchen how long on the chips", None, 0), ("how long on the chips", None, 5)], "not_addressed"),  # an ear without beliefs
        ([("kitchen burner up", -0.3, 0), ("kitchen burner up", -0.3, 5)], "unsure"),  # a flame is turned at once
        ([("kitchen fire", -0.3, 0), ("kitchen fire", -0.3, 5)], "unsure"),  # a danger has a weight of its own
        (
            [("kitchen how long on the chips", -0.8, 0), ("*kitchen what's next", 3.0, 3), ("how long on the chips", -0.9, 3)],
            "not_addressed",  # something else was said and done
        ),
    ],
)
def test_what_is_said_again_counts_with_what_was_asked_about(
    kitchen: tuple[Understander, Evening, FakeClock], heard: list[Hear], last: Intent | str
) -> None:
    """The last of these is acted on only if the one that was asked about meant the same, not long ago, and both together are likely."""
    done = [said(kitchen, one) for one in heard][-1]
    assert done.intent is last if isinstance(done, Command) else done.reason == last


def test_a_third_time_needs_a_second(kitchen: tuple[Understander, Evening, FakeClock]) -> None:
    """What was heard by two hearings is done once: one more like them stands alone again."""
    heard = [said(kitchen, ("kitchen how long on the chips", -0.8, 3.0)) for _ in range(3)]
    assert [isinstance(done, Command) for done in heard] == [False, True, False]
