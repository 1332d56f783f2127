"""Cards that read: the meals that come along, finding them, and the card to start from."""

from __future__ import annotations

from pathlib import Path

import pocketsphinx  # type: ignore[import-untyped]
import pytest

from assistant.kitchen.cards import MealCardError, find_meal, list_meals, new_card, read_card, read_text
from assistant.kitchen.limits import batch_limits
from assistant.kitchen.meal import Meal, StepKind, names

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
        ("fish-suppr.yaml", "Did you mean 'fish-supper'?"),
        ("somewhere/else.yaml", "There is no card at 'somewhere/else.yaml'; check the path"),
    ],
)
def test_an_unknown_meal_is_one_sentence(asked: str, says: str) -> None:
    """A name that no meal has gets the nearest one, or the list."""
    with pytest.raises(MealCardError) as e:
        find_meal(asked, Path("no such folder"))
    assert says in str(e.value)
    assert "line 1" not in str(e.value)
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


def _bundled() -> list[Meal]:
    return [read_card(find_meal(name, Path("no such folder"))) for name in MEALS]


def test_the_meals_between_them_use_what_cards_can_say() -> None:
    """Double frying, coated food, poultry to its core, chilled ahead, dough, an oven dish, a stove sauce, a divided lot, a shared component."""
    steps = [s for meal in _bundled() for s in meal.steps()]
    fries = [s.fry for s in steps if s.fry]
    assert any(f.first_stage for f in fries)
    assert any(f.coated and "cod" in f.cut for f in fries)
    assert any(s.core_c is not None and s.core_c >= 73.8 and s.raw_in for s in steps)
    assert any(s.kind is StepKind.WAIT and s.day == "day before" and s.makes_perishable for s in steps)
    assert {StepKind.BAKE, StepKind.STOVE, StepKind.TOSS, StepKind.PLATE} <= {s.kind for s in steps}
    assert any(s.bake and s.bake.stone for s in steps)
    assert any(s.share < 1 for s in steps)
    for meal in _bundled():
        assert any(sum(c.id in dict(d.uses) for d in meal.dishes) == 2 for c in meal.dishes if c.component), meal.id
        assert any(d.allergens for d in meal.dishes)


def test_no_meal_fries_poultry_and_thin_potato_and_bakes_dough() -> None:
    """Fried poultry pieces, thin potato sticks and baked dough never meet in one evening of ours."""
    for meal in _bundled():
        cuts = " ".join(s.fry.cut for s in meal.steps() if s.fry)
        three = ("chicken" in cuts, "potato sticks" in cuts, any(d.food_kind == "dough" for d in meal.dishes))
        assert sum(three) <= 1, meal.id


def test_raw_poultry_is_always_read_at_165_f() -> None:
    """165 F, 73.9 C: poultry of any kind in the chart of safe minimum internal temperatures of the US food safety agencies."""
    for meal in _bundled():
        for dish in meal.dishes:
            if dish.food_kind == "poultry":
                assert max(s.core_c or 0.0 for s in dish.steps) == pytest.approx(73.9, abs=0.05)


@pytest.mark.parametrize("name", MEALS)
def test_batches_of_our_meals_fit_their_pots(name: str) -> None:
    """No fry of ours needs smaller batches than its card says: the oil stays above the floor and below the rim."""
    meal = read_card(find_meal(name, Path("no such folder")))
    for step in meal.steps():
        if step.fry is not None:
            pot = next(p for p in meal.equipment.pots if p.id == step.fry.pot)
            assert batch_limits(step, pot).most_kg >= step.fry.kg / step.fry.batches - 1e-6, step.id


@pytest.mark.parametrize("name", MEALS)
def test_what_is_spoken_is_short_and_every_step_has_words(name: str) -> None:
    """Every step of ours says what to do in twelve words at most, every step at heat what done looks like."""
    for step in read_card(find_meal(name, Path("no such folder"))).steps():
        assert 1 <= len(step.text.split()) <= 12, step.id
        if step.kind in (StepKind.FRY, StepKind.BAKE, StepKind.STOVE):
            assert step.looks, step.id
            assert step.look_s is not None, step.id
            assert step.look_s <= step.span.most_s, step.id


def test_names_are_common_words() -> None:
    """Every word a cook says of our meals stands in the pronouncing dictionary of an independent recogniser, but for two."""
    with open(Path(pocketsphinx.get_model_path()) / "en-us" / "cmudict-en-us.dict", encoding="utf-8") as lines:
        known = {line.split()[0].split("(")[0] for line in lines}
    words = {word for meal in _bundled() for thing in names(meal) for form in thing.said for word in form.split()}
    assert words - known <= {"fritters", "tartare"}
