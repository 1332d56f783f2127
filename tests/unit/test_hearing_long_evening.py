"""An hour of babble through the ear by a stand-in recogniser: as much memory at its end as at its beginning."""

from __future__ import annotations

import tracemalloc
from collections.abc import Iterator

import numpy as np

from assistant.hearing.endpoint import LONGEST_S, TRAIL_S, Follow
from assistant.hearing.frames import BLOCK, BLOCK_S, Block, Source
from assistant.hearing.listener import Ear
from assistant.hearing.recogniser import RATE, Samples
from assistant.hearing.utterance import Utterance

MINUTES = 60


class Babble(Source):
    """Syllables of 80 to 400 ms with pauses of 30 to 600 ms, an hour of them, made as they are asked for. at_minute: memory in use, bytes."""

    def __init__(self) -> None:
        self.at_minute: list[int] = []

    def sounds(self) -> Iterator[Block]:
        rng = np.random.default_rng(3)
        speaking, left = False, 0
        for i in range(round(MINUTES * 60 / BLOCK_S)):
            if left == 0:
                speaking = not speaking
                left = int(rng.integers(3, 13) if speaking else rng.integers(1, 20))
            left -= 1
            if i % round(60 / BLOCK_S) == 0:
                self.at_minute.append(tracemalloc.get_traced_memory()[0])
            yield Block(i * BLOCK_S, np.full(BLOCK, 0.2 if speaking else 0.0, np.float32))


class StandIn:
    """Speech is what is loud; what was said, nobody knows. longest: the most sound it was given, samples."""

    name = "stand-in"
    longest = 0

    def probability(self, samples: Samples) -> float:
        return float(samples[0] > 0.1)

    def reset(self) -> None:
        """It has no memory."""

    def recognise(self, samples: Samples, start_s: float = 0.0, end_s: float = 0.0) -> Utterance:
        self.longest = max(self.longest, len(samples))
        return Utterance("", start_s, end_s, sure=False, reason="pmi")


def test_an_hour_of_babble_leaves_memory_flat() -> None:
    """Minute by minute no more than 3 MB above the second one (an utterance is 0.6 MB), thousands of utterances, none longer than can be decoded."""
    babble, stand_in = Babble(), StandIn()
    ear = Ear(stand_in, stand_in, lambda words: Follow.MORE, lambda words: False)
    tracemalloc.start()
    try:
        count = sum(1 for _ in ear.listen(babble))
    finally:
        tracemalloc.stop()
    assert len(babble.at_minute) == MINUTES
    assert max(babble.at_minute[1:]) - babble.at_minute[1] < 3_000_000
    assert count > 300
    assert stand_in.longest <= (LONGEST_S + TRAIL_S + 2 * BLOCK_S) * RATE
