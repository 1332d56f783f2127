"""The report as a page, as CSV and as JSON: valid, alone, readable, and deaf to markup in what people said."""

from __future__ import annotations

import csv
import json
import re
from collections.abc import Callable
from functools import cache
from io import StringIO
from pathlib import Path
from xml.etree.ElementTree import Element

import html5lib
import pytest
import report_kit as kit
from click.testing import CliRunner, Result

from assistant.commands_report import evenings
from assistant.commands_report import report as report_command
from assistant.showing import report_charts, report_html
from assistant.showing.report import COLUMNS, csv_report, html_report, json_report
from assistant.showing.report_advice import advise
from assistant.showing.report_html import el, svg, text
from assistant.showing.report_model import evening_report

HOSTILE = '<script>alert("x")</script> & $x^2$ \x07\ud800'
XHTML = "{http://www.w3.org/1999/xhtml}"


@cache
def tree(page: str) -> Element:
    """The page as a strict reader sees it; ParseError at the first thing that is not valid."""
    root: Element = html5lib.HTMLParser(strict=True).parse(page)
    return root


def page_of(name: str) -> str:
    """The report's page of an evening."""
    report = evening_report(kit.hostile(HOSTILE) if name == "hostile" else kit.evening(name))
    return html_report(report, advise(report), "Sunday, 15 June 2025")


@pytest.fixture(scope="module")
def pages() -> Callable[[str], str]:
    """Pages by evening, each made once."""
    made: dict[str, str] = {}
    return lambda name: made.setdefault(name, page_of(name))


@pytest.fixture(scope="module")
def read(pages: Callable[[str], str]) -> str:
    """What a reader of the troubled evening's page sees."""
    return "".join(tree(pages("trouble")).itertext())


@pytest.mark.parametrize("name", ["trouble", "hostile", "fritter", "sunday"])
def test_the_page_is_valid(pages: Callable[[str], str], name: str) -> None:
    """html5lib in strict mode finds nothing, and no id stands twice."""
    root = tree(pages(name))
    ids = [x.get("id") for x in root.iter() if x.get("id")]
    assert len(ids) == len(set(ids))


def test_the_page_stands_alone(pages: Callable[[str], str]) -> None:
    """Nothing is fetched, nothing runs: no script, no address, no link to another file."""
    root = tree(pages("hostile"))
    assert root.findall(f".//{XHTML}script") == []
    for element in root.iter():
        for name, value in element.attrib.items():
            assert not str(name).startswith("on")
            if str(name).endswith(("href", "src")):
                assert str(value).startswith("#")
    assert "url(http" not in pages("hostile")
    assert "@import" not in pages("hostile")


def test_hostile_words_are_shown_as_text(pages: Callable[[str], str]) -> None:
    """A title, a note, a sentence misheard, a thing that ran out, a fault: each is read as it was written."""
    shown = "".join(tree(pages("hostile")).itertext())
    assert shown.count('<script>alert("x")</script>') >= 6
    assert "$x^2$" in shown
    assert not re.search("[\x00-\x08\ud800-\udfff]", pages("hostile"))


def test_hostile_dish_names_are_text_in_the_pictures() -> None:
    """No card can name a dish so, but a picture would show it as text all the same."""
    from dataclasses import replace

    report = evening_report(kit.evening("trouble"))
    report = replace(
        report,
        steps=tuple(replace(r, name="<script>x</script> $a_b$") for r in report.steps),
        pots=tuple(replace(p, name="<b>", fried=tuple(("<script>y</script>", b) for _, b in p.fried)) for p in report.pots),
    )
    page = html_report(report, ())
    root = tree(page)
    assert root.findall(f".//{XHTML}script") == []
    assert "<script>x</script> $a_b$" in "".join(root.itertext())
    assert "<script>y</script>, 1" in "".join(root.itertext())


@pytest.mark.parametrize(
    "words",
    [
        "17:32",  # the danger, by the clock of that evening
        "Boil over, then after boil over. Heard: “it's foaming up”.",
        "Chips first fry, batch 1: wait for 300\u00a0°F.",
        "It went in at 265\u00a0°F, 35\u00a0°F under.",
        "the new peeler is far too slow",
        "0:16:20",
        "the dog is eating the remote",
        "no such sentence",
        "longer than it keeps",
        "blanched potatoes",
        "An aid, not a safety device",
        "Local codes, your fire service and licensed practice go first.",
    ],
)
def test_the_page_says_what_happened(read: str, words: str) -> None:
    """Danger, advice with numbers, note with kitchen time, misheard with reason, waiting, food clocks, the caution."""
    assert words in read


def luminance(colour: str) -> float:
    """Relative luminance of sRGB (WCAG 2.2, definition of relative luminance)."""
    full = colour.lstrip("#")
    full = "".join(2 * c for c in full) if len(full) == 3 else full
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in (int(full[i : i + 2], 16) / 255 for i in (0, 2, 4))]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Contrast ratio (WCAG 2.2)."""
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_the_oils_log_is_on_the_page_with_its_band(read: str) -> None:
    """Kind, litres, hours hot, the estimate of its age with the band it is worth, and what touched it."""
    found = re.search(
        r"Sunflower oil, [\d.]+\sl: first evening, [\d.]+\sh hot\. Polar compounds about ([\d.]+) % \(([\d.]+) to ([\d.]+), an est", read
    )
    assert found is not None
    about, least, most = (float(x) for x in found.groups())
    assert least < about < most
    assert "In it: fish, wheat." in read


@pytest.mark.parametrize(
    ("one", "other", "ratio"),
    [
        *(("#fff", "#000", 21.0), ("#767676", "#fff", 4.54), ("#ff0", "#000", 19.56), ("#fff", "#f00", 4.00)),
        *(("#fff", "#c00000", 6.48), ("#fff", "#008000", 5.14), ("#000", "#ffc000", 12.79)),
    ],
)
def test_the_measure_of_contrast(one: str, other: str, ratio: float) -> None:
    """WCAG's formula as a second program has it, within a hundredth: what these tests measure by is right."""
    assert contrast(one, other) == pytest.approx(ratio, abs=0.011)


def test_contrast_is_seven_to_one() -> None:
    """Every colour of words is at least 7 : 1 on white (WCAG 2.2, success criterion 1.4.6), black also on the shade of a batch."""
    words = set(re.findall(r"(?<![-\w])color: (#[0-9A-Fa-f]{3,6})", report_html.STYLE)) | {report_charts.INK, report_charts.SOFT, report_charts.HEAT}
    assert "#444" in words
    assert min(contrast(c, "#fff") for c in words) >= 7.0
    assert contrast(report_charts.INK, report_charts.BATCH) >= 7.0


def test_equal_evenings_make_equal_pages() -> None:
    """Nothing in the page depends on when or how often it was made."""
    assert page_of("sunday") == page_of("sunday")


def test_figures_stay_with_their_units() -> None:
    """No line break between a number and its unit."""
    assert text("at 300 °F for 8 min 30 s") == "at 300\u00a0°F for 8\u00a0min 30\u00a0s"


def test_elements_escape_everything_but_markup() -> None:
    """Children and attributes that are plain text are escaped, however deep."""
    assert el("p", "<", el("b", '"'), title='"<') == '<p title="&quot;&lt;">&lt;<b>&quot;</b></p>'


def test_pictures_get_ids_of_their_own() -> None:
    """Two pictures in one page never share an id, and each still finds its own parts."""
    drawn = '<?xml version="1.0"?><svg ><path id="a"/><use xlink:href="#a"/><g clip-path="url(#a)"/></svg>'
    assert svg(drawn, "t", "x") == '<svg role="img" aria-label="x" ><path id="t-a"/><use xlink:href="#t-a"/><g clip-path="url(#t-a)"/></svg>'


def test_csv_has_a_line_a_step_and_a_line_a_batch() -> None:
    """Kitchen time in s, temperatures in C; every line as long as its head."""
    report = evening_report(kit.evening("trouble"))
    rows = list(csv.reader(StringIO(csv_report(report))))
    assert tuple(rows[0]) == COLUMNS
    assert {len(r) for r in rows} == {len(COLUMNS)}
    assert len(rows) == 1 + len(report.steps) + sum(len(r.batches) for r in report.steps)
    first = next(dict(zip(rows[0], r, strict=True)) for r in rows if r[5] == "batch 1" and r[0] == "chips-first-fry")
    assert (first["start_s"], first["end_s"], first["took_s"], first["oil_c"], first["looks"]) == ("3000.0", "3510.0", "510.0", "129.4", "pale")


def test_json_holds_what_the_page_shows() -> None:
    """The same figures for programs, plain ASCII, with advice and incidents."""
    report = evening_report(kit.hostile(HOSTILE))
    data = json.loads(json_report(report, advise(report), 3, 1.0))
    assert data["evening"] == 3
    assert len(data["incidents"]) == len(report.incidents)
    assert data["notes"][-1]["text"] == HOSTILE
    assert [a["say"] for a in data["advice"]] == [a.say for a in advise(report)]
    assert data["pots"][0]["readings"][0]["celsius"] == pytest.approx((260 - 32) / 1.8)


# --- the commands


@pytest.fixture
def data(tmp_path: Path) -> Path:
    """A journal with two evenings, the first not ended."""
    from assistant.session import events as e

    ended = (*kit.evening("sunday"), e.EveningEnded(9000.0))
    return kit.journal_with(tmp_path / "data", kit.evening("fritter"), ended)


def invoke(*args: str) -> Result:
    """Run `evenings` or `report`."""
    command = {"evenings": evenings, "report": report_command}[args[0]]
    return CliRunner().invoke(command, list(args[1:]))


def test_evenings_are_listed(data: Path) -> None:
    """Number, date, meal, ended or not."""
    lines = invoke("evenings", "--data", str(data)).output.splitlines()
    assert [line.split()[0] for line in lines] == ["1", "2"]
    assert [line.split()[3] for line in lines] == ["fritter-night", "sunday-thighs"]
    assert [line.split("  ")[-1] for line in lines] == ["not ended", "ended"]
    assert all(re.search(r"\d{4}-\d\d-\d\d \d\d:\d\d", line) for line in lines)


def test_report_takes_the_last_evening_and_writes_three_files(data: Path, tmp_path: Path) -> None:
    """FILE.html, FILE.csv and FILE.json; the journal stays as it is."""
    out = tmp_path / "evening.html"
    result = invoke("report", "-o", str(out), "--data", str(data))
    assert result.exit_code == 0, result.output
    assert "Sunday thighs" in out.read_text(encoding="utf-8")
    assert json.loads(out.with_suffix(".json").read_text(encoding="utf-8"))["evening"] == 2
    assert out.with_suffix(".csv").read_text(encoding="utf-8").startswith("step,name")


@pytest.mark.parametrize(
    ("args", "says"),
    [
        (["report", "7", "-o", "{out}", "--data", "{data}"], "There is no evening 7: 'stovehand evenings' lists those from 1 to 2."),
        (["report", "-o", "{out}", "--data", "{out}"], "There is no journal in"),
        (["report", "-o", "/nowhere/at/all.html", "--data", "{data}"], "/nowhere/at/all.html cannot be written"),
        (["evenings", "--data", "{out}"], "There is no journal in"),
    ],
)
def test_what_is_wrong_is_one_sentence(data: Path, tmp_path: Path, args: list[str], says: str) -> None:
    """A missing evening, a missing journal, a place that cannot be written: exit 2 and a way out."""
    result = invoke(*(a.format(out=tmp_path / "x.html", data=data) for a in args))
    assert result.exit_code == 2
    assert says in result.output
    assert "Traceback" not in result.output


@pytest.mark.parametrize("n", [1, 2])
def test_an_evening_on_which_nothing_was_begun_has_a_page(n: int) -> None:
    """Killed before the first step: a valid page that says so."""
    report = evening_report(kit.evening("sunday")[:n])
    page = html_report(report, advise(report))
    tree(page)
    assert "nobody said that dinner was up" in page
    assert page.count("not begun") == len(report.steps)
