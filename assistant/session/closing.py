"""Dinner is up: the burners and the oven are asked about until that is answered, then what must still be looked after is said.

Rules. One question at a time, so that yes and no mean it. After a no it is to be turned off and is asked once more; so is silence, and whoever
answers neither is not there: the rest is said all the same. Where this stands is in what was told, so that a danger or a crash loses nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from assistant.kitchen.hazards import closing_check, off_questions
from assistant.kitchen.meal import Keep, StepKind
from assistant.session import danger, food, oil_care, oven
from assistant.session import events as e
from assistant.session.commands import Intent
from assistant.session.state import State, Status
from assistant.session.turn import Turn
from assistant.speaking import prompts as p

ASK = "off:"
"""Ids of the questions, and what was told of them, begin so; "burner" or "oven" follows."""
_AGAIN, _NOBODY, _SAID = "off-again:", "off-nobody", "closed"
ANSWER_S = 20.0
SWITCH_S = 45.0
"""Whoever said no has to walk to the stove."""


def dinner_up(turn: Turn) -> None:
    """The last step is done, or the cook says so."""
    for key in [k for k in turn.state.told if k.startswith((ASK, _AGAIN)) or k in (_NOBODY, _SAID)]:
        turn.happen(e.Untold(turn.t, key))
    turn.close(ASK)
    turn.happen(e.Told(turn.t, "dinner"))
    for pot_id in [i for i, pot in turn.state.pots.items() if pot.on]:  # the first question says it; the oil's own call comes after it
        turn.happen(e.Told(turn.t, f"last:{pot_id}"))
        turn.happen(e.FlameAdvised(turn.t, pot_id, "off"))
    turn.close("flame:")
    plated = any(s.kind is StepKind.PLATE and turn.state.steps[s.id].status is Status.DONE for s in turn.state.meal.steps())
    turn.say(p.DINNER_UP if plated or not turn.state.hazard else p.NOTHING_TO_SERVE)


def agenda(state: State) -> Iterator[tuple[float, int, str, Callable[[Turn], None]]]:
    """(when, rank, key, act): the next question, or the rest."""
    if "dinner" in state.told and _SAID not in state.told and not any(q.id.startswith(ASK) for q in state.questions):
        yield state.t, 4, "closing", _go_on


def answered(turn: Turn, what: str, how: str) -> None:
    """One of the questions was answered with yes, no or silence."""
    if how == "yes" and what == "burner":
        for pot_id in [i for i, pot in turn.state.pots.items() if pot.on]:
            danger.heat_is_off(turn, pot_id)
    if how == "no":
        turn.say(p.TURN_IT_OFF)
    if how != "yes" and not turn.told(f"{_AGAIN}{what}"):
        _ask(turn, what, SWITCH_S if how == "no" else ANSWER_S)
    elif how == "silence":
        turn.happen(e.Told(turn.t, _NOBODY))


def _questions(state: State) -> dict[str, str]:
    return off_questions(any(pot.on for pot in state.pots.values()), _oven_used(state))


def _oven_used(state: State) -> bool:
    """Whether the oven may be on: it was not called off, and something baked or was kept warm in it, or it was to be heated."""
    if oven.OFF in state.told:
        return False
    for step in state.meal.steps():
        done = state.steps[step.id].status in (Status.RUNNING, Status.DONE)
        if step.bake is not None and (done or f"preheat:{step.id}" in state.told):
            return True
        if done and step.hold is not None and step.hold.keep is Keep.OVEN:
            return True
    return oven.ON in state.told or any(place == "oven" for place, _ in state.places.values())


def _ask(turn: Turn, what: str, wait_s: float) -> None:
    accepts = (Intent.YES, Intent.NO, Intent.SWITCHED, Intent.TURN_BURNER, Intent.BURNER, Intent.OVEN)
    turn.ask(f"{ASK}{what}", _questions(turn.state)[what], accepts, wait_s)


def _go_on(turn: Turn) -> None:
    left = [what for what in _questions(turn.state) if f"{ASK}{what}" not in turn.state.told]
    for what in left:
        turn.happen(e.Told(turn.t, f"{ASK}{what}"))
        if _NOBODY not in turn.state.told:
            _ask(turn, what, ANSWER_S)
            return
        turn.say(_questions(turn.state)[what])
    _rest(turn)


def _rest(turn: Turn) -> None:
    turn.happen(e.Told(turn.t, _SAID))
    state = turn.state
    used = [pot_id for pot_id, pot in state.pots.items() if pot.drops > 0]
    away = [(name, p.day_time(state.day_at(by))) for name, by in food.still_to_put_away(state, turn.t)]
    turn.say_list(closing_check(bool(used), away))
    if used:
        turn.say(p.OIL_COOLS)
    for pot_id in used:
        if f"{oil_care.COLD}{pot_id}" not in state.clocks:
            oil_care.set_cold_clock(turn, pot_id)
    oil_care.ask_signs(turn)
