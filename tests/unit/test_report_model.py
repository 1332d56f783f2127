"""What an evening came to: the report's figures against the script that was cooked."""

from __future__ import annotations

from dataclasses import replace

import pytest
import report_kit as kit

from assistant.session import events as e
from assistant.session.evolve import replay
from assistant.showing.report import html_report
from assistant.showing.report_incidents import Incident
from assistant.showing.report_model import Report, durations, evening_report, kept


@pytest.fixture(scope="module")
def trouble() -> Report:
    """The evening in which much goes wrong."""
    return evening_report(kit.evening("trouble"))


def test_planned_is_the_first_order_and_actual_what_was_said(trouble: Report) -> None:
    """Cutting the chips was planned for nine minutes from 16:31 and took from the start until `done` at sixteen minutes."""
    row = trouble.row("chips-cut")
    assert (row.planned_start_t, row.planned_end_t) == (60.0, 600.0)
    assert (row.began_t, row.done_t, row.took_s) == (0.0, 960.0, 960.0)


def test_batches_are_counted_as_a_cook_counts(trouble: Report) -> None:
    """The test batch is none of the numbered ones; each batch has its own clock from the last piece in to the lift."""
    test, first, second = trouble.row("chips-first-fry").batches
    assert (test.label, first.label, second.label) == ("test batch", "batch 1", "batch 2")
    assert (first.in_t, first.lifted_t, first.heat_s) == (3000.0, 3510.0, 510.0)


def test_the_oil_of_a_batch_is_what_was_read(trouble: Report) -> None:
    """In at the last reading before the drop, the lowest of those while it was in, against the card's set point and floor."""
    first = trouble.row("chips-first-fry").batches[1]
    assert first.oil_c == pytest.approx((265 - 32) / 1.8)
    assert first.lowest_c == pytest.approx((255 - 32) / 1.8)
    assert (first.wanted_c, first.floor_c) == (pytest.approx((300 - 32) / 1.8), pytest.approx((275 - 32) / 1.8))
    assert first.looks == ("pale",)


def test_a_reading_older_than_five_minutes_is_none() -> None:
    """A drop long after the last reading stands as not read."""
    events = [x for x in kit.evening("trouble") if not isinstance(x, e.OilRead) or x.t < 5000.0]
    second = evening_report(events).row("chips-second-fry").batches[0]
    assert second.oil_c is None


def test_a_wait_ends_when_what_follows_begins(trouble: Report) -> None:
    """The soak was over at 17:09 by its clock, and lasted until the chips were dried."""
    soak, dry = trouble.row("chips-soak"), trouble.row("chips-dry")
    assert soak.began_t == 960.0
    assert soak.done_t == dry.began_t


def test_a_dish_waits_from_ready_to_its_plate(trouble: Report) -> None:
    """Chips in two batches wait from the lift of the first, by what their salting states of how they hold, to their plate."""
    chips = next(w for w in trouble.waits if w.dish == "chips")
    lifted, plate = trouble.row("chips-second-fry").batches[0].lifted_t, trouble.row("chips-plate").began_t
    assert lifted is not None
    assert plate is not None
    assert chips.seconds == pytest.approx(plate - lifted)
    assert (chips.best_s, chips.most_s) == (300.0, 720.0)
    assert "tartare-sauce" not in {w.dish for w in trouble.waits}


def test_the_oldest_of_several_batches_counts() -> None:
    """A dish in two batches waits from the lift of the first."""
    first = kit.evening("trouble")[0]
    assert isinstance(first, e.EveningBegan)
    card = first.card.replace(
        "weight: 300 g\n        cut: potato sticks 10 mm\n        first look",
        "weight: 300 g\n        batches: 2\n        cut: potato sticks 10 mm\n        first look",
    )
    assert card != first.card
    events: list[e.Event] = [replace(first, card=card), e.OrderAdopted(0.0, (("chips-second-fry", 10.0, 400.0),), "test")]
    for n, t in ((1, 1000.0), (2, 1400.0)):
        events += [e.BatchBegun(t, "chips-second-fry", n, t), e.BatchIn(t, "chips-second-fry", n), e.BatchLifted(t + 180.0, "chips-second-fry", n)]
    events += [e.StepDone(1580.0, "chips-second-fry"), e.StepBegan(1580.0, "chips-salt"), e.StepDone(1610.0, "chips-salt")]
    events += [e.StepBegan(1700.0, "chips-plate"), e.StepDone(1730.0, "chips-plate")]
    chips = evening_report(events).waits[0]
    assert (chips.ready_t, chips.served_t) == (1180.0, 1700.0)


def of_kind(report: Report, kind: str) -> list[Incident]:
    """The incidents of one kind."""
    return [i for i in report.incidents if i.kind == kind]


def test_a_danger_tells_its_cause_and_what_was_done(trouble: Report) -> None:
    """Foam: what was heard, the first line said, then burner off, chips out, foam down, going on, each with its time after the word."""
    (danger,) = of_kind(trouble, "danger")
    assert danger.t == 3720.0
    assert (danger.cause, danger.heard) == ("Boil over, then after boil over", "it's foaming up")
    assert danger.words == "Heat off, if you can reach it safely."
    for did in ("Burner off after 1 min", "batch 2: lifted after 2 min", "foam settled after 7 min", "went on after 12 min"):
        assert did in danger.done
    assert danger.end_t == 4440.0


def test_every_alarm_raised_is_in_the_report(trouble: Report) -> None:
    """Alarms have when they were raised, how often they were said and how they ended; none is left out."""
    raised = [x for x in kit.evening("trouble") if isinstance(x, e.AlertRaised)]
    alarms = of_kind(trouble, "alarm")
    assert {x.t for x in raised} == {a.t for a in alarms}
    over = next(a for a in alarms if "longer than its card allows" in a.cause)
    assert over.priority == "high"
    assert over.times == 1 + sum(
        isinstance(x, e.AlertRepeated) and x.id.startswith("lift:") and 3420.0 <= x.t < 3510.0 for x in kit.evening("trouble")
    )
    assert over.done == "Chips first fry, batch 1: lifted"
    assert not over.routine


def test_how_many_alarms_led_to_something_is_said(trouble: Report) -> None:
    """The share acted on is that of the journal's facts, in one line of the page; an evening without alarms says nothing."""
    events = kit.evening("trouble")
    raised = sum(isinstance(x, e.AlertRaised) for x in events)
    acted = sum(isinstance(x, e.AlertCleared) and x.acted for x in events)
    assert 0 < acted < raised
    assert sum(a.acted for a in of_kind(trouble, "alarm")) == acted
    assert f"You acted on {acted} of {raised} calls and alarms" in html_report(trouble, ())
    assert "You acted on" not in html_report(replace(trouble, incidents=()), ())


@pytest.mark.parametrize(
    ("cause", "done"),
    [
        ("Chips first fry, batch 1: told to hold", "Dropped all the same after 30 s"),
        ("Chips first fry: oil at 255 °F, must stay above 275 °F", "Burner full"),
        ("Fish fry: core at 130 °F, wants 145 °F", "150 °F after 1 min"),
        ("Batter rest: over its longest time, 45 min", "Said what to do"),
    ],
)
def test_near_misses_have_cause_and_outcome(trouble: Report, cause: str, done: str) -> None:
    """A hold not heeded, oil under its floor, a core too low, a wait too long."""
    assert next(i for i in of_kind(trouble, "near miss") if i.cause == cause).done == done


def test_a_lost_microphone_is_one_fault_with_its_end() -> None:
    """From lost to back, with the sentence that was said."""
    events = [
        *kit.evening("fritter"),
        e.WorldFault(2000.0, "microphone", False, "The microphone is gone."),
        e.WorldFault(2065.0, "microphone", True, "Back."),
    ]
    (fault,) = of_kind(evening_report(events), "fault")
    assert (fault.cause, fault.words, fault.done) == ("Microphone failed", "The microphone is gone.", "Back after 1 min 5 s")


def test_what_was_taken_back_is_no_fact() -> None:
    """`serve at quarter to seven`, then `undo`: the wanted serving stays half past six, and the events that stay add up to the same state."""
    events = kit.evening("fritter")
    assert any(isinstance(x, e.Undone) for x in events)
    facts = kept(events)
    assert not any(isinstance(x, e.Undone) for x in facts)
    assert [x.serve_t for x in facts if isinstance(x, e.ServingMoved)] == [x.serve_t for x in events if isinstance(x, e.ServingMoved)][:-1]
    was, now = replay(events), replay(facts)
    assert (was.serve_t, was.slots, was.people, was.steps) == (now.serve_t, now.slots, now.people, now.steps)
    assert evening_report(events).wanted_serve_t == was.serve_t


def test_notes_keep_their_time_and_what_was_going_on(trouble: Report) -> None:
    """The note about the peeler was made over the sauce."""
    (note,) = trouble.notes
    assert (note.t, note.text, note.during) == (980.0, "the new peeler is far too slow", "sauce chop")


def test_misheard_sentences_have_their_reason(trouble: Report) -> None:
    """Sentences that were not acted on, and how many were heard in all."""
    assert [(m.words, m.reason) for m in trouble.misheard] == [("the dog is eating the remote", "unknown"), ("blah blah blah", "unknown")]
    assert trouble.heard == sum(isinstance(x, e.Heard) for x in kit.evening("trouble"))


def test_perishable_clocks_are_those_of_the_ledger(trouble: Report) -> None:
    """Raw fish was out of the cold while it was dried and while it stood at the pot, and ended in the oil."""
    fish = next(c for c in trouble.clocks if c.name == "white fish")
    assert fish.ended == "cooked"
    assert 0.0 < fish.out_s < fish.limit_s == 7200.0
    assert fish.used == pytest.approx(fish.out_s / fish.limit_s)


def test_durations_leave_out_what_danger_fell_into(trouble: Report) -> None:
    """The batch that foamed teaches nothing about frying time; the calm one does, and waits are never learnt."""
    took = durations(trouble)
    assert took["chips-first-fry"] == (510.0,)
    assert took["chips-cut"] == (960.0,)
    assert "chips-soak" not in took
    assert "chips-dry" not in took  # told and answered in the same breath: done before


def test_an_evening_that_did_not_end_is_reported_as_far_as_it_went() -> None:
    """The first half of an evening has steps not begun, a batch still in, and no dinner."""
    events = [x for x in kit.evening("trouble") if x.t < 3005.0]
    report = evening_report(events)
    assert report.served_t is None
    assert report.row("fish-fry").status == "todo"
    assert report.row("chips-first-fry").batches[-1].lifted_t is None


@pytest.mark.parametrize("events", [(), (e.StepDone(3.0, "chips-cut"),)])
def test_what_is_no_evening_is_refused(events: tuple[e.Event, ...]) -> None:
    """Events without their beginning are no evening."""
    with pytest.raises(ValueError, match="beginning of an evening"):
        evening_report(events)


@pytest.mark.parametrize("name", ["trouble", "fritter", "sunday"])
def test_every_part_of_an_evening_can_be_reported(name: str) -> None:
    """Wherever a program was killed, a report can be made of what is in the journal."""
    events = kit.evening(name)
    for n in range(1, len(events), len(events) // 6):
        assert evening_report(events[:n]).end_t == events[n - 1].t


def test_the_plan_is_the_one_followed_when_the_first_step_began() -> None:
    """The card's order gives way to a plan adopted before anything began; what is adopted later is no longer the plan."""
    first = kit.evening("trouble")[0]
    orders = [e.OrderAdopted(t, (("chips-cut", 100.0 + t, 700.0 + t), ("peas-plate", 5000.0 + t, 5030.0 + t)), "test") for t in (0.0, 1.0, 2.0)]
    report = evening_report((first, orders[0], orders[1], e.StepBegan(1.5, "chips-cut"), orders[2], e.StepDone(500.0, "chips-cut")))
    assert (report.row("chips-cut").planned_start_t, report.row("chips-cut").planned_end_t) == (101.0, 701.0)
    assert report.row("fish-fry").planned_start_t is None
