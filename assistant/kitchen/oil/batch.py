"""The largest batch: what keeps the oil above the dish's floor, inside the ratio of food to oil, and inside headroom; and which of them binds."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum

from assistant.kitchen.oil.foods import HANDFUL_KG, Cut
from assistant.kitchen.oil.pot import Load, Vessel, lowest

RATIO = 6.0
"""Oil to food by weight, default: the industry's 1:6 (New Zealand Chip Group)."""

RATIO_LEAST = 4.0
"""Never less oil than this to food: a cook's rule of 240 g a litre is about 1:3.8 (common practice)."""

TEST_BATCH_KG = 0.1
"""The first drop in fresh oil: a quarter of the batch, at most this (common practice, no source)."""

MOST_KG = 5.0
"""Nobody drops more, kg: where the search begins."""


class BatchLimit(StrEnum):
    """Which limit binds, as it is said."""

    FLOOR = "the oil would get too cold"
    RATIO = "one part food to six of oil"
    HEADROOM = "headroom"
    FRESH = "the first drop in fresh oil"
    SMALLER = "smaller batches after the last time"
    NO_THERMOMETER = "half, without a thermometer"
    STRENGTH = "nothing in reach"


@dataclass(frozen=True, slots=True)
class LargestBatch:
    """kg; limited_by; pieces: whole pieces of this cut in it (None: counted in handfuls); handfuls: the same in handfuls of 100 g (None: counted in
    pieces)."""

    kg: float
    limited_by: BatchLimit
    pieces: int | None
    handfuls: float | None

    @property
    def words(self) -> str:
        """As it is said: "4 pieces", "3 handfuls", "half a handful"."""
        if self.pieces is not None:
            return f"{self.pieces} piece{'' if self.pieces == 1 else 's'}"
        whole = int(self.handfuls or 0.0)
        return f"{whole} handful{'' if whole == 1 else 's'}" if whole else "less than a handful"


def largest_batch(
    vessel: Vessel,
    make: Callable[[float], Load],
    oil_c: float,
    floor_c: float,
    fits_kg: float,
    *,
    kappa: float = 1.0,
    film: float = 1.0,
    piece_kg: float | None = None,
    thermometer: bool = True,
    fresh_oil: bool = False,
) -> LargestBatch:
    """The largest batch dropped at `oil_c` that keeps the oil above `floor_c`.

    make: a load of so many kg; fits_kg: what headroom leaves (`food_that_fits`); piece_kg: one piece, kg, where the dish knows better than the cut.
    Without a thermometer the batch is halved; the first drop in fresh oil is a test batch. Weight never goes below zero; a floor that even a crumb
    would break gives 0.
    """
    by_ratio = vessel.oil_kg / RATIO
    most, by = min((by_ratio, BatchLimit.RATIO), (fits_kg, BatchLimit.HEADROOM), (MOST_KG, BatchLimit.STRENGTH))

    def holds(kg: float) -> bool:
        return lowest(vessel, make(kg), oil_c, kappa=kappa, film=film)[0] >= floor_c

    if most > 0.0 and not holds(most):
        least, over, by = 0.0, most, BatchLimit.FLOOR
        while over - least > 0.002:
            middle = (least + over) / 2.0
            least, over = (middle, over) if holds(middle) else (least, middle)
        most = least if least > 0.0 else 0.0
    if not thermometer:
        most, by = most / 2.0, BatchLimit.NO_THERMOMETER
    if fresh_oil and most > 0.0:
        most, by = first_drop(most), BatchLimit.FRESH
    return counted(most, by, make(1.0).cut, piece_kg)


def counted(kg: float, by: BatchLimit, cut: Cut, piece_kg: float | None = None) -> LargestBatch:
    """The same batch told in pieces or handfuls."""
    if piece_kg is None and cut.handful:
        return LargestBatch(kg, by, None, kg / HANDFUL_KG)
    return LargestBatch(kg, by, int(kg / (piece_kg or cut.piece_kg) + 1e-9), None)


def first_drop(kg: float) -> float:
    """The size of the first drop in fresh oil, kg, of batches that would be `kg`."""
    return min(TEST_BATCH_KG, kg / 4.0)
