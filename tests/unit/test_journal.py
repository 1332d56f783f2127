"""The journal: nothing acknowledged is lost, a restart replays to the second, and each fault of the world has one defined behaviour."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest
from kitchen_kit import first_event

from assistant.clock import FakeClock
from assistant.evening import Evening
from assistant.journal import Journal, JournalError
from assistant.session import events as e
from assistant.session.commands import Command, Intent
from assistant.speaking.line import Line


class Ears:
    """Collects what is spoken."""

    def __init__(self) -> None:
        self.words: list[str] = []

    def __call__(self, lines: tuple[Line, ...]) -> None:
        self.words += [line.words for line in lines]


def begin(path: Path, clock: FakeClock) -> tuple[Evening, Ears]:
    """A new evening on this journal."""
    ears = Ears()
    return Evening.begin(Journal(path), clock, first_event(), "fish-supper", ears), ears


def test_resume_has_every_clock_right_to_the_second(tmp_path: Path) -> None:
    """Away for four minutes within a clock of ten: six are left, and the state is the one that was."""
    clock = FakeClock(wall=1000.0)
    evening, _ = begin(tmp_path / "j.sqlite", clock)
    clock.advance(60)
    evening.feed(Command(Intent.SET_CLOCK, seconds=600.0, item="peas"))
    before = evening.state
    evening.journal.close()
    clock.advance(240)
    ears = Ears()
    again = Evening.resume(Journal(tmp_path / "j.sqlite"), clock, 1, ears)
    assert again.state.clocks == before.clocks
    assert again.kitchen_time() == pytest.approx(300.0)
    ears.words.clear()
    again.feed(Command(Intent.HOW_LONG, item="peas"))
    assert ears.words == ["Peas: six minutes left."]


def test_what_ran_out_meanwhile_is_said_first(tmp_path: Path) -> None:
    """A clock that ran out while the program was away is the first thing said after the greeting."""
    clock = FakeClock()
    evening, _ = begin(tmp_path / "j.sqlite", clock)
    evening.feed(Command(Intent.SET_CLOCK, seconds=120.0, item="peas"))
    evening.journal.close()
    clock.advance(600)
    ears = Ears()
    Evening.resume(Journal(tmp_path / "j.sqlite"), clock, 1, ears)
    assert ears.words[:2] == ["Back after ten minutes.", "Time: peas."]


def test_a_suspended_laptop_is_time_that_passed(tmp_path: Path) -> None:
    """The counter includes suspend (CLOCK_BOOTTIME): what came due in between is said at once on waking."""
    clock = FakeClock()
    evening, ears = begin(tmp_path / "j.sqlite", clock)
    evening.feed(Command(Intent.SET_CLOCK, seconds=120.0, item="peas"))
    clock.advance(3600)
    evening.feed(None)
    assert "Time: peas." in ears.words


def test_a_time_of_day_set_back_moves_nothing_that_cooks(tmp_path: Path) -> None:
    """The jump is said once; clocks go by the counter."""
    clock = FakeClock(wall=10000.0)
    evening, ears = begin(tmp_path / "j.sqlite", clock)
    evening.feed(Command(Intent.SET_CLOCK, seconds=120.0, item="peas"))
    clock.set_wall(5000.0)
    clock.advance(60)
    evening.feed(None)
    assert ears.words.count("The time of day has jumped. Cooking clocks are right.") == 1
    assert evening.kitchen_time() == pytest.approx(60.0)
    assert "Time: peas." not in ears.words


def test_a_reboot_is_bridged_by_the_time_of_day(tmp_path: Path) -> None:
    """After a power cut the counter starts anew; the time of day says how long it was dark."""
    clock = FakeClock(wall=1000.0, elapsed=5000.0)
    evening, _ = begin(tmp_path / "j.sqlite", clock)
    clock.advance(100)
    evening.feed(None)
    evening.feed(Command(Intent.SET_CLOCK, seconds=900.0, item="peas"))
    evening.journal.close()
    clock.reboot(off_for=300.0, boot="after")
    again = Evening.resume(Journal(tmp_path / "j.sqlite"), clock, 1, Ears())
    assert again.kitchen_time() == pytest.approx(400.0)


def test_two_programs_on_one_journal(tmp_path: Path) -> None:
    """The second is told in one sentence; when the first ends it may cook."""
    first = Journal(tmp_path / "j.sqlite")
    with pytest.raises(JournalError, match="Another Stovehand is cooking"):
        Journal(tmp_path / "j.sqlite")
    Journal(tmp_path / "j.sqlite", cooking=False).close()  # looking is always allowed
    first.close()
    Journal(tmp_path / "j.sqlite").close()


def test_a_full_disk_is_said_and_nothing_is_lost(tmp_path: Path) -> None:
    """While the disk takes nothing the evening goes on, says so once, and everything is written when it can be."""
    clock = FakeClock()
    evening, ears = begin(tmp_path / "j.sqlite", clock)
    used = evening.journal._db.execute("PRAGMA page_count").fetchone()[0]
    evening.journal._db.execute(f"PRAGMA max_page_count = {used}")
    for n in range(400):  # until the pages that are left in the file are full
        evening.feed(Command(Intent.NOTE, text=f"note {n} " + "x" * 200))
    assert ears.words.count("I cannot write the journal. Disk full?") == 1
    assert evening.journal.pending
    evening.journal._db.execute("PRAGMA max_page_count = 100000")
    evening.feed(Command(Intent.WHATS_NEXT))
    assert ears.words.count("The journal is written again.") == 1
    assert not evening.journal.pending
    notes = [x for x, _ in evening.journal.events(1) if isinstance(x, e.Noted)]
    assert [x.text.split()[1] for x in notes] == [str(n) for n in range(400)]


def test_a_folder_that_cannot_be_written_is_one_sentence(tmp_path: Path) -> None:
    """A file where the folder should be (also true for root): one sentence with the way out."""
    (tmp_path / "file").write_text("not a folder")
    with pytest.raises(JournalError, match=r"cannot be kept in .*--data"):
        Journal(tmp_path / "file" / "j.sqlite")


def test_a_damaged_journal_is_one_sentence(tmp_path: Path) -> None:
    """A file that is no journal is left alone and named."""
    (tmp_path / "j.sqlite").write_bytes(b"this is not a database, it is a shopping list" * 50)
    with pytest.raises(JournalError, match="not a journal, or it is damaged"):
        Journal(tmp_path / "j.sqlite")


def test_written_before_spoken(tmp_path: Path) -> None:
    """When a line reaches the voice, its event is in the file already."""
    clock = FakeClock()
    path = tmp_path / "j.sqlite"
    missing: list[str] = []

    def speak(lines: tuple[Line, ...]) -> None:
        with sqlite3.connect(path) as db:
            written = [row[0] for row in db.execute("SELECT body FROM event WHERE kind = 'Said'")]
        missing.extend(line.words for line in lines if not any(line.words in body for body in written))

    evening = Evening.begin(Journal(path), clock, first_event(), "fish-supper", speak)
    clock.advance(700)
    evening.feed(None)
    evening.feed(Command(Intent.DONE))
    assert missing == []


def test_an_old_evening_is_no_longer_under_way(tmp_path: Path) -> None:
    """Half a day after its last event nobody means it any more; one in which nothing was begun never counts."""
    clock = FakeClock(wall=1000.0)
    evening, _ = begin(tmp_path / "j.sqlite", clock)
    assert evening.journal.under_way(clock.now().wall) is None
    evening.feed(Command(Intent.BURNER, level="full"))
    assert evening.journal.under_way(clock.now().wall + 11 * 3600) is not None
    assert evening.journal.under_way(clock.now().wall + 13 * 3600) is None
    evening.end()
    assert evening.journal.under_way(clock.now().wall) is None


def test_evenings_are_listed_and_ended(tmp_path: Path) -> None:
    """An evening brought to its end is not offered for resuming."""
    clock = FakeClock(wall=1000.0)
    evening, _ = begin(tmp_path / "j.sqlite", clock)
    assert evening.journal.unfinished() is not None
    evening.end()
    assert evening.journal.unfinished() is None
    assert [(row.meal, row.ended) for row in evening.journal.evenings()] == [("fish-supper", True)]


def test_every_kind_of_event_comes_back_from_the_journal() -> None:
    """Each event written and read is equal; an event of a later version is refused by name."""
    from dataclasses import fields

    values = {"str": "x", "float": 1.5, "int": 2, "bool": True, "float | None": None}
    kinds = [c for c in vars(e).values() if isinstance(c, type) and issubclass(c, e.Event) and c is not e.Event]
    assert len(kinds) > 40
    for cls in kinds:
        made = cls(**{f.name: values.get(str(f.type), ()) for f in fields(cls)})
        assert e.from_json(*e.to_json(made)) == made
    with pytest.raises(ValueError, match="no event called"):
        e.from_json("Teleported", "{}")
