"""What an evening came to: the journal's events in, one value out, from which report and handout are drawn. Pure; nothing here draws.

Rules
- The plan is the order that was followed when the first step began; what happened is what the events add up to. What the cook took back is no
  fact and appears nowhere (`kept`).
- A dish waits from the moment its oldest part was ready (the first full batch out of the heat, or the end of the step that states how it holds)
  until its plate was begun, or until dinner was up.
- The oil at a drop is the last reading before it, no older than five minutes; what nobody read stays empty.
- Times are kitchen time, s; temperatures C.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from assistant.kitchen.food_clocks import KINDS
from assistant.kitchen.ledger import advanced
from assistant.kitchen.meal import Fry, Hold, Meal, Step, StepKind
from assistant.session import events as e
from assistant.session.evolve import evolve, first_state
from assistant.session.state import IN_HEAT, Batch, State, Status
from assistant.session.turn import spoken
from assistant.showing.report_incidents import Incident, batch_label, incidents
from assistant.showing.report_words import oil_log

FRESH_READING_S = 300.0
WARM_C = 40.0
DONE_BEFORE = 1 / 3  # part of the card's least time under which a duration is no measurement: common practice, no source
ESTIMATE_EVERY_S = 30.0
Curves = dict[str, list[tuple[float, float, float]]]
_STAYS = (e.Heard, e.Said, e.ScriptBegan, e.ScriptAdvanced, e.ScriptEnded, e.FalseAlarmSaid, e.WorldFault, e.Noted, e.Resumed)
_ALARMS = (e.AlertRaised, e.AlertRepeated, e.AlertCleared)


@dataclass(frozen=True, slots=True)
class BatchRow:
    """One batch in heat. n: in the journal, from 1; label: as a cook counts ("test batch", "batch 1"); in_t: last piece in; usual_s, most_s: what
    the card allows; oil_c: reading at the drop; wanted_c, floor_c: of the card (oven: its temperature); lowest_c: lowest reading while it was in;
    looks: how it came out; extended_s: time added; overruled: reasons not heeded."""

    n: int
    label: str
    test: bool
    begun_t: float
    in_t: float
    lifted_t: float | None
    usual_s: float
    most_s: float
    extended_s: float = 0.0
    oil_c: float | None = None
    wanted_c: float | None = None
    floor_c: float | None = None
    lowest_c: float | None = None
    looks: tuple[str, ...] = ()
    overruled: tuple[str, ...] = ()

    @property
    def heat_s(self) -> float | None:
        """How long it was in, s."""
        return None if self.lifted_t is None else self.lifted_t - self.in_t


@dataclass(frozen=True, slots=True)
class StepRow:
    """One step: planned against actual. began_t is None where nobody said so; cores: (t, C) read."""

    step: str
    name: str
    dish: str
    kind: str
    status: str
    planned_start_t: float | None
    planned_end_t: float | None
    began_t: float | None
    done_t: float | None
    batches: tuple[BatchRow, ...] = ()
    cores: tuple[tuple[float, float], ...] = ()

    @property
    def took_s(self) -> float | None:
        """How long it took, s."""
        return None if self.began_t is None or self.done_t is None else self.done_t - self.began_t


@dataclass(frozen=True, slots=True)
class Reading:
    """The oil at t. source: said or probe."""

    t: float
    celsius: float
    source: str


@dataclass(frozen=True, slots=True)
class Mark:
    """Something that happened to a pot. what: burner, foam, calm, smoke, fresh oil, topped up; words: for people."""

    t: float
    what: str
    words: str


@dataclass(frozen=True, slots=True)
class PotLog:
    """One pot. fried: (step, batch); estimate: (t, C, standard deviation K); oil: the log of its oil at the
    end, for people, empty where nothing was fried in it."""

    pot: str
    name: str
    readings: tuple[Reading, ...]
    marks: tuple[Mark, ...]
    fried: tuple[tuple[str, BatchRow], ...]
    estimate: tuple[tuple[float, float, float], ...] = ()
    oil: str = ""


@dataclass(frozen=True, slots=True)
class Pause:
    """The evening on hold; ended_t is None when it never went on."""

    began_t: float
    ended_t: float | None
    why: str


@dataclass(frozen=True, slots=True)
class Waited:
    """How long a dish waited. best_s, most_s: what its card allows, None where it says nothing."""

    dish: str
    name: str
    ready_t: float
    served_t: float
    best_s: float | None
    most_s: float | None

    @property
    def seconds(self) -> float:
        """From ready to served, s."""
        return max(0.0, self.served_t - self.ready_t)


@dataclass(frozen=True, slots=True)
class Misheard:
    """words: as they were heard; reason: as in `session.commands.Reject`."""

    t: float
    words: str
    reason: str


@dataclass(frozen=True, slots=True)
class FoodClock:
    """A perishable thing at the end. out_s: out of the cold or the heat altogether; limit_s: what the counter allows; used: share of its time used
    up; over: why it was over; ended: eaten, cooked, discarded, or empty."""

    name: str
    kind: str
    place: str
    out_s: float
    limit_s: float
    used: float
    over: str
    ended: str


@dataclass(frozen=True, slots=True)
class Note:
    """What the cook wanted kept, and what was going on."""

    t: float
    text: str
    during: str


@dataclass(frozen=True, slots=True)
class Report:
    """One evening. day_s: time of day at t=0; people: whom the quantities are for; planned_serve_t, wanted_serve_t: of the plan and as last
    moved; served_t: when dinner was up (None: never said); end_t: the last event; ran_out: names of what ran out."""

    meal: Meal
    card: str
    file: str
    units: str
    region: str
    day_s: float
    people: int
    planned_serve_t: float
    wanted_serve_t: float
    served_t: float | None
    end_t: float
    ended: bool
    steps: tuple[StepRow, ...]
    pots: tuple[PotLog, ...]
    pauses: tuple[Pause, ...]
    incidents: tuple[Incident, ...]
    waits: tuple[Waited, ...]
    heard: int
    misheard: tuple[Misheard, ...]
    clocks: tuple[FoodClock, ...]
    notes: tuple[Note, ...]
    ran_out: tuple[str, ...]

    def row(self, step: str) -> StepRow:
        """The row of a step; KeyError when there is none."""
        for row in self.steps:
            if row.step == step:
                return row
        raise KeyError(step)


def kept(events: Iterable[e.Event]) -> tuple[e.Event, ...]:
    """The events without what the cook took back; what was heard, said, written down or done in danger stays, as do alarms that sounded."""
    found: list[e.Event] = []
    mark: int | None = None
    for event in events:
        if isinstance(event, e.Undone):
            if mark is not None:
                found[mark:] = [x for x in found[mark:] if isinstance(x, (*_STAYS, *_ALARMS))]
            mark = None
            continue
        if isinstance(event, e.Heard) and event.undoable:
            mark = len(found)
        found.append(event)
    return tuple(found)


def _as_begun(meal: Meal, before: Mapping[str, Fry]) -> Meal:
    """The meal with its lots as they were before they were changed on the way: the report speaks of the batches that went in."""
    dishes = tuple(replace(d, steps=tuple(replace(s, fry=before.get(s.id, s.fry)) for s in d.steps)) for d in meal.dishes)
    return replace(meal, dishes=dishes) if before else meal


def evening_report(events: Iterable[e.Event]) -> Report:
    """What these events, in their order from the first, came to. ValueError when they are no evening."""
    facts = kept(events)
    first = facts[0] if facts else None
    if not isinstance(first, e.EveningBegan):
        raise ValueError("the journal does not begin with the beginning of an evening")
    state = first_state(first)
    curves: Curves = {}
    plan = state
    before: dict[str, Fry] = {}
    for event in facts[1:]:
        _sample(state, event.t, curves)
        if isinstance(event, e.NextBatch) and (fry := state.meal.step(event.step).fry) is not None:
            before.setdefault(event.step, fry)
        state = evolve(state, event)
        # what was cooked by at the start: the order of the card, or the solver's plan, before anything was begun
        if not plan.slots or (isinstance(event, e.OrderAdopted | e.PlanAdopted) and not any(r.began_t is not None for r in state.steps.values())):
            plan = state
    planned = {s: (a, b) for s, a, b in plan.slots}
    planned_serve = plan.serve_t
    served = _served_t(facts, state)
    steps = tuple(_step_rows(state, planned, facts))
    return Report(
        meal=_as_begun(state.meal, before),
        card=first.card,
        file=first.file,
        units=first.units,
        region=first.region,
        day_s=state.day_s,
        people=first.people,
        planned_serve_t=planned_serve,
        wanted_serve_t=state.serve_t,
        served_t=served,
        end_t=facts[-1].t,
        ended=state.ended,
        steps=steps,
        pots=tuple(_pots(state, steps, facts, curves)),
        pauses=tuple(_pauses(facts)),
        incidents=incidents(facts, state.meal, state.units),
        waits=tuple(_waits(state, steps, served)),
        heard=sum(isinstance(x, e.Heard) for x in facts),
        misheard=tuple(Misheard(x.t, x.words, x.reason) for x in facts if isinstance(x, e.Heard) and x.reason),
        clocks=tuple(_clocks(state)),
        notes=tuple(Note(x.t, x.text, x.during) for x in facts if isinstance(x, e.Noted)),
        ran_out=tuple(dict.fromkeys(spoken(state, x.item) for x in facts if isinstance(x, e.RanOut))),
    )


def _served_t(facts: tuple[e.Event, ...], state: State) -> float | None:
    told = next((x.t for x in facts if isinstance(x, e.Told) and x.key == "dinner"), None)
    plated = [done for s in state.meal.steps() if s.kind is StepKind.PLATE and (done := state.steps[s.id].done_t) is not None]
    return told if told is not None else max(plated, default=None)


def _step_rows(state: State, planned: dict[str, tuple[float, float]], facts: tuple[e.Event, ...]) -> Iterator[StepRow]:
    rows = []
    for step in state.meal.steps():
        run = state.steps[step.id]
        start, end = planned.get(step.id, (None, None))
        batches = tuple(_batch_row(step, b, facts) for b in run.batches)
        cores = tuple((x.t, x.celsius) for x in facts if isinstance(x, e.CoreRead) and x.step == step.id)
        began = run.began_t if run.status is not Status.SKIPPED else None
        done = run.done_t if run.status is Status.DONE else None
        if step.kind is StepKind.WAIT and began is not None and done is not None:
            done = _wait_ended(state, step) or done
        rows.append(StepRow(step.id, step.name, step.dish, str(step.kind), str(run.status), start, end, began, done, batches, cores))
    key = {r.step: i for i, r in enumerate(rows)}

    def when(row: StepRow) -> tuple[float, int]:
        t = row.began_t if row.began_t is not None else row.done_t if row.done_t is not None else row.planned_start_t
        return (t if t is not None else float("inf"), key[row.step])

    yield from sorted(rows, key=when)


def _wait_ended(state: State, wait: Step) -> float | None:
    """A wait is really over when what follows it begins."""
    begins = [began for s in state.meal.steps() if wait.id in s.after and (began := state.steps[s.id].began_t) is not None]
    return min(begins, default=None)


def _batch_row(step: Step, batch: Batch, facts: tuple[e.Event, ...]) -> BatchRow:
    looks = tuple(x.look for x in facts if isinstance(x, e.LookedLike) and (x.step, x.batch) == (step.id, batch.n))
    overruled = tuple(r for x in facts if isinstance(x, e.Overruled) and (x.step, x.batch) == (step.id, batch.n) for r in x.reasons)
    bare = BatchRow(
        *(
            batch.n,
            batch_label(facts, step.id, batch.n),
            batch.test,
            batch.begun_t,
            batch.in_t,
            batch.lifted_t,
            step.span.usual_s,
            step.span.most_s,
            batch.extended_s,
        ),
        wanted_c=step.bake.oven_c if step.bake is not None else None,
        looks=looks,
        overruled=overruled,
    )
    if step.fry is None:
        return bare
    read = [x for x in facts if isinstance(x, e.OilRead) and x.pot == step.fry.pot]
    before = [x for x in read if batch.begun_t - FRESH_READING_S <= x.t <= batch.begun_t]
    out_t = batch.lifted_t if batch.lifted_t is not None else facts[-1].t
    return replace(
        bare,
        oil_c=before[-1].celsius if before else None,
        wanted_c=step.fry.oil_c,
        floor_c=step.fry.floor_c,
        lowest_c=min((x.celsius for x in read if batch.begun_t < x.t < out_t), default=None),
    )


def _sample(state: State, until_t: float, curves: Curves) -> None:
    """The oil as it was thought to be, every half minute up to the next event."""
    for pot_id, run in state.pots.items():
        estimate = run.estimate
        if estimate is None or (not estimate.lit and estimate.oil_c < WARM_C):
            continue
        curve = curves.setdefault(pot_id, [])
        t = max(curve[-1][0] + ESTIMATE_EVERY_S if curve else estimate.t, estimate.t)
        while t <= until_t:
            estimate = estimate.predict(t)
            curve.append((t, estimate.oil_c, estimate.sigma))
            t += ESTIMATE_EVERY_S


def _pots(state: State, steps: tuple[StepRow, ...], facts: tuple[e.Event, ...], curves: Curves) -> Iterator[PotLog]:
    for pot in state.meal.equipment.pots:
        mine = {s.id for s in state.meal.steps() if s.fry is not None and s.fry.pot == pot.id}
        fried = sorted(((r.name, b) for r in steps if r.step in mine for b in r.batches), key=lambda x: x[1].begun_t)
        readings = tuple(Reading(x.t, x.celsius, x.source) for x in facts if isinstance(x, e.OilRead) and x.pot == pot.id)
        marks = tuple(m for x in facts if getattr(x, "pot", None) == pot.id and (m := _mark(x)) is not None)
        if fried or readings or marks:
            oil = oil_log(state.pots[pot.id].life) if fried else ""
            yield PotLog(pot.id, pot.name, readings, marks, tuple(fried), tuple(curves.get(pot.id, ())), oil)


def _mark(event: e.Event) -> Mark | None:
    match event:
        case e.BurnerSet(t=t, level=level):
            return Mark(t, "burner", f"burner {level}")
        case e.FoamRose(t=t, what=what):
            return Mark(t, "foam", what.replace("_", " "))
        case e.FoamSettled(t=t):
            return Mark(t, "calm", "foam settled")
        case e.SmokeSeen(t=t):
            return Mark(t, "smoke", "smoke")
        case e.OilChanged(t=t):
            return Mark(t, "fresh oil", "fresh oil")
        case e.OilToppedUp(t=t, litres=litres):
            return Mark(t, "topped up", f"topped up by {litres * 1000:.0f} ml")
    return None


def _pauses(facts: tuple[e.Event, ...]) -> Iterator[Pause]:
    began: e.HoldBegan | None = None
    for event in facts:
        if isinstance(event, e.HoldBegan) and began is None:
            began = event
        elif isinstance(event, e.HoldEnded) and began is not None:
            yield Pause(began.t, event.t, began.why)
            began = None
    if began is not None:
        yield Pause(began.t, None, began.why)


def _waits(state: State, steps: tuple[StepRow, ...], served: float | None) -> Iterator[Waited]:
    """One line a dish that is hot or held; cold sauces and what was left out have none."""
    for dish in state.meal.dishes:
        mine = [s for s in dish.steps if state.steps[s.id].status is Status.DONE]
        ready, hold = _ready(state, mine)
        plate = next((state.steps[s.id] for s in mine if s.kind is StepKind.PLATE), None)
        plated = plate.began_t or plate.done_t if plate is not None else None
        at = plated if plated is not None else served
        if ready is not None and at is not None and not dish.component:
            yield Waited(dish.id, dish.name, ready, at, hold.best_s if hold else None, hold.most_s if hold else None)


def _ready(state: State, done: list[Step]) -> tuple[float | None, Hold | None]:
    """When the oldest part of a dish was ready, and how it holds: the step with a hold, and the first full batch of the fry before it."""
    held = [s for s in done if s.hold is not None]
    hot = [s for s in done if s.kind in IN_HEAT]
    last = held[-1] if held else hot[-1] if hot else None
    if last is None:
        return None, None
    at = state.steps[last.id].done_t
    before = [s for s in hot if s.fry is not None and not s.fry.first_stage and (s.id in last.after or s is last)]
    lifts = [b.lifted_t for s in before for b in state.steps[s.id].batches if not b.test and b.lifted_t is not None]
    times = [t for t in (at, *(lifts if len(lifts) > 1 else ())) if t is not None]
    return min(times, default=None), last.hold


def _clocks(state: State) -> Iterator[FoodClock]:
    ledger = state.ledger
    for item in ledger.items.values():
        now = item if item.ended else advanced(item, max(state.t, item.at_s), ledger.room_c)
        yield FoodClock(now.name, str(now.kind), str(now.place), now.out_s, KINDS[now.kind].counter_s, now.used, now.over, now.ended)


def durations(report: Report) -> dict[str, tuple[float, ...]]:
    """How long each step took, s, for learning: work by hand from begun to done, food in heat by the batch. Left out: waits, what was undone or left
    out, test batches, and whatever danger or a hold fell into."""
    found: dict[str, tuple[float, ...]] = {}
    breaks = [(p.began_t, p.ended_t if p.ended_t is not None else report.end_t) for p in report.pauses]

    def calm(a: float, b: float) -> bool:
        return b > a and not any(begin < b and a < end for begin, end in breaks)

    for row in report.steps:
        if row.kind == StepKind.WAIT or row.status != Status.DONE:
            continue
        if row.batches:
            took = tuple(b.lifted_t - b.in_t for b in row.batches if not b.test and b.lifted_t is not None and calm(b.in_t, b.lifted_t))
        else:
            took = (row.done_t - row.began_t,) if row.began_t is not None and row.done_t is not None and calm(row.began_t, row.done_t) else ()
            # done almost as soon as it was told: it had been done before
            took = tuple(s for s in took if s >= report.meal.step(row.step).span.least_s * DONE_BEFORE)
        if took:
            found[row.step] = took
    return found
