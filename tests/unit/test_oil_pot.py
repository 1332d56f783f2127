"""The fry model: worked curves (regression), bands from outside, an independent integration, energy, and the properties physics demands."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from assistant.kitchen.cards import find_meal, read_card
from assistant.kitchen.meal import Heat, Pot, at_altitude
from assistant.kitchen.oil import pot as pot_model
from assistant.kitchen.oil.foods import Cut, cut
from assistant.kitchen.oil.pot import (
    Load,
    Vessel,
    advance,
    derivative,
    effective_power,
    fry_curve,
    greatest_drop,
    heat_seconds,
    load,
    lowest,
    recovery_after,
    vessel,
)
from assistant.kitchen.oil.properties import LATENT_HEAT

STICKS = cut("potato sticks 10 mm")


def _batch(kg: float = 0.4, surface_kg: float = 0.0) -> Load:
    return Load(STICKS, kg, 20.0, surface_kg)


# regression, not evidence: our own model against an earlier writing of it
WORKED = [
    ("WE1", 2500.0, None, 163.0, _batch(), 153.6, 42.0, 116.0, {15: (156.4, 11.7), 60: (154.4, 37.8), 120: (162.8, 73.0), 300: (200.5, 168.3)}),
    ("WE1b", 2500.0, 163.0, 163.0, _batch(), 153.6, 42.0, 116.0, {60: (154.4, 37.8), 180: (163.0, 103.9), 300: (163.0, 151.3)}),
    ("WE1c", 1200.0, None, 163.0, _batch(), 138.3, 118.0, 519.0, {15: (152.8, 11.0), 60: (141.1, 32.1), 120: (138.3, 57.8), 300: (146.6, 120.1)}),
    ("WE1d", 1760.0, None, 163.0, _batch(), 146.6, 72.0, 242.0, {60: (146.8, 34.6), 120: (148.8, 64.6), 300: (169.5, 142.3)}),
    ("WE1e", 2500.0, None, 163.0, _batch(surface_kg=0.02), 147.7, 44.0, 145.0, {15: (153.1, 18.8), 60: (148.3, 51.0), 120: (157.1, 85.8)}),
    ("WE1f", 1200.0, None, 163.0, _batch(surface_kg=0.02), 133.0, 110.0, 567.0, {15: (149.7, 17.6), 60: (135.3, 44.7), 120: (133.0, 69.5)}),
    ("WE2", 1200.0, 140.0, 140.0, _batch(0.2), 136.8, 41.0, 91.0, {30: (137.0, 5.4), 60: (137.2, 12.3), 120: (140.0, 26.7)}),
    ("WE1 200 g", 2500.0, None, 163.0, _batch(0.2), 162.6, None, None, {}),
    ("WE1 300 g", 2500.0, None, 163.0, _batch(0.3), 159.2, None, 59.0, {}),
    ("WE1 600 g", 2500.0, None, 163.0, _batch(0.6), 140.8, None, 237.0, {}),
    ("WE1 800 g", 2500.0, None, 163.0, _batch(0.8), 129.3, None, 368.0, {}),
]


@pytest.mark.parametrize(("name", "power", "thermostat", "oil", "batch", "low", "low_s", "back_s", "curve"), WORKED, ids=[w[0] for w in WORKED])
def test_worked_examples(
    name: str,
    power: float,
    thermostat: float | None,
    oil: float,
    batch: Load,
    low: float,
    low_s: float | None,
    back_s: float | None,
    curve: dict[int, tuple[float, float]],
) -> None:
    """Regression, not evidence: the worked curves come out within 0.5 K, 4 s and 0.5 g."""
    found = fry_curve(Vessel(2.0, power_w=power, thermostat_c=thermostat), batch, oil)
    assert found.lowest_c == pytest.approx(low, abs=0.5)
    if low_s is not None:
        assert found.lowest_at_s == pytest.approx(low_s, abs=4.0)
    if back_s is not None:
        assert found.recovered_at_s == pytest.approx(back_s, abs=4.0)
    for second, (c, grams) in curve.items():
        assert found.rows[second][1] == pytest.approx(c, abs=0.5)
        assert 1000.0 * found.rows[second][2] == pytest.approx(grams, abs=0.5)
    assert found.residual < 1e-5


# every row of the second program's curves: s -> (C, g gone)
CURVES = {
    "WE1": {
        15: (156.4, 11.7), 30: (154.1, 20.4), 60: (154.4, 37.8), 90: (157.8, 55.5), 120: (162.8, 73.0),
        180: (174.6, 106.4), 240: (187.4, 137.9), 300: (200.5, 168.3), 360: (213.6, 197.8),
    },
    "WE1b": {
        15: (156.4, 11.7), 30: (154.1, 20.4), 60: (154.4, 37.8), 90: (157.8, 55.5), 120: (162.8, 73.0),
        180: (163.0, 103.9), 240: (163.0, 129.4), 300: (163.0, 151.3), 360: (163.0, 170.8),
    },
    "WE1c": {
        15: (152.8, 11.0), 30: (147.0, 18.4), 60: (141.1, 32.1), 90: (138.9, 45.3), 120: (138.3, 57.8),
        180: (139.8, 80.6), 240: (142.9, 101.0), 300: (146.6, 120.1), 360: (150.7, 138.3),
    },
    "WE1d": {
        15: (154.3, 11.3), 30: (150.1, 19.3), 60: (146.8, 34.6), 90: (147.0, 49.9), 120: (148.8, 64.6),
        180: (154.6, 92.3), 240: (161.8, 118.0), 300: (169.5, 142.3), 360: (177.3, 165.9),
    },
    "WE1e": {
        15: (153.1, 18.8), 30: (148.5, 32.4), 60: (148.3, 51.0), 90: (152.0, 68.6), 120: (157.1, 85.8),
        180: (169.3, 118.7), 240: (182.4, 149.9), 300: (195.7, 180.1), 360: (209.0, 209.5),
    },
    "WE1f": {
        15: (149.7, 17.6), 30: (141.7, 30.0), 60: (135.3, 44.7), 90: (133.3, 57.6), 120: (133.0, 69.5),
        180: (135.1, 91.4), 240: (138.5, 111.3), 300: (142.5, 129.9), 360: (146.8, 147.8),
    },
    "WE2": {
        15: (137.9, 2.3), 30: (137.0, 5.4), 60: (137.2, 12.3), 90: (138.9, 19.6), 120: (140.0, 26.7),
        180: (140.0, 38.9), 240: (140.0, 49.1), 300: (140.0, 57.8), 360: (140.0, 65.6),
    },
}  # fmt: skip


@pytest.mark.parametrize("name", CURVES)
def test_every_row_of_the_worked_curves(name: str) -> None:
    """Regression, not evidence: at every row of a second program temperature within 0.5 K, water within 0.5 g (a hundredth, where more is gone)."""
    _, power, thermostat, oil, batch = next(w for w in WORKED if w[0] == name)[:5]
    found = fry_curve(Vessel(2.0, power_w=power, thermostat_c=thermostat), batch, oil)
    for second, (c, grams) in CURVES[name].items():
        assert found.rows[second][1] == pytest.approx(c, abs=0.5)
        assert 1000.0 * found.rows[second][2] == pytest.approx(grams, abs=max(0.5, 0.01 * grams))


OTHERS = [
    ("WE3 second fry", STICKS, 0.2, 25.0, 0.65, 1200.0, 175.0, 168.3, {60: 22.9, 120: 40.0, 300: 78.0}),
    (
        "WE4 fish",
        replace(cut("breaded cod fillets 25 mm"), area_m2_kg=0.047 / 0.3),
        0.3,
        5.0,
        None,
        1800.0,
        180.0,
        179.8,
        {60: 17.9, 120: 26.0, 300: 42.4},
    ),
    (
        "WE5 poultry",
        replace(cut("chicken wings"), area_m2_kg=0.134, core_s=266.0),
        0.5,
        5.0,
        None,
        1800.0,
        175.0,
        174.1,
        {60: 18.9, 120: 27.0, 300: 45.4},
    ),
]


@pytest.mark.parametrize(("name", "shape", "kg", "food_c", "water", "power", "oil", "low", "gone"), OTHERS, ids=[w[0] for w in OTHERS])
def test_other_worked_foods(
    name: str, shape: Cut, kg: float, food_c: float, water: float | None, power: float, oil: float, low: float, gone: dict[int, float]
) -> None:
    """Regression, not evidence: the second program's other foods (not all of their figures are on the sheet): lowest within 0.6 K, water 5 %."""
    found = fry_curve(Vessel(2.0, power_w=power, thermostat_c=oil), Load(shape, kg, food_c, water=water), oil)
    assert found.lowest_c == pytest.approx(low, abs=0.6)
    for second, grams in gone.items():
        assert 1000.0 * found.rows[second][2] == pytest.approx(grams, rel=0.05)


@pytest.mark.parametrize(("what", "drop"), [("h 300", 3.1), ("h 600", 9.4), ("h 1000", 12.3), ("P 800", 33.5), ("UA 2.0", 9.9)])
def test_sensitivity_of_the_first_worked_example(what: str, drop: float) -> None:
    """Regression against a second program: how far the oil of WE1 falls with another film (W/m2K), power (W) or loss (W/K), within 0.5 K."""
    name, value = what.split()
    pot = Vessel(2.0, power_w=float(value) if name == "P" else 2500.0, ua=float(value) if name == "UA" else 1.5)
    film = float(value) / 600.0 if name == "h" else 1.0
    assert 163.0 - lowest(pot, _batch(), 163.0, film=film)[0] == pytest.approx(drop, abs=0.5)


@pytest.mark.parametrize(("conductivity", "drop"), [(0.06, 7.1), (0.15, 11.6)])
def test_sensitivity_to_the_crust(conductivity: float, drop: float, monkeypatch: pytest.MonkeyPatch) -> None:
    """Regression against a second program: how far the oil of WE1 falls with another conductivity of the crust, W/mK, within 0.5 K."""
    monkeypatch.setattr(pot_model, "CRUST", conductivity)
    assert 163.0 - lowest(Vessel(2.0, power_w=2500.0), _batch(), 163.0)[0] == pytest.approx(drop, abs=0.5)


@pytest.mark.parametrize(("power", "low"), [(2500.0, 153.2), (1200.0, 137.8)])
def test_the_tables_own_potato_in_a_cooler_room(power: float, low: float) -> None:
    """Regression against a second program: WE1 and WE1c with the potato of the USDA's row (11352) and a room of 20 C, within 0.5 K."""
    sticks = cut("potato with skin sticks 10 mm")
    assert lowest(Vessel(2.0, power_w=power, room_c=20.0), Load(sticks, 0.4), 163.0)[0] == pytest.approx(low, abs=0.5)


@pytest.mark.parametrize(("part", "kilojoules"), [(0.25, 342.0), (0.40, 478.0)])
def test_heat_of_a_batch(part: float, kilojoules: float) -> None:
    """Heat that 400 g take until a quarter or two fifths of their weight is gone, E = m cp (Tb - T0) + w hfg: a second program's, within 2 %."""
    batch, state = _batch(), (175.0, 0.0, 0.0)
    rates = derivative(Vessel(1e6), batch, 0.0)
    while state[2] < part * batch.kg:
        state = advance(rates, state, 1.0, 1.0)
    assert state[1] + state[2] * LATENT_HEAT == pytest.approx(1000.0 * kilojoules, rel=0.02)


@pytest.mark.parametrize(("oil", "lost"), [(140.0, (14.0, 20.0, 29.0)), (163.0, (20.0, 27.0, 39.0)), (175.0, (22.0, 30.0, 43.0))])
def test_weight_lost_at_constant_temperature(oil: float, lost: tuple[float, float, float]) -> None:
    """Weight that 10 mm sticks lose in oil kept at one temperature by 120, 180 and 300 s, percent (1.5 points): regression against a second
    program."""
    rates, state, at = derivative(Vessel(1e6), Load(STICKS, 1.0), 0.0), (oil, 0.0, 0.0), 0.0
    for until, percent in zip((120.0, 180.0, 300.0), lost, strict=True):
        state, at = advance(rates, state, until - at, 1.0), until
        assert 100.0 * state[2] == pytest.approx(percent, abs=1.5)


def test_independent_explicit_euler() -> None:
    """An integration written apart, by small explicit Euler steps and with nothing of the model's code, gives the same curve within 0.1 K and 0.2
    g."""
    for power in (2500.0, 1200.0):
        t, core, gone, dt = 163.0, 20.0, 0.0, 0.01
        area = 0.4 / 1075.0 * (4 / 0.01 + 2 / 0.07)
        low = (t, 0.0)
        for i in range(30000):
            crust = gone / (1075.0 * 0.78 * area)
            q = area * (t - 99.974) / (1 / 600.0 + crust / 0.10)
            into = min(q, 0.4 * 3640.0 * (99.974 - core) / 34.9)
            t += dt * (power - 1.5 * (t - 25.0) - q) / (1.838 * (1920.0 + 2.2 * t) + 750.0)
            core += dt * into / (0.4 * 3640.0)
            gone += dt * (q - into) / 2.2565e6
            if t < low[0]:
                low = (t, i * dt)
        found = fry_curve(Vessel(2.0, power_w=power), _batch(), 163.0, seconds=300.0)
        assert found.lowest_c == pytest.approx(low[0], abs=0.1)
        assert found.lowest_at_s == pytest.approx(low[1], abs=2.0)
        assert found.rows[-1][1] == pytest.approx(t, abs=0.1)
        assert 1000.0 * found.evaporated_kg == pytest.approx(1000.0 * gone, abs=0.2)


@pytest.mark.parametrize(
    ("power", "thermostat", "batch"),
    [
        (2500.0, None, _batch()),
        (1200.0, None, _batch(surface_kg=0.04)),
        (1200.0, None, Load(cut("frozen fries 10 mm"), 0.4, -18.0, 0.02, frozen=True)),
        (2500.0, 163.0, _batch()),
    ],
    ids=["strong", "wet", "frozen", "thermostat"],
)
def test_curve_against_scipy(power: float, thermostat: float | None, batch: Load) -> None:
    """Source: scipy.integrate.solve_ivp (Dormand-Prince, adaptive, to 1e-9) of the same right-hand side gives the same curve within 0.02 K and 0.02 g
    at every row, frozen core, wet surface and a switching thermostat included."""
    pot = Vessel(2.0, power_w=power, thermostat_c=thermostat)
    rates = derivative(pot, batch, power)
    found = fry_curve(pot, batch, 163.0, row_s=5.0)
    exact = solve_ivp(
        lambda _, y: rates(*y), (0.0, 360.0), [163.0, 0.0, 0.0], "RK45", rtol=1e-9, atol=1e-9, max_step=0.5, t_eval=[r[0] for r in found.rows]
    )
    assert [r[1] for r in found.rows] == pytest.approx(exact.y[0].tolist(), abs=0.02)
    assert [1000.0 * r[2] for r in found.rows] == pytest.approx((1000.0 * exact.y[2]).tolist(), abs=0.02)


def test_quick_step_agrees_with_the_exact_curve() -> None:
    """The plain Runge-Kutta step of 2 s, used while cooking, stays within 0.05 K and 0.1 g of the whole curve at every row."""
    for batch in (_batch(), _batch(surface_kg=0.04), Load(cut("frozen fries 10 mm"), 0.4, -18.0, 0.02, frozen=True)):
        pot = Vessel(2.0, power_w=1200.0)
        exact = fry_curve(pot, batch, 170.0, row_s=10.0)
        rates = derivative(pot, batch, pot.power_w)
        state = (170.0, 0.0, 0.0)
        for (before, _, _), (second, c, gone) in zip(exact.rows, exact.rows[1:], strict=False):
            state = advance(rates, state, second - before, 2.0)
            assert state[0] == pytest.approx(c, abs=0.05)
            assert state[2] == pytest.approx(gone, abs=1e-4)


def test_frozen_sticks_against_the_fryer_test_method() -> None:
    """Heat that 400 g of frozen par-fried sticks take to a 30 % loss is within 12 % of 570 Btu/lb (about 530 kJ), the figure of the open vat fryer
    test method ASTM F1361, from memory."""
    batch = Load(cut("frozen fries 10 mm"), 0.4, -18.0, 0.0, frozen=True)
    rows = fry_curve(Vessel(8.0, power_w=5000.0), batch, 177.0, seconds=600.0)
    assert rows.evaporated_kg > 0.12  # it gets there
    state, rates = (177.0, 0.0, 0.0), derivative(Vessel(8.0, power_w=5000.0), batch, 5000.0)
    while state[2] < 0.3 * 0.4:
        state = advance(rates, state, 1.0, 1.0)
    joules = state[1] + state[2] * LATENT_HEAT
    assert joules == pytest.approx(570.0 * 2326.0 * 0.4, rel=0.12)


def test_drop_at_published_loadings() -> None:
    """Bands, limits set beforehand. Grob 2003 (Eur. Food Res. Tech. 217:185) fries well at 100 g a litre near 170 C: at most 15 K on a 3 kW gas
    ring. The industry's 1:6 by weight (New Zealand Chip Group): 5 to 25 K. A cook's half pound a quart (240 g a litre): inside the field's 25 to 50 K
    (163 to 191 C at the start, 121 to 163 C while cooking; a cooking press page)."""
    pot = Vessel(2.0, power_w=effective_power(Heat.GAS, 3000.0))
    assert 170.0 - lowest(pot, _batch(0.2), 170.0)[0] <= 15.0
    assert 5.0 <= 175.0 - lowest(pot, _batch(pot.oil_kg / 6.0), 175.0)[0] <= 25.0
    assert 25.0 <= 177.0 - lowest(pot, _batch(0.48), 177.0)[0] <= 50.0


def test_wet_pieces_chill_and_dry_ones_do_not() -> None:
    """500 g of small poultry pieces, 0.067 m2: under 1.5 K dry at 1.8 kW; with 5 % surface water 8.5 K at 1.8 kW and 14 K at 1.2 kW (figures of a
    second program, within 2.5 K)."""
    strong, weak, pieces = Vessel(2.0, power_w=1800.0), Vessel(2.0, power_w=1200.0), replace(cut("chicken pieces 30 mm"), area_m2_kg=0.134)
    assert 175.0 - lowest(strong, Load(pieces, 0.5), 175.0)[0] < 1.5
    assert 175.0 - lowest(strong, Load(pieces, 0.5, surface_kg=0.025), 175.0)[0] == pytest.approx(8.5, abs=2.5)
    assert 175.0 - lowest(weak, Load(pieces, 0.5, surface_kg=0.025), 175.0)[0] == pytest.approx(14.0, abs=2.5)


def test_thin_sticks_cost_more() -> None:
    """400 g of quarter-inch sticks at 163 C and 1.2 kW take about 38 K (figure of a second program)."""
    assert 163.0 - lowest(Vessel(2.0, power_w=1200.0), Load(cut("quarter-inch potato sticks"), 0.4), 163.0)[0] == pytest.approx(38.0, abs=2.0)


@pytest.mark.parametrize(
    ("oil", "first", "later", "last"), [(140.0, 6.5, 2.9, 1.8), (163.0, 8.0, 3.5, 2.2), (175.0, 8.7, 3.75, 2.4), (190.0, 9.5, 4.05, 2.6)]
)
def test_demand_at_constant_temperature(oil: float, first: float, later: float, last: float) -> None:
    """Heat a kilogram of 10 mm sticks asks for in oil kept at one temperature, kW/kg, in the first minute, the next two and the next two (10 %):
    regression against a second program."""
    rates = derivative(Vessel(1e6), Load(STICKS, 1.0), 0.0)
    joules = [0.0]
    state = (oil, 0.0, 0.0)
    for until in (60.0, 180.0, 300.0):
        state = advance(rates, state, until - (0.0, 60.0, 180.0)[len(joules) - 1], 1.0)
        joules.append(state[1] + state[2] * LATENT_HEAT)
    found = [(joules[1] - joules[0]) / 60e3, (joules[2] - joules[1]) / 120e3, (joules[3] - joules[2]) / 120e3]
    assert found == pytest.approx([first, later, last], rel=0.10)


@settings(max_examples=40, deadline=None)
@given(kg=st.floats(0.02, 1.0), more=st.floats(0.01, 0.5), power=st.floats(300.0, 4000.0), oil=st.floats(130.0, 195.0))
def test_more_food_never_makes_the_oil_warmer(kg: float, more: float, power: float, oil: float) -> None:
    """The lowest temperature falls, or stays, as the batch grows; and rises, or stays, with more power."""
    pot = Vessel(2.0, power_w=power)
    low = lowest(pot, _batch(kg), oil)[0]
    assert lowest(pot, _batch(kg + more), oil)[0] <= low + 1e-6
    assert lowest(pot, _batch(kg), oil, power_w=power + 200.0)[0] >= low - 1e-6


@settings(max_examples=30, deadline=None)
@given(kg=st.floats(0.05, 3.0), oil=st.floats(110.0, 195.0), wet=st.booleans(), altitude=st.floats(0.0, 3000.0))
def test_without_heat_it_never_falls_below_boiling(kg: float, oil: float, wet: bool, altitude: float) -> None:
    """With the burner off and no losses food cannot pull the oil below the boiling point, and no further than all its heat could."""
    pot = Vessel(2.0, power_w=0.0, ua=0.0, altitude_m=altitude)
    batch = load(STICKS, kg, wet=wet)
    rates = derivative(pot, batch, 0.0)
    t, taken, gone = advance(rates, (oil, 0.0, 0.0), 900.0, 1.0)
    assert t >= pot.boiling_c - 0.01
    assert oil - t <= greatest_drop(pot, batch, oil, gone) + 0.01
    assert batch.core_c(taken) <= pot.boiling_c + 0.01


@settings(max_examples=30, deadline=None)
@given(power=st.floats(0.0, 3000.0), oil=st.floats(30.0, 200.0), seconds=st.floats(1.0, 600.0))
def test_without_food_the_balance_is_exact(power: float, oil: float, seconds: float) -> None:
    """With nothing in the pot the rate is (P - UA (T - room)) / C exactly, and without losses heat stored equals heat given."""
    pot = Vessel(2.0, power_w=power, ua=1.7)
    assert derivative(pot, None, power)(oil, 0.0, 0.0)[0] == pytest.approx((power - 1.7 * (oil - 25.0)) / pot.capacity(oil), rel=1e-12)
    tight = Vessel(2.0, power_w=power, ua=0.0)
    after = advance(derivative(tight, None, power), (oil, 0.0, 0.0), seconds, 10.0)[0]
    assert tight.stored(after) - tight.stored(oil) == pytest.approx(power * seconds, rel=1e-6, abs=1e-3)


@settings(max_examples=8, deadline=None)
@given(kg=st.floats(0.05, 0.8), power=st.floats(500.0, 3000.0), thermostat=st.booleans(), wet=st.booleans(), frozen=st.booleans())
def test_energy_balance_closes(kg: float, power: float, thermostat: bool, wet: bool, frozen: bool) -> None:
    """Heat given equals heat lost, stored and taken by the food to 1e-5 of what the food took."""
    batch = load(STICKS, kg, food_c=-18.0 if frozen else 20.0, wet=wet, frozen=frozen)
    assert fry_curve(Vessel(2.0, power_w=power, thermostat_c=170.0 if thermostat else None), batch, 170.0, row_s=30.0).residual < 1e-5


def test_drying_stops() -> None:
    """A batch forgotten for an hour keeps about 35 % water of what is left, no less, and then asks for no more heat than its core."""
    batch = _batch(0.2)
    t, _, gone = advance(derivative(Vessel(1e6), batch, 0.0), (175.0, 0.0, 0.0), 3600.0, 2.0)
    left = 0.2 - gone
    assert (0.2 * 0.78 - gone) / left == pytest.approx(0.35, abs=0.01)
    assert t == pytest.approx(175.0, abs=0.1)


def test_altitude_gives_a_deeper_drop() -> None:
    """Higher up water boils earlier, so the same batch takes more from the oil; a pot of a meal at an altitude is a vessel that knows it."""
    assert lowest(Vessel(2.0, 1200.0, altitude_m=3000.0), _batch(), 163.0)[0] < lowest(Vessel(2.0, 1200.0), _batch(), 163.0)[0] - 2.0
    high = at_altitude(read_card(find_meal("fish-supper")), 1609.0)
    assert vessel(high.equipment.pots[0]).boiling_c == pytest.approx(94.6, abs=0.1)


@pytest.mark.parametrize(
    ("litres", "to", "seconds"),
    [
        *((2.0, 190.0, 59.0), (2.0, 220.0, 128.0), (2.0, 330.0, 408.0), (2.0, 379.0, 547.0)),
        *((1.0, 190.0, 34.0), (1.0, 220.0, 74.0), (1.0, 330.0, 233.0), (1.0, 379.0, 312.0)),
    ],
)
def test_unattended(litres: float, to: float, seconds: float) -> None:
    """A full flame of 2.5 kW effective left alone from 163 C: regression against a second program, within 3 %."""
    assert heat_seconds(Vessel(litres, power_w=2500.0), 163.0, to) == pytest.approx(seconds, rel=0.03)


def test_heating_that_cannot_be_done_ends() -> None:
    """A burner too weak for the losses gives the longest time there is, not an endless loop; cooling to below the room likewise."""
    assert heat_seconds(Vessel(2.0, power_w=100.0), 20.0, 170.0) == 6 * 3600.0
    assert heat_seconds(Vessel(2.0), 170.0, 10.0) == 6 * 3600.0


def test_recovery_after_lift() -> None:
    """Weak heat needs longer to be back after the lift, strong heat is back before it."""
    assert recovery_after(Vessel(2.0, 2500.0), _batch(), 163.0, 300.0) == 0.0
    weak, weaker = recovery_after(Vessel(2.0, 1200.0), _batch(), 163.0, 300.0), recovery_after(Vessel(2.0, 1000.0), _batch(), 163.0, 300.0)
    assert 0.0 < weak < weaker < 600.0


def test_unstated_power_is_never_strong() -> None:
    """A pot whose burner nobody described counts as 1.0 kW effective; a described one by its efficiency; a fryer keeps its set point."""
    pot = Pot("p", "pot", 0.26, 0.15, 2.0)
    assert vessel(pot).power_w == 1000.0
    assert vessel(Pot("p", "pot", 0.26, 0.15, 2.0, heat=Heat.INDUCTION, power_w=2100.0)).power_w == pytest.approx(1764.0)
    assert vessel(Pot("p", "pot", 0.26, 0.15, 2.0, heat=Heat.FRYER), set_point_c=170.0).thermostat_c == 170.0
    assert math.isclose(vessel(Pot("p", "pot", None, None, None)).oil_litres, 2.0)
