"""The chance that an evening lands, and what makes it better: every dish inside its hold window and served at most five minutes late.

Below 95 % the plan gets air: a share of the spread behind each task of the hands, all of it ready early, a margin on the holds. The pad goes on
the hands, because padding every task leaves no plan at all. Where no air reaches 95 %, what would (a fuller batch, a warm oven, an earlier
start) is proposed, never done.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from assistant.kitchen.evening import EveningPlan, Pads, Setting
from assistant.kitchen.meal import Meal, StepKind
from assistant.kitchen.plan_figures import LIFT_S, spread_s
from assistant.kitchen.plan_meal import fuller, minutes, plan_meal, try_plan
from assistant.kitchen.scale import scaled
from assistant.planning.problem import Plan
from assistant.planning.simulate import SAMPLES, simulate
from assistant.speaking.prompts import number as in_words
from assistant.speaking.prompts import upper

WANTED = 0.95
LATE_S = 300.0
LIFT_SIGMA = 0.1
LATER_S = 600.0
AIRS = (Pads(0.5, 60.0, 60.0), Pads(1.0, 120.0, 120.0), Pads(1.0, 240.0, 180.0), Pads(1.5, 300.0, 240.0))
"""From least to most air."""


@dataclass(frozen=True, slots=True)
class Landing:
    """chance: every dish inside its window and at most 5 min late; on_time: served at most 5 min late; dishes: inside its window, by dish;
    late_s: how late the worst twentieth of evenings is, s."""

    chance: float
    on_time: float
    dishes: dict[str, float]
    late_s: float


@dataclass(frozen=True, slots=True)
class Proposal:
    """Something that would help: in words, and the chance with it."""

    words: str
    chance: float


@dataclass(frozen=True, slots=True)
class Sturdy:
    """A plan with as much air as it needs. before: chance of the plan without any; proposals: when air alone does not reach 95 %."""

    plan: EveningPlan
    before: float
    chance: float
    proposals: tuple[Proposal, ...]


def landing(meal: Meal, plan: EveningPlan, setting: Setting, samples: int = SAMPLES) -> Landing:
    """Simulate the plan. A plan that breaks a limit from the outset lands never."""
    import numpy as np

    steps = {s.id: s for s in scaled(meal, plan.people).steps()}
    sigma: dict[str, float] = {}
    usual: dict[str, float] = {}
    for item in plan.items:
        if item.id not in plan.starts:
            continue
        task_s = plan.ends[item.id] - plan.starts[item.id] - item.pad_s
        if item.action == "lift":
            usual[item.id], sigma[item.id] = LIFT_S / plan.grid_s, LIFT_SIGMA
        elif item.step in steps and item.action in ("do", "fry", "bake", "stove", "drop"):
            step = steps[item.step]
            middle = setting.usual_s.get(step.id, step.span.usual_s)
            relative = spread_s(step, middle) / middle if middle else 0.0
            sigma[item.id] = relative if item.action != "drop" else LIFT_SIGMA
            if item.action == "do":
                usual[item.id] = task_s / plan.grid_s
    grid = plan.grid_s
    units = Plan("feasible", {t: s // grid for t, s in plan.starts.items()}, {t: s // grid for t, s in plan.ends.items()}, plan.by)
    runs = simulate(plan.problem, units, sigma, usual, samples)
    served = runs.starts["serve"]
    on_time = (served - units.starts["serve"]) * grid <= LATE_S
    inside: dict[str, float] = {}
    good = on_time & (not plan.broken)
    for hold in plan.holds:
        kept = (served - runs.ends[hold.task]) * grid <= hold.most_s + 1e-6
        good &= kept
        inside[hold.dish] = min(inside.get(hold.dish, 1.0), float(np.mean(kept)))
    late_s = float(np.percentile((served - units.starts["serve"]) * grid, 95))
    return Landing(float(np.mean(good)), float(np.mean(on_time)), inside, late_s)


def sturdy_plan(meal: Meal, serve_s: float, people: int | None, now_s: float | None, setting: Setting, samples: int = SAMPLES) -> Sturdy:
    """The plan for this time, with as little air as reaches 95 %. Raises as `plan_meal` does."""
    setting = replace(setting, people=people or setting.people or meal.serves)
    bare = plan_meal(meal, serve_s, people, now_s, setting)
    before = landing(meal, bare, setting, samples).chance
    # air goes into the batches that were chosen
    chosen = replace(setting, batches={step: len(sizes) for step, sizes in bare.batches.items()}, small_first=bare.setting.small_first)
    plan = _aired(meal, replace(bare, chance=before), now_s, chosen, samples)
    chance = plan.chance or 0.0
    proposals = tuple(_proposals(meal, serve_s, now_s, setting, samples)) if chance < WANTED else ()
    return Sturdy(plan, before, chance, proposals)


def _aired(meal: Meal, plan: EveningPlan, now_s: float | None, setting: Setting, samples: int) -> EveningPlan:
    for pads in AIRS:
        if plan.broken or (plan.chance or 0.0) >= WANTED:
            break
        other = try_plan(meal, plan.serve_s, now_s, replace(setting, pads=pads))
        if other is None:
            break  # no room for more air
        better = landing(meal, other, setting, samples).chance
        if better > (plan.chance or 0.0):
            plan = replace(other, chance=better)
    return plan


def _proposals(meal: Meal, serve_s: float, now_s: float | None, setting: Setting, samples: int) -> Iterator[Proposal]:
    ways = [(other, serve_s, words) for other, words in _ways(meal, setting)]
    if now_s is not None:
        ways.append((setting, serve_s + LATER_S, f"Serve {minutes(LATER_S)} later"))
    for other, at, words in ways:
        plan = try_plan(meal, at, now_s, other)
        if plan is None:
            continue
        better = _aired(meal, replace(plan, chance=landing(meal, plan, other, samples).chance), now_s, other, samples).chance or 0.0
        if better >= WANTED:
            yield Proposal(words, better)


def _ways(meal: Meal, setting: Setting) -> Iterator[tuple[Setting, str]]:
    for step, number in fuller(meal, setting):
        words = f"{upper(in_words(number))} batch{'' if number == 1 else 'es'} of {meal.dish(step.dish).name} instead of {number + 1}"
        yield replace(setting, batches={**setting.batches, step.id: number}), words
    waves = {-(-setting.people * 2 // 3), -(-setting.people // 2), meal.serves}
    for first in sorted((n for n in waves if n < setting.people), reverse=True):
        yield replace(setting, people=first), f"Cook in waves of {first}"
    if meal.equipment.oven:
        for dish in meal.dishes:
            fries = any(s.kind is StepKind.FRY for s in dish.steps)
            kept = any(s.hold and s.hold.oven_c for s in dish.steps)
            if fries and not kept and not dish.component:
                yield replace(setting, oven_hold=setting.oven_hold | {dish.id}), f"Keep the {dish.name} warm in the oven"
