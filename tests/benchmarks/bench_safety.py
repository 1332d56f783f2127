"""Food safety and danger, measured: 500 evenings with mislaid food, a ledger of 200 things, a plain evening's words, danger words through the ear.

    python tests/benchmarks/bench_safety.py [--evenings 500] [--only food|sound] [--jobs 2] [--repeats 1] [--every 1]

Evenings. Things are made, moved, read and forgotten at random; a second bookkeeping, written here apart from the ledger and stepping through the
evening ten seconds at a time, says when each is over its limit. The ledger is driven as a session drives it: by events and by the moments that it
names itself.
Sound. As danger_words.py says; it needs the fixtures and the model, no voice.
"""

from __future__ import annotations

import argparse
import json
import math
import platform
import random
import statistics
import sys
import time
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from assistant.kitchen.cards import list_meals
from assistant.kitchen.food_clocks import Kind, Place
from assistant.kitchen.ledger import Ended, Event, Ledger, Made, Moved, Read, Room, apply, next_change
from assistant.kitchen.notices import Severity, due

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE.parent / "scenarios"))
RESULTS = HERE / "results" / "safety.json"
STEP_S = 10.0
EVENING_S = 8 * 3600.0


# --- evenings with mislaid food


@dataclass
class Truth:
    """The second bookkeeping of one thing: what has happened to it, in order."""

    kind: Kind
    happened: list[Event] = field(default_factory=list)

    def over_at(self, rooms: list[tuple[float, float]], until_s: float) -> tuple[float, float]:
        """(when it is over by our rules, when by USDA's clock on the counter alone), infinite where it is not before it ended or `until_s`."""
        share, hold, counter_s, hot_room_s = 0.0, 0.0, 0.0, 0.0
        ours, usda = math.inf, math.inf
        place, warm, cooling, slow, was_below, started, lukewarm = Place.COUNTER, False, None, False, False, False, 0.0
        waiting = list(self.happened)
        t = 0.0
        while t <= until_s:
            while waiting and waiting[0].t <= t + 1e-6:
                event = waiting.pop(0)
                if isinstance(event, Made):
                    started, place, cooling = True, event.place, (event.t if event.hot else None)
                elif isinstance(event, Moved):
                    if event.place is not place:
                        share, hold = share + hold, 0.0
                        place, warm, lukewarm = event.place, False, 0.0
                elif isinstance(event, Read):
                    f, lukewarm = event.celsius * 1.8 + 32.0, event.celsius
                    if place is Place.HOT:
                        if f >= 135.0 - 1e-6:
                            share, hold = (share + hold if warm else share), 0.0
                        else:
                            share, hold = share + hold, 0.0
                        warm = f < 135.0 - 1e-6
                    elif place in (Place.FRIDGE, Place.ICE):
                        if cooling is None:
                            warm = f > 41.0 + 1e-6
                        elif f <= 41.0 + 1e-6:
                            cooling, warm = None, False
                        else:
                            warm = was_below and f > 70.0 + 1e-6
                            slow = not was_below and f > 70.0 + 1e-6
                            was_below = was_below or f <= 70.0 + 1e-6
                            if (slow and t > cooling + 7200.0) or t > cooling + 21600.0:
                                ours = min(ours, t)
                elif isinstance(event, Ended):
                    return ours, usda
            if started:
                room = [c for at, c in rooms if at <= t + 1e-6][-1]
                if place is Place.COUNTER or warm:
                    share += STEP_S / self._allowed(room, lukewarm)
                elif place is Place.HOT:
                    hold += STEP_S / 14400.0
                if place is Place.COUNTER:
                    counter_s += STEP_S
                    hot_room_s += STEP_S if room > 32.2223 else 0.0
                end = t + STEP_S
                if share + hold >= 1.0 - 1e-9:
                    ours = min(ours, end)
                if slow and cooling is not None and place in (Place.FRIDGE, Place.ICE) and end >= cooling + 7200.0:
                    ours = min(ours, end)
                if counter_s > 7200.0 or hot_room_s > 3600.0:
                    usda = min(usda, end)
            t += STEP_S
        return ours, usda

    def _allowed(self, room: float, lukewarm: float) -> float:
        """The counter limit from its three published parts, s."""
        usual = 3600.0 if room > 32.2223 or self.kind is Kind.RICE else 7200.0

        def mu(c: float) -> float:
            return 0.0 if not 4.158 < c < 50.65 else (0.02810 * (c - 4.158) * (1.0 - math.exp(0.1954 * (c - 50.65)))) ** 2

        worst = max(room, lukewarm if mu(lukewarm) > 0.0 else 0.0)
        return min(usual, 2.0 * mu(25.0) / mu(min(worst, 41.0)) * 3600.0) if worst > 25.0 else usual


def evening(seed: int) -> tuple[list[Event], dict[str, Truth], list[tuple[float, float]]]:
    """One evening: its events in order, the truth about each thing, the rooms."""
    rng = random.Random(seed)

    def moment(low: float, high: float) -> float:
        return round(rng.uniform(low, high) / STEP_S) * STEP_S

    rooms = [(0.0, rng.choice([19.0, 22.0, 25.0, 28.0, 31.0, 34.0]))]
    if rng.random() < 0.3:
        rooms.append((moment(1800, 3 * 3600), rooms[0][1] + rng.uniform(-4.0, 8.0)))
    events: list[Event] = [Room(t, c) for t, c in rooms]
    truth: dict[str, Truth] = {}
    for n in range(rng.randint(4, 9)):
        kind = rng.choice(list(Kind))
        item = f"thing {n}"
        cooked = kind in (Kind.COOKED, Kind.COOKED_POULTRY, Kind.RICE, Kind.BLANCHED)
        t = moment(0, 2 * 3600)
        place = rng.choice([Place.COUNTER, Place.COUNTER, Place.FRIDGE, Place.HOT if cooked else Place.COUNTER])
        mine: list[Event] = [Made(t, item, item, kind, place, hot=cooked and rng.random() < 0.5)]
        for _ in range(rng.randint(0, 4)):  # none: it was put down and forgotten
            t = t + moment(300, 5400)
            if t >= EVENING_S - 600:
                break
            what = rng.random()
            if what < 0.6:
                place = rng.choice([Place.COUNTER, Place.FRIDGE, Place.HOT, Place.ICE, Place.FREEZER])
                mine.append(Moved(t, item, place))
            elif what < 0.85 and place in (Place.HOT, Place.FRIDGE, Place.ICE):
                mine.append(Read(t, item, rng.uniform(45.0, 75.0) if place is Place.HOT else rng.choice([3.0, 4.5, 8.0, 15.0, 30.0])))
            elif what >= 0.95:
                mine.append(Ended(t, item, rng.choice(["eaten", "cooked", "wasted"])))
                break
        truth[item] = Truth(kind, mine)
        events += mine
    return sorted(events, key=lambda e: e.t), truth, rooms


@dataclass
class Announced:
    """What the ledger said about one thing: first word before the limit, and discard."""

    first_s: float = math.inf
    discard_s: float = math.inf


def lived(events: list[Event]) -> dict[str, Announced]:
    """The evening as a session lives it: at each event and at each moment the ledger names, what is due is said."""
    ledger = Ledger()
    said: dict[str, Announced] = {}

    def say(t: float) -> None:
        for notice in due(ledger, t):
            about = said.setdefault(notice.item, Announced())
            if notice.severity is Severity.HIGH:
                about.discard_s = min(about.discard_s, t)
            else:
                about.first_s = min(about.first_s, t)

    t = 0.0
    waiting = list(events)
    while t <= EVENING_S:
        change = next_change(ledger, t)
        coming = waiting[0].t if waiting else math.inf
        if change is not None and change < coming:
            t = change
        elif waiting:
            t = coming
            ledger, _ = apply(ledger, waiting.pop(0))
            if waiting and waiting[0].t == t:
                continue
        else:
            break
        if t <= EVENING_S:
            say(t)
    return said


def evenings(count: int) -> dict[str, Any]:
    """Every thing over its limit announced before it, none announced discard before it."""
    over = warned = unwarned = missed = early = later_than_usda = things = quiet = 0
    leads: list[float] = []
    for seed in range(count):
        events, truth, rooms = evening(seed)
        said = lived(events)
        for item, facts in truth.items():
            things += 1
            limit, usda = facts.over_at(rooms, EVENING_S)
            heard = said.get(item, Announced())
            if heard.discard_s < limit - STEP_S:
                early += 1
                print(f"  evening {seed}, {item} ({facts.kind}): discard at {heard.discard_s:.0f}, limit {limit:.0f}", file=sys.stderr)
            if usda < math.inf and heard.discard_s > usda + STEP_S:
                later_than_usda += 1
            if limit > EVENING_S - STEP_S:
                quiet += 1
                continue
            over += 1
            if heard.discard_s > limit + STEP_S:
                missed += 1
                print(f"  evening {seed}, {item} ({facts.kind}): never or late, limit {limit:.0f}, said {heard.discard_s:.0f}", file=sys.stderr)
            if heard.first_s < limit - STEP_S:
                warned += 1
                leads.append(limit - heard.first_s)
            else:
                unwarned += 1
                print(f"  evening {seed}, {item} ({facts.kind}): no word before {limit:.0f}", file=sys.stderr)
    return {
        "evenings": count,
        "things": things,
        "over their limit": over,
        "announced before it": warned,
        "not announced before it": unwarned,
        "discard said late or never": missed,
        "discard said before the limit": early,
        "discard later than the plain two-hour clock": later_than_usda,
        "warning lead, median min": round(statistics.median(leads) / 60.0, 1),
        "warning lead, least min": round(min(leads) / 60.0, 1),
        "never over": quiet,
    }


# --- a large ledger, a plain evening


def large_ledger(things: int = 200) -> dict[str, float]:
    """Milliseconds of an update and of asking what is due, with so many things in the ledger."""
    ledger = Ledger()
    for i in range(things):
        ledger, _ = apply(ledger, Made(float(i), f"i{i}", f"thing {i}", list(Kind)[i % len(Kind)], list(Place)[i % len(Place)], i % 3 == 0))

    def median_ms(work: Any, runs: int = 100) -> float:
        taken = []
        for _ in range(runs):
            start = time.perf_counter()
            work()
            taken.append(time.perf_counter() - start)
        return round(1000.0 * statistics.median(taken), 3)

    return {
        "things": float(things),
        "update, ms": median_ms(lambda: apply(ledger, Moved(300.0, "i7", Place.FRIDGE))),
        "room changes, ms": median_ms(lambda: apply(ledger, Room(300.0, 24.0))),
        "what is due, ms": median_ms(lambda: due(ledger, 5000.0)),
        "next change, ms": median_ms(lambda: next_change(ledger, 5000.0)),
    }


def plain_evening(name: str) -> dict[str, float]:
    """Unasked-for safety lines in a whole evening of this meal by a cook who does what is said, after the check before the heat."""
    from obedient_cook import Cook
    from safety_lines import safety_lines

    cook = Cook(name, planned=True)
    cook.run()
    found = safety_lines(cook)
    return {
        "hours after the check": round(found.hours, 2),
        "lines of the first drop": float(len(found.first_drop)),
        "lines": float(len(found.lines)),
        "lines an hour": round(len(found.lines) / found.hours, 1),
        "orders of the meal with safety in them": float(len(found.in_orders)),
        "safety words an hour": round(found.words / found.hours, 1),
    }


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--evenings", type=int, default=500)
    parser.add_argument("--only", choices=("food", "sound"), help="measure one half; the other half's figures stay as they were")
    parser.add_argument("--jobs", type=int, default=2, help="processes for the sound part")
    parser.add_argument("--repeats", type=int, default=1, help="kitchens for each clip, speed and noisy level of the sound part")
    parser.add_argument("--every", type=int, default=1, help="only each so manieth trial of the sound part: to try it out, nothing is written")
    args = parser.parse_args()
    found: dict[str, Any] = json.loads(RESULTS.read_text(encoding="utf-8")) if args.only and RESULTS.exists() else {}
    found["machine"] = f"{platform.machine()}, Python {platform.python_version()}"
    if args.only != "sound":
        found["mislaid food"] = evenings(args.evenings)
        found["large ledger"] = large_ledger()
        found["plain evening"] = {name: plain_evening(name) for name, _ in list_meals()}
    if args.only != "food":
        from danger_words import measure

        found["danger words"] = measure(args.jobs, args.repeats, args.every)
    print(json.dumps(found, indent=2, ensure_ascii=False))
    if args.every == 1:
        RESULTS.parent.mkdir(exist_ok=True)
        RESULTS.write_text(json.dumps(found, indent=2, ensure_ascii=False) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
