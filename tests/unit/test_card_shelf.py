"""Cards already read are taken from the shelf only when nothing has changed, and nothing on the shelf can do harm."""

from __future__ import annotations

import os
import pickle
import subprocess
import sys
from pathlib import Path

import pytest

from assistant.kitchen import card_shelf, cards
from assistant.kitchen.cards import find_meal, list_meals, read_card, read_text

FISH = find_meal("fish-supper")
TEXT = FISH.read_text(encoding="utf-8")


@pytest.fixture
def shelf(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty shelf, and a program that has read no card yet."""
    monkeypatch.setattr(cards, "_read", {})
    return tmp_path / "cache" / "stovehand" / "cards"


@pytest.mark.parametrize("name", [n for n, _ in list_meals()])
def test_a_meal_comes_back_from_the_shelf_as_it_was(name: str, shelf: Path) -> None:
    """What is taken is equal to what was put, for every bundled meal."""
    path = find_meal(name)
    meal = read_card(path)
    assert [p.name for p in shelf.iterdir()] == [f"{name}.pickle"]
    assert card_shelf.take(path.read_text(encoding="utf-8"), path.name) == meal


def test_another_text_or_name_is_read_anew(shelf: Path) -> None:
    """A card that was changed by one letter, or lies in a file of another name, is not taken."""
    card_shelf.put(TEXT, "fish-supper.yaml", read_text(TEXT, "fish-supper.yaml"))
    assert card_shelf.take(TEXT.replace("serves: 2", "serves: 5"), "fish-supper.yaml") is None
    assert card_shelf.take(TEXT, "fish-supper.yml") is None
    card = shelf.parent / "fish-supper.yaml"
    card.write_text(TEXT.replace("serves: 2", "serves: 5"))
    assert read_card(card).serves == 5


def test_another_program_reads_anew(shelf: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A reader of cards that was changed since takes nothing."""
    card_shelf.put(TEXT, "fish-supper.yaml", read_text(TEXT, "fish-supper.yaml"))
    monkeypatch.setattr(card_shelf, "_program", lambda: (("meal.py", 1, 1),))
    assert card_shelf.take(TEXT, "fish-supper.yaml") is None


class Mischief:
    """Would make a file when it is unpickled."""

    def __init__(self, path: Path) -> None:
        self.path = path

    def __reduce__(self) -> tuple[object, tuple[str]]:
        return os.mkdir, (str(self.path),)


def test_a_damaged_or_wicked_file_is_not_there(shelf: Path, tmp_path: Path) -> None:
    """Half a file, an empty one, and one that would run something: the card is read, and nothing else happens."""
    meal = read_card(FISH)
    kept = shelf / "fish-supper.pickle"
    no_meal = pickle.dumps((card_shelf._program(), (TEXT, FISH.name), 7))
    for wrong in (kept.read_bytes()[:400], b"", pickle.dumps(Mischief(tmp_path / "made")), no_meal):
        kept.write_bytes(wrong)
        assert card_shelf.take(TEXT, FISH.name) is None
    assert not (tmp_path / "made").exists()
    assert read_card(FISH) == meal


def test_where_nothing_can_be_kept_the_card_is_read(shelf: Path) -> None:
    """A cache folder that is a file, as a full or read-only disk, costs nothing but time."""
    shelf.parent.parent.mkdir(parents=True)
    shelf.parent.write_text("in the way")
    assert read_card(FISH).id == "fish-supper"


def test_a_card_from_the_shelf_needs_no_reader(shelf: Path) -> None:
    """Neither pydantic nor YAML is loaded for a card that has not changed."""
    read_card(FISH)
    code = (
        "import sys\nfrom assistant.kitchen.cards import find_meal, read_card\nread_card(find_meal('fish-supper'))\n"
        "print([m for m in ('pydantic', 'ruamel.yaml', 'rapidfuzz', 'assistant.kitchen.card_build') if m in sys.modules])"
    )
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout == "[]\n"
