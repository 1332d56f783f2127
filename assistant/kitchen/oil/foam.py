"""Foam: "it's foaming up" raises how much this pot is taken to swell, for the evening and the next one, and says what that changes.

From 1.5 to 2.25 and then to 3.0 (common practice, cautious). The danger script itself is not here.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from assistant.kitchen.oil.headroom import SWELL, SWELL_FOAMY

STEP = 1.5
"""Each time it foams up, the swell is multiplied by this, up to `SWELL_FOAMY`."""

AFTER = 0.5
"""The next batch after it foamed up is this part of the one before (common practice)."""


@dataclass(frozen=True, slots=True)
class FoamUp:
    """One time it foamed up, as it was: kitchen time s, batch kg, oil litres (cold), evenings the oil was used, oil C (None: not known)."""

    t: float
    batch_kg: float
    litres: float
    uses: int
    oil_c: float | None


@dataclass(frozen=True, slots=True)
class Foam:
    """What one pot has shown. swell: taken for its drops; evenings: how many more the raised swell is kept, this one counted; ups: every time, for
    the journal."""

    swell: float = SWELL
    evenings: int = 0
    ups: tuple[FoamUp, ...] = ()

    def foamed(self, up: FoamUp) -> Foam:
        """It foamed up: raised for this evening and the next.

        >>> Foam().foamed(FoamUp(60.0, 0.3, 2.0, 1, 170.0)).swell
        2.25
        """
        return Foam(min(SWELL_FOAMY, self.swell * STEP), 2, (*self.ups, up))

    def evening_over(self) -> Foam:
        """After an evening: back to the usual swell when it has been kept long enough."""
        left = max(0, self.evenings - 1)
        return replace(self, evenings=left, swell=self.swell if left else SWELL)
