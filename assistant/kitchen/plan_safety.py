"""A plan is refused when it would leave perishable food out of its limits: the ledger is run over the planned evening before anybody cooks.

Rules: the same ledger and the same clocks as during the evening (`perishables`, `ledger`), so that what is planned cannot be announced as over
when all goes to plan. A refusal names the thing, how long it would be out and the limit, and the safe way.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from assistant.kitchen import perishables
from assistant.kitchen.cards import other_dishes
from assistant.kitchen.doneness import done_by_look, without_thermometer
from assistant.kitchen.food_clocks import KINDS, ROOM_C, Place, counter_limit, span_words
from assistant.kitchen.ledger import Ledger, Made, advanced, apply
from assistant.kitchen.meal import Meal
from assistant.kitchen.plan_facts import THAW
from assistant.speaking.prompts import upper

if TYPE_CHECKING:
    from assistant.kitchen.evening import EveningPlan


def instead_of_poultry(meal: Meal) -> str:
    """The name of another meal's dish that can be called done here, where raw poultry cannot; empty when none is needed or known."""
    if not without_thermometer(meal):
        return ""
    return next((dish.name for dish in other_dishes(meal) if done_by_look(dish)), "")


def refused(plan: EveningPlan, meal: Meal) -> tuple[str, ...]:
    """Why this plan is not made, a sentence for each thing and one for the way out; empty when nothing is left too long. meal: as planned.

    The room is taken to be 25 C (77 F), as where nobody has measured it.
    """
    marks = []
    for step in meal.steps():
        tasks = plan.of_step(step.id)
        if tasks:
            marks.append((min(t.start_s for t in tasks), 1, step))
            marks.append((max(t.end_s for t in tasks), 0, step))
    begin = plan.begin_s()
    ledger = Ledger()
    # what thaws has its clock from its thawing on: in the freezer nothing ages
    thaws = {t.id.removesuffix(THAW): t.end_s - begin for t in plan.tasks if t.id.endswith(THAW)}
    for event in perishables.opening(meal, 0.0):
        if isinstance(event, Made) and event.item in thaws:
            event = replace(event, t=thaws[event.item], place=Place.FRIDGE)
        ledger, _ = apply(ledger, event)
    for at, begins, step in sorted(marks, key=lambda m: (m[0], m[1])):
        happen = perishables.begun if begins else perishables.done
        for event in happen(meal, ledger, step, at - begin):
            ledger, _ = apply(ledger, event)
    found = []
    for item in ledger.items.values():
        then = item if item.ended else advanced(item, -begin, ROOM_C)  # cooking does not mend what was out too long
        if then.over:
            found.append(f"{upper(item.name)} would be out {span_words(then.out_s)}: the limit is {span_words(counter_limit(item.kind))}.")
            found.append(KINDS[item.kind].chill)
    return tuple(found)


def safe(plan: EveningPlan, meal: Meal) -> EveningPlan:
    """This plan, or TooMuchError with why it is not made. meal: as planned."""
    from assistant.kitchen.evening import TooMuchError

    if unsafe := refused(plan, meal):
        raise TooMuchError(" ".join(unsafe))
    return plan
