"""The live microphone: a `Source` that outlives whatever happens to the device.

Rules. A driver opens a device and delivers raw chunks from a thread of its own; here they become blocks. `Watch` (pure) says when a microphone
counts as lost: nothing but zeros for 2 s (muted, or macOS refusing permission without an error), no chunk for 1 s, the stream ended, or another
source under the stream than the one that was opened: PulseAudio moves a stream whose microphone vanished to the speaker's monitor, and the
program would hear itself. Then comes one `MicrophoneLost` with its reason, the device is opened again with growing pauses, and
`MicrophoneBack` follows the first sound.
PortAudio (sounddevice) is tried first, miniaudio where PortAudio is missing or does not know the device. Nothing here raises.
"""

from __future__ import annotations

import contextlib
import json
import os
import queue
import shutil
import subprocess
import threading
from collections.abc import Callable, Generator, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from assistant.clock import Clock
from assistant.hearing.frames import Blocker, MicrophoneBack, MicrophoneLost, Resampler, Sound, Source, clean
from assistant.hearing.recogniser import RATE
from assistant.sound_devices import hush_alsa, let_go

ZEROS_S = 2.0
SILENT_S = 1.0
FIRST_PAUSE_S, LONGEST_PAUSE_S = 0.5, 10.0
LOOK_S = 2.0
"""How often the sound server is asked which source we hear, s."""
CHUNK_S = 0.02
DRIFT_S = 0.25
"""Samples and clock may differ by this, s, before the clock is believed: chunks were lost, or the laptop slept."""
FULL = 3_000
"""Chunks kept when the ear is slower than the sound: a minute of 20 ms. The oldest are dropped."""

Chunk = NDArray[np.float32]


class NoMicrophoneError(Exception):
    """A device could not be opened; the message is one sentence for the cook."""


@dataclass(frozen=True, slots=True)
class Opened:
    """An open device: its name, samples a second, and how to close it."""

    name: str
    rate: int
    close: Callable[[], None]


class Driver(Protocol):
    """A library that captures sound. open: NoMicrophoneError when it cannot; deliver gets raw chunks, ended is called when the stream stops."""

    def open(self, name: str | None, deliver: Callable[[Chunk], None], ended: Callable[[], None]) -> Opened: ...

    def names(self) -> tuple[str, ...]: ...


@dataclass(frozen=True, slots=True)
class Watch:
    """When a microphone counts as lost. heard_s: when the last chunk came; loud_s: when the last chunk came that was not all zeros; source: what the
    sound server says we hear (None: it does not say)."""

    heard_s: float
    loud_s: float
    source: str | None = None

    def chunk(self, at_s: float, zeros: bool) -> Watch:
        """The state after a chunk."""
        return replace(self, heard_s=at_s, loud_s=self.loud_s if zeros else at_s)

    def fault(self, at_s: float, source: str | None) -> str:
        """Why the microphone is lost at this time, as one sentence; empty when it is not.

        >>> Watch(heard_s=10.0, loud_s=9.0).fault(10.5, None)
        ''
        >>> Watch(heard_s=10.0, loud_s=9.0).fault(11.5, None)
        'The microphone sends nothing any more: check its plug.'
        """
        if source is not None and source.endswith(".monitor") and source != self.source:
            return "The microphone is gone: the computer listens to its own speaker."
        if source is not None and self.source is not None and source != self.source:
            return f"The microphone was changed to {source}."
        if at_s - self.heard_s > SILENT_S:
            return "The microphone sends nothing any more: check its plug."
        if at_s - self.loud_s > ZEROS_S:
            return "The microphone sends only silence: check its mute switch and permission."
        return ""


class Chunks(queue.Queue[tuple[float, Chunk | None]]):
    """Raw chunks of one open device, each with when it came, s; None: the stream ended. A minute is kept, then the oldest are dropped."""

    def __init__(self, now: Callable[[], float]) -> None:
        super().__init__(FULL)
        self._now = now

    def add(self, chunk: Chunk | None) -> None:
        """Take a chunk, from the driver's thread; never waits."""
        item = (self._now(), chunk)
        while True:
            try:
                return self.put_nowait(item)
            except queue.Full:
                with contextlib.suppress(queue.Empty):
                    self.get_nowait()


class Microphone(Source):
    """Live sound. name: part of the device's name, None for the system's default; clock: its `elapsed` is the clock of this source;
    listening_to: which source of the sound server our stream hears, None when unknown."""

    def __init__(
        self,
        name: str | None,
        clock: Clock,
        drivers: Sequence[Driver] | None = None,
        listening_to: Callable[[], str | None] | None = None,
    ) -> None:
        self._name, self._clock = name, clock
        self._drivers = tuple(drivers) if drivers is not None else (PortAudio(), MiniAudio())
        self._listening_to = listening_to or pulse_source
        self._stop = threading.Event()
        self._lost = False

    def stop(self) -> None:
        """End `sounds` soon."""
        self._stop.set()

    def sounds(self) -> Iterator[Sound]:
        """Blocks and what happens to the microphone, until `stop`."""
        pause_s = FIRST_PAUSE_S
        while not self._stop.is_set():
            try:
                device, chunks = self._open()
            except NoMicrophoneError as fault:
                yield from self._say_lost(str(fault))
            else:
                with contextlib.closing(self._hear(device, chunks)) as sounds:
                    for sound in sounds:
                        if isinstance(sound, MicrophoneBack):
                            pause_s = FIRST_PAUSE_S
                        yield sound
            self._stop.wait(pause_s)
            pause_s = min(2 * pause_s, LONGEST_PAUSE_S)

    def _now(self) -> float:
        return self._clock.now().elapsed

    def _say_lost(self, reason: str) -> Iterator[Sound]:
        if not self._lost:
            self._lost = True
            yield MicrophoneLost(self._now(), reason)

    def _open(self) -> tuple[Opened, Chunks]:
        chunks = Chunks(self._now)  # of its own: a device given up on may still come to life
        reasons = []
        for driver in self._drivers:
            try:
                return driver.open(self._name, chunks.add, lambda: chunks.add(None)), chunks
            except NoMicrophoneError as fault:
                reasons.append(str(fault))
        raise NoMicrophoneError(reasons[0] if reasons else "There is no library for sound: install sounddevice or miniaudio.")

    def _hear(self, device: Opened, chunks: Chunks) -> Generator[Sound, None, None]:
        """Everything from one open device, until it is lost or we are stopped."""
        try:
            now_s = self._now()
            source = self._listening_to()
            watch = Watch(now_s, now_s, None if source is None or source.endswith(".monitor") else source)
            looked_s, resampler, blocker, ends_s = now_s, Resampler(device.rate), None, 0.0
            while not self._stop.is_set():
                try:
                    now_s, chunk = chunks.get(timeout=0.1)
                except queue.Empty:
                    now_s, chunk = self._now(), np.zeros(0, np.float32)
                if chunk is None:
                    yield from self._say_lost("The sound system stopped: waiting for it to come back.")
                    return
                if now_s - looked_s > LOOK_S:
                    looked_s, source = now_s, self._listening_to()
                if len(chunk):
                    watch = watch.chunk(now_s, not np.any(chunk))
                if reason := watch.fault(now_s, source):
                    yield from self._say_lost(reason)
                    return
                if not len(chunk):
                    continue
                if self._lost and watch.loud_s == now_s:
                    self._lost = False
                    yield MicrophoneBack(now_s, device.name)
                ready = resampler.push(clean(chunk))
                if blocker is None or abs(now_s - len(ready) / RATE - ends_s) > DRIFT_S:
                    ends_s = now_s - len(ready) / RATE
                    blocker = Blocker(ends_s)
                ends_s += len(ready) / RATE
                yield from blocker.push(ready)
        finally:
            let_go(device.close)


class PortAudio:
    """sounddevice. At the device's own rate: not every device can do 16 kHz."""

    def open(self, name: str | None, deliver: Callable[[Chunk], None], ended: Callable[[], None]) -> Opened:
        hush_alsa()
        try:
            import sounddevice
        except OSError:
            raise NoMicrophoneError("The PortAudio library is missing: install libportaudio2.") from None

        def callback(data: Chunk, _frames: int, _time: Any, _status: Any) -> None:
            deliver(data.copy())

        try:
            device = sounddevice.query_devices(name, "input")
            rate = int(device["default_samplerate"])
            stream = sounddevice.InputStream(
                device=device["index"],
                channels=min(2, device["max_input_channels"]),
                samplerate=rate,
                dtype="float32",
                blocksize=round(rate * CHUNK_S),
                callback=callback,
                finished_callback=ended,
            )
            stream.start()
        except ValueError:
            raise NoMicrophoneError(_unknown(name, self.names())) from None
        except sounddevice.PortAudioError:
            raise NoMicrophoneError(_none(name)) from None
        return Opened(str(device["name"]), rate, lambda: stream.close(ignore_errors=True))

    def names(self) -> tuple[str, ...]:
        hush_alsa()
        try:
            import sounddevice

            return tuple(str(d["name"]) for d in sounddevice.query_devices() if d["max_input_channels"] > 0)
        except Exception:  # no library, no server, no devices: no names
            return ()


class MiniAudio:
    """miniaudio: brings its own backend, resamples by itself, finds devices plugged in later."""

    def open(self, name: str | None, deliver: Callable[[Chunk], None], ended: Callable[[], None]) -> Opened:
        try:
            import miniaudio
        except ImportError:
            raise NoMicrophoneError("There is no library for sound: install libportaudio2.") from None

        def receive() -> Generator[None, bytes, None]:
            while True:
                deliver(np.frombuffer((yield), np.float32))

        try:
            found = [d for d in self._captures(miniaudio) if name is None or name.lower() in d["name"].lower()]
            if not found:
                raise NoMicrophoneError(_none(name) if name is None else _unknown(name, self.names()))
            stream = miniaudio.CaptureDevice(
                miniaudio.SampleFormat.FLOAT32,
                nchannels=1,
                sample_rate=RATE,
                buffersize_msec=int(CHUNK_S * 1000),
                device_id=None if name is None else found[0]["id"],
                backends=self._backends(miniaudio),
                app_name="stovehand",
            )
            receiver = receive()
            next(receiver)
            stream.stop_callback = ended
            stream.start(receiver)
        except miniaudio.MiniaudioError:
            raise NoMicrophoneError(_none(name)) from None
        return Opened(str(found[0]["name"]), RATE, stream.close)

    def names(self) -> tuple[str, ...]:
        try:
            import miniaudio

            return tuple(str(d["name"]) for d in self._captures(miniaudio))
        except Exception:  # no library, no server, no devices: no names
            return ()

    def _captures(self, miniaudio: Any) -> list[dict[str, Any]]:
        """Devices that capture, without what a loudspeaker plays."""
        return [d for d in miniaudio.Devices(self._backends(miniaudio)).get_captures() if not d["name"].startswith("Monitor of ")]

    @staticmethod
    def _backends(miniaudio: Any) -> list[Any]:
        """All but the null backend, which "works" everywhere and hears nothing."""
        return [b for b in miniaudio.Backend if b.name not in ("NULL", "CUSTOM")]


def microphones() -> tuple[str, ...]:
    """Names of the microphones there are, for `check` and for the settings."""
    return PortAudio().names() or MiniAudio().names()


def pulse_source() -> str | None:
    """The name of the PulseAudio (or PipeWire) source that this process records from; None without such a server or without `pactl`."""
    if shutil.which("pactl") is None:
        return None
    outputs, sources = _pactl("source-outputs"), _pactl("sources")
    return source_of(outputs, sources, os.getpid())


def source_of(outputs: list[dict[str, Any]], sources: list[dict[str, Any]], pid: int) -> str | None:
    """The name of the source that process `pid` records from, out of what `pactl -f json list` prints.

    >>> source_of([{"source": 2, "properties": {"application.process.id": "7"}}], [{"index": 2, "name": "mic"}], 7)
    'mic'
    """
    ours = [o.get("source") for o in outputs if o.get("properties", {}).get("application.process.id") == str(pid)]
    return next((str(s["name"]) for s in sources if s.get("index") in ours), None)


def _pactl(what: str) -> list[dict[str, Any]]:
    try:
        done = subprocess.run(["pactl", "-f", "json", "list", what], capture_output=True, timeout=1.0, check=True)
        found = json.loads(done.stdout)
    except (OSError, subprocess.SubprocessError, ValueError):
        return []
    return found if isinstance(found, list) else []


def _none(name: str | None) -> str:
    return "There is no microphone: plug one in." if name is None else f"The microphone '{name}' cannot be opened: check its plug."


def _unknown(name: str | None, names: Sequence[str]) -> str:
    known = ", ".join(names) or "none"
    return f"No microphone is called '{name}'; there are: {known}."
