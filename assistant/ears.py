"""The ports of hearing, built in one place: which engine hears, over which source. Heavy libraries are imported here, inside functions, so that
typed evenings never load them.

Which engine runs: a Vosk model found on this computer hears, and the embedded recogniser must agree where a mistake has consequences; without
such a model the embedded recogniser hears alone; where its model files do not fit this computer, Vosk hears alone; where there is neither, the
cook types.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from assistant.kitchen.meal import Meal, Name, names
from assistant.session.commands import DANGER, Intent
from assistant.session.food import ROOM
from assistant.session.leftovers import ALL
from assistant.settings import Settings
from assistant.understanding.expecting import Moment
from assistant.understanding.interpreter import Interpreter

if TYPE_CHECKING:
    from assistant.hearing.kitchen_ear import KitchenEar
    from assistant.hearing.listener import Ear
    from assistant.hearing.recogniser import Recogniser
    from assistant.hearing.vosk_ear import VoskEar


class NoEarError(Exception):
    """No engine can hear on this computer; one clear sentence."""


@dataclass(frozen=True, slots=True)
class Engines:
    """What hears. why: one sentence for the cook."""

    recogniser: Recogniser
    danger: Recogniser
    why: str


def interpreter_for(meal: Meal, settings: Settings) -> Interpreter:
    """Everything that can be said about this meal, about what is left of others, food that is in none, and the room."""
    others = (Name(ALL, "thing", (ALL,)), Name("something-else", "thing", ("something else",)), Name(ROOM, "thing", (ROOM,)))
    pots = meal.equipment.pots if len(meal.equipment.pots) > 1 else ()
    return Interpreter((*names(meal), *others, *(Name(x.id, "pot", (x.name,)) for x in pots)), settings.units)


def build_engines(
    interpreter: Interpreter,
    meal: Meal,
    settings: Settings,
    kitchen: KitchenEar | None = None,
    moment: Callable[[], Moment] = Moment,
) -> Engines:
    """The recognisers for this meal, and this kitchen if it is known; moment: what is going on now. NoEarError when nothing can hear."""
    from assistant.hearing.recogniser import RecogniserError

    vosk, wrong = None, ""
    try:
        vosk = _vosk(interpreter) if settings.vosk else None
    except RecogniserError as error:
        wrong = f"{error} "
    try:
        embedded, danger = _embedded(interpreter, meal, moment)
    except (RecogniserError, ImportError) as error:
        if vosk is None:
            raise NoEarError(f"{wrong}Nothing can hear on this computer: {error} Please type.") from None
        return Engines(vosk, vosk, f"Vosk hears alone: {error} {vosk.vocabulary}")
    known = ""
    if kitchen is not None:
        from assistant.hearing.kitchen_ear import Acquainted

        embedded, known = Acquainted(embedded, kitchen, lambda words: is_danger(interpreter, words)), f" {kitchen.sentence}"
    if vosk is None:
        return Engines(embedded, danger, f"{wrong or 'No Vosk model was found. '}The embedded recogniser hears.{known}")
    from assistant.hearing.two_ears import TwoEars

    why = f"Vosk hears; where a mistake matters the embedded recogniser must agree. {vosk.vocabulary}{known}"
    return Engines(TwoEars(vosk, embedded, lambda w: interpreter.interpret(w).result), danger, why)


def _vosk(interpreter: Interpreter) -> VoskEar | None:
    from assistant.hearing.vosk_ear import VoskEar, find_model, phrases_of

    folder = find_model(interpreter.language)
    if folder is None:
        return None
    return VoskEar(folder, phrases_of(interpreter.automaton), interpreter.complete, lambda words: is_danger(interpreter, words))


def _embedded(interpreter: Interpreter, meal: Meal, moment: Callable[[], Moment]) -> tuple[Recogniser, Recogniser]:
    from assistant.hearing.embedded import Embedded
    from assistant.hearing.model import Moonshine

    model = Moonshine()
    said = names(meal)
    return Embedded.for_session(model, interpreter, said, moment=moment), Embedded.for_session(model, interpreter, said, danger_only=True)


def is_danger(interpreter: Interpreter, words: str) -> bool:
    """Whether these words report a danger."""
    return any(m.intent in DANGER and m.intent is not Intent.FALSE_ALARM for m in interpreter.interpret(words).meanings())


def build_ear(interpreter: Interpreter, engines: Engines, keep_sound: bool = False) -> Ear:
    """Voice activity, endpoints and recogniser put together. keep_sound: the cook asked for recordings."""
    from assistant.hearing.endpoint import Follow
    from assistant.hearing.listener import Ear
    from assistant.hearing.voice_activity import VoiceDetector

    def danger(words: str) -> bool:
        return is_danger(interpreter, words)

    def follows(words: str) -> Follow:
        if danger(words):
            return Follow.NOTHING  # nobody is made to wait who shouts "fire"
        if not interpreter.complete(words):
            return Follow.UNFINISHED
        return Follow.MORE if interpreter.can_continue(words) else Follow.NOTHING

    return Ear(VoiceDetector(), engines.recogniser, follows, danger, engines.danger, keep_sound=keep_sound)
