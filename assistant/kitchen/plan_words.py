"""What a change of plan sounds like: one sentence of at most twelve words, the change first."""

from __future__ import annotations

from collections.abc import Callable

from assistant.kitchen.meal import Meal
from assistant.kitchen.plan_live import WORTH_S, Changes

_ONES = "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen quarter sixteen seventeen eighteen nineteen"
_WORDS = [*_ONES.split(), "twenty", *(f"twenty-{one}" for one in _ONES.split()[1:10]), "half"]
MOST_WORDS = 12


def spoken_clock(day_s: float, hour: bool = False) -> str:
    """A time of day as it is said, to the minute; without the hour where everybody knows it and the minutes are round.

    >>> spoken_clock(18 * 3600 + 600), spoken_clock(18 * 3600 + 45 * 60, hour=True), spoken_clock(19 * 3600), spoken_clock(18 * 3600 + 34 * 60)
    ('ten past', 'quarter to seven', "seven o'clock", 'six thirty-four')
    """
    minutes = round(day_s / 60)
    past, before = minutes % 60, 60 - minutes % 60
    this, following = minutes // 60 % 12 or 12, (minutes // 60 + 1) % 12 or 12
    if past == 0:
        return f"{_WORDS[this]} o'clock"
    if past % 5:
        return f"{_WORDS[this]} {_minutes(past)}"
    words, of = (f"{_WORDS[past]} past", this) if past <= 30 else (f"{_WORDS[before]} to", following)
    return f"{words} {_WORDS[of]}" if hour else words


def _minutes(n: int) -> str:
    if n < 10:
        return f"oh {_WORDS[n]}"
    return _WORDS[n] if n < 30 else f"{'thirty' if n < 40 else 'forty' if n < 50 else 'fifty'}-{_WORDS[n % 10]}"


def in_words(changes: Changes, meal: Meal, day_s: Callable[[float], float]) -> str:
    """The change in one sentence, "" when there is none. day_s: seconds after midnight of an instant on the plan's clock."""
    names = {d.id: d.name for d in meal.dishes}
    if abs(changes.serve_to_s - changes.serve_from_s) >= WORTH_S:
        we_eat = f"We eat at {spoken_clock(day_s(changes.serve_to_s), hour=True)}"
        return _short(f"{we_eat}, because of the {names.get(changes.reason, changes.reason)}." if changes.reason else f"{we_eat}.", f"{we_eat}.")
    if changes.gone:
        gone = _and([names[d] for d in changes.gone if d in names])
        return _short(f"No {gone} then; everything else as it was.", "That is left out; everything else as it was.")
    if not changes.moved:
        return ""
    first = changes.moved[0]
    at = spoken_clock(day_s(first.to_s))
    together = [m for m in changes.moved if spoken_clock(day_s(m.to_s)) == at]
    if len(together) == len(changes.moved):
        dishes = _and([names.get(m.dish, m.dish) for m in together])
        return _short(f"{_capital(dishes)} {_moves(dishes, len(together))} to {at}; everything else as it was.", f"Most of it moves to {at}.")
    later = sum(1 for m in changes.moved if m.to_s > m.from_s)
    word = "later" if later * 2 >= len(changes.moved) else "sooner"
    each = ", ".join(f"{names.get(m.dish, m.dish)} to {spoken_clock(day_s(m.to_s))}" for m in changes.moved)
    return _short(f"{_capital(each)}.", f"Most of it comes {word} now; ask what's next.")


def _moves(dishes: str, count: int) -> str:
    return "move" if count > 1 or dishes.endswith("s") else "moves"


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _and(names: list[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}" if names else ""


def _short(text: str, instead: str) -> str:
    return text if len(text.split()) <= MOST_WORDS else instead
