"""A command in the few words in which it is said back, to be confirmed ("Did you mean chips out?"). Under the rules of `speaking.prompts`.

What is said back is never a sentence that acts: no danger word, no command that is heard while we speak.
"""

from __future__ import annotations

from assistant.session.commands import Command, Intent
from assistant.session.state import State
from assistant.session.turn import Turn, spoken
from assistant.speaking import prompts as p

_WORDS: dict[Intent, str] = {
    Intent.WHATS_NEXT: "what is next",
    Intent.REPEAT: "to hear that again",
    Intent.WHICH_STEP: "which step this is",
    Intent.HOW_LONG: "how long for {item}",
    Intent.WHEN_DROP: "when {item} {goes} in",
    Intent.WHATS_RUNNING: "what is running",
    Intent.WHAT_FORGOTTEN: "what you forgot",
    Intent.OIL_READY: "whether the oil is ready",
    Intent.BATCHES_LEFT: "how many batches are left",
    Intent.HOW_MANY: "how many go in",
    Intent.WHEN_EAT: "when we eat",
    Intent.KEEPS: "how long {item} {keeps}",
    Intent.WHAT_TIME: "what time it is",
    Intent.HOW_DOING: "how we are doing",
    Intent.CAN_SIT: "whether you can sit",
    Intent.WHO_CAN_EAT: "who can eat {item}",
    Intent.WHAT_TEMP: "what temperature for {item}",
    Intent.WHAT_IF: "what to do in danger",
    Intent.HELP: "that you want help",
    Intent.WHAT_TO_SAY: "what you can say",
    Intent.BEGIN: "that {item} {begins}",
    Intent.DONE: "that {item} {is} done",
    Intent.EVERYONE_HERE: "that everyone is here",
    Intent.DROPPING: "that {item} {goes} in now",
    Intent.DROP: "that {item} {is} in",
    Intent.LIFT: "that {item} {is} out",
    Intent.MORE_TIME: "{value} more for {item}",
    Intent.CORE: "core at {value}",
    Intent.OIL_TEMP: "oil at {value}",
    Intent.BURNER: "burner {level}",
    Intent.TURN_BURNER: "that I turn the {place} {level}",
    Intent.OVEN: "oven {level}",
    Intent.OVEN_TEMP: "oven at {value}",
    Intent.OVEN_READY: "how the oven is",
    Intent.TEST_BATCH: "that the test batch is in",
    Intent.FOAM_SETTLED: "that the foam is down",
    Intent.FRESH_OIL: "fresh oil",
    Intent.TOPPED_UP: "{value} of oil added",
    Intent.PLACE: "{item} to the {place}",
    Intent.NO_THERMOMETER: "that there is no thermometer",
    Intent.BREAD: "bread golden in {value}",
    Intent.OUT_OF: "that {item} {has} run out",
    Intent.HELPER_HERE: "that a helper has come",
    Intent.HELPER_LEFT: "that the helper has left",
    Intent.RUNNING_LATE: "{value} late",
    Intent.LATE_GUESTS: "that guests are late",
    Intent.HEADCOUNT: "{value} people",
    Intent.SERVE_AT: "serving at {value}",
    Intent.DROP_ANYWAY: "to drop all the same",
    Intent.QUALITY: "that {item} came out {look}",
    Intent.SERVED: "that dinner is served",
    Intent.NOTE: "to keep a note",
    Intent.GO_BACK: "to go back a step",
    Intent.SKIP: "to leave out {item}",
    Intent.SET_CLOCK: "a clock for {value}",
    Intent.CANCEL_CLOCK: "to clear a clock",
    Intent.HOLD: "a pause in everything",
    Intent.CARRY_ON: "to go on",
    Intent.QUIET: "that I talk less",
    Intent.LOUDER: "a louder voice",
    Intent.SOFTER: "a softer voice",
    Intent.SLOWER: "a slower voice",
    Intent.YES: "yes",
    Intent.NO: "no",
    Intent.UNDO: "to take that back",
    Intent.ANSWER: "a figure",
    Intent.SWITCHED: "that it is {level}",
    Intent.FIRE: "danger at the stove",
    Intent.FOAMING: "that foam rises",
    Intent.BOILING_OVER: "that the pot runs over",
    Intent.SPITTING: "that oil jumps out",
    Intent.SMOKING: "that there are fumes",
    Intent.SPILL: "that oil ran out",
    Intent.BURNED: "that somebody is hurt",
    Intent.FALSE_ALARM: "that all is safe",
}


_MANY = {"is": "are", "has": "have", "goes": "go", "begins": "begin", "keeps": "keep"}
"""Verbs after one thing, and after several."""


def ask_whether(turn: Turn, meant: Command) -> None:
    """Ask whether this was meant; it is done on a yes."""
    turn.ask("guess", p.did_you_mean(said_back(turn.state, meant)), (Intent.YES, Intent.NO), pending=meant)


def said_back(state: State, command: Command) -> str:
    """The command in at most nine words."""
    name = spoken(state, command.item) if command.item else ""
    value = ""
    if command.celsius is not None:
        value = p.degrees(command.celsius, state.units)
    elif command.seconds is not None:
        value = p.duration(command.seconds)
    elif command.day_s is not None:
        value = p.day_time(command.day_s)
    elif command.count is not None:
        value = p.number(command.count) + (f" {command.sign}" if command.sign else "")
    elif command.litres is not None:
        value = f"{command.litres * 1000:.0f} millilitres"
    words = _WORDS[command.intent]
    place = command.place or ("burner" if command.intent is Intent.TURN_BURNER else "")
    if command.intent is Intent.TURN_BURNER and value:
        words = "that I turn the {place} to {value}"
    if not value:
        words = words.removesuffix(" for {value}")
    if not name:
        words = words.removesuffix(" for {item}")
    verbs = {one: several if p.are_many(name) else one for one, several in _MANY.items()}
    return words.format(item=name or "it", value=value, level=command.level, place=place, look=command.look, **verbs)
