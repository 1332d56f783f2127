"""The ledger of perishable food at the edges of the published rules."""

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.kitchen.food_clocks import (
    COLD_C,
    COOL_FIRST_C,
    DAY,
    HOT_C,
    HOUR,
    KINDS,
    Kind,
    Place,
    Stay,
    counter_limit,
    counter_source,
    kind_of_ingredient,
    kind_of_step,
    place_limit,
    place_of,
    place_of_keep,
    refusals,
)
from assistant.kitchen.growth import growth_between, growth_rate
from assistant.kitchen.ledger import (
    Ended,
    Event,
    Ledger,
    Made,
    Moved,
    Read,
    Room,
    apply,
    can_still_be_eaten,
    from_json,
    next_change,
    put_away,
    rebased,
    to_json,
)
from assistant.kitchen.meal import Amount, Dish, Ingredient, Keep, Span, Step, StepKind
from assistant.kitchen.notices import Notice, Severity, due

MIN = 60.0


def after(*events: Event) -> Ledger:
    """The ledger after these events."""
    ledger = Ledger()
    for event in events:
        ledger, _ = apply(ledger, event)
    return ledger


def made(kind: Kind = Kind.COOKED_POULTRY, place: Place = Place.COUNTER, t: float = 0.0, hot: bool = False, item: str = "wings") -> Made:
    """A thing made."""
    return Made(t, item, "wings", kind, place, hot)


def severities(ledger: Ledger, t: float) -> list[Severity]:
    """What is due, by severity."""
    return [n.severity for n in due(ledger, t)]


@pytest.mark.parametrize(("room", "limit"), [(20.0, 2 * HOUR), (25.0, 2 * HOUR), (32.3, HOUR), (34.0, HOUR)])
def test_two_hours_and_one_hour_at_their_edges(room: float, limit: float) -> None:
    """USDA FSIS: two hours at room temperature, one above 90 F (32.2 C): one second before it may be eaten, one second after it is discarded."""
    ledger = after(Room(0.0, room), made())
    assert Severity.HIGH not in severities(ledger, limit - 1.0)
    assert severities(ledger, limit + 1.0) == [Severity.HIGH]
    assert can_still_be_eaten(ledger, "wings", limit - 1.0)
    assert not can_still_be_eaten(ledger, "wings", limit + 1.0)


def test_it_speaks_half_an_hour_before_and_says_what_to_do() -> None:
    """Blanched potatoes out ninety minutes: fridge or fry within thirty."""
    ledger = after(Made(0.0, "p", "blanched potatoes", Kind.BLANCHED, Place.COUNTER))
    assert due(ledger, 90 * MIN - 1.0) == ()
    (notice,) = due(ledger, 90 * MIN)
    assert notice.severity is Severity.MEDIUM
    assert notice.say == "Blanched potatoes out one hour thirty: fridge or fry within thirty minutes."
    assert notice.by_s == pytest.approx(2 * HOUR)
    (over,) = due(ledger, 2 * HOUR)
    assert over.say == "Discard the blanched potatoes: out too long."


def test_the_fridge_gives_no_time_back() -> None:
    """Counter time is added up over trips, and food over its limit stays over in the fridge."""
    ledger = after(made(), Moved(HOUR, "wings", Place.FRIDGE), Moved(5 * HOUR, "wings", Place.COUNTER))
    assert Severity.HIGH not in severities(ledger, 6 * HOUR - 1.0)
    assert severities(ledger, 6 * HOUR + 1.0) == [Severity.HIGH]
    late, said = apply(ledger, Moved(7 * HOUR, "wings", Place.FRIDGE))
    assert said == ("Too late: discard the wings.",)
    assert severities(late, 8 * HOUR) == [Severity.HIGH]


def test_a_warm_room_counts_by_share() -> None:
    """Eighty minutes at 25 C leave a third of the hour that a room above 90 F allows: total time never passes either rule."""
    ledger = after(made(), Room(80 * MIN, 33.0))
    assert Severity.HIGH not in severities(ledger, 100 * MIN - 1.0)
    assert severities(ledger, 100 * MIN + 1.0) == [Severity.HIGH]


@settings(deadline=None)
@given(st.floats(-5.0, 45.0), st.sampled_from(list(Kind)), st.none() | st.floats(-5.0, 100.0))
def test_growth_only_ever_tightens(room: float, kind: Kind, food: float | None) -> None:
    """Whatever the model says, a counter limit is never longer than USDA's clock, and it has a source."""
    clock = HOUR if room > (90 - 32) / 1.8 else 2 * HOUR
    limit = counter_limit(kind, room, food)
    assert 0.0 < limit <= clock
    assert counter_source(kind, room)


def test_a_warm_room_is_tightened_by_growth() -> None:
    """At 30 C growth allows 80 minutes of the two hours: as much as two hours at 25 C (Oscar 2002 by Ratkowsky's form)."""
    limit = counter_limit(Kind.COOKED, 30.0)
    assert growth_rate(30.0) * limit / HOUR == pytest.approx(growth_between(25, 25, 2 * HOUR))
    assert counter_limit(Kind.COOKED, 22.0, food_c=40.0) < HOUR
    assert "Oscar" in counter_source(Kind.COOKED, 30.0)


@pytest.mark.parametrize(
    ("at", "celsius", "over"),
    [
        (2 * HOUR - 1, COOL_FIRST_C + 0.1, False),
        (2 * HOUR + 1, COOL_FIRST_C, False),
        (2 * HOUR + 1, COOL_FIRST_C + 0.1, True),
        (6 * HOUR - 1, COLD_C + 0.1, False),
        (6 * HOUR + 1, COLD_C + 0.1, True),
        (6 * HOUR + 1, COLD_C, False),
    ],
)
def test_cooling_deadlines_at_their_edges(at: float, celsius: float, over: bool) -> None:
    """FDA Food Code 3-501.14: from 135 to 70 F within two hours, to 41 F within six, one second and a tenth of a degree either way."""
    ledger = after(made(Kind.COOKED, Place.FRIDGE, hot=True), Read(at, "wings", celsius))
    assert (Severity.HIGH in severities(ledger, at)) is over


def test_cooling_asks_for_a_reading_and_then_warns() -> None:
    """Half an hour before 70 F is due a reading is wanted; a warm reading asks for the ice bath; silence after a warm reading ends it."""
    ledger = after(made(Kind.RICE, Place.FRIDGE, hot=True))
    assert severities(ledger, 90 * MIN) == [Severity.LOW]
    assert due(ledger, 90 * MIN)[0].say == "Read the wings: under 70 within thirty minutes?"
    warm = after(made(Kind.RICE, Place.FRIDGE, hot=True), Read(95 * MIN, "wings", 30.0))
    assert severities(warm, 95 * MIN) == [Severity.MEDIUM]
    assert "ice bath" in due(warm, 95 * MIN)[0].say
    assert severities(warm, 2 * HOUR + 1.0) == [Severity.HIGH]
    cold = after(made(Kind.RICE, Place.FRIDGE, hot=True), Read(95 * MIN, "wings", 4.0))
    assert due(cold, 3 * HOUR) == ()


def test_food_that_warms_up_again_while_cooling_is_on_the_counters_clock() -> None:
    """Read at 60 F in time, then at 86 F: no deadline failed, but two hours run from there, and a cold reading stops them."""
    warmed = after(made(Kind.COOKED, Place.ICE, hot=True), Read(HOUR, "wings", 15.0), Read(3 * HOUR, "wings", 24.0))
    assert Severity.HIGH not in severities(warmed, 3 * HOUR)
    assert Severity.HIGH in severities(warmed, 5 * HOUR + 1.0)
    cold, _ = apply(warmed, Read(4 * HOUR, "wings", 4.0))
    assert due(cold, 9 * HOUR) == ()


def test_cooling_unread_is_asked_for_and_not_thrown_away() -> None:
    """Food that went into the fridge in time and was read at 65 F is asked for again before six hours, never discarded for silence."""
    ledger = after(made(Kind.COOKED, Place.FRIDGE, hot=True), Read(HOUR, "wings", 18.0))
    assert severities(ledger, 5.5 * HOUR) == [Severity.LOW]
    assert severities(ledger, 7 * HOUR) == [Severity.LOW]


def test_a_hot_hold_that_nobody_reads_has_four_hours() -> None:
    """FDA Food Code 3-501.19: time control from 135 F, four hours, then discard; a reading is wanted after two."""
    ledger = after(made(place=Place.HOT))
    assert due(ledger, 2 * HOUR - 1.0) == ()
    assert severities(ledger, 2 * HOUR) == [Severity.LOW]
    assert severities(ledger, 3 * HOUR) == [Severity.MEDIUM]
    assert Severity.HIGH not in severities(ledger, 4 * HOUR - 1.0)
    assert severities(ledger, 4 * HOUR + 1.0) == [Severity.HIGH]


@pytest.mark.parametrize(("celsius", "end"), [(HOT_C, 7.0), (HOT_C - 0.1, 3.5)])
def test_hot_holding_at_135(celsius: float, end: float) -> None:
    """FDA Food Code 3-501.16: 135 F read at three hours begins four new hours; a tenth of a degree less counts as the counter from there."""
    ledger = after(made(place=Place.HOT), Read(3 * HOUR, "wings", celsius))
    assert Severity.HIGH not in severities(ledger, end * HOUR - 1.0)
    assert severities(ledger, end * HOUR + 1.0) == [Severity.HIGH]


def test_a_lukewarm_hour_in_the_hot_hold_is_not_given_back() -> None:
    """Read too cool, then hot again: the lukewarm time stays counted."""
    lukewarm = after(made(place=Place.HOT), Read(1.0, "wings", 50.0), Read(HOUR, "wings", 70.0))
    assert lukewarm.items["wings"].used == pytest.approx((HOUR - 1.0) / counter_limit(Kind.COOKED_POULTRY, 25.0, 50.0) + 1.0 / (4 * HOUR))


def test_a_warm_fridge_counts_as_the_counter() -> None:
    """FDA Food Code 3-501.16: cold is 41 F or less; at 50 F in the fridge the counter's clock runs until it is read cold again."""
    ledger, said = apply(after(made(Kind.RAW_FISH, Place.FRIDGE)), Read(HOUR, "wings", 10.0))
    assert said == ("Wings: the fridge is too warm.",)
    assert Severity.HIGH in severities(ledger, 3 * HOUR + 1.0)
    cold, _ = apply(ledger, Read(2 * HOUR, "wings", COLD_C))
    assert due(cold, 5 * HOUR) == ()


@pytest.mark.parametrize(
    ("kind", "days"),
    [(Kind.LEFTOVERS, 4), (Kind.GARLIC_OIL, 4), (Kind.RICE, 1), (Kind.COOKED_POULTRY, 4)],
)
def test_days_in_the_fridge(kind: Kind, days: int) -> None:
    """USDA (leftovers 3 to 4 days), CDC and NCHFP (garlic in oil 4 days), UK Food Standards Agency (rice 24 hours): one second either way."""
    ledger = after(made(kind, Place.FRIDGE))
    assert severities(ledger, days * DAY - 1.0) == [Severity.MEDIUM]
    assert severities(ledger, days * DAY + 1.0) == [Severity.HIGH]


def test_rice_is_cooled_within_the_hour() -> None:
    """UK Food Standards Agency: rice is out an hour at most."""
    ledger = after(made(Kind.RICE))
    assert Severity.HIGH not in severities(ledger, HOUR - 1.0)
    assert severities(ledger, HOUR + 1.0) == [Severity.HIGH]


def test_frozen_food_has_no_clock() -> None:
    """The freezer stops a clock and keeps its count."""
    ledger = after(made(), Moved(HOUR, "wings", Place.FREEZER))
    assert due(ledger, 90 * DAY) == ()
    assert next_change(ledger, 0.0) is None
    out, _ = apply(ledger, Moved(90 * DAY, "wings", Place.COUNTER))
    assert severities(out, 90 * DAY + HOUR + 1.0) == [Severity.HIGH]


def test_an_unknown_thing_gets_a_clock() -> None:
    """Food that nobody entered is perishable from the moment it is named."""
    ledger, said = apply(Ledger(), Moved(10.0, "paste", Place.COUNTER, name="shrimp paste"))
    assert said == ("Shrimp paste had no clock: it starts now.",)
    assert ledger.items["paste"].kind is Kind.UNKNOWN
    assert severities(ledger, 10.0 + 2 * HOUR + 1.0) == [Severity.HIGH]
    _, said = apply(Ledger(), Ended(1.0, "soup", "eaten"))
    assert said == ("Soup had no clock.",)


def test_a_thing_ended_twice_is_said_and_nothing_changes() -> None:
    """The second ending is said plainly; the first stands."""
    once = after(made(), Ended(HOUR, "wings", "eaten"))
    twice, said = apply(once, Ended(2 * HOUR, "wings", "discarded"))
    assert said == ("Wings: already eaten.",)
    assert twice.items == once.items
    assert due(twice, 9 * HOUR) == ()


def test_eating_what_is_over_is_spoken_against() -> None:
    """Cooking or eating food over its limit is answered plainly: toxins stay."""
    _, said = apply(after(made()), Ended(3 * HOUR, "wings", "eaten"))
    assert said == ("Do not eat the wings: out too long.",)


@pytest.mark.parametrize("celsius", [900.0, -50.0, math.nan])
def test_an_impossible_reading_changes_no_clock(celsius: float) -> None:
    """The clock runs on as before, and the reading is asked again."""
    ledger, said = apply(after(made()), Read(HOUR, "wings", celsius))
    assert said == ("That core cannot be. Read it again?",)
    assert severities(ledger, 2 * HOUR + 1.0) == [Severity.HIGH]
    assert ledger.items["wings"].celsius is None


def test_an_impossible_room_is_asked_again() -> None:
    """A room of 300 C is no room."""
    ledger, said = apply(Ledger(), Room(0.0, 300.0))
    assert said == ("That room temperature cannot be. What is it?",)
    assert ledger.room_c == 25.0


def test_a_clock_that_jumps_back_gives_nothing() -> None:
    """An event from the past counts as now, is said, and no time is given back; a jump ahead counts in full."""
    ledger = after(made(), Room(HOUR, 25.0))
    back, said = apply(ledger, Moved(60.0, "wings", Place.FRIDGE))
    assert said == ("The clock went back; food clocks run on.",)
    assert back.items["wings"].used == pytest.approx(0.5)
    assert severities(ledger, 30 * HOUR) == [Severity.HIGH]


def test_more_of_the_same_keeps_the_older_clock() -> None:
    """A second batch on the first batch's tray does not start the clock anew."""
    ledger = after(made(), made(t=HOUR))
    assert severities(ledger, 2 * HOUR + 1.0) == [Severity.HIGH]
    again = after(made(), Ended(10.0, "wings", "eaten"), made(t=HOUR))
    assert Severity.HIGH not in severities(again, 3 * HOUR - 1.0)


def test_what_is_left_keeps_its_days_across_evenings() -> None:
    """Cooked food has four days from when it was made (USDA FSIS, 3 to 4 days) and stays known across evenings; time out stays counted."""
    ledger = after(made(), Moved(HOUR, "wings", Place.FRIDGE))
    tomorrow = rebased(from_json(to_json(ledger)), -DAY)
    assert severities(tomorrow, 3 * DAY - 1.0) == [Severity.MEDIUM]
    assert severities(tomorrow, 3 * DAY + 1.0) == [Severity.HIGH]
    assert tomorrow.items["wings"].used == pytest.approx(0.5)


def test_what_must_go_into_the_fridge_by_when() -> None:
    """At the end of a meal: everything that is not cold, the soonest first, without what is over."""
    ledger = after(made(item="a"), made(Kind.RICE, item="b"), made(place=Place.FRIDGE, item="c"), made(place=Place.HOT, item="d"))
    assert [(i.id, round(by)) for i, by in put_away(ledger, 60.0)] == [("b", 3600), ("a", 7200), ("d", 14400)]
    assert [i.id for i, _ in put_away(ledger, 3 * HOUR)] == ["d"]


events = st.lists(
    st.one_of(
        st.builds(
            Made,
            st.floats(0, 9e4),
            st.sampled_from("abc"),
            st.just("wings"),
            st.sampled_from(list(Kind)),
            st.sampled_from(list(Place)),
            st.booleans(),
        ),
        st.builds(Moved, st.floats(0, 9e4), st.sampled_from("abcd"), st.sampled_from(list(Place))),
        st.builds(Read, st.floats(0, 9e4), st.sampled_from("abcd"), st.floats(-40, 120)),
        st.builds(Ended, st.floats(0, 9e4), st.sampled_from("abcd"), st.sampled_from(["eaten", "cooked", "discarded", "wasted"])),
        st.builds(Room, st.floats(0, 9e4), st.floats(-30, 70)),
    ),
    max_size=12,
)


@settings(deadline=None)
@given(events)
def test_ledger_survives_anything_and_reads_back(happened: list[Event]) -> None:
    """No order of events raises; the ledger is the same after a file; every word said is short."""
    ledger = Ledger()
    for event in happened:
        ledger, said = apply(ledger, event)
        assert all(len(s.split()) <= 12 for s in said)
    assert from_json(to_json(ledger)) == ledger


@settings(deadline=None)
@given(events, st.floats(0, 4e5))
def test_nothing_new_is_due_before_the_next_change(happened: list[Event], wait: float) -> None:
    """Between two moments that `next_change` names the same notices are due, and none of them is forgotten when time goes on."""
    ledger = after(*happened)
    t = ledger.at_s + wait
    following = next_change(ledger, t)

    def keys(notices: tuple[Notice, ...]) -> set[tuple[str, str, Severity]]:
        return {(n.item, n.what, n.severity) for n in notices}

    here = keys(due(ledger, t))
    if following is None:
        assert keys(due(ledger, t + 1e7)) == here
    else:
        assert keys(due(ledger, t + (following - t) * 0.999)) == here
        over = {n.item for n in due(ledger, t) if n.severity is Severity.HIGH}
        assert over <= {n.item for n in due(ledger, following + 1.0) if n.severity is Severity.HIGH}


@settings(deadline=None)
@given(events, st.floats(1.0, 2e5))
def test_a_ledger_that_looked_and_one_that_did_not_agree(happened: list[Event], wait: float) -> None:
    """Advancing a ledger by an event that changes nothing never changes a limit by more than a second."""
    ledger = after(*happened)
    t = ledger.at_s + wait
    looked, _ = apply(ledger, Room(t, ledger.room_c))
    for a, b in zip(due(ledger, t + 7.0), due(looked, t + 7.0), strict=True):
        assert (a.item, a.what, a.severity) == (b.item, b.what, b.severity)
        assert a.by_s == pytest.approx(b.by_s, abs=1.0)


@settings(deadline=None)
@given(st.sampled_from(list(Kind)), st.sampled_from(list(Place)), st.booleans(), st.floats(0, 5e5), st.sampled_from(["F", "C"]))
def test_notices_are_short(kind: Kind, place: Place, hot: bool, t: float, units: str) -> None:
    """At most 12 words, 8 for discard, with names of up to four words."""
    ledger = after(Made(0.0, "x", "cold smoked chicken thighs", kind, place, hot))
    for notice in due(ledger, t, units):
        assert len(notice.say.split()) <= (8 if notice.severity is Severity.HIGH else 12), notice.say
        assert notice.source


def thing(name: str, raw: bool = False, perishable: bool = True, allergens: frozenset[str] = frozenset()) -> Ingredient:
    """An ingredient."""
    return Ingredient(name, name, (name,), Amount("1 kg", kg=1.0), raw=raw, perishable=perishable, allergens=allergens)


def step(name: str, kind: StepKind = StepKind.FRY, raw_in: bool = False, perishable: bool = True) -> Step:
    """A step that leaves something perishable."""
    return Step(name, name, (name,), "d", kind, Span(1, 1, 1), 0.0, raw_in=raw_in, makes_perishable=perishable)


def test_kinds_are_told_from_the_card() -> None:
    """Dish and words decide; what nobody knows is unknown, and what is not perishable has no kind."""
    poultry, potato, clean = (Dish("d", "d", ("d",), (), (), food_kind=k) for k in ("poultry", "potato", "clean"))
    assert kind_of_ingredient(thing("wings", raw=True), poultry) is Kind.RAW_POULTRY
    assert kind_of_ingredient(thing("flour", perishable=False), poultry) is None
    assert kind_of_ingredient(thing("garlic oil"), clean) is Kind.GARLIC_OIL
    assert kind_of_ingredient(thing("buttermilk", allergens=frozenset({"milk"})), clean) is Kind.DAIRY
    assert kind_of_ingredient(thing("mystery"), clean) is Kind.UNKNOWN
    assert kind_of_step(step("first fry"), potato) is Kind.BLANCHED
    assert kind_of_step(step("simmer", StepKind.STOVE, raw_in=True), poultry) is Kind.COOKED_POULTRY
    assert kind_of_step(step("season", StepKind.HANDS, raw_in=True), poultry) is Kind.RAW_POULTRY
    assert kind_of_step(step("boil rice", StepKind.STOVE), clean) is Kind.RICE
    assert kind_of_step(step("mix batter", StepKind.HANDS), clean) is Kind.BATTER
    assert kind_of_step(step("cut", StepKind.HANDS, perishable=False), clean) is None
    assert place_of_keep(Keep.OVEN) is Place.HOT
    assert place_of("rack") is Place.COUNTER


def test_eggs_and_what_is_made_of_them_have_kinds_of_their_own() -> None:
    """Raw eggs are no meat, mayonnaise is no unknown food; a mix of raw eggs keeps a day, cooked it is an egg dish."""
    eggs = thing("eggs", raw=True)
    dish = Dish("d", "fritters", ("d",), (), (eggs,), food_kind="coated")
    assert kind_of_ingredient(eggs, dish) is Kind.EGGS
    assert kind_of_step(step("mix", StepKind.HANDS, raw_in=True), dish) is Kind.EGG_MIX
    assert kind_of_step(step("fry", raw_in=True), dish) is Kind.EGG_DISH
    assert kind_of_step(step("whisk mayonnaise", StepKind.HANDS), dish) is Kind.EGG_SAUCE
    sauce = Dish("d", "sauce", ("d",), (), (thing("mayonnaise"),), component=True)
    assert kind_of_ingredient(thing("mayonnaise"), sauce) is Kind.MAYONNAISE
    assert kind_of_step(step("stir", StepKind.HANDS), sauce) is Kind.MAYONNAISE
    assert kind_of_ingredient(thing("stock"), sauce) is Kind.COOKED
    assert kind_of_ingredient(thing("eggplant", raw=True), sauce) is Kind.RAW_MEAT  # a name that only begins so
    for kind in (Kind.EGGS, Kind.EGG_MIX, Kind.EGG_DISH, Kind.EGG_SAUCE, Kind.MAYONNAISE):
        assert KINDS[kind].counter_s == 2 * HOUR
        assert KINDS[kind].fridge_s <= 4 * DAY


def test_cooked_poultry_on_the_counter_past_its_limit_is_refused() -> None:
    """A plan that keeps it out longer than two hours is refused with the safe way; at two hours exactly it is not."""
    stay = Stay("w", "cooked wings", Kind.COOKED_POULTRY, Place.COUNTER, 0.0, 2 * HOUR)
    assert refusals([stay]) == ()
    (got,) = refusals([replace(stay, to_s=2 * HOUR + 1.0)])
    assert got.say[1] == "Chill it uncovered on a rack."
    assert "USDA" in got.source
    assert all(len(s.split()) <= 12 for s in got.say)


def test_refusals_add_up_stays_and_judge_each_place() -> None:
    """Two stays of the same thing on the counter are one time; a fridge day too many and a hot hold over four hours are refused too."""
    parts = [Stay("w", "wings", Kind.COOKED_POULTRY, Place.COUNTER, a, a + 1.2 * HOUR) for a in (0.0, 9 * HOUR)]
    assert [r.item for r in refusals(parts)] == ["w"]
    assert [r.item for r in refusals([Stay("h", "fish", Kind.COOKED, Place.HOT, 0.0, 4.1 * HOUR)])] == ["h"]
    assert [r.item for r in refusals([Stay("r", "rice", Kind.RICE, Place.FRIDGE, -2 * DAY, 0.0)])] == ["r"]
    assert refusals([Stay("z", "fish", Kind.RAW_FISH, Place.FREEZER, -90 * DAY, 0.0)]) == ()


@pytest.mark.parametrize("kind", list(Kind))
def test_every_kind_has_a_row_and_every_place_a_limit(kind: Kind) -> None:
    """No kind is without rule, way out and source; speaking always comes before the end."""
    assert KINDS[kind].source
    for place in Place:
        lead, most, _, source = place_limit(kind, place)
        assert 0.0 <= lead < most
        assert source
