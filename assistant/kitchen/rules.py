"""Every safety rule that applies to a meal, each with its source: what `stovehand safety MEAL` prints. Pure.

Figures come from the modules that act on them, so that what is printed is what will be said; a rule from memory or from practice says so.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from assistant.kitchen import scripts
from assistant.kitchen.doneness import LETHALITY_SOURCE, food_of, needs_core, probe_times_of, seven_log_s, target, without_thermometer
from assistant.kitchen.food_clocks import (
    COLD_C,
    COOLING,
    HOLDING,
    HOT_C,
    TIME_CONTROL,
    Place,
    kind_of_ingredient,
    kind_of_step,
    place_of_step,
    span_words,
)
from assistant.kitchen.hazards import SEPARATE, raw_prompts
from assistant.kitchen.limits import Window, windows
from assistant.kitchen.meal import Dish, Heat, Keep, Meal, Step, StepKind
from assistant.kitchen.oil.allergens import allergens_into_oil
from assistant.speaking.prompts import degrees, duration, upper

FILL = "fire services (Scottish, South Yorkshire, Cumbria, Cheshire, Cornwall, Kent, Norfolk); Pennsylvania State Fire Commissioner"
HALF = "Norfolk Fire & Rescue"
ACRYLAMIDE = "Commission Regulation (EU) 2017/2158, annex II part A"
WATCH = "U.S. Fire Administration (FEMA): children and pets 3 ft away, handles to the back, lid or baking sheet nearby, stay with it"
OIL_LIMITS = "smoke, flash and fire points of frying oils, and real pans at 351 to 361 C (NRC Canada, quoted by Buda-Ortins 2010)"


@dataclass(frozen=True, slots=True)
class Rule:
    """topic: the heading it stands under; applies_to: names of dishes, things or pots (empty: the whole kitchen); text: one sentence; source."""

    topic: str
    applies_to: tuple[str, ...]
    text: str
    source: str


def _both(celsius: float) -> str:
    return f"{degrees(celsius, 'F')} F ({degrees(celsius, 'C')} C)"


def rules_for(meal: Meal, order: tuple[Step, ...] | None = None, region: str = "US") -> tuple[Rule, ...]:
    """All rules of this meal, by topic. order: the steps as they will be done (None: as on the card), for what follows raw food."""
    topics: tuple[Callable[[], Iterator[Rule]], ...] = (
        lambda: _doneness(meal),
        lambda: _clocks(meal),
        lambda: _raw(tuple(meal.steps()) if order is None else order),
        lambda: _oil(meal),
        lambda: _potatoes(meal),
        lambda: _allergens(meal),
        lambda: _danger(meal, region),
    )
    return tuple(rule for topic in topics for rule in topic())


def _doneness(meal: Meal) -> Iterator[Rule]:
    topic = "Done by number"
    refused = {n.dish: n for n in without_thermometer(meal)}
    for dish in meal.dishes:
        if dish.id in refused:
            yield Rule(topic, (dish.name,), " ".join(refused[dish.id].say), "raw poultry is judged by core temperature alone: USDA FSIS")
            continue
        cores = [s for s in dish.steps if s.core_c is not None]
        if not cores and needs_core(dish):
            want = target(food_of(dish))
            yield Rule(topic, (dish.name,), f"Core {_both(want.core_c)}; the card names no step for it, so ask before serving.", want.source)
        for step in cores:
            want = target(food_of(dish), step.core_c)
            rest = f", then {duration(want.rest_s)} of rest" if want.rest_s else ""
            probe = probe_times_of(step, food_of(dish))
            first = f" First reading about {duration(probe.first_s)} in; the thermometer decides." if probe else ""
            bone = ", off the bone" if dish.food_kind in ("poultry", "meat") else ""
            pieces = f" in the two biggest pieces{bone}" if want.two else ""
            yield Rule(topic, (step.name,), f"Core {_both(want.core_c)}{pieces}{rest}.{first}", want.source)
            if food_of(dish) == "poultry":
                held = " or ".join(f"{duration(seven_log_s(c))} at {_both(c)}" for c in ((155.0 - 32.0) / 1.8, (160.0 - 32.0) / 1.8))
                yield Rule(topic, (step.name,), f"For information, not for use: {held} kills as much; {_both(want.core_c)} stays.", LETHALITY_SOURCE)


def _clocks(meal: Meal) -> Iterator[Rule]:
    topic = "Food on the clock"
    seen = False
    for dish in meal.dishes:
        for thing in dish.ingredients:
            if kind_of_ingredient(thing, dish) is not None:
                seen = True
                yield from _window(topic, thing.name, windows(thing, dish, Place.COUNTER), "out of the fridge")
        for step in dish.steps:
            if kind_of_step(step, dish) is not None:
                seen = True
                yield from _window(topic, step.name, windows(step, dish), _WHERE.get(place_of_step(step), "as it stands"))
    if seen:
        yield Rule(topic, (), f"Held cold at {_both(COLD_C)} or less, held hot at {_both(HOT_C)} or more.", HOLDING)
        yield Rule(topic, (), "Hot food that is kept: under 70 F (21 C) within two hours, under 41 F (5 C) within six.", COOLING)
        yield Rule(topic, (), "A hot hold that nobody has read ends after four hours.", TIME_CONTROL)
        yield Rule(
            topic, (), "Time out is added up; the fridge does not give it back, and food over its time is discarded.", "USDA FSIS; stricter reading"
        )


_WHERE = {Place.HOT: "in the oven", Place.FRIDGE: "in the fridge", Place.FREEZER: "in the freezer", Place.ICE: "on ice"}


def _window(topic: str, name: str, window: Window | None, where: str) -> Iterator[Rule]:
    if window is not None:
        then = f"; then: {window.then_do.rstrip('.').lower()}" if window.then_do else ""
        yield Rule(topic, (name,), f"At most {span_words(window.most_s)} {where}{then}.", window.source)


def _raw(order: tuple[Step, ...]) -> Iterator[Rule]:
    names = {s.id: s.name for s in order}
    for prompt in raw_prompts(order):
        yield Rule("Raw and ready apart", (names[prompt.step],), prompt.say, SEPARATE)


def _oil(meal: Meal) -> Iterator[Rule]:
    topic = "Hot oil"
    frying = [s for s in meal.steps() if s.fry is not None]
    if not frying:
        return
    for pot in meal.equipment.pots:
        if pot.heat is Heat.FRYER:
            yield Rule(topic, (pot.name,), "Oil between the fryer's marks.", "the fryer's maker")
        else:
            yield Rule(topic, (pot.name,), "Hot oil at most a third of the pot.", FILL)
            yield Rule(topic, (pot.name,), "Oil and food together at most half of the pot.", HALF)
        if pot.heat in (Heat.GAS, Heat.OUTDOOR):
            yield Rule(topic, (pot.name,), "Over an open flame 40 mm stay free under the rim, else 20.", scripts.PRACTICE)
        if pot.fresh_oil:
            yield Rule(topic, (pot.name,), "The first drop into fresh oil is a small, dry test batch.", scripts.PRACTICE)
    damp = tuple(s.name for s in frying if s.fry and (s.fry.wet or s.fry.frozen))
    if damp:
        yield Rule(topic, damp, "Dry it well and knock ice off: wet food makes oil rise.", "NFPA, cooking with oil")
    yield Rule(topic, (), "Target at most 190 C (374 F); from 200 C the warning, from 205 C or any smoke: heat off.", OIL_LIMITS)
    yield Rule(topic, (), "Children and pets a metre (3 ft) away, handles in, lid or tray within reach, never left alone.", WATCH)
    yield Rule(topic, (), "A pot of hot oil is not moved, and hot oil is not poured, until it is under 40 C.", scripts.PRACTICE)


def _potatoes(meal: Meal) -> Iterator[Rule]:
    names = tuple(d.name for d in meal.dishes if d.food_kind == "potato" and any(s.kind is StepKind.FRY for s in d.steps))
    if names:
        yield Rule(
            "Potatoes", names, "Kept above 6 C, soaked 30 minutes to 2 hours, rinsed, dried; fried below 175 C to golden, no darker.", ACRYLAMIDE
        )


def _allergens(meal: Meal) -> Iterator[Rule]:
    by_pot: dict[str, set[str]] = {}
    for dish in meal.dishes:
        for step in dish.steps:
            if step.fry is not None:
                by_pot.setdefault(step.fry.pot, set()).update(allergens_into_oil(meal, step))
    names = {p.id: p.name for p in meal.equipment.pots}
    for pot, allergens in by_pot.items():
        if allergens:
            text = f"Its oil takes {', '.join(sorted(allergens))} on: nothing fried after that is free of it."
            yield Rule(
                "Allergens", (names.get(pot, pot),), text, "EU Regulation 1169/2011, annex II (list); carry-over in oil: common practice, no source"
            )
    unshared: list[Dish] = [d for d in meal.dishes if d.unshared_oil]
    if unshared:
        yield Rule("Allergens", tuple(d.name for d in unshared), "First into fresh oil that nothing else has touched.", scripts.PRACTICE)


def _danger(meal: Meal, region: str) -> Iterator[Rule]:
    names = ["boil_over", "smoke", "spill", "fire", "get_out"] if any(s.fry for s in meal.steps()) else ["fire", "get_out"]
    if any(s.kind is StepKind.BAKE or (s.hold is not None and s.hold.keep is Keep.OVEN) for s in meal.steps()):
        names.append("oven_fire")
    for name in (*names, "burn", "eye"):
        found = scripts.script(name, region)
        yield Rule("In danger", (upper(name.replace("_", " ")),), " ".join(line.words for line in found.lines), found.source)
