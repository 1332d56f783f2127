"""The oven: when it is brought to which temperature, and what goes into it to be kept warm.

Rules. It is lit when the plan says so, else a quarter of an hour before its first use. It is turned to another temperature when what was in it is
out. What the card keeps warm in it goes in when it is finished, unless it is about to be served. What the cook tells of it is noted, and
what it is wanted at is said with that.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial

from assistant.kitchen.hazards import Hazard, before_relighting
from assistant.kitchen.meal import Keep, Step, StepKind
from assistant.kitchen.plan_figures import KEPT_S, OVEN_COOLEST_C, OVEN_HOTTEST_C
from assistant.session import events as e
from assistant.session.commands import Command, Intent
from assistant.session.state import State, Status
from assistant.session.turn import Turn, heat_said, spoken
from assistant.speaking import prompts as p

PREHEAT_S = 900.0
NEAR_K = 8.0
"""An oven's own thermostat swings by more."""
TURNING_S = 30.0
IT_S = 60.0
"""So long "it" is the oven, after a line about it."""
LEVELS = ("on", "off", "up", "down")
TURNED = "turned-oven"
"""Id of the question whether it was turned as told."""
KEPT = "kept-warm:"
ON, OFF = "oven on", "oven off"
"""What the cook said last of it, among what was told."""
OPEN = (Status.TODO, Status.RUNNING)


def agenda(state: State) -> Iterator[tuple[float, int, str, Callable[[Turn], None]]]:
    """(when, rank, key, act): the oven's next temperature, once."""
    uses = sorted(_uses(state))
    for number, (start, step_id, celsius) in enumerate(uses):
        before = uses[number - 1] if number else None
        if state.steps[step_id].status is not Status.TODO or f"preheat:{step_id}" in state.told or (before is not None and before[2] == celsius):
            continue
        if before is None:
            planned = state.light_at("oven")
            at = planned if planned is not None else start - PREHEAT_S
        elif state.steps[before[1]].status in OPEN:
            return  # first what is in it comes out
        else:
            at = min(state.t, start)
        yield at, 4, f"preheat:{step_id}", partial(_heat, step_id=step_id, celsius=celsius)
        return


def meant(turn: Turn, command: Command) -> bool:
    """Whether what is turned is the oven: it was named, or "it" is: what burns, or what was spoken of last."""
    state = turn.state
    asked = bool(state.questions) and state.questions[-1].id in ("off:oven", TURNED)
    spoken_of = asked or ("oven" in state.last_words.lower() and turn.t - state.said_t <= IT_S)
    return command.place == "oven" or ("it" in command.words.split() and (state.hazard == "oven_fire" or spoken_of))


def switched(turn: Turn, command: Command) -> None:
    """The cook turned the oven. In danger it is noted without a word; one that burned stays off; once dinner is up, on is a no."""
    state = turn.state
    if command.level == "off":
        _noted(turn, on=False)
        turn.close("off:oven", "value")
        for step_id in (i for _, i, _ in _uses(state) if state.steps[i].status is Status.TODO and f"preheat:{i}" in state.told):
            turn.happen(e.Untold(turn.t, f"preheat:{step_id}"))  # who turned it off too soon is told again
        inside = [heat_said(state, s) for s, _ in state.in_heat() if s.bake is not None]
        inside += [spoken(state, s.dish) for s in _kept_warm(state)]
        if state.script is None:
            turn.say(p.oven_off(inside[0] if inside else ""))
    elif not _stays_off(turn):
        _noted(turn, on=True)
        if state.script is None:
            turn.say(p.TURN_IT_OFF if "dinner" in state.told else p.oven_turned(str(command.level), _wanted(turn), state.units))


def told_temp(turn: Turn, command: Command) -> None:
    """The cook says what the oven is at."""
    assert command.celsius is not None
    if _stays_off(turn) or _misheard(turn, command.celsius):
        return
    _noted(turn, on=True)
    if turn.state.script is None:
        right_c = None if "dinner" in turn.state.told else _wanted(turn)
        right = right_c is None or abs(right_c - command.celsius) <= NEAR_K
        turn.say(p.oven_at(command.celsius, None if right else right_c, turn.state.units))


def turn_it(turn: Turn, command: Command) -> None:
    """The cook tells us to turn it, perhaps to a temperature: it is asked whether that is done."""
    if (command.level != "off" and _stays_off(turn)) or _misheard(turn, command.celsius):
        return
    celsius, words = command.celsius, command.words
    to = str(command.level) if celsius is None else f"at {p.degrees(celsius, turn.state.units)}"
    accepts: tuple[Intent, ...] = (Intent.YES, Intent.NO, Intent.SWITCHED, Intent.OVEN, Intent.OVEN_TEMP)
    if celsius is None:
        done = Command(Intent.OVEN, level=command.level, words=words)
    else:
        done, accepts = Command(Intent.OVEN_TEMP, celsius=celsius, words=words), (*accepts, Intent.ANSWER)
    turn.close("turned")
    turn.ask(TURNED, p.cannot_turn(to), accepts, wait_s=TURNING_S, pending=done)


def how_is_it(turn: Turn, command: Command) -> None:
    """Whether it is on, as far as it was told, and what it is wanted at."""
    if _stays_off(turn):
        return
    told = turn.state.told
    hot = next((celsius for step_id, celsius, now in wanted(turn.state) if now or ON in told or f"preheat:{step_id}" in told), None)
    turn.say(p.oven_told("on" if ON in told else "off" if OFF in told else "", None if "dinner" in told else hot, turn.state.units))


def _misheard(turn: Turn, celsius: float | None) -> bool:
    """No oven is so cold or so hot ("two" for "two hundred"): it is asked again."""
    wrong = celsius is not None and not OVEN_COOLEST_C <= celsius <= OVEN_HOTTEST_C
    if wrong:
        turn.say(p.SAY_AGAIN)
    return wrong


def _kept_warm(state: State) -> Iterator[Step]:
    """Steps whose food was sent into it to be kept warm, until its dish is plated or dinner is up."""
    for step in state.meal.steps():
        plated = any(s.kind is StepKind.PLATE and state.steps[s.id].status is Status.DONE for s in state.meal.dish(step.dish).steps)
        if f"{KEPT}{step.id}" in state.told and not plated and "dinner" not in state.told:
            yield step


def wanted(state: State) -> Iterator[tuple[str, float, bool]]:
    """(step, temperature, whether it is in it now) of what is in the oven and of what is still to come."""
    yield from ((s.id, s.bake.oven_c, True) for s, _ in state.in_heat() if s.bake is not None)
    yield from ((s.id, s.hold.oven_c, True) for s in _kept_warm(state) if s.hold is not None and s.hold.oven_c is not None)
    yield from ((step_id, celsius, False) for _, step_id, celsius in sorted(_uses(state)) if state.steps[step_id].status is Status.TODO)


def _stays_off(turn: Turn) -> bool:
    """An oven that burned, and is out, is not lit again."""
    if turn.state.hazard != "oven_fire" or turn.state.script is not None:
        return False
    never = before_relighting(Hazard.OVEN_FIRE, frozenset())
    assert never is not None
    turn.say(never[1])
    return True


def used(turn: Turn) -> None:
    """Something is to be heated in it, or was put into it: whatever was said before, it may be on."""
    if OFF in turn.state.told:
        turn.happen(e.Untold(turn.t, OFF))


def _noted(turn: Turn, *, on: bool) -> None:
    """What the cook told of it."""
    turn.close(TURNED, "value")
    for key in (ON, OFF):
        if (key == ON) is on:
            turn.told(key)
        elif key in turn.state.told:
            turn.happen(e.Untold(turn.t, key))


def _wanted(turn: Turn) -> float | None:
    """What it is to be at: for what is in it, else for what comes next, which then need not be said again; None: for nothing."""
    step_id, celsius, now = next(wanted(turn.state), ("", None, True))
    if not now:
        turn.told(f"preheat:{step_id}")
    return celsius


def _heat(turn: Turn, step_id: str, celsius: float) -> None:
    used(turn)
    turn.happen(e.Told(turn.t, f"preheat:{step_id}"))
    turn.say(p.preheat(celsius, turn.state.units))


def _uses(state: State) -> Iterator[tuple[float, str, float]]:
    """(when, step, temperature) of everything that wants the oven hot and was not left out."""
    for step in state.meal.steps():
        if state.steps[step.id].status is Status.SKIPPED:
            continue
        if step.bake is not None and step.bake.preheat:
            yield state.start_of(step.id), step.id, step.bake.oven_c
        elif step.hold is not None and step.hold.oven_c is not None and (kept_t := _kept_from(state, step)) is not None:
            yield kept_t, step.id, step.hold.oven_c


def _kept_from(state: State, step: Step) -> float | None:
    """When a step's food goes into the oven to be kept warm; None when it does not."""
    if step.hold is None or step.hold.keep is not Keep.OVEN or not state.meal.equipment.oven:
        return None
    if state.plan is not None:
        kept = [t for t in state.plan.tasks if t.step == step.id and t.action == "keep"]
        return state.plan.serve_s + kept[0].start_s if kept else None
    ends = {s: end for s, _, end in state.slots}
    done = ends.get(step.id, state.t)
    # without a plan nobody weighs it against what bakes hotter
    bakes = any(s.bake is not None and ends.get(s.id, 0.0) > done for s in state.meal.steps())
    return done if state.serve_t - done >= KEPT_S and not bakes else None


def keep(turn: Turn, step: Step) -> None:
    """A step is finished: what it made goes into the warm oven, where there is one and time enough."""
    told = any(key.startswith("preheat:") for key in turn.state.told)
    if told and turn.state.serve_t - turn.t >= KEPT_S and _kept_from(turn.state, step) is not None:
        turn.say(p.keep_in_oven(spoken(turn.state, step.dish)))
        turn.told(f"{KEPT}{step.id}")
