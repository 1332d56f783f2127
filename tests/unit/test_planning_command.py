"""`stovehand plan`: what it prints and writes, and what it refuses."""

from __future__ import annotations

import json
from pathlib import Path

import html5lib
import pytest
from click.testing import CliRunner, Result
from icalendar import Calendar

from assistant.commands_plan import plan, times
from assistant.kitchen import my_times


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A data folder of its own."""
    folder = tmp_path / "data"
    monkeypatch.setattr("assistant.commands_plan.data_folder", lambda: folder)
    return folder


def run(*args: object) -> Result:
    return CliRunner().invoke(plan, [str(a) for a in args])


def test_json_has_the_plan_and_nothing_of_the_moment() -> None:
    """Exactly these keys; seconds relative to serving, before it negative; equal runs are equal."""
    args = ("fish-supper", "--serve", "18:30", "--for", 2, "--now", "15:00", "--json")
    result = run(*args)
    assert result.exit_code == 0
    data = json.loads(result.stdout)
    assert list(data) == ["meal", "serve", "for", "cost", "bound", "optimal", "tasks"]
    assert (data["meal"], data["serve"], data["for"], data["optimal"]) == ("fish-supper", "18:30", 2, True)
    assert data["bound"] <= data["cost"]
    assert all(list(t) == ["id", "dish", "action", "start", "end", "resources"] for t in data["tasks"])
    assert all(t["start"] <= t["end"] <= 0 for t in data["tasks"])
    assert [t["start"] for t in data["tasks"] if t["id"] == "serve"] == [0]
    assert run(*args).stdout == result.stdout
    assert run("fish-supper", "--serve", "18:30", "--for", 2, "--now", "14:00", "--json").stdout == result.stdout


def test_the_sheet_says_when_to_begin_what_to_do_and_what_to_buy() -> None:
    """Text for the wall: clock times, batches, waiting, everyone here, the list."""
    text = run("fish-supper", "--serve", "18:30", "--now", "15:00").stdout
    assert "Serve at 18:30. Begin at 16:" in text or "Serve at 18:30. Begin at 17:" in text
    for words in ("Lower chips first fry, batch 1", "is everyone here?", "Waiting before serving: ", "To buy:", "sunflower oil", "lid within reach"):
        assert words in text


def test_without_a_serving_time_it_is_the_soonest_with_its_reason() -> None:
    """And that very time can be asked for, a minute sooner cannot."""
    data = json.loads(run("fritter-night", "--now", "15:00", "--json").stdout)
    hour, minute = map(int, data["serve"].split(":"))
    before = f"{hour if minute else hour - 1}:{(minute - 1) % 60:02d}"
    assert run("fritter-night", "--now", "15:00", "--serve", data["serve"]).exit_code == 0
    assert run("fritter-night", "--now", "15:00", "--serve", before).exit_code == 3
    assert "It cannot be sooner: " in run("fritter-night", "--now", "15:00").stdout


def test_too_soon_is_exit_3_and_nothing_is_written(tmp_path: Path) -> None:
    """One sentence with the soonest time and ways out; no file appears."""
    chart, sheet, ics = tmp_path / "a.svg", tmp_path / "a.html", tmp_path / "a.ics"
    result = run("fish-supper", "--serve", "18:30", "--now", "17:45", "--chart", chart, "--print", sheet, "--calendar", ics)
    assert result.exit_code == 3
    assert "Cannot be ready before 1" in result.output
    assert "Without the " in result.output
    assert not chart.exists()
    assert not sheet.exists()
    assert not ics.exists()


def test_files_are_real(tmp_path: Path) -> None:
    """The sheet is HTML without errors, script or links; the calendar is read by icalendar; the picture is what its ending says; equal plans give
    equal pictures."""
    chart, again, sheet, ics = tmp_path / "a.svg", tmp_path / "b.svg", tmp_path / "a.html", tmp_path / "a.ics"
    args = ("sunday-thighs", "--serve", "18:30", "--now", "12:00")
    assert run(*args, "--chart", chart, "--print", sheet, "--calendar", ics).exit_code == 0
    page = sheet.read_text(encoding="utf-8")
    html5lib.HTMLParser(strict=True).parse(page)
    assert "<script" not in page
    assert "http" not in page.replace("http-equiv", "")
    assert "18:30" in page
    events = Calendar.from_ical(ics.read_bytes()).walk("VEVENT")
    starts = [e["DTSTART"].dt for e in events]
    assert len(events) > 20
    assert len({str(e["UID"]) for e in events}) == len(events)
    assert max(starts) == next(e["DTSTART"].dt for e in events if str(e["SUMMARY"]).startswith("Serve"))
    assert all(e["DTEND"].dt > e["DTSTART"].dt for e in events)
    run(*args, "--chart", again)
    assert b"<svg" in chart.read_bytes()
    assert chart.read_bytes() == again.read_bytes()
    png = tmp_path / "a.png"
    run(*args, "--chart", png)
    assert png.read_bytes().startswith(b"\x89PNG")


def test_own_times_are_used_said_and_forgotten(home: Path) -> None:
    """A slow cutter's plan begins earlier and says why; `times` shows it; forgetting brings the card back."""
    before = json.loads(run("fish-supper", "--serve", "18:30", "--now", "12:00", "--json").stdout)
    my_times.write_times(home, my_times.MyTimes({"fish-supper/chips-cut": (1000.0, 1000.0, 1000.0)}))
    after = json.loads(run("fish-supper", "--serve", "18:30", "--now", "12:00", "--json").stdout)
    assert min(t["start"] for t in after["tasks"]) < min(t["start"] for t in before["tasks"])
    assert "Planned with your own times: chips cut" in run("fish-supper", "--serve", "18:30", "--now", "12:00").stdout
    assert "fish-supper/chips-cut  17 minutes in 3 evenings" in CliRunner().invoke(times, []).stdout
    assert CliRunner().invoke(times, ["--forget", "fish-supper"]).exit_code == 0
    assert CliRunner().invoke(times, []).stdout == ""


@pytest.mark.parametrize(
    ("args", "code", "says"),
    [
        (("no-such-meal",), 2, "no-such-meal"),
        (("fish-supper", "--serve", "25:00"), 2, "'25:00' is no time of day; write it like 18:30"),
        (("fish-supper", "--for", "0"), 2, "0"),
        (("fish-supper", "--serve", "18:30", "--now", "19:00"), 3, "Serving at 18:30 has passed, it is 19:00; name a later time."),
        (("fish-supper", "--chart", "plan.gif"), 2, "A chart is written as .svg, .png or .pdf, not 'plan.gif'."),
        (("fish-supper", "--serve", "18:30", "--now", "12:00", "--print", "/no/such/folder/a.html"), 2, "/no/such/folder/a.html cannot be written"),
    ],
)
def test_bad_input_is_one_sentence(args: tuple[str, ...], code: int, says: str) -> None:
    """The exit code and the way out."""
    result = run(*args)
    assert result.exit_code == code
    assert says in result.output


def test_a_bad_line_of_what_is_in_the_house(tmp_path: Path) -> None:
    """File and line are named."""
    have = tmp_path / "have.txt"
    have.write_text("potatoes: 1 kg\nfloor: 2 kg\n")
    result = run("fish-supper", "--serve", "18:30", "--now", "12:00", "--have", have)
    assert result.exit_code == 2
    assert "have.txt, line 2: nothing on the list is called 'floor'. Did you mean 'flour'?" in result.output
