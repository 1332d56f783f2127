"""What is left in the fridge of evenings before, of any meal: known, with its clock running, until somebody says that it is gone. Pure.

Rules
- A leftover is food that an evening with a dinner had made, or raw or unknown food that it had out, and that was said to be in the fridge; what
  nobody put away counts as eaten. Frozen food needs no clock.
- Its days count on from when it was made; its name says from which day it is ("peas from Sunday").
- The newest evening that knew of it decides: gone there, it is gone; told there that it is over, it is not told again.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime

from assistant.kitchen.food_clocks import Kind, Place
from assistant.kitchen.ledger import Item, advanced, rebased
from assistant.session.earlier import Past
from assistant.session.state import State

LEFT = "left:"
"""Their ids begin so; the number of the evening and the thing's own id follow."""
ALL = "leftovers"
"""What a cook calls them all together."""
_DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
_OUT = (Kind.RAW_POULTRY, Kind.RAW_MEAT, Kind.RAW_FISH, Kind.EGG_MIX, Kind.UNKNOWN)


def left_over(evenings: Iterable[tuple[int, Past]], wall: float) -> tuple[Item, ...]:
    """What `evenings` (with their numbers, newest first) left, at `wall` (s since the epoch): times counted from now, the past negative."""
    found: list[Item] = []
    settled: set[str] = set()
    for number, past in evenings:
        dined = past.state.ended or "dinner" in past.state.told
        ledger = rebased(past.state.ledger, past.zero_wall - wall)
        for item in ledger.items.values():
            own = not item.id.startswith(LEFT)
            id = f"{LEFT}{number}:{item.id}" if own else item.id
            if id in settled or (own and not dined):
                continue
            settled.add(id)
            if item.ended or item.place not in (Place.FRIDGE, Place.ICE) or _told_over(past.state, item) or (own and not _had(past, item, wall)):
                continue
            name = f"{item.name} from {_day(wall + item.made_s, wall)}" if own else item.name
            found.append(advanced(replace(item, id=id, name=name, cooling_s=None), 0.0, ledger.room_c))
    return tuple(found)


def spoiled(item: Item, wall: float) -> Item:
    """Food made ahead that is over its limit when the evening begins at `wall`: a leftover to throw away, apart from what is made anew."""
    return replace(item, id=f"{LEFT}0:{item.id}", name=f"{item.name} from {_day(wall + item.made_s, wall)}", cooling_s=None)


def named(items: Iterable[Item], name: str) -> list[str]:
    """Ids of the leftovers that are meant: all of them, or those of a dish by its name.

    >>> named([Item("left:1:p", "peas from Sunday", Kind.COOKED, Place.FRIDGE, 0.0, 0.0, 0.0)], "peas")
    ['left:1:p']
    """
    return [i.id for i in items if i.id.startswith(LEFT) and (name == ALL or i.name.startswith(f"{name} from "))]


def _told_over(state: State, item: Item) -> bool:
    """Whether an evening has said that it is to be thrown away."""
    return any(key.startswith(f"food:{item.id}:") and key.endswith(":1") for key in state.told)


def _had(past: Past, item: Item, wall: float) -> bool:
    """Whether the evening made it, or had it out raw or unknown; what only stayed in the fridge, as it was bought, is no leftover."""
    made = any(s.id == item.id for s in past.state.meal.steps())
    return made or (item.kind in _OUT and wall + item.since_s > past.zero_wall + 1.0)


def _day(made_wall: float, wall: float) -> str:
    made, now = (datetime.fromtimestamp(w).astimezone().date() for w in (made_wall, wall))
    return "today" if made == now else _DAYS[made.weekday()]
