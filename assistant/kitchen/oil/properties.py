"""Properties of food, oil and water: each correlation in one function that names its author, range and source.

Degrees Celsius, J/kgK, W/mK, kg/m3. Food is a `Composition` of mass fractions; mixtures follow Choi and Okos: heat capacity by mass,
density by specific volume, conductivity by volume (the parallel bound: real food is 0 to 20 % lower).
"""

from __future__ import annotations

from dataclasses import dataclass, fields

LATENT_HEAT = 2.2565e6
"""Heat of vaporisation of water at 101.325 kPa, J/kg (IAPWS-97: 2256.54 kJ/kg, IAPWS-95: 2256.47)."""

FUSION_HEAT = 333.6e3
"""Heat of fusion of ice at 0 C, J/kg (IAPWS-06)."""

ICE_HEAT_CAPACITY = 1900.0
"""Heat capacity of frozen food, J/kgK, rounded from ice's 2060 and solids' 1500 (Choi and Okos, -10 C)."""

# component: (cp, k, density), each a + b T + c T^2 in kJ/kgK, W/mK, kg/m3. The water row has a = 4.1762 for the heat capacity: the 4.1289 that is
# printed in some editions is 1.3 % below IAPWS-97 at 20 C.
_CHOI_OKOS: dict[str, tuple[tuple[float, float, float], tuple[float, float, float], tuple[float, float, float]]] = {
    "water": ((4.1762, -9.0864e-5, 5.4731e-6), (0.57109, 1.7625e-3, -6.7036e-6), (997.18, 3.1439e-3, -3.7574e-3)),
    "protein": ((2.0082, 1.2089e-3, -1.3129e-6), (0.17881, 1.1958e-3, -2.7178e-6), (1329.9, -0.5184, 0.0)),
    "fat": ((1.9842, 1.4733e-3, -4.8008e-6), (0.18071, -2.7604e-4, -1.7749e-7), (925.59, -0.41757, 0.0)),
    "carbohydrate": ((1.5488, 1.9625e-3, -5.9399e-6), (0.20141, 1.3874e-3, -4.3312e-6), (1599.1, -0.31046, 0.0)),
    "fibre": ((1.8459, 1.8306e-3, -4.6509e-6), (0.18331, 1.2497e-3, -3.1683e-6), (1311.5, -0.36589, 0.0)),
    "ash": ((1.0926, 1.8896e-3, -3.6817e-6), (0.32962, 1.4011e-3, -2.9069e-6), (2423.8, -0.28063, 0.0)),
}


@dataclass(frozen=True, slots=True)
class Composition:
    """Mass fractions of a food; they need not add up to one, every property normalises them. carbohydrate: without fibre (the USDA's
    "carbohydrate by difference" has the fibre in it)."""

    water: float
    protein: float
    fat: float
    carbohydrate: float
    fibre: float
    ash: float

    def parts(self) -> tuple[tuple[str, float], ...]:
        """(component, fraction of the whole) of each component."""
        total = sum(getattr(self, f.name) for f in fields(self))
        return tuple((f.name, getattr(self, f.name) / total) for f in fields(self))


def _polynomial(component: str, which: int, c: float) -> float:
    a, b, square = _CHOI_OKOS[component][which]
    return a + b * c + square * c * c


def choi_okos_heat_capacity(food: Composition, c: float) -> float:
    """Heat capacity of unfrozen food, J/kgK, at `c` degrees: cp = sum of x_i cp_i(T). Range 0 to 150 C.

    Choi and Okos 1986, Food Engineering and Process Applications vol. 1, as in ASHRAE Handbook Refrigeration 2006 ch. 9 tables 1 and 2.

    >>> cod = Composition(water=0.8122, protein=0.1781, fat=0.0067, carbohydrate=0.0, fibre=0.0, ash=0.0116)
    >>> round(choi_okos_heat_capacity(cod, 20.0))
    3748
    """
    return 1000.0 * sum(x * _polynomial(name, 0, c) for name, x in food.parts())


def choi_okos_density(food: Composition, c: float) -> float:
    """Density of unfrozen food without pores, kg/m3, at `c` degrees: 1/rho = sum of x_i/rho_i(T). Range 0 to 150 C. Choi and Okos 1986.

    >>> potato = Composition(water=0.7934, protein=0.0202, fat=0.0009, carbohydrate=0.1527, fibre=0.022, ash=0.0108)
    >>> round(choi_okos_density(potato, 20.0))
    1075
    """
    return 1.0 / sum(x / _polynomial(name, 2, c) for name, x in food.parts())


def choi_okos_conductivity(food: Composition, c: float) -> float:
    """Conductivity of unfrozen food, W/mK, at `c` degrees: k = sum of v_i k_i(T), v_i the volume fractions. Range 0 to 150 C. Choi and Okos 1986.

    >>> potato = Composition(water=0.7934, protein=0.0202, fat=0.0009, carbohydrate=0.1527, fibre=0.022, ash=0.0108)
    >>> round(choi_okos_conductivity(potato, 20.0), 3)
    0.549
    """
    volumes = [(name, x / _polynomial(name, 2, c)) for name, x in food.parts()]
    return sum(v * _polynomial(name, 1, c) for name, v in volumes) / sum(v for _, v in volumes)


def oil_density(c: float) -> float:
    """Density of a frying oil, kg/m3, at `c` degrees: 919 - 0.64 (T - 20), within 1 %.

    Slope after Noureddini 1992 as quoted in JAOCS 76:1415 (1999), measured 24 to 110 C; extrapolated above.

    >>> round(oil_density(175.0), 1)
    819.8
    """
    return 919.0 - 0.64 * (c - 20.0)


def oil_expansion(c: float) -> float:
    """Volume of hot oil over its volume at 20 C.

    >>> round(oil_expansion(175.0), 3)
    1.121
    """
    return oil_density(20.0) / oil_density(c)


def oil_heat_capacity(c: float) -> float:
    """Heat capacity of a frying oil, J/kgK, at `c` degrees: 1920 + 2.2 T, within 8 %, 20 to 200 C.

    A line between Choi and Okos' fat and triolein as the `thermo` library has it; linear rise from 35 to 180 C: Fasina and Colley 2008,
    Int. J. Food Properties 11:738 (abstract).

    >>> round(oil_heat_capacity(163.0))
    2279
    """
    return 1920.0 + 2.2 * c


def boiling_point(altitude_m: float) -> float:
    """Temperature, C, at which water boils `altitude_m` above the sea: 99.974 - 3.322e-3 z - 4e-9 z^2, a parabola through IAPWS-97's saturation
    temperature at the standard atmosphere's pressure. Range 0 to 4000 m, within 0.02 K.

    >>> [round(boiling_point(m), 1) for m in (0, 1609, 3000)]
    [100.0, 94.6, 90.0]
    """
    return 99.974 - 3.322e-3 * altitude_m - 4e-9 * altitude_m * altitude_m
