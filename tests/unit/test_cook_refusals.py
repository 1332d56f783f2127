"""What `cook` will not begin with: one sentence, exit 2, and no evening begun."""

from __future__ import annotations

import io
from pathlib import Path

import pytest

from assistant.cli import main
from assistant.journal import Journal
from assistant.settings import SettingsError, read_settings


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


def run(*arguments: str, typed: str = "", monkeypatch: pytest.MonkeyPatch) -> int:
    """`stovehand cook fish-supper`, typed and silent unless told otherwise: its exit code."""
    monkeypatch.setattr("sys.argv", ["stovehand", "cook", "fish-supper", "--hear", "typed", "--say", "silent", *arguments])
    monkeypatch.setattr("sys.stdin", io.StringIO(typed))
    with pytest.raises(SystemExit) as end:
        main()
    assert isinstance(end.value.code, int)
    return end.value.code


def test_speaking_into_something_that_is_no_wav_leaves_it_as_it_is(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """`--say shopping.txt` would write over a list."""
    notes = tmp_path / "shopping.txt"
    notes.write_text("two lemons")
    assert run("--say", str(notes), "--data", str(tmp_path / "data"), monkeypatch=monkeypatch) == 2
    assert "a FILE.wav" in capsys.readouterr().err
    assert notes.read_text() == "two lemons"


def test_a_folder_without_a_name_is_refused(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """`--data ""` (an unset variable) must not put a journal wherever the cook happens to be."""
    assert run("--data", "", monkeypatch=monkeypatch) == 2
    assert "name a folder" in capsys.readouterr().err


def test_an_evening_under_way_is_not_left_without_a_word(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """Where something was begun, a new evening needs --afresh; before anything was done it does not."""
    data = str(tmp_path / "data")
    assert run("--data", data, typed="yes\n", monkeypatch=monkeypatch) == 0
    assert run("--data", data, typed="burner on full\n", monkeypatch=monkeypatch) == 0
    assert run("--data", data, monkeypatch=monkeypatch) == 2
    said = capsys.readouterr().err.strip()
    assert said.startswith("fish-supper, begun at ")
    assert "--resume" in said
    assert "--afresh" in said
    assert run("--data", data, "--afresh", monkeypatch=monkeypatch) == 0
    journal = Journal(tmp_path / "data" / "journal.sqlite", cooking=False)
    assert len(journal.evenings()) == 3
    journal.close()


@pytest.mark.parametrize(("region", "right"), [("GB", True), ("en_GB", True), ("de-AT", True), ("12", False), ("Britain", False), ("", False)])
def test_a_region_is_two_letters(region: str, right: bool, tmp_path: Path) -> None:
    """The emergency number hangs on it: what is no country's code is said at the start."""
    file = tmp_path / "settings.toml"
    file.write_text(f'region = "{region}"\n')
    if right:
        assert read_settings(file).region == region
    else:
        with pytest.raises(SettingsError, match="two letters"):
            read_settings(file)


@pytest.mark.parametrize(("written", "metres"), [("1609", 1609.0), ("0", 0.0), ("-10", None), ("9000", None), ("true", None), ('"high"', None)])
def test_an_altitude_is_a_number_of_metres(written: str, metres: float | None, tmp_path: Path) -> None:
    """From the sea to 4000 m, where the boiling point is known; anything else is one sentence with the limits."""
    file = tmp_path / "settings.toml"
    file.write_text(f"altitude = {written}\n")
    if metres is not None:
        assert read_settings(file).altitude == metres
    else:
        with pytest.raises(SettingsError, match="no number of metres from 0 to 4000"):
            read_settings(file)


def test_speech_that_cannot_be_written_is_one_sentence(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """No such folder: said with the file's name, and the evening goes on without sound."""
    wav = tmp_path / "none" / "said.wav"
    assert run("--say", str(wav), "--data", str(tmp_path / "data"), monkeypatch=monkeypatch) == 0
    assert capsys.readouterr().out.splitlines()[0] == f"{wav} cannot be written (No such file or directory). Going on without sound."
