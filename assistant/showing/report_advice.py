"""What to change next time, each with the numbers of the evening it comes from. Pure: events in, advice out, the weightiest first.

Rules
- Nothing is advised that a number of this evening does not speak for, and nothing that safety would pay for: less food, more time, hotter only up to
  the card's own set point; a burner is never told to be stronger, a core temperature never to be lower.
- One remark a cause: a batch that came out pale from oil that was too cold hears about the oil once.
- Small differences are no news: a minute and a fifth of the time for work by hand, 20 s for a batch, 3 K for oil. What a hold or danger fell into is
  measured against nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from math import ceil

from assistant.kitchen.hazards import Hazard, what_to_change
from assistant.kitchen.limits import heat_time
from assistant.kitchen.meal import Fry, Step, StepKind
from assistant.session import events as e
from assistant.showing.report_model import BatchRow, Mark, PotLog, Report, StepRow, evening_report
from assistant.showing.report_words import apart, grams, temperature, took
from assistant.speaking.prompts import listed, upper

HANDS_S, HANDS_PART = 60.0, 0.2
BATCH_S = 20.0
OIL_K = 3.0
LATE_S = 300.0
HEATING_S = 120.0
MISHEARD_PART, MISHEARD_LEAST = 0.1, 3
ROOM_C = 20.0


@dataclass(frozen=True, slots=True)
class Advice:
    """topic: danger, food, oil, time, holding, hearing; about: id of the step or dish, or empty; say: what to do next time; because: the numbers."""

    topic: str
    about: str
    say: str
    because: str


def advice(events: Iterable[e.Event]) -> list[Advice]:
    """What to change next time. ValueError when the events are no evening."""
    return advise(evening_report(events))


def advise(report: Report) -> list[Advice]:
    """The same from a report that is made already."""
    rules: tuple[Callable[[Report], Iterator[Advice]], ...] = (
        *(_danger, _cores, _food, _drops, _floors, _looks, _overtime, _longer),
        *(_serving, _holds, _hands, _heating, _hearing),
    )
    return [found for rule in rules for found in rule(report)]


def _fried(report: Report) -> Iterator[tuple[Step, Fry, BatchRow]]:
    """Every full batch in oil."""
    for row in report.steps:
        step = report.meal.step(row.step)
        if step.fry is not None:
            yield from ((step, step.fry, b) for b in row.batches if not b.test)


def _smaller(fry: Fry) -> str:
    """One batch more than the card has."""
    n = fry.batches + 1
    return f"{n} batches of {grams(fry.kg / n) if fry.pieces is None else f'{ceil(fry.pieces / n)} pieces'} at most"


def _in_pause(report: Report, a: float | None, b: float | None) -> bool:
    return any(a is not None and b is not None and p.began_t < b and a < (p.ended_t or report.end_t) for p in report.pauses)


def _danger(report: Report) -> Iterator[Advice]:
    for pot in report.pots:
        yield from (_rose(report, pot, m) if m.what == "foam" else _smoked(report, pot, m) for m in pot.marks if m.what in ("foam", "smoke"))


def _rose(report: Report, pot: PotLog, mark: Mark) -> Advice:
    inside = next(((s, f, b) for s, f, b in _fried(report) if f.pot == pot.pot and b.begun_t <= mark.t <= (b.lifted_t or report.end_t)), None)
    if inside is None:
        return Advice("danger", "", " ".join(what_to_change(Hazard.BOIL_OVER)), "Foam rose with no full batch in the oil.")
    step, fry, batch = inside
    fresh = not any(b.begun_t < batch.begun_t for name, b in pot.fried if not b.test)
    words = " ".join(what_to_change(Hazard.BOIL_OVER, fresh=fresh, damp=fry.wet or fry.frozen)).removeprefix("Next drop: ")
    because = f"Foam rose {took(mark.t - batch.in_t)} into {batch.label} of {step.name}, {grams(fry.kg / fry.batches)} at once."
    return Advice("danger", step.id, f"{upper(step.name)}: {words}", because)


def _smoked(report: Report, pot: PotLog, mark: Mark) -> Advice:
    read = next((r.celsius for r in reversed(pot.readings) if r.t <= mark.t), None)
    because = "nobody had read the oil" if read is None else f"the last reading was {temperature(read, report.units)}"
    return Advice("danger", "", " ".join(what_to_change(Hazard.SMOKE, oil_c=read)), f"The {pot.name} smoked; {because}.")


def _cores(report: Report) -> Iterator[Advice]:
    for row in report.steps:
        step = report.meal.step(row.step)
        lifts = [b for b in row.batches if not b.test and b.lifted_t is not None]
        if step.core_c is None or not lifts:
            continue
        want = temperature(step.core_c, report.units)
        low = next(((t, c) for t, c in row.cores if c < step.core_c - 0.05), None)
        if not row.cores:
            yield Advice("food", step.id, f"{upper(step.name)}: read the core before it is served.", f"It wants {want}; nobody told a reading.")
        elif low is not None:
            t, c = low
            batch = next((b for b in reversed(lifts) if b.in_t <= t), lifts[0])
            inside = min(t, batch.lifted_t or t) - batch.in_t
            say = f"{upper(step.name)}: more time before the first reading, or thinner pieces."
            yield Advice("food", step.id, say, f"After {took(inside)} in the heat the core read {temperature(c, report.units)}; it wants {want}.")


def _food(report: Report) -> Iterator[Advice]:
    for clock in report.clocks:
        if clock.over:
            say = f"Put the {clock.name} away sooner." if clock.ended == "discarded" else f"Discard the {clock.name}; put it away sooner next time."
            yield Advice("food", "", say, f"{upper(clock.name)}: {clock.over}, {took(clock.out_s)} out; at most {took(clock.limit_s)}.")
    if report.ran_out:
        yield Advice("food", "", f"Buy more {listed(report.ran_out)}.", f"{upper(listed(report.ran_out))} ran out.")


def _drops(report: Report) -> Iterator[Advice]:
    for step, fry, b in _fried(report):
        want, about = temperature(fry.oil_c, report.units), f"{upper(step.name)}, {b.label}"
        if b.oil_c is None:
            yield Advice("oil", step.id, f"{about}: read the oil first.", f"No reading in the five minutes before it went in; it wants {want}.")
            continue
        off, at = b.oil_c - fry.oil_c, temperature(b.oil_c, report.units)
        if off < -max(fry.under_c, OIL_K):
            yield Advice("oil", step.id, f"{about}: wait for {want}.", f"It went in at {at}, {apart(-off, report.units)} under.")
        elif off > max(fry.over_c, OIL_K):
            yield Advice("oil", step.id, f"{about}: burner down sooner, {want} is enough.", f"It went in at {at}, {apart(off, report.units)} over.")


def _floors(report: Report) -> Iterator[Advice]:
    lowest: dict[str, float] = {}
    for step, fry, b in _fried(report):
        if b.lowest_c is not None and b.lowest_c < fry.floor_c - 0.3:
            lowest[step.id] = min(b.lowest_c, lowest.get(step.id, b.lowest_c))
    for id, c in lowest.items():
        step = report.meal.step(id)
        assert step.fry is not None
        floor = temperature(step.fry.floor_c, report.units)
        because = f"With {grams(step.fry.kg / step.fry.batches)} in, the oil fell to {temperature(c, report.units)}; its floor is {floor}."
        yield Advice("oil", id, f"{upper(step.name)}: {_smaller(step.fry)}.", because)


def _looks(report: Report) -> Iterator[Advice]:
    for step, fry, b in _fried(report):
        want = temperature(fry.oil_c, report.units)
        for look in dict.fromkeys(b.looks):
            if look == "dark":
                say = f"lift it sooner, the oil no hotter than {want}."
            elif b.oil_c is not None and b.oil_c < fry.oil_c - OIL_K:
                say = f"let the oil come back to {want}."
            else:
                say = f"{_smaller(fry)}."
            at = "nobody read the oil" if b.oil_c is None else f"in at {temperature(b.oil_c, report.units)}"
            heat = "still in" if b.heat_s is None else f"{took(b.heat_s)} in the oil"
            yield Advice("oil", step.id, f"{upper(step.name)}: {say}", f"{upper(b.label)} came out {look}: {at}, {heat}.")


def _overtime(report: Report) -> Iterator[Advice]:
    for row in report.steps:
        for b in row.batches:
            if not b.test and b.heat_s is not None and b.heat_s > b.most_s + b.extended_s + BATCH_S:
                because = f"{upper(b.label)} was in for {took(b.heat_s)}; the card allows {took(b.most_s)}."
                yield Advice("time", row.step, f"{upper(row.name)}: be there when it is due.", because)


def _longer(report: Report) -> Iterator[Advice]:
    """More time was given and it came out well: the card's time is short for this kitchen."""
    for row in report.steps:
        full = [b for b in row.batches if not b.test and b.heat_s is not None]
        longer = [b for b in full if b.extended_s > 0.0]
        if longer and not any(b.looks for b in full):
            most = max(b.heat_s or 0.0 for b in longer)
            because = f"{len(longer)} of {len(full)} got more time; the card says {took(longer[0].usual_s)}."
            yield Advice("time", row.step, f"{upper(row.name)}: count on {took(most)} for a batch.", because)


def _serving(report: Report) -> Iterator[Advice]:
    late = 0.0 if report.served_t is None else report.served_t - report.planned_serve_t
    if late < LATE_S:
        return
    lost = sorted(((s, r.name) for r in report.steps if (s := _lost(report, r)) >= HANDS_S), reverse=True)[:3]
    stood = sum((p.ended_t or report.end_t) - p.began_t for p in report.pauses)
    parts = [f"{name} took {took(s)} more than planned" for s, name in lost]
    parts += [f"the evening stood still for {took(stood)}"] if stood >= HANDS_S else []
    own = late - stood
    say = f"Begin {took(own)} sooner, or serve later." if own >= LATE_S else "Keep the plan: the time went into the pause."
    yield Advice("time", "", say, f"Dinner was {took(late)} after its time" + (f": {'; '.join(parts)}." if parts else "."))


def _lost(report: Report, row: StepRow) -> float:
    """How much longer than planned a step kept the cook or the pot, s."""
    if row.kind in (StepKind.WAIT, StepKind.PLATE) or row.planned_start_t is None or row.planned_end_t is None:
        return 0.0
    if row.took_s is None or _in_pause(report, row.began_t, row.done_t):
        return 0.0
    return row.took_s - (row.planned_end_t - row.planned_start_t)


def _holds(report: Report) -> Iterator[Advice]:
    for w in report.waits:
        if w.best_s is None or w.most_s is None or w.seconds <= w.best_s + HANDS_S:
            continue
        over = f" and keeps {took(w.most_s)} at most" if w.seconds > w.most_s else ""
        say = f"{upper(w.name)}: finish {took(w.seconds - w.best_s)} later, nearer to serving."
        yield Advice("holding", w.dish, say, f"It waited {took(w.seconds)}; it is at its best for {took(w.best_s)}{over}.")


def _hands(report: Report) -> Iterator[Advice]:
    for row in report.steps:
        span, s = report.meal.step(row.step).span, row.took_s
        if row.kind != StepKind.HANDS or s is None or _in_pause(report, row.began_t, row.done_t):
            continue
        if s > span.most_s + max(HANDS_S, HANDS_PART * span.usual_s):
            because = f"It took {took(s)}; the card says {took(span.least_s)} to {took(span.most_s)}."
            yield Advice("time", row.step, f"{upper(row.name)}: plan {took(s)}.", because)


def _heating(report: Report) -> Iterator[Advice]:
    """How long the oil really took from the burner to its first set point, against what was planned; nothing when food went in before."""
    for pot in report.pots:
        lit = next((m.t for m in pot.marks if m.what == "burner" and m.words not in ("burner off", "burner down")), None)
        first = min(((b.begun_t, s.id) for s, f, b in _fried(report) if f.pot == pot.pot), default=None)
        if lit is None or first is None:
            continue
        step = report.meal.step(first[1])
        assert step.fry is not None
        hot = next((r for r in pot.readings if r.t > lit and r.celsius >= step.fry.oil_c - step.fry.under_c - 0.3), None)
        if hot is None or any(lit < b.begun_t < hot.t for _, b in pot.fried):
            continue
        vessel = next(p for p in report.meal.equipment.pots if p.id == pot.pot)
        planned, s = heat_time(vessel, ROOM_C, step.fry.oil_c), hot.t - lit
        if abs(s - planned) >= HEATING_S:
            say = f"{upper(pot.name)}: burner on {took(abs(s - planned))} {'later' if s < planned else 'sooner'}."
            because = f"The oil read {temperature(hot.celsius, report.units)} {took(s)} after the burner was on; planned were {took(planned)}."
            yield Advice("oil", step.id, say, because)


def _hearing(report: Report) -> Iterator[Advice]:
    bad = [m for m in report.misheard if m.reason not in ("not_addressed", "speaking")]
    if len(bad) >= MISHEARD_LEAST and len(bad) >= MISHEARD_PART * report.heard:
        say = "Microphone nearer, extractor lower, and the names as on the card."
        yield Advice("hearing", "", say, f"{len(bad)} of {report.heard} sentences were not understood.")
