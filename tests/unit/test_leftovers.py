"""What is left of a dinner stays known until it is gone, and the next evening, of whatever meal, says what is over or due."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from pathlib import Path

import pytest
from kitchen_kit import Kit, first_event

from assistant.clock import Now
from assistant.evening import adopt_order
from assistant.journal import Journal
from assistant.keeping import as_first, leftovers
from assistant.session import events as e
from assistant.session.decide import decide, start
from assistant.session.earlier import Past
from assistant.session.evolve import evolve, first_state
from assistant.session.leftovers import left_over
from assistant.session.state import State

SUNDAY = datetime(2026, 11, 22, 18, 0).astimezone().timestamp()
HOUR, DAY = 3600.0, 86400.0


def dinner(*more: e.Event) -> State:
    """Sunday's fish supper: peas mashed after an hour, dinner up after two, then what the cook said."""
    state = first_state(first_event())
    told = (e.StepBegan(3000.0, "peas-mash"), e.StepDone(3600.0, "peas-mash"), e.Told(2 * HOUR, "dinner"))
    for event in (*told, *more):
        state = evolve(state, event)
    return state


PUT_AWAY = e.Placed(2 * HOUR + 600.0, "peas", "fridge")


def names(*evenings: tuple[int, State], wall: float) -> list[str]:
    """Names of what is left at `wall`."""
    return [i.name for i in left_over(((n, Past(s, SUNDAY)) for n, s in evenings), wall)]


def next_evening(left: State, wall: float, meal: str = "sunday-thighs") -> tuple[list[str], State]:
    """What the next evening says first, and its state."""
    items = left_over([(1, Past(left, SUNDAY))], wall)
    state = first_state(replace(first_event(meal), **as_first((), wall, items)))
    state = evolve(state, adopt_order(state, 0.0, "test"))
    said = []
    for event in start(state, 0.0):
        state = evolve(state, event)
        if isinstance(event, e.Said):
            said.append(event.words)
    return said, state


def test_only_what_was_put_away_is_left() -> None:
    """The fridge was named: it is there. Not named: it was eaten. What only stayed in the fridge as it was bought is no leftover."""
    assert names((1, dinner(PUT_AWAY)), wall=SUNDAY + DAY) == ["peas from Sunday"]
    caviar = (e.Placed(HOUR, "caviar", "counter"), e.Placed(2 * HOUR, "caviar", "fridge"))
    assert names((1, dinner(*caviar)), wall=SUNDAY + DAY) == ["caviar from Sunday"]
    assert names((1, dinner()), wall=SUNDAY + DAY) == []


@pytest.mark.parametrize(
    ("days", "said"),
    [(1.0, None), (3.5, "Peas from Sunday: eat or discard within twelve hours."), (4.5, "Discard the peas from Sunday: too many days.")],
)
def test_the_next_evening_says_what_is_over_or_due(days: float, said: str | None) -> None:
    """Three to four days in the fridge (USDA FSIS): nothing, eat it, or away with it; once, and any meal says it."""
    words, _ = next_evening(dinner(PUT_AWAY), SUNDAY + HOUR + days * DAY)
    about = [x for x in words if "Sunday" in x]
    assert about == ([] if said is None else [said])


def test_a_leftover_raises_no_alarm_that_comes_again() -> None:
    """It is in the fridge and not in anybody's mouth."""
    _, state = next_evening(dinner(PUT_AWAY), SUNDAY + 5 * DAY)
    assert not state.alerts


def test_what_is_said_to_be_gone_is_gone() -> None:
    """ "The leftovers are thrown away", also in another meal: later evenings know nothing of them."""
    _, state = next_evening(dinner(PUT_AWAY), SUNDAY + 2 * DAY)
    for event in decide(state, None, 10.0):
        state = evolve(state, event)
    gone = evolve(state, e.Placed(20.0, "leftovers", "bin"))
    both = ((2, Past(gone, SUNDAY + 2 * DAY)), (1, Past(dinner(PUT_AWAY), SUNDAY)))
    assert left_over(both, SUNDAY + 3 * DAY) == ()
    kept = ((2, Past(state, SUNDAY + 2 * DAY)), both[1])
    assert [i.name for i in left_over(kept, SUNDAY + 3 * DAY)] == ["peas from Sunday"]


def test_what_was_told_to_be_thrown_away_is_not_told_again() -> None:
    """One evening says it; the next trusts the cook."""
    _, told = next_evening(dinner(PUT_AWAY), SUNDAY + 5 * DAY)
    assert left_over(((2, Past(told, SUNDAY + 5 * DAY)), (1, Past(dinner(PUT_AWAY), SUNDAY))), SUNDAY + 6 * DAY) == ()


def test_dinner_up_says_what_goes_into_the_fridge_by_when_and_one_sentence_answers() -> None:
    """With the time of day, two hours from when it was made; "the leftovers are in the fridge" is all of it."""
    kit = Kit()
    kit._add((e.StepBegan(3000.0, "peas-mash"), e.StepDone(3600.0, "peas-mash")))
    kit.say(4000.0, "dinner's up")
    said = kit.say(4003.0, "yes")
    assert "Peas into the fridge by 19:30." in said
    assert "Tell me what is in the fridge." in said
    kit.say(4100.0, "the leftovers are in the fridge")
    assert str(kit.state.ledger.items["peas-mash"].place) == "fridge"
    assert not any("peas" in words.lower() for words in kit.wait(4 * HOUR))


def test_the_journal_keeps_leftovers_of_any_meal(tmp_path: Path) -> None:
    """Read from the evenings of the last days."""
    journal = Journal(tmp_path / "journal.sqlite")
    journal.begin(first_event(), "fish-supper", Now(SUNDAY, 0.0, "a"))
    events = (e.StepBegan(3000.0, "peas-mash"), e.StepDone(3600.0, "peas-mash"), e.Told(2 * HOUR, "dinner"), PUT_AWAY, e.EveningEnded(8000.0))
    journal.append(events, Now(SUNDAY + 8000.0, 8000.0, "a"))
    journal.close()
    journal = Journal(tmp_path / "journal.sqlite", cooking=False)
    assert [i.name for i in leftovers(journal, SUNDAY + DAY)] == ["peas from Sunday"]
    journal.close()
