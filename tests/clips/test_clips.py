"""Every recorded command through the real ear: voice activity, endpoint, embedded recogniser, grammar. The shares are floors under what was measured,
not goals; the counts and every clip that was not right are printed with `-s`. Marked `clips`: it takes minutes, in two processes.
"""

from __future__ import annotations

import csv
import json
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pytest
from ear_kit import FIXTURES, ears

from assistant.hearing.frames import Sound, Source
from assistant.hearing.noise import kitchen_noise
from assistant.hearing.sources import file_blocks
from assistant.hearing.utterance import Utterance
from assistant.session.commands import BARE_VALUES, DANGER, Command, Intent

CLOSE = 0.06
"""How near a number must come to the manifest's, which has one decimal."""
NATURAL = ("heart", "kumo", "gongitsune", "tebukuro")

pytestmark = pytest.mark.clips


@dataclass(frozen=True, slots=True)
class Clip:
    """One line of the manifest."""

    file: str
    words: str
    command: str
    slots: dict[str, str | float]
    voice: str

    @property
    def group(self) -> str:
        """Its folder."""
        return self.file.split("/")[0]


@cache
def clips() -> tuple[Clip, ...]:
    """The manifest."""
    with (FIXTURES / "manifest.csv").open(encoding="utf-8", newline="") as lines:
        return tuple(Clip(r["file"], r["words"], r["command"], json.loads(r["slots"] or "{}"), r["voice"]) for r in csv.DictReader(lines))


class Bare(Source):
    """A clip without silence after it: its end ends the utterance. noise_db: of the kitchen around it, dB below full scale."""

    def __init__(self, path: Path, noise_db: float | None) -> None:
        self._path, self._noise_db = path, noise_db

    def sounds(self) -> Iterator[Sound]:
        bed = None if self._noise_db is None else kitchen_noise(20.0, 11, self._noise_db)
        for i, block in enumerate(file_blocks(self._path)):
            if bed is not None:
                block.samples[:] += bed[i * len(block.samples) : (i + 1) * len(block.samples)]
            yield block


def heard(clip: Clip, noise_db: float | None) -> list[Command]:
    """What would be acted on if the sentence were addressed: the sure utterances of one clip, understood."""
    interpreter, ear = ears()
    results = (
        interpreter.interpret(u.words, now_day_s=17 * 3600.0).result
        for u in ear.listen(Bare(FIXTURES / clip.file, noise_db))
        if isinstance(u, Utterance) and u.sure
    )
    return [r for r in results if isinstance(r, Command) and r.intent is not Intent.ANSWER]


def is_meant(clip: Clip, command: Command) -> bool:
    """Whether this is the command of the manifest, slots included."""
    got = command.slots()
    if (command.intent.value, set(got)) != (clip.command, set(clip.slots)):
        return False
    return all(abs(float(got[k]) - v) < CLOSE if isinstance(v, int | float) else got[k] == v for k, v in clip.slots.items())


def verdict(clip: Clip, noise_db: float | None) -> tuple[str, list[str]]:
    """`right`, `danger` (another danger than the one called), `wrong` (anything else that was accepted) or `silent`; and what was heard."""
    commands = heard(clip, noise_db)
    if not commands:
        how = "silent"
    elif all(is_meant(clip, c) for c in commands):
        how = "right"
    else:
        how = "danger" if clip.group == "danger" and all(c.intent in DANGER for c in commands) else "wrong"
    return how, [f"{c.intent} {c.slots()}" for c in commands]


def score(chosen: list[Clip], noise_db: float | None = None) -> Counter[str]:
    """How many clips were right, another danger, wrong and silent; by the natural-sounding voices alone as well."""
    counts: Counter[str] = Counter()
    lines = []
    for clip in chosen:
        how, what = verdict(clip, noise_db)
        counts.update((how, "all"))
        if clip.voice in NATURAL:
            counts.update((f"natural {how}", "natural all"))
        if how in ("wrong", "danger") or (how == "silent" and clip.command):
            lines.append(f"{how}: {clip.file} {what}")
    print(
        f"\n{chosen[0].group} {'clean' if noise_db is None else f'in noise at {noise_db:.0f} dB'}: {dict(sorted(counts.items()))}", *lines, sep="\n  "
    )
    return counts


@pytest.mark.parametrize(("voice", "least"), [("heart", 100), ("kumo", 99), ("gongitsune", 98), ("robin", 94)])
def test_commands_are_heard(voice: str, least: int) -> None:
    """Intent and slots exactly, voice by voice (measured: 102, 101, 100 and 97 of 102); what is wrong but accepted is one clip at most."""
    counts = score([c for c in clips() if c.group == "commands" and c.voice == voice])
    assert counts["right"] >= least
    assert counts["wrong"] <= 1


def test_numbers_are_heard() -> None:
    """Numbers that are easily taken for others; measured: 77 of 80, 59 of 60 natural-sounding, 1 wrong."""
    counts = score([c for c in clips() if c.group == "numbers"])
    assert counts["right"] >= 74
    assert counts["natural right"] >= 57
    assert counts["wrong"] <= 2


@pytest.mark.parametrize(
    ("noise_db", "least", "natural_least", "most_other", "most_wrong"),
    [
        (None, 65, 50, 1, 0),  # measured 67 of 68, 51 of 51 natural-sounding, 1 another danger
        (-33.0, 64, 48, 1, 0),  # 66, 50, none another danger
    ],
)
def test_danger_is_heard(noise_db: float | None, least: int, natural_least: int, most_other: int, most_wrong: int) -> None:
    """What was called, exactly. Another danger begins another script, which asks; a plain command would leave the cook alone: each is bounded."""
    counts = score([c for c in clips() if c.group == "danger"], noise_db)
    assert counts["right"] >= least
    assert counts["natural right"] >= natural_least
    assert counts["danger"] <= most_other
    assert counts["wrong"] <= most_wrong


@pytest.mark.parametrize("voice", ["kumo", "tebukuro"])
def test_prose_is_no_command(voice: str) -> None:
    """Not one sentence of it."""
    assert score([c for c in clips() if c.group == "chatter" and c.voice == voice])["silent"] == 16


def test_what_begins_like_a_command_is_none() -> None:
    """Nor what names a dish this meal has not (measured: 0 of 84)."""
    assert score([c for c in clips() if c.group == "near"])["wrong"] <= 1


def test_every_command_is_among_the_clips() -> None:
    """Four voices say each command that the grammar knows; a bare value is only an answer."""
    voices = Counter((c.command, c.words) for c in clips() if c.group in ("commands", "danger"))
    said = {command for (command, _), n in voices.items() if n >= 4}
    assert said >= {i.value for i in Intent if i not in BARE_VALUES}


def test_the_manifest_and_the_folder_agree() -> None:
    """Every file is listed with its words, voice and licence, every line has its file, and all together stay small."""
    files = {p.relative_to(FIXTURES).as_posix() for p in FIXTURES.rglob("*.ogg")}
    assert files == {c.file for c in clips()}
    assert sum(p.stat().st_size for p in FIXTURES.rglob("*")) < 30e6
    with (FIXTURES / "manifest.csv").open(encoding="utf-8", newline="") as lines:
        assert all(row["words"] and row["voice"] and row["licence"] for row in csv.DictReader(lines))
