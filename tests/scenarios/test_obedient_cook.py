"""Whole evenings by words alone, at a pot with physics of its own: whoever does what is said gets dinner."""

from __future__ import annotations

import pytest
from obedient_cook import Cook
from safety_lines import safety_lines

from assistant.kitchen.cards import find_meal, list_meals
from assistant.kitchen.doneness import food_of, target
from assistant.kitchen.meal import StepKind
from assistant.session import events as e
from assistant.session.plan import read_plan
from assistant.session.state import Status


@pytest.fixture(scope="module", params=[(name, planned) for name, _ in list_meals() for planned in (False, True)], ids=str)
def cook(request: pytest.FixtureRequest) -> Cook:
    """One evening of each meal that comes with the program, by the card's plain order and by the solver's plan."""
    name, planned = request.param
    found = Cook(name, planned=planned)
    found.run()
    return found


def test_dinner_is_up_and_nothing_was_left_out(cook: Cook) -> None:
    """Every step is done, and the last words are about what must still be looked after."""
    assert {i for i, run in cook.state.steps.items() if run.status is not Status.DONE} == set()
    assert "dinner" in cook.state.told


def test_dinner_is_up_within_ten_minutes_of_the_time_said(cook: Cook) -> None:
    """The serving time of the first minute holds for a cook who takes the usual times."""
    first = next(x for x in cook.events if isinstance(x, e.PlanAdopted if cook.planned else e.OrderAdopted))
    serve = read_plan(first.plan).serve_s if isinstance(first, e.PlanAdopted) else cook.state.serve_t
    assert abs(cook.evening.kitchen_time() - serve) < 600.0


def test_no_drop_into_oil_far_from_its_set_point(cook: Cook) -> None:
    """Every batch that was told to go went into oil between 8 K under and 12 K over, by the pot's own physics (the cards' band is 2.8 and 8.3 K, the
    thermometer is read to 2 K, and lowering takes time)."""
    assert cook.drops
    wrong = [(step, round(off, 1)) for step, test, off in cook.drops if not test and not -8.0 < off < 12.0]
    assert wrong == []


def test_nothing_is_forgotten_in_the_heat(cook: Cook) -> None:
    """Nothing goes past the time its card allows, and no food is announced as over its limit."""
    raised = [x.id for x in cook.events if isinstance(x, e.AlertRaised)]
    assert [i for i in raised if i.startswith(("over:", "food:"))] == []


def test_whoever_tries_fresh_oil_or_lowers_food_is_given_nothing_else_to_do(cook: Cook) -> None:
    """From the first piece of a batch to its last, and from the test batch to the full one, no other work by hand is ordered; salt on hot food is."""
    busy, wrong = False, []
    for x in cook.events:
        if isinstance(x, e.BatchBegun) and cook.state.meal.step(x.step).fry is not None:
            busy = True
        elif isinstance(x, e.BatchIn) and not any(b.n == x.batch and b.test for b in cook.state.steps[x.step].batches):
            busy = False
        elif isinstance(x, e.Focused) and x.step and busy and cook.state.meal.step(x.step).kind is not StepKind.TOSS:
            wrong.append((x.t, x.step))
    assert wrong == []


def test_every_batch_is_probed(cook: Cook) -> None:
    """What the first batch read says nothing of the second: each batch that wants a core read has its readings after the lift, two pieces where
    the food asks for two (an egg dish asks for one)."""
    read: list[tuple[str, int]] = []
    lifted: dict[str, int] = {}
    for x in cook.events:
        if isinstance(x, e.BatchLifted):
            lifted[x.step] = x.batch
        elif isinstance(x, e.CoreRead):
            read.append((x.step, lifted[x.step]))
    meal = cook.state.meal
    pieces = {s.id: 2 if target(food_of(meal.dish(s.dish)), s.core_c).two else 1 for s in meal.steps() if s.core_c is not None}
    wanted = [(i, b.n) for i, n in pieces.items() for b in cook.state.steps[i].batches if not b.test for _ in range(n)]
    assert sorted(read) == sorted(wanted)


def test_the_assistant_is_silent_while_all_is_right(cook: Cook) -> None:
    """At most three lines a minute on average over the evening, the first check and the answers included."""
    said = [x for x in cook.events if isinstance(x, e.Said)]
    assert len(said) / (cook.evening.kitchen_time() / 60.0) < 3.0


def test_safety_is_said_where_it_acts_and_seldom_else(cook: Cook) -> None:
    """Once the check before the heat is through, an evening where nothing goes wrong has under four safety lines an hour that nobody asked for."""
    found = safety_lines(cook)
    assert len(found.lines) / found.hours < 4.0, found.lines


def test_what_must_be_clean_is_said_with_the_order_it_is_for(cook: Cook) -> None:
    """From raw food to the next thing that hands touch, each such step once; with the first lift of what was lowered raw, and with no other."""
    said = [x for x in cook.events if isinstance(x, e.Said)]
    crossed = {x.key for x in cook.events if isinstance(x, e.Told) and x.key.startswith("cross:")}
    assert len([x for x in said if x.words.startswith(("Wash hands", "New board"))]) == len(crossed) > 0
    raw = {s.id for s in cook.state.meal.steps() if s.fry is not None and s.raw_in}
    lifts = [x for x in cook.events if isinstance(x, e.AlertRaised) and x.id.startswith("lift:") and x.id.split(":")[1] in raw]
    full = [x for x in lifts if "Did the foam" not in x.words]
    assert [x.id.split(":")[1] for x in full if "clean tongs" in x.words] == sorted(raw)
    assert "clean tongs" in full[0].words


@pytest.fixture(scope="module", params=[(name, planned) for name in ("fish-supper", "sunday-thighs") for planned in (False, True)], ids=str)
def blind(request: pytest.FixtureRequest) -> Cook:
    """An evening whose cook says "no thermometer" when the burner is to be lit, and stays until the oil is cold."""
    name, planned = request.param
    found = Cook(name, planned=planned, blind=True, stays=True)
    found.run()
    return found


def test_without_a_thermometer_bread_is_asked_for_and_nothing_else(blind: Cook) -> None:
    """After "no thermometer" no temperature of the oil is asked for or spoken as known; bread is, and is called a guess; batches are halved."""
    gone = next(x.t for x in blind.events if isinstance(x, e.ThermometerMissing))
    asked = [x.question for x in blind.events if isinstance(x, e.Asked) and x.t >= gone]
    assert not [q for q in asked if q.startswith("oil:")]
    assert [q for q in asked if q.startswith("bread:")]
    said = [x.words for x in blind.events if isinstance(x, e.Said) and x.t >= gone]
    assert not [w for w in said if "What is the oil at" in w or w.startswith(("Go, 1", "Go, 2", "Go, 3", "Ready, "))]
    assert "Go, by the bread: only a guess." in said
    assert {x.part for x in blind.events if isinstance(x, e.NextBatch)} == {0.5}


def test_by_bread_alone_dinner_is_up(blind: Cook) -> None:
    """Every step is done, and no batch went into oil 20 K off by the pot's own physics (a cube is known to 8 K, and the drop comes later)."""
    assert {i for i, run in blind.state.steps.items() if run.status is not Status.DONE} == set()
    assert [(step, round(off, 1)) for step, test, off in blind.drops if not test and not -20.0 < off < 20.0] == []


def test_by_bread_the_evening_is_steady(blind: Cook) -> None:
    """Nobody chases a guess: at most two cubes and three words on the flame a drop, and no alarm while the cook does what is said."""
    gone = next(x.t for x in blind.events if isinstance(x, e.ThermometerMissing))
    cubes = [x for x in blind.events if isinstance(x, e.BreadTried)]
    flame = [x for x in blind.events if isinstance(x, e.FlameAdvised) and x.t >= gone]
    assert len(cubes) <= 2 * len(blind.drops)
    assert len(flame) <= 3 * len(blind.drops)
    assert [x.id for x in blind.events if isinstance(x, e.AlertRaised) and x.id.startswith(("hot", "armed", "unattended"))] == []


def test_the_evening_ends_with_a_burner_that_is_off_and_oil_that_is_cold(blind: Cook) -> None:
    """After the last lift the burner is called off; the clock on the oil runs on after dinner and is said when it ends, with how to keep it."""
    last = max(x.t for x in blind.events if isinstance(x, e.BatchLifted) and blind.state.meal.step(x.step).fry is not None)
    off = [x.t for x in blind.events if isinstance(x, e.BurnerSet) and x.level == "off"]
    said = [x.t for x in blind.events if isinstance(x, e.Said) and x.words == "That was the last batch. Burner off."]
    assert (said and last <= said[0] <= last + 200.0) or off[-1] < last
    assert not any(pot.on for pot in blind.state.pots.values())
    dinner = blind.state.told["dinner"]
    cold = next(x.t for x in blind.events if isinstance(x, e.Said) and x.words.startswith("The oil should be cold."))
    assert 7200.0 <= cold - dinner <= 3 * 3600.0
    assert [x.words for x in blind.events if isinstance(x, e.Said) and x.t == cold][1] == "Strain through fine mesh and cloth."


def test_the_oil_is_asked_for_at_most_once_a_batch(cook: Cook) -> None:
    """From one lift to the next there is at most one question for the oil's temperature, whoever puts it; heating up has its own."""
    counts: list[int] = []
    for x in cook.events:
        if isinstance(x, e.BatchLifted) and cook.state.meal.step(x.step).fry is not None:
            counts.append(0)
        elif isinstance(x, e.Asked) and x.question.startswith("oil:") and counts:
            counts[-1] += 1
    assert counts
    assert max(counts) <= 1


@pytest.fixture(scope="module")
def fryer(tmp_path_factory: pytest.TempPathFactory) -> Cook:
    """The fish supper in an electric fryer with marks, whose dial the cook sets as told."""
    card = find_meal("fish-supper").read_text(encoding="utf-8")
    for line in ("      width: 28 cm\n", "      height: 20 cm\n"):
        card = card.replace(line, "")
    path = tmp_path_factory.mktemp("cards") / "fryer-supper.yaml"
    path.write_text(card.replace("oil: 2.2 litres", "oil: 3 litres").replace("heat: gas", "heat: fryer").replace("power: 3 kW", "power: 2 kW"))
    found = Cook(str(path))
    found.run()
    return found


def test_a_fryer_is_told_its_dial_and_nothing_of_a_flame(fryer: Cook) -> None:
    """On with its first set point, then the dial for each dish that wants another; its marks instead of a third of the pot; no word on a flame, and
    every drop within the card's band."""
    said = [x.words for x in fryer.events if isinstance(x, e.Said)]
    dial = [w for w in said if "fryer" in w and "et " in w]
    assert dial == ["Switch the fryer on, set to 300.", "Set the fryer to 347.", "Set the fryer to 355."]
    assert "Oil between the fryer's marks, never above." in said
    assert [w for w in said if "lame" in w or w.startswith(("Turn the burner", "Burner to", "Burner up"))] == []
    assert [(step, round(off, 1)) for step, test, off in fryer.drops if not test and not -3.8 < off < 9.3] == []
    assert {i for i, run in fryer.state.steps.items() if run.status is not Status.DONE} == set()


@pytest.fixture(scope="module", params=["fish-supper", "sunday-thighs"])
def probed(request: pytest.FixtureRequest) -> Cook:
    """An evening whose oil another program reads every ten seconds; the cook reads nothing aloud."""
    found = Cook(request.param, probe=True)
    found.run()
    return found


def test_with_a_probe_nothing_is_asked_and_ready_is_said_once_a_batch(probed: Cook) -> None:
    """No question for a temperature; "Ready" at most once between two drops; every figure spoken came from the probe."""
    assert not [x for x in probed.events if isinstance(x, e.Asked) and x.question.startswith(("oil:", "probe:"))]
    assert {x.source for x in probed.events if isinstance(x, e.OilRead)} == {"probe"}
    ready, most = 0, 0
    for x in probed.events:
        ready = 0 if isinstance(x, e.BatchBegun) else ready + (isinstance(x, e.Said) and x.words.startswith("Ready, "))
        most = max(most, ready)
    assert most == 1


def test_with_a_probe_every_drop_is_in_the_band_and_dinner_in_time(probed: Cook) -> None:
    """Every batch went in within the cards' band (2.8 K under, 8.3 K over) and 1 K, by the pot's own physics; every step is done."""
    assert {i for i, run in probed.state.steps.items() if run.status is not Status.DONE} == set()
    assert abs(probed.evening.kitchen_time() - probed.state.serve_t) < 600.0
    assert [(step, round(off, 1)) for step, test, off in probed.drops if not test and not -3.8 < off < 9.3] == []
