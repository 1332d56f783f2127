"""Near sentences: for slips of the typing hand, and for "did you mean". Nothing found here is ever acted on when it was heard.

The automaton is searched, not a list of sentences: a cheapest-first walk over (state, how many words are used), where a word may be exchanged
for a grammar word that differs in a few letters, and, for a guess only, one may be left out or put in. `rapidfuzz` loads with the first slip.
"""

from __future__ import annotations

import heapq
import itertools
from collections import Counter
from collections.abc import Callable, Iterable, Sequence

from assistant.understanding.automaton import Automaton

_WORD_COST = 3  # a word left out or put in, counted in letters
_MOST_STEPS = 4000
_SAME_PLACE = 3  # how many ways to one place are followed


def corrections(automaton: Automaton, vocabulary: frozenset[str], words: Sequence[str]) -> list[list[str]]:
    """The sentences nearest to a typed one: one slip in a word of three letters or more, two from seven letters, two in all.

    A word that the grammar knows is never exchanged, nor one with figures in it. Several: all equally near."""

    def allowed(word: str) -> int:
        return 0 if word in vocabulary or any(c.isdigit() for c in word) or len(word) < 3 else 1 if len(word) < 7 else 2

    return _search(automaton, vocabulary, words, allowed, most=2, reshape=False)


def nearest_sentence(automaton: Automaton, vocabulary: frozenset[str], words: Sequence[str]) -> list[str] | None:
    """The nearest sentence to ask about, or None when none is near: about a quarter of the letters may differ."""
    letters = sum(map(len, words))
    if not 4 <= letters <= 80:
        return None

    def allowed(word: str) -> int:
        return 0 if any(c.isdigit() for c in word) else max(1, len(word) // 2)

    found = _search(automaton, vocabulary, words, allowed, most=min(4, max(1, letters // 4)), reshape=True)
    return found[0] if found else None


def nearest_name(said: str, names: Iterable[str]) -> str | None:
    """The name of this meal that is most like `said`; None when none is much like it."""
    from rapidfuzz import fuzz, process

    found = process.extractOne(said, list(names), scorer=fuzz.WRatio, score_cutoff=75)
    return found[0] if found else None


def _search(
    automaton: Automaton, vocabulary: frozenset[str], words: Sequence[str], allowed: Callable[[str], int], *, most: int, reshape: bool
) -> list[list[str]]:
    """All sentences of least cost, at most `most` letters away. reshape: words may be left out and put in too."""
    choices = [[(0, word), *_alike(word, vocabulary, allowed(word))] for word in words]
    queue: list[tuple[int, int, int, int, tuple[str, ...]]] = [(0, 0, 0, automaton.start, ())]  # of equal costs the longest way first
    seen: Counter[tuple[int, int]] = Counter()
    found: list[list[str]] = []
    best = most
    order = itertools.count()
    for _ in range(_MOST_STEPS):
        if not queue or queue[0][0] > best:
            break
        cost, minus_used, _, state, path = heapq.heappop(queue)
        used = -minus_used
        seen[used, state] += 1
        if seen[used, state] > _SAME_PLACE:
            continue
        if used == len(words) and automaton.final(state):
            best = cost
            found.append(list(path))
        if used < len(words):
            for extra, word in choices[used]:
                target = automaton.step(state, word) if cost + extra <= best and not (reshape and automaton.free(state)) else None
                if target is not None:
                    heapq.heappush(queue, (cost + extra, -used - 1, next(order), target, (*path, word)))
        if reshape and cost + _WORD_COST <= best:
            if used < len(words):
                heapq.heappush(queue, (cost + _WORD_COST, -used - 1, next(order), state, path))
            for word in automaton.spoken(state):
                target = automaton.step(state, word)
                if target is not None and (automaton.step(target, words[used]) is not None if used < len(words) else automaton.final(target)):
                    heapq.heappush(queue, (cost + _WORD_COST, -used, next(order), target, (*path, word)))
    return found


def _alike(word: str, vocabulary: frozenset[str], slips: int) -> list[tuple[int, str]]:
    """Grammar words at most `slips` slips away (a letter wrong, missing, too much, or two exchanged), with how many."""
    if slips == 0:
        return []
    from rapidfuzz import process
    from rapidfuzz.distance import OSA

    near = process.extract(word, vocabulary, scorer=OSA.distance, score_cutoff=slips, limit=None)
    return sorted((int(cost), other) for other, cost, _ in near if cost > 0 and not other[0].isdigit())
