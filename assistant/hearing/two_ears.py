"""Vosk hears, the embedded recogniser confirms: two ears on one sound, for commands whose mistake costs food or safety.

Rules: a temperature, a clock and a skip need the same command from both, slots included; otherwise the utterance is handed on unsure with the reason
`ears disagree`, and understanding asks. Everything else is Vosk's alone, and the second ear is not paid for.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from assistant.hearing.recogniser import Recogniser, Samples
from assistant.hearing.utterance import Utterance
from assistant.session.commands import Command, Intent, Reject

CONSEQUENCES = frozenset({Intent.CORE, Intent.OIL_TEMP, Intent.SET_CLOCK, Intent.CANCEL_CLOCK, Intent.MORE_TIME, Intent.SKIP})
"""Commands that both ears must hear; so must every answer that holds a temperature or a time."""


class TwoEars(Recogniser):
    """first: the ear that hears; second: the one that confirms; meaning: what words say in this meal."""

    def __init__(self, first: Recogniser, second: Recogniser, meaning: Callable[[str], Command | Reject]) -> None:
        self._first, self._second, self._meaning = first, second, meaning

    @property
    def name(self) -> str:
        return self._first.name

    def recognise(self, samples: Samples, start_s: float = 0.0, end_s: float = 0.0) -> Utterance:
        """What the first ear heard; unsure where it matters and the second heard otherwise."""
        heard = self._first.recognise(samples, start_s, end_s)
        command = self._meaning(heard.words)
        if not heard.sure or not isinstance(command, Command) or not _has_consequences(command):
            return heard
        again = self._second.recognise(samples, start_s, end_s)
        other = self._meaning(again.words)
        took_ms = heard.decode_ms + again.decode_ms
        if isinstance(other, Command) and (other.intent, other.slots()) == (command.intent, command.slots()):
            return replace(heard, decode_ms=took_ms)
        return replace(heard, sure=False, reason="ears disagree", second=again.words, decode_ms=took_ms)


def _has_consequences(command: Command) -> bool:
    return command.intent in CONSEQUENCES or command.celsius is not None or (command.intent is Intent.ANSWER and command.seconds is not None)
