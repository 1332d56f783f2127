"""What to buy and what to have out: the meal's ingredients added up, as bought, in packs, less what is in the house.

Rules. The same thing in two dishes is one line. As bought against edible portion: where the card says how much is wanted prepared, USDA's refuse
figure says how much must be bought for it, and the larger of the two is bought. Coating gets 20 % spare. Oil: every pot's
fill, what the food takes up, and 15 %. Pieces count whole; weights and volumes are rounded up to packs. Units are added by pint.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cache
from math import ceil
from typing import TYPE_CHECKING, Any

from rapidfuzz import process

from assistant.kitchen.meal import OPEN_FLAME, Amount, Dish, Ingredient, Keep, Meal, StepKind

if TYPE_CHECKING:
    from pint import UnitRegistry

SPARE_COATING = 1.2
SPARE_OIL = 1.15
OIL_UPTAKE = 0.10  # of the weight fried; measured 8.6 to 15 % for potatoes, less for coated food (reviewed figures)

# part that is not eaten, of the weight as bought: USDA SR28 FOOD_DES, `Refuse`, by NDB number
REFUSE: Mapping[str, tuple[str, float]] = {
    "potato": ("11353", 0.25),
    "sweet potato": ("11507", 0.28),
    "onion": ("11282", 0.10),
    "garlic": ("11215", 0.13),
    "carrot": ("11124", 0.11),
    "cauliflower": ("11135", 0.61),
    "broccoli": ("11090", 0.39),
    "celery": ("11143", 0.11),
    "cucumber": ("11205", 0.03),
    "mushroom": ("11260", 0.03),
    "tomato": ("11529", 0.09),
    "red pepper": ("11821", 0.18),
    "egg": ("01123", 0.12),
    "apple": ("09003", 0.10),
    "banana": ("09040", 0.36),
}

# kg a litre: weight of one cup in USDA SR28 WEIGHT over 236.6 ml (from memory), so that spoons and grams can be added
DENSITY: Mapping[str, float] = {
    "flour": 0.528,
    "sugar": 0.845,
    "honey": 1.433,
    "milk": 1.031,
    "oil": 0.921,
    "salt": 1.234,
    "yogurt": 1.036,
    "crumbs": 0.456,
    "capers": 0.58,
    "yeast": 0.81,
    "paprika": 0.47,
    "pepper": 0.47,
    "mustard powder": 0.41,
    "baking powder": 0.93,
    "starch": 0.54,
}
SPICE_DENSITY = 0.45  # kg a litre, of ground spices that are not in the table (common practice)
_POURED = re.compile(r"oil|vinegar|milk|water|sauce|stock|broth|juice|wine|beer|cider|cream|syrup|spirit|brandy|rum")

# pack sizes a small shop sells, kg or litres (common practice); anything else is weighed out
PACKS_KG: Mapping[str, tuple[float, ...]] = {
    "flour": (0.5, 1.0, 1.5),
    "sugar": (0.5, 1.0),
    "salt": (0.5,),
    "butter": (0.25,),
    "crumbs": (0.25, 0.5),
    "starch": (0.25, 0.5),
    "frozen": (0.5, 0.75, 1.0),
    "yogurt": (0.15, 0.5, 1.0),
    "lentils": (0.5,),
    "rice": (0.5, 1.0),
    "honey": (0.25, 0.5),
    "mayonnaise": (0.25, 0.5),
    "cheddar": (0.2, 0.4),
    "cheese": (0.2, 0.4),
    "yeast": (0.007,),
    "capers": (0.1,),
    "paprika": (0.04,),
    "pepper": (0.04,),
    "mustard powder": (0.05,),
    "baking powder": (0.1,),
}
PACKS_L: Mapping[str, tuple[float, ...]] = {
    "milk": (0.5, 1.0),
    "oil": (0.5, 1.0, 3.0, 5.0),
    "water": (0.5, 1.0),
    "vinegar": (0.25, 0.5),
    "sauce": (0.15, 0.25),
    "stock": (0.5, 1.0),
}
PACKS_PIECES: Mapping[str, tuple[int, ...]] = {"egg": (6, 10, 12)}
# counted on the card, sold by the bunch or the head: how many make one (common practice)
_TIED = {"sprig": ("bunch", 15), "stalk": ("bunch", 8), "leaf": ("bunch", 40), "leave": ("bunch", 40), "bunch": ("bunch", 1), "bunche": ("bunch", 1)}
_TIED |= {"clove": ("head", 10), "head": ("head", 1)}


class HaveError(ValueError):
    """A line of what is in the house that cannot be read: one sentence."""


@dataclass(frozen=True, slots=True)
class Need:
    """One thing. need: the amount; have: of that in the house; buy: what to put in the basket ("" when there is enough); dishes: what it is for;
    note: why more is bought than is eaten."""

    name: str
    need: str
    have: str
    buy: str
    dishes: tuple[str, ...]
    note: str = ""


@dataclass(frozen=True, slots=True)
class Shopping:
    """What to buy, in the order of the card, and what must be in the kitchen."""

    needs: tuple[Need, ...]
    equipment: tuple[str, ...]


@cache
def _units() -> UnitRegistry[Any]:
    from pint import UnitRegistry

    units: UnitRegistry[Any] = UnitRegistry(cache_folder=None)
    units.define("piece = [count] = pieces")
    for name in ("bunch", "head", "jar", "packet", "tin"):
        units.define(f"{name} = piece = {name}s")
    return units


def shopping(meal: Meal, have: Mapping[str, Any] | None = None, left_out: frozenset[str] = frozenset()) -> Shopping:
    """The list for this meal (already for the right number of people). have: what is in the house, as `read_have` gave it."""
    have = have or {}
    lines: dict[str, tuple[Ingredient, list[Any], list[str], str]] = {}
    for dish in meal.dishes:
        if dish.id in left_out:
            continue
        for thing in dish.ingredients:
            amount, note = _bought(thing, dish)
            name = _plain(thing.name)
            if name in lines:
                amounts, dishes = lines[name][1], lines[name][2]
                amounts.append(amount)
                dishes.append(dish.name)
            else:
                lines[name] = (thing, [amount], [dish.name], note)
    needs = []
    for name, (thing, amounts, dishes, note) in lines.items():
        line = _line(name, amounts, tuple(dict.fromkeys(dishes)), note, have)
        tied = _tied(thing.bought) if thing.bought.kg is None and thing.bought.litres is None else None
        if tied and line.buy:
            line = replace(line, buy=f"{line.buy} {tied[0]}{'' if line.buy == '1' else 'es' if tied[0] == 'bunch' else 's'}")
        needs.append(replace(line, need=thing.bought.text) if tied and len(amounts) == 1 else line)
    needs += _oil(meal, have, left_out)
    needs += _thermometers(meal)
    return Shopping(tuple(needs), tuple(_equipment(meal, left_out)))


def read_have(text: str, names: Iterable[str]) -> dict[str, Any]:
    """What is in the house: a line each, `flour: 500 g` or `eggs: 3`; `#` begins a remark. HaveError for a line that is no amount or names nothing
    on the list."""
    units = _units()
    known = {_plain(n): n for n in names}
    have: dict[str, Any] = {}
    for number, line in enumerate(text.splitlines(), 1):
        body = line.split("#")[0].strip()
        if not body:
            continue
        name, colon, amount = body.partition(":")
        if not colon:
            raise HaveError(f"line {number}: '{body}' wants a name, a colon and an amount, like 'flour: 500 g'.")
        key = _plain(name)
        if key not in known:
            near = process.extractOne(key, known, score_cutoff=60)
            raise HaveError(f"line {number}: nothing on the list is called '{name.strip()}'." + (f" Did you mean '{near[2]}'?" if near else ""))
        try:
            found: Any = units.Quantity(amount.strip())
        except Exception:  # pint raises errors of many families for text that is no quantity
            found = None
        if (
            found is None
            or not (found.dimensionless or found.check("[mass]") or found.check("[volume]") or found.check("[count]"))
            or found.magnitude < 0
        ):
            raise HaveError(f"line {number}: '{amount.strip()}' is no amount; write it like '500 g', '0.5 l' or '3'.")
        have[key] = found * units.piece if found.dimensionless else found
    return have


def refuse(name: str) -> tuple[str, float] | None:
    """(NDB number, part not eaten) for the longest known food that the name names."""
    singular = _plain(name)
    found = [food for food in REFUSE if re.search(rf"\b{food}(?:e?s)?\b", singular)]
    return REFUSE[max(found, key=len)] if found else None


def _plain(name: str) -> str:
    return " ".join(name.lower().split()).removeprefix("raw ").removeprefix("fresh ")


def _quantity(name: str, amount: Amount) -> Any:
    """The amount as it is sold: what is not poured is weighed, sprigs are a part of a bunch."""
    units = _units()
    if amount.kg is not None:
        return amount.kg * units.kilogram
    if amount.litres is not None:
        poured = _POURED.search(name) is not None
        return amount.litres * units.litre if poured else amount.litres * _density(name) * units.kilogram
    tied = _tied(amount)
    return (amount.pieces or 1.0) / (tied[1] if tied else 1) * units.piece


def _density(name: str) -> float:
    found = [food for food in DENSITY if food in name]
    return DENSITY[max(found, key=len)] if found else SPICE_DENSITY


def _tied(amount: Amount) -> tuple[str, int] | None:
    """What something counted is sold as, and how many of it that is; None for what is sold by the piece."""
    return next((_TIED[word] for w in amount.text.lower().split() if (word := w.rstrip("s,")) in _TIED), None)


def _bought(thing: Ingredient, dish: Dish) -> tuple[Any, str]:
    amount, note = _quantity(_plain(thing.name), thing.bought), ""
    waste = refuse(thing.name)
    if waste and thing.prepared is not None and thing.prepared.kg is not None and thing.bought.kg is not None:
        wanted = thing.prepared.kg / (1.0 - waste[1])
        if wanted > thing.bought.kg:
            amount, note = wanted * _units().kilogram, f"{waste[1]:.0%} of it is not eaten, USDA {waste[0]}"
    fried = any(s.kind is StepKind.FRY and s.fry is not None and s.fry.coated for s in dish.steps)
    if fried and thing.coats:
        amount, note = amount * SPARE_COATING, "with a fifth to spare for coating"
    return amount, note


def _line(name: str, amounts: list[Any], dishes: tuple[str, ...], note: str, have: Mapping[str, Any]) -> Need:
    total = _sum(name, amounts)
    stock = have.get(name)
    left = total if stock is None else _less(name, total, stock)
    buy = "" if left.magnitude <= 1e-9 else _packs(name, left)
    return Need(name, _text(total), "" if stock is None else _text(stock), buy, dishes, note)


def _as(name: str, amount: Any, like: Any) -> Any | None:
    """The amount in the dimension of another, by the food's density where one is weighed and one measured; None when they cannot be compared."""
    if amount.check(like.dimensionality):
        return amount.to(like.units)
    found = [food for food in DENSITY if food in name]
    if not found:
        return None
    density = DENSITY[max(found, key=len)]
    per = density * _units().kilogram / _units().litre
    if amount.check("[volume]") and like.check("[mass]"):
        return (amount * per).to(like.units)
    if amount.check("[mass]") and like.check("[volume]"):
        return (amount / per).to(like.units)
    return None


def _sum(name: str, amounts: list[Any]) -> Any:
    total = amounts[0]
    for amount in amounts[1:]:
        same = _as(name, amount, total)
        total = total if same is None else total + same
    return total


def _less(name: str, total: Any, stock: Any) -> Any:
    same = _as(name, stock, total)
    return total if same is None else total - same


def _packs(name: str, amount: Any) -> str:
    units = _units()
    if amount.check("[count]"):
        n = ceil(amount.to(units.piece).magnitude - 1e-9)
        sizes = next((s for food, s in PACKS_PIECES.items() if food in name), None)
        return f"{n}" if sizes is None else f"{_fit(n, sizes):g}"
    unit, table, step, big = (units.kilogram, PACKS_KG, 0.05, 0.1) if amount.check("[mass]") else (units.litre, PACKS_L, 0.05, 0.1)
    value = amount.to(unit).magnitude
    sizes_of = next((s for food, s in table.items() if food in name), None)
    if sizes_of is not None:
        value = _fit(value, sizes_of)
    else:
        step = step if value < 1 else big
        value = ceil(value / step - 1e-9) * step
    return _text(value * unit)


def _fit(value: float, sizes: tuple[float, ...] | tuple[int, ...]) -> float:
    """The least that packs of these sizes come to, at least `value`: the smallest single pack that holds it, else the biggest as often as needed."""
    single = [s for s in sizes if s >= value - 1e-9]
    return min(single) if single else ceil(value / max(sizes) - 1e-9) * max(sizes)


def _text(amount: Any) -> str:
    units = _units()
    if amount.check("[count]"):
        return f"{amount.to(units.piece).magnitude:g}"
    big, small, names = (units.kilogram, units.gram, ("kg", "g")) if amount.check("[mass]") else (units.litre, units.millilitre, ("l", "ml"))
    value = amount.to(big).magnitude
    return f"{value:.2f}".rstrip("0").rstrip(".") + f" {names[0]}" if value >= 1 else f"{amount.to(small).magnitude:.0f} {names[1]}"


def _oil(meal: Meal, have: Mapping[str, Any], left_out: frozenset[str]) -> list[Need]:
    needs = []
    by_kind: dict[str, float] = {}
    for pot in meal.equipment.pots:
        fried = [s.fry.kg for s in meal.steps() if s.fry is not None and s.fry.pot == pot.id and s.dish not in left_out]
        if fried and pot.oil_litres and pot.fresh_oil:
            taken = OIL_UPTAKE * sum(fried) / DENSITY["oil"]
            by_kind[pot.oil_kind] = by_kind.get(pot.oil_kind, 0.0) + (pot.oil_litres + taken) * SPARE_OIL
    for kind, litres in by_kind.items():
        name = "oil for frying" if kind == "blend" else f"{kind} oil for frying"
        needs.append(_line(name, [litres * _units().litre], (), "the pot, what the food takes up, and 15 %", have))
    return needs


def _thermometers(meal: Meal) -> list[Need]:
    needs = []
    if not meal.equipment.oil_thermometer:
        needs.append(Need("oil thermometer", "1", "", "1", (), "the oil's temperature is a guess without one"))
    if not meal.equipment.core_thermometer and any(s.core_c for s in meal.steps()):
        needs.append(Need("core thermometer", "1", "", "1", (), "nobody can see whether it is done inside"))
    return needs


SAFER = "induction or a fryer with a thermostat rather than the flame, if there is one"


def _equipment(meal: Meal, left_out: frozenset[str]) -> list[str]:
    steps = [s for s in meal.steps() if s.dish not in left_out]
    out = []
    for pot in meal.equipment.pots:
        if any(s.fry is not None and s.fry.pot == pot.id for s in steps):
            size = f", {pot.width_m * 100:.0f} by {pot.height_m * 100:.0f} cm" if pot.width_m and pot.height_m else ""
            out.append(f"{pot.name}{size}, dry, with a lid within reach")
            if pot.heat in OPEN_FLAME and SAFER not in out:
                out.append(SAFER)
    if any(s.kind is StepKind.FRY for s in steps):
        out += ["slotted spoon or basket", "rack over a tray", "tongs"]
    if any(s.kind is StepKind.BAKE or (s.hold is not None and s.hold.keep is Keep.OVEN) for s in steps):
        out.append(f"oven, {meal.equipment.trays} trays")
    stove = sum(1 for s in steps if s.kind is StepKind.STOVE)
    if stove:
        out.append(f"{stove} pan{'' if stove == 1 else 's'}")
    out += ["oil thermometer"] if meal.equipment.oil_thermometer else []
    out += ["core thermometer"] if meal.equipment.core_thermometer and any(s.core_c for s in steps) else []
    return out
