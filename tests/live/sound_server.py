"""A private PulseAudio with a virtual loudspeaker and a virtual microphone, started as our own child; and what hears and speaks on it.

Nothing of the machine's own sound is touched: the server has its own runtime folder, state, socket and configuration, and dies with the test.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import threading
import time
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

RATE = 48000
PACKAGES = "pulseaudio pulseaudio-utils libportaudio2 libasound2-plugins alsa-utils"
Samples = NDArray[np.float32]


def missing() -> list[str]:
    """The programs that these tests need and this machine has not."""
    return [name for name in ("pulseaudio", "pactl", "parec", "paplay", "pacat") if shutil.which(name) is None]


def now() -> float:
    """The clock that the program under test tells its events on, s."""
    return time.clock_gettime(time.CLOCK_BOOTTIME)


class SoundServer:
    """PulseAudio with the devices `kitchen_speaker` and `kitchen_mic`. `env` is what a program needs to see it."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        for name in ("run", "state", "home", "data", "config"):
            (folder / name).mkdir(parents=True, exist_ok=True)
        self._socket = folder / "run" / "native"
        # norewinds: without it a null sink works in blocks of 2 s
        (folder / "server.pa").write_text(
            f"load-module module-native-protocol-unix auth-anonymous=1 socket={self._socket}\n"
            "load-module module-null-sink sink_name=speaker rate=48000 channels=1 norewinds=1 sink_properties=device.description=kitchen_speaker\n"
            "load-module module-null-sink sink_name=micfeed rate=48000 channels=1 norewinds=1\n"
            "load-module module-remap-source source_name=mic master=micfeed.monitor\n"
            "set-default-sink speaker\n"
            "set-default-source mic\n"
        )
        (folder / "alsa.conf").write_text(
            "</usr/share/alsa/alsa.conf>\n"
            'pcm.kitchen_mic { type pulse device mic hint { show on description "kitchen microphone" } }\n'
            'pcm.kitchen_speaker { type pulse device speaker hint { show on description "kitchen speaker" } }\n'
        )
        self.env = dict(
            os.environ,
            HOME=str(folder / "home"),
            XDG_RUNTIME_DIR=str(folder / "run"),
            XDG_DATA_HOME=str(folder / "data"),
            XDG_CONFIG_HOME=str(folder / "config"),
            XDG_CACHE_HOME=str(folder / "cache"),
            PULSE_RUNTIME_PATH=str(folder / "run"),
            PULSE_STATE_PATH=str(folder / "state"),
            PULSE_SERVER=f"unix:{self._socket}",
            ALSA_CONFIG_PATH=str(folder / "alsa.conf"),
        )
        self._server: subprocess.Popen[bytes] | None = None
        self._hiss: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        """Start it and wait until it answers."""
        log = (self._folder / "server.log").open("ab")
        self._server = subprocess.Popen(
            ["pulseaudio", "-n", "-F", str(self._folder / "server.pa"), "--daemonize=no", "--exit-idle-time=-1", "--use-pid-file=no"],
            env=self.env,
            stdout=log,
            stderr=log,
        )
        log.close()
        give_up = time.monotonic() + 10
        while subprocess.run(["pactl", "info"], env=self.env, capture_output=True).returncode:
            if time.monotonic() > give_up or self._server.poll() is not None:
                raise AssertionError(f"PulseAudio does not start: {(self._folder / 'server.log').read_text()}")
            time.sleep(0.05)

    def hiss(self, level: float = 5e-4) -> None:
        """The noise of a quiet room in the microphone, from now on: no real microphone gives nothing but zeros."""
        noise = np.random.default_rng(1).normal(0, level * 32768, 300 * RATE).astype("<i2")
        (self._folder / "hiss.raw").write_bytes(noise.tobytes())
        with (self._folder / "hiss.raw").open("rb") as file:
            self._hiss = subprocess.Popen(
                ["pacat", "--playback", "--device=micfeed", "--format=s16le", f"--rate={RATE}", "--channels=1", "--raw"],
                env=self.env,
                stdin=file,
                stderr=subprocess.DEVNULL,
            )

    def kill(self) -> None:
        """It dies without a word."""
        if self._hiss:
            self._hiss.kill()
            self._hiss.wait()
            self._hiss = None
        if self._server:
            self._server.kill()
            self._server.wait()
            self._server = None
            self._socket.unlink(missing_ok=True)

    def pactl(self, *words: str) -> str:
        """Tell the server something."""
        return subprocess.run(["pactl", *words], env=self.env, capture_output=True, text=True, check=True).stdout

    def unplug_microphone(self) -> None:
        """The microphone is gone; streams that heard it are moved by the server to whatever is left."""
        found = re.search(r"^(\d+)\tmodule-remap-source", self.pactl("list", "short", "modules"), re.MULTILINE)
        assert found
        self.pactl("unload-module", found[1])

    def plug_microphone(self) -> None:
        """It is there again."""
        self.pactl("load-module", "module-remap-source", "source_name=mic", "master=micfeed.monitor")
        self.pactl("set-default-source", "mic")

    def join_speaker_to_microphone(self, gain_db: float = 0.0) -> None:
        """A room: what the loudspeaker plays is heard by the microphone, so many decibels louder or fainter."""
        self.pactl("load-module", "module-loopback", "source=speaker.monitor", "sink=micfeed", "latency_msec=20")
        loop = re.search(r"^(\d+)\t.*module-loopback", self.pactl("list", "short", "sink-inputs"), re.MULTILINE)
        assert loop
        self.pactl("set-sink-input-volume", loop[1], f"{gain_db:+.0f}dB")

    def play_into_microphone(self, wav: Path) -> float:
        """Speak a file into the microphone, to its end. Returns when it ended, on the clock of `now`."""
        subprocess.run(["paplay", "--device=micfeed", "--latency-msec=30", str(wav)], env=self.env, check=True, timeout=60)
        return now()


class Recorder:
    """Everything a virtual device (the loudspeaker, or `micfeed.monitor`) plays, with the time at which each piece arrived here:
    never earlier than it sounded."""

    def __init__(self, server: SoundServer, device: str = "speaker.monitor") -> None:
        self._process = subprocess.Popen(
            ["parec", f"--device={device}", "--format=s16le", f"--rate={RATE}", "--channels=1", "--raw", "--latency-msec=5"],
            env=server.env,
            stdout=subprocess.PIPE,
        )
        self._pieces: list[tuple[float, Samples]] = []
        self._thread = threading.Thread(target=self._read, daemon=True)
        self._thread.start()
        give_up = time.monotonic() + 10
        while not self._pieces and time.monotonic() < give_up:
            time.sleep(0.01)

    def _read(self) -> None:
        assert self._process.stdout
        fd = self._process.stdout.fileno()
        left = b""
        while data := os.read(fd, 9600):
            data = left + data
            left = data[len(data) // 2 * 2 :]
            self._pieces.append((now(), np.frombuffer(data[: len(data) // 2 * 2], dtype="<i2").astype(np.float32) / 32768))

    def sounded(self) -> bool:
        """Whether anything was heard yet."""
        return any(float(np.abs(p).max(initial=0.0)) > 0.01 for _, p in list(self._pieces))

    def quiet_for(self, seconds: float) -> bool:
        """Whether the last so many seconds were silent."""
        pieces = list(self._pieces)
        since = now() - seconds
        return bool(pieces) and pieces[0][0] < since and all(float(np.abs(p).max(initial=0.0)) < 0.01 for t, p in pieces if t > since)

    def stop(self) -> tuple[Samples, NDArray[np.float64]]:
        """The sound, and for every sample when it had arrived, on the clock of `now`. May be called again."""
        self._process.terminate()
        self._process.wait()
        self._thread.join()
        if self._process.stdout:
            self._process.stdout.close()
        pieces = list(self._pieces)
        sound = np.concatenate([p for _, p in pieces]) if pieces else np.zeros(0, np.float32)
        times = np.concatenate([np.full(p.size, t) - np.arange(p.size)[::-1] / RATE for t, p in pieces]) if pieces else np.zeros(0)
        return sound, times


def level_db(sound: Samples) -> float:
    """Root mean square, dB under full scale, of what is not silence."""
    loud = sound[np.abs(sound) > 0.003]
    return float(20 * np.log10(max(float(np.sqrt((loud**2).mean())) if loud.size else 0.0, 1e-6)))


def utterances(sound: Samples, gap_s: float = 0.25) -> list[tuple[int, int]]:
    """Where something sounds: (first, last) sample of each stretch, stretches less than a gap apart taken together."""
    frame = RATE // 100
    n = sound.size // frame
    loud = np.flatnonzero(np.abs(sound[: n * frame]).reshape(n, frame).max(axis=1) > 0.01)
    if loud.size == 0:
        return []
    breaks = np.flatnonzero(np.diff(loud) > gap_s * 100)
    starts, ends = [loud[0], *loud[breaks + 1]], [*loud[breaks], loud[-1]]
    return [(int(a) * frame, (int(b) + 1) * frame) for a, b in zip(starts, ends, strict=True)]
