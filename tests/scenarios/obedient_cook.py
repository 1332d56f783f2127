"""A cook who does what is said, at a pot with physics of its own: drives a whole evening of any meal by words alone.

The pot is the fry model with a burner ten percent weaker than the card's and readings rounded to a whole degree; the cook answers after some seconds,
takes the usual time for everything, and says so. Nothing here looks at the assistant's estimate.
"""

from __future__ import annotations

import heapq
import itertools
from dataclasses import dataclass, field
from typing import Any

from assistant.clock import FakeClock
from assistant.ears import interpreter_for
from assistant.evening import Evening
from assistant.journal import Journal
from assistant.kitchen.cards import find_meal, read_text
from assistant.kitchen.meal import StepKind
from assistant.kitchen.oil.gate import batch_load
from assistant.kitchen.oil.pot import Load, advance, derivative, vessel
from assistant.rehearsal import kitchen_stamp
from assistant.runtime import plan_first
from assistant.session import events as e
from assistant.session.before_drop import drop_planned
from assistant.session.danger import pot_in_use
from assistant.session.state import BY_HAND, State
from assistant.session.turn import frying_next, heat_said
from assistant.settings import Settings
from assistant.understander import Understander
from assistant.understanding import numbers


def _wait_said(words: str) -> float:
    """How long "about five minutes" is, s; a minute and a half where nothing is said."""
    _, _, said = words.rstrip(".").partition("bout ")
    return (numbers.duration_s(numbers.normal(said)) if said else None) or 90.0


LEVELS = {"off": 0.0, "on": 0.8, "full": 1.0}
WEAKER = 0.9
PROBE_S = 10.0
LONGEST_S = 6 * 3600.0


@dataclass
class Cook:
    """One evening. lines: (kitchen time, > or <, words); drops: (step, test batch, how far the true oil was above the set point,
    K); cores: what the first core readings are, then one seventy; foams: the second batch of the evening foams up; day_s: time of day at the start;
    late: how many guests are, who come at the second asking; serve_t: wanted serving, kitchen time; before: what earlier evenings made, as
    `EveningBegan` has it; blind: there is no thermometer, so oil is tried with bread, which browns twice as fast every 25 K; stays: until the oil
    is cold; probe: another program reads the oil every PROBE_S, to a tenth of a degree, and the cook reads nothing aloud."""

    meal: str
    lines: list[tuple[float, str, str]] = field(default_factory=list)
    events: list[e.Event] = field(default_factory=list)
    drops: list[tuple[str, bool, float]] = field(default_factory=list)
    cores: list[str] = field(default_factory=list)
    planned: bool = False
    foams: bool = False
    day_s: float = 16.0 * 3600
    serve_t: float | None = None
    late: int = 0
    before: dict[str, Any] = field(default_factory=dict)
    blind: bool = False
    stays: bool = False
    probe: bool = False

    def __post_init__(self) -> None:
        path = find_meal(self.meal)
        text = path.read_text(encoding="utf-8")
        first = e.EveningBegan(0.0, text, path.name, self.day_s, self.serve_t, read_text(text, path.name).serves, "F", "US", **self.before)
        self.clock = FakeClock(wall=self.day_s)
        self._queue: list[tuple[float, int, str]] = []
        self._count = itertools.count()
        self._pots: dict[str, tuple[float, float, float]] = {}
        self._loads: dict[str, Load | None] = {}
        self._levels: dict[str, float] = {}
        self._pot_t = 0.0
        self._ready = False
        self._seen: list[e.Event] = []
        done = frozenset(step for *_, steps in first.made for step in steps)
        plan = plan_first(read_text(text, path.name), first.people, self.serve_t, done=done) if self.planned else None
        self.evening = Evening.begin(
            Journal(":memory:"), self.clock, first, self.meal, lambda lines: None, lambda ev, state: self._seen.extend(ev), plan
        )
        settings = Settings()
        self._understander = Understander(interpreter_for(self.evening.state.meal, settings), settings)
        for pot in self.evening.state.meal.equipment.pots:
            self._pots[pot.id], self._loads[pot.id], self._levels[pot.id] = (20.0, 0.0, 0.0), None, 0.0

    @property
    def state(self) -> State:
        """The session's state now."""
        return self.evening.state

    def run(self) -> State:
        """From the first words until dinner is up (or LONGEST_S)."""
        self._react()
        while self._goes_on() and self.evening.kitchen_time() < LONGEST_S + (self.serve_t or 0.0):
            due = self.evening.next_deadline()
            at = self._queue[0][0] - self.evening.kitchen_time() if self._queue else None
            probing = self.probe and any(pot.on for pot in self.state.pots.values())
            waits = [w for w in (due, at, PROBE_S if probing else None) if w is not None]
            if not waits:
                break
            self.clock.advance(max(0.0, min(waits)) + 1e-6)
            self._heat()
            if probing:
                self.evening.probed(round(self._pots[pot_in_use(self.state)][0], 1))
            if at is not None and at <= min(waits) + 1e-9:
                words = heapq.heappop(self._queue)[2]
                self._say(words)
            else:
                self.evening.feed(None)
            self._react()
        return self.state

    def _goes_on(self) -> bool:
        told = self.state.told
        return "dinner" not in told or (self.stays and ("closed" not in told or any(c.startswith("oil-") for c in self.state.clocks)))

    def _say(self, words: str) -> None:
        if words.startswith("oil at ") and (self.blind or self.probe):
            return
        if words.startswith("oil at "):
            words = f"oil is at {self._reading(words.removeprefix('oil at '))}"
        self.lines.append((self.evening.kitchen_time(), ">", words))
        self.evening.feed(*self._understander.typed(words, self.evening))

    def _reading(self, pot: str) -> str:
        return f"{self._pots[pot][0] * 1.8 + 32:.0f}"

    def _core(self) -> str:
        return self.cores.pop(0) if self.cores else "core is at one seventy"

    def _later(self, seconds: float, words: str) -> None:
        if any(queued == words for _, _, queued in self._queue):
            return  # nobody says the same thing twice over
        heapq.heappush(self._queue, (self.evening.kitchen_time() + seconds, next(self._count), words))

    def _heat(self) -> None:
        now = self.evening.kitchen_time()
        for pot in self.state.meal.equipment.pots:
            body = vessel(pot, set_point_c=self._dial)
            rates = derivative(body, self._loads[pot.id], WEAKER * body.power_w * self._levels[pot.id])
            self._pots[pot.id] = advance(rates, self._pots[pot.id], now - self._pot_t, 5.0)
        self._pot_t = now

    def _react(self) -> None:
        seen, self._seen = self._seen, []
        self.events += seen
        for event in seen:
            self._answer(event)

    def _answer(self, event: e.Event) -> None:
        state = self.state
        match event:
            case e.Said(words=words):
                self.lines.append((event.t, "<", words))
                if words.startswith(("Switch the fryer on", "Set the fryer")):
                    self._dial = (float(words.rstrip(".").split()[-1]) - 32.0) / 1.8
                if "ight the burner" in words or words.startswith("Switch the fryer on"):
                    self._later(15, "burner on full")
                    if self.blind and self.state.thermometer:
                        self._later(5, "no thermometer")
                elif words.startswith("Hold. Too") and "bread" in words:
                    if self._dropping:
                        self._later(_wait_said(words), f"dropping the {self._dropping}")
                elif words == "Good enough to drop.":
                    pot, coming = next(iter(self._pots)), frying_next(self.state)
                    if coming is not None and (self.drops or not self.state.pots[pot].fresh):
                        self._dropping = self.state.meal.dish(coming.dish).said[0]
                        self._later(6, f"dropping the {self._dropping}")
                elif words.startswith("To the table, whoever"):
                    self._dropping = ""  # nothing is dropped before the others are there
                elif words.startswith("Go, "):
                    self._later(20, f"{self._dropping} in")
                elif self._dropping and (words.startswith("Hold. Oil") or (words.startswith("Oil too hot") and not self.state.second)):
                    pot = next(iter(self._pots))
                    self._later(30, f"oil at {pot}")
                    self._later(33, f"dropping the {self._dropping}")
            case e.Asked(question=question):
                kind, _, rest = question.partition(":")
                if kind == "everyone" and self.late:
                    self._later(5, "no")
                elif kind == "late":
                    self._later(5, str(self.late))
                elif kind == "guests":
                    self._later(5, "no" if self.late else "yes")
                    self.late = 0
                elif kind in ("time", "look", "flame", "everyone", "made", "off", "foam"):
                    self._later(5, "yes")
                elif kind == "signs":
                    self._later(20, "no")
                elif kind == "bread":
                    took = 55.0 * 2.0 ** ((181.0 - self._pots[rest][0]) / 25.0)
                    self._later(min(took, 160.0), "no" if took > 160.0 else f"{round(took)} seconds")
                elif kind == "relight":
                    self._later(4, "yes")
                elif question == "script:any_flame":
                    self._later(3, "no")
                elif kind == "oil":
                    self._later(8, f"oil at {rest}")
                elif kind == "core":
                    self._later(20, self._core())
            case e.BatchIn(batch=3) if self.foams:  # the second after the test batch
                self.foams = False
                for seconds, words in (
                    (15, "it's foaming up"),
                    (50, "burner off"),
                    (75, "foam has settled"),
                    (80, "burner on full"),
                    (95, "carry on"),
                ):
                    self._later(seconds, words)
            case e.BurnerSet(pot=pot, level=level):
                was = self._levels[pot]
                turned = {"up": min(1.0, was + 0.25), "down": 0.4 if was > 0.7 else 0.6 * was}
                self._levels[pot] = LEVELS[level] if level in LEVELS else turned[level]
            case e.StepBegan(step=step):
                found = state.meal.step(step)
                if found.kind in BY_HAND:
                    self._later(found.span.usual_s, f"done with the {found.said[0]}")
            case e.Focused(step=step) if step:
                found = state.meal.step(step)
                if found.kind in (StepKind.BAKE, StepKind.STOVE):
                    self._later(20, f"{heat_said(state, found)} is on" if found.kind is StepKind.STOVE else f"{found.said[0]} is in")
            case e.Told(key=key) if key.startswith("remind:"):
                found = state.meal.step(key.split(":")[1])
                assert found.fry is not None
                self._dropping = state.meal.dish(found.dish).said[0]
                wait = max(5.0, drop_planned(state, found) - event.t)
                pot_run = state.pots[found.fry.pot]
                self._later(max(0.0, wait - 8), f"oil at {found.fry.pot}")
                self._later(wait, "test batch is in" if pot_run.fresh and not pot_run.tested else f"dropping the {self._dropping}")
            case e.BatchBegun(step=step, test=test):
                fry = state.meal.step(step).fry
                if fry is not None:
                    self.drops.append((step, test, self._pots[fry.pot][0] - fry.oil_c))
                    self._loads[fry.pot] = batch_load(fry, fry.kg / fry.batches * (0.15 if test else 1.0))
                    self._pots[fry.pot] = (self._pots[fry.pot][0], 0.0, 0.0)
            case e.BatchLifted(step=step, batch=n):
                fry = state.meal.step(step).fry
                if fry is not None:
                    self._loads[fry.pot] = None
                    batch = next(b for b in state.steps[step].batches if b.n == n)
                    if batch.test:
                        self._later(20, f"oil at {fry.pot}")
                        self._later(25, f"dropping the {state.meal.dish(state.meal.step(step).dish).said[0]}")
            case e.AlertRaised(id=alert):
                kind, _, rest = alert.partition(":")
                if kind in ("lift", "over"):
                    step_id = rest.split(":")[0]
                    batch = state.steps[step_id].current
                    name = heat_said(state, state.meal.step(step_id))
                    if batch is None or not batch.test:  # of that the foam is asked about, which says both
                        self._later(8, f"{name} out")
                elif kind == "clock" and rest.startswith("core-"):
                    self._later(10, self._core())
                elif kind in ("hot", "hot-now", "armed", "unattended"):
                    self._later(3, "burner off" if self.blind else f"oil at {rest}")
                elif kind == "clock" and rest.startswith("oil-"):
                    self._later(5, "yes")

    _dropping = ""
    _dial: float | None = None  # of an electric fryer, C

    def script(self) -> str:
        """The evening as a rehearsal script."""
        return "\n".join(f"{kitchen_stamp(t)} {way} {words}" for t, way, words in self.lines)


if __name__ == "__main__":
    import sys

    cook = Cook(sys.argv[1], blind="blind" in sys.argv, stays=True, planned="planned" in sys.argv, probe="probe" in sys.argv)
    cook.run()
    print(cook.script())
