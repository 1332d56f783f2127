"""Work spread over processes, counted and printed with intervals: what the hearing benches share."""

from __future__ import annotations

import math
import time
from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import FIRST_COMPLETED, ProcessPoolExecutor, wait
from typing import Any

import numpy as np


def spread(pool: ProcessPoolExecutor, workers: int, work: Callable[[Any], Any], things: Sequence[Any], until: float | None) -> list[Any]:
    """All the work, in random order, said as it goes; until: no more is begun after this time (monotonic)."""
    order = iter(np.random.default_rng(0).permutation(len(things)))
    began = said = time.monotonic()
    done: list[Any] = []
    running: set[Any] = set()
    while True:
        while len(running) <= workers and (until is None or time.monotonic() < until) and (k := next(order, None)) is not None:
            running.add(pool.submit(work, things[k]))
        if not running:
            return done
        ready, running = wait(running, return_when=FIRST_COMPLETED)
        done += [r.result() for r in ready]
        if time.monotonic() - said > 30 or not running:
            said = time.monotonic()
            print(f"{len(done)} of {len(things)} in {said - began:.0f} s", flush=True)


def wilson(k: int, n: int) -> tuple[float, float]:
    """95 % interval of a share, per cent (Wilson 1927).

    >>> [round(x, 1) for x in wilson(0, 100)]
    [0.0, 3.7]
    """
    z = 1.96
    middle, half = (k + z * z / 2) / (n + z * z), z / (n + z * z) * math.sqrt(k * (n - k) / n + z * z / 4)
    return max(0.0, 100 * (middle - half)), min(100.0, 100 * (middle + half))


def counts(rows: Iterable[tuple[str, str]]) -> dict[str, dict[str, int]]:
    """(condition, outcome) -> condition -> {n, right, wrong, asked}."""
    table: dict[str, dict[str, int]] = defaultdict(lambda: {"n": 0, "right": 0, "wrong": 0, "asked": 0})
    for condition, outcome in rows:
        table[condition]["n"] += 1
        table[condition][outcome] += 1
    return dict(table)


def show(table: dict[str, dict[str, int]]) -> None:
    """Counts with intervals."""
    for condition, c in table.items():
        right, wrong = wilson(c["right"], c["n"]), wilson(c["wrong"], c["n"])
        hit = f"right {100 * c['right'] / c['n']:5.1f} % ({right[0]:.0f} to {right[1]:.0f})"
        miss = f"wrong {100 * c['wrong'] / c['n']:4.1f} % ({wrong[0]:.1f} to {wrong[1]:.1f})"
        print(f"{condition:58} n {c['n']:5}  {hit}  {miss}  asked {c['asked']}")


def level(snr_db: float | None) -> str:
    """As printed."""
    return "clean" if snr_db is None else f"{snr_db:.0f} dB"
