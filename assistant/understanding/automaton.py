"""The grammar as a finite automaton over words: what can be said next, and what a whole sentence means.

On the path: `jsgf.Book` -> `Automaton`, used by the interpreter (words -> tags) and by the recogniser that decodes inside the grammar
(state -> words that may come next).

How it is kept small: each rule becomes one little network, however often it is used; a place in the grammar is a node plus the stack of rules to
return to. Sentences are never listed. A *state* is the set of places that the same words can lead to (subset construction), made when it is
first asked for and numbered from 0. So building costs the size of the grammar files, and memory what has been visited.

**Words.** A word is lower case, as it is spoken: `what's`, `twenty-five` (one word: compounds of tens and ones carry their hyphen), `three`,
`forty`. Wherever a number may be spoken its written forms may stand too, as words of their own: `340`, `7.5`, `7:30`. They come from *word
classes* (an arc for many words), so `arcs` lists them beside the spoken ones and whatever a recogniser puts together from `arcs` parses through
`parse`. A class lists the words worth decoding (whole numbers 1 to 600) and accepts more when parsing ("900", to be refused by value, not as
unknown). Raw text (capitals, commas, degree signs, split hyphens) is brought to this form by `numbers.normal`.

**Free words** (the text of a note) are not in `arcs`: `free(state)` says that any word may follow here, and `step` takes any.

**Tags** are spans: a tag of the grammar comes out with the range of words that its item covered. Alternatives keep the order of the file, so
of several readings of one sentence the first written comes first. Weights are read and play no part here: they say what is likely, not what
is meant.

**Endpoints.** `can_follow(words)`: a sentence that can go on. Words under the tag `courtesy` ("please") do not count as going on.

Recursive rules are refused (`GrammarError`): say repetition with `*` or `+`.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from threading import Lock
from typing import TypeVar

from assistant.understanding import jsgf

COURTESY = "courtesy"
"""Tag on words that may trail a sentence and change nothing; endpointing does not wait for them."""


@dataclass(frozen=True, slots=True)
class WordClass:
    """Many words on one arc. words: those worth decoding, in order; pattern: which further words parsing accepts (None: no others)."""

    name: str
    words: tuple[str, ...] = ()
    pattern: re.Pattern[str] | None = None

    def __contains__(self, word: str) -> bool:
        return word in self.words if self.pattern is None else _match(self.pattern, word)

    def __hash__(self) -> int:
        return hash(self.name)


@lru_cache(maxsize=50_000)
def _match(pattern: re.Pattern[str], word: str) -> bool:
    return pattern.fullmatch(word) is not None


FREE = WordClass("free", (), re.compile(r".+"))
"""Any single word; listed by no arc."""

Fill = Mapping[str, jsgf.Expansion | WordClass]
"""Rules that are not in the files: names of this meal, numbers of this language."""


@dataclass(frozen=True, slots=True)
class Span:
    """A tag and the words it covers: words[start:end] of the sentence."""

    tag: str
    start: int
    end: int


# what happens between two words, in order: a tagged item begins ("+tag") or ends ("-tag")
_Marks = tuple[str, ...]
_COURTESY_BEGINS = f"+{COURTESY}"
_Label = str | WordClass
_Place = tuple[int, int]  # node, number of the return stack
_Move = tuple[_Label, _Marks, _Place]
_K = TypeVar("_K", bound=tuple[object, ...])
_Ways = tuple[dict[str, list[_Place]], dict[WordClass, list[_Place]]]


@dataclass(slots=True)
class _Node:
    """Ways on from one node, in the order of the file. A jump says nothing: it passes freely (None), marks a tag (str), or calls a rule (its first
    node) and goes on at the target when that is through."""

    words: list[tuple[_Label, int]]
    jumps: list[tuple[int | str | None, int]]


class _Networks:
    """The grammar's rules as networks of nodes. Grows while `rule` is asked for; nothing here depends on what was said."""

    def __init__(self, book: jsgf.Book, fill: Fill) -> None:
        self.book, self.fill = book, fill
        self.nodes: list[_Node] = []
        self.ends: set[int] = set()  # last nodes of rules
        self._rules: dict[tuple[str, str], int] = {}
        self._belongs: dict[str, frozenset[str]] = {}
        self._open: list[tuple[str, str]] = []

    def belongs(self, word: str) -> frozenset[str]:
        """The names of all word classes that this word is in."""
        found = self._belongs.get(word)
        if found is None:
            classes = [filled for filled in self.fill.values() if isinstance(filled, WordClass)]
            found = self._belongs[word] = frozenset(label.name for label in classes if word in label)
        return found

    def node(self) -> int:
        self.nodes.append(_Node([], []))
        return len(self.nodes) - 1

    def rule(self, grammar: jsgf.Grammar, ref: jsgf.Ref) -> int | None:
        """First node of the network of the rule that `ref` names inside `grammar`; None for <VOID>."""
        if ref.name == "VOID":
            return None
        found = self.book.resolve(grammar, ref.name)
        if found is not None:
            owner, rule = found
            key, body = (owner.name, rule.name), rule.body
        elif ref.name in self.fill:
            filled = self.fill[ref.name]
            owner, key = grammar, ("", ref.name)
            if key in self._rules:
                return self._rules[key]
            if isinstance(filled, WordClass):
                self._rules[key] = first = self.node()
                end = self.node()
                self.nodes[first].words.append((filled, end))
                self.ends.add(end)
                return first
            body = filled
        else:
            raise self.book.missing(grammar, ref)
        if key in self._open:
            cycle = " -> ".join(f"<{name}>" for _, name in [*self._open[self._open.index(key) :], key])
            raise jsgf.GrammarError(grammar.file, ref.line, f"{cycle} goes round in a circle; say repetition with * or +")
        if key not in self._rules:
            self._open.append(key)
            first, end = self.node(), self.node()
            self.ends.add(end)
            self.expand(owner, body, first, end)
            self._rules[key] = first
            self._open.pop()
        return self._rules[key]

    def expand(self, grammar: jsgf.Grammar, item: jsgf.Expansion, first: int, last: int) -> None:
        """Lay `item` between two nodes."""
        nodes = self.nodes
        match item:
            case jsgf.Token(text):
                *head, tail = text.lower().split()
                for word in head:
                    first = self._word(first, word)
                nodes[first].words.append((tail, last))
            case jsgf.Ref(name):
                if name == "NULL":
                    nodes[first].jumps.append((None, last))
                elif (called := self.rule(grammar, item)) is not None:
                    nodes[first].jumps.append((called, last))
            case jsgf.Sequence(items):
                for part in items[:-1]:
                    middle = self.node()
                    self.expand(grammar, part, first, middle)
                    first = middle
                self.expand(grammar, items[-1], first, last)
            case jsgf.Alternatives(options):
                for option in options:
                    self._apart(grammar, option, first, last)
            case jsgf.Maybe(inner):
                self._apart(grammar, inner, first, last)
                nodes[first].jumps.append((None, last))
            case jsgf.Repeat(inner, at_least):
                before, after = self.node(), self.node()
                nodes[first].jumps.append((None, before))
                self._apart(grammar, inner, before, after)
                nodes[after].jumps += [(None, before), (None, last)]
                if at_least == 0:
                    nodes[first].jumps.append((None, last))
            case jsgf.Tagged(inner, tags):
                for tag in reversed(tags):
                    begun, ended = self.node(), self.node()
                    nodes[first].jumps.append((f"+{tag}", begun))
                    nodes[ended].jumps.append((f"-{tag}", last))
                    first, last = begun, ended
                self.expand(grammar, inner, first, last)

    def _word(self, first: int, word: str) -> int:
        after = self.node()
        self.nodes[first].words.append((word, after))
        return after

    def _apart(self, grammar: jsgf.Grammar, item: jsgf.Expansion, first: int, last: int) -> None:
        """As `expand`, but through a node of its own, so that the order of the file is kept among words and jumps."""
        if isinstance(item, jsgf.Token) and " " not in item.text:
            self.nodes[first].words.append((item.text.lower(), last))
            return
        inside = self.node()
        self.nodes[first].jumps.append((None, inside))
        self.expand(grammar, item, inside, last)


class Automaton:
    """All sentences of one rule of a grammar. See the module's docstring for what words, states and tags are."""

    start = 0

    def __init__(self, book: jsgf.Book, rule: str, fill: Fill | None = None) -> None:
        """rule: the root rule, by its name inside the book's root grammar; fill: rules that the files do not define."""
        self._net = _Networks(book, fill or {})
        first = self._net.rule(book.root, jsgf.Ref(rule, 1))
        if first is None:
            raise jsgf.GrammarError(book.root.file, 1, "<VOID> can never be said; name another root rule")
        self._lock = Lock()
        self._stacks: list[tuple[int, int]] = [(-1, -1)]  # (node to return to, stack below); 0 is the empty stack
        self._stack_numbers: dict[tuple[int, int], int] = {}
        self._moves: dict[_Place, tuple[_Move, ...]] = {}
        self._endings: dict[_Place, tuple[_Marks, ...]] = {}
        self._ways_known: dict[int, _Ways] = {}
        self._states: list[tuple[_Place, ...]] = [((first, 0),)]
        self._numbers: dict[tuple[_Place, ...], int] = {self._states[0]: 0}
        self._arcs: dict[int, dict[str, int]] = {}

    # -- for the recogniser -----------------------------------------------------------------------------------------------------------------

    def arcs(self, state: int) -> tuple[tuple[str, int], ...]:
        """Every word that may come next, with the state it leads to; each word once, no empty words. Free words are not listed."""
        return tuple(self._table(state).items())

    def step(self, state: int, word: str) -> int | None:
        """The state after `word`, also for free words and numbers beyond the listed ones; None when it cannot come next."""
        plain, classes = self._ways(state)
        places = [*plain.get(word, ()), *(place for label, targets in classes.items() if word in label for place in targets)]
        return self._number(places) if places else None

    def final(self, state: int) -> bool:
        """Whether the words so far are a whole sentence."""
        return any(self._ends(place) for place in self._states[state])

    def free(self, state: int) -> bool:
        """Whether any word at all may come next (the text of a note)."""
        return FREE in self._ways(state)[1]

    def goes_on(self, state: int) -> bool:
        """Whether anything but courtesy may come next."""
        return any(_COURTESY_BEGINS not in marks for place in self._states[state] for _, marks, _ in self._from(place))

    def spoken(self, state: int) -> tuple[str, ...]:
        """The words that may come next one by one, without those of word classes."""
        return tuple(self._ways(state)[0])

    def walk(self, words: Iterable[str]) -> int | None:
        """The state after these words from the start; None when no sentence begins so."""
        state: int | None = self.start
        for word in words:
            if state is None:
                return None
            state = self.step(state, word)
        return state

    def complete(self, words: Iterable[str]) -> bool:
        """Whether these words are a whole sentence."""
        state = self.walk(words)
        return state is not None and self.final(state)

    def can_follow(self, words: Iterable[str]) -> bool:
        """Whether a longer sentence begins with these words (courtesy aside)."""
        state = self.walk(words)
        return state is not None and self.goes_on(state)

    # -- for the interpreter ----------------------------------------------------------------------------------------------------------------

    def parse(self, words: list[str]) -> list[tuple[Span, ...]]:
        """Every reading of a whole sentence, as its tags in the order in which their items end; first written, first listed. Empty: no sentence."""
        frontier: dict[tuple[_Place, _History], None] = {(self._states[0][0], ()): None}
        for index, word in enumerate(words):
            ahead: dict[tuple[_Place, _History], None] = {}
            for place, history in frontier:
                for label, marks, target in self._from(place):
                    if _fits(label, word):
                        ahead[target, (*history, *((index, mark) for mark in marks))] = None
            frontier = ahead
        readings: dict[tuple[Span, ...], None] = {}
        for place, history in frontier:
            for marks in self._ends(place):
                readings[_spans((*history, *((len(words), mark) for mark in marks)))] = None
        return list(readings)

    def vocabulary(self) -> frozenset[str]:
        """Every word of the grammar, classes with their listed words."""
        words: set[str] = set()
        for node in self._net.nodes:
            for label, _ in node.words:
                words.update((label,) if isinstance(label, str) else label.words)
        return frozenset(words)

    def sentences(self, limit: int) -> Iterator[str]:
        """The first `limit` sentences, shortest first and then in the order of the file. Free words are left out."""
        level: list[tuple[str, int]] = [("", self.start)]
        while level and limit > 0:
            ahead: list[tuple[str, int]] = []
            for sentence, state in level:
                if sentence and self.final(state):
                    yield sentence
                    limit -= 1
                    if limit == 0:
                        return
                ahead += [(f"{sentence} {word}".strip(), target) for word, target in self.arcs(state)]
            level = ahead

    # -- making states as they are asked for ------------------------------------------------------------------------------------------------

    def _number(self, places: Iterable[_Place]) -> int:
        key = tuple(sorted(set(places)))
        number = self._numbers.get(key)
        return number if number is not None else self._enter(key, self._numbers, self._states)

    def _enter(self, key: _K, numbers: dict[_K, int], keys: list[_K]) -> int:
        """The number of a new state or stack. Locked, for several ears may walk one automaton; all else that is kept is the same whoever makes it."""
        with self._lock:
            if key not in numbers:
                keys.append(key)
                numbers[key] = len(keys) - 1
            return numbers[key]

    def _table(self, state: int) -> dict[str, int]:
        table = self._arcs.get(state)
        if table is None:
            plain, classes = self._ways(state)
            table = {word: target for word in plain if (target := self.step(state, word)) is not None}
            # words that belong to the same classes lead to the same state: one step for all of them
            targets: dict[frozenset[str], int | None] = {}
            for label in classes:
                for word in label.words:
                    if word not in table:
                        belongs = self._net.belongs(word)
                        if belongs not in targets:
                            targets[belongs] = self.step(state, word)
                        if (target := targets[belongs]) is not None:
                            table[word] = target
            self._arcs[state] = table
        return table

    def _ways(self, state: int) -> _Ways:
        """Where a state leads by single words, and where by classes."""
        ways = self._ways_known.get(state)
        if ways is None:
            plain: dict[str, list[_Place]] = {}
            classes: dict[WordClass, list[_Place]] = {}
            for place in self._states[state]:
                for label, _, target in self._from(place):
                    if isinstance(label, str):
                        plain.setdefault(label, []).append(target)
                    else:
                        classes.setdefault(label, []).append(target)
            ways = self._ways_known[state] = plain, classes
        return ways

    def _from(self, place: _Place) -> tuple[_Move, ...]:
        if place not in self._moves:
            self._close(place)
        return self._moves[place]

    def _ends(self, place: _Place) -> tuple[_Marks, ...]:
        if place not in self._endings:
            self._close(place)
        return self._endings[place]

    def _close(self, origin: _Place) -> None:
        """All moves from a place, through whatever is silent between words."""
        moves: dict[_Move, None] = {}
        endings: dict[_Marks, None] = {}
        nodes, ends, stacks = self._net.nodes, self._net.ends, self._stacks
        on_path: set[_Place] = set()

        def visit(place: _Place, marks: _Marks) -> None:
            if place in on_path:
                return
            on_path.add(place)
            node, stack = place
            for label, target in nodes[node].words:
                moves[label, marks, (target, stack)] = None
            for what, target in nodes[node].jumps:
                if what is None:
                    visit((target, stack), marks)
                elif isinstance(what, str):
                    visit((target, stack), (*marks, what))
                else:
                    visit((what, self._push(target, stack)), marks)
            if node in ends:
                if stack == 0:
                    endings[marks] = None
                else:
                    visit(stacks[stack], marks)
            on_path.discard(place)

        visit(origin, ())
        self._moves[origin], self._endings[origin] = tuple(moves), tuple(endings)

    def _push(self, back: int, stack: int) -> int:
        key = (back, stack)
        number = self._stack_numbers.get(key)
        return number if number is not None else self._enter(key, self._stack_numbers, self._stacks)


_History = tuple[tuple[int, str], ...]


def _fits(label: _Label, word: str) -> bool:
    return label == word if isinstance(label, str) else word in label


def _spans(history: _History) -> tuple[Span, ...]:
    """Pair the marks of one reading; they nest."""
    opened: list[int] = []
    spans: list[Span] = []
    for index, mark in history:
        if mark[0] == "+":
            opened.append(index)
        else:
            spans.append(Span(mark[1:], opened.pop(), index))
    return tuple(spans)
