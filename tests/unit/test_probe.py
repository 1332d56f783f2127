"""The probe: readings from a file or a pipe that another program writes."""

from __future__ import annotations

import json
import os
import queue
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from kitchen_kit import Kit

from assistant.clock import FakeClock, SystemClock
from assistant.evening import Evening
from assistant.journal import Journal
from assistant.kitchen.oil.estimate import PROBE_K
from assistant.probe import Follower, Probe, ProbeBack, ProbeFault, ProbeReading, parse_line
from assistant.runtime import Kitchen, Speech
from assistant.session import events as e
from assistant.session.decide import probed
from assistant.session.evolve import replay
from assistant.speaking import prompts
from assistant.speaking.mouth import Silent


@pytest.mark.parametrize(
    ("line", "reading"),
    [
        ('{"time": 5, "temperature": 163.5}', ProbeReading(5.0, 163.5)),
        ('{"time": 5.5, "temperature": 329, "unit": "F", "name": "pot"}', ProbeReading(5.5, 165.0)),
        ('{"time": "1970-01-01T00:00:10+00:00", "temperature": 20}', ProbeReading(10.0, 20.0)),
    ],
)
def test_lines_that_are_readings(line: str, reading: ProbeReading) -> None:
    """Seconds or ISO 8601, Celsius or Fahrenheit; what else is in the line does not matter."""
    assert parse_line(line) == reading


@pytest.mark.parametrize(
    "line",
    [
        "hot",
        "[]",
        "5",
        '{"time": 5}',
        '{"time": 5, "temperature": "hot"}',
        '{"time": 5, "temperature": NaN}',
        '{"time": true, "temperature": 5}',
        '{"time": "noon", "temperature": 5}',
        '{"time": 5, "temperature": 5, "unit": "K"}',
        '{"time": 5, "temperature": 1' + "0" * 400 + "}",
    ],
)
def test_lines_that_are_not(line: str) -> None:
    """Anything else is a fault of one sentence, never an exception."""
    fault = parse_line(line)
    assert isinstance(fault, ProbeFault)
    assert fault.why.endswith(".")


@given(st.text(max_size=80))
def test_no_line_is_an_exception(line: str) -> None:
    """Whatever is written, reading it does not fail."""
    assert isinstance(parse_line(line), ProbeReading | ProbeFault)


def test_follows_a_growing_file(tmp_path: Path) -> None:
    """Lines come once, in order, and a half-written one only when it is whole."""
    file = tmp_path / "probe.jsonl"
    file.write_text('{"time": 1, "temperature": 20}\n{"time": 2, "temp')
    probe = Probe(file)
    assert probe.poll() == (ProbeReading(1.0, 20.0),)
    assert probe.poll() == ()
    with file.open("a") as out:
        out.write('erature": 30}\n\n')
    assert probe.poll() == (ProbeReading(2.0, 30.0),)
    probe.close()


def test_a_file_that_is_not_there_yet_is_told_once(tmp_path: Path) -> None:
    """A missing file is one fault, then silence; when it comes it is read."""
    probe = Probe(tmp_path / "later.jsonl")
    first = probe.poll()
    assert len(first) == 1
    assert isinstance(first[0], ProbeFault)
    assert probe.poll() == ()
    (tmp_path / "later.jsonl").write_text('{"time": 1, "temperature": 20}\n')
    assert probe.poll() == (ProbeReading(1.0, 20.0),)
    probe.close()


def test_a_file_that_begins_anew(tmp_path: Path) -> None:
    """A file cut short or replaced is read from its beginning."""
    file = tmp_path / "probe.jsonl"
    file.write_text('{"time": 1, "temperature": 20}\n{"time": 2, "temperature": 21}\n')
    probe = Probe(file)
    assert len(probe.poll()) == 2
    file.write_text('{"time": 3, "temperature": 22}\n')
    assert probe.poll() == (ProbeReading(3.0, 22.0),)
    other = tmp_path / "new"
    other.write_text('{"time": 4, "temperature": 23}\n{"time": 5, "temperature": 24}\n')
    other.replace(file)
    assert probe.poll() == (ProbeReading(4.0, 23.0), ProbeReading(5.0, 24.0))
    probe.close()


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
def test_a_pipe_never_blocks(tmp_path: Path) -> None:
    """A pipe that nobody writes to, or whose writer goes and comes back, is simply waited for."""
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    probe = Probe(pipe)
    assert probe.poll() == ()
    for i in range(2):
        writer = os.open(pipe, os.O_WRONLY)
        os.write(writer, b'{"time": %d, "temperature": 20}\n' % i)
        assert probe.poll() == (ProbeReading(float(i), 20.0),)
        assert probe.poll() == ()
        os.close(writer)
        assert probe.poll() == ()
    probe.close()


def test_an_endless_line_is_dropped(tmp_path: Path) -> None:
    """A line without an end does not fill the memory, and the next one is read again."""
    file = tmp_path / "probe.jsonl"
    file.write_text("x" * 200_000 + "\n" + '{"time": 1, "temperature": 20}\n')
    probe = Probe(file)
    found = [r for _ in range(8) for r in probe.poll()]
    assert found[-1] == ProbeReading(1.0, 20.0)
    probe.close()


class Lines:
    """A probe whose lines are given by hand."""

    def __init__(self) -> None:
        self.found: list[ProbeReading | ProbeFault] = []

    def poll(self) -> tuple[ProbeReading | ProbeFault, ...]:
        """What was put there since."""
        found, self.found = tuple(self.found), []
        return found


def follow() -> tuple[Lines, FakeClock, Follower]:
    """A follower at wall time 1000 s."""
    lines, clock = Lines(), FakeClock(wall=1000.0)
    return lines, clock, Follower(lines, clock)  # type: ignore[arg-type]


def test_a_reading_is_handed_on_every_ten_seconds_or_when_it_moves() -> None:
    """Ten lines a second make no ten events a second; a jump of 2 K goes through at once."""
    lines, clock, follower = follow()
    handed = []
    for i in range(30):
        lines.found.append(ProbeReading(1000.0 + i, 160.0 + (5.0 if i == 17 else 0.0)))
        handed += [(i, x.celsius) for x in follower.step() if isinstance(x, ProbeReading)]
        clock.advance(1.0)
    assert handed == [(0, 160.0), (10, 160.0), (17, 165.0), (18, 160.0), (28, 160.0)]


def test_what_stood_in_the_file_before_is_history() -> None:
    """An old line is not taken for now; a fresh one is, and so is what comes later with a clock of its own."""
    lines, _, follower = follow()
    lines.found = [ProbeReading(100.0, 20.0), ProbeReading(700.0, 180.0)]
    assert follower.step() == ()
    lines.found = [ProbeReading(3.0, 150.0)]
    assert follower.step() == (ProbeReading(3.0, 150.0),)


def test_a_fault_is_told_once_and_its_end_too() -> None:
    """Garbage, a file that is gone, a minute of silence: one fault until it reads again."""
    lines, clock, follower = follow()
    lines.found = [ProbeFault("Bad."), ProbeFault("Bad again.")]
    assert follower.step() == (ProbeFault("Bad."),)
    lines.found = [ProbeFault("Still bad.")]
    assert follower.step() == ()
    lines.found = [ProbeReading(1001.0, 150.0)]
    assert follower.step() == (ProbeBack(), ProbeReading(1001.0, 150.0))
    clock.advance(30.0)
    assert follower.step() == ()
    clock.advance(31.0)
    assert follower.step() == (ProbeFault("The probe has written nothing for a minute."),)
    clock.advance(600.0)
    assert follower.step() == ()


def at_the_pot() -> tuple[Kit, float]:
    """A pot whose oil was read, test batch out."""
    kit = Kit()
    return kit, kit.reach_first_fry()


def probe(kit: Kit, t: float, celsius: float) -> list[str]:
    """What is said when the probe reads this at kitchen time t."""
    events = probed(kit.state, celsius, t)
    kit._add(events)
    return [x.words for x in events if isinstance(x, e.Said)]


def test_a_probe_is_sharper_than_a_voice_and_both_count() -> None:
    """A probe's reading pulls the estimate to 1 K, one told aloud to 2; a voice reading beside the probe still counts; nothing more is asked for."""
    kit, t = at_the_pot()
    probe(kit, t, 149.5)
    estimate = kit.state.pots["big-pot"].estimate
    assert estimate is not None
    assert estimate.sigma < PROBE_K
    before = estimate.oil_c
    kit.say(t + 1, "oil is at three hundred and ten")
    after = kit.state.pots["big-pot"].estimate
    assert after is not None
    assert after.readings == estimate.readings + 1
    assert after.oil_c > before
    for i in range(2, 30):
        assert "What is the oil at?" not in probe(kit, t + 10.0 * i, 149.5)
    assert {x.source for x in kit.events if isinstance(x, e.OilRead)} == {"said", "probe"}
    assert replay(kit.events) == kit.state


def test_a_probe_says_ready_once_and_too_hot_at_once() -> None:
    """Nothing is said of a reading as such: "Ready" once a batch, and the alarm above 200 C, which ends with a cooler reading."""
    kit, t = at_the_pot()
    said = [w for i in range(5) for w in probe(kit, t + 10.0 * i, 149.5) if w.startswith("Ready")]
    assert said == ["Ready, 301."]
    assert "Oil too hot. Burner off." in probe(kit, t + 60, 203.0)
    probe(kit, t + 70, 196.0)
    assert "hot:big-pot" not in kit.state.alerts


def test_a_probe_in_the_air_is_asked_about_and_not_believed() -> None:
    """Far colder than physics allows: one question, and the estimate stays; "yes" has it believed; absurd figures are nothing at all."""
    kit, t = at_the_pot()
    probe(kit, t, 149.5)
    readings = kit.state.pots["big-pot"].estimate.readings  # type: ignore[union-attr]
    assert probe(kit, t + 10, 25.0)[0] == "The probe says 77. Is it in the oil?"
    assert not [w for w in (*probe(kit, t + 20, 25.0), *probe(kit, t + 21, -127.0)) if "probe" in w]
    assert kit.state.pots["big-pot"].estimate.readings == readings  # type: ignore[union-attr]
    kit.say(t + 25, "yes")
    probe(kit, t + 30, 90.0)
    assert kit.state.pots["big-pot"].oil_c == 90.0


def test_a_probe_fault_is_said_and_the_evening_goes_on(tmp_path: Path) -> None:
    """The loop takes readings, faults and their end from the probe like anything else that happens; each is journaled."""
    kit = Kit()
    shown: list[str] = []
    lines: list[str] = []
    evening = Evening.begin(Journal(":memory:"), FakeClock(wall=0.0), kit.events[0], "fish-supper", lambda said: lines.extend(x.words for x in said))  # type: ignore[arg-type]
    kitchen = Kitchen(evening, kit._understander, Silent(), Speech(live=False), queue.Queue(), shown.append)
    kitchen.take(ProbeFault("The probe's file x cannot be read: No such file."))
    kitchen.take(ProbeBack())
    kitchen.take(ProbeReading(5.0, 21.0))
    assert shown == ["The probe's file x cannot be read: No such file."]
    assert lines[-2:] == [prompts.PROBE_LOST, prompts.PROBE_BACK]
    assert evening.state.pots["big-pot"].oil_c == 21.0


def test_a_file_is_followed_on_a_thread_of_its_own(tmp_path: Path) -> None:
    """`cook --probe`: what is written to the file comes to the loop's inbox."""
    kit = Kit()
    file = tmp_path / "probe.jsonl"
    file.write_text("")
    evening = Evening.begin(Journal(":memory:"), SystemClock(), kit.events[0], "fish-supper", lambda said: None)  # type: ignore[arg-type]
    kitchen = Kitchen(evening, kit._understander, Silent(), Speech(live=False), queue.Queue(), lambda line: None)
    kitchen.probe(file)
    file.write_text(json.dumps({"time": evening.clock.now().wall, "temperature": 70, "unit": "F"}) + "\n")
    found = kitchen.inbox.get(timeout=20.0)
    assert found.celsius == pytest.approx(21.1, abs=0.05)
