"""A plain order of the steps of a meal: backwards from serving, each step as late as its followers, the hands and the pot allow.

Rules. A step ends before everything that waits for it begins, so what leads to long waits starts early by itself (longest path), and a wait
begins as soon as what it waits for is done. One pair of hands: hands, plating, standing at hot oil or over a pan exclude each other; tossing
follows its fry at once, within the minute the cook needs there anyhow. One lot in a pot at a time, and the oven likewise. What is hot goes
nearest to serving, the shortest-keeping nearest of all; cold work fills the gaps before. In each pot: unshared oil first, first fries before
second ones, then clean food, vegetables and potatoes before flour and crumbs, fish last; where that order would keep something past its hold,
the longest-keeping dish goes first instead. Pure; the planner replaces `plain_order`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

from assistant.kitchen.limits import batch_limits, heat_time
from assistant.kitchen.meal import Dish, Meal, Pot, Step, StepKind

BETWEEN_S = 75.0
"""Hands between two batches, s: drain, salt, skim, dry tongs, look at level and heat; 60 to 90 s is common practice, no source."""

_LONG_S = 3600.0
"""What keeps for longer than this is made whenever the hands are free."""

_POT_ORDER = ("clean", "vegetable", "potato", "dough", "sweet", "coated", "meat", "poultry", "fish")
_BUSY_HANDS = frozenset({StepKind.HANDS, StepKind.TOSS, StepKind.PLATE, StepKind.FRY})
_HEATED = frozenset({StepKind.FRY, StepKind.TOSS, StepKind.BAKE, StepKind.STOVE})


@dataclass(frozen=True, slots=True)
class Slot:
    """A step (its id) and when it is wanted, s relative to serving (before it: negative). A fry runs from its first drop to its last lift."""

    step: str
    start_s: float
    end_s: float


def plain_order(meal: Meal) -> tuple[Slot, ...]:
    """Every step with its wanted start, in the order in which they begin. Raises ValueError where steps wait for each other in a circle.

    The session may do the steps in this order whatever the time: each comes after all that it waits for.
    """
    by_kind = _Order(meal, lambda step, dish: (_POT_ORDER.index(dish.food_kind) if dish.food_kind in _POT_ORDER else len(_POT_ORDER), 0.0))
    by_hold = _Order(meal, lambda step, dish: (0, -_longest_hold(dish)))
    return min((by_kind.slots(), by_hold.slots()), key=lambda slots: _overdue(meal, slots))


def fry_time(step: Step, pot: Pot) -> float:
    """Seconds from the first drop to the last lift of a whole lot, when all goes as usual."""
    if step.fry is None:
        raise ValueError(f"{step.id} does not fry")
    between = max(BETWEEN_S, batch_limits(step, pot).recovery_s)
    return step.fry.batches * (step.span.usual_s + step.hands_s) + (step.fry.batches - 1) * between


def _longest_hold(dish: Dish) -> float:
    return max((s.hold.most_s for s in dish.steps if s.hold), default=0.0)


def _overdue(meal: Meal, slots: tuple[Slot, ...]) -> float:
    """Seconds by which finished states are kept past their most, all together."""
    ends = {slot.step: slot.end_s for slot in slots}
    return sum(max(0.0, -ends[s.id] - s.hold.most_s) for s in meal.steps() if s.hold)


class _Order:
    """One backward pass. `rank` orders the lots of a pot beyond unshared oil and first stages."""

    def __init__(self, meal: Meal, rank: Callable[[Step, Dish], tuple[int, float]]) -> None:
        self._meal = meal
        self._pots = {pot.id: pot for pot in meal.equipment.pots}
        self._steps = {step.id: step for step in meal.steps()}
        self._before = {step.id: dict.fromkeys(step.after, 0.0) for step in meal.steps()}
        self._place = {step_id: i for i, step_id in enumerate(self._steps)}
        dish_of = {s.id: d for d in meal.dishes for s in d.steps}

        def key(step_id: str) -> tuple[bool, bool, tuple[int, float], int]:
            step, dish = self._steps[step_id], dish_of[step_id]
            first = step.fry is not None and step.fry.first_stage
            return (not dish.unshared_oil, not first, rank(step, dish), self._place[step_id])

        self._heated = heated = {s.id for s in self._steps.values() if s.kind in _HEATED}
        self._hot = {s.id for s in self._steps.values() if s.kind is StepKind.PLATE or s.id in heated or self._needs(s.id) & heated}
        for pot in self._pots.values():
            self._chain(pot, self._sorted([s.id for s in meal.steps() if s.fry and s.fry.pot == pot.id], key))
        self._followers: dict[str, dict[str, float]] = {step_id: {} for step_id in self._steps}
        for later, earlier in self._before.items():
            for step_id, lag in earlier.items():
                self._followers[step_id][later] = lag
        self._fry_of = {s.id: fry for s in self._steps.values() if (fry := self._tossed(s))}
        for step_id in self._steps:
            ahead = 0.0  # tosses of one lot come one after the other
            for toss in self._tosses(self._steps[step_id]):
                self._followers[step_id][toss.id] = ahead
                ahead += self._length(toss)

    def _tossed(self, step: Step) -> str | None:
        """The fry whose lot this step tosses the moment it is lifted: none where it must wait for something else made after that fry."""
        fries = [a for a in step.after if self._steps[a].fry and not any(a in self._needs(b) for b in step.after)]
        return fries[0] if fries and step.kind is StepKind.TOSS else None

    def _chain(self, pot: Pot, lots: list[str]) -> None:
        """Each lot of a pot waits for the one before it, and for the oil to change temperature."""
        for earlier, later in pairwise(lots):
            one, two = self._steps[earlier].fry, self._steps[later].fry
            if one and two:
                self._before[later][earlier] = max(BETWEEN_S, heat_time(pot, one.oil_c, two.oil_c))

    def _sorted(self, wanted: list[str], key: Callable[[str], tuple[bool, bool, tuple[int, float], int]]) -> list[str]:
        """These steps by key, but never before one of them that they wait for, directly or through others."""
        needs = {w: self._needs(w) & set(wanted) for w in wanted}
        done: list[str] = []
        while len(done) < len(wanted):
            free = [w for w in wanted if w not in done and needs[w] <= set(done)]
            if not free:
                raise ValueError("steps wait for each other in a circle")
            done.append(min(free, key=key))
        return done

    def _needs(self, step_id: str) -> set[str]:
        found: set[str] = set()
        todo = list(self._before[step_id])
        while todo:
            here = todo.pop()
            if here not in found:
                found.add(here)
                todo += self._before[here]
        return found

    def _length(self, step: Step) -> float:
        return fry_time(step, self._pots[step.fry.pot]) if step.fry else step.span.usual_s

    def slots(self) -> tuple[Slot, ...]:
        """The backward pass: place what has all its followers placed, the most urgent first."""
        placed: dict[str, Slot] = {}
        keeps: dict[str, float] = {}
        busy: dict[str, list[Slot]] = {"hands": [], "oven": []}
        while len(placed) < len(self._steps):
            latest = {
                step_id: min((placed[f].start_s - lag for f, lag in after.items()), default=0.0)
                for step_id, after in self._followers.items()
                if step_id not in placed and self._ready(step_id, placed)
            }
            if not latest:
                raise ValueError("steps wait for each other in a circle")
            keeps |= {step_id: self._keeps(step_id, keeps) for step_id in latest if step_id not in keeps}
            step = self._steps[max(latest, key=lambda step_id: self._urgency(step_id, latest[step_id], keeps[step_id]))]
            tosses = self._tosses(step)
            tail = max(BETWEEN_S, sum(self._length(t) for t in tosses)) if step.fry else 0.0
            taken = busy["oven"] if step.kind is StepKind.BAKE else busy["hands"] if self._wants_hands(step) else []
            slot = _fit(step.id, latest[step.id], self._length(step), tail, taken)
            taken.append(Slot(step.id, slot.start_s, slot.end_s + tail))
            placed[step.id] = slot
            end = slot.end_s
            for toss in tosses:
                placed[toss.id] = Slot(toss.id, end, end + self._length(toss))
                end += self._length(toss)
        for slot in sorted(placed.values(), key=lambda s: s.start_s):
            if self._steps[slot.step].kind is StepKind.WAIT and self._before[slot.step]:
                start = max(placed[a].end_s + lag for a, lag in self._before[slot.step].items())
                placed[slot.step] = Slot(slot.step, start, start + slot.end_s - slot.start_s)
        return tuple(sorted(placed.values(), key=lambda s: (s.start_s, s.end_s, self._place[s.step])))

    def _wants_hands(self, step: Step) -> bool:
        """Whether the cook is bound for the whole of it; a toss is within the minute after its fry."""
        standing = step.kind in _BUSY_HANDS or step.hands_s > step.span.usual_s / 2
        return standing and step.id not in self._fry_of

    def _tosses(self, fry: Step) -> list[Step]:
        return [self._steps[f] for f in self._followers[fry.id] if self._fry_of.get(f) == fry.id]

    def _ready(self, step_id: str, placed: dict[str, Slot]) -> bool:
        """Whether all that follows has its final place; a toss has it only once its fry has."""
        return all(f in placed and self._fry_of.get(f, step_id) in {step_id, *placed} for f in self._followers[step_id])

    def _urgency(self, step_id: str, latest: float, keeps: float) -> tuple[int, float, float, int]:
        """Which step is placed next, going backwards: hot ones that don't keep for an hour, shortest first; then what feeds the heat; then the one
        that may end latest, and the card's last."""
        if step_id in self._hot and keeps <= _LONG_S:
            return (2, -keeps, latest, self._place[step_id])
        return (int(any(f in self._heated for f in self._followers[step_id])), 0.0, latest, self._place[step_id])

    def _keeps(self, step_id: str, later: dict[str, float]) -> float:
        """Seconds for which what a step leaves, and what is made of it before it is plated, keeps; `later`: the same for what follows it."""
        hold = self._steps[step_id].hold
        after = [later[f] for f in self._followers[step_id] if self._steps[f].kind is not StepKind.PLATE]
        return min([hold.most_s, *after] if hold else after, default=0.0)


def _fit(step_id: str, latest: float, length: float, tail: float, taken: list[Slot]) -> Slot:
    """The latest stretch of this length that ends by `latest` and, with its tail, overlaps nothing taken."""
    end = latest
    for other in sorted(taken, key=lambda s: -s.end_s):
        if other.start_s < end + tail and other.end_s > end - length:
            end = other.start_s - tail
    return Slot(step_id, end - length, end)
