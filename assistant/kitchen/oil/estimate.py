"""What is known of the oil while cooking: a recursive Bayesian estimate that predicts between readings and learns this pot.

State: oil temperature T, ln of the burner's full power P, ln of the losses UA, ln of the food's multiplier kappa, ln of its film's, burner fraction
u, and the batch's core heat E and evaporated water w. The film says how far the oil falls, kappa how much heat the whole batch takes: with one of
them alone a pot would be wrong about the other. Between readings the mean follows `pot.advance` and the covariance its finite-difference Jacobian
(an extended Kalman filter); a reading pulls all of it. Everything scales by the heat capacity, which the litres give, so no capacity is learned.

What happens is told by `burner`, `drop`, `lift`, `reading`, `top_up`, each with the kitchen time; questions are asked of `predict(t)`. Values in,
values out: an estimate is never changed. Plain Python: eight numbers need no numpy.

How sure it is: power to 30 % when stated, else from 1.0 kW up to the strongest burner of its sort; losses to 35 %, food to 50 % (spread of
published film coefficients and crust conductivities); a thermometer to 2 K, a probe to 1 K. Between readings it gets less sure: of the fraction of
a flame that was turned down most of all, because hands touch knobs.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import astuple, dataclass, replace
from enum import StrEnum

from assistant.kitchen.oil.pot import STEEL, Derivative, Load, Vessel, advance, derivative
from assistant.kitchen.oil.properties import oil_density

Row = tuple[float, ...]
Matrix = tuple[Row, ...]

T, LN_P, LN_UA, LN_K, LN_F, U, E, W = range(8)
SIZE = 8
_NUDGE = (0.5, 0.02, 0.05, 0.03, 0.03, 0.02, 500.0, 0.0005)

READING_K = 2.0
"""How far off a spoken reading may be, K, one sigma."""

PROBE_K = 1.0
"""The same of a probe that writes its own readings."""

READY_OVER_K = 1.0
"""Oil is called ready this far over its set point, K."""

READY_SURE_S = 25.0
"""A time until ready is said in minutes only when it is known to this, s, one sigma; before that it is not known yet."""

SIGMA_POWER, SIGMA_UA, SIGMA_KAPPA, SIGMA_FILM, BATCH_KAPPA = 0.30, 0.35, 0.50, 0.40, 0.10
"""What is not known at first, as fractions, one sigma: stated power, losses, the food's multiplier, that of its film; and that of one batch
against another."""

USUAL_FILM = 1.45
"""Film at first, of the model's 600 W/m2K: the oil is coldest while the food boils hardest, and then potato showed up to 1100 (Hubbard and Farkas
1999) and other foods 800 to 2000 (Mir-Bel 2012, JFE 113:167, abstract)."""

BOUND = 1.645
"""Standard deviations to the upper 95 % bound."""

CHUNK_S = 60.0
"""Covariance is carried in pieces of at most this, s."""


class Doubt(StrEnum):
    """Why a reading is questioned instead of believed."""

    FAHRENHEIT = "said as Celsius, fits Fahrenheit"
    CELSIUS = "said as Fahrenheit, fits Celsius"
    RANGE = "no oil is that hot or cold"
    JUMP = "a jump that no burner makes"


@dataclass(frozen=True, slots=True)
class Level:
    """A burner's setting: fraction of full power and how surely it is that."""

    part: float
    sigma: float


FULL, OFF = Level(1.0, 0.02), Level(0.0, 0.0)
_LEVELS = {
    "full": FULL,
    "large": FULL,
    "off": OFF,
    "on": Level(0.8, 0.2),
    "medium": Level(0.5, 0.15),
    "small": Level(0.25, 0.1),
}


@dataclass(frozen=True, slots=True)
class Learned:
    """What a pot keeps between evenings: full power W, losses W/K, food multiplier, that of its film, and the standard deviations of their
    logarithms."""

    power_w: float
    ua: float
    kappa: float
    sigma_power: float
    sigma_ua: float
    sigma_kappa: float
    film: float = USUAL_FILM
    sigma_film: float = SIGMA_FILM

    def __post_init__(self) -> None:
        if not all(math.isfinite(v) and v > 0.0 for v in astuple(self)):
            raise ValueError("What a pot taught is figures above zero.")


@dataclass(frozen=True, slots=True)
class PotEstimate:
    """The estimate at kitchen time `t`, s. mean and cov: of the state in the module's docstring; worst_c: where the strongest burner could have
    brought it, C, while nothing was read; batch: what is in the oil, since dropped_t; level_t: when the burner was last touched; readings: how
    many; read_t: when the last one was, and what it said, C; asked: whether a reading was asked for since the last lift."""

    vessel: Vessel
    t: float
    mean: Row
    cov: Matrix
    strongest_w: float
    worst_c: float
    lit: bool = False
    full: bool = False
    batch: Load | None = None
    dropped_t: float | None = None
    level_t: float = 0.0
    readings: int = 0
    read_t: float | None = None
    read_c: float | None = None
    asked: bool = False

    # ---- asked of it

    @property
    def oil_c(self) -> float:
        """Oil temperature, C."""
        return self.mean[T]

    @property
    def sigma(self) -> float:
        """Standard deviation of the oil temperature, K."""
        return math.sqrt(max(0.0, self.cov[T][T]))

    @property
    def power_w(self) -> float:
        """Effective power at full flame, W."""
        return math.exp(self.mean[LN_P])

    @property
    def kappa(self) -> float:
        """Multiplier on the food's heat transfer."""
        return math.exp(self.mean[LN_K])

    @property
    def part(self) -> float:
        """Fraction of its full power that the burner is thought to give."""
        return self.mean[U]

    @property
    def rate(self) -> float:
        """How fast the oil is warming, K/s (negative: cooling)."""
        return self._rates(self.mean)(self.mean[T], self.mean[E], self.mean[W])[0]

    @property
    def upper95(self) -> float:
        """Upper 95 % bound of the oil temperature now, C; before anything was read, the strongest burner's."""
        bound = self.oil_c + BOUND * self.sigma
        return bound if self.readings else max(bound, self.worst_c)

    def since_reading(self, t: float) -> float:
        """Seconds since the last reading; infinite before any."""
        return math.inf if self.read_t is None else t - self.read_t

    def ready_c(self, set_c: float) -> float:
        """Where the oil is called ready, C: a little over the set point, because a dish bears that better than under; a thermostat stops at its
        mark."""
        return set_c + (READY_OVER_K if self.vessel.thermostat_c is None else -0.5)

    def ahead(self, seconds: float, lift_in_s: float | None = None) -> float:
        """Oil temperature, C, so many seconds on if the burner stays and the batch comes out after `lift_in_s` (None: not): the mean alone,
        quickly."""
        if self.batch is None or lift_in_s is None or lift_in_s >= seconds:
            return self._flow(self.mean, seconds)[T]
        fried = self._flow(self.mean, max(0.0, lift_in_s))
        return replace(self, batch=None)._flow(fried, seconds - max(0.0, lift_in_s))[T]

    # ---- what happens

    def predict(self, to_t: float) -> PotEstimate:
        """The estimate at a later kitchen time; itself for an earlier one."""
        now = self
        while to_t - now.t > 1e-9:
            now = now._chunk(min(CHUNK_S, to_t - now.t))
        return now

    def burner(self, t: float, level: str) -> PotEstimate:
        """The burner was set: on, full, up, down, off, small, medium, large. KeyError for another word."""
        now = self.predict(t)
        if level == "up":
            part = min(1.0, now.mean[U] + 0.25)
            to = Level(part, 0.12 if part < 1.0 else 0.05)
        elif level == "down":
            to = Level(0.4, 0.15) if now.mean[U] > 0.7 else Level(0.6 * now.mean[U], 0.1)
        else:
            to = _LEVELS[level]
        mean = (*now.mean[:U], to.part, *now.mean[U + 1 :])
        cov = _cleared(now.cov, U, to.sigma**2)
        return replace(now, mean=mean, cov=cov, lit=to.part > 0.0, full=to.part >= 0.99, level_t=t)

    def dial(self, t: float, celsius: float) -> PotEstimate:
        """An electric fryer was set to this, C."""
        now = self.predict(t)
        return replace(now, vessel=replace(now.vessel, thermostat_c=celsius))

    def drop(self, t: float, batch: Load) -> PotEstimate:
        """A batch went in. Batches differ: its own multiplier is known a tenth less well than the pot's."""
        now = self.predict(t)
        mean = (*now.mean[:E], 0.0, 0.0)
        cov = _widened(_cleared(_cleared(now.cov, E, 0.0), W, 0.0), {LN_K: BATCH_KAPPA**2})
        return replace(now, mean=mean, cov=cov, batch=batch, dropped_t=t)

    def lift(self, t: float) -> PotEstimate:
        """The batch came out."""
        now = self.predict(t)
        return replace(now, mean=(*now.mean[:E], 0.0, 0.0), cov=_cleared(_cleared(now.cov, E, 0.0), W, 0.0), batch=None, dropped_t=None, asked=False)

    def top_up(self, t: float, litres: float, oil_c: float) -> PotEstimate:
        """Fresh oil of this temperature was added: heats mix."""
        now = self.predict(t)
        fuller = replace(now.vessel, oil_litres=now.vessel.oil_litres + litres)
        added = litres * oil_density(20.0) / 1000.0 * (1920.0 * oil_c + 1.1 * oil_c * oil_c)
        held = now.vessel.stored(now.oil_c) + added
        flat, square = fuller.oil_kg * 1920.0 + fuller.metal_kg * STEEL, fuller.oil_kg * 1.1
        mixed = (-flat + math.sqrt(flat * flat + 4.0 * square * held)) / (2.0 * square)
        return replace(now, vessel=fuller, mean=(mixed, *now.mean[1:]), cov=_widened(now.cov, {T: 2.0**2}))

    def doubt(self, t: float, c: float) -> Doubt | None:
        """Why a reading of `c` at `t` is not to be believed unasked; None when it is plausible."""
        now = self.predict(t)
        near = max(12.0, 4.0 * math.hypot(now.sigma, READING_K))
        if -5.0 <= c <= 260.0 and abs(c - now.oil_c) <= near:
            return None
        if abs((c - 32.0) / 1.8 - now.oil_c) <= near:
            return Doubt.FAHRENHEIT
        if abs(c * 1.8 + 32.0 - now.oil_c) <= near:
            return Doubt.CELSIUS
        return Doubt.JUMP if -5.0 <= c <= 260.0 else Doubt.RANGE

    def reading(self, t: float, c: float, sigma: float = READING_K) -> PotEstimate:
        """A believed reading. One that the estimate did not expect (beyond 2.6 sigma) first makes it less sure of everything a hand could have
        changed."""
        now = self.predict(t)
        cov, off = now.cov, c - now.oil_c
        expected = cov[T][T] + sigma * sigma
        if off * off > 6.6 * expected:
            cov = _widened(cov, {T: off * off - expected, U: 0.0 if now.full or not now.lit else 0.2**2, LN_P: 0.1**2})
            expected = cov[T][T] + sigma * sigma
        gain = tuple(cov[i][T] / expected for i in range(SIZE))
        mean = tuple(m + g * off for m, g in zip(now.mean, gain, strict=True))
        updated = tuple(tuple(cov[i][j] - gain[i] * cov[T][j] for j in range(SIZE)) for i in range(SIZE))
        even = tuple(tuple((updated[i][j] + updated[j][i]) / 2.0 for j in range(SIZE)) for i in range(SIZE))
        bounded = (*mean[:U], min(1.0, max(0.0, mean[U])), max(0.0, mean[E]), max(0.0, mean[W]))
        return replace(
            now,
            mean=bounded,
            cov=even,
            readings=now.readings + 1,
            read_t=t,
            read_c=c,
            asked=now.asked and now.readings > 0,
            worst_c=c + BOUND * sigma,
        )

    def ask(self) -> PotEstimate:
        """A reading was asked for: not again before the next lift (the evening's first one is not counted)."""
        return replace(self, asked=True)

    def learned(self) -> Learned:
        """What to keep for this pot."""
        s = [math.sqrt(max(self.cov[i][i], 1e-8)) for i in (LN_P, LN_UA, LN_K, LN_F)]
        return Learned(self.power_w, math.exp(self.mean[LN_UA]), self.kappa, s[0], s[1], s[2], math.exp(self.mean[LN_F]), s[3])

    # ---- looking ahead

    def ready_in(self, to_c: float, most_s: float = 3600.0) -> tuple[float, float]:
        """(seconds, sigma s) until the oil reaches `to_c` with burner and food as they are; (inf, inf) when it is not reached within `most_s`."""
        up = to_c > self.oil_c
        rates = self._rates(self.mean)
        step = min(10.0, self._step())
        state, at = (self.mean[T], self.mean[E], self.mean[W]), 0.0
        while at < most_s:
            after = advance(rates, state, step, step)
            if (after[0] >= to_c) if up else (after[0] <= to_c):
                slope = (after[0] - state[0]) / step
                seconds = at + (to_c - state[0]) / slope
                return seconds, self.predict(self.t + seconds).sigma / abs(slope)
            state, at = after, at + step
        return math.inf, math.inf

    def lowest(self, batch: Load, within_s: float = 420.0) -> tuple[float, float, float]:
        """(lowest C, sigma K, when s) of a batch dropped now, the burner at full."""
        best = self.drop(self.t, batch).burner(self.t, "full")
        low, at = self._low(best.mean, batch, within_s)
        gradient = []
        for i in range(U):
            nudged = [*best.mean]
            nudged[i] += _NUDGE[i]
            gradient.append((self._low(tuple(nudged), batch, within_s)[0] - low) / _NUDGE[i])
        variance = sum(gradient[i] * best.cov[i][j] * gradient[j] for i in range(U) for j in range(U))
        return low, math.sqrt(max(0.0, variance) + 1.0), at

    # ---- within

    def _low(self, x: Row, batch: Load, within_s: float) -> tuple[float, float]:
        rates = derivative(self.vessel, batch, math.exp(x[LN_P]) * x[U], kappa=math.exp(x[LN_K]), film=math.exp(x[LN_F]), ua=math.exp(x[LN_UA]))
        state, at, low = (x[T], 0.0, 0.0), 0.0, (x[T], 0.0)
        while at < within_s and state[0] < low[0] + 0.5:
            state, at = advance(rates, state, 3.0, 3.0), at + 3.0
            if state[0] < low[0]:
                low = (state[0], at)
        return low

    def _rates(self, x: Row) -> Derivative:
        power = math.exp(x[LN_P]) * min(1.0, max(0.0, x[U])) if self.lit else 0.0
        return derivative(self.vessel, self.batch, power, kappa=math.exp(x[LN_K]), film=math.exp(x[LN_F]), ua=math.exp(x[LN_UA]))

    def _flow(self, x: Row, seconds: float) -> Row:
        t, e, w = advance(self._rates(x), (x[T], x[E], x[W]), seconds, self._step())
        return (t, x[LN_P], x[LN_UA], x[LN_K], x[LN_F], x[U], e, w)

    def _step(self) -> float:
        """Longest Runge-Kutta step, s: a thermostat switches, food changes fast, bare oil slowly."""
        return 1.0 if self.vessel.thermostat_c is not None else 3.0 if self.batch is not None else 15.0

    def _chunk(self, seconds: float) -> PotEstimate:
        after = self._flow(self.mean, seconds)
        moved = [T, LN_UA]
        if self.lit:
            moved += [LN_P, U]
        if self.batch is not None:
            moved += [LN_K, LN_F, E, W]
        jacobian = [[1.0 if i == j else 0.0 for j in range(SIZE)] for i in range(SIZE)]
        for j in moved:
            by = -_NUDGE[j] if j == U and self.mean[U] > 0.9 else _NUDGE[j]
            nudged = [*self.mean]
            nudged[j] += by
            other = self._flow(tuple(nudged), seconds)
            for i in (T, E, W) if self.batch is not None else (T,):
                jacobian[i][j] = (other[i] - after[i]) / by
        cov = _widened(_carried(jacobian, self.cov), self._noise(seconds))
        worst = self.worst_c
        if not self.readings:
            most = min(1.0, self.mean[U] + BOUND * math.sqrt(self.cov[U][U])) if self.lit else 0.0
            rates = derivative(self.vessel, None, self.strongest_w * most)
            worst = advance(rates, (worst, 0.0, 0.0), seconds, 15.0)[0]
        return replace(self, t=self.t + seconds, mean=after, cov=cov, worst_c=worst)

    def _noise(self, seconds: float) -> dict[int, float]:
        """Variance that comes with time."""
        minutes = seconds / 60.0
        noise = {T: (NOISE_FOOD_K if self.batch is not None else NOISE_K) ** 2 * minutes}
        if self.lit:
            noise[LN_P] = NOISE_POWER**2 * minutes
            if not self.full and self.vessel.thermostat_c is None:
                noise[U] = NOISE_KNOB**2 * minutes
        if self.batch is not None:
            noise[LN_K] = NOISE_KAPPA**2 * minutes
        return noise


# what the model leaves out, one sigma a square root of a minute: K without food (draughts, layers of warm and cool oil), K with food in (crowding,
# pieces that go in one after another), then as fractions the flame, the food's multiplier within a batch, and a knob that was turned down
NOISE_K, NOISE_FOOD_K, NOISE_POWER, NOISE_KAPPA, NOISE_KNOB = 0.3, 0.5, 0.01, 0.03, 0.05


def begin(
    vessel: Vessel,
    t: float,
    *,
    strongest_w: float,
    stated: bool,
    oil_c: float | None = None,
    learned: Learned | None = None,
) -> PotEstimate:
    """An evening's first estimate: burner off, oil at `oil_c` (None: room temperature, known to 3 K). stated: whether anybody told the power;
    otherwise it may be anything from the vessel's 1.0 kW to `strongest_w`, effective W. learned: kept from an evening before, trusted a little less
    than it was."""
    start = vessel.room_c if oil_c is None else oil_c
    power = SIGMA_POWER if stated else max(SIGMA_POWER, math.log(max(1.0, strongest_w / vessel.power_w)) / BOUND)
    sigmas = [power, SIGMA_UA, SIGMA_KAPPA, SIGMA_FILM]
    logs = [math.log(vessel.power_w), math.log(vessel.ua), 0.0, math.log(USUAL_FILM)]
    if learned is not None:
        logs = [math.log(learned.power_w), math.log(learned.ua), math.log(learned.kappa), math.log(learned.film)]
        kept = (learned.sigma_power, learned.sigma_ua, learned.sigma_kappa, learned.sigma_film)
        sigmas = [min(old, math.hypot(new, 0.10)) for old, new in zip(sigmas, kept, strict=True)]
    variances = [3.0**2, *(s * s for s in sigmas), 0.0, 0.0, 0.0]
    cov = tuple(tuple(variances[i] if i == j else 0.0 for j in range(SIZE)) for i in range(SIZE))
    most_w = min(strongest_w, vessel.power_w * math.exp(BOUND * sigmas[0])) if stated or learned is not None else strongest_w
    return PotEstimate(vessel, t, (start, *logs, 0.0, 0.0, 0.0), cov, most_w, start + BOUND * 3.0, level_t=t)


def _widened(cov: Matrix, by: Mapping[int, float]) -> Matrix:
    return tuple(tuple(v + by.get(i, 0.0) if i == j else v for j, v in enumerate(row)) for i, row in enumerate(cov))


def _cleared(cov: Matrix, which: int, variance: float) -> Matrix:
    return tuple(tuple((variance if i == j else 0.0) if which in (i, j) else v for j, v in enumerate(row)) for i, row in enumerate(cov))


def _carried(by: list[list[float]], cov: Matrix) -> Matrix:
    """F P F'."""
    half = [[sum(by[i][k] * cov[k][j] for k in range(SIZE) if by[i][k]) for j in range(SIZE)] for i in range(SIZE)]
    return tuple(tuple(sum(half[i][k] * by[j][k] for k in range(SIZE) if by[j][k]) for j in range(SIZE)) for i in range(SIZE))
