"""Words to samples. Voices stand behind one small interface; the caller never learns which one spoke.

Rules:
- Every voice gives mono float32 at `RATE`, without silence before the first sound (a cook waits for that too) and at one loudness.
- `EmbeddedVoice` uses the one voice inside the hibari-tts wheel, handed over as a file: the library's way of fetching others is never entered.
- `SystemVoice` uses pyttsx3 to write files, never to play: its `stop` cannot cut a line and two queued lines lose one. One thread of its own does all
  its jobs, one at a time; a file without sound is made once more, then it is an error.
- `ToneVoice` says nothing and still lets the cook know that there is something to read.
- `best_voice` puts them in a row: embedded, system, tone. A voice that fails at a line leaves that line to the next one; failing at two different
  lines running it is left for good.
"""

from __future__ import annotations

import queue
import re
import sys
import tempfile
import threading
from collections.abc import Callable, Sequence
from functools import lru_cache
from importlib.resources import files
from pathlib import Path
from typing import Any, Final, Protocol

import numpy as np
from numpy.typing import NDArray

from assistant.memory import small_session
from assistant.speaking.line import Sound
from assistant.speaking.tones import tone

Samples = NDArray[np.float32]

RATE: Final = 24000
"""Samples a second of every voice."""

_LOUD: Final = 0.12  # root mean square of speech, of full scale
_PEAK: Final = 0.9
_CACHED: Final = 96  # phrases; at 2 s each about 18 MB
_JOB_S: Final = 5.0  # the system's voice takes about 10 ms a line; after this it hangs


class VoiceError(Exception):
    """This voice cannot speak (now, or at all). The message is one sentence for the cook."""


class Voice(Protocol):
    """What every voice can do."""

    @property
    def name(self) -> str: ...

    def synthesise(self, words: str, speed: float = 1.0) -> Samples:
        """Samples of the words at `RATE`; speed 1 is the voice's own pace, 0.8 slower. Raises VoiceError. Treat the result as read-only."""
        ...


_EMERGENCY = re.compile(r"\b(call|dial|ring)\s+(\d{3})\b", re.IGNORECASE)
_DEGREES = re.compile(r"\b(\d{1,3})\s?(?:°\s?[FC]?|(?:degrees\s+)?[FC]\b|degrees\b)(?:\s+(?:Fahrenheit|Celsius)\b)?")
_BARE = re.compile(r"(?<![\w.:,])\d{3}(?![\w%]|[.:,]\d)")  # the prompts spell counts and durations in words: bare figures are temperatures
_LITRES = re.compile(r"(?<=\d)\s?[lL]\b")


def _trade(number: str) -> str:
    """A temperature as it is called across a kitchen.

    >>> [_trade(n) for n in ("352", "305", "300", "75")]
    ['3 52', '3 oh 5', '300', '75']
    """
    if len(number) < 3 or number.endswith("00"):
        return number
    hundreds, rest = number[0], number[1:]
    return f"{hundreds} oh {rest[1]}" if rest[0] == "0" else f"{hundreds} {rest}"


def speakable(words: str) -> str:
    """The words as a voice should be given them: an emergency number digit by digit, temperatures as the trade says them, litres in full.
    Raises VoiceError when there is nothing to read.

    >>> speakable("Call 911 from outside.")
    'Call 9 1 1 from outside.'
    >>> speakable("Hold: oil at 352 F.")
    'Hold: oil at 3 52.'
    >>> speakable("Top up by 0.5 l.")
    'Top up by 0.5 litres.'
    """
    if not any(c.isalnum() for c in words):
        raise VoiceError("There are no words to say.")
    words = _EMERGENCY.sub(lambda m: f"{m[1]} {' '.join(m[2])}", words)
    words = _DEGREES.sub(lambda m: m[1] if len(m[1]) == 3 else f"{m[1]} degrees", words)
    words = _BARE.sub(lambda m: _trade(m[0]), words)
    return _LITRES.sub(" litres", words)


def resample(samples: Samples, old: int, new: int) -> Samples:
    """Band-limited change of rate, by cutting or padding the spectrum of the whole clip (clips begin and end in silence, so nothing wraps round).
    Done here because importing scipy.signal for it costs 0.4 s and 80 MB."""
    if old == new or samples.size == 0:
        return samples
    size = round(samples.size * new / old)
    spectrum = np.fft.rfft(samples)
    resized = np.zeros(size // 2 + 1, dtype=complex)
    keep = min(resized.size, spectrum.size)
    resized[:keep] = spectrum[:keep]
    return (np.fft.irfft(resized, size) * (size / samples.size)).astype(np.float32)


def finish(samples: Samples) -> Samples:
    """Trim silence (15 ms stay before the first sound, 60 ms after the last), bring to one loudness, mark read-only."""
    level = np.abs(samples)
    loud = np.flatnonzero(level > 0.02 * level.max(initial=0.0)) if level.max(initial=0.0) > 1e-4 else np.empty(0, dtype=int)
    if loud.size == 0:
        raise VoiceError("The voice made no sound.")
    start, stop = max(0, loud[0] - RATE * 15 // 1000), min(samples.size, loud[-1] + RATE * 60 // 1000)
    out = np.array(samples[start:stop], dtype=np.float32)
    active = out[np.abs(out) > 0.02 * level.max()]
    out *= min(_LOUD / max(float(np.sqrt((active**2).mean())), 1e-6), _PEAK / float(np.abs(out).max()))
    edge = min(RATE // 200, out.size // 2)
    ramp = np.linspace(0, 1, edge, dtype=np.float32)
    out[:edge] *= ramp
    out[out.size - edge :] *= ramp[::-1]
    out.flags.writeable = False
    return out


class EmbeddedVoice:
    """The neural voice inside the hibari-tts wheel. Loads in about 0.6 s; a line of ten words takes about 20 ms on one core."""

    name = "the voice in the package"

    def __init__(self) -> None:
        try:
            from hibari import SAMPLE_RATE, Hibari

            model = Path(str(files("hibari") / "assets" / "hibari.onnx"))
            if not model.is_file():
                raise VoiceError("The voice's file is missing from the installed package.")
            # given a file, the library has nothing to look up; asked for a voice by name it would fetch one
            self._engine = Hibari(model=str(model), threads=1)
            # the library leaves the arena on and asks nobody: what it made is put out again (its version is pinned)
            self._engine.sess = small_session(str(model))
        except VoiceError:
            raise
        except Exception as error:  # a broken or missing package, whatever it raises
            raise VoiceError(f"The voice in the package cannot be loaded ({error}).") from error
        assert SAMPLE_RATE == RATE
        self._phrase = lru_cache(maxsize=_CACHED)(self._make)

    def _make(self, words: str, speed: float) -> Samples:
        # one seed: the same words sound the same each time, and recorded demos are reproducible
        return finish(np.asarray(self._engine(speakable(words), speed=speed, seed=0), dtype=np.float32))

    def synthesise(self, words: str, speed: float = 1.0) -> Samples:
        try:
            return self._phrase(words, speed)
        except VoiceError:
            raise
        except Exception as error:
            raise VoiceError(f"The voice in the package failed ({error}).") from error


class SystemVoice:
    """The system's own voice through pyttsx3, as a synthesiser. voice: the id of one of its voices; words_a_minute: pace at speed 1."""

    name = "the system's voice"

    def __init__(self, voice: str | None = None, words_a_minute: int = 165) -> None:
        self._voice = voice
        self._words_a_minute = words_a_minute
        self._jobs: queue.SimpleQueue[tuple[str, float, queue.SimpleQueue[Samples | VoiceError]]] = queue.SimpleQueue()
        self._hung = False
        self._phrase = lru_cache(maxsize=_CACHED)(self._make)
        ready: queue.SimpleQueue[Samples | VoiceError] = queue.SimpleQueue()
        # a thread of its own because pyttsx3 dead-locks when two use it; a daemon because a hung engine cannot be stopped
        threading.Thread(target=self._work, args=(ready,), name="system-voice", daemon=True).start()
        self._answer(ready)

    def synthesise(self, words: str, speed: float = 1.0) -> Samples:
        return self._phrase(words, speed)

    def _make(self, words: str, speed: float) -> Samples:
        if self._hung:
            raise VoiceError("The system's voice hangs.")
        reply: queue.SimpleQueue[Samples | VoiceError] = queue.SimpleQueue()
        self._jobs.put((speakable(words), speed, reply))
        return self._answer(reply)

    def _answer(self, reply: queue.SimpleQueue[Samples | VoiceError]) -> Samples:
        try:
            result = reply.get(timeout=_JOB_S)
        except queue.Empty:
            self._hung = True
            raise VoiceError("The system's voice hangs.") from None
        if isinstance(result, VoiceError):
            raise result
        return result

    def _work(self, ready: queue.SimpleQueue[Samples | VoiceError]) -> None:
        try:
            engine = _system_engine(self._voice)
        except Exception as error:  # no speech service, no library: pyttsx3 raises what its driver raises
            first = str(error).strip().split("\n")[0]
            ready.put(VoiceError(f"The system's voice cannot be used ({first})."))
            return
        ready.put(np.zeros(0, dtype=np.float32))
        with tempfile.TemporaryDirectory(prefix="stovehand-voice-") as folder:
            path = Path(folder, "line.wav")
            while True:
                words, speed, reply = self._jobs.get()
                try:
                    engine.setProperty("rate", round(self._words_a_minute * speed))
                    reply.put(self._file(engine, words, path))
                except VoiceError as error:
                    reply.put(error)
                except Exception as error:
                    reply.put(VoiceError(f"The system's voice failed ({error})."))

    def _file(self, engine: Any, words: str, path: Path) -> Samples:
        """One line through a file. In a fresh process a few files in a thousand hold no frames: then once more."""
        import soundfile

        for _ in range(2):
            path.unlink(missing_ok=True)
            engine.save_to_file(words, str(path))
            engine.runAndWait()
            if path.exists() and path.stat().st_size > 0:
                samples, rate = soundfile.read(path, dtype="float32", always_2d=True)
                if samples.shape[0] > rate // 20:
                    return finish(resample(samples[:, 0], rate, RATE))
        raise VoiceError("The system's voice wrote a file without sound, twice.")


def _system_engine(voice: str | None) -> Any:
    """A pyttsx3 engine that prints nothing. Where the espeakng-loader package is installed its library serves, if the system has none of its own."""
    try:
        import ctypes
        import os

        import espeakng_loader

        os.environ.setdefault("ESPEAK_DATA_PATH", espeakng_loader.get_data_path())
        ctypes.CDLL(espeakng_loader.get_library_path(), mode=ctypes.RTLD_GLOBAL)
    except (ImportError, OSError):
        pass
    import pyttsx3

    engine = pyttsx3.init()
    if driver := sys.modules.get("pyttsx3.drivers.espeak"):
        driver.print = _silently  # type: ignore[attr-defined]  # it reports each file it writes; only its own print is replaced
    if voice:
        engine.setProperty("voice", voice)
    return engine


def _silently(*_: object, **__: object) -> None:
    """A print that prints nothing."""


class ToneVoice:
    """No words: the sound of something worth a glance. Urgent lines get their own sound from the speaker besides."""

    name = "a tone"

    def synthesise(self, words: str, speed: float = 1.0) -> Samples:
        return tone(Sound.READY, RATE)


class Row:
    """Voices in order of preference, used as one; each is made when first needed. on_change: told in one sentence when one is left for good."""

    def __init__(self, voices: Sequence[Callable[[], Voice]], on_change: Callable[[str], None] = lambda _: None) -> None:
        self._makers = list(voices)
        self._made: list[Voice] = []
        self._failed: set[str] = set()
        self.on_change = on_change

    @property
    def name(self) -> str:
        return self._voice(0).name

    def _voice(self, place: int) -> Voice:
        """The voice at this place in the row; one that cannot be made is passed over."""
        while len(self._made) <= place:
            try:
                self._made.append(self._makers[len(self._made)]())
            except VoiceError as error:
                self._leave(len(self._made), error)
        return self._made[place]

    def _leave(self, place: int, why: VoiceError) -> None:
        if len(self._makers) == 1:
            raise why
        del self._makers[place], self._made[place:]
        self._failed.clear()
        self.on_change(f"{why} Instead: {self._voice(min(place, len(self._makers) - 1)).name}.")

    def synthesise(self, words: str, speed: float = 1.0) -> Samples:
        place = 0
        while True:
            try:
                samples = self._voice(place).synthesise(words, speed)
            except VoiceError as error:
                self._failed |= {words} if place == 0 else set()
                if place == 0 and len(self._failed) >= 2:
                    self._leave(0, error)
                    continue
                place += 1
                if place == len(self._makers):
                    raise
            else:
                if place == 0:
                    self._failed.clear()
                return samples


def row_of_voices(setting: str = "auto") -> Row:
    """The voices to speak with, none of them loaded yet. setting: auto, embedded, system or tone; anything but auto starts further down the row."""
    makers: dict[str, Callable[[], Voice]] = {"embedded": EmbeddedVoice, "system": SystemVoice, "tone": ToneVoice}
    names = list(makers)
    return Row([makers[name] for name in names[names.index(setting) if setting in names else 0 :]])


def best_voice(setting: str = "auto") -> tuple[Voice, str]:
    """The first voice of the row that loads, and one sentence on which it is and why. Raises nothing: a tone always works."""
    row, troubles = row_of_voices(setting), list[str]()
    row.on_change = troubles.append
    name = row.name
    if troubles:
        return row, troubles[-1]
    return row, "A tone sounds for each line; the words are on the screen." if name == ToneVoice.name else f"Speaking with {name}."
