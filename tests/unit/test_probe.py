"""The probe: readings from a file or a pipe that another program writes."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.probe import Probe, ProbeFault, ProbeReading, parse_line


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
