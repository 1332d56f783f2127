"""A card as text with line numbers, and what is wrong with it: a `Mistake` each, all of them in one `MealCardError`."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

CardPath = tuple[str | int, ...]
"""Where on a card: the keys and numbers that lead there."""


@dataclass(frozen=True, slots=True, order=True)
class Mistake:
    """One fault of a card: file, line (from 1; 0 when it is about no line), and a sentence with the way out."""

    file: str
    line: int
    words: str

    def __str__(self) -> str:
        return f"{self.file}, line {self.line}: {self.words}" if self.line else self.words


class MealCardError(Exception):
    """A card that cannot be cooked from. mistakes: every one that was found, in the order of the lines."""

    def __init__(self, mistakes: tuple[Mistake, ...]) -> None:
        self.mistakes = tuple(sorted(set(mistakes)))
        super().__init__("\n".join(str(m) for m in self.mistakes))


@dataclass(slots=True)
class CardText:
    """A card as read: data (dicts, lists, str, None), the line of each path, and the mistakes found on the way."""

    file: str
    data: Any = None
    lines: dict[CardPath, int] = field(default_factory=dict)
    mistakes: list[Mistake] = field(default_factory=list)

    def line(self, path: CardPath) -> int:
        """The line of a path, or of the nearest thing around it that has one."""
        while path and path not in self.lines:
            path = path[:-1]
        return self.lines.get(path, 1)

    def fault(self, path: CardPath, words: str) -> None:
        """Note a mistake at this place of the card."""
        self.mistakes.append(Mistake(self.file, self.line(path), " ".join(words.split())))

    def stop(self) -> MealCardError:
        """The error that carries all mistakes."""
        return MealCardError(tuple(self.mistakes))
