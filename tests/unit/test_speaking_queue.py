"""The order in which lines are said: priorities, cutting in, resuming, pauses, staleness, quiet."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.speaking.line import Line, Priority
from assistant.speaking.queue import AFTER_DANGER_S, BREATH_S, LIFE_S, SpeechQueue, Verdict

D, A, N, R = Priority.DANGER, Priority.ALARM, Priority.ANSWER, Priority.REMARK


def line(words: str, priority: Priority = N, pause_s: float = 0.0) -> Line:
    return Line(words, priority, pause_s)


def say_all(queue: SpeechQueue, now: float = 0.0) -> list[str]:
    """Say everything that may be said, each line taking no time, the clock moving only for pauses."""
    said = []
    while (due := queue.next_due()) is not None:
        now = max(now, due)
        entry = queue.take(now)
        if entry is None:
            break
        said.append(entry.line.words)
        queue.done(now)
    return said


def test_most_urgent_first_then_in_order_of_arrival() -> None:
    """Priorities decide; among equals the one that came first."""
    q = SpeechQueue()
    q.add([line("r1", R), line("n1"), line("a1", A), line("n2"), line("d1", D), line("a2", A)], 0.0)
    assert say_all(q) == ["d1", "a1", "a2", "n1", "n2", "r1"]


@pytest.mark.parametrize(
    ("being_said", "comes", "cuts"),
    [(N, D, True), (N, A, True), (R, A, True), (A, D, True), (A, A, False), (D, D, False), (D, A, False), (R, N, False), (N, R, False)],
)
def test_who_cuts_in_on_whom(being_said: Priority, comes: Priority, cuts: bool) -> None:
    """Only DANGER and ALARM cut in, and only on something less urgent."""
    q = SpeechQueue()
    q.add([line("first", being_said)], 0.0)
    q.take(0.0)
    assert q.add([line("second", comes)], 1.0) == [Verdict.CUTS_IN if cuts else Verdict.WAITS]
    assert (q.current is None) is cuts


def test_a_cut_line_is_said_again_in_its_old_place() -> None:
    """After the alarm the cut line comes before what had been waiting behind it."""
    q = SpeechQueue()
    q.add([line("one"), line("two")], 0.0)
    q.take(0.0)
    q.add([line("lift", A)], 1.0)
    assert say_all(q, 1.0) == ["lift", "one", "two"]


def test_a_line_that_already_waits_or_is_being_said_is_dropped() -> None:
    """The same words twice are said once; afterwards they may be said again."""
    q = SpeechQueue()
    q.add([line("same")], 0.0)
    assert q.add([line("same")], 0.1) == [Verdict.DUPLICATE]
    q.take(0.2)
    assert q.add([line("same"), line("same", R)], 0.3) == [Verdict.DUPLICATE, Verdict.DUPLICATE]
    q.done(1.0)
    assert q.add([line("same")], 1.1) == [Verdict.WAITS]


def test_the_same_words_more_urgent_take_the_place_of_the_waiting_ones() -> None:
    """An alarm is not lost as a duplicate of a remark."""
    q = SpeechQueue()
    q.add([line("other"), line("lift the chips", R)], 0.0)
    assert q.add([line("lift the chips", A)], 0.1) == [Verdict.WAITS]
    assert say_all(q, 0.1) == ["lift the chips", "other"]


def test_the_same_words_more_urgent_than_those_being_said_are_said_as_an_alarm_once() -> None:
    """Cut, then once as the alarm: not a second time as what was cut."""
    q = SpeechQueue()
    q.add([line("lift the chips")], 0.0)
    q.take(0.0)
    assert q.add([line("lift the chips", A)], 0.5) == [Verdict.CUTS_IN]
    entry = q.take(0.5)
    assert entry is not None
    assert entry.priority is A
    q.done(2.0)
    assert say_all(q, 2.0) == []


@pytest.mark.parametrize(("priority", "lives"), [(R, LIFE_S[R]), (N, LIFE_S[N]), (A, None), (D, None)])
def test_stale_lines(priority: Priority, lives: float | None) -> None:
    """Remarks and answers expire just after their life, urgent lines never."""
    for wait, kept in ((lives or 1e6, True), ((lives or 1e6) + 0.01, lives is None)):
        q = SpeechQueue()
        q.add([line("x", priority)], 0.0)
        assert (q.take(wait) is not None) is kept


def test_the_rest_of_a_list_waits_for_the_pause_and_an_answer_does_not() -> None:
    """A pause after a line is silence for the cook; what the cook's answer brings about ends it, and the list goes on after that."""
    q = SpeechQueue()
    q.add([line("pot dry?", pause_s=1.5), line("lid near?", pause_s=1.5)], 0.0)
    q.take(0.0)
    q.done(2.0)
    assert q.take(3.4) is None
    assert q.next_due() == 3.5
    q.add([line("good")], 3.0)
    entry = q.take(3.0)
    assert entry is not None
    assert entry.line.words == "good"
    q.done(3.3)
    assert q.take(3.3) is None
    entry = q.take(3.3 + BREATH_S)
    assert entry is not None
    assert entry.line.words == "lid near?"


def test_something_more_urgent_ends_a_pause_even_if_it_came_before() -> None:
    """An alarm that came while a line was being said does not wait for that line's pause."""
    q = SpeechQueue()
    q.add([line("question?", pause_s=5.0)], 0.0)
    q.take(0.0)
    q.add([line("remark", R)], 0.5)
    q.done(1.0)
    assert q.take(1.0) is None
    q.add([line("lift", A)], 1.0)
    assert q.take(1.0) is not None


def test_the_pauses_inside_a_danger_script_hold() -> None:
    """Lines of the same urgency keep their pauses between them."""
    q = SpeechQueue()
    q.add([line("heat off", D, 0.5), line("no water", D, 0.5)], 0.0)
    q.take(0.0)
    q.done(1.0)
    assert q.take(1.2) is None
    assert q.take(1.5) is not None


def test_an_alarm_that_comes_during_a_pause_of_a_danger_script_does_not_go_ahead_of_its_next_line() -> None:
    """Only a pause lies between the danger lines, and an alarm is less than a danger."""
    q = SpeechQueue()
    q.add([line("heat off", D, 0.5), line("no water", D, 0.5)], 0.0)
    q.take(0.0)
    q.done(1.0)
    q.add([line("lift", A)], 1.1)
    assert q.take(1.1) is None
    assert say_all(q, 1.1) == ["no water", "lift"]


def test_a_danger_holds_back_what_waited_but_not_what_is_asked_meanwhile() -> None:
    """Between the lines of a fire script nothing older is read out; a reply is."""
    q = SpeechQueue()
    q.add([line("two cups of flour"), line("then the salt")], 0.0)
    q.take(0.0)
    q.add([line("no water", D)], 1.0)
    q.take(1.0)
    q.done(2.0)
    assert q.take(2.0) is None
    q.add([line("nine one one", N)], 3.0)
    entry = q.take(3.0)
    assert entry is not None
    assert entry.line.words == "nine one one"
    q.done(4.0)
    assert q.next_due() == 2.0 + AFTER_DANGER_S
    assert say_all(q, 4.0) == ["two cups of flour", "then the salt"]


def test_lines_of_the_same_batch_as_a_danger_follow_it() -> None:
    """A question that ends a script is no older line."""
    q = SpeechQueue()
    q.add([line("no water", D), line("is it out?")], 1.0)
    assert say_all(q, 1.0) == ["no water", "is it out?"]
    assert q.next_due() is None


def test_quiet_stops_a_list_and_silences_remarks_but_not_other_lines() -> None:
    """The line being said and the rest of its batch go; another decision's answer stays; remarks are hushed until the time is over."""
    q = SpeechQueue()
    q.add([line("flour"), line("salt"), line("pepper")], 0.0)
    q.take(0.0)
    q.add([line("oil is hot"), line("four minutes free", R)], 0.5)
    assert q.quiet(60.0, 1.0) is True
    assert q.add([line("grate the cheese", R)], 60.9) == [Verdict.HUSHED]
    assert q.add([line("grate the cheese", R)], 61.0) == [Verdict.WAITS]
    assert say_all(q, 61.0) == ["oil is hot", "grate the cheese"]


@pytest.mark.parametrize("priority", [D, A])
def test_quiet_never_silences_danger_or_alarm(priority: Priority) -> None:
    """Neither the one being said, nor one waiting in the same batch, nor one that comes."""
    q = SpeechQueue()
    q.add([line("one", priority), line("two", priority)], 0.0)
    q.take(0.0)
    assert q.quiet(600.0, 0.5) is False
    assert q.current is not None
    q.done(1.0)
    q.add([line("three", priority)], 2.0)
    assert say_all(q, 2.0) == ["two", "three"]


def test_a_line_that_could_not_be_heard_waits_again() -> None:
    """The speaker went away during a line: it comes first when the speaker is back."""
    q = SpeechQueue()
    q.add([line("one"), line("two")], 0.0)
    q.take(0.0)
    q.put_back()
    assert say_all(q) == ["one", "two"]


batches = st.lists(st.tuples(st.sampled_from("abcdefgh"), st.sampled_from(Priority), st.sampled_from([0.0, 1.5])), max_size=4)
moves = st.lists(
    st.one_of(
        st.tuples(
            st.just("add"), st.lists(st.tuples(st.sampled_from("abcdefgh"), st.sampled_from(Priority), st.sampled_from([0.0, 1.5])), max_size=4)
        ),
        st.tuples(st.just("take"), st.none()),
        st.tuples(st.just("done"), st.none()),
        st.tuples(st.just("quiet"), st.sampled_from([10.0, 300.0])),
        st.tuples(st.just("wait"), st.sampled_from([0.1, 3.0, 25.0])),
    ),
    max_size=40,
)


@given(moves)
def test_no_urgent_line_is_lost_or_overtaken(plan: list[tuple[str, object]]) -> None:
    """Whatever happens: no line is begun while a more urgent DANGER or ALARM waits, and every one of those is said in the end."""
    q = SpeechQueue()
    now = 0.0
    owed: dict[str, Priority] = {}
    for move, what in plan:
        if move == "add":
            assert isinstance(what, list)
            lines = [line(w, p, s) for w, p, s in what]
            q.add(lines, now)
            for one in lines:
                if one.priority <= A:
                    owed[one.words] = min(one.priority, owed.get(one.words, R))
        elif move == "take":
            entry = q.take(now)
            if entry:
                assert all(entry.priority <= p for w, p in owed.items() if w != entry.line.words)
        elif move == "done" and q.current:
            if q.current.priority <= owed.get(q.current.line.words, R):
                owed.pop(q.current.line.words, None)
            q.done(now)
        elif move == "quiet":
            assert isinstance(what, float)
            q.quiet(what, now)
        elif move == "wait":
            assert isinstance(what, float)
            now += what
    if q.current:
        q.put_back()
    said = say_all(q, now)
    assert set(owed) <= set(said)
