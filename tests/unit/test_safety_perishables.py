"""From the steps of the bundled meals to the clocks of their food."""

import pytest

from assistant.kitchen.cards import find_meal, list_meals, read_card
from assistant.kitchen.food_clocks import HOUR, Kind, Place
from assistant.kitchen.ledger import Ledger, Room, apply
from assistant.kitchen.meal import Meal, Step
from assistant.kitchen.notices import Severity, due
from assistant.kitchen.order import plain_order
from assistant.kitchen.perishables import begun, done, opening, worked_on


def told(ledger: Ledger, events: tuple[object, ...]) -> Ledger:
    """The ledger after events; none of them may be answered, because a plain evening has nothing odd in it."""
    for event in events:
        ledger, said = apply(ledger, event)  # type: ignore[arg-type]
        assert said == ()
    return ledger


def cooked(meal: Meal, upto: str) -> tuple[Ledger, float]:
    """The ledger when a step of a plain evening has just ended, and when that was, s after the evening began."""
    slots = plain_order(meal)
    zero = slots[0].start_s
    ledger = told(Ledger(), opening(meal, 0.0))
    moments = sorted([(s.start_s - zero, 1, s.step) for s in slots] + [(s.end_s - zero, 0, s.step) for s in slots])
    for t, begins, step_id in moments:
        step: Step = meal.step(step_id)
        ledger = told(ledger, (begun if begins else done)(meal, ledger, step, t))
        if step_id == upto and not begins:
            return ledger, t
    raise AssertionError(f"{upto} never ended")


def test_raw_food_becomes_cooked_food_with_a_new_clock() -> None:
    """Raw thighs are cooked by the fry; the cooked ones have a clock of their own that began when they came out."""
    meal = read_card(find_meal("sunday-thighs"))
    ledger, t = cooked(meal, "thighs-fry")
    raw = next(i for i in ledger.items.values() if i.kind is Kind.RAW_POULTRY)
    assert raw.ended == "cooked"
    new = ledger.items["thighs-fry"]
    assert (new.kind, new.place, new.made_s, new.used) == (Kind.COOKED_POULTRY, Place.COUNTER, t, 0.0)


def test_raw_food_keeps_its_clock_through_cutting_and_chilling() -> None:
    """Seasoning, chilling and flouring do not start the clock anew: time out is added up, and chilling counts nothing."""
    meal = read_card(find_meal("sunday-thighs"))
    at = {s.step: s for s in plain_order(meal)}
    ledger, t = cooked(meal, "thighs-flour")
    raw = next(i for i in ledger.items.values() if i.kind is Kind.RAW_POULTRY)
    assert not raw.ended
    out = at["thighs-chill"].start_s - at["thighs-season"].start_s + at["thighs-flour"].end_s - at["thighs-flour"].start_s
    used, _ = apply(ledger, Room(t, 25.0))
    assert used.items[raw.id].used == pytest.approx(out / (2 * HOUR))


def test_half_fried_potatoes_are_on_the_clock_until_the_second_fry() -> None:
    """The first fry leaves blanched potatoes; the second ends them."""
    meal = read_card(find_meal("fish-supper"))
    first, t = cooked(meal, "chips-first-fry")
    assert first.items["chips-first-fry"].kind is Kind.BLANCHED
    assert [n.severity for n in due(first, t + 2 * HOUR + 1.0) if n.item == "chips-first-fry"] == [Severity.HIGH]
    second, _ = cooked(meal, "chips-second-fry")
    assert second.items["chips-first-fry"].ended == "cooked"


@pytest.mark.parametrize("name", [name for name, _ in list_meals()])
def test_a_plain_evening_is_over_no_limit(name: str) -> None:
    """In each bundled meal, done in its plain order, nothing is ever to be discarded, and no event is answered."""
    meal = read_card(find_meal(name))
    ledger, t = cooked(meal, plain_order(meal)[-1].step)
    assert [n.say for n in due(ledger, t) if n.severity is Severity.HIGH] == []


def test_raw_ingredients_are_worked_on_only_by_raw_steps() -> None:
    """The lemon does not take the fish out of the fridge; drying the fish does."""
    meal = read_card(find_meal("fish-supper"))
    ledger = told(Ledger(), opening(meal, 0.0))
    assert worked_on(meal, ledger, meal.step("lemon-cut")) == ()
    assert [i.kind for i in worked_on(meal, ledger, meal.step("fish-dry"))] == [Kind.RAW_FISH]
    assert all(i.place is Place.FRIDGE for i in ledger.items.values() if i.kind is Kind.RAW_FISH)
