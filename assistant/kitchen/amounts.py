"""Amounts as a cook writes them on a card, read into SI: durations, temperatures, quantities, lengths, powers, parts of a whole.

Every reader takes the text and returns SI, or raises ValueError with half a sentence that says what is wrong and shows the form that works.
Rules: a unit is always written out (nothing is guessed from a bare number, but a bare number of things is pieces); cups, spoons, quarts and pints
are the US customary ones; a range is "7 to 9 minutes" with the unit once or twice.
"""

from __future__ import annotations

import re

from assistant.kitchen.meal import Amount, Span

_NUMBER = r"(?:\d+\s+\d+/\d+|\d+/\d+|\d+(?:\.\d+)?|\.\d+)"
_MINUTE = 60.0
_MOST = 1e6
_SECONDS = {
    **dict.fromkeys(("s", "sec", "secs", "second", "seconds"), 1.0),
    **dict.fromkeys(("m", "min", "mins", "minute", "minutes"), _MINUTE),
    **dict.fromkeys(("h", "hr", "hrs", "hour", "hours"), 3600.0),
    **dict.fromkeys(("day", "days"), 86400.0),
    **dict.fromkeys(("week", "weeks"), 7 * 86400.0),
}
# exact by definition: the pound is 0.45359237 kg, the US gallon 231 cubic inches (NIST Handbook 44, appendix C; from memory)
_POUND, _INCH, _GALLON = 0.45359237, 0.0254, 231 * 0.254**3
_KILOGRAMS = {
    **dict.fromkeys(("kg", "kilo", "kilos", "kilogram", "kilograms"), 1.0),
    **dict.fromkeys(("g", "gram", "grams", "gramme", "grammes"), 1e-3),
    **dict.fromkeys(("lb", "lbs", "pound", "pounds"), _POUND),
    **dict.fromkeys(("oz", "ounce", "ounces"), _POUND / 16),
}
_LITRES = {
    **dict.fromkeys(("l", "litre", "litres", "liter", "liters"), 1.0),
    **dict.fromkeys(("dl", "decilitre", "decilitres"), 0.1),
    **dict.fromkeys(("cl", "centilitre", "centilitres"), 0.01),
    **dict.fromkeys(("ml", "millilitre", "millilitres", "milliliter", "milliliters"), 1e-3),
    **dict.fromkeys(("gallon", "gallons"), _GALLON),
    **dict.fromkeys(("quart", "quarts", "qt"), _GALLON / 4),
    **dict.fromkeys(("pint", "pints", "pt"), _GALLON / 8),
    **dict.fromkeys(("cup", "cups"), _GALLON / 16),
    **dict.fromkeys(("tbsp", "tablespoon", "tablespoons"), _GALLON / 256),
    **dict.fromkeys(("tsp", "teaspoon", "teaspoons"), _GALLON / 768),
}
_PIECES = re.compile(
    r"(?:piece|clove|slice|fillet|sprig|tin|can|pinche?|head|stick|stalk|egg|packet|sheet|handful)s?|leaf|leaves|bunch|bunches|pinch"
)
_METRES = {
    **dict.fromkeys(("m", "metre", "metres", "meter", "meters"), 1.0),
    **dict.fromkeys(("cm", "centimetre", "centimetres", "centimeter", "centimeters"), 0.01),
    **dict.fromkeys(("mm", "millimetre", "millimetres", "millimeter", "millimeters"), 0.001),
    **dict.fromkeys(("in", "inch", "inches"), _INCH),
}
_WATTS = {"w": 1.0, "watt": 1.0, "watts": 1.0, "kw": 1000.0, "kilowatt": 1000.0, "kilowatts": 1000.0, "btu/h": 0.29307107, "btu": 0.29307107}
_PARTS = {
    **dict.fromkeys(("all", "all of it", "the whole"), 1.0),
    **dict.fromkeys(("half", "a half", "one half"), 1 / 2),
    **dict.fromkeys(("third", "a third", "one third"), 1 / 3),
    "two thirds": 2 / 3,
    **dict.fromkeys(("quarter", "a quarter", "one quarter"), 1 / 4),
    "three quarters": 3 / 4,
}


def number(text: str) -> float:
    """A number as written: digits, a decimal point, a fraction.

    >>> number("1.5"), number("1/2"), number("1 1/2")
    (1.5, 0.5, 1.5)
    """
    total = 0.0
    for part in text.split():
        above, _, below = part.partition("/")
        if below and float(below) == 0:
            raise ValueError(f"'{text}' divides by nothing")
        total += float(above) / (float(below) if below else 1.0)
    if total > _MOST:
        raise ValueError(f"'{text[:20]}' is more than anyone cooks; check the number")
    return total


def _measure(text: str, units: dict[str, float], what: str, example: str) -> float:
    found = re.fullmatch(rf"({_NUMBER})\s*([a-z/]+)", text.strip().lower())
    if found is None or found[2] not in units:
        raise ValueError(f"'{text}' is no {what}; write it like '{example}'")
    return number(found[1]) * units[found[2]]


def duration(text: str) -> float:
    """A duration, s.

    >>> duration("1 h 30 min"), duration("90 seconds"), duration("1 1/2 hours"), duration("half an hour")
    (5400.0, 90.0, 5400.0, 1800.0)
    """
    plain = re.sub(r"\bhalf an? ", "1/2 ", text.strip().lower())
    piece = rf"({_NUMBER})\s*([a-z]+)(?:\s+and\s+|\s*,?\s*)"
    if not re.fullmatch(rf"(?:{piece})+", plain):
        raise ValueError(f"'{text}' is no duration; write it like '20 minutes' or '1 h 30 min'")
    total = 0.0
    for amount, unit in re.findall(piece, plain):
        if unit not in _SECONDS:
            raise ValueError(f"'{unit}' in '{text}' is no unit of time; write hours, minutes or seconds")
        total += number(amount) * _SECONDS[unit]
    if total <= 0:
        raise ValueError(f"'{text}' is no time at all; write how long it takes")
    return total


def span(text: str) -> Span:
    """How long something takes, s: one time, or a range with the middle as the usual, or a range that says its usual.

    >>> span("7 to 9 minutes")
    Span(least_s=420.0, usual_s=480.0, most_s=540.0)
    >>> span("5 to 8 minutes, usually 6 minutes")
    Span(least_s=300.0, usual_s=360.0, most_s=480.0)
    >>> span("about 20 minutes")
    Span(least_s=1200.0, usual_s=1200.0, most_s=1200.0)
    """
    body, _, usual_text = text.strip().partition(", usually ")
    ends = re.split(r"\s+to\s+|\s*[-\u2013]\s*", re.sub(r"^about ", "", body.strip()))
    if len(ends) > 2:
        raise ValueError(f"'{text}' has more than two ends; write it like '7 to 9 minutes'")
    if len(ends) == 2 and re.fullmatch(_NUMBER, ends[0].strip()):
        unit = re.search(r"[a-z]+", ends[1].lower())
        ends[0] = f"{ends[0].strip()} {unit[0] if unit else ''}"
    times = [duration(end) for end in ends]
    least, most = times[0], times[-1]
    if least > most:
        raise ValueError(f"'{text}' is longer at its least than at its most; write the shorter time first")
    usual = duration(usual_text) if usual_text else (least + most) / 2
    if not least <= usual <= most:
        raise ValueError(f"'{text}' has a usual time outside its own range; write one between the two")
    return Span(least, usual, most)


def _degrees(text: str) -> tuple[float, str]:
    found = re.fullmatch(r"(-?\d+(?:\.\d+)?)\s*(?:°|degrees?)?\s*([fc])", text.strip().lower())
    if found is None:
        raise ValueError(f"'{text}' is no temperature; write it like '325 F' or '163 C'")
    return number(found[1]), found[2]


def temperature(text: str) -> float:
    """A temperature, C.

    >>> round(temperature("325 F"), 1), temperature("163 C")
    (162.8, 163.0)
    """
    value, unit = _degrees(text)
    celsius = (value - 32) * 5 / 9 if unit == "f" else value
    if not -60 <= celsius <= 600:
        raise ValueError(f"'{text}' is no temperature of a kitchen; write it like '325 F' or '163 C'")
    return celsius


def other_unit(text: str) -> tuple[str, float]:
    """The same number in the other unit, for "did you mean": ('350 F', C)."""
    value, unit = _degrees(text)
    return (f"{value:g} C", value) if unit == "f" else (f"{value:g} F", (value - 32) * 5 / 9)


def degrees_apart(text: str) -> float:
    """A difference of temperatures, K.

    >>> degrees_apart("9 F"), degrees_apart("5 C")
    (5.0, 5.0)
    """
    value, unit = _degrees(text)
    if not 0 <= value <= 100:
        raise ValueError(f"'{text}' is no sensible difference; write it like '5 F' or '3 C'")
    return value * 5 / 9 if unit == "f" else value


def quantity(text: str) -> Amount:
    """A quantity, or several ways to say one quantity with commas between; cups and spoons are US ones.

    >>> quantity("2 lb").kg, quantity("1/2 cup").litres, quantity("8 pieces, 600 g").pieces
    (0.90718474, 0.118294118..., 8.0)
    """
    kg = litres = pieces = None
    for part in text.split(","):
        found = re.fullmatch(rf"({_NUMBER})\s*([a-z]*)", part.strip().lower())
        unit = found[2] if found else ""
        if found is None or (unit and unit not in _KILOGRAMS and unit not in _LITRES and not _PIECES.fullmatch(unit)):
            raise ValueError(f"'{part.strip()}' is no quantity; write it like '1.2 kg', '2 lb', '3 cups' or '8 pieces'")
        value = number(found[1])
        if value <= 0:
            raise ValueError(f"'{part.strip()}' is nothing; write how much there is or leave the line out")
        if unit in _KILOGRAMS:
            kg = value * _KILOGRAMS[unit]
        elif unit in _LITRES:
            litres = value * _LITRES[unit]
        else:
            pieces = value
    return Amount(text.strip(), kg, litres, pieces)


def weight(text: str) -> float:
    """A weight, kg."""
    return _measure(text, _KILOGRAMS, "weight", "600 g")


def volume(text: str) -> float:
    """A volume, l."""
    return _measure(text, _LITRES, "volume", "2 litres")


def length(text: str) -> float:
    """A length, m.

    >>> length("26 cm"), length("10 in")
    (0.26, 0.254)
    """
    return _measure(text, _METRES, "length", "26 cm")


def power(text: str) -> float:
    """The nominal power of a burner or an electric fryer, W.

    >>> power("3 kW"), round(power("9000 BTU/h"))
    (3000.0, 2638)
    """
    return _measure(text, _WATTS, "power", "3 kW")


def part(text: str) -> float:
    """A part of a whole, over 0 and at most 1.

    >>> part("half"), part("1/4"), part("40 %"), part("0.4")
    (0.5, 0.25, 0.4, 0.4)
    """
    plain = text.strip().lower()
    found = re.fullmatch(rf"({_NUMBER})\s*(%|percent)?", plain)
    if plain in _PARTS:
        value = _PARTS[plain]
    elif found:
        value = number(found[1]) / (100 if found[2] else 1)
    else:
        raise ValueError(f"'{text}' is no part of a whole; write it like 'half', '1/3' or '40 %'")
    if not 0 < value <= 1:
        raise ValueError(f"'{text}' is no part of a whole; write more than nothing and at most all")
    return value
