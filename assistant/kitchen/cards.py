"""Meal cards: from a YAML file a cook wrote by hand to a `Meal`, or to every mistake in it at once, each with its line and the way out.

The path of a card: text with line numbers (`card_text`), sections (`card_model`, `card_faults`), steps related to each other (`card_steps`), checks
across all of it (`card_checks`), and here the `Meal`, built only when nothing was found. The keys are explained in the card that `new_card`
writes. A meal is found by its name in the user's own folder first, then among those that come with the program.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from functools import lru_cache
from importlib import resources
from pathlib import Path
from typing import Any

import platformdirs

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
from assistant.kitchen.card_names import did_you_mean, plain, slug
from assistant.kitchen.card_steps import Draft, draft_steps
from assistant.kitchen.card_text import CardPath, CardText, MealCardError, Mistake, load
from assistant.kitchen.meal import NO_LIMIT_S, Bake, Dish, Equipment, Fry, Hold, Ingredient, Meal, Pot, Span, Step

__all__ = ["MealCardError", "Mistake", "find_meal", "list_meals", "new_card", "read_card", "read_text", "user_meals"]

BUNDLED = Path(str(resources.files("assistant.kitchen"))) / "meals"
_TEMPLATE = BUNDLED.parent / "card_template.yaml"
_NAME = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*")
_LOWER_UNCOUNTED_S = 20.0  # hands to lower a batch that is not counted in pieces, s: common practice, no source
_LIFT_S = 20.0  # hands to lift and drain a batch, s: common practice, no source
_HANDS_AT_HEAT_S = 60.0  # hands that something in the oven or on the stove takes when the card does not say, s: common practice, no source


def read_card(path: Path) -> Meal:
    """The meal on this card. Raises MealCardError with every mistake, also when the file cannot be read."""
    try:
        text = path.read_text(encoding="utf-8")
    except UnicodeDecodeError:
        raise _one(path.name, "This file is no plain text in UTF-8; save it as such.") from None
    except OSError as e:
        raise _one(path.name, f"The card cannot be opened ({e.strerror}); check its name and who may read it.") from None
    return read_text(text, path.name)


@lru_cache(maxsize=8)  # an evening reads its card when it begins and again as it is replayed
def read_text(text: str, file: str) -> Meal:
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
    if not _NAME.fullmatch(stem):
        card.fault((), f"The file is called '{stem}', and commands take lower-case words with hyphens; rename it '{slug(stem) or 'my-meal'}.yaml'.")
    head = checks.whole(whole, card)
    dishes = _dishes(card, {n: checks.whole(s, card) for n, s in read.items()}, paths, drafts, head.kitchen)
    return Meal(stem, head.title, head.serves, dishes, _equipment(head.kitchen), file)


def _one(file: str, words: str) -> MealCardError:
    return MealCardError((Mistake(file, 1, words),))


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


def user_meals() -> Path:
    """The folder for a cook's own cards; it need not exist."""
    return platformdirs.user_data_path("stovehand") / "meals"


def _known(folder: Path | None) -> dict[str, Path]:
    """Every meal by name; a cook's own card hides one of the same name that comes with the program."""
    found: dict[str, Path] = {}
    for place in (BUNDLED, folder if folder is not None else user_meals()):
        try:
            found.update({p.stem: p for p in sorted(place.glob("*.yaml"))})
        except OSError:
            continue
    return dict(sorted(found.items()))


def find_meal(name_or_path: str, folder: Path | None = None) -> Path:
    """The card of a meal, by name or by path; folder: the cook's own cards (None: the usual place). Raises MealCardError when there is none."""
    known = _known(folder)
    if name_or_path in known:
        return known[name_or_path]
    path = Path(name_or_path)
    if path.suffix in (".yaml", ".yml") or len(path.parts) > 1:
        if path.is_file():
            return path
        near = did_you_mean(path.stem, known)
        raise _one(path.name, f"There is no card at '{name_or_path}'; check the path, or write one with 'stovehand meals new NAME'.{near}")
    near = did_you_mean(name_or_path, known) or f" There are: {', '.join(known)}."
    raise _one(name_or_path, f"No meal is called '{name_or_path}'.{near}")


def list_meals(folder: Path | None = None) -> list[tuple[str, str]]:
    """Name and title of every meal, by name. A card with mistakes is listed too, with what `title` says or its name."""
    return [(name, _title(path) or name) for name, path in _known(folder).items()]


def other_dishes(meal: Meal, folder: Path | None = None) -> Iterator[Dish]:
    """The dishes of every other meal, for one that cannot be cooked here; a card with mistakes has none."""
    for name, path in _known(folder).items():
        if name != meal.id:
            try:
                yield from read_card(path).dishes
            except MealCardError:
                continue


def _title(path: Path) -> str | None:
    try:
        found: Any = re.search(r"^title:[ \t]*(?:\"([^\"\n]*)\"|'([^'\n]*)'|([^#\n]*))", path.read_text(encoding="utf-8"), re.MULTILINE)
    except (OSError, UnicodeDecodeError):
        return None
    return next((g.strip() for g in found.groups() if g and g.strip()), None) if found else None


def new_card(name: str) -> str:
    """A commented card to start from, which reads without a mistake. Raises MealCardError when `name` cannot name a meal."""
    if not _NAME.fullmatch(name):
        better = slug(re.sub(r"[^A-Za-z]+", " ", name)) or "my-meal"
        raise _one(f"{better}.yaml", f"'{name}' cannot name a meal; use lower-case words with hyphens, such as '{better}'.")
    return _TEMPLATE.read_text(encoding="utf-8").replace("TITLE", name.replace("-", " ").capitalize())
