"""Meal -> scheduling problem: what each step occupies, what must follow what, how long each state keeps, and what each wish costs.

Rules. One pair of hands, a helper adds one for the steps a helper may take. A frying lot is a chain of batches: lowering (hands, by piece) is
pinned to the start of the batch in the pot, the lift (hands: lift, drain, salt, skim, dry tongs, look at level and heat) to its end; recovery
and heating are set-up times of the pot. The number of batches is the fewest within the limits, evenly filled: a plan with more batches
stays valid when two are merged, so more can only cost time. Each part of a lot goes on when the batches that hold it are out, oldest first.
The oven has one temperature at a time. What a state keeps is a hard limit while planning and has a price once cooking has begun,
because food in the oil and a late cook must still have a plan; heating and frying times stay hard.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from math import ceil, floor, inf

from assistant.kitchen.evening import BatchSize, HoldOf, Item, PlanError, Setting, task_id
from assistant.kitchen.meal import Dish, Heat, Hold, Keep, Meal, Pot, Step, StepKind
from assistant.kitchen.plan_figures import (
    AHEAD_BEGINS_S,
    AHEAD_ENDS_S,
    DAY_S,
    EVENING_PRICE,
    FORTIETHS,
    GAP_PRICE,
    HOLD_PRICE,
    HOT_OIL_PRICE,
    LATE_PRICE,
    LIFT_S,
    LIGHT_S,
    LONG_WAIT_S,
    LOWER_LEAST_S,
    OUT_OF_FRIDGE_S,
    OVEN_HANDS_S,
    OVEN_KEEP_C,
    OVEN_KEEP_PRICE,
    OVEN_LIGHT_S,
    OVER_FRY_PRICE,
    OVER_LIMIT_PRICE,
    POT_ORDER,
    POT_ORDER_PRICE,
    ROOM_C,
    ROOM_FOR_LATENESS_S,
    SECOND_FRY_LEAVES,
    SPARE_PRICE,
    STONE_S,
    THAW_S_KG,
    TOSS_PRICE,
    TOSS_WITHIN_S,
    default_hold,
    heating,
    hold_gap,
    is_ahead,
    limits_of,
    oven_s,
    spread_s,
    unit_price,
)
from assistant.kitchen.scale import scaled
from assistant.planning.problem import Instant, Lag, Machine, Order, Problem, Store, Task, Use, Wish


@dataclass(frozen=True, slots=True)
class Built:
    """The problem of an evening and what its tasks mean."""

    problem: Problem
    items: Mapping[str, Item]
    holds: tuple[HoldOf, ...]
    batches: Mapping[str, tuple[BatchSize, ...]]


def at_line(meal: Meal, line: int) -> str:
    """How a sentence about this line of the card begins."""
    return f"{meal.file or meal.id}, line {line}"


def planned_steps(meal: Meal, setting: Setting) -> list[Step]:
    """The steps that are left to plan: not done, not left out, and no component that only left-out dishes use."""
    gone = {d.id for d in meal.dishes if d.id in setting.skip}
    users: dict[str, set[str]] = {}
    for dish in meal.dishes:
        for component, _ in dish.uses:
            users.setdefault(component, set()).add(dish.id)
    gone |= {d.id for d in meal.dishes if d.component and users.get(d.id) and users[d.id] <= gone}
    return [s for s in meal.steps() if s.dish not in gone and s.id not in setting.skip and s.id not in setting.done]


def build(meal: Meal, setting: Setting, horizon_s: float, serve_at_s: float | None, serve_late: bool = False) -> Built:
    """The problem over `horizon_s` seconds from its origin. serve_at_s: serving, s from the origin (None: as early as can be, and
    nothing else counts); serve_late: serving may slip, at a price."""
    return _Builder(meal, setting, horizon_s, serve_at_s, serve_late).built()


def split(kg: float, pieces: int | None, number: int) -> tuple[BatchSize, ...]:
    """A lot in `number` batches as even as can be; pieces stay whole and add up exactly.

    >>> [b.pieces for b in split(0.7, 7, 3)]
    [3, 2, 2]
    """
    if pieces is None:
        return tuple(BatchSize(kg / number) for _ in range(number))
    counts = [pieces // number + (i < pieces % number) for i in range(number)]
    return tuple(BatchSize(kg * n / pieces, n) for n in counts if n)


class _Builder:
    def __init__(self, meal: Meal, setting: Setting, horizon_s: float, serve_at_s: float | None, serve_late: bool) -> None:
        self.meal = scaled(meal, setting.people or meal.serves)
        self.card = meal
        self.setting = setting
        self.grid = setting.grid_s
        self.horizon = self.up(horizon_s)
        self.serve_at = serve_at_s
        self.serve_late = serve_late
        self.tasks: dict[str, Task] = {}
        self.items: dict[str, Item] = {}
        self.lags: list[Lag] = []
        self.orders: list[Order] = []
        self.holds: list[HoldOf] = []
        self.batches: dict[str, tuple[BatchSize, ...]] = {}
        self.steps = planned_steps(self.meal, setting)
        self.by_id = {s.id: s for s in self.steps}
        self.pots = {p.id: p for p in self.meal.equipment.pots}
        # by step: the tasks that begin it and those that end it, each with the part of its food up to and with it
        self.ahead: dict[str, int] = {}  # tasks of earlier days: how many days before
        self.first: dict[str, list[tuple[str, float]]] = {}
        self.last: dict[str, list[tuple[str, float]]] = {}

    # -- units and prices

    def up(self, seconds: float) -> int:
        """Units that hold so many seconds."""
        return ceil(seconds / self.grid - 1e-9)

    def price(self, a_minute: float) -> int:
        return unit_price(a_minute, self.grid)

    # -- building blocks

    def add(self, item: Item, seconds: float, uses: Iterable[Use] = (), needs: tuple[tuple[str, int], ...] = (), **more: int | None) -> str:
        units = self.up(seconds + item.pad_s) if seconds else 0
        self.tasks[item.id] = Task(item.id, units, uses=tuple(uses), needs=needs, **more)  # type: ignore[arg-type]
        self.items[item.id] = item
        return item.id

    def lag(self, first: str, then: str, least_s: float = 0.0, of_first: Instant = "end", of_then: Instant = "start") -> None:
        self.lags.append(Lag(first, then, self.up(least_s), of_first=of_first, of_then=of_then))

    def pin(self, first: str, then: str, of_first: Instant, of_then: Instant) -> None:
        self.lags.append(Lag(first, then, 0, 0, of_first=of_first, of_then=of_then))

    def within(self, first: str, then: str, most_s: float, early_batch: bool = False) -> None:
        """The time between is at most so long: hard while planning, priced once cooking has begun, or where batches crowd."""
        if most_s == inf:
            return
        priced = self.setting.cooking or (early_batch and self.setting.crowded)
        self.lags.append(Lag(first, then, None, floor(most_s / self.grid + 1e-9), self.price(OVER_LIMIT_PRICE) if priced else None))

    def hands(self, step: Step | None = None) -> Use:
        helped = self.setting.helper and (step is None or step.helper)
        return Use(("cook", "helper") if helped else ("cook",))

    def pad(self, step: Step) -> float:
        return self.setting.pads.hands_sigma * spread_s(step, self.usual(step))

    def usual(self, step: Step) -> float:
        return self.setting.usual_s.get(step.id, step.span.usual_s)

    # -- the whole

    def built(self) -> Built:
        self._serve()
        for step in self.steps:
            _MAKERS[step.kind](self, step)
        self._earlier_days()
        self._thaw()
        self._pots()
        self._oven()
        for step in self.steps:
            self._follow(step)
        for step in self.steps:
            self._keep(step)
        self._pot_order()
        self._bound_sessions()
        self._evening()
        equipment = self.meal.equipment
        machines = [Machine("cook"), *([Machine("helper")] if self.setting.helper else [])]
        machines += [Machine(p.id, self._pot_setup(p)) for p in equipment.pots]
        machines.append(Machine("oven", self._oven_setup(), open=True))
        problem = Problem(
            tuple(self.tasks.values()),
            tuple(self.lags),
            tuple(machines),
            (Store("burner", equipment.burners), Store("tray", equipment.trays)),
            tuple(self.orders),
            self.horizon + self.up(ROOM_FOR_LATENESS_S),
            self.price(1) if self.setting.cooking else 0,
        )
        return Built(problem, self.items, tuple(self.holds), self.batches)

    def _serve(self) -> None:
        if self.serve_at is None:
            self.tasks["serve"] = Task("serve", 0, wish=Wish(0, late=1))
        elif self.serve_late:
            at = self.up(self.serve_at)
            self.tasks["serve"] = Task("serve", 0, earliest=at, wish=Wish(at, late=self.price(LATE_PRICE)))
        else:
            at = self.up(self.serve_at)
            self.tasks["serve"] = Task("serve", 0, earliest=at, latest=at)
        self.items["serve"] = Item("serve", "serve", "Serve")

    # -- one step of each kind

    def _thaw(self) -> None:
        """Frozen raw food goes into the fridge in time: its own task and wait before the first step that handles it."""
        for dish in self.meal.dishes:
            steps = [s for s in self.steps if s.dish == dish.id]
            if not steps or any(s.fry is not None and s.fry.frozen for s in steps):
                continue
            for thing in dish.ingredients:
                if not (thing.frozen and thing.raw and (kg := (thing.prepared or thing.bought).kg)):
                    continue
                user = next((s for s in steps if s.raw_in), steps[0])
                move = Item(f"{thing.id}:thaw", "do", f"move {thing.name} to the fridge", "", dish.id)
                thaw = Item(f"{thing.id}:thawing", "wait", f"{thing.name} thaws", "", dish.id)
                seconds = max(DAY_S, THAW_S_KG * kg)
                first = self.add(move, OVEN_HANDS_S, [self.hands()])
                then = self.add(thaw, seconds, least=self.up(seconds), most=self.up(seconds + 2 * DAY_S))
                self.pin(first, then, "end", "start")
                self.lag(then, self.first[user.id][0][0])
                self.lags.append(Lag(then, self.first[user.id][0][0], None, 0, self.price(1)))
                self.ahead[first] = self.ahead[then] = ceil(seconds / DAY_S) + self.ahead.get(self.first[user.id][0][0], 0)

    def _days_before(self, step: Step) -> int:
        """How many days before serving a step is done: 0 on the evening itself."""
        if not (self.setting.ahead and is_ahead(step) and self.serve_at is not None):
            return 0
        later = self._followers(step)
        nights = [self._days_before(s) + (s.kind is StepKind.WAIT and s.span.least_s >= LONG_WAIT_S and self._days_before(s) > 0) for s in later]
        return max([1, *nights])

    def _earlier_days(self) -> None:
        """Hands on an earlier day work in one session, at the time of day of the evening."""
        for step in self.steps:
            if days := self._days_before(step):
                for task in [t for t, i in self.items.items() if i.step == step.id]:
                    self.ahead[task] = days

    def _bound_sessions(self) -> None:
        for task, days in self.ahead.items():
            if self.serve_at is None or not self.tasks[task].uses:
                continue
            time = self.serve_at - days * DAY_S
            earliest, latest = self.up(max(0.0, time + AHEAD_BEGINS_S)), self.up(max(0.0, time + AHEAD_ENDS_S))
            self.tasks[task] = replace(self.tasks[task], earliest=earliest, latest=latest)

    def _by_hand(self, step: Step) -> None:
        task = self.add(self._item(step, "do", pad=True), self.usual(step), [self.hands(step)])
        self.first[step.id] = self.last[step.id] = [(task, 1.0)]

    def _wait(self, step: Step) -> None:
        """As long as it must; how long it may go on is a limit on what comes next."""
        task = self.add(self._item(step, "wait"), self.setting.usual_s.get(step.id, step.span.least_s))
        self.first[step.id] = self.last[step.id] = [(task, 1.0)]
        if step.hands_s:
            hands = self.add(self._item(step, "begin"), step.hands_s, [self.hands(step)])
            self.pin(hands, task, "start", "start")

    def _stove(self, step: Step) -> None:
        task = self.add(self._item(step, "stove"), self.usual(step), needs=(("burner", 1),))
        hands = self.add(self._item(step, "begin"), min(step.hands_s, self.usual(step)) or OVEN_HANDS_S, [self.hands(step)])
        self.pin(hands, task, "start", "start")
        self.first[step.id], self.last[step.id] = [(hands, 1.0)], [(task, 1.0)]

    def _bake(self, step: Step) -> None:
        assert step.bake is not None
        if not self.meal.equipment.oven:
            raise PlanError(f"{at_line(self.meal, step.line)}: '{step.name}' bakes and the kitchen has no oven; add one or leave the dish out.")
        task = self.add(self._item(step, "bake"), self.usual(step), [Use(("oven",), _oven_state(step))], (("tray", 1),))
        self._stretchable(task)
        put = self.add(self._item(step, "put in"), max(step.hands_s, OVEN_HANDS_S), [self.hands(step)])
        out = self.add(self._item(step, "take out"), OVEN_HANDS_S, [self.hands(step)])
        self.pin(put, task, "end", "start")
        self.pin(task, out, "end", "start")
        self.first[step.id], self.last[step.id] = [(put, 1.0)], [(out, 1.0)]

    def _fry(self, step: Step) -> None:
        assert step.fry is not None
        if step.fry.pot not in self.pots:
            raise PlanError(
                f"{at_line(self.meal, step.line)}: '{step.name}' fries in '{step.fry.pot}', which is no pot of this kitchen; add it there."
            )
        self.batches[step.id] = sizes = self._batch_sizes(step)
        total = sum(b.kg for b in sizes)
        self.first[step.id], self.last[step.id] = [], []
        done, before = 0.0, ""
        for number, size in enumerate(sizes, 1):
            lower = max(LOWER_LEAST_S, (size.pieces or 0) * step.fry.piece_s)
            drop = self.add(self._item(step, "drop", number), lower, [Use(("cook",))])
            in_oil = lower + self.usual(step)
            fry = self.add(self._item(step, "fry", number), in_oil, [Use((step.fry.pot,), step.id)])
            self._stretchable(fry)
            lift = self.add(self._item(step, "lift", number, pad=True), LIFT_S, [Use(("cook",))])
            self.pin(drop, fry, "start", "start")
            self.pin(fry, lift, "end", "start")
            if before:
                self.lag(before, drop)
                self.lag(before, fry)
            before = lift
            done += size.kg / total
            self.first[step.id].append((drop, done))
            self.last[step.id].append((lift, done))

    def _stretchable(self, task: str) -> None:
        """Once cooking has begun a late cook lifts late: at a price, for otherwise there may be no plan at all."""
        if self.setting.cooking:
            long = self.horizon + self.up(ROOM_FOR_LATENESS_S)
            self.tasks[task] = replace(self.tasks[task], most=long, stretch_price=self.price(OVER_FRY_PRICE))

    def _item(self, step: Step, action: str, batch: int = 0, pad: bool = False) -> Item:
        helper = step.helper and action not in ("drop", "lift")
        return Item(task_id(step.id, action, batch), action, step.name, step.id, step.dish, batch, self.pad(step) if pad else 0.0, helper)

    def _batch_sizes(self, step: Step) -> tuple[BatchSize, ...]:
        assert step.fry is not None
        kg, pieces = self._lot_kg(step), step.fry.pieces
        limits = limits_of(self.card.step(step.id), self.pots[step.fry.pot])
        fewest = 1
        if limits.most_kg > 0:
            fewest = max(fewest, ceil(kg / limits.most_kg - 1e-6))
        if pieces is not None and limits.most_pieces:
            fewest = max(fewest, ceil(pieces / limits.most_pieces))
        one = kg / pieces if pieces else 0.0
        if limits.most_kg <= 0 or limits.most_pieces == 0 or one > limits.most_kg * (1 + 1e-6):
            raise PlanError(
                f"{at_line(self.meal, step.line)}: '{step.name}' is more than {self.pots[step.fry.pot].name} can take ({limits.limited_by}); "
                "use a bigger pot, more oil or smaller pieces."
            )
        number = self.setting.batches.get(step.id, fewest)
        return split(kg, pieces, max(1, min(number, pieces or number)))

    def _lot_kg(self, step: Step) -> float:
        """Weight of the lot as it goes in. A second fry takes what the first one left, where the card did not weigh it."""
        assert step.fry is not None
        for before in step.after:
            first = next((s for s in self.meal.steps() if s.id == before and s.fry is not None and s.fry.first_stage), None)
            if first is not None and first.fry is not None:
                raw = first.fry.kg * step.share
                return step.fry.kg if step.fry.kg < 0.95 * raw else raw * SECOND_FRY_LEAVES
        return step.fry.kg

    # -- pots and oven

    def _lots(self, pot: str) -> list[Step]:
        return [s for s in self.steps if s.fry is not None and s.fry.pot == pot]

    def _pots(self) -> None:
        for pot in self.meal.equipment.pots:
            lots = self._lots(pot.id)
            if not lots:
                continue
            light = self.add(Item(f"{pot.id}:light", "light", pot.name), LIGHT_S, [Use(("cook",)), Use((pot.id,), "cold")])
            needs = () if pot.heat in (Heat.FRYER, Heat.OUTDOOR) else (("burner", 1),)
            hot = self.add(Item(f"{pot.id}:heat", "heat", pot.name), 0, needs=needs, least=0, most=self.horizon + self.up(ROOM_FOR_LATENESS_S))
            self.tasks[hot] = replace(self.tasks[hot], stretch_price=self.price(HOT_OIL_PRICE))
            self.pin(light, hot, "start", "start")
            for step in lots:
                for number in range(1, len(self.batches[step.id]) + 1):
                    self.lag(light, f"{step.id}#{number}:fry")
                self.lag(f"{step.id}#{len(self.batches[step.id])}:fry", hot, of_then="end")

    def _pot_setup(self, pot: Pot) -> tuple[tuple[tuple[str, str], int], ...]:
        setup: dict[tuple[str, str], float] = {}
        lots = self._lots(pot.id)
        recovery = {s.id: limits_of(self.card.step(s.id), pot).recovery_s for s in lots}
        for a in lots:
            assert a.fry is not None
            setup[("cold", a.id)] = heating(pot, ROOM_C, a.fry.oil_c)
            setup[(a.id, "cold")] = heating(pot, a.fry.oil_c, ROOM_C)
            for b in lots:
                assert b.fry is not None
                change = heating(pot, a.fry.oil_c, b.fry.oil_c)
                setup[(a.id, b.id)] = change if b.fry.oil_c < a.fry.oil_c else recovery[a.id] + change
        units = {pair: self.up(s) for pair, s in setup.items()}
        shortest = {s.id: min(self.tasks[f"{s.id}#{n}:fry"].shortest for n in range(1, len(self.batches[s.id]) + 1)) for s in lots}
        # rounding may break the triangle inequality by a unit: the longer way round is then taken as the time
        for via in recovery:
            for start in ("cold", *recovery):
                for end in recovery:
                    if start not in (via, end) and via != end:
                        units[(start, end)] = min(units[(start, end)], units[(start, via)] + shortest[via] + units[(via, end)])
        return tuple(units.items())

    def _oven(self) -> None:
        """Lit once for each day that bakes."""
        for days in sorted({self.ahead.get(f"{s.id}:bake", 0) for s in self.steps if s.bake is not None and s.bake.preheat}):
            name = f"oven:light@{days}" if days else "oven:light"
            light = self.add(Item(name, "light", "oven"), OVEN_LIGHT_S, [self.hands()])
            if days:
                self.ahead[light] = days
            for step in self.steps:
                if step.bake is not None and self.ahead.get(f"{step.id}:bake", 0) == days:
                    warm = oven_s(ROOM_C, step.bake.oven_c) + (STONE_S if step.bake.stone else 0.0) if step.bake.preheat else 0.0
                    self.lag(light, f"{step.id}:bake", warm)

    def _oven_setup(self) -> tuple[tuple[tuple[str, str], int], ...]:
        states = {use.state for t in self.tasks.values() for use in t.uses if use.machines == ("oven",)}
        return tuple(((a, b), self.up(oven_s(float(a), float(b)))) for a in states for b in states if a != b)

    # -- what follows what

    def _range(self, step: Step, before: Step) -> tuple[float, float]:
        """Which part of the lot `before` this step takes: parts are dealt out in the order of the card, oldest batches first."""
        takers = [s for s in self.meal.steps() if before.id in s.after]
        if step.share >= 1.0 or len(takers) < 2:
            return 0.0, 1.0
        low = sum(s.share for s in takers[: [s.id for s in takers].index(step.id)] if s.share < 1.0)
        return low, low + step.share

    def _pairs(self, step: Step, before: Step) -> list[tuple[str, str]]:
        """(task that ends a part of `before`, task of `step` that takes it up) for every batch that meets."""
        low, high = self._range(step, before)
        pairs = []
        done = 0.0
        for then, upto in self.first[step.id]:
            begin, end = low + done * (high - low), low + upto * (high - low)
            part_begin = 0.0
            for first, part_end in self.last[before.id]:
                if part_begin < end - 1e-6 and part_end > begin + 1e-6:
                    pairs.append((first, then))
                part_begin = part_end
            done = upto
        return pairs

    def _follow(self, step: Step) -> None:
        befores = [self.by_id[b] for b in step.after if b in self.by_id]
        for before in befores:
            pairs = self._pairs(step, before)
            for first, then in pairs:
                self.lag(first, then)
                if then.endswith(":drop"):
                    self.lag(first, then.removesuffix("drop") + "fry")
            if step.kind is StepKind.TOSS and before.kind is StepKind.FRY:
                self.lags.append(Lag(*pairs[-1], None, self.up(TOSS_WITHIN_S), self.price(TOSS_PRICE)))
            if step.kind is StepKind.WAIT and len(befores) == 1:
                # a wait begins when what it waits on is done; a gap while cooking only means that it was told late
                self.lags.append(Lag(*pairs[-1], None, 0, self.price(GAP_PRICE) if self.setting.cooking else None))
            if before.kind is StepKind.WAIT and before.hold is None and before.span.most_s > before.span.least_s:
                self._ends_a_wait(before, *pairs[0])

    def _ends_a_wait(self, wait: Step, task: str, then: str) -> None:
        """What comes next comes within the window, and better well inside it, so that a slip does not leave it."""
        if wait.span.most_s == inf:
            return
        most, middle = floor(wait.span.most_s / self.grid + 1e-9), floor((wait.span.least_s + wait.span.most_s) / 2 / self.grid)
        limit = self.price(OVER_LIMIT_PRICE) if self.setting.cooking else None
        self.lags.append(Lag(task, then, None, most, limit, of_first="start"))
        self.lags.append(Lag(task, then, None, middle, self.price(SPARE_PRICE), of_first="start"))

    def _followers(self, step: Step) -> list[Step]:
        return [s for s in self.steps if step.id in s.after]

    # -- how long states keep

    def _keep(self, step: Step) -> None:
        dish, followers = self.meal.dish(step.dish), self._followers(step)
        hold = step.hold
        if not followers and not dish.component:
            self._until_serving(step, hold or default_hold(step, dish))
        elif hold is not None and all(self._serves(f) for f in followers):
            self._until_serving(step, hold)
        else:
            if step.fry is not None and hold is None and not step.fry.first_stage and not dish.component:
                self._ages(step, dish)
            if hold is None and step.makes_perishable and step.kind is not StepKind.WAIT:
                hold = Hold(OUT_OF_FRIDGE_S, OUT_OF_FRIDGE_S)
            if hold is not None:
                for first, then in [pair for f in followers for pair in self._pairs(f, step)]:
                    self._held(step, hold, first, then)

    def _ages(self, step: Step, dish: Dish) -> None:
        """Fried food that is finished later still ages from its lift."""
        later = [h for s in self._downstream(step) if (h := s.hold) is not None]
        fried = default_hold(step, dish)
        longer = 2 if dish.id in self.setting.oven_hold else 1
        best, most = longer * max([fried.best_s, *(h.best_s for h in later)]), longer * max([fried.most_s, *(h.most_s for h in later)])
        lifts = [task for task, _ in self.last[step.id]]
        for lift in lifts:
            self.lags.append(Lag(lift, "serve", None, floor(best / self.grid), self.price(HOLD_PRICE / len(lifts))))
            self.within(lift, "serve", most, lift != lifts[-1])
            self.holds.append(HoldOf(lift, dish.id, best, most))

    def _downstream(self, step: Step) -> list[Step]:
        """All that waits for a step, near ones first."""
        found: list[Step] = []
        queue = self._followers(step)
        while queue:
            here = queue.pop(0)
            if here not in found:
                found.append(here)
                queue += self._followers(here)
        return found

    def _serves(self, step: Step) -> bool:
        """Whether nothing but serving comes after it."""
        return step.kind is StepKind.PLATE and step.hold is None and not self._followers(step)

    def _held(self, step: Step, hold: Hold, first: str, then: str) -> None:
        if hold.most_s < self.grid:
            raise PlanError(f"{at_line(self.meal, step.line)}: '{step.name}' keeps for no time at all; give its hold at least a minute.")
        most = max(hold.most_s - self.setting.pads.hold_s, min(hold.most_s, 60.0))
        self.within(first, then, most, step.fry is not None and first != self.last[step.id][-1][0])
        if hold.best_s < hold.most_s:
            best = floor(hold.best_s / self.grid)
            self.lags.append(Lag(first, then, None, best, self.price(HOLD_PRICE / max(1, len(self.last[step.id])))))

    def _until_serving(self, step: Step, hold: Hold) -> None:
        dish = self.meal.dish(step.dish)
        asked = dish.id in self.setting.oven_hold
        warm = hold.oven_c or (OVEN_KEEP_C if asked else None)
        if asked and hold.oven_c is None:
            # warm on a rack in a low oven plain fried food keeps twice as long (common practice); sauced food does not
            hold = replace(hold, best_s=2 * hold.best_s, most_s=2 * hold.most_s, keep=Keep.OVEN)
        for first, _ in self.last[step.id]:
            self.lag(first, "serve", self.setting.pads.early_s)
            self._held(step, hold, first, "serve")
            if step.kind is not StepKind.PLATE or not any(self.by_id[b].hold for b in step.after if b in self.by_id):
                self.holds.append(HoldOf(first, dish.id, hold.best_s, hold.most_s))
            if warm is not None and hold.keep is Keep.OVEN and self.meal.equipment.oven:
                self._kept_warm(step, first, warm)

    def _kept_warm(self, step: Step, first: str, warm_c: float) -> None:
        """Soft: when the oven is needed hotter, the dish waits on a rack instead."""
        name = f"{first}:keep"
        self.items[name] = Item(name, "keep", step.name, step.id, step.dish, self.items[first].batch)
        use = Use(("oven",), f"{warm_c:.0f}")
        self.tasks[name] = Task(
            name, 0, 0, self.horizon + self.up(ROOM_FOR_LATENESS_S), uses=(use,), skip_price=self.price(OVEN_KEEP_PRICE) * self.up(hold_gap(step))
        )
        self.pin(first, name, "end", "start")
        self.pin(name, "serve", "end", "start")

    # -- the order of the pot, the length of the evening

    def _pot_order(self) -> None:
        for pot in self.meal.equipment.pots:
            lots = self._lots(pot.id)
            unshared = [s for s in lots if self.meal.dish(s.dish).unshared_oil]
            names = sorted({self.meal.dish(s.dish).name for s in unshared})
            if unshared and not pot.fresh_oil:
                line = unshared[0].line
                words = f"'{names[0]}' wants oil nothing else was fried in, and {pot.name} has used oil; begin with fresh oil or another pot."
                raise PlanError(f"{at_line(self.meal, line)}: {words}")
            if len(names) > 1:
                line = unshared[-1].line
                words = f"'{names[0]}' and '{names[1]}' both want oil of their own in {pot.name}; give one of them another pot."
                raise PlanError(f"{at_line(self.meal, line)}: {words}")
            for a in lots:
                for b in lots:
                    if a in unshared and b not in unshared:
                        self.lag(self.last[a.id][-1][0], self.first[b.id][0][0])
                        self.lag(self.last[a.id][-1][0], f"{b.id}#1:fry")
                    elif not unshared and self._rank(a) < self._rank(b):
                        self.orders.append(Order(f"{a.id}#{len(self.batches[a.id])}:fry", f"{b.id}#1:fry", FORTIETHS * POT_ORDER_PRICE))

    def _rank(self, step: Step) -> int:
        assert step.fry is not None
        rank = POT_ORDER.get(self.meal.dish(step.dish).food_kind, 0)
        return max(rank, POT_ORDER["coated"]) if step.fry.coated else rank

    def _evening(self) -> None:
        """The evening lasts from the first task to serving, and is better short."""
        if self.serve_at is None:
            self._only_serving()
            return
        parts = [t for t in self.tasks if t != "serve" and t not in self.ahead]
        self.tasks["evening"] = Task(
            "evening", 0, 0, self.horizon + self.up(ROOM_FOR_LATENESS_S), stretch_price=0 if self.setting.cooking else self.price(EVENING_PRICE)
        )
        self.items["evening"] = Item("evening", "evening", "")
        for part in parts:
            self.lags.append(Lag("evening", part, 0, of_first="start"))
        self.pin("evening", "serve", "end", "start")

    def _only_serving(self) -> None:
        """When only the earliest serving time is wanted, nothing else has a price."""
        self.orders.clear()
        self.tasks = {name: replace(t, stretch_price=0) for name, t in self.tasks.items()}
        self.lags = [replace(g, most=None, price=None) if g.price is not None else g for g in self.lags]
        self.lags = [g for g in self.lags if g.least is not None or g.most is not None]


_MAKERS = {
    StepKind.HANDS: _Builder._by_hand,
    StepKind.TOSS: _Builder._by_hand,
    StepKind.PLATE: _Builder._by_hand,
    StepKind.WAIT: _Builder._wait,
    StepKind.STOVE: _Builder._stove,
    StepKind.BAKE: _Builder._bake,
    StepKind.FRY: _Builder._fry,
}


def _oven_state(step: Step) -> str:
    assert step.bake is not None
    return f"{step.bake.oven_c:.0f}"
