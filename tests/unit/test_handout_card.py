"""An evening written back as a card: nothing changes but quantities and learnt times, and the card always reads."""

from __future__ import annotations

from fractions import Fraction
from functools import cache
from pathlib import Path

import pytest
import report_kit as kit
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.cli import stovehand
from assistant.kitchen import amounts
from assistant.kitchen.card_writer import learnt_card, learnt_span, span_text, times
from assistant.kitchen.cards import MealCardError, find_meal, list_meals, new_card, read_text
from assistant.kitchen.meal import Meal, Span, Step, StepKind
from assistant.kitchen.my_times import own_time
from assistant.kitchen.scale import scaled
from assistant.showing.report_model import durations, evening_report

MEALS = [name for name, _ in list_meals(Path("/none"))]


@cache
def card_of(name: str) -> tuple[str, Meal]:
    """A bundled card and its meal."""
    text = new_card("template") if name == "template" else find_meal(name).read_text(encoding="utf-8")
    return text, read_text(text, f"{name}.yaml")


@pytest.mark.parametrize("name", [*MEALS, "template"])
def test_an_evening_that_taught_nothing_leaves_the_card_as_it_is(name: str) -> None:
    """Remarks, order, quotes and spacing: the same text to the last character."""
    text, meal = card_of(name)
    assert learnt_card(text, f"{name}.yaml", meal.serves, {}) == text


@pytest.mark.parametrize("name", ["trouble", "fritter", "sunday"])
def test_the_card_of_an_evening_passes_meals_check(name: str, tmp_path: Path) -> None:
    """`stovehand meals check` finds nothing wrong with what was written."""
    report = evening_report(kit.evening(name))
    path = tmp_path / "learnt.yaml"
    path.write_text(learnt_card(report.card, str(path), report.people, durations(report), "Learnt."), encoding="utf-8")
    result = CliRunner().invoke(stovehand, ["meals", "check", str(path)])
    assert result.exit_code == 0
    assert "Nothing wrong" in result.output
    assert ("A hint: over an open flame" in result.output) is ("heat: gas" in path.read_text(encoding="utf-8"))


def test_learnt_times_are_drawn_towards_the_evening() -> None:
    """Sixteen minutes of cutting against nine on the card: usually eleven and a half, at most sixteen; first fry up to its long batch."""
    report = evening_report(kit.evening("trouble"))
    meal = read_text(learnt_card(report.card, report.file, 2, durations(report)), report.file)
    cut, fry = meal.step("chips-cut").span, meal.step("chips-first-fry").span
    assert (cut.least_s, cut.usual_s, cut.most_s) == (420.0, 690.0, 960.0)
    assert (fry.least_s, fry.most_s) == (300.0, 510.0)
    assert meal.step("chips-soak").span == card_of("fish-supper")[1].step("chips-soak").span


@settings(max_examples=10, deadline=None)
@given(st.sampled_from(MEALS), st.integers(1, 12), st.data())
def test_whatever_was_measured_the_card_reads(name: str, people: int, data: st.DataObject) -> None:
    """Any durations, any number of people: the card reads, keeps every step, and no range loses what it had."""
    text, meal = card_of(name)
    measured = st.lists(st.floats(1.0, 20_000.0), min_size=1, max_size=3)
    took = data.draw(st.dictionaries(st.sampled_from([s.id for s in meal.steps()]), measured, max_size=6))
    learnt = read_text(learnt_card(text, f"{name}.yaml", people, took), f"{name}.yaml")
    assert learnt.serves == people
    for was, now in zip(meal.steps(), learnt.steps(), strict=True):
        assert was.id == now.id
        assert now.span.least_s <= was.span.least_s + 15.0
        assert now.span.most_s >= was.span.most_s - 15.0
        if was.id not in took or was.kind is StepKind.WAIT:
            assert now.span == was.span


@pytest.mark.parametrize("people", [1, 7])
@pytest.mark.parametrize("name", [*MEALS, "template"])
def test_quantities_are_those_that_were_cooked(name: str, people: int) -> None:
    """The card for N has what `scaled` cooks for N: weights to a percent, pieces and batches exactly, spoons to a quarter."""
    text, meal = card_of(name)
    learnt, cooked = read_text(learnt_card(text, f"{name}.yaml", people, {}), f"{name}.yaml"), scaled(meal, people)
    for now, want in zip(learnt.ingredients(), cooked.ingredients(), strict=True):
        assert now.id == want.id
        if want.bought.kg is not None and want.bought.pieces is None:
            assert now.bought.kg == pytest.approx(want.bought.kg, rel=0.01)
        if want.bought.litres is not None:
            assert now.bought.litres == pytest.approx(want.bought.litres, abs=0.25 * 0.2366 / 2 + 1e-3)  # half of a quarter cup
        assert now.bought.pieces == want.bought.pieces
    for step, was in zip(learnt.steps(), cooked.steps(), strict=True):
        if step.fry is not None and was.fry is not None:
            assert (step.fry.batches, step.fry.pieces) == (was.fry.batches, was.fry.pieces)
            assert step.fry.kg == pytest.approx(was.fry.kg, rel=0.01)


@pytest.mark.parametrize(
    ("quantity", "by", "after"),
    [
        ("1 bunch", Fraction(2), "2 bunches"),
        ("3 tablespoons", Fraction(1, 2), "1 1/2 tablespoons"),
        ("1 teaspoon", Fraction(1, 3), "1/4 teaspoon"),
        ("1 teaspoon", Fraction(2), "2 teaspoons"),
        ("1 1/2 cups", Fraction(2), "3 cups"),
        ("2 pieces", Fraction(1, 3), "1 piece"),
        ("2 bunches", Fraction(1, 2), "1 bunch"),
        ("2 lb", Fraction(3), "6 lb"),
        ("8 pieces, 600 g", Fraction(1, 4), "2 pieces, 150 g"),
        ("1.2 kg", Fraction(1, 4), "0.3 kg"),
        ("1 leaf", Fraction(3), "3 leaves"),
        ("2", Fraction(3, 2), "3"),
        ("250g", Fraction(3), "750 g"),
    ],
)
def test_quantities_keep_their_units(quantity: str, by: Fraction, after: str) -> None:
    """A spoon stays a spoon, a bunch a bunch; what is counted is rounded up."""
    assert times(quantity, by) == after
    amounts.quantity(after)


@given(st.floats(5.0, 30_000.0), st.floats(0.0, 1.0), st.floats(1.0, 4.0))
def test_times_read_back_as_written(least: float, where: float, factor: float) -> None:
    """What `span_text` writes, `amounts.span` reads, to half of its rounding."""
    span = Span(least, least + where * least * (factor - 1.0), least * factor)
    read = amounts.span(span_text(span))
    within = 2.51 if span.most_s < 120 else 30.0 if least < 30.0 else 15.01
    for was, now in ((span.least_s, read.least_s), (span.usual_s, read.usual_s), (span.most_s, read.most_s)):
        assert abs(was - now) <= within + 1e-6


@given(st.floats(30.0, 7200.0), st.lists(st.floats(1.0, 50_000.0), min_size=1, max_size=9))
def test_a_learnt_range_holds_the_card_and_the_usual(card_s: float, seen: list[float]) -> None:
    """The usual is `own_time`, inside a range that never shrinks and never leaves half to twice of the card."""
    step = Step("s", "s", ("s",), "d", StepKind.HANDS, Span(0.8 * card_s, card_s, 1.2 * card_s), card_s)
    learnt = learnt_span(step, tuple(seen))
    assert learnt.usual_s == own_time(step, tuple(seen))
    assert 0.5 * card_s - 1e-6 <= learnt.least_s <= learnt.usual_s <= learnt.most_s <= 2.0 * card_s + 1e-6
    assert learnt.least_s <= step.span.least_s
    assert learnt.most_s >= step.span.most_s


def test_a_card_with_a_mistake_is_refused() -> None:
    """Nobody gets a card that cannot be cooked from."""
    text, _ = card_of("fish-supper")
    with pytest.raises(MealCardError):
        learnt_card(text.replace("serves: 2", "serves: two"), "fish-supper.yaml", 2, {})
