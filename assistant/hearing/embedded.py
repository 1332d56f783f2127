"""The embedded recogniser: Moonshine tiny-en decoding *inside* the grammar, believed when the sound supports the words more than mere noise would.

Rules:
- Two encoders hear. Sentences of the grammar are always heard by the one that was trained further for rooms and noise: of clips in a quiet room
  that pass for spoken close it hears more than the original. The free words of a note that is spoken close and in quiet (`closeness`) the original
  hears: the other makes twice its mistakes there.
- S, the log-probability of a sentence given the sound, adds up every written form with one meaning. S_null is the same sentence's mean
  log-probability over a few clips of noise alone: what the language model would guess unheard. Sentences are ranked by S - 0.2 S_null + the prior:
  what is likely at this moment, at most 3 nats. Gates look at the sound alone, except the margin, which compares ranks.
- A closed grammar never rejects by itself: `belief` weighs the support each token has from the sound (pmi), the distance to the next *different*
  meaning (margin), that the sentence ends where the grammar ends it (end), and how likely its words are. A dish's name needs support of
  its own (slot): a dish that is not on the list is otherwise taken for one that is. What is not believed is handed on all the same, unsure, with the
  score that speaks most against it.
- A danger is believed on a weight of its own, also when a sentence that reports none is a little likelier: a miss costs more than a false alarm.
- What is likely now, which meanings are alike and which must not be mistaken for each other is `comparing`'s; nothing else of the evening is known
  here.
- The likelihood ratio against the free decode is no gate: in noise the free decode invents long text.
- Nothing raises on sound: silence, not-a-number, a click and an hour each give an unsure utterance.

Path: sound -> tokens -> words -> **Utterance**.
"""

from __future__ import annotations

import re
import time
from collections.abc import Callable, Collection, Hashable, Iterable
from dataclasses import dataclass, field, replace

import numpy as np

from assistant.hearing.belief import belief, danger_belief
from assistant.hearing.closeness import close
from assistant.hearing.model import LONGEST, SHORTEST, WORD_START, Moonshine, Sound, Tokens, seconds
from assistant.hearing.recogniser import RATE, Samples, usable
from assistant.hearing.search import Found, Heard, Opening, Search, WordGraph
from assistant.hearing.utterance import Scores, Utterance
from assistant.kitchen.meal import Name
from assistant.understanding.comparing import Comparing
from assistant.understanding.expecting import Moment
from assistant.understanding.interpreter import Interpreter

NAME_CREDIT = 7.5
"""Nats: the support of a name's word counts at most this far above its log-probability, so that a word under -6.5 never passes the gate of 1. Dishes
that are not on the list come out little likelier than in noise, or as rare words that noise hardly ever suggests."""

NULL_A_TOKEN = -3.3
"""Nats: what S_null comes to for each further token, within 1 nat of rank for most sentences; chooses which sentences are worth the real one."""

FAR = 10.0
"""Nats: where no danger is among them, what lies about so far behind the likeliest is not compared with it: a margin counts up to 8 (`belief`), and
the real S_null of every sentence compared takes time when it is new."""

Meaning = Callable[[str], Hashable]
"""Words -> what they mean, equal for sentences that mean the same; None when they mean nothing (then only the same words mean the same)."""

MOST_PRIOR = 3.0
"""Nats: a prior counts at most this much either way, so that a clear utterance always wins."""


@dataclass(frozen=True, slots=True)
class Gates:
    """When to believe what was heard; log odds and nats. Finer than 0.5 nats means nothing, because the model's own scores are no finer.

    - belief: least log odds of a sentence (`belief.belief`), a little above even;
    - danger: the same for a danger, which may be danger_behind nats less likely than the likeliest sentence; shouted: the same for one in the
      middle of speech that goes on, where six hours of talk full of the words of danger brought 31 of 34 alarms, most of them below this;
    - apart: least margin to burner or oven turned otherwise. "Turning the burner up" was taken for "off", and "heat off" for "up", oftener than
      anything else for anything else; figures are said back, but a flame is turned at once;
    - figure: the same to another temperature or time, where oil, core, a clock or dinner goes by it. Of 918 tuning commands with numbers that were
      believed it asks again after 15 of 903 right ones and 5 of 15 wrong ones; half of it, or twice as much, costs more for each mistake;
    - end, token, slot: whatever the sum says, least log-probability of ending, least of every token (a word that was never said, "minutes" after
      "a timer for six", or a beep taken for "fire", lies far below), least support of each word of a name;
    - opening: least log-probability of the words that lead a note ("note that"), all together: what follows them is held to no grammar, and talk
      begins alike ("nobody", "they"). Of 240 sentences of tuning talk in noise 5 became notes, of 220 by actors one, each of them under this; of 188
      notes from clean to 5 dB that were believed without it 180 lie above;
    - null_weight: share of S_null taken off for ranking; ranked: how many meanings are compared;
    - quietest: a peak below this is silence (full scale 1).
    """

    belief: float = 0.5
    danger: float = 0.5
    shouted: float = 2.0
    danger_behind: float = 2.0
    apart: float = 3.0
    figure: float = 1.5
    end: float = -2.0
    token: float = -8.0
    slot: float = 1.0
    opening: float = -5.5
    null_weight: float = 0.2
    ranked: int = 6
    quietest: float = 1e-3


@dataclass(slots=True)
class _Candidate:
    """All written forms with one meaning. score: S, summed over them; tokens, logs, words: of the likeliest."""

    key: Hashable
    words: str
    tokens: Tokens
    logs: tuple[float, ...]
    end: float
    score: float
    null: tuple[float, ...] = field(default=())
    prior: float = 0.0

    def rank(self, null_weight: float) -> float:
        return self.score + self.prior - null_weight * sum(self.null)


class Embedded:
    """Hears the sentences of one word graph. Setting up takes the model's load time and about a second for the noise clips."""

    def __init__(
        self,
        model: Moonshine,
        graph: WordGraph,
        *,
        meaning: Meaning | None = None,
        danger: Callable[[str], bool] | None = None,
        named: Callable[[str], Collection[str]] | None = None,
        opposite: Callable[[str, str], bool] | None = None,
        figure: Callable[[str, str], bool] | None = None,
        order: Callable[[str, str], float] | None = None,
        prior: Callable[[str], float] | None = None,
        gates: Gates = Gates(),
    ) -> None:
        """graph: the grammar; meaning: words -> meaning; danger: are these the words of a danger; named: the words of these that name a dish;
        opposite: do these turn burner or oven, otherwise than those; figure: is this the same with another temperature or time; order: nats by which
        these must lead those, where they report what those order, else 0; prior: nats by which these words are likely now, asked anew for every
        utterance."""
        self._model = model
        self._search = Search(model, graph)
        self._meaning = meaning
        self._danger = danger
        self._named = named
        self._unlike = ((opposite, gates.apart), (figure, gates.figure))
        self._order = order
        self._prior = prior
        self._gates = gates
        self._noise = [model.listen(clip, room=True) for clip in noise_clips()]
        self._null: dict[Tokens, tuple[float, ...]] = {}

    @classmethod
    def for_session(
        cls,
        model: Moonshine,
        interpreter: Interpreter,
        names: Iterable[Name],
        *,
        danger_only: bool = False,
        moment: Callable[[], Moment] = Moment,
        gates: Gates = Gates(),
    ) -> Embedded:
        """The recogniser of one session. names: of this meal (`kitchen.meal.names`); danger_only: hears nothing but danger words, in the middle
        of speech; moment: what is going on when it is asked."""
        comparing = Comparing(interpreter, names, moment)
        return cls(
            model,
            interpreter.danger if danger_only else interpreter.automaton,
            meaning=comparing.meaning,
            danger=comparing.danger,
            named=comparing.named,
            opposite=comparing.opposite,
            figure=comparing.other_figure,
            order=comparing.order,
            prior=comparing.likely,
            gates=replace(gates, danger=gates.shouted) if danger_only else gates,
        )

    @property
    def name(self) -> str:
        """The engine's name in an `Utterance`."""
        return "embedded"

    def recognise(self, samples: Samples, start_s: float = 0.0, end_s: float = 0.0) -> Utterance:
        """The best sentence of the grammar and whether to believe it. Never raises on sound."""
        began = time.perf_counter()
        row = usable(samples)
        words, second, reason, scores = self._decide(row)
        return Utterance(
            words,
            start_s,
            end_s,
            sure=not reason,
            reason=reason,
            second=second,
            scores=scores,
            decode_ms=1e3 * (time.perf_counter() - began),
            engine=self.name,
        )

    def free(self, samples: Samples) -> str:
        """What the model writes when left to itself, with its capital letters and marks; empty for silence and for sound too short or too long."""
        row = usable(samples)
        if self._no_speech(row):
            return ""
        tokens, _ = self._model.free(self._model.listen(row), seconds(row))
        return self._model.tokenizer.decode(tokens)

    def score(self, samples: Samples, sentence: str) -> float:
        """Log-probability, nats, of this one sentence as written (without a mark at its end) and of its ending there, given the sound."""
        sound = self._model.listen(samples)
        tokens = self._model.tokenizer.encode(sentence)
        (logs,) = self._model.force([sound], [tokens])
        return float(logs.sum()) + self._model.end(sound, tokens)

    def _no_speech(self, row: Samples) -> str:
        if row.size < SHORTEST:
            return "short"
        if row.size > LONGEST:
            return "long"
        return "silent" if float(np.abs(row).max()) < self._gates.quietest else ""

    def _decide(self, row: Samples) -> tuple[str, str, str, Scores]:
        reason = self._no_speech(row)
        if reason:
            return "", "", reason, Scores()
        sound = self._model.listen(row, room=True)
        found = self._search.find(sound)
        ranked = self._rank(found)
        noted = self._note(sound, row, found)
        if noted is not None and (not ranked or noted.score > ranked[0].score):
            ranked.insert(0, noted)
        if not ranked:
            return "", "", "nothing", Scores()
        ranked = self._orders_first(ranked)
        best = ranked[0]
        danger = next((c for c in ranked if self._danger is not None and self._danger(c.words)), None)
        if danger is not None:
            scores, believed = self._danger_scores(danger, ranked)
            if believed:
                return danger.words, "" if danger is best else best.words, "", scores
            if danger is best:
                return danger.words, ranked[1].words if len(ranked) > 1 else "", "danger", scores
        second = ranked[1] if len(ranked) > 1 else None
        scores, against = self._scores(best, second, free=best is noted)
        if not against and best is not noted and self._too_near(ranked):
            against = "margin"
        return best.words, second.words if second else "", against, scores

    def _orders_first(self, ranked: list[_Candidate]) -> list[_Candidate]:
        """An order that sounds like the report of it ("turn" and "turned the burner off") comes first, and a report as near no longer counts against
        it: of the two it is asked about, and a burner that is on is not believed to be off."""
        if self._order is None:
            return ranked
        lead, weight, best = self._order, self._gates.null_weight, ranked[0]

        def alike(report: _Candidate, order: _Candidate) -> bool:
            return abs(report.rank(weight) - order.rank(weight)) < lead(report.words, order.words)

        order = next((c for c in ranked[1:] if alike(best, c)), best)
        return [order, *(c for c in ranked if c is not order and not alike(c, order))]

    def _too_near(self, ranked: list[_Candidate]) -> bool:
        """Whether the burner turned otherwise, or another figure, is nearly as likely."""
        weight, best = self._gates.null_weight, ranked[0]
        behind = [(best.rank(weight) - c.rank(weight), c.words) for c in ranked[1:]]
        return any(unlike is not None and by < least and unlike(best.words, words) for unlike, least in self._unlike for by, words in behind)

    def _rank(self, found: Found) -> list[_Candidate]:
        """The likeliest meanings, best first, with their null scores."""
        by_meaning: dict[Hashable, _Candidate] = {}
        weight = self._gates.null_weight
        promising = sorted(found.complete, key=lambda h: h.score - weight * NULL_A_TOKEN * len(h.tokens), reverse=True)
        for heard in promising:
            if len(by_meaning) > 2 * self._gates.ranked:
                break
            for key, words in self._meanings(heard):
                known = by_meaning.get(key)
                if known is None:
                    by_meaning[key] = _Candidate(key, words, heard.tokens, heard.logs, heard.end, heard.score, prior=self._likely(words))
                else:
                    known.score = float(np.logaddexp(known.score, heard.score))

        def about(c: _Candidate) -> float:
            return c.score + c.prior - weight * NULL_A_TOKEN * len(c.tokens)

        likeliest = sorted(by_meaning.values(), key=about, reverse=True)[: self._gates.ranked]
        if self._danger is None or not any(self._danger(c.words) for c in likeliest):
            likeliest = [c for c in likeliest if about(c) > about(likeliest[0]) - FAR]
        for c, null in zip(likeliest, self._nulls([c.tokens for c in likeliest]), strict=True):
            c.null = null
        return sorted(likeliest, key=lambda c: c.rank(weight), reverse=True)

    def _likely(self, words: str) -> float:
        return 0.0 if self._prior is None else min(MOST_PRIOR, max(-MOST_PRIOR, self._prior(words)))

    def _meanings(self, heard: Heard) -> list[tuple[Hashable, str]]:
        """The different meanings of one written sentence, each with the first words for it."""
        out: dict[Hashable, str] = {}
        for words in heard.words:
            said = " ".join(words)
            key = self._meaning(said) if self._meaning is not None else None
            out.setdefault(said if key is None else key, said)
        return list(out.items())

    def _nulls(self, sentences: list[Tokens]) -> list[tuple[float, ...]]:
        """Null scores of each sentence's tokens, kept."""
        new = [s for s in dict.fromkeys(sentences) if s not in self._null]
        if new:
            for tokens, logs in zip(new, self._model.force(self._noise, new), strict=True):
                self._null[tokens] = tuple(float(x) for x in logs.mean(axis=0))
        return [self._null[s] for s in sentences]

    def _note(self, sound: Sound, row: Samples, found: Found) -> _Candidate | None:
        """The best free sentence ("make a note ..."), if its beginning is likelier than any whole sentence: then its words are decoded freely."""
        if not found.openings:
            return None
        opening: Opening = found.openings[0]
        if found.complete and sum(opening.logs) <= found.complete[0].score:
            return None
        nearest = self._model.listen(row) if close(row) else sound
        tokens, logs = self._model.free(nearest, seconds(row), opening.tokens)
        text = plain(self._model.tokenizer.decode(tokens))
        if not text:
            return None
        (null,) = self._nulls([opening.tokens])
        words = f"{' '.join(opening.words)} {text}"
        return _Candidate(words, words, opening.tokens, opening.logs, 0.0, sum(opening.logs) + sum(logs), null)

    def _scores(self, best: _Candidate, second: _Candidate | None, *, free: bool) -> tuple[Scores, str]:
        """The scores, and what speaks against believing them (empty: nothing does)."""
        support = [s - n for s, n in zip(best.logs, best.null, strict=True)]
        weight = 0.0 if free else self._gates.null_weight
        margin = best.rank(weight) - second.rank(weight) if second else None
        pmi, words = sum(support) / len(support), sum(best.logs) / len(best.logs)
        end, slot = None if free else best.end, self._name_support(best, support)
        odds, against = belief(pmi, np.inf if margin is None else margin, end or 0.0, words, len(support), slot)
        scores = Scores(pmi=pmi, margin=margin, end=end, slot=slot, token=min(best.logs), belief=odds)
        g = self._gates
        floors = (
            ("end", end, g.end),
            ("token", scores.token, g.token),
            ("slot", slot, g.slot),
            ("words", sum(best.logs) if free else None, g.opening),
        )
        for name, value, least in floors:
            if value is not None and value < least:
                return replace(scores, belief=None), name
        return scores, "" if odds >= g.belief else against

    def _danger_scores(self, danger: _Candidate, ranked: list[_Candidate]) -> tuple[Scores, bool]:
        """The scores, and whether to believe them. The margin is to the likeliest sentence that reports no danger; where the grammar has none, it
        says nothing."""
        weight = self._gates.null_weight
        other = next((c for c in ranked if self._danger is not None and not self._danger(c.words)), None)
        margin = 0.0 if other is None else danger.rank(weight) - other.rank(weight)
        pmi = (sum(danger.logs) - sum(danger.null)) / len(danger.logs)
        odds = danger_belief(pmi, margin, danger.end, len(danger.logs))
        g, token = self._gates, min(danger.logs)
        believed = odds >= g.danger and margin >= -g.danger_behind and token >= g.token
        return Scores(pmi=pmi, margin=margin, end=danger.end, token=token, belief=odds), believed

    def _name_support(self, best: _Candidate, support: list[float]) -> float | None:
        """The support of the weakest word of a dish's name; None when no name is in the sentence. Words, not tokens: after "ch" the token
        "ips" is all but certain unheard, so no sound could add 2 nats to it."""
        names = self._named(best.words) if self._named is not None else ()
        words: list[list[int]] = []  # places of its tokens, for each word
        for place, token in enumerate(best.tokens):
            if not words or self._model.tokenizer.text(token).startswith(WORD_START):
                words.append([])
            words[-1].append(place)
        found = [
            min(sum(support[p] for p in word), NAME_CREDIT + sum(best.logs[p] for p in word))
            for word in words
            if plain(self._model.tokenizer.decode(tuple(best.tokens[p] for p in word))) in names
        ]
        return min(found, default=None)


def plain(text: str) -> str:
    """Written text as bare lower-case words: marks go, apostrophes and what stands between figures stay.

    >>> plain("Kitchen, what's next? It's 7:30, or 7.5.")
    "kitchen what's next it's 7:30 or 7.5"
    """
    return " ".join(re.sub(r"[^\w'.:/ -]|[.:](?!\d)", " ", text.lower()).split())


def noise_clips() -> list[Samples]:
    """The clips of noise alone that null scores are measured on: a second each of frying (bright hiss with pops), of an extractor hood (low
    rumble) and of a quiet room; always the same samples."""
    rng = np.random.default_rng(20_240)
    white = rng.standard_normal((3, RATE))
    frequency = np.fft.rfftfreq(RATE, 1 / RATE)
    frying = np.fft.irfft(np.fft.rfft(white[0]) * np.minimum(1.0, frequency / 3_000))
    frying *= 1.0 + 3.0 * (rng.random(RATE) > 0.999)
    hood = np.fft.irfft(np.fft.rfft(white[1]) / np.sqrt(1.0 + (frequency / 200) ** 2))
    return [(level * clip / clip.std()).astype(np.float32) for level, clip in ((0.05, frying), (0.05, hood), (0.002, white[2]))]
