"""Care of the oil: bread cubes where nobody can read it, a pot that is too full, and what becomes of the oil when dinner is up."""

from __future__ import annotations

from math import ceil
from typing import TYPE_CHECKING

from assistant.kitchen.meal import Fry
from assistant.kitchen.oil import bread
from assistant.kitchen.oil.headroom import pot_headroom
from assistant.kitchen.oil.life import CEILING_C, STORING_RULES, Verdict, movable_in
from assistant.kitchen.oil.pot import vessel
from assistant.session import events as e
from assistant.session.commands import Intent
from assistant.session.state import State
from assistant.speaking import prompts as p

if TYPE_CHECKING:
    from assistant.session.turn import Turn

SIGNS_S = 120.0
TAKE_OUT_S = 300.0
BREAD_ANSWER_S = 180.0  # a cube takes up to two minutes and a half
SOON_S = 15.0  # who comes so little early may try at once
ROUND_S = 900.0  # nobody counts cooling in minutes
COLD = "oil-"
"""The clock on a pot of cooling oil is called so and by its pot."""


def ask_bread(turn: Turn, pot_id: str, fry: Fry) -> None:
    """A bread cube, when nobody can read the oil: whether it is golden in time, or how long it took."""
    if not any(q.id == f"bread:{pot_id}" for q in turn.state.questions):
        words = p.ask_bread(bread.bread_s(fry.oil_c - bread.ASK_UNDER_K))
        turn.ask(f"bread:{pot_id}", words, (Intent.YES, Intent.NO, Intent.ANSWER, Intent.QUALITY), wait_s=BREAD_ANSWER_S)


def bread_tried(turn: Turn, pot_id: str, seconds: float, fry: Fry | None) -> None:
    """A cube was golden after so many seconds: what that guess says for the next drop."""
    turn.close("bread:", "value")
    turn.happen(e.BreadTried(turn.t, pot_id, seconds))
    turn.say(p.bread_says(bread.bread_c(seconds), turn.state.units))
    if fry is None:
        return
    off = bread.bread_c(seconds) - fry.oil_c
    if abs(off) <= bread.MARGIN_K:
        turn.say(p.BREAD_GOOD)
    else:
        wait = bread.again_s(off)
        turn.say(p.bread_hot(wait, turn.state.pots[pot_id].on) if off > 0 else p.bread_cold(wait))


def bread_lately(state: State, pot_id: str, fry: Fry) -> float | None:
    """How long the last bread cube took, s; None when that was too long ago, or it was wrong for this food and the oil has had time to change."""
    run = state.pots[pot_id]
    if run.bread_s is None:
        return None
    off = bread.bread_c(run.bread_s) - fry.oil_c
    return run.bread_s if state.t - run.bread_t <= (bread.again_s(off) - SOON_S if abs(off) > bread.MARGIN_K else bread.STALE_S) else None


def check_full(turn: Turn, pot_id: str) -> None:
    """More oil than the pot may hold: cold, some is taken out; hot, the burner off and nothing poured."""
    state, run = turn.state, turn.state.pots[pot_id]
    hottest = max((s.fry.oil_c for s in state.meal.steps() if s.fry is not None and s.fry.pot == pot_id), default=CEILING_C)
    room = pot_headroom(state.pot_now(pot_id), hottest, 0.0, 1000.0, run.foam.swell)
    if room is None or room.ok or room.cold_l_max is None:
        return
    cause = "more oil than the pot may hold"
    if run.on or run.drops > 0:
        turn.alert(f"full:{pot_id}", "high", cause, "the burner is off", p.TOO_FULL_HOT)
        turn.say(p.NEVER_POUR)
    else:
        turn.happen(e.Asked(turn.t, f"full:{pot_id}", (str(Intent.YES),), turn.t + TAKE_OUT_S))
        turn.alert(f"full:{pot_id}", "high", cause, "oil is taken out while it is cold", p.take_some_out(room.cold_l_max))


def taken_out(turn: Turn, pot_id: str) -> None:
    """Cold oil was taken out, down to what the pot may hold."""
    room = pot_headroom(turn.state.pot_now(pot_id), CEILING_C, 0.0, 1000.0, turn.state.pots[pot_id].foam.swell)
    if room is not None and room.cold_l_max is not None:
        turn.happen(e.PotSized(turn.t, pot_id, "litres", room.cold_l_max))
    turn.clear(f"full:{pot_id}")


def oil_c_now(state: State, pot_id: str) -> float:
    """The oil as well as anybody knows it, C: the estimate, the last reading, else frying heat."""
    run = state.pots[pot_id]
    if run.estimate is not None and run.estimate.readings:
        return run.estimate.predict(state.t).oil_c
    return CEILING_C if run.oil_c is None else run.oil_c


def set_cold_clock(turn: Turn, pot_id: str) -> None:
    """A clock on the oil until the pot may be moved, counted from now; it runs on whatever else happens."""
    seconds = ROUND_S * ceil(movable_in(vessel(turn.state.pot_now(pot_id)), oil_c_now(turn.state, pot_id)) / ROUND_S)
    name = next(x.name for x in turn.state.meal.equipment.pots if x.id == pot_id)
    turn.clear(f"clock:{COLD}{pot_id}")
    turn.happen(e.ClockSet(turn.t, f"{COLD}{pot_id}", p.cold_clock(name), turn.t + seconds))
    turn.say(p.movable_in(seconds))


def ask_signs(turn: Turn) -> None:
    """What ends an oil is asked, a pot at a time."""
    for pot_id, run in turn.state.pots.items():
        if run.drops > 0 and not turn.told(f"signs:{pot_id}"):
            turn.ask(f"signs:{pot_id}", p.ASK_SIGNS, (Intent.YES, Intent.NO, Intent.ANSWER), wait_s=SIGNS_S)
            return


def ask_which(turn: Turn, pot_id: str) -> None:
    """There was a sign: which, for the oil's log."""
    turn.ask(f"which:{pot_id}", p.WHICH_SIGN, (Intent.ANSWER,), wait_s=SIGNS_S)


def signs_answered(turn: Turn, pot_id: str, sign: str | None) -> None:
    """Any sign ends the oil, also one that was not named (empty); none at all (None): its hours are told, as a guess."""
    if sign is not None:
        turn.happen(e.SignsSeen(turn.t, pot_id, sign))
    life = turn.state.pots[pot_id].life
    by_hours = {Verdict.KEEP: p.OIL_KEEPS, Verdict.SOON: p.OIL_OLD, Verdict.DISCARD: p.OIL_TIRED}
    turn.say(p.OIL_ENDS if life.signs else by_hours[life.verdict])
    ask_signs(turn)


def oil_is_cold(turn: Turn, clock: str) -> None:
    """The pot may be moved: probed all the same; then how the oil is kept, or that it goes."""
    turn.alert(f"clock:{clock}", "medium", "the oil has had time to cool", "it is answered or cleared", p.OIL_IS_COLD)
    life = turn.state.pots[clock.removeprefix(COLD)].life
    turn.say_list(STORING_RULES[-1:] if life.verdict is Verdict.DISCARD else STORING_RULES[:-1])
