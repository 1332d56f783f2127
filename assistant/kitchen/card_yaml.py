"""The text of a card as plain values with line numbers: YAML 1.2 of which only mappings, lists and words are used.

Every scalar stays the text it was written as (so that "no", "1:30" or "0x" mean what a cook reads), and the line of every key is kept.
Whatever is wrong becomes a `Mistake`, never another exception: one when the text is no YAML at all, all of them otherwise.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from ruamel.yaml import YAML
from ruamel.yaml.error import MarkedYAMLError
from ruamel.yaml.nodes import MappingNode, Node, ScalarNode, SequenceNode

from assistant.kitchen.card_text import CardPath, CardText, Mistake


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


def _whole(text: str) -> str:
    """The text with characters that JSON escapes as two halves put together; of half a one the mark for what cannot be read."""
    return str(text).encode("utf-16", "surrogatepass").decode("utf-16", "replace")


def _value(node: Node, path: CardPath, card: CardText, seen: set[int]) -> Any:
    card.lines.setdefault(path, node.start_mark.line + 1)
    if id(node) in seen:
        card.fault(path, "References with '&' and '*' are not read; write the text out again.")
        return None
    seen.add(id(node))
    if isinstance(node, ScalarNode):
        empty = (node.style is None and node.value in ("", "~", "null")) or not node.value.strip()
        return None if empty else _whole(node.value)
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
        key = _whole(key_node.value)
        here = (*path, key)
        if key in found:
            words = f"'{' '.join(key.split())}' stands here and on line {card.line(here)}; give one of them another name."
            card.mistakes.append(Mistake(card.file, key_node.start_mark.line + 1, words))
            continue
        card.lines[here] = key_node.start_mark.line + 1
        found[key] = _value(value_node, here, card, seen)
    return found
