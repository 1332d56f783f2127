"""The small test batch in fresh oil, and drops that come out of turn."""

from __future__ import annotations

from dataclasses import replace

import pytest
from kitchen_kit import Kit

from assistant.session import events as e
from assistant.session.evolve import replay

ASKED = "Test batch out. Did the foam stay low?"
LOW, ROSE = "Good. Now the full batch.", "Let it settle. Then tell me: foam has settled."


def called_out() -> tuple[Kit, float]:
    """The test batch in the oil for a minute, and called out."""
    kit = Kit()
    t = kit.reach_first_fry()
    fresh = Kit()
    for event in kit.events[1:]:
        if isinstance(event, e.BatchLifted):
            break
        if event.t > 0:
            fresh._add((event,))
    assert ASKED in fresh.wait(t + 60)
    return fresh, t + 60


@pytest.mark.parametrize("words", ["yes", "yes it did", "it stayed low"])
def test_foam_that_stayed_low_makes_room_for_the_full_batch(words: str) -> None:
    """Asked as the test batch is called out: a yes means both, that it is out and that the foam stayed low."""
    kit, t = called_out()
    assert LOW in kit.say(t + 5, words)
    assert kit.state.steps["chips-first-fry"].current is None
    assert replay(kit.events) == kit.state


@pytest.mark.parametrize("words", ["no", "it rose a lot", "no it didn't"])
@pytest.mark.parametrize("out_first", [True, False])
def test_foam_that_rose_makes_the_batches_smaller(words: str, out_first: bool) -> None:
    """A no is never silence: half as much goes in from here, and this pot is known to rise. Told first that the test batch is out, it asks for the
    foam alone."""
    kit, t = called_out()
    batches = kit.state.meal.step("chips-first-fry").fry
    if out_first:
        assert "Did the foam stay low?" in kit.say(t + 5, "test batch is out")
    assert ROSE in kit.say(t + 8, words)
    fry = kit.state.meal.step("chips-first-fry").fry
    assert fry is not None
    assert batches is not None
    assert fry.kg / fry.batches == pytest.approx(0.5 * batches.kg / batches.batches)
    assert kit.state.pots["big-pot"].foam.swell > 1.5
    assert "Wait. The foam must settle first." in kit.say(t + 12, "dropping the chips")
    assert kit.say(t + 60, "foam has settled")[0] == "Good. Smaller batches from here, drier food."
    kit.say(t + 62, "oil is at three hundred")
    assert "Go, 300." in kit.say(t + 65, "dropping the chips")
    assert replay(kit.events) == kit.state


@pytest.mark.parametrize("words", ["not yet", "almost", "not quite", "don't"])
def test_not_yet_says_nothing_of_the_foam(words: str) -> None:
    """The test batch is still in: it stays called out, and the question stays open."""
    kit, t = called_out()
    assert kit.say(t + 5, words) == []
    assert kit.state.steps["chips-first-fry"].current is not None
    assert LOW in kit.say(t + 9, "yes")


def test_it_is_out_says_nothing_of_the_foam() -> None:
    """The test batch is lifted, and its foam asked about."""
    kit, t = called_out()
    assert kit.say(t + 5, "it's out") == ["Did the foam stay low?"]
    assert kit.say(t + 8, "it's out") == []
    assert LOW in kit.say(t + 10, "yes")


def test_the_foam_is_asked_about_each_time_the_test_batch_is_called_out() -> None:
    """After minutes without an answer, and after a danger that dropped the question, a yes still means it."""
    kit, t = called_out()
    assert ASKED in kit.wait(t + 400)
    again = max(x.t for x in kit.events if isinstance(x, e.Said) and x.words == ASKED)
    assert LOW in kit.say(max(kit.state.t, again + 2), "yes")
    other, t = called_out()
    other.say(t + 5, "it's smoking")
    other.wait(t + 22)
    other.say(t + 22, "no")
    other.wait(t + 60)
    assert ASKED in [*other.say(t + 61, "carry on"), *other.wait(t + 145)]
    assert LOW in other.say(t + 147, "yes")


def test_in_danger_nothing_is_asked_about_foam() -> None:
    """A test batch lifted while a script runs is out without a question: a yes there answers the script alone."""
    kit, t = called_out()
    kit.say(t + 5, "it's spitting")
    assert "Did the foam stay low?" not in kit.say(t + 12, "test batch is out")
    assert not [q for q in kit.state.questions if q.id.startswith("foam:")]


def test_whoever_goes_on_has_seen_the_foam_stay_low() -> None:
    """Dropping the full batch ends the question about the foam; a no after that is about nothing."""
    kit, t = called_out()
    kit.say(t + 5, "test batch is out")
    kit.say(t + 10, "oil is at three hundred")
    assert "Go, 300." in kit.say(t + 15, "dropping the chips")
    assert not [q for q in kit.state.questions if q.id.startswith("foam:")]
    assert ROSE not in kit.say(t + 17, "no")


def test_words_about_the_foam_answer_nothing_else() -> None:
    """ "It stayed low" is no yes to "Turn the burner down", nor "no flames" a no to anything but a flame."""
    kit, t = called_out()
    kit.say(t + 5, "yes")
    kit._add((e.Asked(t + 6, "flame:big-pot:down", ("yes", "no", "burner"), t + 200),))
    assert kit.say(t + 7, "it stayed low") == []
    assert kit.say(t + 8, "no flames") == []
    assert [q.id for q in kit.state.questions if q.id.startswith("flame:")] == ["flame:big-pot:down"]


def test_food_in_untested_oil_is_not_told_to_hold() -> None:
    """What is in already cannot wait: what to watch, and its clock."""
    kit = Kit()
    t = kit.reach_first_fry()
    kit.say(t, "fresh oil")
    said = kit.say(t + 5, "chips are in")
    assert "Untested oil: watch it rise, ready to turn it off." in said
    assert not [words for words in said if words.startswith("Hold")]
    assert "Six minutes, chips." in said


@pytest.mark.parametrize(("read", "says"), [("three sixty", "Oil 360, wants 300. Burner off."), ("four twenty", "Oil too hot. Burner off.")])
def test_food_in_oil_too_hot_is_told_to_turn_it_off(read: str, says: str) -> None:
    """The order stays, whatever cannot be held any more."""
    kit = Kit()
    t = kit.reach_first_fry()
    kit.say(t, "burner on full")
    kit.say(t + 5, f"oil is at {read}")
    assert says in kit.say(t + 8, "chips are in")


def test_peas_on_the_stove_end_no_question_about_foam() -> None:
    """Only food for that oil does."""
    kit, t = called_out()
    kit.say(t + 5, "test batch is out")
    kit.say(t + 8, "the peas are on the stove")
    assert ROSE in kit.say(t + 12, "it rose a lot")


def test_food_in_cold_oil_is_told_how_cold_and_not_how_long_to_wait() -> None:
    """In already: the oil and what it should be, without a hold."""
    kit = Kit()
    t = kit.reach_first_fry()
    kit.say(t + 5, "oil is at two hundred and sixty")
    assert [words for words in kit.say(t + 8, "chips are in") if "260" in words] == ["Oil 260, wants 300."]


def test_what_is_dropped_anyway_is_what_was_to_wait_last() -> None:
    """Onions are held; then fritters are, and dropped anyway: no batch of onions begins."""
    kit = Kit(meal="fritter-night")
    kit.say(5, "yes")
    for step in kit.state.meal.steps():
        if step.fry is None:
            kit._add((e.StepDone(60.0, step.id),))
    kit._add((e.Focused(60.0, ""),))
    kit.say(1200, "burner on full")
    kit.say(1400, "oil is at two hundred")
    assert [w for w in kit.say(1405, "dropping the crisp onions") if w.startswith("Hold")]
    assert [w for w in kit.say(1420, "dropping the fritters") if w.startswith("Hold")]
    kit.say(1425, "drop it anyway")
    assert [s.dish for s, _ in kit.state.in_heat()] == ["fritters"]


def test_they_are_in_means_what_was_dropped_and_nothing_on_the_stove() -> None:
    """Said once more of chips that are in, it puts no peas on."""
    kit = Kit()
    t = kit.reach_first_fry()
    kit.say(t, "chips down")
    heat = [s.id for s, _ in kit.state.in_heat()]
    assert kit.say(t + 20, "they're in")[0].startswith("Chips: ")
    assert [s.id for s, _ in kit.state.in_heat()] == heat


def test_a_figure_that_can_only_be_a_core_is_the_core() -> None:
    """Core and oil asked for in one breath: what boils no water is the core, what does is the oil."""
    kit = Kit(meal="sunday-thighs")
    kit.say(5, "yes")
    asked = (("core:thighs-fry", ("answer", "core")), ("oil:big-pot", ("answer", "oil_temp")))
    pot = next(iter(kit.state.pots))
    run = kit.state.pots[pot]
    kit.state = replace(kit.state, pots={pot: replace(run, drops=2)})
    kit._add(tuple(e.Asked(60.0 + n, q.replace("big-pot", pot), accepts, 900.0) for n, (q, accepts) in enumerate(asked)))
    kit.say(70, "one fifty eight")
    assert kit.state.cores.get("thighs-fry") == pytest.approx(70.0)
    assert kit.state.pots[pot].oil_c is None
    kit.say(80, "three hundred")
    assert kit.state.pots[pot].oil_c == pytest.approx(148.9, abs=0.1)


def test_test_batch_is_out_lifts_no_other() -> None:
    """Said once more, after the full batch has gone in: the chips stay in."""
    kit = Kit()
    t = kit.reach_first_fry()
    kit.say(t, "chips down")
    assert kit.say(t + 10, "test batch is out")[0] == "Nothing of that is under way."
    assert kit.state.steps["chips-first-fry"].current is not None
