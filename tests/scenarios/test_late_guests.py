"""Late guests, by words alone: asked before the last drop, their part kept raw and cooked when they are there."""

from __future__ import annotations

import pytest
from obedient_cook import Cook

from assistant.session import events as e
from assistant.session.state import LATE, Status

MEALS = {"fish-supper": 1, "fritter-night": 2, "sunday-thighs": 1}


@pytest.fixture(scope="module", params=MEALS, ids=str)
def cook(request: pytest.FixtureRequest) -> Cook:
    """An evening at which some are late, who are still not there at the first asking and are at the second."""
    found = Cook(request.param, planned=True, late=MEALS[request.param])
    found.run()
    return found


def at(cook: Cook, begins: str) -> float:
    """When something was said first."""
    return next(t for t, way, words in cook.lines if way == "<" and words.startswith(begins))


def test_everybody_eats_and_nothing_is_left_out(cook: Cook) -> None:
    """First and second wave are done to the last plate, and the closing checks come after the second."""
    assert {i for i, run in cook.state.steps.items() if run.status is not Status.DONE} == set()
    assert any(step.endswith(LATE) for step in cook.state.steps)
    assert at(cook, "To the table, whoever") < at(cook, "To the table. Before")


def test_it_is_asked_before_the_last_drop_and_the_first_wave_keeps_its_time(cook: Cook) -> None:
    """At the question there is still a batch to go in; the first wave is on the table within ten minutes of the time said."""
    told = next(x for x in cook.events if isinstance(x, e.GuestsLate))
    drops = [x.t for x in cook.events if isinstance(x, e.BatchBegun) and cook.state.meal.step(x.step).fry is not None and not x.test]
    assert any(at(cook, "Is everyone there?") < t for t in drops)
    assert abs(at(cook, "To the table, whoever") - (told.wave_t - 300.0)) < 600.0


def test_the_second_wave_waits_for_its_guests(cook: Cook) -> None:
    """Nothing of it goes in before they are said to be there; then it goes in within three minutes, at the right oil."""
    here = at(cook, "Good. Now the second batch.")
    late = [x for x in cook.events if isinstance(x, e.BatchBegun) and x.step.endswith(LATE)]
    assert late
    assert all(here < x.t for x in late)
    assert min(x.t for x in late) - here < 180.0
    assert all(-8.0 < off < 12.0 for step, test, off in cook.drops if step.endswith(LATE) and not test)


def test_the_two_waves_are_the_whole_lot(cook: Cook) -> None:
    """What the two waves weigh, and their pieces, is what the card has; what waits raw is on its clock until it is cooked."""
    told = next(i for i, x in enumerate(cook.events) if isinstance(x, e.GuestsLate))
    assert told
    for step in [s for s in cook.state.steps if s.endswith(LATE)]:
        late, first = cook.state.meal.step(step).fry, cook.state.meal.step(step.removesuffix(LATE)).fry
        if late is None or first is None:
            continue
        card = next(s for s in Cook(cook.meal).state.meal.steps() if s.id == step.removesuffix(LATE)).fry
        assert card is not None
        assert late.kg + first.kg == pytest.approx(card.kg, rel=0.01)
        assert (late.pieces or 0) + (first.pieces or 0) == (card.pieces or 0)
    assert [i for i in cook.state.ledger.open() if i.id.endswith(LATE) and "cooked" not in str(i.kind)] == []
    assert [x.id for x in cook.events if isinstance(x, e.AlertRaised) and x.id.startswith("food:")] == []
