"""What the ledger wants said: early enough to act, what to do, and when the time is over "discard", plainly. Pure.

A notice stays due until its cause ends; the session says each (item, what, severity) once, and again when the severity rises.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from enum import IntEnum

from assistant.kitchen.food_clocks import (
    COLD_C,
    COOL_FIRST_C,
    COOLING,
    HOLDING,
    HOT_C,
    HOUR,
    KINDS,
    TIME_CONTROL,
    Place,
    counter_limit,
    counter_source,
    span_words,
)
from assistant.kitchen.ledger import OVER_WORDS, Clock, Item, Ledger, advanced, clocks
from assistant.kitchen.scripts import AFTER_FIRE
from assistant.speaking.prompts import degrees, upper


class Severity(IntEnum):
    """Lower is more urgent."""

    HIGH = 1  # over: discard
    MEDIUM = 2  # act soon
    LOW = 3  # a reading is wanted


@dataclass(frozen=True, slots=True)
class Notice:
    """Something to say about a thing. what: counter, hot, cooling, fridge, smoke; by_s: when it is over, or was; then_do: what to do; say: at most 12
    words, 8 when HIGH; source: the rule."""

    item: str
    what: str
    severity: Severity
    by_s: float
    then_do: str
    say: str
    source: str


def due(ledger: Ledger, t: float, units: str = "F") -> tuple[Notice, ...]:
    """What is to be said at this moment, the most urgent first.

    >>> from assistant.kitchen.food_clocks import Kind
    >>> from assistant.kitchen.ledger import Made, apply
    >>> ledger, _ = apply(Ledger(), Made(0.0, "chips", "blanched potatoes", Kind.BLANCHED, Place.COUNTER))
    >>> due(ledger, 5400.0)[0].say, due(ledger, 7200.0)[0].say
    ('Blanched potatoes out one hour thirty: fridge or fry within thirty minutes.', 'Discard the blanched potatoes: out too long.')
    """
    found = [n for i in ledger.open() for n in _notices(i, ledger.room_c, max(t, ledger.at_s), units)]
    return tuple(sorted(found, key=lambda n: (n.severity, n.by_s, n.item)))


def standing(ledger: Ledger, found: Iterable[str], t: float, units: str = "F") -> tuple[str, ...]:
    """How it is with the things of these ids that are asked about, the most urgent first: what is to be done with each, and within which time. At
    most 12 words each.

    >>> from assistant.kitchen.food_clocks import Kind
    >>> from assistant.kitchen.ledger import Made, apply
    >>> ledger, _ = apply(Ledger(), Made(0.0, "chips", "blanched potatoes", Kind.BLANCHED, Place.COUNTER))
    >>> standing(ledger, ["chips"], 1800.0)
    ('Blanched potatoes out thirty minutes: fridge or fry within one hour thirty.',)
    """
    ids = frozenset(found)
    return tuple(words for _, words in sorted(_standing(i, ledger.room_c, t, units) for i in ledger.open() if i.id in ids))


def _standing(item: Item, room_c: float, t: float, units: str) -> tuple[float, str]:
    """Until when it may stay as it is (s), and the words for it."""
    now = advanced(item, t, room_c)
    if now.over:
        return -math.inf, _discard(item.name, now.over)
    clock = min((c for c in clocks(item, room_c) if c.over_s < math.inf), key=lambda c: c.over_s, default=None)
    if clock is None or clock.what == "fridge":
        left = f"{_left((1.0 - now.used) * counter_limit(item.kind, room_c))} once out"
        cold = "" if clock is None else f", {_left(clock.over_s - t)} kept cold"
        return (math.inf if clock is None else clock.over_s), _in_one_breath(item.name, f": {left}{cold}.")
    return clock.over_s, _in_one_breath(now.name, _warning(now, clock, t, units)[0].removeprefix(upper(now.name)))


def _in_one_breath(name: str, rest: str) -> str:
    """A name and what is said of it, in at most 12 words: the first words of a long name are left out."""
    words = name.split()
    while len(words) > 1 and len(f"{' '.join(words)}{rest}".split()) > 12:
        del words[0]
    return f"{upper(' '.join(words))}{rest}"


def _notices(item: Item, room_c: float, t: float, units: str) -> list[Notice]:
    now = advanced(item, t, room_c)
    if now.over and now.over_s is not None:
        what = next(k for k, v in OVER_WORDS.items() if v == now.over)
        return [Notice(item.id, what, Severity.HIGH, now.over_s, "discard", _discard(item.name, now.over), _source(item, what, room_c))]
    found = []
    for clock in clocks(item, room_c):
        if t >= clock.warn_s:
            say, then_do = _warning(now, clock, t, units)
            found.append(Notice(item.id, clock.what, Severity.MEDIUM, clock.over_s, then_do, say, clock.source))
        elif t >= clock.ask_s:
            by = clock.over_s if clock.what == "hot" else clock.ask_s + 1800.0
            found.append(Notice(item.id, clock.what, Severity.LOW, by, "read it", _ask(now, clock, by - t, units), clock.source))
    return found


def _source(item: Item, what: str, room_c: float) -> str:
    match what:
        case "counter":
            return counter_source(item.kind, room_c)
        case "hot":
            return f"{HOLDING}; {TIME_CONTROL}"
        case "cooling":
            return COOLING
        case "smoke":
            return AFTER_FIRE
    return KINDS[item.kind].source


def _discard(name: str, why: str) -> str:
    words = f"Discard the {name}: {why}."
    return words if len(words.split()) <= 8 else f"Discard: {' '.join(name.split()[-4:])}, {why}."


def _left(seconds: float) -> str:
    """Time left in words, rounded down, so that nobody is given a minute too much."""
    step = HOUR if seconds >= 3 * HOUR else 300.0 if seconds >= 600.0 else 60.0
    return span_words(seconds // step * step) if seconds >= 60.0 else "a minute"


def _warning(now: Item, clock: Clock, t: float, units: str) -> tuple[str, str]:
    left = _left(clock.over_s - t)
    name = upper(now.name)
    match clock.what:
        case "counter":
            then_do = "reheat or eat" if now.place is Place.HOT else KINDS[now.kind].then_do
            words = f"{name} out {span_words(now.out_s)}: {then_do} within {left}."
            return (words if len(words.split()) <= 12 else f"{name}: {then_do} within {left}."), then_do
        case "hot":
            return f"{name}: eat, or read it, within {left}.", "read it or eat"
        case "cooling":
            return f"{name}: ice bath, under {degrees(COOL_FIRST_C, units)} within {left}.", "ice bath"
    return f"{name}: eat or discard within {left}.", "eat or discard"


def _ask(now: Item, clock: Clock, left: float, units: str) -> str:
    if clock.what == "hot":
        return f"Read the {now.name}: hot holding wants {degrees(HOT_C, units)}."
    wants = degrees(COLD_C if now.half else COOL_FIRST_C, units)
    return f"Read the {now.name}: under {wants} within {_left(left)}?" if left >= 60.0 else f"Read the {now.name}: under {wants}?"
