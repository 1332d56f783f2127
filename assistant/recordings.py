"""What was heard in an evening, kept as sound because the cook asked for it (`cook --keep-recordings`): clips and a manifest.

Rules. Nothing here exists without the flag, and no utterance carries its sound then. The manifest is the one that `bench_hearing.py --clips DIR
--manifest FILE` reads; what it says of a clip is what the program took it for, so a cook who wants to measure corrects it first. A clip that was
not acted on has no command. A disk that is full ends the recording with one sentence, never the evening.
"""

from __future__ import annotations

import csv
import json
from collections.abc import Callable
from pathlib import Path

from assistant.hearing.kitchen_ear import noise_db, speech_db
from assistant.hearing.recogniser import RATE
from assistant.hearing.utterance import Utterance
from assistant.session.commands import Command, Reject

FOLDER, MANIFEST = "recordings", "manifest.csv"
FIELDS = ("file", "meal", "words", "command", "slots", "voice", "noise", "snr_db")


class Recordings:
    """The folder of recordings, of this evening and of those before. meal: as `find_meal` takes it; show: prints a line."""

    def __init__(self, folder: Path, meal: str, show: Callable[[str], None]) -> None:
        self._folder, self._meal, self._show = folder / FOLDER, meal, show
        self._broken = False

    def keep(self, heard: Utterance, result: Command | Reject) -> None:
        """One utterance and what it was taken for."""
        if heard.sound is None or self._broken:
            return
        try:
            self._write(heard, result)
        except OSError as error:
            self._broken = True
            self._show(f"Recording has ended: {self._folder} cannot be written ({error.strerror or error}).")

    def _write(self, heard: Utterance, result: Command | Reject) -> None:
        import soundfile

        assert heard.sound is not None
        self._folder.mkdir(parents=True, exist_ok=True)
        number = 1 + max((int(p.stem) for p in self._folder.glob("*.flac") if p.stem.isdigit()), default=0)
        file = f"{number:05d}.flac"
        try:
            soundfile.write(self._folder / file, heard.sound, RATE, subtype="PCM_16")
        except soundfile.LibsndfileError as error:
            raise OSError(error.error_string) from error
        command, slots = (result.intent.value, json.dumps(result.slots())) if isinstance(result, Command) else ("", "{}")
        snr_db = f"{speech_db(heard.sound) - noise_db(heard.sound):.0f}"
        manifest = self._folder / MANIFEST
        fresh = not manifest.exists()
        with manifest.open("a", encoding="utf-8", newline="") as lines:
            rows = csv.writer(lines)
            if fresh:
                rows.writerow(FIELDS)
            rows.writerow((file, self._meal, heard.words, command, slots, "cook", "kitchen", snr_db))
