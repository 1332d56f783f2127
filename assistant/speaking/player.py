"""Samples to the loudspeaker: a mixer that an audio callback empties, and the devices that do the calling.

Rules:
- The stream is always open and plays silence between lines: opening one takes longer than a cook should wait.
- `Mixer` is the only thing shared with the audio thread. It holds clips in order; `cut` fades what sounds within 8 ms and forgets the rest; a clip
  may give way (the rest of a tone is dropped at its lead once words follow). It knows no device and no clock: `fill` is told when its samples sound.
- A device is anything that calls `fill`. PortAudio (sounddevice) is tried first, miniaudio where PortAudio is missing or cannot open it: it brings
  its own backend and finds devices plugged in later.
- A device that cannot be opened is a `NoSpeakerError` with one sentence; nothing is raised into or out of the audio thread.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Generator, Sequence
from dataclasses import dataclass
from threading import Lock
from typing import Any, Final, Protocol

import numpy as np
from numpy.typing import NDArray

from assistant.sound_devices import hush_alsa

Samples = NDArray[np.float32]
Fill = Callable[[Samples, float], None]
"""Called by a device for each block: samples to overwrite, and in how many seconds from now the first of them will sound."""

FADE_S: Final = 0.008
_LATENCY_S: Final = 0.05  # asked of the device: short enough for an urgent line, long enough that a busy machine does not stutter
_BLOCK_S: Final = 0.01


@dataclass(frozen=True, slots=True)
class Report:
    """A clip began or ended. tag: what was handed to `play`; after_s: s from the call of `fill` until that sample sounds."""

    tag: object
    began: bool
    after_s: float


@dataclass(slots=True)
class _Clip:
    samples: Samples
    tag: object
    gives_way_at: int | None
    at: int = 0


class Mixer:
    """Clips waiting to sound, at `rate` samples a second. on_report: called from the audio thread, must not block."""

    def __init__(self, rate: int, on_report: Callable[[Report], None] = lambda _: None) -> None:
        self.rate = rate
        self._on_report = on_report
        self._clips: deque[_Clip] = deque()
        self._lock = Lock()

    @property
    def sounding(self) -> bool:
        """Whether anything is left to be handed to the device."""
        return bool(self._clips)

    def play(self, samples: Samples, tag: object = None, gives_way_at: int | None = None) -> None:
        """Append a clip. gives_way_at: sample after which it ends early if another clip follows it by then. A clip with a tag is reported."""
        with self._lock:
            if self._clips and (way := self._clips[-1].gives_way_at) is not None and self._clips[-1].at <= way:
                self._clips[-1].samples = self._clips[-1].samples[:way]
            self._clips.append(_Clip(samples, tag, gives_way_at))

    def cut(self) -> None:
        """Fade what sounds within 8 ms and forget it and everything behind it; nothing of it is reported any more."""
        with self._lock:
            rest = self._clips[0].samples[self._clips[0].at :][: round(FADE_S * self.rate)] if self._clips else np.zeros(0, np.float32)
            begun = bool(self._clips and self._clips[0].at)
            self._clips.clear()
            if begun and rest.size:
                self._clips.append(_Clip(rest * np.linspace(1, 0, rest.size, dtype=np.float32), None, None))

    def fill(self, out: Samples, after_s: float) -> None:
        """Overwrite `out` with what comes next, silence where nothing does. after_s: s until its first sample sounds."""
        out[:] = 0
        reports: list[Report] = []
        with self._lock:
            place = 0
            while self._clips and place < out.size:
                clip = self._clips[0]
                if clip.at == 0 and clip.tag is not None:
                    reports.append(Report(clip.tag, True, after_s + place / self.rate))
                part = clip.samples[clip.at : clip.at + out.size - place]
                out[place : place + part.size] = part
                place += part.size
                clip.at += part.size
                if clip.at >= clip.samples.size:
                    self._clips.popleft()
                    if clip.tag is not None:
                        reports.append(Report(clip.tag, False, after_s + place / self.rate))
        for report in reports:
            self._on_report(report)


class NoSpeakerError(Exception):
    """No sound can come out; the message is one sentence for the cook."""


@dataclass(frozen=True, slots=True)
class Opened:
    """An open device: its name, samples a second, and how to close it."""

    name: str
    rate: int
    close: Callable[[], None]


class Output(Protocol):
    """Something with a loudspeaker. make: told the rate, gives what to call for each block; ended: to be called when the device stops by itself."""

    def open(self, name: str | None, make: Callable[[int], Fill], ended: Callable[[], None]) -> Opened:
        """Start playing. Raises NoSpeakerError."""
        ...

    def names(self) -> tuple[str, ...]: ...


class PortAudio:
    """sounddevice, at the device's own rate."""

    def open(self, name: str | None, make: Callable[[int], Fill], ended: Callable[[], None]) -> Opened:
        hush_alsa()
        try:
            import sounddevice
        except (ImportError, OSError):
            raise NoSpeakerError("The PortAudio library is missing: install libportaudio2.") from None
        try:
            device = sounddevice.query_devices(name, "output")
            rate = int(device["default_samplerate"])
            channels = min(2, int(device["max_output_channels"]))
            fill = make(rate)

            def callback(out: Samples, _frames: int, times: Any, _status: Any) -> None:
                fill(out[:, 0], max(0.0, times.outputBufferDacTime - times.currentTime))
                out[:, 1:] = out[:, :1]

            stream = sounddevice.OutputStream(
                device=device["index"],
                channels=channels,
                samplerate=rate,
                dtype="float32",
                blocksize=round(rate * _BLOCK_S),
                latency=_LATENCY_S,
                callback=callback,
                finished_callback=ended,
            )
            stream.start()
        except ValueError:
            raise NoSpeakerError(_unknown(name, self.names())) from None
        except sounddevice.PortAudioError:
            raise NoSpeakerError(_none(name)) from None
        return Opened(str(device["name"]), rate, lambda: stream.close(ignore_errors=True))

    def names(self) -> tuple[str, ...]:
        hush_alsa()
        try:
            import sounddevice

            return tuple(str(d["name"]) for d in sounddevice.query_devices() if d["max_output_channels"] > 0)
        except Exception:  # no library, no server, no devices: no names
            return ()


class MiniAudio:
    """miniaudio: no library of the system's is needed."""

    _RATE = 48000

    def open(self, name: str | None, make: Callable[[int], Fill], ended: Callable[[], None]) -> Opened:
        try:
            import miniaudio
        except ImportError:
            raise NoSpeakerError("There is no library for sound: install libportaudio2.") from None

        hush_alsa()
        fill = make(self._RATE)

        def give() -> Generator[Samples, int, None]:
            frames = yield np.zeros(0, np.float32)
            while True:
                block = np.zeros(frames, np.float32)
                fill(block, _LATENCY_S)
                frames = yield block

        try:
            backends = _real_backends(miniaudio)
            found = [d for d in miniaudio.Devices(backends).get_playbacks() if name is None or name.lower() in d["name"].lower()]
            if not found:
                raise NoSpeakerError(_none(name) if name is None else _unknown(name, self.names()))
            stream = miniaudio.PlaybackDevice(
                miniaudio.SampleFormat.FLOAT32,
                nchannels=1,
                sample_rate=self._RATE,
                buffersize_msec=round(_LATENCY_S * 1000 / 3),  # of each of its three periods
                device_id=None if name is None else found[0]["id"],
                backends=backends,
                app_name="stovehand",
            )
            giver = give()
            next(giver)
            stream.stop_callback = ended
            stream.start(giver)
        except miniaudio.MiniaudioError:
            raise NoSpeakerError(_none(name)) from None
        return Opened(str(found[0]["name"]), self._RATE, stream.close)

    def names(self) -> tuple[str, ...]:
        try:
            import miniaudio

            return tuple(str(d["name"]) for d in miniaudio.Devices(_real_backends(miniaudio)).get_playbacks())
        except Exception:  # no library, no server, no devices: no names
            return ()


def _real_backends(miniaudio: Any) -> list[Any]:
    """All but the null backend, which "works" everywhere and sounds nowhere."""
    return [b for b in miniaudio.Backend if b.name not in ("NULL", "CUSTOM")]


OUTPUTS: Final[tuple[Output, ...]] = (PortAudio(), MiniAudio())
"""In the order in which they are tried."""


def open_first(name: str | None, make: Callable[[int], Fill], ended: Callable[[], None], outputs: Sequence[Output] = OUTPUTS) -> Opened:
    """Open the loudspeaker called `name` (a part of its name; None: the system's default) with the first library that can.
    Raises NoSpeakerError with the reason of the first that had one."""
    reasons = []
    for output in outputs:
        try:
            return output.open(name, make, ended)
        except NoSpeakerError as error:
            reasons.append(str(error))
    raise NoSpeakerError(reasons[0] if reasons else _none(name))


def speakers() -> tuple[str, ...]:
    """Names of the loudspeakers there are, for `check` and the settings."""
    return next((names for output in OUTPUTS if (names := output.names())), ())


def _none(name: str | None) -> str:
    return "There is no loudspeaker: plug one in." if name is None else f"The loudspeaker '{name}' cannot be opened: check its plug."


def _unknown(name: str | None, names: Sequence[str]) -> str:
    there = f"There is: {', '.join(names)}." if names else "There is none at all."
    return f"No loudspeaker is called '{name}'. {there}"
