"""What is so, at one moment of an evening: a frozen value, changed only by `evolve`.

`StepRun` says how far a step is; anything in heat (oil, oven, on a burner) is a `Batch` with a clock of its own that nothing but
lifting stops. `Question`s wait in one ordered queue; yes and no answer only the one spoken last. `Alert`s repeat until they clear.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum
from typing import TYPE_CHECKING

from assistant.kitchen.ledger import Ledger
from assistant.kitchen.meal import Meal, Pot, Step, StepKind
from assistant.kitchen.oil.described import PotTold, described
from assistant.kitchen.oil.estimate import Learned, PotEstimate
from assistant.kitchen.oil.foam import Foam
from assistant.kitchen.oil.life import OilLife
from assistant.kitchen.plan_facts import Fact

if TYPE_CHECKING:
    from assistant.kitchen.evening import EveningPlan

IN_HEAT = frozenset({StepKind.FRY, StepKind.BAKE, StepKind.STOVE})
COOLING = "burn"
"""The clock of cool water on a burn: twenty minutes, kept by the program itself."""
ENDS = "ends:"
"""Told of a lot of which nothing more goes in than what is in; its step follows."""
LATE = "-late"
"""How the id of a step of the second wave ends."""
BY_HAND = frozenset({StepKind.HANDS, StepKind.TOSS, StepKind.PLATE})


class Status(StrEnum):
    """How far a step is."""

    TODO = "todo"
    RUNNING = "running"
    DONE = "done"
    SKIPPED = "skipped"


@dataclass(frozen=True, slots=True)
class Batch:
    """Food in heat. n: from 1; begun_t: lowering began; in_t: last piece in (expected until sure); extended_s: time added; lifted_t: None while in;
    looks: how often its look was asked; next_look_t: when to ask again; oil_allergens: in the oil when it went in."""

    n: int
    begun_t: float
    in_t: float
    sure: bool = False
    extended_s: float = 0.0
    lifted_t: float | None = None
    next_look_t: float | None = None
    test: bool = False
    oil_allergens: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class StepRun:
    """How one step goes. extra_s: time the cook added to earlier batches, proposed for the next; part: how big its batches are now, as a part of what
    they were to be."""

    status: Status = Status.TODO
    began_t: float | None = None
    done_t: float | None = None
    batches: tuple[Batch, ...] = ()
    extra_s: float = 0.0
    part: float = 1.0

    @property
    def current(self) -> Batch | None:
        """The batch in heat now, if any."""
        return self.batches[-1] if self.batches and self.batches[-1].lifted_t is None else None

    @property
    def full_batches(self) -> int:
        """Batches lifted, the test batch not counted."""
        return sum(1 for b in self.batches if b.lifted_t is not None and not b.test)


@dataclass(frozen=True, slots=True)
class KitchenClock:
    """A clock the cook asked for, or one the program keeps (`burn`)."""

    id: str
    name: str
    ends_t: float


@dataclass(frozen=True, slots=True)
class PotRun:
    """A pot of oil. level: off, on, full, up, down; oil_c: last reading and read_t when; earlier_c: the one before; tested: the small test batch
    went in; foaming: foam has risen and not settled; told: sizes the cook said; estimate: what is known of the oil (None: its volume or width is
    missing); learned: kept from evenings before; bread_s: how long a bread cube took to turn golden, tried at bread_t; life, foam: of this oil;
    checked_t: when it was last looked at; asked_ready_t: when "ready?" was asked; advised: last word on the flame; dropped_c, low_c, high_c,
    lifted_c: the estimate's oil over the last batch, C."""

    level: str = "off"
    lit_t: float | None = None
    oil_c: float | None = None
    read_t: float | None = None
    earlier_c: float | None = None
    fresh: bool = True
    tested: bool = False
    drops: int = 0
    foaming: bool = False
    smoked: bool = False
    litres_added: float = 0.0
    told: PotTold = field(default_factory=PotTold)
    estimate: PotEstimate | None = None
    learned: Learned | None = None
    bread_s: float | None = None
    bread_t: float = -1e9
    life: OilLife = field(default_factory=lambda: OilLife("blend", 2.0))
    foam: Foam = field(default_factory=Foam)
    checked_t: float = -1e9
    asked_ready_t: float | None = None
    advised: str = ""
    advised_t: float = -1e9
    dropped_c: float = 0.0
    low_c: float = 1e9
    high_c: float = -1e9
    lifted_c: float = 0.0

    @property
    def on(self) -> bool:
        """Whether heat is on, as far as anybody said."""
        return self.level != "off"

    @property
    def rising(self) -> bool:
        """Whether the last reading was above the one before (or is the first with the burner on)."""
        return self.on if self.earlier_c is None or self.oil_c is None else self.oil_c > self.earlier_c


@dataclass(frozen=True, slots=True)
class Question:
    """id: what it asks; accepts: intents that answer it; expires_t: kitchen time; pending: a command that waits for yes."""

    id: str
    accepts: tuple[str, ...]
    expires_t: float
    asked_t: float
    pending: tuple[tuple[str, str | float | int], ...] = ()


@dataclass(frozen=True, slots=True)
class Alert:
    """Something that must be acted on. priority: high, medium, low; words: at most 8; next_t: when it is said again; times: how often it was said."""

    id: str
    priority: str
    cause: str
    clears_when: str
    words: str
    raised_t: float
    next_t: float
    times: int = 1


@dataclass(frozen=True, slots=True)
class ScriptRun:
    """A danger script under way. index: the next line; next_t: when it is due; false_alarms: how often that was said;
    unanswered: as in `ScriptBegan`."""

    name: str
    index: int
    next_t: float
    began_t: float
    false_alarms: int = 0
    unanswered: str = ""


@dataclass(frozen=True, slots=True)
class State:
    """One evening at one moment. day_s: time of day at t=0; slots: the order followed, (step id, start, end) in kitchen time; lights: (pot or `oven`,
    when it is to be lit); focus: the step the cook was told to do; cores, good_cores: last core reading of a step, C, and how many pieces in a row
    were hot enough; ledger: perishable food; plan, facts: the plan followed and all that has happened since; touched: the step that hands touched
    last; had_thermometer: whether there was one on evenings before; hazard: what happened that keeps the burner off (a script's name), hazard_pot: of
    which pot; scripts_waiting: danger scripts that come when the one under way is over; told: what was said once, and when; made, instead: as in
    `EveningBegan`; second, wave_t: steps of the second wave for
    late guests, each s after its first drop, and when that is."""

    meal: Meal
    day_s: float
    serve_t: float
    people: int
    units: str
    region: str
    t: float = 0.0
    slots: tuple[tuple[str, float, float], ...] = ()
    lights: tuple[tuple[str, float], ...] = ()
    steps: Mapping[str, StepRun] = field(default_factory=dict)
    pots: Mapping[str, PotRun] = field(default_factory=dict)
    clocks: Mapping[str, KitchenClock] = field(default_factory=dict)
    alerts: Mapping[str, Alert] = field(default_factory=dict)
    questions: tuple[Question, ...] = ()
    script: ScriptRun | None = None
    focus: str = ""
    told: Mapping[str, float] = field(default_factory=dict)
    places: Mapping[str, tuple[str, float]] = field(default_factory=dict)
    cores: Mapping[str, float] = field(default_factory=dict)
    good_cores: Mapping[str, int] = field(default_factory=dict)
    ledger: Ledger = field(default_factory=Ledger)
    plan: EveningPlan | None = None
    facts: tuple[Fact, ...] = ()
    touched: str = ""
    hazard: str = ""
    hazard_pot: str = ""
    scripts_waiting: tuple[str, ...] = ()
    made: tuple[tuple[str, int, float, tuple[str, ...]], ...] = ()
    instead: str = ""
    second: Mapping[str, float] = field(default_factory=dict)
    wave_t: float = 0.0
    held_t: float | None = None
    held_why: str = ""
    quiet_until_t: float = 0.0
    helper: bool = False
    thermometer: bool = True
    had_thermometer: bool = True
    last_words: str = ""
    last_heard: str = ""
    heard_t: float = -1e9
    said_t: float = -1e9
    before: State | None = None
    before_t: float = 0.0
    ended: bool = False
    starts: dict[str, float] = field(init=False, repr=False, compare=False)  # of slots, looked up some hundred times a decision

    def __post_init__(self) -> None:
        object.__setattr__(self, "starts", {step: start for step, start, _ in reversed(self.slots)})

    def run(self, step: str) -> StepRun:
        """How this step goes; KeyError when the meal has none such."""
        return self.steps[step]

    def ready(self, step: Step) -> bool:
        """Whether everything it waits for is done or left out; the second wave waits for its guests too."""
        if step.id in self.second and "guests" not in self.told:
            return False
        return all(self.steps[a].status in (Status.DONE, Status.SKIPPED) for a in step.after)

    def pot_of(self, step: Step) -> Pot:
        """The pot a step fries in, as `pot_now`."""
        if step.fry is None:
            raise ValueError(f"{step.id} does not fry")
        return self.pot_now(step.fry.pot)

    def pot_now(self, pot_id: str) -> Pot:
        """The card's pot with what the cook said of it and the oil that was added."""
        pot = next(p for p in self.meal.equipment.pots if p.id == pot_id)
        run = self.pots.get(pot_id)
        if run is None:
            return pot
        told = pot if run.told == PotTold() else described(pot, run.told)
        return told if told.oil_litres is None or not run.litres_added else replace(told, oil_litres=told.oil_litres + run.litres_added)

    def start_of(self, step: str) -> float:
        """When the order wants this step begun, kitchen time, s."""
        if step in self.second:
            return self.wave_t + self.second[step]
        return self.starts.get(step, self.t)

    def light_at(self, what: str) -> float | None:
        """When the plan wants a pot or the oven lit, kitchen time; None without a plan for it."""
        return next((at for name, at in self.lights if name == what), None)

    def in_heat(self) -> list[tuple[Step, Batch]]:
        """Everything in oil, oven or on a burner now, the soonest due first."""
        found = [(s, b) for s in self.meal.steps() if (b := self.steps[s.id].current) is not None]
        return sorted(found, key=lambda sb: due_t(sb[0], sb[1]))

    def day_at(self, t: float) -> float:
        """Time of day at kitchen time t, s after midnight."""
        return (self.day_s + t) % 86400.0

    def days_until(self, t: float) -> int:
        """How many midnights lie between now and kitchen time t."""
        return int((self.day_s + t) // 86400.0 - (self.day_s + self.t) // 86400.0)


def due_t(step: Step, batch: Batch) -> float:
    """When this batch is due to come out, kitchen time."""
    usual = step.span.usual_s if not batch.test else min(60.0, step.span.usual_s)
    return batch.in_t + usual + batch.extended_s


def most_t(step: Step, batch: Batch) -> float:
    """When this batch has been in longer than the card allows, kitchen time."""
    return max(batch.in_t + step.span.most_s + batch.extended_s, due_t(step, batch) + 60.0)
