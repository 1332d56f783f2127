"""Which understood sentences are let through: two people talking must not drive the kitchen.

On the path: Reading -> **Command or Reject** -> session. Pure: everything it needs to know of the moment is in an `Ear`.

Rules, in this order:
1. Danger words act bare, at any moment, over any speech. While there is hot oil, so do "help" and a question about a danger ("how do I put out a
   fire"): nobody should have to ask that twice.
2. While the assistant speaks and for 300 ms after, nothing else is heard but quiet and hold everything.
3. An answer that an open question accepts is taken bare. Of several meanings of a sentence the one that the question accepts wins.
   A bare value is understood only so.
4. Everything else must be addressed: by the address word, or (setting `sometimes`) by coming within 8 s after the assistant spoke. With `never` whole
   sentences need no address at any time, but single words still do; with `always` only the address word counts.
5. What was not understood is passed on (to be asked about) only when it was addressed by the word, or names a near sentence inside the open
   window; everything else is two people talking.
Typed sentences are addressed and are never drowned by speech; rule 3 about bare values holds for them too.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from assistant.session.commands import BARE_VALUES, DANGER, OVER_SPEECH, Command, Intent, Reject
from assistant.understanding.interpreter import Reading

ECHO_S = 0.3
"""How long after the assistant's own words its echo may still be heard, s."""

Addressing = Literal["sometimes", "always", "never"]


@dataclass(frozen=True, slots=True)
class Ear:
    """The moment in which something was said. speaking: the assistant was speaking when it began; since_spoken_s: s from the end of the
    assistant's last words to its beginning (infinite: none yet); question_accepts: intents that the one open question takes, empty when none is
    open; address: when the address word is needed; hot_oil: there is oil on the heat; window_s: how long the address word may be left out after the
    assistant spoke, s."""

    speaking: bool = False
    since_spoken_s: float = float("inf")
    question_accepts: frozenset[Intent] = frozenset()
    address: Addressing = "sometimes"
    hot_oil: bool = False
    window_s: float = 8.0


def admit(reading: Reading, ear: Ear) -> Command | Reject:
    """The command to act on, or why there is none."""
    meanings = reading.meanings()
    urgent = DANGER | {Intent.HELP, Intent.WHAT_IF} if ear.hot_oil else DANGER
    for meaning in meanings:
        if meaning.intent in urgent:
            return meaning
    words = reading.result.words
    if not reading.typed and (ear.speaking or ear.since_spoken_s < ECHO_S):
        allowed = [meaning for meaning in meanings if meaning.intent in OVER_SPEECH]
        return allowed[0] if allowed else Reject(words, "speaking")
    for meaning in meanings:
        if meaning.intent in ear.question_accepts:
            return meaning
    window = ear.address != "always" and ear.since_spoken_s <= ear.window_s
    if isinstance(reading.result, Reject):
        near = reading.result.guess is not None or reading.result.reason == "value"
        asked = reading.addressed or (near and (window or bool(ear.question_accepts)))
        return reading.result if asked else Reject(words, "not_addressed")
    if not (reading.addressed or window or (ear.address == "never" and not reading.single)):
        return Reject(words, "not_addressed")
    commands = [meaning for meaning in meanings if meaning.intent not in BARE_VALUES]
    return commands[0] if commands else Reject(words, "unknown")
