"""The three questions a plan asks of the kitchen: how much fits in one batch, how long heating takes, how long a thing may wait.

Answered from the card first; the oil model and the food-safety ledger answer where the card is silent. Pure.
"""

from __future__ import annotations

from dataclasses import dataclass

from assistant.kitchen.meal import Pot, Step


@dataclass(frozen=True, slots=True)
class BatchLimits:
    """most_kg, most_pieces: the largest batch (pieces None when not countable); limited_by: which limit binds, in words; recovery_s: from lift until
    the oil is back at its set point, s."""

    most_kg: float
    most_pieces: int | None
    limited_by: str
    recovery_s: float


@dataclass(frozen=True, slots=True)
class Window:
    """How long an item may stay where it is, s: speak at warn_s, over at most_s; then_do: what to say when it is over; source: the rule."""

    warn_s: float
    most_s: float
    then_do: str
    source: str


def batch_limits(step: Step, pot: Pot) -> BatchLimits:
    """The largest batch of a fry step in this pot: here what the card says, its lot divided by its batches."""
    if step.fry is None:
        raise ValueError(f"{step.id} does not fry")
    pieces = None if step.fry.pieces is None else -(-step.fry.pieces // step.fry.batches)
    return BatchLimits(step.fry.kg / step.fry.batches, pieces, "the card", recovery_s=120.0)


def heat_time(pot: Pot, from_c: float, to_c: float) -> float:
    """Seconds to bring the pot's oil from one temperature to another. Heating: stored heat over 1.0 kW of effective power, since an unstated
    burner is never assumed strong; cooling: 2 K a minute."""
    if to_c <= from_c:
        return (from_c - to_c) / 2.0 * 60.0
    litres = pot.oil_litres or 2.0
    joules_per_k = litres * 0.919 * 2120.0 + 750.0
    return joules_per_k * (to_c - from_c) / 1000.0
