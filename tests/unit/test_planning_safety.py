"""A plan that leaves perishable food out too long is refused, with the safe way; the bundled meals are not."""

from __future__ import annotations

from dataclasses import replace

import pytest

from assistant.kitchen.cards import find_meal, list_meals, read_card
from assistant.kitchen.evening import Setting
from assistant.kitchen.meal import Meal, Span
from assistant.kitchen.plan_live import plan_now
from assistant.kitchen.plan_safety import refused


@pytest.mark.parametrize("name", [n for n, _ in list_meals()])
def test_the_bundled_meals_are_not_refused(name: str) -> None:
    """What comes with the program keeps its own food safe."""
    meal = read_card(find_meal(name))
    assert refused(plan_now(meal, None, 0.0, Setting()), meal) == ()


def cooked_poultry_waiting(hours: float) -> Meal:
    """A fish supper whose half-fried lot is poultry that stands on the counter for so long before it is finished."""
    meal = read_card(find_meal("fish-supper"))
    dishes = []
    for dish in meal.dishes:
        if dish.id == "chips":
            span = Span(hours * 3600, hours * 3600, hours * 3600 + 600)
            steps = tuple(replace(s, span=span, text="On a rack on the counter.") if s.id == "chips-rest" else s for s in dish.steps)
            dish = replace(dish, food_kind="poultry", steps=steps)
        dishes.append(dish)
    return replace(meal, dishes=tuple(dishes))


def test_cooked_poultry_left_on_the_counter_is_refused_with_the_safe_way() -> None:
    """Two hours at room temperature (USDA FSIS); three are refused, and the way is to chill it uncovered on a rack."""
    meal = cooked_poultry_waiting(3.0)
    said = refused(plan_now(meal, None, 0.0, Setting()), meal)
    assert said[0].startswith("Chips would be out three hours")
    assert said[0].endswith("the limit is two hours.")
    assert said[1] == "Chill it uncovered on a rack."


def test_an_hour_is_not_refused() -> None:
    """Within the limit nothing is said."""
    meal = cooked_poultry_waiting(1.0)
    assert refused(plan_now(meal, None, 0.0, Setting()), meal) == ()
