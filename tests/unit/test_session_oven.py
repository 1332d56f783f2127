"""The oven in an evening: lit once for what comes first, turned when what is in it is out, and what is kept warm in it is put there."""

from __future__ import annotations

from pathlib import Path

import pytest
from kitchen_kit import Kit

from assistant.kitchen.cards import find_meal, read_card
from assistant.runtime import plan_first
from assistant.session import events as e
from assistant.session.evolve import replay

SERVE = 2.5 * 3600
CHIPS = "Chips on a rack into the oven."


def until_the_chips_are_salted(kit: Kit, at: float) -> list[str]:
    """What is said when the chips are salted at kitchen time `at`, everything before it done."""
    kit.say(5.0, "yes")
    done = [s for s in kit.state.meal.steps() if s.id not in ("chips-salt", "chips-plate") and not s.id.startswith("fish")]
    kit._add(tuple(e.StepDone(10.0, s.id) for s in done))
    kit.wait(at)
    return kit.say(at, "done with the chips salt")


def thighs() -> Kit:
    """Sunday's thighs, begun: their bake wants the oven at 400 F."""
    kit = Kit(meal="sunday-thighs")
    kit.say(5, "yes")
    return kit


def test_where_nothing_bakes_it_is_lit_for_what_is_kept_warm() -> None:
    """Chips that wait for the fish: the plan has the oven lit in time, hands included, and says where they go."""
    plan = plan_first(read_card(find_meal("fish-supper")), 2, SERVE)
    kept = next(t for t in plan.tasks if t.action == "keep")
    lit = next(t for t in plan.tasks if t.id == "oven:light")
    assert "hands" in lit.resources
    assert kept.start_s - lit.end_s >= 420.0  # 20 to 107 C at 12 K a minute
    kit = Kit(serve_t=SERVE, plan=plan)
    said = kit.wait(SERVE + lit.start_s + 1.0)
    assert said.count("Oven to 225 now.") == 1
    assert CHIPS in until_the_chips_are_salted(kit, SERVE + kept.start_s)
    assert [type(f).__name__ for f in kit.state.facts if getattr(f, "task", "") == "oven:light"] == ["Began", "Ended"]
    assert replay(kit.events) == kit.state


def test_what_is_about_to_be_served_stays_out_of_it() -> None:
    """A minute before the table nothing goes into the oven."""
    kit = Kit(serve_t=SERVE, plan=plan_first(read_card(find_meal("fish-supper")), 2, SERVE))
    assert CHIPS not in until_the_chips_are_salted(kit, SERVE - 60.0)


def test_for_less_than_two_minutes_no_oven_is_lit() -> None:
    """At the soonest time the chips come last: nobody lights an oven for them, in the plan or aloud."""
    plan = plan_first(read_card(find_meal("fish-supper")), 2, None)
    assert [t.id for t in plan.tasks if "oven" in t.id or t.action == "keep"] == []
    assert "oven:light" in plan.starts  # the hands were kept free for it all the same
    assert [words for words in Kit(plan=plan).wait(5000.0) if words.startswith("Oven to ")] == []


def test_an_oven_turned_off_too_soon_names_what_is_kept_warm_in_it() -> None:
    """The chips that wait there; at the table nobody is told so."""
    plan = plan_first(read_card(find_meal("fish-supper")), 2, SERVE)
    kept = next(t for t in plan.tasks if t.action == "keep")
    lit = next(t for t in plan.tasks if t.id == "oven:light")
    kit = Kit(serve_t=SERVE, plan=plan)
    kit.wait(SERVE + lit.start_s + 1.0)
    assert CHIPS in until_the_chips_are_salted(kit, SERVE + kept.start_s)
    assert kit.say(kit.state.t + 10, "the oven is at four hundred")[0] == "Oven at 400, noted. It should be at 225."
    assert kit.say(kit.state.t + 10, "how hot should the oven be")[0] == "Chips: oven at 225."
    assert kit.say(kit.state.t + 10, "the oven is off")[0] == "Oven off, noted. Chips still inside."
    kit.say(kit.state.t + 10, "the oven is on")
    kit.say(kit.state.t + 10, "dinner's up")
    assert kit.say(kit.state.t + 10, "the oven is off")[0] == "Oven off, noted."


def test_what_was_never_sent_into_the_oven_is_not_inside() -> None:
    """Chips done a minute before the table stayed out of it."""
    kit = Kit(serve_t=SERVE, plan=plan_first(read_card(find_meal("fish-supper")), 2, SERVE))
    until_the_chips_are_salted(kit, SERVE - 60.0)
    assert kit.say(kit.state.t + 10, "the oven is off")[0] == "Oven off, noted."


def test_a_dish_left_out_lights_no_oven() -> None:
    """Without the chips nothing is to be kept warm."""
    kit = Kit(serve_t=SERVE, plan=plan_first(read_card(find_meal("fish-supper")), 2, SERVE))
    kit.say(5.0, "yes")
    kit.say(10.0, "skip the chips")
    kit.say(12.0, "yes")
    assert "Oven to 225 now." not in kit.wait(SERVE)


@pytest.fixture
def two_heats(tmp_path: Path) -> Path:
    """Fritter night with a slower bread at 250 F, and its fritters kept warm at 225 F."""
    text = find_meal("fritter-night").read_text(encoding="utf-8").replace("oven: 475 F", "oven: 250 F")
    path = tmp_path / "two-heats.yaml"
    path.write_text(text.replace("        hold on: rack\n", "        hold on: oven\n        hold oven: 225 F\n", 1), encoding="utf-8")
    return path


def test_it_is_turned_to_the_next_temperature_when_the_first_thing_is_out(two_heats: Path) -> None:
    """Bread bakes at 250; only when it is out is the oven turned down for the fritters, and it was lit once."""
    serve = 3 * 3600.0
    plan = plan_first(read_card(two_heats), 4, serve)
    kept, baked = (next(t for t in plan.tasks if t.action == action) for action in ("keep", "bake"))
    assert kept.start_s >= baked.end_s + 166.0  # 121 to 107 C at 5 K a minute
    kit = Kit(meal=str(two_heats), people=4, serve_t=serve, plan=plan)
    kit.say(5.0, "yes")
    said = kit.wait(serve + baked.start_s)
    assert said.count("Oven to 250 now.") == 1
    assert "Oven to 225 now." not in said
    t = serve + baked.end_s
    kit._add((e.BatchBegun(t, "bread-bake", 1, t), e.BatchIn(t, "bread-bake", 1), e.BatchLifted(t, "bread-bake", 1), e.StepDone(t, "bread-bake")))
    assert kit.wait(t + 1).count("Oven to 225 now.") == 1
    assert len([f for f in kit.state.facts if getattr(f, "task", "") == "oven:light"]) == 2


def test_an_oven_that_would_not_cool_in_time_keeps_nothing(tmp_path: Path) -> None:
    """From 475 to 225 F it takes half an hour: the fritters wait on their rack, and nothing is said of the oven."""
    text = find_meal("fritter-night").read_text(encoding="utf-8")
    path = tmp_path / "too-hot.yaml"
    path.write_text(text.replace("        hold on: rack\n", "        hold on: oven\n        hold oven: 225 F\n", 1), encoding="utf-8")
    kit = Kit(meal=str(path), people=4, serve_t=3 * 3600.0, plan=plan_first(read_card(path), 4, 3 * 3600.0))
    kit.say(5.0, "yes")
    said = kit.wait(3 * 3600.0)
    assert said.count("Oven to 475 now.") == 1
    assert "Oven to 225 now." not in said


def test_what_the_cook_tells_of_the_oven_is_noted_with_what_it_is_wanted_at() -> None:
    """Lit before it was asked for: its temperature is said then, and not again when its time comes; a wrong one is put right, a right one noted."""
    kit = thighs()
    assert kit.say(10, "the oven is on") == ["Oven on, noted: to 400."]
    assert kit.say(20, "the oven is at three fifty") == ["Oven at 350, noted. It should be at 400."]
    assert kit.say(30, "oven at two hundred celsius") == ["Oven at 392, noted."]  # 4.4 K: its own thermostat swings by more
    assert kit.say(40, "the oven is at four hundred") == ["Oven at 400, noted."]
    assert "Oven to 400 now." not in kit.wait(4 * 3600.0)


def test_a_meal_without_an_oven_notes_it_all_the_same() -> None:
    """Nothing wants it: no temperature is named."""
    kit = Kit(plan=plan_first(read_card(find_meal("fish-supper")), 2, None))
    kit.say(5, "yes")
    kit.say(10, "skip the chips")
    kit.say(12, "yes")
    assert kit.say(20, "oven on") == ["Oven on, noted."]
    assert kit.say(30, "oven at four hundred") == ["Oven at 400, noted."]


def test_an_oven_turned_off_with_food_in_it_says_what_is_inside() -> None:
    """Whoever turns off the wrong thing hears it."""
    kit = thighs()
    kit._add((e.BatchBegun(10.0, "cauliflower-bake", 1, 10.0), e.BatchIn(10.0, "cauliflower-bake", 1)))
    assert kit.say(20, "oven off") == ["Oven off, noted. Cauliflower bake still inside."]
    assert kit.say(30, "oven on") == ["Oven on, noted: to 400."]


def test_an_order_to_turn_the_oven_is_handed_back() -> None:
    """As with the burner: asked whether it is done, noted on a yes or when it is told."""
    kit = thighs()
    assert kit.say(10, "turn the oven on") == ["You turn it: I cannot. Is it on now?"]
    assert kit.say(15, "yes") == ["Oven on, noted: to 400."]
    assert kit.say(20, "turn off the oven") == ["You turn it: I cannot. Is it off now?"]
    assert kit.say(25, "the oven is off") == ["Oven off, noted."]
    assert not kit.state.questions


def test_it_is_the_oven_after_a_line_about_it() -> None:
    """ "Oven to 400 now.", "turned it on": no check of a pot, and no burner noted; a minute later "it" is the burner again."""
    kit = thighs()
    kit.say(10, "the oven is at three fifty")
    assert kit.say(20, "turned it on") == ["Oven on, noted: to 400."]
    assert kit.say(25, "turn it off") == ["You turn it: I cannot. Is it off now?"]
    assert [q.id for q in kit.state.questions] == ["turned-oven"]
    kit.say(27, "no")
    assert kit.say(200, "turned it off") == ["Burner off, noted."]


def test_an_oven_turned_off_too_soon_is_called_for_again() -> None:
    """Its temperature counts as said no longer."""
    kit = thighs()
    kit.say(10, "the oven is on")
    kit.say(20, "the oven is off")
    assert "Oven to 400 now." in kit.wait(4 * 3600.0)


def test_the_oven_turned_up_or_down_is_never_off() -> None:
    """Told or ordered, with a temperature or without: what it is wanted at is said, and what was ordered is asked about."""
    kit = thighs()
    assert kit.say(10, "turn the oven up") == ["You turn it: I cannot. Is it up now?"]
    assert kit.say(15, "yes") == ["Oven up, noted. It should be at 400."]
    assert kit.say(20, "turned the oven down") == ["Oven down, noted. It should be at 400."]
    assert kit.say(30, "set the oven to three fifty") == ["You turn it: I cannot. Is it at 350 now?"]
    assert kit.say(35, "yes") == ["Oven at 350, noted. It should be at 400."]
    assert kit.say(40, "turned the oven up to four hundred") == ["Oven at 400, noted."]
    assert not kit.state.questions


def test_the_oven_is_asked_about() -> None:
    """As far as it was told; what it is wanted at only while it should be hot, and its call still comes when its time is there."""
    kit = thighs()
    assert kit.say(10, "is the oven on") == ["Look at the oven: you have not told me."]
    kit.say(12, "the oven is off")
    assert kit.say(14, "how's the oven") == ["Oven off, as you told me."]
    assert kit.say(20, "how hot should the oven be") == ["Cauliflower bake: oven at 400."]
    assert "Oven to 400 now." in kit.wait(4 * 3600.0)
    kit.say(kit.state.t + 10, "the oven is on")
    assert kit.say(kit.state.t + 20, "is the oven hot yet") == ["Oven on, as you told me. It should be at 400."]


def test_a_meal_without_an_oven_has_no_temperature_for_it() -> None:
    """Asked all the same."""
    kit = Kit(plan=plan_first(read_card(find_meal("fish-supper")), 2, None))
    kit.say(5, "yes")
    kit.say(10, "skip the chips")
    kit.say(12, "yes")
    kit.say(12, "the oven is off")
    assert kit.say(14, "how's the oven") == ["Oven off, as you told me."]
    assert kit.say(20, "how hot should the oven be") == ["The card has no temperature for that."]


def test_it_is_off_answers_what_was_asked() -> None:
    """ "It's off", or "off" alone, answers what was asked last of burner or oven; with nothing asked it is not understood."""
    kit = thighs()
    assert kit.say(10, "it's off") == ["Say that again?"]
    kit.say(20, "turn the oven on")
    assert kit.say(25, "it's on") == ["Oven on, noted: to 400."]
    kit.say(30, "turn the oven off")
    assert kit.say(35, "off") == ["Oven off, noted."]
    assert not kit.state.questions
    kit.say(40, "turn the burner off")
    kit.say(42, "skip the cauliflower bake")
    assert kit.say(45, "yes it's off now") == ["Burner off, noted."]
    assert [q.id.partition(":")[0] for q in kit.state.questions] == ["skip"]
    assert replay(kit.events) == kit.state


def test_the_other_than_was_ordered_is_noted_too() -> None:
    """Told "it's on" where off was hoped for, it is on: nobody may believe it off and never be asked."""
    kit = thighs()
    kit.say(10, "the oven is off")
    kit.say(20, "turn the oven off")
    assert kit.say(25, "it's on") == ["Oven on, noted: to 400."]
    kit.say(30, "turn the oven up")
    assert kit.say(35, "it's off") == ["Oven off, noted."]
    assert not kit.state.questions


def test_at_the_end_it_is_off_closes_the_question() -> None:
    """ "Burner off?" "It's off." And "it's on" is a no."""
    kit = thighs()
    kit.say(10, "the oven is on")
    kit.say(20, "dinner's up")
    for what in ("burner", "oven"):
        assert [q.id for q in kit.state.questions] == [f"off:{what}"]
        assert "Turn it off first, then sit down." in kit.say(kit.state.t + 1, "it's on")
        assert [q.id for q in kit.state.questions] == [f"off:{what}"]
        kit.say(kit.state.t + 1, "it's off")
    assert not any(q.id.startswith("off:") for q in kit.state.questions)


def test_a_temperature_answers_the_order_to_set_it() -> None:
    """ "Set the oven to three fifty." "Is it at 350 now?" "Three hundred." What no oven is at is asked again."""
    kit = thighs()
    kit.say(10, "set the oven to three fifty")
    assert kit.say(15, "three hundred") == ["Oven at 300, noted. It should be at 400."]
    assert kit.say(20, "turn the oven to two") == ["Say that again?"]
    assert kit.say(25, "the oven is at two") == ["Say that again?"]
    assert not kit.state.questions


def test_it_is_the_oven_after_a_question_about_it() -> None:
    """ "Look at the oven", "turned it off": the oven, not the burner."""
    kit = thighs()
    kit.say(10, "is the oven still on")
    assert kit.say(15, "turned it off") == ["Oven off, noted."]
