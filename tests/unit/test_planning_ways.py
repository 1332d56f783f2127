"""What would do instead: every way was planned, with every limit kept."""

from __future__ import annotations

from dataclasses import replace

import pytest
from planning_kit import HOUR, SERVE, bundled, fried, meal

from assistant.kitchen.evening import Setting, TooMuchError
from assistant.kitchen.limits import batch_limits
from assistant.kitchen.meal import Equipment, Hold
from assistant.kitchen.plan_meal import plan_meal, try_plan
from assistant.kitchen.plan_safety import refused
from assistant.kitchen.plan_ways import Way, bigger, or_else, other_meals, those_that, waves
from assistant.kitchen.scale import scaled


def test_a_pot_twice_as_big_takes_twice_the_batch_of_the_same_lot() -> None:
    """Thighs for eight: the same weight in half the batches, twice the oil in the pot, each batch within what the oil model allows there."""
    card = bundled("sunday-thighs")
    pot = card.equipment.pots[0]
    large = bigger(card, pot, 2)
    small_plan, large_plan = (plan_meal(m, SERVE, people=8) for m in (card, large))
    assert sum(b.kg for b in large_plan.batches["thighs-fry"]) == pytest.approx(sum(b.kg for b in small_plan.batches["thighs-fry"]))
    assert len(large_plan.batches["thighs-fry"]) <= (len(small_plan.batches["thighs-fry"]) + 1) // 2
    assert large.equipment.pots[0].oil_litres == pytest.approx(2 * (pot.oil_litres or 0.0))
    limit = batch_limits(large.step("thighs-fry"), large.equipment.pots[0])
    assert all(b.kg <= limit.most_kg + 1e-6 for b in large_plan.batches["thighs-fry"])


def test_what_would_do_is_said_with_a_refusal_and_does() -> None:
    """Thighs for twenty are refused; the waves that are named get a plan that leaves nothing out for too long, one more person does not."""
    card = bundled("sunday-thighs")
    setting = Setting(people=20)
    with pytest.raises(TooMuchError, match=r"two hours at most\. What would do: .*cook in waves of 5\.$"), or_else(card, SERVE, 9 * HOUR, setting):
        plan_meal(card, SERVE, 20, 9 * HOUR, setting)
    plan = try_plan(card, SERVE, 9 * HOUR, Setting(people=5), crowd=False)
    assert plan is not None
    assert not plan.broken
    assert refused(plan, scaled(card, 5)) == ()


def test_a_refusal_that_nothing_mends_stays_as_it_is() -> None:
    """Nothing is proposed that was not planned."""
    card = meal(fried("chips", hold=Hold(60, 60)), serves=1)
    with pytest.raises(TooMuchError, match=r"^too much$"), or_else(card, SERVE, SERVE - 60.0, Setting(people=1)):
        raise TooMuchError("too much")


def test_a_second_pot_takes_the_dish_that_goes_last() -> None:
    """Potatoes and fish in one pot: the fish gets the second one; with one burner there is none."""
    card = meal(fried("chips", "potato"), fried("fish", "fish"))
    second = next(w for w in other_meals(card, Setting(people=2)) if "second pot" in w.words)
    assert second.words == "With a second pot like the pot, for the fish"
    assert [s.fry.pot for s in second.meal.steps() if s.fry] == ["pot", "pot-2"]
    one = replace(card, equipment=Equipment(card.equipment.pots, burners=1))
    assert not any("second pot" in w.words for w in other_meals(one, Setting(people=2)))


def test_of_a_group_the_first_that_does_is_enough() -> None:
    """Waves of ten and of seven would do: ten are named."""
    found = [w.words for w, _ in those_that(lambda w: w.setting.people <= 10, waves(meal(fried("chips")), Setting(people=20)))]
    assert found == ["Cook in waves of 10"]
    alone = [Way("a", meal(), Setting()), Way("b", meal(), Setting())]
    assert [w.words for w, _ in those_that(lambda _: True, alone)] == ["a", "b"]
