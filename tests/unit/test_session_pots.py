"""A pot named by the cook, where there are two; and which is meant when none is named."""

from __future__ import annotations

from pathlib import Path

import pytest
from kitchen_kit import Kit

from assistant.session.evolve import replay


@pytest.fixture
def kit(two_pots: Path) -> Kit:
    """A fish supper whose fish has a pot of its own, the time of day settled."""
    found = Kit(meal=str(two_pots))
    found.say(5.0, "yes")
    return found


def levels(kit: Kit) -> tuple[str, str]:
    """How the burners stand: big pot, small pot."""
    return kit.state.pots["big-pot"].level, kit.state.pots["small-pot"].level


@pytest.mark.parametrize("words", ["small pot burner on", "small pot on", "the burner under the small pot is on"])
def test_a_burner_is_that_of_the_pot_that_was_named(kit: Kit, words: str) -> None:
    """Each way to say it; the other pot stays off."""
    assert kit.say(60.0, words)[-1] == "Burner on, noted."
    assert levels(kit) == ("off", "on")


def test_a_reading_is_of_the_pot_that_was_named(kit: Kit) -> None:
    """Both are hot: each reading goes to its own pot and is judged by what goes into that."""
    kit.say(60.0, "big pot burner on")
    kit.say(62.0, "small pot burner on")
    assert "Oil 200, wants 355." in kit.say(300.0, "the small pot is at two hundred")
    assert "Oil 190, wants 300." in kit.say(310.0, "oil in the big pot at one ninety")
    read = [kit.state.pots[i].oil_c for i in ("big-pot", "small-pot")]
    assert [round((c or 0.0) * 1.8 + 32) for c in read] == [190, 200]
    assert replay(kit.events) == kit.state


def test_without_a_name_the_one_to_be_lit_is_meant_and_then_the_one_that_was_asked_about(kit: Kit) -> None:
    """The check before the second pot is lit makes "burner on" its own; a question about the oil takes the number that answers it."""
    kit.say(60.0, "big pot burner on")
    t = next(at for at in range(70, 7200, 10) if "Small pot: light the burner. Oil to 355." in kit.wait(float(at)))
    assert kit.say(t + 10.0, "burner on full")[-1] == "Burner full, noted."
    assert levels(kit)[1] == "full"


def test_a_kitchen_with_one_pot_has_no_names_for_it() -> None:
    """There the oil is the oil: nothing more is listened for."""
    assert Kit().say(60.0, "big pot on")[-1] in ("Say that again?", "No big pot in this meal.")
