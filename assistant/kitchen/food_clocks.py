"""The clocks of perishable food: what kinds there are, how long each may be where, with the source; and which plans are refused for it. Pure.

Rules
- On the counter: two hours altogether, one in a room above 90 F (32.2 C); trips to the fridge do not give time back. A kind may have less.
- Growth may only tighten that: a room between 77 and 90 F reaches what two hours allow at 77 F sooner.
- Held hot: 135 F or more; what nobody has read counts as time control, four hours in all. Held cold: 41 F or less.
- Cooling: from 135 to 70 F within two hours, to 41 F within six.
- Food that nobody knows is perishable.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from itertools import takewhile

from assistant.kitchen.doneness import food_of, is_egg
from assistant.kitchen.growth import growth_limit, growth_rate
from assistant.kitchen.meal import Dish, Ingredient, Keep, Step, StepKind
from assistant.speaking.prompts import duration, number, upper

HOUR = 3600.0
DAY = 86400.0

HOT_C = (135.0 - 32.0) / 1.8
COLD_C = (41.0 - 32.0) / 1.8
COOL_FIRST_C = (70.0 - 32.0) / 1.8
HOT_ROOM_C = (90.0 - 32.0) / 1.8
COOL_FIRST_S, COOL_ALL_S = 2 * HOUR, 6 * HOUR
TIME_CONTROL_S = 4 * HOUR
ROOM_C = 25.0  # a room nobody has measured

TWO_HOURS = "USDA FSIS: two hours at room temperature, one above 90 F (32 C)"
GROWTH = "Oscar 2002 (Int. J. Food Microbiol. 76:177), growth no more than two hours allow at 25 C"
COOLING = "FDA Food Code 3-501.14: 135 to 70 F within 2 hours, to 41 F within 6"
HOLDING = "FDA Food Code 3-501.16: hot at 135 F or more, cold at 41 F or less"
TIME_CONTROL = "FDA Food Code 3-501.19: time control, at most 4 hours, then discard"
LEFTOVERS_DAYS = "USDA FSIS: leftovers within 3 to 4 days, reheated to 165 F"
RICE_HOUR = "UK Food Standards Agency: rice cooled within an hour, fridge at most 24 hours, reheated once"
GARLIC_DAYS = "CDC, National Center for Home Food Preservation: garlic in oil refrigerated, at most 4 days"
RAW_DAYS = "USDA FSIS: raw poultry and fish 1 to 2 days in the fridge (from memory)"
EGG_DAYS = f"{LEFTOVERS_DAYS}; stricter than what raw eggs keep in the fridge (three weeks, from memory)"
A_DAY = "common practice, no source; stricter than the leftovers rule"


class Kind(StrEnum):
    """Kinds of perishable food, each with its own row in `KINDS`."""

    RAW_POULTRY = "raw poultry"
    RAW_MEAT = "raw meat"
    RAW_FISH = "raw fish"
    COOKED_POULTRY = "cooked poultry"
    COOKED = "cooked food"
    BLANCHED = "blanched potatoes"
    RICE = "cooked rice"
    BATTER = "batter"
    GARLIC_OIL = "garlic in oil"
    DAIRY = "dairy"
    EGGS = "eggs"
    EGG_MIX = "raw egg mix"
    EGG_DISH = "egg dish"
    EGG_SAUCE = "sauce with raw egg"
    MAYONNAISE = "mayonnaise"
    LEFTOVERS = "leftovers"
    UNKNOWN = "unknown food"


class Place(StrEnum):
    """Where food is, as far as its clock cares."""

    COUNTER = "counter"
    FRIDGE = "fridge"
    FREEZER = "freezer"
    HOT = "hot hold"
    ICE = "ice bath"


_PLACES = {
    "counter": Place.COUNTER,
    "rack": Place.COUNTER,
    "pan": Place.COUNTER,  # a pan off the heat cools; one on it is read, or it counts
    "fridge": Place.FRIDGE,
    "freezer": Place.FREEZER,
    "oven": Place.HOT,
    "ice": Place.ICE,
}


def place_of(word: str) -> Place:
    """Where a spoken place is; a place nobody knows counts as the counter.

    >>> place_of("oven"), place_of("windowsill")
    (<Place.HOT: 'hot hold'>, <Place.COUNTER: 'counter'>)
    """
    return _PLACES.get(word, Place.COUNTER)


@dataclass(frozen=True, slots=True)
class KindRule:
    """counter_s, fridge_s: how long it may be there, s; then_do: what saves it, two or three words; chill: how to keep it safely; source."""

    counter_s: float
    fridge_s: float
    then_do: str
    chill: str
    source: str


KINDS: dict[Kind, KindRule] = {
    Kind.RAW_POULTRY: KindRule(2 * HOUR, 2 * DAY, "fridge or cook", "Keep it covered, lowest in the fridge.", RAW_DAYS),
    Kind.RAW_MEAT: KindRule(2 * HOUR, 3 * DAY, "fridge or cook", "Keep it covered, lowest in the fridge.", RAW_DAYS),
    Kind.RAW_FISH: KindRule(2 * HOUR, 2 * DAY, "fridge or cook", "Keep it covered, lowest in the fridge.", RAW_DAYS),
    Kind.COOKED_POULTRY: KindRule(2 * HOUR, 4 * DAY, "fridge or eat", "Chill it uncovered on a rack.", LEFTOVERS_DAYS),
    Kind.COOKED: KindRule(2 * HOUR, 4 * DAY, "fridge or eat", "Chill it shallow, uncovered until cold.", LEFTOVERS_DAYS),
    Kind.BLANCHED: KindRule(2 * HOUR, DAY, "fridge or fry", "Chill them on trays in the fridge.", A_DAY),
    Kind.RICE: KindRule(HOUR, DAY, "fridge or eat", "Cool it on a tray, then the fridge.", RICE_HOUR),
    Kind.BATTER: KindRule(2 * HOUR, DAY, "fridge or fry", "Keep it in the fridge until it is needed.", A_DAY),
    Kind.GARLIC_OIL: KindRule(2 * HOUR, 4 * DAY, "fridge or use", "Keep it in the fridge.", GARLIC_DAYS),
    Kind.DAIRY: KindRule(2 * HOUR, 4 * DAY, "fridge or use", "Keep it in the fridge.", LEFTOVERS_DAYS),
    Kind.EGGS: KindRule(2 * HOUR, 4 * DAY, "fridge or cook", "Keep them in the fridge, in their box.", EGG_DAYS),
    Kind.EGG_MIX: KindRule(2 * HOUR, DAY, "fridge or cook", "Keep it in the fridge until it is needed.", A_DAY),
    Kind.EGG_DISH: KindRule(2 * HOUR, 4 * DAY, "fridge or eat", "Chill it shallow, uncovered until cold.", LEFTOVERS_DAYS),
    Kind.EGG_SAUCE: KindRule(2 * HOUR, DAY, "fridge or eat", "Keep it in the fridge.", A_DAY),
    Kind.MAYONNAISE: KindRule(2 * HOUR, 4 * DAY, "fridge or use", "Keep it in the fridge.", LEFTOVERS_DAYS),
    Kind.LEFTOVERS: KindRule(2 * HOUR, 4 * DAY, "fridge or eat", "Chill them shallow in the fridge.", LEFTOVERS_DAYS),
    Kind.UNKNOWN: KindRule(2 * HOUR, 4 * DAY, "fridge or use", "Keep it in the fridge.", LEFTOVERS_DAYS),
}


@lru_cache(maxsize=1024)
def counter_limit(kind: Kind, room_c: float = ROOM_C, food_c: float | None = None) -> float:
    """Seconds this kind may be out altogether. food_c: a reading of lukewarm food; growth is then the worst between it and the room.

    >>> counter_limit(Kind.COOKED, 22.0), round(counter_limit(Kind.COOKED, 30.0)), counter_limit(Kind.COOKED, 33.0), counter_limit(Kind.RICE)
    (7200.0, 4789, 3600.0, 3600.0)
    """
    clock = HOUR if room_c > HOT_ROOM_C else 2 * HOUR
    # food too hot for growth is on its way down through all of it, and that is what the clock itself is for
    warmest = room_c if food_c is None or growth_rate(food_c) == 0.0 else max(room_c, food_c)
    # fastest near 41 C: food on its way down passes there
    return min(clock, KINDS[kind].counter_s, growth_limit(min(warmest, 41.0)) if warmest > ROOM_C else math.inf)


def counter_source(kind: Kind, room_c: float = ROOM_C) -> str:
    """The rule that makes `counter_limit` what it is."""
    limit = counter_limit(kind, room_c)
    if limit < KINDS[kind].counter_s and room_c <= HOT_ROOM_C:
        return f"{TWO_HOURS}; {GROWTH}"
    return KINDS[kind].source if KINDS[kind].counter_s < 2 * HOUR and limit == KINDS[kind].counter_s else TWO_HOURS


def span_words(seconds: float) -> str:
    """A time in words, from two days on in days, rounded down.

    >>> span_words(7200.0), span_words(96 * HOUR)
    ('two hours', 'four days')
    """
    return f"{number(int(seconds // DAY))} days" if seconds >= 2 * DAY else duration(seconds)


def counter_warning(limit_s: float) -> float:
    """How long before a counter limit to speak, s: half an hour, or half of it when it is short; early enough to act."""
    return min(1800.0, limit_s / 2.0)


def kind_of_ingredient(thing: Ingredient, dish: Dish) -> Kind | None:
    """What kind of perishable an ingredient is; None for one that is not."""
    name = thing.name.lower()
    if is_egg(thing) and (thing.raw or thing.perishable):
        return Kind.EGGS
    if thing.raw:
        return {"poultry": Kind.RAW_POULTRY, "fish": Kind.RAW_FISH}.get(dish.food_kind, Kind.RAW_MEAT)
    if not thing.perishable:
        return None
    if "garlic" in name and "oil" in name:
        return Kind.GARLIC_OIL
    if "rice" in name:
        return Kind.RICE
    if any(word in name for word in _MAYONNAISE):
        return Kind.MAYONNAISE
    if any(word in name for word in _COOKED_WORDS):
        return Kind.COOKED
    return Kind.DAIRY if thing.allergens & {"milk", "dairy"} else Kind.UNKNOWN


_MAYONNAISE = ("mayo", "aioli", "remoulade", "tartar")
_COOKED_WORDS = ("stock", "broth", "cooked", "gravy")
_COOKS = frozenset({StepKind.FRY, StepKind.BAKE, StepKind.STOVE})


def kind_of_step(step: Step, dish: Dish) -> Kind | None:
    """What kind of perishable a step leaves; None when the card says its state is not on the clock.

    Card authors name things; the dish's kind of food decides where words do not.
    """
    if not step.makes_perishable:
        return None
    words = f"{step.name} {dish.name}".lower()
    if "garlic" in words and "oil" in words:
        return Kind.GARLIC_OIL
    if "rice" in words:
        return Kind.RICE
    if "batter" in step.name.lower() and step.kind is StepKind.HANDS:
        return Kind.BATTER
    if dish.food_kind == "potato":
        return Kind.BLANCHED
    heated = step.kind in _COOKS or any(s.kind in _COOKS for s in takewhile(lambda s: s.id != step.id, dish.steps))
    cooked = step.kind in _COOKS or not step.raw_in
    if food_of(dish) == "egg":
        return Kind.EGG_DISH if heated else Kind.EGG_MIX if step.raw_in else Kind.EGG_SAUCE
    if not heated and not step.raw_in:
        cold = {kind_of_ingredient(i, dish) for i in dish.ingredients}
        for kind in (Kind.MAYONNAISE, Kind.DAIRY):
            if kind in cold:
                return kind
    if dish.food_kind == "poultry":
        return Kind.COOKED_POULTRY if cooked else Kind.RAW_POULTRY
    if not cooked:
        return Kind.RAW_FISH if dish.food_kind == "fish" else Kind.RAW_MEAT
    return Kind.COOKED


def place_of_keep(keep: Keep) -> Place:
    """Where a card keeps a finished thing, as far as its clock cares."""
    return {Keep.FRIDGE: Place.FRIDGE, Keep.OVEN: Place.HOT}.get(keep, Place.COUNTER)


_COLD_WORDS = {
    "freez": Place.FREEZER,
    "fridge": Place.FRIDGE,
    "refrigerat": Place.FRIDGE,
    "chill": Place.FRIDGE,
    "ice bath": Place.ICE,
    "ice water": Place.ICE,
}


def place_of_step(step: Step) -> Place:
    """Where a step leaves its food: where the card's hold keeps it, else where its own words send it, else the counter."""
    if step.hold is not None:
        return place_of_keep(step.hold.keep)
    words = f"{step.name} {step.text}".lower()
    return next((place for word, place in _COLD_WORDS.items() if word in words), Place.COUNTER)


def place_limit(kind: Kind, place: Place, room_c: float = ROOM_C) -> tuple[float, float, str, str]:
    """(how long before the end to speak, the end, what to do, source), s, for a thing of this kind that stays in one place."""
    rule = KINDS[kind]
    match place:
        case Place.COUNTER:
            most = counter_limit(kind, room_c)
            return counter_warning(most), most, rule.then_do, counter_source(kind, room_c)
        case Place.HOT:
            return HOUR, TIME_CONTROL_S, "read it or eat", f"{HOLDING}; {TIME_CONTROL}"
        case Place.FRIDGE | Place.ICE:
            return rule.fridge_s / 4.0, rule.fridge_s, "eat or discard", rule.source
        case Place.FREEZER:
            return 0.0, math.inf, "", "USDA FSIS: food kept frozen stays safe"


@dataclass(frozen=True, slots=True)
class Stay:
    """A plan leaves a thing somewhere: item id, its name, kind, place, from and to in s."""

    item: str
    name: str
    kind: Kind
    place: Place
    from_s: float
    to_s: float


@dataclass(frozen=True, slots=True)
class Refusal:
    """A plan that is not made. item; say: what is wrong and the safe way, sentences of at most 12 words; source."""

    item: str
    say: tuple[str, str]
    source: str


def refusals(stays: Iterable[Stay], room_c: float = ROOM_C) -> tuple[Refusal, ...]:
    """Which things a plan leaves too long, each with the safe way; counter time of one thing is added up. Empty: nothing to refuse.

    >>> s = Stay("wings", "cooked wings", Kind.COOKED_POULTRY, Place.COUNTER, 0.0, 3 * HOUR)
    >>> refusals([s])[0].say
    ('Cooked wings out three hours: the limit is two hours.', 'Chill it uncovered on a rack.')
    """
    total: dict[tuple[str, Place], tuple[Stay, float]] = {}
    for stay in stays:
        before = total.get((stay.item, stay.place), (stay, 0.0))[1]
        total[stay.item, stay.place] = (stay, before + max(0.0, stay.to_s - stay.from_s))
    found = []
    for (item, place), (stay, seconds) in total.items():
        _, most, _, source = place_limit(stay.kind, place, room_c)
        if seconds > most:
            where = {Place.COUNTER: "out", Place.HOT: "held hot"}.get(place, "in the fridge")
            wrong = f"{upper(stay.name)} {where} {span_words(seconds)}: the limit is {span_words(most)}."
            way = KINDS[stay.kind].chill if place is not Place.FRIDGE else "Make it nearer to the meal, or freeze it."
            found.append(Refusal(item, (wrong, way), source))
    return tuple(found)
