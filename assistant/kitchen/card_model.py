"""The shape of a card, section by section, as pydantic models: which keys there are, what each reads as, what must not be left out.

The models only read; what sections mean to each other (names, order, shares, pots) is `cards`' work. Each alias is the key as the cook writes
it, each example is quoted in the mistake that says a key is missing. Everything a card holds is text, so every value is read by `amounts`.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, model_validator

from assistant.kitchen import amounts
from assistant.kitchen.card_names import kept_word
from assistant.kitchen.meal import Amount, Day, Heat, Keep, Span, StepKind
from assistant.kitchen.scale import MOST_PEOPLE

FoodKind = Literal["clean", "potato", "vegetable", "coated", "poultry", "meat", "fish", "dough", "sweet"]
"""What a dish counts as for the order of the pot."""

MOST_SPOKEN_WORDS = 12
"""No line that is spoken may be longer."""


def _short(text: str, most: int, what: str) -> str:
    if len(text.split()) > most:
        raise ValueError(f"{what} has {len(text.split())} words and is spoken; say it in at most {most}")
    kept = kept_word(text)
    if kept is not None:
        raise ValueError(f"{what} is spoken and holds '{kept}', which the assistant acts on when it hears it; say it otherwise")
    return " ".join(text.split())


def _sentence(text: str) -> str:
    return _short(text, MOST_SPOKEN_WORDS, f"'{' '.join(text.split()[:4])} ...'")


def _looks(text: str) -> str:
    return _short(text, 7, f"'{text}'").rstrip(".?! ")


def _text(value: Any) -> Any:
    """Refuse anything but text before a reader of `amounts` sees it."""
    if not isinstance(value, str):
        raise ValueError("wants words on one line")
    return value


def _listed(value: Any) -> Any:
    """One name, or names with commas between, or a list of names."""
    return [part.strip() for part in value.split(",")] if isinstance(value, str) else value


def _read(reader: Any) -> Any:
    return BeforeValidator(lambda value: reader(_text(value)))


Seconds = Annotated[float, _read(amounts.duration)]
Times = Annotated[Span, _read(amounts.span)]
Celsius = Annotated[float, _read(amounts.temperature)]
Kelvin = Annotated[float, _read(amounts.degrees_apart)]
Quantity = Annotated[Amount, _read(amounts.quantity)]
Kilograms = Annotated[float, _read(amounts.weight)]
Litres = Annotated[float, _read(amounts.volume)]
Metres = Annotated[float, _read(amounts.length)]
Watts = Annotated[float, _read(amounts.power)]
Sentence = Annotated[str, _read(_sentence)]
Looks = Annotated[str, _read(_looks)]
Words = Annotated[list[str], BeforeValidator(_listed)]


class Section(BaseModel):
    """Any part of a card: unknown keys are mistakes, keys are written with spaces."""

    model_config = ConfigDict(extra="forbid", frozen=True, alias_generator=lambda name: name.replace("_", " "), arbitrary_types_allowed=True)


class PotCard(Section):
    """A pot of oil; what is left out is asked of the cook."""

    width: Metres | None = None
    height: Metres | None = None
    oil: Litres | None = None
    oil_kind: str = "blend"
    heat: Heat = Heat.GAS
    power: Watts | None = None
    fresh_oil: bool = True


class KitchenCard(Section):
    """The equipment."""

    burners: int = Field(default=4, ge=0, le=12)
    trays: int = Field(default=2, ge=0, le=40)
    oven: bool = True
    oil_thermometer: bool = True
    core_thermometer: bool = True
    pots: dict[str, PotCard] = Field(default_factory=dict)


class IngredientCard(Section):
    """Something bought; `salt: 10 g` is short for `salt: {bought: 10 g}`."""

    bought: Quantity = Field(examples=["1.2 kg"])
    prepared: Quantity | None = None
    said_as: Words = Field(default_factory=list)
    raw: bool = False
    perishable: bool = False
    kept: Keep = Keep.COUNTER
    frozen: bool = False
    allergens: Words = Field(default_factory=list)
    composition: str | None = None
    usda_number: str | None = Field(default=None, pattern=r"^\d{4,6}$")

    @model_validator(mode="before")
    @classmethod
    def _short_form(cls, value: Any) -> Any:
        return {"bought": value} if isinstance(value, str) else value


class DishCard(Section):
    """A dish or a component, its steps still unread."""

    said_as: Words = Field(default_factory=list)
    food: FoodKind = "clean"
    allergens: Words = Field(default_factory=list)
    unshared_oil: bool = False
    optional: bool = False
    ingredients: dict[str, IngredientCard] = Field(default_factory=dict)
    steps: dict[str, Any] = Field(examples=["a name and what is done"])


class Card(Section):
    """The whole card, its dishes still unread."""

    title: Annotated[str, _read(lambda text: " ".join(text.split()))] = Field(examples=["Fish supper"])
    serves: int = Field(ge=1, le=MOST_PEOPLE, examples=["4"])
    kitchen: KitchenCard = Field(default_factory=KitchenCard)
    components: dict[str, Any] = Field(default_factory=dict)
    dishes: dict[str, Any] = Field(examples=["a name and its steps"])


class StepCard(Section):
    """What every step may say."""

    kind: StepKind
    said_as: Words = Field(default_factory=list)
    say: Sentence = ""
    after: Words = Field(default_factory=list)
    uses: Any = None
    helper: bool = True
    raw: bool = False
    ready_to_eat: bool = False
    perishable: bool = False
    hold_best: Seconds | None = None
    hold_most: Seconds | None = None
    hold_on: Keep = Keep.RACK
    hold_oven: Celsius | None = None
    day: Day = Day.EVENING


class HandsCard(StepCard):
    """The cook's hands, all of the time."""

    takes: Times = Field(examples=["8 to 12 minutes"])


class FinishCard(HandsCard):
    """Toss or plate: hands on a lot or a part of one."""

    share: str | None = None


class WaitCard(StepCard):
    """Soak, rest, prove, chill: `at least`, and what to do when `at most` has come."""

    at_least: Seconds = Field(examples=["30 minutes"])
    at_most: Seconds | None = None
    otherwise: Sentence | None = Field(default=None, alias="else")
    hands: Seconds | None = None
    first_look: Seconds | None = None
    done_looks_like: Looks | None = None


class CookedCard(StepCard):
    """Frying, baking, standing on the stove: somebody has to look."""

    takes: Times = Field(examples=["8 to 12 minutes"])
    first_look: Seconds = Field(examples=["6 minutes"])
    done_looks_like: Looks = Field(examples=["golden and crisp"])
    core: Celsius | None = None
    hands: Seconds | None = None
    share: str | None = None


class StoveCard(CookedCard):
    """On a burner."""


class BakeCard(CookedCard):
    """In the oven."""

    oven: Celsius = Field(examples=["400 F"])
    preheat: bool = True
    stone: bool = False


class FryCard(CookedCard):
    """In a pot of oil; `takes` is one batch."""

    oil: Celsius = Field(examples=["325 F"])
    floor: Celsius = Field(examples=["300 F"])
    weight: Kilograms = Field(examples=["600 g"])
    cut: str = Field(examples=["potato sticks 10 mm"])
    batches: int = Field(default=1, ge=1, le=40)
    pieces: int | None = Field(default=None, ge=1, le=1000)
    pot: str | None = None
    food_at: Celsius = 20.0
    under: Kelvin = 5 * 5 / 9
    over: Kelvin = 15 * 5 / 9
    wet: bool = False
    frozen: bool = False
    coated: bool = False
    first_of_two: bool = False
    a_piece_takes: Seconds = 3.0


STEP_CARDS: dict[StepKind, type[StepCard]] = {
    StepKind.HANDS: HandsCard,
    StepKind.WAIT: WaitCard,
    StepKind.FRY: FryCard,
    StepKind.BAKE: BakeCard,
    StepKind.STOVE: StoveCard,
    StepKind.TOSS: FinishCard,
    StepKind.PLATE: FinishCard,
}
"""Which keys a step takes, by its kind."""
