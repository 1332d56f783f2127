"""Late guests in single turns: how it is said, what is divided, and what is not."""

from __future__ import annotations

import pytest
from kitchen_kit import Kit

from assistant.kitchen.cards import find_meal, read_card
from assistant.runtime import plan_first
from assistant.session import events as e
from assistant.session.agenda import agenda
from assistant.session.evolve import replay
from assistant.session.state import LATE, Status


def kit(people: int = 4) -> Kit:
    """A planned fish supper, the time of day settled, nothing begun."""
    found = Kit(people=people, plan=plan_first(read_card(find_meal("fish-supper")), people, None))
    found.say(5.0, "yes")
    return found


@pytest.mark.parametrize("words", ["two are late", "two guests are missing", "two of us are not here yet"])
def test_late_guests_are_said_in_one_sentence(words: str) -> None:
    """At any time; what is not in the oil is divided, and the times of the second wave are said."""
    evening = kit()
    said = evening.say(20.0, words)
    assert said[0] == "Cook for two; chips and fish for the rest into the fridge."
    assert said[1].startswith("Second wave, chips and fish: in at ")
    late = {s for s in evening.state.steps if s.endswith(LATE)}
    assert {"fish-fry-late", "fish-plate-late", "chips-second-fry-late", "chips-plate-late"} <= late
    assert "chips-first-fry-late" not in late  # half-fried together, finished apart
    first, second = (evening.state.meal.step(s).fry for s in ("fish-fry", "fish-fry-late"))
    assert first is not None
    assert second is not None
    assert (first.pieces, second.pieces) == (2, 2)
    assert replay(evening.events) == evening.state


def test_whoever_said_that_some_are_late_is_not_asked_whether_everyone_is_there() -> None:
    """Asked in an evening where nobody said anything; not after "two are late"."""
    for words, asked in (("what's next", True), ("two are late", False)):
        evening = kit()
        evening.say(20.0, words)
        assert ("everyone" in {due.key for due in agenda(evening.state)}) is asked


def test_someone_is_asked_how_many() -> None:
    """ "Not everyone is here" wants a number; so few are never taken for degrees."""
    evening = kit()
    assert evening.say(20.0, "not everyone is here") == ["How many are late?"]
    assert evening.say(25.0, "one")[0].startswith("Cook for three; ")


def test_when_all_are_late_the_serving_moves_instead() -> None:
    """There is no first wave without anybody to eat it."""
    evening = kit()
    assert evening.say(20.0, "four of us are late") == ["Then all of it waits. Say how late you run."]
    assert evening.state.second == {}


def test_what_is_cooked_is_not_divided() -> None:
    """Once every batch is out there is nothing to keep back, and nothing is held."""
    evening = kit()
    evening._add(tuple(e.StepDone(30.0, s.id) for s in evening.state.meal.steps() if s.fry is not None))
    assert "All of it is cooked already. Serve it now." in evening.say(40.0, "two are late")
    assert evening.state.second == {}


def test_the_plan_of_the_first_wave_has_no_batch_more_than_it_needs() -> None:
    """Eight eat fish in several batches; with four late half of them go, and what follows the last batch follows the one that is left."""
    evening = kit(8)
    assert evening.state.plan is not None
    before = len(evening.state.plan.batches["fish-fry"])
    evening.say(20.0, "four are late")
    fry = evening.state.meal.step("fish-fry").fry
    assert fry is not None
    assert fry.batches == -(-before // 2)
    slots = {step: (start, end) for step, start, end in evening.state.slots}
    assert slots["fish-drain"][0] >= slots["fish-fry"][1] - 80.0


def test_raw_food_that_waits_stays_on_its_clock() -> None:
    """The fish of the second wave is as old as the rest of it, in the fridge, and ends when it is cooked."""
    evening = kit()
    evening.say(20.0, "two are late")
    item = evening.state.ledger.items["white-fish-late"]
    assert (str(item.place), item.used) == ("fridge", evening.state.ledger.items["white-fish"].used)
    assert not item.ended


def test_guests_who_come_early_are_not_made_to_wait() -> None:
    """ "Everyone is here" before they were asked for: the second wave goes in as soon as the first is on the table."""
    evening = kit()
    evening.say(20.0, "two are late")
    first = [s for s in evening.state.steps if not s.endswith(LATE)]
    evening._add(tuple(e.StepDone(4000.0, s) for s in first))
    evening._add((e.Focused(4000.0, ""),))
    assert any(w.startswith("To the table, whoever") for w in evening.wait(4001.0))
    said = evening.say(4010.0, "everyone is here")
    assert said[0].startswith("Second wave, chips and fish: in at ")
    assert evening.state.wave_t <= 4080.0
    assert evening.state.ready(evening.state.meal.step("fish-fry-late"))
    assert evening.state.steps["fish-fry-late"].status is Status.TODO
