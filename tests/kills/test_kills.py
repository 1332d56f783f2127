"""Real kills: a process of its own cooks on a real file and is ended by SIGKILL at a random moment, 200 times; nothing it acknowledged is ever lost.

The process acknowledges a note only after `feed` has returned, that is after its event is in the journal, so whatever was acknowledged must be found
by the next start. Processes are forked, not started anew, so that two hundred of them stay cheap; no sound library is loaded.
"""

from __future__ import annotations

import os
import random
import signal
import sys
import time
from pathlib import Path

import pytest

from assistant.clock import SystemClock
from assistant.evening import Evening
from assistant.journal import Journal
from assistant.session import events as e
from assistant.session.commands import Command, Intent

sys.path.insert(0, str(Path(__file__).parent.parent / "unit"))
from kitchen_kit import first_event

pytestmark = pytest.mark.kills
KILLS = 200


def cook(path: Path, first_note: int, acknowledge: int) -> None:
    """Go on with the evening and take notes until killed, acknowledging each."""
    evening = Evening.resume(Journal(path), SystemClock(), 1, lambda lines: None)
    os.write(acknowledge, b"ready\n")
    note = first_note
    while True:
        evening.feed(Command(Intent.NOTE, text=f"note {note}"))
        os.write(acknowledge, f"{note}\n".encode())
        note += 1


def killed(path: Path, first_note: int, after_s: float) -> list[int]:
    """The notes that a process acknowledged before it was killed, after_s seconds into its work."""
    read, write = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(read)
        try:
            cook(path, first_note, write)
        finally:
            os._exit(1)
    os.close(write)
    with os.fdopen(read, "rb") as lines:
        assert lines.readline() == b"ready\n"
        time.sleep(after_s)
        os.kill(child, signal.SIGKILL)
        printed = [int(line) for line in lines if line.endswith(b"\n")]
    assert os.WIFSIGNALED(os.waitpid(child, 0)[1])
    return printed


def test_two_hundred_kills_lose_nothing_acknowledged(tmp_path: Path) -> None:
    """After each of 200 kills at random moments every acknowledged note is there, in order, and kitchen time has not gone back."""
    path = tmp_path / "journal.sqlite"
    journal = Journal(path)
    Evening.begin(journal, SystemClock(), first_event(), "fish-supper", lambda lines: None)
    journal.close()
    chance = random.Random(20)
    found: list[int] = []
    last_t = 0.0
    for _ in range(KILLS):
        acknowledged = killed(path, len(found), chance.uniform(0.0, 0.03))
        reader = Journal(path, cooking=False)
        events = [event for event, _ in reader.events(1)]
        reader.close()
        notes = [int(x.text.split()[1]) for x in events if isinstance(x, e.Noted)]
        assert notes == list(range(len(notes)))
        assert len(notes) >= len(found) + len(acknowledged)
        assert events[-1].t >= last_t
        found, last_t = notes, events[-1].t
    assert len(found) > KILLS  # it did work between the kills
