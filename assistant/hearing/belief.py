"""How far to believe what was heard: the log odds that it is right, from the recogniser's scores. Pure.

Rules:
- One sum decides, not one threshold for each score: a short sentence with a wide margin and a long one with a narrow margin are both believed, which
  gates one by one cannot do.
- The weights are a logistic regression over some 2,500 commands and 4,000 sentences that are none, tuning voices and phrases, in rooms and kitchen
  noises from clean to 0 dB. Most of the latter are near misses: commands that break off, with a word changed or among other words (made as in
  tests/benchmarks/training/sentences.py, and none that a training heard). A mistake counts three needless questions. Synthetic voices: real people
  are owed.
- The probability of the words themselves weighs most: a word that the sound contradicts ("turn the oven up" for "off") is unlikely in itself, however
  much likelier than in noise.
- The noise level is left out on purpose: with it, or with null scores from the kitchen's own noise, the figures moved by less than their error.

Measured on those clips, each judged by weights from the others (right; mistaken; near misses carried out, of 3,600): with the weights from before
the encoder for rooms was trained, where the support of the sound and the end weighed most, 2,266; 33; 98, now 2,283; 30; 47. What the decoder would
rather write than a word of the sentence adds nothing to these. For dangers nothing was gained anew; but what the sound adds to one counts up to 8
nats, not 6: "fire" alone, which may always go on ("fire fire"), has nothing else that speaks for it. On 422 tuning clips that were near a danger it
changes nothing.
"""

from __future__ import annotations

_USUAL = {"pmi": 4.5, "margin": 6.0, "end": -0.1, "words": -0.2, "slot": 4.0}
"""What clear speech gets: what lies farthest below is named as the reason of a doubt."""


def belief(pmi: float, margin: float, end: float, words: float, tokens: int, slot: float | None) -> tuple[float, str]:
    """(log odds that this is what was said, the score that speaks most against it).

    pmi: mean nats a token that the sound adds; margin: nats to the next meaning; end: log-probability that the sentence ends there; words: mean
    log-probability of its tokens; tokens: how many; slot: support of the weakest word of a dish's name, None when none is named.

    >>> belief(3.0, 6.0, -0.1, -0.3, 6, None)[0] > 3.0, belief(3.0, 0.2, -0.1, -0.7, 3, None)[1], belief(3.0, 6.0, -0.1, -2.0, 6, None)[1]
    (True, 'margin', 'words')
    """
    scores = {
        "pmi": (0.43, min(pmi, 6.0)),
        "margin": (0.3, min(margin, 8.0)),
        "end": (0.97, max(end, -6.0)),
        "words": (2.49, max(words, -4.0)),
        "slot": (0.26, 4.0 if slot is None else min(slot, 4.0)),
    }
    total = sum(weight * value for weight, value in scores.values()) - 0.21 * min(tokens, 12) + (0.0 if slot is None else 0.58) + 1.88
    return total, min(scores, key=lambda name: scores[name][0] * (scores[name][1] - _USUAL[name]))


def danger_belief(pmi: float, margin: float, end: float, tokens: int) -> float:
    """Log odds that a danger was called out. margin: nats to the likeliest sentence that reports none, negative where that is likelier.

    >>> danger_belief(4.0, 3.0, -0.1, 4) > 1.0 > danger_belief(1.0, -1.0, -0.5, 3)
    True
    """
    return 0.25 * max(-8.0, min(margin, 8.0)) + 0.76 * min(pmi, 8.0) + 0.86 * max(end, -6.0) + 0.41 * min(tokens, 10) - 3.1
