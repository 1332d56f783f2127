"""What earlier evenings of a meal left: read from their states and from the journal."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import pytest
from kitchen_kit import Kit, first_event

from assistant.clock import Now
from assistant.journal import Journal
from assistant.keeping import as_first, made_ahead, still_good
from assistant.kitchen.cards import find_meal, read_card
from assistant.kitchen.plan_live import plan_again
from assistant.runtime import plan_first
from assistant.session import events as e
from assistant.session.earlier import Made, Past, made_before
from assistant.session.evolve import evolve, first_state, replay
from assistant.session.state import Status

MEAL = read_card(find_meal("fritter-night"))
FRIDAY = datetime(2026, 11, 27, 19, 0).astimezone().timestamp()
SATURDAY = datetime(2026, 11, 28, 16, 30).astimezone().timestamp()
HOUR = 3600.0
LENTILS: tuple[e.Event, ...] = (
    e.BatchBegun(60.0, "lentils-simmer", 1, 60.0),
    e.BatchIn(60.0, "lentils-simmer", 1),
    e.BatchLifted(1500.0, "lentils-simmer", 1),
    e.StepDone(1500.0, "lentils-simmer"),
    e.StepBegan(1500.0, "lentils-cool"),
    e.StepDone(2700.0, "lentils-cool"),
    e.StepBegan(2700.0, "lentils-chill"),
)
TO_CHILL = ("lentils-simmer", "lentils-cool", "lentils-chill")


def past(*events: e.Event, wall: float = FRIDAY, people: int = 4) -> Past:
    """An evening that began at `wall` and was left after these events."""
    state = first_state(first_event("fritter-night", people=people))
    for event in events:
        state = evolve(state, event)
    return Past(state, wall)


def made(*evenings: Past, people: int = 4, wall: float = SATURDAY) -> tuple[Made, ...]:
    return made_before(evenings, MEAL, people, wall)


def test_lentils_of_yesterday_are_there_today_with_their_clock_running() -> None:
    """Cooked and put to chill on Friday: all three steps are known on Saturday, in the fridge, a day old, and not over."""
    (thing,) = made(past(*LENTILS))
    assert (thing.dish, thing.name, thing.steps, thing.days, thing.over) == ("lentils", "lentils", TO_CHILL, 1, "")
    assert thing.item is not None
    assert str(thing.item.place) == "fridge"
    assert thing.item.made_s == pytest.approx(1500.0 - (SATURDAY - FRIDAY))
    assert 0.15 < thing.item.used < 0.25  # twenty minutes on the tray of the two hours


@pytest.mark.parametrize(
    ("events", "wall", "why"),
    [
        (LENTILS[:-1], SATURDAY, "never put in the fridge"),
        (LENTILS, SATURDAY + 48 * HOUR, "past the two days that the card gives it"),
        (LENTILS, SATURDAY + 20 * HOUR, "made the day before yesterday"),
        ((*LENTILS, e.Told(9000.0, "dinner")), SATURDAY, "eaten"),
        ((e.StepBegan(60.0, "carrots-grate"), e.StepDone(300.0, "carrots-grate")), SATURDAY, "to be made on the same day"),
        ((e.StepBegan(60.0, "dough-mix"), e.StepDone(600.0, "dough-mix")), FRIDAY + HOUR, "to be made in one go"),
    ],
)
def test_what_the_card_does_not_keep_is_made_again(events: tuple[e.Event, ...], wall: float, why: str) -> None:
    """Out of its window, of another day, half done on the counter or eaten: not offered."""
    assert made(past(*events), wall=wall) == (), why


def test_prep_of_this_morning_counts_today() -> None:
    """`same day` is this calendar day: carrots grated at ten are there at half past four."""
    carrots = (e.StepBegan(60.0, "carrots-grate"), e.StepDone(300.0, "carrots-grate"))
    (thing,) = made(past(*carrots, wall=SATURDAY - 6 * HOUR))
    assert (thing.steps, thing.days) == (("carrots-grate",), 0)


def test_the_newest_evening_decides() -> None:
    """Asked on Saturday noon and refused there: Friday's lentils are not offered again; an evening with dinner ends the search."""
    friday = past(*LENTILS)
    refused = past(e.Told(5.0, "made:lentils"), wall=SATURDAY - 4 * HOUR)
    assert made(refused, friday) == ()
    assert made(past(e.Told(5.0, "dinner"), wall=SATURDAY - 4 * HOUR), friday) == ()
    assert made(past(wall=SATURDAY - 4 * HOUR), friday) == made(friday)


def test_made_for_fewer_is_made_again() -> None:
    """Lentils for two do not feed six."""
    assert made(past(*LENTILS, people=2), people=6) == ()


def test_what_was_left_out_too_long_is_named_with_the_reason() -> None:
    """Three hours on the counter before the fridge: the thing is known, and over."""
    late = (*LENTILS[:4], e.StepBegan(1500.0, "lentils-cool"), e.StepDone(13000.0, "lentils-cool"), e.StepBegan(13000.0, "lentils-chill"))
    (thing,) = made(past(*late))
    assert thing.over


def test_the_journal_gives_the_evenings_of_this_meal(tmp_path: Path) -> None:
    """Only this meal's, newest first, the one under way not among them; one that cannot be replayed counts as none."""
    journal = Journal(tmp_path / "journal.sqlite")
    journal.begin(first_event("fritter-night", people=4), "fritter-night", Now(FRIDAY, 0.0, "a"))
    journal.append(LENTILS, Now(FRIDAY + LENTILS[-1].t, LENTILS[-1].t, "a"))
    journal.begin(first_event("fish-supper"), "fish-supper", Now(FRIDAY + 9 * HOUR, 0.0, "a"))
    journal.begin(first_event("fritter-night", people=4), "fritter-night", Now(SATURDAY, 0.0, "a"))
    assert [m.dish for m in made_ahead(journal, MEAL, 4, SATURDAY)] == ["lentils"]
    journal._db.execute("UPDATE event SET kind = 'Unheard' WHERE evening = 1 AND seq = 3")
    assert made_ahead(journal, MEAL, 4, SATURDAY) == ()
    journal.close()


def evening_after(*events: e.Event, planned: bool = False) -> Kit:
    """Saturday's evening after this Friday."""
    ahead = made(past(*events))
    plan = plan_first(MEAL, 4, None, done=still_good(ahead)) if planned else None
    return Kit("fritter-night", people=4, before=as_first(ahead, SATURDAY), plan=plan)


def test_the_cook_is_asked_once_about_what_was_made_before() -> None:
    """After the time of day, and before anything is begun; with "yes" it stays done, with its food clock running, and is not asked again."""
    kit = evening_after(*LENTILS)
    assert kit.wait(10.0) == []
    assert kit.say(11.0, "yes")[0] == "The lentils from yesterday: still good? Yes or no."
    assert kit.state.focus == ""
    said = kit.say(15.0, "yes")
    assert said[0] == "Good: lentils, made already."
    assert kit.state.focus not in ("", *TO_CHILL)
    assert kit.state.steps["lentils-chill"].status is Status.DONE
    assert 0.15 < kit.state.ledger.items["lentils-simmer"].used < 0.25
    assert not any("still good" in words for words in kit.wait(3600.0))
    assert replay(kit.events) == kit.state


@pytest.mark.parametrize("answer", ["no", ""])
def test_no_or_silence_makes_it_again(answer: str) -> None:
    """What is left goes into the bin and its steps are to be done; nobody eats what nobody vouches for."""
    kit = evening_after(*LENTILS)
    kit.say(11.0, "yes")
    said = kit.say(15.0, answer) if answer else kit.wait(200.0)
    assert "Into the bin, then. We make the lentils again." in said
    assert {kit.state.steps[s].status for s in TO_CHILL} <= {Status.TODO, Status.RUNNING}
    assert kit.state.ledger.items["lentils-simmer"].ended == "discarded"
    assert kit.state.alerts == {}


def test_the_plan_leaves_out_what_is_there_and_takes_it_in_again() -> None:
    """Planned without the lentils the evening is shorter; refused, they are planned again and what goes before and after them keeps its order."""
    kit = evening_after(*LENTILS, planned=True)
    plan = kit.state.plan
    assert plan is not None
    assert not {t.step for t in plan.tasks} & set(TO_CHILL)
    whole = plan_again(plan, frozenset(), kit.state.facts, 20.0, kit.state.meal)
    assert set(TO_CHILL) <= {t.step for t in whole.tasks}
    assert whole.serve_s > plan.serve_s
    assert whole.task("lentils-chill").end_s <= whole.task("lentils-dress").start_s


def test_what_is_over_is_called_out_and_made_again() -> None:
    """Three hours on the counter on Friday: Saturday's first words say once to throw it away, by its day; the lentils are among the steps to do, and
    what is made anew has a clock of its own."""
    late = (*LENTILS[:4], e.StepBegan(1500.0, "lentils-cool"), e.StepDone(13000.0, "lentils-cool"), e.StepBegan(13000.0, "lentils-chill"))
    kit = evening_after(*late)
    said = [x.words for x in kit.events if isinstance(x, e.Said)]
    assert said.count("Discard the lentils from Friday: out too long.") == 1
    assert kit.state.steps["lentils-simmer"].status is Status.TODO
    kit._add((e.StepDone(1800.0, "lentils-simmer"),))
    assert not kit.state.ledger.items["lentils-simmer"].over
    assert not any("Friday" in words for words in kit.wait(2400.0))
