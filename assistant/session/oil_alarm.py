"""A pot that gets too hot, or that nobody answers for: one voice. Of its alarms only the worst stands, each with one order, the burner first.

On the path: Event -> State -> Speech; `oil` calls it at every look at a pot and after every reading. At 230 C the fire script is armed: a yes to "Any
flame?" begins it. With the burner off there is nothing left to order.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from assistant.kitchen.oil import runaway
from assistant.kitchen.oil.runaway import Danger
from assistant.session import events as e
from assistant.session.commands import Intent
from assistant.speaking import prompts as p

if TYPE_CHECKING:
    from assistant.session.state import State
    from assistant.session.turn import Turn

KINDS = ("unattended", "hot", "hot-now", "armed")
"""Alerts of one pot, the worst last."""
ARMED_S = 1800.0
READ_S = 60.0
"""So long what was read is said as it is; later, and of oil nobody has read, only that it may be so."""
_CLEARS = "a reading that shows it cooler, or the burner off"


def sound(turn: Turn, pot_id: str, danger: Danger, bound_c: float) -> bool:
    """Raise, change or clear the alarm of a pot; whether one stands. bound_c: how hot its oil may be, C."""
    state, run = turn.state, turn.state.pots[pot_id]
    standing = next((k for k in reversed(KINDS) if f"{k}:{pot_id}" in state.alerts), None)
    kind = _kind(danger, bound_c) if run.on else None
    if kind is None:
        if standing is not None:
            heard = state.heard_t > state.alerts[f"{standing}:{pot_id}"].raised_t
            _clear(turn, pot_id, acted=heard)  # else it passed by itself
        return False
    worse = standing is None or KINDS.index(kind) > KINDS.index(standing)
    if worse or (kind != standing and bound_c < runaway.WARN_C):  # or smoke alone is left
        _clear(turn, pot_id, acted=not worse)
        _raise(turn, pot_id, kind, bound_c)
    return True


def sounding(state: State) -> str | None:
    """The pot whose alarm stands."""
    return next((pot_id for kind in KINDS for pot_id in state.pots if f"{kind}:{pot_id}" in state.alerts), None)


def _kind(danger: Danger, bound_c: float) -> str | None:
    match danger:
        case Danger.NONE:
            return None
        case Danger.UNATTENDED if bound_c < runaway.WARN_C:
            return "unattended"
        case Danger.UNATTENDED | Danger.WARN:
            return "hot"
        case Danger.HEAT_OFF:
            return "hot-now"
    return "armed"


def _raise(turn: Turn, pot_id: str, kind: str, bound_c: float) -> None:
    run = turn.state.pots[pot_id]
    read = run.read_t is not None and turn.t - run.read_t <= READ_S
    may_be = f"the oil may be at {p.degrees(bound_c, turn.state.units)}"
    cause, words = {
        "unattended": ("nobody answered when the oil should be ready", p.STILL_ON),
        "hot": (may_be, p.TOO_HOT if read else p.TOO_HOT_MAYBE),
        "hot-now": (may_be, p.HEAT_OFF_NOW if read else p.HEAT_OFF_MAYBE)
        if bound_c >= runaway.HEAT_OFF_C
        else ("it smoked, and nobody said that the heat is off", p.OFF_UNTIL_CLEAR),
        "armed": (may_be, p.ANY_FLAME),
    }[kind]
    if kind == "armed":
        turn.happen(e.Asked(turn.t, f"armed:{pot_id}", (str(Intent.YES), str(Intent.NO)), turn.t + ARMED_S))
    turn.alert(f"{kind}:{pot_id}", "high", cause, _CLEARS, words)


def _clear(turn: Turn, pot_id: str, acted: bool) -> None:
    turn.close(f"armed:{pot_id}")
    for kind in KINDS:
        turn.clear(f"{kind}:{pot_id}", acted=acted)


def heat_off(turn: Turn, pot_id: str) -> None:
    """The burner was turned off: what warned of its heat is over."""
    _clear(turn, pot_id, acted=True)
