"""A frying lot in batches: how many, and how big each is, within what pot and card allow."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from itertools import product
from math import ceil

from assistant.kitchen.evening import BatchSize, Setting, TooMuchError
from assistant.kitchen.meal import Step
from assistant.kitchen.plan_board import Board, at_line
from assistant.kitchen.plan_figures import SECOND_FRY_LEAVES, limits_of

MOST_WAYS = 12
"""Ways to divide the lots that a plan is compared with; an evening with many lots is compared with the nearest ones only."""


def split(kg: float, pieces: int | None, number: int, small_first: bool = False) -> tuple[BatchSize, ...]:
    """A lot in `number` batches as even as can be; pieces stay whole and add up exactly.

    >>> [b.pieces for b in split(0.7, 7, 3)], [b.pieces for b in split(0.7, 7, 3, small_first=True)]
    ([3, 2, 2], [2, 2, 3])
    """
    if pieces is None:
        return tuple(BatchSize(kg / number) for _ in range(number))
    counts = sorted((pieces // number + (i < pieces % number) for i in range(number)), reverse=not small_first)
    return tuple(BatchSize(kg * n / pieces, n) for n in counts if n)


def batch_sizes(b: Board, step: Step) -> tuple[BatchSize, ...]:
    assert step.fry is not None
    kg, pieces = lot_kg(b, step), step.fry.pieces
    limits = limits_of(b.card.step(step.id), b.pots[step.fry.pot])
    fewest = 1
    if limits.most_kg > 0:
        fewest = max(fewest, ceil(kg / limits.most_kg - 1e-6))
    if pieces is not None and limits.most_pieces:
        fewest = max(fewest, ceil(pieces / limits.most_pieces))
    one = kg / pieces if pieces else 0.0
    if limits.most_kg <= 0 or limits.most_pieces == 0 or one > limits.most_kg * (1 + 1e-6):
        raise TooMuchError(
            f"{at_line(b.meal, step.line)}: '{step.name}' is more than {b.pots[step.fry.pot].name} can take ({limits.limited_by}); "
            "use a bigger pot, more oil or smaller pieces."
        )
    number = b.setting.batches.get(step.id, fewest)
    return split(kg, pieces, max(1, min(number, pieces or number)), step.id in b.setting.small_first)


def other_lots(setting: Setting, batches: Mapping[str, tuple[BatchSize, ...]]) -> tuple[list[Setting], bool]:
    """The other ways to divide the lots of a plan: each as it is, with its smaller batches first, or in one batch more; fewest changes first. What
    was asked for stays. Fewer batches than the fewest the limits allow are none of them. With it whether these are all, or only the nearest
    `MOST_WAYS`."""
    ways: list[list[tuple[int, bool] | None]] = []
    lots = [step for step in batches if step not in setting.batches]
    for step in lots:
        sizes = batches[step]
        pieces = None if sizes[0].pieces is None else sum(s.pieces or 0 for s in sizes)
        ways.append([None])
        if pieces is not None and pieces % len(sizes):
            ways[-1].append((len(sizes), True))
        if pieces is None or pieces > len(sizes):
            ways[-1].append((len(sizes) + 1, False))
    found = []
    every = sorted(product(*ways), key=lambda c: sum(way is not None for way in c))[1:]
    for combined in every[:MOST_WAYS]:
        chosen = {step: way for step, way in zip(lots, combined, strict=True) if way is not None}
        small = frozenset(step for step, (_, first) in chosen.items() if first)
        found.append(replace(setting, batches={**setting.batches, **{s: n for s, (n, _) in chosen.items()}}, small_first=small))
    return found, len(every) <= MOST_WAYS


def lot_kg(b: Board, step: Step) -> float:
    """Weight of the lot as it goes in. A second fry takes what the first one left, where the card did not weigh it."""
    assert step.fry is not None
    for before in step.after:
        first = next((s for s in b.meal.steps() if s.id == before and s.fry is not None and s.fry.first_stage), None)
        if first is not None and first.fry is not None:
            raw = first.fry.kg * step.share
            return step.fry.kg if step.fry.kg < 0.95 * raw else raw * SECOND_FRY_LEAVES
    return step.fry.kg
