"""Oil life, foam, quality and a pot told by voice."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.kitchen.meal import Heat, Pot
from assistant.kitchen.oil.described import PotTold, ToldError, described, nominal_power
from assistant.kitchen.oil.estimate import Learned
from assistant.kitchen.oil.foam import Foam, FoamUp
from assistant.kitchen.oil.kept import KeptError, KeptPot, read, write
from assistant.kitchen.oil.life import OILS, REUSED_SMOKE_C, OilLife, Sign, Verdict, movable_in
from assistant.kitchen.oil.pot import Vessel, vessel
from assistant.kitchen.oil.quality import LOOKS, BatchFacts, Cause, explain


@pytest.mark.parametrize(("kind", "least_h", "most_h"), [("canola", 17.0, 20.5), ("peanut", 17.0, 20.5), ("extra virgin olive", 27.0, 60.0)])
def test_hours_to_a_quarter_polar(kind: str, least_h: float, most_h: float) -> None:
    """Potatoes at 175 C bring canola and peanut oil to 25 % after 18 to 20 h, extra virgin olive after more than 28 h (Santos 2018, J. Food Sci.
    Technol., abstract; an hour's band for the 4 % assumed at the start)."""
    oil, hours = OilLife(kind, 2.0), 0.0
    while oil.tpc < 25.0:
        oil, hours = oil.hot(900.0, 175.0, "potato"), hours + 0.25
    assert least_h <= hours <= most_h


@given(hours=st.floats(0.1, 30.0), c=st.floats(130.0, 200.0), food=st.sampled_from([None, "potato", "coated", "fish"]))
def test_oil_never_gets_younger(hours: float, c: float, food: str | None) -> None:
    """Time in the heat only ages oil; hotter ages faster, idle slower than frying; the band holds the estimate."""
    oil = OilLife("sunflower", 2.0)
    aged = oil.hot(hours * 3600.0, c, food)
    assert aged.tpc > oil.tpc
    assert aged.hot(3600.0, c + 10.0, food).tpc > aged.hot(3600.0, c, food).tpc
    assert oil.hot(3600.0, c, None).tpc < oil.hot(3600.0, c, "potato").tpc
    assert aged.band[0] <= aged.tpc <= aged.band[1]
    assert oil.hot(3600.0, 120.0, food) == oil


def test_topping_up_dilutes() -> None:
    """A litre of fresh oil in a litre at 20 % gives 12 %; topping up by nothing is refused."""
    oil = OilLife("canola", 1.0, tpc=20.0).top_up(1.0)
    assert (oil.tpc, oil.litres, oil.topped_up) == (12.0, 2.0, 1.0)
    with pytest.raises(ValueError, match="more than nothing"):
        oil.top_up(0.0)


@pytest.mark.parametrize(
    ("tpc", "signs", "verdict"),
    [
        (10.0, (), Verdict.KEEP),
        (15.0, (), Verdict.SOON),
        (23.0, (), Verdict.DISCARD),
        (5.0, (Sign.SMOKE,), Verdict.DISCARD),
        (5.0, (Sign.FOAM,), Verdict.DISCARD),
    ],
)
def test_when_an_oil_ends(tpc: float, signs: tuple[Sign, ...], verdict: Verdict) -> None:
    """The estimate warns at 14 % and ends an oil at 22 %; what the senses say goes first: smoke or lasting foam ends it at once."""
    assert OilLife("canola", 2.0, tpc=tpc).seen(*signs).verdict is verdict


def test_the_log_of_an_evening() -> None:
    """What was fried, for how long, which allergens touched it, and how often it was used are all kept."""
    oil = OilLife("canola", 2.0)
    assert oil.fresh
    oil = oil.fry("cod", "fish", 300.0, 180.0, frozenset({"fish", "wheat"})).fry("chips", "potato", 300.0, 175.0).evening()
    assert not oil.fresh
    assert [f.name for f in oil.fried] == ["cod", "chips"]
    assert (oil.hot_s, oil.uses) == (600.0, 1)
    assert oil.not_for(frozenset()) == {"fish", "wheat"}
    assert oil.not_for(frozenset({"egg"})) == {"fish", "wheat", "egg"}


def test_reused_oil_smokes_earlier() -> None:
    """An oil's maximum is the low end of its smoke points, never above 200 C; reused or unknown oil 190 C."""
    assert OilLife("peanut", 2.0).most_c == 200.0
    assert OilLife("peanut", 2.0, uses=2).most_c == REUSED_SMOKE_C
    assert OilLife("what was left", 2.0).most_c == 190.0
    assert OILS["virgin coconut"].most_c == 177.0


def test_when_a_pot_may_be_moved() -> None:
    """2 l from 180 C are 40 C after 2.0 h by a second calculation (tau 52 min; 25 C room), at least 2 h by practice; 3 l or cast iron at least
    three; cool oil at once; a hot room never divides by nothing."""
    pot = Vessel(2.0)
    assert movable_in(pot, 180.0) == pytest.approx(2.0 * 3600.0, rel=0.06)
    assert movable_in(Vessel(3.0), 180.0) >= 3 * 3600.0
    assert movable_in(pot, 180.0, heavy=True) >= 3 * 3600.0
    assert movable_in(pot, 39.0) == 0.0
    assert 0.0 < movable_in(pot, 60.0) < movable_in(pot, 120.0)
    assert movable_in(Vessel(2.0, room_c=45.0), 100.0) > 0.0


def test_foam_raises_the_swell_for_two_evenings() -> None:
    """1.5 to 2.25 to 3.0 and no further; kept this evening and the next, then back; every time is remembered."""
    up = FoamUp(900.0, 0.3, 2.0, 1, 168.0)
    once = Foam().foamed(up)
    twice = once.foamed(up).foamed(up)
    assert (once.swell, twice.swell, len(twice.ups)) == (2.25, 3.0, 3)
    assert once.evening_over().swell == 2.25
    assert once.evening_over().evening_over().swell == 1.5
    assert Foam().evening_over() == Foam()


GOOD = BatchFacts(165.0, 150.0, 165.0, 155.0, 167.0, 164.0, 300.0, 300.0)


@pytest.mark.parametrize(
    ("look", "facts", "cause"),
    [
        ("greasy", {"lowest_c": 140.0}, Cause.TOO_MUCH),
        ("pale", {"lowest_c": 140.0, "dropped_c": 155.0}, Cause.COLD_START),
        ("greasy", {"lifted_c": 152.0}, Cause.COLD_END),
        ("greasy", {}, Cause.DRAIN),
        ("soft", {"seconds": 200.0}, Cause.SHORT),
        ("soft", {}, Cause.STEAM),
        ("pale", {}, Cause.EVEN),
        ("dark", {"hottest_c": 180.0}, Cause.HOT),
        ("dark", {"seconds": 400.0}, Cause.LONG),
        ("dark", {}, Cause.SUGAR),
    ],
)
def test_quality_from_the_curve(look: str, facts: dict[str, float], cause: Cause) -> None:
    """The cause is read from the batch's own curve: cold oil before time, time before anything else."""
    from dataclasses import replace

    assert explain(look, replace(GOOD, **facts)).cause is cause


@given(look=st.sampled_from(LOOKS), lowest=st.floats(110.0, 165.0), seconds=st.floats(60.0, 600.0), lifted=st.floats(120.0, 175.0))
def test_changes_stay_in_reason(look: str, lowest: float, seconds: float, lifted: float) -> None:
    """A change never makes the next batch bigger, under half, the oil hotter than 190 C, or the time nothing."""
    change = explain(look, BatchFacts(188.0, 170.0, 188.0, lowest, 189.0, lifted, seconds, 300.0))
    assert 0.5 <= change.kg <= 1.0
    assert 188.0 + change.oil_k <= 190.0
    assert seconds + change.seconds > 0.0


def test_an_unknown_look_is_refused() -> None:
    """Only four looks have causes."""
    with pytest.raises(ValueError, match="none of"):
        explain("sad", GOOD)


def test_a_pot_is_asked_for_piece_by_piece() -> None:
    """Width, height, oil, burner, in this order, and no more once it is all there; a fryer is only asked its oil and power."""
    told = PotTold()
    asked = []
    for more in ({"width_m": 0.26}, {"height_m": 0.15}, {"depth_m": 0.03}, {"ring": "large"}):
        asked.append(told.missing(Heat.GAS))
        told = PotTold(**({n: getattr(told, n) for n in PotTold.__slots__} | more))  # type: ignore[arg-type]
    assert asked == ["width", "height", "oil", "burner"]
    assert told.missing(Heat.GAS) is None
    assert PotTold().missing(Heat.FRYER) == "oil"
    assert PotTold(litres=3.0, power_unknown=True).missing(Heat.FRYER) is None


CARD = Pot("p", "pot", 0.24, 0.13, 1.5)


@pytest.mark.parametrize(
    ("told", "litres"),
    [(PotTold(litres=2.0), 2.0), (PotTold(width_m=0.26, depth_m=0.0377), 2.0), (PotTold(), 1.5)],
)
def test_oil_by_litres_or_depth(told: PotTold, litres: float) -> None:
    """Oil is litres as said, or width and depth; unsaid is the card's."""
    assert described(CARD, told).oil_litres == pytest.approx(litres, abs=0.01)


def test_burner_by_size_or_power_or_not_at_all() -> None:
    """A large gas ring is 3 kW, 1.2 in the oil; watts as said; unknown stays unknown, which counts as 1.0 kW."""
    assert vessel(described(CARD, PotTold(ring="large"))).power_w == pytest.approx(1200.0)
    assert nominal_power(PotTold(power_w=1800.0), Heat.COIL) == 1800.0
    assert described(CARD, PotTold(power_unknown=True)).power_w is None
    assert vessel(described(CARD, PotTold(power_unknown=True))).power_w == 1000.0


@pytest.mark.parametrize(
    ("told", "what"),
    [
        (PotTold(width_m=2.6), "width"),
        (PotTold(height_m=0.01), "height"),
        (PotTold(litres=100.0), "oil"),
        (PotTold(power_w=5.0), "power"),
        (PotTold(width_m=0.3, height_m=0.1, depth_m=0.2), "depth of oil"),
    ],
)
def test_sizes_outside_sense_are_refused(told: PotTold, what: str) -> None:
    """A pot of 2.6 m is a slip of the tongue, and oil deeper than the pot is high cannot be: the error says which size and what it should be."""
    with pytest.raises(ToldError, match=what) as refused:
        described(CARD, told)
    assert refused.value.what == what
    assert not refused.value.least <= refused.value.value <= refused.value.most


def test_a_pot_is_kept_between_evenings() -> None:
    """What a pot taught, its oil's log and its foam go through JSON text and come back the same; by the next evening the oil has one use more."""
    oil = OilLife("canola", 2.0).fry("cod", "fish", 300.0, 180.0, frozenset({"fish", "wheat"})).seen(Sign.DARK)
    pot = KeptPot(oil, Foam().foamed(FoamUp(900.0, 0.3, 2.0, 1, None)), Learned(1200.0, 1.5, 1.1, 0.05, 0.2, 0.1))
    assert read(write(pot)) == pot
    later = pot.next_evening()
    assert (later.oil.uses, later.foam.swell) == (1, 2.25)
    assert later.next_evening().foam.swell == 1.5
    assert KeptPot(OilLife("canola", 2.0)).next_evening().oil.uses == 0


@pytest.mark.parametrize(
    "text", ["", "[]", "{}", '{"oil": {"kind": "canola", "litres": "many"}}', '{"oil": {"kind": "a", "litres": 2}, "learned": {"power_w": 0}}']
)
def test_a_kept_text_that_is_none(text: str) -> None:
    """A kept file that was cut short or edited by hand is one sentence, not a wrong pot."""
    with pytest.raises(KeptError, match="cannot be read"):
        read(text)
