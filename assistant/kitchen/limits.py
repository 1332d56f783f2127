"""The three questions a plan asks of the kitchen: how much fits in one batch, how long heating takes, how long a thing may wait.

Answered from the card first; the oil model and the food-safety ledger answer where the card is silent. Pure.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from assistant.kitchen.food_clocks import ROOM_C, Place, counter_warning, kind_of_ingredient, kind_of_step, place_limit, place_of_keep, place_of_step
from assistant.kitchen.meal import NO_LIMIT_S, Dish, Ingredient, Pot, Step, StepKind
from assistant.kitchen.oil.batch import largest_batch
from assistant.kitchen.oil.foods import UnknownCutError, cut
from assistant.kitchen.oil.headroom import SWELL, SWELL_FOAMY, pot_fits
from assistant.kitchen.oil.pot import Load, heat_seconds, load, recovery_after, vessel


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
    """The largest batch of a fry step in this pot: the card's lot divided by its batches, or less where the oil would get too cold, the ratio to
    oil too great, or the pot too full. 0 kg where the pot is too full for any. A cut that the table of foods does not know keeps the card's batch."""
    if step.fry is None:
        raise ValueError(f"{step.id} does not fry")
    fry = step.fry
    piece_kg = None if not fry.pieces else fry.kg / fry.pieces
    pieces = None if fry.pieces is None else -(-fry.pieces // fry.batches)
    kg = fry.kg / fry.batches
    try:
        found = cut(fry.cut)
    except UnknownCutError:
        return BatchLimits(kg, pieces, "the card", recovery_s=120.0)
    heated = vessel(pot, set_point_c=fry.oil_c)

    def make(weight: float) -> Load:
        return load(found, weight, food_c=fry.food_c, wet=fry.wet, coated=fry.coated, frozen=fry.frozen)

    swell = SWELL_FOAMY if fry.wet or fry.frozen else SWELL
    most = largest_batch(heated, make, fry.oil_c, fry.floor_c, pot_fits(pot, fry.oil_c, found.food.density, swell), piece_kg=piece_kg)
    limited_by = "the card"
    if most.kg < kg - 0.001:
        kg, limited_by = most.kg, str(most.limited_by)
        if piece_kg is not None:
            pieces = max(1, int(kg / piece_kg + 1e-9)) if kg > 0.0 else 0
            kg = pieces * piece_kg
    recovery = 0.0 if kg <= 0.0 else recovery_after(heated, make(kg), fry.oil_c, step.span.usual_s)
    return BatchLimits(kg, pieces, limited_by, recovery)


def heat_time(pot: Pot, from_c: float, to_c: float) -> float:
    """Seconds to bring the pot's oil from one temperature to another, nothing in it: at full flame up, with the flame off down. An unstated burner
    counts as 1.0 kW effective, never strong. Six hours where the burner cannot do it."""
    return heat_seconds(vessel(pot), from_c, to_c)


def windows(item: Step | Ingredient, dish: Dish, place: Place | None = None, room_c: float = ROOM_C) -> Window | None:
    """How long what a step leaves, or an ingredient, may stay in a place (None: where the card keeps it); None where nothing ends it.

    The card's own hold comes first; the food-safety rules may only make it shorter. room_c: the room, C.
    """
    if isinstance(item, Step):
        kind, there = kind_of_step(item, dish), place_of_step(item)
        card = _on_the_card(item)
    else:
        kind, there, card = kind_of_ingredient(item, dish), place_of_keep(item.kept), None
    if kind is None:
        return card
    lead, most, then_do, source = place_limit(kind, place or there, room_c)
    if card is not None and card.most_s <= most:
        return card
    return None if most == math.inf else Window(most - lead, most, then_do, source)


def _on_the_card(step: Step) -> Window | None:
    """How long the card itself lets stand what a step leaves; a wait stands for at most its own time."""
    if step.hold is not None:
        return Window(step.hold.best_s, step.hold.most_s, step.else_do, "the card")
    if step.kind is StepKind.WAIT and step.span.most_s < NO_LIMIT_S:
        return Window(max(step.span.usual_s, step.span.most_s - counter_warning(step.span.most_s)), step.span.most_s, step.else_do, "the card")
    return None
