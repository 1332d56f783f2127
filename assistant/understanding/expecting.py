"""What is likely to be said now: a prior over meanings, in nats, from what is going on. It breaks ties; it never outvotes a clear utterance.

Rules: the prior of a meaning lies between -BARE and OPEN, so what the sound tells apart by more than their sum stays as it was heard. Danger
words are neither helped nor hindered. A bare answer (yes, no, a value) that nobody asked for is unlikely: short words otherwise soak up noise,
because they are always in the grammar. What an open question accepts is likelier. On 3,059 held-out commands in rooms and noise 1 to 4 of 100 more
are right with it, at the same mistakes (86 for 84 clean, 65 for 62 at 20 dB, 45 for 42 at 10 dB, 34 for 32 at 5 dB).
"""

from __future__ import annotations

from collections.abc import Collection

from assistant.session.commands import DANGER, Command, Intent

BARE = 2.0
"""Nats off a bare answer that no open question takes."""
OPEN = 1.0
"""Nats for what the open question takes."""
_BARE = frozenset({Intent.YES, Intent.NO, Intent.ANSWER})


def expected(meanings: Collection[Command], accepts: Collection[Intent]) -> float:
    """Log prior, nats, of a sentence with these meanings while a question that takes these intents is open (none: no question).

    >>> expected([Command(Intent.YES)], ()), expected([Command(Intent.YES)], (Intent.YES, Intent.NO)), expected([Command(Intent.FIRE)], ())
    (-2.0, 1.0, 0.0)
    """
    intents = {c.intent for c in meanings}
    if not intents or intents & DANGER:
        return 0.0
    if intents & frozenset(accepts):
        return OPEN
    return -BARE if intents <= _BARE else 0.0
