"""Blocks, rates and recorded sources: what comes in, comes out as 16 kHz mono with exact times."""

from math import ceil
from pathlib import Path

import numpy as np
import pytest
import soundfile
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.signal import resample_poly

from assistant.hearing.frames import BLOCK, BLOCK_S, Block, Resampler, SoundFileError, blocks_of, clean, level_db
from assistant.hearing.recogniser import RATE
from assistant.hearing.sources import TAIL_S, Clip, Clips, FileSource, check_sound_file, read_sound


def noise(samples: int, seed: int = 1) -> np.ndarray:
    """Reproducible sound."""
    return (0.2 * np.random.default_rng(seed).standard_normal(samples)).astype(np.float32)


def tone(rate: int, seconds: float, hz: float = 440.0) -> np.ndarray:
    """A sine at half of full scale."""
    return (0.5 * np.sin(2 * np.pi * hz * np.arange(round(rate * seconds)) / rate)).astype(np.float32)


@pytest.mark.parametrize("rate", [8_000, 11_025, 16_000, 22_050, 44_100, 48_000, 96_000])
def test_streamed_resampling_equals_the_whole_done_at_once(rate: int) -> None:
    """Checked against scipy.signal.resample_poly on the whole signal: no seam at any chunk length."""
    sound, rng = noise(2 * rate + 17), np.random.default_rng(2)
    resampler, out, at = Resampler(rate), [], 0
    while at < len(sound):
        length = int(rng.integers(1, 3000))
        out.append(resampler.push(sound[at : at + length]))
        at += length
    whole = np.concatenate([*out, resampler.flush()])
    step = np.gcd(rate, RATE)
    np.testing.assert_allclose(whole, resample_poly(sound, RATE // step, rate // step), atol=2e-6)


@settings(max_examples=30, deadline=None)
@given(lengths=st.lists(st.integers(0, 700), max_size=30), rate=st.sampled_from([8_000, 16_000, 44_100]))
def test_chunk_lengths_change_nothing(lengths: list[int], rate: int) -> None:
    """However a stream is cut into chunks, the blocks are the same, follow each other without a gap and hold every sample."""
    sound = noise(sum(lengths))
    edges = np.cumsum(lengths)[:-1] if lengths else []
    cut = list(blocks_of(np.split(sound, edges), rate, 5.0))
    whole = list(blocks_of([sound], rate, 5.0))
    assert [b.start_s for b in cut] == [b.start_s for b in whole] == pytest.approx([5.0 + i * BLOCK_S for i in range(len(cut))])
    assert all(len(b.samples) == BLOCK for b in cut)
    assert len(cut) == ceil(ceil(len(sound) * RATE / rate) / BLOCK)
    for a, b in zip(cut, whole, strict=True):
        np.testing.assert_allclose(a.samples, b.samples, atol=2e-6)


def test_what_is_not_a_number_becomes_silence_and_loud_is_cut() -> None:
    """NaN and infinities do no harm, samples past full scale are clipped, two channels are averaged."""
    raw = np.array([[np.nan, 0.5], [np.inf, -np.inf], [3.0, 1.0]], np.float32)
    assert clean(raw).tolist() == [0.25, 0.0, 1.0]


@pytest.mark.parametrize(("amplitude", "db"), [(1.0, 0.0), (0.1, -20.0), (0.0, -120.0)])
def test_level(amplitude: float, db: float) -> None:
    """Level is root mean square below full scale, with a floor for digital silence."""
    assert level_db(np.full(BLOCK, amplitude, np.float32)) == db


def test_level_of_no_sound() -> None:
    """No samples at all are silence."""
    assert level_db(np.zeros(0, np.float32)) == -120.0


@pytest.mark.parametrize("rate", [0, 3_999, 384_001])
def test_a_rate_no_sound_has_is_refused(rate: int) -> None:
    """A rate outside sense is the author's fault and says the range."""
    with pytest.raises(ValueError, match="outside 4000 to 384000 Hz"):
        Resampler(rate)


@pytest.mark.parametrize(
    ("name", "rate", "channels", "subtype"),
    [
        ("phone.wav", 8_000, 1, "ULAW"),
        ("studio.wav", 48_000, 2, "PCM_24"),
        ("float.wav", 44_100, 1, "FLOAT"),
        ("a.flac", 16_000, 1, "PCM_16"),
        ("a.ogg", 24_000, 1, "VORBIS"),
    ],
)
def test_any_format_is_heard_at_its_pitch(tmp_path: Path, name: str, rate: int, channels: int, subtype: str) -> None:
    """A tone of 440 Hz in any file comes out as 440 Hz at 16 kHz, of the same length and loudness."""
    path = tmp_path / name
    soundfile.write(path, np.repeat(tone(rate, 1.0)[:, None], channels, axis=1), rate, subtype=subtype)
    sound = read_sound(path)
    assert abs(len(sound) - RATE) <= BLOCK
    peak = np.argmax(np.abs(np.fft.rfft(sound[:RATE])))
    assert peak == pytest.approx(440, abs=2)
    assert level_db(sound[1000:15000]) == pytest.approx(-9.0, abs=0.3)


def test_clipped_and_broken_samples_are_survived(tmp_path: Path) -> None:
    """A float wav that runs to ten times full scale and holds NaN gives finite samples within full scale."""
    path = tmp_path / "broken.wav"
    sound = 10 * tone(RATE, 0.5)
    sound[100:200] = np.nan
    soundfile.write(path, sound, RATE, subtype="FLOAT")
    heard = read_sound(path)
    assert np.all(np.isfinite(heard))
    assert np.max(np.abs(heard)) == 1.0


def test_an_hour_is_read_as_a_stream(tmp_path: Path) -> None:
    """An hour of sound is never held in memory: the first block comes at once, the last has its exact time."""
    path = tmp_path / "hour.flac"
    with soundfile.SoundFile(path, "w", 8_000, 1) as out:
        for _ in range(60):
            out.write(np.zeros(60 * 8_000, np.float32))
    last, largest = None, 0
    for block in FileSource(path).sounds():
        last, largest = block, max(largest, len(block.samples))
    assert last is not None
    assert largest == BLOCK
    assert last.end_s == pytest.approx(3_600 + TAIL_S, abs=2 * BLOCK_S)


def test_faults_of_files_are_one_sentence(tmp_path: Path) -> None:
    """Missing, empty and not sound: each says so and names the file."""
    empty, text, nothing = tmp_path / "empty.wav", tmp_path / "text.wav", tmp_path / "zero.wav"
    soundfile.write(empty, np.zeros(0, np.float32), RATE)
    text.write_text("chips down")
    nothing.write_bytes(b"")
    for path, words in (
        (tmp_path / "none.wav", "There is no"),
        (empty, "no sound at all"),
        (text, "not a sound file"),
        (nothing, "not a sound file"),
        (tmp_path, "not a sound file"),
    ):
        with pytest.raises(SoundFileError, match=words) as fault:
            check_sound_file(path)
        assert str(path) in str(fault.value)
        assert "\n" not in str(fault.value)


def test_clips_come_at_their_kitchen_times(tmp_path: Path) -> None:
    """The clock jumps from clip to clip, each is followed by silence, and one that begins too early waits for the one in front."""
    path = tmp_path / "a.wav"
    soundfile.write(path, tone(RATE, 1.0), RATE, subtype="FLOAT")
    blocks = list(Clips([Clip(10.0, path), Clip(11.0, path), Clip(60.0, path)]).sounds())
    starts = [b.start_s for b in blocks]
    assert starts == sorted(starts)
    each = len(blocks) // 3
    first, second, third = starts[0], starts[each], starts[2 * each]
    assert (first, third) == (10.0, 60.0)
    assert second == pytest.approx(10.0 + 1.0 + TAIL_S, abs=2 * BLOCK_S)
    assert level_db(blocks[each - 1].samples) == -120.0


def test_kitchen_noise_lies_under_everything(tmp_path: Path) -> None:
    """A bed of noise goes on under speech and silence alike, and starts again when it ends."""
    path = tmp_path / "a.wav"
    soundfile.write(path, np.zeros(RATE, np.float32), RATE, subtype="FLOAT")
    bed = noise(1000)
    heard = np.concatenate([b.samples for b in Clips([Clip(0.0, path)], bed).sounds()])
    np.testing.assert_allclose(heard, np.resize(bed, len(heard)), atol=1e-6)


def test_the_same_file_sounds_the_same_twice(tmp_path: Path) -> None:
    """A recording is a deterministic microphone."""
    path = tmp_path / "a.wav"
    soundfile.write(path, tone(22_050, 0.7), 22_050)

    def run() -> list[tuple[float, bytes]]:
        return [(b.start_s, b.samples.tobytes()) for b in FileSource(path).sounds() if isinstance(b, Block)]

    assert run() == run()
