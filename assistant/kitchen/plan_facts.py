"""What the evening tells the plan: facts, which name tasks by `task_id`. Plain values; an evening without a plan needs no more of it than this."""

from __future__ import annotations

from dataclasses import dataclass


def task_id(step: str, action: str, batch: int = 0) -> str:
    """The id of a step's task.

    >>> task_id("chips-fry", "drop", 2), task_id("chips-cut", "do"), task_id("bread-bake", "take out")
    ('chips-fry#2:drop', 'chips-cut', 'bread-bake:take-out')
    """
    return step + (f"#{batch}" if batch else "") + ("" if action in ("do", "wait") else f":{action.replace(' ', '-')}")


THAW = ":thaw"
"""Ends the id of the task that moves an ingredient from the freezer to the fridge, and what stands for it in `Setting.done`."""


@dataclass(frozen=True, slots=True)
class Began:
    """A task began at this instant of the caller's clock, s."""

    task: str
    at_s: float


@dataclass(frozen=True, slots=True)
class Ended:
    """A task ended."""

    task: str
    at_s: float


@dataclass(frozen=True, slots=True)
class MoreTime:
    """A task takes so many seconds more than usual ("two more minutes on the chips")."""

    task: str
    seconds: float


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A dish, a step, or a batch of one (`chips-fry#2`) that will not be made."""

    id: str


@dataclass(frozen=True, slots=True)
class ServeAt:
    """Serving is wanted at another time, s on the caller's clock."""

    serve_s: float


@dataclass(frozen=True, slots=True)
class People:
    """So many eat now: lots that have not begun grow or shrink."""

    count: int


@dataclass(frozen=True, slots=True)
class Helper:
    """A second pair of hands has come, or left."""

    here: bool


@dataclass(frozen=True, slots=True)
class Late:
    """The cook's hands are not free before this instant, s on the caller's clock."""

    until_s: float


Fact = Began | Ended | MoreTime | LeftOut | ServeAt | People | Helper | Late
