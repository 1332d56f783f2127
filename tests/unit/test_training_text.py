"""What the encoder for rooms is taught with keeps its promise: nothing that the benches say."""

import sys
from functools import cache
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "benchmarks" / "training"))
sys.path.insert(0, str(Path(__file__).parents[1] / "benchmarks"))
from bench_recogniser import CHATTER, COMMANDS
from hearing_corpus import DANGER, TUNING_DANGER, TUNING_OPEN, lines, phrases
from sentences import Text, grammars, text

from assistant.session.commands import Intent
from assistant.understanding.numbers import normal


@cache
def texts() -> list[Text]:
    """What the first 3,000 seeds say."""
    return [text(seed) for seed in range(3_000)]


def test_training_sentences_are_commands_or_talk() -> None:
    """Of 3,000 sentences more than half are whole commands of their meal's grammar, the others are none."""
    assert all(grammars()[t.meal].complete(t.words) == t.command for t in texts())
    assert 0.5 < sum(t.command for t in texts()) / len(texts()) < 0.66
    assert texts()[7] == text(7)


def test_training_says_numbers_and_every_kind_of_command() -> None:
    """Of 3,000 sentences the commands have the numbers that are mistaken for each other, and all that can be meant."""
    commands = [t for t in texts() if t.command]
    said = {word for t in commands for word in t.words.split()}
    assert {"fifteen", "fifty", "thirteen", "thirty", "forty", "sixty", "seventy", "many", "celsius"} <= said
    meant = {c.intent for t in commands for c in grammars()[t.meal].interpret(t.words).meanings()}
    assert meant == set(Intent)


def test_training_never_says_what_benches_or_thresholds_use() -> None:
    """Of 3,000 sentences none is one of theirs, however it is written: "I got burned" and "i got burned" are one."""
    used = [said for said, _ in phrases()] + [said for block in (DANGER, COMMANDS, CHATTER, TUNING_DANGER) for said in lines(block)]
    used += [said for _, block in TUNING_OPEN for said in lines(block)]
    assert {" ".join(normal(said)) for said in used}.isdisjoint(" ".join(normal(t.words)) for t in texts())
