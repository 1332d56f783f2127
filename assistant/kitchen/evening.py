"""What a planned evening is: plain values that the session, the screen and the journal use. No solver is needed to read one.

All times of tasks are seconds relative to serving (before it: negative). `serve_s` and every other instant is on the caller's one clock, s
(kitchen time while cooking, s after midnight from the command line). A plan carries its whole problem, so that it can be shifted and
solved again from itself and the facts of the evening alone.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from typing import Any

from assistant.planning import problem as core

BY_HAND = frozenset({"do", "drop", "lift", "put in", "take out", "begin", "light"})
"""Actions of the cook's hands."""


_SETS = ("skip", "done", "oven_hold", "small_first")


class PlanError(Exception):
    """The meal cannot be planned as its card has it: one sentence that names the card, the line and the way out."""


class TooMuchError(PlanError):
    """More food than the pots and the limits of the meal take: less of it, or another pot, may do."""


@dataclass(frozen=True, slots=True)
class Pads:
    """Air in a plan: share of each hands task's spread kept free behind it; how early all should be ready, s; margin on what holds allow, s."""

    hands_sigma: float = 0.0
    early_s: float = 0.0
    hold_s: float = 0.0


@dataclass(frozen=True, slots=True)
class Setting:
    """How the evening is set. people: eaters (0: as the card says); helper: a second pair of hands; cooking: it has begun, so limits have a
    price; skip: dishes and steps left out; done: steps already done, and thawing (`plan_facts.THAW`); batches: number of batches asked for, by
    step; small_first: of these the lots whose smaller batches go first; usual_s: learnt durations, by step; oven_hold: dishes to be kept warm in
    the oven although their card does not say so; ahead: on how many days before serving there is a session; crowded: a lot has more batches than
    what it leaves keeps for, so all but the last are held at a price; unmixed: a pot does one lot after the other, no batches of another between;
    grid_s: the unit of time, s."""

    people: int = 0
    helper: bool = False
    cooking: bool = False
    skip: frozenset[str] = frozenset()
    done: frozenset[str] = frozenset()
    batches: Mapping[str, int] = field(default_factory=dict)
    small_first: frozenset[str] = frozenset()
    usual_s: Mapping[str, float] = field(default_factory=dict)
    oven_hold: frozenset[str] = frozenset()
    ahead: int = 0
    crowded: bool = False
    unmixed: bool = False
    pads: Pads = Pads()
    grid_s: int = 30


@dataclass(frozen=True, slots=True)
class Item:
    """What a task of the problem is in the kitchen. action: `do`, `wait`, `drop`, `fry`, `lift`, `put in`, `bake`, `take out`, `begin`, `stove`,
    `light` (pot or oven), `heat` (pot hot from lighting to the last lift), `keep` (warm in the oven) or `serve`; step, dish: their ids, empty
    where it belongs to none; batch: from 1, 0 for no batch; name: what to call it; pad_s: air planned behind it on the hands, s; helper: a
    helper may do it."""

    id: str
    action: str
    name: str
    step: str = ""
    dish: str = ""
    batch: int = 0
    pad_s: float = 0.0
    helper: bool = False


@dataclass(frozen=True, slots=True)
class PlanTask:
    """One line of the timetable. start_s, end_s: relative to serving; slack_s: how much later it may start with nothing else harmed; resources: names
    of what it occupies; kg, pieces: of a batch."""

    id: str
    step: str
    dish: str
    action: str
    name: str
    batch: int
    start_s: float
    end_s: float
    resources: tuple[str, ...] = ()
    slack_s: float = 0.0
    kg: float | None = None
    pieces: int | None = None


@dataclass(frozen=True, slots=True)
class HoldOf:
    """A finished state that waits for serving: the task whose end begins it, and how long it keeps, s."""

    task: str
    dish: str
    best_s: float
    most_s: float


@dataclass(frozen=True, slots=True)
class Wait:
    """How long a dish waits before it is served: its oldest batch, s; best_s, most_s: what its state allows."""

    dish: str
    seconds: float
    best_s: float
    most_s: float


@dataclass(frozen=True, slots=True)
class BatchSize:
    """kg and number of pieces (None: not countable) of one batch."""

    kg: float
    pieces: int | None = None


@dataclass(frozen=True, slots=True)
class EveningPlan:
    """The plan of one evening. serve_s, origin_s: on the caller's clock; grid_s: the problem's unit, s; cost, bound, optimal: of the solver (a
    shifted plan has no proof); waits: by dish; batches: by frying step; ask_s: when to ask whether everyone is here, relative to serving
    (None: nothing is fried); limits: simple lower bounds on the length of the evening, s, by what sets them; starts, ends: s from the origin, by
    task; names: of machines, where the kitchen calls them otherwise; because: task, or busy machine, that serving waits for where it is later than
    wanted; broken: elastic limits that this plan does not keep, as words; chance: of landing, where it was simulated; learned: steps planned with
    this cook's own times; the rest is what it was made from."""

    meal: str
    people: int
    serve_s: float
    origin_s: float
    grid_s: int
    tasks: tuple[PlanTask, ...]
    waits: tuple[Wait, ...]
    batches: Mapping[str, tuple[BatchSize, ...]]
    cost: int
    bound: int
    optimal: bool
    ask_s: float | None
    limits: Mapping[str, float]
    problem: core.Problem
    items: tuple[Item, ...]
    holds: tuple[HoldOf, ...]
    setting: Setting
    names: Mapping[str, str]
    starts: Mapping[str, int]
    ends: Mapping[str, int]
    by: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    because: str = ""
    broken: tuple[str, ...] = ()
    chance: float | None = None
    learned: tuple[str, ...] = ()

    def task(self, task_id: str) -> PlanTask:
        """The task with this id; KeyError when there is none."""
        for task in self.tasks:
            if task.id == task_id:
                return task
        raise KeyError(task_id)

    def of_step(self, step_id: str) -> tuple[PlanTask, ...]:
        """The tasks of one step, in order of time."""
        return tuple(t for t in self.tasks if t.step == step_id)

    def coming(self, now_s: float, by_hand: bool = True) -> tuple[PlanTask, ...]:
        """What begins at or after `now_s` (the caller's clock), soonest first; by_hand: only what the cook does."""
        later = (t for t in self.tasks if self.serve_s + t.start_s >= now_s and t.action != "serve")
        return tuple(t for t in later if not by_hand or t.action in BY_HAND)

    def free_s(self, now_s: float) -> float:
        """Seconds that the cook's hands are free from `now_s` on: 0 when something is being done."""
        busy = [t for t in self.tasks if t.action in BY_HAND and self.serve_s + t.start_s <= now_s < self.serve_s + t.end_s]
        after = self.coming(now_s)
        return 0.0 if busy else (self.serve_s + after[0].start_s if after else self.serve_s) - now_s

    def slots(self) -> tuple[tuple[str, float, float], ...]:
        """(step, start, end) on the caller's clock, in the order in which steps begin: a step from its first task to its last."""
        found: dict[str, tuple[float, float]] = {}
        for task in (t for t in self.tasks if t.step and t.action != "keep"):
            start, end = found.get(task.step, (task.start_s, task.end_s))
            found[task.step] = (min(start, task.start_s), max(end, task.end_s))
        return tuple((step, self.serve_s + a, self.serve_s + b) for step, (a, b) in sorted(found.items(), key=lambda x: (x[1], x[0])))

    def begin_s(self) -> float:
        """When the first task starts, relative to serving."""
        return min((t.start_s for t in self.tasks), default=0.0)

    def to_dict(self) -> dict[str, Any]:
        """The plan as JSON values, for the journal."""
        data = {
            name: getattr(self, name) for name in self.__slots__ if name not in ("problem", "tasks", "waits", "items", "holds", "batches", "setting")
        }
        data |= {name: [asdict(x) for x in getattr(self, name)] for name in ("tasks", "waits", "items", "holds")}
        data["batches"] = {step: [asdict(b) for b in sizes] for step, sizes in self.batches.items()}
        data["setting"] = asdict(self.setting) | {name: sorted(getattr(self.setting, name)) for name in _SETS}
        data["problem"] = core.to_dict(self.problem)
        for name in ("starts", "ends", "limits", "names"):
            data[name] = dict(data[name])
        data["by"] = {task: list(machines) for task, machines in self.by.items()}
        data["broken"], data["learned"] = list(self.broken), list(self.learned)
        for task in data["tasks"]:
            task["resources"] = list(task["resources"])
        return data

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> EveningPlan:
        """The plan that `to_dict` wrote."""
        values = dict(data)
        values["tasks"] = tuple(PlanTask(**(t | {"resources": tuple(t["resources"])})) for t in data["tasks"])
        values["waits"] = tuple(Wait(**w) for w in data["waits"])
        values["holds"] = tuple(HoldOf(**h) for h in data["holds"])
        values["items"] = tuple(Item(**i) for i in data["items"])
        values["batches"] = {step: tuple(BatchSize(**b) for b in sizes) for step, sizes in data["batches"].items()}
        sets = {name: frozenset(data["setting"].get(name, ())) for name in _SETS}
        values["setting"] = Setting(**(data["setting"] | sets | {"pads": Pads(**data["setting"]["pads"])}))
        values["by"] = {task: tuple(machines) for task, machines in data["by"].items()}
        values["problem"] = core.from_dict(data["problem"])
        values["broken"], values["learned"] = tuple(data["broken"]), tuple(data["learned"])
        return cls(**values)
