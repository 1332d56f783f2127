"""The soonest time at which a meal can be served, why, what could be given up to be sooner; and which meals can never be planned.

Lots are taken in the fewest even batches. Another way to divide them was never sooner: of all ways compared, over the three bundled meals for one to
eight people, none was sooner by half a minute, and none kept a limit that the even batches broke.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import ceil

from assistant.kitchen.evening import PlanError, Setting, TooMuchError
from assistant.kitchen.meal import Meal, Step, StepKind
from assistant.kitchen.oil.foods import UnknownCutError, cut
from assistant.kitchen.plan_ahead import thawing
from assistant.kitchen.plan_board import at_line, planned_steps
from assistant.kitchen.plan_build import build
from assistant.kitchen.plan_clock import clock_and_day, minutes
from assistant.kitchen.plan_figures import limits_of
from assistant.kitchen.plan_laid import bounds
from assistant.planning.solve import solve
from assistant.speaking.prompts import number as in_words

ROUND_S = 60.0
EFFORT = 0.2
"""The solver's work on one plan, all ways to divide its lots together: two or three seconds, seven times what a bundled meal needs."""
SOONEST_EFFORT = 1.0
"""To prove that nothing is sooner takes longer than to plan for a time."""
MENU_EFFORT = 0.1


@dataclass(frozen=True, slots=True)
class Earliest:
    """The soonest serving time. serve_s: when (the solver's, rounded up to the minute); before_s: proven that it cannot be sooner; reason: the
    largest simple bound, in words; what: what it takes ("" for the whole meal as it stands)."""

    serve_s: float
    before_s: float
    reason: str
    what: str = ""


class NotReadyError(PlanError):
    """The meal cannot be ready at the wanted time. soonest: with everything; others: what could be given up, soonest first."""

    def __init__(self, soonest: Earliest, others: tuple[Earliest, ...], now_s: float) -> None:
        self.soonest = soonest
        self.others = others
        ways = "".join(f" {e.what}: {clock_and_day(e.serve_s, now_s)}." for e in others)
        super().__init__(f"Cannot be ready before {clock_and_day(soonest.serve_s, now_s)}: {soonest.reason}.{ways}")


def earliest(meal: Meal, setting: Setting, now_s: float, effort: float = SOONEST_EFFORT, what: str = "") -> Earliest:
    """The soonest time at which all of it can be served. PlanError when there is none at all."""
    length = long_enough_s(meal, setting)
    built = build(meal, setting, length, None)
    plan = solve(built.problem, effort=effort)
    if not plan.found:
        built = build(meal, replace(setting, crowded=True), length, None)
        plan = solve(built.problem, effort=min(effort, EFFORT))
    if not plan.found:
        raise TooMuchError(_why_never(meal, setting, length))
    serve_s = ceil((now_s + plan.starts["serve"] * setting.grid_s) / ROUND_S) * ROUND_S
    least_s, reason = bounds(meal, built, setting.grid_s)[0]
    return Earliest(serve_s, now_s + max(plan.bound * setting.grid_s, least_s), reason, what)


def menu(meal: Meal, setting: Setting, now_s: float, than_s: float) -> tuple[Earliest, ...]:
    """What could be given up to be sooner than `than_s`: each dish, each lot in fewer, fuller batches where the pot takes them; soonest first."""
    ways = []
    dishes = [d for d in meal.dishes if not d.component and d.id not in setting.skip]
    for dish in dishes if len(dishes) > 1 else ():
        ways.append((replace(setting, skip=setting.skip | {dish.id}), f"Without the {dish.name}"))
    if frozen := frozenset(thawing(meal, planned_steps(meal, setting), setting.done)):
        ways.append((replace(setting, done=setting.done | frozen), "With all of it thawed"))
    for step, number in fuller(meal, setting):
        lot = f"In {in_words(number)} batch{'' if number == 1 else 'es'} of {meal.dish(step.dish).name}"
        ways.append((replace(setting, batches={**setting.batches, step.id: number}), lot))
    found = []
    for other, what in ways:
        try:
            found.append(earliest(meal, other, now_s, MENU_EFFORT, what))
        except PlanError:
            continue  # without that dish there is still no way
    return tuple(sorted((e for e in found if e.serve_s < than_s), key=lambda e: e.serve_s))


def fuller(meal: Meal, setting: Setting) -> list[tuple[Step, int]]:
    """Lots that the pot itself would take in one batch less than the card has them in, with that number."""
    built = build(meal, setting, long_enough_s(meal, setting), None)
    pots = {p.id: p for p in meal.equipment.pots}
    found = []
    for step_id, sizes in built.batches.items():
        step = meal.step(step_id)
        assert step.fry is not None
        number = len(sizes) - 1
        try:
            cut(step.fry.cut)
        except UnknownCutError:
            continue  # nobody knows what the pot would take of it
        limit = limits_of(replace(step, fry=replace(step.fry, batches=1)), pots[step.fry.pot])
        if number >= 1 and sum(s.kg for s in sizes) / number <= limit.most_kg * (1 + 1e-6):
            found.append((step, number))
    return found


def long_enough_s(meal: Meal, setting: Setting) -> float:
    """Seconds in which all of it fits one after the other."""
    built = build(meal, setting, 0.0, None)
    units = sum(t.shortest for t in built.problem.tasks)
    into: dict[str, int] = {}
    for machine in built.problem.machines:
        for (_, state), n in machine.setup:
            into[state] = max(n, into.get(state, 0))
    # no pot is let cool to the room's temperature on the way
    setups = sum(into.get(u.state, 0) for t in built.problem.tasks for u in t.uses if u.state != "cold")
    lags = sum(g.least or 0 for g in built.problem.lags)
    return float((units + setups + lags) * setting.grid_s + 3600)


def check_meal(meal: Meal, setting: Setting) -> None:
    """PlanError for what no plan can mend: circles, names of no dish, steps that do not fit their own window."""
    known = {d.id for d in meal.dishes} | {s.id for s in meal.steps()}
    for name in sorted(setting.skip):
        if name not in known:
            raise PlanError(f"{meal.file or meal.id}: there is no dish '{name}'; it has {', '.join(d.id for d in meal.dishes if not d.component)}.")
    steps = planned_steps(meal, setting)
    if not steps:
        raise PlanError(f"{meal.file or meal.id}: nothing is left to cook; keep at least one dish.")
    for step in steps:
        if step.kind is StepKind.WAIT and step.span.most_s < step.span.least_s:
            least, most = minutes(step.span.least_s), minutes(step.span.most_s)
            raise PlanError(f"{at_line(meal, step.line)}: '{step.name}' wants at least {least} and at most {most}; make its window longer.")
    _check_circles(meal, steps)


def _check_circles(meal: Meal, steps: list[Step]) -> None:
    by_id = {s.id: s for s in steps}
    done: set[str] = set()

    def visit(step: Step, trail: tuple[str, ...]) -> None:
        if step.id in trail:
            circle = [by_id[s].name for s in (*trail[trail.index(step.id) :], step.id)]
            said = ", which waits for ".join(f"'{n}'" for n in circle[1:])
            raise PlanError(f"{at_line(meal, step.line)}: '{circle[0]}' waits for {said}: a circle; take one 'after' out of it.")
        for before in step.after:
            if before in by_id and before not in done:
                visit(by_id[before], (*trail, step.id))
        done.add(step.id)

    for step in steps:
        visit(step, ())


def _why_never(meal: Meal, setting: Setting, length_s: float) -> str:
    """Which limit makes it impossible at any time: the first step without whose limits there is a plan."""
    for step in planned_steps(meal, setting):
        freed = replace(
            step, hold=None, makes_perishable=False, span=replace(step.span, most_s=float("inf")) if step.kind is StepKind.WAIT else step.span
        )
        if freed == step:
            continue
        dishes = tuple(replace(d, steps=tuple(freed if s.id == step.id else s for s in d.steps)) for d in meal.dishes)
        if solve(build(replace(meal, dishes=dishes), setting, length_s, None).problem, effort=MENU_EFFORT).found:
            return (
                f"{at_line(meal, step.line)}: '{step.name}' cannot wait as long as what must come between; let it keep longer, or leave a dish out."
            )
    return f"{meal.file or meal.id}: no order of its steps keeps all its limits; leave a dish out or let more of them keep longer."
