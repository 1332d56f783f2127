"""From the text of a card to its `Meal`, built only when no mistake was found.

The path of a card: text with line numbers (`card_text`, `card_yaml`), sections (`card_model`, `card_faults`), steps related to each other
(`card_steps`), checks across all of it (`card_checks`), and here the `Meal`. The keys are explained in the card that `cards.new_card` writes.
"""

from __future__ import annotations

import math
from pathlib import Path

from assistant.kitchen import card_checks as checks
from assistant.kitchen.card_faults import read_section
from assistant.kitchen.card_model import (
    BakeCard,
    Card,
    CookedCard,
    DishCard,
    FinishCard,
    FryCard,
    HandsCard,
    IngredientCard,
    KitchenCard,
    StepCard,
    WaitCard,
)
from assistant.kitchen.card_names import MEAL_NAME, plain, slug
from assistant.kitchen.card_steps import Draft, draft_steps
from assistant.kitchen.card_text import CardPath, CardText
from assistant.kitchen.card_yaml import load
from assistant.kitchen.meal import NO_LIMIT_S, Bake, Dish, Equipment, Fry, Hold, Ingredient, Meal, Pot, Span, Step

_LOWER_UNCOUNTED_S = 20.0  # hands to lower a batch that is not counted in pieces, s: common practice, no source
_LIFT_S = 20.0  # hands to lift and drain a batch, s: common practice, no source
_HANDS_AT_HEAT_S = 60.0  # hands that something in the oven or on the stove takes when the card does not say, s: common practice, no source


def build_meal(text: str, file: str) -> Meal:
    """The meal on this card; `file` gives the meal its id and the mistakes their place. Raises MealCardError with every mistake."""
    card = load(text, file)
    data = checks.as_mapping(card.data)
    whole = read_section(Card, card.data if card.data is not None else {}, (), card)
    kitchen = whole.kitchen if whole else None
    components = {plain(name): ("components", name) for name in checks.as_mapping(data.get("components"))}
    paths: dict[str, CardPath] = {name: ("components", name) for name in checks.as_mapping(data.get("components"))}
    for name in checks.as_mapping(data.get("dishes")):
        if name in paths:
            card.fault(("dishes", name), f"'{name}' already means something on line {card.line(paths[name])}; give one of them another name.")
        else:
            paths[name] = ("dishes", name)
    read = {name: read_section(DishCard, data[str(path[0])][name], path, card) for name, path in paths.items()}
    drafts = draft_steps(card, paths, set(components))
    if isinstance(data.get("dishes"), dict) and not data["dishes"]:
        card.fault(("dishes",), "The meal has no dish; write at least one.")
    checks.check_names(card, paths, read, drafts)
    checks.check_dishes(card, paths, read, drafts)
    if kitchen:
        checks.check_kitchen(card, kitchen)
    for draft in drafts.values():
        checks.check_step(card, draft, kitchen)
    stem = Path(file).stem
    if not MEAL_NAME.fullmatch(stem):
        card.fault((), f"The file is called '{stem}', and commands take lower-case words with hyphens; rename it '{slug(stem) or 'my-meal'}.yaml'.")
    head = checks.whole(whole, card)
    dishes = _dishes(card, {n: checks.whole(s, card) for n, s in read.items()}, paths, drafts, head.kitchen)
    return Meal(stem, head.title, head.serves, dishes, _equipment(head.kitchen), file)


def _equipment(kitchen: KitchenCard) -> Equipment:
    pots = tuple(Pot(slug(n), n, p.width, p.height, p.oil, p.oil_kind, p.heat, p.power, p.fresh_oil) for n, p in kitchen.pots.items())
    return Equipment(pots, kitchen.burners, kitchen.trays, kitchen.oven, kitchen.oil_thermometer, kitchen.core_thermometer)


def _said(name: str, said_as: list[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(plain(s) for s in (name, *said_as)))


def _dishes(
    card: CardText, read: dict[str, DishCard], paths: dict[str, CardPath], drafts: dict[str, Draft], kitchen: KitchenCard
) -> tuple[Dish, ...]:
    taken = {slug(n) for n in paths} | {slug(k) for k in drafts}
    made: list[Dish] = []
    for name, section in read.items():
        mine = [d for d in drafts.values() if d.dish == name]
        uses: dict[str, float] = {}
        for draft in mine:
            for component, part in draft.uses.items():
                uses[component] = uses.get(component, 0.0) + part
        things = tuple(_ingredient(card, slug(name), n, i, (*paths[name], "ingredients", n), taken) for n, i in section.ingredients.items())
        made.append(
            Dish(
                slug(name),
                plain(name),
                _said(name, section.said_as),
                tuple(_step(card, d, drafts, kitchen) for d in mine),
                things,
                section.food,
                component=paths[name][0] == "components",
                uses=tuple((slug(c), round(p, 6)) for c, p in uses.items()),
                allergens=_allergens(name, read, drafts),
                unshared_oil=section.unshared_oil,
                optional=section.optional,
                line=card.line(paths[name]),
            )
        )
    return tuple(made)


def _allergens(name: str, read: dict[str, DishCard], drafts: dict[str, Draft]) -> frozenset[str]:
    """A dish's own allergens, its ingredients', and those of everything it uses or takes a share of."""
    by_plain = {plain(n): n for n in read}
    inside, todo = set[str](), [name]
    while todo:
        here = todo.pop()
        if here not in inside:
            inside.add(here)
            mine = [d for d in drafts.values() if d.dish == here]
            todo += [by_plain[c] for d in mine for c in d.uses] + [drafts[d.share_of].dish for d in mine if d.share_of]
    things = [a for n in inside for i in read[n].ingredients.values() for a in i.allergens]
    return frozenset(plain(a) for a in [*things, *(a for n in inside for a in read[n].allergens)])


def _ingredient(card: CardText, dish: str, name: str, i: IngredientCard, path: CardPath, taken: set[str]) -> Ingredient:
    own = slug(name)
    while own in taken:
        own = f"{own}-for-{dish}"
    taken.add(own)
    return Ingredient(
        own,
        plain(name),
        _said(name, i.said_as),
        i.bought,
        i.prepared,
        i.raw,
        i.perishable or i.raw,
        i.kept,
        i.frozen,
        frozenset(plain(a) for a in i.allergens),
        i.composition,
        i.usda_number,
        card.line(path),
    )


def _step(card: CardText, draft: Draft, drafts: dict[str, Draft], kitchen: KitchenCard) -> Step:
    s = draft.read
    assert s is not None  # a card with a step unread has mistakes and is never built
    hold = None if s.hold_best is None or s.hold_most is None else Hold(s.hold_best, s.hold_most, s.hold_on, s.hold_oven)
    span, hands = _times(s)
    return Step(
        slug(draft.name),
        plain(draft.name),
        _said(draft.name, s.said_as),
        slug(draft.dish),
        s.kind,
        span,
        hands,
        after=tuple(dict.fromkeys(slug(drafts[k].name) for k in draft.after)),
        text=s.say,
        look_s=s.first_look if isinstance(s, CookedCard | WaitCard) else None,
        looks=(s.done_looks_like or "") if isinstance(s, CookedCard | WaitCard) else "",
        else_do=(s.otherwise or "") if isinstance(s, WaitCard) else "",
        fry=_fry(s, kitchen) if isinstance(s, FryCard) else None,
        bake=Bake(s.oven, s.preheat, s.stone) if isinstance(s, BakeCard) else None,
        core_c=s.core if isinstance(s, CookedCard) else None,
        share=draft.share,
        share_of=slug(draft.share_of),
        uses=tuple(slug(c) for c in draft.uses),
        makes_perishable=s.perishable,
        raw_in=s.raw,
        ready_out=s.ready_to_eat,
        helper=s.helper,
        hold=hold,
        day=s.day,
        line=card.line(draft.path),
    )


def _times(s: StepCard) -> tuple[Span, float]:
    """How long a step takes and how much of it needs hands, s. A wait usually takes what it takes at least."""
    if isinstance(s, WaitCard):
        return Span(s.at_least, s.at_least, s.at_most if s.at_most is not None else max(NO_LIMIT_S, s.at_least)), s.hands or 0.0
    if isinstance(s, FryCard):
        lower = s.a_piece_takes * math.ceil(s.pieces / s.batches) if s.pieces else _LOWER_UNCOUNTED_S
        return s.takes, s.hands if s.hands is not None else lower + _LIFT_S
    if isinstance(s, CookedCard):
        return s.takes, s.hands if s.hands is not None else min(_HANDS_AT_HEAT_S, s.takes.usual_s)
    assert isinstance(s, HandsCard | FinishCard)
    return s.takes, s.takes.usual_s


def _fry(s: FryCard, kitchen: KitchenCard) -> Fry:
    pot = slug(s.pot if s.pot is not None else next(iter(kitchen.pots)))
    return Fry(
        s.oil,
        s.floor,
        s.weight,
        s.batches,
        pot,
        s.cut,
        s.food_at,
        s.pieces,
        s.under,
        s.over,
        s.wet,
        s.frozen,
        s.coated,
        s.first_of_two,
        s.a_piece_takes,
    )
