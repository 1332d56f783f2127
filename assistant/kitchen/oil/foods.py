"""What goes into the oil: foods by composition, and cuts of them by shape and size, found by a cook's words.

A cut is said as food, shape and size: "potato sticks 10 mm", "quarter-inch potato sticks", "chicken wings", "battered cod fillets 25 mm".
A stick's or slice's size must be said, because a quarter-inch stick costs the oil half as much again as one of 10 mm. Compositions are USDA SR27's,
by their NDB number; sizes of whole pieces, their weights and the water on their surface are common practice, no source.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, replace

from assistant.kitchen.oil.properties import Composition, choi_okos_conductivity, choi_okos_density, choi_okos_heat_capacity


class UnknownCutError(ValueError):
    """These words name no cut of the table, or leave out a size that matters. The message is one sentence a cook can act on."""


@dataclass(frozen=True, slots=True)
class Food:
    """A food. water: mass fraction; heat_capacity J/kgK, conductivity W/mK, density kg/m3, all at 20 C; ndb: number in the USDA's table, None where
    figures were given otherwise; animal: raw animal food."""

    name: str
    ndb: str | None
    water: float
    heat_capacity: float
    conductivity: float
    density: float
    animal: bool = False


def _usda(name: str, ndb: str, water: float, protein: float, fat: float, total: float, fibre: float, ash: float, animal: bool = False) -> Food:
    """A food from the USDA's row, g per 100 g; `total` is carbohydrate by difference, which has the fibre in it."""
    c = Composition(water, protein, fat, total - fibre, fibre, ash)
    at = 20.0
    whole = dict(c.parts())["water"]
    cp, k, rho = choi_okos_heat_capacity(c, at), choi_okos_conductivity(c, at), choi_okos_density(c, at)
    return Food(name, ndb, whole, cp, k, rho, animal=animal)


def _by_water(name: str, water: float, animal: bool = False) -> Food:
    """A food of which only the water is known (fractions from memory): cp = 4.19 p + 0.84 (1 - p), k = 0.55 p + 0.26 (1 - p) of Earle, Unit
    Operations in Food Processing (NZIFST); density 1050 kg/m3."""
    cp, k = 1000.0 * (4.19 * water + 0.84 * (1.0 - water)), 0.55 * water + 0.26 * (1.0 - water)
    return Food(name, None, water, cp, k, 1050.0, animal=animal)


POTATO = Food("potato", None, 0.78, 3640.0, 0.568, 1075.0)
"""The potato of the worked examples: 78 % water, and a conductivity between Choi and Okos' at 20 and at 60 C."""

FOODS: dict[str, Food] = {
    f.name: f
    for f in (
        POTATO,
        _usda("potato with skin", "11352", 79.34, 2.02, 0.09, 17.47, 2.2, 1.08),
        _usda("russet potato", "11353", 78.58, 2.14, 0.08, 18.07, 1.3, 1.13),
        _usda("frozen fries", "11402", 66.61, 2.24, 4.66, 24.81, 1.9, 1.68),
        _usda("cod", "15015", 81.22, 17.81, 0.67, 0.0, 0.0, 1.16, animal=True),
        _usda("haddock", "15033", 83.38, 16.32, 0.45, 0.0, 0.0, 1.28, animal=True),
        _usda("chicken wing", "05100", 69.19, 17.52, 13.16, 0.0, 0.0, 0.74, animal=True),
        _usda("chicken thigh", "05091", 66.47, 16.52, 16.61, 0.25, 0.0, 0.81, animal=True),
        _usda("chicken meat", "05096", 76.22, 19.66, 4.12, 0.0, 0.0, 0.95, animal=True),
        _usda("onion", "11282", 89.11, 1.10, 0.10, 9.34, 1.7, 0.35),
        _usda("plantain", "09277", 65.28, 1.30, 0.37, 31.89, 2.3, 1.17),
        _usda("rice", "20045", 68.44, 2.69, 0.28, 28.17, 0.4, 0.41),
        # flour and water, 60 % hydration: (11.92 + 60) / 160 of water and so on from the flour's row (20081)
        _usda("dough", "20081", 44.9, 6.46, 0.61, 47.69, 1.69, 0.29),
        _by_water("sweet potato", 0.77),
        _by_water("shrimp", 0.78, animal=True),
        _by_water("squid", 0.79, animal=True),
        _by_water("pork", 0.72, animal=True),
        _by_water("beef", 0.72, animal=True),
        _by_water("tofu", 0.80),
        _by_water("cheese", 0.50),
        _by_water("courgette", 0.94),
        _by_water("cauliflower", 0.92),
        _by_water("aubergine", 0.92),
        _by_water("mushroom", 0.92),
        _by_water("chickpea", 0.60),
        _by_water("apple", 0.85),
        _by_water("banana", 0.75),
    )
}
"""Every food, by name."""


@dataclass(frozen=True, slots=True)
class Cut:
    """Pieces as they go in. area_m2_kg: surface of a kilogram; core_s: time constant of the core warming to boiling, s; piece_kg: one piece;
    damp, wet: water on the surface as a fraction of the weight, patted dry and not; crust: the same for its coating (None: not coated)."""

    name: str
    food: Food
    area_m2_kg: float
    core_s: float
    piece_kg: float
    damp: float = 0.0
    wet: float = 0.10
    crust: float | None = None

    @property
    def handful(self) -> bool:
        """Whether it is counted in handfuls rather than pieces (pieces under 25 g)."""
        return self.piece_kg < 0.025

    def surface_water(self, wet: bool, coated: bool) -> float:
        """Water that is given off before any crust, as a fraction of the weight: the worse of what is on the surface and what is in the coating
        (5 % floured or crumbed, 15 % battered; common practice, no source)."""
        return max(self.wet if wet else self.damp, self.crust or (0.05 if coated else 0.0))


HANDFUL_KG = 0.1
"""What one handful of small pieces weighs, kg: common practice, no source."""


def stick(food: Food, side_m: float, length_m: float = 0.07) -> tuple[float, float, float]:
    """(surface per kg, core time constant, weight) of a square stick: A/V = 4/a + 2/L, tau = (a/2)^2 / (alpha 2 (pi/2)^2).

    >>> area, core, _ = stick(POTATO, 0.010)
    >>> round(area * 0.4, 4), round(core, 1)
    (0.1595, 34.9)
    """
    area = (4.0 / side_m + 2.0 / length_m) / food.density
    return area, _core(food, side_m / 2.0, 2), side_m * side_m * length_m * food.density


def slab(food: Food, thick_m: float, wide_m: float, long_m: float) -> tuple[float, float, float]:
    """(surface per kg, core time constant, weight) of a flat piece warmed through its thickness: tau = (t/2)^2 / (alpha (pi/2)^2)."""
    area = (2.0 / thick_m + 2.0 / wide_m + 2.0 / long_m) / food.density
    return area, _core(food, thick_m / 2.0, 1), thick_m * wide_m * long_m * food.density


def cylinder(food: Food, across_m: float, long_m: float) -> tuple[float, float, float]:
    """(surface per kg, core time constant, weight) of a round piece: A/V = 4/D + 2/L, tau = R^2 / (5.783 alpha), 5.783 the square of the
    first zero of J0."""
    radius = across_m / 2.0
    alpha = food.conductivity / (food.density * food.heat_capacity)
    area = (4.0 / across_m + 2.0 / long_m) / food.density
    return area, radius * radius / (5.783 * alpha), math.pi * radius * radius * long_m * food.density


def ball(food: Food, across_m: float) -> tuple[float, float, float]:
    """(surface per kg, core time constant, weight) of a ball: A/V = 6/D, tau = R^2 / (pi^2 alpha)."""
    radius = across_m / 2.0
    alpha = food.conductivity / (food.density * food.heat_capacity)
    return 6.0 / across_m / food.density, radius * radius / (math.pi**2 * alpha), 4.0 / 3.0 * math.pi * radius**3 * food.density


def _core(food: Food, half_m: float, ways: int) -> float:
    alpha = food.conductivity / (food.density * food.heat_capacity)
    return half_m * half_m / (alpha * ways * (math.pi / 2.0) ** 2)


# words of a food -> name in FOODS; longer phrases first, so that "sweet potato" is never a potato
_FOOD_WORDS: tuple[tuple[str, str], ...] = (
    ("frozen fries", "frozen fries"),
    ("frozen chips", "frozen fries"),
    ("frozen potato", "frozen fries"),
    ("sweet potato", "sweet potato"),
    ("russet", "russet potato"),
    ("potato with skin", "potato with skin"),
    ("potato", "potato"),
    ("chips", "potato"),
    ("fries", "potato"),
    ("haddock", "haddock"),
    ("cod", "cod"),
    ("fish", "cod"),
    ("wing", "chicken wing"),
    ("drumstick", "chicken thigh"),
    ("thigh", "chicken thigh"),
    ("chicken", "chicken meat"),
    ("turkey", "chicken meat"),
    ("poultry", "chicken meat"),
    ("onion", "onion"),
    ("plantain", "plantain"),
    ("rice", "rice"),
    ("arancini", "rice"),
    ("dough", "dough"),
    ("shrimp", "shrimp"),
    ("prawn", "shrimp"),
    ("squid", "squid"),
    ("calamari", "squid"),
    ("pork", "pork"),
    ("beef", "beef"),
    ("tofu", "tofu"),
    ("cheese", "cheese"),
    ("halloumi", "cheese"),
    ("mozzarella", "cheese"),
    ("courgette", "courgette"),
    ("zucchini", "courgette"),
    ("cauliflower", "cauliflower"),
    ("broccoli", "cauliflower"),
    ("aubergine", "aubergine"),
    ("eggplant", "aubergine"),
    ("mushroom", "mushroom"),
    ("falafel", "chickpea"),
    ("chickpea", "chickpea"),
    ("apple", "apple"),
    ("banana", "banana"),
    ("fritter", "dough"),
)

# shape: (words, size in mm when none is said; None: it must be said)
_SHAPES: tuple[tuple[str, tuple[str, ...], float | None], ...] = (
    ("stick", ("stick", "fries", "chips", "baton"), None),
    ("slice", ("slice", "crisp", "round"), None),
    ("ring", ("ring", "calamari"), 10.0),
    ("cube", ("cube", "dice", "chunk"), None),
    ("wedge", ("wedge",), 25.0),
    ("fillet", ("fillet", "goujon", "breast", "cutlet", "escalope"), 25.0),
    ("strip", ("strip", "tender", "finger"), 15.0),
    ("wing", ("wing",), 30.0),
    ("drumstick", ("drumstick",), 45.0),
    ("thigh", ("thigh",), 40.0),
    ("ball", ("ball", "nugget", "arancini", "fritter", "bites", "falafel", "croquette", "doughnut", "floret"), 30.0),
    ("piece", ("piece", "shrimp", "prawn", "mushroom"), 30.0),
)

_NUMBER_WORDS = {"quarter": 0.25, "third": 1 / 3, "half": 0.5, "three-quarter": 0.75, "one": 1.0, "two": 2.0, "an": 1.0, "a": 1.0}
_SIZE = re.compile(
    r"(?P<n>\d+(?:\.\d+)?(?:/\d+)?|three[- ]quarter|quarter|third|half|one|two|an?)[- ]?(?P<unit>mm|cm|inch(?:es)?|in|millimet\w+|centimet\w+)\b"
)


def size_said(words: str) -> float | None:
    """The size in these words, m; None when they have none.

    >>> size_said("potato sticks 10 mm"), size_said("quarter-inch potato sticks"), size_said("chicken wings")
    (0.01, 0.00635, None)
    """
    found = _SIZE.search(words.lower())
    if found is None:
        return None
    text = found["n"].replace(" ", "-")
    if text in _NUMBER_WORDS:
        number = _NUMBER_WORDS[text]
    elif "/" in text:
        over, under = text.split("/")
        number = float(over) / float(under) if float(under) else 0.0
    else:
        number = float(text)
    scale = {"m": 0.001, "c": 0.01, "i": 0.0254}["m" if found["unit"].startswith(("mm", "mi")) else found["unit"][0]]
    return round(number * scale, 6) if number > 0 else None


def cut(words: str) -> Cut:
    """The cut these words name. UnknownCutError when the food or shape is not in the table or a size that matters was left out.

    >>> round(cut("potato sticks 10 mm").area_m2_kg, 4), round(cut("1/4 inch potato sticks").area_m2_kg / cut("potato sticks 10 mm").area_m2_kg, 2)
    (0.3987, 1.54)
    """
    plain = " ".join(words.lower().split())
    food = next((FOODS[name] for word, name in _FOOD_WORDS if re.search(rf"\b{word}", plain)), None)
    if food is None:
        raise UnknownCutError(f"'{words}' is no food of the table: name one of {', '.join(sorted(FOODS))}.")
    shape, default = next(((s, mm) for s, ways, mm in _SHAPES if any(re.search(rf"\b{w}", plain) for w in ways)), (None, None))
    if shape is None:
        raise UnknownCutError(f"'{words}' names no shape: say sticks, slices, rings, cubes, wedges, strips, fillets, pieces or balls.")
    size = size_said(plain) or (None if default is None else default / 1000.0)
    if size is None:
        raise UnknownCutError(f"'{words}' needs a size, because thin pieces chill the oil far more: '{words} 10 mm'.")
    if not 0.001 <= size <= 0.1:
        raise UnknownCutError(f"'{words}' is {size * 1000:g} mm thick, and the table goes from 1 to 100 mm.")
    area, core, weight = _shaped(food, shape, size)
    made = Cut(plain, food, area, core, weight)
    if food.animal:
        made = replace(made, damp=0.02, wet=0.05)
    if "batter" in plain:
        return replace(made, crust=0.15)
    if any(w in plain for w in ("bread", "crumb", "flour", "coated", "dredged")):
        return replace(made, crust=0.05)
    return made


def _shaped(food: Food, shape: str, size: float) -> tuple[float, float, float]:
    match shape:
        case "stick":
            return stick(food, size)
        case "cube":
            area, core, weight = stick(food, size, size)
            return area, core * 2.0 / 3.0, weight  # three ways for the heat instead of two
        case "slice":
            return slab(food, size, 0.05, 0.05)
        case "ring":
            return slab(food, size, 0.012, 0.2)
        case "fillet":
            return slab(food, size, 0.06, 0.10)
        case "strip":
            return slab(food, size, 0.025, 0.08)
        case "ball":
            return ball(food, size)
        case "wedge":
            return stick(food, size, 0.08)
        case _:
            return cylinder(food, size, {"wing": 0.10, "drumstick": 0.10, "thigh": 0.10, "piece": 0.08}[shape])
