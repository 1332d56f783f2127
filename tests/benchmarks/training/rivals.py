"""For each command that training_speech.py speaks, the sentences that it is taken for: what the encoder learns to tell it from.

    python tests/benchmarks/training/rivals.py OUT.npz SEEDS [--jobs 2]

Each command is spoken by hibari and heard by the recogniser's own search, in kitchen noise at 6 dB, and clean too where that did not find it; what
the search finds is kept, at most 28 sentences: OUT `seeds` [N], `tokens` [N, 28, 20] (filled with the end mark) and `right` [N, 28]: whether
this one means what was said. Sentences that the benches say are left out.
"""

from __future__ import annotations

import argparse
from collections.abc import Hashable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
from training_speech import grammars, held_out, speaker, text, trimmed

from assistant.hearing.model import EOS, Moonshine, Tokens
from assistant.hearing.noise import SPEECH_DB, at_level, kitchen_noise
from assistant.hearing.recogniser import RATE
from assistant.hearing.search import Search

KEPT, LONGEST = 28, 20


@cache
def _model() -> Moonshine:
    return Moonshine()


@cache
def _search(meal: int) -> Search:
    return Search(_model(), grammars()[meal].automaton)


def meaning(meal: int, words: str) -> Hashable:
    """What the words mean in this meal; themselves when nothing."""
    return tuple(replace(c, words="") for c in grammars()[meal].interpret(words).meanings()) or words


def rivals(seed: int) -> tuple[int, dict[Tokens, bool]]:
    """The seed, and what its command is taken for: sentence -> whether it means the same. Empty for words at random."""
    meal, words = text(seed)
    found: dict[Tokens, bool] = {}
    if meal is None:
        return seed, found
    speech = at_level(trimmed(speaker("hibari", np.random.default_rng([78, seed, 6]))(words)))
    speech = np.pad(speech, int(0.3 * RATE))
    noisy = np.clip(speech + kitchen_noise(speech.size / RATE, seed, SPEECH_DB - 6)[: speech.size], -1, 1).astype(np.float32)
    for sound in (noisy, speech):
        for heard in _search(meal).find(_model().listen(sound, room=sound is noisy)).complete[:KEPT]:
            said = [" ".join(way) for way in heard.words]
            right = meaning(meal, words) in {meaning(meal, way) for way in said}
            if right or held_out().isdisjoint(said):
                found.setdefault(heard.tokens, right)
        if any(found.values()):
            break
    return seed, found


def main() -> None:
    """Collect."""
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("out", type=Path)
    options.add_argument("seeds", type=int)
    options.add_argument("--jobs", type=int, default=2)
    given = options.parse_args()
    seeds, rows, rights = [], [], []
    with ProcessPoolExecutor(given.jobs) as pool:
        for seed, found in pool.map(rivals, range(given.seeds), chunksize=16):
            kept = [(tokens, right) for tokens, right in found.items() if len(tokens) <= LONGEST][:KEPT]
            if any(right for _, right in kept) and not all(right for _, right in kept):
                kept += [((), False)] * (KEPT - len(kept))
                seeds.append(seed)
                rows.append([[*tokens, *[EOS] * (LONGEST - len(tokens))] for tokens, _ in kept])
                rights.append([right for _, right in kept])
    np.savez_compressed(given.out, seeds=np.array(seeds), tokens=np.array(rows, np.uint16), right=np.array(rights))
    print(f"{len(seeds)} commands, {np.mean([sum(r) for r in rights]):.1f} sentences right of {KEPT}", flush=True)


if __name__ == "__main__":
    main()
