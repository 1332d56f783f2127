"""The glance screen as a value: what a cook sees in one look of two seconds, made from the state, the time and what the ear is doing. Pure.

Place on the path: State -> view; the page and the terminal only draw it. One main sentence, and beside it at most four rows: what is next, the
other running clocks, the oil, the talk. Every time in it is a deadline in kitchen time, so that whoever draws it counts down by himself and is right
again after any pause. `changes_t` says when it must be made anew although nothing happens.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace
from typing import Any

from assistant.kitchen.meal import Step, StepKind
from assistant.kitchen.oil.gate import FRESH_S as READ_S
from assistant.session import before_drop, helping, oil_gate
from assistant.session import events as e
from assistant.session.state import State, Status, due_t
from assistant.session.turn import heat_said, wanted_next
from assistant.showing.doing import Coming, Level, answers, coming, held_back, lifted_words, next_drop, now, pots_shown
from assistant.speaking import prompts as p

CLOCKS = 6
UNHEARD = frozenset({"not_addressed", "speaking"})
"""Reasons of a refusal that mean that the words were not for us: they are shown to nobody."""
STALE_S = before_drop.STALE_OIL_S
ESTIMATE_AGAIN_S = 10.0
"""How often an estimate is shown anew, s: oil on a full flame warms by 1 to 2 K meanwhile."""


@dataclass(frozen=True, slots=True)
class EarView:
    """What the ear is doing. listening: somebody hears (else: type); heard: the last sentence that was taken for us."""

    listening: bool = False
    heard: str = ""


@dataclass(frozen=True, slots=True)
class Countdown:
    """A running clock by its dish. kind: `oil`, `oven`, `stove`, `wait`, `clock`; began_t (None: not kept), ends_t: kitchen time, s."""

    id: str
    name: str
    kind: str
    began_t: float | None
    ends_t: float


@dataclass(frozen=True, slots=True)
class PotView:
    """The oil of one pot. figure, wants: in the cook's units ("" when not known); verdict: `go`, `hold`, `read` (ask the thermometer), `frying`,
    `off`; words: the same in words; as_of_t: kitchen time of the reading or of the estimate; estimate: whether it is one."""

    id: str
    name: str
    figure: str
    wants: str
    unit: str
    verdict: str
    words: str
    as_of_t: float | None
    estimate: bool = False


@dataclass(frozen=True, slots=True)
class Button:
    """A touch target. words: what pressing it says, as if typed."""

    label: str
    words: str


@dataclass(frozen=True, slots=True)
class View:
    """All that is shown. takeover: danger or a high alarm has the whole page; more: alarms waiting behind it; heard, said: last words each way;
    day_s: time of day at kitchen time 0; eat_t: serving, kitchen time; changes_t: see the module."""

    title: str
    level: str
    words: str
    before: tuple[str, ...]
    takeover: bool
    more: int
    next: Coming | None
    clocks: tuple[Countdown, ...]
    pots: tuple[PotView, ...]
    listening: bool
    heard: str
    said: str
    buttons: tuple[Button, ...]
    day_s: float
    eat_t: float
    changes_t: float | None
    helper: bool = False


def heard_in(events: Sequence[e.Event], before: str) -> str:
    """The last sentence that was taken for us, after these events."""
    heard = [x.words for x in events if isinstance(x, e.Heard) and x.reason not in UNHEARD]
    return heard[-1] if heard else before


def as_json(view: View) -> dict[str, Any]:
    """The view as JSON values."""
    return asdict(view)


def view(state: State, t: float, ear: EarView) -> View:
    """What the cook sees at kitchen time t, s."""
    s = replace(state, t=max(t, state.t))
    doing = now(s, t)
    takeover = doing.level in (Level.DANGER, Level.ALARM)
    pots = tuple(pot_view(s, pot_id) for pot_id in pots_shown(s))
    changes = [x for x in (doing.until_t, *_changes(s, pots)) if x is not None and x > s.t]
    return View(
        title=s.meal.title,
        level=str(doing.level),
        words=doing.words,
        before=doing.before,
        takeover=takeover,
        more=max(0, sum(a.priority == "high" for a in s.alerts.values()) - (doing.level is Level.ALARM)),
        next=coming(s, t, doing.about),
        clocks=clocks(s),
        pots=pots,
        listening=ear.listening,
        heard=ear.heard,
        said=s.last_words,
        buttons=_buttons(s),
        day_s=s.day_s,
        eat_t=s.serve_t,
        changes_t=min(changes, default=None),
    )


def _buttons(s: State) -> tuple[Button, ...]:
    """The few actions that save an evening when hearing fails; yes and no only while they answer something."""
    asked = answers(s)
    fixed = [("Done", "done"), ("Lifted", lifted_words(s)), ("Again", "repeat"), ("Go back", "go back"), ("Heat is off", "burner off")]
    if asked:
        fixed.pop(3)  # six targets of 20 mm are what the edge of a tablet holds
    return tuple(Button(label, words) for label, words in (*((x.capitalize(), x) for x in asked), *fixed))


def clocks(s: State) -> tuple[Countdown, ...]:
    """Running clocks, food in heat and the cook's own before waits, the soonest first."""
    heat = [
        Countdown(f"{x.id}:{b.n}", f"{heat_said(s, x)} test" if b.test else heat_said(s, x), _kind(x), b.in_t, due_t(x, b)) for x, b in s.in_heat()
    ]
    own = [Countdown(c.id, c.name or "your clock", "clock", None, c.ends_t) for c in s.clocks.values()]
    waits = [
        Countdown(x.id, x.said[0], "wait", run.began_t, run.began_t + x.span.usual_s)
        for x in s.meal.steps()
        if x.kind is StepKind.WAIT and (run := s.steps[x.id]).status is Status.RUNNING and run.began_t is not None
    ]
    found = sorted([*heat, *own], key=lambda c: c.ends_t) + sorted(waits, key=lambda c: c.ends_t)
    return tuple(found[:CLOCKS])


def _kind(step: Step) -> str:
    return {StepKind.FRY: "oil", StepKind.BAKE: "oven"}.get(step.kind, "stove")


def pot_view(s: State, pot_id: str) -> PotView:
    """A pot's oil as figures and words, by the same rule as the voice's go or hold."""
    pot = s.pots[pot_id]
    name = next(x.name for x in s.meal.equipment.pots if x.id == pot_id)
    inside = next((x for x, _ in s.in_heat() if x.fry is not None and x.fry.pot == pot_id), None)
    step = inside or _to_drop(s, pot_id) or wanted_next(s, pot_id)
    fry = None if step is None else step.fry
    wants = "" if fry is None else p.degrees(fry.oil_c, s.units)
    known = oil_gate.oil_now(s, pot_id)
    fresh = pot.read_t is not None and s.t - pot.read_t <= STALE_S
    figure = "" if known is None else p.degrees(known[0], s.units)
    estimate = known is not None and pot.estimate is not None and pot.read_t is not None and s.t - pot.read_t > READ_S
    if inside is not None:
        verdict, words = "frying", "frying"
    elif step is None or (not pot.on and pot.drops == 0 and not fresh):
        verdict, words = "off", "off"
    elif not s.thermometer:
        verdict, words = "read", "no thermometer"
    else:
        held = held_back(s, step)
        if p.OIL_UNKNOWN in held:
            verdict, words = "read", "read"
        else:
            verdict, words = ("hold", "hold, foam" if pot.foaming else "hold") if held else ("go", "go")
    return PotView(pot_id, name, figure, wants, f"°{s.units}", verdict, words, pot.read_t, estimate)


def _to_drop(s: State, pot_id: str) -> Step | None:
    found = next_drop(s)
    return found[0] if found is not None and found[0].fry is not None and found[0].fry.pot == pot_id else None


def _changes(s: State, pots: tuple[PotView, ...]) -> list[float | None]:
    """Moments at which the view changes with nothing happening: oil warms, a reading grows stale, a drop comes due."""
    drop = next_drop(s)
    warming = s.t + ESTIMATE_AGAIN_S if any(pot.estimate is not None and pot.on for pot in s.pots.values()) else None
    return [*(x.as_of_t + STALE_S + 0.1 for x in pots if x.as_of_t is not None), None if drop is None else drop[1], warming]


def helper_view(state: State, t: float, ear: EarView) -> View:
    """What a helper sees: danger as everybody, else only the jobs a helper may do now; no oil, no clocks, nothing of the talk."""
    s = replace(state, t=max(t, state.t))
    cook = view(state, t, ear)
    if cook.level == Level.DANGER:
        return replace(cook, clocks=(), pots=(), next=None, heard="", said="", buttons=(), helper=True)
    jobs = helping.jobs(s)
    if not s.helper:
        level, words = Level.FREE, "No helper is here yet."
    elif jobs:
        level, words = Level.DO, p.do_now(jobs[0].said[0], jobs[0].text)
    else:
        level, words = Level.FREE, "Nothing for you just now."
    after = Coming(jobs[1].said[0], max(s.t, s.start_of(jobs[1].id))) if len(jobs) > 1 and s.helper else None
    done = (Button("Done", f"done with {jobs[0].said[0]}"),) if jobs and s.helper else ()
    return replace(
        cook,
        level=str(level),
        words=words,
        before=(),
        takeover=False,
        more=0,
        next=after,
        clocks=(),
        pots=(),
        heard="",
        said="",
        buttons=done,
        helper=True,
    )
