"""What is left out in the middle of an evening: a dish by its name, the rest of a lot whose coating ran out; and why a thing is not done yet."""

from __future__ import annotations

import pytest
from kitchen_kit import Kit

from assistant.kitchen.cards import find_meal, read_card
from assistant.kitchen.evening import EveningPlan
from assistant.kitchen.plan_live import shift
from assistant.runtime import plan_first
from assistant.session import plan
from assistant.session.evolve import replay
from assistant.session.state import Status

GONE = Status.SKIPPED


def kit(people: int = 2) -> Kit:
    """A planned fish supper, the time of day settled, nothing begun."""
    found = Kit(people=people, plan=plan_first(read_card(find_meal("fish-supper")), people, None))
    found.say(5.0, "yes")
    return found


def gone(evening: Kit) -> set[str]:
    """The dishes and components of which nothing is left to do, as they were left out."""
    return {d.id for d in evening.state.meal.dishes if all(evening.state.steps[s.id].status is GONE for s in d.steps)}


def test_a_dish_is_meant_by_its_name() -> None:
    """Asked once for the whole dish; then none of its steps is left, in the session or in the plan, and nothing else moves."""
    evening = kit()
    serve = evening.state.serve_t
    assert evening.say(10.0, "skip the peas") == ["Leave out all of the peas?"]
    assert gone(evening) == set()
    assert evening.say(12.0, "yes") == ["Left out: peas."]
    assert gone(evening) == {"peas"}
    assert not {s for s, _, _ in plan.slots_of(_shifted(evening), evening.state.meal) if s.startswith("peas")}
    assert evening.state.serve_t == serve
    assert evening.say(20.0, "skip the peas") == ["Nothing of that is under way."]
    assert replay(evening.events) == evening.state


def test_a_no_leaves_the_dish() -> None:
    """Nothing goes without a yes."""
    evening = kit()
    evening.say(10.0, "leave out the peas")
    assert evening.say(12.0, "no") == ["Left as it was."]
    assert gone(evening) == set()


def test_a_component_goes_with_the_last_dish_that_needs_it() -> None:
    """Chips and fish both take sauce: it goes with the second of them, and not with the first."""
    evening = kit()
    evening.say(10.0, "skip the chips")
    evening.say(12.0, "yes")
    assert gone(evening) == {"chips"}
    evening.say(20.0, "skip the fish")
    evening.say(22.0, "yes")
    assert gone(evening) == {"chips", "fish", "tartare-sauce"}


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("skip the lemon", "Leave out lemon cut?"),
        ("skip the butter", "That is only a part of the peas."),
        ("skip the batter", "Leave out batter mix?"),
    ],
)
def test_what_a_dish_is_made_of_is_no_step(words: str, said: str) -> None:
    """A step that is called after it is meant; where there is none the cook is told, and no other step is offered in its place."""
    assert kit().say(10.0, words) == [said]


def test_a_pot_that_nothing_goes_into_any_more_is_turned_off() -> None:
    """Lit for chips and fish, and both are left out before the first drop: the burner is called off."""
    evening = kit()
    evening.say(60.0, "burner on full")
    for t, words in ((70.0, "skip the chips"), (72.0, "yes"), (80.0, "skip the fish"), (82.0, "yes")):
        said = evening.say(t, words)
    said += evening.wait(150.0)
    assert said.count("Nothing goes into that pot any more. Burner off.") == 1


def test_what_is_in_the_oil_is_lifted_and_nothing_follows_it() -> None:
    """Chips are left out with their first batch in: it is named, called out in its time, and no second batch is called."""
    evening = Kit()
    t = evening.reach_first_fry()
    evening.say(t, "chips down")
    evening.say(t + 15, "burner full")
    evening.say(t + 20, "skip the chips")
    assert evening.say(t + 22, "yes") == ["Left out: chips.", "Still in the heat: chips."]
    assert "Lift the chips." in evening.wait(t + 365)
    assert "Chips out. Drain, season, skim the crumbs." in evening.say(t + 366, "chips out")
    assert evening.state.steps["chips-first-fry"].status is Status.DONE
    assert {evening.state.steps[s].status for s in ("chips-second-fry", "chips-salt", "chips-plate")} == {GONE}
    assert not [words for words in evening.wait(t + 900) if "chips" in words.lower()]
    assert replay(evening.events) == evening.state


def test_out_of_coating_before_the_first_batch_is_the_whole_dish() -> None:
    """Flour is what the fish is coated with; salt is not, and is only noted."""
    evening = kit()
    assert evening.say(10.0, "out of salt") == ["Out of salt, noted."]
    assert evening.say(20.0, "out of flour") == ["Without flour: leave out all of the fish?"]
    evening.say(22.0, "yes")
    assert "fish" in gone(evening)


def test_out_of_coating_ends_the_lot_with_what_is_fried() -> None:
    """Four pieces in two batches, batter gone after the first: the second is no longer called nor planned, and the first is plated."""
    evening = kit(people=4)
    t = 60.0
    for step in ("fish-dry", "fish-chill", "batter-mix", "batter-rest", "lemon-cut"):
        evening.say(t, f"done with the {evening.state.meal.step(step).said[0]}")
    evening.say(t, "burner on full")
    evening.say(t + 5, "fish down")
    evening.say(t + 340, "fish out")
    assert evening.state.steps["fish-fry"].full_batches == 1
    assert evening.say(t + 350, "out of batter") == ["Without batter mix: leave out the rest of the fish?"]
    assert evening.say(t + 352, "yes")[0] == "Left out: the rest of the fish."
    assert evening.state.steps["fish-fry"].status is Status.DONE
    assert evening.state.steps["fish-plate"].status is Status.TODO
    assert {x.batch for x in _shifted(evening).tasks if x.step == "fish-fry"} == {1}
    assert replay(evening.events) == evening.state


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("done with the chips dry", "Not yet: chips dry waits for chips soak."),
        ("done with the second fry", "Not yet: chips second fry waits for chips rest."),
        ("starting the mash", "Not yet: peas mash waits for peas simmer."),
    ],
)
def test_what_is_not_possible_yet_names_what_it_waits_for(words: str, said: str) -> None:
    """Done or begun before its turn: what comes before it is said."""
    evening = kit()
    words = words.replace("second fry", evening.state.meal.step("chips-second-fry").said[0])
    words = words.replace("mash", evening.state.meal.step("peas-mash").said[0])
    assert evening.say(10.0, words) == [said.replace("chips second fry", evening.state.meal.step("chips-second-fry").said[0])]


def test_what_is_done_is_said_to_be() -> None:
    """Told twice: finished, and nothing else changes."""
    evening = kit()
    evening.say(10.0, "done with the lemon cut")
    before = evening.state.steps
    assert evening.say(20.0, "done with the lemon cut") == ["Lemon cut, finished."]
    assert evening.state.steps == before


def _shifted(evening: Kit) -> EveningPlan:
    assert evening.state.plan is not None
    return shift(evening.state.plan, evening.state.facts, evening.state.t, evening.state.meal)
