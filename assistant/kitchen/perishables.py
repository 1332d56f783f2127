"""From the steps of a meal to the events of the ledger: what comes out of the fridge, what is cooked, what is made and where it then is. Pure.

Rules
- An evening opens with every perishable ingredient where the card keeps it, so that its name has a clock before anybody says it.
- A step that hands or heat begin takes what it works on out of the cold; a wait puts it where its own words send it.
- Only heat ends an old clock: what is cooked is a new thing with a new one. Cutting, drying, coating and tossing go on with the old.
- A lot that several steps divide stays one thing, as old as its oldest part.
"""

from __future__ import annotations

from assistant.kitchen.food_clocks import Place, kind_of_ingredient, kind_of_step, place_of_keep, place_of_step
from assistant.kitchen.ledger import Ended, Event, Item, Ledger, Made, Moved
from assistant.kitchen.meal import Dish, Meal, Step, StepKind

_HEAT = frozenset({StepKind.FRY, StepKind.BAKE, StepKind.STOVE})
_COLD = (Place.FRIDGE, Place.ICE, Place.FREEZER)


def opening(meal: Meal, t: float) -> tuple[Event, ...]:
    """What is perishable before anything is done: every such ingredient, where the card keeps it (frozen things in the freezer)."""
    found: list[Event] = []
    for dish in meal.dishes:
        for thing in dish.ingredients:
            kind = kind_of_ingredient(thing, dish)
            if kind is not None:
                place = Place.FREEZER if thing.frozen else place_of_keep(thing.kept)
                # the counter's clock begins when the cook does: a card cannot know how long the shopping took
                found.append(Made(t, thing.id, thing.name, kind, place))
    return tuple(found)


def begun(meal: Meal, ledger: Ledger, step: Step, t: float) -> tuple[Event, ...]:
    """A step began (a fry: its first drop is due, its food comes out)."""
    if step.kind is StepKind.WAIT:
        place = place_of_step(step)
        return tuple(Moved(t, i.id, place) for i in worked_on(meal, ledger, step) if i.place is not place)
    return tuple(Moved(t, i.id, Place.COUNTER) for i in worked_on(meal, ledger, step) if i.place in _COLD)


def done(meal: Meal, ledger: Ledger, step: Step, t: float) -> tuple[Event, ...]:
    """A step ended (a fry: its last batch is out)."""
    dish = _dish_of(meal, step)
    before = worked_on(meal, ledger, step)
    kind = kind_of_step(step, dish)
    if step.kind in _HEAT:
        ended: tuple[Event, ...] = tuple(Ended(t, i.id, "cooked") for i in before)
        return ended if kind is None else (*ended, Made(t, step.id, dish.name, kind, place_of_step(step), hot=True))
    if step.kind is StepKind.WAIT:
        return ()
    if before:
        place = place_of_step(step)
        return tuple(Moved(t, i.id, place) for i in before if i.place is not place)
    return () if kind is None else (Made(t, step.id, dish.name, kind, place_of_step(step)),)


def worked_on(meal: Meal, ledger: Ledger, step: Step) -> tuple[Item, ...]:
    """The open things that a step works on: what steps before it in its dish left, and the dish's raw ingredients when it handles raw food."""
    dish = _dish_of(meal, step)
    ids = before(dish, step)
    if step.raw_in:
        ids |= {i.id for i in dish.ingredients if i.raw}
    return tuple(i for i in ledger.open() if i.id in ids)


def before(dish: Dish, step: Step) -> set[str]:
    """Ids of all steps of the dish that come before one."""
    by_id = {s.id: s for s in dish.steps}
    found: set[str] = set()
    waiting = list(step.after)
    while waiting:
        this = waiting.pop()
        if this in by_id and this not in found:
            found.add(this)
            waiting.extend(by_id[this].after)
    return found


def _dish_of(meal: Meal, step: Step) -> Dish:
    return meal.dish(step.dish)
