"""The figures and prices a plan goes by, each with where it comes from, and how long things last where the card is silent.

Times are seconds. Prices are relative: what matters is which of two harms is the dearer. A late serving is dearer than any limit, a limit than
the order of the pot, that order than freshness, freshness than a longer evening.
"""

from __future__ import annotations

from functools import cache
from math import inf

from assistant.kitchen.limits import BatchLimits, batch_limits, heat_time
from assistant.kitchen.meal import Day, Dish, Hold, Pot, Step, StepKind

ROOM_C = 20.0
LIFT_S = 75.0  # lift, drain, salt, skim, dry tongs, look at level and heat: 60 to 90 s of hands, common practice
LOWER_LEAST_S = 15.0
LIGHT_S = 60.0  # the check that is spoken before a burner is lit, and lighting it
OVEN_LIGHT_S = 30.0
OVEN_COOLEST_C, OVEN_HOTTEST_C = 40.0, 300.0  # what a dial has
OVEN_HANDS_S = 30.0  # putting in, taking out
OVEN_WARMS_K_MIN = 12.0  # 200 C in 15 min, common practice
OVEN_COOLS_K_MIN = 5.0  # common practice
TOSS_WITHIN_S = 30.0  # fried food is salted within half a minute of lifting, common practice
OVEN_KEEP_C = 107.0  # on a rack in one layer in a 200 to 250 F oven, common practice
KEPT_S = 120.0  # what waits for less is not worth a way to the oven
STONE_S = 1800.0  # a stone or steel wants this much longer than the oven's air, common practice
DAY_S = 86400.0
AHEAD_BEGINS_S = -3600.0  # a session on an earlier day: from an hour before the time of serving to four hours after it
AHEAD_ENDS_S = 4 * 3600.0
AHEAD_ROOM_S = 2 * 3600.0  # a session with less time left than this is over
THAWED_KEEPS_S = 2 * DAY_S  # raw poultry and fish keep one to two days in the fridge, USDA (from memory)
LONG_WAIT_S = 16 * 3600.0  # a wait that takes the place of a night
THAW_S_KG = DAY_S / 1.81  # in the fridge, 24 h for every 4 lb, USDA
SECOND_FRY_LEAVES = 0.7  # a second fry weighs 65 to 75 % of the raw weight, common practice
OUT_OF_FRIDGE_S = 7200.0  # perishable food at room temperature, USDA
CROWD_SPARE = 1.5  # where more batches are made than keep, the first may wait half as long again as all of them take
RAW_HANDLING_S = 900.0  # of those two hours, what cutting, patting dry and coating before the first drop take
ROOM_FOR_LATENESS_S = 2 * 3600

FORTIETHS = 40
# prices of one minute
HOLD_PRICE = 12
EVENING_PRICE = 2
HOT_OIL_PRICE = 1
HOT_OVEN_PRICE = 1
STANDS_PRICE = 3
TOSS_PRICE = 30
GAP_PRICE = 10
SPARE_PRICE = 2
LATE_PRICE = 200
OVER_LIMIT_PRICE = 60
OVER_FRY_PRICE = 100
OVEN_KEEP_PRICE = 6
# prices of one breach
POT_ORDER_PRICE = 200  # above what any fresher serving is worth: only a limit breaks the order

POT_ORDER = {"clean": 0, "sweet": 0, "vegetable": 1, "potato": 1, "dough": 2, "coated": 3, "poultry": 3, "meat": 3, "fish": 4}
"""Clean food first, potatoes before flour and crumbs, fish last."""

_HOLDS = {"potato": (300.0, 600.0), "poultry": (1200.0, 1800.0), "fish": (300.0, 900.0)}
_FRIED_HOLD = (420.0, 1200.0)
_PLAIN_HOLD = (1800.0, 7200.0)
_PLATED_HOLD = (120.0, 600.0)


@cache
def limits_of(step: Step, pot: Pot) -> BatchLimits:
    """`batch_limits`, remembered: a plan asks for the same lots again and again."""
    return batch_limits(step, pot)


@cache
def heating(pot: Pot, from_c: float, to_c: float) -> float:
    """`heat_time`, remembered."""
    return heat_time(pot, from_c, to_c)


def unit_price(a_minute: float, grid_s: int) -> int:
    """Price of a unit of time, in fortieths so that small prices survive a short unit."""
    return max(1, round(a_minute * grid_s * FORTIETHS / 60))


def spread_s(step: Step, usual_s: float) -> float:
    """Standard deviation of a step's duration, s: from the card's least and most, else 15 % by hand, 5 % in heat, none for a wait."""
    if step.kind is StepKind.WAIT:
        return 0.0
    if step.span.most_s > step.span.least_s and step.span.most_s != inf:
        return (step.span.most_s - step.span.least_s) / 4.0
    return usual_s * (0.05 if step.kind in (StepKind.FRY, StepKind.BAKE, StepKind.STOVE) else 0.15)


def hold_gap(step: Step) -> float:
    """Seconds between the best and the most a step's state keeps."""
    return 600.0 if step.hold is None else max(60.0, step.hold.most_s - step.hold.best_s)


def default_hold(step: Step, dish: Dish) -> Hold:
    """How long a finished state keeps where the card does not say (common practice: potatoes 5 to 10 minutes, plain small poultry 20 to 30)."""
    if step.kind is StepKind.PLATE:
        best, most = _PLATED_HOLD
    elif step.kind in (StepKind.FRY, StepKind.TOSS):
        best, most = _HOLDS.get(dish.food_kind, _FRIED_HOLD)
    else:
        best, most = _PLAIN_HOLD
    return Hold(best, most)


def oven_s(from_c: float, to_c: float) -> float:
    """Seconds for the oven to get from one temperature to another."""
    return 60.0 * ((to_c - from_c) / OVEN_WARMS_K_MIN if to_c > from_c else (from_c - to_c) / OVEN_COOLS_K_MIN)


def is_ahead(step: Step) -> bool:
    """Whether the card lets it be done on an earlier day."""
    return step.day in (Day.DAY_BEFORE, Day.WEEK)
