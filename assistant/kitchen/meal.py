"""A meal as the rest of the program knows it: frozen values in SI units, made from a card by `cards` and changed by nobody.

Words used here. A *dish* is what comes to the table; a *component* is made ahead and used by dishes (a sauce, a dough). Both are
a list of *steps*. A step needs hands, or waits, or fries, or bakes, or stands on the stove. A *lot* is what one fry step cooks, in one
or more *batches*; a lot may be divided among several later steps, each taking a *share* of it. Ids are slugs, unique in the meal:
a dish `chips`, its steps `chips-first-fry`; the names are what a cook says and hears.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from enum import StrEnum

_COATING = re.compile(r"flour|crumbs?|starch|panko|batter|semolina|meal\b")


class StepKind(StrEnum):
    """What a step occupies."""

    HANDS = "hands"  # the cook's hands, all of its time
    WAIT = "wait"  # nothing: soak, rest, prove, chill, drain
    FRY = "fry"  # a pot of oil, in batches
    BAKE = "bake"  # the oven, preheated
    STOVE = "stove"  # a burner
    TOSS = "toss"  # hands, on hot food just lifted
    PLATE = "plate"  # hands, at serving


class Day(StrEnum):
    """When a step may be done: the evening itself, or earlier."""

    EVENING = "evening"
    SAME_DAY = "same day"
    DAY_BEFORE = "day before"
    WEEK = "up to a week before"


class Heat(StrEnum):
    """What heats the pot."""

    GAS = "gas"
    INDUCTION = "induction"
    COIL = "coil"
    FRYER = "fryer"  # an electric fryer with its own thermostat and level marks
    OUTDOOR = "outdoor"


OPEN_FLAME = frozenset({Heat.GAS, Heat.OUTDOOR})
"""Heat sources that light what spills; where there is a choice, induction or a fryer with a thermostat goes first (fire services)."""


class Keep(StrEnum):
    """How a finished thing is kept until serving."""

    RACK = "rack"
    OVEN = "oven"
    PAN = "pan"
    FRIDGE = "fridge"
    COUNTER = "counter"


NO_LIMIT_S = 7 * 86400.0
"""The most of a wait for which the card states none, s: the week that is the longest ahead anything may be done."""


@dataclass(frozen=True, slots=True)
class Span:
    """A duration as a cook states it, s: least <= usual <= most."""

    least_s: float
    usual_s: float
    most_s: float


@dataclass(frozen=True, slots=True)
class Amount:
    """A quantity as written and in SI. One of kg, litres, pieces is set (more when the card says more)."""

    text: str
    kg: float | None = None
    litres: float | None = None
    pieces: float | None = None


@dataclass(frozen=True, slots=True)
class Ingredient:
    """Something bought. bought: as bought; prepared: edible, cut (None: the same). perishable: raw animal food, dairy, cooked food: on the clock
    when out of the fridge. raw: raw animal food (wash hands after). kept: where it is at the start. food: name in the table of compositions,
    where known. optional `ndb`: number in USDA's tables."""

    id: str
    name: str
    said: tuple[str, ...]
    bought: Amount
    prepared: Amount | None = None
    raw: bool = False
    perishable: bool = False
    kept: Keep = Keep.COUNTER
    frozen: bool = False
    allergens: frozenset[str] = frozenset()
    food: str | None = None
    ndb: str | None = None
    line: int = 0

    @property
    def coats(self) -> bool:
        """Whether it is what food is coated with before it is fried."""
        return _COATING.search(self.name.lower()) is not None


@dataclass(frozen=True, slots=True)
class Hold:
    """How the state that a step leaves keeps, from the end of the step to serving: at its best for best_s, not served after most_s, kept on
    `keep`; oven_c where it is kept warm."""

    best_s: float
    most_s: float
    keep: Keep = Keep.RACK
    oven_c: float | None = None


@dataclass(frozen=True, slots=True)
class Fry:
    """Frying in one pot. oil_c: set point; floor_c: the oil must stay above; under_c and over_c: how far under (and rising) and over the drop may
    still go; kg: food in the whole lot as it goes in; pieces: number in the lot if countable; batches: number on the card (the planner may
    choose another); cut: what the pieces are, in the words of the table of foods ("potato sticks 10 mm"); wet: surface wet or unrinsed starch;
    coated: flour, crumbs or batter; first_stage: first of a double fry; piece_s: hands time to lower one piece, s."""

    oil_c: float
    floor_c: float
    kg: float
    batches: int
    pot: str
    cut: str
    food_c: float = 20.0
    pieces: int | None = None
    under_c: float = 5 * 5 / 9
    over_c: float = 15 * 5 / 9
    wet: bool = False
    frozen: bool = False
    coated: bool = False
    first_stage: bool = False
    piece_s: float = 3.0


@dataclass(frozen=True, slots=True)
class Bake:
    """Baking. oven_c: temperature; preheat: whether the oven must be hot first; stone: on a stone or steel that must be hot too."""

    oven_c: float
    preheat: bool = True
    stone: bool = False


@dataclass(frozen=True, slots=True)
class Step:
    """One step. span: how long (a fry: one batch in the oil; a wait without a most ends at NO_LIMIT_S); hands_s: how much of it needs hands (HANDS,
    TOSS, PLATE: all; FRY: one batch, lowering and lifting); after: ids of steps that must be done first, those of used components included; text:
    what to do, to be spoken; look_s: first look, s after the start (FRY: after the last piece is in); looks: what done looks like, a few words
    without an end mark ("limp and pale"); else_do: what to do when a wait has reached its most; core_c: core temperature that must be read, C;
    share: the part that this step takes of the lot of step share_of ("" when it divides nothing); uses: ids of components;
    makes_perishable: the state it leaves is on the food-safety clock; raw_in / ready_out: handles raw animal food / leaves food that is eaten as
    it is; helper: a helper may do it; hold: how the state it leaves keeps; day: when it may be done; line: line in the card."""

    id: str
    name: str
    said: tuple[str, ...]
    dish: str
    kind: StepKind
    span: Span
    hands_s: float
    after: tuple[str, ...] = ()
    text: str = ""
    look_s: float | None = None
    looks: str = ""
    else_do: str = ""
    fry: Fry | None = None
    bake: Bake | None = None
    core_c: float | None = None
    share: float = 1.0
    share_of: str = ""
    uses: tuple[str, ...] = ()
    makes_perishable: bool = False
    raw_in: bool = False
    ready_out: bool = False
    helper: bool = True
    hold: Hold | None = None
    day: Day = Day.EVENING
    line: int = 0


@dataclass(frozen=True, slots=True)
class Dish:
    """A dish or (component=True) something made ahead and shared. kinds of food it counts as for the order of the pot: `clean`, `potato`,
    `vegetable`, `coated`, `poultry`, `meat`, `fish`, `dough`, `sweet`. serves_first_fresh_oil: for an allergic guest, in unshared fresh oil.
    uses: (component id, part of it). allergens: its own and those of what it uses. optional: the meal stands without it."""

    id: str
    name: str
    said: tuple[str, ...]
    steps: tuple[Step, ...]
    ingredients: tuple[Ingredient, ...]
    food_kind: str = "clean"
    component: bool = False
    uses: tuple[tuple[str, float], ...] = ()
    allergens: frozenset[str] = frozenset()
    unshared_oil: bool = False
    optional: bool = False
    line: int = 0


@dataclass(frozen=True, slots=True)
class Pot:
    """A pot. width_m: inner diameter; height_m; oil_litres: measured cold; power_w: nominal, None when nobody said; fresh_oil: nothing has been
    fried in it yet; altitude_m: of the kitchen, which no card knows (`at_altitude`). An electric fryer (heat) goes by its own level marks."""

    id: str
    name: str
    width_m: float | None
    height_m: float | None
    oil_litres: float | None
    oil_kind: str = "blend"
    heat: Heat = Heat.GAS
    power_w: float | None = None
    fresh_oil: bool = True
    altitude_m: float = 0.0


@dataclass(frozen=True, slots=True)
class Equipment:
    """The kitchen. burners and trays: how many; oven: whether there is one; oil_thermometer, core_thermometer: whether there is one."""

    pots: tuple[Pot, ...]
    burners: int = 4
    trays: int = 2
    oven: bool = True
    oil_thermometer: bool = True
    core_thermometer: bool = True


@dataclass(frozen=True, slots=True)
class Meal:
    """Everything on one card. id: the file's name; title: for people; serves: how many the quantities are for; file: where it came from."""

    id: str
    title: str
    serves: int
    dishes: tuple[Dish, ...]
    equipment: Equipment
    file: str = ""
    all_steps: tuple[Step, ...] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "all_steps", tuple(step for dish in self.dishes for step in dish.steps))

    def steps(self) -> Iterator[Step]:
        """Every step, in the order of the card."""
        return iter(self.all_steps)

    def step(self, step_id: str) -> Step:
        """The step with this id; KeyError when there is none."""
        for step in self.steps():
            if step.id == step_id:
                return step
        raise KeyError(step_id)

    def dish(self, dish_id: str) -> Dish:
        """The dish or component with this id; KeyError when there is none."""
        for dish in self.dishes:
            if dish.id == dish_id:
                return dish
        raise KeyError(dish_id)

    def ingredients(self) -> Iterator[Ingredient]:
        """Every ingredient of every dish, in the order of the card."""
        for dish in self.dishes:
            yield from dish.ingredients


def at_altitude(meal: Meal, metres: float) -> Meal:
    """The meal in a kitchen so high above the sea, where water boils earlier."""
    kitchen = meal.equipment
    return replace(meal, equipment=replace(kitchen, pots=tuple(replace(pot, altitude_m=metres) for pot in kitchen.pots)))


@dataclass(frozen=True, slots=True)
class Name:
    """Something of this meal that can be said: id, what it is (`dish`, `step`, `thing`, `pot`), and every way to say it, lower case words only."""

    id: str
    what: str
    said: tuple[str, ...]


def names(meal: Meal) -> tuple[Name, ...]:
    """What a cook can name in this meal, for the grammar: dishes and components, steps, ingredients; the first of `said` is how we say it. An
    ingredient of several dishes is named once, by the id of the first."""
    dishes = tuple(Name(d.id, "dish", d.said) for d in meal.dishes)
    steps = tuple(Name(s.id, "step", s.said) for s in meal.steps())
    things: dict[str, Name] = {}
    for thing in meal.ingredients():
        things.setdefault(thing.name, Name(thing.id, "thing", thing.said))
    return dishes + steps + tuple(things.values())
