"""The oil in a running evening: a pot nobody has measured, how many may go in, who can eat what was fried."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from kitchen_kit import Kit, first_event

from assistant.keeping import with_what_there_was
from assistant.kitchen.cards import find_meal
from assistant.kitchen.meal import Heat
from assistant.kitchen.oil import kept
from assistant.kitchen.oil.allergens import allergens_into_oil
from assistant.kitchen.oil.batch import BatchLimit
from assistant.kitchen.oil.bread import bread_c
from assistant.kitchen.oil.described import PotTold
from assistant.kitchen.oil.estimate import Learned
from assistant.kitchen.oil.headroom import Limit
from assistant.kitchen.oil.life import TOP_UP_RULES, OilLife, Sign, Verdict
from assistant.session import events as e
from assistant.session.evolve import first_state, replay
from assistant.session.oil import opened, to_keep
from assistant.session.oil_gate import largest
from assistant.session.state import Batch, Status

ENDS = "Then that oil ends here. Never with new oil."
SIZES = ("      width: 28 cm\n", "      height: 20 cm\n", "      oil: 2.2 litres\n", "      power: 3 kW\n")


@pytest.fixture
def unmeasured(tmp_path: Path) -> Kit:
    """The fish supper with a pot whose sizes are not on the card."""
    text = find_meal("fish-supper").read_text(encoding="utf-8")
    for line in SIZES:
        assert line in text
        text = text.replace(line, "")
    path = tmp_path / "bare-pot.yaml"
    path.write_text(text, encoding="utf-8")
    return Kit(str(path))


def test_an_unmeasured_pot_is_asked_for_piece_by_piece(unmeasured: Kit) -> None:
    """Width, height, oil by depth and burner are asked one after the other, once, and the pot is then estimated."""
    kit = unmeasured
    assert kit.say(5, "yes")[-1] == "How wide inside is the big pot? Inches or centimetres."
    assert kit.say(10, "ten inches") == ["How high inside is the big pot?"]
    assert kit.say(15, "twenty centimetres") == ["How deep is the cold oil, or how many litres?"]
    assert kit.say(20, "four centimetres") == ["Is the burner small, medium or large? Watts will do."]
    assert kit.say(25, "medium")[0] == "Good, the pot is known."
    fry = next(s for s in kit.state.meal.steps() if s.fry is not None)
    pot = kit.state.pot_of(fry)
    assert pot.width_m == pytest.approx(0.254)
    assert pot.height_m == pytest.approx(0.2)
    assert pot.power_w == 1750.0
    assert pot.oil_litres == pytest.approx(1000 * 0.04 * 3.14159265 * 0.254**2 / 4)
    assert kit.state.pots[pot.id].estimate is not None
    assert kit.state.pots[pot.id].life.litres == pytest.approx(pot.oil_litres)
    assert len([x for x in kit.events if isinstance(x, e.Asked) and x.question.startswith("pot:")]) == 4


def test_a_flame_is_named_once_where_the_pot_is_chosen(unmeasured: Kit) -> None:
    """Before the first question about a pot on gas: what is safer. Whoever has induction says so, and the model, the foam's margin and the check
    take it; the question that was open is put again."""
    kit = unmeasured
    said = kit.say(5, "yes")
    assert said[-2:] == ["An induction hob or thermostat fryer is safer than a flame.", "How wide inside is the big pot? Inches or centimetres."]
    assert kit.say(10, "induction") == ["How wide inside is the big pot? Inches or centimetres."]
    for t, words in ((15, "ten inches"), (20, "eight inches"), (25, "two litres")):
        assert not [w for w in kit.say(t, words) if "safer" in w]
    kit.say(30, "medium")
    pot = kit.state.pot_now("big-pot")
    assert (pot.heat, pot.power_w) == (Heat.INDUCTION, 2100.0)
    assert replay(kit.events) == kit.state


def test_a_fryer_instead_is_asked_for_its_marks_and_its_label(unmeasured: Kit) -> None:
    """An electric fryer needs no width or height: the litres between its marks and the watts on its label; its oil is estimated by its thermostat."""
    kit = unmeasured
    kit.say(5, "yes")
    assert kit.say(10, "an electric fryer") == ["How many litres between the fryer's marks?"]
    assert kit.say(15, "three litres") == ["How many watts has the fryer? Its label says."]
    assert kit.say(20, "eighteen hundred watts")[0] == "Good, the pot is known."
    pot, estimate = kit.state.pot_now("big-pot"), kit.state.pots["big-pot"].estimate
    assert (pot.heat, pot.power_w, pot.width_m) == (Heat.FRYER, 1800.0, None)
    assert estimate is not None
    assert estimate.vessel.thermostat_c is not None


def test_a_kitchen_high_up_is_in_the_model() -> None:
    """The altitude an evening begins with is every pot's, and a journal without one is at the sea."""
    high = Kit(before={"altitude_m": 1609.0}).state.pots["big-pot"].estimate
    low = Kit().state.pots["big-pot"].estimate
    assert high is not None
    assert low is not None
    assert (high.vessel.boiling_c, low.vessel.boiling_c) == (pytest.approx(94.6, abs=0.1), pytest.approx(100.0, abs=0.1))
    assert replay([first_event()]).pot_now("big-pot").altitude_m == 0.0


@pytest.mark.parametrize(("words", "metres"), [("ten", 0.254), ("twenty-six", 0.26), ("10 inches", 0.254), ("26 cm", 0.26)])
def test_a_width_in_any_words(unmeasured: Kit, words: str, metres: float) -> None:
    """A bare number is inches for a Fahrenheit cook up to twenty, centimetres above."""
    unmeasured.say(5, "yes")
    unmeasured.say(10, words)
    assert next(iter(unmeasured.state.pots.values())).told.width_m == pytest.approx(metres)


def test_a_size_outside_sense_is_asked_once_more(unmeasured: Kit) -> None:
    """Two inches are questioned once, in inches; the second such answer is left, and the next piece is asked."""
    unmeasured.say(5, "yes")
    assert unmeasured.say(10, "two inches")[0] == "Width 2 inches? It should be 3.94 to 31.5."
    assert unmeasured.say(15, "two inches") == ["Then I reckon carefully. Small batches.", "How high inside is the big pot?"]
    assert next(iter(unmeasured.state.pots.values())).told == PotTold()


@pytest.mark.parametrize(
    ("words", "litres"),
    [("two bottles", 2.0), ("a quart", 0.946), ("two quarts", 1.893), ("half a gallon", 1.893), ("two litres", 2.0), ("two", 2.0)],
)
def test_oil_in_any_words(unmeasured: Kit, words: str, litres: float) -> None:
    """Bottles (of a litre, common practice), quarts and gallons (NIST Handbook 44) or litres; a bare number is litres."""
    for t, said in ((5, "yes"), (10, "ten inches"), (15, "eight inches")):
        unmeasured.say(t, said)
    unmeasured.say(20, words)
    assert next(iter(unmeasured.state.pots.values())).told.litres == pytest.approx(litres, abs=0.001)


@pytest.mark.parametrize(
    ("words", "watts"),
    [
        *(("the large one", 3000.0), ("medium", 1750.0), ("the small one", 1000.0), ("fifteen hundred watts", 1500.0), ("two kilowatts", 2000.0)),
        *(("twelve thousand btu", 3516.9), ("9000 btu an hour", 2637.6)),
    ],
)
def test_a_burner_in_any_words(unmeasured: Kit, words: str, watts: float) -> None:
    """By its size (gas rings of 1, 1.75 and 3 kW), in watts, or in BTU an hour (0.2930711 W, NIST SP 811)."""
    for t, said in ((5, "yes"), (10, "ten inches"), (15, "eight inches"), (20, "two litres")):
        unmeasured.say(t, said)
    assert unmeasured.say(25, words)[0] == "Good, the pot is known."
    assert unmeasured.state.pot_now("big-pot").power_w == pytest.approx(watts, abs=0.2)


@pytest.mark.parametrize(
    ("t", "words", "says"),
    [
        (20, "fifty quarts", "Oil 50 quarts? It should be 0.211 to 42.3."),
        (20, "fifty litres", "Oil 50 litres? It should be 0.2 to 40."),
        (20, "thirty centimetres", "Depth of oil 30 centimetres? It should be 0.5 to 20.3."),
        (25, "a hundred watts", "Power 100 watts? It should be 200 to 30000."),
        (25, "500 btu", "Power 500 BTU? It should be 682 to 102364."),
    ],
)
def test_a_refusal_speaks_the_cooks_unit(unmeasured: Kit, t: float, words: str, says: str) -> None:
    """What makes no sense is questioned in the unit that was said."""
    for at, said in ((5, "yes"), (10, "ten inches"), (15, "eight inches"), (20, "two litres")):
        if at < t:
            unmeasured.say(at, said)
    assert unmeasured.say(t, words)[0] == says


def test_a_burner_nobody_knows_counts_as_weak(unmeasured: Kit) -> None:
    """'I don't know' is an answer: its power stays unstated and it is not asked again."""
    unmeasured.say(5, "yes")
    for t, words in ((10, "ten inches"), (15, "eight inches"), (20, "two litres")):
        unmeasured.say(t, words)
    assert unmeasured.say(25, "I don't know")[0] == "Then I reckon carefully. Small batches."
    told = next(iter(unmeasured.state.pots.values())).told
    assert told.power_unknown
    assert told.power_w is None
    assert not any("burner small" in words for words in unmeasured.wait(300))


def test_silence_is_not_asked_twice(unmeasured: Kit) -> None:
    """A piece nobody answers is asked once; each is tried once and the evening goes on."""
    unmeasured.say(5, "yes")
    unmeasured.wait(900)
    asked = [x.question for x in unmeasured.events if isinstance(x, e.Asked) and x.question.startswith("pot:")]
    assert len(asked) == len(set(asked)) == 4


def test_a_pot_that_stays_unknown_is_reckoned_carefully_once_it_is_lit(unmeasured: Kit) -> None:
    """Two litres and 1.0 kW stand for what nobody knows: nothing is claimed while it may still be measured; with the burner on there is an estimate,
    no rule of headroom is claimed, and a batch that a weak burner could not hold is held."""
    kit = unmeasured
    kit.say(5, "yes")
    for t in (10, 20, 30, 40):
        assert kit.state.pots["big-pot"].estimate is None
        kit.say(t, "I don't know")
    kit.say(200, "burner on full")
    estimate = kit.state.pots["big-pot"].estimate
    assert estimate is not None
    assert (estimate.vessel.oil_litres, estimate.vessel.power_w) == (2.0, 1000.0)
    step = kit.state.meal.step("chips-first-fry")
    found = largest(kit.state, step, after_test=True)
    assert found is not None
    assert step.fry is not None
    assert found[0].kg <= 0.31
    assert replay(kit.events) == kit.state


def test_a_measured_pot_is_not_asked_for() -> None:
    """A card that has all sizes leads to no question about them."""
    kit = Kit()
    kit.say(5, "yes")
    kit.wait(300)
    assert not [x for x in kit.events if isinstance(x, e.Asked) and x.question.startswith("pot:")]


def fish_is_the_last(core: str) -> tuple[Kit, list[str]]:
    """Everything but the fish done; it comes out, and its core is read once: the evening so far, and what was said from the reading on."""
    kit = Kit()
    t = kit.reach_first_fry()
    for step in ("chips-first-fry", "chips-rest", "chips-second-fry"):
        kit._add((e.StepDone(t, step),))
    kit.say(t + 10, "oil is at three fifty five")
    kit.say(t + 20, "the fish is in")
    kit.wait(t + 340)
    kit.say(t + 350, "fish is out")
    return kit, [*kit.say(t + 370, core), *kit.wait(t + 380)]


def test_after_the_last_batch_the_burner_is_to_be_off() -> None:
    """Nobody is left with a lit pot and no food for it: said once the cores are read, and yes is an answer."""
    kit, said = fish_is_the_last("core is at one fifty")
    assert "That was the last batch. Burner off." not in said
    t = kit.state.t
    assert kit.say(t + 10, "core is at one fifty")[-1] == "That was the last batch. Burner off."
    assert kit.say(t + 12, "yes") == ["Burner off, noted."]


def test_food_that_cooks_on_keeps_its_burner() -> None:
    """A core too low goes on cooking: the burner stays until it was read again."""
    kit, said = fish_is_the_last("core is at one thirty")
    assert "That was the last batch. Burner off." not in [*said, *kit.wait(kit.state.t + 400)]


# --- how many may go in


def test_how_many_answers_by_what_this_pot_taught() -> None:
    """The answer comes in grams and handfuls with what limits it; readings that show a weak burner make it less than the card's power would."""
    kit = Kit()
    t = kit.reach_first_fry()
    said = kit.say(t, "how many can I drop")
    assert said[0].startswith("Chips: ")
    assert said[0].endswith("at a time.")
    assert "grams" in said[0]
    assert said[1].startswith("Because of this: ")
    step = kit.state.meal.step("chips-first-fry")
    strong, _ = largest(kit.state, step)  # type: ignore[misc]
    weak = kit.state.pots["big-pot"]
    assert weak.estimate is not None
    mean = list(weak.estimate.mean)
    mean[1] -= 1.0  # ln of the power: a burner of little more than a third
    slow = replace(weak, estimate=replace(weak.estimate, mean=tuple(mean), readings=4))
    less, why = largest(replace(kit.state, pots={"big-pot": slow}), step)  # type: ignore[misc]
    assert less.kg < strong.kg
    assert why == "the oil would get too cold"


def test_how_many_is_answered_before_the_pot_is_due() -> None:
    """Asked while potatoes are cut: for the dish that fries next, or the one named, as it will be after the test batch; once all is fried, not."""
    kit = Kit()
    kit.say(5, "yes")
    assert kit.say(20, "how many can I drop")[0].startswith("Chips: 337 grams")
    assert kit.say(22, "how many fish can I drop") == ["Two of the fish at a time.", "That is all of it."]
    kit.state = replace(kit.state, steps={i: replace(run, status=Status.DONE) for i, run in kit.state.steps.items()})
    assert kit.say(30, "how many can I drop") == ["Nothing of that is under way."]


def test_whats_running_names_a_pot_that_only_heats() -> None:
    """What for, and when it will be hot once that is known; no longer while food is in it."""
    kit = Kit()
    kit.say(5, "yes")
    assert kit.say(10, "what's running") == ["Nothing is running."]
    kit.say(60, "burner on")
    assert kit.say(70, "what's running") == ["Oil for chips: heating."]
    kit.say(310, "oil is at 200")
    kit.say(400, "oil is at 250")
    assert kit.say(410, "what's running") == ["Oil for chips: about a minute and a half more."]
    kit.say(500, "oil is at 300")
    assert kit.say(505, "what's running") == ["Oil for chips: hot."]
    t = Kit.reach_first_fry(kit := Kit())
    kit.say(t, "chips down")
    assert not any("Oil for" in line for line in kit.say(t + 5, "what's running"))


def test_how_many_counts_pieces_and_names_the_rule_of_headroom(unmeasured: Kit) -> None:
    """Fish is counted in pieces; a pot that is nearly too full names the rule that binds."""
    kit = unmeasured
    for t, words in ((5, "yes"), (10, "twenty four centimetres"), (15, "thirteen centimetres"), (20, "1.7 litres"), (25, "large")):
        kit.say(t, words)
    found = largest(kit.state, kit.state.meal.step("fish-fry"))
    assert found is not None
    assert found[1] in {str(x) for x in Limit} | {str(BatchLimit.FRESH)}
    kit = Kit()
    assert "piece" in largest(kit.state, kit.state.meal.step("fish-fry"))[0].words  # type: ignore[index]


# --- what the oil carries


def test_the_oil_takes_up_what_goes_into_it() -> None:
    """Battered fish gives fish and wheat to the oil; the sauce's egg and mustard, which meet the fish on the plate, stay out of it."""
    meal = Kit().state.meal
    assert allergens_into_oil(meal, meal.step("fish-fry")) == {"fish", "wheat"}
    assert allergens_into_oil(meal, meal.step("chips-first-fry")) == frozenset()


def test_who_can_eat_this_goes_by_the_oil_it_was_fried_in() -> None:
    """Chips fried before the fish carry nothing once both fries are out; before that, and after fish was fried, they may carry fish and wheat."""
    kit = Kit()
    t = kit.reach_first_fry()
    assert [w for w in kit.say(t, "who can eat the chips") if "oil" in w] == ["Chips: not for fish or wheat allergy, by the oil."]
    life = kit.state.pots["big-pot"].life
    run = kit.state.steps["chips-first-fry"]
    done = {**kit.state.steps}
    for step in ("chips-first-fry", "chips-second-fry"):
        done[step] = replace(run, status=Status.DONE, batches=(Batch(1, 10.0, 20.0, lifted_t=300.0),))
    kit.state = replace(
        kit.state, steps=done, pots={"big-pot": replace(kit.state.pots["big-pot"], life=replace(life, allergens=frozenset({"fish"})))}
    )
    assert [w for w in kit.say(t + 5, "who can eat the chips") if "oil" in w] == []
    done["chips-second-fry"] = replace(done["chips-second-fry"], batches=(Batch(1, 10.0, 20.0, lifted_t=300.0, oil_allergens=frozenset({"fish"})),))
    kit.state = replace(kit.state, steps=done)
    assert [w for w in kit.say(t + 10, "who can eat the chips") if "oil" in w] == ["Chips: not for fish allergy, by the oil."]


def test_oil_of_a_former_evening_brings_what_touched_it(tmp_path: Path) -> None:
    """Prawns of last week are in the oil that is used again, and said for whatever is fried in it, not for the peas; fresh oil is free of them."""
    text = find_meal("fish-supper").read_text(encoding="utf-8").replace("fresh oil: yes", "fresh oil: no")
    path = tmp_path / "used.yaml"
    path.write_text(text, encoding="utf-8")
    oil = OilLife("sunflower", 2.2).evening().fry("prawns", "fish", 900.0, 180.0, frozenset({"shellfish"}), 0.3)
    kit = Kit(str(path), before={"kept": (("big-pot", kept.write(kept.KeptPot(oil))),)})
    kit.say(5, "yes")
    said = kit.say(10, "who can eat the chips")
    assert "shellfish" in " ".join(w for w in said if "by the oil" in w)
    assert "The oil was used before; what touched it is not known." not in said
    assert kit.say(12, "who can eat the peas") == ["Peas: not for milk allergy."]
    kit.say(20, "fresh oil")
    assert "shellfish" not in " ".join(kit.say(25, "who can eat the chips"))


def test_oil_of_unknown_past_is_said_so(tmp_path: Path) -> None:
    """Oil used before this evening, of which nothing was kept, may hold anything: it is said."""
    text = find_meal("fish-supper").read_text(encoding="utf-8").replace("fresh oil: yes", "fresh oil: no")
    path = tmp_path / "used.yaml"
    path.write_text(text, encoding="utf-8")
    kit = Kit(str(path))
    kit.say(5, "yes")
    assert "The oil was used before; what touched it is not known." in kit.say(10, "who can eat the chips")


# --- too much in the pot


def test_a_batch_too_large_is_made_smaller_and_then_goes(tmp_path: Path) -> None:
    """Frozen sticks: the hold says how much at most and why, what is left goes on in batches of that size, and the next drop goes."""
    card = find_meal("fish-supper").read_text(encoding="utf-8")
    cut = "        cut: potato sticks 10 mm\n        batches: 2\n"
    path = tmp_path / "frozen.yaml"
    path.write_text(
        card.replace(cut, "        cut: frozen fries 10 mm\n        batches: 2\n        frozen: yes\n        food at: -18 C\n"), encoding="utf-8"
    )
    kit = Kit(str(path))
    t = kit.reach_first_fry()
    said = kit.say(t, "dropping the chips")
    assert said[-2:] == ["Hold. One handful at most: the oil would get too cold.", "From here smaller: three batches left."]
    fry = kit.state.meal.step("chips-first-fry").fry
    assert fry is not None
    assert fry.kg / fry.batches < 0.16
    kit.say(t + 5, "oil is at three hundred and two")
    assert kit.say(t + 8, "dropping the chips") == ["Go, 302."]
    assert replay(kit.events) == kit.state


def test_a_pot_that_is_told_too_full_is_said_at_once_and_cold(unmeasured: Kit) -> None:
    """Five centimetres of oil in a pot of fifteen are over the third: while it is cold some can be taken out; yes, and it is at the third."""
    kit = unmeasured
    for t, words in ((5, "yes"), (10, "twenty-six centimetres"), (15, "fifteen centimetres"), (20, "five centimetres")):
        kit.say(t, words)
    assert kit.say(25, "large")[:2] == ["Good, the pot is known.", "Too much oil: 2.3 litres at most. Taken out?"]
    assert kit.say(30, "how many can I drop")[0] == "Chips: none may go in now."
    kit.say(40, "yes")
    assert kit.state.pot_now("big-pot").oil_litres == pytest.approx(2.34, abs=0.1)
    assert "full:big-pot" not in kit.state.alerts


# --- topping up, too full


def test_topping_up_says_how_and_counts() -> None:
    """With hot oil the rules are said in order, and the litres count for headroom and for how fast it heats."""
    kit = Kit()
    t = kit.reach_first_fry()
    before = kit.state.pot_now("big-pot").oil_litres or 0.0
    said = kit.say(t, "topped up by two hundred millilitres")
    assert said[:5] == ["Added 200 millilitres. Look at the level again.", *TOP_UP_RULES[:-1]]
    assert kit.state.pot_now("big-pot").oil_litres == pytest.approx(before + 0.2)
    estimate = kit.state.pots["big-pot"].estimate
    assert estimate is not None
    assert estimate.vessel.oil_litres == pytest.approx(before + 0.2)


def test_more_oil_than_the_pot_can_hold_is_questioned() -> None:
    """Fifty litres into a pot of twelve are asked about and not believed; the right number said then counts."""
    kit = Kit()
    t = kit.reach_first_fry()
    assert kit.say(t, "topped up by fifty litres") == ["50 litres? The pot cannot hold that. How much was it?"]
    assert kit.state.pots["big-pot"].litres_added == 0.0
    assert kit.say(t + 10, "half a litre")[0] == "Added 500 millilitres. Look at the level again."
    assert kit.state.pots["big-pot"].litres_added == pytest.approx(0.5)


def test_too_full_and_hot_is_left_to_cool() -> None:
    """Hot oil above the third: burner off, let it cool, nothing poured; the alarm ends when the burner is off."""
    kit = Kit()
    t = kit.reach_first_fry()
    said = kit.say(t, "topped up by three litres")
    assert "Too full. Burner off, let it cool." in said
    assert "Never pour hot oil." in said
    kit.say(t + 10, "burner off")
    assert "full:big-pot" not in kit.state.alerts


def test_food_in_the_oil_forbids_topping_up() -> None:
    """Only between batches: with food in it is said as an alarm."""
    kit = Kit()
    t = kit.reach_first_fry()
    kit.say(t, "chips down")
    assert kit.say(t + 30, "topped up by two hundred millilitres")[0] == "Not with food in. Wait for the lift."


def test_oil_that_runs_low_is_topped_up_between_batches() -> None:
    """When food has taken an eighth of the oil, topping up is asked for at the lift, once, with how."""
    kit = Kit()
    t = kit.reach_first_fry()
    kit.say(t, "chips down")
    run = kit.state.pots["big-pot"]
    kit.state = replace(kit.state, pots={"big-pot": replace(run, life=replace(run.life, lost=0.12 * run.life.litres))})
    said = kit.say(t + 300, "chips out")
    assert said[said.index("The oil runs low. Top it up before the next batch.") + 1 :][:5] == list(TOP_UP_RULES)


# --- no thermometer


def test_no_thermometer_asks_for_bread_and_halves_what_is_left() -> None:
    """From then on no reading is asked for; the batches double; the gate wants a cube, calls it a guess, and goes by its time."""
    kit = Kit()
    t = kit.reach_first_fry()
    batches = {s.id: s.fry.batches for s in kit.state.meal.steps() if s.fry is not None}
    said = kit.say(t, "no thermometer")
    assert said[:2] == ["Then we guess with bread. Medium flame, half batches.", "A thermometer goes on your shopping list."]
    now = {s.id: s.fry for s in kit.state.meal.steps() if s.fry is not None}
    assert {i: f.batches for i, f in now.items()} == {i: 2 * n for i, n in batches.items()}
    assert now["chips-first-fry"].kg / now["chips-first-fry"].batches == pytest.approx(0.11)
    said = kit.say(t + 10, "dropping the chips")
    assert {"Hold. A bread cube first.", "Drop a one-inch bread cube: golden in two and a half minutes?"} <= set(said)
    said = kit.say(t + 70, "fifty five seconds")
    assert said[:2] == ["By the bread about 358: a guess.", "Hold. Too hot by the bread. Burner off, about five minutes."]
    assert kit.say(t + 75, "yes") == ["Burner off, noted."]
    assert kit.say(t + 190, "dropping the chips")[-1] == "Hold. Too hot by the bread. About three minutes."
    assert kit.say(t + 200, "bread golden in two minutes")[:2] == ["By the bread about 307: a guess.", "Good enough to drop."]
    assert kit.say(t + 210, "dropping the chips")[-1] == "Go, by the bread: only a guess."
    assert not [x for x in kit.events if isinstance(x, e.Asked) and x.t > t and x.question.startswith("oil:")]


@pytest.mark.parametrize(("words", "c"), [("yes", 148.9), ("no", 136.8), ("pale", 136.8), ("dark", 161.0), ("a hundred and ten seconds", 156.0)])
def test_a_bread_cube_is_answered_in_any_way(words: str, c: float) -> None:
    """Golden in time, not yet, pale, dark, or after how long."""
    kit = Kit()
    t = kit.reach_first_fry()
    kit.say(t, "no thermometer")
    kit.say(t + 10, "dropping the chips")
    kit.say(t + 80, words)
    tried = [x for x in kit.events if isinstance(x, e.BreadTried)]
    assert len(tried) == 1
    assert bread_c(tried[0].seconds) == pytest.approx(c, abs=1.0)


def test_who_reads_the_oil_has_a_thermometer() -> None:
    """A reading told after "no thermometer" is believed, and readings are asked for again; the smaller batches stay."""
    kit = Kit()
    t = kit.reach_first_fry()
    kit.say(t, "no thermometer")
    assert kit.say(t + 30, "oil is at three hundred")[0] == "Ready, 300."
    assert kit.state.thermometer


def test_a_missing_thermometer_is_remembered_and_asked_about_once(tmp_path: Path) -> None:
    """The next evening asks whether one was bought, once, and its shopping list has one; "no" is as good as "no thermometer"."""
    kit = Kit()
    kit.say(kit.reach_first_fry(), "no thermometer")
    (text,) = (text for _, text in to_keep(kit.state))
    (tmp_path / "pots").mkdir()
    (tmp_path / "pots" / "big-pot.json").write_text(text, encoding="utf-8")
    assert not with_what_there_was(tmp_path, kit.state.meal).equipment.oil_thermometer
    later = first_state(replace(first_event(), kept=(("big-pot", text),)))
    asked = Kit()
    asked.state = replace(later, slots=asked.state.slots)
    assert "Is there an oil thermometer now?" in asked.wait(10)
    assert asked.say(20, "no")[0] == "Then we guess with bread. Medium flame, half batches."
    assert not asked.state.thermometer
    assert "Is there an oil thermometer now?" not in asked.wait(600)


def test_raw_poultry_is_never_called_done_without_a_core_reading() -> None:
    """ "No thermometer" to the question for the core: nothing is asked again, and at each lift it is said that poultry cannot be called cooked."""
    kit = Kit("sunday-thighs")
    step = next(s for s in kit.state.meal.steps() if s.core_c is not None)
    kit.say(5, "yes")
    kit._add((e.BatchBegun(10.0, step.id, 1, 10.0), e.BatchIn(10.0, step.id, 1), e.BatchLifted(700.0, step.id, 1)))
    kit._add((e.Asked(701.0, f"core:{step.id}", ("core", "answer"), 820.0),))
    assert kit.say(710, "no thermometer") == ["Without one, raw poultry is never called cooked."]
    assert not kit.state.meal.equipment.core_thermometer
    assert kit.state.thermometer
    kit._add((e.BatchBegun(800.0, step.id, 2, 800.0), e.BatchIn(800.0, step.id, 2)))
    said = kit.say(1500, f"{kit.state.meal.dish(step.dish).said[0]} out")
    assert "Without one, raw poultry is never called cooked." in said
    assert not [w for w in said if "Probe" in w]


# --- what a batch teaches the next


def test_how_a_batch_came_out_is_asked_for_after_the_lift() -> None:
    """ "The chips are soggy" with none fried yet: what to do about it, not that nothing is under way."""
    kit = Kit()
    assert kit.say(60.0, "the chips are soggy") == ["No batch of that is out yet. Tell me after the lift."]


def test_a_greasy_batch_makes_the_next_ones_smaller() -> None:
    """Oil that fell far under its floor: the cause is said, what is left goes on in smaller batches, and the next load is one of those."""
    kit = Kit()
    t = kit.reach_first_fry()
    kit.say(t, "chips down")
    kit.say(t + 90, "oil is at two fifty")
    kit.say(t + 300, "chips out")
    before = kit.state.meal.step("chips-first-fry").fry
    said = kit.say(t + 320, "they came out greasy")
    after = kit.state.meal.step("chips-first-fry").fry
    assert before is not None
    assert after is not None
    assert said[:2] == ["Greasy: the oil fell too far.", "From here smaller: two batches left."]
    assert (before.batches, after.batches) == (2, 3)
    assert after.kg / after.batches == pytest.approx(0.11)
    assert replay(kit.events) == kit.state


# --- after the last lift


def test_the_burner_is_called_off_again_while_it_is_on() -> None:
    """Silence has "That was the last batch. Burner off." said again every few minutes; once it is off, never."""
    kit, _ = fish_is_the_last("core is at one fifty")
    t = kit.state.t
    kit.say(t + 10, "core is at one fifty")
    words = "That was the last batch. Burner off."
    assert [w for w in kit.wait(t + 420) if w == words] == [words, words]
    assert "Burner off, noted." in kit.say(t + 421, "burner off")
    assert words not in kit.wait(t + 1500)


def test_an_order_to_turn_the_burner_is_handed_back() -> None:
    """The program has no hands, and an order sounds like a report: it is asked whether it is done, and noted on a yes alone."""
    kit = Kit()
    kit.say(5, "yes")
    kit.say(1800, "burner on")
    assert kit.say(1900, "turn the burner down") == ["You turn it: I cannot. Is it down now?"]
    assert kit.say(1905, "no") == []
    assert not [x for x in kit.events if isinstance(x, e.BurnerSet) and x.level == "down"]
    assert kit.say(1910, "turn off the heat") == ["You turn it: I cannot. Is it off now?"]
    assert kit.state.pots["big-pot"].on
    assert kit.say(1915, "yes") == ["Burner off, noted."]
    assert not kit.state.pots["big-pot"].on
    kit.say(1950, "turn the burner on")
    assert kit.say(1955, "burner on") == ["Burner on, noted."]
    assert not kit.state.questions


def test_an_order_to_light_the_burner_brings_the_check_first() -> None:
    """Whoever asks for the burner before the check hears the check; after a boil-over nobody is told to light it."""
    kit = Kit()
    kit.say(5, "yes")
    said = kit.say(1800, "light the burner")
    assert said[0] == "Before the heat: is the pot bone dry inside?"
    assert said[-1] == "You turn it: I cannot. Is it on now?"
    kit.say(1810, "yes")
    kit.say(1900, "it's boiling over")
    kit.say(1960, "yes")
    kit.say(1990, "yes")
    said = kit.say(2200, "turn the burner on")
    assert not any("Is it on now" in line for line in said)


def test_a_hold_turns_the_flame_that_its_wait_counts_on() -> None:
    """Oil too hot: the hold says burner off and how long, and yes turns it off; too cold under a part flame: full, said with it; at full nothing."""
    kit = Kit()
    t = kit.reach_first_fry()
    kit.say(t, "burner on full")
    kit.say(t + 5, "oil is at two seventy")
    said = kit.say(t + 10, "dropping the chips")
    assert said[-1].startswith("Hold. Oil 270, wants 300. About")
    kit.say(t + 60, "oil is at three forty")
    said = kit.say(t + 65, "dropping the chips")
    assert [w for w in said if w.startswith("Hold. Oil 340, wants 300. Burner off, ")]
    assert kit.state.pots["big-pot"].advised == "off"
    assert kit.say(t + 70, "yes") == ["Burner off, noted."]
    assert [w for w in kit.say(t + 75, "dropping the chips") if w.startswith("Hold. Oil 340, wants 300. ") and "Burner" not in w]


def test_what_a_pot_taught_outlives_its_sizes(unmeasured: Kit) -> None:
    """What earlier evenings taught is not lost when the pot is sized, nor when fresh oil goes in."""
    learned = Learned(900.0, 2.0, 1.3, 0.1, 0.1, 0.1)
    text = kept.write(kept.KeptPot(OilLife("sunflower", 2.2).fry("cod", "fish", 60.0, 180.0), learned=learned))
    kit = unmeasured
    meal = kit.state.meal
    pots = {p.id: opened(meal, p, 0.0, text) for p in meal.equipment.pots}
    kit.state = replace(kit.state, pots=pots)
    for t, words in ((5, "yes"), (10, "ten inches"), (15, "eight inches"), (20, "two litres"), (25, "large")):
        kit.say(t, words)
    estimate = kit.state.pots["big-pot"].estimate
    assert estimate is not None
    assert estimate.power_w == pytest.approx(900.0)
    kit.say(30, "fresh oil")
    estimate = kit.state.pots["big-pot"].estimate
    assert estimate is not None
    assert estimate.power_w == pytest.approx(900.0)


# --- dinner is up


@pytest.mark.parametrize(
    ("answer", "says", "keeps"), [("no", "Then it may serve again. Strain it once cold.", True), ("the foam stayed", "Then that oil ends", False)]
)
def test_the_signs_that_end_an_oil_are_asked(answer: str, says: str, keeps: bool) -> None:
    """At dinner: the clock until the pot may be moved, then one question on smoke, foam, colour and smell. A sign ends the oil, for evenings to come
    too; when the clock has run it is said how the oil is kept, or where it goes."""
    kit = Kit()
    t = kit.reach_first_fry()
    assert kit.say(t, "dinner's up")[-1] == "Burner off?"
    said = kit.say(t + 5, "burner off")
    assert said[0] == "Burner off, noted."
    assert said[-1] == "Did the oil smoke, keep its foam, darken or smell bad?"
    assert [w for w in said if w.startswith("Let it cool two hours")]
    assert kit.say(t + 20, answer)[0].startswith(says)
    assert (kit.state.pots["big-pot"].life.verdict is Verdict.KEEP) is keeps
    assert (kept.read(dict(to_keep(kit.state))["big-pot"]).oil.verdict is Verdict.KEEP) is keeps
    said = kit.wait(t + 4 * 3600.0)
    at = said.index("The oil should be cold. Probe before you move it.")
    assert said[at + 1] == ("Strain through fine mesh and cloth." if keeps else "Old oil: sealed, in the bin.")


def _dinner(kit: Kit, t: float) -> None:
    """Dinner is up, the burner is off: the signs are asked for."""
    kit.say(t, "dinner's up")
    said = kit.say(t + 5.0, "burner off")
    assert said[-1] == "Did the oil smoke, keep its foam, darken or smell bad?"


@pytest.mark.parametrize(
    ("said", "sign"),
    [
        *((("it smoked",), Sign.SMOKE), (("foam stayed",), Sign.FOAM), (("it's dark and sticky",), Sign.DARK), (("thick",), Sign.THICK)),
        *((("it smells rancid",), Sign.SMELL), (("yes", "dark"), Sign.DARK), (("yes", "the smell"), Sign.SMELL), (("yes", "no idea"), Sign.ASKED)),
    ],
)
def test_which_sign_ended_an_oil_is_noted(said: tuple[str, ...], sign: Sign) -> None:
    """The sign is named at once or when asked which; it stands in the log that is kept, and whoever does not know need not say."""
    kit = Kit()
    t = kit.reach_first_fry()
    _dinner(kit, t)
    for i, words in enumerate(said):
        heard = kit.say(t + 20 + 5 * i, words)
        assert heard[0] == (
            "Which: it smoked, foam stayed, dark, thick or smell?" if words == "yes" else "Then that oil ends here. Never with new oil."
        )
    assert kit.state.pots["big-pot"].life.signs == {sign}
    assert kept.read(dict(to_keep(kit.state))["big-pot"]).oil.signs == {sign}


def test_a_sign_nobody_names_ends_the_oil_all_the_same() -> None:
    """Yes, and then no answer to which it was: after two minutes the oil is done, the sign not known."""
    kit = Kit()
    t = kit.reach_first_fry()
    _dinner(kit, t)
    kit.say(t + 20, "yes")
    assert ENDS in kit.wait(t + 150)
    assert kit.state.pots["big-pot"].life.signs == {Sign.ASKED}


def test_smoke_from_oil_that_is_not_too_hot_ends_it() -> None:
    """Smoke at a reading under 200 C is a sign of age; the oil is done for the evenings to come."""
    kit = Kit()
    t = kit.reach_first_fry()
    kit.say(t, "oil is at three hundred")
    kit.say(t + 10, "it's smoking")
    assert Sign.SMOKE in kit.state.pots["big-pot"].life.signs


def test_oil_ages_while_it_stands_hot() -> None:
    """Ten minutes above 130 C with nothing in it count for the oil's age, at the idle rate; nothing is counted twice."""
    kit = Kit()
    t = kit.reach_first_fry()
    kit.say(t, "oil is at three hundred")
    before = kit.state.pots["big-pot"].life
    kit.wait(t + 600)
    after = kit.state.pots["big-pot"].life
    assert after.hot_s - before.hot_s == pytest.approx(600.0, abs=45.0)
    assert 0.0 < after.tpc - before.tpc < 0.3


def test_at_the_lift_it_says_when_the_oil_is_back() -> None:
    """With batches to come and two readings: how long the oil takes, by what this pot taught."""
    kit = Kit()
    t = kit.reach_first_fry()
    kit.say(t, "burner on full")
    kit.say(t + 5, "oil is at three hundred")
    kit.say(t + 6, "chips in")
    kit.say(t + 150, "oil is at two eighty")
    said = kit.say(t + 300, "chips out")
    assert [w for w in said if w.startswith("Oil for chips: about ")]


def test_between_two_lifts_one_reading_is_asked_for() -> None:
    """Whether the oil is ready, or that it is no longer sure: one question between a lift and the next drop."""
    cook = Kit()
    t = cook.reach_first_fry()
    cook.say(t, "oil is at three hundred")
    cook.say(t + 5, "chips in")
    cook.say(t + 360, "chips out")
    cook.say(t + 361, "oil is at two ninety")
    cook.wait(t + 700)
    asked = [x for x in cook.events if isinstance(x, e.OilAsked) and x.t > t + 361]
    assert len(asked) <= 1
