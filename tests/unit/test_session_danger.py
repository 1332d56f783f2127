"""Hazards at awkward moments: what is said, in which order, what is not said meanwhile, and what the evening is afterwards.

Each evening is a fish supper whose first chips are in the oil; times are seconds from there.
"""

from __future__ import annotations

import pytest
from kitchen_kit import Kit

from assistant.kitchen.scripts import script
from assistant.session import events as e
from assistant.session.state import COOLING, Status

FIRE = [line.words for line in script("fire").lines]
CALLS = ("Lift the chips.", "Out with the chips, past its time.", "Chips: limp and pale?", "In two minutes: lift the chips.")


class Frying:
    """Chips in the oil since 0."""

    def __init__(self) -> None:
        self.kit = Kit()
        self.t0 = self.kit.reach_first_fry()
        self.kit.say(self.t0, "chips down")

    def say(self, t: float, words: str) -> list[str]:
        """What is said to these words at t, what came due before them left out."""
        self.wait(t)
        return self.kit.say(self.t0 + t, words)

    def wait(self, t: float) -> list[str]:
        """What is said until t."""
        return self.kit.wait(self.t0 + t)

    def out(self, t: float) -> float:
        """The fire is out, and still out, told from t on: when that was understood."""
        self.say(t, "it's out")
        self.say(t + 14, "yes")
        return t + 14


@pytest.fixture
def frying() -> Frying:
    """Chips in the oil."""
    return Frying()


def test_a_word_shouted_again_does_not_begin_again(frying: Frying) -> None:
    """Whoever shouts three times still hears the second and the third order."""
    said = frying.say(40, "fire")
    for t in (42, 45, 48, 50):
        said += frying.wait(t)
        said += frying.say(t, "fire")
    assert said == FIRE[: len(said)]
    assert len(said) >= 4


def test_fire_called_out_while_asked_whether_it_is_out_means_get_out(frying: Frying) -> None:
    """It was to be out and is not: no answer could be plainer."""
    frying.say(40, "fire")
    assert frying.wait(81)[-1] == "Is it out?"
    assert frying.say(83, "fire") == ["Get out now. Everyone out."]


def test_fire_again_after_it_was_out_means_get_out(frying: Frying) -> None:
    """Flames from under the lid: nobody is sent back to the pan."""
    frying.say(40, "fire")
    assert frying.say(60, "it's out") == ["Leave the lid on. Heat stays off."]
    assert frying.say(63, "fire") == ["Get out now. Everyone out."]


def test_an_answer_may_come_before_its_question_and_after_it(frying: Frying) -> None:
    """ "It's out" in the middle of the script, and a yes that comes when silence was taken for no, are understood."""
    frying.say(40, "fire")
    frying.wait(92)
    assert frying.kit.state.script is not None
    assert frying.kit.state.script.name == "get_out"
    assert frying.say(93, "yes") == ["Leave the lid on. Heat stays off."]


def test_lifting_chips_is_no_answer_that_the_fire_is_out(frying: Frying) -> None:
    """Only "it's out" is; a named lift says nothing about flames."""
    frying.say(40, "fire")
    frying.say(50, "chips out")
    assert frying.kit.state.script is not None
    assert frying.kit.state.script.name == "fire"


@pytest.mark.parametrize("words", ["carry on", "what's next", "help", "what did I forget", "undo"])
def test_nothing_but_its_own_end_ends_a_fire(frying: Frying, words: str) -> None:
    """Going on, asking and taking back leave the script where it is; a question where to go on is answered with its last line."""
    frying.say(40, "fire")
    said = frying.say(50, words)
    assert frying.kit.state.script is not None
    assert frying.kit.state.script.name == "fire"
    assert all(x in (*FIRE, "Not yet. Safety first.", "Too late to take back.") for x in said)
    assert FIRE[-1] in frying.wait(90)


def test_while_it_burns_nobody_is_sent_to_the_pan(frying: Frying) -> None:
    """No look, lift or reminder is spoken during a fire; the clock runs on, and after a false alarm it is called at once."""
    frying.say(300, "fire")
    said = frying.wait(400)
    assert not set(CALLS) & set(said)
    assert frying.kit.state.in_heat()
    frying.say(401, "false alarm")
    assert "Lift the chips." in [*frying.say(403, "false alarm"), *frying.wait(410)]


def test_a_burn_during_a_fire_is_not_forgotten(frying: Frying) -> None:
    """Out of danger first, said at once; when the fire is out, first aid from its first line with its own clock."""
    frying.say(40, "fire")
    assert frying.say(45, "I burned my hand") == ["Safe first. Then cool water, twenty minutes."]
    t = frying.out(60)
    assert COOLING not in frying.kit.state.clocks
    said = frying.wait(t + 60)
    assert said.index("Its oil is finished. Do not reuse.") < said.index("Cool running water, now: twenty minutes.")
    assert COOLING in frying.kit.state.clocks


def test_a_fire_during_first_aid_comes_first_and_first_aid_again_after(frying: Frying) -> None:
    """The water runs on by its clock meanwhile."""
    frying.say(40, "I burned my hand")
    assert frying.say(48, "fire") == ["Heat off, if you can reach it safely."]
    assert COOLING in frying.kit.state.clocks
    t = frying.out(60)
    assert "Cool running water, now: twenty minutes." in frying.wait(t + 40)


def test_cooling_does_not_wait_for_a_pot_in_trouble(frying: Frying) -> None:
    """British Burn Association 2018: start at once. The flame is asked about when first aid has been said."""
    frying.say(40, "it's foaming up")
    assert frying.say(47, "I burned my hand") == ["Cool running water, now: twenty minutes."]
    frying.wait(81)
    assert frying.say(84, "no") == ["Any flame?"]
    assert frying.wait(95)[0] == "Heat off, if you can reach it safely."


def test_a_second_burn_has_its_own_twenty_minutes(frying: Frying) -> None:
    """Ten minutes after the first the clock begins anew."""
    frying.say(40, "I burned my hand")
    frying.say(640, "I burned my arm")
    assert frying.kit.state.clocks[COOLING].ends_t == frying.t0 + 640 + 1200


def test_under_the_tap_only_another_is_asked_to_lift(frying: Frying) -> None:
    """Cooling is not broken off for food: somebody else is asked, once; what is still in is called when the twenty minutes are over."""
    frying.say(40, "I burned my hand")
    said = frying.wait(1200)
    assert said.count("Someone else: lift the chips, burner off.") == 1
    assert not set(CALLS) & set(said)
    assert {"Cling film, laid on, not wrapped round.", "Out with the chips, past its time."} <= set(frying.wait(1260))


@pytest.mark.parametrize(("answer", "left"), [("yes", False), ("no", True), ("", True)])
def test_a_burn_that_was_none_asks_about_its_clock(frying: Frying, answer: str, left: bool) -> None:
    """ "False alarm" ends first aid; whether the cooling clock stops is asked, and without an answer it runs on. The evening goes on by itself."""
    frying.say(40, "I burned my hand")
    assert frying.say(44, "false alarm") == ["Nobody hurt? Shall the cooling clock stop?"]
    assert frying.kit.state.held_t is None
    if answer:
        frying.say(46, answer)
    assert (COOLING in frying.kit.state.clocks) is left
    assert "Lift the chips." in frying.wait(361)


def test_going_on_with_a_burn_says_how_long_the_water_is_to_run(frying: Frying) -> None:
    """The clock is not silent when the cook goes back to the stove."""
    frying.say(40, "I burned my hand")
    assert frying.say(340, "carry on")[:2] == ["Going on.", "Cool water: fifteen minutes left."]


def test_a_false_alarm_gives_the_burner_back(frying: Frying) -> None:
    """What was no fire keeps no burner off; one false alarm alone changes nothing."""
    frying.say(40, "fire")
    frying.say(45, "false alarm")
    assert frying.say(49, "yes") == ["Good. Burner off until you have looked."]
    frying.say(70, "carry on")
    assert frying.say(75, "burner on") == ["Burner on, noted."]


@pytest.mark.parametrize(
    ("said", "first"), [("the oven's on fire", "Oven off."), ("it's foaming up", "Heat off, if you can reach it safely."), ("fire", FIRE[0])]
)
def test_one_false_alarm_without_an_answer_goes_back_to_what_it_was(frying: Frying, said: str, first: str) -> None:
    """Not confirmed: the same script again."""
    frying.say(40, said)
    before = frying.kit.state.script
    frying.say(43, "false alarm")
    assert frying.wait(53)[0] == first
    assert before is not None
    assert frying.kit.state.script is not None
    assert frying.kit.state.script.name == before.name


def test_after_a_fire_its_dishes_are_left_out(frying: Frying) -> None:
    """That pot stays off: what still needed it is left out, nothing is to be lifted from under the lid, the rest of the evening goes on."""
    frying.say(40, "fire")
    t = frying.out(60)
    said = frying.wait(t + 400)
    assert not set(CALLS) & set(said)
    assert not frying.kit.state.in_heat()
    assert not frying.kit.state.pots["big-pot"].on
    said = frying.say(t + 410, "carry on")
    assert said[:2] == ["Going on.", "Left out tonight: chips and fish."]
    assert "peas" in said[2]
    assert frying.say(t + 420, "burner on") == ["That one stays off tonight."]
    later = frying.wait(t + 1200)
    assert not any("oil" in x.lower() or "chips" in x.lower() or "burner" in x.lower() for x in later)
    assert frying.kit.state.steps["chips-first-fry"].status is Status.SKIPPED


def test_food_that_a_fire_has_reached_is_called_out_by_name_and_never_put_away(frying: Frying) -> None:
    """What stood open beside the burning pan is discarded, said once when the script is over (USDA FSIS, food after a kitchen fire, from memory), and
    not named for the fridge. Food of other dishes keeps its clock, the fridge kept its own, and that oil is asked no more about."""
    kit = frying.kit
    assert str(kit.state.ledger.items["white-fish"].place) == "counter"
    frying.say(40, "fire")
    t = frying.out(60)
    said = frying.wait(t + 60)
    assert said[-2:] == ["Say when you want to go on.", "Discard the white fish: smoke reached it."]
    frying.say(t + 70, "carry on")
    later = [*frying.wait(t + 7000), *frying.say(t + 7001, "dinner's up"), *frying.say(t + 7005, "yes"), *frying.say(t + 7010, "yes")]
    assert [w for w in later if "fish" in w.lower()] == []
    assert "Discard the tartare sauce: out too long." in later
    assert not [w for w in later if w.startswith("Did the oil smoke")]
    assert kit.state.ledger.items["mayonnaise"].over == ""


def test_food_in_a_burning_oven_is_discarded_and_what_waits_for_it_is_not() -> None:
    """In the oven smoke reaches all that is in it; the bake still on the counter keeps its clock."""
    for inside in (True, False):
        kit = Kit("sunday-thighs")
        kit.say(5, "yes")
        for step in ("cauliflower-cut", "cauliflower-simmer", "cheese-sauce", "cauliflower-top"):
            kit._add((e.StepBegan(10, step), e.StepDone(10, step)))
        kit._add((e.Focused(10, ""),))
        if inside:
            kit.say(20, "the cauliflower is in the oven")
        kit.say(30, "the oven is on fire")
        kit.wait(45)
        kit.say(46, "it's out")
        kit.wait(54)
        kit.say(56, "yes")
        said = kit.wait(80)
        assert ("Discard the cauliflower: smoke reached it." in said) is inside


@pytest.mark.parametrize("said", ["dropping the fish", "dinner's up", "done with the peas", "test batch is in", "skip the fish", "when do we eat"])
@pytest.mark.parametrize("word", ["fire", "it's foaming up"])
def test_the_evening_does_not_go_on_in_danger(frying: Frying, word: str, said: str) -> None:
    """Whatever would go on with it is put off in three words; the script stays where it is."""
    frying.say(40, word)
    at = frying.kit.state.script
    assert frying.say(41, said) == ["Not yet. Safety first."]
    assert frying.kit.state.script == at
    assert not frying.kit.state.steps["fish-fry"].batches


@pytest.mark.parametrize("word", ["fire", "it's boiling over", "it's smoking", "oil spilled"])
@pytest.mark.parametrize("order", ["turn the burner off", "turn down the heat"])
def test_an_order_to_turn_the_heat_off_in_danger_is_never_put_off(frying: Frying, word: str, order: str) -> None:
    """Told to us or called to a helper: it is said again who can, and the burner does not count as off for it."""
    frying.say(40, word)
    assert frying.say(41, order) == ["Burner off, if you can reach it safely."]
    assert frying.kit.state.pots["big-pot"].on


def test_an_order_to_turn_the_oven_off_in_danger_names_the_oven(frying: Frying) -> None:
    """It is the oven that is to go off; a report of it is noted without a word between the orders of the script."""
    frying.say(40, "fire")
    assert frying.say(41, "turn the oven off") == ["Oven off, if you can reach it safely."]
    assert frying.say(42, "the oven is off") == []
    burning = Frying()
    burning.say(40, "the oven is on fire")
    assert burning.say(41, "turn it off") == ["Oven off, if you can reach it safely."]


def test_an_oven_told_of_in_danger_is_noted_and_its_line_comes_later(frying: Frying) -> None:
    """Nothing between the orders of the script, and nothing counts as said for it."""
    frying.say(40, "it's smoking")
    before = set(frying.kit.state.told)
    assert frying.say(41, "the oven is on") == []
    assert set(frying.kit.state.told) - before == {"oven on"}


def test_nobody_who_is_to_get_out_is_sent_back_to_the_burner(frying: Frying) -> None:
    """More heat is never agreed to in danger; and once everybody is to leave, the burner waits."""
    frying.say(40, "fire")
    assert frying.say(41, "turn the burner up") == ["Not yet. Safety first."]
    frying.say(60, "it's out")
    assert frying.say(63, "fire") == ["Get out now. Everyone out."]
    assert frying.say(64, "turn the burner off") == ["Not yet. Safety first."]


def test_what_is_told_in_a_fire_is_noted_without_a_word(frying: Frying) -> None:
    """Burner off and chips out are facts; nothing is said between the orders of the script."""
    frying.say(40, "fire")
    assert frying.say(41, "burner off") == frying.say(42, "chips out") == []
    assert not frying.kit.state.pots["big-pot"].on
    assert not frying.kit.state.in_heat()


def test_after_an_oven_fire_the_pot_may_be_lit_and_the_oven_not() -> None:
    """The oven is what burned: told or ordered, it stays off tonight. "It's out" is answered about the oven, never with a lid, also by whoever has
    left the room."""
    kit = Kit("sunday-thighs")
    kit.say(5, "yes")
    kit.say(10, "the oven is on fire")
    assert "Get out now. Everyone out." in kit.wait(45)
    assert kit.say(46, "yes") == ["Keep the oven door shut until cold."]
    kit.wait(54)
    kit.say(56, "yes")
    kit.wait(70)
    assert kit.say(75, "carry on")[:2] == ["Going on.", "Left out tonight: cauliflower."]
    assert kit.say(80, "burner on")[-1] == "Burner on, noted."
    for t, said in ((130, "the oven is on"), (140, "turn the oven on"), (150, "the oven is at four hundred")):
        assert kit.say(t, said) == ["That one stays off tonight."]


def test_a_pot_on_a_ring_says_that_the_ring_stays_hot() -> None:
    """An electric coil goes on heating after it was turned off."""
    assert "Stand back, children out. The ring stays hot." in [x.words for x in script("boil_over", coil=True).lines]
    assert not any("ring stays" in x.words for x in script("boil_over").lines)


def test_smoke_that_has_cleared_holds_no_drop(frying: Frying) -> None:
    """Air clear and oil read: the gate goes by the oil again."""
    frying.say(40, "it's smoking")
    frying.wait(55)
    frying.say(57, "no")
    frying.say(90, "chips out")
    frying.say(95, "burner off")
    frying.say(200, "carry on")
    frying.say(210, "burner on")
    frying.say(214, "yes")
    frying.say(220, "oil is at three hundred")
    frying.say(225, "burner on")
    assert not frying.kit.state.pots["big-pot"].smoked
    assert "Hold. Smoke means too hot. Heat off." not in frying.say(240, "dropping the chips")


def test_undo_takes_nothing_of_a_danger_back(frying: Frying) -> None:
    """A step taken back a second after a burn leaves hold and cooling clock."""
    frying.say(40, "set a clock for five minutes")
    frying.kit.say(frying.t0 + 42, "I burned my hand")
    frying.kit.say(frying.t0 + 44, "undo")
    assert COOLING in frying.kit.state.clocks
    assert frying.kit.state.held_t is not None
    assert len(frying.kit.state.clocks) == 1


def test_undo_takes_a_hold_back() -> None:
    """A hold that was only asked for can be taken back."""
    kit = Kit()
    kit.say(100, "hold everything")
    kit.say(103, "undo")
    assert kit.state.held_t is None


def test_fire_after_dinner_is_a_fire(frying: Frying) -> None:
    """The evening is over at the table, not in the pot."""
    frying.kit._add((e.Told(frying.t0 + 900, "dinner"),))
    assert frying.say(1000, "fire") == ["Heat off, if you can reach it safely."]
    assert FIRE[-1] in frying.wait(1050)


@pytest.mark.parametrize("said", ["it's foaming up", "it's smoking", "I spilled the oil"])
def test_after_trouble_with_a_pot_it_is_asked_once_whether_the_heat_is_off(frying: Frying, said: str) -> None:
    """Yes is noted: no flame is advised and nothing warns of heat any more. Whatever the answer, burner off is said once more."""
    frying.say(40, said)
    frying.wait(56)
    assert frying.say(57, "no") == ["Is the heat off?"]
    assert frying.say(60, "yes")[0].startswith("Burner off")
    assert not frying.kit.state.pots["big-pot"].on
    assert not any("Heat off" in x or "urner to" in x or "urner up" in x for x in frying.wait(300))


def test_the_reading_that_smoke_waits_for_lights_the_burner(frying: Frying) -> None:
    """After the air is clear the oil is to be read; with the reading the burner that was asked for is on, and what to change is said."""
    frying.say(40, "it's smoking")
    frying.wait(56)
    frying.say(57, "no")
    frying.say(60, "yes")
    frying.say(120, "carry on")
    assert frying.say(700, "burner on") == ["Is the air clear?"]
    assert frying.say(705, "yes")[-1] == "What does the oil read?"
    said = frying.say(710, "three hundred")
    assert said[0] == "Oil 300."
    assert said[1:3] == ["That oil is worn out: replace it once it is cold.", "Burner on, noted."]
    assert frying.kit.state.pots["big-pot"].on


def test_after_smoke_nobody_is_told_to_turn_it_up(frying: Frying) -> None:
    """A cool reading is noted, whatever is in the oil; without a word that the heat is off an alarm says so, in words that fit."""
    frying.say(40, "it's smoking")
    frying.wait(56)
    frying.say(57, "no")
    frying.wait(105)
    assert "Heat off, until the air is clear." in [a.words for a in frying.kit.state.alerts.values()]
    assert frying.say(110, "oil is at two sixty") == ["Oil 260."]
    frying.say(115, "burner off")
    assert not [a for a in frying.kit.state.alerts if a.startswith("hot")]


def test_a_late_no_to_any_flame_is_asked_again(frying: Frying) -> None:
    """Looking takes time: a no two seconds after silence was taken for yes puts the question once more; silence then is the fire again."""
    frying.say(40, "it's foaming up")
    frying.wait(63)
    assert frying.kit.state.script is not None
    assert frying.kit.state.script.name == "fire"
    assert frying.say(65, "no") == ["Any flame?"]
    assert frying.say(67, "no") == ["Is the heat off?"]
    assert frying.kit.state.hazard == "boil_over"


@pytest.mark.parametrize("t", [65, 75, 90])
def test_no_flames_ends_a_fire_that_was_only_feared(frying: Frying, t: float) -> None:
    """Silence at "Any flame?" began it; "no flames" is that answer whenever it comes, and the pot is one that boiled over."""
    frying.say(40, "it's foaming up")
    frying.wait(64)
    assert frying.say(t, "no flames") == ["Is the heat off?"]
    assert frying.kit.state.hazard == "boil_over"


def test_a_fire_that_was_feared_and_then_seen_is_a_fire(frying: Frying) -> None:
    """Called out while it was only feared: "no flames" after that means that it is out, not that there was none."""
    frying.say(40, "it's foaming up")
    frying.wait(64)
    frying.say(66, "fire")
    frying.say(75, "no flames")
    assert frying.kit.state.script is not None
    assert frying.kit.state.script.name == "fire_out"
    assert frying.kit.state.hazard == "fire"


def test_a_feared_fire_called_out_when_asked_whether_it_is_out_means_get_out(frying: Frying) -> None:
    """Also a fire that silence began."""
    frying.say(40, "it's foaming up")
    assert frying.wait(103)[-1] == "Is it out?"
    assert frying.say(104, "fire") == ["Get out now. Everyone out."]


def test_no_flame_is_no_answer_whether_the_heat_is_off(frying: Frying) -> None:
    """Asked next in a pot in trouble: it waits for yes or no."""
    frying.say(40, "it's foaming up")
    frying.wait(58)
    assert frying.say(59, "no flames") == ["Is the heat off?"]
    assert frying.say(62, "no flames") == []
    frying.say(63, "yes")
    assert not frying.kit.state.pots["big-pot"].on


def test_no_flames_in_a_fire_that_was_called_out_means_that_it_is_out(frying: Frying) -> None:
    """Also at "Is it out?", where a plain no is the contrary."""
    frying.say(40, "fire")
    frying.say(45, "there's no flame")
    assert frying.kit.state.script is not None
    assert frying.kit.state.script.name == "fire_out"
    again = Frying()
    again.say(40, "fire")
    said = again.wait(82)
    assert said[-1] == "Is it out?"
    again.say(83, "no flames")
    assert again.kit.state.script is not None
    assert again.kit.state.script.name == "fire_out"


def test_a_no_in_a_fire_that_was_called_out_is_no_answer(frying: Frying) -> None:
    """Only a script that silence began doubts itself."""
    frying.say(40, "fire")
    assert frying.say(45, "no") == []
    assert frying.kit.state.script is not None
    assert frying.kit.state.script.name == "fire"


@pytest.mark.parametrize("said", ["it's foaming up", "I spilled the oil"])
def test_nobody_is_called_back_to_a_pot_in_trouble(frying: Frying, said: str) -> None:
    """Stand back was said: the lift waits until the cook goes on, and then comes at once; a look that was asked before is no question any more."""
    frying.wait(301)
    frying.say(303, said)
    frying.wait(321)
    frying.say(322 if "foam" in said else 320, "no")
    assert not set(CALLS) & {*frying.say(335, "yes"), *frying.wait(450)}
    frying.say(452, "foam has settled")
    assert set(CALLS) & set(frying.say(455, "carry on"))


def test_still_burning_means_get_out_once_everything_was_said(frying: Frying) -> None:
    """In the first lines it goes on, because the lid has not been named yet; after the call to the fire service it is time to leave."""
    frying.say(40, "fire")
    assert frying.say(45, "it's still burning") == []
    assert "If small: slide lid or metal tray on." in frying.wait(50)
    assert frying.say(70, "it's still burning") == ["Get out now. Everyone out."]
