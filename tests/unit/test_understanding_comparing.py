"""Sentences that the recogniser hesitates between, compared by what they mean."""

from functools import cache

import pytest

from assistant.kitchen.cards import find_meal, read_card
from assistant.kitchen.meal import names
from assistant.session.commands import Intent
from assistant.understanding.comparing import ALIKE, TOSS, Comparing
from assistant.understanding.expecting import Moment
from assistant.understanding.interpreter import Interpreter


@cache
def comparing(units: str = "F", accepts: frozenset[Intent] = frozenset()) -> Comparing:
    """A fish supper's sentences; accepts: what the open question takes."""
    said = names(read_card(find_meal("fish-supper")))
    return Comparing(Interpreter(said, units), said, lambda: Moment(accepts))


@pytest.mark.parametrize("units", ["F", "C"])
@pytest.mark.parametrize(
    ("words", "others", "another"),
    [
        ("the oil is at three fifty", "the oil is at three fifteen", True),
        ("the oil is at one eighty", "the oil is at one eighty celsius", False),
        ("the oil is at one eighty celsius", "the oil is at one sixty celsius", True),
        ("oil is at three hundred and fifty", "the oil is at 350", False),
        ("the fish is at one fifty", "the fish is at one fifteen", True),
        ("set a clock for thirty minutes", "set a timer for thirteen minutes", True),
        ("set a clock for thirty minutes", "thirty minutes on the clock", False),
        ("set a clock for ninety seconds", "set a clock for a minute and a half", False),
        ("two more minutes on the chips", "ten more minutes on the chips", True),
        ("serve at seven fifteen", "serve at seven fifty", True),
        ("serve at seven fifteen", "serve at quarter past seven", False),
        ("serve at seven fifteen", "set a clock for seven fifty", False),  # another intent
        ("there are six of us", "there are sixteen of us", False),  # said back, and nothing hot goes by it
        ("six thirty", "half past six", False),  # answers
        ("dropping the chips", "dropping the fish", False),
        ("umbrella", "the oil is at three fifty", False),
    ],
)
def test_another_figure(units: str, words: str, others: str, another: bool) -> None:
    """The same intent with another temperature or time, either way round, in both units."""
    assert comparing(units).other_figure(words, others) is another
    assert comparing(units).other_figure(others, words) is another


@pytest.mark.parametrize(
    ("words", "others", "opposite"),
    [
        ("turn the burner up", "turn the burner off", True),
        ("burner off", "turned it off", False),
        ("the oven is on", "the oven is off", True),
        ("the oven is on", "the burner is on", True),
        ("burner off", "chips out", False),
        ("that's right", "that's wrong", True),
        ("no", "okay", True),
        ("yes", "okay", False),
        ("no", "chips out", False),
    ],
)
def test_what_is_the_opposite(words: str, others: str, opposite: bool) -> None:
    """Another level, oven for burner, or yes for no."""
    assert comparing().opposite(words, others) is opposite


def test_an_order_leads_the_report_of_it_unless_that_was_asked_for() -> None:
    """By more where heat grows less; not at all when a question about it is open, or where they turn otherwise."""
    assert comparing().order("turned the burner off", "turn the burner off") == ALIKE
    assert comparing().order("turned the burner up", "turn the burner up") == TOSS
    assert comparing().order("turned the burner up", "turn the burner off") == 0.0
    assert comparing(accepts=frozenset({Intent.BURNER})).order("turned the burner off", "turn the burner off") == 0.0


def test_ways_to_say_a_temperature_are_one_when_it_is_asked_for() -> None:
    """ "340" may be a time too; to a question about the oil it is what "three forty" is."""
    asked = comparing(accepts=frozenset({Intent.OIL_TEMP}))
    assert asked.meaning("three forty") == asked.meaning("340")
    assert comparing().meaning("umbrella") is None


def test_names_and_dangers() -> None:
    """The words that name a dish; a danger, but not one called off."""
    assert "chips" in comparing().named("dropping the chips")
    assert comparing().danger("fire")
    assert not comparing().danger("false alarm")
