"""Headroom and the largest batch: fire-service rules, worked pots, and which limit binds."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from assistant.kitchen.limits import batch_limits, heat_time
from assistant.kitchen.meal import Fry, Heat, Pot, Span, Step, StepKind
from assistant.kitchen.oil.batch import BatchLimit, first_drop, largest_batch
from assistant.kitchen.oil.foods import cut
from assistant.kitchen.oil.headroom import SWELL_FOAMY, Limit, food_that_fits, headroom, pot_fits, pot_headroom
from assistant.kitchen.oil.pot import Load, Vessel, lowest

STICKS = cut("potato sticks 10 mm")


@pytest.mark.parametrize(("wide", "high", "litres"), [(26, 15, 2.34), (24, 13, 1.73), (28, 20, 3.62), (22, 18, 2.01)])
def test_four_pots(wide: int, high: int, litres: float) -> None:
    """Most oil, measured cold, in four pots: a third of each when hot. The third is the rule of Scottish, South Yorkshire, Cumbria, Cheshire,
    Cornwall, Kent and Norfolk fire services and of the Pennsylvania State Fire Commissioner."""
    found = headroom(wide / 100, high / 100, 1.0, 175.0, 0.4, 1075.0)
    assert found.cold_l_max == pytest.approx(litres, abs=0.005)
    assert found.limit is Limit.THIRD


def test_levels_of_the_worked_pots() -> None:
    """2 l cold in a 26 cm pot: 42.2 mm hot, 49.2 with 400 g, 57 bubbling at S 1.18; 20 cm pot: 83.2 and 105 at 1.30 (second program, 1 mm)."""
    wide = headroom(0.26, 0.15, 2.0, 175.0, 0.4, 1075.0, swell=1.18)
    narrow = headroom(0.20, 0.15, 2.0, 175.0, 0.4, 1075.0, swell=1.30)
    assert (wide.level_mm, 150.0 - wide.rim_mm) == pytest.approx((49.2, 57.0), abs=1.0)
    assert (narrow.level_mm, 150.0 - narrow.rim_mm) == pytest.approx((83.2, 105.0), abs=1.0)


@pytest.mark.parametrize(
    ("food_kg", "swell", "flame", "limit"),
    [(0.4, 1.5, False, Limit.THIRD), (2.5, 1.5, False, Limit.HALF), (0.1, 3.0, False, Limit.FOAM), (0.1, 3.0, True, Limit.FLAME)],
)
def test_the_tightest_wins_by_name(food_kg: float, swell: float, flame: bool, limit: Limit) -> None:
    """Each rule binds somewhere: a third, half with a lot of food (Norfolk Fire & Rescue), foam at swell 3, foam over a flame."""
    assert headroom(0.26, 0.15, 2.0, 175.0, food_kg, 1075.0, swell=swell, open_flame=flame).limit is limit


def test_half_with_food() -> None:
    """The half rule alone would allow 3.18 l with 400 g in a 26 x 15 cm pot: what is left of half the pot when the food's volume is taken off."""
    base = math.pi * 0.13**2
    cold = (0.075 * base - 0.4 / 1075.0) * 1000.0 / (919.0 / (919.0 - 0.64 * 170.0))
    assert cold == pytest.approx(3.18, abs=0.01)
    assert headroom(0.26, 0.15, 2.0, 175.0, 2.0, 1075.0).cold_l_max == pytest.approx((0.075 * base - 2.0 / 1075.0) * 1000.0 / 1.1343, abs=0.01)


def test_a_fryer_goes_by_its_marks() -> None:
    """An electric fryer has no figure of ours: its marks decide, even where its size is not known."""
    assert headroom(0.2, 0.15, 3.0, 175.0, 0.4, 1075.0, marks=True).cold_l_max is None
    unknown = pot_headroom(Pot("f", "fryer", None, None, None, heat=Heat.FRYER), 175.0, 0.4, 1075.0, 1.5)
    assert unknown is not None
    assert unknown.ok
    assert unknown.limit is Limit.MARKS


def test_unknown_size_has_no_headroom() -> None:
    """Of a pot nobody measured nothing is claimed."""
    assert pot_headroom(Pot("p", "pot", None, 0.15, 2.0), 175.0, 0.4, 1075.0, 1.5) is None
    assert pot_fits(Pot("p", "pot", None, 0.15, 2.0), 175.0, 1075.0, 1.5) == math.inf


def test_sizes_must_be_sizes() -> None:
    """A pot without width is a mistake of the caller."""
    with pytest.raises(ValueError, match="above zero"):
        headroom(0.0, 0.15, 2.0, 175.0, 0.4, 1075.0)


pots = st.tuples(st.floats(0.15, 0.4), st.floats(0.08, 0.35), st.floats(0.3, 6.0), st.floats(1.0, 3.0), st.booleans())


@given(pot=pots, kg=st.floats(0.0, 2.0))
def test_what_fits_is_ok_and_more_is_not(pot: tuple[float, float, float, float, bool], kg: float) -> None:
    """`food_that_fits` and `headroom` are one rule seen from two sides."""
    wide, high, litres, swell, flame = pot
    fits = food_that_fits(wide, high, litres, 190.0, 1075.0, swell=swell, open_flame=flame)
    assume(abs(kg - fits) > 1e-6)
    found = headroom(wide, high, litres, 190.0, kg, 1075.0, swell=swell, open_flame=flame)
    if kg < fits:
        assert found.ok
        assert found.rim_mm >= (40.0 if flame else 20.0) - 1e-6
        assert found.level_mm <= high * 500.0 + 1e-6
    elif kg > fits:
        assert not found.ok


def _largest(power: float, fits: float = math.inf, floor: float = 148.0, **more: bool) -> tuple[float, BatchLimit]:
    found = largest_batch(Vessel(2.0, power_w=power), lambda kg: Load(STICKS, kg), 163.0, floor, fits, **more)
    return found.kg, found.limited_by


@pytest.mark.parametrize(
    ("power", "fits", "by"),
    [(2500.0, math.inf, BatchLimit.RATIO), (800.0, math.inf, BatchLimit.FLOOR), (2500.0, 0.1, BatchLimit.HEADROOM)],
)
def test_which_limit_binds(power: float, fits: float, by: BatchLimit) -> None:
    """The ratio, the floor or the headroom sets the batch, and the right one is named."""
    kg, limit = _largest(power, fits)
    assert limit is by
    if by is BatchLimit.RATIO:
        assert kg == pytest.approx(2.0 * 0.919 / 6.0)
    if by is BatchLimit.FLOOR:
        assert lowest(Vessel(2.0, power_w=power), Load(STICKS, kg), 163.0)[0] >= 148.0
        assert lowest(Vessel(2.0, power_w=power), Load(STICKS, kg + 0.005), 163.0)[0] < 148.0


def test_halved_without_a_thermometer_and_small_in_fresh_oil() -> None:
    """No thermometer halves the batch; the first drop in fresh oil is a quarter of one, at most 100 g."""
    whole, _ = _largest(1200.0)
    assert _largest(1200.0, thermometer=False) == (pytest.approx(whole / 2.0), BatchLimit.NO_THERMOMETER)
    assert _largest(1200.0, fresh_oil=True) == (pytest.approx(first_drop(whole)), BatchLimit.FRESH)
    assert first_drop(2.0) == 0.1


@given(power=st.floats(400.0, 3000.0), more=st.floats(0.0, 1000.0))
def test_more_power_never_a_smaller_batch(power: float, more: float) -> None:
    """The largest batch grows, or stays, with the burner."""
    assert _largest(power + more)[0] >= _largest(power)[0] - 0.003


def test_told_in_pieces_or_handfuls() -> None:
    """Sticks are counted in handfuls of 100 g, wings in whole pieces."""
    sticks = largest_batch(Vessel(2.0, 1200.0), lambda kg: Load(STICKS, kg), 163.0, 148.0, math.inf)
    wings = largest_batch(Vessel(3.0, 1800.0), lambda kg: Load(cut("chicken wings"), kg), 175.0, 160.0, math.inf)
    assert (sticks.words, sticks.pieces) == ("2 handfuls", None)
    assert wings.pieces == int(wings.kg / cut("chicken wings").piece_kg)
    assert wings.words == f"{wings.pieces} pieces"


def _fry(kg: float, batches: int, **more: object) -> Step:
    fry = Fry(**({"oil_c": 163.0, "floor_c": 148.0, "kg": kg, "batches": batches, "pot": "p", "cut": "potato sticks 10 mm"} | more))  # type: ignore[arg-type]
    return Step("chips-first-fry", "first fry", ("first fry",), "chips", StepKind.FRY, Span(240.0, 300.0, 360.0), 60.0, fry=fry)


POT = Pot("p", "pot", 0.26, 0.15, 2.0, heat=Heat.GAS, power_w=3000.0)


def test_batch_limits_for_the_planner() -> None:
    """The card's batch stands while it keeps inside the limits; a larger one is cut down to them and the limit is named; too full gives nothing."""
    card = batch_limits(_fry(0.4, 2), POT)
    assert (card.most_kg, card.limited_by) == (0.2, "the card")
    less = batch_limits(_fry(1.2, 2), POT)
    assert less.most_kg < 0.31
    assert less.limited_by == str(BatchLimit.FLOOR)
    assert less.recovery_s > 0.0
    full = batch_limits(_fry(0.4, 2), Pot("p", "pot", 0.20, 0.12, 2.0))
    assert (full.most_kg, full.limited_by, full.recovery_s) == (0.0, "headroom", 0.0)


def test_batch_limits_in_whole_pieces() -> None:
    """Countable food is cut down to whole pieces."""
    limits = batch_limits(_fry(1.2, 1, cut="chicken pieces 30 mm", pieces=20, wet=True), POT)
    assert limits.most_pieces is not None
    assert limits.most_kg == pytest.approx(limits.most_pieces * 0.06)


def test_batch_limits_of_an_unknown_cut_are_the_cards() -> None:
    """What the table of foods does not know is left to the card."""
    limits = batch_limits(_fry(1.2, 2, cut="moon dust"), POT)
    assert (limits.most_kg, limits.limited_by) == (0.6, "the card")


def test_only_a_fry_has_batches() -> None:
    """A step that does not fry has no batch."""
    with pytest.raises(ValueError, match="does not fry"):
        batch_limits(Step("a", "a", ("a",), "d", StepKind.HANDS, Span(1, 2, 3), 1.0), POT)


def test_heat_time_for_the_planner() -> None:
    """Unstated power heats slower than a stated 3 kW ring; cooling 175 to 163 C alone takes some minutes, and standing still none."""
    slow = heat_time(Pot("p", "pot", 0.26, 0.15, 2.0), 20.0, 163.0)
    assert heat_time(POT, 20.0, 163.0) < slow < 1200.0
    assert 120.0 < heat_time(POT, 175.0, 163.0) < 600.0
    assert heat_time(POT, 163.0, 163.0) == 0.0


def test_foamy_first_drop_over_a_flame_is_tight() -> None:
    """2 l cold in a 26 x 15 cm pot over gas leaves no room for fresh oil's foam; on induction a test batch fits."""
    assert food_that_fits(0.26, 0.15, 2.0, 175.0, 1075.0, swell=SWELL_FOAMY, open_flame=True) == 0.0
    assert food_that_fits(0.26, 0.15, 1.6, 175.0, 1075.0, swell=SWELL_FOAMY, open_flame=True) > 0.1
