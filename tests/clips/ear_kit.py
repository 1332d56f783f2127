"""What the tests on recordings share: the ear as the program builds it, once a process, for the meal that the clips are about."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from assistant.ears import build_ear, build_engines, interpreter_for
from assistant.hearing.listener import Ear
from assistant.kitchen.cards import find_meal, read_card
from assistant.settings import Settings
from assistant.understanding.interpreter import Interpreter

FIXTURES = Path(__file__).resolve().parents[2] / "audio_fixtures"


@cache
def ears() -> tuple[Interpreter, Ear]:
    """The grammar, and the ear that hears inside it. An ear keeps nothing from one source to the next."""
    meal, settings = read_card(find_meal("fish-supper")), Settings(vosk=False)
    interpreter = interpreter_for(meal, settings)
    return interpreter, build_ear(interpreter, build_engines(interpreter, meal, settings))
