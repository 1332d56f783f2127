"""What the cook should do now, and what comes next: one sentence each, from the state and the time. Pure.

Place on the path: State -> view. Rules: danger goes before alarms, alarms before what is due, what is due before what is open at the pot, the pot
before work by hand. The sentence is the one the voice says for it, shortened where the eye needs less.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from enum import StrEnum

from assistant.kitchen.meal import Heat, Step, StepKind
from assistant.kitchen.scripts import script
from assistant.session import before_drop
from assistant.session.frying import gate
from assistant.session.state import Alert, State, Status, due_t
from assistant.session.turn import batches_left, core_wanted, frying_next, heat_said, next_step
from assistant.speaking import prompts as p

SOON_S = 60.0
OUT = {StepKind.FRY: "lift", StepKind.BAKE: "take out", StepKind.STOVE: "take off"}
FRESH_S = 45.0
"""How long what was asked at the pot goes before work by hand."""
NOTHING = "Nothing now."
LIGHT_S = 300.0
"""How long "light the burner" stays up if nobody says that it is lit: many cooks never say so."""


class Level(StrEnum):
    """How a sentence is to be taken; each has a colour, a shape and a word of its own."""

    DANGER = "danger"
    ALARM = "alarm"
    DUE = "due"
    DO = "do"
    HOLD = "hold"
    FREE = "free"


@dataclass(frozen=True, slots=True)
class Now:
    """The one main sentence. about: id of the step it is about; before: orders said before it that still stand; until_t: when the view must be
    made anew although nothing happened (kitchen time), if it must."""

    level: Level
    words: str
    about: str = ""
    before: tuple[str, ...] = ()
    until_t: float | None = None


@dataclass(frozen=True, slots=True)
class Coming:
    """What is next. at_t: kitchen time; clock: id of the running clock that brings it, if one does."""

    words: str
    at_t: float
    clock: str = ""


def now(state: State, t: float) -> Now:
    """What to do at kitchen time t."""
    return next(_now(replace(state, t=max(t, state.t))))


def _now(s: State) -> Iterator[Now]:
    if s.script is not None:
        lines = [line.words for line in script(s.script.name, s.region).lines[: s.script.index]]
        yield Now(Level.DANGER, lines[-1] if lines else s.last_words, before=tuple(lines[:-1]))
    raised = _in_order(s)
    yield from (Now(Level.ALARM, a.words, _step_of(a)) for a in raised if a.priority == "high")
    yield from (Now(Level.DUE, a.words, _step_of(a)) for a in raised if a.priority == "medium")
    yield from _looks(s)
    if s.held_t is not None:
        burning = any(pot.on for pot in s.pots.values())
        yield Now(Level.HOLD, p.BURNER_OFF_FIRST if burning else p.HELD)
    if s.ended:
        yield Now(Level.FREE, p.WELL_DONE)
    if "dinner" in s.told:
        yield Now(Level.DO, p.DINNER_UP)
    yield from _asked_at_the_pot(s)
    yield from _lowering(s)
    yield from _lighting(s)
    drop = _drop(s)
    if drop is not None and drop.level is not Level.FREE:
        yield drop
    if s.focus and s.steps[s.focus].status is not Status.DONE:
        step = s.meal.step(s.focus)
        yield Now(Level.DO, _order(step), step.id, until_t=None if drop is None else drop.until_t)
    yield from (Now(Level.DUE, a.words, _step_of(a)) for a in raised if a.priority == "low")
    if drop is not None:
        yield drop
    yield Now(Level.FREE, NOTHING)


def _in_order(s: State) -> list[Alert]:
    """Alerts by urgency: heat before stored food, then the oldest."""
    return sorted(s.alerts.values(), key=lambda a: (a.id.startswith("food:"), a.raised_t))


def _step_of(alert: Alert) -> str:
    """The step that an alert is about, by its id."""
    parts = alert.id.split(":")
    return parts[1] if len(parts) > 1 and parts[0] in ("lift", "over", "late") else ""


def _looks(s: State) -> Iterator[Now]:
    """A look at the food that was asked for."""
    for q in reversed(s.questions):
        kind, *rest = q.id.split(":")
        if kind == "look":
            step = s.meal.step(rest[0])
            yield Now(Level.DUE, p.look(heat_said(s, step), step.looks), step.id)
        elif kind == "core":
            step = s.meal.step(rest[0])
            if step.core_c is not None:
                yield Now(Level.DUE, core_wanted(s, step), step.id)


def _asked_at_the_pot(s: State) -> Iterator[Now]:
    """A turn of the flame or a reading that was just asked for: a second's work, shown first for as long as it is fresh."""
    for q in reversed(s.questions):
        kind, *rest = q.id.split(":")
        if s.t < q.asked_t + FRESH_S and kind in ("flame", "oil"):
            yield Now(Level.DO, p.FLAME[rest[-1]] if kind == "flame" else p.ask_oil(), until_t=q.asked_t + FRESH_S)


def _lowering(s: State) -> Iterator[Now]:
    for step, batch in s.in_heat():
        if step.fry is not None and not batch.sure:
            yield Now(Level.DO, p.all_in(heat_said(s, step)), step.id)
        elif batch.test:
            yield Now(Level.DO, p.TEST_IN, step.id)


def _lighting(s: State) -> Iterator[Now]:
    for pot_id, pot in s.pots.items():
        checked, found = s.told.get(f"check:{pot_id}"), before_drop.heat_due(s, pot_id)
        if checked is None or found is None or found[0].fry is None or (pot.read_t is not None and pot.read_t > checked):
            continue
        if s.t < checked + LIGHT_S:
            yield Now(Level.DO, p.heat_to(found[0].fry.oil_c, s.units, s.pot_of(found[0]).heat is Heat.FRYER), found[0].id, until_t=checked + LIGHT_S)


def _drop(s: State) -> Now | None:
    """The next drop: now (or held back, with the reason), soon, or (None) not for a while."""
    found = next_drop(s)
    if found is None:
        return None
    step, at = found
    name = heat_said(s, step)
    if s.t >= at:
        reasons = held_back(s, step)
        if reasons:
            return Now(Level.HOLD, reasons[0], step.id)
        pot = s.pots[step.fry.pot] if step.fry else None
        small = pot is not None and pot.fresh and not pot.tested
        return Now(Level.DO, f"Small test batch first: {name}." if small else f"Drop the {name}.", step.id)
    if s.t >= at - SOON_S:
        return Now(Level.FREE, f"Get ready to drop the {name}.", step.id, until_t=at)
    return Now(Level.FREE, NOTHING, until_t=at - SOON_S)


def held_back(s: State, step: Step) -> tuple[str, ...]:
    """Why a drop should wait, in the voice's words; a test batch that is still to come is no reason, it is what to drop."""
    if step.fry is None:
        return ()
    pot_id = step.fry.pot
    return gate(replace(s, pots={**s.pots, pot_id: replace(s.pots[pot_id], tested=True)}), step)


def next_drop(s: State) -> tuple[Step, float] | None:
    """The fry step whose batch goes in next, and when (kitchen time); None while its pot is taken or nothing waits for it."""
    step = frying_next(s)
    if step is None or step.fry is None or batches_left(s, step) == 0:
        return None
    if any(x.fry is not None and x.fry.pot == step.fry.pot for x, _ in s.in_heat()):
        return None
    return step, before_drop.drop_planned(s, step)


def _order(step: Step) -> str:
    """A step as an order."""
    if step.text:
        return p.do_now(step.said[0], step.text)
    if step.kind is StepKind.BAKE:
        return p.into_oven(step.said[0])
    return p.onto_stove(step.said[0]) if step.kind is StepKind.STOVE else p.do_now(step.said[0], "")


def coming(state: State, t: float, about: str) -> Coming | None:
    """What comes after what is done now (about: the step that the main sentence is about): the soonest that has a time still to come, else what
    waits for free hands."""
    s = replace(state, t=max(t, state.t))
    found = list(_coming(s, about)) if "dinner" not in s.told else []
    return min(found, key=lambda c: (c.at_t <= s.t, c.at_t), default=None)


def _coming(s: State, about: str) -> Iterator[Coming]:
    for step, batch in s.in_heat():
        name = heat_said(s, step)
        if f"lift:{step.id}:{batch.n}" not in s.alerts and f"over:{step.id}:{batch.n}" not in s.alerts:
            if batch.next_look_t is not None and batch.next_look_t > s.t:
                yield Coming(f"look: {name}", batch.next_look_t)
            yield Coming(f"{OUT.get(step.kind, 'lift')} {name}", due_t(step, batch), f"{step.id}:{batch.n}")
    for clock in s.clocks.values():
        if clock.ends_t > s.t:
            yield Coming(clock.name or "your clock", clock.ends_t, clock.id)
    if s.held_t is not None or s.script is not None:
        return
    drop = next_drop(s)
    if drop is not None and drop[0].id != about:
        yield Coming(f"drop {heat_said(s, drop[0])}", drop[1])
    for pot_id in s.pots:
        heat = before_drop.heat_due(s, pot_id)
        if heat is not None and f"check:{pot_id}" not in s.told:
            yield Coming("light burner", heat[1])
    if s.focus and s.focus != about:
        yield Coming(s.meal.step(s.focus).said[0], s.t)
    step_next = next_step(s)
    if step_next is not None and step_next.id not in (about, s.focus) and step_next.fry is None:
        yield Coming(step_next.said[0], max(s.t, s.start_of(step_next.id)))


def lifted_words(state: State) -> str:
    """What to say when whatever is due comes out now."""
    heat = state.in_heat()
    called = [x for x in heat if any(f"{k}:{x[0].id}:{x[1].n}" in state.alerts for k in ("over", "lift"))]
    found = (called or heat)[:1]
    return f"{heat_said(state, found[0][0])} out" if found else "it's out"


def answers(state: State) -> tuple[str, ...]:
    """yes and no, while the question spoken last takes them."""
    asked = [q for q in state.questions if state.script is None or q.id.startswith("script:")]
    return tuple(x for x in ("yes", "no") if x in asked[-1].accepts) if asked else ()


def pots_shown(state: State) -> tuple[str, ...]:
    """Pots worth a look: those that are on, were read or fried in; two at most, those that are on first."""
    hot = [i for i, pot in state.pots.items() if pot.on or pot.oil_c is not None or pot.drops > 0]
    return tuple(sorted(hot, key=lambda i: not state.pots[i].on)[:2])
