"""Meals onto timetables: every rule of the kitchen, bundled meals, a second model by somebody else's library, and meals that cannot be planned."""

from __future__ import annotations

import json
from dataclasses import replace

import networkx as nx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from planning_kit import HOUR, POT, SERVE, baked, broken, bundled, dish, fried, fry, meal, span, step

from assistant.kitchen.evening import EveningPlan, Pads, PlanError, Setting
from assistant.kitchen.meal import Amount, Day, Equipment, Hold, Ingredient, Keep, Meal, StepKind
from assistant.kitchen.plan_build import build
from assistant.kitchen.plan_figures import LIFT_S
from assistant.kitchen.plan_laid import bounds
from assistant.kitchen.plan_lots import MOST_WAYS, other_lots, split
from assistant.kitchen.plan_meal import plan_meal
from assistant.kitchen.plan_soonest import NotReadyError, earliest, long_enough_s
from assistant.planning.problem import Plan
from assistant.planning.solve import solve

BUNDLED = ("fish-supper", "fritter-night", "sunday-thighs")


def units(plan: EveningPlan) -> Plan:
    """The plan in the units of its problem."""
    return Plan("optimal", {t: s // plan.grid_s for t, s in plan.starts.items()}, {t: s // plan.grid_s for t, s in plan.ends.items()}, plan.by)


@pytest.mark.parametrize("name", BUNDLED)
def test_bundled_meals_are_proven_and_break_no_rule(name: str) -> None:
    """Every bundled meal has a proven plan; a check in plain Python finds no rule broken; JSON brings it back unchanged."""
    plan = plan_meal(bundled(name), SERVE)
    assert plan.optimal
    assert plan.cost == plan.bound
    assert broken(plan.problem, units(plan)) == []
    assert plan.broken == ()
    assert EveningPlan.from_dict(json.loads(json.dumps(plan.to_dict()))) == plan
    assert plan_meal(bundled(name), SERVE) == plan


@pytest.mark.parametrize("name", BUNDLED)
def test_slots_cover_every_step_after_all_it_waits_for(name: str) -> None:
    """The order that the session follows: every step once, none beginning before what it waits for has begun."""
    card = bundled(name)
    slots = plan_meal(card, SERVE).slots()
    at = {step: start for step, start, _ in slots}
    assert set(at) == {s.id for s in card.steps()}
    assert all(at[b] <= at[s.id] for s in card.steps() for b in s.after)
    assert [s for _, s, _ in slots] == sorted(s for _, s, _ in slots)


def test_free_hands_are_found() -> None:
    """While a batch is in the oil and nothing else is to be done, the hands are free until the next task; while lowering they are not."""
    plan = plan_meal(meal(fried("chips")), SERVE)
    drop, lift = plan.task("chips-fry#1:drop"), plan.task("chips-fry#1:lift")
    assert plan.free_s(SERVE + drop.start_s + 1) == 0.0
    assert plan.free_s(SERVE + drop.end_s) == lift.start_s - drop.end_s
    assert plan.coming(SERVE + drop.end_s)[0].id == lift.id


@pytest.mark.parametrize("name", BUNDLED)
def test_no_plan_beats_simple_bounds(name: str) -> None:
    """Longest path by networkx, work of the hands and of the pot by plain arithmetic: the soonest serving is never sooner."""
    card = bundled(name)
    setting = Setting(people=card.serves)
    built = build(card, setting, 20 * HOUR, None)
    soonest = earliest(card, setting, 0.0)
    assert solve(built.problem).optimal
    net = nx.DiGraph()
    for t in built.problem.tasks:
        net.add_edge(f"{t.id} s", f"{t.id} e", weight=t.shortest)
    for g in built.problem.lags:
        if g.least is not None and (g.least or g.most != 0):
            net.add_edge(f"{g.first} {g.of_first[0]}", f"{g.then} {g.of_then[0]}", weight=g.least)
    assert nx.is_directed_acyclic_graph(net)
    assert soonest.before_s >= nx.dag_longest_path_length(net) * setting.grid_s
    hands_s = sum(s.span.usual_s for s in card.steps() if s.kind in (StepKind.HANDS, StepKind.TOSS, StepKind.PLATE))
    hands_s += sum(LIFT_S * len(sizes) for sizes in built.batches.values())
    assert soonest.before_s >= hands_s
    for pot in card.equipment.pots:
        in_oil = sum(s.span.usual_s * len(built.batches[s.id]) for s in card.steps() if s.fry is not None and s.fry.pot == pot.id)
        assert soonest.before_s >= in_oil
    assert all(soonest.before_s >= seconds - 1e-9 for seconds, _ in bounds(card, built, setting.grid_s))


@given(st.floats(0.05, 5.0), st.none() | st.integers(1, 60), st.integers(1, 12))
def test_batches_cover_the_lot_exactly(kg: float, pieces: int | None, number: int) -> None:
    """Weights add up, pieces stay whole and add up, no batch is empty, none differs from another by more than a piece."""
    sizes = split(kg, pieces, number)
    assert sum(b.kg for b in sizes) == pytest.approx(kg)
    assert all(b.kg > 0 for b in sizes)
    if pieces is not None:
        counts = [b.pieces or 0 for b in sizes]
        assert sum(counts) == pieces
        assert max(counts) - min(counts) <= 1


@pytest.mark.parametrize(("people", "batches"), [(2, 2), (3, 3), (6, 6), (1, 1)])
def test_more_people_more_batches_of_the_same_size(people: int, batches: int) -> None:
    """A batch never grows over what the card has in one: 400 g in two for two people, 1.2 kg in six for six."""
    plan = plan_meal(meal(fried("chips", batches=2, kg=0.4)), SERVE, people)
    assert len(plan.batches["chips-fry"]) == batches
    assert max(b.kg for b in plan.batches["chips-fry"]) <= 0.2 + 1e-9
    assert sum(b.kg for b in plan.batches["chips-fry"]) == pytest.approx(0.2 * people)
    # six batches take longer than the half hour that the first one keeps: said, not refused
    assert bool(plan.broken) == (people == 6)


def test_a_batch_is_lowered_fried_and_lifted_by_hand() -> None:
    """Lowering is pinned to the start in the oil, the lift to its end; between two batches the hands have 60 to 90 s."""
    plan = plan_meal(meal(fried("fish", batches=2)), SERVE)
    for n in (1, 2):
        drop, oil, lift = (plan.task(f"fish-fry#{n}:{a}") for a in ("drop", "fry", "lift"))
        assert drop.start_s == oil.start_s
        assert oil.end_s == lift.start_s
        assert 60 <= lift.end_s - lift.start_s <= 90
    assert plan.task("fish-fry#2:drop").start_s >= plan.task("fish-fry#1:lift").end_s
    assert "hands" in plan.task("fish-fry#1:drop").resources
    assert "the pot" in plan.task("fish-fry#1:fry").resources


def test_pieces_are_lowered_one_at_a_time() -> None:
    """Eight pieces of 15 s take two minutes of the hands."""
    cut = step("cut", minutes=4)
    oil = step("chips-fry", StepKind.FRY, 5, after=("cut",), fry=fry(0.8, 1, pieces=8, piece_s=15.0), hold=Hold(600, 1800))
    drop = plan_meal(meal(dish("chips", cut, oil)), SERVE).task("chips-fry#1:drop")
    assert drop.end_s - drop.start_s == 120
    assert drop.pieces == 8


def test_the_pot_goes_clean_then_potato_then_fish() -> None:
    """Whatever the order on the card."""
    plan = plan_meal(meal(fried("cod", "fish"), fried("chips", "potato"), fried("nuts", "clean")), SERVE)
    order = [t.dish for t in plan.tasks if t.action == "fry"]
    assert order == ["nuts", "chips", "cod"]


def test_time_may_forbid_the_order_of_the_pot() -> None:
    """Potatoes that keep four minutes cannot wait for ten minutes of fish: the fish goes first."""
    short = Hold(60, 240)
    plan = plan_meal(meal(fried("cod", "fish", minutes=10), fried("chips", "potato", hold=short)), SERVE)
    assert [t.dish for t in plan.tasks if t.action == "fry"] == ["cod", "chips"]


def test_an_allergic_guest_is_fried_for_first_in_fresh_oil() -> None:
    """A hard limit: fish in unshared oil goes before everything, although fish goes last else; used oil is refused, and so are two such dishes."""
    cod = fried("cod", "fish", unshared_oil=True)
    plan = plan_meal(meal(fried("chips", "potato"), cod), SERVE)
    assert [t.dish for t in plan.tasks if t.action == "fry"] == ["cod", "chips"]
    used = Equipment((replace(POT, fresh_oil=False),))
    with pytest.raises(PlanError, match=r"test-meal.yaml, line 20: 'cod' wants oil nothing else was fried in"):
        plan_meal(meal(cod, equipment=used), SERVE)
    with pytest.raises(PlanError, match="both want oil of their own"):
        plan_meal(meal(cod, fried("nuts", unshared_oil=True)), SERVE)


def test_heating_and_recovery_are_waited_for() -> None:
    """From 175 to 190 C between lots, and 120 s of recovery between batches of a cut nobody knows (the card's limits)."""
    hot = step("hot-fry", StepKind.FRY, 5, "hot", fry=fry(0.3, 1, oil_c=190.0), hold=Hold(1200, 2400))
    plan = plan_meal(meal(fried("chips", batches=2, hold=Hold(1200, 2400)), dish("hot", hot)), SERVE)
    first, second = plan.task("chips-fry#1:fry"), plan.task("chips-fry#2:fry")
    assert second.start_s - first.end_s >= 120
    fries = sorted((t for t in plan.tasks if t.action == "fry"), key=lambda t: t.start_s)
    light = plan.task("pot:light")
    assert fries[0].start_s - light.end_s >= 300  # two litres from cold on a burner of unstated power


def test_the_oven_has_one_temperature_at_a_time() -> None:
    """Two bakes at 200 share it, one at 230 does not; and it is lit in time."""
    plan = plan_meal(meal(baked("pie"), baked("roots"), baked("bread", 230.0)), SERVE)
    pie, roots, bread = (plan.task(f"{n}-bake:bake") for n in ("pie", "roots", "bread"))
    assert max(pie.start_s, roots.start_s) < min(pie.end_s, roots.end_s)
    assert bread.start_s >= max(pie.end_s, roots.end_s) or bread.end_s <= min(pie.start_s, roots.start_s)
    assert min(pie.start_s, roots.start_s, bread.start_s) - plan.task("oven:light").end_s >= 900


def test_burners_and_trays_are_counted() -> None:
    """Three pans on two burners cannot all simmer at once; two bakes on one tray cannot share the oven."""
    pans = [dish(f"d{n}", step(f"pan{n}", StepKind.STOVE, 10, f"d{n}", hold=Hold(1200, 3600))) for n in range(3)]
    plan = plan_meal(meal(*pans, equipment=Equipment((), burners=2)), SERVE)
    assert broken(plan.problem, units(plan)) == []
    on = [(t.start_s, t.end_s) for t in plan.tasks if t.action == "stove"]
    assert all(sum(s <= a < e for s, e in on) <= 2 for a, _ in on)
    plan = plan_meal(meal(baked("pie"), baked("roots"), equipment=Equipment((), trays=1)), SERVE)
    pie, roots = plan.task("pie-bake:bake"), plan.task("roots-bake:bake")
    assert pie.end_s <= roots.start_s or roots.end_s <= pie.start_s


def test_a_wait_has_an_at_least_and_an_at_most() -> None:
    """A batter rests ten to twenty minutes: neither less nor more, whatever else is going on."""
    steps = (
        step("mix", minutes=3),
        step("rest", StepKind.WAIT, 10, after=("mix",), span=span(10, 10, 20)),
        step("batter-fry", StepKind.FRY, 5, after=("rest",), fry=fry(0.3, 1), hold=Hold(300, 900)),
    )
    plan = plan_meal(meal(dish("fritters", *(replace(s, dish="fritters") for s in steps)), fried("chips", "potato", batches=3)), SERVE)
    rested = plan.task("batter-fry#1:drop").start_s - plan.task("mix").end_s
    assert 600 <= rested <= 1200
    assert plan.task("rest").end_s == plan.task("batter-fry#1:drop").start_s


def test_a_wait_that_two_dishes_end_holds_neither_up() -> None:
    """A sauce chilled for twenty minutes: the second dish need not wait until the first one takes its part."""
    sauce = dish("sauce", step("mix", dish="sauce"), step("chill", StepKind.WAIT, 20, "sauce", after=("mix",), span=span(20, 20, 90)), component=True)
    one, two = (dish(n, step(f"{n}-dress", dish=n, after=("chill",), hold=Hold(60, 600 + 60 * i))) for i, n in enumerate(("one", "two")))
    plan = plan_meal(meal(sauce, one, two, fried("chips")), SERVE)
    ready = plan.task("mix").end_s + 1200
    first = min(plan.task("one-dress").start_s, plan.task("two-dress").start_s)
    assert first >= ready
    assert abs(plan.task("one-dress").start_s - plan.task("two-dress").start_s) >= 300


def test_shares_of_a_lot_go_on_when_their_batches_are_out() -> None:
    """A lot of four batches divided in halves: the first finish waits for two batches, the second for all four."""
    oil = step("wings-fry", StepKind.FRY, 5, "wings", fry=fry(0.8, 4), line=20)
    red = step("red-toss", StepKind.TOSS, 1, "wings", after=("wings-fry",), share=0.5, hold=Hold(600, 2400))
    dry = step("dry-toss", StepKind.TOSS, 1, "wings", after=("wings-fry",), share=0.5, hold=Hold(600, 2400))
    plan = plan_meal(meal(dish("wings", oil, red, dry, food_kind="poultry")), SERVE)
    second, fourth = plan.task("wings-fry#2:lift"), plan.task("wings-fry#4:lift")
    assert second.end_s <= plan.task("red-toss").start_s < fourth.end_s
    assert plan.task("dry-toss").start_s >= fourth.end_s


def test_a_second_fry_weighs_what_the_first_left() -> None:
    """65 to 75 % of the raw weight (common practice), where the card did not weigh it."""
    one = step("one-fry", StepKind.FRY, 5, fry=fry(1.0, 2, oil_c=150.0, first_stage=True))
    two = step("two-fry", StepKind.FRY, 3, after=("one-fry",), fry=fry(1.0, 2), hold=Hold(300, 900))
    sizes = plan_meal(meal(dish("chips", one, two)), SERVE).batches
    assert 0.65 <= sum(b.kg for b in sizes["two-fry"]) <= 0.75


def test_a_component_is_made_before_every_dish_that_uses_it() -> None:
    """One sauce, two dishes: its mixing ends before either goes on; left out of both, it is not made."""
    sauce = dish("sauce", step("mix", minutes=5, dish="sauce", makes_perishable=True), component=True)
    one = dish("one", step("one-plate", StepKind.PLATE, 1, "one", after=("mix",)), uses=(("sauce", 0.5),))
    two = dish("two", step("two-plate", StepKind.PLATE, 1, "two", after=("mix",)), uses=(("sauce", 0.5),))
    card = meal(sauce, one, two, fried("chips"))
    plan = plan_meal(card, SERVE)
    assert plan.task("mix").end_s <= min(plan.task("one-plate").start_s, plan.task("two-plate").start_s)
    without = plan_meal(card, SERVE, setting=Setting(skip=frozenset({"one", "two"})))
    assert {t.dish for t in without.tasks} == {"chips", ""}


def test_a_helper_takes_what_a_helper_may() -> None:
    """With a second pair of hands the evening is shorter; what only the cook may do stays with the cook."""
    prep = dish("salad", *(step(f"cut{n}", minutes=10, dish="salad", helper=n != 1) for n in range(3)))
    alone, both = (plan_meal(meal(prep, fried("chips")), SERVE, setting=Setting(helper=h)) for h in (False, True))
    assert both.begin_s() > alone.begin_s()
    assert plan_resources(both, "cut1") == ("hands",)
    assert any("helper" in t.resources for t in both.tasks)
    assert all("helper" not in t.resources for t in both.tasks if t.action in ("drop", "lift", "light"))


def plan_resources(plan: EveningPlan, task: str) -> tuple[str, ...]:
    return plan.task(task).resources


def test_earlier_days_take_what_the_card_allows() -> None:
    """A brine of a night goes to the day before when there is time; asked in the afternoon, it cannot be ready today."""
    brine = (
        step("stir-brine", minutes=5, dish="wings", day=Day.DAY_BEFORE),
        step("soak", StepKind.WAIT, 600, "wings", after=("stir-brine",), day=Day.DAY_BEFORE),
        step("wings-fry", StepKind.FRY, 8, "wings", after=("soak",), fry=fry(0.5, 1), hold=Hold(600, 1800)),
    )
    card = meal(dish("wings", *brine))
    plan = plan_meal(card, SERVE)
    assert -28 * HOUR <= plan.task("stir-brine").start_s <= -22 * HOUR
    assert plan.task("wings-fry#1:drop").start_s > -HOUR
    with pytest.raises(NotReadyError, match="Cannot be ready before tomorrow"):
        plan_meal(card, SERVE, now_s=15 * HOUR)
    done = plan_meal(card, SERVE, now_s=15 * HOUR, setting=Setting(done=frozenset({"stir-brine", "soak"})))
    assert "stir-brine" not in {t.id for t in done.tasks}


def test_frozen_meat_thaws_by_its_weight() -> None:
    """24 h for every 4 lb in the fridge (USDA): 2 kg want 26.5 h, so it moves to the fridge two days before."""
    wings = Ingredient("wings", "wings", ("wings",), Amount("2 kg", 2.0), raw=True, frozen=True, kept=Keep.FRIDGE)
    oil = step("wings-fry", StepKind.FRY, 8, "wings", fry=fry(2.0, 4), raw_in=True, hold=Hold(600, 3600))
    plan = plan_meal(meal(replace(dish("wings", oil), ingredients=(wings,))), SERVE)
    thaw = plan.task("wings:thaw")
    assert plan.task("wings-fry#1:drop").start_s - thaw.end_s >= 2.0 / 1.81 * 24 * HOUR
    assert thaw.start_s < -40 * HOUR


def test_warm_holding_is_soft() -> None:
    """Food kept at 107 C gives way to bread at 230 C when both want the oven at the end."""
    chips = fried("chips", "potato", hold=Hold(300, 1800, Keep.OVEN, 107.0))
    alone, plan = plan_meal(meal(chips), SERVE), plan_meal(meal(chips, baked("bread", 230.0, 12)), SERVE)
    kept, bread = next(i.id for i in alone.items if i.action == "keep"), "bread-bake:bake"
    assert kept in alone.starts
    assert kept not in plan.starts or plan.starts[kept] >= plan.ends[bread] or plan.ends[kept] <= plan.starts[bread]


def test_air_goes_on_the_hands_and_before_serving() -> None:
    """With pads everything is ready earlier, and the hands are free for a while after each task."""
    card = bundled("sunday-thighs")
    bare, airy = (plan_meal(card, SERVE, setting=Setting(pads=p)) for p in (Pads(), Pads(1.0, 120.0, 120.0)))
    last = max(t.end_s for t in airy.tasks if t.action in ("do", "lift"))
    assert last <= -120
    first = [min(t.start_s for t in p.tasks if t.step == "thighs-season") for p in (airy, bare)]
    assert first[0] < first[1]


# -- when it cannot be done


def test_too_early_gets_the_soonest_time_its_reason_and_ways_out() -> None:
    """The soonest time is proven, its reason is the largest bound, each way out can really be planned."""
    card = bundled("fritter-night")
    with pytest.raises(NotReadyError) as caught:
        plan_meal(card, SERVE, now_s=17.5 * HOUR)
    error = caught.value
    assert str(error).startswith("Cannot be ready before 1")
    assert error.soonest.reason in str(error)
    assert plan_meal(card, error.soonest.serve_s, now_s=17.5 * HOUR).optimal
    with pytest.raises(NotReadyError):
        plan_meal(card, error.soonest.serve_s - 120, now_s=17.5 * HOUR)
    for way in error.others:
        assert way.serve_s < error.soonest.serve_s
        assert way.what.startswith(("Without the", "In "))


def test_adding_a_dish_never_makes_the_meal_earlier() -> None:
    """The soonest serving of a meal is never sooner than that of the same meal with a dish less."""
    for name in BUNDLED:
        card = bundled(name)
        whole = earliest(card, Setting(people=card.serves), 0.0)
        for d in card.dishes:
            if not d.component:
                less = earliest(card, Setting(people=card.serves, skip=frozenset({d.id})), 0.0)
                assert less.serve_s <= whole.serve_s


@settings(max_examples=15, deadline=None)
@given(st.lists(st.tuples(st.sampled_from(["clean", "potato", "fish"]), st.integers(2, 9), st.integers(1, 3)), min_size=1, max_size=3), st.booleans())
def test_any_small_meal_is_planned_within_its_rules(lots: list[tuple[str, int, int]], helper: bool) -> None:
    """Random meals of one to three fried dishes: a proven plan, no rule broken, and one dish more is never sooner."""
    dishes = [fried(f"d{i}", kind, minutes, batches=n, hold=Hold(300, 7200)) for i, (kind, minutes, n) in enumerate(lots)]
    setting = Setting(helper=helper)
    plan = plan_meal(meal(*dishes), SERVE, setting=setting)
    assert broken(plan.problem, units(plan)) == []
    more = meal(*dishes, fried("more", "vegetable", hold=Hold(300, 7200)))
    assert earliest(more, replace(setting, people=2), 0.0).before_s >= earliest(meal(*dishes), replace(setting, people=2), 0.0).before_s


CIRCLE = dish("pie", step("a", dish="pie", after=("b",)), step("b", dish="pie", after=("a",), line=11))
NARROW = dish("pie", step("prove", StepKind.WAIT, dish="pie", span=span(60, 60, 30), line=12), step("bake-it", dish="pie", after=("prove",)))
LONG = dish(
    "pie",
    step("sear", minutes=3, dish="pie", hold=Hold(60, 120), line=13),
    step("braise", StepKind.STOVE, 30, "pie", after=()),
    step("join", minutes=2, dish="pie", after=("sear", "braise", "grate")),
    step("grate", minutes=5, dish="pie", after=("sear",)),
)


@pytest.mark.parametrize(
    ("card", "setting", "says"),
    [
        (meal(CIRCLE), Setting(), r"^test-meal.yaml, line 10: 'a' waits for 'b', which waits for 'a': a circle; take one 'after' out of it\.$"),
        (meal(NARROW), Setting(), r"^test-meal.yaml, line 12: 'prove' wants at least 60 minutes and at most 30 minutes; make its window longer\.$"),
        (
            meal(LONG),
            Setting(),
            r"^test-meal.yaml, line 13: 'sear' cannot wait as long as what must come between; let it keep longer, ",
        ),
        (meal(fried("chips")), Setting(skip=frozenset({"fsh"})), r"^test-meal.yaml: there is no dish 'fsh'; it has chips\.$"),
        (meal(fried("chips")), Setting(skip=frozenset({"chips"})), r"nothing is left to cook"),
        (meal(baked("pie"), equipment=Equipment((), oven=False)), Setting(), r"line 10: 'pie bake' bakes and the kitchen has no oven"),
        (meal(fried("chips"), equipment=Equipment(())), Setting(), r"line 20: 'chips fry' fries in 'pot', which is no pot of this kitchen"),
    ],
)
def test_meals_that_cannot_be_planned_get_one_sentence(card: Meal, setting: Setting, says: str) -> None:
    """File, line, what is wrong, the way out."""
    with pytest.raises(PlanError, match=says) as caught:
        plan_meal(card, SERVE, now_s=12 * HOUR, setting=setting)
    assert str(caught.value).count("\n") == 0


def test_more_than_the_pot_can_ever_take() -> None:
    """A piece heavier than the largest batch the oil can heat is refused by name."""
    from assistant.kitchen import plan_lots
    from assistant.kitchen.limits import BatchLimits

    piece = step("fry-it", StepKind.FRY, 5, "pie", fry=fry(3.0, 1, pieces=2), line=14)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(plan_lots, "limits_of", lambda step, pot: BatchLimits(0.5, 0, "oil would fall under its floor", 60.0))
        with pytest.raises(PlanError, match=r"line 14: 'fry it' is more than the pot can take \(oil would fall under its floor\); use a bigger pot"):
            plan_meal(meal(dish("pie", piece)), SERVE)


def test_a_time_that_has_passed() -> None:
    """Named, with the present."""
    with pytest.raises(PlanError, match=r"^Serving at 18:30 has passed, it is 19:00; name a later time\.$"):
        plan_meal(bundled("fish-supper"), SERVE, now_s=19 * HOUR)


def test_raw_food_is_not_out_of_the_fridge_for_longer_than_its_lot_may_take() -> None:
    """Fish for eight in four batches: from its first drop to its last lift within two hours, chips or no chips; a lot of fourteen batches is
    refused with its line."""
    plan = plan_meal(bundled("fish-supper"), None, people=8, now_s=12 * HOUR)
    fish = [t for t in plan.tasks if t.step == "fish-fry"]
    assert max(t.end_s for t in fish) - min(t.start_s for t in fish) <= 1.75 * HOUR
    with pytest.raises(PlanError, match=r"sunday-thighs.yaml, line \d+: 'thighs fry' takes \d+ minutes in 14 batches, too long for raw food"):
        plan_meal(bundled("sunday-thighs"), SERVE, people=20)


def test_batches_that_crowd_do_not_pile_up_hours_before_serving() -> None:
    """More batches than keep: each waits over its hold by no more than all that is finished in the pot takes, not since the afternoon."""
    plan = plan_meal(bundled("fish-supper"), None, people=8, now_s=12 * HOUR)
    assert plan.broken
    assert all(w.seconds < 1.5 * HOUR for w in plan.waits)


def test_number_and_size_of_batches_are_chosen_and_proven() -> None:
    """Five pieces of fish, two at a time: one goes first and two pairs after, for the bigger batches are the fresher ones; proven against every other
    way, and no worse than the even split with the bigger batches first."""
    card = bundled("fish-supper")
    plan = plan_meal(card, SERVE, people=5)
    assert [b.pieces for b in plan.batches["fish-fry"]] == [1, 2, 2]
    assert plan.optimal
    assert plan.cost == plan.bound
    first = plan_meal(card, SERVE, people=5, setting=Setting(batches={step: len(sizes) for step, sizes in plan.batches.items()}))
    assert [b.pieces for b in first.batches["fish-fry"]] == [2, 2, 1]
    assert plan.cost < first.cost


@pytest.mark.parametrize(("name", "people"), [("fish-supper", 2), ("fritter-night", 3), ("sunday-thighs", 5)])
def test_no_other_way_to_divide_the_lots_is_sooner(name: str, people: int) -> None:
    """The soonest time is that of the fewest even batches: every other way is proven to be no sooner."""
    card, setting = bundled(name), Setting(people=people)
    length = long_enough_s(card, setting)
    built = build(card, setting, length, None)
    soonest = solve(built.problem)
    assert soonest.optimal
    others, every = other_lots(setting, built.batches)
    assert every
    assert others
    for other in others:
        assert solve(build(card, other, length, None).problem, below=soonest.starts["serve"]).status == "infeasible"


def test_the_ways_to_divide_lots_keep_to_the_limits() -> None:
    """Never fewer batches than the limits allow, never a batch of no pieces, and what was asked for stays."""
    sizes = {"fish": split(0.75, 5, 3), "chips": split(1.0, None, 2), "one": split(0.2, 1, 1)}
    ways, every = other_lots(Setting(batches={"chips": 2}), sizes)
    assert every
    assert [(dict(w.batches), set(w.small_first)) for w in ways] == [({"chips": 2, "fish": 3}, {"fish"}), ({"chips": 2, "fish": 4}, set())]


def test_ways_that_were_left_out_are_told() -> None:
    """With more ways than are compared only the nearest are, and the plan may not be called the best of all."""
    ways, every = other_lots(Setting(), {f"lot {n}": split(0.75, 5, 3) for n in range(3)})
    assert len(ways) == MOST_WAYS
    assert not every


def test_only_cheaper_timetables_can_be_asked_for() -> None:
    """Below its own cost a proven plan has no better; above it there is one."""
    plan = plan_meal(bundled("fish-supper"), SERVE)
    assert solve(plan.problem, below=plan.cost).status == "infeasible"
    assert solve(plan.problem, below=plan.cost + 1).cost == plan.cost
