"""Done is a number: safe core temperatures by food, the judgement of a reading, when to probe first, and a kitchen without a thermometer.

Place on the path: Command -> Event -> State -> Speech; pure.

Rules
- The spoken target is the published minimum; a card may ask for more, never for less. A food nobody knows has the strictest.
- A reading below the target is never done, whatever it was before: time-temperature credit (`lethality`) is information only.
- The two biggest pieces are read, off the bone; the lower one decides.
- A time to probe is an estimate and never later than practice's; the thermometer decides.
- Without a core thermometer raw poultry cannot be called done.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

from assistant.kitchen.conduction import FRYING, SIMMER, Body, Food, Medium, Shape, time_to
from assistant.kitchen.meal import Dish, Ingredient, Meal, Step, StepKind
from assistant.kitchen.oil.foods import size_said
from assistant.speaking.prompts import degrees, duration, upper

FSIS = "USDA FSIS / foodsafety.gov, safe minimum internal temperatures"
LETHALITY_SOURCE = "envelope over USDA FSIS Cooking Guideline (Revised Appendix A) 2021, 55 s at 70 C, z = 5.5 C"


def _f(fahrenheit: float) -> float:
    return (fahrenheit - 32.0) / 1.8


@dataclass(frozen=True, slots=True)
class Target:
    """core_c: what the coldest point must reach, C; rest_s: rest that belongs to it, s; two: whether two pieces are read; source."""

    core_c: float
    rest_s: float = 0.0
    two: bool = True
    source: str = FSIS


TARGETS: dict[str, Target] = {
    "poultry": Target(_f(165.0)),
    "ground poultry": Target(_f(165.0)),
    "ground": Target(_f(160.0)),
    "meat": Target(_f(145.0), rest_s=180.0),
    "fish": Target(_f(145.0)),
    "shellfish": Target(_f(145.0)),
    "egg": Target(_f(160.0)),
    "leftovers": Target(_f(165.0), two=False),
    "casserole": Target(_f(165.0), two=False),
}
STRICTEST = Target(_f(165.0))


def food_of(dish: Dish) -> str:
    """What a dish's core is judged as: its kind of food; an egg dish where eggs are all that is raw in it; else what nobody knows."""
    raw = [i for i in dish.ingredients if i.raw]
    eggs = bool(raw) and all(is_egg(i) for i in raw)
    return "egg" if eggs and dish.food_kind not in TARGETS else dish.food_kind


def is_egg(thing: Ingredient) -> bool:
    """Whether an ingredient is eggs in their shells or broken, by its name."""
    return bool({"egg", "eggs", "yolk", "yolks"} & set(thing.name.lower().replace("-", " ").split()))


LOWEST_READING_C, HIGHEST_READING_C = -30.0, 102.0
"""Food holds water, so no core that is read is hotter than its boiling point by more than a thermometer's error; no freezer is colder than this."""


def target(food: str, card_c: float | None = None) -> Target:
    """What this food must reach; a card that asks for more is obeyed.

    >>> round(target("poultry").core_c, 1), round(target("poultry", card_c=60.0).core_c, 1), target("meat", card_c=70.0).core_c
    (73.9, 73.9, 70.0)
    """
    found = TARGETS.get(food, STRICTEST)
    if card_c is None or card_c <= found.core_c:
        return found
    return Target(card_c, found.rest_s, found.two, f"the card; {found.source}")


class Verdict(StrEnum):
    """What a reading means."""

    DONE = "done"
    REST = "rest"
    COOK_ON = "cook_on"
    NEXT_PIECE = "next_piece"  # hot enough; the second biggest piece is to be read
    IMPOSSIBLE = "impossible"


@dataclass(frozen=True, slots=True)
class Judgement:
    """verdict; target_c: the core it wants, C; rest_s: how long to rest, s; say: the sentence, at most 12 words."""

    verdict: Verdict
    target_c: float
    rest_s: float
    say: str


def possible_core(core_c: float) -> bool:
    """Whether a core can be this hot at all."""
    return math.isfinite(core_c) and LOWEST_READING_C <= core_c <= HIGHEST_READING_C


def judge(food: str, core_c: float, units: str = "F", card_c: float | None = None, piece: int = 2) -> Judgement:
    """Judge one core reading. piece: 1 for the first of the two biggest pieces, 2 for the last one that is read.

    >>> judge("poultry", (158 - 32) / 1.8).say
    'Cook on: 158, wants 165. Read again in two minutes.'
    >>> judge("meat", 63.0, units="C").say
    '63: rest it three minutes, then it is done.'
    """
    want = target(food, card_c)
    if not possible_core(core_c):
        return Judgement(Verdict.IMPOSSIBLE, want.core_c, 0.0, "That core cannot be. Read it again?")
    heard, wanted = degrees(core_c, units), degrees(want.core_c, units)
    if core_c < want.core_c - 1e-6:
        short = want.core_c - core_c
        again = duration(60.0 if short < 3.0 else 120.0 if short < 10.0 else 180.0)
        # a reading that rounds to the target's own figure is still below it
        gap = f"{heard}, wants {wanted}" if heard != wanted else f"just under {wanted}"
        return Judgement(Verdict.COOK_ON, want.core_c, 0.0, f"Cook on: {gap}. Read again in {again}.")
    bone = ", off the bone" if food in ("poultry", "meat") else ""
    if want.two and piece < 2:
        return Judgement(Verdict.NEXT_PIECE, want.core_c, want.rest_s, f"{heard}: good. Now the next biggest piece{bone}.")
    if want.rest_s:
        return Judgement(Verdict.REST, want.core_c, want.rest_s, f"{heard}: rest it {duration(want.rest_s)}, then it is done.")
    return Judgement(Verdict.DONE, want.core_c, 0.0, f"{heard}: done.")


def lethality(history: Sequence[tuple[float, float]]) -> float:
    """Log10 reduction of Salmonella in poultry along a history of (s, C) at the coldest point, straight lines between. Information, never a verdict.

    L = int 7 dt / t7(T), t7 = 55 s x 10^((70 - T) / 5.5), nothing below 55 C (envelope over USDA FSIS Cooking Guideline 2021 poultry rows).

    >>> round(lethality([(0.0, 70.0), (55.0, 70.0)]), 3), lethality([(0.0, 54.0), (9000.0, 54.0)])
    (7.0, 0.0)
    """
    total = 0.0
    for (t0, c0), (t1, c1) in pairwise(history):
        steps = max(1, math.ceil(abs(c1 - c0) / 0.1))
        total += sum(7.0 * (t1 - t0) / steps / seven_log_s(c0 + (c1 - c0) * (i + 0.5) / steps) for i in range(steps))
    return total


def seven_log_s(core_c: float) -> float:
    """How long a core at this temperature takes for a 7 log10 reduction, s; infinite below 55 C.

    >>> round(seven_log_s(70.0)), round(seven_log_s(64.5)), seven_log_s(54.0)
    (55, 550, inf)
    """
    return 55.0 * 10.0 ** ((70.0 - core_c) / 5.5) if core_c >= 55.0 else math.inf


@dataclass(frozen=True, slots=True)
class Probe:
    """first_s: when to probe first, likely_s: when it is likely done, both s after it went in; from_practice: practice's time was the earlier."""

    first_s: float
    likely_s: float
    from_practice: bool


# word of a cut -> (how the heat goes in, m thick, m long and wide where that counts, first probe when fried, s); common practice, no source
_PIECES: tuple[tuple[str, Shape, float, tuple[tuple[Shape, float], ...], float | None], ...] = (
    ("drumstick", Shape.CYLINDER, 0.045, ((Shape.SLAB, 0.10),), 660.0),
    ("thigh", Shape.CYLINDER, 0.040, ((Shape.SLAB, 0.10),), None),
    ("wing", Shape.CYLINDER, 0.030, ((Shape.SLAB, 0.08),), None),
    ("strip", Shape.CYLINDER, 0.020, ((Shape.SLAB, 0.08),), None),
    ("tender", Shape.CYLINDER, 0.020, ((Shape.SLAB, 0.08),), None),
    ("fillet", Shape.SLAB, 0.025, ((Shape.SLAB, 0.06), (Shape.SLAB, 0.10)), 300.0),
    ("goujon", Shape.CYLINDER, 0.020, ((Shape.SLAB, 0.08),), 300.0),
    ("breast", Shape.SLAB, 0.025, ((Shape.SLAB, 0.08), (Shape.SLAB, 0.12)), None),
    ("ball", Shape.SPHERE, 0.030, (), None),
    ("nugget", Shape.SPHERE, 0.030, (), None),
)
_ANY_PIECE = ("piece", Shape.CYLINDER, 0.030, ((Shape.SLAB, 0.08),), None)
_SIMMERED_S = 600.0  # small pieces simmered from raw are read first at ten minutes: common practice, no source


def body_of(cut: str) -> Body:
    """The shape of a piece from the words of its cut ("chicken thighs 40 mm"); a size that is said wins over practice's."""
    _, shape, thick, across, _ = _piece(cut)
    return Body(((shape, size_said(cut) or thick), *across))


def _piece(cut: str) -> tuple[str, Shape, float, tuple[tuple[Shape, float], ...], float | None]:
    plain = cut.lower()
    return next((p for p in _PIECES if p[0] in plain), _ANY_PIECE)


def probe_times(cut: str, food: str, start_c: float = 5.0, medium: Medium = FRYING, card_c: float | None = None) -> Probe:
    """When to probe pieces of this cut first. first_s: conduction into the finite piece without a bone (the earliest a core can be there) or
    practice's time, whichever is earlier; likely_s: a quarter more than conduction, for bone, batter and crowding. start_c: of the food, C.

    >>> p = probe_times("chicken wings 30 mm", "poultry", medium=SIMMER)
    >>> 540 < p.first_s <= 600, p.from_practice
    (True, False)
    """
    conduction = time_to(body_of(cut), target(food, card_c).core_c, start_c, medium, Food())
    practice = _piece(cut)[4] if medium is FRYING else _SIMMERED_S
    if practice is not None and practice < conduction:
        return Probe(practice, 1.25 * conduction, True)
    return Probe(conduction, 1.25 * conduction, False)


def probe_times_of(step: Step, food: str) -> Probe | None:
    """`probe_times` for a step that has a core to read; None for one that has not. Food on the stove simmers; in the oven the card's look decides."""
    if step.core_c is None:
        return None
    if step.fry is not None:
        return probe_times(step.fry.cut, food, step.fry.food_c, FRYING, step.core_c)
    if step.kind is StepKind.STOVE:
        return probe_times(step.name, food, 5.0, SIMMER, step.core_c)
    return None


def needs_core(dish: Dish) -> bool:
    """Whether this dish can be called done only by a core reading: raw poultry that is cooked in it."""
    return dish.food_kind == "poultry" and any(i.raw for i in dish.ingredients)


def done_by_look(dish: Dish) -> bool:
    """Whether a fried dish can be called done without a core thermometer: potatoes, vegetables, dough, and fish, which flakes (the US chart)."""
    return not dish.component and not any(i.raw for i in dish.ingredients if dish.food_kind != "fish") and any(s.fry for s in dish.steps)


@dataclass(frozen=True, slots=True)
class NoThermometer:
    """A dish that cannot be called done here. dish: its id; say: sentences of at most 12 words."""

    dish: str
    say: tuple[str, ...]


def without_thermometer(meal: Meal, instead: str = "") -> tuple[NoThermometer, ...]:
    """What a kitchen without a core thermometer is told when the meal is planned; empty when it has one or the meal has no raw poultry.
    instead: name of a dish that can be called done by its look (empty: none known)."""
    if meal.equipment.core_thermometer:
        return ()
    way = f"Cook {instead or 'potatoes or fish'} instead, or buy a thermometer."
    name = "{}: cannot be called done without a thermometer."
    return tuple(NoThermometer(d.id, (name.format(upper(d.name)), way)) for d in meal.dishes if needs_core(d))
