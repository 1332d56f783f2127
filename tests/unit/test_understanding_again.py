"""A sentence said again: two unsure hearings decide together, at the place where what was heard becomes a command."""

from collections.abc import Iterator
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
from assistant.understanding.again import Unsure, together

Hear = tuple[str, float | None, float]
"""Words (a star before them: heard surely; a mark: typed), log odds, seconds after what was said before."""


@pytest.fixture
def kitchen(tmp_path: Path) -> Iterator[tuple[Understander, Evening, FakeClock]]:
    """An evening that has begun; nothing is spoken."""
    path, settings, clock = find_meal("fish-supper"), Settings(), FakeClock()
    card = read_card(path)
    first = EveningBegan(0.0, path.read_text(encoding="utf-8"), path.name, 17 * 3600.0, None, 2, "F", "US")
    journal = Journal(tmp_path / "evening.sqlite")
    evening = Evening.begin(journal, clock, first, path.stem, lambda lines: None)
    yield Understander(interpreter_for(card, settings), settings), evening, clock
    journal.close()


def said(kitchen: tuple[Understander, Evening, FakeClock], heard: Hear) -> Command | Reject:
    """What becomes of it."""
    understander, evening, clock = kitchen
    words, belief, after_s = heard
    clock.advance(after_s)
    if words.startswith("!"):
        return understander.typed(words[1:], evening)[0]
    utterance = Utterance(words.removeprefix("*"), sure=words.startswith("*"), scores=Scores(belief=belief), engine="embedded")
    return understander.heard(utterance, evening, speaking=False, since_s=2.0)


ASKED = "kitchen how long on the chips"


@pytest.mark.parametrize(
    ("heard", "last"),
    [
        ([(ASKED, -0.4, 0), ("how long on the chips", -0.5, 5)], Intent.HOW_LONG),
        ([(ASKED, -0.4, 0), ("how much longer on the chips", -0.5, 5)], Intent.HOW_LONG),
        ([(ASKED, -0.4, 0), ("the weather was so lovely", 3.0, 3), ("how long on the chips", -0.5, 3)], Intent.HOW_LONG),
        ([(ASKED, -0.4, 0), ("lifting them", 0.4, 3), ("how long on the chips", -0.5, 3)], Intent.HOW_LONG),  # talk, taken for a command
        ([(ASKED, -0.4, 0), ("how long on the chips", -0.7, 5)], "not_addressed"),  # together too unlikely
        ([(ASKED, -0.4, 0), ("how long on the chips", -0.5, 16)], "not_addressed"),  # too long ago
        ([(ASKED, -0.4, 0), ("how long on the peas", -0.5, 5)], "not_addressed"),  # about something else
        ([("how long on the chips", -0.4, 0), ("how long on the chips", -0.5, 5)], "not_addressed"),  # nobody asked for it again
        ([(ASKED, None, 0), ("how long on the chips", 0.4, 5)], "not_addressed"),  # a floor spoke against the first
        ([(ASKED, 0.4, 0), ("how long on the chips", None, 5)], "not_addressed"),  # or against the second
        ([(ASKED, -0.4, 0), ("*kitchen what's next", 3.0, 3), ("how long on the chips", -0.5, 3)], "not_addressed"),  # something else was done
        ([(ASKED, -0.4, 0), ("!how long on the chips", None, 3), ("how long on the chips", -0.5, 3)], "not_addressed"),  # typed, so done
    ],
)
def test_what_is_said_again_counts_with_what_was_asked_about(
    kitchen: tuple[Understander, Evening, FakeClock], heard: list[Hear], last: Intent | str
) -> None:
    """The last of these is acted on only if the one that was asked about meant the same, not long ago, and both together are likely."""
    done = [said(kitchen, one) for one in heard][-1]
    assert done.intent is last if isinstance(done, Command) else done.reason == last


@pytest.mark.parametrize(
    "words",
    [
        *("burner up", "turn the burner off", "oven off", "yes", "no", "core is at one sixty five", "drop it anyway"),
        *("fire", "it's boiling over", "it's smoking", "oil spill", "I burned my hand"),
    ],
)
def test_what_must_not_be_mistaken_is_heard_by_one_hearing(kitchen: tuple[Understander, Evening, FakeClock], words: str) -> None:
    """Dangers, flames, yes and no, a core and a drop against advice stay unsure however often they are heard so."""
    assert [said(kitchen, (f"kitchen {words}", 0.4, 3.0)) for _ in range(2)] == [Reject(f"kitchen {words}", "unsure")] * 2


LIFT, YES, OFF, LARGE, AT = (
    Command(Intent.LIFT, item="chips"),
    Command(Intent.YES),
    Command(Intent.SWITCHED, level="off"),
    Command(Intent.ANSWER, level="large"),
    Command(Intent.ANSWER, celsius=170.0),
)


@pytest.mark.parametrize(
    ("command", "before", "after", "heard"),
    [
        (LIFT, "", "oil:pot", True),
        (AT, "oil:pot", "oil:pot", True),
        (AT, "oil:pot", "oil:wok", False),
        (LARGE, "pot:size", "pot:size", False),
        (YES, "off:oven", "off:oven", False),
        (OFF, "off:burner", "off:oven", False),
    ],
)
def test_an_answer_is_the_same_only_to_the_same_question(command: Command, before: str, after: str, heard: bool) -> None:
    """A figure for one pot is none for another; what a step is told is, whatever else was asked."""
    assert together(Unsure(command, 0.4, 1.0, before), Unsure(command, 0.4, 5.0, after)) is heard


def test_a_third_time_needs_a_second(kitchen: tuple[Understander, Evening, FakeClock]) -> None:
    """What was heard by two hearings is done once: one more like them stands alone again."""
    heard = [said(kitchen, (ASKED, -0.4, 3.0)) for _ in range(3)]
    assert [isinstance(done, Command) for done in heard] == [False, True, False]
