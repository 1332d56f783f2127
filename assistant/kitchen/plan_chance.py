"""The chance that an evening lands, and what makes it better: every dish inside its hold window and served at most five minutes late.

Below 95 % the plan gets air: a share of the spread behind each task of the hands, all of it ready early, a margin on the holds. The pad goes on
the hands, because padding every task leaves no plan at all. Where no air reaches 95 %, what would (a fuller batch, a warm oven, an earlier
start) is proposed, never done.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from assistant.kitchen.evening import EveningPlan, Pads, PlanError, Setting
from assistant.kitchen.meal import Meal
from assistant.kitchen.plan_clock import minutes
from assistant.kitchen.plan_figures import LIFT_S, spread_s
from assistant.kitchen.plan_meal import plan_meal, try_plan
from assistant.kitchen.plan_safety import refused, safe
from assistant.kitchen.plan_ways import Way, or_else, other_meals, those_that, together, waves, ways
from assistant.kitchen.scale import scaled
from assistant.planning.problem import Plan
from assistant.planning.simulate import SAMPLES, simulate

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
    """The plan for this time, with as little air as reaches 95 %. Raises as `plan_meal` does, and TooMuchError when food would be
    out for too long."""
    setting = replace(setting, people=people or setting.people or meal.serves)
    with or_else(meal, serve_s, now_s, setting):
        bare = safe(plan_meal(meal, serve_s, people, now_s, setting), scaled(meal, setting.people))
    before = landing(meal, bare, setting, samples).chance
    plan = with_air(meal, replace(bare, chance=before), now_s, setting, samples)
    chance = plan.chance or 0.0
    proposals = tuple(_proposals(meal, serve_s, now_s, setting, samples)) if chance < WANTED else ()
    return Sturdy(plan, before, chance, proposals)


def with_air(meal: Meal, plan: EveningPlan, now_s: float | None, setting: Setting, samples: int = SAMPLES) -> EveningPlan:
    """A plan with as little air as reaches 95 %, or as much as there is room for, in the batches that it has."""
    if plan.chance is None:
        plan = replace(plan, chance=landing(meal, plan, setting, samples).chance)
    chosen = replace(setting, batches={step: len(sizes) for step, sizes in plan.batches.items()}, small_first=plan.setting.small_first)
    return _aired(meal, plan, now_s, chosen, samples)


def _aired(meal: Meal, plan: EveningPlan, now_s: float | None, setting: Setting, samples: int) -> EveningPlan:
    for pads in AIRS:
        if plan.broken or (plan.chance or 0.0) >= WANTED:
            break
        other = try_plan(meal, plan.serve_s, now_s, replace(setting, pads=pads))
        if other is None or refused(other, scaled(meal, setting.people)):
            break  # no room for more air
        better = landing(meal, other, setting, samples).chance
        if better > (plan.chance or 0.0):
            plan = replace(other, chance=better)
    return plan


def _proposals(meal: Meal, serve_s: float, now_s: float | None, setting: Setting, samples: int) -> Iterator[Proposal]:
    def lands(way: Way, at: float = serve_s) -> float | None:
        """The chance of a way that keeps every limit and lands."""
        try:
            plan = try_plan(way.meal, at, now_s, way.setting, crowd=False)
        except PlanError:
            return None
        if plan is None:
            return None
        plan = replace(plan, chance=landing(way.meal, plan, way.setting, samples).chance)
        chance = _aired(way.meal, plan, now_s, way.setting, samples).chance or 0.0
        return chance if chance >= WANTED else None

    found = [*those_that(lands, ways(meal, setting))]
    later = Way(f"Serve {minutes(LATER_S)} later", meal, setting)
    if now_s is not None and (chance := lands(later, serve_s + LATER_S)):
        found.append((later, chance))
    if not found:
        found += those_that(lands, other_meals(meal, setting))
    if not found:
        found += those_that(lands, together(meal, setting))
    found += those_that(lands, waves(meal, setting))
    return (Proposal(way.words, chance) for way, chance in found)
