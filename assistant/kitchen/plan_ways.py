"""What else could be done where a plan is refused or rarely lands: fuller batches, a bigger or a second pot, the oven, less at a time, a dish less.

Rules. A way is proposed only after it was planned, and only with every limit kept: more batches than keep do not count. Nothing is changed by itself.
A pot twice as big has the same proportions, twice the oil and the same burner; the card's own batch grows with it, as far as heat and room allow.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from itertools import chain
from typing import TypeVar

from assistant.kitchen.evening import PlanError, Setting, TooMuchError
from assistant.kitchen.meal import Dish, Meal, Pot, Step, StepKind
from assistant.kitchen.plan_figures import POT_ORDER
from assistant.kitchen.plan_meal import try_plan
from assistant.kitchen.plan_safety import refused
from assistant.kitchen.plan_soonest import fuller
from assistant.kitchen.scale import scaled
from assistant.speaking.prompts import number as in_words
from assistant.speaking.prompts import upper

Did = TypeVar("Did")

TIMES = {2: "twice", 3: "three times"}
"""How much bigger a pot is tried."""
MOST_WAVES = 6


@dataclass(frozen=True, slots=True)
class Way:
    """Something to do otherwise: in words, with the meal and the setting that it makes; of one group the first that does is enough."""

    words: str
    meal: Meal
    setting: Setting
    group: str = ""


def ways(meal: Meal, setting: Setting) -> Iterator[Way]:
    """Every way but waiting, the smallest change first. meal: as the card has it; people in the setting. A lot that no plan takes has no fuller
    batches to offer."""
    try:
        for step, number in fuller(meal, setting):
            words = f"{upper(in_words(number))} batch{'' if number == 1 else 'es'} of {meal.dish(step.dish).name} instead of {number + 1}"
            yield Way(words, meal, replace(setting, batches={**setting.batches, step.id: number}))
    except PlanError:
        pass
    if meal.equipment.oven:
        for dish in meal.dishes:
            kept = any(s.hold and s.hold.oven_c for s in dish.steps)
            if _lots(dish) and not kept and not dish.component:
                yield Way(f"Keep the {dish.name} warm in the oven", meal, replace(setting, oven_hold=setting.oven_hold | {dish.id}))


def other_meals(meal: Meal, setting: Setting) -> Iterator[Way]:
    """Another pot, or a dish less."""
    for pot in meal.equipment.pots:
        for by, word in TIMES.items() if pot.oil_litres and any(s.fry is not None and s.fry.pot == pot.id for s in meal.steps()) else ():
            oil = f"{(pot.oil_litres or 0.0) * by:.1f}".removesuffix(".0")
            yield Way(f"With {_the(pot)} {word} as big ({oil} litres of oil)", bigger(meal, pot, by), setting, pot.id)
        if (second := _second(meal, pot)) is not None:
            dish, other = second
            yield Way(f"With a second pot like {_the(pot)}, for the {dish.name}", other, setting)
    dishes = [d for d in meal.dishes if not d.component and d.id not in setting.skip]
    for dish in dishes if len(dishes) > 1 else ():
        yield Way(f"Without the {dish.name}", meal, replace(setting, skip=setting.skip | {dish.id}))


def together(meal: Meal, setting: Setting) -> Iterator[Way]:
    """Two changes at once that keep every dish: one kept warm in the oven, and another pot."""
    for way in ways(meal, setting):
        for other in other_meals(way.meal, way.setting) if way.setting.oven_hold != setting.oven_hold else ():
            if other.setting.skip == setting.skip:
                yield Way(f"{way.words}, and {other.words[:1].lower()}{other.words[1:]}", other.meal, other.setting, other.group)


def waves(meal: Meal, setting: Setting) -> Iterator[Way]:
    """Less at a time, as much as can be first."""
    sizes = {-(-setting.people // number) for number in range(2, MOST_WAVES + 1)} | {meal.serves}
    for size in sorted((n for n in sizes if n < setting.people), reverse=True):
        yield Way(f"Cook in waves of {size}", meal, replace(setting, people=size), "waves")


def those_that(do: Callable[[Way], Did | None], ways: Iterable[Way]) -> Iterator[tuple[Way, Did]]:
    """The ways of which `do` makes something, with what that is; of each group the first."""
    had: set[str] = set()
    for way in ways:
        if way.group not in had and (did := do(way)):
            had |= {way.group} - {""}
            yield way, did


@contextmanager
def or_else(meal: Meal, serve_s: float | None, now_s: float | None, setting: Setting) -> Iterator[None]:
    """Where a plan of this meal is refused for being too much, what would do instead is said with it."""
    try:
        yield
    except TooMuchError as wrong:
        raise TooMuchError(f"{wrong} {_way_out(meal, serve_s, now_s, setting)}".rstrip()) from wrong


def _way_out(meal: Meal, serve_s: float | None, now_s: float | None, setting: Setting) -> str:
    """What would do instead, in one sentence, each planned within every limit; "" when nothing was found. serve_s None: at whatever time."""
    setting = replace(setting, people=setting.people or meal.serves)
    if serve_s is None:
        serve_s, now_s = now_s or 0.0, None
    every = chain(ways(meal, setting), other_meals(meal, setting), waves(meal, setting))
    found = [way.words for way, _ in those_that(lambda way: _works(way, serve_s, now_s), every)]
    return f"What would do: {'; '.join(w[:1].lower() + w[1:] for w in found)}." if found else ""


def _works(way: Way, serve_s: float, now_s: float | None) -> bool:
    try:
        plan = try_plan(way.meal, serve_s, now_s, way.setting, crowd=False)
    except PlanError:
        return False
    return plan is not None and not refused(plan, scaled(way.meal, way.setting.people))


def bigger(meal: Meal, pot: Pot, by: int) -> Meal:
    """The same meal with this pot so many times as big: the card for so many times the people, in as many batches as it has now."""

    def of_pot(step: Step) -> Step:
        if step.fry is None or step.fry.pot != pot.id:
            return step
        return replace(step, fry=replace(step.fry, batches=meal.step(step.id).fry.batches))  # type: ignore[union-attr]

    def wider(length_m: float | None) -> float | None:
        return None if length_m is None else length_m * by ** (1 / 3)

    more = scaled(meal, meal.serves * by)
    dishes = tuple(replace(d, steps=tuple(of_pot(s) for s in d.steps)) for d in more.dishes)
    large = replace(pot, width_m=wider(pot.width_m), height_m=wider(pot.height_m), oil_litres=(pot.oil_litres or 0.0) * by)
    pots = tuple(large if p.id == pot.id else p for p in meal.equipment.pots)
    return replace(more, dishes=dishes, equipment=replace(meal.equipment, pots=pots))


def _second(meal: Meal, pot: Pot) -> tuple[Dish, Meal] | None:
    """The dish that goes last into this pot, and the meal with that dish in a pot of its own; None where it has one, or the stove no room."""
    equipment = meal.equipment
    dishes = [d for d in meal.dishes if any(s.fry is not None and s.fry.pot == pot.id for s in d.steps)]
    if len(dishes) < 2 or len(equipment.pots) >= equipment.burners:
        return None
    last = max(dishes, key=lambda d: POT_ORDER.get(d.food_kind, 0))
    twin = replace(pot, id=f"{pot.id}-2", name=f"second {pot.name}")

    def moved(step: Step) -> Step:
        return replace(step, fry=replace(step.fry, pot=twin.id)) if step.fry is not None and step.fry.pot == pot.id else step

    moving = tuple(replace(d, steps=tuple(moved(s) for s in d.steps)) if d.id == last.id else d for d in meal.dishes)
    return last, replace(meal, dishes=moving, equipment=replace(equipment, pots=(*equipment.pots, twin)))


def _lots(dish: Dish) -> bool:
    return any(s.kind is StepKind.FRY for s in dish.steps)


def _the(pot: Pot) -> str:
    return f"the {pot.name.removeprefix('the ')}"
