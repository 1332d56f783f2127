"""The gate before each drop: go, hold or never, with the reasons and the time; numbers, not sentences.

Checked in this order: smoke, oil above its maximum, headroom (these are hard: `NEVER`, never overruled into a "go"); then whether the temperature
is known well enough, whether it is inside the dish's band, size of the batch, test batch in fresh oil, food patted dry (these are a `HOLD`, which a
cook may overrule). Common practice: five degrees F under and rising may go, fifteen over still may.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from enum import StrEnum

from assistant.kitchen.meal import Fry, Pot
from assistant.kitchen.oil import bread
from assistant.kitchen.oil.batch import BatchLimit, LargestBatch, largest_batch
from assistant.kitchen.oil.estimate import USUAL_FILM, PotEstimate
from assistant.kitchen.oil.foods import UnknownCutError, cut
from assistant.kitchen.oil.headroom import SWELL_FOAMY, Headroom, pot_fits, pot_headroom
from assistant.kitchen.oil.life import CEILING_C, OilLife
from assistant.kitchen.oil.pot import Load, load, vessel

STALE_S = 300.0
"""A reading older than this leaves no bare "go", s, unless the estimate is still sure."""

STALE_K = 3.5
"""Nor does an estimate less sure than this, K, one sigma."""

FRESH_S = 20.0
"""A reading not older than this is taken as it was said, s."""

ROUNDING_K = 0.3
"""A whole degree F as it is read is known to this, K."""

RISING = 0.005
"""Rising means at least this, K/s."""

STANDING_K = 1.5
"""How far under the set point oil that is not rising may be, K: less than a thermometer can tell."""


class Decision(StrEnum):
    """What the gate says."""

    GO = "go"
    HOLD = "hold"
    NEVER = "never"


class Reason(StrEnum):
    """Why. The first three are hard limits."""

    SMOKE = "smoke"
    ABOVE_MAX = "oil above its maximum"
    HEADROOM = "headroom"
    STALE = "reading too old"
    NO_READING = "no reading"
    COLD = "too cold"
    HOT = "too hot"
    BREAD = "bread test"
    TOO_MUCH = "batch too large"
    TEST_BATCH = "test batch first"
    WET = "not patted dry"


HARD = frozenset({Reason.SMOKE, Reason.ABOVE_MAX, Reason.HEADROOM})
"""Never overruled into a "go": the cook may still act, and is told the danger plainly."""


@dataclass(frozen=True, slots=True)
class Verdict:
    """decision and its reasons, gravest first; oil_c, sigma_k: as it is to be said (None: nothing known); set_c; wait_s: until it may go (None: not a
    matter of time); most: the largest batch now; headroom: None while the pot's size is not known; remind: what is to be said with a go; guess: no
    thermometer."""

    decision: Decision
    reasons: tuple[Reason, ...]
    oil_c: float | None
    sigma_k: float | None
    set_c: float
    wait_s: float | None
    most: LargestBatch | None
    headroom: Headroom | None
    remind: tuple[Reason, ...] = ()
    guess: bool = False

    @property
    def overrulable(self) -> bool:
        """Whether "drop anyway" may pass: no hard limit is broken."""
        return not HARD & set(self.reasons)


def batch_load(fry: Fry, kg: float, *, wet: bool | None = None) -> Load | None:
    """A batch of a fry step; wet: None for what the card says. None where the table of foods does not know the cut."""
    try:
        found = cut(fry.cut)
    except UnknownCutError:
        return None
    return load(found, kg, food_c=fry.food_c, wet=fry.wet if wet is None else wet, coated=fry.coated, frozen=fry.frozen)


def swell_now(fry: Fry, life: OilLife, evening_swell: float, patted_dry: bool | None) -> float:
    """How much oil with this batch may rise: the evening's swell, or 3.0 for fresh or old oil, frost, food wet or not patted dry."""
    foamy = life.foamy or fry.frozen or (fry.wet and not patted_dry) or patted_dry is False
    return max(evening_swell, SWELL_FOAMY if foamy else 0.0)


def largest_now(fry: Fry, pot: Pot, estimate: PotEstimate | None, life: OilLife, swell: float, *, thermometer: bool = True) -> LargestBatch | None:
    """The largest batch with what this pot has taught; None where the cut is not known. The rule of a floor belongs to the model with its usual film,
    so a pot that has taught nothing gets what was planned, and one whose oil falls further than usual gets less."""
    sample = batch_load(fry, 1.0)
    if sample is None:
        return None
    heated, kappa, film = vessel(pot, set_point_c=fry.oil_c), 1.0, 1.0
    if estimate is not None:
        learned = estimate.learned()
        power = estimate.power_w if estimate.readings >= 2 else heated.power_w
        heated = replace(estimate.vessel, power_w=power, ua=learned.ua)
        kappa, film = learned.kappa, learned.film / USUAL_FILM
    fits = pot_fits(pot, fry.oil_c, sample.cut.food.density, swell, careful=not thermometer)
    piece = None if not fry.pieces else fry.kg / fry.pieces

    def make(kg: float) -> Load:
        made = batch_load(fry, kg)
        assert made is not None
        return made

    return largest_batch(
        heated, make, fry.oil_c, fry.floor_c, fits, kappa=kappa, film=film, piece_kg=piece, thermometer=thermometer, fresh_oil=life.fresh
    )


def check_drop(
    fry: Fry,
    pot: Pot,
    estimate: PotEstimate | None,
    t: float,
    *,
    batch_kg: float,
    life: OilLife,
    swell: float,
    patted_dry: bool | None = None,
    smoke: bool = False,
    bread_s: float | None = None,
    bread_age_s: float = 0.0,
) -> Verdict:
    """Whether a batch of `batch_kg` may go in at kitchen time `t`. estimate: None without a thermometer, when bread_s is how long a bread cube took
    to turn golden, bread_age_s ago; swell: this evening's; patted_dry: None when nobody said; smoke: smoke was reported and not taken back."""
    reasons: list[Reason] = []
    remind: list[Reason] = []
    now = None if estimate is None else estimate.predict(t)
    risen = swell_now(fry, life, swell, patted_dry)
    sample = batch_load(fry, batch_kg)
    room = pot_headroom(
        pot, fry.oil_c if now is None else now.oil_c, batch_kg, sample.cut.food.density if sample else 1000.0, risen, careful=now is None
    )
    if smoke:
        reasons.append(Reason.SMOKE)
    if now is not None and (max(now.oil_c, shown_c(now, t)) > life.most_c or now.upper95 > CEILING_C):
        reasons.append(Reason.ABOVE_MAX)
    if room is not None and not room.ok:
        reasons.append(Reason.HEADROOM)
    temperature, wait = _bread(fry, bread_s, bread_age_s) if now is None else _temperature(fry, now, t)
    reasons += temperature
    most = largest_now(fry, pot, now, life, risen, thermometer=now is not None)
    if most is not None and batch_kg > most.kg * 1.05 + 0.01:
        if most.limited_by is BatchLimit.FRESH:
            reasons.append(Reason.TEST_BATCH)
        elif most.limited_by is not BatchLimit.HEADROOM:  # that one is hard, and said above
            reasons.append(Reason.TOO_MUCH)
    if patted_dry is False:
        reasons.append(Reason.WET)
    if life.fresh:
        remind.append(Reason.TEST_BATCH)
    if patted_dry is None and not fry.coated:
        remind.append(Reason.WET)
    decision = Decision.NEVER if HARD & set(reasons) else Decision.HOLD if reasons else Decision.GO
    oil, sigma = (None, None) if now is None else (shown_c(now, t), now.sigma)
    return Verdict(decision, tuple(reasons), oil, sigma, fry.oil_c, wait, most, room, tuple(remind), guess=now is None)


def _bread(fry: Fry, bread_s: float | None, age_s: float) -> tuple[list[Reason], float | None]:
    if bread_s is None:
        return [Reason.BREAD], None
    off = bread.bread_c(bread_s) - fry.oil_c
    if abs(off) <= bread.MARGIN_K:
        return [], 0.0
    return [Reason.HOT if off > 0.0 else Reason.COLD], max(0.0, bread.again_s(off) - age_s)


def _temperature(fry: Fry, now: PotEstimate, t: float) -> tuple[list[Reason], float | None]:
    if now.readings == 0 and now.vessel.thermostat_c is None:
        return [Reason.NO_READING], None
    if now.sigma > STALE_K or (now.since_reading(t) > STALE_S and now.sigma > STALE_K * 0.75):
        return [Reason.STALE], None
    least = fry.oil_c - (fry.under_c if now.rate >= RISING else STANDING_K) - ROUNDING_K
    most = fry.oil_c + fry.over_c + ROUNDING_K
    oil = shown_c(now, t)
    if oil < least:
        hotter = now if now.full or now.vessel.thermostat_c is not None else now.burner(t, "full")
        return [Reason.COLD], _finite(hotter.ready_in(max(fry.oil_c, now.oil_c + 0.1))[0])
    if oil > most:
        cooler = now.burner(t, "off") if now.lit else now
        return [Reason.HOT], _finite(cooler.ready_in(most)[0])
    return [], 0.0


def shown_c(now: PotEstimate, t: float) -> float:
    """The temperature the gate goes by and says, C: a reading of the last 20 s as it was said, else the estimate."""
    fresh = now.read_c is not None and now.since_reading(t) <= FRESH_S
    return now.read_c if fresh and now.read_c is not None else now.oil_c


def _finite(seconds: float) -> float | None:
    return seconds if math.isfinite(seconds) else None
