"""For sentences that training_speech.py has spoken, the commands that they are taken for: what the encoder learns to tell them from.

    python tests/benchmarks/training/rivals.py OUT.npz SEEDS [--first SEED] [--people SPEECH.npz ...] [--jobs 2]

A command is spoken by hibari and heard by the recogniser's own search, in kitchen noise at 6 dB, and clean too where that did not find it. Talk, by
hibari or by the actors in SPEECH, is heard in noise by the search for commands and by that for danger; what was said is then what the model writes
when it hears it clean and is left to itself. What begins a note is a rival too, where it is not what was said. OUT `seeds` [N] (as in SPEECH),
`tokens` [N, 28, 20] (filled with the end mark), `right` [N, 28]: whether this one is or means what was said, `ends` [N, 28]: whether it is a whole
sentence, `meant` [N]: what the command is for, empty for talk. What the benches say is left out.
"""

from __future__ import annotations

import argparse
from collections.abc import Hashable, Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

import numpy as np
from sentences import MEALS, Text, grammars, held_out, text
from training_speech import speaker, trimmed

from assistant.hearing.embedded import plain
from assistant.hearing.model import EOS, Moonshine, Tokens, seconds
from assistant.hearing.noise import SPEECH_DB, at_level, kitchen_noise
from assistant.hearing.recogniser import RATE, Samples
from assistant.hearing.search import Found, Search

KEPT, LONGEST = 28, 20
ALARMS = 8
"""Of what talk is taken for, so many at most are calls of danger."""
OPENINGS = 3
"""Of what anything is taken for, so many at most begin a note."""


@cache
def _model() -> Moonshine:
    return Moonshine()


@cache
def _search(meal: int, danger: bool = False) -> Search:
    return Search(_model(), grammars()[meal].danger if danger else grammars()[meal].automaton)


def meaning(meal: int, words: str) -> Hashable:
    """What the words mean in this meal; themselves when nothing."""
    return tuple(replace(c, words="") for c in grammars()[meal].interpret(words).meanings()) or words


@dataclass(frozen=True, slots=True)
class Job:
    """A sentence to hear. sound: by a person, else hibari speaks the seed's text."""

    seed: int
    sound: Samples | None = None


@dataclass(frozen=True, slots=True)
class Taken:
    """What a sentence is taken for: written sentence -> whether that is right; meant: what a command is for, empty for talk; openings: beginnings of
    notes that it was taken for."""

    seed: int
    found: dict[Tokens, bool]
    meant: str = ""
    openings: tuple[Tokens, ...] = ()


def taken(job: Job) -> Taken:
    """What the search makes of it."""
    said = text(job.seed) if job.sound is None else Text(-job.seed % len(MEALS), "", command=False)
    row = trimmed(speaker("hibari", np.random.default_rng([78, job.seed, 6]))(said.words)) if job.sound is None else job.sound
    speech = np.pad(at_level(row), int(0.3 * RATE))
    noisy = np.clip(speech + kitchen_noise(speech.size / RATE, abs(job.seed), SPEECH_DB - 6)[: speech.size], -1, 1).astype(np.float32)
    return _command(job.seed, said, speech, noisy) if said.command else _talk(job.seed, said.meal, speech, noisy)


def _begun(found: Found, words: str) -> tuple[Tokens, ...]:
    """The likeliest openings, where no note was said."""
    noted = any(words.startswith(" ".join(o.words)) for o in found.openings)
    return () if noted else tuple(o.tokens for o in found.openings)[:OPENINGS]


def _command(seed: int, said: Text, speech: Samples, noisy: Samples) -> Taken:
    found: dict[Tokens, bool] = {}
    openings = ()
    for sound in (noisy, speech):
        heard = _search(said.meal).find(_model().listen(sound, room=True))
        openings = openings or _begun(heard, said.words)
        for sentence in heard.complete[:KEPT]:
            ways = [" ".join(way) for way in sentence.words]
            right = meaning(said.meal, said.words) in {meaning(said.meal, way) for way in ways}
            if right or held_out().isdisjoint(ways):
                found.setdefault(sentence.tokens, right)
        if any(found.values()):
            break
    intents = [c.intent.value for c in grammars()[said.meal].interpret(said.words).meanings()]
    return Taken(seed, found, intents[0] if intents else "nothing", openings)


def _talk(seed: int, meal: int, speech: Samples, noisy: Samples) -> Taken:
    tokens, _ = _model().free(_model().listen(speech), seconds(speech))
    while tokens and _model().tokenizer.text(tokens[-1]) in (*".?!", ""):
        tokens = tokens[:-1]
    words = plain(_model().tokenizer.decode(tokens))
    if not tokens or len(tokens) > LONGEST or grammars()[meal].complete(words):
        return Taken(seed, {})
    found = {tokens: True}
    sound = _model().listen(noisy, room=True)
    commands, alarms = (_search(meal, danger).find(sound) for danger in (False, True))
    for heard in [*alarms.complete[:ALARMS], *commands.complete]:
        ways = [" ".join(way) for way in heard.words]
        if words not in ways and held_out().isdisjoint(ways) and len(found) < KEPT:
            found.setdefault(heard.tokens, False)
    return Taken(seed, found, openings=_begun(commands, words))


def jobs(first: int, seeds: int, people: list[Path]) -> Iterator[Job]:
    """The texts of the seeds, then what actors say."""
    yield from map(Job, range(first, seeds))
    for path in people:
        read = np.load(path)
        rows = np.split(read["data"], read["ends"][:-1])
        for k in np.flatnonzero(read["people"]):
            yield Job(int(read["seeds"][k]), rows[k].astype(np.float32) / 32_768)


def main() -> None:
    """Collect."""
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("out", type=Path)
    options.add_argument("seeds", type=int)
    options.add_argument("--first", type=int, default=0)
    options.add_argument("--people", type=Path, nargs="*", default=[])
    options.add_argument("--jobs", type=int, default=2)
    given = options.parse_args()
    seeds, rows, rights, ends, meant = [], [], [], [], []
    with ProcessPoolExecutor(given.jobs) as pool:
        for one in pool.map(taken, jobs(given.first, given.seeds, given.people), chunksize=16):
            begun = [(tokens, False, False) for tokens in one.openings if len(tokens) <= LONGEST]
            kept = [(tokens, right, True) for tokens, right in one.found.items() if len(tokens) <= LONGEST][: KEPT - len(begun)] + begun
            if any(right for _, right, _ in kept) and not all(right for _, right, _ in kept):
                kept += [((), False, True)] * (KEPT - len(kept))
                seeds.append(one.seed)
                rows.append([[*tokens, *[EOS] * (LONGEST - len(tokens))] for tokens, _, _ in kept])
                rights.append([right for _, right, _ in kept])
                ends.append([end for _, _, end in kept])
                meant.append(one.meant)
    arrays = {
        "seeds": np.array(seeds),
        "tokens": np.array(rows, np.uint16),
        "right": np.array(rights),
        "ends": np.array(ends),
        "meant": np.array(meant),
    }
    np.savez_compressed(given.out, **arrays)
    print(f"{sum(map(bool, meant))} commands, {len(meant) - sum(map(bool, meant))} of talk", flush=True)


if __name__ == "__main__":
    main()
