"""Every alarm and every near miss of an evening: when, why, what was said, what was done about it. Pure: events in, values out.

Four kinds: *danger* (a script ran, with all that followed until the evening went on), *alarm* (somebody had to act), *near miss* (a drop that had to
wait or was made all the same, oil too hot or too cold, a core too low, food or a wait over its time), *fault* (a microphone, a pause in listening).
What was done is read from the facts of the same moment, or, in danger, from those up to the end of the hold.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from assistant.kitchen.meal import Meal, Step, StepKind
from assistant.kitchen.oil.life import CEILING_C
from assistant.session import events as e
from assistant.showing.report_words import temperature, took
from assistant.speaking.prompts import upper

PROMPT_S = 45.0
"""An alarm answered sooner than this, before it was repeated, went as it should."""

_HEAT = frozenset({StepKind.FRY, StepKind.BAKE, StepKind.STOVE})
_WORST = {"danger": 0, "alarm": 1, "near miss": 2, "fault": 3}


@dataclass(frozen=True, slots=True)
class Incident:
    """kind: danger, alarm, near miss, fault; priority: high, medium, low; cause, words (said by the program), done: for people; end_t: when it was
    over (None: never); times: how often it was said; step: id of the step it belongs to, or empty; heard: the cook's
    words that began it; acted: whether an alarm was answered by doing something."""

    t: float
    kind: str
    priority: str
    cause: str
    words: str
    done: str
    end_t: float | None
    times: int = 1
    step: str = ""
    heard: str = ""
    acted: bool = False

    @property
    def routine(self) -> bool:
        """Whether it was answered at once, as most calls to lift are."""
        quick = self.end_t is not None and self.end_t - self.t <= PROMPT_S
        return self.kind == "alarm" and self.priority != "high" and self.times == 1 and quick


def incidents(facts: Sequence[e.Event], meal: Meal, units: str) -> tuple[Incident, ...]:
    """All of them in the order of time."""
    found = [*_dangers(facts, meal), *_alarms(facts, meal), *_near_misses(facts, meal, units), *_faults(facts)]
    return tuple(sorted(found, key=lambda i: (i.t, _WORST[i.kind])))


def _name(meal: Meal, step_id: str) -> str:
    return next((s.name for s in meal.steps() if s.id == step_id), step_id.replace("-", " "))


def batch_label(facts: Sequence[e.Event], step: str, n: int) -> str:
    """A batch as a cook counts: the test batch is none of the numbered ones."""
    begun = {x.batch: x.test for x in facts if isinstance(x, e.BatchBegun) and x.step == step}
    return "test batch" if begun.get(n) else f"batch {n - sum(test for b, test in begun.items() if b < n)}"


def _action(meal: Meal, facts: Sequence[e.Event], event: e.Event) -> str:
    """What the cook did, in a few words; empty when it was nothing of the kind."""
    match event:
        case e.BatchLifted(step=step, batch=n):
            return f"{_name(meal, step)}, {batch_label(facts, step, n)}: lifted"
        case e.BatchExtended(step=step, seconds=seconds):
            return f"{took(seconds)} more for {_name(meal, step)}"
        case e.StepDone(step=step) if any(s.id == step and s.kind is not StepKind.WAIT and s.kind not in _HEAT for s in meal.steps()):
            return f"{_name(meal, step)} finished"
        case e.BurnerSet(level=level):
            return f"burner {level}"
        case e.ClockCancelled():
            return "clock cleared"
        case e.Placed(item=item, place=place):
            return f"{item.replace('-', ' ')} to the {place}"
        case e.FoamSettled():
            return "foam settled"
        case e.OilChanged():
            return "fresh oil"
        case e.OilRead():
            return "oil read again"
    return ""


def _dangers(facts: Sequence[e.Event], meal: Meal) -> Iterator[Incident]:
    """A danger begins with its first script and is over when the evening goes on, or with its last script when it was not on hold."""
    at = 0
    while at < len(facts):
        event = facts[at]
        if not isinstance(event, e.ScriptBegan):
            at += 1
            continue
        end = next((i for i in range(at, len(facts)) if isinstance(facts[i], e.HoldEnded)), len(facts))
        held = end < len(facts) or any(isinstance(x, e.HoldBegan) and abs(x.t - event.t) < 1.0 for x in facts[: at + 1])
        if not held:
            end = next((i + 1 for i in range(at, len(facts)) if isinstance(facts[i], e.ScriptEnded)), len(facts))
        yield _danger(facts, at, end, meal)
        at = max(end, at + 1)


def _danger(facts: Sequence[e.Event], at: int, end: int, meal: Meal) -> Incident:
    event = facts[at]
    assert isinstance(event, e.ScriptBegan)
    heard = next((x.words for x in reversed(facts[:at]) if isinstance(x, e.Heard) and event.t - x.t < 1.0), "")
    inside = facts[at:end]
    scripts = list(dict.fromkeys(x.name.replace("_", " ") for x in inside if isinstance(x, e.ScriptBegan)))
    did = [(x.t, words) for x in inside if (words := _action(meal, facts, x)) and not isinstance(x, e.ClockCancelled | e.OilRead)]
    told = [f"{words} after {took(t - event.t)}" for t, words in did[:6]]
    over = facts[end] if end < len(facts) and isinstance(facts[end], e.HoldEnded) else None
    if over is not None:
        told.append(f"went on after {took(over.t - event.t)}")
    elif any(isinstance(x, e.ScriptEnded) and x.how == "false alarm" for x in inside):
        told.append("false alarm")
    ended = over.t if over is not None else next((x.t for x in reversed(inside) if isinstance(x, e.ScriptEnded)), None)
    first = next((x.words for x in inside if isinstance(x, e.Said)), "")
    chain = upper(scripts[0]) + (f", then {', '.join(scripts[1:])}" if len(scripts) > 1 else "")
    return Incident(event.t, "danger", "high", chain, first, upper("; ".join(told)) or "Nothing was told", ended, heard=heard)


def _alarms(facts: Sequence[e.Event], meal: Meal) -> Iterator[Incident]:
    open_: dict[str, Incident] = {}
    for i, event in enumerate(facts):
        match event:
            case e.AlertRaised(id=id, t=t) if id in open_:
                open_[id] = replace(open_[id], times=open_[id].times + 1)
            case e.AlertRaised(id=id, t=t, priority=priority, cause=cause, words=words):
                step = next((p for p in id.split(":")[1:] if any(s.id == p for s in meal.steps())), "")
                open_[id] = Incident(t, "alarm", priority, _cause(meal, cause, step), words, "", None, step=step)
            case e.AlertRepeated(id=id) if id in open_:
                open_[id] = replace(open_[id], times=open_[id].times + 1)
            case e.AlertCleared(id=id, t=t, acted=acted) if id in open_:
                did = (
                    next((w for x in reversed(facts[:i]) if x.t > t - 0.5 and (w := _action(meal, facts, x))), "")
                    if acted
                    else "no answer: called louder"
                )
                yield replace(open_.pop(id), done=upper(did or "answered"), end_t=t, acted=acted)
    yield from (replace(x, done="Nothing was told before the end") for x in open_.values())


def _cause(meal: Meal, cause: str, step: str) -> str:
    return upper(cause) if not step or _name(meal, step).split()[0] in cause else f"{upper(_name(meal, step))}: {cause}"


def _near_misses(facts: Sequence[e.Event], meal: Meal, units: str) -> Iterator[Incident]:
    steps = {s.id: s for s in meal.steps()}
    inside: dict[str, Step] = {}
    held: set[str] = set()
    for i, event in enumerate(facts):
        later = facts[i + 1 :]
        match event:
            case e.BatchBegun(step=id) if steps[id].fry is not None:
                inside[steps[id].fry.pot] = steps[id]  # type: ignore[union-attr]
            case e.BatchLifted(step=id) if steps[id].fry is not None:
                inside.pop(steps[id].fry.pot, None)  # type: ignore[union-attr]
            case e.Told(t=t, key=key) if key.startswith("hold:") and key not in held:
                held.add(key)
                yield _held_drop(facts, i, key, steps)
            case e.Overruled(t=t, step=id, batch=n, reasons=reasons) if f"hold:{id}:{n}" not in held:
                why = " ".join(reasons) or "no reason was given"
                yield Incident(
                    t, "near miss", "medium", f"{upper(_name(meal, id))}, {batch_label(facts, id, n)}: {why}", "", "Dropped all the same", t, step=id
                )
            case e.OilRead(t=t, pot=pot, celsius=c) if c > CEILING_C:
                cooler = next((x for x in later if isinstance(x, e.OilRead) and x.pot == pot and x.celsius <= CEILING_C), None)
                done = "no lower reading followed" if cooler is None else f"{temperature(cooler.celsius, units)} after {took(cooler.t - t)}"
                cause = f"Oil at {temperature(c, units)}, over {temperature(CEILING_C, units)}"
                yield Incident(t, "near miss", "high", cause, "", upper(done), None if cooler is None else cooler.t)
            case e.OilRead(t=t, pot=pot, celsius=c) if pot in inside and (fry := inside[pot].fry) is not None and c < fry.floor_c - 0.3:
                step = inside[pot]
                cause = f"{upper(step.name)}: oil at {temperature(c, units)}, must stay above {temperature(fry.floor_c, units)}"
                did = next((w for x in later if x.t < t + 60.0 and isinstance(x, e.BurnerSet) and (w := _action(meal, facts, x))), "nothing was told")
                yield Incident(t, "near miss", "medium", cause, "", upper(did), None, step=step.id)
            case e.CoreRead(t=t, step=id, celsius=c) if (want := steps[id].core_c) is not None and c < want - 0.05:
                better = next((x for x in later if isinstance(x, e.CoreRead) and x.step == id), None)
                done = "no other reading followed" if better is None else f"{temperature(better.celsius, units)} after {took(better.t - t)}"
                cause = f"{upper(steps[id].name)}: core at {temperature(c, units)}, wants {temperature(want, units)}"
                yield Incident(t, "near miss", "medium", cause, "", upper(done), None if better is None else better.t, step=id)
            case e.Told(t=t, key=key) if key.startswith("most:") and (id := key.removeprefix("most:")) in steps:
                step = steps[id]
                cause = f"{upper(step.name)}: over its longest time, {took(step.span.most_s)}"
                yield Incident(t, "near miss", "medium", cause, step.else_do, "Said what to do", t, step=id)
            case e.ThermometerMissing(t=t):
                yield Incident(t, "near miss", "medium", "No oil thermometer: the oil's temperature was a guess", "", "Went on with care", t)


def _held_drop(facts: Sequence[e.Event], i: int, key: str, steps: dict[str, Step]) -> Incident:
    """A drop that had to wait, and how it went on."""
    _, id, n = key.split(":")
    t = facts[i].t
    words = next((x.words for x in reversed(facts[:i]) if isinstance(x, e.Said) and t - x.t < 0.5), "")
    went = next((x for x in facts[i:] if isinstance(x, e.BatchBegun) and x.step == id and x.batch == int(n)), None)
    forced = any(isinstance(x, e.Overruled) and (x.step, x.batch) == (id, int(n)) for x in facts[i:])
    how = "dropped all the same" if forced else "waited, then dropped"
    done = "it did not go in" if went is None else f"{how} after {took(went.t - t)}"
    name = steps[id].name if id in steps else id
    return Incident(
        t,
        "near miss",
        "low",
        f"{upper(name)}, {batch_label(facts, id, int(n))}: told to hold",
        words,
        upper(done),
        None if went is None else went.t,
        step=id,
    )


def _faults(facts: Iterable[e.Event]) -> Iterator[Incident]:
    open_: dict[str, Incident] = {}
    for event in facts:
        match event:
            case e.WorldFault(t=t, part=part, ok=False, sentence=sentence):
                open_.setdefault(part, Incident(t, "fault", "medium", f"{upper(part)} failed", sentence, "", None))
            case e.WorldFault(t=t, part=part, ok=True, sentence=sentence):
                was = open_.pop(part, None)
                if was is not None:
                    yield replace(was, done=f"Back after {took(t - was.t)}", end_t=t)
                else:
                    yield Incident(t, "fault", "low", upper(part), sentence, "Noted", t)
            case e.Resumed(t=t, away_s=away):
                yield Incident(t, "fault", "medium", f"The program was away for {took(away)}; nobody listened", "", "Started again", t)
    yield from (replace(x, done="It did not come back") for x in open_.values())
