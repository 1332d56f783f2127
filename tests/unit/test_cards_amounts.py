"""Amounts as a cook writes them, against pint's own definitions of the units."""

from __future__ import annotations

import math
from collections.abc import Callable

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.kitchen import amounts
from assistant.kitchen.meal import Amount, Span

UNITS: pint.UnitRegistry[float] = pint.UnitRegistry()


@pytest.mark.parametrize(
    ("text", "seconds"),
    [
        ("20 minutes", 1200),
        ("1 h 30 min", 5400),
        ("1 hour and 30 minutes", 5400),
        ("1.5 h", 5400),
        ("1 1/2 hours", 5400),
        ("half an hour", 1800),
        ("half a minute", 30),
        ("90 s", 90),
        ("2 days", 172800),
        ("1 week", 604800),
    ],
)
def test_durations(text: str, seconds: float) -> None:
    """Hours, minutes and seconds in the ways a cook writes them."""
    assert amounts.duration(text) == seconds


@pytest.mark.parametrize("text", ["", "7", "seven minutes", "7 moments", "0 s", "1:30", "-5 minutes", "minutes", "1/0 h", "9999999 weeks"])
def test_what_is_no_duration(text: str) -> None:
    """Bare numbers, number words, unknown units, nothing and too much are refused."""
    with pytest.raises(ValueError, match=r"write|check|divides"):
        amounts.duration(text)


@pytest.mark.parametrize(
    ("text", "span"),
    [
        ("7 to 9 minutes", (420, 480, 540)),
        ("7-9 minutes", (420, 480, 540)),
        ("7 \u2013 9 min", (420, 480, 540)),
        ("30 seconds to 2 minutes", (30, 75, 120)),
        ("5 to 8 minutes, usually 6 minutes", (300, 360, 480)),
        ("2 1/2 to 4 minutes, usually 3 minutes", (150, 180, 240)),
        ("20 minutes", (1200, 1200, 1200)),
        ("about 20 minutes", (1200, 1200, 1200)),
    ],
)
def test_spans(text: str, span: tuple[float, float, float]) -> None:
    """A range has its middle as the usual unless it says another."""
    assert amounts.span(text) == Span(*span)


@pytest.mark.parametrize("text", ["9 to 7 minutes", "5 to 8 minutes, usually 9 minutes", "1 to 2 to 3 minutes", "7 to 9", "5 minutes, usually"])
def test_what_is_no_span(text: str) -> None:
    """Ranges the wrong way round, a usual time outside, three ends, no unit."""
    with pytest.raises(ValueError, match="write"):
        amounts.span(text)


@pytest.mark.parametrize("text", ["325 F", "325F", "163 C", "163 °C", "-18 C", "212 degrees F"])
def test_temperatures_agree_with_pint(text: str) -> None:
    """Fahrenheit and Celsius as pint converts them."""
    value = float("".join(c for c in text if c in "-0123456789"))
    theirs = UNITS.Quantity(value, UNITS.degF if text.endswith("F") else UNITS.degC).to(UNITS.degC).magnitude
    assert amounts.temperature(text) == pytest.approx(theirs, abs=1e-9)


@pytest.mark.parametrize("text", ["325", "900 K", "hot", "5000 F", "-300 C", "F"])
def test_what_is_no_temperature(text: str) -> None:
    """A temperature without a unit, or of no kitchen, is refused."""
    with pytest.raises(ValueError, match="write it like '325 F' or '163 C'"):
        amounts.temperature(text)


@pytest.mark.parametrize(
    ("reader", "text", "theirs", "unit"),
    [
        (amounts.weight, "2 lb", "2 pound", "kg"),
        (amounts.weight, "8 oz", "8 ounce", "kg"),
        (amounts.weight, "600 g", "600 gram", "kg"),
        (amounts.volume, "3 cups", "3 cup", "litre"),
        (amounts.volume, "1 tablespoon", "1 tablespoon", "litre"),
        (amounts.volume, "2 tsp", "2 teaspoon", "litre"),
        (amounts.volume, "2 quarts", "2 quart", "litre"),
        (amounts.volume, "1 pint", "1 pint", "litre"),
        (amounts.volume, "1/2 gallon", "0.5 gallon", "litre"),
        (amounts.volume, "150 ml", "150 millilitre", "litre"),
        (amounts.length, "10 in", "10 inch", "metre"),
        (amounts.length, "26 cm", "26 centimetre", "metre"),
        (amounts.power, "3 kW", "3 kilowatt", "watt"),
        (amounts.power, "9000 BTU/h", "9000 BTU/hour", "watt"),
    ],
)
def test_measures_agree_with_pint(reader: Callable[[str], float], text: str, theirs: str, unit: str) -> None:
    """Every kind of unit against pint's definition of it (US customary volumes)."""
    assert reader(text) == pytest.approx(UNITS.Quantity(theirs).to(unit).magnitude, rel=1e-6)


@pytest.mark.parametrize(
    ("text", "amount"),
    [
        ("1.2 kg", Amount("1.2 kg", kg=1.2)),
        ("8 pieces", Amount("8 pieces", pieces=8)),
        ("8", Amount("8", pieces=8)),
        ("2 cloves", Amount("2 cloves", pieces=2)),
        ("1 bunch", Amount("1 bunch", pieces=1)),
        ("6 leaves", Amount("6 leaves", pieces=6)),
        ("8 pieces, 600 g", Amount("8 pieces, 600 g", kg=0.6, pieces=8)),
        ("250 ml", Amount("250 ml", litres=0.25)),
    ],
)
def test_quantities(text: str, amount: Amount) -> None:
    """Weight, volume or pieces, or several of them."""
    assert amounts.quantity(text) == amount


@pytest.mark.parametrize("text", ["a lot", "0 kg", "kg", "3 buckets", "1 kg,", "1e9 kg"])
def test_what_is_no_quantity(text: str) -> None:
    """Vague, empty and strange quantities are refused."""
    with pytest.raises(ValueError, match="write"):
        amounts.quantity(text)


@pytest.mark.parametrize(("text", "part"), [("half", 0.5), ("a third", 1 / 3), ("2/3", 2 / 3), ("40 %", 0.4), ("all", 1.0), ("0.25", 0.25)])
def test_parts(text: str, part: float) -> None:
    """Parts of a whole in words, fractions and percent."""
    assert amounts.part(text) == pytest.approx(part)


READERS = [amounts.duration, amounts.span, amounts.temperature, amounts.degrees_apart, amounts.quantity, amounts.weight, amounts.volume,
           amounts.length, amounts.power, amounts.part]  # fmt: skip
SCRAPS = st.lists(
    st.sampled_from(["1", "1/0", "99999999", ".", "half", "a", "to", "-", "min", "F", "kg", "%", ",", " ", "usually", "9" * 400]), max_size=6
)


@given(st.sampled_from(READERS), st.text(max_size=20) | SCRAPS.map(" ".join) | SCRAPS.map("".join))
def test_any_text_is_read_or_refused(reader: Callable[[str], object], text: str) -> None:
    """No text raises anything but ValueError, and no number that is read is endless."""
    try:
        value = reader(text)
    except ValueError:
        return
    if isinstance(value, float):
        assert math.isfinite(value)
