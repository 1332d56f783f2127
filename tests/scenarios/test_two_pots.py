"""Two pots on the stove, each with its own oil: whoever does what is said gets dinner, and every word about oil says whose."""

from __future__ import annotations

from pathlib import Path

import pytest
from obedient_cook import Cook

from assistant.session import events as e
from assistant.session.state import Status

SERVE = 2 * 3600.0


@pytest.fixture(scope="module")
def cook(two_pots: Path) -> Cook:
    """An evening with it, by the plan."""
    found = Cook(str(two_pots), planned=True, serve_t=SERVE)
    found.run()
    return found


def test_dinner_is_up_in_time(cook: Cook) -> None:
    """Every step is done, within ten minutes of the time that was asked for."""
    assert {i for i, run in cook.state.steps.items() if run.status is not Status.DONE} == set()
    assert abs(cook.evening.kitchen_time() - SERVE) < 600.0


def test_every_drop_goes_into_its_own_oil(cook: Cook) -> None:
    """Both pots were lit, once each, and every batch went into oil near its own set point by the pots' own physics."""
    assert {x.pot for x in cook.events if isinstance(x, e.BurnerSet)} == {"big-pot", "small-pot"}
    assert {step for step, _, _ in cook.drops} == {"chips-first-fry", "chips-second-fry", "fish-fry"}
    assert [(step, round(off, 1)) for step, test, off in cook.drops if not test and not -8.0 < off < 12.0] == []


def test_words_about_oil_name_the_pot(cook: Cook) -> None:
    """Lighting, readings and the flame: always with the pot's name."""
    said = [words for _, way, words in cook.lines if way == "<"]
    about = [w for w in said if "light the burner" in w.lower() or "what is the oil at" in w.lower()]
    about += [w for w in said if "burner" in w.lower() and w.endswith((" a little.", " burner down.", "to full."))]
    assert len(about) > 10
    assert [w for w in about if not w.startswith(("Big pot: ", "Small pot: ", "No reading yet."))] == []


def test_a_reading_is_of_the_pot_that_was_asked_about(cook: Cook) -> None:
    """Each question for a temperature is followed by a reading of that pot."""
    asked: list[str] = []
    for x in cook.events:
        if isinstance(x, e.Asked) and x.question.startswith("oil:"):
            asked.append(x.question.removeprefix("oil:"))
        elif isinstance(x, e.OilRead):
            assert x.pot in asked
