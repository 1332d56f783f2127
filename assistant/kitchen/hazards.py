"""What a hazard means for the evening besides the words said at once: raw juice near ready food, a burner that stays off, what to change. Pure.

Place on the path: State -> Speech. `scripts` has the words spoken in danger itself.

Rules
- From raw animal food to anything else that hands touch: wash, new board, new knife, once for each such step; tongs that lowered raw food never lift
  cooked food (USDA FSIS, be food safe: separate; FDA Food Code 3-302.11, from memory).
- After a boil-over the burner stays off until the foam is down and drips are cool and wiped; after smoke until the air is clear and the oil was read;
  after a spill until the floor is washed; after a fire that pot is finished for the evening (common practice, no source).
- A pot that rose gets less food, less oil or drier food, by what was true of that batch; hot oil is never poured out.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from assistant.kitchen.meal import Step, StepKind

SEPARATE = "USDA FSIS, be food safe: separate raw from ready; FDA Food Code 3-302.11 (from memory)"
SMOKE_C = 200.0
"""Oil hotter than this smokes because it is too hot; cooler oil that smokes is worn (refined oils' smoke points 200 C and more, reused ones 190)."""

_CLEAN = {StepKind.HANDS: "new board, new knife", StepKind.TOSS: "clean bowl", StepKind.PLATE: "clean plates", StepKind.FRY: "clean tongs"}
_HANDS = frozenset({StepKind.HANDS, StepKind.TOSS, StepKind.PLATE, StepKind.FRY})


def touches(step: Step) -> bool:
    """Whether hands touch food in this step; in the oven or on the stove they do when the card says so."""
    return step.kind in _HANDS or step.hands_s > 0.0


def clean_first(last: Step | None, step: Step) -> str:
    """What must be clean before a step after raw food, as an order without its full stop; empty where nothing must. last: the step that hands touched
    before it."""
    if last is None or not last.raw_in or step.raw_in or not touches(step):
        return ""
    clean = _CLEAN.get(step.kind, "")
    if "wash" in last.text.lower():
        # the card has said it already; what is left is the board that the next food lies on
        return f"{clean[:1].upper()}{clean[1:]}" if step.kind is StepKind.HANDS else ""
    return f"Wash hands, {clean}" if clean else "Wash hands"


def crossing(last: Step | None, step: Step) -> str:
    """The same as a sentence of its own that names the step: at most 12 words with a name of up to four."""
    clean = clean_first(last, step)
    if not clean:
        return ""
    name = step.said[0] if step.said else step.name
    return f"{clean}, then {name}." if clean.startswith("Wash") else f"{clean} for {name}."


def tongs(step: Step) -> str:
    """What to say before the first lift of a fry that lowers raw animal food; empty for others."""
    return "Clean tongs and a clean rack for the cooked pieces." if step.kind is StepKind.FRY and step.raw_in else ""


@dataclass(frozen=True, slots=True)
class RawPrompt:
    """step: before (or at the lift of) which step; at_lift; say: at most 12 words."""

    step: str
    at_lift: bool
    say: str


def raw_prompts(order: Iterable[Step]) -> tuple[RawPrompt, ...]:
    """Every prompt of this kind in the order in which the steps are done, each step's once."""
    found: list[RawPrompt] = []
    last: Step | None = None
    for step in order:
        if words := crossing(last, step):
            found.append(RawPrompt(step.id, False, words))
        if words := tongs(step):
            found.append(RawPrompt(step.id, True, words))
        if touches(step):
            last = step
    return tuple(found)


class Hazard(StrEnum):
    """What happened; the value is the name of its script."""

    FIRE = "fire"
    OVEN_FIRE = "oven_fire"
    BOIL_OVER = "boil_over"
    SMOKE = "smoke"
    SPILL = "spill"


_BEFORE_RELIGHTING: dict[Hazard, tuple[tuple[str, str], ...]] = {
    Hazard.BOIL_OVER: (("foam", "Is the foam down?"), ("wiped", "Drips cool and wiped off?")),
    Hazard.SMOKE: (("clear", "Is the air clear?"), ("read", "What does the oil read?")),
    Hazard.SPILL: (("cold", "Is that oil cold?"), ("wiped", "Stove wiped and floor washed?")),
}


def before_relighting(hazard: Hazard, told: frozenset[str]) -> tuple[str, str] | None:
    """The (id, question) that is still open before the burner may be lit again, None when it may. told: ids answered yes. `never`: not this evening.

    >>> before_relighting(Hazard.BOIL_OVER, frozenset({"foam"}))
    ('wiped', 'Drips cool and wiped off?')
    """
    if hazard in (Hazard.FIRE, Hazard.OVEN_FIRE):
        return ("never", "That one stays off tonight.")
    return next((q for q in _BEFORE_RELIGHTING[hazard] if q[0] not in told), None)


def what_to_change(hazard: Hazard, *, fresh: bool = False, damp: bool = False, too_full: bool = False, oil_c: float | None = None) -> tuple[str, ...]:
    """What to do differently with the next drop. fresh: the oil was fresh; damp: the food was wet, frozen or unrinsed; too_full: more oil than the
    pot takes; oil_c: the last reading, C."""
    match hazard:
        case Hazard.BOIL_OVER:
            lines = ["Next drop: half as much, lowered slowly."]
            if fresh:
                lines = ["Next drop: one piece, until it stays calm."]
            if damp:
                lines.append("Dry the food well first.")
            if too_full:
                lines.append("Too much oil: once it is cold, take some out.")
            return tuple(lines)
        case Hazard.SMOKE if oil_c is not None and oil_c < SMOKE_C:
            return ("That oil is worn out: replace it once it is cold.",)
        case Hazard.SMOKE:
            return ("It was too hot: turn it down sooner.",)
        case Hazard.SPILL:
            return ("Check the oil level before the next drop.",)
    return ()


def off_questions(pots_on: bool, oven: bool) -> dict[str, str]:
    """What yes or no is wanted to when dinner is up, the worst first. pots_on: as far as is known; oven: whether there is one."""
    questions = {"burner": "Burner off?" if pots_on else "Is every burner off?"}
    return {**questions, "oven": "Oven off?"} if oven else questions


def closing_check(oil_hot: bool, away: Sequence[tuple[str, str]] = ()) -> tuple[str, ...]:
    """What is said when dinner is up and all is off. oil_hot: there is hot oil in a pot; away: (name, "20:10") of what must be cold by when, the
    soonest first; three at most are said."""
    lines = ["Handle turned in, lid near? Children away from the oil."] if oil_hot else []
    lines += [f"{name[:1].upper()}{name[1:]} into the fridge by {by}." for name, by in away[:3]]
    if len(away) > 3:
        lines.append("And everything else that was cooked.")
    if away:
        lines.append("Tell me what is in the fridge.")
    return tuple(lines)
