"""Which allergens a pot of oil takes up, and which a dish gives to whoever eats it: its own, what its components bring, and what the oil carries.

Never too few: what cannot be ruled out counts. A sauce that meets the food only after the oil does not get into the oil.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping

from assistant.kitchen.meal import Dish, Meal, Step


def _before(meal: Meal, step: Step) -> list[Step]:
    """This step and everything it waits for."""
    found, todo = {step.id: step}, [step]
    while todo:
        for name in todo.pop().after:
            if name not in found:
                found[name] = meal.step(name)
                todo.append(found[name])
    return list(found.values())


def _of_dish(dish: Dish) -> frozenset[str]:
    return frozenset(a for i in dish.ingredients for a in i.allergens)


def allergens_into_oil(meal: Meal, step: Step) -> frozenset[str]:
    """What this fry step brings into its oil: every ingredient of its dish and of all dishes and components that go into the food before it.

    A component that the dish uses in a step that comes neither before nor after is counted too.
    """
    before = _before(meal, step)
    dish = meal.dish(step.dish)
    later = {name for s in dish.steps if s.id != step.id and step.id in {b.id for b in _before(meal, s)} for name in s.uses}
    used = {name for s in before for name in s.uses} | {name for name, _ in dish.uses if name not in later}
    inside = {d.id for d in _with_parts(meal, used)} | {s.dish for s in before}
    return frozenset(a for name in inside for a in _of_dish(meal.dish(name)))


def _with_parts(meal: Meal, names: set[str]) -> list[Dish]:
    """These dishes with the components they use, and the components' own."""
    seen, todo = set(names), list(names)
    while todo:
        more = {name for name, _ in meal.dish(todo.pop()).uses} - seen
        seen |= more
        todo += more
    return [d for d in meal.dishes if d.id in seen]


def parts(meal: Meal, dish: Dish) -> list[Dish]:
    """The dish, the components in it, and the dishes of whose lots it takes a share."""
    names = {dish.id}
    while True:
        found = _with_parts(meal, names)
        more = {meal.step(s.share_of).dish for d in found for s in d.steps if s.share_of} - {d.id for d in found}
        if not more:
            return found
        names = {d.id for d in found} | more


def own(meal: Meal, dish: Dish) -> frozenset[str]:
    """Allergens of what a dish is made of."""
    return frozenset(a for d in parts(meal, dish) for a in (*_of_dish(d), *d.allergens))


def by_the_oil(
    meal: Meal, dish: Dish, in_oil: Mapping[str, frozenset[str]], was_in_oil: Mapping[str, frozenset[str]], fried: Collection[str]
) -> frozenset[str]:
    """What the oil gives to a dish or the components in it, or may give. in_oil: by pot, what has touched its oil; was_in_oil: by fry step, what was
    in the oil when its batches went in; fried: steps all of whose batches are out. A dish for which the card keeps unshared oil is fried first."""
    mine = parts(meal, dish)
    names = {d.id for d in mine}
    found: set[str] = set()
    for step in (s for d in mine for s in d.steps):
        if step.fry is None:
            continue
        found |= was_in_oil.get(step.id, frozenset())
        if step.id in fried:
            continue
        found |= in_oil.get(step.fry.pot, frozenset())
        if not dish.unshared_oil:
            others = [s for s in meal.steps() if s.fry is not None and s.fry.pot == step.fry.pot and s.dish not in names]
            found |= {a for s in others for a in allergens_into_oil(meal, s)}
    return frozenset(found) - own(meal, dish)
