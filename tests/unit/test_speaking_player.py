"""The mixer that an audio callback empties, driven by hand, and devices that cannot be opened."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.speaking.player import FADE_S, Fill, Mixer, NoSpeakerError, Opened, Report, Samples, open_first

RATE = 8000


def ones(n: int, value: float = 1.0) -> Samples:
    return np.full(n, value, dtype=np.float32)


def pump(mixer: Mixer, frames: int, block: int = 80) -> Samples:
    """What the device gets in so many frames, asked for in blocks."""
    out = []
    for start in range(0, frames, block):
        part = np.full(min(block, frames - start), 9.0, dtype=np.float32)  # rubbish that must be overwritten
        mixer.fill(part, 0.0)
        out.append(part)
    return np.concatenate(out)


def test_silence_when_nothing_waits() -> None:
    """The device's buffer is always overwritten."""
    assert not pump(Mixer(RATE), 400).any()


@given(st.lists(st.integers(0, 300), max_size=6), st.integers(1, 130))
def test_clips_follow_one_another_without_gap_or_loss(lengths: list[int], block: int) -> None:
    """Whatever the block size, the output is the clips end to end, then silence, and each tagged clip is reported once at either end, in order."""
    reports: list[Report] = []
    mixer = Mixer(RATE, reports.append)
    clips = [ones(n, (i + 1) / 10) for i, n in enumerate(lengths)]
    for i, clip in enumerate(clips):
        mixer.play(clip, tag=i)
    total = sum(lengths)
    out = pump(mixer, total + 50, block)
    assert np.array_equal(out[:total], np.concatenate([*clips, ones(0)]))
    assert not out[total:].any()
    assert not mixer.sounding
    assert [(r.tag, r.began) for r in reports] == [(i, began) for i in range(len(lengths)) for began in (True, False)]


def test_reports_say_when_a_sample_will_sound() -> None:
    """A clip that begins 40 frames into a block whose first sample sounds in 0.1 s begins in 0.105 s, and ends after its length."""
    reports: list[Report] = []
    mixer = Mixer(RATE, reports.append)
    mixer.play(ones(40))
    mixer.play(ones(24), tag="line")
    mixer.fill(ones(80), 0.1)
    assert [r.after_s for r in reports] == pytest.approx([0.1 + 40 / RATE, 0.1 + 64 / RATE])


def test_a_cut_fades_within_8_ms_and_forgets_the_rest() -> None:
    """What sounds falls to nothing without a jump; clips behind it never sound; the cut clip's end is not reported; what is played after follows."""
    reports: list[Report] = []
    mixer = Mixer(RATE, reports.append)
    mixer.play(ones(4000), tag="cut")
    mixer.play(ones(4000), tag="behind")
    pump(mixer, 800)
    mixer.cut()
    mixer.play(ones(100, 0.5), tag="urgent")
    out = pump(mixer, 400)
    fade = round(FADE_S * RATE)
    assert fade <= 0.008 * RATE
    assert np.all(np.diff(out[:fade]) <= 0)
    assert np.abs(np.diff(np.concatenate([ones(1), out[:fade]]))).max() < 0.05
    assert np.array_equal(out[fade : fade + 100], ones(100, 0.5))
    assert not out[fade + 100 :].any()
    assert [(r.tag, r.began) for r in reports] == [("cut", True), ("urgent", True), ("urgent", False)]


def test_a_cut_before_the_first_sample_leaves_nothing() -> None:
    """A clip of which nothing sounded is just gone: no blip of 8 ms."""
    mixer = Mixer(RATE)
    mixer.play(ones(800))
    mixer.cut()
    assert not pump(mixer, 800).any()


@pytest.mark.parametrize(("pumped", "expected"), [(0, 200), (100, 200), (200, 200), (240, 600)])
def test_a_tone_gives_way_at_its_lead_only(pumped: int, expected: int) -> None:
    """Words that are ready before the lead is over follow the lead; later ones follow the whole tone; none interrupts a pulse."""
    mixer = Mixer(RATE)
    mixer.play(ones(600, 0.5), gives_way_at=200)
    before = pump(mixer, pumped, 20) if pumped else ones(0)
    mixer.play(ones(50))
    out = np.concatenate([before, pump(mixer, 800, 20)])
    assert int((out == 0.5).sum()) == expected
    assert int(np.flatnonzero(out == 1.0)[0]) == expected


class Refusing:
    """An output that cannot be opened."""

    def __init__(self, why: str) -> None:
        self.why = why

    def open(self, name: str | None, make: Callable[[int], Fill], ended: Callable[[], None]) -> Opened:
        raise NoSpeakerError(self.why)

    def names(self) -> tuple[str, ...]:
        return ()


class Working(Refusing):
    def open(self, name: str | None, make: Callable[[int], Fill], ended: Callable[[], None]) -> Opened:
        make(RATE)
        return Opened("works", RATE, lambda: None)


def test_the_next_library_is_tried() -> None:
    """The first output that opens is used; when none does, the reason is the first one's."""

    def make(_rate: int) -> Fill:
        return lambda out, after_s: None

    assert open_first(None, make, lambda: None, (Refusing("a"), Working("b"))).name == "works"
    with pytest.raises(NoSpeakerError, match=r"^a$"):
        open_first(None, make, lambda: None, (Refusing("a"), Refusing("b")))
    with pytest.raises(NoSpeakerError, match="no loudspeaker"):
        open_first(None, make, lambda: None, ())
