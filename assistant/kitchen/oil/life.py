"""The life of one pot of oil: what was fried in it, how far it has aged, which allergens are in it, when to throw it away and when it may be moved.

Ageing is total polar compounds, percent:  TPC = 4 + sum of r x hours hot x 2^((T-175)/25) x food factor; a top-up dilutes. Rates r: canola and peanut
reached 25 % after 18 to 20 h at 175 C and extra virgin olive after more than 28 h (Santos 2018, J. Food Sci. Technol., abstract); the rest of the
factors are common practice, no source. So the band is +-50 %, it is an estimate, and what the senses say goes first. Warn at 14 % (sensory cut-off,
Moosavi and Farhoosh 2023, Foods 12:316), discard at 22 %; many countries' legal limit is 24 to 27 %.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from enum import StrEnum

from assistant.kitchen.oil.pot import Vessel

FRESH_TPC = 4.0
WARN_TPC = 14.0
DISCARD_TPC = 22.0
BAND = 0.5
"""The estimate's honest band: this part of it either way."""

TARGET_MOST_C = 190.0
"""No set point above this, C."""

CEILING_C = 200.0
"""No drop into oil hotter than this, whatever the oil, C."""


@dataclass(frozen=True, slots=True)
class Oil:
    """A kind of oil. smoke_c: the low end of its published smoke points, C; rate: TPC a hot hour at 175 C, percent."""

    kind: str
    smoke_c: float
    rate: float

    @property
    def most_c(self) -> float:
        """The hottest it may be with food going in, C."""
        return min(CEILING_C, self.smoke_c)


OILS: dict[str, Oil] = {
    o.kind: o
    for o in (
        Oil("blend", 190.0, 1.6),  # not known: assume the worst of the refined ones
        Oil("vegetable", 190.0, 1.6),
        Oil("canola", 204.0, 1.2),
        Oil("rapeseed", 204.0, 1.2),
        Oil("peanut", 227.0, 1.2),
        Oil("sunflower", 227.0, 1.6),
        Oil("high-oleic sunflower", 227.0, 0.75),
        Oil("soybean", 234.0, 1.6),
        Oil("corn", 230.0, 1.6),
        Oil("lard", 190.0, 1.2),
        Oil("beef tallow", 205.0, 1.2),
        Oil("olive", 199.0, 0.75),
        Oil("extra virgin olive", 190.0, 0.75),
        Oil("virgin coconut", 177.0, 1.2),
    )
}
"""Smoke points: low ends of the published lists (spread 20 K; they fall with use)."""

REUSED_SMOKE_C = 190.0
"""Reused oil is taken to smoke here at the latest, C."""

_FOOD_FACTOR = {"clean": 1.0, "potato": 1.0, "vegetable": 1.0, "dough": 1.0, "sweet": 1.0, "coated": 1.3, "fish": 1.5, "poultry": 1.5, "meat": 1.5}
IDLE_FACTOR = 0.7
"""Hot with nothing in it."""


TAKEN_UP = 0.12
"""Oil that goes away with fried food, of its weight: 8.6 to 15 % measured on fries (Aydinkaptan 2017 and others, abstracts)."""

LOW_PART = 0.12
"""Oil is topped up when this part of it is gone (common practice, no source): fewer litres fall further."""


class Sign(StrEnum):
    """What ends an oil whatever the estimate says; asked for at the end of an evening."""

    SMOKE = "smokes at its usual temperature"
    FOAM = "foam that stays"
    DARK = "dark and sticky"
    SMELL = "rancid or fishy smell"
    THICK = "pours thickly"
    ASKED = "one of these, when asked"


class Verdict(StrEnum):
    """What to do with an oil."""

    KEEP = "keep"
    SOON = "soon to go"
    DISCARD = "discard"


@dataclass(frozen=True, slots=True)
class Fried:
    """One thing fried in an oil: its name, kind of food, and how long, s."""

    name: str
    food_kind: str
    seconds: float


@dataclass(frozen=True, slots=True)
class OilLife:
    """One pot of oil. litres: cold; tpc: estimate, percent; uses: evenings; hot_s: time above 130 C; fried; allergens that touched it; topped_up:
    litres added; signs seen; lost: litres that food has taken up since it was last full."""

    kind: str
    litres: float
    tpc: float = FRESH_TPC
    uses: int = 0
    hot_s: float = 0.0
    fried: tuple[Fried, ...] = ()
    allergens: frozenset[str] = frozenset()
    topped_up: float = 0.0
    signs: frozenset[Sign] = frozenset()
    lost: float = 0.0

    def __post_init__(self) -> None:
        if not (0.0 < self.litres < math.inf and 0.0 <= self.tpc < math.inf and 0.0 <= self.hot_s < math.inf):
            raise ValueError("An oil has litres above zero, and age and hours not below it.")

    @property
    def fresh(self) -> bool:
        """Whether nothing has been fried in it yet."""
        return not self.fried

    @property
    def band(self) -> tuple[float, float]:
        """The estimate's honest range of TPC, percent: what was added is known to +-50 %."""
        aged = self.tpc - FRESH_TPC
        return FRESH_TPC + (1.0 - BAND) * aged, FRESH_TPC + (1.0 + BAND) * aged

    @property
    def most_c(self) -> float:
        """The hottest this oil may be with food going in, C: reused oil smokes earlier."""
        new = OILS.get(self.kind, OILS["blend"]).most_c
        return new if self.uses <= 1 else min(new, REUSED_SMOKE_C)

    @property
    def foamy(self) -> bool:
        """Whether it foams more than food alone would make it: fresh, or old."""
        return self.fresh or self.tpc >= WARN_TPC or Sign.FOAM in self.signs

    def hot(self, seconds: float, c: float, food_kind: str | None = None) -> OilLife:
        """Aged by `seconds` at `c`, with this kind of food in it (None: nothing). Below 130 C it does not age here.

        >>> round(OilLife("canola", 2.0).hot(18 * 3600, 175.0, "potato").tpc, 1)
        25.6
        """
        if c < 130.0 or seconds <= 0.0:
            return self
        factor = IDLE_FACTOR if food_kind is None else _FOOD_FACTOR.get(food_kind, 1.5)
        rate = OILS.get(self.kind, OILS["blend"]).rate
        return replace(self, tpc=self.tpc + rate * seconds / 3600.0 * math.pow(2.0, (c - 175.0) / 25.0) * factor, hot_s=self.hot_s + seconds)

    def fry(self, name: str, food_kind: str, seconds: float, c: float, allergens: frozenset[str] = frozenset(), kg: float = 0.0) -> OilLife:
        """The same oil after a batch of `kg` and so many seconds at about `c`."""
        aged = self.hot(seconds, c, food_kind)
        fried = (*self.fried, Fried(name, food_kind, seconds))
        return replace(aged, fried=fried, allergens=self.allergens | allergens, lost=self.lost + TAKEN_UP * kg / 0.9)

    @property
    def runs_low(self) -> bool:
        """Whether food has taken so much of it that it wants topping up."""
        return self.lost >= LOW_PART * self.litres

    def top_up(self, litres: float) -> OilLife:
        """With so much fresh oil added. ValueError when it is not above zero."""
        if litres <= 0.0:
            raise ValueError("A top-up is more than nothing.")
        whole = self.litres + litres
        return replace(
            self,
            litres=whole,
            tpc=(self.tpc * self.litres + FRESH_TPC * litres) / whole,
            topped_up=self.topped_up + litres,
            lost=max(0.0, self.lost - litres),
        )

    def evening(self) -> OilLife:
        """Used for one evening more."""
        return replace(self, uses=self.uses + 1)

    def seen(self, *signs: Sign) -> OilLife:
        """With signs of age that the cook saw."""
        return replace(self, signs=self.signs | set(signs))

    @property
    def verdict(self) -> Verdict:
        """Any sign ends it; else by the estimate."""
        if self.signs or self.tpc >= DISCARD_TPC:
            return Verdict.DISCARD
        return Verdict.SOON if self.tpc >= WARN_TPC else Verdict.KEEP

    def not_for(self, own: frozenset[str]) -> frozenset[str]:
        """Allergens that somebody gets who eats a thing with allergens `own` fried in this oil now."""
        return own | self.allergens


TOP_UP_RULES = ("Only between batches.", "Heat low.", "Dry oil at room temperature.", "Pour slowly, at the wall.", "Then look at the level again.")
"""How oil is topped up, in order."""

STORING_RULES = (
    "Strain through fine mesh and cloth.",
    "Sealed, dark and cool.",
    "A month in a cupboard, three in the fridge.",
    "Old oil: sealed, in the bin.",
)
"""After cooling. NC State University (one month); a tip list after the USDA's (three months in the fridge); never down a sink."""

MOVABLE_C = 40.0
"""No pot of oil is moved above this, C."""


def movable_in(vessel: Vessel, oil_c: float, heavy: bool = False) -> float:
    """Seconds until a pot of oil left alone, heat off, may be moved: cooling to 40 C by its losses, but at least 2 h for 2 l in thin steel and
    3 h for 3 l or more or cast iron (`heavy`; common practice) when it starts at frying heat. It is probed before it is moved all the same.

    >>> round(movable_in(Vessel(2.0), 180.0) / 3600, 1)
    2.0
    """
    if oil_c <= MOVABLE_C:
        return 0.0
    room = min(vessel.room_c, MOVABLE_C - 5.0)
    tau = vessel.capacity((oil_c + MOVABLE_C) / 2.0) / vessel.ua
    cooled = tau * math.log((oil_c - room) / (MOVABLE_C - room))
    least = 0.0 if oil_c < 130.0 else (3.0 if heavy or vessel.oil_litres >= 3.0 else 2.0) * 3600.0
    return max(cooled, least)
