"""What is done on the days before: on which day, within which hours, and for how long it keeps."""

from __future__ import annotations

from dataclasses import replace

import pytest
from planning_kit import HOUR, SERVE, bundled, dish, fry, meal, step

from assistant.kitchen.evening import EveningPlan
from assistant.kitchen.meal import Amount, Day, Hold, Ingredient, Keep, Meal, Span, StepKind
from assistant.kitchen.plan_ahead import days_ahead
from assistant.kitchen.plan_meal import plan_meal
from assistant.kitchen.plan_soonest import NotReadyError

DAY = 24 * HOUR


def wings(*before: object, kg: float = 1.0, frozen: bool = False) -> Meal:
    """A dish of wings after these steps."""
    thing = Ingredient("wings", "wings", ("wings",), Amount(f"{kg} kg", kg), raw=True, frozen=frozen, kept=Keep.FRIDGE)
    last = (before[-1].id,) if before else ()  # type: ignore[attr-defined]
    oil = step("wings-fry", StepKind.FRY, 8, "wings", after=last, fry=fry(kg, 2), raw_in=True, hold=Hold(1200, 3600))
    return meal(replace(dish("wings", *before, oil), ingredients=(thing,)))  # type: ignore[arg-type]


@pytest.mark.parametrize(("hours", "days"), [(3, 0), (21.9, 0), (22, 1), (30, 1), (46, 2), (100, 4)])
def test_a_day_before_counts_while_its_session_has_two_hours_left(hours: float, days: int) -> None:
    """For supper at half past six: until half past eight the evening before there is a session on that day."""
    assert days_ahead(hours * HOUR) == days


def hour_of(plan: EveningPlan, task: str) -> float:
    """When a task starts, hours before serving."""
    return -plan.task(task).start_s / HOUR


def test_lentils_are_cooked_the_evening_before_if_there_is_still_time() -> None:
    """Asked two days before, or at eight the evening before: they are cooked then; asked at noon of the day: in the evening itself."""
    card = bundled("fritter-night")
    assert 20 <= hour_of(plan_meal(card, SERVE + 2 * DAY, now_s=12 * HOUR), "lentils-simmer:begin") <= 25
    assert 22 <= hour_of(plan_meal(card, SERVE + DAY, now_s=20 * HOUR), "lentils-simmer:begin") <= 22.5
    assert hour_of(plan_meal(card, SERVE, now_s=12 * HOUR), "lentils-simmer:begin") < 4


def test_spices_of_a_week_ahead_never_keep_a_meal_waiting() -> None:
    """`up to a week before` is a may: an hour before the soonest time they are stirred in the evening."""
    card = bundled("sunday-thighs")
    assert hour_of(plan_meal(card, None, now_s=17 * HOUR), "spices-stir") < 2
    assert 20 <= hour_of(plan_meal(card, SERVE + DAY, now_s=12 * HOUR), "spices-stir") <= 25


def test_a_long_wait_takes_a_night_of_its_own() -> None:
    """Brined for eighteen hours, then dried for sixteen: stirred two evenings before."""
    steps = (
        step("brine", dish="wings", minutes=5, day=Day.DAY_BEFORE),
        step("soak", StepKind.WAIT, 18 * 60, "wings", after=("brine",), day=Day.DAY_BEFORE),
        step("pat", dish="wings", minutes=5, after=("soak",), day=Day.DAY_BEFORE),
        step("dry", StepKind.WAIT, 16 * 60, "wings", after=("pat",), day=Day.DAY_BEFORE),
    )
    plan = plan_meal(wings(*steps), SERVE + 3 * DAY, now_s=12 * HOUR)
    assert 44 <= hour_of(plan, "brine") <= 49
    assert 20 <= hour_of(plan, "pat") <= 25


def test_chilled_food_keeps_no_longer_than_the_safety_rules_let_it() -> None:
    """A card that lets blanched potatoes stand in the fridge for a week is not believed: a day (common practice, stricter than leftovers)."""
    steps = (
        step("blanch", StepKind.STOVE, 5, "chips", makes_perishable=True, day=Day.WEEK),
        step(
            "chill",
            StepKind.WAIT,
            60,
            "chips",
            after=("blanch",),
            span=Span(HOUR, HOUR, 7 * DAY),
            text="Into the fridge.",
            makes_perishable=True,
            day=Day.WEEK,
        ),
        step("chips-fry", StepKind.FRY, 4, after=("chill",), fry=fry(0.4, 1), hold=Hold(300, 900)),
    )
    plan = plan_meal(meal(dish("chips", *steps, food_kind="potato")), SERVE + 3 * DAY, now_s=12 * HOUR)
    chilled = plan.task("chill")
    assert 16 * HOUR < chilled.end_s - chilled.start_s <= DAY


@pytest.mark.parametrize(("kg", "least_h"), [(0.5, 24), (1.5, 24), (2.0, 26.5), (4.0, 53)])
def test_frozen_wings_thaw_by_their_weight(kg: float, least_h: float) -> None:
    """24 h for every 4 lb in the fridge (USDA) and never less than a day; thawed they wait two days at most."""
    plan = plan_meal(wings(kg=kg, frozen=True), SERVE + 5 * DAY, now_s=12 * HOUR)
    thawing = plan.task("wings:thawing")
    used = plan.task("wings-fry#1:drop").start_s
    assert least_h * HOUR <= used - thawing.start_s <= (least_h + 48) * HOUR
    assert plan.task("wings:thaw").end_s == thawing.start_s
    assert used - thawing.start_s < (least_h + 24) * HOUR  # no longer in the fridge than the session of that day makes it


def test_too_late_to_thaw_is_said_with_the_day() -> None:
    """Two kilograms in the freezer at noon are not supper at half past six: tomorrow, with the reason."""
    with pytest.raises(NotReadyError, match=r"Cannot be ready before tomorrow 1\d:\d\d: the steps of the wings alone need 2\d hours"):
        plan_meal(wings(kg=2.0, frozen=True), SERVE, now_s=12 * HOUR)
