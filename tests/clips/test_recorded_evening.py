"""An evening with and without recordings, through the real ear, and the hearing bench on what was kept."""

from __future__ import annotations

import csv
import importlib
from pathlib import Path

import numpy as np
import pytest
import soundfile

from assistant.cli import main
from assistant.hearing.recogniser import RATE
from assistant.hearing.sources import read_sound
from assistant.recordings import FOLDER, MANIFEST

ROOT = Path(__file__).resolve().parents[2]
SAID = ("kitchen-whats-next", "make-a-note-next-time-more-salt", "set-a-clock-for-seven-and-a-half")

pytestmark = pytest.mark.clips


@pytest.fixture
def spoken(tmp_path: Path) -> Path:
    """Three commands, a note among them."""
    gap = np.zeros(round(2.2 * RATE), np.float32)
    clips = [read_sound(ROOT / "audio_fixtures" / "commands" / f"{name}-kumo.ogg") for name in SAID]
    path = tmp_path / "said.wav"
    soundfile.write(path, np.concatenate([row for clip in clips for row in (gap, clip)]), RATE)
    return path


def cook(monkeypatch: pytest.MonkeyPatch, spoken: Path, data: Path, *options: str) -> None:
    """An evening from a recording, in silence."""
    command = ["stovehand", "cook", "fish-supper", "--hear", str(spoken), "--say", "silent", "--data", str(data), *options]
    monkeypatch.setattr("sys.argv", command)
    with pytest.raises(SystemExit) as end:
        main()
    assert end.value.code == 0


def test_without_the_flag_no_sound_is_ever_written(spoken: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing opens a sound file to write; the evening leaves its journal and nothing else, but for what libraries and the shelf of cards cache."""
    opened = soundfile.SoundFile.__init__

    def reading(self: soundfile.SoundFile, file: object, mode: str | None = "r", *args: object, **kwargs: object) -> None:
        assert mode in ("r", None), file
        opened(self, file, mode, *args, **kwargs)

    monkeypatch.setattr(soundfile.SoundFile, "__init__", reading)
    monkeypatch.setattr(soundfile, "write", lambda *a, **k: pytest.fail("sound was written"))
    before = set(tmp_path.rglob("*"))
    cook(monkeypatch, spoken, tmp_path / "evening")
    left = {p.name for p in set(tmp_path.rglob("*")) - before if p.is_file() and tmp_path / "cache" not in p.parents}
    assert all(name.startswith("journal.") for name in left), left


def test_with_the_flag_the_bench_runs_on_what_was_kept(
    spoken: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Said on the first line of the evening; each command has its clip, the note too; the bench reads the manifest and finds what was done."""
    cook(monkeypatch, spoken, tmp_path / "evening", "--keep-recordings")
    shown = capsys.readouterr().out.splitlines()
    assert next(line for line in shown if line.startswith("< ")) == "< Recording is on: what I hear tonight is kept as sound."
    assert sum("Recording is on" in line for line in shown) == 1
    folder = tmp_path / "evening" / FOLDER
    with (folder / MANIFEST).open(encoding="utf-8", newline="") as lines:
        rows = list(csv.DictReader(lines))
    assert [row["command"] for row in rows] == ["whats_next", "note", "set_clock"]
    assert all((folder / row["file"]).exists() for row in rows)
    monkeypatch.syspath_prepend(str(ROOT / "tests" / "benchmarks"))
    importlib.import_module("bench_hearing").recorded(folder, folder / MANIFEST)
    table = capsys.readouterr().out
    line = next(row for row in table.splitlines() if "commands, all" in row and "no commands" not in row)
    assert "n     3" in line
    assert "right 100.0 %" in line
