"""The handout: another cook can follow it, its safety lines are the spoken ones in their place, and nobody is named."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import html5lib
import pytest
import report_kit as kit
from click.testing import CliRunner

from assistant.cli import main
from assistant.commands_report import handout
from assistant.kitchen.cards import read_card
from assistant.kitchen.drop_check import full_check
from assistant.kitchen.scripts import script
from assistant.session import events as e
from assistant.showing.handout import html_handout
from assistant.showing.report_advice import advise
from assistant.showing.report_model import evening_report

HOSTILE = '<script>alert("x")</script> & $x^2$'
XHTML = "{http://www.w3.org/1999/xhtml}"


def page_of(events: tuple[e.Event, ...]) -> str:
    """The handout of an evening."""
    report = evening_report(events)
    return html_handout(report, advise(report))


def shown(page: str) -> str:
    """What a reader sees, its figures and units with plain spaces."""
    root = html5lib.HTMLParser(strict=True).parse(page)
    body = root.find(f"{XHTML}body")
    assert body is not None
    return "\n".join(body.itertext()).replace("\u00a0", " ")


@pytest.fixture(scope="module")
def text() -> Callable[[str], str]:
    """What is read on the handout of an evening."""
    made: dict[str, str] = {}
    return lambda name: made.setdefault(name, shown(page_of(kit.evening(name))))


@pytest.mark.parametrize("name", ["trouble", "boil-over", "fritter", "sunday"])
def test_the_page_is_valid(name: str) -> None:
    """html5lib in strict mode finds nothing."""
    html5lib.HTMLParser(strict=True).parse(page_of(kit.evening(name)))


def test_hostile_words_of_a_card_are_text() -> None:
    """A title and a step's words as somebody wrote them, no script among the elements."""
    page = page_of(kit.hostile(HOSTILE))
    root = html5lib.HTMLParser(strict=True).parse(page)
    assert root.findall(f".//{XHTML}script") == []
    assert shown(page).count(HOSTILE) >= 3


def test_nobody_is_named(text: Callable[[str], str]) -> None:
    """Notes and what was heard are free text and may name people: they stay out, as do a clock's name and a fault's sentence."""
    extra = (
        e.Noted(6000.0, "ask Quentin", "Quentin"),
        e.Heard(6001.0, "fire says Quentin"),
        e.ScriptBegan(6001.0, "fire"),
        e.ScriptEnded(6030.0, "over"),
    )
    more = (e.ClockSet(6040.0, "c", "Quentin", 6050.0), e.WorldFault(6045.0, "microphone", False, "Quentin took it"))
    page = page_of((*kit.evening("trouble"), *extra, *more))
    assert "Quentin" not in page
    assert "peeler" not in text("trouble")
    assert "foaming up" not in text("trouble")
    assert "Boil over, then after boil over." in text("trouble")


@pytest.mark.parametrize(
    "words",
    [
        "What you need, for 2",
        "potatoes: 550 g, 440 g prepared",
        "white fish: 270 g, 260 g prepared (from the fridge); raw: keep it apart",
        "potato sticks 10 mm",  # the cut
        "300 °F, never under 275 °F",  # set point and floor
        "2.2 l of oil for the big pot, measured cold",
        "Batch 1: oil at 265 °F (wants 300 °F), down to 255 °F, 8 min 30 s; came out pale.",  # as it was that evening
        "Done looks like: limp and pale.",
        "Core 145 °F in the two biggest pieces",
        "It read 130 °F, 150 °F and 150 °F.",
        "After 2 h: change the water and put the chips in the fridge.",
        "Chips cut: plan 16 min.",
        "in the oven at 225 °F",  # how it is held
        "An aid, not a safety device",
        "Local codes, your fire service and licensed practice go first.",
    ],
)
def test_another_cook_finds_what_is_needed(text: Callable[[str], str], words: str) -> None:
    """Quantities, cuts, temperatures, looks, cores, limits, holding, and what was learnt."""
    assert words in text("trouble")


def test_times_are_before_serving(text: Callable[[str], str]) -> None:
    """Cutting began at the start of an evening that was on the table after an hour and 52 minutes; it took 16 minutes."""
    words = text("trouble")
    at = words.index("Peel potatoes and cut sticks as thick as a finger.")
    assert words[:at].rstrip().endswith("1 h 56 min")
    assert words[at:].split("finger.")[1].lstrip().startswith("16 min")


def test_safety_lines_stand_in_their_place(text: Callable[[str], str]) -> None:
    """Knife before cutting, the whole check where the burner was lit, the small test before the first drop, clean tongs at the fish."""
    words = text("trouble")
    pot = evening_report(kit.evening("trouble")).meal.equipment.pots[0]
    check = " ".join(full_check(pot, oil_thermometer=True))
    marks = [
        "Dry hands, steady board, fingers tucked from the knife.",
        "Peel potatoes",
        check,
        "Rinse and drain the chips",
        "Fresh oil: first a small, dry test batch, lowered slowly.",
        "First fry for the chips",
        "Coated: let it drip, shake off loose crumbs.",
        "Dip each piece in batter",
        "Clean tongs and a clean rack for the cooked pieces.",
        "Is every burner off?",
    ]
    places = [words.index(m) for m in marks]
    assert places == sorted(places)


@pytest.mark.parametrize("name", ["fire", "boil_over", "smoke", "burn"])
def test_danger_is_told_in_the_words_that_are_spoken(text: Callable[[str], str], name: str) -> None:
    """Every order of the script, up to its question, with the number to call in figures."""
    words = text("trouble")
    for line in script(name, "US").lines:
        if line.ask is None and not line.words.startswith("Again:"):
            assert line.words.replace("nine one one", "911") in words


def test_the_number_is_the_regions() -> None:
    """An evening in Great Britain calls 999."""
    words = shown(page_of(kit.evening("boil-over")))
    assert "Call 999 from outside." in words
    assert "911" not in words


def test_quantities_are_for_as_many_as_were_cooked_for(text: Callable[[str], str]) -> None:
    """Fritter night for eight has twice the corn of the card for four."""
    assert "What you need, for 8" in text("fritter")
    for thing in ("sweet corn: 800 g, 680 g prepared", "mint: 2 bunches", "olive oil: 6 tablespoons"):
        assert thing in text("fritter")


def test_what_was_left_out_or_never_reached_says_so(text: Callable[[str], str]) -> None:
    """The yogurt was left out; the bread was never baked and stands there by its card."""
    words = text("fritter")
    assert "Left out that evening: yogurt stir" in words
    bread = words.split("Breads onto the hot stone.")[1]
    assert bread.index("not reached") < bread.index("card: 7 min to 9 min") < bread.index("Bread to the table")


def test_an_evening_that_never_fried_still_has_the_check_before_the_heat(text: Callable[[str], str]) -> None:
    """The safety lines of steps that were not reached stand before them all the same."""
    words = text("fritter")
    assert words.index("Before the heat: is the pot bone dry inside?") < words.index("Onions into the oil")
    assert words.index("Coated: let it drip, shake off loose crumbs.") < words.index("Fritters into the oil by the spoon")


def test_celsius_evenings_are_told_in_celsius() -> None:
    """An evening cooked in C never says F."""
    first, *rest = kit.evening("trouble")
    assert isinstance(first, e.EveningBegan)
    words = shown(page_of((replace(first, units="C"), *rest)))
    assert "149 °C, never under 135 °C" in words
    assert "°F" not in words


def test_the_command_writes_page_and_card(tmp_path: Path) -> None:
    """`handout -o FILE.html --card FILE.yaml`: the page, and a card that reads without a mistake."""
    data = kit.journal_with(tmp_path / "data", kit.evening("trouble"))
    out, card = tmp_path / "supper.html", tmp_path / "supper-learnt.yaml"
    result = CliRunner().invoke(handout, ["-o", str(out), "--card", str(card), "--data", str(data)])
    assert result.exit_code == 0, result.output
    assert "What you need, for 2" in out.read_text(encoding="utf-8")
    meal = read_card(card)
    assert meal.step("chips-cut").span.most_s == 960.0
    assert card.read_text(encoding="utf-8").startswith("# Times as learnt on the evening of 2025-06-15, cooked for 2.\n")


def test_a_card_that_no_command_could_name_is_refused_and_nothing_is_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """`My Card.yaml` cannot name a meal: exit 2, one sentence with the way out, and neither file."""
    data = kit.journal_with(tmp_path / "data", kit.evening("trouble"))
    out = tmp_path / "supper.html"
    monkeypatch.setattr("sys.argv", ["stovehand", "handout", "1", "-o", str(out), "--card", str(tmp_path / "My Card.yaml"), "--data", str(data)])
    with pytest.raises(SystemExit) as end:
        main()
    assert end.value.code == 2
    assert "rename it 'my-card.yaml'" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == [tmp_path / "data"]


def test_an_evening_on_which_nothing_was_begun_is_the_card() -> None:
    """No times are invented: the order of the card, every step not reached."""
    words = shown(page_of(kit.evening("sunday")[:1]))
    assert "Nothing was begun that evening: this is how the card has it." in words
    assert words.count("not reached") == len(list(evening_report(kit.evening("sunday")).meal.steps()))
