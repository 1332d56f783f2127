"""The same meal for more or fewer people: every quantity grows in proportion, times do not, batches of a fry keep their size. And a lot that goes on
in smaller batches than it began."""

from __future__ import annotations

import re
from dataclasses import replace
from math import ceil

from assistant.kitchen.meal import Amount, Dish, Fry, Ingredient, Meal, Step

MOST_PEOPLE = 100
"""More than one cook feeds from a pot at home."""


def how_many_wrong(said: str) -> str:
    """What is said to a number of people that cannot be."""
    return f"'{said}' is no number of people: write 1 to {MOST_PEOPLE}"


def scaled(meal: Meal, people: int) -> Meal:
    """The meal for `people` (1 or more). Countable pieces and batches are rounded up, because half a fillet is not bought and a batch never grows."""
    if people < 1:
        raise ValueError("a meal is for one person or more")
    if people == meal.serves:
        return meal
    by = people / meal.serves
    return replace(meal, serves=people, dishes=tuple(_dish(d, by) for d in meal.dishes))


def _dish(dish: Dish, by: float) -> Dish:
    return replace(dish, steps=tuple(_step(s, by) for s in dish.steps), ingredients=tuple(_ingredient(i, by) for i in dish.ingredients))


def _step(step: Step, by: float) -> Step:
    if step.fry is None:
        return step
    fry = step.fry
    pieces = None if fry.pieces is None else ceil(fry.pieces * by - 1e-9)
    return replace(step, fry=replace(fry, kg=fry.kg * by, pieces=pieces, batches=max(1, ceil(fry.batches * by - 1e-9))))


def _ingredient(ingredient: Ingredient, by: float) -> Ingredient:
    prepared = None if ingredient.prepared is None else _amount(ingredient.prepared, by)
    return replace(ingredient, bought=_amount(ingredient.bought, by), prepared=prepared)


def _amount(amount: Amount, by: float) -> Amount:
    if amount.pieces is not None:
        pieces = float(ceil(amount.pieces * by - 1e-9))
        counted = re.match(r"[\d\s./½¼¾]+([a-z]+)", amount.text)
        return Amount(
            f"{pieces:g} {counted[1]}" if counted else f"{pieces:g}",
            None if amount.kg is None else amount.kg * by,
            None if amount.litres is None else amount.litres * by,
            pieces,
        )
    if amount.kg is not None:
        kg = amount.kg * by
        return Amount(f"{kg * 1000:.0f} g" if kg < 1 else f"{kg:.2f} kg", kg, None if amount.litres is None else amount.litres * by)
    if amount.litres is not None:
        litres = amount.litres * by
        return Amount(f"{litres * 1000:.0f} ml" if litres < 1 else f"{litres:.2f} l", None, litres)
    return amount


NEARLY = 0.15
"""A last batch this part larger than it should be is not worth another drop."""


def in_smaller_batches(fry: Fry, done: int, part: float) -> Fry:
    """The same lot with what is left after `done` batches in batches of `part` of their size. kg and pieces then count as if all had been so small,
    so that kg / batches is what goes in next.

    >>> small = in_smaller_batches(Fry(oil_c=160.0, floor_c=140.0, kg=0.6, batches=2, pot="p", cut="fries"), 1, 0.5)
    >>> small.batches, round(small.kg / small.batches, 2)
    (3, 0.15)
    """
    left = fry.batches - done
    if left <= 0 or part >= 1.0:
        return fry
    batches = max(left, ceil(left / part - NEARLY))
    by = left / batches * (done + batches) / fry.batches
    pieces = None if fry.pieces is None else ceil(fry.pieces * by - 1e-9)
    return replace(fry, batches=done + batches, kg=fry.kg * by, pieces=pieces)
