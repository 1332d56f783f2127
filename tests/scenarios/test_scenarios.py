"""Golden evenings: scripts a cook can read, each line of the assistant's in its place and at its second."""

from __future__ import annotations

from pathlib import Path

import pytest
from script_kit import SCRIPTS, run

from assistant.rehearsal import Outcome
from assistant.session import events as e
from assistant.session.commands import Command, Intent
from assistant.session.decide import decide
from assistant.session.evolve import evolve
from assistant.session.state import State


@pytest.fixture(scope="module", params=SCRIPTS, ids=lambda p: p.stem)
def outcome(request: pytest.FixtureRequest) -> Outcome:
    """One rehearsed script."""
    path: Path = request.param
    return run(path)


def test_the_evening_goes_as_its_script(outcome: Outcome) -> None:
    """Every expected line is spoken, in its order, at its second."""
    assert [f"line {c.line}: {c.words}" for c in outcome.missed] == []


def _states(outcome: Outcome) -> list[tuple[State, e.Event]]:
    state = outcome.start
    pairs = []
    for event in outcome.events:
        pairs.append((state, event))
        state = evolve(state, event)
    return pairs


def test_every_drop_is_preceded_by_its_reminder(outcome: Outcome) -> None:
    """Each frying drop, batch two onwards too, has a reminder for that dish within the three minutes before it."""
    said: list[tuple[float, str]] = []
    for state, event in _states(outcome):
        if isinstance(event, e.Said):
            said.append((event.t, event.words.lower()))
        if isinstance(event, e.BatchBegun) and state.meal.step(event.step).fry is not None:
            name = state.meal.step(event.step).said[0]
            assert any(name in words and event.t - t <= 180.0 for t, words in said), (event, said[-6:])


def test_whats_next_names_the_drop(outcome: Outcome) -> None:
    """Asked just before a drop, 'what's next' answers with that drop."""
    for state, event in _states(outcome):
        if isinstance(event, e.BatchBegun) and state.meal.step(event.step).fry is not None:
            words = [x.words for x in decide(state, Command(Intent.WHATS_NEXT), event.t) if isinstance(x, e.Said)]
            assert state.meal.step(event.step).said[0] in words[0], (event, words)


def test_replaying_the_events_gives_the_state(outcome: Outcome) -> None:
    """What the journal of the evening adds up to is the state at its end."""
    state = outcome.start
    for event in outcome.events:
        state = evolve(state, e.from_json(*e.to_json(event)))
    assert state == outcome.state
