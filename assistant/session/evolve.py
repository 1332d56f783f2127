"""State after an event. Pure and total: no clock, no planner, no words; replaying a journal through `evolve` gives the same state again.

An event for something that no longer is (a batch lifted twice) changes nothing rather than failing: the journal may be longer-lived than a bug.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from typing import Any, TypeVar

from assistant.kitchen import doneness
from assistant.kitchen.cards import read_text
from assistant.kitchen.ledger import apply
from assistant.kitchen.meal import Heat, Step, StepKind, at_altitude
from assistant.kitchen.oil import kept
from assistant.kitchen.scale import in_smaller_batches, scaled
from assistant.kitchen.scripts import severity
from assistant.session import events as e
from assistant.session import food, oil, plan, waves
from assistant.session.state import (
    COOLING,
    Alert,
    Batch,
    KitchenClock,
    Question,
    ScriptRun,
    State,
    Status,
    StepRun,
)

K = TypeVar("K")
V = TypeVar("V")
REPEAT_S = {"high": (10.0, 15.0, 30.0, 60.0, 120.0, 300.0, 600.0), "medium": (30.0, 60.0, 120.0, 240.0, 480.0), "low": (300.0, 600.0, 1200.0)}
"""Back-off of an alert nobody answers: waits after the first, second and later times, s. Intervals within IEC 60601-1-8's idea
(high 2.5 to 15 s, medium 2.5 to 30 s, from memory), stretched because words take longer than tones."""


def first_state(event: e.EveningBegan) -> State:
    """The state an evening begins with."""
    meal = at_altitude(scaled(read_text(event.card, event.file), event.people), event.altitude_m)
    done = {step: ago_s for _, _, ago_s, steps in event.made for step in steps}
    return State(
        meal=meal,
        day_s=event.day_s,
        serve_t=event.serve_t if event.serve_t is not None else 0.0,
        people=event.people,
        units=event.units,
        region=event.region,
        t=event.t,
        steps={s.id: _made_before(s, event.t - done[s.id]) if s.id in done else StepRun() for s in meal.steps()},
        pots={p.id: oil.opened(meal, p, event.t, dict(event.kept).get(p.id, "")) for p in meal.equipment.pots},
        thermometer=meal.equipment.oil_thermometer,
        had_thermometer=all(kept.read(text).thermometer for _, text in event.kept),
        ledger=food.opened(meal, event.t, event.food),
        made=event.made,
        instead=event.instead,
    )


def _made_before(step: Step, done_t: float) -> StepRun:
    """A step done in an earlier session; a wait goes on, so its beginning counts."""
    return StepRun(Status.DONE, done_t - (step.span.least_s if step.kind is StepKind.WAIT else 0.0), done_t)


def evolve(state: State, event: e.Event) -> State:
    """The state after one event; its time never goes back."""
    rule = _RULES.get(type(event))
    after = rule(state, event) if rule is not None else state
    if type(event) in _FOOD:
        ledger = after.ledger
        for consequence in food.consequences(state, event):
            ledger, _ = apply(ledger, consequence)
        after = replace(after, ledger=ledger, touched=food.touched_by(state, event))
    if type(event) in _OIL:
        after = oil.carried(after, event)
    told = tuple(plan.facts_of(state, event))
    if told:
        after = replace(after, facts=(*after.facts, *told))
    return replace(after, t=max(after.t, event.t))


def replay(events: Iterable[e.Event]) -> State:
    """The state a journal adds up to. ValueError when it does not begin with an evening's beginning."""
    rest = iter(events)
    first = next(rest, None)
    if not isinstance(first, e.EveningBegan):
        raise ValueError("the journal does not begin with the beginning of an evening")
    state = first_state(first)
    for event in rest:
        state = evolve(state, event)
    return state


def _with(items: Mapping[K, V], key: K, value: V) -> Mapping[K, V]:
    return {**items, key: value}


def _without(items: Mapping[K, V], key: K) -> Mapping[K, V]:
    return {k: v for k, v in items.items() if k != key}


def _step(s: State, step: str, **changes: Any) -> State:
    return replace(s, steps=_with(s.steps, step, replace(s.steps[step], **changes)))


def _pot(s: State, pot: str, **changes: Any) -> State:
    return replace(s, pots=_with(s.pots, pot, replace(s.pots[pot], **changes))) if pot in s.pots else s


def _batch(s: State, step: str, n: int, **changes: Any) -> State:
    batches = tuple(replace(b, **changes) if b.n == n else b for b in s.steps[step].batches)
    return _step(s, step, batches=batches)


def _heard(s: State, x: e.Heard) -> State:
    if x.undoable:
        s = replace(s, before=replace(s, before=None), before_t=x.t)
    if x.reason in ("not_addressed", "speaking"):
        return s  # two people talking, or we ourselves
    return replace(s, last_heard=x.words, heard_t=x.t)


def _said(s: State, x: e.Said) -> State:
    return replace(s, last_words=x.words, said_t=x.t)


def _step_began(s: State, x: e.StepBegan) -> State:
    return _step(s, x.step, status=Status.RUNNING, began_t=x.t, done_t=None)


def _step_done(s: State, x: e.StepDone) -> State:
    s = _step(s, x.step, status=Status.DONE, done_t=x.t)
    return replace(s, focus="") if s.focus == x.step else s


def _step_skipped(s: State, x: e.StepSkipped) -> State:
    out = tuple(replace(b, lifted_t=x.t, next_look_t=None) if b.lifted_t is None else b for b in s.steps[x.step].batches)
    s = _step(s, x.step, status=Status.SKIPPED, done_t=x.t, batches=out)
    return replace(s, focus="") if s.focus == x.step else s


def _step_reopened(s: State, x: e.StepReopened) -> State:
    s = _step(s, x.step, status=Status.TODO, began_t=None, done_t=None, batches=())
    return replace(s, told={k: t for k, t in s.told.items() if x.step not in k.split(":")})


def _batch_begun(s: State, x: e.BatchBegun) -> State:
    step = s.meal.step(x.step)
    run = s.steps[x.step]
    look = None if step.look_s is None else x.in_t + step.look_s
    oil_has = frozenset() if step.fry is None else s.pots[step.fry.pot].life.allergens
    extra = 0.0 if x.test else run.extra_s
    batch = Batch(x.batch, x.t, x.in_t, next_look_t=None if x.test else look, test=x.test, extended_s=extra, oil_allergens=oil_has)
    if not x.test:  # every batch is probed: what the last one read says nothing of this one
        s = replace(s, cores=_without(s.cores, x.step), good_cores=_without(s.good_cores, x.step))
    s = _step(s, x.step, status=Status.RUNNING, began_t=run.began_t if run.began_t is not None else x.t, batches=(*run.batches, batch))
    if step.fry is not None:
        pot = s.pots[step.fry.pot]
        s = _pot(s, step.fry.pot, drops=pot.drops + 1, tested=True)
    return replace(s, focus="") if s.focus == x.step else s


def _batch_in(s: State, x: e.BatchIn) -> State:
    step = s.meal.step(x.step)
    batch = s.steps[x.step].current
    if batch is None:
        return s
    look = None if step.look_s is None or batch.test else x.t + step.look_s
    return _batch(s, x.step, x.batch, in_t=x.t, sure=True, next_look_t=look)


def _batch_extended(s: State, x: e.BatchExtended) -> State:
    batch = s.steps[x.step].current
    if batch is None:
        return s
    s = _batch(s, x.step, x.batch, extended_s=batch.extended_s + x.seconds, next_look_t=None)
    return _step(s, x.step, extra_s=s.steps[x.step].extra_s + x.seconds)


def _batch_lifted(s: State, x: e.BatchLifted) -> State:
    return _batch(s, x.step, x.batch, lifted_t=x.t, next_look_t=None)


def _asked(s: State, x: e.Asked) -> State:
    rest = tuple(q for q in s.questions if q.id != x.question)
    s = replace(s, questions=(*rest, Question(x.question, x.accepts, x.expires_t, x.t, x.pending)))
    if x.question.startswith("look:"):
        _, step, n = x.question.split(":")
        s = _batch(s, step, int(n), next_look_t=None)
    return s


def _answered(s: State, x: e.Answered) -> State:
    return replace(s, questions=tuple(q for q in s.questions if q.id != x.question))


def _oil_read(s: State, x: e.OilRead) -> State:
    pot = s.pots.get(x.pot)
    if pot is None:
        return s
    return replace(_pot(s, x.pot, earlier_c=pot.oil_c, oil_c=x.celsius, read_t=x.t), thermometer=True)  # whoever reads it has one


def _burner(s: State, x: e.BurnerSet) -> State:
    pot = s.pots.get(x.pot)
    if pot is None:
        return s
    lit = None if x.level == "off" else (pot.lit_t if pot.lit_t is not None else x.t)
    return _pot(s, x.pot, level=x.level, lit_t=lit)


def _pot_sized(s: State, x: e.PotSized) -> State:
    told = s.pots[x.pot].told
    if x.what == "ring":
        told = replace(told, ring=x.ring)
    elif x.what == "heat":
        told = replace(told, heat=Heat(x.ring))
    elif x.what == "power_unknown":
        told = replace(told, power_unknown=True)
    else:
        told = replace(told, **{x.what: x.value})  # type: ignore[arg-type]
    return _pot(s, x.pot, told=told)


def _thermometer_missing(s: State, x: e.ThermometerMissing) -> State:
    if x.what == "core":
        return replace(s, meal=replace(s.meal, equipment=replace(s.meal.equipment, core_thermometer=False)))
    return replace(s, thermometer=False)


def _next_batch(s: State, x: e.NextBatch) -> State:
    step, run = s.meal.step(x.step), s.steps[x.step]
    if step.fry is None:
        return s
    begun = sum(1 for b in run.batches if not b.test)
    fry = in_smaller_batches(step.fry, begun, x.part)
    part = run.part * (fry.kg / fry.batches) / (step.fry.kg / step.fry.batches)
    changed = replace(step, fry=replace(fry, oil_c=fry.oil_c + x.oil_k))
    dishes = tuple(replace(d, steps=tuple(changed if t.id == x.step else t for t in d.steps)) if d.id == step.dish else d for d in s.meal.dishes)
    return _step(replace(s, meal=replace(s.meal, dishes=dishes)), x.step, extra_s=run.extra_s + x.seconds, part=part)


def _topped_up(s: State, x: e.OilToppedUp) -> State:
    return _pot(s, x.pot, litres_added=s.pots[x.pot].litres_added + x.litres) if x.pot in s.pots else s


def _alert_raised(s: State, x: e.AlertRaised) -> State:
    alert = Alert(x.id, x.priority, x.cause, x.clears_when, x.words, x.t, x.t + REPEAT_S[x.priority][0])
    return replace(s, alerts=_with(s.alerts, x.id, alert))


def _alert_repeated(s: State, x: e.AlertRepeated) -> State:
    alert = s.alerts.get(x.id)
    if alert is None:
        return s
    waits = REPEAT_S[alert.priority]
    wait = waits[min(alert.times, len(waits) - 1)]
    return replace(s, alerts=_with(s.alerts, x.id, replace(alert, times=alert.times + 1, next_t=x.t + wait)))


def _script_began(s: State, x: e.ScriptBegan) -> State:
    # whether there is a flame is no question any more once there is
    waiting = tuple(w for w in s.scripts_waiting if w != x.name and not (severity(x.name) == 3 and severity(w) == 2))
    s = replace(s, script=ScriptRun(x.name, x.line, x.t, x.t, unanswered=x.unanswered), scripts_waiting=waiting)
    return replace(s, hazard=x.name, hazard_pot=x.pot) if x.name in _HAZARDS else s


def _script_waits(s: State, x: e.ScriptWaits) -> State:
    return s if x.name in s.scripts_waiting else replace(s, scripts_waiting=(*s.scripts_waiting, x.name))


def _hazard_cleared(s: State, x: e.HazardCleared) -> State:
    s = _pot(s, s.hazard_pot, smoked=False)
    return replace(s, hazard="", hazard_pot="", told={k: t for k, t in s.told.items() if not k.startswith("relight:")})


def _script_advanced(s: State, x: e.ScriptAdvanced) -> State:
    return s if s.script is None else replace(s, script=replace(s.script, index=x.index + 1, next_t=x.next_t))


def _false_alarm(s: State, x: e.FalseAlarmSaid) -> State:
    return s if s.script is None else replace(s, script=replace(s.script, false_alarms=s.script.false_alarms + 1))


def _hold_ended(s: State, x: e.HoldEnded) -> State:
    if s.held_t is None:
        return s
    away = x.t - s.held_t
    # only what has not begun moves; what is in heat or waiting runs on by its own clock
    slots = tuple((i, a + away, b + away) if s.steps[i].status is Status.TODO else (i, a, b) for i, a, b in s.slots)
    return replace(s, held_t=None, held_why="", slots=slots, lights=tuple((n, at + away) for n, at in s.lights))


def _serving_moved(s: State, x: e.ServingMoved) -> State:
    return replace(s, serve_t=x.serve_t)


def _undone(s: State, x: e.Undone) -> State:
    if s.before is None:
        return s
    # what the world did meanwhile stays so: only what the command changed goes back, and nothing of a danger
    cooling = {k: c for k, c in s.clocks.items() if k == COOLING}
    held = s if s.held_t is not None and s.held_why != "asked" else s.before
    return replace(
        s.before,
        script=s.script,
        scripts_waiting=s.scripts_waiting,
        hazard=s.hazard,
        hazard_pot=s.hazard_pot,
        held_t=held.held_t,
        held_why=held.held_why,
        clocks={**s.before.clocks, **cooling},
        last_words=s.last_words,
        said_t=s.said_t,
        before=None,
        before_t=x.t,
    )


def _order(s: State, x: e.OrderAdopted) -> State:
    serve = s.serve_t if s.serve_t > 0.0 else max((end for _, _, end in x.slots), default=0.0)
    return replace(s, slots=x.slots, lights=x.lights, serve_t=serve)


def _core_read(s: State, x: e.CoreRead) -> State:
    target = doneness.target(doneness.food_of(s.meal.dish(s.meal.step(x.step).dish)), s.meal.step(x.step).core_c).core_c
    good = s.good_cores.get(x.step, 0) + 1 if x.celsius >= target - 1e-6 else 0
    return replace(s, cores=_with(s.cores, x.step, x.celsius), good_cores=_with(s.good_cores, x.step, good))


_HAZARDS = frozenset({"fire", "oven_fire", "boil_over", "smoke", "spill"})
_OIL = frozenset(
    {
        *(e.OilRead, e.BurnerSet, e.BatchBegun, e.BatchLifted, e.OilChecked, e.OilAsked, e.FlameAdvised),
        *(e.OilChanged, e.OilToppedUp, e.FoamRose, e.PotSized, e.BreadTried, e.SignsSeen, e.SmokeSeen, e.ThermostatSet),
    }
)
_FOOD = frozenset({e.StepBegan, e.BatchBegun, e.StepDone, e.Placed, e.FoodRead, e.FoodReached, e.CoreRead, e.RoomRead})

_RULES: dict[type[e.Event], Callable[[State, Any], State]] = {
    e.OrderAdopted: _order,
    e.PlanAdopted: lambda s, x: plan.adopted(s, plan.read_plan(x.plan)),
    e.Heard: _heard,
    e.Said: _said,
    e.Told: lambda s, x: replace(s, told=_with(s.told, x.key, x.t)),
    e.Untold: lambda s, x: replace(s, told=_without(s.told, x.key)),
    e.Focused: lambda s, x: replace(s, focus=x.step),
    e.StepBegan: _step_began,
    e.StepDone: _step_done,
    e.StepSkipped: _step_skipped,
    e.StepReopened: _step_reopened,
    e.BatchBegun: _batch_begun,
    e.BatchIn: _batch_in,
    e.BatchExtended: _batch_extended,
    e.BatchLifted: _batch_lifted,
    e.Asked: _asked,
    e.Answered: _answered,
    e.ClockSet: lambda s, x: replace(s, clocks=_with(s.clocks, x.id, KitchenClock(x.id, x.name, x.ends_t))),
    e.ClockCancelled: lambda s, x: replace(s, clocks=_without(s.clocks, x.id)),
    e.OilRead: _oil_read,
    e.BurnerSet: _burner,
    e.OilChanged: lambda s, x: _pot(
        s, x.pot, fresh=True, tested=False, drops=0, foaming=False, smoked=False, litres_added=0.0, oil_c=None, read_t=None, earlier_c=None
    ),
    e.OilToppedUp: _topped_up,
    e.PotSized: _pot_sized,
    e.FoamRose: lambda s, x: _pot(s, x.pot, foaming=True),
    e.FoamSettled: lambda s, x: _pot(s, x.pot, foaming=False),
    e.SmokeSeen: lambda s, x: _pot(s, x.pot, smoked=True),
    e.ThermometerMissing: _thermometer_missing,
    e.NextBatch: _next_batch,
    e.CoreRead: _core_read,
    e.Placed: lambda s, x: replace(s, places=_with(s.places, x.item, (x.place, x.t))),
    e.HelperChanged: lambda s, x: replace(s, helper=x.here),
    e.PeopleCounted: lambda s, x: replace(s, people=x.people),
    e.GuestsLate: lambda s, x: replace(waves.divided(s, x.late), wave_t=x.wave_t),
    e.SecondWaveMoved: lambda s, x: replace(s, wave_t=x.wave_t),
    e.ServingMoved: _serving_moved,
    e.TimeOfDaySet: lambda s, x: replace(s, day_s=(x.day_s - x.t) % 86400.0),
    e.HoldBegan: lambda s, x: replace(s, held_t=x.t if s.held_t is None else s.held_t, held_why=x.why),
    e.HoldEnded: _hold_ended,
    e.AlertRaised: _alert_raised,
    e.AlertRepeated: _alert_repeated,
    e.AlertCleared: lambda s, x: replace(s, alerts=_without(s.alerts, x.id)),
    e.ScriptBegan: _script_began,
    e.ScriptWaits: _script_waits,
    e.HazardCleared: _hazard_cleared,
    e.ScriptAdvanced: _script_advanced,
    e.ScriptEnded: lambda s, x: replace(s, script=None),
    e.FalseAlarmSaid: _false_alarm,
    e.Quieted: lambda s, x: replace(s, quiet_until_t=x.until_t),
    e.Undone: _undone,
    e.EveningEnded: lambda s, x: replace(s, ended=True),
}
