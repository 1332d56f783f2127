"""The chance of landing: air where it helps, proposals where it does not, nothing changed by itself."""

from __future__ import annotations

import pytest
from planning_kit import HOUR, fried, meal, step

from assistant.kitchen.cards import find_meal, read_card
from assistant.kitchen.evening import Setting
from assistant.kitchen.meal import Hold, Span
from assistant.kitchen.plan_chance import WANTED, landing, sturdy_plan
from assistant.kitchen.plan_figures import spread_s
from assistant.kitchen.plan_lots import split
from assistant.kitchen.plan_meal import plan_meal

SERVE = 18.5 * HOUR


def test_air_brings_a_tight_meal_to_land() -> None:
    """The Sunday thighs land rarely as tight as they can be planned, and in 95 % of evenings with air; the meal itself is the same."""
    card = read_card(find_meal("sunday-thighs"))
    found = sturdy_plan(card, SERVE, None, None, Setting())
    assert found.before < WANTED <= found.chance
    assert found.proposals == ()
    bare = plan_meal(card, SERVE)
    assert found.plan.batches == bare.batches
    assert {t.id for t in found.plan.tasks} == {t.id for t in bare.tasks}
    assert found.plan.chance == found.chance


def test_without_time_for_air_what_would_help_is_proposed() -> None:
    """At the soonest possible time there is no room: ten minutes later is proposed, with a chance of 95 % or more, and not done."""
    card = read_card(find_meal("sunday-thighs"))
    soonest = plan_meal(card, None, now_s=16 * HOUR)
    found = sturdy_plan(card, soonest.serve_s, None, 16 * HOUR, Setting())
    assert found.chance < WANTED
    assert any(p.words == "Serve 10 minutes later" for p in found.proposals)
    assert all(p.chance >= WANTED for p in found.proposals)
    assert found.plan.serve_s == soonest.serve_s


def test_a_plan_that_breaks_a_limit_never_lands() -> None:
    """Six batches that take longer than the first one keeps: no chance, and smaller waves are proposed."""
    card = meal(fried("chips", batches=2, kg=0.4, hold=Hold(600, 1200)))
    found = sturdy_plan(card, SERVE, 6, None, Setting())
    assert found.plan.broken
    assert found.chance == 0.0
    assert any(p.words.startswith("Cook in waves of ") for p in found.proposals)


def test_the_same_seed_gives_the_same_chance() -> None:
    """Two thousand evenings, twice."""
    card = read_card(find_meal("fish-supper"))
    plan = plan_meal(card, SERVE)
    assert landing(card, plan, Setting()) == landing(card, plan, Setting())


@pytest.mark.parametrize(("span", "seconds"), [(Span(240, 300, 360), 30.0), (Span(300, 300, 300), 45.0), (Span(0, 300, 1200), 300.0)])
def test_a_spread_is_a_quarter_of_what_the_card_allows(span: Span, seconds: float) -> None:
    """Least to most is taken as four standard deviations; where the card has one figure, 15 % by hand."""
    assert spread_s(step("cut", span=span), span.usual_s) == pytest.approx(seconds)


def test_no_batch_is_made_of_nothing() -> None:
    """Two pieces in three batches are two batches."""
    assert [b.pieces for b in split(0.2, 2, 3)] == [1, 1]


def test_two_changes_are_proposed_where_none_alone_will_do() -> None:
    """Fish for six in a pot for two: neither a warm oven nor a bigger pot is enough; both are, and that is offered beside smaller waves."""
    card = read_card(find_meal("fish-supper"))
    found = sturdy_plan(card, SERVE, 6, SERVE - 9 * HOUR, Setting(), samples=500)
    words = [p.words for p in found.proposals]
    assert found.chance < 0.95
    assert "Keep the fish warm in the oven, and with the big pot three times as big (6.6 litres of oil)" in words
    assert words[-1].startswith("Cook in waves of ")
    assert all(p.chance >= 0.95 for p in found.proposals)
