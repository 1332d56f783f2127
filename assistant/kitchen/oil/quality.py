"""Why a batch came out pale, greasy, soft or dark, read from its own curve, and what to change for the next.

Cold oil makes food pale, greasy and soft; what is taken up is taken up mostly on cooling after the lift, so an oily batch from hot oil was not
drained at once (Aydinkaptan 2017, Touffet 2020, abstracts). The sizes of the changes are common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from assistant.kitchen.oil.life import TARGET_MOST_C

LOOKS = ("pale", "greasy", "soft", "dark")


class Cause(StrEnum):
    """What did it, as it is said."""

    TOO_MUCH = "the oil fell too far"
    COLD_START = "it went in too cold"
    COLD_END = "the oil had not come back at the lift"
    SHORT = "it was too short"
    LONG = "it was too long"
    HOT = "the oil was too hot"
    DRAIN = "it was not drained at once"
    STEAM = "it steamed after the lift"
    SUGAR = "sugar, crumbs or old oil brown early"
    EVEN = "time and heat were right"


@dataclass(frozen=True, slots=True)
class BatchFacts:
    """One batch as it went. set_c, floor_c: the dish's; dropped_c, lowest_c, hottest_c, lifted_c: the oil's; seconds: in the oil; usual_s: what the
    card says."""

    set_c: float
    floor_c: float
    dropped_c: float
    lowest_c: float
    hottest_c: float
    lifted_c: float
    seconds: float
    usual_s: float


@dataclass(frozen=True, slots=True)
class Change:
    """What to do with the next batch. kg: its weight as a part of this one's; seconds: added; oil_k: added to the set point; drain: shake and drain
    within seconds of the lift; rack: on a rack in one layer; skim: skim crumbs."""

    cause: Cause
    kg: float = 1.0
    seconds: float = 0.0
    oil_k: float = 0.0
    drain: bool = False
    rack: bool = False
    skim: bool = False


def explain(look: str, facts: BatchFacts) -> Change:
    """The likeliest cause of this look and the one change that answers it. ValueError for a look that is not one of `LOOKS`.

    >>> explain("greasy", BatchFacts(163, 148, 163, 138, 165, 160, 300, 300)).cause
    <Cause.TOO_MUCH: 'the oil fell too far'>
    """
    if look not in LOOKS:
        raise ValueError(f"'{look}' is none of {', '.join(LOOKS)}.")
    if look == "dark":
        return _dark(facts)
    if facts.lowest_c < facts.floor_c - 1.0:
        if facts.dropped_c < facts.set_c - 5.0:
            return Change(Cause.COLD_START)  # wait for the oil; the batch itself was right
        fell, may = facts.dropped_c - facts.lowest_c, facts.dropped_c - facts.floor_c
        return Change(Cause.TOO_MUCH, kg=max(0.5, min(0.9, may / fell)))
    if look == "greasy":
        if facts.lifted_c < facts.set_c - 8.0:
            return Change(Cause.COLD_END, kg=0.8, drain=True)
        return Change(Cause.DRAIN, drain=True)
    if facts.seconds < 0.9 * facts.usual_s:
        return Change(Cause.SHORT, seconds=facts.usual_s - facts.seconds)
    if look == "soft":
        return Change(Cause.STEAM, seconds=0.1 * facts.usual_s, rack=True)
    return Change(Cause.EVEN, seconds=0.15 * facts.usual_s, oil_k=min(3.0, max(0.0, TARGET_MOST_C - facts.set_c)))


def _dark(facts: BatchFacts) -> Change:
    if facts.hottest_c > facts.set_c + 9.0:
        return Change(Cause.HOT)
    if facts.seconds > 1.1 * facts.usual_s:
        return Change(Cause.LONG, seconds=facts.usual_s - facts.seconds)
    return Change(Cause.SUGAR, seconds=-0.15 * facts.seconds, oil_k=-3.0, skim=True)
