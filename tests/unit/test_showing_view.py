"""The glance screen as a value: what is the one sentence, what is next, which clocks run, what the oil row says. Kitchen times in seconds."""

from __future__ import annotations

import json
from dataclasses import replace
from types import SimpleNamespace

import pytest
from kitchen_kit import Kit

from assistant.kitchen.evening import PlanTask
from assistant.kitchen.scripts import script
from assistant.session import events as e
from assistant.session.agenda import next_deadline
from assistant.session.evolve import evolve
from assistant.session.helping import jobs
from assistant.session.state import State, due_t
from assistant.showing.view import EarView, as_json, heard_in, helper_view, view
from assistant.speaking import prompts as p

EAR = EarView(listening=True)


def frying(kit: Kit) -> float:
    """The first full batch is in, surely: kitchen time."""
    t = kit.reach_first_fry()
    kit.say(t, "chips down")
    return t


def test_the_first_sentence_is_the_first_step() -> None:
    """Before anything is hot the sentence is the step the cook was told, and no pot and no clock is shown."""
    kit = Kit()
    seen = view(kit.state, 1.0, EAR)
    assert (seen.level, seen.words) == ("do", "Peel potatoes and cut sticks as thick as a finger.")
    assert seen.pots == ()
    assert seen.clocks == ()
    assert not seen.takeover


def test_a_batch_shows_its_clock_by_its_dish_and_what_comes_of_it() -> None:
    """A batch in the oil is a clock with the dish's name, its deadline, and the next thing is to look at it, then to lift it."""
    kit = Kit()
    t = frying(kit)
    step, batch = kit.state.in_heat()[0]
    seen = view(kit.state, t + 1, EAR)
    assert [(c.name, c.kind, c.ends_t) for c in seen.clocks] == [("chips", "oil", due_t(step, batch))]
    assert seen.next is not None
    assert (seen.next.words, seen.next.at_t) == ("look: chips", batch.next_look_t)
    kit.wait(batch.next_look_t or 0.0)
    kit.say(kit.state.t + 1, "no")
    seen = view(kit.state, kit.state.t, EAR)
    assert seen.next is not None
    assert seen.next.words.startswith(("lift", "look"))
    assert seen.next.clock in ("", seen.clocks[0].id)


def test_a_look_that_was_asked_is_the_sentence() -> None:
    """While a look is asked for, the sentence is that question in the voice's words, and yes and no can be touched."""
    kit = Kit()
    t = frying(kit)
    at = kit.state.in_heat()[0][1].next_look_t
    assert at is not None
    assert at > t
    kit.wait(at)
    seen = view(kit.state, at, EAR)
    assert (seen.level, seen.words) == ("due", p.look("chips", "limp and pale"))
    assert [b.label for b in seen.buttons][:2] == ["Yes", "No"]


def test_what_is_due_is_the_sentence_until_it_is_done() -> None:
    """A batch that is due has the sentence, in the voice's words; lifted, it has it no more."""
    kit = Kit()
    t = frying(kit)
    kit.wait(t + 60)
    kit.wait(due_t(*kit.state.in_heat()[0]))
    seen = view(kit.state, kit.state.t, EAR)
    assert seen.level == "due"
    assert seen.words in {a.words for a in kit.state.alerts.values()}
    kit.say(kit.state.t + 1, "chips out")
    assert view(kit.state, kit.state.t, EAR).words != seen.words


def test_overtime_takes_the_whole_page_with_the_words_of_the_voice() -> None:
    """A high alarm is a takeover with exactly the alert's words."""
    kit = Kit()
    frying(kit)
    while not any(a.priority == "high" for a in kit.state.alerts.values()):
        kit.do(next_deadline(kit.state) or 0.0, None)
    seen = view(kit.state, kit.state.t, EAR)
    assert seen.takeover
    assert seen.level == "alarm"
    assert seen.words in {a.words for a in kit.state.alerts.values() if a.priority == "high"}
    assert seen.clocks, "the clocks of food in heat stay in sight"


def test_danger_shows_each_line_as_it_is_said_and_keeps_the_orders_before_it() -> None:
    """In a danger script the page says the line that the voice says; lines said earlier stay; the clock of the food runs on."""
    kit = Kit()
    t = frying(kit)
    kit.say(t + 30, "it's foaming up")
    lines = [x.words for x in script("boil_over").lines]
    for n in range(1, 4):
        seen = view(kit.state, kit.state.t, EAR)
        assert (seen.level, seen.takeover) == ("danger", True)
        assert seen.words == lines[n - 1] == kit.state.last_words
        assert list(seen.before) == lines[: n - 1]
        assert seen.clocks
        kit.wait(kit.state.script.next_t if kit.state.script else 0.0)


def test_danger_offers_only_answers_to_its_own_question() -> None:
    """A question that was open before the danger cannot be answered by touch during it; the script's own can."""
    kit = Kit()
    frying(kit)
    at = kit.state.in_heat()[0][1].next_look_t or 0.0
    kit.wait(at)
    kit.say(at + 1, "it's foaming up")
    assert not {"yes", "no"} & {b.words for b in view(kit.state, kit.state.t, EAR).buttons}
    while not any(q.id.startswith("script:") for q in kit.state.questions):
        kit.wait(kit.state.script.next_t if kit.state.script else 0.0)
    assert {"yes", "no"} <= {b.words for b in view(kit.state, kit.state.t, EAR).buttons}


def test_on_hold_the_burner_comes_first_and_clocks_run_on() -> None:
    """Held with the burner on: the sentence is the burner; nothing that fries is left out."""
    kit = Kit()
    t = frying(kit)
    kit.say(t + 20, "hold everything")
    seen = view(kit.state, t + 21, EAR)
    assert (seen.level, seen.words) == ("hold", p.BURNER_OFF_FIRST)
    assert [c.name for c in seen.clocks] == ["chips"]


@pytest.mark.parametrize(("read", "verdict"), [("two sixty", "hold"), ("three hundred", "go")])
def test_the_oil_row_says_go_or_hold_as_the_voice_does(read: str, verdict: str) -> None:
    """The verdict beside the oil is the gate's: cold oil holds, oil in its band goes."""
    kit = Kit()
    t = kit.reach_first_fry()
    kit.say(t + 1, f"oil is at {read}")
    pot = view(kit.state, t + 2, EAR).pots[0]
    assert (pot.verdict, pot.wants, pot.unit) == (verdict, "300", "°F")
    assert pot.as_of_t == t + 1


def test_a_reading_grows_old_with_nothing_happening() -> None:
    """The view says when it must be made anew, and an hour after the last reading it never says go."""
    kit = Kit()
    t = kit.reach_first_fry()
    kit.say(t + 1, "oil is at three hundred")
    first = view(kit.state, t + 2, EAR)
    assert first.pots[0].verdict == "go"
    assert first.changes_t is not None
    assert first.changes_t > t + 2
    assert view(kit.state, t + 3600, EAR).pots[0].verdict in ("read", "hold")


def test_figures_are_in_the_cooks_units() -> None:
    """A cook who set Celsius sees Celsius."""
    kit = Kit()
    t = kit.reach_first_fry()
    kit.say(t + 1, "oil is at three hundred")
    pot = view(replace(kit.state, units="C"), t + 2, EAR).pots[0]
    assert (pot.wants, pot.unit) == ("149", "°C")


def test_never_more_than_four_rows_beside_the_sentence() -> None:
    """However much runs: next, clocks, oil and talk are the only rows, and the clocks are few enough to be read."""
    kit = Kit()
    t = frying(kit)
    state = kit.state
    for n in range(9):
        state = evolve(state, e.ClockSet(t + 1, f"clock-{n}", f"thing {n}", t + 100 + n))
    seen = view(state, t + 2, EAR)
    assert len(seen.clocks) == 6
    assert [c.ends_t for c in seen.clocks] == sorted(c.ends_t for c in seen.clocks)


def test_a_clock_that_next_is_about_is_not_counted_twice() -> None:
    """What comes next names the clock that brings it, so that a page shows one of the two."""
    kit = Kit()
    kit.say(10.0, "set a clock for five minutes")
    seen = view(kit.state, 11.0, EAR)
    assert seen.next is not None
    assert seen.next.clock in {c.id for c in seen.clocks}


@pytest.mark.parametrize(("reason", "shown"), [("", "chips down"), ("unknown", "chips down"), ("not_addressed", "before"), ("speaking", "before")])
def test_talk_that_was_not_meant_for_us_is_shown_to_nobody(reason: str, shown: str) -> None:
    """What two people said to each other never appears."""
    assert heard_in([e.Heard(1.0, "chips down", reason=reason)], "before") == shown


def test_a_helper_sees_his_jobs_only() -> None:
    """A helper's view: none without a helper; with one, work by hand that is free, no oil, no clocks, none of the talk."""
    kit = Kit()
    kit.say(10.0, "yes")
    assert helper_view(kit.state, 11.0, EAR).words == "No helper is here yet."
    kit.say(12.0, "a helper is here")
    seen = helper_view(kit.state, 13.0, EarView(True, "secret"))
    assert seen.level == "do"
    assert seen.words != view(kit.state, 13.0, EAR).words
    assert (seen.pots, seen.clocks, seen.heard, seen.said) == ((), (), "", "")
    (button,) = seen.buttons
    kit.say(14.0, button.words)
    assert helper_view(kit.state, 15.0, EAR).words != seen.words, "the helper's Done does the helper's job"


def test_a_helper_gets_first_what_the_plan_gave_to_a_helper() -> None:
    """Of the jobs that are free, one that the plan has for the helper's hands comes before the others, whatever the order of the card."""
    kit = Kit()
    free = jobs(kit.state)
    assert len(free) > 1
    given = PlanTask("x", free[-1].id, free[-1].dish, "do", "x", 0, -600.0, -300.0, ("helper",))
    state = replace(kit.state, plan=SimpleNamespace(tasks=(given,)))
    assert jobs(state)[0].id == free[-1].id


def test_a_helper_sees_danger_as_everybody() -> None:
    """In a danger a helper's page has the same words."""
    kit = Kit()
    kit.say(10.0, "a helper is here")
    kit.say(12.0, "fire")
    assert helper_view(kit.state, 12.0, EAR).words == view(kit.state, 12.0, EAR).words
    assert helper_view(kit.state, 12.0, EAR).takeover


def buttons_of(state: State) -> list[tuple[str, str]]:
    """Labels and words of what can be touched."""
    return [(b.label, b.words) for b in view(state, state.t, EAR).buttons]


def test_every_button_says_something_the_grammar_takes() -> None:
    """Each touch target's words are a command; and while food is in, Lifted lifts it, Heat is off turns the burner off."""
    kit = Kit()
    t = frying(kit)
    for _, words in buttons_of(kit.state):
        heard = [x for x in kit.events if isinstance(x, e.Heard)]
        kit.say(t + 1, words)
        new = [x for x in kit.events if isinstance(x, e.Heard)][len(heard) :]
        assert [x.reason for x in new] == [""], words
    assert not kit.state.in_heat()
    assert not kit.state.pots["big-pot"].on


@pytest.mark.parametrize("meal", ["fish-supper", "sunday-thighs", "fritter-night"])
def test_at_every_deadline_of_an_evening_there_is_one_sentence(meal: str) -> None:
    """An evening nobody answers, from deadline to deadline: always a sentence of at most 12 words, always plain JSON, never a failure."""
    kit = Kit(meal)
    for _ in range(120):
        at = next_deadline(kit.state)
        if at is None:
            break
        kit.do(max(at, kit.state.t), None)
        seen = view(kit.state, kit.state.t, EAR)
        assert 0 < len(seen.words.split()) <= 12
        assert json.loads(json.dumps(as_json(seen)))["words"] == seen.words
