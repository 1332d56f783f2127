"""What the encoder for rooms is taught with keeps its promise: nothing that the benches say."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "benchmarks" / "training"))
sys.path.insert(0, str(Path(__file__).parents[1] / "benchmarks"))
from hearing_corpus import DANGER, lines, phrases
from sentences import grammars, text

from assistant.session.commands import Intent


def test_training_sentences_are_commands_or_talk_and_never_the_benches() -> None:
    """Of 400 sentences more than half are whole commands of their meal's grammar, the others are none, and no bench says any of them."""
    texts = [text(seed) for seed in range(400)]
    held_out = {said for said, _ in phrases()} | set(lines(DANGER))
    assert held_out.isdisjoint(t.words for t in texts)
    assert all(grammars()[t.meal].complete(t.words) == t.command for t in texts)
    assert 0.5 < sum(t.command for t in texts) / len(texts) < 0.66
    assert texts[7] == text(7)


def test_training_says_numbers_and_every_kind_of_command() -> None:
    """Of 3,000 sentences the commands have the numbers that are mistaken for each other, and all that can be meant; a bare temperature is said as a
    cook says it."""
    texts = [t for t in map(text, range(3_000)) if t.command]
    said = {word for t in texts for word in t.words.split()}
    assert {"fifteen", "fifty", "thirteen", "thirty", "forty", "sixty", "seventy", "many", "celsius"} <= said
    meant = {c.intent for t in texts for c in grammars()[t.meal].interpret(t.words).meanings()}
    assert set(Intent) - meant == set()
