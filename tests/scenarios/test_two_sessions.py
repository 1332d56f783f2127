"""One meal over two evenings, by words alone: prep on the day before, the rest when it is served."""

from __future__ import annotations

import pytest
from obedient_cook import Cook

from assistant.keeping import as_first
from assistant.kitchen.cards import find_meal, read_card
from assistant.session import events as e
from assistant.session.earlier import Past, made_before
from assistant.session.evolve import replay
from assistant.session.state import Status

HOUR = 3600.0
SEVEN = 19 * HOUR
SERVE = 23.5 * HOUR
LENTILS = {"lentils-simmer", "lentils-cool", "lentils-chill"}
FRIDAY_WALL = 1_795_806_000.0  # Friday, 27 November 2026, 19:00 UTC


@pytest.fixture(scope="module")
def both_days() -> Cook:
    """A fritter night begun on Friday at seven for Saturday half past six, the program left running."""
    cook = Cook("fritter-night", planned=True, day_s=SEVEN, serve_t=SERVE)
    cook.run()
    return cook


def test_the_first_evening_does_what_is_ahead_and_says_when_to_go_on(both_days: Cook) -> None:
    """Only the lentils are cooked on Friday; then the cook hears when the next session begins, and nothing is begun before it."""
    said = [(t, words) for t, way, words in both_days.lines if way == "<"]
    assert "We eat tomorrow at 18:30." in [words for _, words in said]
    over_t = next(t for t, words in said if words.startswith("Enough for now. Next: "))
    began = {x.step: x.t for x in both_days.events if isinstance(x, e.StepBegan)}
    assert over_t < 2 * HOUR
    assert {step for step, t in began.items() if t < 12 * HOUR} <= LENTILS
    assert min(t for step, t in began.items() if step not in LENTILS) > 20 * HOUR


def test_dinner_is_up_on_the_second_day(both_days: Cook) -> None:
    """Within ten minutes of the time said, with nothing left out and no food over its limit."""
    assert {i for i, run in both_days.state.steps.items() if run.status is not Status.DONE} == set()
    assert abs(both_days.evening.kitchen_time() - SERVE) < 600.0
    assert [x.id for x in both_days.events if isinstance(x, e.AlertRaised) and x.id.startswith("food:")] == []


def test_a_fresh_start_on_the_second_day_knows_the_first(both_days: Cook) -> None:
    """Friday's program was closed at night: on Saturday the cook is asked about the lentils, and dinner comes without cooking them again."""
    friday = both_days.events
    began = next(x for x in both_days.evening.journal.events(1))[0]
    state = replay([began, *(x for x in friday if x.t < 3 * HOUR)])
    card = read_card(find_meal("fritter-night"))
    ahead = made_before([Past(state, FRIDAY_WALL)], card, 4, FRIDAY_WALL + 21 * HOUR)
    assert {step for thing in ahead for step in thing.steps} == LENTILS
    cook = Cook("fritter-night", planned=True, before=as_first(ahead, FRIDAY_WALL + 21 * HOUR))
    cook.run()
    words = [words for _, way, words in cook.lines if way == "<"]
    assert "The lentils from yesterday: still good? Yes or no." in words
    assert "Simmer the lentils in plenty of water." not in words
    assert "dinner" in cook.state.told
    assert {i for i, run in cook.state.steps.items() if run.status is not Status.DONE} == set()
