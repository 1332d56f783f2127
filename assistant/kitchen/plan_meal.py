"""A meal and a serving time -> a plan of the evening, or one sentence that says when it can be.

A plan is solved on a grid of 30 s to proven optimum, then packed to the left where nothing has a price. Where there is none, `plan_soonest` says
when there is, and what could be given up to be sooner.
"""

from __future__ import annotations

from dataclasses import replace
from math import floor, inf

from assistant.kitchen.evening import EveningPlan, PlanError, Setting
from assistant.kitchen.meal import Meal
from assistant.kitchen.plan_ahead import days_ahead, longest_ahead_s
from assistant.kitchen.plan_board import planned_steps
from assistant.kitchen.plan_build import Built, build
from assistant.kitchen.plan_clock import clock
from assistant.kitchen.plan_laid import evening
from assistant.kitchen.plan_lots import other_lots
from assistant.kitchen.plan_soonest import EFFORT, NotReadyError, check_meal, earliest, long_enough_s, menu
from assistant.kitchen.scale import scaled
from assistant.planning.problem import Plan
from assistant.planning.shift import tidy
from assistant.planning.solve import solve


def plan_meal(
    meal: Meal, serve_s: float | None, people: int | None = None, now_s: float | None = None, setting: Setting | None = None, effort: float = EFFORT
) -> EveningPlan:
    """The best plan that serves at `serve_s`, or as soon as can be when it is None. now_s: the present on the same clock (None: there is all the time
    in the world, for a serving time). Raises PlanError for a meal that can never be planned, NotReadyError when the time cannot be met."""
    setting = replace(setting or Setting(), people=people or (setting.people if setting else 0) or meal.serves)
    check_meal(meal, setting)
    if serve_s is None:
        serve_s = earliest(meal, setting, now_s or 0.0).serve_s
    if now_s is not None and serve_s <= now_s:
        raise PlanError(f"Serving at {clock(serve_s)} has passed, it is {clock(now_s)}; name a later time.")
    plan = try_plan(meal, serve_s, now_s, setting, effort, choose=True)
    if plan is None:
        begin = now_s if now_s is not None else serve_s - long_enough_s(meal, setting)
        soonest = earliest(meal, setting, begin)
        raise NotReadyError(soonest, menu(meal, setting, begin, soonest.serve_s), begin)
    return plan


def try_plan(
    meal: Meal, serve_s: float, now_s: float | None, setting: Setting, effort: float = EFFORT, choose: bool = False, crowd: bool = True
) -> EveningPlan | None:
    """The best plan that serves at this time, None when there is none. choose: number and size of batches too, within the limits; crowd: where more
    batches are made than keep, one that holds the first of them too long is better than none."""
    ahead_s = longest_ahead_s(scaled(meal, setting.people or meal.serves), planned_steps(meal, setting), setting.done)
    room_s, evening_s = inf if now_s is None else serve_s - now_s, long_enough_s(meal, setting)
    ahead = days_ahead(min(room_s, max(evening_s, ahead_s))) if ahead_s else 0
    # with time enough the plan is the same whenever it is asked for
    horizon = floor(min(room_s, max(evening_s, ahead_s) if ahead else evening_s) / setting.grid_s + 1e-9)
    # with no room on the days before, or none that its long waits leave, all of it is done on the evening
    tries = [replace(setting, ahead=days) for days in dict.fromkeys((ahead, 0))]
    if crowd:
        # a crowd's lots mix in so many ways that they are first tried unmixed
        tries += [replace(tries[0], crowded=True, unmixed=True), replace(tries[0], crowded=True)]
    for attempt in tries:
        if attempt.unmixed and not _crowds(meal, setting, effort):
            return None
        built = build(meal, attempt, horizon * setting.grid_s, horizon * setting.grid_s)
        plan = solve(built.problem, effort=effort)
        if plan.found:
            if attempt.unmixed:
                plan = replace(plan, status="feasible", bound=0)
            if choose:
                attempt, built, plan = _best_lots(meal, attempt, built, plan, effort)
            return evening(meal, attempt, built, tidy(built.problem, plan), serve_s, serve_s - horizon * setting.grid_s)
    return None


def _best_lots(meal: Meal, setting: Setting, built: Built, plan: Plan, effort: float) -> tuple[Setting, Built, Plan]:
    """The cheapest among the other ways to divide the lots, with what is left of the effort; proven only when every one of them is, and none was left
    out."""
    horizon_s = built.problem.by_id()["serve"].earliest * setting.grid_s
    others, every = other_lots(setting, built.batches)
    proven = plan.optimal and every
    left = effort - plan.work
    for other in others:
        if left <= 0.0:
            proven = False
            break
        again = build(meal, other, horizon_s, horizon_s)
        better = solve(again.problem, effort=left, below=plan.cost)
        left -= better.work
        proven = proven and better.status in ("optimal", "infeasible")
        if better.found:
            setting, built, plan = other, again, better
    return setting, built, replace(plan, status="optimal" if proven else "feasible", bound=plan.cost if proven else 0)


def _crowds(meal: Meal, setting: Setting, effort: float) -> bool:
    """Whether, given all the time in the world, batches still outlast what they leave."""
    return not solve(build(meal, setting, long_enough_s(meal, setting), None).problem, effort=effort).found
