"""The oil in a running evening: a pot nobody has measured, how many may go in, who can eat what was fried."""

from __future__ import annotations

from pathlib import Path

import pytest
from kitchen_kit import Kit

from assistant.kitchen.cards import find_meal
from assistant.kitchen.oil.described import PotTold
from assistant.session import events as e

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


@pytest.mark.parametrize(("words", "metres"), [("ten", 0.254), ("twenty-six", 0.26), ("10 inches", 0.254), ("26 cm", 0.26)])
def test_a_width_in_any_words(unmeasured: Kit, words: str, metres: float) -> None:
    """A bare number is inches for a Fahrenheit cook up to twenty, centimetres above."""
    unmeasured.say(5, "yes")
    unmeasured.say(10, words)
    assert next(iter(unmeasured.state.pots.values())).told.width_m == pytest.approx(metres)


def test_a_size_outside_sense_is_asked_once_more(unmeasured: Kit) -> None:
    """Two inches are questioned once; the second such answer is left, and the next piece is asked."""
    unmeasured.say(5, "yes")
    assert unmeasured.say(10, "two inches")[0].startswith("Width 5.08 centimetres? It should be 10 to 80.")
    assert unmeasured.say(15, "two inches") == ["Then I reckon carefully. Small batches.", "How high inside is the big pot?"]
    assert next(iter(unmeasured.state.pots.values())).told == PotTold()


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
