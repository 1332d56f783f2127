"""Pots and oven: lit in time, brought from one temperature to the next, and the order of what is fried.

Rules. Recovery and heating are set-up times of the pot; the oven has one temperature at a time. Clean food goes first, potatoes before flour and
crumbs, fish last, unless time forbids; what an allergic guest eats goes first in unshared fresh oil, and that is a hard limit.
"""

from __future__ import annotations

from dataclasses import replace

from assistant.kitchen.evening import Item, PlanError
from assistant.kitchen.meal import Heat, Pot, Step
from assistant.kitchen.plan_board import Board, at_line
from assistant.kitchen.plan_figures import (
    FORTIETHS,
    HOT_OIL_PRICE,
    LIGHT_S,
    OVEN_LIGHT_S,
    POT_ORDER,
    POT_ORDER_PRICE,
    ROOM_C,
    ROOM_FOR_LATENESS_S,
    STONE_S,
    heating,
    limits_of,
    oven_s,
)
from assistant.planning.problem import Order, Use


def pots(b: Board) -> None:
    """Each pot that fries: checked and lit once, hot until its last lift."""
    for pot in b.meal.equipment.pots:
        lots = b.lots(pot.id)
        if not lots:
            continue
        light = b.add(Item(f"{pot.id}:light", "light", pot.name), LIGHT_S, [Use(("cook",)), Use((pot.id,), "cold")])
        needs = () if pot.heat in (Heat.FRYER, Heat.OUTDOOR) else (("burner", 1),)
        hot = b.add(Item(f"{pot.id}:heat", "heat", pot.name), 0, needs=needs, least=0, most=b.horizon + b.up(ROOM_FOR_LATENESS_S))
        b.tasks[hot] = replace(b.tasks[hot], stretch_price=b.price(HOT_OIL_PRICE))
        b.pin(light, hot, "start", "start")
        for step in lots:
            for number in range(1, len(b.batches[step.id]) + 1):
                b.lag(light, f"{step.id}#{number}:fry")
            b.lag(f"{step.id}#{len(b.batches[step.id])}:fry", hot, of_then="end")


def pot_setup(b: Board, pot: Pot) -> tuple[tuple[tuple[str, str], int], ...]:
    """Heating, cooling and recovery between the lots of a pot."""
    setup: dict[tuple[str, str], float] = {}
    lots = b.lots(pot.id)
    recovery = {s.id: limits_of(b.card.step(s.id), pot).recovery_s for s in lots}
    for one in lots:
        assert one.fry is not None
        setup[("cold", one.id)] = heating(pot, ROOM_C, one.fry.oil_c)
        setup[(one.id, "cold")] = heating(pot, one.fry.oil_c, ROOM_C)
        for two in lots:
            assert two.fry is not None
            change = heating(pot, one.fry.oil_c, two.fry.oil_c)
            setup[(one.id, two.id)] = change if two.fry.oil_c < one.fry.oil_c else recovery[one.id] + change
    units = {pair: b.up(s) for pair, s in setup.items()}
    shortest = {s.id: min(b.tasks[f"{s.id}#{n}:fry"].shortest for n in range(1, len(b.batches[s.id]) + 1)) for s in lots}
    # rounding may break the triangle inequality by a unit: the longer way round is then taken as the time
    for via in recovery:
        for start in ("cold", *recovery):
            for end in recovery:
                if start not in (via, end) and via != end:
                    units[(start, end)] = min(units[(start, end)], units[(start, via)] + shortest[via] + units[(via, end)])
    return tuple(units.items())


def oven(b: Board) -> None:
    """Lit once for each day that bakes."""
    for days in sorted({b.ahead.get(f"{s.id}:bake", 0) for s in b.steps if s.bake is not None and s.bake.preheat}):
        name = f"oven:light@{days}" if days else "oven:light"
        light = b.add(Item(name, "light", "oven"), OVEN_LIGHT_S, [b.hands()])
        if days:
            b.ahead[light] = days
        for step in b.steps:
            if step.bake is not None and b.ahead.get(f"{step.id}:bake", 0) == days:
                warm = oven_s(ROOM_C, step.bake.oven_c) + (STONE_S if step.bake.stone else 0.0) if step.bake.preheat else 0.0
                b.lag(light, f"{step.id}:bake", warm)


def oven_setup(b: Board) -> tuple[tuple[tuple[str, str], int], ...]:
    """The oven from one temperature to another."""
    states = sorted({use.state for t in b.tasks.values() for use in t.uses if use.machines == ("oven",)})
    return tuple(((one, two), b.up(oven_s(float(one), float(two)))) for one in states for two in states if one != two)


def pot_order(b: Board) -> None:
    """Which lot had better go first; for an allergic guest, must."""
    for pot in b.meal.equipment.pots:
        lots = b.lots(pot.id)
        unshared = [s for s in lots if b.meal.dish(s.dish).unshared_oil]
        names = sorted({b.meal.dish(s.dish).name for s in unshared})
        if unshared and not pot.fresh_oil:
            line = unshared[0].line
            words = f"'{names[0]}' wants oil nothing else was fried in, and {pot.name} has used oil; begin with fresh oil or another pot."
            raise PlanError(f"{at_line(b.meal, line)}: {words}")
        if len(names) > 1:
            line = unshared[-1].line
            words = f"'{names[0]}' and '{names[1]}' both want oil of their own in {pot.name}; give one of them another pot."
            raise PlanError(f"{at_line(b.meal, line)}: {words}")
        for one in lots:
            for two in lots:
                if one in unshared and two not in unshared:
                    b.lag(b.last[one.id][-1][0], b.first[two.id][0][0])
                    b.lag(b.last[one.id][-1][0], f"{two.id}#1:fry")
                elif not unshared and _rank(b, one) < _rank(b, two):
                    b.orders.append(Order(f"{one.id}#{len(b.batches[one.id])}:fry", f"{two.id}#1:fry", FORTIETHS * POT_ORDER_PRICE))


def _rank(b: Board, step: Step) -> int:
    assert step.fry is not None
    rank = POT_ORDER.get(b.meal.dish(step.dish).food_kind, 0)
    return max(rank, POT_ORDER["coated"]) if step.fry.coated else rank
