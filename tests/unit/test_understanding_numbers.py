"""Numbers as cooks say them and as recognisers write them, against num2words and hand-made tables."""

from __future__ import annotations

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from num2words import num2words

from assistant.understanding import numbers

EVENING = 17 * 3600.0


def test_every_number_under_a_thousand_as_num2words_spells_it() -> None:
    """0 to 999 with and without "and", hyphens kept or lost, and in figures: the value that num2words spelled."""
    for value in range(1000):
        spelled = num2words(value)
        for said in (spelled, spelled.replace(" and ", " "), spelled.replace("-", " "), str(value)):
            assert numbers.whole(numbers.normal(said)) == value, said


def test_joined_hundreds() -> None:
    """Three digits said in two: one to nine, then ten to ninety-nine, or "oh" and a digit."""
    for value in range(101, 1000):
        hundreds, rest = divmod(value, 100)
        if rest:
            said = f"{num2words(hundreds)} {'oh ' if rest < 10 else ''}{num2words(rest)}"
            assert numbers.whole(numbers.normal(said)) == value, said


def test_thousands_as_num2words_spells_them() -> None:
    """Whole hundreds up to 20,000, as for burners, with num2words' comma and in figures with a comma."""
    for value in range(1000, 20_001, 100):
        assert numbers.whole(numbers.normal(num2words(value))) == value
        assert numbers.whole(numbers.normal(f"{value:,}")) == value


@pytest.mark.parametrize(
    ("said", "value"),
    [
        ("seven and a half", 7.5),
        ("7.5", 7.5),
        ("seven point five", 7.5),
        ("minus five", -5),
        ("-5", -5),
        ("a half", 0.5),
        ("three quarters", 0.75),
        ("2/3", 2 / 3),
        ("1½", 1.5),
        ("fifteen hundred", 1500),
        ("a couple of", 2),
        ("", None),
        ("chips", None),
        ("five five", None),
        ("seventy fifty", None),
        ("hundred", None),
        ("one hundred and", None),
        ("one hundred two hundred", None),
        ("1/0", None),
    ],
)
def test_numbers(said: str, value: float | None) -> None:
    """Fractions and decimals, and words that are no number."""
    assert numbers.number(numbers.normal(said)) == (None if value is None else pytest.approx(value))


@pytest.mark.parametrize(
    ("said", "seconds"),
    [
        ("seven and a half minutes", 450),
        ("7.5 minutes", 450),
        ("7:30", 450),
        ("7:30 minutes", 450),
        ("seven thirty", 450),
        ("seven minutes", 420),
        ("7 min", 420),
        ("a minute", 60),
        ("a minute thirty", 90),
        ("a minute 30", 90),
        ("one minute and thirty seconds", 90),
        ("two minutes fifteen", 135),
        ("a minute and a half", 90),
        ("one and a half minutes", 90),
        ("ninety seconds", 90),
        ("90 sec", 90),
        ("half a minute", 30),
        ("half an hour", 1800),
        ("quarter of an hour", 900),
        ("three quarters of an hour", 2700),
        ("an hour", 3600),
        ("an hour and a half", 5400),
        ("an hour and a quarter", 4500),
        ("two hours twenty", 8400),
        ("one hour and ten minutes", 4200),
        ("a couple of minutes", 120),
        ("two more minutes", 120),
        ("another minute", 60),
        ("a minute more", 60),
        ("another two minutes", 120),
        ("another 90 seconds", 90),
        ("minus five minutes", -300),
        ("five", 300),
        ("five minutes minutes", None),
        ("a minute ninety", None),
        ("7:75", None),
        ("minutes past", None),
        ("chips", None),
    ],
)
def test_durations(said: str, seconds: float | None) -> None:
    """Durations by hand; a bare number is minutes."""
    assert numbers.duration_s(numbers.normal(said)) == (None if seconds is None else pytest.approx(seconds))


@pytest.mark.parametrize(
    ("said", "clock"),
    [
        ("half past six", "18:30"),
        ("half six", "18:30"),
        ("quarter to seven", "18:45"),
        ("a quarter past six", "18:15"),
        ("ten past six", "18:10"),
        ("ten minutes to seven", "18:50"),
        ("twenty-five to eight", "19:35"),
        ("ten to one", "12:50"),
        ("quarter to twelve", "23:45"),
        ("quarter past twelve", "12:15"),
        ("six thirty", "18:30"),
        ("six oh five", "18:05"),
        ("six", "18:00"),
        ("six o'clock", "18:00"),
        ("7 o'clock tonight", "19:00"),
        ("6:30", "18:30"),
        ("6:30 pm", "18:30"),
        ("6.30 p.m.", None),
        ("630", "18:30"),
        ("three forty", "15:40"),
        ("3:40", "15:40"),
        ("18:30", "18:30"),
        ("1830", "18:30"),
        ("eighteen thirty", "18:30"),
        ("eighteen hundred", "18:00"),
        ("quarter to nineteen", "18:45"),
        ("twelve thirty", "12:30"),
        ("12:15 am", "0:15"),
        ("0:15", "0:15"),
        ("nine in the morning", "9:00"),
        ("6:30 in the evening", "18:30"),
        ("noon", "12:00"),
        ("midnight", "0:00"),
        ("ten past", "17:10"),
        ("quarter to", "17:45"),
        ("half past", "17:30"),
        ("twenty-five", None),
        ("six sixty", None),
        ("thirteen pm", None),
        ("half past thirty", None),
        ("chips", None),
        ("", None),
    ],
)
def test_clock_times(said: str, clock: str | None) -> None:
    """Clock times by hand, said at five in the afternoon."""
    value = numbers.clock_s(numbers.normal(said), EVENING)
    if clock is None:
        assert value is None
    else:
        hours, minutes = map(int, clock.split(":"))
        assert value == hours * 3600 + minutes * 60


@pytest.mark.parametrize(
    ("said", "now", "clock"),
    [
        ("eleven", 9 * 3600.0, 11 * 3600),  # still to come this morning
        ("eleven", 11.5 * 3600, 23 * 3600),
        ("six thirty", 9 * 3600.0, 18.5 * 3600),
        ("six thirty", 19 * 3600.0, 18.5 * 3600),  # already past: the session says so
        ("six thirty", None, 18.5 * 3600),
        ("ten past", 17 * 3600 + 600.0, 18 * 3600 + 600),  # the next, not now
        ("ten past", 23.5 * 3600, 600),
        ("ten past", None, None),
    ],
)
def test_clock_times_depend_on_now_only_by_rule(said: str, now: float | None, clock: float | None) -> None:
    """Mornings only while they are still to come; minutes without an hour mean the next such time."""
    assert numbers.clock_s(said.split(), now) == clock


def test_every_minute_of_the_day_in_figures() -> None:
    """24-hour times in figures mean what they say from noon to midnight; before noon they are the evening's unless said otherwise."""
    for minute in range(12 * 60, 24 * 60):
        written = f"{minute // 60}:{minute % 60:02}"
        assert numbers.clock_s([written]) == minute * 60
        hour = minute // 60 - 12 or 12
        assert numbers.clock_s([f"{hour}:{minute % 60:02}"]) == minute * 60
        assert numbers.clock_s([f"{hour}:{minute % 60:02}", "am"]) == (minute - 720) * 60


@pytest.mark.parametrize(
    ("said", "units", "celsius", "unit"),
    [
        ("three forty", "F", 171.11, None),
        ("340", "F", 171.11, None),
        ("3:40", "F", 171.11, None),
        ("one sixty-five", "F", 73.89, None),
        ("165 degrees", "F", 73.89, None),
        ("165°F", "C", 73.89, "F"),
        ("seventy-four celsius", "F", 74.0, "C"),
        ("74 degrees c", "F", 74.0, "C"),
        ("one seventy", "C", 170.0, None),
        ("three hundred and fifty fahrenheit", "C", 176.67, "F"),
        ("minus ten", "C", -10.0, None),
        ("thirty-two", "F", 0.0, None),
    ],
)
def test_temperatures(said: str, units: str, celsius: float, unit: str | None) -> None:
    """The unit that is said wins; without one the cook's setting decides."""
    assert numbers.temperature_c(numbers.normal(said), units) == (pytest.approx(celsius, abs=0.01), unit)


@pytest.mark.parametrize("said", ["", "degrees", "hot", "celsius"])
def test_no_temperature(said: str) -> None:
    """Words without a number are no temperature."""
    assert numbers.temperature_c(said.split(), "F") is None


@pytest.mark.parametrize(
    ("said", "litres"),
    [
        ("a litre", 1.0),
        ("two thirds of a cup", 0.15773),
        ("2/3 cup", 0.15773),
        ("half a pint", 0.23659),
        ("two quarts", 1.89271),
        ("a gallon", 3.78541),
        ("1½ liters", 1.5),
        ("a litre and a half", 1.5),
        ("500 ml", 0.5),
        ("a tablespoon", 0.014787),
        ("three inches", None),
        ("litre of", None),
    ],
)
def test_volumes(said: str, litres: float | None) -> None:
    """US customary volumes by NIST Handbook 44, appendix C (1 gal = 3.785412 L, 1 qt = 0.946353 L, 1 cup = 236.588 mL, 1 tbsp = 14.787 mL)."""
    assert numbers.litres(numbers.normal(said)) == (None if litres is None else pytest.approx(litres, rel=1e-4))


def test_lengths_masses_powers() -> None:
    """Inches, pounds and ounces by NIST Handbook 44; Btu an hour by NIST SP 811 (12,000 Btu/h = 3,517 W)."""
    assert numbers.metres(["ten", "inches"]) == pytest.approx(0.254)
    assert numbers.metres(numbers.normal("26 cm")) == pytest.approx(0.26)
    assert numbers.metres(numbers.normal("twenty six and a half centimetres")) == pytest.approx(0.265)
    assert numbers.kilograms(["half", "a", "pound"]) == pytest.approx(0.2268, abs=1e-4)
    assert numbers.kilograms(numbers.normal("400 g")) == pytest.approx(0.4)
    assert numbers.watts(["fifteen", "hundred", "watts"]) == 1500
    assert numbers.watts(numbers.normal("1.5 kW")) == 1500
    assert numbers.watts(["twelve", "thousand", "btu"]) == pytest.approx(3517, abs=1)
    assert numbers.watts(numbers.normal("12,000 BTU an hour")) == pytest.approx(3517, abs=1)


@pytest.mark.parametrize(
    ("raw", "words"),
    [
        ("What’s next?", "what's next"),
        ("Oil is at 1,340 degrees.", "oil is at 1340 degrees"),
        ("twenty five-minute clock", "twenty-five minute clock"),
        ("Chips - down!", "chips down"),
        ("serve at 7:30pm", "serve at 7:30 pm"),
        ("10in", "10 inches"),
        ("twenty one", "twenty-one"),
        ("OK", "okay"),
        ("thirty ten", "thirty ten"),
        ("12.5", "12.5"),
        ("2 l.at once", "2 litres at once"),
        ("...", ""),
    ],
)
def test_raw_text_becomes_words_of_the_automaton(raw: str, words: str) -> None:
    """Capitals, punctuation, split or joined hyphens and glued units are brought to one form."""
    assert " ".join(numbers.normal(raw)) == words


@given(st.text())
@example("0L.A")
def test_bringing_text_to_words_is_settled_after_once(text: str) -> None:
    """Words already in the automaton's form stay as they are, whatever the text was."""
    once = numbers.normal(text)
    assert numbers.normal(" ".join(once)) == once or any(not word.isascii() for word in once)


@given(
    st.lists(st.sampled_from(["a", "and", "half", "minutes", "past", "to", "point", "hundred", "seven", "7:30", "1/2", "of", "minus", "oh", "pm"]))
)
def test_no_words_make_a_reader_fail(words: list[str]) -> None:
    """Any jumble of number words is a value or None, never an error."""
    for reader in (numbers.whole, numbers.number, numbers.duration_s, numbers.clock_s, numbers.litres, numbers.metres, numbers.watts):
        value = reader(words)
        assert value is None or isinstance(value, (int, float))
    assert numbers.temperature_c(words, "F") is None or numbers.temperature_c(words, "F")
