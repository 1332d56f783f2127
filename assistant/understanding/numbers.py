"""Numbers as cooks say them and as recognisers write them: words -> SI.

On the path: the interpreter hands over the words that a value rule of the grammar covered ("seven and a half minutes", "7.5 minutes"); each
reader here answers a number in SI units, or None when the words are no such value. Whether a number makes sense (a temperature of 900) is not
judged here.

Readings that need a rule:
- *Joined numbers*: "three forty" and "one sixty-five" are 340 and 165 as numbers and temperatures, twenty to four as 3:40 as a clock time,
  and 7 min 30 s when "seven thirty" stands where a duration is wanted. So are the written "340", "3:40" and "7:30".
- *Temperatures*: a unit that is said wins; without one the cook's setting decides.
- *Clock times* without morning, afternoon, am or pm: cooks mean the evening, so 1:00 to 11:59 is taken as after noon (6:30 is 18:30; 12:30 is
  half an hour after noon) unless it is now before noon and the time before noon is still to come. "Ten past" alone means the next such time.
- *Bare durations* ("a clock of seven") are minutes.
- *Cups, pints, quarts* are the US customary ones (NIST Handbook 44, appendix C), as the cards are written for inches and Fahrenheit too.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping, Sequence

from assistant.understanding.automaton import Fill, WordClass

ONES = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
_TEENS = ("ten", "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen")
_TENS = ("twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")
TENS_AND_ONES = (*_TEENS, *(word for tens in _TENS for word in (tens, *(f"{tens}-{one}" for one in ONES))))
_SMALL: Mapping[str, int] = {word: value for value, word in enumerate((*ONES, *TENS_AND_ONES), 1)} | {"zero": 0, "nought": 0}

CLASSES: Fill = {
    "n1_9": WordClass("n1_9", ONES),
    "n10_99": WordClass("n10_99", TENS_AND_ONES),
    "n10_59": WordClass("n10_59", TENS_AND_ONES[:50]),
    "n1_12": WordClass("n1_12", (*ONES, *_TEENS[:3])),
    "n13_23": WordClass("n13_23", TENS_AND_ONES[3:14]),
    "digits": WordClass("digits", tuple(map(str, range(1, 601))), re.compile(r"\d{1,6}")),
    "digits_60": WordClass("digits_60", tuple(map(str, range(1, 61))), re.compile(r"\d{1,2}")),
    "decimal": WordClass("decimal", ("0.5", *(f"{n}.{part}" for n in range(1, 13) for part in (25, 5, 75))), re.compile(r"\d{1,4}\.\d{1,3}")),
    "fraction": WordClass("fraction", ("1/2", "1/3", "2/3", "1/4", "3/4"), re.compile(r"[1-9]\d?/[1-9]\d?")),
    "colon": WordClass("colon", tuple(f"{h}:{m:02}" for h in range(1, 13) for m in range(0, 60, 5)), re.compile(r"\d{1,2}:\d\d")),
}
"""Word classes that the grammars of values refer to: spoken numbers, and the forms in which a recogniser writes them."""

_MINUTE, _HOUR, _DAY = 60.0, 3600.0, 86400.0
_DURATIONS = {"second": 1.0, "seconds": 1.0, "minute": _MINUTE, "minutes": _MINUTE, "hour": _HOUR, "hours": _HOUR}
# NIST Handbook 44 (2024), appendix C: 1 US gallon = 3.785 411 784 L, 1 lb = 0.453 592 37 kg, 1 in = 25.4 mm (all exact)
_GALLON = 3.785411784
_LITRES = {
    "litre": 1.0,
    "liter": 1.0,
    "millilitre": 0.001,
    "milliliter": 0.001,
    "gallon": _GALLON,
    "quart": _GALLON / 4,
    "pint": _GALLON / 8,
    "cup": _GALLON / 16,
    "tablespoon": _GALLON / 256,
    "teaspoon": _GALLON / 768,
    "bottle": 1.0,  # common practice; a bigger one is told in litres
}
_POUND = 0.45359237
_KILOGRAMS = {"gram": 0.001, "kilo": 1.0, "kilogram": 1.0, "pound": _POUND, "ounce": _POUND / 16}
_METRES = {"inch": 0.0254, "centimetre": 0.01, "centimeter": 0.01, "millimetre": 0.001, "millimeter": 0.001}
# NIST Special Publication 811, appendix B.8: 1 Btu(IT)/h = 0.293 071 1 W
_WATTS = {"watt": 1.0, "kilowatt": 1000.0, "btu": 0.2930711}
_FRACTIONS = {"half": 1 / 2, "third": 1 / 3, "thirds": 1 / 3, "quarter": 1 / 4, "quarters": 1 / 4}

_ABBREVIATIONS: dict[str, str] = dict(
    re.findall(
        r"(\w+):(\w+)",
        "f:fahrenheit c:celsius deg:degrees m:minutes min:minutes mins:minutes s:seconds sec:seconds secs:seconds h:hours hr:hours hrs:hours "
        "l:litres ml:millilitres qt:quarts pt:pints tsp:teaspoons tbsp:tablespoons g:grams kg:kilos lb:pounds lbs:pounds oz:ounces "
        "cm:centimetres mm:millimetres w:watts kw:kilowatts",
    )
)
"""Read so only right after a number or "degrees"."""
_PIECES = re.compile(r"\d+(?:[.:/]\d+)?|[^\W\d_]+(?:['.-][^\W\d_]+)*")


def normal(text: str) -> list[str]:
    """Raw text (typed, or as a recogniser writes it) as the words of the automaton.

    >>> normal("Oil's at 1,340°F, Kitchen!"), normal("twenty five-minute clock"), normal("7:30 p.m."), normal("-5 mins"), normal("1½ cups")
    (["oil's", 'at', '1340', 'degrees', 'fahrenheit', 'kitchen'], ['twenty-five', 'minute', 'clock'], ['7:30', 'pm'], ['minus', '5', 'minutes'], \
['1', '1/2', 'cups'])
    >>> normal("one sixty-five c")
    ['one', 'sixty-five', 'celsius']
    """
    text = re.sub(r"(?<=\d)(?=[\u00bc-\u00be\u2150-\u215e])", " ", text)  # 1½ is one and a half, not eleven halves
    text = unicodedata.normalize("NFKC", text).lower().replace("\u2044", "/").replace("\u2019", "'").replace("\u2018", "'").replace("`", "'")
    text = re.sub(r"°|º", " degrees ", text)
    text = re.sub(r"(?<=\d)(?:in\b|\")", " inches ", text)  # glued only: "6:30 in the evening"
    text = re.sub(r"(?<=\d),(?=\d{3}\b)", "", text)
    text = re.sub(r"(?:^|(?<=\s))[-\u2212](?=\d)", "minus ", text)
    text = re.sub(r"\b([ap])\s?\.?\s?m\b\.?", r"\1m", text)
    text = re.sub(r"\bo\.?k\b", "okay", text)
    words: list[str] = []
    for piece in _PIECES.findall(text):
        for word in [piece] if piece in _SMALL or piece[0].isdigit() else re.split(r"[.-]", piece):
            after = words[-1] if words else ""
            unit = word in ("c", "f") and after.rpartition("-")[2] in _PART  # one sixty c
            if after and word in _ABBREVIATIONS and (after[-1].isdigit() or after == "degrees" or unit):
                words.append(_ABBREVIATIONS[word])
            elif word in ONES and words and words[-1] in _TENS:
                words[-1] += f"-{word}"
            else:
                words.append(word)
    return words


_PART = frozenset({*_SMALL, "hundred", "thousand"})


def is_part(word: str) -> bool:
    """Whether a word is part of a number: such a word is never left out or exchanged in a guess."""
    return word in _PART or word in ("minus", "negative") or word[0].isdigit()


def in_figures(words: Sequence[str]) -> list[str]:
    """The sentence with its whole numbers in figures, also those that no value of the grammar is said so ("two hundred of us"); below nothing is 0.

    >>> in_figures("there are two hundred and one of us".split()), in_figures("topped up by minus one litre".split())
    (['there', 'are', '201', 'of', 'us'], ['topped', 'up', 'by', '0', 'litre'])
    """
    found: list[str] = []
    at = 0
    while at < len(words):
        minus = words[at] in ("minus", "negative")
        begin = at + minus
        end = next((e for e in range(min(len(words), begin + 6), begin, -1) if is_part(words[e - 1]) and whole(words[begin:e]) is not None), begin)
        if end == begin:
            found.append(words[at])
            at += 1
        else:
            found.append("0" if minus else str(whole(words[begin:end])))
            at = end
    return found


def whole(words: Sequence[str]) -> int | None:
    """A whole number.

    >>> [whole(said.split()) for said in ("three forty", "one oh five", "a hundred and sixty-five", "fifteen hundred", "340", "chips")]
    [340, 105, 165, 1500, 340, None]
    """
    for scale, most in (("thousand", 999), ("hundred", 99)):
        if scale in words:
            at = list(words).index(scale)
            return _scaled(list(words[:at]), _SCALES[scale], most, list(words[at + 1 :]))
    match list(words):
        case [one]:
            return int(one) if one.isdecimal() else _SMALL.get(one)
        case [hundreds, "oh" | "o" | "zero", ones] if hundreds in ONES and ones in ONES:
            return _SMALL[hundreds] * 100 + _SMALL[ones]
        case [hundreds, rest] if hundreds in ONES and rest in TENS_AND_ONES:
            return _SMALL[hundreds] * 100 + _SMALL[rest]
    return None


_SCALES = {"hundred": 100, "thousand": 1000}


def _scaled(head: list[str], scale: int, most: int, tail: list[str]) -> int | None:
    """ "three" hundred "and forty": `most` is the largest number that may stand before the scale."""
    much = 1 if head in (["a"], ["one"]) else whole(head)
    if much is None or not 0 < much <= most:
        return None
    rest = whole(tail[1:] if tail[0] == "and" else tail) if tail else 0
    return much * scale + rest if rest is not None and 0 <= rest < scale and (rest > 0 or not tail) else None


def number(words: Sequence[str]) -> float | None:
    """Any number, fractions and decimals too.

    >>> [number(said.split()) for said in ("seven and a half", "7.5", "seven point five", "minus five", "three quarters", "1 1/2", "a")]
    [7.5, 7.5, 7.5, -5.0, 0.75, 1.5, 1.0]
    """
    match list(words):
        case ["minus" | "negative", *rest]:
            value = number(rest)
            return None if value is None else -value
        case ["a" | "an"]:
            return 1.0
        case ["a", "couple", "of"] | ["a", "couple"]:
            return 2.0
        case ["half"] | ["half", "a" | "an"] | ["a", "half"]:
            return 0.5
        case [*head, "and", "a", fraction] if fraction in _FRACTIONS and head:
            base = number(head)
            return None if base is None else base + _FRACTIONS[fraction]
        case [*head, fraction, "of", "a" | "an"] | [*head, fraction] if fraction in _FRACTIONS:
            much = number(head) if head else 1.0
            return None if much is None else much * _FRACTIONS[fraction]
        case [*head, "point", digit] if digit in _SMALL and _SMALL[digit] < 10:
            base = whole(head)
            return None if base is None else base + _SMALL[digit] / 10
        case [one] if re.fullmatch(r"\d+\.\d+", one):
            return float(one)
        case [*head, ratio] if re.fullmatch(r"\d+/[1-9]\d*", ratio):
            above, below = map(int, ratio.split("/"))
            base = whole(head) if head else 0
            return None if base is None else base + above / below
    value = whole(words)
    return None if value is None else float(value)


def duration_s(words: Sequence[str]) -> float | None:
    """A duration, s. A bare number is minutes; the words "more" and "another" change nothing.

    >>> [duration_s(said.split()) for said in ("seven and a half minutes", "a minute thirty", "two more minutes", "7:30", "half an hour")]
    [450.0, 90.0, 120.0, 450.0, 1800.0]
    """
    said = [word for word in words if word not in ("more", "another", "extra")]
    if said[:1] == ["minus"]:
        value = duration_s(said[1:])
        return None if value is None else -value
    at = next((i for i, word in enumerate(said) if word in _DURATIONS), None)
    if at is None:
        clocked = _minutes_and_seconds(said)
        bare = number(said)
        return clocked if clocked is not None else None if bare is None else bare * _MINUTE
    unit, tail = _DURATIONS[said[at]], said[at + 1 :]
    joined = _minutes_and_seconds(said[:at])
    # "another minute": what is left of the amount is nothing
    amount = 1.0 if at == 0 else number(said[:at]) if joined is None else joined / _MINUTE
    rest = _rest_s(tail, unit)
    return None if amount is None or rest is None else amount * unit + rest


def _minutes_and_seconds(words: Sequence[str]) -> float | None:
    """Of "7:30", "seven thirty", "seven oh five" the minutes and seconds, s; None when it is no such pair."""
    match list(words):
        case [one] if ":" in one:
            minutes, seconds = map(int, one.split(":"))
        case [first, second] if first in ONES and second in TENS_AND_ONES:
            minutes, seconds = _SMALL[first], _SMALL[second]
        case [first, "oh", second] if first in ONES and second in ONES:
            minutes, seconds = _SMALL[first], _SMALL[second]
        case _:
            return None
    return minutes * _MINUTE + seconds if seconds < 60 else None


def _rest_s(tail: list[str], unit: float) -> float | None:
    """What follows "a minute": nothing, "and a half", "thirty", "and thirty seconds", s."""
    match tail:
        case []:
            return 0.0
        case ["and", "a", fraction] if fraction in _FRACTIONS:
            return unit * _FRACTIONS[fraction]
        case ["and", *rest] | [*rest]:
            smaller = unit / 60
            if rest and rest[-1] in _DURATIONS:
                smaller = _DURATIONS[rest[-1]]
                rest = rest[:-1]
            value = whole(rest)
            return value * smaller if value is not None and smaller < unit and 0 < value * smaller < unit else None
    return None


def temperature_c(words: Sequence[str], units: str) -> tuple[float, str | None] | None:
    """A temperature, C, and the unit that was said ("F" or "C"; None when the setting `units`, also "F" or "C", decided).

    >>> temperature_c("three forty".split(), "F"), temperature_c("one sixty-five degrees celsius".split(), "F")
    ((171.11111111111111, None), (165.0, 'C'))
    """
    said = [word for word in words if word not in ("degrees", "degree")]
    unit = {"fahrenheit": "F", "celsius": "C", "centigrade": "C"}.get(said[-1]) if said else None
    if unit:
        said.pop()
    value = number([said[0].replace(":", "")] if len(said) == 1 and re.fullmatch(r"\d:\d\d", said[0]) else said)
    if value is None:
        return None
    return ((value - 32) * 5 / 9 if (unit or units) == "F" else value), unit


_MORNING, _EVENING = (
    {("am",), ("in", "the", "morning")},
    {("pm",), ("in", "the", "afternoon"), ("in", "the", "evening"), ("tonight",), ("at", "night")},
)


def clock_s(words: Sequence[str], now_day_s: float | None = None) -> float | None:
    """A time of day, s after midnight. now_day_s: the time of day now, which "ten past" needs and mornings use (see the module's rules).

    >>> [clock_s(said.split(), 17 * 3600) for said in ("half past six", "quarter to seven", "3:40", "ten past", "nine in the morning", "1830")]
    [66600.0, 67500.0, 56400.0, 61800.0, 32400.0, 66600.0]
    """
    said, half = list(words), ""
    for endings, name in ((_MORNING, "am"), (_EVENING, "pm")):
        for ending in endings:
            if tuple(said[-len(ending) :]) == ending:
                said, half = said[: -len(ending)], name
    if said[-1:] == ["o'clock"]:
        said.pop()
    if said in (["noon"], ["midday"]):
        return _DAY / 2
    if said == ["midnight"]:
        return 0.0
    parts = _past(said)
    if parts is None:
        return None
    hour, minutes = parts
    if hour is None:
        return _next_such(minutes, now_day_s)
    at = hour * _HOUR + minutes * _MINUTE
    if half:
        return None if not 0 < hour <= 12 else (at % (_DAY / 2)) + (_DAY / 2 if half == "pm" else 0.0)
    early = at % _DAY
    if hour == 0 or early >= _DAY / 2:  # 0:15, 12:30 and 18:30 mean what they say
        return early
    if now_day_s is not None and now_day_s < _DAY / 2 and early > now_day_s:
        return early
    return early + _DAY / 2


def _next_such(minutes: float, now_day_s: float | None) -> float | None:
    if now_day_s is None:
        return None
    wait = (minutes * _MINUTE - now_day_s) % _HOUR
    return (now_day_s + (wait or _HOUR)) % _DAY


def _past(said: list[str]) -> tuple[int | None, float] | None:
    """(hour, or None when it was not said; minutes past it)."""
    side = next((word for word in ("past", "to") if word in said), None)
    if side is not None:
        at = said.index(side)
        minutes = [word for word in said[:at] if word != "minutes"]
        much = {"half": 30, "quarter": 15, "a quarter": 15}.get(" ".join(minutes)) or whole(minutes)
        if much is None or not 0 < much < 60:
            return None
        return _beside(-much if side == "to" else much, said[at + 1 :])
    match said:
        case ["half", hour] if _SMALL.get(hour, 13) <= 12:  # "half six" is half past six
            return _beside(30, [hour])
        case [one] if ":" in one:
            first, last = one.split(":")
            return _sensible(int(first), int(last))
        case [one] if one.isdecimal() and len(one) in (3, 4):
            return _sensible(int(one[:-2]), int(one[-2:]))
        case [one]:
            return _sensible(whole([one]), 0)
        case [first, "oh", last] if last in ONES:
            return _sensible(whole([first]), _SMALL[last])
        case [first, "hundred"]:  # eighteen hundred
            return _sensible(whole([first]), 0)
        case [first, last]:
            return _sensible(whole([first]), whole([last]))
    return None


def _beside(minutes: int, hour_words: list[str]) -> tuple[int | None, float] | None:
    """Minutes past (or, negative, to) an hour that may be left out. "Ten to one" is 12:50, said with the hour that follows."""
    if not hour_words:
        return None, minutes
    hour = whole(hour_words)
    if hour is None or not 0 <= hour < 24:
        return None
    if minutes >= 0:
        return hour, minutes
    return (hour - 1 if hour > 12 else (hour - 1) % 12 or 12), 60 + minutes


def _sensible(hour: int | None, minutes: int | None) -> tuple[int | None, float] | None:
    return (hour, minutes) if hour is not None and minutes is not None and 0 <= hour < 24 and 0 <= minutes < 60 else None


def litres(words: Sequence[str]) -> float | None:
    """A volume, l.

    >>> [round(litres(said.split()), 4) for said in ("a litre", "two thirds of a cup", "half a pint", "two quarts", "a litre and a half")]
    [1.0, 0.1577, 0.2366, 1.8927, 1.5]
    """
    return _measure(words, _LITRES)


def kilograms(words: Sequence[str]) -> float | None:
    """A mass, kg: "half a pound", "four hundred grams"."""
    return _measure(words, _KILOGRAMS)


def metres(words: Sequence[str]) -> float | None:
    """A length, m: "ten inches", "twenty-six centimetres"."""
    return _measure(words, _METRES)


def watts(words: Sequence[str]) -> float | None:
    """A heating power, W: "fifteen hundred watts", "two kilowatts", "twelve thousand btu" (an hour)."""
    said = list(words[:-2]) if list(words[-2:]) in (["an", "hour"], ["per", "hour"]) else words
    return _measure(said, _WATTS)


def _measure(words: Sequence[str], units: Mapping[str, float]) -> float | None:
    for at, word in enumerate(words):
        unit = units.get(word) or units.get(word.removesuffix("s")) or units.get(word.removesuffix("es"))
        if unit is not None:
            # "a litre and a half" is "a and a half" litres
            value = number([*words[:at], *words[at + 1 :]])
            return None if value is None else value * unit
    return None
