"""Frozen food in the evening: moved in time, asked about when there is no time, planned anew when it is frozen still."""

from __future__ import annotations

from pathlib import Path

import pytest
from kitchen_kit import Kit

from assistant.evening import adoption
from assistant.kitchen.cards import find_meal, read_card
from assistant.kitchen.plan_live import plan_again
from assistant.runtime import plan_first, still_made
from assistant.session.evolve import replay

HOUR = 3600.0


@pytest.fixture
def card(tmp_path: Path) -> Path:
    """Sunday's thighs, bought frozen."""
    text = find_meal("sunday-thighs").read_text(encoding="utf-8")
    path = tmp_path / "frozen-thighs.yaml"
    frozen = text.replace("        raw: yes\n        kept: fridge", "        raw: yes\n        frozen: yes\n        kept: fridge", 1)
    path.write_text(frozen, encoding="utf-8")
    return path


def evening(card: Path, serve_t: float) -> Kit:
    """Planned to be served at that kitchen time."""
    return Kit(meal=str(card), people=4, serve_t=serve_t, plan=plan_first(read_card(card), 4, serve_t))


def test_with_time_to_thaw_it_is_moved_first_and_the_rest_is_tomorrow(card: Path) -> None:
    """For tomorrow night: from the freezer to the fridge a day before, once, and what comes before and after that silence is said; nothing else is of
    this session, and the plan knows that it was done."""
    kit = evening(card, 28 * HOUR)
    said = kit.say(5.0, "yes") + kit.wait(5 * HOUR)
    assert said[0] == "I call you at 19:08: raw thighs to thaw."
    assert said[1] == "Raw thighs from the freezer to the fridge, to thaw."
    assert said[2].startswith("Enough for now. Next: thighs season, tomorrow at ")
    assert len(said) == 3
    assert {getattr(f, "task", "") for f in kit.state.facts} == {"raw-thighs:thaw"}
    assert replay(kit.events) == kit.state


def test_without_time_it_is_asked_first_of_all_and_yes_goes_on(card: Path) -> None:
    """For tonight it should have thawed since yesterday: asked before anything is begun."""
    kit = evening(card, 4 * HOUR)
    assert kit.say(5.0, "yes") == ["Raw thighs: thawed in the fridge by now?"]
    assert kit.state.focus == ""
    assert kit.say(10.0, "yes")[0] == "Good: thawed."
    assert kit.state.focus != ""
    assert still_made(kit.state) == {"raw-thighs:thaw"}
    assert replay(kit.events) == kit.state


@pytest.mark.parametrize("answer", ["no", ""])
def test_frozen_still_is_planned_anew_for_the_next_day(card: Path, answer: str) -> None:
    """No, or no answer: nothing is begun until the plan with the thawing is there, which serves a day later and has it moved now."""
    kit = evening(card, 4 * HOUR)
    kit.say(5.0, "yes")
    said = kit.say(10.0, answer) if answer else kit.wait(130.0)
    assert said == ["Then dinner waits until it has."]
    assert still_made(kit.state) == frozenset()
    assert kit.state.plan is not None
    again = plan_again(kit.state.plan, still_made(kit.state), kit.state.facts, kit.state.t, kit.state.meal)
    assert again.serve_s > 24 * HOUR
    kit._add((adoption(again, kit.state.t, "made again"),))
    assert kit.wait(kit.state.t + 60.0)[0] == "Raw thighs from the freezer to the fridge, to thaw."


def test_where_no_plan_comes_the_evening_goes_on(card: Path) -> None:
    """A solver that fails leaves nobody waiting: after a while the steps are named as they can be begun."""
    kit = evening(card, 4 * HOUR)
    kit.say(5.0, "yes")
    kit.say(10.0, "no")
    assert kit.wait(60.0) != []
    assert kit.state.focus != ""
