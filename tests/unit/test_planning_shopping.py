"""The shopping list: added up, as bought, in packs, less what is in the house."""

from __future__ import annotations

from dataclasses import replace

import pytest
from planning_kit import POT, dish, fried, fry, meal, step

from assistant.kitchen.cards import find_meal, read_card
from assistant.kitchen.meal import OPEN_FLAME, Amount, Equipment, Heat, Hold, Ingredient, Meal, StepKind
from assistant.kitchen.scale import scaled
from assistant.kitchen.shopping import REFUSE, SAFER, HaveError, Need, read_have, refuse, shopping


def thing(name: str, bought: Amount, prepared: Amount | None = None) -> Ingredient:
    return Ingredient(name.replace(" ", "-"), name, (name,), bought, prepared)


def kilos(kg: float) -> Amount:
    return Amount(f"{kg} kg", kg)


def with_things(*things: Ingredient, coated: bool = False) -> Meal:
    oil = step("it-fry", StepKind.FRY, dish="it", fry=fry(1.0, 2, coated=coated), hold=Hold(300, 600))
    return meal(replace(dish("it", oil), ingredients=things))


def need(card: Meal, name: str, have: str = "") -> Need:
    stock = read_have(have, [i.name for i in card.ingredients()] + ["oil for frying"])
    return next(n for n in shopping(card, stock).needs if n.name == name)


# from the file SR28 FOOD_DES, column Refuse
SR28 = [("potatoes", "11353", 25), ("raw onions", "11282", 10), ("whole cauliflower", "11135", 61), ("carrots", "11124", 11), ("eggs", "01123", 12)]


@pytest.mark.parametrize(("name", "number", "percent"), SR28)
def test_refuse_figures_are_usdas(name: str, number: str, percent: int) -> None:
    """USDA National Nutrient Database for Standard Reference 28: potatoes 25 %, onions 10 %, cauliflower 61 %, carrots 11 %, eggs 12 %."""
    assert refuse(name) == (number, percent / 100)


@pytest.mark.parametrize("name", ["white fish", "flour", "eggplant"])
def test_what_has_no_refuse_has_none(name: str) -> None:
    """An eggplant is no egg."""
    assert refuse(name) is None


@pytest.mark.parametrize(
    ("bought", "prepared", "buys"),
    [(0.55, 0.44, "600 g"), (0.80, 0.44, "800 g"), (0.55, None, "550 g"), (1.2, 1.0, "1.4 kg")],
)
def test_enough_is_bought_for_what_is_eaten(bought: float, prepared: float | None, buys: str) -> None:
    """Potatoes lose a quarter (USDA 11353): 440 g prepared want 587 g, whatever less the card has; rounded up to what a shop weighs."""
    assert need(with_things(thing("potatoes", kilos(bought), kilos(prepared) if prepared else None)), "potatoes").buy == buys


def test_one_line_for_one_thing_in_two_dishes() -> None:
    """Flour by weight here and by the cup there: one cup is 125 g (USDA 20081), so 375 g, in a pack."""
    cup = 0.2366
    one = replace(dish("one", step("a", dish="one")), ingredients=(thing("flour", kilos(0.25)),))
    two = replace(dish("two", step("b", dish="two")), ingredients=(thing("flour", Amount("1 cup", litres=cup)),))
    line = need(meal(one, two), "flour")
    assert line.need == "375 g"
    assert line.buy == "500 g"
    assert line.dishes == ("one", "two")


def test_coating_has_a_fifth_to_spare() -> None:
    """100 g of crumbs for coated food: 120 g; for food that is not coated: 100 g."""
    assert need(with_things(thing("crumbs", kilos(0.1)), coated=True), "crumbs").need == "120 g"
    assert need(with_things(thing("crumbs", kilos(0.1))), "crumbs").need == "100 g"


def test_oil_is_the_pot_the_uptake_and_fifteen_percent() -> None:
    """2 l and 10 % of 1 kg fried (0.109 l): 2.109 l, and 15 %: 2.42 l, sold in 3 l. Oil that is in the pot already is not bought."""
    line = need(with_things(thing("salt", kilos(0.01))), "oil for frying")
    assert line.need == "2.42 l"
    assert line.buy == "3 l"
    used = replace(with_things(thing("salt", kilos(0.01))), equipment=Equipment((replace(POT, fresh_oil=False),)))
    assert "oil for frying" not in {n.name for n in shopping(used).needs}


@pytest.mark.parametrize(
    ("have", "buys"),
    [("potatoes: 250 g", "300 g"), ("potatoes: 1 lb", "100 g"), ("potatoes: 2 kg # a sack", ""), ("", "550 g"), ("# nothing", "550 g")],
)
def test_what_is_in_the_house_is_not_bought(have: str, buys: str) -> None:
    """In any unit pint knows; a pound is 453.6 g."""
    assert need(with_things(thing("potatoes", kilos(0.55))), "potatoes", have).buy == buys


@pytest.mark.parametrize(("eggs", "have", "buys"), [(2, "", "6"), (7, "", "10"), (3, "eggs: 2", "6"), (2, "eggs: 2", "")])
def test_pieces_are_whole_and_eggs_come_in_boxes(eggs: int, have: str, buys: str) -> None:
    """Six, ten or twelve (common practice)."""
    assert need(with_things(thing("eggs", Amount(f"{eggs}", pieces=eggs))), "eggs", have).buy == buys


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("potatos: 1 kg", r"line 1: nothing on the list is called 'potatos'. Did you mean 'potatoes'\?"),
        ("\npotatoes 1 kg", "line 2: 'potatoes 1 kg' wants a name, a colon and an amount"),
        ("potatoes: lots", "line 1: 'lots' is no amount; write it like '500 g'"),
        ("potatoes: 3 m", "line 1: '3 m' is no amount"),
        ("potatoes: -1 kg", "line 1: '-1 kg' is no amount"),
    ],
)
def test_a_line_that_cannot_be_read_is_one_sentence(text: str, says: str) -> None:
    """Line, what is wrong, how it is written."""
    with pytest.raises(HaveError, match=says):
        read_have(text, ["potatoes"])


def test_missing_thermometers_are_on_the_list() -> None:
    """Without one the oil is a guess; a core thermometer only where a core is read."""
    without = meal(fried("chips"), equipment=Equipment((POT,), oil_thermometer=False, core_thermometer=False))
    assert {n.name for n in shopping(without).needs if n.buy} >= {"oil thermometer"}
    assert "core thermometer" not in {n.name for n in shopping(without).needs}
    card = read_card(find_meal("sunday-thighs"))
    card = replace(card, equipment=replace(card.equipment, core_thermometer=False))
    assert "core thermometer" in {n.name for n in shopping(card).needs}


@pytest.mark.parametrize("heat", list(Heat))
def test_what_is_to_be_out_prefers_induction_to_a_flame(heat: Heat) -> None:
    """A pot over an open flame has one line about what is safer, once; no other pot has."""
    pots = (replace(POT, heat=heat), replace(POT, id="other", name="other pot", heat=heat))
    out = shopping(meal(fried("chips"), equipment=Equipment(pots))).equipment
    assert out.count(SAFER) == (1 if heat in OPEN_FLAME else 0)


def test_quantities_grow_with_the_people() -> None:
    """Three times the people, three times the fish; the pot's oil stays."""
    card = read_card(find_meal("fish-supper"))
    two, six = (shopping(scaled(card, n)) for n in (2, 6))
    fish = [next(n.need for n in s.needs if n.name == "white fish") for s in (two, six)]
    assert fish == ["270 g", "810 g"]


def test_every_figure_is_a_part() -> None:
    """Refuse is a share of what is bought."""
    assert all(0.0 < part < 0.7 for _, part in REFUSE.values())


@pytest.mark.parametrize(
    ("name", "amount", "buys"),
    [
        ("salt", Amount("1 teaspoon", litres=0.00493), "500 g"),
        ("sweet paprika", Amount("2 teaspoons", litres=0.00986), "40 g"),
        ("capers", Amount("1 tablespoon", litres=0.01479), "100 g"),
        ("yeast", Amount("1 teaspoon", litres=0.00493), "7 g"),
        ("star anise", Amount("1 teaspoon", litres=0.00493), "50 g"),
        ("olive oil", Amount("3 tablespoons", litres=0.04436), "500 ml"),
        ("parsley", Amount("6 sprigs", pieces=6.0), "1 bunch"),
        ("parsley", Amount("20 sprigs", pieces=20.0), "2 bunches"),
        ("mint", Amount("1 bunch", pieces=1.0), "1 bunch"),
        ("garlic", Amount("3 cloves", pieces=3.0), "1 head"),
        ("lemon", Amount("1 piece", pieces=1.0), "1"),
    ],
)
def test_things_are_bought_as_a_shop_sells_them(name: str, amount: Amount, buys: str) -> None:
    """What is not poured is weighed (spoon weights of USDA's tables, from memory), herbs come by the bunch, garlic by the head."""
    assert need(with_things(thing(name, amount)), name).buy == buys


def test_for_three_times_as_many_the_words_stay() -> None:
    """Six sprigs for two are eighteen for six: two bunches; one in the house leaves one to buy."""
    card = scaled(with_things(thing("parsley", Amount("6 sprigs", pieces=6.0))), 6)
    assert (need(card, "parsley").need, need(card, "parsley").buy) == ("18 sprigs", "2 bunches")
    assert need(card, "parsley", "parsley: 1 bunch").buy == "1 bunch"
