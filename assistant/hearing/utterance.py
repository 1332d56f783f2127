"""What the ear hands on: an `Utterance`, one stretch of speech with the words heard in it. Nothing here decides what they mean."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from assistant.hearing.recogniser import Samples


@dataclass(frozen=True, slots=True)
class Scores:
    """How sure the recogniser is. pmi: mean nats a token by which the sound supports the words over mere noise; margin: nats to the best sentence
    with another meaning, None where none is near; end: log-probability that the sentence ends there; slot: lowest pmi among the words of a name;
    token: log-probability of the least likely token; belief: log odds that it is right, None where something speaks against it whatever they are.
    Vosk: confidence 0..1."""

    pmi: float | None = None
    margin: float | None = None
    end: float | None = None
    slot: float | None = None
    confidence: float | None = None
    token: float | None = None
    belief: float | None = None


@dataclass(frozen=True, slots=True)
class Utterance:
    """start_s, end_s: on the source's own clock; words: best sentence, lower case, numbers as words or digits as the recogniser gives them; sure:
    whether its own gates passed; reason: which gate did not; second: next best sentence with another meaning; decode_ms; engine: `typed`,
    `embedded`, `vosk`; handed_s: when it was handed on, on the source's clock: handed_s - end_s is what the endpoint took; sound: the
    samples, 16 kHz, only where the cook asked for recordings, else None."""

    words: str
    start_s: float = 0.0
    end_s: float = 0.0
    sure: bool = True
    reason: str = ""
    second: str = ""
    scores: Scores = Scores()
    decode_ms: float = 0.0
    engine: str = "typed"
    handed_s: float = 0.0
    sound: Samples | None = field(default=None, compare=False, repr=False)
