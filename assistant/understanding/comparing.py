"""How sentences that the recogniser hesitates between differ: whether they mean the same, and what a mistake between them would do. Pure, but for
asking what is going on.

Rules:
- Sentences with one meaning are one; to a question about a temperature "three forty" and "340" are.
- "Turn" and "turned the burner off" sound alike: of an order for less heat and the report of it the order is taken, which is asked about, unless the
  report was asked for. Of more heat it is taken in a toss only.
- Burner or oven turned otherwise is the opposite: a flame is turned at once. So is yes of no: "that's right" sounds like "that's wrong".
- Another figure is the same intent with another temperature or time, whatever it is of, where oil, core, a clock or dinner goes by it. Degrees count
  as they are said, "180" and "180 Celsius" are one figure: which was meant is `expecting`'s to weigh. Answers are not among them: they were asked
  for, and are said back.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Hashable, Iterable
from dataclasses import replace
from functools import lru_cache

from assistant.kitchen.meal import Name
from assistant.session.commands import DANGER, Command, Intent
from assistant.understanding.expecting import Moment, expected
from assistant.understanding.interpreter import Interpreter

LESS_HEAT = frozenset({"off", "down"})
ALIKE = 4.0
"""Nats: an order to turn a burner off or down so little behind the report of it sounds like it, and is asked about. Tuning voices' orders lie up to
2.8 behind; a "turned" whose d is not spoken passes for an order too, where one is heard the order lies 5 to 9 behind."""
TOSS = 0.5
"""Nats: the same for more heat, where neither mistake does harm and an order is only handed back: a toss between the two goes to the order."""

_TEMPERATURES = frozenset({Intent.OIL_TEMP, Intent.CORE})
_TURNED = frozenset({Intent.BURNER, Intent.TURN_BURNER, Intent.OVEN})
_FIGURES = frozenset({Intent.OIL_TEMP, Intent.CORE, Intent.SET_CLOCK, Intent.MORE_TIME, Intent.SERVE_AT})


class Comparing:
    """Sentences of one session, compared by what they mean now."""

    def __init__(self, interpreter: Interpreter, names: Iterable[Name], moment: Callable[[], Moment]) -> None:
        """names: of this meal (`kitchen.meal.names`); moment: what is going on when it is asked."""
        self._celsius = interpreter.units == "C"
        self._said = {name.id: frozenset(word for way in name.said for word in way.split()) for name in names}
        self._moment = moment
        self._commands = lru_cache(maxsize=1_000)(lambda words: interpreter.interpret(words).meanings())

    def meaning(self, words: str) -> Hashable:
        """Equal for sentences that mean the same; None for what means nothing."""
        if not _TEMPERATURES.isdisjoint(self._moment().accepts):
            read = next((c.celsius for c in self._commands(words) if c.intent is Intent.ANSWER and c.celsius is not None), None)
            if read is not None:
                return round(read, 2)
        return tuple(replace(c, words="") for c in self._commands(words)) or None

    def danger(self, words: str) -> bool:
        """Whether a danger is called out."""
        return any(c.intent in DANGER and c.intent is not Intent.FALSE_ALARM for c in self._commands(words))

    def named(self, words: str) -> frozenset[str]:
        """The words of these that name a dish."""
        return frozenset[str]().union(*(self._said.get(c.item or "", ()) for c in self._commands(words)))

    def likely(self, words: str) -> float:
        """Nats by which they are likely now."""
        return expected(self._commands(words), self._moment())

    def opposite(self, words: str, others: str) -> bool:
        """Whether these turn burner or oven, otherwise than those, or are the yes to their no."""
        if {self._answer(words), self._answer(others)} == {Intent.YES, Intent.NO}:
            return True
        these, those = ({which[:2] for which in self._turned(said, _TURNED | {Intent.SWITCHED})} for said in (words, others))
        return bool(these) and bool(those) and these.isdisjoint(those)

    def other_figure(self, words: str, others: str) -> bool:
        """Whether those are the same with another temperature or time."""
        these, those = self._figures(words), self._figures(others)
        both = these.keys() & those.keys()
        return bool(both) and all(these[intent].isdisjoint(those[intent]) for intent in both)

    def order(self, words: str, others: str) -> float:
        """Nats by which these must lead those, where they report what those order; else 0."""
        if not _TURNED.isdisjoint(self._moment().accepts):
            return 0.0  # it was asked about: a report is the answer
        both = self._turned(words, _TURNED - {Intent.TURN_BURNER}) & self._turned(others, {Intent.TURN_BURNER})
        return 0.0 if not both else ALIKE if any(which[0] in LESS_HEAT for which in both) else TOSS

    def _answer(self, words: str) -> Intent | None:
        """Yes or no, if it is either."""
        return next((c.intent for c in self._commands(words) if c.intent in (Intent.YES, Intent.NO)), None)

    def _turned(self, words: str, intents: Collection[Intent]) -> set[tuple[str | None, bool, str | None]]:
        """How, whether the oven, and which pot."""
        return {(c.level, c.intent is Intent.OVEN or c.place == "oven", c.item) for c in self._commands(words) if c.intent in intents}

    def _figures(self, words: str) -> dict[Intent, set[float]]:
        """Of each command with a figure, the seconds or the degrees as they are said."""
        found: dict[Intent, set[float]] = {}
        for command in self._commands(words):
            figure = self._figure(command)
            if command.intent in _FIGURES and figure is not None:
                found.setdefault(command.intent, set()).add(round(figure, 1))
        return found

    def _figure(self, command: Command) -> float | None:
        if command.celsius is None:
            return command.day_s if command.seconds is None else command.seconds
        said_c = self._celsius if command.unit is None else command.unit == "C"
        return command.celsius if said_c else 1.8 * command.celsius + 32
