"""Voice activity and endpoints as pure rules: probabilities and verdicts in, utterance bounds out."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.hearing.endpoint import LEAD_S, LONGEST_S, TRAIL_S, WINDOW_EVERY_S, WINDOW_S, Ended, Endpointer, Follow, Probe, Verdict, Window
from assistant.hearing.frames import BLOCK_S
from assistant.hearing.voice_activity import Thresholds, Voice


def run(pattern: list[tuple[float, bool]], hint: Follow | None = None, endpointer: Endpointer | None = None) -> list[tuple[float, Verdict]]:
    """Feed stretches of (seconds, speaking) from time 0 on; every verdict with the time it came at. A probe is answered with `hint`."""
    endpointer = endpointer or Endpointer()
    out: list[tuple[float, Verdict]] = []
    now = 0.0
    for seconds, speaking in pattern:
        for _ in range(round(seconds / BLOCK_S)):
            for verdict in endpointer.step(now, now + BLOCK_S, speaking):
                out.append((now + BLOCK_S, verdict))
                if isinstance(verdict, Probe) and hint is not None:
                    endpointer.hint(hint)
            now += BLOCK_S
    out.extend((now, v) for v in endpointer.flush())
    return out


def ends(verdicts: list[tuple[float, Verdict]]) -> list[tuple[float, Ended]]:
    """Only the utterances."""
    return [(at, v) for at, v in verdicts if isinstance(v, Ended)]


@pytest.mark.parametrize(("hint", "silence"), [(Follow.NOTHING, 0.28), (Follow.MORE, 0.57), (Follow.UNFINISHED, 1.5), (None, 0.57)])
def test_what_may_follow_says_how_long_to_wait(hint: Follow | None, silence: float) -> None:
    """0.28 s when nothing can follow, 0.57 s when more could, 1.5 s when unfinished, 0.57 s when nobody says."""
    ((at, ended),) = ends(run([(1.0, False), (1.0, True), (3.0, False)], hint))
    assert at - ended.end_s == pytest.approx(silence, abs=BLOCK_S)
    assert at - ended.end_s >= silence - 1e-6
    assert ended.probed


def test_an_utterance_has_lead_and_trail() -> None:
    """The sound to decode starts before the first speech and goes on a little after the last, never into what has not come yet."""
    ((_, ended),) = ends(run([(1.024, False), (0.96, True), (3.0, False)], Follow.MORE))
    assert (ended.start_s, ended.end_s) == pytest.approx((1.024, 1.984))
    assert (ended.from_s, ended.to_s) == pytest.approx((1.024 - LEAD_S, 1.984 + TRAIL_S))
    assert not ended.cut


def test_one_probe_a_silence() -> None:
    """A silence is decoded once, and once more after speech has gone on; the answer before is void then."""
    verdicts = run([(0.5, True), (0.256, False), (0.5, True), (2.0, False)], Follow.UNFINISHED)
    assert [type(v) for _, v in verdicts] == [Probe, Probe, Ended]
    endpointer = Endpointer()
    run_on = run([(0.512, True), (0.224, False)], Follow.NOTHING, endpointer)
    assert len(ends(run_on)) == 1  # by the flush
    endpointer.step(1.0, 1.032, True)
    assert not any(isinstance(v, Ended) for i in range(10) for v in endpointer.step(1.032 + i * BLOCK_S, 1.064 + i * BLOCK_S, False))


def test_a_pause_inside_one_sentence_does_not_end_it() -> None:
    """ "Kitchen, ... set a clock": half a second of pause after an unfinished beginning is one utterance."""
    assert len(ends(run([(0.5, True), (0.5, False), (1.0, True), (2.0, False)], Follow.UNFINISHED))) == 1
    assert len(ends(run([(0.5, True), (0.5, False), (1.0, True), (2.0, False)], Follow.NOTHING))) == 2


def test_shouting_is_looked_through_for_danger_while_it_lasts() -> None:
    """From 1.5 s of speech on, the last 1.5 s are handed out twice a second, without waiting for silence."""
    windows = [(at, v) for at, v in run([(4.0, True)]) if isinstance(v, Window)]
    assert windows[0][0] == pytest.approx(WINDOW_S, abs=BLOCK_S)
    assert [b[0] - a[0] for a, b in pairwise(windows)] == pytest.approx([WINDOW_EVERY_S] * (len(windows) - 1), abs=BLOCK_S)
    assert all(v.end_s - v.start_s == pytest.approx(WINDOW_S) for _, v in windows)
    assert len(windows) == 6


def test_talk_without_end_is_cut_and_loses_nothing() -> None:
    """A minute of talk becomes pieces of at most 8.9 s (and the trail) that touch each other."""
    pieces = [e for _, e in ends(run([(60.0, True), (2.0, False)]))]
    assert len(pieces) >= 5
    assert all(p.to_s - p.from_s <= LONGEST_S + TRAIL_S + BLOCK_S for p in pieces)
    assert all(p.cut for p in pieces[:-1])
    assert [b.from_s for b in pieces[1:]] == pytest.approx([a.to_s for a in pieces[:-1]])


def test_the_end_of_the_source_ends_the_utterance() -> None:
    """Speech right up to the end of a recording is handed on, not lost."""
    ((_, ended),) = ends(run([(0.5, False), (1.0, True)]))
    assert ended.end_s == pytest.approx(1.5, abs=BLOCK_S)


@given(st.lists(st.tuples(st.floats(0.04, 3.0), st.booleans()), max_size=25), st.sampled_from([*Follow, None]))
def test_every_stretch_of_speech_is_in_exactly_one_utterance(pattern: list[tuple[float, bool]], hint: Follow | None) -> None:
    """Whatever the rhythm: no speech is lost, none is in two utterances, and utterances are in order."""
    pieces = [e for _, e in ends(run(pattern, hint))]
    now = 0.0
    for seconds, speaking in pattern:
        blocks = round(seconds / BLOCK_S)
        for _ in range(blocks):
            middle = now + BLOCK_S / 2
            if speaking:
                assert sum(p.from_s <= middle <= max(p.to_s, p.end_s) for p in pieces) == 1
            now += BLOCK_S
    assert all(a.end_s <= b.start_s + 1e-9 for a, b in pairwise(pieces))
    assert all(p.start_s < p.end_s for p in pieces)


@pytest.mark.parametrize(
    ("probabilities", "speaking"),
    [
        ([0.6, 0.6], True),
        ([0.6, 0.4, 0.6], False),
        ([0.6, 0.6, 0.36], True),
        ([0.6, 0.6, 0.34], False),
        ([0.49] * 20, False),
        ([], False),
    ],
)
def test_hysteresis(probabilities: list[float], speaking: bool) -> None:
    """Two blocks in a row at 0.5 begin speech, 0.35 keeps it, and a single loud block (a clatter) does not begin it."""
    voice = Voice()
    for p in probabilities:
        voice = voice.step(p)
    assert voice.speaking is speaking


@given(st.lists(st.floats(0, 1), max_size=60))
def test_speech_never_begins_on_less_than_asked(probabilities: list[float]) -> None:
    """Speech is only ever found after `blocks` probabilities in a row at or above `on`."""
    limits, voice = Thresholds(on=0.6, off=0.2, blocks=3), Voice()
    for i, p in enumerate(probabilities):
        before, voice = voice, voice.step(p, limits)
        if voice.speaking and not before.speaking:
            assert all(q >= 0.6 for q in probabilities[i - 2 : i + 1])
            assert i >= 2
