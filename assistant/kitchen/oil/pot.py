"""The pot: oil and steel of one temperature, a burner under it, one batch in it; and the curve that a batch draws.

State: oil temperature T, heat taken up by the food's core E, water driven off w. Heat reaches the food through a film and a crust that grows with
what has evaporated; part warms the core, the rest boils water:
    q  = kappa A (T - Tb) / (1/h + d/k),  d = max(w - surface water, 0) / (rho x A)        [none once the food has dried]
    qs = min(q, m cp (Tb - Tf) / tau),    dE/dt = qs,   dw/dt = (q - qs) / hfg
    C(T) dT/dt = P - UA (T - room) - q,   C = m_oil cp_oil(T) + m_pot cp_pot
h = 600 W/m2K lies inside the 300 to 1100 that Hubbard and Farkas 1999 (J. Food Process Eng. 22:201) measured on potato; crust k = 0.10 W/mK.
Frozen food first takes up the heat that warms and melts its ice. kappa is the one multiplier that a pot learns.

`advance` is a plain Runge-Kutta step of these equations, for live prediction; `fry_curve` takes the same in small steps and keeps the books of heat.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

from assistant.kitchen.meal import Heat, Pot
from assistant.kitchen.oil.foods import Cut
from assistant.kitchen.oil.properties import FUSION_HEAT, ICE_HEAT_CAPACITY, LATENT_HEAT, boiling_point, oil_density

FILM = 600.0
"""Heat transfer coefficient of the boiling surface, W/m2K."""

CRUST = 0.10
"""Conductivity of dry crust, W/mK."""

DRY_BASIS_LEFT = 0.35
"""Water, as a fraction of what is left, at which drying is taken to stop: sticks fried long end at 35 to 41 %."""

STEEL = 500.0
"""Heat capacity of the pot's metal, J/kgK."""

EFFICIENCY = {Heat.GAS: 0.40, Heat.INDUCTION: 0.84, Heat.COIL: 0.78, Heat.FRYER: 0.95, Heat.OUTDOOR: 0.35}
"""Part of the nominal power that reaches the oil. Gas 0.40 +-0.07 (42 % measured, 32 % in a boil test), induction 84 % and coil 75 to 80 % (US
Department of Energy, second-hand); immersed element and outdoor burner: common practice, no source."""

UNSTATED_W = 1000.0
"""Effective power when nobody said: never assumed strong where the size of a batch depends on it."""

STRONGEST_W = {Heat.GAS: 5100 * 0.47, Heat.INDUCTION: 3700 * 0.84, Heat.COIL: 2500 * 0.80, Heat.FRYER: 2200 * 0.95, Heat.OUTDOOR: 18000 * 0.35}
"""The strongest burner of its sort, effective W, for run-away: gas 17 500 BTU/h, induction 3.7 kW, coil 2.5 kW, fryer 2.2 kW, outdoor 18 kW
(outdoor: common practice, no source)."""

RINGS = {
    Heat.GAS: {"small": 1000.0, "medium": 1750.0, "large": 3000.0},
    Heat.INDUCTION: {"small": 1400.0, "medium": 2100.0, "large": 3700.0},
    Heat.COIL: {"small": 1200.0, "medium": 1800.0, "large": 2500.0},
    Heat.FRYER: {"small": 1600.0, "medium": 1900.0, "large": 2200.0},
    Heat.OUTDOOR: {"small": 9000.0, "medium": 13000.0, "large": 18000.0},
}
"""Nominal power, W, of a burner called small, medium or large (gas: auxiliary, semi-rapid, rapid; from memory and practice)."""


def effective_power(heat: Heat, nominal_w: float) -> float:
    """What reaches the oil, W, of a nominal power, W.

    >>> effective_power(Heat.GAS, 3000.0)
    1200.0
    """
    return EFFICIENCY[heat] * nominal_w


@dataclass(frozen=True, slots=True)
class Vessel:
    """A pot with its oil and burner, as far as heat goes. oil_litres: measured cold; power_w: effective, at full flame; ua: losses, W/K (1 to 2.5
    for a 26 cm pot); metal_kg: the pot itself; room_c; altitude_m; thermostat_c: where a thermostat cuts the heat (None: a plain burner)."""

    oil_litres: float
    power_w: float = UNSTATED_W
    ua: float = 1.5
    metal_kg: float = 1.5
    room_c: float = 25.0
    altitude_m: float = 0.0
    thermostat_c: float | None = None

    @property
    def oil_kg(self) -> float:
        """Weight of the oil, kg (0.919 kg/l at 20 C)."""
        return self.oil_litres * oil_density(20.0) / 1000.0

    @property
    def boiling_c(self) -> float:
        """Where water boils here, C."""
        return boiling_point(self.altitude_m)

    def stored(self, c: float) -> float:
        """Heat in oil and metal above 0 C, J, at `c`: the integral of `capacity`."""
        return self.oil_kg * (1920.0 * c + 1.1 * c * c) + self.metal_kg * STEEL * c

    def capacity(self, c: float) -> float:
        """Heat capacity of oil and metal, J/K, at `c`."""
        return self.oil_kg * (1920.0 + 2.2 * c) + self.metal_kg * STEEL


@dataclass(frozen=True, slots=True)
class Load:
    """A batch. kg: as it goes in; food_c: how warm; surface_kg: free water on it, part of kg; frozen."""

    cut: Cut
    kg: float
    food_c: float = 20.0
    surface_kg: float = 0.0
    frozen: bool = False
    water: float | None = None

    @property
    def area(self) -> float:
        """Surface, m2."""
        return self.cut.area_m2_kg * self.kg

    @property
    def water_part(self) -> float:
        """Water as a fraction of the weight: its own where given (a second fry has less), else the food's."""
        return self.cut.food.water if self.water is None else self.water

    @property
    def thaw_j(self) -> float:
        """Heat that warms and melts the ice of a frozen core, J: m (0.95 x 333.6 kJ/kg + 1.9 kJ/kgK |T0|); 5 % of the water never freezes."""
        if not self.frozen:
            return 0.0
        return self.kg * (self.water_part * 0.95 * FUSION_HEAT + ICE_HEAT_CAPACITY * max(0.0, -self.food_c))

    @property
    def driest_kg(self) -> float:
        """Water that can be driven off before drying stops, kg."""
        free = self.kg * (self.water_part - DRY_BASIS_LEFT) / (1.0 - DRY_BASIS_LEFT)
        return max(self.surface_kg, free)

    def core_c(self, taken_j: float) -> float:
        """Mean temperature of the core, C, after it took up so much heat."""
        start = max(self.food_c, 0.0) if self.frozen else self.food_c
        return start + max(0.0, taken_j - self.thaw_j) / (self.kg * self.cut.food.heat_capacity)


def load(cut: Cut, kg: float, *, food_c: float = 20.0, wet: bool = False, coated: bool = False, frozen: bool = False) -> Load:
    """A batch of `kg` as a cook describes it. Frozen food counts as wet: frost."""
    return Load(cut, kg, food_c, kg * cut.surface_water(wet or frozen, coated), frozen)


Derivative = Callable[[float, float, float], tuple[float, float, float]]


def supplied(power_w: float, thermostat_c: float | None, c: float, demand_w: float) -> float:
    """Heat that reaches the oil, W: all of it, or with a thermostat no more than is asked for while the oil is at its mark and nothing above."""
    if thermostat_c is None or c < thermostat_c:
        return power_w
    return min(power_w, demand_w) if c < thermostat_c + 0.05 else 0.0


def derivative(vessel: Vessel, batch: Load | None, power_w: float, *, kappa: float = 1.0, film: float = 1.0, ua: float | None = None) -> Derivative:
    """The right-hand side: (T C, E J, w kg) -> their rates a second. kappa: multiplier on the food's heat transfer; film: on that of the boiling
    surface alone; ua: losses, W/K (None: the vessel's)."""
    losses = vessel.ua if ua is None else ua
    room, boiling, thermostat = vessel.room_c, vessel.boiling_c, vessel.thermostat_c
    flat, slope = vessel.oil_kg * 1920.0 + vessel.metal_kg * STEEL, vessel.oil_kg * 2.2

    if batch is None:

        def bare(t: float, e: float, w: float) -> tuple[float, float, float]:
            demand = losses * (t - room)
            return (supplied(power_w, thermostat, t, demand) - demand) / (flat + slope * t), 0.0, 0.0

        return bare

    food = batch.cut.food
    surface_k = 1.0 / (film * FILM)
    area = kappa * batch.area
    crust = 1.0 / (food.density * batch.water_part * batch.area * CRUST)  # m2K/W per kg evaporated
    warmth = batch.kg * food.heat_capacity
    start = max(batch.food_c, 0.0) if batch.frozen else batch.food_c
    thaw, tau, surface, driest = batch.thaw_j, batch.cut.core_s, batch.surface_kg, batch.driest_kg

    def frying(t: float, e: float, w: float) -> tuple[float, float, float]:
        over = t - boiling
        core = start + (e - thaw) / warmth if e > thaw else start
        dry = w - surface
        q = area * over / (surface_k + (crust * dry if dry > 0.0 else 0.0))
        sensible = warmth * (boiling - core) / tau
        if q < sensible:
            sensible = q
        boil = q - sensible
        if w >= driest or boil < 0.0:
            q, boil = sensible, 0.0
        demand = losses * (t - room) + q
        return (supplied(power_w, thermostat, t, demand) - demand) / (flat + slope * t), sensible, boil / LATENT_HEAT

    return frying


def advance(rates: Derivative, state: tuple[float, float, float], seconds: float, step_s: float) -> tuple[float, float, float]:
    """The state `seconds` later by classical Runge-Kutta steps of at most `step_s`: within 0.05 K of `fry_curve` at 2 s with food in, at 15 s
    without."""
    if seconds <= 0.0:
        return state
    steps = max(1, -int(-seconds // step_s))
    h = seconds / steps
    t, e, w = state
    for _ in range(steps):
        a1, b1, c1 = rates(t, e, w)
        a2, b2, c2 = rates(t + h / 2 * a1, e + h / 2 * b1, w + h / 2 * c1)
        a3, b3, c3 = rates(t + h / 2 * a2, e + h / 2 * b2, w + h / 2 * c2)
        a4, b4, c4 = rates(t + h * a3, e + h * b3, w + h * c3)
        t += h / 6 * (a1 + 2 * a2 + 2 * a3 + a4)
        e += h / 6 * (b1 + 2 * b2 + 2 * b3 + b4)
        w += h / 6 * (c1 + 2 * c2 + 2 * c3 + c4)
    return t, e, w


@dataclass(frozen=True, slots=True)
class Curve:
    """One batch. lowest_c at lowest_at_s; recovered_at_s: back within 1 K of where it began, None when not in half an hour; evaporated_kg and
    food_j at its end; rows: (s, C, kg evaporated); residual: energy balance, what came in minus what is found, over what the food took."""

    lowest_c: float
    lowest_at_s: float
    recovered_at_s: float | None
    evaporated_kg: float
    food_j: float
    rows: tuple[tuple[float, float, float], ...]
    residual: float


RECOVERED_K = 1.0
"""Recovered means back within this of the start, K."""


LONGEST_S = 1800.0
"""How long recovery is waited for, s."""

CURVE_STEP_S = 0.25
"""Step of a whole curve, s: within 0.02 K and 0.02 g of scipy's adaptive integration (tested), which takes half a second to import."""


def fry_curve(vessel: Vessel, batch: Load, oil_c: float, *, seconds: float = 360.0, row_s: float = 1.0, kappa: float = 1.0) -> Curve:
    """The curve of a batch dropped at `oil_c`, heat on at full flame (or by the thermostat), over `seconds`, a row every `row_s`; lowest and
    recovery are looked for beyond it, to half an hour.

    >>> from assistant.kitchen.oil.foods import cut
    >>> sticks = Load(cut("potato sticks 10 mm"), 0.4)
    >>> c = fry_curve(Vessel(2.0, power_w=2500.0), sticks, 163.0)
    >>> round(c.lowest_c, 1), round(c.lowest_at_s), round(c.recovered_at_s or 0)
    (153.6, 42, 116)
    """
    rates = derivative(vessel, batch, vessel.power_w, kappa=kappa)

    def counted(y: tuple[float, ...]) -> tuple[float, ...]:
        """The rates of the state, and of the heat lost and supplied so far."""
        dt, de, dw = rates(y[0], y[1], y[2])
        lost = vessel.ua * (y[0] - vessel.room_c)
        return dt, de, dw, lost, supplied(vessel.power_w, vessel.thermostat_c, y[0], lost + de + dw * LATENT_HEAT)

    every = math.ceil(row_s / CURVE_STEP_S)
    h = row_s / every
    last, n, over = round(seconds / h), 0, oil_c - RECOVERED_K
    y: tuple[float, ...] = (oil_c, 0.0, 0.0, 0.0, 0.0)
    end, rows = y, [(0.0, oil_c, 0.0)]
    low, back = (oil_c, 0.0), None
    while n < last or (back is None and n * h < LONGEST_S):
        before, y, n = y[0], _step(counted, y, h), n + 1
        if y[0] < low[0]:
            low, back = (y[0], n * h), None
        elif before < over <= y[0]:
            back = (n - 1) * h + h * (over - before) / (y[0] - before)
        if n <= last and n % every == 0:
            rows.append((n * h, y[0], y[2]))
        if n == last:
            end = y
            back = low[1] if low[0] > over else back
    food_j = end[1] + end[2] * LATENT_HEAT
    balance = end[4] - end[3] - food_j - (vessel.stored(end[0]) - vessel.stored(oil_c))
    return Curve(*low, back, end[2], food_j, tuple(rows), abs(balance) / food_j if food_j else 0.0)


def _step(rates: Callable[[tuple[float, ...]], tuple[float, ...]], y: tuple[float, ...], h: float) -> tuple[float, ...]:
    """One classical Runge-Kutta step of any number of values: `advance` for more than its three, and slower."""
    a = rates(y)
    b = rates(tuple(v + h / 2 * r for v, r in zip(y, a, strict=True)))
    c = rates(tuple(v + h / 2 * r for v, r in zip(y, b, strict=True)))
    d = rates(tuple(v + h * r for v, r in zip(y, c, strict=True)))
    return tuple(v + h / 6 * (p + 2 * q + 2 * r + s) for v, p, q, r, s in zip(y, a, b, c, d, strict=True))


def greatest_drop(vessel: Vessel, batch: Load, oil_c: float, evaporated_kg: float) -> float:
    """The most the oil could fall, K, with no heat at all: [m cp (Tb - T0) + thaw + w hfg] / C, at the heat capacity of boiling-hot oil, the least
    there is on the way down."""
    warm = batch.kg * batch.cut.food.heat_capacity * (vessel.boiling_c - batch.core_c(0.0)) + batch.thaw_j
    return (warm + evaporated_kg * LATENT_HEAT) / vessel.capacity(min(oil_c, vessel.boiling_c))


def lowest(
    vessel: Vessel, batch: Load, oil_c: float, *, power_w: float | None = None, kappa: float = 1.0, film: float = 1.0, within_s: float = 600.0
) -> tuple[float, float]:
    """(lowest oil temperature C, when s) of a batch dropped at `oil_c`: by `advance`; stops once the oil is surely rising."""
    rates = derivative(vessel, batch, vessel.power_w if power_w is None else power_w, kappa=kappa, film=film)
    state, at, low = (oil_c, 0.0, 0.0), 0.0, (oil_c, 0.0)
    while at < within_s and state[0] < low[0] + 0.5:
        state, at = advance(rates, state, 2.0, 2.0), at + 2.0
        if state[0] < low[0]:
            low = (state[0], at)
    return low


@lru_cache(maxsize=256)
def heat_seconds(vessel: Vessel, from_c: float, to_c: float, most_s: float = 6 * 3600.0) -> float:
    """Seconds to bring the oil from one temperature to another with nothing in it: full flame up, no flame down. `most_s` when it takes longer or
    cannot be reached.

    >>> round(heat_seconds(Vessel(2.0, power_w=2500.0, ua=0.0), 20.0, 163.0), 0)
    266.0
    """
    up = to_c > from_c
    rates = derivative(vessel, None, vessel.power_w if up else 0.0)
    t, at, h = from_c, 0.0, 10.0
    while at < most_s:
        after, _, _ = advance(rates, (t, 0.0, 0.0), h, h)
        if (after >= to_c) if up else (after <= to_c):
            return at + h * (to_c - t) / (after - t)
        t, at = after, at + h
    return most_s


def recovery_after(vessel: Vessel, batch: Load, oil_c: float, fry_s: float) -> float:
    """Seconds from lifting a batch, dropped at `oil_c` and fried for `fry_s` at full flame, until the oil is back at `oil_c`; 0 when it is back
    before."""
    state = advance(derivative(vessel, batch, vessel.power_w), (oil_c, 0.0, 0.0), fry_s, 2.0)
    return heat_seconds(vessel, state[0], oil_c) if state[0] < oil_c else 0.0


USUAL_OIL_L = 2.0
"""Oil in a pot that nobody described, l, cold."""


def vessel(pot: Pot, *, set_point_c: float | None = None) -> Vessel:
    """The vessel of a card's pot. An unstated power counts as 1.0 kW effective, unstated oil as 2 l; an electric fryer keeps `set_point_c` by
    itself; water boils as it does at the pot's altitude."""
    watts = UNSTATED_W if pot.power_w is None else effective_power(pot.heat, pot.power_w)
    thermostat = set_point_c if pot.heat is Heat.FRYER else None
    return Vessel(pot.oil_litres or USUAL_OIL_L, power_w=watts, altitude_m=pot.altitude_m, thermostat_c=thermostat)
