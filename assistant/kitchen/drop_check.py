"""What is said about the oil before the burner is lit and before a drop: facts in, short sentences out (at most 12 words each).

Place on the path: State -> Speech. The session decides when (the full check before the burner is lit, because nobody can pour out hot oil; then
before each drop) and leaves 1.5 s between lines; the temperature and the words "go" and "hold" are the gate's, not this module's.

Sources
- oil at most a third of the pot, food and oil at most a half: Scottish, South Yorkshire, Cumbria, Cheshire, Cornwall, Kent and Norfolk fire services,
  Pennsylvania State Fire Commissioner; an electric fryer goes by its marks: its maker.
- lid or baking sheet nearby, handles turned in, children and pets 3 ft (a metre) away, stay with it: U.S. Fire Administration.
- dry food, no ice, lower slowly: NFPA, cooking with oil. Extinguisher of class K or F, never as a jet into the oil: NFPA 10.
- first drop in fresh oil as a small test batch, one differing thing a drop, patting, crumbs: common practice, no source.
"""

from __future__ import annotations

from assistant.kitchen.meal import OPEN_FLAME, Fry, Heat, Pot, Step


def full_check(pot: Pot, oil_thermometer: bool) -> tuple[str, ...]:
    """The whole check, spoken before the burner is lit. oil_thermometer: whether the kitchen has one."""
    fryer = pot.heat is Heat.FRYER
    lines = [
        "Before the heat: is the pot bone dry inside?",
        "Oil between the fryer's marks, never above." if fryer else "Oil no more than a third of the pot.",
        "Lid or metal tray within reach.",
        "Fryer back from the edge, cord tucked away." if fryer else "Handle turned in.",
        "Know where the extinguisher is, and the way out.",
        "Thermometer in the oil." if oil_thermometer else "No thermometer: half batches, and never leave it.",
        "Children and pets a metre away.",
        "Stay with hot oil. Never move the pot.",
    ]
    if pot.heat is Heat.OUTDOOR:
        lines.append("Outdoors only, level ground, away from walls.")
    if pot.heat in OPEN_FLAME:
        lines.append("Open flame: nothing that burns beside the pot.")
    return tuple(lines)


def cutting_check() -> tuple[str, ...]:
    """Once, before the first step with a knife."""
    return ("Dry hands, steady board, fingers tucked from the knife.",)


def drop_lines(pot: Pot, step: Step, drop: int, fresh: bool, before: Step | None = None) -> tuple[str, ...]:
    """What is said before a drop. drop: 1 for the first into this pot this evening; fresh: nothing has been fried in this oil; before: the fry
    step of the drop before it in this pot, None when there is none. An empty answer: nothing differs, "Go" and the temperature are enough.

    ValueError for a step that does not fry.
    """
    if step.fry is None:
        raise ValueError(f"{step.id} does not fry")
    flame = "Open flame: any drip lights." if drop == 1 and pot.heat in OPEN_FLAME else ""
    if fresh:
        lines = ("Fresh oil: first a small, dry test batch, lowered slowly.", _state(step.fry), f"Never water near the oil. {flame}".strip())
    elif drop == 1:
        lines = (_state(step.fry) or "Dry food only, away from you, slowly.", flame, "")
    else:
        lines = (_differs(step, before), "", "")
    return tuple(words for words in lines if words)


def _state(fry: Fry) -> str:
    """The one thing about this food that makes oil rise or splash, the worst first; empty when there is none."""
    if fry.frozen:
        return "Frozen: knock the ice off, half a batch."
    if fry.wet:
        return "Pat it dry: wet food foams."
    if fry.coated:
        return "Coated: let it drip, shake off loose crumbs."
    return ""


def _differs(step: Step, before: Step | None) -> str:
    """What this drop has that the one before had not. Crumbs that a coated batch left are skimmed at its lift, where that is said."""
    if before is None or before.fry is None or step.fry is None or before.id == step.id:
        return ""
    now, was = step.fry, before.fry
    state = _state(now)
    if state and state != _state(was):
        return state
    if step.raw_in and not before.raw_in:
        return "Raw now: its own tongs, its own plate."
    return ""
