"""The plain order: who comes first, and that nothing is asked for twice at one time."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.kitchen.cards import find_meal, list_meals, read_card
from assistant.kitchen.limits import batch_limits
from assistant.kitchen.meal import Dish, Equipment, Fry, Hold, Meal, Pot, Span, Step, StepKind
from assistant.kitchen.order import BETWEEN_S, Slot, fry_time, plain_order

MEALS = [name for name, _ in list_meals()]


def _meal(name: str) -> Meal:
    return read_card(find_meal(name))


def _slots(meal: Meal) -> dict[str, Slot]:
    return {slot.step: slot for slot in plain_order(meal)}


@pytest.mark.parametrize("name", MEALS)
def test_every_step_comes_once_and_after_all_that_it_waits_for(name: str) -> None:
    """The order holds each step once, none begins before what it waits for has ended, and the last ends at serving."""
    _assert_in_order(_meal(name))
    assert max(s.end_s for s in plain_order(_meal(name))) == pytest.approx(0.0, abs=1e-6)


def _assert_in_order(meal: Meal) -> None:
    order = plain_order(meal)
    assert sorted(s.step for s in order) == sorted(s.id for s in meal.steps())
    ends: dict[str, float] = {}
    for slot in order:
        for before in meal.step(slot.step).after:
            assert before in ends, f"{slot.step} stands before {before}"
            assert ends[before] <= slot.start_s + 1e-6
        ends[slot.step] = slot.end_s
        assert slot.start_s < slot.end_s <= 1e-6


@pytest.mark.parametrize("name", MEALS)
def test_one_pair_of_hands_and_one_lot_in_a_pot(name: str) -> None:
    """No two steps want the hands at once, and a pot has its minute between two lots."""
    _assert_one_pair_of_hands(_meal(name))


def _assert_one_pair_of_hands(meal: Meal) -> None:
    slots = _slots(meal)
    busy = [slots[s.id] for s in meal.steps() if s.kind in (StepKind.HANDS, StepKind.PLATE, StepKind.FRY, StepKind.TOSS)]
    busy.sort(key=lambda s: s.start_s)
    assert all(a.end_s <= b.start_s + 1e-6 for a, b in pairwise(busy))
    fries = sorted((slots[s.id] for s in meal.steps() if s.fry), key=lambda s: s.start_s)
    assert all(a.end_s + BETWEEN_S <= b.start_s + 1e-6 for a, b in pairwise(fries))


@pytest.mark.parametrize("name", MEALS)
def test_nothing_waits_past_its_most(name: str) -> None:
    """In the meals that come along, finished food is served within its hold and no wait outlasts what the card allows."""
    meal = _meal(name)
    slots = _slots(meal)
    for step in meal.steps():
        if step.hold is not None:
            assert -slots[step.id].end_s <= step.hold.most_s, step.id
        if step.kind is StepKind.WAIT:
            used = min((slots[s.id].start_s for s in meal.steps() if step.id in s.after), default=0.0)
            assert used - slots[step.id].start_s <= step.span.most_s + 1e-6, step.id


def test_fish_supper_goes_potatoes_first_and_fish_last() -> None:
    """Clean potatoes go into the oil before battered fish, the first fry before the second."""
    order = [s.step for s in plain_order(_meal("fish-supper")) if s.step.endswith("-fry")]
    assert order == ["chips-first-fry", "chips-second-fry", "fish-fry"]


def test_unshared_oil_goes_first() -> None:
    """A dish for an allergic guest is fried before anything else, fish or not."""
    meal = _meal("fish-supper")
    guest = replace(meal, dishes=tuple(replace(d, unshared_oil=d.id == "fish") for d in meal.dishes))
    order = [s.step for s in plain_order(guest) if s.step.endswith("-fry")]
    assert order[0] == "fish-fry"


def test_salt_follows_the_fry_at_once() -> None:
    """Tossing begins the moment the lot is lifted, whatever else could be done."""
    slots = _slots(_meal("fish-supper"))
    assert slots["chips-salt"].start_s == pytest.approx(slots["chips-second-fry"].end_s)


def test_tosses_of_one_lot_take_turns() -> None:
    """Both finishes of the thighs follow the fry, one after the other, and what they toss with is ready by then."""
    slots = _slots(_meal("sunday-thighs"))
    assert slots["honey-toss"].start_s == pytest.approx(slots["thighs-fry"].end_s)
    assert slots["pepper-toss"].start_s == pytest.approx(slots["honey-toss"].end_s)
    assert slots["glaze-warm"].end_s <= slots["honey-toss"].start_s + 1e-6


def test_a_hold_that_would_break_changes_the_order_of_the_pot() -> None:
    """Chips that keep for two minutes go in after the fish, though clean food goes first otherwise."""
    meal = _meal("fish-supper")
    short = tuple(replace(d, steps=tuple(replace(s, hold=Hold(60.0, 120.0)) if s.id == "chips-salt" else s for s in d.steps)) for d in meal.dishes)
    order = [s.step for s in plain_order(replace(meal, dishes=short)) if s.step.endswith("-fry")]
    assert order == ["chips-first-fry", "fish-fry", "chips-second-fry"]


def test_a_lot_takes_its_batches_and_the_pauses_between() -> None:
    """Two batches of six minutes: each lowered and lifted, and one recovery between them."""
    meal = _meal("fish-supper")
    step, pot = meal.step("chips-first-fry"), meal.equipment.pots[0]
    pause = max(75.0, batch_limits(step, pot).recovery_s)
    assert fry_time(step, pot) == pytest.approx(2 * (360 + 40) + pause)


def test_a_circle_is_refused() -> None:
    """Steps that wait for each other have no order; cards refuse them, and so does this function."""
    meal = _meal("fish-supper")
    dishes = tuple(replace(d, steps=tuple(replace(s, after=("chips-plate",)) if s.id == "chips-cut" else s for s in d.steps)) for d in meal.dishes)
    with pytest.raises(ValueError, match="circle"):
        plain_order(replace(meal, dishes=dishes))


SPANS = st.integers(1, 60).map(lambda m: Span(m * 60.0, m * 60.0, m * 60.0))


@st.composite
def meals(draw: st.DrawFn) -> Meal:
    """Meals of any shape that has no circle: each step waits for some of those drawn before it."""
    dishes: list[Dish] = []
    known: list[str] = []
    for number in range(draw(st.integers(1, 4))):
        steps: list[Step] = []
        for place in range(draw(st.integers(1, 6))):
            kind = draw(st.sampled_from(StepKind))
            span = draw(SPANS)
            after = tuple(draw(st.lists(st.sampled_from(known), max_size=3, unique=True))) if known else ()
            fry = Fry(draw(st.sampled_from([150.0, 175.0])), 130.0, 0.2, draw(st.integers(1, 3)), draw(st.sampled_from(["one", "two"])), "unheard of")
            hold = draw(st.none() | st.integers(1, 90).map(lambda m: Hold(30.0, m * 60.0)))
            step_id = f"d{number}s{place}"
            made = Step(step_id, step_id, (step_id,), f"d{number}", kind, span, draw(st.sampled_from([0.0, span.usual_s])), after, hold=hold)
            steps.append(replace(made, fry=fry) if kind is StepKind.FRY else made)
            known.append(step_id)
        food = draw(st.sampled_from(["clean", "fish", "potato", "strange"]))
        dishes.append(Dish(f"d{number}", f"d{number}", (f"d{number}",), tuple(steps), (), food, unshared_oil=draw(st.booleans())))
    pots = (Pot("one", "one", 0.26, 0.15, 2.0), Pot("two", "two", 0.26, 0.15, 2.0))
    return Meal("m", "m", 2, tuple(dishes), Equipment(pots))


@settings(max_examples=60, deadline=None)
@given(meals())
def test_any_meal_without_a_circle_has_an_order(meal: Meal) -> None:
    """Whatever waits for whatever: each step once, after all it waits for, hands never wanted twice, all done by serving."""
    _assert_in_order(meal)
    _assert_one_pair_of_hands(meal)
