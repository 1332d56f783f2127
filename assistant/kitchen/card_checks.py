"""What a card must mean to be cooked from: checks across keys, after every section has been read on its own. Each notes mistakes on the card.

Figures: oil never over 190 C, a pot never over a third full of hot oil (fire services), poultry to 165 F (the US chart of safe minimum
temperatures). The oil's expansion is 919 - 0.64 (T - 20) kg/m3, from 20 C to the set point (JAOCS 76:1415, 1999).
"""

from __future__ import annotations

import math
import re
from typing import Any

from assistant.kitchen import amounts
from assistant.kitchen.card_faults import AnySection
from assistant.kitchen.card_model import (
    BakeCard,
    CookedCard,
    DishCard,
    FryCard,
    IngredientCard,
    KitchenCard,
    PotCard,
    StepCard,
    StoveCard,
    WaitCard,
)
from assistant.kitchen.card_names import did_you_mean, plain, slug, wrong_with
from assistant.kitchen.card_steps import Draft
from assistant.kitchen.card_text import CardPath, CardText
from assistant.kitchen.meal import Heat
from assistant.kitchen.plan_figures import OVEN_COOLEST_C, OVEN_HOTTEST_C

MOST_OIL_C, LEAST_OIL_C = 190.0, 110.0
POULTRY_CORE_C = (165 - 32) * 5 / 9
_POULTRY = re.compile(r"\b(?:chicken|turkey|duck|goose|quail|poussin|hen|guinea fowl|pheasant|poultry|thighs?|drumsticks?|wings?)\b")
_WIDTH_M, _HEIGHT_M = (0.12, 0.50), (0.06, 0.50)


def check_names(card: CardText, dishes: dict[str, CardPath], read: dict[str, DishCard | None], drafts: dict[str, Draft]) -> None:
    """Every name can be said, is no command, and belongs to one thing only (an ingredient may stand in several dishes)."""
    owners: dict[str, tuple[str, str, int]] = {}

    def take(name: str, said_as: list[str], path: CardPath, what: str) -> None:
        for i, said in enumerate([name, *said_as]):
            here = (*path, "said as") if i else path
            wrong = wrong_with(said)
            if wrong:
                card.fault(here, wrong)
                continue
            owner = (what, plain(name), card.line(path))
            first = owners.setdefault(plain(said), owner)
            if first[:2] != owner[:2] or (what != "thing" and first != owner):
                card.fault(here, f"'{said}' already means something on line {first[2]}; give one of them another name.")

    for dish, path in dishes.items():
        section = read[dish]
        take(dish, section.said_as if section else [], path, "dish")
    for draft in drafts.values():
        take(draft.name, draft.read.said_as if draft.read else [], draft.path, "step")
    for dish, path in dishes.items():
        here: set[str] = set()
        for name, thing in _ingredients(read[dish]).items():
            if plain(name) in here:
                card.fault((*path, "ingredients", name), f"'{name}' stands twice in '{dish}'; put the two together.")
            here.add(plain(name))
            take(name, thing.said_as, (*path, "ingredients", name), "thing")
    _clashing_ids(card, drafts, dishes)


def _clashing_ids(card: CardText, drafts: dict[str, Draft], dishes: dict[str, CardPath]) -> None:
    ids: dict[str, str] = {}
    for name, path in [*dishes.items(), *((d.name, d.path) for d in drafts.values())]:
        other = ids.setdefault(slug(name), plain(name))
        if other != plain(name):
            card.fault(path, f"'{name}' and '{other}' look the same once written as an id; give one of them another name.")


def _ingredients(dish: DishCard | None) -> dict[str, IngredientCard]:
    return dish.ingredients if dish else {}


def check_kitchen(card: CardText, kitchen: KitchenCard) -> None:
    """The pots: sane sizes, never more than a third full."""
    slugs: dict[str, str] = {}
    for name, pot in kitchen.pots.items():
        if slugs.setdefault(slug(name), name) != name:
            card.fault(("kitchen", "pots", name), f"'{name}' and '{slugs[slug(name)]}' sound the same; give one of the pots another name.")
        path = ("kitchen", "pots", name)
        for key, value, (least, most) in (("width", pot.width, _WIDTH_M), ("height", pot.height, _HEIGHT_M)):
            if value is not None and not least <= value <= most:
                words = f"'{name}' is {value * 100:.0f} cm in {key}, and a pot is {least * 100:.0f} to {most * 100:.0f} cm; measure it inside."
                card.fault((*path, key), words)
        room = most_cold_oil(pot)
        if room is not None and pot.oil is not None and pot.oil > room:
            words = f"'{name}' holds at most {room:.1f} litres of oil, a third of it once hot, not {pot.oil:.1f}; use less oil or a bigger pot."
            card.fault((*path, "oil"), words)


def most_cold_oil(pot: PotCard) -> float | None:
    """The most oil, l measured cold at 20 C, that fills no more than a third of the pot at the highest set point; None where nobody has
    measured the pot or it goes by its marks.

    >>> round(most_cold_oil(PotCard.model_validate({"width": "26 cm", "height": "15 cm", "oil": "2 litres"})), 2)
    2.34
    """
    if pot.width is None or pot.height is None or pot.heat is Heat.FRYER:
        return None
    grows = 919.0 / (919.0 - 0.64 * (MOST_OIL_C - 20.0))
    return math.pi / 4 * pot.width**2 * pot.height * 1000.0 / 3.0 / grows


def check_dishes(card: CardText, dishes: dict[str, CardPath], read: dict[str, DishCard | None], drafts: dict[str, Draft]) -> None:
    """That a dish has steps, that what spoils says where it is kept, and that poultry is measured."""
    for name, path in dishes.items():
        dish = read[name]
        if dish is None:
            continue
        if not dish.steps:
            card.fault((*path, "steps"), f"'{name}' has no steps; write at least one, or leave the dish out.")
        for thing, i in dish.ingredients.items():
            if (i.raw or i.perishable) and "kept" not in i.model_fields_set:
                words = f"'{thing}' spoils, and the card does not say where it is kept; write 'kept: fridge'."
                card.fault((*path, "ingredients", thing), words)
        mine = [d.read for d in drafts.values() if d.dish == name]
        raw = dish.food == "poultry" or any(i.raw and _POULTRY.search(plain(f"{n} {i.composition or ''}")) for n, i in dish.ingredients.items())
        measured = any(isinstance(s, CookedCard) and s.core is not None and s.core > POULTRY_CORE_C - 0.05 for s in mine)
        if raw and mine and not measured and None not in mine:
            card.fault(path, f"'{name}' is poultry, and no step of it reads a core temperature; add 'core: 165 F' to the step that cooks it.")


def check_step(card: CardText, draft: Draft, kitchen: KitchenCard | None) -> None:
    """The times, temperatures and equipment of one step."""
    step, path, name = draft.read, draft.path, draft.name
    if step is None:
        return
    _check_hold(card, step, path, name)
    if isinstance(step, WaitCard):
        _check_wait(card, step, path, name)
    if isinstance(step, CookedCard):
        if step.first_look > step.takes.most_s:
            card.fault((*path, "first look"), f"'{name}' is first looked at after its longest time; look before it is done.")
        if step.hands is not None and step.hands > step.takes.most_s:
            card.fault((*path, "hands"), f"'{name}' needs hands for longer than it takes; write the part of its time that needs hands.")
    if isinstance(step, StoveCard) and kitchen and kitchen.burners == 0:
        card.fault((*path, "kind"), f"'{name}' wants a burner, and the card says 'burners: 0'; correct one of them.")
    if isinstance(step, BakeCard):
        if not OVEN_COOLEST_C <= step.oven <= OVEN_HOTTEST_C:
            card.fault((*path, "oven"), f"'{name}' wants an oven of {step.oven:.0f} C, and ovens go from 40 to 300 C; check the unit.")
        if kitchen and not kitchen.oven:
            card.fault((*path, "kind"), f"'{name}' bakes, and the card says 'oven: no'; correct one of them.")
    if isinstance(step, FryCard):
        _check_fry(card, step, draft, kitchen)


def _check_hold(card: CardText, step: StepCard, path: CardPath, name: str) -> None:
    if (step.hold_best is None) != (step.hold_most is None):
        there, lacks = ("hold best", "hold most") if step.hold_best is not None else ("hold most", "hold best")
        card.fault((*path, there), f"'{name}' has '{there}' and no '{lacks}'; write both or neither.")
    elif step.hold_best is not None and step.hold_most is not None and step.hold_best > step.hold_most:
        card.fault((*path, "hold best"), f"'{name}' is at its best for longer than it keeps at all; 'hold most' must be the longer one.")
    if step.hold_best is None and (step.hold_oven is not None or "hold_on" in step.model_fields_set):
        key = "hold oven" if step.hold_oven is not None else "hold on"
        card.fault((*path, key), f"'{name}' says where it is held and not how long; add 'hold best' and 'hold most'.")
    if step.hold_oven is not None and not OVEN_COOLEST_C <= step.hold_oven <= 150:
        card.fault((*path, "hold oven"), f"'{name}' is kept warm at {step.hold_oven:.0f} C, which cooks it on; write about 225 F.")


def _check_wait(card: CardText, step: WaitCard, path: CardPath, name: str) -> None:
    if step.at_most is not None and step.at_least > step.at_most:
        card.fault((*path, "at least"), f"'{name}' waits at least longer than at most; 'at most' must be the longer one.")
    if (step.at_most is None) != (step.otherwise is None):
        there, lacks = ("at most", "else") if step.at_most is not None else ("else", "at most")
        card.fault((*path, there), f"'{name}' has '{there}' and no '{lacks}'; write both, so that it can say what to do when the time is over.")
    if step.at_most is not None and step.first_look is not None and step.first_look > step.at_most:
        card.fault((*path, "first look"), f"'{name}' is first looked at after its longest time; look before it is over.")


def _check_fry(card: CardText, step: FryCard, draft: Draft, kitchen: KitchenCard | None) -> None:
    path, name = draft.path, draft.name
    if step.oil > MOST_OIL_C + 0.05:
        card.fault((*path, "oil"), f"'{name}' wants oil at {_both(step.oil)}, and no oil is set above {_both(MOST_OIL_C)}; write less.{_unit(draft)}")
    if step.oil < LEAST_OIL_C:
        card.fault((*path, "oil"), f"'{name}' wants oil at {_both(step.oil)}, which does not fry; write {_both(LEAST_OIL_C)} or more.{_unit(draft)}")
    if step.floor >= step.oil:
        card.fault((*path, "floor"), f"'{name}' has its floor at or above its set point; 'floor' is what the oil may fall to, so write less.")
    if step.pieces is not None and step.pieces < step.batches:
        card.fault((*path, "batches"), f"'{name}' has more batches than pieces; write fewer batches.")
    if kitchen is None:
        return
    if not kitchen.pots:
        card.fault((*path, "kind"), f"'{name}' fries, and the card has no pot; add one under 'kitchen: pots:'.")
    elif step.pot is None and len(kitchen.pots) > 1:
        card.fault((*path, "kind"), f"'{name}' does not say in which pot; write 'pot: {next(iter(kitchen.pots))}'.")
    elif step.pot is not None and step.pot not in kitchen.pots:
        near = did_you_mean(step.pot, kitchen.pots) or f" There is: {', '.join(kitchen.pots)}."
        card.fault((*path, "pot"), f"'{name}' fries in '{step.pot}', which no pot is called.{near}")


def _both(celsius: float) -> str:
    return f"{celsius * 9 / 5 + 32:.0f} F ({celsius:.0f} C)"


def _unit(draft: Draft) -> str:
    """The same figure in the other unit, where that would make sense of it."""
    said, celsius = amounts.other_unit(draft.data["oil"])
    return f" Did you mean '{said}'?" if LEAST_OIL_C <= celsius <= MOST_OIL_C + 0.05 else ""


def whole(section: AnySection | None, card: CardText) -> AnySection:
    """The section, now that no mistake was found anywhere."""
    if section is None or card.mistakes:
        raise card.stop()
    return section


def as_mapping(data: Any) -> dict[str, Any]:
    """The mapping that is there, or an empty one."""
    return data if isinstance(data, dict) else {}
