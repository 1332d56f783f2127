"""The oil during the evening: the estimate carried along by facts, and what it wants said.

The estimate, the life of the oil and its foam are parts of the state; only `carried` (called by `evolve`) changes them. While a pot is on, it is
looked at every CHECK_S (`OilChecked`): first for run-away, then whether to ask for a reading, then the flame. Run-away is watched whatever is on
hold. Without a thermometer a bread cube is asked for instead; the model goes on, and what it does not know is assumed the worse.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from assistant.kitchen.hazards import SMOKE_C
from assistant.kitchen.meal import Fry, Heat, Meal, Pot, Step
from assistant.kitchen.oil import bread, gate, kept, runaway
from assistant.kitchen.oil.allergens import allergens_into_oil
from assistant.kitchen.oil.estimate import PROBE_K, READING_K, Learned, PotEstimate, begin
from assistant.kitchen.oil.flame import SETTLED_K, flame_advice, wants_reading
from assistant.kitchen.oil.foam import FoamUp
from assistant.kitchen.oil.gate import batch_load
from assistant.kitchen.oil.life import Fried, OilLife, Sign
from assistant.kitchen.oil.pot import RINGS, effective_power, vessel
from assistant.session import events as e
from assistant.session import oil_alarm
from assistant.session.commands import FLAME_ANSWERS, Intent
from assistant.session.oil_care import BREAD_ANSWER_S, ask_bread, bread_lately
from assistant.session.state import PotRun, State, due_t
from assistant.speaking import prompts as p

if TYPE_CHECKING:
    from assistant.session.turn import Turn

CHECK_S = 20.0
USED_BEFORE = "before this evening"
ENOUGH_READINGS = 4  # fewer teach nothing that is worth keeping
TEST_PART = 0.15
"""A test batch is this part of a batch."""
ADVICE_AGAIN_S = 180.0
DIAL_K = 1.0  # nobody sets a dial finer
REACH_S = 20.0  # whoever was just told to turn the flame is on the way to it
CORE_S = 180.0  # to read two pieces after the last batch is out


def opened(meal: Meal, pot: Pot, t: float, before: str = "") -> PotRun:
    """A pot as an evening begins: its estimate where the oil's volume is known, its oil fresh or used before. before: what was kept of it."""
    life = OilLife(pot.oil_kind, pot.oil_litres or 2.0)
    if not pot.fresh_oil:
        life = replace(life, fried=(Fried(USED_BEFORE, "clean", 0.0),), uses=1)
    run = PotRun(fresh=pot.fresh_oil, life=life.evening(), estimate=_begun(meal, pot, t))
    if not before:
        return run
    old = kept.read(before).next_evening()
    life = run.life if pot.fresh_oil else replace(old.oil, litres=run.life.litres)
    return replace(run, life=life, foam=old.foam, learned=old.learned, estimate=_begun(meal, pot, t, old.learned))


def to_keep(state: State) -> tuple[tuple[str, str], ...]:
    """(pot, text): what each pot taught this evening, for the next, or an evening before. A pot that was not fried in teaches nothing."""
    return tuple((i, kept.write(kept.KeptPot(run.life, run.foam, _taught(run), state.thermometer))) for i, run in state.pots.items() if run.drops > 0)


def _taught(run: PotRun) -> Learned | None:
    """What this pot has taught this evening, else what it taught before."""
    return run.estimate.learned() if run.estimate is not None and run.estimate.readings >= ENOUGH_READINGS else run.learned


def _begun(meal: Meal, pot: Pot, t: float, learned: Learned | None = None, lit: bool = False) -> PotEstimate | None:
    """The estimate of a pot; None while it may still be measured. lit: it no longer will be, so the model's usual oil stands for what nobody said."""
    if not lit and (pot.oil_litres is None or (pot.width_m is None and pot.heat is not Heat.FRYER)):
        return None
    first = next((s.fry.oil_c for s in meal.steps() if s.fry is not None and s.fry.pot == pot.id), None)
    set_c = first if pot.heat is Heat.FRYER else None
    strongest = effective_power(pot.heat, RINGS[pot.heat]["large"])
    return begin(vessel(pot, set_point_c=set_c), t, strongest_w=strongest, stated=pot.power_w is not None, learned=learned)


# --- carried along by facts


def carried(state: State, event: e.Event) -> State:
    """The state with the oil's estimate, life and foam after this fact; `state` already holds the fact itself."""
    pot_id = getattr(event, "pot", None)
    if isinstance(event, e.BatchBegun | e.BatchLifted):
        fry = state.meal.step(event.step).fry
        if fry is None:
            return state
        pot_id = fry.pot
    if pot_id not in state.pots:
        return state
    run = _after(state, str(pot_id), state.pots[str(pot_id)], event)
    return state if run is state.pots[str(pot_id)] else replace(state, pots={**state.pots, str(pot_id): run})


def _after(state: State, pot_id: str, run: PotRun, event: e.Event) -> PotRun:
    estimate = run.estimate
    match event:
        case e.PotSized():
            sized = state.pot_now(pot_id)
            life = replace(run.life, litres=sized.oil_litres or run.life.litres)
            return replace(run, life=life, estimate=_begun(state.meal, sized, event.t, _taught(run)))
        case e.OilChanged():
            pot = state.pot_now(pot_id)
            fresh = OilLife(run.life.kind, pot.oil_litres or run.life.litres).evening()
            return replace(run, life=fresh, estimate=_begun(state.meal, pot, event.t, _taught(run)))
        case e.SignsSeen(sign=sign):
            return replace(run, life=run.life.seen(Sign[sign.upper()] if sign else Sign.ASKED))
        case e.SmokeSeen():
            read = run.read_t is not None and event.t - run.read_t <= gate.STALE_S and run.oil_c is not None
            worn = read and run.oil_c is not None and run.oil_c < SMOKE_C
            return replace(run, life=run.life.seen(Sign.SMOKE)) if worn else run
        case e.BreadTried(seconds=seconds):
            now = None if estimate is None else estimate.reading(event.t, bread.bread_c(seconds), bread.SIGMA_K)
            return replace(run, bread_s=seconds, bread_t=event.t, estimate=now)
        case e.OilToppedUp(litres=litres) if litres > 0.0:
            topped = None if estimate is None else estimate.top_up(event.t, litres, 20.0)
            return replace(run, life=run.life.top_up(litres), estimate=topped)
        case e.FoamRose():
            kg = _batch_kg_in(state, pot_id)
            oil_c = None if estimate is None else estimate.predict(event.t).oil_c
            return replace(run, foam=run.foam.foamed(FoamUp(event.t, kg, run.life.litres, run.life.uses, oil_c)))
    if estimate is None and isinstance(event, e.BurnerSet) and event.level != "off":
        estimate = _begun(state.meal, state.pot_now(pot_id), event.t, _taught(run), lit=True)
        run = replace(run, estimate=estimate)
    if estimate is None:
        return _life_after(state, run, event, None)
    match event:
        case e.OilRead(celsius=celsius, source=source):
            now = estimate.reading(event.t, celsius, PROBE_K if source == "probe" else READING_K)
            return replace(run, estimate=now, low_c=min(run.low_c, celsius), high_c=max(run.high_c, celsius))
        case e.BurnerSet(level=level):
            asked_t = run.asked_ready_t if estimate.lit else None  # who only turns the flame is there, and was asked
            return replace(run, estimate=estimate.burner(event.t, level), asked_ready_t=asked_t, advised="")
        case e.BatchBegun(step=step, test=test):
            fry = state.meal.step(step).fry
            batch = None if fry is None else batch_load(fry, fry.kg / fry.batches * (TEST_PART if test else 1.0))
            before = estimate.predict(event.t)
            after = before if batch is None else before.drop(event.t, batch)
            return replace(run, estimate=after, dropped_c=before.oil_c, low_c=before.oil_c, high_c=before.oil_c, asked_ready_t=None, advised="")
        case e.BatchLifted():
            now = estimate.lift(event.t)
            return _life_after(state, replace(run, estimate=now, lifted_c=now.oil_c, advised=""), event, now.oil_c)
        case e.OilChecked():
            now = estimate.predict(event.t)
            since = event.t - run.checked_t
            idle = now.batch is None and since <= 2 * CHECK_S
            life = run.life.hot(since, now.oil_c) if idle else run.life  # hot with nothing in it ages it too
            low, high = min(run.low_c, now.oil_c), max(run.high_c, now.oil_c)
            return replace(run, estimate=now, checked_t=event.t, life=life, low_c=low, high_c=high)
        case e.OilAsked(why=why):
            ready = event.t if why in ("ready", "drop") else run.asked_ready_t  # before a drop the oil is about to be ready: one question
            return replace(run, asked_ready_t=ready, estimate=estimate.predict(event.t).ask())
        case e.ThermostatSet(celsius=celsius):
            return replace(run, estimate=estimate.dial(event.t, celsius))
        case e.FlameAdvised(level=level):
            return replace(run, advised=level, advised_t=event.t)
    return run


def _life_after(state: State, run: PotRun, event: e.Event, oil_c: float | None) -> PotRun:
    if not isinstance(event, e.BatchLifted):
        return run
    step = state.meal.step(event.step)
    batch = next((b for b in state.steps[step.id].batches if b.n == event.batch), None)
    if batch is None or step.fry is None:
        return run
    dish = state.meal.dish(step.dish)
    at = oil_c if oil_c is not None else step.fry.oil_c
    kg = step.fry.kg / step.fry.batches * (TEST_PART if batch.test else 1.0)
    touched = allergens_into_oil(state.meal, step)
    return replace(run, life=run.life.fry(dish.name, dish.food_kind, event.t - batch.begun_t, at, touched, kg))


def _batch_kg_in(state: State, pot_id: str) -> float:
    for step, batch in state.in_heat():
        if step.fry is not None and step.fry.pot == pot_id:
            return step.fry.kg / step.fry.batches * (TEST_PART if batch.test else 1.0)
    return 0.0


# --- looked at while the heat is on


def agenda(
    state: State, wanted: Callable[[str], Step | None], drop_at: Callable[[State, Step], float]
) -> Iterator[tuple[float, int, str, Callable[[Turn], None]]]:
    """(when, rank, key, act): each pot that is lit, or was and will be wanted again, is looked at every CHECK_S."""
    for pot_id, run in state.pots.items():
        cooling = run.drops > 0 and run.estimate is not None and wanted(pot_id) is not None
        if run.estimate is not None and (run.on or cooling):
            last = max(run.checked_t, run.lit_t or 0.0)
            yield last + CHECK_S, 2, f"oil:{pot_id}", _check(pot_id, wanted, drop_at)
        if run.on and wanted(pot_id) is None and f"last:{pot_id}" not in state.told:
            yield from _last_out(state, pot_id)


def _last_out(state: State, pot_id: str) -> Iterator[tuple[float, int, str, Callable[[Turn], None]]]:
    """Nothing more goes into this pot: its burner is to be off. Not while food cooks on for its core; one asked for is waited for."""
    fried = [s for s in state.meal.steps() if s.fry is not None and s.fry.pot == pot_id]
    lifted = [b.lifted_t for s in fried for b in state.steps[s.id].batches]
    if None in lifted or any(f"core-{s.id}" in state.clocks for s in fried):
        return
    last = max((t for t in lifted if t is not None), default=state.t)
    wait = CORE_S if any(q.id == f"core:{s.id}" for q in state.questions for s in fried) else 0.0
    yield last + wait, 3, f"last:{pot_id}", lambda turn: _off_now(turn, pot_id)


def _off_now(turn: Turn, pot_id: str) -> None:
    turn.happen(e.Told(turn.t, f"last:{pot_id}"))
    _call_off(turn, pot_id)


def _check(pot_id: str, wanted: Callable[[str], Step | None], drop_at: Callable[[State, Step], float]) -> Callable[[Turn], None]:
    def act(turn: Turn) -> None:
        turn.happen(e.OilChecked(turn.t, pot_id))
        run = turn.state.pots[pot_id]
        step = wanted(pot_id)
        if run.estimate is None:
            return
        alarm = watch(turn, pot_id, step.fry if step is not None else None)
        calm = turn.state.held_t is None and turn.state.script is None and turn.state.hazard_pot != pot_id and not alarm  # one thing is said: off
        if step is None and f"last:{pot_id}" in turn.state.told:
            _call_off(turn, pot_id)
        elif calm and step is not None and step.fry is not None:
            _flame(turn, pot_id, step.fry, drop_at(turn.state, step) - turn.t)

    return act


def watch(turn: Turn, pot_id: str, fry: Fry | None) -> bool:
    """Run-away: one alarm by the upper bound of the estimate, and one question when the oil should be ready. Whether an alarm stands."""
    state, run = turn.state, turn.state.pots[pot_id]
    if run.estimate is None:
        return oil_alarm.sound(turn, pot_id, runaway.how_hot(run.oil_c or 0.0), run.oil_c or 0.0)
    if any(q.id == f"bread:{pot_id}" for q in state.questions) and not run.smoked:
        return False  # somebody is at it with a bread cube
    set_c = fry.oil_c if fry is not None else run.estimate.oil_c + 1.0
    spoke, wait = state.heard_t, runaway.ANSWER_S if state.thermometer else BREAD_ANSWER_S
    smoke = run.smoked and run.on and state.script is None  # the script asks whether the heat is off
    seen = runaway.watch(run.estimate, turn.t, set_c, smoke=smoke, asked_at=run.asked_ready_t, spoke_at=spoke, answer_s=wait)
    if oil_alarm.sound(turn, pot_id, seen.danger, seen.bound_c):
        return True
    if seen.ask_ready and fry is not None and not _was_read_ready(state, pot_id, fry):
        turn.happen(e.OilAsked(turn.t, pot_id, "ready"))
        if state.thermometer:
            turn.ask(f"oil:{pot_id}", p.SHOULD_BE_READY, (Intent.ANSWER, Intent.OIL_TEMP), wait_s=runaway.ANSWER_S)
        elif bread_lately(state, pot_id, fry) is None:
            ask_bread(turn, pot_id, fry)
    return False


def _was_read_ready(state: State, pot_id: str, fry: Fry) -> bool:
    """Whether since the last lift a reading was asked for and came, and showed the oil as good as ready: that was the question."""
    now = state.pots[pot_id].estimate
    if now is None or not now.asked or now.read_t is None or now.read_c is None or now.read_c < fry.oil_c - 2 * SETTLED_K:
        return False
    lifts = [b.lifted_t for s in state.meal.steps() if s.fry is not None and s.fry.pot == pot_id for b in state.steps[s.id].batches]
    return now.read_t > max((t for t in lifts if t is not None), default=now.read_t)


def _flame(turn: Turn, pot_id: str, fry: Fry, drop_in_s: float) -> None:
    """Ask for a reading when no longer sure, at most once a batch; else run the flame."""
    state, run = turn.state, turn.state.pots[pot_id]
    assert run.estimate is not None
    coming = None if any(s.fry is not None and s.fry.pot == pot_id for s, _ in state.in_heat()) else drop_in_s
    lift_in = min((due_t(s, b) - turn.t for s, b in state.in_heat() if s.fry is not None and s.fry.pot == pot_id), default=None)
    if coming is not None and set_dial(turn, pot_id, fry.oil_c):
        return
    if not state.thermometer:
        now = run.estimate
        if not now.readings and now.lit and not now.asked and now.upper95 >= fry.oil_c:
            turn.happen(e.OilAsked(turn.t, pot_id, "first"))
            ask_bread(turn, pot_id, fry)
            return
    else:
        ask = wants_reading(run.estimate, turn.t, fry.oil_c, drop_in_s=coming)
        if ask is not None and not any(q.id == f"oil:{pot_id}" for q in state.questions):
            turn.happen(e.OilAsked(turn.t, pot_id, ask.why))
            turn.ask(f"oil:{pot_id}", p.ask_oil(), (Intent.ANSWER, Intent.OIL_TEMP), wait_s=60.0)
            return
    if not run.estimate.readings or any(q.id.startswith(f"flame:{pot_id}:") and turn.t - q.asked_t < REACH_S for q in state.questions):
        return
    # a bread cube takes longer than a flame turned up for the drop would keep the oil in its band
    due, blind = None if not state.thermometer else coming, not state.thermometer
    advice = flame_advice(run.estimate, turn.t, fry.oil_c, drop_in_s=due, lift_in_s=lift_in, unread=blind)
    if advice is None or (str(advice) == run.advised and turn.t - run.advised_t < ADVICE_AGAIN_S):
        return
    turn.happen(e.FlameAdvised(turn.t, pot_id, str(advice)))
    turn.close("flame:")
    turn.ask(f"flame:{pot_id}:{advice}", p.FLAME[str(advice)], FLAME_ANSWERS, wait_s=ADVICE_AGAIN_S)


def set_dial(turn: Turn, pot_id: str, celsius: float) -> bool:
    """An electric fryer that stands at something else is to be set to this; whether that was said."""
    estimate = turn.state.pots[pot_id].estimate
    if estimate is None or estimate.vessel.thermostat_c is None or abs(estimate.vessel.thermostat_c - celsius) < DIAL_K:
        return False
    turn.happen(e.ThermostatSet(turn.t, pot_id, celsius))
    turn.say(p.set_fryer(celsius, turn.state.units))
    return True


def _call_off(turn: Turn, pot_id: str) -> None:
    """Nothing more is fried in this pot: the burner off, said again while it is on."""
    run = turn.state.pots[pot_id]
    if not run.on or (run.advised == "off" and turn.t - run.advised_t < ADVICE_AGAIN_S):
        return
    turn.happen(e.FlameAdvised(turn.t, pot_id, "off"))
    turn.close("flame:")
    turn.ask(f"flame:{pot_id}:off", p.LAST_OUT if run.drops else p.NOTHING_FRIES, FLAME_ANSWERS, wait_s=ADVICE_AGAIN_S)
