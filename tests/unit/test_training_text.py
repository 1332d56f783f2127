"""What the encoder for rooms is taught with keeps its promise: nothing that the benches say."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "benchmarks" / "training"))
sys.path.insert(0, str(Path(__file__).parents[1] / "benchmarks"))
from hearing_corpus import DANGER, lines, phrases
from training_speech import grammars, text


def test_training_sentences_are_commands_or_talk_and_never_the_benches() -> None:
    """Of 400 sentences more than half are whole commands of their meal's grammar, the others are none, and no bench says any of them."""
    texts = [text(seed) for seed in range(400)]
    held_out = {said for said, _ in phrases()} | set(lines(DANGER))
    assert held_out.isdisjoint(t.words for t in texts)
    assert all(grammars()[t.meal].complete(t.words) == t.command for t in texts)
    assert 0.5 < sum(t.command for t in texts) / len(texts) < 0.66
    assert texts[7] == text(7)
