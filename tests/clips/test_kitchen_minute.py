"""Getting acquainted with a kitchen by recordings, through the real ear; the evening after it begins with what was learned."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import soundfile
from ear_kit import FIXTURES

from assistant.acquaint import NOISE_S, TURN_S
from assistant.cli import main
from assistant.hearing.kitchen_ear import FILE, read_kitchen
from assistant.hearing.noise import at_level, kitchen_noise
from assistant.hearing.recogniser import RATE, Samples
from assistant.hearing.sources import read_sound
from assistant.selfcheck import try_recogniser
from assistant.settings import Settings

LINES = (
    "commands/kitchen-whats-next",
    "numbers/set-a-clock-for-thirty-seconds",
    "numbers/set-a-clock-for-thirty-two-seconds",
    "numbers/oil-is-at-three-fifteen",
    "numbers/oil-is-at-three-fifty",
    "numbers/core-is-at-one-sixty-five",
    "commands/chips-down",
    "danger/the-pans-on-fire",
)

pytestmark = pytest.mark.clips


def minute(voice: str, hood_db: float) -> Samples:
    """Noise with the hood off and on, then the eight lines of `lines_to_say` over it, by one voice at -26 dB."""
    gap = np.zeros(round(1.6 * RATE), np.float32)
    said = [row for line in LINES for row in (gap, at_level(read_sound(FIXTURES / f"{line}-{voice}.ogg"), -26.0))]
    hood_s = TURN_S + NOISE_S + 0.1
    lines = np.concatenate([np.zeros(round(hood_s * RATE), np.float32), *said, gap])
    return np.concatenate([kitchen_noise(NOISE_S + 0.1, 1, -60.0), lines + kitchen_noise(lines.size / RATE, 2, hood_db)])


def run(monkeypatch: pytest.MonkeyPatch, *command: str) -> int:
    """The program's exit code."""
    monkeypatch.setattr("sys.argv", ["stovehand", *command])
    with pytest.raises(SystemExit) as end:
        main()
    return int(end.value.code or 0)


def test_a_minute_and_the_evening_after_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """Eight lines understood in a moderate hood: all is well, numbers are kept (no sound), and the next evening says that it goes by them."""
    path = tmp_path / "minute.wav"
    soundfile.write(path, minute("kumo", -50.0), RATE)
    assert run(monkeypatch, "check", "--kitchen", "--hear", str(path)) == 0
    shown = capsys.readouterr().out
    assert "All is well where the microphone is" in shown
    assert shown.count("understood, margin") + shown.count("understood, nothing else near") >= 7
    kitchen = read_kitchen(tmp_path / "data" / "stovehand")
    assert kitchen is not None
    assert kitchen.quiet_db < kitchen.hood_db < kitchen.speech_db
    assert kitchen.margin == 0.0
    assert [p.name for p in (tmp_path / "data").rglob("*") if p.is_file()] == [FILE]
    assert f"This kitchen is known since {kitchen.day}" in try_recogniser(Settings(vosk=False))[1].sentence
    clip = FIXTURES / "commands" / "kitchen-whats-next-kumo.ogg"
    assert run(monkeypatch, "cook", "fish-supper", "--hear", str(clip), "--say", "silent", "--data", str(tmp_path / "evening")) == 0
    shown = capsys.readouterr().out
    assert f"This kitchen is known since {kitchen.day}" in shown
    assert "> kitchen what's next" in shown


def test_a_hood_beside_the_microphone(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """Words that stand out by 5 dB: one sentence says where to put the microphone, and the exit code that all is not well."""
    path = tmp_path / "minute.wav"
    soundfile.write(path, minute("kumo", -26.0), RATE)
    assert run(monkeypatch, "check", "--kitchen", "--hear", str(path)) == 1
    assert "away from the hood" in capsys.readouterr().out
