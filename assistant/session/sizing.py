"""A pot nobody has measured: asked for once, piece by piece, while its oil is cold. What stays unknown is taken carefully.

A question's id is `pot:<id>:<what>`, what being width, height, oil or burner. A size outside sense is said so and asked once more; a piece that was
asked and not answered is not asked again, and the model's careful value stands for it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

from assistant.kitchen.meal import OPEN_FLAME, Heat
from assistant.kitchen.oil.described import PotTold, ToldError
from assistant.session import events as e
from assistant.session import oil_care
from assistant.session.commands import Command, Intent
from assistant.session.state import Question, State, Status
from assistant.session.turn import Turn
from assistant.speaking import prompts as p

WAIT_S = 120.0
"""Whoever measures has to look for a ruler, s."""
INCH_M = 0.0254
MOST_INCHES = 20.0
"""A bare number above this is centimetres for everybody: nobody fries at home in a pot of 21 inches."""

_HEATS = frozenset({Heat.GAS, Heat.INDUCTION, Heat.COIL, Heat.FRYER})
_ASIDE = {"width": {"width_m": 0.26}, "height": {"height_m": 0.15}, "oil": {"litres": 2.0}, "burner": {"power_unknown": True}}
"""Stands for a piece that was asked and not told, only to find what to ask next."""


def agenda(state: State) -> Iterator[tuple[float, int, str, Callable[[Turn], None]]]:
    """(when, rank, key, act): the next piece of the first pot that lacks one, as soon as no other question is open."""
    if state.questions:
        return
    if state.thermometer and not state.had_thermometer and "thermometer" not in state.told:
        yield state.t, 6, "thermometer", _ask_thermometer
        return
    for pot in state.meal.equipment.pots:
        what = to_ask(state, pot.id)
        if what is not None:
            yield state.t, 6, f"pot:{pot.id}:{what}", _ask(pot.id, what)
            return


def to_ask(state: State, pot_id: str) -> str | None:
    """width, height, oil or burner; None where all is known or was asked, the oil is being heated, or nothing more is fried in it."""
    run = state.pots[pot_id]
    frying = any(s.fry is not None and s.fry.pot == pot_id and state.steps[s.id].status is Status.TODO for s in state.meal.steps())
    if run.on or run.drops > 0 or not frying:
        return None
    told = _known(state, pot_id)
    heat = _heat(state, pot_id)
    while (what := told.missing(heat)) is not None:
        if f"pot:{pot_id}:{what}" not in state.told:
            return what
        told = replace(told, **_ASIDE[what])  # type: ignore[arg-type]
    return None


def _heat(state: State, pot_id: str) -> Heat:
    card = next(x.heat for x in state.meal.equipment.pots if x.id == pot_id)
    return state.pots[pot_id].told.heat or card


def _known(state: State, pot_id: str) -> PotTold:
    """What the card and the cook say together."""
    pot = next(x for x in state.meal.equipment.pots if x.id == pot_id)
    told = state.pots[pot_id].told
    return replace(
        told,
        width_m=pot.width_m if told.width_m is None else told.width_m,
        height_m=pot.height_m if told.height_m is None else told.height_m,
        litres=pot.oil_litres if told.oil_litres is None else told.litres,
        power_w=pot.power_w if told.power_w is None and told.ring is None and told.heat in (None, pot.heat) else told.power_w,
    )


def _ask_thermometer(turn: Turn) -> None:
    """There was none the last time: whether one was bought."""
    turn.happen(e.Told(turn.t, "thermometer"))
    turn.ask("thermometer", p.THERMOMETER_NOW, (Intent.YES, Intent.NO, Intent.NO_THERMOMETER), wait_s=WAIT_S)


def _ask(pot_id: str, what: str) -> Callable[[Turn], None]:
    def act(turn: Turn) -> None:
        if _heat(turn.state, pot_id) in OPEN_FLAME and not turn.told("safer"):
            turn.say(p.SAFER_HEAT)
        turn.happen(e.Told(turn.t, f"pot:{pot_id}:{what}"))
        _put(turn, pot_id, what)

    return act


def _put(turn: Turn, pot_id: str, what: str) -> None:
    name = next(x.name for x in turn.state.meal.equipment.pots if x.id == pot_id)
    words = p.ask_pot(what, name, fryer=_heat(turn.state, pot_id) is Heat.FRYER)
    turn.ask(f"pot:{pot_id}:{what}", words, (Intent.ANSWER,), wait_s=WAIT_S)


def answer(turn: Turn, question: Question, command: Command) -> bool:
    """Take a bare value for a question about a pot; False when it is no value for that."""
    pot_id, _, what = question.id.removeprefix("pot:").rpartition(":")
    if command.level == "unknown":
        turn.happen(e.Answered(turn.t, question.id, "unknown"))
        if what == "burner":
            turn.happen(e.PotSized(turn.t, pot_id, "power_unknown", 1.0))
        turn.say(p.POT_UNKNOWN)
        return True
    if command.level in _HEATS:
        turn.happen(e.Answered(turn.t, question.id, "value"))
        turn.happen(e.PotSized(turn.t, pot_id, "heat", 0.0, command.level))
        if what == "burner" or _heat(turn.state, pot_id) is not Heat.FRYER:
            _put(turn, pot_id, what)  # that was no answer to it
        return True
    sized = _sized(turn.state, pot_id, what, command, turn.t)
    if sized is None:
        return False
    known = _known(turn.state, pot_id)
    changed = {"ring": sized.ring} if sized.what == "ring" else {sized.what: sized.value}
    try:
        replace(known, **changed).check()
    except ToldError as wrong:
        turn.happen(e.Answered(turn.t, question.id, "value"))
        if turn.told(f"{question.id}:again"):
            turn.say(p.POT_UNKNOWN)
        else:
            turn.ask(question.id, _refusal(turn.state, wrong, command.words), (Intent.ANSWER,), wait_s=WAIT_S)
        return True
    turn.happen(e.Answered(turn.t, question.id, "value"))
    if sized.what == "depth_m" and known.width_m is not None:
        litres = replace(known, litres=None, depth_m=sized.value).oil_litres
        sized = e.PotSized(turn.t, pot_id, "litres", litres or 0.0)
    turn.happen(sized)
    if to_ask(turn.state, pot_id) is None:
        turn.say(p.POT_KNOWN)
        oil_care.check_full(turn, pot_id)
    return True


_UNITS = {"inch": (INCH_M, "inches"), "centi": (0.01, "centimetres"), "milli": (0.001, "millimetres")}
_VOLUMES = {"quart": (0.946352946, "quarts"), "gallon": (3.785411784, "gallons"), "pint": (0.473176473, "pints"), "bottle": (1.0, "bottles")}
_POWERS = {"btu": (0.29307107, "BTU"), "kilowatt": (1000.0, "kilowatts")}


def _refusal(state: State, wrong: ToldError, words: str) -> str:
    """A size outside sense in the unit that was said, or else the cook's own."""
    if wrong.what == "oil":
        said, usual = _VOLUMES, (1.0, "litres")
    elif wrong.what == "power":
        said, usual = _POWERS, (1.0, "watts")
    else:
        said, usual = _UNITS, _UNITS["inch" if state.units == "F" else "centi"]
    scale, unit = next((found for word, found in said.items() if word in words.lower()), usual)
    return p.odd_size(wrong.what, wrong.value / scale, wrong.least / scale, wrong.most / scale, unit)


def _sized(state: State, pot_id: str, what: str, command: Command, t: float) -> e.PotSized | None:
    number = command.number if command.number is not None else command.count
    inches = state.units == "F" and number is not None and number <= MOST_INCHES
    metres = command.metres if command.metres is not None else None if number is None else number * (INCH_M if inches else 0.01)
    if what in ("width", "height"):
        return None if metres is None else e.PotSized(t, pot_id, f"{what}_m", metres)
    if what == "oil":
        litres = command.litres if command.litres is not None else number  # a bare number: litres, because more oil is the careful reading
        if litres is not None:
            return e.PotSized(t, pot_id, "litres", float(litres))
        return None if command.metres is None else e.PotSized(t, pot_id, "depth_m", command.metres)
    if command.level in ("small", "medium", "large"):
        return e.PotSized(t, pot_id, "ring", 0.0, command.level)
    return None if number is None else e.PotSized(t, pot_id, "power_w", float(number))
