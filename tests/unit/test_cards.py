"""Cards that read: the meals that come along, finding them, and the card to start from."""

from __future__ import annotations

from pathlib import Path

import pytest

from assistant.kitchen.cards import MealCardError, find_meal, list_meals, new_card, read_card, read_text
from assistant.kitchen.meal import StepKind, names

MEALS = [name for name, _ in list_meals(Path("no such folder"))]


def test_fish_supper_is_read_whole() -> None:
    """The first meal, spot-checked against its card: times in seconds, temperatures in Celsius, weights in kilograms."""
    meal = read_card(find_meal("fish-supper"))
    assert (meal.id, meal.serves) == ("fish-supper", 2)
    fry = meal.step("chips-first-fry")
    assert fry.kind is StepKind.FRY
    assert fry.fry is not None
    assert (fry.span.least_s, fry.span.most_s, fry.look_s, fry.looks) == (300, 420, 300, "limp and pale")
    assert fry.fry.oil_c == pytest.approx(148.9, abs=0.05)
    assert (fry.fry.kg, fry.fry.batches, fry.fry.first_stage, fry.fry.pot) == (0.44, 2, True, "big-pot")
    assert fry.after == ("chips-dry",)
    assert set(meal.step("fish-plate").after) == {"fish-drain", "lemon-cut", "sauce-chill"}
    assert dict(meal.dish("fish").uses) == {"tartare-sauce": pytest.approx(2 / 3, abs=1e-5)}
    assert meal.dish("fish").allergens == {"fish", "wheat", "egg", "mustard"}
    assert meal.dish("tartare-sauce").component


def test_list_and_find_agree(tmp_path: Path) -> None:
    """What is listed is found by name, a cook's own card hides a bundled one, and a path is taken as it is."""
    own = tmp_path / "fish-supper.yaml"
    own.write_text("title: Mine\n", encoding="utf-8")
    assert ("fish-supper", "Mine") in list_meals(tmp_path)
    assert find_meal("fish-supper", tmp_path) == own
    assert find_meal(str(own)) == own
    assert [name for name, _ in list_meals(tmp_path / "none")] == sorted(MEALS)


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        ("fish-super", "No meal is called 'fish-super'. Did you mean 'fish-supper'?"),
        ("qqq", "No meal is called 'qqq'. There are: "),
        ("somewhere/else.yaml", "There is no card at 'somewhere/else.yaml'; check the path"),
    ],
)
def test_an_unknown_meal_is_one_sentence(asked: str, says: str) -> None:
    """A name that no meal has gets the nearest one, or the list."""
    with pytest.raises(MealCardError) as e:
        find_meal(asked, Path("no such folder"))
    assert says in str(e.value)
    assert len(e.value.mistakes) == 1


def test_the_new_card_reads() -> None:
    """The commented card to start from has no mistake in it and carries the name."""
    meal = read_text(new_card("sunday-lunch"), "sunday-lunch.yaml")
    assert (meal.id, meal.title) == ("sunday-lunch", "Sunday lunch")


@pytest.mark.parametrize("name", ["Sunday Lunch", "a/b", "", "x_y"])
def test_a_new_card_wants_a_name_for_commands(name: str) -> None:
    """A name that a command could not take is refused with one that it could."""
    with pytest.raises(MealCardError, match="lower-case words with hyphens"):
        new_card(name)


@pytest.mark.parametrize("name", MEALS)
def test_names_of_a_meal_are_its_own(name: str) -> None:
    """No two things of a meal are said alike."""
    said = [form for thing in names(read_card(find_meal(name))) for form in thing.said]
    assert len(said) == len(set(said))
