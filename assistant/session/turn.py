"""One turn of the session: events as they are decided, with the state they lead to. Plus the questions about a state that several rooms ask.

A `Turn` is the only mutable thing in the session and lives for one call of `decide`; outside it everything is a value.
"""

from __future__ import annotations

from assistant.kitchen.doneness import food_of, target
from assistant.kitchen.meal import Step, StepKind
from assistant.kitchen.scripts import severity
from assistant.session import events as e
from assistant.session import food
from assistant.session.commands import Command, Intent
from assistant.session.evolve import evolve
from assistant.session.state import BY_HAND, ENDS, IN_HEAT, LATE, Batch, State, Status
from assistant.speaking import prompts as p
from assistant.speaking.line import Priority

UNDO_S = 10.0
ABOUT_A_POT = frozenset({"oil", "flame", "bread", "topup", "signs", "which", "unsure", "full", "hot", "hot-now", "armed", "unattended", "turned"})
"""Kinds of questions and alerts whose id goes on with a pot."""
ALARM_WORDS = 8
LIST_PAUSE_S = 1.5
"""Lines of a list leave this much between them, to be answered or cut short."""


class Turn:
    """Collects what happens at kitchen time t."""

    def __init__(self, state: State, t: float) -> None:
        self.state = state
        self.t = max(t, state.t)
        self.events: list[e.Event] = []

    def happen(self, event: e.Event) -> None:
        """Note a fact and move the state on."""
        said = food.words_about(self.state, event)
        self.events.append(event)
        self.state = evolve(self.state, event)
        for words in said:
            self.say(words)
        if isinstance(event, e.Placed | e.StepDone):
            food.clear_ended(self)

    def say(self, words: str, priority: Priority = Priority.ANSWER, pause_s: float = 0.0) -> None:
        """Hand a line to the voice; remarks are kept back while the cook wants quiet, and in a fire all that is not about danger."""
        script = self.state.script
        if priority is Priority.REMARK and (self.t < self.state.quiet_until_t or script is not None):
            return
        if priority > Priority.ALARM and script is not None and severity(script.name) == 3:
            return
        self.happen(e.Said(self.t, words, int(priority), pause_s))

    def say_list(self, lines: tuple[str, ...] | list[str], priority: Priority = Priority.ANSWER) -> None:
        """Several lines with room between them."""
        for words in lines:
            self.say(words, priority, LIST_PAUSE_S)

    def told(self, key: str) -> bool:
        """Whether this was said already; if not, it counts as said from now on."""
        if key in self.state.told:
            return True
        self.happen(e.Told(self.t, key))
        return False

    def ask(self, question: str, words: str, accepts: tuple[Intent, ...], wait_s: float = 30.0, pending: Command | None = None) -> None:
        """Put a question; it lapses after wait_s."""
        held = () if pending is None else as_pairs(pending)
        words = in_pot(self.state, about_pot(question), words)
        self.happen(e.Asked(self.t, question, tuple(str(a) for a in accepts), self.t + wait_s, held))
        self.say(words)

    def close(self, prefix: str, how: str = "dropped") -> None:
        """Withdraw every open question whose id begins so."""
        for q in self.state.questions:
            if q.id.startswith(prefix):
                self.happen(e.Answered(self.t, q.id, how))

    def clear(self, alert: str, acted: bool = True) -> None:
        """An alert has its answer."""
        if alert in self.state.alerts:
            self.happen(e.AlertCleared(self.t, alert, acted))

    def alert(self, id: str, priority: str, cause: str, clears_when: str, words: str) -> None:
        """Raise an alert once and say it."""
        if id not in self.state.alerts:
            words = in_pot(self.state, about_pot(id), words, ALARM_WORDS)
            self.happen(e.AlertRaised(self.t, id, priority, cause, clears_when, words))
            self.say(words, Priority.ALARM if priority == "high" else Priority.ANSWER)


def about_pot(question: str) -> str:
    """The pot that a question is about, by its id; "" for none."""
    kind, _, rest = question.partition(":")
    return rest.partition(":")[0] if kind in ABOUT_A_POT else ""


def in_pot(state: State, pot_id: str, words: str, most: int = 12) -> str:
    """Words about a pot, with its name where there are several."""
    return p.of_pot(state.pot_now(pot_id).name, words, most) if pot_id in state.pots and len(state.pots) > 1 else words


def as_pairs(command: Command) -> tuple[tuple[str, str | float | int], ...]:
    """A command as it goes into an event."""
    return (("intent", str(command.intent)), *command.slots().items(), ("words", command.words))


def from_pairs(pairs: tuple[tuple[str, str | float | int], ...]) -> Command:
    """The command that `as_pairs` wrote."""
    values = dict(pairs)
    return Command(Intent(str(values.pop("intent"))), **values)  # type: ignore[arg-type]


def spoken(state: State, item: str) -> str:
    """How something of this meal is said: a dish, step, ingredient or clock; the id itself when it is none of them."""
    for dish in state.meal.dishes:
        if dish.id == item:
            return dish.said[0]
        for step in dish.steps:
            if step.id == item:
                return step.said[0]
        for thing in dish.ingredients:
            if thing.id == item:
                return thing.said[0]
    clock = state.clocks.get(item)
    return clock.name if clock is not None else item.replace("-", " ")


def heat_said(state: State, step: Step) -> str:
    """How something in heat is said: by its dish, or by its own name where the dish has several things on the stove or in the oven."""
    dish = state.meal.dish(step.dish)
    others = [s for s in dish.steps if s.kind in IN_HEAT and s.fry is None and s.id != step.id]
    return step.said[0] if step.fry is None and others else dish.said[0]


def core_wanted(state: State, step: Step) -> str:
    """What is asked when a core is to be read."""
    want = target(food_of(state.meal.dish(step.dish)), step.core_c)
    return p.need_core(heat_said(state, step), want.core_c, state.units, want.two)


def matches(state: State, step: Step, item: str | None) -> bool:
    """Whether a step is meant by what the cook named: its id, its dish, or something it uses; nothing named matches all."""
    if item is None or item in (step.id, step.dish, *step.uses):
        return True
    if step.id in state.second and step.id.removesuffix(LATE) == item:
        return state.steps[item].status in (Status.DONE, Status.SKIPPED)
    return any(i.id == item for i in state.meal.dish(step.dish).ingredients)


def in_heat(state: State, item: str | None) -> tuple[Step, Batch] | None:
    """The batch in heat that is meant: exact names go first, then what was called out, then the soonest due."""
    found = [(s, b) for s, b in state.in_heat() if matches(state, s, item)]
    exact = [(s, b) for s, b in found if item in (s.id, s.dish)]
    called = [(s, b) for s, b in found if f"lift:{s.id}:{b.n}" in state.alerts or f"over:{s.id}:{b.n}" in state.alerts]
    return next(iter(exact or called or found), None)


def open_steps(state: State) -> list[Step]:
    """Steps that could begin now (all they wait for is done), waits left out, in the order followed."""
    found = [s for s in state.meal.steps() if state.steps[s.id].status is Status.TODO and s.kind is not StepKind.WAIT and state.ready(s)]
    return sorted(found, key=lambda s: state.start_of(s.id))


def frying_next(state: State, item: str | None = None) -> Step | None:
    """The fry step whose next batch is due: one under way with batches left first, then the next that is ready; unless it is named, not one whose
    pot still has batches of another dish to come."""
    under_way = [
        s
        for s in state.meal.steps()
        if s.fry is not None and state.steps[s.id].status is Status.RUNNING and state.steps[s.id].current is None and matches(state, s, item)
    ]
    taken = {s.fry.pot for s, _ in state.in_heat() if s.fry is not None and batches_left(state, s) > 0} if item is None else set()
    waiting = [
        s
        for s in state.meal.steps()
        if s.fry is not None and state.steps[s.id].status is Status.TODO and state.ready(s) and s.fry.pot not in taken and matches(state, s, item)
    ]
    for found in (under_way, waiting):
        if found:
            return min(found, key=lambda s: state.start_of(s.id))
    return None


def wanted_next(state: State, pot_id: str) -> Step | None:
    """The fry step this pot's oil is heated for: one under way with batches left, else the first by the order, ready or not; none after dinner."""
    if "dinner" in state.told:
        return None
    steps = [s for s in state.meal.steps() if s.fry is not None and s.fry.pot == pot_id]
    under_way = [s for s in steps if state.steps[s.id].status is Status.RUNNING and batches_left(state, s) > 0]
    todo = [s for s in steps if state.steps[s.id].status is Status.TODO]
    return min(under_way or todo, key=lambda s: state.start_of(s.id), default=None)


def heating_next(state: State, item: str | None) -> Step | None:
    """The oven or stove step that could go in now."""
    found = [s for s in open_steps(state) if s.kind in IN_HEAT and s.fry is None and matches(state, s, item)]
    return found[0] if found else None


def next_step(state: State) -> Step | None:
    """What comes next by time: among what could begin and what is due in heat, the soonest; a fry with batches left counts as soon."""
    upcoming = [s for s in state.meal.steps() if state.steps[s.id].status is Status.TODO and s.kind is not StepKind.WAIT and s.id != state.focus]
    ready = [s for s in upcoming if state.ready(s)] or upcoming
    fry = frying_next(state)
    if fry is not None and state.steps[fry.id].status is Status.RUNNING:
        return fry
    return min(ready, key=lambda s: (not state.ready(s), state.start_of(s.id))) if ready else None


def batches_left(state: State, step: Step) -> int:
    """Batches of this step still to go in."""
    if step.fry is None or f"{ENDS}{step.id}" in state.told:
        return 0
    run = state.steps[step.id]
    going = 1 if run.current is not None and not run.current.test else 0
    return max(0, step.fry.batches - run.full_batches - going)


def present(turn: Turn, step: Step) -> None:
    """Tell the cook to do this step now."""
    name = step.said[0]
    if step.kind in BY_HAND or step.text:
        words = p.do_now(name, step.text)
    else:
        words = p.into_oven(name) if step.kind is StepKind.BAKE else p.onto_stove(name)
    food.order(turn, step, words)
    turn.happen(e.Focused(turn.t, step.id))
    if step.kind in BY_HAND:
        turn.happen(e.StepBegan(turn.t, step.id))
