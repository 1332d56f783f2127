"""An evening written back as a card: the card it was cooked from, with its quantities as cooked and the times as they were measured. Pure.

Rules
- What the cook wrote stays: names, words, order, remarks, figures of safety. Only `serves`, quantities, batches and `takes` change.
- A time is learnt as the plan learns it (`my_times.own_time`): drawn towards the card's, between half and twice of it; the range of the card only
  grows, so that whatever was in it (first looks, hands) still is. Waits are not learnt.
- What is written is read back by `cards.read_text` before anybody gets it; a card that would have a mistake raises MealCardError.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from fractions import Fraction
from io import StringIO
from math import ceil
from typing import Any

from ruamel.yaml import YAML

from assistant.kitchen.amounts import number
from assistant.kitchen.amounts import quantity as read_quantity
from assistant.kitchen.card_names import slug
from assistant.kitchen.cards import read_text
from assistant.kitchen.meal import Meal, Span, Step, StepKind
from assistant.kitchen.my_times import own_time
from assistant.kitchen.scale import scaled

_TIMED = frozenset({StepKind.HANDS, StepKind.TOSS, StepKind.PLATE, StepKind.FRY, StepKind.BAKE, StepKind.STOVE})

_AMOUNT = re.compile(r"(?P<n>\d+\s+\d+/\d+|\d+/\d+|\d*\.?\d+)\s*(?P<unit>[A-Za-z]*)")
_HOUSEHOLD = frozenset({"cup", "cups", "tbsp", "tablespoon", "tablespoons", "tsp", "teaspoon", "teaspoons", "pint", "pints", "quart", "quarts"})


def learnt_card(card: str, file: str, people: int, took_s: Mapping[str, Iterable[float]], remark: str = "") -> str:
    """The text of the card, for `people`, with learnt times. card, file: as cooked from; took_s: durations by step id, s (a fry: batches in the oil);
    remark: a line for the cook, put on top. MealCardError when the card, old or new, has a mistake."""
    meal = read_text(card, file)
    cooked = scaled(meal, people)
    yaml = YAML()
    yaml.preserve_quotes = True
    yaml.width = 4096
    data = yaml.load(card)
    if people != meal.serves:
        data["serves"] = people
        _resize(data, cooked, Fraction(people, meal.serves))
    for step in cooked.steps():
        seen = tuple(took_s.get(step.id, ()))
        if seen and step.kind in _TIMED:
            _section(data, step)["takes"] = span_text(learnt_span(step, seen))
    out = StringIO()
    yaml.dump(data, out)
    text = (f"# {' '.join(remark.split())}\n\n" if remark else "") + out.getvalue()
    read_text(text, file)
    return text


def learnt_span(step: Step, seen: tuple[float, ...]) -> Span:
    """The time of a step for a cook who took so long, s: the card's range, grown by what was measured, and its usual drawn towards that.

    >>> step = Step("cut", "cut", ("cut",), "chips", StepKind.HANDS, Span(480, 540, 600), 540)
    >>> learnt_span(step, (720.0,))
    Span(least_s=480, usual_s=600.0, most_s=720.0)
    """
    card = step.span
    near = [min(2.0 * card.usual_s, max(0.5 * card.usual_s, s)) for s in seen]
    usual = own_time(step, seen)
    return Span(min(card.least_s, *near, usual), usual, max(card.most_s, *near, usual))


def span_text(span: Span) -> str:
    """A time as a card says it, which `amounts.span` reads back: to 5 s under two minutes, else to half a minute.

    >>> span_text(Span(480, 600, 720)), span_text(Span(30, 40, 60)), span_text(Span(300, 300, 300))
    ('8 to 12 minutes', '30 to 60 seconds, usually 40 seconds', '5 minutes')
    """
    step = 5 if span.most_s < 120 else 30
    least, usual, most = (max(step, round(s / step) * step) for s in (span.least_s, span.usual_s, span.most_s))
    unit, per = ("seconds", 1) if step == 5 else ("minutes", 60)
    if least == most:
        return f"{_number(least, per)} {unit}"
    words = f"{_number(least, per)} to {_number(most, per)} {unit}"
    return words if 2 * usual == least + most else f"{words}, usually {_number(usual, per)} {unit}"


def _number(seconds: int, per: int) -> str:
    whole, rest = divmod(Fraction(seconds, per), 1)
    return f"{whole}" if not rest else f"{rest}" if not whole else f"{whole} {rest}"


def _section(data: Any, step: Step) -> Any:
    """The part of the card that is this step."""
    for part in ("components", "dishes"):
        for dish in (data.get(part) or {}).values():
            for name, section in dish["steps"].items():
                if slug(name) == step.id:
                    return section
    raise KeyError(step.id)


def _resize(data: Any, cooked: Meal, by: Fraction) -> None:
    """Quantities of the cooked meal into the card."""
    for step in cooked.steps():
        if step.fry is None:
            continue
        section = _section(data, step)
        section["weight"] = _grams(step.fry.kg)
        if step.fry.batches > 1 or "batches" in section:
            section["batches"] = step.fry.batches
        if step.fry.pieces is not None:
            section["pieces"] = step.fry.pieces
    for part in ("components", "dishes"):
        for section in (data.get(part) or {}).values():
            for name, written in list((section.get("ingredients") or {}).items()):
                _resize_thing(section["ingredients"], name, written, by)


def _resize_thing(ingredients: Any, name: str, written: Any, by: Fraction) -> None:
    if isinstance(written, str):
        ingredients[name] = times(written, by)
        return
    for key in ("bought", "prepared"):
        if key in written:
            written[key] = times(written[key], by)


def times(quantity: str, by: Fraction) -> str:
    """A quantity on a card so many times over, in its own units: spoons and cups to the nearest quarter, things in whole numbers and rounded up.

    >>> times("3 tablespoons", Fraction(1, 2)), times("1 bunch", Fraction(2)), times("3 pieces, 600 g", Fraction(1, 2))
    ('1 1/2 tablespoons', '2 bunches', '2 pieces, 300 g')
    """
    if by == 1:
        return quantity
    parts = []
    for part in quantity.split(","):
        found = _AMOUNT.fullmatch(part.strip())
        if found is None:
            raise ValueError(f"'{part.strip()}' is no quantity")
        unit, value = found["unit"], number(found["n"]) * float(by)
        if read_quantity(part).pieces is not None:
            value = float(ceil(value - 1e-9))
            figure = f"{value:.0f}"
        elif unit.lower() in _HOUSEHOLD:
            figure = _number(max(1, round(value * 4)), 4)
        else:
            figure = _figure(value)
        parts.append(f"{figure} {_named(unit, value)}".strip())
    return ", ".join(parts)


def _named(unit: str, value: float) -> str:
    """The unit as it is written for so many; abbreviations stay."""
    one = {"leaves": "leaf", "bunches": "bunch", "pinches": "pinch"}.get(unit, unit.removesuffix("s"))
    if len(one) < 3 or one.lower() in ("tsp", "tbsp", "lbs"):
        return unit
    return one if value <= 1 else {"leaf": "leaves"}.get(one, one + ("es" if one.endswith("ch") else "s"))


def _grams(kg: float) -> str:
    return f"{_figure(1000 * kg)} g"


def _figure(value: float) -> str:
    """Three figures at most, never in powers of ten."""
    return f"{value:.0f}" if value >= 100 else f"{max(value, 0.01):.3g}"
