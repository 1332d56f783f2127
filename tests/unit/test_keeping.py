"""What an evening leaves for the next: own times and what the pots taught."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent.parent / "scenarios"))
from obedient_cook import Cook

from assistant.clock import FakeClock
from assistant.journal import Journal
from assistant.keeping import keep_what_it_taught, what_pots_taught
from assistant.kitchen.cards import find_meal, read_card
from assistant.kitchen.my_times import read_times
from assistant.session import events as e
from assistant.session.evolve import first_state


@pytest.fixture(scope="module")
def evening(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Journal, Cook]:
    """A fish supper that is over, in a journal of its own."""
    folder = tmp_path_factory.mktemp("data")
    cook = Cook("fish-supper")
    cook.run()
    journal = Journal(folder / "journal.sqlite")
    path = find_meal("fish-supper")
    first = e.EveningBegan(0.0, path.read_text(encoding="utf-8"), path.name, 57600.0, None, 2, "F", "US")
    journal.begin(first, "fish-supper", FakeClock().now())
    journal.append(cook.events, FakeClock().now())
    return folder, journal, cook


def test_own_times_and_pots_are_kept(evening: tuple[Path, Journal, Cook]) -> None:
    """After dinner the next plan has this cook's times, and the pot's heat and losses are known better than the card says."""
    folder, journal, cook = evening
    assert "times are kept" in keep_what_it_taught(folder, journal, cook.state)
    meal = read_card(find_meal("fish-supper"))
    assert read_times(folder).for_meal(meal)["chips-cut"] == pytest.approx(540.0, rel=0.2)
    kept = what_pots_taught(folder, meal)
    assert [pot for pot, _ in kept] == ["big-pot"]
    path = find_meal("fish-supper")
    again = e.EveningBegan(0.0, path.read_text(encoding="utf-8"), path.name, 57600.0, None, 2, "F", "US", kept)
    estimate = first_state(again).pots["big-pot"].estimate
    plain = first_state(e.EveningBegan(0.0, path.read_text(encoding="utf-8"), path.name, 57600.0, None, 2, "F", "US")).pots["big-pot"].estimate
    assert estimate is not None
    assert plain is not None
    true_w = 0.9 * plain.power_w  # the cook's burner is a tenth weaker than the card says
    assert abs(estimate.power_w - true_w) < abs(plain.power_w - true_w)


def test_a_damaged_pot_file_counts_as_none(evening: tuple[Path, Journal, Cook], tmp_path: Path) -> None:
    """A kept pot that cannot be read is left out, without a word and without harm."""
    (tmp_path / "pots").mkdir()
    (tmp_path / "pots" / "big-pot.json").write_text("{not a pot")
    assert what_pots_taught(tmp_path, read_card(find_meal("fish-supper"))) == ()
