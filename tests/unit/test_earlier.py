"""What earlier evenings of a meal left: read from their states and from the journal."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import pytest
from kitchen_kit import first_event

from assistant.clock import Now
from assistant.journal import Journal
from assistant.keeping import made_ahead
from assistant.kitchen.cards import find_meal, read_card
from assistant.session import events as e
from assistant.session.earlier import Made, Past, made_before
from assistant.session.evolve import evolve, first_state

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
