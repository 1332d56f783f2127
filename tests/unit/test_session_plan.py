"""What the voice says of the plan: why serving slips, and how much goes into each batch."""

from __future__ import annotations

from dataclasses import replace

import pytest
from kitchen_kit import Kit

from assistant.kitchen.cards import find_meal, read_card
from assistant.kitchen.evening import BatchSize
from assistant.runtime import plan_first
from assistant.session import before_drop
from assistant.session import events as e
from assistant.session.evolve import replay
from assistant.session.turn import Turn


def kit(meal: str = "fish-supper", people: int = 2) -> Kit:
    """A planned evening, the time of day settled, nothing begun."""
    found = Kit(meal=meal, people=people, plan=plan_first(read_card(find_meal(meal)), people, None))
    found.say(5.0, "yes")
    return found


def moved(said: list[str]) -> list[str]:
    """What is said of serving."""
    return [words for words in said if words.startswith("Serving moves to ")]


@pytest.mark.parametrize(("meal", "cause"), [("fish-supper", "chips cut"), ("sunday-thighs", "thighs season")])
def test_a_slip_is_said_with_the_step_that_took_longer(meal: str, cause: str) -> None:
    """The first thing takes a quarter of an hour: the wait behind it is late for it, and it is the step that is named, in twelve words."""
    evening = kit(meal)
    evening.wait(900.0)
    said = moved(evening.say(905.0, "done with that"))
    assert [words.partition(": ")[2] for words in said] == [f"{cause} took longer."]
    assert len(said[0].split()) <= 12
    assert replay(evening.events) == evening.state


def test_more_people_are_the_reason_when_serving_moves_for_them() -> None:
    """Six instead of two: more batches, and that is said."""
    said = moved(kit().say(60.0, "there are six of us"))
    assert len(said) == 1
    assert said[0].endswith(": more eat now, six.")


def test_a_slip_does_not_change_what_the_cook_wants() -> None:
    """Serving slipped because the cutting took long; the plan still wants the old time, so that time made up brings it back."""
    evening = kit()
    wanted = evening.state.serve_t
    evening.wait(900.0)
    evening.say(905.0, "done with that")
    assert evening.state.serve_t > wanted
    assert not any(type(f).__name__ == "ServeAt" for f in evening.state.facts)
    evening.say(910.0, "serve at seven")
    assert [f.serve_s for f in evening.state.facts if type(f).__name__ == "ServeAt"] == [2.5 * 3600]


def reminded(evening: Kit, step: str) -> list[str]:
    """What is said before the next drop of a lot."""
    turn = Turn(evening.state, evening.state.t)
    before_drop.remind(turn, evening.state.meal.step(step))
    evening._add(tuple(turn.events))
    return [x.words for x in turn.events if isinstance(x, e.Said)]


def test_an_uneven_lot_is_said_batch_by_batch() -> None:
    """Five pieces of fish, the smaller batch first as planned: one, two, two, each once."""
    evening = kit(people=5)
    assert evening.state.plan is not None
    sizes = [BatchSize(0.15 * n, n) for n in (1, 2, 2)]
    evening.state = replace(evening.state, plan=replace(evening.state.plan, batches={**evening.state.plan.batches, "fish-fry": tuple(sizes)}))
    assert "Batch one of three: one piece." in reminded(evening, "fish-fry")
    assert not any("Batch one" in words for words in reminded(evening, "fish-fry"))
    evening._add((e.BatchBegun(10.0, "fish-fry", 1, 10.0), e.BatchIn(11.0, "fish-fry", 1), e.BatchLifted(300.0, "fish-fry", 1)))
    assert "Batch two of three: two pieces." in reminded(evening, "fish-fry")


def test_an_even_lot_is_said_at_its_first_batch() -> None:
    """Two batches of the same weight: once for both; a lot of one batch needs no word, and one that was cut smaller meanwhile has no planned size."""
    evening = kit()
    assert "Two batches, 220 grams each." in reminded(evening, "chips-first-fry")
    assert not any("batches" in words for words in reminded(evening, "fish-fry"))
    evening = kit()
    evening._add((e.NextBatch(10.0, "chips-first-fry", part=0.5),))
    assert not any("grams" in words for words in reminded(evening, "chips-first-fry"))


def test_what_waits_well_is_not_begun_early() -> None:
    """With an hour to spare the chips stay in their water until the plan has them rinsed and dried; cut potatoes brown in the air."""
    plan = plan_first(read_card(find_meal("fish-supper")), 2, 3 * 3600.0)
    evening = Kit(serve_t=3 * 3600.0, plan=plan)
    evening.say(5.0, "yes")
    dried = evening.state.start_of("chips-dry")
    t = 10.0
    while t < dried - 60.0:
        evening.wait(t)
        if evening.state.focus:
            assert evening.state.focus != "chips-dry"
            evening.say(t, "done with that")
        t += 30.0
    evening.wait(dried + 1.0)
    assert evening.state.focus == "chips-dry"
