"""How long this cook takes: actual durations turned, evening by evening, into the usual times of the next plan.

A step's own time is the median of its last nine durations, drawn towards the card's as if the card had been cooked twice: one odd evening moves
it by a third at most. It stays between half and twice the card's. Waits are not learnt: how long they last is the plan's doing.
Kept in one JSON file in the user's data folder; a file that cannot be read counts as none, because a plan without it is still a plan.
"""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from statistics import median

from assistant.kitchen.meal import Meal, Step, StepKind

KEPT = 9
CARD_COUNTS = 2
FILE = "my_times.json"


@dataclass(frozen=True, slots=True)
class MyTimes:
    """seen: durations, s, oldest first, by `meal/step`."""

    seen: Mapping[str, tuple[float, ...]] = field(default_factory=dict)

    def for_meal(self, meal: Meal) -> dict[str, float]:
        """Learnt usual times of the meal's steps, s; only those that were ever measured."""
        return {s.id: own_time(s, seen) for s in meal.steps() if s.kind is not StepKind.WAIT and (seen := self.seen.get(f"{meal.id}/{s.id}"))}


def own_time(step: Step, seen: tuple[float, ...]) -> float:
    """A step's time for a cook who took so long before, s.

    >>> from assistant.kitchen.meal import Span
    >>> step = Step("cut", "cut", ("cut",), "chips", StepKind.HANDS, Span(480, 540, 600), 540)
    >>> own_time(step, (720.0,)), own_time(step, (720.0, 720.0, 5000.0))
    (600.0, 648.0)
    """
    card = step.span.usual_s
    last = seen[-KEPT:]
    own = (CARD_COUNTS * card + len(last) * median(last)) / (CARD_COUNTS + len(last))
    return min(2.0 * card, max(0.5 * card, own))


def learn(times: MyTimes, meal: Meal, took_s: Mapping[str, float]) -> MyTimes:
    """The times with one evening more: how long each step took, s (a fry: one batch in the oil). Steps of no such meal are ignored."""
    seen = dict(times.seen)
    for step in meal.steps():
        if step.id in took_s and took_s[step.id] > 0.0 and step.kind is not StepKind.WAIT:
            key = f"{meal.id}/{step.id}"
            seen[key] = (*seen.get(key, ()), float(took_s[step.id]))[-KEPT:]
    return replace(times, seen=seen)


def forget(times: MyTimes, meal_id: str | None = None) -> MyTimes:
    """Without the times of one meal, or of all."""
    return MyTimes({k: v for k, v in times.seen.items() if meal_id is not None and not k.startswith(f"{meal_id}/")})


def read_times(folder: Path) -> MyTimes:
    """The times kept in this folder."""
    try:
        data = json.loads((folder / FILE).read_text(encoding="utf-8"))
        return MyTimes({str(k): tuple(float(x) for x in v) for k, v in data.items()})
    except (OSError, ValueError, TypeError, AttributeError):
        return MyTimes()


def write_times(folder: Path, times: MyTimes) -> None:
    """Keep the times, whole or not at all. OSError as it comes."""
    folder.mkdir(parents=True, exist_ok=True)
    new = folder / (FILE + ".new")
    new.write_text(json.dumps({k: list(v) for k, v in sorted(times.seen.items())}, indent=1), encoding="utf-8")
    os.replace(new, folder / FILE)
