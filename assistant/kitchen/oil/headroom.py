"""Headroom: how full the pot may be. The tightest of three rules wins and is said by its name.

    hot oil <= H/3;   hot oil + food <= H/2;   S x hot oil + food <= H - margin
A third at most: Scottish, South Yorkshire, Cumbria, Cheshire, Cornwall, Kent and Norfolk fire services, Pennsylvania State Fire Commissioner; half
with food in: Norfolk Fire & Rescue. Swell S and the margin are cautious practice, no source. An electric fryer goes by its marks.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from assistant.kitchen.meal import OPEN_FLAME, Heat, Pot
from assistant.kitchen.oil.properties import oil_expansion

HOTTEST_C = 190.0
"""Oil is measured cold for the hottest it may get this evening, C: the highest target there is."""

SWELL = 1.5
"""How much bubbling oil rises: default."""

SWELL_FOAMY = 3.0
"""The same for the first drop into fresh oil, wet or unrinsed starchy food, frost, old oil."""

MARGIN_M = 0.020
"""Foam stays this far below the rim, m."""

MARGIN_FLAME_M = 0.040
"""The same over an open flame, m."""


class Limit(StrEnum):
    """Which rule binds, as it is said."""

    THIRD = "a third of the pot"
    HALF = "half the pot with food"
    FOAM = "room for foam"
    FLAME = "room for foam over a flame"
    MARKS = "the fryer's marks"


@dataclass(frozen=True, slots=True)
class Headroom:
    """cold_l_max: the most oil, l, measured cold, for this food (None: the fryer's marks decide); limit: the rule that sets it; level_mm: hot oil
    with food in, without foam; rim_mm: from the top of the foam to the rim, negative when it comes over; ok: the oil in the pot is no more than
    that."""

    cold_l_max: float | None
    limit: Limit
    level_mm: float
    rim_mm: float
    ok: bool


def headroom(
    width_m: float,
    height_m: float,
    oil_litres: float,
    oil_c: float,
    food_kg: float,
    food_density: float,
    *,
    swell: float = SWELL,
    open_flame: bool = False,
    marks: bool = False,
    careful: bool = False,
) -> Headroom:
    """How full a round pot of this inner width and height is with so much oil (measured cold) at `oil_c` and so much food in it, and how much it may
    hold; room for the oil is reckoned at 190 C or `oil_c`, whichever is hotter. careful: without a thermometer the margins are doubled. ValueError
    when a size is not positive.

    >>> round(headroom(0.26, 0.15, 2.0, 190.0, 0.0, 1075.0).cold_l_max or 0, 2)
    2.34
    """
    if not (width_m > 0 and height_m > 0 and oil_litres >= 0 and food_kg >= 0 and food_density > 0):
        raise ValueError("A pot's width and height must be above zero, and oil and food not below it.")
    base = math.pi * width_m * width_m / 4.0
    food_m = food_kg / food_density / base
    margin = _margin(open_flame, careful)
    oil_m = {
        Limit.THIRD: height_m / 3.0,
        Limit.HALF: height_m / 2.0 - food_m,
        (Limit.FLAME if open_flame else Limit.FOAM): (height_m - margin - food_m) / swell,
    }
    limit = min(oil_m, key=lambda name: oil_m[name])
    cold_max = max(0.0, oil_m[limit]) * base * 1000.0 / oil_expansion(max(HOTTEST_C, oil_c))
    level = oil_litres / 1000.0 * oil_expansion(oil_c) / base
    rim = height_m - (swell * level + food_m)
    shown = 1000.0 * (level + food_m), 1000.0 * rim
    if marks:
        return Headroom(None, Limit.MARKS, *shown, ok=True)
    return Headroom(cold_max, limit, *shown, ok=oil_litres <= cold_max + 1e-9)


def _margin(open_flame: bool, careful: bool) -> float:
    return (MARGIN_FLAME_M if open_flame else MARGIN_M) * (2.0 if careful else 1.0)


def food_that_fits(
    width_m: float,
    height_m: float,
    oil_litres: float,
    oil_c: float,
    food_density: float,
    *,
    swell: float = SWELL,
    open_flame: bool = False,
    careful: bool = False,
) -> float:
    """The most food, kg, for which `headroom` is ok with this oil; 0 when there is too much oil for any."""
    base = math.pi * width_m * width_m / 4.0
    level = oil_litres / 1000.0 * oil_expansion(max(HOTTEST_C, oil_c)) / base
    if level > height_m / 3.0 + 1e-9:
        return 0.0
    margin = _margin(open_flame, careful)
    room = min(height_m / 2.0 - level, height_m - margin - swell * level)
    return max(0.0, room) * base * food_density


def pot_headroom(pot: Pot, oil_c: float, food_kg: float, food_density: float, swell: float, *, careful: bool = False) -> Headroom | None:
    """`headroom` of a card's pot; None while its size or its oil is not known and it has no marks."""
    marks = pot.heat is Heat.FRYER
    if pot.width_m is None or pot.height_m is None or pot.oil_litres is None:
        return Headroom(None, Limit.MARKS, math.nan, math.nan, ok=True) if marks else None
    flame = pot.heat in OPEN_FLAME
    sizes = pot.width_m, pot.height_m, pot.oil_litres
    return headroom(*sizes, oil_c, food_kg, food_density, swell=swell, open_flame=flame, marks=marks, careful=careful)


def pot_fits(pot: Pot, oil_c: float, food_density: float, swell: float, *, careful: bool = False) -> float:
    """`food_that_fits` of a card's pot, kg; infinite where a fryer's marks decide or the pot's size or oil is not known."""
    if pot.heat is Heat.FRYER or pot.width_m is None or pot.height_m is None or pot.oil_litres is None:
        return math.inf
    sizes = pot.width_m, pot.height_m, pot.oil_litres
    return food_that_fits(*sizes, oil_c, food_density, swell=swell, open_flame=pot.heat in OPEN_FLAME, careful=careful)
