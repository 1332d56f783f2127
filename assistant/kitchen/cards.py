"""Meal cards: from a YAML file a cook wrote by hand to a `Meal`, or to every mistake in it at once, each with its line and the way out.

A meal is found by its name in the user's own folder first, then among those that come with the program. Reading a card is `card_build`'s work; what
it takes (pydantic, YAML) is loaded only for a card that is not on the shelf (`card_shelf`) as it is now.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from importlib import resources
from pathlib import Path
from typing import Any

import platformdirs

from assistant.kitchen import card_shelf
from assistant.kitchen.card_names import MEAL_NAME, did_you_mean, slug
from assistant.kitchen.card_text import MealCardError, Mistake
from assistant.kitchen.meal import Dish, Meal

__all__ = ["MealCardError", "Mistake", "find_meal", "list_meals", "new_card", "read_card", "read_text", "user_meals"]

BUNDLED = Path(str(resources.files("assistant.kitchen"))) / "meals"
_TEMPLATE = BUNDLED.parent / "card_template.yaml"
_read: dict[tuple[str, str], Meal] = {}  # an evening reads its card when it begins and again as it is replayed
_MOST_READ = 8


def read_card(path: Path) -> Meal:
    """The meal on this card. Raises MealCardError with every mistake, also when the file cannot be read."""
    try:
        text = path.read_text(encoding="utf-8")
    except UnicodeDecodeError:
        raise _one(path.name, f"{path.name} is no plain text in UTF-8; save it as such.") from None
    except OSError as e:
        raise _one(path.name, f"{path.name} cannot be opened ({e.strerror}); check its name and who may read it.") from None
    known = _read.get((text, path.name)) or card_shelf.take(text, path.name)
    if known is not None:
        return _remember(text, path.name, known)
    meal = read_text(text, path.name)
    card_shelf.put(text, path.name, meal)
    return meal


def read_text(text: str, file: str) -> Meal:
    """The meal on this card; `file` gives the meal its id and the mistakes their place. Raises MealCardError with every mistake."""
    known = _read.get((text, file))
    if known is not None:
        return known
    from assistant.kitchen.card_build import build_meal

    return _remember(text, file, build_meal(text, file))


def _remember(text: str, file: str, meal: Meal) -> Meal:
    if len(_read) >= _MOST_READ:
        _read.clear()
    _read[text, file] = meal
    return meal


def _one(file: str, words: str) -> MealCardError:
    return MealCardError((Mistake(file, 0, words),))


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
    if not MEAL_NAME.fullmatch(name):
        better = slug(re.sub(r"[^A-Za-z]+", " ", name)) or "my-meal"
        raise _one(f"{better}.yaml", f"'{name}' cannot name a meal; use lower-case words with hyphens, such as '{better}'.")
    return _TEMPLATE.read_text(encoding="utf-8").replace("TITLE", name.replace("-", " ").capitalize())
