"""Oil without a thermometer: how long a one-inch bread cube takes to turn golden. A guess, and called one.

Golden in 50 to 60 s is about 350 to 365 F (common practice, no source). For other times browning is taken to double its speed every 25 K, like the
ageing of oil (common practice as well); outside 20 to 300 s a cube tells no more than that.
"""

from __future__ import annotations

import math

GOLDEN_S = 55.0
GOLDEN_C = 181.0
DOUBLES_K = 25.0
FASTEST_S, SLOWEST_S = 20.0, 300.0

SIGMA_K = 8.0
"""How far off the guess may be, K, one sigma."""

MARGIN_K = 10.0
"""A drop may go when the guess is within this of the set point, K: wider than a thermometer's margin, because the guess is."""

STALE_S = 180.0
"""An older cube says nothing, s."""

WRONG_S = 45.0
"""One that showed the oil too hot or too cold is tried again after this, s."""


def bread_c(seconds: float) -> float:
    """Oil, C, in which a cube is golden after so many seconds.

    >>> round(bread_c(50.0)), round(bread_c(60.0)), round(bread_c(110.0))
    (184, 178, 156)
    """
    return GOLDEN_C + DOUBLES_K * math.log2(GOLDEN_S / min(SLOWEST_S, max(FASTEST_S, seconds)))


def bread_s(oil_c: float) -> float:
    """Seconds until a cube is golden in oil of `oil_c`.

    >>> round(bread_s(181.0)), round(bread_s(156.0))
    (55, 110)
    """
    return min(SLOWEST_S, max(FASTEST_S, GOLDEN_S * math.pow(2.0, (GOLDEN_C - oil_c) / DOUBLES_K)))
