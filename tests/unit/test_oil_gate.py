"""The gate before a drop: go, hold or never, the reason and the time."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.kitchen.meal import Fry, Heat, Pot
from assistant.kitchen.oil.batch import BatchLimit
from assistant.kitchen.oil.estimate import Learned, PotEstimate, begin
from assistant.kitchen.oil.gate import HARD, Decision, Reason, Verdict, check_drop
from assistant.kitchen.oil.life import OilLife, Sign
from assistant.kitchen.oil.pot import STRONGEST_W, vessel

POT = Pot("p", "pot", 0.30, 0.20, 2.0, oil_kind="sunflower", heat=Heat.INDUCTION, power_w=2100.0)
FRY = Fry(oil_c=165.0, floor_c=145.0, kg=0.6, batches=3, pot="p", cut="potato sticks 10 mm")
USED = OilLife("sunflower", 2.0, uses=1).fry("earlier", "potato", 300.0, 170.0)


def _at(c: float, level: str = "full", pot: Pot = POT) -> PotEstimate:
    """Oil of a pot known from other evenings, just read at `c`, time 600."""
    known = Learned(vessel(pot).power_w, 1.5, 1.0, 0.03, 0.1, 0.1)
    start = begin(vessel(pot), 0.0, strongest_w=STRONGEST_W[pot.heat], stated=True, oil_c=c, learned=known).burner(599.0, level)
    return start.reading(599.0, c, 0.5).reading(600.0, c, 0.5)


def _check(
    c: float = 165.0, *, level: str = "full", kg: float = 0.2, fry: Fry = FRY, pot: Pot = POT, life: OilLife = USED, **more: object
) -> Verdict:
    given = {"batch_kg": kg, "life": life, "swell": 1.5, "patted_dry": True} | more
    return check_drop(fry, pot, _at(c, level, pot), 600.0, **given)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("c", "level", "decision", "reasons"),
    [
        (165.0, "full", Decision.GO, ()),
        (162.6, "full", Decision.GO, ()),  # under and rising
        (162.6, "off", Decision.HOLD, (Reason.COLD,)),  # under and falling
        (164.0, "off", Decision.GO, ()),
        (161.0, "full", Decision.HOLD, (Reason.COLD,)),
        (148.0, "full", Decision.HOLD, (Reason.COLD,)),
        (173.0, "full", Decision.GO, ()),  # fifteen F over still may
        (174.0, "full", Decision.HOLD, (Reason.HOT,)),
        (201.0, "full", Decision.NEVER, (Reason.ABOVE_MAX, Reason.HOT)),
    ],
)
def test_the_band(c: float, level: str, decision: Decision, reasons: tuple[Reason, ...]) -> None:
    """Five degrees F under and rising may go, fifteen over still may (common practice); outside it holds; above 200 C never."""
    verdict = _check(c, level=level)
    assert (verdict.decision, verdict.reasons) == (decision, reasons)


def test_hold_says_how_long() -> None:
    """A hold for cold oil says the time until it may go, and after that time it goes; a hold for hot oil likewise, with the heat off."""
    cold = _check(148.0)
    assert cold.wait_s is not None
    assert 30.0 < cold.wait_s < 180.0
    later = check_drop(FRY, POT, _at(148.0), 600.0 + cold.wait_s, batch_kg=0.2, life=USED, swell=1.5, patted_dry=True)
    assert later.decision is Decision.GO
    hot = _check(180.0)
    assert hot.wait_s is not None
    after = check_drop(FRY, POT, _at(180.0, "off"), 600.0 + hot.wait_s + 1.0, batch_kg=0.2, life=USED, swell=1.5, patted_dry=True)
    assert after.decision is Decision.GO


def test_never_go_on_a_stale_estimate() -> None:
    """With no reading there is no go; nor with an old one after which the estimate has grown unsure. A fresh one goes."""
    never_read = begin(vessel(POT), 0.0, strongest_w=2400.0, stated=True, oil_c=165.0)
    none = check_drop(FRY, POT, never_read, 1.0, batch_kg=0.2, life=USED, swell=1.5)
    assert (none.decision, none.reasons) == (Decision.HOLD, (Reason.NO_READING,))
    old = _at(165.0, "medium")
    stale = check_drop(FRY, POT, old, 600.0 + 420.0, batch_kg=0.2, life=USED, swell=1.5)
    assert Reason.STALE in stale.reasons
    assert check_drop(FRY, POT, old.reading(1020.0, 165.0, 0.5), 1020.0, batch_kg=0.2, life=USED, swell=1.5, patted_dry=True).decision is Decision.GO


def test_batch_too_large_is_a_hold_with_what_may_go() -> None:
    """A batch beyond what this pot holds up is held, and the largest is told with the limit that binds."""
    verdict = _check(kg=0.6)
    assert Reason.TOO_MUCH in verdict.reasons
    assert verdict.most is not None
    assert verdict.most.kg < 0.35
    assert verdict.most.limited_by in (BatchLimit.RATIO, BatchLimit.FLOOR)
    assert verdict.overrulable


def test_fresh_oil_wants_a_test_batch() -> None:
    """The first drop in fresh oil is a small test batch: a full one is held, a small one goes with the reminder."""
    fresh, low = OilLife("sunflower", 1.5), replace(POT, oil_litres=1.5)
    full = _check(kg=0.2, life=fresh, pot=low)
    assert full.reasons == (Reason.TEST_BATCH,)
    small = _check(kg=0.05, life=fresh, pot=low)
    assert small.decision is Decision.GO
    assert small.remind == (Reason.TEST_BATCH,)


def test_headroom_is_hard() -> None:
    """Too full for this food's foam: never, and no word overrules it; wet food, fresh oil or a flame makes it tighter."""
    full = replace(POT, width_m=0.20, height_m=0.14)
    verdict = _check(pot=full)
    assert verdict.decision is Decision.NEVER
    assert verdict.reasons[0] is Reason.HEADROOM
    assert not verdict.overrulable
    tight = replace(POT, width_m=0.24, height_m=0.16)
    assert _check(pot=tight, patted_dry=True).decision is Decision.GO
    wet = _check(pot=tight, patted_dry=False)
    assert wet.reasons[:1] == (Reason.HEADROOM,)
    assert Reason.WET in wet.reasons


def test_evening_swell_counts() -> None:
    """A pot that foamed up tonight swells more, so less fits."""
    tight = replace(POT, width_m=0.24, height_m=0.16)
    assert _check(pot=tight, swell=3.0).decision is Decision.NEVER


def test_unknown_pot_size_claims_nothing() -> None:
    """Without the pot's size the temperature still decides and no headroom is claimed."""
    verdict = _check(pot=replace(POT, width_m=None))
    assert verdict.decision is Decision.GO
    assert verdict.headroom is None


def test_smoke_and_an_oils_own_maximum() -> None:
    """Smoke is never; so is oil above the low end of its own smoke points, 190 C for a blend or reused oil."""
    assert _check(smoke=True).reasons[0] is Reason.SMOKE
    hot = replace(FRY, oil_c=188.0, floor_c=165.0)
    assert _check(191.0, fry=hot).decision is Decision.GO
    assert _check(191.0, fry=hot, life=replace(USED, kind="blend")).reasons == (Reason.ABOVE_MAX,)
    assert _check(191.0, fry=hot, life=replace(USED, uses=3)).reasons == (Reason.ABOVE_MAX,)


def test_old_oil_foams() -> None:
    """Oil near its end, or seen foaming, takes the foamy swell."""
    tight = replace(POT, width_m=0.24, height_m=0.16)
    assert _check(pot=tight, life=USED.seen(Sign.FOAM)).decision is Decision.NEVER
    assert _check(pot=tight, life=replace(USED, tpc=16.0)).decision is Decision.NEVER


@pytest.mark.parametrize(
    ("bread_s", "decision", "reasons"),
    [(None, Decision.HOLD, (Reason.BREAD,)), (55.0, Decision.GO, ()), (40.0, Decision.HOLD, (Reason.HOT,)), (90.0, Decision.HOLD, (Reason.COLD,))],
)
def test_without_a_thermometer(bread_s: float | None, decision: Decision, reasons: tuple[Reason, ...]) -> None:
    """A one-inch bread cube golden in 50 to 60 s may go at 350 F, and is called a guess (common practice); batches are halved."""
    verdict = check_drop(
        replace(FRY, oil_c=177.0, floor_c=160.0), POT, None, 600.0, batch_kg=0.1, life=USED, swell=1.5, patted_dry=True, bread_s=bread_s
    )
    assert (verdict.decision, verdict.reasons, verdict.guess) == (decision, reasons, True)
    assert verdict.most is not None
    assert verdict.most.limited_by is BatchLimit.NO_THERMOMETER


def test_nothing_said_of_drying_is_a_reminder() -> None:
    """Nobody said it was patted dry: a reminder, no hold; coated food is not asked."""
    assert _check(patted_dry=None).remind == (Reason.WET,)
    assert _check(patted_dry=None, fry=replace(FRY, coated=True)).remind == ()


def test_unknown_cut_leaves_size_to_the_card() -> None:
    """A cut that the table does not know has no largest batch, and the rest is still checked."""
    verdict = _check(fry=replace(FRY, cut="moon dust"))
    assert verdict.most is None
    assert verdict.decision is Decision.GO
    assert _check(140.0, fry=replace(FRY, cut="moon dust")).decision is Decision.HOLD


@settings(max_examples=40, deadline=None)
@given(
    c=st.floats(100.0, 230.0),
    kg=st.floats(0.02, 1.0),
    swell=st.floats(1.5, 3.0),
    level=st.sampled_from(["full", "off", "small"]),
    smoke=st.booleans(),
)
def test_never_go_above_a_hard_limit(c: float, kg: float, swell: float, level: str, smoke: bool) -> None:
    """Whatever the batch, flame and foam: no go with smoke, oil above its maximum, or no headroom; and such a verdict is never overrulable."""
    verdict = _check(c, kg=kg, swell=swell, level=level, smoke=smoke)
    broken = smoke or c > 200.0 or (verdict.headroom is not None and not verdict.headroom.ok)
    if broken:
        assert verdict.decision is Decision.NEVER
        assert not verdict.overrulable
    assert (verdict.decision is Decision.GO) == (not verdict.reasons)
    assert (verdict.decision is Decision.NEVER) == bool(HARD & set(verdict.reasons))
