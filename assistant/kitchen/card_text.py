"""The text of a card as plain values with line numbers: YAML 1.2 of which only mappings, lists and words are used.

Every scalar stays the text it was written as (so that "no", "1:30" or "0x" mean what a cook reads), and the line of every key is kept.
Whatever is wrong becomes a `Mistake`, never another exception: one when the text is no YAML at all, all of them otherwise.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from ruamel.yaml import YAML
from ruamel.yaml.error import MarkedYAMLError
from ruamel.yaml.nodes import MappingNode, Node, ScalarNode, SequenceNode

CardPath = tuple[str | int, ...]
"""Where on a card: the keys and numbers that lead there."""


@dataclass(frozen=True, slots=True, order=True)
class Mistake:
    """One fault of a card: file, line (from 1), and a sentence with the way out."""

    file: str
    line: int
    words: str

    def __str__(self) -> str:
        return f"{self.file}, line {self.line}: {self.words}"


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


def load(text: str, file: str) -> CardText:
    """Read the text of a card; `file` is only for the mistakes. Raises MealCardError when it is no YAML."""
    card = CardText(Path(file).name)
    try:
        node = YAML(typ="safe", pure=True).compose(text)
    except MarkedYAMLError as e:
        bracket = "flow" in str(e.context)
        mark = (e.context_mark if bracket else None) or e.problem_mark or e.context_mark
        words = "A bracket opens here and does not close rightly; close it, or put the text in quotes." if bracket else _plain_words(str(e.problem))
        card.mistakes.append(Mistake(card.file, mark.line + 1 if mark else 1, words))
        raise card.stop() from None
    except Exception as e:  # odd bytes, bottomless nesting: whatever the parser raises is the card's fault, and said as one
        card.fault((), f"This cannot be read as a card ({type(e).__name__}); compare it with the card that 'meals new' writes.")
        raise card.stop() from None
    try:
        card.data = None if node is None else _value(node, (), card, set())
    except RecursionError:
        card.fault((), "This is nested too deep for a card; compare it with the card that 'meals new' writes.")
        raise card.stop() from None
    return card


def _plain_words(problem: str) -> str:
    if "\\t" in problem or "tab" in problem:
        return "A tab stands where only spaces may; replace it with spaces."
    if "mapping values" in problem:
        return "A colon is out of place; line this up with the lines above, or put text with a second colon in quotes."
    return f"The indentation or punctuation is off here ({problem.splitlines()[0]}); compare it with the lines above."


def _value(node: Node, path: CardPath, card: CardText, seen: set[int]) -> Any:
    card.lines.setdefault(path, node.start_mark.line + 1)
    if id(node) in seen:
        card.fault(path, "References with '&' and '*' are not read; write the text out again.")
        return None
    seen.add(id(node))
    if isinstance(node, ScalarNode):
        empty = (node.style is None and node.value in ("", "~", "null")) or not node.value.strip()
        return None if empty else str(node.value)
    if isinstance(node, SequenceNode):
        return [_value(item, (*path, i), card, seen) for i, item in enumerate(node.value)]
    if not isinstance(node, MappingNode):
        return None
    found: dict[str, Any] = {}
    for key_node, value_node in node.value:
        if not isinstance(key_node, ScalarNode):
            card.lines.setdefault((*path, "?"), key_node.start_mark.line + 1)
            card.fault((*path, "?"), "A name must be plain words, not a list.")
            continue
        key = str(key_node.value)
        here = (*path, key)
        if key in found:
            words = f"'{' '.join(key.split())}' stands here and on line {card.line(here)}; give one of them another name."
            card.mistakes.append(Mistake(card.file, key_node.start_mark.line + 1, words))
            continue
        card.lines[here] = key_node.start_mark.line + 1
        found[key] = _value(value_node, here, card, seen)
    return found
