"""From what was typed or heard to a command, given what is going on in the evening: the grammar, then the gate."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from assistant.evening import Evening
from assistant.session.commands import Command, Intent, Reject
from assistant.session.state import State, Status
from assistant.settings import Settings
from assistant.understanding.again import Unsure, together
from assistant.understanding.expecting import Moment, cooked_or_not
from assistant.understanding.gate import Ear as EarState
from assistant.understanding.gate import admit
from assistant.understanding.interpreter import Interpreter, Reading

if TYPE_CHECKING:
    from assistant.hearing.utterance import Utterance


def accepted(state: State) -> frozenset[Intent]:
    """What the open questions take."""
    return frozenset(Intent(a) for q in state.questions for a in q.accepts)


def moments(evening: Evening) -> Callable[[], Moment]:
    """What is going on in this evening, whenever it is asked (the ear does so in its own thread)."""
    raw, uncooked = cooked_or_not(evening.state.meal)

    def now() -> Moment:
        state = evening.state
        running = any(run.status is Status.RUNNING for run in state.steps.values())
        (pot,) = state.pots.values() if len(state.pots) == 1 else (None,)
        oil_c = pot.estimate.oil_c if pot is not None and pot.estimate is not None and pot.read_t is not None else None
        return Moment(accepted(state), raw, uncooked, bool(state.in_heat()), running or bool(state.clocks), oil_c)

    return now


class Understander:
    """Words to command, given what is going on: the grammar, then the gate."""

    def __init__(self, interpreter: Interpreter, settings: Settings) -> None:
        self.interpreter = interpreter
        self._address = settings.address
        self._asked_about: Unsure | None = None

    def typed(self, words: str, evening: Evening) -> tuple[Command | Reject, str]:
        """A typed line is meant for us; a slip of a letter or two is forgiven: (the command, the sentence as it was read if it was corrected)."""
        self._asked_about = None
        reading = self.interpreter.interpret(words, now_day_s=evening.state.day_at(evening.kitchen_time()), typed=True)
        return admit(reading, self._ear(evening.state, speaking=False, since_s=0.0)), reading.corrected or ""

    def heard(self, utterance: Utterance, evening: Evening, speaking: bool, since_s: float) -> Command | Reject:
        """What the ear heard, through the gate; unsure words are asked again, and acted on only if they are then heard again."""
        state = evening.state
        reading = self.interpreter.interpret(utterance.words, now_day_s=state.day_at(evening.kitchen_time()))
        admitted = admit(reading, self._ear(state, speaking, since_s))
        if isinstance(admitted, Reject) and admitted.reason in ("not_addressed", "speaking"):
            return admitted
        first = self._asked_about
        if isinstance(admitted, Reject) or utterance.sure:
            self._asked_about = None
            return admitted
        unsure = self._unsure(admitted, utterance, evening)
        if first is not None and unsure is not None and together(first, unsure):
            self._asked_about = None
            return admitted
        if not self._meant(reading, admitted, state):
            return Reject(utterance.words, "not_addressed")
        self._asked_about = unsure
        return Reject(utterance.words, "unsure")

    def _unsure(self, command: Command, utterance: Utterance, evening: Evening) -> Unsure | None:
        """What is kept of it, unless one hearing more must not decide: in a danger's script, and where a core's temperature was asked for."""
        state, belief = evening.state, utterance.scores.belief
        if belief is None or state.script is not None or Intent.CORE in accepted(state):
            return None
        return Unsure(command, belief, evening.kitchen_time(), state.questions[-1].id if state.questions else "")

    def _meant(self, reading: Reading, command: Command, state: State) -> bool:
        return reading.addressed or any(str(command.intent) in q.accepts for q in state.questions)

    def _ear(self, state: State, speaking: bool, since_s: float) -> EarState:
        accepts = accepted(state)
        hot = any(pot.on or pot.drops > 0 for pot in state.pots.values())
        return EarState(speaking=speaking, since_spoken_s=since_s, question_accepts=accepts, address=self._address, hot_oil=hot)
