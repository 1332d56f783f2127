"""Synthetic speech for the hearing benches, clean or in the kitchen's noise: the same samples on every run, no network.

Voices: the one voice inside the hibari-tts wheel, plain and resampled to other pitches and paces (natural-sounding), and espeak-ng out of the
espeakng-loader wheel in several accents and variants (old-fashioned). They prove the plumbing and rank recognisers; they are not people.
"""

from __future__ import annotations

import ctypes
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

import espeakng_loader
import numpy as np
import scipy.signal
from hibari import Hibari

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
