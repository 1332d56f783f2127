"""Sound is kept only when asked for, and then in the bench's own format."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import numpy as np
import pytest
import soundfile

from assistant.cli import main
from assistant.hearing.endpoint import LEAD_S, TRAIL_S, Follow
from assistant.hearing.frames import BLOCK, blocks_of
from assistant.hearing.listener import Ear
from assistant.hearing.recogniser import RATE, Samples
from assistant.hearing.utterance import Utterance
from assistant.recordings import FIELDS, FOLDER, MANIFEST, Recordings
from assistant.session.commands import Command, Intent, Reject


class Loud:
    """Loud is speech, and every speech is these words."""

    name = "loud"

    def probability(self, samples: Samples) -> float:
        return float(np.max(np.abs(samples)) > 0.01)

    def reset(self) -> None:
        """It has no memory."""

    def recognise(self, samples: Samples, start_s: float = 0.0, end_s: float = 0.0) -> Utterance:
        return Utterance("chips down", start_s, end_s)

    def sounds(self) -> object:
        """A second of silence, a second of tone, two of silence."""
        tone = 0.3 * np.sin(2 * np.pi * 440 * np.arange(RATE) / RATE)
        return blocks_of([np.concatenate([np.zeros(RATE), tone, np.zeros(2 * RATE)]).astype(np.float32)], RATE)


def heard(keep: bool) -> Utterance:
    """The one utterance of that second."""
    loud = Loud()
    (one,) = Ear(loud, loud, lambda words: Follow.NOTHING, lambda words: False, keep_sound=keep).listen(loud)  # type: ignore[arg-type]
    assert isinstance(one, Utterance)
    return one


def test_no_utterance_carries_sound_unless_it_was_asked_for() -> None:
    """Without the flag the samples never leave the ear; with it they are the utterance with its lead and trail, and nothing else."""
    assert heard(keep=False).sound is None
    sound = heard(keep=True).sound
    assert sound is not None
    assert len(sound) / RATE == pytest.approx(LEAD_S + 1.0 + TRAIL_S, abs=3 * BLOCK / RATE)


def rows(folder: Path) -> list[dict[str, str]]:
    """The manifest."""
    with (folder / FOLDER / MANIFEST).open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


def test_a_clip_and_its_line(tmp_path: Path) -> None:
    """What was done is the command of the clip, what was not acted on has none; numbers go on where the last evening ended."""
    sound = np.concatenate([np.full(8_000, 1e-3), 0.2 * np.ones(8_000)]).astype(np.float32)
    shown: list[str] = []
    first = Recordings(tmp_path, "fish-supper", shown.append)
    first.keep(Utterance("set a clock for six minutes", sound=sound), Command(Intent.SET_CLOCK, seconds=360.0))
    first.keep(Utterance("carry on", sound=sound), Reject("carry on", "not_addressed"))
    Recordings(tmp_path, "sunday-thighs", shown.append).keep(Utterance("fire", sound=sound), Command(Intent.FIRE))
    found = rows(tmp_path)
    assert tuple(found[0]) == FIELDS
    assert [(r["file"], r["meal"], r["words"], r["command"]) for r in found] == [
        ("00001.flac", "fish-supper", "set a clock for six minutes", "set_clock"),
        ("00002.flac", "fish-supper", "carry on", ""),
        ("00003.flac", "sunday-thighs", "fire", "fire"),
    ]
    assert json.loads(found[0]["slots"]) == {"seconds": 360.0}
    assert float(found[0]["snr_db"]) == pytest.approx(46, abs=1)
    kept, rate = soundfile.read(tmp_path / FOLDER / "00001.flac", dtype="float32")
    assert rate == RATE
    np.testing.assert_allclose(kept, sound, atol=1e-4)
    assert shown == []


def test_an_utterance_without_sound_leaves_nothing(tmp_path: Path) -> None:
    """What was typed has none."""
    Recordings(tmp_path, "fish-supper", lambda line: None).keep(Utterance("yes"), Command(Intent.YES))
    assert not list(tmp_path.iterdir())


def test_a_folder_that_cannot_be_written_is_one_sentence(tmp_path: Path) -> None:
    """Said once; the evening goes on without recordings."""
    (tmp_path / FOLDER).write_text("in the way")
    shown: list[str] = []
    recordings = Recordings(tmp_path, "fish-supper", shown.append)
    for _ in range(3):
        recordings.keep(Utterance("yes", sound=np.zeros(RATE, np.float32)), Command(Intent.YES))
    assert len(shown) == 1
    assert shown[0].startswith("Recording has ended:")


def test_what_is_typed_cannot_be_recorded(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """One sentence, exit 2, no evening."""
    data = tmp_path / "evenings"
    monkeypatch.setattr("sys.argv", ["stovehand", "cook", "fish-supper", "--hear", "typed", "--keep-recordings", "--data", str(data)])
    with pytest.raises(SystemExit) as end:
        main()
    assert end.value.code == 2
    assert capsys.readouterr().err.strip() == "Nothing is heard when you type: leave out --keep-recordings."
    assert not data.exists()
