"""`cook --hear FILE` with something that is no sound: one sentence, exit 2, and no evening begun."""

from __future__ import annotations

from pathlib import Path

import pytest

from assistant.cli import main


@pytest.mark.parametrize("kind", ["text", "folder", "missing"])
def test_what_is_no_sound_is_one_sentence_and_leaves_no_evening(
    kind: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Nothing is written to the journal before the file was looked at."""
    path = tmp_path / "sound.wav"
    if kind == "text":
        path.write_text("not a sound")
    elif kind == "folder":
        path.mkdir()
    data = tmp_path / "evenings"
    monkeypatch.setattr("sys.argv", ["stovehand", "cook", "fish-supper", "--hear", str(path), "--say", "silent", "--data", str(data)])
    with pytest.raises(SystemExit) as end:
        main()
    assert end.value.code == 2
    said = capsys.readouterr().err.strip()
    assert said.count("\n") == 0
    assert "sound" in said
    assert not data.exists()
