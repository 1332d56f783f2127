"""The journal: every event of every evening, appended to one SQLite file before anything is spoken. A restart replays it.

Rules: append only, one transaction a turn, synchronous=FULL, so that what was acknowledged survives a kill or a power cut. One program cooks at a
time: it holds an exclusive transaction on a second small file, which the system releases however the program ends. A full disk is not the
end of the evening: what cannot be written is kept and written as soon as it can be (`pending`).
"""

from __future__ import annotations

import contextlib
import sqlite3
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from assistant.clock import EveningClock, Now
from assistant.session.events import EveningBegan, EveningEnded, Event, from_json, to_json
from assistant.session.evolve import replay
from assistant.session.state import State

_SCHEMA = """
CREATE TABLE IF NOT EXISTS evening (id INTEGER PRIMARY KEY AUTOINCREMENT, meal TEXT NOT NULL, began REAL NOT NULL, ended INTEGER NOT NULL DEFAULT 0);
CREATE TABLE IF NOT EXISTS event (
  evening INTEGER NOT NULL REFERENCES evening(id), seq INTEGER NOT NULL, t REAL NOT NULL,
  wall REAL NOT NULL, elapsed REAL NOT NULL, boot TEXT NOT NULL, kind TEXT NOT NULL, body TEXT NOT NULL,
  PRIMARY KEY (evening, seq)) WITHOUT ROWID;
"""

_DOING = ("StepDone", "BatchIn", "BurnerSet", "ClockSet", "Placed")
_HALF_A_DAY_S = 12 * 3600.0


class JournalError(Exception):
    """The journal cannot be used; the text is one clear sentence."""


@dataclass(frozen=True, slots=True)
class EveningRow:
    """One evening in the journal. began: s since the epoch; ended: whether it was brought to its end."""

    id: int
    meal: str
    began: float
    ended: bool
    events: int


class Journal:
    """Opened on a file; `:memory:` keeps nothing (rehearsals)."""

    def __init__(self, path: Path | str, cooking: bool = True) -> None:
        """cooking: claim the journal for one evening; False only reads. JournalError when it cannot be had."""
        self._lock: sqlite3.Connection | None = None
        self.evening: int | None = None
        self._seq = 0
        self.pending: list[tuple[Event, Now]] = []
        memory = str(path) == ":memory:"
        try:
            if not memory:
                Path(path).parent.mkdir(parents=True, exist_ok=True)
                if cooking:
                    self._lock = _claim(Path(path).with_suffix(".lock"))
            self._db = sqlite3.connect(str(path), isolation_level=None, timeout=2.0, check_same_thread=False)
            self._db.execute("PRAGMA journal_mode=WAL")
            self._db.execute("PRAGMA synchronous=FULL")
            self._db.executescript(_SCHEMA)
        except sqlite3.DatabaseError as error:
            self.close()
            raise JournalError(_sentence(path, error)) from None
        except OSError as error:
            raise JournalError(f"The journal cannot be kept in {Path(path).parent}: {error.strerror}. Choose another folder with --data.") from None

    def begin(self, first: EveningBegan, meal: str, now: Now) -> None:
        """Open a new evening with its first event."""
        with self._transaction():
            self.evening = self._db.execute("INSERT INTO evening (meal, began) VALUES (?, ?)", (meal, now.wall)).lastrowid
            self._seq = 0
            self._write([(first, now)])

    def append(self, events: Sequence[Event], now: Now) -> bool:
        """Write a turn's events in one transaction; False when the disk would not take them (they stay pending and go first next time)."""
        if not events and not self.pending:
            return True
        batch = [*self.pending, *((event, now) for event in events)]
        seq = self._seq
        try:
            with self._transaction():
                self._write(batch)
        except sqlite3.DatabaseError:
            self._seq = seq
            self.pending = batch
            return False
        self.pending = []
        return True

    def unfinished(self) -> EveningRow | None:
        """The last evening, if it was not brought to its end."""
        rows = self.evenings()
        return rows[-1] if rows and not rows[-1].ended else None

    def under_way(self, wall: float) -> EveningRow | None:
        """The last evening, if it is unfinished, something was done in it, and its last event is under half a day old. wall: s since the epoch."""
        row = self.unfinished()
        if row is None:
            return None
        marks = ",".join("?" * len(_DOING))
        last, done = self._db.execute(f"SELECT max(wall), sum(kind IN ({marks})) FROM event WHERE evening = ?", (*_DOING, row.id)).fetchone()
        return row if done and wall - last < _HALF_A_DAY_S else None

    def evenings(self) -> list[EveningRow]:
        """Every evening, the oldest first."""
        rows = self._db.execute(
            "SELECT id, meal, began, ended, (SELECT count(*) FROM event WHERE event.evening = evening.id) FROM evening ORDER BY id"
        ).fetchall()
        return [EveningRow(i, meal, began, bool(ended), n) for i, meal, began, ended, n in rows]

    def events(self, evening: int) -> Iterator[tuple[Event, Now]]:
        """The events of one evening in order, each with the instant it was written for."""
        rows = self._db.execute("SELECT kind, body, wall, elapsed, boot FROM event WHERE evening = ? ORDER BY seq", (evening,))
        for kind, body, wall, elapsed, boot in rows:
            yield from_json(kind, body), Now(wall, elapsed, boot)

    def reopen(self, evening: int) -> tuple[State, EveningClock]:
        """Replay an evening to go on with it: its state, and the clock that bridges the time since its last event."""
        rows = list(self.events(evening))
        state = replay(event for event, _ in rows)
        self.evening, self._seq = evening, len(rows)
        last, now = rows[-1]
        return state, EveningClock(now, max(state.t, last.t))

    def close(self) -> None:
        """Let go of the file and of the claim."""
        for connection in (getattr(self, "_db", None), self._lock):
            if connection is not None:
                with contextlib.suppress(sqlite3.DatabaseError):
                    connection.close()

    def _write(self, batch: Sequence[tuple[Event, Now]]) -> None:
        rows = []
        for event, now in batch:
            kind, body = to_json(event)
            rows.append((self.evening, self._seq, event.t, now.wall, now.elapsed, now.boot, kind, body))
            self._seq += 1
        self._db.executemany("INSERT INTO event VALUES (?,?,?,?,?,?,?,?)", rows)
        if any(isinstance(event, EveningEnded) for event, _ in batch):
            self._db.execute("UPDATE evening SET ended = 1 WHERE id = ?", (self.evening,))

    @contextlib.contextmanager
    def _transaction(self) -> Iterator[None]:
        self._db.execute("BEGIN IMMEDIATE")
        try:
            yield
            self._db.execute("COMMIT")
        except BaseException:
            with contextlib.suppress(sqlite3.DatabaseError):
                self._db.execute("ROLLBACK")
            raise


def _claim(path: Path) -> sqlite3.Connection:
    lock = sqlite3.connect(str(path), isolation_level=None, timeout=0.2)
    try:
        lock.execute("BEGIN EXCLUSIVE")
    except sqlite3.OperationalError as error:
        lock.close()
        if "locked" in str(error):
            raise JournalError(
                "Another Stovehand is cooking with this journal: finish that evening first, or choose another folder with --data."
            ) from None
        raise
    return lock


def _sentence(path: Path | str, error: sqlite3.DatabaseError) -> str:
    if "not a database" in str(error) or "malformed" in str(error):
        return f"{path} is not a journal, or it is damaged: move it away and start again, the old evenings stay in it."
    return f"The journal {path} cannot be written ({error}): make the folder writable, or choose another with --data."
