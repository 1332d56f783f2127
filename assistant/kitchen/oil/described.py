"""A pot told by voice: width, height, oil by depth or litres, burner by size or power; asked for piece by piece, once.

Quantities arrive in SI (understanding has turned inches and quarts into metres and litres). What nobody states is never assumed strong.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from assistant.kitchen.meal import Heat, Pot
from assistant.kitchen.oil.pot import RINGS


class ToldError(ValueError):
    """A size outside sense. what: width, height, depth of oil, oil or power; value, least, most: in m, l or W."""

    def __init__(self, what: str, value: float, least: float, most: float) -> None:
        super().__init__(f"{what} of {value:g} is not from {least:g} to {most:g} (m, l or W)")
        self.what, self.value, self.least, self.most = what, value, least, most


@dataclass(frozen=True, slots=True)
class PotTold:
    """What was said so far, None where nothing was. width_m, height_m: inside; depth_m: of the cold oil; litres; ring: small, medium or
    large; power_w: nominal; power_unknown: the cook does not know the burner; heat: what heats it, where that is not what the card says."""

    width_m: float | None = None
    height_m: float | None = None
    depth_m: float | None = None
    litres: float | None = None
    ring: str | None = None
    power_w: float | None = None
    power_unknown: bool = False
    heat: Heat | None = None

    @property
    def oil_litres(self) -> float | None:
        """Litres of cold oil: as said, or by width and depth; None while that is not known.

        >>> round(PotTold(width_m=0.26, depth_m=0.0377).oil_litres or 0, 2)
        2.0
        """
        if self.litres is not None:
            return self.litres
        if self.depth_m is not None and self.width_m is not None:
            return 1000.0 * self.depth_m * math.pi * self.width_m**2 / 4.0
        return None

    def missing(self, heat: Heat) -> str | None:
        """What to ask next: `width`, `height`, `oil`, `burner`; None when it is all there. A fryer has marks: its oil is enough."""
        if heat is not Heat.FRYER:
            if self.width_m is None:
                return "width"
            if self.height_m is None:
                return "height"
        if self.oil_litres is None:
            return "oil"
        if self.ring is None and self.power_w is None and not self.power_unknown:
            return "burner"
        return None

    def check(self) -> None:
        """ToldError when a size is outside sense."""
        for value, name, least, most in (
            (self.width_m, "width", 0.10, 0.80),
            (self.height_m, "height", 0.05, 0.80),
            (self.depth_m, "depth of oil", 0.005, min(0.40, self.height_m or 0.40)),
            (self.oil_litres, "oil", 0.2, 40.0),
            (self.power_w, "power", 200.0, 30000.0),
        ):
            if value is not None and not least <= value <= most:
                raise ToldError(name, value, least, most)


def nominal_power(told: PotTold, heat: Heat) -> float | None:
    """Nominal power, W: as said, or that of a ring called so; None when nobody knows, which counts as 1.0 kW effective. KeyError for another size."""
    if told.power_w is not None:
        return told.power_w
    return None if told.ring is None else RINGS[heat][told.ring]


def described(pot: Pot, told: PotTold) -> Pot:
    """The card's pot with what the cook said of it. ToldError when it is outside sense."""
    told.check()
    width = pot.width_m if told.width_m is None else told.width_m
    height = pot.height_m if told.height_m is None else told.height_m
    oil = pot.oil_litres if told.oil_litres is None else told.oil_litres
    heat = told.heat or pot.heat
    power = nominal_power(told, heat)
    if power is None and heat is pot.heat:
        power = pot.power_w  # what the card says is of the card's burner
    return replace(pot, heat=heat, width_m=width, height_m=height, oil_litres=oil, power_w=power)
