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

ASK_UNDER_K = 4.0
"""It is asked whether a cube is golden by the time it takes this far under the set point, K: rounding must not ask for hotter oil."""

NOT_YET = 1.4
"""A cube that is not golden by then is taken to need so many times as long as at the set point."""

STALE_S = 180.0
"""An older cube says nothing, s."""

COOLS_S_K, WARMS_S_K = 20.0, 6.0
"""How long oil takes to cool with the burner off, and to warm over a full one, s/K: two litres by the model, a weak burner."""

SOONEST_S, LATEST_S = 45.0, 300.0
"""When the next cube is tried after one that showed the oil too hot or too cold, s."""


def bread_c(seconds: float) -> float:
    """Oil, C, in which a cube is golden after so many seconds.

    >>> round(bread_c(50.0)), round(bread_c(60.0)), round(bread_c(110.0))
    (184, 178, 156)
    """
    return GOLDEN_C + DOUBLES_K * math.log2(GOLDEN_S / min(SLOWEST_S, max(FASTEST_S, seconds)))


def again_s(over_k: float) -> float:
    """How long after a cube that showed the oil so far over (or under: negative) its set point the next one is worth while, s.

    >>> again_s(12.0), again_s(-20.0), again_s(60.0), again_s(-1.0)
    (240.0, 120.0, 300.0, 45.0)
    """
    return min(LATEST_S, max(SOONEST_S, over_k * COOLS_S_K, -over_k * WARMS_S_K))


def bread_s(oil_c: float) -> float:
    """Seconds until a cube is golden in oil of `oil_c`.

    >>> round(bread_s(181.0)), round(bread_s(156.0))
    (55, 110)
    """
    return min(SLOWEST_S, max(FASTEST_S, GOLDEN_S * math.pow(2.0, (GOLDEN_C - oil_c) / DOUBLES_K)))
