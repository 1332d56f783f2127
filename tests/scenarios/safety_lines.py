"""Which of the lines of an evening are safety lines that nobody asked for: counted by the scenarios and by the benchmark alike.

After the check before the heat, a line counts when it is about safety alone: a food clock, clean hands and boards, what differs about a drop, the
oil's alarms, the burner at the end. What is said before the first drop into a pot still belongs to the first check and is counted apart, and so is an
order of the meal that has its safety in it ("Wash hands, clean bowl. Drain and salt the fritters."): no line more is said, but its words are.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from obedient_cook import Cook

from assistant.kitchen.drop_check import drop_lines
from assistant.kitchen.hazards import clean_first, crossing
from assistant.session.events import Said, Told
from assistant.speaking import prompts


@dataclass(frozen=True)
class SafetyLines:
    """hours: from the check before the heat to the end; lines: about safety alone; first_drop: of the first drop into a pot; in_orders: orders of the
    meal with safety in them; words: of the lines, and of the safety in the orders."""

    hours: float
    lines: tuple[str, ...]
    first_drop: tuple[str, ...]
    in_orders: tuple[str, ...]
    words: int


def safety_lines(cook: Cook) -> SafetyLines:
    """The unasked-for safety lines of an evening that was run."""
    meal = cook.state.meal
    steps = list(meal.steps())
    pots = {p.id: p for p in meal.equipment.pots}
    fries = [(pots[s.fry.pot], s, before) for s in steps if s.fry is not None for before in [None, *(x for x in steps if x.fry is not None)]]
    first = {w for pot, s, _ in fries for fresh in (True, False) for w in drop_lines(pot, s, 1, fresh)}
    alone = {crossing(a, b) for a in steps for b in steps} | {w for pot, s, b in fries for w in drop_lines(pot, s, 2, False, b)}
    alone |= {prompts.TOO_HOT, prompts.STILL_TOO_HOT, prompts.ANY_FLAME, prompts.HEAT_OFF_NOW, prompts.STILL_ON, prompts.LAST_OUT}
    cares = {f"{care}. " for a in steps for b in steps if (care := clean_first(a, b))}
    check = next(x.t for x in cook.events if isinstance(x, Told) and x.key.startswith("check:"))
    lines, at_first, orders, words = [], [], [], 0
    for before, event in pairwise(cook.events):
        if not isinstance(event, Said) or event.t <= check:
            continue
        care = max((c for c in cares if event.words.startswith(c)), key=len, default="")
        if event.words in alone or (isinstance(before, Told) and before.key.startswith("food:")):
            lines.append(event.words)
            words += len(event.words.split())
        elif event.words in first:
            at_first.append(event.words)
        elif care or "lean tongs" in event.words:
            orders.append(event.words)
            words += len(care.split()) or 4  # "clean tongs, clean rack"
    return SafetyLines((cook.events[-1].t - check) / 3600.0, tuple(lines), tuple(at_first), tuple(orders), words)
