"""`stovehand plan`: what it prints and writes, and what it refuses."""

from __future__ import annotations

import json
import re
from datetime import datetime
from pathlib import Path

import html5lib
import pytest
from click.testing import CliRunner, Result
from icalendar import Calendar
from kitchen_kit import first_event
from test_earlier import LENTILS

from assistant.clock import Now
from assistant.commands_plan import plan, times
from assistant.journal import Journal
from assistant.kitchen import my_times
from assistant.kitchen.cards import find_meal


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A data folder of its own."""
    folder = tmp_path / "data"
    monkeypatch.setattr("assistant.commands_plan.data_folder", lambda: folder)
    return folder


def run(*args: object) -> Result:
    return CliRunner().invoke(plan, [str(a) for a in args])


def test_json_has_the_plan_and_nothing_of_the_moment() -> None:
    """Exactly these keys; seconds relative to serving, before it negative; equal runs are equal, and with time enough all that are
    asked for the same time."""
    args = ("fish-supper", "--serve", "18:30", "--for", 2, "--now", "13:30", "--json")
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
    assert run("fish-supper", "--serve", "18:30", "--for", 2, "--now", "9:10", "--json").stdout == result.stdout


def test_the_sheet_says_when_to_begin_what_to_do_and_what_to_buy() -> None:
    """Text for the wall: clock times, batches, waiting, everyone here, the list."""
    text = run("fish-supper", "--serve", "18:30", "--now", "15:00").stdout
    assert "Serve at 18:30. Begin at 16:" in text or "Serve at 18:30. Begin at 17:" in text
    for words in (
        "Lower chips first fry, batch 1 (220 g), oil at 300 F",
        "Oven on, 225 F",
        "Chips on a rack into the oven",
        "is everyone here?",
        "Waiting before serving: ",
        "To buy:",
        "sunflower oil",
        "lid within reach",
    ):
        assert words in text


def test_raw_poultry_without_a_thermometer_is_said_when_planning(tmp_path: Path) -> None:
    """It cannot be called done there, and a dish of another meal that can is proposed; with a thermometer nothing is said."""
    text = find_meal("sunday-thighs").read_text(encoding="utf-8").replace("core thermometer: yes", "core thermometer: no")
    card = tmp_path / "thighs.yaml"
    card.write_text(text, encoding="utf-8")
    said = run(card, "--serve", "18:30", "--now", "15:00").stdout
    assert "Thighs: cannot be called done without a thermometer." in said
    assert "Cook chips instead, or buy a thermometer." in said
    assert "cannot be called done" not in run("sunday-thighs", "--serve", "18:30", "--now", "15:00").stdout


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
    assert ": is everyone here?" in page
    book = Calendar.from_ical(ics.read_bytes())
    assert str(book["X-WR-CALNAME"]) == "Sunday thighs with cauliflower bake"
    events = book.walk("VEVENT")
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


def test_temperatures_are_in_the_cooks_units(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Celsius in the settings: 300 F is 149 C, for oil and oven alike; no other unit is on the sheet."""
    (tmp_path / "settings.toml").write_text('units = "C"\n', encoding="utf-8")
    monkeypatch.setattr("assistant.settings.settings_file", lambda: tmp_path / "settings.toml")
    text = run("fish-supper", "--serve", "18:30", "--now", "12:00").stdout
    assert "oil at 149 C" in text
    assert "into the oven, 107 C" in text
    assert " F" not in text.split("To buy:")[0].replace("Fish", "")


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
        (("fish-supper", "--serve", "someday 18:30"), 2, "or with its day: 'saturday 18:30'"),
        (("fish-supper", "--serve", "2027-02-30 18:30"), 2, "'2027-02-30' is no date; write it like 2027-01-31"),
        (("fish-supper", "--serve", "2126-12-24 18:30"), 3, "a meal is planned a week ahead at most"),
        (("fish-supper", "--for", "0"), 2, "'0' is no number of people: write 1 to 100"),
        (("fish-supper", "--for", "101"), 2, "'101' is no number of people: write 1 to 100"),
        (
            ("fish-supper", "--serve", "18:30", "--now", "19:00"),
            3,
            "has passed; name a later time, or its day: --serve 'tomorrow 18:30'.",
        ),
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


def test_steps_of_an_earlier_day_stand_under_their_day() -> None:
    """Asked on Thursday for Saturday, the lentils are cooked on Friday and everything else on Saturday; each day has its heading."""
    text = run("fritter-night", "--serve", "saturday 18:30", "--now", "thursday 15:00").stdout
    assert "Serve on Saturday at 18:30. Begin on Friday at " in text
    friday, saturday = text.split("\nFriday ")[1].split("\nSaturday ")
    assert friday.startswith(("afternoon, the day before:", "evening, the day before:"))
    assert "Simmer the lentils" in friday
    assert "Grate the carrots" in saturday
    assert "Simmer the lentils" not in saturday


def test_a_time_without_a_day_is_the_next_one() -> None:
    """After midnight belongs to the night: at eleven, half past twelve is tomorrow's; and the sheet says the day."""
    assert "Serve on " in run("fish-supper", "--serve", "0:30", "--now", "22:30").stdout
    assert "Serve at 18:30." in run("fish-supper", "--serve", "18:30", "--now", "15:00").stdout


def test_what_was_made_before_is_left_out_of_the_plan(tmp_path: Path) -> None:
    """Lentils cooked on the evening before are in the journal of this folder: the plan says so and has none of their steps."""
    began = datetime.now().astimezone().replace(hour=19, minute=0, second=0, microsecond=0)
    journal = Journal(tmp_path / "journal.sqlite")
    journal.begin(first_event("fritter-night", people=4), "fritter-night", Now(began.timestamp(), 0.0, "a"))
    journal.append(LENTILS, Now(began.timestamp() + LENTILS[-1].t, 0.0, "a"))
    journal.close()
    args = ("fritter-night", "--serve", "tomorrow 18:30", "--now", "today 22:00")
    text = run(*args, "--data", tmp_path).stdout
    assert "Made already and left out, if still good: lentils (earlier today)." in text
    assert "Simmer the lentils" not in text
    assert "Dress the lentils" in text
    assert "Simmer the lentils" in run(*args).stdout


def test_times_are_those_of_the_folder_that_is_named(tmp_path: Path) -> None:
    """`--data` of plan and times is the folder that cook used."""
    my_times.write_times(tmp_path, my_times.MyTimes({"fish-supper/chips-cut": (1000.0,)}))
    assert "chips-cut" in CliRunner().invoke(times, ["--data", str(tmp_path)]).stdout
    assert CliRunner().invoke(times, []).stdout == ""
    assert "Planned with your own times" in run("fish-supper", "--serve", "18:30", "--now", "12:00", "--data", tmp_path).stdout


def test_broken_settings_are_refused(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """As by every other command: one sentence with the file, exit 2."""
    (tmp_path / "settings.toml").write_text("units = 3")
    monkeypatch.setattr("assistant.settings.settings_file", lambda: tmp_path / "settings.toml")
    result = run("fish-supper", "--serve", "18:30", "--now", "12:00")
    assert result.exit_code == 2
    assert "settings.toml: 'units' is wrong" in result.output


@pytest.mark.parametrize("meal", ["fish-supper", "sunday-thighs"])
def test_a_crowd_that_is_too_much_is_told_why_and_what_would_do(meal: str) -> None:
    """For twenty: what is over its limit, and waves that were planned within every limit; that many indeed get a plan that lands."""
    result = run(meal, "--for", 20, "--serve", "18:30", "--now", "9:00")
    assert result.exit_code == 3
    assert "limit is two hours" in result.output or "two hours at most" in result.output
    wave = re.search(r"What would do: .*cook in waves of (\d+)\.", result.output)
    assert wave is not None
    assert run(meal, "--for", wave[1], "--serve", "18:30", "--now", "9:00").exit_code == 0


def test_a_crowd_that_holds_too_long_is_planned_with_a_line_for_each_lot() -> None:
    """Twenty for fritters: nothing hot lands, said once for the lot and not for each of its batches; with it what would land."""
    text = run("fritter-night", "--for", 20, "--serve", "18:30", "--now", "9:00").stdout
    head = text.split("\n\n")[0]
    assert re.search(r"^Fritters fry: \d+ batches wait up to \d+ minutes too long\.$", head, re.M)
    assert re.search(r"^Cook in waves of \d+: (9[5-9]|100)%\.$", head, re.M)
    assert head.count("too long") == 1
