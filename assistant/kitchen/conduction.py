"""The centre of a piece of food while it heats: series solutions of transient conduction. Pure, SI, plain Python (a session imports it).

theta = sum C_n exp(-zeta_n^2 Fo), theta = (T_medium - T_centre) / (T_medium - T_start), Fo = alpha t / L^2, L half the thickness or the radius,
Bi = h L / k. Incropera & DeWitt, Fundamentals of Heat and Mass Transfer, chapter 5 (equations 5.42, 5.50, 5.51, from memory). A finite body is the
product of the bodies it is the intersection of (Newman 1936). Bones, batter and shrinkage are not in it: a quarter either way.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache

_TERMS = 24  # enough from Fo = 0.002 on, to 1e-6 of the temperature difference
_J0_ZEROS_NEAR = 0.25  # zeros of J0 lie near (n - 1/4) pi, of J1 near (n + 1/4) pi


class Shape(StrEnum):
    """The infinite slab and cylinder, and the sphere; finite bodies are products of these."""

    SLAB = "slab"
    CYLINDER = "cylinder"
    SPHERE = "sphere"


@dataclass(frozen=True, slots=True)
class Medium:
    """What the food lies in. celsius: its temperature; h: heat transfer coefficient, W/m2K (infinite: the surface takes its temperature)."""

    celsius: float
    h: float = math.inf


SIMMER = Medium(95.0, 1000.0)
FRYING = Medium(100.0)  # while a wet interface boils under the crust, that interface is what the core sees


@dataclass(frozen=True, slots=True)
class Food:
    """alpha: thermal diffusivity, m2/s; k: conductivity, W/mK. The default is lean meat (Choi & Okos 1986)."""

    alpha: float = 1.35e-7
    k: float = 0.5


@lru_cache(maxsize=8192)
def bessel_j(order: int, x: float) -> float:
    """Bessel function of the first kind, order 0 or 1, by its integral J_n(x) = 1/pi int_0^pi cos(n t - x sin t) dt (Abramowitz & Stegun 9.1.21); the
    trapezoidal rule converges exponentially here. For 0 <= x <= 200.

    >>> round(bessel_j(0, 2.404825557695773), 12) + 0.0, round(bessel_j(1, 1.0), 9)
    (0.0, 0.440050586)
    """
    n = int(abs(x)) + 24
    inner = sum(math.cos(order * math.pi * i / n - x * math.sin(math.pi * i / n)) for i in range(1, n))
    return (inner + 0.5 * (1.0 + math.cos(order * math.pi))) / n


def _root(f: Callable[[float], float], low: float, high: float) -> float:
    """The zero of a function that changes sign once between two points."""
    sign = f(low) < 0.0
    for _ in range(60):
        middle = 0.5 * (low + high)
        if (f(middle) < 0.0) == sign:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


@lru_cache(maxsize=128)
def eigenvalues(shape: Shape, biot: float, terms: int = _TERMS) -> tuple[tuple[float, float], ...]:
    """(zeta_n, C_n): slab zeta tan zeta = Bi, cylinder zeta J1 = Bi J0, sphere 1 - zeta cot zeta = Bi. Any Bi above 0, infinite too.

    >>> [round(x, 4) for x in eigenvalues(Shape.SLAB, 1.0)[0] + eigenvalues(Shape.CYLINDER, 1.0)[0] + eigenvalues(Shape.SPHERE, 1.0)[0]]
    [0.8603, 1.1191, 1.2558, 1.2071, 1.5708, 1.2732]
    """
    if biot <= 0.0:
        raise ValueError(f"the Biot number must be above zero, not {biot}")
    return tuple(_term(shape, biot, n) for n in range(1, terms + 1))


def _term(shape: Shape, biot: float, n: int) -> tuple[float, float]:
    """The n-th eigenvalue and its coefficient at the centre. Each equation is multiplied out: it has no poles and an infinite Bi divides out."""
    a, b = (1.0, biot) if math.isfinite(biot) else (0.0, 1.0)
    if shape is Shape.SLAB:
        zeta = _root(lambda z: a * z * math.sin(z) - b * math.cos(z), (n - 1) * math.pi, (n - 0.5) * math.pi + 1e-9)
        return zeta, 4.0 * math.sin(zeta) / (2.0 * zeta + math.sin(2.0 * zeta))
    if shape is Shape.CYLINDER:
        low = 0.0 if n == 1 else _root(lambda z: bessel_j(1, z), (n - 0.75) * math.pi - 0.4, (n - 0.75) * math.pi + 0.4)
        high = _root(lambda z: bessel_j(0, z), (n - _J0_ZEROS_NEAR) * math.pi - 0.4, (n - _J0_ZEROS_NEAR) * math.pi + 0.4)
        zeta = _root(lambda z: a * z * bessel_j(1, z) - b * bessel_j(0, z), low, high + 1e-9)
        j0, j1 = bessel_j(0, zeta), bessel_j(1, zeta)
        return zeta, 2.0 * j1 / (zeta * (j0 * j0 + j1 * j1))
    low = 1e-6 if n == 1 else (n - 1) * math.pi
    zeta = _root(lambda z: (a - b) * math.sin(z) - a * z * math.cos(z), low, n * math.pi) if a else n * math.pi
    return zeta, 4.0 * (math.sin(zeta) - zeta * math.cos(zeta)) / (2.0 * zeta - math.sin(2.0 * zeta))


@dataclass(frozen=True, slots=True)
class Body:
    """A piece: the intersection of (shape, full thickness or diameter in m). One entry is an infinite slab, an infinite cylinder or a sphere.

    >>> brick = Body(((Shape.SLAB, 0.03), (Shape.SLAB, 0.05), (Shape.SLAB, 0.08)))
    >>> round(time_to(brick, 73.9, 5.0, SIMMER, Food()) / 10) * 10
    1000
    """

    parts: tuple[tuple[Shape, float], ...]

    def __post_init__(self) -> None:
        if not self.parts or any(size <= 0.0 for _, size in self.parts):
            raise ValueError("a body needs at least one part, each with a size above zero")


def centre(body: Body, seconds: float, start_c: float, medium: Medium, food: Food) -> float:
    """Temperature of the centre, C, after so many seconds.

    >>> round(centre(Body(((Shape.CYLINDER, 0.03),)), 600.0, 5.0, SIMMER, Food()), 2)
    74.51
    """
    if seconds <= 0.0:
        return start_c
    theta = 1.0
    for shape, size in body.parts:
        half = size / 2.0
        fourier = food.alpha * seconds / (half * half)
        series = eigenvalues(shape, medium.h * half / food.k)
        theta *= min(1.0, sum(c * math.exp(-z * z * fourier) for z, c in series if z * z * fourier < 60.0))
    return medium.celsius + (start_c - medium.celsius) * theta


def time_to(body: Body, target_c: float, start_c: float, medium: Medium, food: Food) -> float:
    """Seconds until the centre reaches the target; infinite when the medium is not hotter, 0 when it is there already.

    >>> round(time_to(Body(((Shape.CYLINDER, 0.03),)), 74.0, 5.0, SIMMER, Food()))
    592
    """
    if start_c >= target_c:
        return 0.0
    if medium.celsius <= target_c:
        return math.inf
    high = 60.0
    while centre(body, high, start_c, medium, food) < target_c:
        high *= 2.0
    return _root(lambda t: centre(body, t, start_c, medium, food) - target_c, 0.0, high)
