"""Late guests: what is not yet in the oil is divided, and their part becomes a second wave of its own, cooked when they are there.

Rules. Food is never held hot for people who are not there. Of every lot that still has a batch to go in, the late guests' part stays raw and cold;
for it, its finish and its plate there are new steps, called as the old ones. They begin when the guests are here and not before; the
food clock of what waits runs on as it was. The first wave is served at its time, by a plan that has become smaller. What is in the oil already is
not divided.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import ceil

from assistant.kitchen import perishables
from assistant.kitchen.food_clocks import Place
from assistant.kitchen.ledger import Ledger, advanced
from assistant.kitchen.limits import batch_limits, heat_time
from assistant.kitchen.meal import Dish, Step, StepKind
from assistant.session.state import LATE, State, Status, StepRun

AFTER_SERVING_S = 300.0
"""The second wave goes in no sooner than this after the first is on the table: the cook eats too."""
LOWER_LEAST_S = 15.0
BETWEEN_S = 75.0
"""Hands between two batches: 60 to 90 s, common practice."""


@dataclass(frozen=True, slots=True)
class Kept:
    """Of the lot `step`, so much stays for the second wave: kg, pieces, batches; first: batches that are still of the first wave."""

    step: str
    kg: float
    pieces: int | None
    batches: int
    first: int


def kept_back(state: State, late: int) -> tuple[Kept, ...]:
    """What of each lot is kept back for `late` guests, in the order in which it would have been fried."""
    found = []
    for step in sorted(state.meal.steps(), key=lambda s: state.start_of(s.id)):
        fry = step.fry
        if fry is None or fry.first_stage or step.id in state.second or state.meal.dish(step.dish).component:
            continue
        run = state.steps[step.id]
        begun = run.full_batches + (run.current is not None and not run.current.test)
        left = 0 if run.status in (Status.DONE, Status.SKIPPED) else fry.batches - begun
        if left <= 0:
            continue
        part = min(left / fry.batches, late / state.people)
        pieces = None if fry.pieces is None else min(max(1, round(fry.pieces * part)), ceil(fry.pieces * left / fry.batches))
        if pieces is not None and fry.pieces:
            part = pieces / fry.pieces
        batch = 1.0 / fry.batches
        stays = ceil((left / fry.batches - part) / batch - 1e-6)
        found.append(Kept(step.id, fry.kg * part, pieces, max(1, ceil(part / batch - 1e-6)), begun + stays))
    return tuple(found)


def divided(state: State, late: int) -> State:
    """The state once the guests' part is kept back: smaller lots, the steps of the second wave, and their food on its clock in the fridge."""
    parts = {k.step: k for k in kept_back(state, late)}
    ledger, dishes, added = state.ledger, [], []
    for dish in state.meal.dishes:
        mine = [parts[s.id] for s in dish.steps if s.id in parts]
        for part in mine:
            ledger = _copied(state, ledger, state.meal.step(part.step))
        new = [_late(s, part, again) for part in mine for again in [_again(dish, part.step)] for s in dish.steps if s.id in again]
        added += new
        dishes.append(replace(dish, steps=(*(_less(s, parts.get(s.id)) for s in dish.steps), *new)))
    runs = {**state.steps, **{s.id: StepRun() for s in added}}
    state = replace(state, meal=replace(state.meal, dishes=tuple(dishes)), steps=runs, ledger=ledger)
    return replace(state, second={**state.second, **_offsets(state, added)})


def _again(dish: Dish, lot: str) -> frozenset[str]:
    """The lot and all that is done to it afterwards, within its dish."""
    found = {lot}
    for _ in dish.steps:
        found |= {s.id for s in dish.steps if set(s.after) & found}
    return frozenset(found)


def _less(step: Step, part: Kept | None) -> Step:
    if part is None or step.fry is None:
        return step
    pieces = None if step.fry.pieces is None or part.pieces is None else max(1, step.fry.pieces - part.pieces)
    return replace(step, fry=replace(step.fry, kg=max(0.001, step.fry.kg - part.kg), pieces=pieces, batches=max(1, part.first)))


def _late(step: Step, part: Kept, again: frozenset[str]) -> Step:
    fry = step.fry if step.fry is None or step.id != part.step else replace(step.fry, kg=part.kg, pieces=part.pieces, batches=part.batches)
    after = tuple(a + LATE if a in again else a for a in step.after)
    return replace(
        step,
        id=step.id + LATE,
        after=after,
        fry=fry,
        share_of=step.share_of + LATE if step.share_of in again else step.share_of,
    )


def _copied(state: State, ledger: Ledger, step: Step) -> Ledger:
    """The food that a lot works on, once more for its second wave: as old as it is, and put into the fridge."""
    items = {
        i.id + LATE: replace(advanced(i, state.t, ledger.room_c), id=i.id + LATE, name=f"second {i.name}", place=Place.FRIDGE, since_s=state.t)
        for i in perishables.worked_on(state.meal, ledger, step)
    }
    return replace(ledger, items={**ledger.items, **items})


def _offsets(state: State, added: list[Step]) -> dict[str, float]:
    """When each step of the second wave begins, s after its first drop: lot after lot, then the plates."""
    at, found, oil_c = 0.0, {}, dict[str, float]()
    for step in added:
        if step.fry is not None:
            pot = state.pot_of(step)
            at += heat_time(pot, oil_c[pot.id], step.fry.oil_c) if pot.id in oil_c else 0.0
            oil_c[pot.id] = step.fry.oil_c
            lower = max(LOWER_LEAST_S, step.fry.piece_s * (step.fry.pieces or 0) / step.fry.batches)
            between = max(BETWEEN_S, batch_limits(step, pot).recovery_s)
            found[step.id] = at
            at += step.fry.batches * (lower + step.span.usual_s) + (step.fry.batches - 1) * between
        elif step.kind is not StepKind.PLATE:
            found[step.id] = at
            at += step.span.usual_s
    for step in added:
        if step.kind is StepKind.PLATE:
            found[step.id] = at
            at += step.span.usual_s
    return found


def table_t(state: State) -> float:
    """When the second wave is on the table, kitchen time."""
    return state.wave_t + max((off + state.meal.step(s).span.usual_s for s, off in state.second.items()), default=0.0)


def surplus(state: State, late: int) -> Iterator[str]:
    """Batches (`step#number`) of the plan that the first wave needs no more."""
    for part in kept_back(state, late):
        fry = state.meal.step(part.step).fry
        assert fry is not None
        yield from (f"{part.step}#{n}" for n in range(max(1, part.first) + 1, fry.batches + 1))
