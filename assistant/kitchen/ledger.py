"""The ledger of perishable food: where each thing is, since when, and what that means. Events in, a new ledger out; nothing here keeps time.

Place on the path: Event -> State -> Speech. Kitchen time in s; `food_clocks` has the rules and their sources.

How the clocks are counted
- Each thing has used a share of its counter allowance (0..1). The counter uses it up at one over the limit in this room; a hot hold that nobody has
  read at one over four hours, given back by a reading of 135 F or more; a fridge found above 41 F as the counter. Nothing else gives time back.
- A thing over its limit stays over: the fridge does not rescue it.
- Cooling has deadlines of its own from the moment it was made hot; nobody is asked for more than a reading, and only a reading can fail them.
- What the cook says is never a reason to drop a clock: an impossible reading changes nothing, an unknown thing gets a clock.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from assistant.kitchen.doneness import possible_core
from assistant.kitchen.food_clocks import (
    COLD_C,
    COOL_ALL_S,
    COOL_FIRST_C,
    COOL_FIRST_S,
    COOLING,
    HOLDING,
    HOT_C,
    HOUR,
    KINDS,
    ROOM_C,
    TIME_CONTROL,
    TIME_CONTROL_S,
    Kind,
    Place,
    counter_limit,
    counter_source,
    counter_warning,
)
from assistant.speaking.prompts import upper


@dataclass(frozen=True, slots=True)
class Made:
    """A thing came to be, or came out of the shop's bag. hot: it is cooling down from cooking."""

    t: float
    item: str
    name: str
    kind: Kind
    place: Place
    hot: bool = False


@dataclass(frozen=True, slots=True)
class Moved:
    """A thing went somewhere."""

    t: float
    item: str
    place: Place
    name: str = ""


@dataclass(frozen=True, slots=True)
class Read:
    """A core temperature was read, C."""

    t: float
    item: str
    celsius: float
    name: str = ""


@dataclass(frozen=True, slots=True)
class Ended:
    """A thing is no more. how: eaten, cooked (it became something else), discarded, wasted."""

    t: float
    item: str
    how: str
    name: str = ""


@dataclass(frozen=True, slots=True)
class Reached:
    """Smoke, heat or what was thrown on a fire has reached a thing: it is over its limit, whatever its clock says."""

    t: float
    item: str


@dataclass(frozen=True, slots=True)
class Room:
    """The room's temperature was said or read, C."""

    t: float
    celsius: float


Event = Made | Moved | Read | Ended | Reached | Room


@dataclass(frozen=True, slots=True)
class Item:
    """One thing. since_s: when it came to its place; at_s: the instant the counts below are of; out_s: time out of temperature so far, s; used: share
    of the counter allowance used up; used_good: the part of it that a good reading in a hot hold leaves; celsius, read_s: last reading; warm: its
    fridge was found too warm, its hot hold too cool; cooling_s: when it was made hot and has not been read cold since (None: not cooling); slow:
    it was read above 70 F while cooling; half: read below 70 F; over: why it is over its limit (empty: it is not), over_s: since when; ended: how it
    ended."""

    id: str
    name: str
    kind: Kind
    place: Place
    made_s: float
    since_s: float
    at_s: float
    out_s: float = 0.0
    used: float = 0.0
    used_good: float = 0.0
    celsius: float | None = None
    read_s: float | None = None
    warm: bool = False
    cooling_s: float | None = None
    slow: bool = False
    half: bool = False
    over: str = ""
    over_s: float | None = None
    ended: str = ""


@dataclass(frozen=True, slots=True)
class Ledger:
    """Everything perishable, by id. at_s: the last event's time; room_c: the room, C."""

    items: Mapping[str, Item] = field(default_factory=dict)
    at_s: float = 0.0
    room_c: float = ROOM_C

    def open(self) -> tuple[Item, ...]:
        """What has not ended."""
        return tuple(i for i in self.items.values() if not i.ended)


@dataclass(frozen=True, slots=True)
class Clock:
    """One deadline of a thing. what: counter, hot, cooling, fridge; ask_s, warn_s, over_s: when a reading is wanted, when to speak, when it is over
    (infinite: never); source."""

    what: str
    over_s: float
    warn_s: float
    ask_s: float
    source: str


def apply(ledger: Ledger, event: Event) -> tuple[Ledger, tuple[str, ...]]:
    """The ledger after an event, and what is to be said about the event itself (nothing, when all is plain). Never raises for what a cook can say."""
    said: tuple[str, ...] = ()
    if event.t < ledger.at_s:
        said = ("The clock went back; food clocks run on.",) if event.t < ledger.at_s - 1.0 else ()
        event = replace(event, t=ledger.at_s)
    if isinstance(event, Room):
        if not -20.0 <= event.celsius <= 60.0:
            return replace(ledger, at_s=event.t), (*said, "That room temperature cannot be. What is it?")
        moved = {k: i if i.ended else advanced(i, event.t, ledger.room_c) for k, i in ledger.items.items()}
        return Ledger(moved, event.t, event.celsius), said
    before = ledger.items.get(event.item)
    item = None if before is None else before if before.ended else advanced(before, event.t, ledger.room_c)
    after, words = _happened(item, event)
    items = dict(ledger.items)
    if after is not None:
        items[after.id] = after
    return replace(ledger, items=items, at_s=event.t), (*said, *words)


def _happened(item: Item | None, event: Made | Moved | Read | Ended | Reached) -> tuple[Item | None, tuple[str, ...]]:
    """The thing after the event; item: as it is at this moment, None for one that nobody knows."""
    match event:
        case Made():
            fresh = Item(event.item, event.name, event.kind, event.place, event.t, event.t, event.t, cooling_s=event.t if event.hot else None)
            if item is None or item.ended:
                return fresh, ()
            # more of the same: the older clock counts, and the whole is as hot as its newest part
            return replace(item, cooling_s=fresh.cooling_s if event.hot else item.cooling_s, slow=False, half=False), ()
        case Ended():
            return _ended(item, event)
        case Reached():
            return (item, ()) if item is None or item.ended or item.over else (replace(item, over=OVER_WORDS["smoke"], over_s=event.t), ())
    said: tuple[str, ...] = ()
    if item is None or item.ended:
        name = event.name or (item.name if item else event.item)
        said = (f"{upper(name)} had no clock: it starts now.",)
        item = Item(event.item, name, Kind.UNKNOWN, Place.COUNTER, event.t, event.t, event.t)
    match event:
        case Moved():
            if event.place is item.place:
                return item, said
            if item.over and event.place in (Place.FRIDGE, Place.FREEZER, Place.ICE, Place.HOT):
                said = (*said, f"Too late: discard the {item.name}.")
            return replace(item, place=event.place, since_s=event.t, warm=False, used_good=item.used), said
        case Read():
            after, words = _read(item, event)
            return after, (*said, *words)


def _ended(item: Item | None, event: Ended) -> tuple[Item | None, tuple[str, ...]]:
    if item is None:
        return None, (f"{upper(event.name or event.item)} had no clock.",)
    if item.ended:
        return item, (f"{upper(item.name)}: already {item.ended}.",)
    # food that is over is not made good by cooking either: toxins stay
    words = (f"Do not eat the {item.name}: {item.over}.",) if item.over and event.how in ("eaten", "cooked") else ()
    return replace(item, ended=event.how), words


def _read(item: Item, event: Read) -> tuple[Item, tuple[str, ...]]:
    c = event.celsius
    if not possible_core(c):
        return item, ("That core cannot be. Read it again?",)
    now = replace(item, celsius=c, read_s=event.t)
    match item.place:
        case Place.HOT if c >= HOT_C:
            used = item.used if item.warm else item.used_good
            return replace(now, used=used, used_good=used, warm=False), ()
        case Place.HOT:
            return replace(now, used_good=item.used, warm=True), (f"{upper(item.name)} too cool to hold: reheat or eat.",)
        case Place.COUNTER | Place.FREEZER:
            return (_cooled(now, event.t) if c <= COOL_FIRST_C else now), ()
        case Place.FRIDGE | Place.ICE:
            if item.cooling_s is not None:
                return _cooled(now, event.t), ()
            warm = c > COLD_C
            return replace(now, warm=warm), (f"{upper(item.name)}: the fridge is too warm.",) if warm and item.place is Place.FRIDGE else ()


def _cooled(item: Item, t: float) -> Item:
    """A reading while cooling against the two deadlines; `item` carries the reading."""
    if item.cooling_s is None or item.celsius is None:
        return item
    if item.celsius <= COLD_C:
        return replace(item, cooling_s=None, warm=False)
    above = item.celsius > COOL_FIRST_C
    first_missed = above and not item.half and t > item.cooling_s + COOL_FIRST_S
    if first_missed or t > item.cooling_s + COOL_ALL_S:
        return _spoiled(item, t)
    # warmed up again after it had been below: no failed deadline, but the counter's clock runs
    return replace(item, slow=above and not item.half, half=item.half or not above, warm=above and item.half)


def _spoiled(item: Item, t: float) -> Item:
    return item if item.over else replace(item, over="cooled too slowly", over_s=t)


def _rate(item: Item, room_c: float) -> float:
    """Share of the counter allowance that a second uses here."""
    if item.place is Place.COUNTER or item.warm:
        lukewarm = item.celsius if item.read_s is not None and item.read_s >= item.since_s else None
        return 1.0 / counter_limit(item.kind, room_c, lukewarm)
    return 1.0 / TIME_CONTROL_S if item.place is Place.HOT else 0.0


OVER_WORDS = {
    "counter": "out too long",
    "hot": "held too long",
    "cooling": "cooled too slowly",
    "fridge": "too many days",
    "smoke": "smoke reached it",
}


def advanced(item: Item, t: float, room_c: float) -> Item:
    """The thing at a later moment, nothing having happened to it."""
    if t <= item.at_s:
        return item
    rate = _rate(item, room_c)
    over, over_s = item.over, item.over_s
    if not over:
        for clock in clocks(item, room_c):
            if clock.over_s <= t and (over_s is None or clock.over_s < over_s):
                over, over_s = OVER_WORDS[clock.what], clock.over_s
    seconds = t - item.at_s
    out = item.out_s + (seconds if item.place is Place.COUNTER or item.warm else 0.0)
    return replace(item, at_s=t, out_s=out, used=item.used + rate * seconds, over=over, over_s=over_s)


def clocks(item: Item, room_c: float) -> tuple[Clock, ...]:
    """Every deadline of a thing that is not over, from its state at `at_s` on."""
    if item.place is Place.FREEZER:
        return ()
    found = []
    rate = _rate(item, room_c)
    if rate > 0.0:
        end = item.at_s + max(0.0, 1.0 - item.used) / rate
        if item.place is Place.HOT and not item.warm:
            ask = (item.since_s if item.read_s is None else max(item.since_s, item.read_s)) + 2 * HOUR
            found.append(Clock("hot", end, end - HOUR, ask, f"{HOLDING}; {TIME_CONTROL}"))
        else:
            found.append(Clock("counter", end, end - counter_warning(1.0 / rate), math.inf, counter_source(item.kind, room_c)))
    if item.place in (Place.FRIDGE, Place.ICE):
        end = item.made_s + KINDS[item.kind].fridge_s
        found.append(Clock("fridge", end, end - KINDS[item.kind].fridge_s / 4.0, math.inf, KINDS[item.kind].source))
        if item.cooling_s is not None:
            first, last = item.cooling_s + COOL_FIRST_S, item.cooling_s + COOL_ALL_S
            if item.half:
                found.append(Clock("cooling", math.inf, math.inf, last - 1800.0, COOLING))
            else:
                over, warn = (first, item.at_s if item.read_s is None else item.read_s) if item.slow else (math.inf, math.inf)
                found.append(Clock("cooling", over, warn, first - 1800.0, COOLING))
    return tuple(found)


def next_change(ledger: Ledger, t: float) -> float | None:
    """The next moment after t at which `notices.due` says something new, s; None when there is none."""
    times = (w for i in ledger.open() if not i.over for c in clocks(i, ledger.room_c) for w in (c.ask_s, c.warn_s, c.over_s) if t < w < math.inf)
    return min(times, default=None)


def put_away(ledger: Ledger, t: float) -> tuple[tuple[Item, float], ...]:
    """At the end of the meal: everything that is not cold, and by when it must be, the soonest first; things over are not among them."""
    found = []
    for item in ledger.open():
        now = advanced(item, t, ledger.room_c)
        by = min((c.over_s for c in clocks(item, ledger.room_c) if c.what in ("counter", "hot")), default=None)
        if by is not None and not now.over:
            found.append((now, by))
    return tuple(sorted(found, key=lambda x: x[1]))


def can_still_be_eaten(ledger: Ledger, item: str, t: float) -> bool:
    """Whether a thing is within its limits at this moment; a thing that nobody knows is not."""
    found = ledger.items.get(item)
    return found is not None and not found.ended and not advanced(found, max(t, found.at_s), ledger.room_c).over


def rebased(ledger: Ledger, by_s: float) -> Ledger:
    """The same ledger on another zero of kitchen time: `by_s` is added to every time. For food that is kept from one evening to the next."""

    def moved(i: Item) -> Item:
        cooling, read, over = (None if t is None else t + by_s for t in (i.cooling_s, i.read_s, i.over_s))
        return replace(i, made_s=i.made_s + by_s, since_s=i.since_s + by_s, at_s=i.at_s + by_s, cooling_s=cooling, read_s=read, over_s=over)

    return replace(ledger, items={k: moved(i) for k, i in ledger.items.items()}, at_s=ledger.at_s + by_s)


def to_json(ledger: Ledger) -> str:
    """The ledger as text, for a file that outlives the evening."""
    from pydantic import TypeAdapter  # a typed evening never needs it

    return TypeAdapter(Ledger).dump_json(ledger).decode()


def from_json(text: str) -> Ledger:
    """The ledger from `to_json`'s text. ValueError when it is not that."""
    from pydantic import TypeAdapter

    return TypeAdapter(Ledger).validate_json(text)
