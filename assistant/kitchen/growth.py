"""How fast Salmonella grows on cooked chicken at a temperature. Pure; used by the ledger, which may only be tightened by it, never relaxed.

Says nothing about spores and toxins (C. perfringens, B. cereus, S. aureus): those are what the clock rules are for, and reheating does not undo them.
"""

from __future__ import annotations

import math

_B, _T_MIN, _C, _T_MAX = 0.02810, 4.158, 0.1954, 50.65


def growth_rate(celsius: float) -> float:
    """Growth of S. Typhimurium on cooked chicken, log10 per hour, without lag.

    sqrt(mu) = 0.02810 (T - 4.158) (1 - exp(0.1954 (T - 50.65))); zero outside 4.158 to 50.65 C. The form is Ratkowsky et al. 1983 (J. Bacteriol.
    154:1222), fitted to the 21 rates of Oscar 2002 (Int. J. Food Microbiol. 76:177), 8 to 48 C; RMSE 0.012 in sqrt(log10/h).

    >>> round(growth_rate(25.0), 3), round(growth_rate(40.0), 3), growth_rate(4.0), growth_rate(57.0)
    (0.338, 0.777, 0.0, 0.0)
    """
    if celsius <= _T_MIN or celsius >= _T_MAX:
        return 0.0
    root = _B * (celsius - _T_MIN) * (1.0 - math.exp(_C * (celsius - _T_MAX)))
    return root * root


def growth_between(from_c: float, to_c: float, seconds: float, steps: int = 120) -> float:
    """Growth, log10, while the temperature goes in a straight line from one value to the other; midpoint rule.

    The Food Code's slowest allowed cooling, 57 to 21 C in 2 h and on to 5 C in 4 h:

    >>> round(growth_between(57.0, 21.0, 7200.0) + growth_between(21.0, 5.0, 14400.0), 2)
    1.15
    """
    if from_c == to_c:
        return growth_rate(from_c) * seconds / 3600.0
    mean = sum(growth_rate(from_c + (to_c - from_c) * (i + 0.5) / steps) for i in range(steps)) / steps
    return mean * seconds / 3600.0


REFERENCE_LOG10 = growth_between(25.0, 25.0, 7200.0)
"""What the two-hour rule allows at 25 C, 0.68 log10: a warmer room reaches it sooner, and then the limit is sooner."""


def growth_limit(room_c: float) -> float:
    """Seconds in a room until as much has grown as the two-hour rule allows at 25 C; infinite where nothing grows.

    >>> round(growth_limit(25.0)), round(growth_limit(30.0) / 60)
    (7200, 80)
    """
    rate = growth_rate(room_c)
    return math.inf if rate == 0.0 else REFERENCE_LOG10 / rate * 3600.0
