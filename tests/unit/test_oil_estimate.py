"""The estimate while cooking: prediction, learning, doubt, what it asks for, how it runs the flame, and the watch for run-away."""

from __future__ import annotations

import math
import subprocess
import sys

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.kitchen.meal import Heat
from assistant.kitchen.oil.estimate import CHUNK_S, Doubt, Learned, PotEstimate, begin
from assistant.kitchen.oil.flame import Flame, flame_advice, wants_reading
from assistant.kitchen.oil.foods import cut
from assistant.kitchen.oil.pot import STRONGEST_W, Load, Vessel, advance, derivative, fry_curve
from assistant.kitchen.oil.runaway import Danger, bound_reaches, ready_reaches, watch

STICKS = cut("potato sticks 10 mm")
BATCH = Load(STICKS, 0.3)


def _pot(power: float = 1200.0, *, stated: bool = True, room: float = 25.0) -> PotEstimate:
    return begin(Vessel(2.0, power_w=power, room_c=room), 0.0, strongest_w=STRONGEST_W[Heat.GAS], stated=stated)


def _hot(c: float = 163.0, power: float = 1200.0) -> PotEstimate:
    """A pot at `c` that has been read twice, burner at full, time 600."""
    pot = begin(Vessel(2.0, power_w=power), 0.0, strongest_w=STRONGEST_W[Heat.GAS], stated=True, oil_c=c - 2.0).burner(590.0, "full")
    return pot.reading(595.0, c - 0.5, 0.5).reading(600.0, c, 0.3)


def _true(power: float, ua: float, seconds: float, start: float = 25.0) -> float:
    vessel = Vessel(2.0, power_w=power, ua=ua)
    return advance(derivative(vessel, None, power), (start, 0.0, 0.0), seconds, 5.0)[0]


def test_predicts_as_the_model_does() -> None:
    """Without readings the mean follows the model: heating up, and with a batch in, the whole curve within 0.3 K (with the film that it is told)."""
    assert _pot().burner(0.0, "full").predict(300.0).oil_c == pytest.approx(_true(1200.0, 1.5, 300.0), abs=0.05)
    exact = fry_curve(Vessel(2.0, power_w=1200.0), BATCH, 163.0, seconds=240.0)
    pot = begin(
        Vessel(2.0, power_w=1200.0), 0.0, strongest_w=2400.0, stated=True, oil_c=163.0, learned=Learned(1200.0, 1.5, 1.0, 0.1, 0.1, 0.1, film=1.0)
    )
    pot = pot.burner(0.0, "full").drop(0.0, BATCH)
    for second in (30, 120, 240):
        assert pot.predict(float(second)).oil_c == pytest.approx(exact.rows[second][1], abs=0.3)


@given(first=st.floats(1.0, 150.0), second=st.floats(1.0, 150.0))
@settings(max_examples=15, deadline=None)
def test_prediction_in_two_steps_is_prediction_in_one(first: float, second: float) -> None:
    """How often it is looked at changes nothing: the mean to 0.1 K and the uncertainty to a tenth."""
    pot = _hot().drop(600.0, BATCH)
    once, twice = pot.predict(600.0 + first + second), pot.predict(600.0 + first).predict(600.0 + first + second)
    assert once.oil_c == pytest.approx(twice.oil_c, abs=0.1)
    assert once.sigma == pytest.approx(twice.sigma, rel=0.1, abs=0.1)


def test_looking_at_an_earlier_time_changes_nothing() -> None:
    """Time never runs back: an earlier time gives the estimate itself."""
    pot = _hot()
    assert pot.predict(10.0) is pot


@pytest.mark.parametrize(("power", "ua"), [(850.0, 1.0), (1200.0, 2.4), (1560.0, 1.5)])
def test_two_readings_teach_the_burner(power: float, ua: float) -> None:
    """A burner 30 % weaker or stronger than stated is known after two exact readings: the time until ready is right within 45 s, and was not
    before."""
    pot = _pot().burner(0.0, "full")
    true_ready = next(s for s in range(2000) if _true(power, ua, float(s)) >= 163.0)
    blind = pot.ready_in(163.0)[0]
    for t in (240.0, 420.0):
        pot = pot.reading(t, _true(power, ua, t))
    said, sigma = pot.ready_in(163.0)
    assert abs(420.0 + said - true_ready) < 45.0
    assert sigma < pot.ready_in(175.0)[1]
    if power != 1200.0:
        assert abs(420.0 + said - true_ready) < abs(blind - true_ready)


def test_uncertainty_grows_with_time_and_falls_with_a_reading() -> None:
    """Between readings it is ever less sure; a reading makes it surer than the thermometer alone."""
    pot = _pot().burner(0.0, "full")
    sigmas = [pot.predict(t).sigma for t in (0.0, 60.0, 120.0, 300.0)]
    assert sigmas == sorted(sigmas)
    assert pot.reading(300.0, pot.predict(300.0).oil_c).sigma < 2.0


def test_covariance_stays_a_covariance() -> None:
    """After an evening of events the covariance is symmetric with no negative variance, and the parameters are positive numbers."""
    pot = _pot().burner(0.0, "full")
    for i in range(12):
        t = 300.0 * i
        pot = pot.reading(t + 250.0, 150.0 + (i % 5) * 4.0)
        pot = pot.drop(t + 255.0, BATCH) if i % 2 else pot.lift(t + 255.0)
        pot = pot.burner(t + 260.0, ("down", "up", "full", "off", "on", "small", "medium")[i % 7])
        for a in range(7):
            assert pot.cov[a][a] >= 0.0
            assert math.isfinite(pot.mean[a])
            for b in range(7):
                assert pot.cov[a][b] == pytest.approx(pot.cov[b][a], abs=1e-9)
    assert pot.power_w > 0.0
    assert pot.kappa > 0.0
    assert 0.0 <= pot.part <= 1.0


def test_batches_teach_the_food() -> None:
    """A food that takes 1.6 times the heat is learned from readings in two batches: the lowest temperature is then said within 2 K, at first 3 K or
    more off."""
    power, kappa, pot = 1200.0, 1.6, _pot().burner(0.0, "full")
    bare, frying = derivative(pot.vessel, None, power), derivative(pot.vessel, BATCH, power, kappa=kappa)
    t, true = 0.0, (25.0, 0.0, 0.0)
    for _ in range(4):  # heating up
        t, true = t + 150.0, advance(bare, true, 150.0, 5.0)
        pot = pot.reading(t, true[0])
    errors = []
    for _ in range(3):
        lowest = min(advance(frying, (true[0], 0.0, 0.0), float(s), 1.0)[0] for s in range(0, 240, 6))
        errors.append(pot.lowest(BATCH)[0] - lowest)
        pot, true = pot.drop(t, BATCH), (true[0], 0.0, 0.0)
        for _ in range(2):
            t, true = t + 120.0, advance(frying, true, 120.0, 1.0)
            pot = pot.reading(t, true[0])
        pot = pot.lift(t)
        t, true = t + 120.0, advance(bare, (true[0], 0.0, 0.0), 120.0, 5.0)
        pot = pot.reading(t, true[0])
    assert errors[0] > 3.0
    assert abs(errors[2]) < 2.0
    assert pot.kappa == pytest.approx(kappa, rel=0.2)


def test_what_is_learned_is_kept() -> None:
    """What a pot taught serves the next evening, where it is trusted a little less than before."""
    pot = _pot().burner(0.0, "full")
    for t in (240.0, 420.0):
        pot = pot.reading(t, _true(1560.0, 1.5, t))
    kept = pot.learned()
    again = begin(pot.vessel, 0.0, strongest_w=2400.0, stated=True, learned=kept)
    assert again.power_w == pytest.approx(pot.power_w)
    assert kept.sigma_power < again.learned().sigma_power <= 0.30


@pytest.mark.parametrize("wrong", [0.0, -1.0, math.nan, math.inf])
def test_kept_nonsense_is_refused(wrong: float) -> None:
    """Senseless figures make no pot."""
    with pytest.raises(ValueError, match="above zero"):
        Learned(wrong, 1.5, 1.0, 0.1, 0.1, 0.1)


@pytest.mark.parametrize(
    ("said", "doubt"),
    [
        (171.0, None),
        (163.0, None),
        (340.0, Doubt.FAHRENHEIT),  # 171 C said in Fahrenheit, heard as Celsius
        (77.0, Doubt.CELSIUS),  # 171 said in Celsius, heard as Fahrenheit and turned into 77
        (120.0, Doubt.JUMP),
        (215.0, Doubt.JUMP),
        (900.0, Doubt.RANGE),
        (-40.0, Doubt.RANGE),
    ],
)
def test_implausible_readings_are_questioned(said: float, doubt: Doubt | None) -> None:
    """Oil known to be near 170 C: another unit, a jump, or no temperature of oil at all is questioned; a plausible one is not."""
    assert _hot(170.0).doubt(605.0, said) is doubt


def test_a_jump_that_was_confirmed_is_believed() -> None:
    """A confirmed reading far off pulls the estimate to it, and makes it less sure of the burner."""
    pot = _hot(170.0).burner(600.0, "down")
    after = pot.reading(660.0, 145.0)
    assert after.oil_c == pytest.approx(145.0, abs=2.5)
    assert after.sigma < 2.5


def test_topping_up_mixes_heats() -> None:
    """Half a litre of cold oil into two litres at 150 C: between the two by their heat, and the fuller pot heats more slowly."""
    pot = _hot(150.0).burner(600.0, "full")
    fuller = pot.top_up(601.0, 0.5, 25.0)
    assert 110.0 < fuller.oil_c < 135.0
    assert fuller.vessel.oil_litres == 2.5
    assert fuller.rate < pot.rate
    held = pot.predict(601.0).vessel.stored(pot.predict(601.0).oil_c) + Vessel(0.5, metal_kg=0.0).stored(25.0)
    assert fuller.vessel.stored(fuller.oil_c) == pytest.approx(held, rel=1e-3)


def test_ready_never_comes_with_the_heat_off() -> None:
    """Oil that cools never gets hotter, and says so; it does get cooler."""
    pot = _hot(160.0).burner(600.0, "off")
    assert pot.ready_in(170.0) == (math.inf, math.inf)
    assert 60.0 < pot.ready_in(155.0)[0] < 600.0


def test_levels_of_the_burner() -> None:
    """Full is full, down is less, up again more, off is nothing; another word is the caller's mistake."""
    pot = _hot()
    down = pot.burner(600.0, "down")
    assert pot.rate > down.burner(600.0, "up").rate > down.rate > down.burner(600.0, "down").rate > down.burner(600.0, "off").rate
    with pytest.raises(KeyError):
        pot.burner(600.0, "sideways")


def test_chunks_are_short_enough() -> None:
    """Carrying the covariance in pieces of a minute agrees with pieces of ten seconds within a tenth."""
    pot = _pot().burner(0.0, "full")
    fine = pot
    for i in range(1, 31):
        fine = fine.predict(10.0 * i)
    assert CHUNK_S == 60.0
    assert pot.predict(300.0).sigma == pytest.approx(fine.sigma, rel=0.1)


# ---- flame and questions


def test_flame_through_a_heat_up() -> None:
    """Full heat from cold; nothing while it climbs; turned down ahead of the set point, before it is reached."""
    assert flame_advice(_pot(), 0.0, 163.0) is Flame.FULL
    pot = _pot().burner(0.0, "full")
    assert flame_advice(pot, 200.0, 163.0) is None
    at = next(t for t in range(100, 1200, 5) if flame_advice(pot, float(t), 163.0) is Flame.DOWN)
    assert 150.0 < pot.predict(at).oil_c < 163.0


def test_flame_keeps_full_when_the_drop_is_now() -> None:
    """With the next batch about to go in, full heat is left on until a little above the set point."""
    pot = _hot(161.0)
    assert flame_advice(pot, 600.0, 163.0) is Flame.DOWN
    assert flame_advice(pot, 600.0, 163.0, drop_in_s=10.0) is None
    assert flame_advice(_hot(168.0), 600.0, 163.0, drop_in_s=10.0) is Flame.DOWN


@pytest.mark.parametrize(
    ("c", "level", "advice"),
    [(150.0, "small", Flame.FULL), (176.0, "medium", Flame.DOWN), (163.0, "off", Flame.UP), (120.0, "off", Flame.FULL), (185.0, "off", None)],
)
def test_flame_when_settled(c: float, level: str, advice: Flame | None) -> None:
    """Far under: full; over and rising: down; off and about to be too cold: up a little; off and hot: nothing."""
    pot = _hot(c).burner(600.0, level).reading(600.0, c, 0.3)
    assert flame_advice(pot, 680.0, 163.0) is advice


def test_flame_full_as_food_goes_in_and_not_for_pieces_that_hardly_cool_it() -> None:
    """Batches are reckoned at full flame: under a part flame it is called for as soon as a batch that cools the oil is in, without waiting for the
    oil to be cold; a few large dry pieces need none."""
    pot = _hot().burner(601.0, "down")
    assert flame_advice(pot.drop(630.0, BATCH), 640.0, 163.0, lift_in_s=290.0) is Flame.FULL
    few = Load(cut("chicken pieces 30 mm"), 0.15)
    assert flame_advice(pot.drop(630.0, few), 640.0, 163.0, lift_in_s=290.0) is None
    assert flame_advice(pot.drop(630.0, BATCH), 640.0, 163.0, lift_in_s=60.0) is None  # it is out before that


def test_flame_up_a_little_before_a_drop() -> None:
    """Oil held at its set point on a low flame gets more heat when a drop is near."""
    pot = _hot(163.0).burner(600.0, "small")
    assert flame_advice(pot, 665.0, 163.0, drop_in_s=40.0) is Flame.UP


def test_flame_off_when_done_and_never_for_a_thermostat() -> None:
    """When nothing more is fried the heat goes off; an electric fryer runs itself."""
    assert flame_advice(_hot(), 600.0, 163.0, done=True) is Flame.OFF
    fryer = begin(Vessel(2.0, power_w=1900.0, thermostat_c=170.0), 0.0, strongest_w=2090.0, stated=True).burner(0.0, "full")
    assert flame_advice(fryer, 900.0, 170.0) is None
    assert fryer.predict(1500.0).oil_c == pytest.approx(170.0, abs=0.5)


def test_asks_only_when_unsure_and_once() -> None:
    """It asks for a first reading while heating; not again within a minute; before a drop when not sure enough; once until the next lift."""
    cold = _pot()
    assert wants_reading(cold, 60.0, 163.0) is None  # the heat is not on
    pot = cold.burner(0.0, "full")
    assert wants_reading(pot, 30.0, 163.0) is None
    first = wants_reading(pot, 300.0, 163.0)
    assert first is not None
    assert first.why == "first"
    pot = pot.ask().reading(320.0, pot.predict(320.0).oil_c)
    assert wants_reading(pot, 340.0, 163.0, drop_in_s=0.0) is None
    near = pot.ready_in(163.0)[0] + 320.0 - 20.0
    assert wants_reading(pot, near - 30.0, 163.0, drop_in_s=20.0) is None  # the oil is not there yet
    drop = wants_reading(pot, near, 163.0, drop_in_s=20.0)
    assert drop is not None
    assert drop.why == "drop"
    asked = pot.predict(near).ask()
    assert wants_reading(asked, near + 5.0, 163.0, drop_in_s=0.0) is None
    assert wants_reading(asked.drop(near + 10.0, BATCH), near + 300.0, 163.0) is None
    lifted = asked.drop(near + 10.0, BATCH).lift(near + 310.0)
    assert wants_reading(lifted, near + 380.0, 163.0) is not None


# ---- run-away


def test_alarm_by_bound_not_by_minutes() -> None:
    """A strong flame left alone alarms by temperature: warn when the upper bound reaches 200 C, heat off at 205, fire script armed at 230, in that
    order; a low flame that holds 163 C does not within the same time."""
    pot = _hot(163.0, power=2400.0)
    times = [bound_reaches(pot, limit, step_s=1.0) for limit in (200.0, 205.0, 230.0)]
    assert None not in times
    assert times == sorted(times, key=lambda v: v or 0.0)
    warn, off, fire = (600.0 + (v or 0.0) for v in times)
    assert watch(pot, warn, 163.0, asked_at=warn, spoke_at=warn).danger is Danger.WARN
    assert watch(pot, off, 163.0, asked_at=off, spoke_at=off).danger is Danger.HEAT_OFF
    assert watch(pot, fire, 163.0, asked_at=fire, spoke_at=fire).danger is Danger.FIRE_ARMED
    held = _hot(163.0, power=500.0).burner(600.0, "medium")
    assert bound_reaches(held, 200.0, within_s=(warn - 600.0)) is None


def test_silence_while_the_heat_is_on_assumes_the_worse() -> None:
    """The bound of a turned-down flame creeps up while nobody reads it, although the mean holds."""
    pot = _hot(170.0).burner(600.0, "medium")
    later = pot.predict(1500.0)
    assert later.upper95 - later.oil_c > 3.0 * (pot.upper95 - pot.oil_c)
    assert bound_reaches(pot, 200.0) is not None


def test_unstated_burner_counts_as_the_strongest_for_run_away() -> None:
    """Before any reading the bound is what the strongest burner could have done, far above the estimate."""
    pot = _pot(1000.0, stated=False).burner(0.0, "full").predict(240.0)
    strongest = _true(STRONGEST_W[Heat.GAS], 1.5, 240.0)
    assert pot.upper95 >= strongest
    assert pot.oil_c < strongest - 30.0
    assert pot.reading(240.0, 80.0).upper95 < 90.0


def test_smoke_is_heat_off_at_any_temperature() -> None:
    """Reported smoke is an alarm however cool the estimate is, and clears when taken back."""
    assert watch(_hot(), 600.0, 163.0, smoke=True).danger is Danger.HEAT_OFF
    assert watch(_hot(150.0), 600.0, 163.0).danger is Danger.NONE


def test_asks_once_when_ready_and_alarms_after_a_minute() -> None:
    """Silence during recovery is no alarm; when the oil should be ready it asks once; no answer in 60 s is an alarm, an answer or heat off clears
    it."""
    pot = _hot(150.0)
    assert not watch(pot, 610.0, 163.0).ask_ready
    ready = ready_reaches(pot, 163.0)
    assert ready is not None
    asked = 600.0 + ready + 1.0
    assert watch(pot, asked, 163.0).ask_ready
    assert not watch(pot, asked + 30.0, 163.0, asked_at=asked).ask_ready
    assert watch(pot, asked + 59.0, 163.0, asked_at=asked).danger is Danger.NONE
    assert watch(pot, asked + 60.0, 163.0, asked_at=asked).danger is Danger.UNATTENDED
    assert watch(pot, asked + 60.0, 163.0, asked_at=asked, spoke_at=asked + 20.0).danger is Danger.NONE
    assert watch(pot.burner(asked + 1.0, "off"), asked + 61.0, 163.0, asked_at=asked).danger is Danger.NONE


def test_nothing_becomes_ready_with_food_in_or_heat_off() -> None:
    """The question "ready?" belongs to bare, heating oil only."""
    assert ready_reaches(_hot(150.0).drop(600.0, BATCH), 163.0) is None
    assert ready_reaches(_hot(150.0).burner(600.0, "off"), 163.0) is None
    assert ready_reaches(_hot(165.0), 163.0) == 0.0


def test_the_live_path_needs_no_numpy() -> None:
    """Estimate, gate, flame and watch load neither numpy nor scipy, so that typed runs and replays start at once."""
    code = (
        "import sys, assistant.kitchen.oil.gate, assistant.kitchen.oil.flame, assistant.kitchen.oil.runaway, assistant.kitchen.oil.quality\n"
        "assert not {'numpy', 'scipy', 'matplotlib'} & set(sys.modules)"
    )
    subprocess.run([sys.executable, "-c", code], check=True, timeout=60)
