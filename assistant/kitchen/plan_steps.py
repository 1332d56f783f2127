"""What one step of each kind occupies: hands, a burner, the oven, or a pot of oil for each batch.

Rules. One pair of hands; a helper adds one for the steps a helper may take. Lowering (hands, by piece) is pinned to the start of a batch in the pot,
the lift (hands: lift, drain, salt, skim, dry tongs, look at level and heat) to its end.
"""

from __future__ import annotations

from assistant.kitchen.evening import PlanError, TooMuchError
from assistant.kitchen.meal import Step, StepKind
from assistant.kitchen.plan_board import Board, at_line
from assistant.kitchen.plan_facts import task_id
from assistant.kitchen.plan_figures import LIFT_S, LOWER_LEAST_S, OUT_OF_FRIDGE_S, OVEN_HANDS_S, RAW_HANDLING_S
from assistant.kitchen.plan_lots import batch_sizes
from assistant.planning.problem import Use


def add_step(b: Board, step: Step) -> None:
    """Everything that this step does, onto the board."""
    _MAKERS[step.kind](b, step)


def _by_hand(b: Board, step: Step) -> None:
    task = b.add(b.item(step, "do", pad=True), b.usual(step), [b.hands(step)])
    b.first[step.id] = b.last[step.id] = [(task, 1.0)]


def _wait(b: Board, step: Step) -> None:
    """As long as it must; how long it may go on is a limit on what comes next."""
    task = b.add(b.item(step, "wait"), b.setting.usual_s.get(step.id, step.span.least_s))
    b.first[step.id] = b.last[step.id] = [(task, 1.0)]
    if step.hands_s:
        hands = b.add(b.item(step, "begin"), step.hands_s, [b.hands(step)])
        b.pin(hands, task, "start", "start")


def _stove(b: Board, step: Step) -> None:
    task = b.add(b.item(step, "stove"), b.usual(step), needs=(("burner", 1),))
    hands = b.add(b.item(step, "begin"), min(step.hands_s, b.usual(step)) or OVEN_HANDS_S, [b.hands(step)])
    b.pin(hands, task, "start", "start")
    b.first[step.id], b.last[step.id] = [(hands, 1.0)], [(task, 1.0)]


def _bake(b: Board, step: Step) -> None:
    assert step.bake is not None
    if not b.meal.equipment.oven:
        raise PlanError(f"{at_line(b.meal, step.line)}: '{step.name}' bakes and the kitchen has no oven; add one or leave the dish out.")
    task = b.add(b.item(step, "bake"), b.usual(step), [Use(("oven",), _oven_state(step))], (("tray", 1),))
    b.stretchable(task)
    put = b.add(b.item(step, "put in"), max(step.hands_s, OVEN_HANDS_S), [b.hands(step)])
    out = b.add(b.item(step, "take out"), OVEN_HANDS_S, [b.hands(step)])
    b.pin(put, task, "end", "start")
    b.pin(task, out, "end", "start")
    b.first[step.id], b.last[step.id] = [(put, 1.0)], [(out, 1.0)]


def _fry(b: Board, step: Step) -> None:
    assert step.fry is not None
    if step.fry.pot not in b.pots:
        raise PlanError(f"{at_line(b.meal, step.line)}: '{step.name}' fries in '{step.fry.pot}', which is no pot of this kitchen; add it there.")
    b.batches[step.id] = sizes = batch_sizes(b, step)
    total = sum(b.kg for b in sizes)
    b.first[step.id], b.last[step.id] = [], []
    done, before = 0.0, ""
    for number, size in enumerate(sizes, 1):
        lower = max(LOWER_LEAST_S, (size.pieces or 0) * step.fry.piece_s)
        drop = b.add(b.item(step, "drop", number), lower, [Use(("cook",))])
        in_oil = lower + b.usual(step)
        fry = b.add(b.item(step, "fry", number), in_oil, [Use((step.fry.pot,), step.id)])
        b.stretchable(fry)
        lift = b.add(b.item(step, "lift", number, pad=True), LIFT_S, [Use(("cook",))])
        b.pin(drop, fry, "start", "start")
        b.pin(fry, lift, "end", "start")
        if before:
            b.lag(before, drop)
            b.lag(before, fry)
        before = lift
        done += size.kg / total
        b.first[step.id].append((drop, done))
        b.last[step.id].append((lift, done))
    if step.raw_in:
        # raw food is out of the fridge from the first drop of its lot to the last
        least = sum(b.tasks[task_id(step.id, "fry", n)].shortest * b.grid + LIFT_S for n in range(1, len(sizes) + 1))
        if least > OUT_OF_FRIDGE_S - RAW_HANDLING_S and not b.setting.cooking:
            raise TooMuchError(
                f"{at_line(b.meal, step.line)}: '{step.name}' takes {least / 60:.0f} minutes in {len(sizes)} batches, too long for raw food that is "
                f"out of the fridge for {RAW_HANDLING_S / 60:.0f} minutes before and for two hours at most."
            )
        first, last = b.first[step.id][0][0], b.last[step.id][-1][0]
        b.within(first, last, OUT_OF_FRIDGE_S - RAW_HANDLING_S, of_first="start", of_then="end")


def _oven_state(step: Step) -> str:
    assert step.bake is not None
    return f"{step.bake.oven_c:.0f}"


_MAKERS = {
    StepKind.HANDS: _by_hand,
    StepKind.TOSS: _by_hand,
    StepKind.PLATE: _by_hand,
    StepKind.WAIT: _wait,
    StepKind.STOVE: _stove,
    StepKind.BAKE: _bake,
    StepKind.FRY: _fry,
}
