"""Correlations of food, oil and water against figures from outside: ASHRAE's table, IAPWS water, CoolProp, triolein of the `thermo` library."""

from __future__ import annotations

import doctest
import importlib
import warnings

import pytest
from CoolProp.CoolProp import PropsSI
from iapws import IAPWS97
from iapws._iapws import _Ice

from assistant.kitchen.oil import properties as p
from assistant.kitchen.oil.foods import FOODS, UnknownCutError, cut, size_said


def _raw(water: float, protein: float, fat: float, total: float, fibre: float, ash: float) -> p.Composition:
    return p.Composition(water, protein, fat, total - fibre, fibre, ash)


@pytest.mark.parametrize(
    ("food", "cp"),
    [
        *(("potato with skin", 3652.0), ("russet potato", 3630.0), ("cod", 3748.0), ("haddock", 3783.0), ("chicken wing", 3498.0)),
        *(("chicken thigh", 3436.0), ("chicken meat", 3642.0), ("onion", 3903.0), ("plantain", 3286.0), ("frozen fries", 3339.0)),
        *(("rice", 3372.0), ("dough", 2785.0)),
    ],
)
def test_heat_capacity_of_table_foods(food: str, cp: float) -> None:
    """Heat capacities at 20 C come out as a second calculation of the same equations gave them (Choi and Okos 1986; USDA SR27 rows), within 0.5 %."""
    assert FOODS[food].heat_capacity == pytest.approx(cp, rel=0.005)


@pytest.mark.parametrize(
    ("name", "composition", "ashrae"),
    [
        ("carrot", _raw(88.29, 0.93, 0.24, 9.58, 2.8, 0.97), 3920.0),
        ("sweet corn", _raw(76.05, 3.27, 1.35, 18.70, 2.0, 0.62), 3620.0),
        ("lima bean", _raw(70.24, 6.84, 0.86, 20.17, 4.9, 1.89), 3520.0),
        ("leek", _raw(83.00, 1.50, 0.30, 14.15, 1.8, 1.05), 3770.0),
        ("garlic", _raw(58.58, 6.36, 0.50, 33.06, 2.1, 1.50), 3170.0),
        ("globe artichoke", _raw(84.94, 3.27, 0.15, 10.51, 5.4, 1.13), 3900.0),
        ("cod, whole", _raw(81.22, 17.81, 0.67, 0.0, 0.0, 1.16), 3770.0),
        ("haddock, whole", _raw(83.38, 16.32, 0.45, 0.0, 0.0, 1.28), 3770.0),
    ],
)
def test_heat_capacity_against_ashrae(name: str, composition: p.Composition, ashrae: float) -> None:
    """Within 3 % of ASHRAE Handbook Refrigeration 2006 ch. 9 table 3, "specific heat above freezing". Compositions are USDA rows; those of carrot,
    corn, bean, leek and artichoke are from memory."""
    assert p.choi_okos_heat_capacity(composition, 20.0) == pytest.approx(ashrae, rel=0.03), name


@pytest.mark.parametrize("food", ["potato with skin", "russet potato", "cod", "haddock", "onion", "plantain", "rice"])
def test_heat_capacity_against_chen(food: str) -> None:
    """Within 3 % of Chen 1985, cp = 4.19 - 2.30 xs - 0.628 xs^3 with xs the fraction of solids, where food is lean."""
    solids = 1.0 - FOODS[food].water
    chen = 1000.0 * (4.19 - 2.30 * solids - 0.628 * solids**3)
    assert FOODS[food].heat_capacity == pytest.approx(chen, rel=0.03)


@pytest.mark.parametrize(
    ("food", "k", "rho"),
    [
        *(("potato with skin", 0.549, 1075), ("russet potato", 0.548, 1080), ("cod", 0.543, 1048), ("haddock", 0.549, 1044)),
        *(("chicken wing", 0.485, 1033), ("chicken thigh", 0.471, 1028), ("chicken meat", 0.520, 1048), ("onion", 0.575, 1034)),
        *(("plantain", 0.508, 1139), ("frozen fries", 0.504, 1109), ("rice", 0.517, 1124), ("dough", 0.435, 1235)),
    ],
)
def test_conductivity_and_density(food: str, k: float, rho: float) -> None:
    """Conductivity by volume fractions, density by specific volumes: the figures of a second calculation of Choi and Okos' equations."""
    assert FOODS[food].conductivity == pytest.approx(k, abs=0.002)
    assert FOODS[food].density == pytest.approx(rho, abs=2.0)


def test_water_component_is_water() -> None:
    """The water row of Choi and Okos agrees with IAPWS-97 at 20 to 90 C within 0.6 % for heat capacity, density and 1 % for conductivity."""
    water = p.Composition(1.0, 0.0, 0.0, 0.0, 0.0, 0.0)
    for c in (20.0, 60.0, 90.0):
        steam = IAPWS97(T=c + 273.15, P=0.101325)
        assert p.choi_okos_heat_capacity(water, c) == pytest.approx(1000.0 * steam.cp, rel=0.006)
        assert p.choi_okos_density(water, c) == pytest.approx(steam.rho, rel=0.006)
        assert p.choi_okos_conductivity(water, c) == pytest.approx(steam.k, rel=0.012)


def test_latent_heat_against_two_libraries() -> None:
    """The heat of vaporisation is IAPWS-97's (iapws) and IAPWS-95's (CoolProp) within 0.5 kJ/kg."""
    iapws = 1000.0 * (IAPWS97(P=0.101325, x=1).h - IAPWS97(P=0.101325, x=0).h)
    coolprop = PropsSI("H", "P", 101325, "Q", 1, "Water") - PropsSI("H", "P", 101325, "Q", 0, "Water")
    assert pytest.approx(iapws, abs=500.0) == p.LATENT_HEAT
    assert pytest.approx(coolprop, abs=500.0) == p.LATENT_HEAT


def test_heat_of_melting_against_ice() -> None:
    """Heat of fusion at 0 C: water of IAPWS-97 less ice of IAPWS-06 (both in iapws), within 0.5 kJ/kg."""
    water, ice = IAPWS97(T=273.16, P=0.101325).h, _Ice(273.15, 0.101325)["h"]
    assert pytest.approx(1000.0 * (water - ice), abs=500.0) == p.FUSION_HEAT


@pytest.mark.parametrize("altitude", [0, 500, 1000, 1609, 2000, 3000, 4000])
def test_boiling_point_against_iapws(altitude: int) -> None:
    """Water boils where IAPWS-97 says it does at the pressure of the standard atmosphere, within 0.1 K (94.6 C at 1609 m)."""
    pressure = 0.101325 * (1.0 - 2.25577e-5 * altitude) ** 5.25588
    assert p.boiling_point(altitude) == pytest.approx(IAPWS97(P=pressure, x=0).T - 273.15, abs=0.1)


def test_oil_density_and_expansion() -> None:
    """Density 827.5, 819.8 kg/m3 and expansion 1.111, 1.121, 1.134 at 163, 175, 190 C (slope of Noureddini 1992 as quoted in JAOCS 76:1415)."""
    assert [round(p.oil_density(c), 1) for c in (163.0, 175.0)] == [827.5, 819.8]
    for c, expansion in ((163.0, 1.111), (175.0, 1.121), (190.0, 1.134)):
        assert p.oil_expansion(c) == pytest.approx(expansion, abs=0.002)


@pytest.mark.parametrize("c", [20.0, 100.0, 180.0])
def test_oil_heat_capacity_against_triolein(c: float) -> None:
    """The oil's heat capacity is triolein's within the 8 % the line claims; triolein from the `thermo` library."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # other people's deprecations while it loads
        from thermo import Chemical

        triolein = Chemical("122-32-7", T=c + 273.15).Cpl
    assert p.oil_heat_capacity(c) == pytest.approx(triolein, rel=0.08)


@pytest.mark.parametrize(
    ("words", "metres"),
    [
        ("potato sticks 10 mm", 0.010),
        ("10mm sticks", 0.010),
        ("1 cm sticks", 0.010),
        ("quarter-inch sticks", 0.00635),
        ("half inch sticks", 0.0127),
        ("3/8 inch sticks", 0.009525),
        ("three-quarter inch cubes", 0.01905),
        ("one-inch cubes", 0.0254),
        ("sticks", None),
        ("0 mm sticks", None),
        ("1/0 inch sticks", None),
    ],
)
def test_sizes_as_they_are_said(words: str, metres: float | None) -> None:
    """A size is read in mm, cm and fractions of an inch, and is None where none is said or it is nothing."""
    assert size_said(words) == metres


def test_quarter_inch_costs_half_as_much_again() -> None:
    """A quarter-inch stick has about half as much surface again as one of 10 mm."""
    ratio = cut("quarter-inch potato sticks").area_m2_kg / cut("potato sticks 10 mm").area_m2_kg
    assert ratio == pytest.approx(1.5, abs=0.06)


@pytest.mark.parametrize(
    ("words", "says"),
    [("potato sticks", "needs a size"), ("moon dust balls", "no food"), ("potato", "no shape"), ("potato sticks 400 mm", "1 to 100 mm")],
)
def test_unknown_cut_is_one_sentence(words: str, says: str) -> None:
    """Words that name no cut, or leave out the size of a stick, are refused with the way out."""
    with pytest.raises(UnknownCutError, match=says):
        cut(words)


@pytest.mark.parametrize(
    ("words", "food"),
    [
        ("sweet potato wedges", "sweet potato"),
        ("frozen fries 10 mm", "frozen fries"),
        ("russet potato sticks 8 mm", "russet potato"),
        ("battered cod fillets", "cod"),
        ("chicken wings", "chicken wing"),
        ("onion rings", "onion"),
        ("dough balls", "dough"),
        ("prawns", "shrimp"),
    ],
)
def test_food_of_words(words: str, food: str) -> None:
    """The food meant is found whatever else is said, the more particular one first."""
    assert cut(words).food.name == food


def test_surface_water() -> None:
    """Batter brings more water than crumbs, crumbs more than a dry surface, and unpatted potato 10 % (all common practice)."""
    plain, crumbed, battered = cut("cod fillets"), cut("breaded cod fillets"), cut("battered cod fillets")
    assert plain.surface_water(False, False) < crumbed.surface_water(False, False) < battered.surface_water(False, False)
    assert plain.surface_water(False, True) == crumbed.surface_water(False, False)
    sticks = cut("potato sticks 10 mm")
    assert (sticks.surface_water(False, False), sticks.surface_water(True, False)) == (0.0, 0.10)


@pytest.mark.parametrize("name", ["properties", "foods", "pot", "headroom", "life", "quality", "foam", "described"])
def test_worked_examples_in_docstrings(name: str) -> None:
    """The worked examples in the docstrings come out as they are printed."""
    module = importlib.import_module(f"assistant.kitchen.oil.{name}")
    found = doctest.testmod(module)
    assert found.attempted > 0
    assert found.failed == 0
