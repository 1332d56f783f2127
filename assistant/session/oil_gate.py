"""The gate before a drop: what is known of the oil now, the verdict on the next batch, the largest one, and why, in words.

A reading said just now is taken at its word; later the estimate speaks. Without a thermometer a bread cube of the last minutes does.
"""

from __future__ import annotations

import math
from dataclasses import replace

from assistant.kitchen.meal import Step
from assistant.kitchen.oil import gate
from assistant.kitchen.oil.batch import BatchLimit, LargestBatch, counted
from assistant.kitchen.oil.estimate import READING_K, READY_SURE_S
from assistant.kitchen.oil.flame import LEAD_S, Flame
from assistant.kitchen.oil.gate import Reason, Verdict, batch_load, check_drop, shown_c
from assistant.kitchen.oil.headroom import SWELL, pot_headroom
from assistant.kitchen.oil.life import Fried
from assistant.session.oil_care import bread_lately
from assistant.session.state import State
from assistant.speaking import prompts as p


def oil_now(state: State, pot_id: str) -> tuple[float, float] | None:
    """(temperature C, sigma K) now: the reading itself while it is fresh, else the estimate; None when nothing is known, or nobody can read it."""
    run = state.pots[pot_id]
    if not state.thermometer:
        return None
    if run.estimate is None:
        return None if run.oil_c is None else (run.oil_c, READING_K)
    if not run.estimate.readings:
        return None
    now = run.estimate.predict(state.t)
    return shown_c(now, state.t), now.sigma


def verdict(state: State, step: Step) -> Verdict | None:
    """What the full gate says of the next batch of a step; None where there is neither an estimate to go by nor a bread cube."""
    fry = step.fry
    if fry is None:
        return None
    run = state.pots[fry.pot]
    if run.estimate is None and state.thermometer:
        return None
    kg = fry.kg / fry.batches
    # what fresh oil does is found out by the small test batch; the gate asks for that first
    life = replace(run.life, fried=(*run.life.fried, Fried("test", "clean", 60.0)))
    dry = None if fry.wet else True
    return check_drop(
        fry,
        state.pot_now(fry.pot),
        run.estimate if state.thermometer else None,
        state.t,
        batch_kg=kg,
        life=life,
        swell=run.foam.swell,
        patted_dry=dry,
        smoke=run.smoked,
        bread_s=bread_lately(state, fry.pot, fry),
        bread_age_s=state.t - run.bread_t,
    )


def largest(state: State, step: Step, after_test: bool = False) -> tuple[LargestBatch, str] | None:
    """(the largest batch of this step now, by what this pot has taught; what limits it, in words); None where the cut is not known. after_test: as it
    will be once the small test batch is through."""
    fry = step.fry
    if fry is None:
        return None
    run, pot = state.pots[fry.pot], state.pot_now(fry.pot)
    sample = batch_load(fry, fry.kg / fry.batches)
    life = replace(run.life, fried=(*run.life.fried, Fried("test", "clean", 60.0))) if run.tested or after_test else run.life
    swell = gate.swell_now(fry, life, run.foam.swell, None if fry.wet else True)
    most = gate.largest_now(fry, pot, run.estimate if state.thermometer else None, life, swell, thermometer=state.thermometer)
    if most is None or sample is None:
        return None
    planned = fry.kg / fry.batches
    if run.foam.swell > SWELL and most.kg > planned:  # it rose, and half as much was said
        most = counted(planned, BatchLimit.SMALLER, sample.cut, None if not fry.pieces else fry.kg / fry.pieces)
    why = str(most.limited_by)
    if most.limited_by is BatchLimit.HEADROOM:
        room = pot_headroom(pot, fry.oil_c, most.kg, sample.cut.food.density, swell, careful=not state.thermometer)
        why = why if room is None else str(room.limit)
    return most, why


def hard_reasons(found: Verdict) -> tuple[str, ...]:
    """The danger in plain words, for limits that "drop anyway" does not lift."""
    words = {
        Reason.SMOKE: p.OIL_SMOKES,
        Reason.ABOVE_MAX: p.TOO_HOT,
        Reason.HEADROOM: p.no_headroom(str(found.headroom.limit) if found.headroom is not None else "the pot"),
    }
    return tuple(words[r] for r in found.reasons if r in words)


def soft_reasons(found: Verdict, units: str, lit: bool) -> tuple[str, ...]:
    """What should wait or change before this drop, besides the hard limits; lit: whether there is a flame that oil too hot wants off."""
    said = []
    for reason in found.reasons:
        if reason is Reason.COLD:
            said.append(p.bread_cold(found.wait_s) if found.oil_c is None else p.hold_cold_for(found.oil_c, found.set_c, found.wait_s, units))
        elif reason is Reason.HOT:
            said.append(p.bread_hot(found.wait_s, lit) if found.oil_c is None else p.hold_hot_for(found.oil_c, found.set_c, found.wait_s, lit, units))
        elif reason is Reason.BREAD:
            said.append(p.BREAD_FIRST)
        elif reason in (Reason.STALE, Reason.NO_READING):
            said.append(p.OIL_UNKNOWN)
        elif reason is Reason.TOO_MUCH and found.most is not None:
            said.append(p.too_much(found.most.kg, found.most.pieces, str(found.most.limited_by)))
        elif reason is Reason.WET:
            said.append(p.PAT_DRY)
    return tuple(said)


def flame_for(state: State, step: Step) -> Flame | None:
    """What the flame must do for the wait that a hold names to be true: off for oil too hot, full for oil too cold (a little up when that will do);
    None where it is so."""
    found, estimate = verdict(state, step), None if step.fry is None else state.pots[step.fry.pot].estimate
    if found is None or estimate is None or estimate.vessel.thermostat_c is not None:
        return None
    if Reason.HOT in found.reasons and estimate.lit:
        return Flame.OFF
    if Reason.COLD not in found.reasons or estimate.full:
        return None
    return Flame.UP if found.wait_s is not None and found.wait_s <= LEAD_S else Flame.FULL


def ready_words(state: State, pot_id: str, set_c: float) -> str | None:
    """ "Ready in about three minutes", when that is known; None when it is not."""
    seconds = ready_s(state, pot_id, set_c)
    return p.ready_in(seconds) if seconds else None


def ready_s(state: State, pot_id: str, set_c: float) -> float | None:
    """How long until this pot is at its set point, s, 0 when it is there; None when that is not known."""
    run = state.pots[pot_id]
    if not state.thermometer or run.estimate is None or run.estimate.readings < 2:
        return None
    now = run.estimate.predict(state.t)
    if now.oil_c >= set_c - 1.0:
        return 0.0
    if not now.lit:
        return None
    seconds, sigma = now.ready_in(set_c)
    return seconds if math.isfinite(seconds) and sigma <= 2 * READY_SURE_S else None
