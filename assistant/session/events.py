"""Facts. Everything that happened in an evening is one of these, journaled before anything is spoken; the state is what they add up to.

Rules: an event is frozen and holds only text, numbers, booleans and tuples of them, so that it goes into the journal and comes back the
same (`to_json`, `from_json`); `t` is kitchen time, s since the evening began; results that cannot be recomputed (an order adopted, words said) are
in the event itself, because replay calls no planner, no model and no clock.
"""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass, fields
from typing import Any


@dataclass(frozen=True, slots=True)
class Event:
    """t: kitchen time, s."""

    t: float


@dataclass(frozen=True, slots=True)
class EveningBegan(Event):
    """card: the whole card as text, so that replay needs no file; day_s: time of day at t=0, s after midnight; serve_t: wanted serving, kitchen time
    (None: as early as it goes); units: `F` or `C`; region: two letters, for the emergency number; kept: (pot, what it taught on evenings before);
    made: (dish, how many days ago, how long ago in s, its steps) of what evenings before made; food: the ledger of those things as JSON; instead: a
    dish that can be called done in this kitchen, where one of the meal cannot; altitude_m: of the kitchen."""

    card: str
    file: str
    day_s: float
    serve_t: float | None
    people: int
    units: str
    region: str
    kept: tuple[tuple[str, str], ...] = ()
    made: tuple[tuple[str, int, float, tuple[str, ...]], ...] = ()
    food: str = ""
    instead: str = ""
    altitude_m: float = 0.0


@dataclass(frozen=True, slots=True)
class OrderAdopted(Event):
    """The order of steps now followed. slots: (step id, start, end), kitchen time, s; lights: (pot or `oven`, when to light it), where planned."""

    slots: tuple[tuple[str, float, float], ...]
    why: str
    lights: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True, slots=True)
class PlanAdopted(Event):
    """A plan of the whole evening, made by the solver, is followed from here on. plan: as JSON text, so that replay calls no solver."""

    plan: str
    why: str


@dataclass(frozen=True, slots=True)
class Heard(Event):
    """What the ear handed on and what it was taken for. command: intent and slots by name, empty when refused; reason: why it was refused; undoable:
    whether `undo` takes back what it did."""

    words: str
    command: tuple[tuple[str, str | float | int], ...] = ()
    reason: str = ""
    undoable: bool = False


@dataclass(frozen=True, slots=True)
class Said(Event):
    """A line handed to the voice. priority: as `speaking.line.Priority`; pause_s: silence after it."""

    words: str
    priority: int
    pause_s: float = 0.0


@dataclass(frozen=True, slots=True)
class Told(Event):
    """Something that is said once was said. key: what, e.g. `ahead:chips-first-fry:1`."""

    key: str


@dataclass(frozen=True, slots=True)
class Untold(Event):
    """Something said once may be said again, because its time was moved."""

    key: str


@dataclass(frozen=True, slots=True)
class Focused(Event):
    """The step the cook was told to do now ("" for none)."""

    step: str


@dataclass(frozen=True, slots=True)
class StepBegan(Event):
    step: str


@dataclass(frozen=True, slots=True)
class StepDone(Event):
    step: str


@dataclass(frozen=True, slots=True)
class StepSkipped(Event):
    step: str


@dataclass(frozen=True, slots=True)
class StepReopened(Event):
    """Gone back to: it is to be done again."""

    step: str


@dataclass(frozen=True, slots=True)
class BatchBegun(Event):
    """The cook has begun to lower a batch; its clock runs provisionally from the expected end of lowering. test: the small test batch."""

    step: str
    batch: int
    in_t: float
    test: bool = False


@dataclass(frozen=True, slots=True)
class BatchIn(Event):
    """The last piece is in (or the tray is in the oven, the pan on the burner): the clock starts."""

    step: str
    batch: int


@dataclass(frozen=True, slots=True)
class BatchExtended(Event):
    """More time for this batch, s."""

    step: str
    batch: int
    seconds: float


@dataclass(frozen=True, slots=True)
class BatchLifted(Event):
    step: str
    batch: int


@dataclass(frozen=True, slots=True)
class Asked(Event):
    """A question was put. accepts: intents that answer it; expires_t: kitchen time it lapses; pending: a command held back until yes."""

    question: str
    accepts: tuple[str, ...]
    expires_t: float
    pending: tuple[tuple[str, str | float | int], ...] = ()


@dataclass(frozen=True, slots=True)
class Answered(Event):
    """how: yes, no, value, silence or dropped (no longer needed)."""

    question: str
    how: str


@dataclass(frozen=True, slots=True)
class ClockSet(Event):
    """id: slug; name: as spoken; ends_t: kitchen time it rings."""

    id: str
    name: str
    ends_t: float


@dataclass(frozen=True, slots=True)
class ClockCancelled(Event):
    id: str


@dataclass(frozen=True, slots=True)
class OilRead(Event):
    """A reading of the oil, C. source: said or probe."""

    pot: str
    celsius: float
    source: str = "said"


@dataclass(frozen=True, slots=True)
class BurnerSet(Event):
    """level: on, full, up, down, off."""

    pot: str
    level: str


@dataclass(frozen=True, slots=True)
class OilChecked(Event):
    """A lit pot was looked at: its estimate was carried on to now."""

    pot: str


@dataclass(frozen=True, slots=True)
class OilAsked(Event):
    """A reading was asked for. why: first, drop, unsure, ready."""

    pot: str
    why: str


@dataclass(frozen=True, slots=True)
class FlameAdvised(Event):
    """What was said about the flame: full, up, down, off."""

    pot: str
    level: str


@dataclass(frozen=True, slots=True)
class PotSized(Event):
    """The cook told a size of the pot. what: width_m, height_m, depth_m, litres, power_w, ring or power_unknown (asked, not known), or
    heat, which is then in `ring`: gas, induction, coil, fryer."""

    pot: str
    what: str
    value: float
    ring: str = ""


@dataclass(frozen=True, slots=True)
class ThermostatSet(Event):
    """The cook was told to set an electric fryer to this, C."""

    pot: str
    celsius: float


@dataclass(frozen=True, slots=True)
class OilChanged(Event):
    """Fresh oil in the pot."""

    pot: str


@dataclass(frozen=True, slots=True)
class OilToppedUp(Event):
    pot: str
    litres: float


@dataclass(frozen=True, slots=True)
class FoamRose(Event):
    """Foam rose towards the rim. what: foaming, boiling_over, spitting; test_batch_rose: of the small test batch, as far as one could see."""

    pot: str
    what: str


@dataclass(frozen=True, slots=True)
class FoamSettled(Event):
    pot: str


@dataclass(frozen=True, slots=True)
class SmokeSeen(Event):
    pot: str


@dataclass(frozen=True, slots=True)
class ThermometerMissing(Event):
    """Somebody said there is no thermometer. what: oil or core."""

    what: str = "oil"


@dataclass(frozen=True, slots=True)
class BreadTried(Event):
    """A one-inch bread cube was golden after so many seconds: a guess at the oil."""

    pot: str
    seconds: float


@dataclass(frozen=True, slots=True)
class SignsSeen(Event):
    """The cook saw a sign of age in this oil. sign: smoke, foam, dark, thick or smell; empty where it was not said which."""

    pot: str
    sign: str = ""


@dataclass(frozen=True, slots=True)
class NextBatch(Event):
    """What is left of a lot goes on otherwise. part: of the size of a batch so far; seconds: added to its time; oil_k: added to its set point; why:
    no thermometer, foam, too much, or how the last one looked."""

    step: str
    part: float = 1.0
    seconds: float = 0.0
    oil_k: float = 0.0
    why: str = ""


@dataclass(frozen=True, slots=True)
class CoreRead(Event):
    """A core temperature, C, of what the step cooks."""

    step: str
    celsius: float


@dataclass(frozen=True, slots=True)
class Placed(Event):
    """item: id of an ingredient, dish or step; place: counter, fridge, freezer, oven, rack, ice, pan."""

    item: str
    place: str


@dataclass(frozen=True, slots=True)
class FoodRead(Event):
    """Food that waits was probed, C. item: its id in the ledger."""

    item: str
    celsius: float


@dataclass(frozen=True, slots=True)
class FoodReached(Event):
    """A fire has reached this open food, by its id in the ledger."""

    item: str


@dataclass(frozen=True, slots=True)
class RoomRead(Event):
    """The room's temperature, C."""

    celsius: float


@dataclass(frozen=True, slots=True)
class HazardCleared(Event):
    """The burner may be lit again after what happened."""


@dataclass(frozen=True, slots=True)
class LookedLike(Event):
    """How a batch came out: pale, greasy, soft, dark."""

    step: str
    batch: int
    look: str


@dataclass(frozen=True, slots=True)
class RanOut(Event):
    item: str


@dataclass(frozen=True, slots=True)
class HelperChanged(Event):
    here: bool


@dataclass(frozen=True, slots=True)
class PeopleCounted(Event):
    people: int


@dataclass(frozen=True, slots=True)
class GuestsLate(Event):
    """So many are not there yet: their part of what is not in the oil is kept for a second wave. wave_t: when that goes in, kitchen time."""

    late: int
    wave_t: float


@dataclass(frozen=True, slots=True)
class SecondWaveMoved(Event):
    """The second wave goes in at another time, kitchen time."""

    wave_t: float


@dataclass(frozen=True, slots=True)
class ServingMoved(Event):
    """serve_t: kitchen time, s; slipped: the plan cannot be sooner, the cook's wish is what it was."""

    serve_t: float
    slipped: bool = False


@dataclass(frozen=True, slots=True)
class TimeOfDaySet(Event):
    """What the time of day is now, s after midnight."""

    day_s: float


@dataclass(frozen=True, slots=True)
class Overruled(Event):
    """The cook drops although told to hold. reasons: what they were told."""

    step: str
    batch: int
    reasons: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Noted(Event):
    """A note, with what was going on."""

    text: str
    during: str


@dataclass(frozen=True, slots=True)
class HoldBegan(Event):
    why: str


@dataclass(frozen=True, slots=True)
class HoldEnded(Event):
    pass


@dataclass(frozen=True, slots=True)
class AlertRaised(Event):
    """priority: high, medium, low; cause and clears_when: for people; words: at most 8."""

    id: str
    priority: str
    cause: str
    clears_when: str
    words: str


@dataclass(frozen=True, slots=True)
class AlertRepeated(Event):
    id: str


@dataclass(frozen=True, slots=True)
class AlertCleared(Event):
    """acted: whether the cook did something about it."""

    id: str
    acted: bool


@dataclass(frozen=True, slots=True)
class ScriptBegan(Event):
    """A danger script. name: as in `kitchen.scripts`; pot: the pot that is meant (empty: none); line: where it begins, 0 but for one gone on with;
    unanswered: the script whose question nobody answered, so that this one began."""

    name: str
    pot: str = ""
    line: int = 0
    unanswered: str = ""


@dataclass(frozen=True, slots=True)
class ScriptWaits(Event):
    """A script that was cut short, or told of during a worse one: it comes when that is over."""

    name: str


@dataclass(frozen=True, slots=True)
class ScriptAdvanced(Event):
    """Line `index` was said; the next is due at next_t."""

    index: int
    next_t: float


@dataclass(frozen=True, slots=True)
class ScriptEnded(Event):
    """how: over, false alarm, out, another script's name."""

    how: str


@dataclass(frozen=True, slots=True)
class FalseAlarmSaid(Event):
    """Once; the script goes on until it is said again or confirmed."""


@dataclass(frozen=True, slots=True)
class Quieted(Event):
    """Remarks are kept back until then, kitchen time."""

    until_t: float


@dataclass(frozen=True, slots=True)
class VoiceChanged(Event):
    """how: louder, softer, slower."""

    how: str


@dataclass(frozen=True, slots=True)
class WorldFault(Event):
    """Something outside broke or came back. part: microphone, speaker, journal, clock; ok: whether it works now; sentence: one clear sentence."""

    part: str
    ok: bool
    sentence: str


@dataclass(frozen=True, slots=True)
class Resumed(Event):
    """The program was started again. away_s: how long nobody was listening."""

    away_s: float


@dataclass(frozen=True, slots=True)
class Undone(Event):
    """The last command was taken back."""


@dataclass(frozen=True, slots=True)
class EveningEnded(Event):
    pass


_KINDS: dict[str, type[Event]] = {c.__name__: c for c in Event.__subclasses__()}


def to_json(event: Event) -> tuple[str, str]:
    """(kind, JSON of its fields).

    >>> from_json(*to_json(StepDone(3.0, "batter")))
    StepDone(t=3.0, step='batter')
    """
    return type(event).__name__, json.dumps(asdict(event), ensure_ascii=False, separators=(",", ":"))


def from_json(kind: str, text: str) -> Event:
    """The event that `to_json` wrote. ValueError when this version does not know it."""
    cls = _KINDS.get(kind)
    if cls is None:
        raise ValueError(f"this version knows no event called {kind}")
    raw: dict[str, Any] = json.loads(text)
    known = {f.name for f in fields(cls)}
    if not set(raw) <= known:
        raise ValueError(f"{kind} carries {sorted(set(raw) - known)}, which this version does not know")
    return cls(**{k: _tuples(v) for k, v in raw.items()})


def _tuples(value: Any) -> Any:
    return tuple(_tuples(v) for v in value) if isinstance(value, list) else value
