"""One evening under way: commands and time in, lines out, everything journaled first. The same for a live evening, a rehearsal and a test.

Nothing here knows where commands come from or where lines go. Order of effects: decide, write to the journal, evolve, then speak.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Collection, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from assistant.clock import Clock, EveningClock, Now
from assistant.journal import Journal
from assistant.kitchen.meal import Meal, Step
from assistant.kitchen.order import plain_order
from assistant.kitchen.scale import scaled
from assistant.session import events as e
from assistant.session.agenda import next_deadline
from assistant.session.commands import Command, Reject
from assistant.session.decide import decide, probed, resume, start
from assistant.session.evolve import evolve, first_state
from assistant.session.plan import TOLD_S, words_of
from assistant.session.state import State
from assistant.speaking import prompts
from assistant.speaking.line import Line, Priority, Sound

if TYPE_CHECKING:
    from assistant.kitchen.evening import EveningPlan

Speak = Callable[[tuple[Line, ...]], None]
Watch = Callable[[Sequence[e.Event], State], None]
WALL_JUMP_S = 90.0


def _ignore(events: Sequence[e.Event], state: State) -> None:
    """Nobody watches."""


class Evening:
    """Drives one session. speak: where the lines of a turn go; watch: called after every turn with what happened and the state now."""

    def __init__(self, journal: Journal, clock: Clock, state: State, evening_clock: EveningClock, speak: Speak, watch: Watch = _ignore) -> None:
        self.journal = journal
        self.clock = clock
        self.state = state
        self.evening_clock = evening_clock
        self._speak = speak
        self._watch = watch
        self._last_now = clock.now()
        self._journal_ok = True

    @classmethod
    def begin(
        cls,
        journal: Journal,
        clock: Clock,
        first: e.EveningBegan,
        meal_id: str,
        speak: Speak,
        watch: Watch = _ignore,
        plan: EveningPlan | None = None,
        before: str = "",
    ) -> Evening:
        """A new evening: its first event, the order of its steps, its first words. plan: followed from the first word; without one the
        card's plain order is; before: a sentence to be said before all others."""
        now = clock.now()
        journal.begin(first, meal_id, now)
        evening = cls(journal, clock, first_state(first), EveningClock(now, first.t), speak, watch)
        evening._commit((adopt_order(evening.state, first.t, "the plain order of the card"),), now)
        if plan is not None:
            evening._commit((adoption(plan, first.t, "planned"),), now)
        evening._commit((*_first_line(before, first.t), *start(evening.state, first.t)), now)
        return evening

    @classmethod
    def resume(cls, journal: Journal, clock: Clock, evening_id: int, speak: Speak, watch: Watch = _ignore, before: str = "") -> Evening:
        """Go on with an evening after the program was away. before: a sentence to be said before all others."""
        state, evening_clock = journal.reopen(evening_id)
        evening = cls(journal, clock, state, evening_clock, speak, watch)
        now = clock.now()
        t = evening_clock.kitchen_time(now)
        evening._commit((*_first_line(before, t), *resume(state, t)), now)
        return evening

    def kitchen_time(self) -> float:
        """Kitchen time now, s."""
        return max(self.state.t, self.evening_clock.kitchen_time(self.clock.now()))

    def feed(self, command: Command | Reject | None, read_as: str = "") -> tuple[e.Event, ...]:
        """One thing said, or (None) time passing. read_as: a typed sentence as its slip was read, to be said back."""
        now = self.clock.now()
        self._notice_jump(now)
        t = self.evening_clock.kitchen_time(now)
        echo = (e.Said(max(t, self.state.t), prompts.read_as(read_as), int(Priority.ANSWER)),) if read_as else ()
        events = (*echo, *decide(self.state, command, t))
        self._commit(events, now)
        return events

    def probed(self, celsius: float) -> None:
        """The thermometer that another program reads says this."""
        now = self.clock.now()
        self._notice_jump(now)
        self._commit(probed(self.state, celsius, self.evening_clock.kitchen_time(now)), now)

    def adopt(self, plan: EveningPlan, why: str) -> None:
        """Follow this plan from here on; a serving time or a dish that it moves by two minutes or more is said."""
        now = self.clock.now()
        t = max(self.state.t, self.evening_clock.kitchen_time(now))
        told = self.state
        self._commit((adoption(plan, t, why),), now)
        words = words_of(told, self.state.slots)
        if abs(plan.serve_s - told.serve_t) >= TOLD_S:
            words = prompts.plan_in_brief(self.state.day_at(plan.serve_s), self.state.days_until(plan.serve_s))
        if words:
            self._commit((e.Said(t, words, int(Priority.ANSWER)),), now)
        self.feed(None)

    def fault(self, part: str, ok: bool, sentence: str, aloud: bool = True) -> None:
        """Something of the world broke or came back: journaled and, where it can be heard, said."""
        now = self.clock.now()
        t = self.evening_clock.kitchen_time(now)
        said = (e.Said(t, sentence, int(Priority.ALARM)),) if aloud else ()
        self._commit((e.WorldFault(t, part, ok, sentence), *said), now)

    def next_deadline(self) -> float | None:
        """Seconds from now until time brings something; None when nothing is to come."""
        at = next_deadline(self.state)
        return None if at is None else max(0.0, at - self.evening_clock.kitchen_time(self.clock.now()))

    def end(self) -> None:
        """The evening is over."""
        now = self.clock.now()
        self._commit((e.EveningEnded(self.evening_clock.kitchen_time(now)),), now)

    def _commit(self, events: tuple[e.Event, ...], now: Now) -> None:
        written = self.journal.append(events, now)
        for event in events:
            self.state = evolve(self.state, event)
        rang = {x.words for x in events if isinstance(x, e.AlertRaised) and x.id.startswith(("clock:", "lift:"))}
        said = [x for x in events if isinstance(x, e.Said)]
        if lines := tuple(Line(x.words, Priority(x.priority), x.pause_s, Sound.CLOCK if x.words in rang else None) for x in said):
            self._speak(lines)
        self._watch(events, self.state)
        if written is not self._journal_ok:
            self._journal_ok = written
            sentence = prompts.JOURNAL_BACK if written else prompts.JOURNAL_LOST
            self.fault("journal", written, sentence)

    def _notice_jump(self, now: Now) -> None:
        """A time of day that jumps is said, and moves nothing that cooks."""
        last, self._last_now = self._last_now, now
        if now.boot == last.boot and abs((now.wall - last.wall) - (now.elapsed - last.elapsed)) > WALL_JUMP_S:
            self.fault("clock", True, prompts.CLOCK_JUMPED)


def _first_line(words: str, t: float) -> tuple[e.Event, ...]:
    return (e.Said(t, words, int(Priority.ANSWER)),) if words else ()


def adoption(plan: EveningPlan, t: float, why: str) -> e.PlanAdopted:
    """The event that a plan is followed from here on."""
    return e.PlanAdopted(t, json.dumps(plan.to_dict(), separators=(",", ":")), why)


def adopt_order(state: State, t: float, why: str) -> e.OrderAdopted:
    """The plain order of the meal, in kitchen time: so that it ends at the wanted serving, or as early as it goes."""
    slots = plain_order(without(state.meal, {s for *_, steps in state.made for s in steps}))
    length = -min((s.start_s for s in slots), default=0.0)
    serve = state.serve_t if state.serve_t > 0.0 else t + length + 60.0
    return e.OrderAdopted(t, tuple((s.step, serve + s.start_s, serve + s.end_s) for s in slots), why)


def total_length(meal: Meal, people: int, done: Collection[str] = ()) -> float:
    """How long the meal takes in its plain order, s. done: steps that are made already."""
    return -min((s.start_s for s in plain_order(without(scaled(meal, people), done))), default=0.0)


def without(meal: Meal, done: Collection[str]) -> Meal:
    """The meal as if these steps were no part of it."""
    if not done:
        return meal

    def left(step: Step) -> Step:
        return replace(step, after=tuple(a for a in step.after if a not in done))

    return replace(meal, dishes=tuple(replace(d, steps=tuple(left(s) for s in d.steps if s.id not in done)) for d in meal.dishes))
