"""Perishable food during the evening: which facts touch the ledger, what the ledger wants said, and what lies between raw and ready.

The ledger itself (`kitchen.ledger`) is part of the state and changed only by `evolve` through `consequences`; here it is asked, and its notices are
said once each, again when they get worse. A thing that is over its limit is a high alert until it is thrown away.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING

from assistant.kitchen import ledger as books
from assistant.kitchen import perishables
from assistant.kitchen.doneness import possible_core
from assistant.kitchen.food_clocks import Kind, Place, counter_limit, place_of
from assistant.kitchen.hazards import clean_first, crossing, tongs, touches
from assistant.kitchen.ledger import Ledger, apply, next_change
from assistant.kitchen.meal import Dish, Meal, Step
from assistant.kitchen.notices import Notice, Severity, due
from assistant.session import events as e
from assistant.session.commands import Intent
from assistant.session.leftovers import ALL, LEFT, named
from assistant.session.state import IN_HEAT, LATE, State
from assistant.speaking import prompts as p

if TYPE_CHECKING:
    from assistant.session.turn import Turn

ROOM = "room"
READING = "reading:"
"""Ids of the questions for a reading of food that waits begin so; its id follows."""
LOW_GAP_S = 60.0  # at most one low reminder a minute
ENDED_AT = {"bin": "discarded", "table": "eaten"}


def opened(meal: Meal, t: float, kept: str = "") -> Ledger:
    """The ledger an evening begins with. kept: as JSON, what is there from evenings before, its times on this evening's clock."""
    ledger = books.from_json(kept) if kept else Ledger()
    for event in perishables.opening(meal, t):
        if isinstance(event, books.Made) and event.item in ledger.items:
            continue
        ledger, _ = apply(ledger, event)
    return ledger


def consequences(state: State, event: e.Event) -> tuple[books.Event, ...]:
    """What a fact of the session means for the ledger."""
    meal, ledger = state.meal, state.ledger
    match event:
        case e.BatchBegun(step=step) if step in state.second:
            return tuple(books.Moved(event.t, i.id, Place.COUNTER) for i in _second(state, step) if i.place is not Place.COUNTER)
        case e.StepDone(step=step) if step in state.second and meal.step(step).fry is not None:
            cooked = tuple(books.Ended(event.t, i.id, "cooked") for i in _second(state, step))
            return (*cooked, *perishables.done(meal, ledger, meal.step(step), event.t))
        case e.StepBegan(step=step):
            return perishables.begun(meal, ledger, meal.step(step), event.t)
        case e.BatchBegun(step=step) if not state.steps[step].batches:
            return perishables.begun(meal, ledger, meal.step(step), event.t)
        case e.StepDone(step=step):
            return perishables.done(meal, ledger, meal.step(step), event.t)
        case e.Placed(item=item, place=place):
            return tuple(_placed(state, item, place, event.t))
        case e.CoreRead(step=step, celsius=celsius) if step in ledger.items:
            return (books.Read(event.t, step, celsius, meal.step(step).name),)
        case e.FoodRead(item=item, celsius=celsius):
            return (books.Read(event.t, item, celsius, item.replace("-", " ")),)
        case e.FoodReached(item=item):
            return (books.Reached(event.t, item),)
        case e.RoomRead(celsius=celsius):
            return (books.Room(event.t, celsius),)
    return ()


def _second(state: State, step: str) -> list[books.Item]:
    """What is kept of a dish for its second wave."""
    dish = state.meal.dish(state.meal.step(step).dish)
    mine = {f"{id}{LATE}" for id in (*(s.id for s in dish.steps), *(i.id for i in dish.ingredients))}
    return [i for i in state.ledger.open() if i.id in mine]


def _placed(state: State, item: str, place: str, t: float) -> Iterator[books.Event]:
    """A thing was put somewhere: itself when the ledger knows it, else what its dish has open, else something new."""
    ledger = state.ledger
    if item == ALL and "dinner" in state.told and place not in ENDED_AT:
        known = [i.id for i, _ in books.put_away(ledger, t)]  # of this dinner: all that was to be put away
    else:
        known = meant(state, item)
        if not known and place in ENDED_AT:
            known = [i.id for i in ledger.items.values() if i.id in _of_dish(state, item)][-1:]  # gone already
    for id in known or [item]:
        name = ledger.items[id].name if id in ledger.items else item.replace("-", " ")
        if place in ENDED_AT:
            yield books.Ended(t, id, ENDED_AT[place], name)
        else:
            yield books.Moved(t, id, place_of(place), name)


def meant(state: State, item: str) -> list[str]:
    """Ids of the open things in the ledger that are meant by a name: the thing itself, what its dish has open, or leftovers of that name."""
    items = state.ledger.open()
    mine = _of_dish(state, item)
    dish = _dish_of(state, item)
    return [i.id for i in items if i.id == item] or [i.id for i in items if i.id in mine] or named(items, dish.name if dish is not None else item)


def _dish_of(state: State, item: str) -> Dish | None:
    return next((d for d in state.meal.dishes if d.id == item or any(s.id == item for s in d.steps)), None)


def _of_dish(state: State, item: str) -> set[str]:
    """Ids of what may be meant: of a dish, or what is cooked of it, all of it; of any other step its own, those that lead to it, and raw food when
    they handle that, so that the batter's place is not the fish's."""
    dish = _dish_of(state, item)
    if dish is None:
        return set()
    raw = {i.id for i in dish.ingredients if i.raw}
    step = next((s for s in dish.steps if s.id == item), None)
    if step is None or step.kind in IN_HEAT:
        return {s.id for s in dish.steps} | raw
    mine = {step.id} | perishables.before(dish, step)
    return mine | (raw if any(s.raw_in for s in dish.steps if s.id in mine) else set())


def words_about(state: State, event: e.Event) -> tuple[str, ...]:
    """What the ledger says about a fact itself ("Too late: discard ..."), before it is noted."""
    ledger = state.ledger
    said: list[str] = []
    for consequence in consequences(state, event):
        ledger, words = apply(ledger, consequence)
        said += words
    return tuple(said)


def _key(notice: Notice) -> str:
    return f"food:{notice.item}:{notice.what}:{int(notice.severity)}"


def agenda(state: State) -> Iterator[tuple[float, int, str, Callable[[Turn], None]]]:
    """(when, rank, key, act) of what the ledger wants said."""
    untold = [n for n in due(state.ledger, state.t, state.units) if _key(n) not in state.told]
    for notice in untold:
        if notice.severity is Severity.LOW and state.t - state.told.get("food:low", -1e9) < LOW_GAP_S:
            yield state.told["food:low"] + LOW_GAP_S, 6, _key(notice), _speak(notice)
        else:
            yield state.t, {Severity.HIGH: 1, Severity.MEDIUM: 3, Severity.LOW: 6}[notice.severity], _key(notice), _speak(notice)
    coming = next_change(state.ledger, state.t)
    if coming is not None and not untold:
        yield coming, 5, "food", _look


def _look(turn: Turn) -> None:
    """A food clock has reached a mark: note the moment, so that its notice is due."""
    turn.happen(e.Told(turn.t, "food"))


def _speak(notice: Notice) -> Callable[[Turn], None]:
    def act(turn: Turn) -> None:
        turn.happen(e.Told(turn.t, _key(notice)))
        # nobody would eat a leftover or what a fire has reached without another thought: said once
        if notice.severity is Severity.HIGH and not notice.item.startswith(LEFT) and notice.what != "smoke":
            turn.alert(f"food:{notice.item}", "high", f"{notice.source}", "it is thrown away", notice.say)
            return
        if notice.severity is Severity.LOW:
            turn.happen(e.Told(turn.t, "food:low"))
            turn.ask(f"{READING}{notice.item}", notice.say, (Intent.ANSWER, Intent.CORE), wait_s=120.0)
            return
        turn.say(notice.say)

    return act


def asked_to_read(state: State, item: str | None) -> str | None:
    """The thing whose reading was asked for last, when it is the one that is meant (None: none is named)."""
    asked = [q.id.removeprefix(READING) for q in state.questions if q.id.startswith(READING)]
    return next((id for id in reversed(asked) if item is None or id in meant(state, item)), None)


def read(turn: Turn, celsius: float, item: str) -> None:
    """Food that waits was probed: what the ledger has to say about that, else that it was noted."""
    if possible_core(celsius):
        turn.close(f"{READING}{item}", "value")
    before = len(turn.events)
    turn.happen(e.FoodRead(turn.t, item, celsius))
    if not any(isinstance(x, e.Said) for x in turn.events[before:]):
        turn.say(p.food_noted(turn.state.ledger.items[item].name, celsius, turn.state.units))


def room_read(turn: Turn, celsius: float) -> None:
    """The room was measured: in a hot one food keeps for an hour only."""
    before = len(turn.events)
    turn.happen(e.RoomRead(turn.t, celsius))
    if not any(isinstance(x, e.Said) for x in turn.events[before:]):
        limit = counter_limit(Kind.COOKED, celsius)
        hot = limit < counter_limit(Kind.COOKED)
        turn.say(p.hot_room(limit) if hot else p.food_noted(ROOM, celsius, turn.state.units))


def clear_ended(turn: Turn) -> None:
    """Alerts of things that are gone end."""
    for id in [a for a in turn.state.alerts if a.startswith("food:")]:
        item = turn.state.ledger.items.get(id.removeprefix("food:"))
        if item is None or item.ended:
            turn.clear(id)


def order(turn: Turn, step: Step, words: str) -> None:
    """Give the order for a step. From raw animal food to the next thing that hands touch it says first what must be clean, once, and in the same
    line where that stays one breath."""
    last = turn.state.meal.step(turn.state.touched) if turn.state.touched else None
    clean = clean_first(last, step)
    if clean and not turn.told(f"cross:{step.id}"):
        if p.one_breath(both := f"{clean}. {words}"):
            words = both
        else:
            turn.say(crossing(last, step))
    turn.say(words)


def lift_order(turn: Turn, step: Step, name: str, words: str) -> str:
    """The words that call food out: tongs that lowered raw food never lift cooked food, said with the first lift of a step."""
    return p.lift_clean(name) if tongs(step) and not turn.told(f"tongs:{step.id}") else words


def reached(state: State, oven: bool, dishes: set[str]) -> Iterator[str]:
    """Ids of the open food that a fire has reached: in the oven all that is in it, at a pot what of its dishes is out beside it. Of other food that
    stands open only the cook can judge, and the fridge keeps its own."""
    meal, ledger = state.meal, state.ledger
    baking = [s for s, _ in state.in_heat() if s.bake is not None]
    inside = {i.id for s in baking for i in perishables.worked_on(meal, ledger, s)} | {i.id for i in ledger.open() if i.place is Place.HOT}
    near = {id for d in meal.dishes if d.id in dishes for id in (*(s.id for s in d.steps), *(i.id for i in d.ingredients))}
    yield from (i.id for i in ledger.open() if (i.id in inside if oven else i.place is Place.COUNTER and i.id in near))


def touched_by(state: State, event: e.Event) -> str:
    """The step that hands touched last, after this event."""
    if isinstance(event, e.StepBegan | e.BatchBegun) and touches(state.meal.step(event.step)):
        return event.step
    return state.touched


def still_to_put_away(state: State, t: float) -> list[tuple[str, float]]:
    """(name, by when, kitchen time) of what must be cold soon, the soonest first."""
    return [(item.name, by) for item, by in books.put_away(state.ledger, t)]
