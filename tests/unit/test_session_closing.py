"""Dinner is up: burner and oven are asked about until they are answered, and nothing that was to be said is lost."""

from __future__ import annotations

import pytest
from kitchen_kit import Kit

from assistant.session.oven import OFF

REST = "Handle turned in, lid near? Children away from the oil."


def _up_to_the_chips() -> Kit:
    kit = Kit()
    t = kit.reach_first_fry()
    kit.say(t, "chips in")
    kit.say(t + 300, "chips out")
    return kit


@pytest.fixture
def kit() -> Kit:
    """Dinner is up with the burner still on; something was kept warm in the oven."""
    kit = _up_to_the_chips()
    kit.say(1990, "the chips are in the oven")
    assert kit.say(2000, "dinner's up")[-1] == "Burner off?"
    return kit


def test_yes_is_a_fact_about_the_burner_and_the_next_question_follows(kit: Kit) -> None:
    """Yes: the burner is off; then the oven, then the rest, and no word on the flame any more."""
    assert kit.say(2005, "yes") == ["Oven off?"]
    assert not kit.state.pots["big-pot"].on
    assert kit.say(2010, "yes")[0] == REST
    assert [w for w in kit.wait(3000) if "urner" in w] == []


def test_an_oven_that_nothing_was_in_is_not_asked_about() -> None:
    """No dish used it tonight: the burner alone is a question, and the rest follows its answer."""
    kit = _up_to_the_chips()
    assert kit.say(2000, "dinner's up")[-1] == "Burner off?"
    said = kit.say(2005, "yes")
    assert said[0] == REST
    assert not [w for w in [*said, *kit.wait(2100)] if "ven off" in w]


def test_an_oven_told_to_be_off_is_not_asked_about(kit: Kit) -> None:
    """Said as an answer or before dinner: the rest follows at once."""
    kit.say(2005, "yes")
    assert kit.say(2010, "oven's off")[:2] == ["Oven off, noted.", REST]
    before = _up_to_the_chips()
    before.say(1990, "the chips are in the oven")
    before.say(1995, "turned the oven off")
    before.say(2000, "dinner's up")
    assert before.say(2005, "yes")[0] == REST


def test_what_goes_into_an_oven_told_to_be_off_has_it_asked_about_again() -> None:
    """It was turned on again without a word."""
    kit = _up_to_the_chips()
    kit.say(1985, "oven off")
    kit.say(1990, "the chips are in the oven")
    kit.say(2000, "dinner's up")
    assert kit.say(2005, "yes") == ["Oven off?"]
    bake = Kit(meal="sunday-thighs")
    bake.say(10, "oven off")
    bake.say(20, "the cauliflower is in the oven")
    assert OFF not in bake.state.told


def test_it_is_what_was_asked_about(kit: Kit) -> None:
    """At "Oven off?" whoever turned it off turned the oven off; that it is on is a no."""
    kit.say(2005, "yes")
    assert kit.say(2008, "the oven is on") == ["Turn it off first, then sit down."]
    assert kit.say(2010, "turned it off")[:2] == ["Oven off, noted.", REST]


def test_an_oven_told_to_be_on_is_asked_about_though_no_dish_used_it() -> None:
    """Whatever it was on for."""
    kit = _up_to_the_chips()
    kit.say(1990, "the oven is on")
    kit.say(2000, "dinner's up")
    assert kit.say(2005, "yes") == ["Oven off?"]


def test_no_has_it_turned_off_and_is_asked_once_more(kit: Kit) -> None:
    """A second no is not argued with, but the burner stays known to be on and is called again."""
    assert kit.say(2005, "no") == ["Turn it off first, then sit down.", "Burner off?"]
    assert kit.say(2020, "no") == ["Turn it off first, then sit down.", "Oven off?"]
    assert kit.state.pots["big-pot"].on
    kit.say(2025, "yes")
    assert "That was the last batch. Burner off." in kit.wait(2400)


def test_silence_is_asked_once_more_and_then_the_rest_is_said(kit: Kit) -> None:
    """Nobody is there who answers neither: what must go into the fridge is said all the same, once, and the oven is named."""
    said = kit.wait(2100)
    assert said[:3] == ["Burner off?", "Oven off?", REST]
    assert said.count(REST) == 1


def test_a_burner_that_is_told_off_answers_the_question(kit: Kit) -> None:
    """ "Burner off" means the same as yes."""
    assert kit.say(2005, "burner off") == ["Burner off, noted.", "Oven off?"]


def test_a_danger_in_between_loses_nothing(kit: Kit) -> None:
    """First aid first; when the evening goes on, what is left of the closing check follows."""
    kit.say(2005, "I burned my hand")
    kit.wait(2050)
    kit.say(2060, "no")
    said = [*kit.say(2100, "carry on"), *kit.say(2105, "yes")]
    assert "Oven off?" in said
    assert REST in said


def test_dinner_said_again_is_asked_again(kit: Kit) -> None:
    """Whoever comes back to the stove and says it again is asked again."""
    kit.say(2005, "yes")
    kit.say(2010, "yes")
    assert kit.say(2500, "dinner's up") == ["To the table. Before you sit down.", "Is every burner off?"]
    kit.say(2505, "yes")
    assert REST in kit.say(2510, "yes")
