"""A small evening for session tests: state made from a bundled meal, commands by typed words, time by hand."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any

from assistant.ears import interpreter_for
from assistant.evening import adopt_order, adoption
from assistant.kitchen.cards import find_meal
from assistant.kitchen.evening import EveningPlan
from assistant.session import events as e
from assistant.session.commands import Command, Intent, Reject
from assistant.session.decide import decide, start
from assistant.session.evolve import evolve, first_state
from assistant.session.state import State
from assistant.settings import Settings
from assistant.understander import Understander
from assistant.understanding.gate import Ear, admit


def first_event(meal: str = "fish-supper", serve_t: float | None = None, people: int = 2, units: str = "F") -> e.EveningBegan:
    """The first event of an evening that begins at 16:30."""
    path = find_meal(meal)
    return e.EveningBegan(0.0, path.read_text(encoding="utf-8"), path.name, 16.5 * 3600, serve_t, people, units, "US")


@dataclass
class Kit:
    """Drives one evening without journal, sound or clock."""

    meal: str = "fish-supper"
    serve_t: float | None = None
    people: int = 2
    before: dict[str, Any] = field(default_factory=dict)
    plan: EveningPlan | None = None
    state: State = field(init=False)
    events: list[e.Event] = field(init=False, default_factory=list)

    def __post_init__(self) -> None:
        first = replace(first_event(self.meal, self.serve_t, self.people), **self.before)
        self.state = first_state(first)
        self.events = [first]
        self._add((adopt_order(self.state, 0.0, "test"),))
        if self.plan is not None:
            self._add((adoption(self.plan, 0.0, "test"),))
        self._add(start(self.state, 0.0))
        settings = Settings()
        self._understander = Understander(interpreter_for(self.state.meal, settings), settings)

    def _add(self, events: tuple[e.Event, ...]) -> None:
        self.events.extend(events)
        for event in events:
            self.state = evolve(self.state, event)

    def do(self, t: float, command: Command | Reject | None) -> list[str]:
        """What is said when this happens at kitchen time t."""
        events = decide(self.state, command, t)
        self._add(events)
        return [x.words for x in events if isinstance(x, e.Said)]

    def say(self, t: float, words: str) -> list[str]:
        """What is said to typed words at kitchen time t."""
        reading = self._understander.interpreter.interpret(words, now_day_s=self.state.day_at(t), typed=True)
        accepts = frozenset(Intent(a) for q in self.state.questions for a in q.accepts)
        return self.do(t, admit(reading, Ear(question_accepts=accepts)))

    def wait(self, t: float) -> list[str]:
        """What is said until kitchen time t, every deadline met in its turn."""
        from assistant.session.agenda import next_deadline

        said: list[str] = []
        while (due := next_deadline(self.state)) is not None and due <= t:
            said += self.do(max(due, self.state.t), None)
        return said + self.do(t, None)

    def reach_first_fry(self) -> float:
        """Everything by hand done, oil hot and read, test batch out: kitchen time of the first full drop."""
        t = 60.0
        self.say(t, "yes")
        for step in self.state.meal.steps():
            if step.fry is None and step.id != "peas-simmer" and not _after_fry(self.state, step.id):
                self._add((e.StepDone(t, step.id),))
        self._add((e.Focused(t, ""),))
        t = 1200.0
        self.wait(t)
        self.say(t, "burner on full")
        self.say(t + 100, "oil is at two ninety")
        self.say(t + 195, "burner down")
        self.say(t + 200, "oil is at three hundred")
        self.say(t + 210, "test batch is in")
        self.say(t + 270, "test batch is out")
        return t + 280


def _after_fry(state: State, step_id: str) -> bool:
    step = state.meal.step(step_id)
    return any(state.meal.step(a).fry is not None or a == "peas-simmer" or _after_fry(state, a) for a in step.after)
