"""Mistakes in a rehearsal script are one sentence each, before anything runs."""

from __future__ import annotations

from pathlib import Path

import pytest

from assistant.rehearsal import ScriptError, read_script


@pytest.mark.parametrize(
    ("setting", "says"),
    [
        ("# for 0", "'# for 0' is no number of people: write 1 to 100"),
        ("# for -3", "'# for -3' is no number of people"),
        ("# for many", "'# for many' is no number of people"),
        ("# units K", "'# units K' is no unit: write F or C"),
        ("# serve 25:00", "'25:00' is no time of day"),
        ("# region Mars", "'Mars' is no region"),
    ],
)
def test_a_setting_that_makes_no_sense_is_said(tmp_path: Path, setting: str, says: str) -> None:
    """Not a traceback, and not taken as if it were not there."""
    file = tmp_path / "evening.txt"
    file.write_text(f"{setting}\n0:00:10 > yes\n", encoding="utf-8")
    with pytest.raises(ScriptError) as error:
        read_script(file)
    assert says in str(error.value)
    assert "\n" not in str(error.value)


def test_a_recording_that_is_not_there_is_named_before_anything_runs(tmp_path: Path) -> None:
    """Not when the evening has come as far as its line."""
    file = tmp_path / "evening.txt"
    file.write_text("0:00:10 > yes\n1:00:00 > chips down.wav\n", encoding="utf-8")
    with pytest.raises(ScriptError, match=r"line 2: there is no recording chips down\.wav beside the script"):
        read_script(file)
