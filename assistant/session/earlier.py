"""What earlier evenings of the same meal made and nobody has eaten yet: states of those evenings in, things that are still there out. Pure.

Rules
- Only what the card allows ahead counts, as far ahead as it allows: `same day` on that day, `day before` from the day before on, `up to a week
  before` for seven days. A wait that began then has gone on since; past its most, or past its hold, the thing is made again.
- What was plated, or used by another dish, is gone; an evening that got its dinner ends the search, for what came before it was eaten.
- The newest evening that touched a thing decides about it. What was made for fewer people than eat now is made again.
- The food clocks have run on: a thing over its limit is not offered, it is to be thrown away (`over` says why).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from assistant.kitchen.ledger import Item, advanced, rebased
from assistant.kitchen.meal import Day, Dish, Meal, Step, StepKind
from assistant.session.state import State, Status

DAYS: dict[Day, int] = {Day.SAME_DAY: 0, Day.DAY_BEFORE: 1, Day.WEEK: 7}
"""How many days before serving a step may be done."""


@dataclass(frozen=True, slots=True)
class Past:
    """An earlier evening. state: as it was left; zero_wall: its kitchen time 0, s since the epoch."""

    state: State
    zero_wall: float


@dataclass(frozen=True, slots=True)
class Made:
    """A dish or component whose first steps were done earlier. name: as it is said; steps: ids, in the order of the card; days: how many days ago;
    ago_s: how long ago the last of them ended; item: the perishable thing as it is now, its times counted from now (0 is now, the past negative);
    over: why it may not be eaten any more ("" when it may)."""

    dish: str
    name: str
    steps: tuple[str, ...]
    days: int
    ago_s: float
    item: Item | None = None
    over: str = ""


def made_before(evenings: Iterable[Past], meal: Meal, people: int, wall: float, serve_wall: float | None = None) -> tuple[Made, ...]:
    """What is there for this meal from `evenings`, newest first, at `wall` (s since the epoch), in the order of the card. serve_wall: when it is
    served and must still be within what the card allows (None: now)."""
    use = max(wall, serve_wall or wall)
    found: dict[str, Made] = {}
    settled: set[str] = set()
    for past in evenings:
        if past.state.ended or "dinner" in past.state.told:
            break
        for dish in meal.dishes:
            touched = any(s.id in past.state.steps and past.state.steps[s.id].status is not Status.TODO for s in dish.steps)
            # a thing that was asked about there and refused is settled too
            if dish.id in settled or not (touched or f"made:{dish.id}" in past.state.told):
                continue
            settled.add(dish.id)
            thing = _left_of(past, meal, dish, wall, use) if past.state.people >= people else None
            if thing is not None:
                found[dish.id] = thing
    return tuple(found[d.id] for d in meal.dishes if d.id in found)


def _left_of(past: Past, meal: Meal, dish: Dish, wall: float, use_wall: float) -> Made | None:
    state, t = past.state, wall - past.zero_wall
    done = {s.id for s in meal.steps() if _done_t(state, s, t) is not None}
    mine = [s for s in dish.steps if s.id in done]
    last = [s for s in mine if any(f.id not in done for f in _followers(meal, s)) or not _followers(meal, s)]
    if not mine or any(f.dish != dish.id and f.id in done for s in mine for f in _followers(meal, s)) or any(s.kind is StepKind.PLATE for s in mine):
        return None
    good = [s for s in last if _keeps(state, s, past, use_wall)]
    kept: set[str] = set()
    for step in good:
        kept |= {step.id} | (_before(meal, step) & done)
    steps = tuple(s.id for s in dish.steps if s.id in kept)
    if not steps:
        return None
    made_t = max(ended for s in good if (ended := _done_t(state, s, t)) is not None)
    days = (_day(wall) - _day(past.zero_wall + made_t)).days
    raw = {i.id for i in dish.ingredients if i.raw} if any(s.raw_in for s in mine if s.id in kept) else set()
    now = rebased(state.ledger, -t)
    items = [advanced(i, 0.0, now.room_c) for i in now.open() if i.id in kept | raw]
    item = max(items, key=lambda i: (bool(i.over), i.used), default=None)
    return Made(dish.id, dish.said[0], steps, days, t - made_t, item, "" if item is None else item.over)


def _done_t(state: State, step: Step, t: float) -> float | None:
    """When a step of an earlier evening ended, on its clock; a wait goes on by itself. None: it has not."""
    run = state.steps.get(step.id)
    if run is None:
        return None
    if run.status is Status.RUNNING and step.kind is StepKind.WAIT and run.began_t is not None and run.began_t + step.span.least_s <= t:
        return run.began_t + step.span.least_s
    return run.done_t if run.status is Status.DONE else None


def _keeps(state: State, step: Step, past: Past, wall: float) -> bool:
    t = wall - past.zero_wall
    ended, run = _done_t(state, step, t), state.steps[step.id]
    if ended is None or step.day not in DAYS or (_day(wall) - _day(past.zero_wall + ended)).days > DAYS[step.day]:
        return False
    if step.kind is StepKind.WAIT and run.began_t is not None and run.began_t + step.span.most_s < t:
        return False
    return step.hold is None or ended + step.hold.most_s >= t


def _followers(meal: Meal, step: Step) -> list[Step]:
    return [s for s in meal.steps() if step.id in s.after]


def _before(meal: Meal, step: Step) -> set[str]:
    """Everything that a step waited for, directly or through others."""
    found: set[str] = set()
    waiting = list(step.after)
    while waiting:
        here = waiting.pop()
        if here not in found:
            found.add(here)
            waiting += meal.step(here).after
    return found


def _day(wall: float) -> date:
    return datetime.fromtimestamp(wall).astimezone().date()
