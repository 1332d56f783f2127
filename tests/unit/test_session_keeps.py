"""What a cook asks about food that waits, and about help: how long it may stay as it is, what the oven holds, whom to call."""

from __future__ import annotations

import pytest
from kitchen_kit import Kit

from assistant.kitchen.food_clocks import KINDS, Kind, Place
from assistant.kitchen.ledger import Ledger, Made, apply
from assistant.kitchen.notices import standing
from assistant.session import events as e


def test_how_long_food_may_stay_out_is_answered_by_its_clock() -> None:
    """USDA FSIS: two hours out in all (40 F to 140 F), whatever was in the fridge between; then it is discarded."""
    kit = Kit()
    begin = kit.state.t
    assert kit.say(begin + 5, "how long can the fish stay out") == ["White fish: two hours once out, forty-seven hours kept cold."]
    kit.say(begin + 10, "the fish is on the counter")
    kit.wait(begin + 1810)
    assert kit.say(begin + 1811, "how long has the fish been out") == ["White fish out thirty minutes: fridge or cook within one hour twenty-five."]
    kit.say(begin + 1820, "the fish is in the freezer")
    assert kit.say(begin + 1830, "is the fish still good") == ["White fish: one hour twenty-five once out."]
    kit.say(begin + 1840, "the fish is on the counter")
    kit.wait(begin + 7300)
    assert kit.say(begin + 7301, "is the fish still safe") == ["Discard the white fish: out too long."]


def test_of_several_things_the_most_urgent_is_told_first() -> None:
    """Two are told of at most, so the one that must be thrown away is never the one left out."""
    ledger = Ledger()
    for t, id, place in ((0.0, "a", Place.FRIDGE), (0.0, "b", Place.COUNTER), (7000.0, "c", Place.COUNTER)):
        ledger, _ = apply(ledger, Made(t, id, f"fish {id}", Kind.RAW_FISH, place))
    said = standing(ledger, ["a", "b", "c"], 7300.0)
    assert [next(id for id in "abc" if f"fish {id}" in words.lower()) for words in said] == ["b", "c", "a"]


@pytest.mark.parametrize("place", Place)
@pytest.mark.parametrize("kind", KINDS)
def test_what_is_told_of_food_is_one_breath(kind: Kind, place: Place) -> None:
    """At most 12 words, whatever it is, wherever it stands and however long its name."""
    ledger, _ = apply(Ledger(), Made(0.0, "x", "thick smoked haddock belly pieces", kind, place))
    for t in (0.0, 1800.0, 5000.0, 8000.0):
        assert all(len(words.split()) <= 12 for words in standing(ledger, ["x"], t))


def test_food_that_no_clock_is_kept_for_is_not_called_safe() -> None:
    """Also the batter, which is of the same dish as raw fish and is not that."""
    kit = Kit()
    assert kit.say(kit.state.t + 5, "how long can the batter stay out") == ["No food clock runs on that."]


def test_where_the_batter_is_says_nothing_of_the_raw_fish_it_is_for() -> None:
    """Its clock would stop, with the fish still out."""
    kit = Kit()
    begin = kit.state.t
    kit.say(begin + 5, "the fish is on the counter")
    kit.say(begin + 10, "the batter is in the fridge")
    places = {item.name: item.place for item in kit.state.ledger.open()}
    assert places["white fish"] is Place.COUNTER
    assert places["batter mix"] is Place.FRIDGE


def test_what_is_in_the_oven_is_not_what_is_in_the_oil() -> None:
    """What bakes, with its time, and what is kept hot."""
    kit = Kit()
    t = kit.reach_first_fry()
    kit.say(t, "chips down")
    assert kit.say(t + 5, "what's in the oven") == ["Nothing is in the oven that I know of."]
    assert kit.say(t + 10, "what's in the oil")[0].startswith("Chips: ")
    kit.say(t + 15, "the tartare sauce is in the oven")
    assert kit.say(t + 20, "what's in the oven") == ["Tartare sauce: kept hot."]


def test_the_emergency_number_is_said_at_once_and_stops_no_script() -> None:
    """In a fire too, where every other question is answered with the order that was said last."""
    kit = Kit()
    t = kit.reach_first_fry()
    kit.say(t, "chips down")
    kit.say(t + 40, "fire")
    assert kit.say(t + 42, "what's the emergency number")[-1] == "Call nine one one."
    assert "No water." in kit.wait(t + 60)
    assert not any(isinstance(x, e.ScriptEnded) for x in kit.events)


@pytest.mark.parametrize("words", ["can I put the fish in", "can I fry the fish yet"])
def test_whether_food_may_go_in_is_answered_like_when(words: str) -> None:
    """By the plan, while the pot is for something else."""
    kit = Kit()
    t = kit.reach_first_fry()
    assert kit.say(t, words) == kit.say(t + 1, "when do I drop the fish")
