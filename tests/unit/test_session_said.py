"""What the session answers to a question about a danger or a temperature, to an unknown name, and how it says a command back."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from kitchen_kit import Kit, first_event

from assistant.evening import adopt_order
from assistant.kitchen.scripts import advice
from assistant.session import events as e
from assistant.session.commands import SLOTS, Command, Intent, Reject
from assistant.session.decide import start
from assistant.session.evolve import evolve, first_state
from assistant.session.said_back import said_back
from assistant.speaking import prompts
from assistant.understanding.interpreter import Interpreter

DANGER = Interpreter(()).danger
VALUES = {"item": "chips", "hazard": "fire", "seconds": 450.0, "celsius": 170.0, "level": "down", "litres": 0.5, "place": "fridge", "count": 6}
MORE = {"day_s": 66600.0, "look": "pale", "text": "more salt"}


@pytest.mark.parametrize(
    ("said", "hazard"),
    [("how do I put out a fire", "fire"), ("what do I do if the oil catches fire", "fire"), ("what do I do if I burn myself", "burn")],
)
def test_a_danger_asked_about_is_answered_and_begins_nothing(said: str, hazard: str) -> None:
    """The answer is the script's in short; no script, no hold, no clock."""
    kit = Kit()
    t = kit.reach_first_fry()
    assert kit.say(t, said) == list(advice(hazard))
    assert (kit.state.script, kit.state.held_t, dict(kit.state.clocks)) == (None, None, {})


def test_what_to_do_about_a_cut_begins_with_the_burner_where_one_is_on() -> None:
    """Whoever holds a finger under the tap does not watch the oil."""
    kit = Kit()
    t = kit.reach_first_fry()
    kit.wait(t + 60)
    assert kit.say(t + 61, "I've cut my finger") == [prompts.NOBODY_AT_THE_OIL, *advice("cut")]


@pytest.mark.parametrize(
    ("meal", "said", "lines"),
    [
        ("fish-supper", "what temperature for the fish", ["Fish: oil at 355.", "Fish: core 145."]),
        ("fish-supper", "how hot for the chips", ["Chips first fry: oil at 300.", "Chips second fry: oil at 347."]),
        ("fish-supper", "how hot should the oil be", ["Chips: oil at 300."]),
        ("fish-supper", "what temperature for the tartare sauce", ["The card has no temperature for that."]),
        ("sunday-thighs", "what temperature for chicken", ["Thighs: oil at 335.", "Thighs: core 165."]),
        ("sunday-thighs", "how hot must the raw chicken be inside", ["Thighs: oil at 335.", "Thighs: core 165."]),
        ("fritter-night", "what temperature for the bread", ["Bread: oven at 475."]),
        ("fritter-night", "what temperature for the fritters", ["Fritters: oil at 350.", "Fritters: core 160."]),
    ],
)
def test_temperatures_asked_for_are_the_cards(meal: str, said: str, lines: list[str]) -> None:
    """Set point of the oil, the oven, and the core that is judged (egg dishes 160 F, the US chart)."""
    assert kit_said(meal, said) == lines


def kit_said(meal: str, said: str) -> list[str]:
    """What is said to these words early in an evening."""
    kit = Kit(meal)
    kit.say(5, "yes")
    return kit.say(20, said)


def test_an_evening_without_a_thermometer_begins_by_saying_what_cannot_be_done() -> None:
    """Raw poultry: said with the first words, with what to cook instead, before anything is cut."""
    first = first_event("sunday-thighs")
    bare = replace(first, card=first.card.replace("core thermometer: yes", "core thermometer: no"), instead="chips")
    state = first_state(bare)
    said = [x.words for x in start(evolve(state, adopt_order(state, 0.0, "test")), 0.0) if isinstance(x, e.Said)]
    assert said[4:6] == ["Thighs: cannot be called done without a thermometer.", "Cook chips instead, or buy a thermometer."]


def test_an_unknown_name_is_said_back_alone() -> None:
    """Not the whole sentence; a name that holds a shouted word is not said at all."""
    assert kit_said("fish-supper", "done with the porridge")[0] == "No porridge in this meal."
    assert kit_said("fish-supper", "done with the mushed peas") == ["Did you mean that peas are done?"]
    kit = Kit()
    assert kit.do(10, Reject("done with the fire", "unknown_item", None, "fire")) == [prompts.SAY_AGAIN]


def test_so_many_more_people_are_said_back_as_more() -> None:
    """Not as so many in all."""
    assert said_back(Kit().state, Command(Intent.HEADCOUNT, count=2, sign="more")) == "two more people"
    assert said_back(Kit().state, Command(Intent.HEADCOUNT, count=6)) == "six people"


@pytest.mark.parametrize("intent", list(Intent))
def test_every_command_is_said_back_in_a_cooks_words(intent: Intent) -> None:
    """At most nine words, no name of the program's own, nothing that it would act on when it hears itself."""
    must, may = SLOTS.get(intent, (frozenset(), frozenset()))
    for names in (must, must | may):
        values = {n: (VALUES | MORE)[n] for n in names if n in VALUES | MORE}
        words = said_back(Kit().state, Command(intent, **values))  # type: ignore[arg-type]
        asked = prompts.did_you_mean(words)
        assert len(asked.split()) <= 12
        assert "_" not in words
        assert "None" not in words
        plain = re.sub(r"[^a-z' ]", " ", asked.lower()).split()
        assert not any(DANGER.complete(plain[i:j]) for i in range(len(plain)) for j in range(i + 1, len(plain) + 1)), asked


def test_food_that_burns_in_the_oil_is_to_come_out() -> None:
    """ "The chips are burning": lift them and turn the flame down; what has come out already is judged as dark."""
    kit = Kit()
    t = kit.reach_first_fry()
    kit.say(t, "chips down")
    kit.wait(t + 60)
    assert kit.say(t + 61, "the chips are burning") == ["Lift the chips.", "Turn the burner down."]
    kit.say(t + 70, "chips out")
    assert kit.say(t + 75, "the chips are burnt")[0].startswith("Dark: ")
