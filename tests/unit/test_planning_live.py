"""The plan while cooking: facts kept, the told plan kept where it can be, limits at a price, one sentence for a change."""

from __future__ import annotations

import json
import random
import subprocess
import sys

import pytest
from planning_kit import HOUR, broken, fried, meal

from assistant.kitchen import plan_live as live
from assistant.kitchen.cards import find_meal, read_card
from assistant.kitchen.evening import EveningPlan, Pads, Setting
from assistant.kitchen.meal import Hold, Meal
from assistant.kitchen.plan_chance import landing
from assistant.kitchen.plan_facts import Began, Ended, Fact, Helper, Late, LeftOut, MoreTime, People, ServeAt
from assistant.kitchen.plan_meal import plan_meal
from assistant.kitchen.plan_soonest import earliest
from assistant.planning.problem import Plan

BUNDLED = ("fish-supper", "fritter-night", "sunday-thighs")
SERVE = 18.5 * HOUR
NOON = 12 * HOUR


def cooking(name: str = "fish-supper") -> tuple[Meal, EveningPlan]:
    card = read_card(find_meal(name))
    return card, live.for_cooking(card, plan_meal(card, SERVE, now_s=NOON))


def by_plan(plan: EveningPlan, now_s: float) -> list[Fact]:
    """What the journal holds when everything went by the plan until now."""
    facts: list[Fact] = []
    for t in plan.tasks:
        if t.action in ("heat", "keep", "serve"):
            continue
        if plan.serve_s + t.start_s <= now_s:
            facts.append(Began(t.id, plan.serve_s + t.start_s))
        if plan.serve_s + t.end_s <= now_s:
            facts.append(Ended(t.id, plan.serve_s + t.end_s))
    return facts


@pytest.mark.parametrize("name", BUNDLED)
def test_an_evening_by_the_plan_changes_nothing(name: str) -> None:
    """At every half hour the shifted plan is the told one, and there is nothing to say; JSON brings it back unchanged."""
    _, plan = cooking(name)
    for now in range(int(SERVE + plan.begin_s()), int(SERVE), 1800):
        shifted = live.shift(plan, by_plan(plan, now), now)
        assert {t.id: t.start_s for t in shifted.tasks} == {t.id: t.start_s for t in plan.tasks}
        assert EveningPlan.from_dict(json.loads(json.dumps(shifted.to_dict()))) == shifted


@pytest.mark.parametrize("name", BUNDLED)
def test_random_slips_keep_facts_and_every_hard_rule(name: str) -> None:
    """Twelve slips: what has happened never moves, no hard rule of the evening is broken, by the first answer or by the solver's."""
    card, plan = cooking(name)
    rng = random.Random(5)
    for _ in range(12):
        now = SERVE + rng.uniform(plan.begin_s(), -60)
        facts = by_plan(plan, now)
        running = [t.id for t in plan.tasks if t.start_s <= now - SERVE < t.end_s and t.action in ("do", "fry", "bake", "stove", "lift")]
        facts.append(MoreTime(rng.choice(running), rng.choice([60, 180, 600])) if running else Late(now + 300))
        problem = live._with_facts(plan, tuple(facts), now, 1)
        shifted = live.shift(plan, facts, now)
        assert broken(problem, Plan("feasible", shifted.starts, shifted.ends, shifted.by)) == []
        again = live.replan(plan, facts, now, card)
        for answer in [shifted, again] if again else [shifted]:
            for fact in facts:
                if isinstance(fact, Began):
                    assert answer.origin_s + answer.starts[fact.task] == pytest.approx(fact.at_s, abs=1)
            begun = {f.task for f in facts if isinstance(f, Began)}
            pinned = {f"{t.removesuffix(':drop')}:fry" for t in begun}
            assert all(
                answer.origin_s + answer.starts[t.id] >= now - 1 for t in answer.tasks if t.id not in begun | pinned and t.action in ("do", "drop")
            )


def test_a_fry_that_runs_on_moves_the_rest_and_not_what_was_done() -> None:
    """Four minutes more on the first batch of chips: it is lifted four minutes later, what is done stays."""
    _, plan = cooking()
    fry = plan.task("chips-first-fry#1:fry")
    now = SERVE + fry.start_s + 120
    shifted = live.shift(plan, [*by_plan(plan, now), MoreTime("chips-first-fry#1:fry", 240)], now)
    assert shifted.task("chips-first-fry#1:lift").start_s + shifted.serve_s == SERVE + fry.end_s + 240
    assert shifted.serve_s - SERVE <= 240
    assert shifted.because == ("chips-first-fry#1:fry" if shifted.serve_s > SERVE else "")


def test_food_in_the_oil_and_a_late_cook_still_have_a_plan() -> None:
    """The hands are held up for ten minutes while a batch is in: it is lifted late, at a price, and the plan goes on."""
    card, plan = cooking()
    fry = plan.task("chips-first-fry#1:fry")
    now = SERVE + fry.end_s - 30
    facts = [*by_plan(plan, now), Late(now + 600)]
    for answer in (live.shift(plan, facts, now), live.replan(plan, facts, now, card)):
        assert answer is not None
        assert answer.serve_s + answer.task("chips-first-fry#1:lift").start_s >= now + 600


def test_serving_later_takes_the_hot_food_along() -> None:
    """Serve at seven instead: what was at its best is served at its best all the same, and no limit is broken."""
    _, plan = cooking()
    now = SERVE - 4000
    later = live.shift(plan, [*by_plan(plan, now), ServeAt(19 * HOUR)], now)
    assert later.serve_s == 19 * HOUR
    assert later.broken == ()
    before = {w.dish: w.seconds for w in plan.waits}
    assert all(w.seconds <= max(w.best_s, before[w.dish]) for w in later.waits)


def test_serving_earlier_is_as_early_as_it_can_be() -> None:
    """Ten minutes sooner when there was air; otherwise the time stays later than wished and the plan says what it waits for."""
    card = meal(fried("chips", hold=Hold(300, 1800)))
    plan = live.for_cooking(card, plan_meal(card, SERVE, now_s=NOON))
    now = SERVE - 2400
    sooner = live.shift(plan, [ServeAt(SERVE - 600)], now)
    assert sooner.serve_s == SERVE - 600
    assert live.shift(plan, [ServeAt(now + 60)], now).serve_s > now + 60


def test_a_dish_left_out_leaves_the_rest_as_it_was() -> None:
    """Skip the fish: no task of it is left, its pot goes on for the chips, serving stays."""
    _, plan = cooking()
    now = SERVE - 4000
    less = live.shift(plan, [*by_plan(plan, now), LeftOut("fish")], now)
    assert "fish" not in {t.dish for t in less.tasks}
    assert less.serve_s == SERVE
    assert less.task("chips-second-fry#1:fry").start_s == plan.task("chips-second-fry#1:fry").start_s


def test_more_people_get_more_batches_of_what_has_not_begun() -> None:
    """Four of us now: the chips that are in the oil keep their batches, the fish gets a second one."""
    card, plan = cooking()
    fry = plan.task("chips-first-fry#2:fry")
    now = SERVE + fry.start_s + 60
    facts = [*by_plan(plan, now), People(4)]
    for answer in (live.shift(plan, facts, now, card), live.replan(plan, facts, now, card, 5.0)):
        assert answer is not None
        assert answer.people == 4
        assert answer.batches["chips-first-fry"] == plan.batches["chips-first-fry"]
        assert len(answer.batches["fish-fry"]) == 2 * len(plan.batches["fish-fry"])
        assert answer.task("fish-fry#2:drop").start_s >= answer.task("fish-fry#1:lift").end_s


def test_a_helper_lets_the_solver_share_the_work() -> None:
    """A helper who comes at the beginning takes work off the cook's hands."""
    card, plan = cooking("sunday-thighs")
    now = SERVE + plan.begin_s() - 60
    helped = live.replan(plan, [Helper(True)], now, card, 5.0)
    assert helped is not None
    assert any("helper" in t.resources for t in helped.tasks) or helped.serve_s <= plan.serve_s


def test_what_is_worth_telling() -> None:
    """Two minutes sooner, or a limit kept that the other breaks; nothing less."""
    _, plan = cooking()
    sooner = live.replace(plan, serve_s=plan.serve_s - 119)
    assert not live.worth_it(plan, sooner)
    assert live.worth_it(plan, live.replace(plan, serve_s=plan.serve_s - 120))
    assert live.worth_it(live.replace(plan, broken=("a",)), plan)
    assert not live.worth_it(plan, plan)


def test_beginning_late_moves_serving_as_little_as_it_must() -> None:
    """Forty minutes before serving a fish supper cannot be made; the plan serves at the soonest time instead of refusing, and keeps its limits."""
    card = read_card(find_meal("fish-supper"))
    now = SERVE - 2400
    soonest = earliest(card, Setting(people=2), now).serve_s
    for wanted in (SERVE, None, now - 60):
        plan = live.plan_now(card, wanted, now, Setting())
        assert plan.serve_s == soonest
        assert plan.broken == ()
        assert live.shift(plan, [], now).starts == plan.starts
    assert live.plan_now(card, now + 3 * HOUR, now, Setting()).serve_s == now + 3 * HOUR


def test_an_evening_is_begun_with_air_that_slips_use_up() -> None:
    """Sunday's thighs land rarely as tight as can be: whoever begins to cook for a time gets the plan with air; a minute lost then moves nothing."""
    card = read_card(find_meal("sunday-thighs"))
    bare = live.for_cooking(card, plan_meal(card, SERVE, now_s=NOON))
    plan = live.plan_now(card, SERVE, NOON, Setting())
    assert (plan.serve_s, plan.origin_s, plan.setting.pads) == (SERVE, NOON, Pads())
    assert landing(card, plan, Setting()).chance >= 0.95 > landing(card, bare, Setting()).chance
    slip = [MoreTime("thighs-fry#2:fry", 60.0)]
    for told, moved in ((bare, 60.0), (plan, 0.0)):
        drop = next(t for t in told.tasks if t.id == "thighs-fry#2:fry")
        now = SERVE + drop.start_s + 1
        assert live.shift(told, [*by_plan(told, now), *slip], now).serve_s - SERVE == moved


def test_a_replay_needs_no_solver_and_no_numbers_library() -> None:
    """Shifting a plan read from JSON loads neither ortools nor numpy."""
    _, plan = cooking()
    code = """
import json, sys
from assistant.kitchen.evening import EveningPlan
from assistant.kitchen.plan_facts import Began, Late
from assistant.kitchen.plan_live import shift
plan = EveningPlan.from_dict(json.load(sys.stdin))
first = plan.tasks[0]
moved = shift(plan, [Began(first.id, plan.serve_s + first.start_s), Late(plan.serve_s - 3000)], plan.serve_s - 3600)
assert moved.tasks
heavy = [m for m in ("ortools", "numpy", "matplotlib", "pint", "icalendar", "scipy") if m in sys.modules]
assert not heavy, heavy
"""
    subprocess.run([sys.executable, "-c", code], input=json.dumps(plan.to_dict()), text=True, check=True, timeout=60)


@pytest.mark.parametrize("name", BUNDLED)
def test_the_cause_of_a_slip_is_what_ran_on_or_what_the_hands_did_not_begin(name: str) -> None:
    """A step that takes seven minutes longer is the cause whenever serving moves for it; with the hands held up it is something not yet begun."""
    _, plan = cooking(name)
    rng = random.Random(3)
    moved = 0
    for _ in range(25):
        now = SERVE + rng.uniform(plan.begin_s(), -60)
        facts = by_plan(plan, now)
        running = [t.id for t in plan.tasks if t.start_s <= now - SERVE < t.end_s and t.action in ("do", "fry", "bake", "stove")]
        if running:
            longer = live.shift(plan, [*facts, MoreTime(running[0], 420)], now)
            assert longer.because == (running[0] if longer.serve_s > SERVE else "")
            moved += longer.serve_s > SERVE
        late = live.shift(plan, [*facts, Late(now + 600)], now)
        assert (late.because != "") == (late.serve_s > SERVE)
        begun = {f.task for f in facts if isinstance(f, Began)}
        assert late.because not in begun | {"serve"}
    assert moved > 5


def test_what_a_plan_left_out_stays_out_when_it_is_shifted() -> None:
    """The oven is not used to keep anything warm: shifting such a plan does not bring it back, and moves nothing."""
    card, plan = cooking()
    kept = [t.id for t in plan.tasks if t.action == "keep"]
    assert kept
    without = live.replace(
        plan, starts={t: s for t, s in plan.starts.items() if t not in kept}, ends={t: s for t, s in plan.ends.items() if t not in kept}
    )
    shifted = live.shift(without, [], NOON, card)
    assert shifted.starts == without.starts
