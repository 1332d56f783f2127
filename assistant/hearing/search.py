"""Beam search for the sentences of a word graph that a sound supports best.

Rules:
- The grammar is a *word graph* (start, arcs, final states). It is never written out as a list of sentences: from each state reached, the next words
  are laid out as a small trie of tokens, and kept. Memory grows with the graph, not with its sentences.
- A row of the beam is one sequence of tokens, with every place in the graph it may stand at; so ambiguous grammar costs no rows.
- A row only goes on to tokens the grammar allows there ("children only"), plus a comma between words; probabilities are those over the whole
  vocabulary.
- How likely a sentence is to *end* where it does is exact: log[P(EOS|y) + sum over t in . ? , ! of P(t|y) P(EOS|y,t)]. Without the last factor
  "what's next door" is heard as "what's next".
- From a *free* state any words may follow (the text of a note); such a beginning is handed back unfinished, for free decoding.

Path: sound -> **tokens** -> words -> Utterance.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from assistant.hearing.model import EOS, Moonshine, Sound, Tokenizer, Tokens

WIDTH = 16
PRUNE_NATS = 14.0
"""How far behind the best complete sentence a row is given up. At 11 as many commands are right, a little sooner, but fewer dangers: they are told
from sentences that lie so far behind."""
LAG_NATS = 10.0
"""How far behind the best row of as many tokens a row is given up."""
LONGEST = 32
"""Tokens of the longest sentence searched for."""
PLACES = 32
FAINT_COMMA = -4.0
"""A comma between words less likely than this (log) gets no row: what it would add to its sentence is under 2 %."""
FAINT_END = -5.0
"""A mark after the sentence less likely than this (log) is not looked at: the end it could add lies far under any that is believed."""

SPELLINGS = {
    "am": ("am", "a.m.", "AM"),
    "btu": ("BTU", "btu"),
    "celsius": ("Celsius", "celsius"),
    "fahrenheit": ("Fahrenheit", "fahrenheit"),
    "i": ("I",),
    "okay": ("okay", "OK"),
    "pm": ("p.m.", "PM", "pm"),
}
"""Words that the model does not write in lower case."""

Words = tuple[str, ...]


def written(word: str) -> tuple[str, ...]:
    """The ways the model writes one word of the grammar inside a sentence.

    >>> written("chips"), written("i'm"), written("okay")
    (('chips',), ("I'm",), ('okay', 'OK'))
    """
    return ("I" + word[1:],) if word.startswith("i'") else SPELLINGS.get(word, (word,))


class WordGraph(Protocol):
    """What the search needs of a grammar; `understanding.automaton.Automaton` is one. Words are single and lower case, numbers both as spoken and
    in figures ("three", "twenty-five", "320", "7:30"); free: any word may follow."""

    start: int

    def arcs(self, state: int) -> Iterable[tuple[str, int]]: ...

    def final(self, state: int) -> bool: ...

    def free(self, state: int) -> bool: ...


@dataclass(slots=True, eq=False)
class Node:
    """A point in the trie of tokens that may follow one state: further tokens, the words complete here with the state they lead to."""

    children: dict[int, Node] = field(default_factory=dict)
    ends: list[tuple[str, int]] = field(default_factory=list)
    free: bool = False


class Lexicon:
    """The tries of one word graph, laid out as states are reached and kept."""

    def __init__(self, graph: WordGraph, tokenizer: Tokenizer) -> None:
        self.graph = graph
        self._tokenizer = tokenizer
        self._roots: dict[tuple[int, bool], Node] = {}

    def root(self, state: int, *, opening: bool = False) -> Node:
        """The trie of what may follow `state`; opening: at the start of a sentence, where the first letter is a capital."""
        known = self._roots.get((state, opening))
        if known is None:
            known = self._roots[state, opening] = self._lay_out(state, opening)
        return known

    def _lay_out(self, state: int, opening: bool) -> Node:
        root = Node(free=self.graph.free(state))
        for word, after in self.graph.arcs(state):
            for form in written(word):
                self._put(root, form[:1].upper() + form[1:] if opening else form, word, after)
        return root

    def _put(self, root: Node, form: str, word: str, after: int) -> None:
        node = root
        for token in self._tokenizer.word(form):
            node = node.children.setdefault(token, Node())
        if all(end[1] != after for end in node.ends):
            node.ends.append((word, after))


@dataclass(frozen=True, slots=True)
class Heard:
    """One complete sentence. tokens as written; logs: log-probability of each; end: that it ends there; words: the sentences of the grammar
    written this way."""

    tokens: Tokens
    logs: tuple[float, ...]
    end: float
    words: tuple[Words, ...]

    @property
    def score(self) -> float:
        """Nats: the log-probability of the tokens and of the end."""
        return sum(self.logs) + self.end


@dataclass(frozen=True, slots=True)
class Opening:
    """A beginning after which any words may come."""

    tokens: Tokens
    logs: tuple[float, ...]
    words: Words


@dataclass(frozen=True, slots=True)
class Found:
    """complete: sentences, best first; openings: beginnings of free sentences, best first."""

    complete: tuple[Heard, ...]
    openings: tuple[Opening, ...] = ()


@dataclass(frozen=True, slots=True)
class _Place:
    """Where a row may stand: at this node, after these words; between: a word has just ended, so a comma may come."""

    node: Node
    words: Words
    between: bool = False


@dataclass(slots=True)
class _Row:
    tokens: Tokens
    logs: tuple[float, ...]
    score: float
    places: list[_Place]
    ends: tuple[Words, ...] = ()  # sentences complete at this row
    closes: int | None = None  # this row is that complete sentence with a mark after it


@dataclass(slots=True)
class _Complete:
    row: _Row
    end: float  # probability, summed up as its parts come in


class Search:
    """Finds sentences. One for each grammar; keeps its lexicon between sounds."""

    def __init__(self, model: Moonshine, graph: WordGraph, *, width: int = WIDTH, prune_nats: float = PRUNE_NATS, lag_nats: float = LAG_NATS) -> None:
        self._model = model
        self.lexicon = Lexicon(graph, model.tokenizer)
        self._width = width
        self._prune, self._lag = prune_nats, lag_nats
        self._marks = [model.tokenizer.id(t) for t in ".?,!"]
        self._comma = model.tokenizer.id(",")

    def find(self, sound: Sound) -> Found:
        """The best sentences for this sound: at most some dozens, those within the pruning distance of the best."""
        graph = self.lexicon.graph
        cache = self._model.start(sound)
        logp = sound.first[None, :]
        rows = [_Row((), (), 0.0, [_Place(self.lexicon.root(graph.start, opening=True), ())])]
        complete: list[_Complete] = []
        openings: list[Opening] = []
        best = -np.inf
        for _ in range(LONGEST):
            grown: list[tuple[float, int, int]] = []
            parts: list[tuple[int, int, int]] = []  # parent row, mark, complete sentence it closes
            for r, row in enumerate(rows):
                if row.ends:
                    done = _Complete(row, float(np.exp(logp[r, EOS])))
                    parts.extend((r, mark, len(complete)) for mark in self._marks if logp[r, mark] > FAINT_END)
                    complete.append(done)
                    best = max(best, row.score + _log(done.end))
                grown.extend((row.score + float(logp[r, t]), r, t) for t in self._children(row, logp[r]))
            floor = max(best - self._prune, max((g[0] for g in grown), default=-np.inf) - self._lag)
            grown = sorted((g for g in grown if g[0] > floor), reverse=True)[: self._width]
            parts = [p for p in parts if rows[p[0]].score + float(logp[p[0], p[1]]) > floor]
            if not grown and not parts:
                break
            rows, openings_here = self._next_rows(rows, grown, parts, logp)
            openings.extend(openings_here)
            parents = np.array([g[1] for g in grown] + [p[0] for p in parts], dtype=np.int64)
            tokens = np.array([[row.tokens[-1]] for row in rows], dtype=np.int64)
            out, cache = self._model.feed(sound, cache.rows(parents), tokens)
            logp = out[:, -1]
            for r, row in enumerate(rows):
                if row.closes is not None:
                    done = complete[row.closes]
                    done.end += float(np.exp(row.logs[-1] + logp[r, EOS]))
                    best = max(best, done.row.score + _log(done.end))
        heard = [Heard(c.row.tokens, c.row.logs, _log(c.end), c.row.ends) for c in complete]
        heard = [h for h in heard if h.score > best - self._prune]
        return Found(tuple(sorted(heard, key=lambda h: h.score, reverse=True)), tuple(sorted(openings, key=lambda o: sum(o.logs), reverse=True)))

    def _next_rows(
        self, rows: list[_Row], grown: list[tuple[float, int, int]], parts: list[tuple[int, int, int]], logp: NDArray[np.float32]
    ) -> tuple[list[_Row], list[Opening]]:
        after: list[_Row] = []
        openings: list[Opening] = []
        for score, r, token in grown:
            row = rows[r]
            places, ends = self._step(row, token)
            new = _Row((*row.tokens, token), (*row.logs, float(logp[r, token])), score, places, ends)
            after.append(new)
            openings.extend(Opening(new.tokens, new.logs, p.words) for p in places if p.node.free and p.between)
        for r, mark, which in parts:
            row = rows[r]
            after.append(_Row((*row.tokens, mark), (*row.logs, float(logp[r, mark])), -np.inf, [], closes=which))
        return after, openings

    def _step(self, row: _Row, token: int) -> tuple[list[_Place], tuple[Words, ...]]:
        """Where a row stands after one more token, and the sentences complete there."""
        places: list[_Place] = []
        ends: list[Words] = []
        for place in row.places:
            if token == self._comma and place.between:
                places.append(_Place(place.node, place.words))
            child = place.node.children.get(token)
            if child is None:
                continue
            if child.children:
                places.append(_Place(child, place.words))
            for word, state in child.ends:
                whole = (*place.words, word)
                if self.lexicon.graph.final(state):
                    ends.append(whole)
                root = self.lexicon.root(state)
                if root.children or root.free:
                    places.append(_Place(root, whole, between=True))
        return list(dict.fromkeys(places))[:PLACES], tuple(dict.fromkeys(ends))

    def _children(self, row: _Row, logp: NDArray[np.float32]) -> set[int]:
        tokens = {t for place in row.places for t in place.node.children}
        if logp[self._comma] > FAINT_COMMA and any(place.between for place in row.places):
            tokens.add(self._comma)
        return tokens


def _log(probability: float) -> float:
    return math.log(probability + 1e-30)
