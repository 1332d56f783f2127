"""What an evening leaves for the next: this cook's own times, what each pot taught, and what was made ahead.

Times and pots are files in the data folder, written when dinner is up; what was made ahead is read from the journal. A file or an evening that
cannot be read counts as none; one that cannot be written is said in one sentence and nothing else is lost.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from statistics import median
from typing import Any

from assistant.journal import Journal
from assistant.kitchen.cards import MealCardError
from assistant.kitchen.ledger import Item, Ledger, to_json
from assistant.kitchen.meal import Meal
from assistant.kitchen.my_times import learn, read_times, write_times
from assistant.kitchen.oil import kept
from assistant.session import oil
from assistant.session.earlier import Made, Past, made_before
from assistant.session.evolve import replay
from assistant.session.leftovers import left_over, spoiled
from assistant.session.state import State

POTS = "pots"
LONGEST_AHEAD_S = 8 * 86400.0
"""No evening longer ago has anything left: a week, and the day that it began on."""


def made_ahead(journal: Journal, meal: Meal, people: int, wall: float, serve_wall: float | None = None) -> tuple[Made, ...]:
    """What earlier evenings of this meal made and nobody has eaten, at `wall` (s since the epoch), good until it is served."""
    return made_before((past for _, past in _evenings(journal, wall, meal.id)), meal, people, wall, serve_wall)


def leftovers(journal: Journal, wall: float) -> tuple[Item, ...]:
    """What is left in the fridge of evenings before, of any meal, at `wall`."""
    return left_over(_evenings(journal, wall), wall)


def _evenings(journal: Journal, wall: float, meal_id: str | None = None) -> Iterator[tuple[int, Past]]:
    """Evenings of the last days, newest first, with their numbers. meal_id: of this meal only."""
    for row in reversed(journal.evenings()):
        if meal_id not in (None, row.meal) or row.id == journal.evening or wall - row.began > LONGEST_AHEAD_S:
            continue
        try:
            rows = list(journal.events(row.id))
            state = replay(event for event, _ in rows)
        except (ValueError, KeyError, MealCardError):
            continue  # of another version, or of a card that this one cannot read
        last, now = rows[-1]
        yield row.id, Past(state, now.wall - last.t)


def still_good(made: tuple[Made, ...]) -> frozenset[str]:
    """The steps that need not be done again."""
    return frozenset(step for thing in made if not thing.over for step in thing.steps)


def as_first(made: tuple[Made, ...], wall: float, left: tuple[Item, ...] = ()) -> dict[str, Any]:
    """What was made before as `EveningBegan` carries it, for an evening that begins at `wall`: things to ask about, and the food clocks of all of
    them and of what was left over."""
    items = [spoiled(thing.item, wall) if thing.over else thing.item for thing in made if thing.item is not None] + list(left)
    food = to_json(Ledger({i.id: i for i in items}, min(i.at_s for i in items))) if items else ""
    return {"made": tuple((m.dish, m.days, m.ago_s, m.steps) for m in made if not m.over), "food": food}


def what_pots_taught(folder: Path, meal: Meal) -> tuple[tuple[str, str], ...]:
    """(pot, text) of every pot of this meal that taught something on an evening before."""
    found = []
    for pot in meal.equipment.pots:
        try:
            text = (folder / POTS / f"{pot.id}.json").read_text(encoding="utf-8")
            kept.read(text)
        except (OSError, UnicodeDecodeError, kept.KeptError):
            continue
        found.append((pot.id, text))
    return tuple(found)


def with_what_there_was(folder: Path, meal: Meal) -> Meal:
    """The meal for a kitchen that had no oil thermometer the last time, so that one is bought."""
    if all(kept.read(text).thermometer for _, text in what_pots_taught(folder, meal)):
        return meal
    return replace(meal, equipment=replace(meal.equipment, oil_thermometer=False))


def keep_what_it_taught(folder: Path, journal: Journal, state: State) -> str:
    """Keep times and pots of an evening that is over; the sentence to show ("" when there is nothing to say)."""
    if journal.evening is None:
        return ""
    from assistant.showing.report_model import durations, evening_report  # a typed evening loads it only at its end

    took = durations(evening_report(event for event, _ in journal.events(journal.evening)))
    try:
        write_times(folder, learn(read_times(folder), state.meal, {step: median(seconds) for step, seconds in took.items()}))
        (folder / POTS).mkdir(parents=True, exist_ok=True)
        for pot, text in oil.to_keep(state):
            (folder / POTS / f"{pot}.json").write_text(text, encoding="utf-8")
    except OSError as error:
        return f"Your times could not be kept in {folder}: {error.strerror}."
    return "Your times are kept for the next plan: see 'stovehand times'."
