"""Raw and ready food, relighting, windows for the planner, and what `stovehand safety` prints."""

import subprocess
import sys
from dataclasses import replace
from itertools import combinations, product

import pytest
from click.testing import CliRunner

from assistant.commands_safety import printed, safety
from assistant.kitchen.cards import find_meal, list_meals, read_card
from assistant.kitchen.food_clocks import DAY, HOUR, Place, place_of_step
from assistant.kitchen.hazards import (
    Hazard,
    before_relighting,
    clean_first,
    closing_check,
    crossing,
    off_questions,
    raw_prompts,
    tongs,
    what_to_change,
)
from assistant.kitchen.limits import windows
from assistant.kitchen.meal import Amount, Dish, Fry, Hold, Ingredient, Keep, Meal, Span, Step, StepKind
from assistant.kitchen.order import plain_order
from assistant.kitchen.rules import rules_for

BUNDLED = [name for name, _ in list_meals()]
FRY = Fry(175.0, 150.0, 0.4, 1, "pot", "chicken wings")


def step(name: str, kind: StepKind = StepKind.HANDS, raw: bool = False, hands: float = 60.0, **more: object) -> Step:
    """A step."""
    fry = FRY if kind is StepKind.FRY else None
    return replace(Step(name, name, (name,), "d", kind, Span(60, 60, 600), hands, raw_in=raw, fry=fry), **more)  # type: ignore[arg-type]


def meal(name: str) -> Meal:
    """A meal that comes with the program."""
    return read_card(find_meal(name))


def test_each_change_from_raw_to_other_food_is_prompted_once() -> None:
    """USDA FSIS, separate: hands that held raw food wash before the next food, once; waits and untouched pans in between change nothing."""
    order = [
        step("trim", raw=True),
        step("rest", StepKind.WAIT, hands=0.0),
        step("salad"),
        step("herbs"),
        step("wings", StepKind.FRY, raw=True),
        step("stock", StepKind.STOVE, hands=0.0),
        step("toss", StepKind.TOSS),
        step("plate", StepKind.PLATE),
    ]
    got = [(p.step, p.at_lift, p.say) for p in raw_prompts(order)]
    assert got == [
        ("salad", False, "Wash hands, new board, new knife, then salad."),
        ("wings", True, "Clean tongs and a clean rack for the cooked pieces."),
        ("toss", False, "Wash hands, clean bowl, then toss."),
    ]


def test_a_card_that_says_wash_your_hands_is_not_repeated() -> None:
    """Where the raw step's own words end in washing, only a cutting board is still asked for."""
    washed = step("trim", raw=True, text="Trim it, then wash your hands.")
    assert crossing(washed, step("salad")) == "New board, new knife for salad."
    assert crossing(washed, step("stir", StepKind.STOVE)) == ""
    assert crossing(step("trim", raw=True), step("bake", StepKind.BAKE)) == "Wash hands, then bake."
    assert clean_first(step("trim", raw=True), step("toss", StepKind.TOSS)) == "Wash hands, clean bowl"


def test_raw_after_raw_and_ready_after_ready_need_no_prompt() -> None:
    """Nothing is said where nothing is carried over, nor before the first step."""
    raw, ready = step("trim", raw=True), step("salad")
    assert crossing(None, ready) == clean_first(None, ready) == ""
    assert crossing(raw, step("bone", raw=True)) == ""
    assert crossing(ready, ready) == ""
    assert crossing(ready, raw) == ""
    assert tongs(step("chips", StepKind.FRY)) == ""


@pytest.mark.parametrize("name", BUNDLED)
def test_prompts_of_our_meals_are_short_and_each_once(name: str) -> None:
    """In every bundled meal no step is prompted twice for one thing, and each prompt has at most 12 words."""
    found = meal(name)
    got = raw_prompts([found.step(s.step) for s in plain_order(found)])
    assert got
    assert len({(p.step, p.at_lift) for p in got}) == len(got)
    assert all(len(p.say.split()) <= 12 for p in got)


@pytest.mark.parametrize(
    ("hazard", "ids"), [(Hazard.BOIL_OVER, ("foam", "wiped")), (Hazard.SMOKE, ("clear", "read")), (Hazard.SPILL, ("cold", "wiped"))]
)
def test_the_burner_stays_off_until_everything_is_answered(hazard: Hazard, ids: tuple[str, ...]) -> None:
    """Common practice: foam down and drips wiped, air clear and oil read, spill cold and floor washed: each is asked until it was answered."""
    for n in range(len(ids)):
        for told in combinations(ids, n):
            asked = before_relighting(hazard, frozenset(told))
            assert asked is not None
            assert asked[0] not in told
            assert len(asked[1].split()) <= 12
    assert before_relighting(hazard, frozenset(ids)) is None


@pytest.mark.parametrize("hazard", [Hazard.FIRE, Hazard.OVEN_FIRE])
def test_what_burned_stays_off(hazard: Hazard) -> None:
    """After a fire that burner or oven is not lit again this evening, whatever is answered."""
    asked = before_relighting(hazard, frozenset({"foam", "wiped", "clear", "read", "cold", "never"}))
    assert asked is not None
    assert asked[0] == "never"


def test_what_to_change_follows_what_was_true() -> None:
    """Less food always, one piece in fresh oil, drier food where it was wet, less oil only once it is cold; worn oil is told from hot oil."""
    assert what_to_change(Hazard.BOIL_OVER) == ("Next drop: half as much, lowered slowly.",)
    both = what_to_change(Hazard.BOIL_OVER, fresh=True, damp=True, too_full=True)
    assert "one piece" in both[0]
    assert "Dry" in both[1]
    assert "cold" in both[2]
    assert "worn" in what_to_change(Hazard.SMOKE, oil_c=180.0)[0]
    assert "too hot" in what_to_change(Hazard.SMOKE, oil_c=215.0)[0]
    for hazard, fresh, damp, full in product(Hazard, (True, False), (True, False), (True, False)):
        lines = what_to_change(hazard, fresh=fresh, damp=damp, too_full=full)
        assert all(len(x.split()) <= 12 for x in lines)
        assert not any("pour" in x.lower() for x in lines)


def test_dinner_is_up_asks_about_everything_that_is_hot_or_spoils() -> None:
    """Burner, oven, handle, children, and what goes into the fridge by when; what is not there is not asked about."""
    away = [("fish", "20:10"), ("sauce", "20:30"), ("rice", "20:40"), ("salad", "21:00")]
    lines = [*off_questions(True, True).values(), *closing_check(True, away)]
    words = " ".join(lines).lower()
    for must in ("burner off", "oven off", "handle", "children", "fish into the fridge by 20:10", "everything else"):
        assert must in words
    assert off_questions(False, False) == {"burner": "Is every burner off?"}
    assert closing_check(False) == ()
    assert all(len(x.split()) <= 12 for x in lines)


def dish(kind: str = "poultry") -> Dish:
    """A dish."""
    return Dish("d", "d", ("d",), (), (), food_kind=kind)


def test_windows_take_the_card_and_the_rule_whichever_is_shorter() -> None:
    """A card that holds longer than USDA's two hours is cut to them; a shorter one stands; a fridge hold is days, a freezer has no end."""
    cooked = step("simmer", StepKind.STOVE, raw=True, makes_perishable=True)
    long = windows(replace(cooked, hold=Hold(HOUR, 5 * HOUR)), dish())
    assert long is not None
    assert (long.most_s, long.warn_s) == (2 * HOUR, 1.5 * HOUR)
    assert "USDA" in long.source
    short = windows(replace(cooked, hold=Hold(600.0, 1800.0)), dish())
    assert short is not None
    assert (short.warn_s, short.most_s, short.source) == (600.0, 1800.0, "the card")
    cold = windows(replace(cooked, hold=Hold(DAY, 9 * DAY, Keep.FRIDGE)), dish())
    assert cold is not None
    assert cold.most_s == 4 * DAY
    hot = windows(replace(cooked, hold=Hold(HOUR, 9 * HOUR, Keep.OVEN)), dish())
    assert hot is not None
    assert hot.most_s == 4 * HOUR
    assert windows(cooked, dish(), Place.FREEZER) is None


def test_windows_of_things_that_do_not_spoil_are_the_cards_alone() -> None:
    """A crisp thing keeps as its card says; a thing without hold and without clock keeps without end; a wait stands for its own most."""
    assert windows(step("mix"), dish("clean")) is None
    crisp = windows(step("salt", StepKind.TOSS, hold=Hold(300.0, 720.0)), dish("potato"))
    assert crisp is not None
    assert crisp.most_s == 720.0
    wait = windows(step("soak", StepKind.WAIT, hands=0.0, else_do="Change the water."), dish("potato"))
    assert wait is not None
    assert (wait.most_s, wait.then_do) == (600.0, "Change the water.")


def test_windows_of_ingredients_and_of_words() -> None:
    """Raw poultry is out two hours, in the fridge two days; a step whose words send it to the fridge is there, one that says nothing is not."""
    raw = Ingredient("t", "thighs", ("thighs",), Amount("1 kg", kg=1.0), raw=True, perishable=True, kept=Keep.FRIDGE)
    out, cold = windows(raw, dish(), Place.COUNTER), windows(raw, dish())
    assert out is not None
    assert cold is not None
    assert (out.most_s, cold.most_s) == (2 * HOUR, 2 * DAY)
    hot_day = windows(raw, dish(), Place.COUNTER, room_c=33.0)
    assert hot_day is not None
    assert hot_day.most_s == HOUR
    assert place_of_step(step("chill", StepKind.WAIT, text="Sauce into the fridge.")) is Place.FRIDGE
    assert place_of_step(step("rest", StepKind.WAIT, else_do="Put it in the fridge.")) is Place.COUNTER


@pytest.mark.parametrize("name", BUNDLED)
def test_every_rule_has_a_source(name: str) -> None:
    """Each printed rule of each bundled meal names where it comes from, and the danger scripts are among them."""
    rules = rules_for(meal(name))
    assert all(r.source and r.text for r in rules)
    topics = {r.topic for r in rules}
    assert {"Done by number", "Food on the clock", "Raw and ready apart", "Hot oil", "In danger"} <= topics


def test_time_at_a_lower_core_is_information_and_the_target_stays() -> None:
    """Poultry: the times of the envelope (110 s at 68.3 C, 34.5 s at 71.1 C) beside the target, and nowhere but for poultry."""
    told = [r for name in BUNDLED for r in rules_for(meal(name)) if r.text.startswith("For information")]
    assert [r.applies_to for r in told] == [("thighs fry",)]
    assert (
        told[0].text
        == "For information, not for use: two minutes at 155 F (68 C) or thirty-five seconds at 160 F (71 C) kills as much; 165 F (74 C) stays."
    )
    assert "FSIS" in told[0].source


@pytest.mark.parametrize(("name", "oil_takes"), [("fish-supper", "fish, wheat"), ("sunday-thighs", "wheat"), ("fritter-night", "egg, wheat")])
def test_the_oil_takes_on_what_goes_into_it(name: str, oil_takes: str) -> None:
    """A sauce that comes on at the table, a glaze after the fry, touch no oil."""
    texts = [r.text for r in rules_for(meal(name)) if r.topic == "Allergens"]
    assert f"Its oil takes {oil_takes} on: nothing fried after that is free of it." in texts


def test_a_kitchen_without_a_thermometer_is_told_in_the_rules() -> None:
    """The meal with raw poultry says that it cannot be called done, instead of a core temperature."""
    found = meal("sunday-thighs")
    bare = replace(found, equipment=replace(found.equipment, core_thermometer=False))
    texts = [r.text for r in rules_for(bare) if r.topic == "Done by number"]
    assert any("cannot be called done" in t for t in texts)
    assert not any(t.startswith("Core 165") for t in texts)


@pytest.mark.parametrize("name", BUNDLED)
def test_the_command_prints_rules_sources_and_cautions(name: str) -> None:
    """`stovehand safety MEAL` ends with 0; each source line follows its rule; local codes go first."""
    got = CliRunner().invoke(safety, [name, "--region", "GB"])
    assert got.exit_code == 0
    assert "nine nine nine" in got.output
    assert "licensed practice go first" in got.output
    assert got.output.count("      [") == len(
        {(r.topic, r.text, r.source) for r in rules_for(meal(name), tuple(meal(name).step(s.step) for s in plain_order(meal(name))), "GB")}
    )


def test_the_command_says_an_unknown_meal_in_one_sentence() -> None:
    """A meal that is not there is a fault of use: exit 2."""
    got = CliRunner().invoke(safety, ["no-such-meal"])
    assert got.exit_code == 2
    assert "no-such-meal" in got.output


def test_rules_with_the_same_words_are_printed_once() -> None:
    """Things under one rule share its line."""
    rules = rules_for(meal("fish-supper"))
    text = printed(rules)
    assert text.count("At most two hours out of the fridge; then: fridge or use.") == 1
    assert "mayonnaise, butter" in text


def test_what_a_session_imports_is_light() -> None:
    """Ledger, notices, scripts, doneness and windows load neither numpy nor scipy nor a solver."""
    code = (
        "import sys; import assistant.kitchen.limits, assistant.kitchen.ledger, assistant.kitchen.notices, assistant.kitchen.scripts; "
        "import assistant.kitchen.doneness, assistant.kitchen.hazards, assistant.kitchen.drop_check, assistant.kitchen.rules; "
        "print([m for m in ('numpy', 'scipy', 'ortools', 'pydantic') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
