"""How long a cook waits: from the end of speech to the first sound of the answer, whole and in its parts.

    python tests/benchmarks/bench_latency.py [--clips 60] [--live 20] [--no-live]

Over the recorded commands and danger words (audio_fixtures/), clean, at the pace at which they were spoken, in the real ear, engine and voice:
  decision   from the last loud sample of the clip (25 dB under its loudest) until the engine and the journal (on disk) have made of it what is to
             be said; the sentence is decoded while the ear waits for silence, so it is less than the sum of its parts:
  - endpoint   until the utterance is ended, in the time of the sound itself
  - decode     the recogniser alone, which begins at a silence of PROBE_S
  - decide     grammar, gate, engine and journal
  synthesis  making the words of the answer, never heard before by the cache
  output     what a loudspeaker adds: block and device delay, measured on the virtual one (else the 60 ms that are asked for)
  whole      decision, synthesis and output
Danger words and alarms sound a tone before their words are made: for them synthesis does not count. `load` is what else this machine was doing.
Live: `stovehand cook` as its own process on a private sound server; both ends timed on recordings of the virtual microphone and loudspeaker, and the
most memory that it ever held.
The embedded voice stands for the cook there.
"""

from __future__ import annotations

import argparse
import json
import os
import platform
import re
import statistics
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from assistant.hearing.frames import Block, Sound, Source
from assistant.hearing.sources import FileSource
from assistant.hearing.utterance import Utterance
from assistant.understander import Understander

ROOT = Path(__file__).resolve().parents[2]
RESULTS = Path(__file__).parent / "results" / "latency.json"
FIXTURES = ROOT / "audio_fixtures"
MEAL = "fish-supper"
ASKED_OUTPUT_S = 0.06
sys.path.insert(0, str(ROOT / "tests" / "live"))


@dataclass(frozen=True, slots=True)
class Wait:
    """The parts of one wait, s of the wall clock but for `endpoint`."""

    group: str
    endpoint: float
    decode: float
    decide: float
    decision: float
    synthesis: float
    output: float

    @property
    def whole(self) -> float:
        return self.decision + self.synthesis + self.output


class Paced(Source):
    """A recording as a live microphone gives it: each block when it is over."""

    def __init__(self, clip: Path) -> None:
        self._clip = clip
        self.began = 0.0

    def sounds(self) -> Iterator[Sound]:
        self.began = time.perf_counter()
        for sound in FileSource(self._clip).sounds():
            if isinstance(sound, Block):
                time.sleep(max(0.0, self.began + sound.end_s - time.perf_counter()))
            yield sound


def clips(wanted: int) -> Iterator[tuple[str, Path]]:
    """(commands or danger, file): so many of either, spread evenly over phrases and voices."""
    for group in ("commands", "danger"):
        files = sorted((FIXTURES / group).glob("*.ogg"))
        for i in np.linspace(0, len(files) - 1, min(wanted, len(files))):
            yield group, files[round(float(i))]


def speech_end(path: Path) -> float:
    """When the speech in a clip ends, s: its last sample within 25 dB of the loudest."""
    from assistant.hearing.recogniser import RATE
    from assistant.hearing.sources import read_sound

    sound = np.abs(read_sound(path))
    return float(np.flatnonzero(sound > sound.max() * 10 ** (-25 / 20))[-1]) / RATE


def recorded(wanted: int, output_s: float) -> tuple[list[Wait], int]:
    """The waits of the recorded clips that were understood, and how many were not."""
    from assistant.clock import FakeClock
    from assistant.ears import build_ear, build_engines, interpreter_for
    from assistant.evening import Evening
    from assistant.journal import Journal
    from assistant.kitchen.cards import find_meal, read_card
    from assistant.session.commands import Reject
    from assistant.session.events import EveningBegan
    from assistant.settings import Settings
    from assistant.speaking.line import Line
    from assistant.speaking.speaker import sound_of
    from assistant.speaking.voices import EmbeddedVoice

    settings = Settings(vosk=False, address="never")
    path = find_meal(MEAL)
    card = read_card(path)
    interpreter = interpreter_for(card, settings)
    engines = build_engines(interpreter, card, settings)
    understander = Understander(interpreter, settings)
    voice = EmbeddedVoice()
    voice.synthesise("Ready.")
    waits, deaf = [], 0
    with tempfile.TemporaryDirectory() as folder:
        for number, (group, clip) in enumerate(clips(wanted)):
            said: list[Line] = []
            journal = Journal(Path(folder, f"{number}.sqlite"))
            first = EveningBegan(0.0, path.read_text(encoding="utf-8"), path.name, 17 * 3600.0, None, card.serves, settings.units, settings.region)
            evening = Evening.begin(journal, FakeClock(), first, path.stem, said.extend)
            end = speech_end(clip)
            source = Paced(clip)
            heard = next((u for u in build_ear(interpreter, engines).listen(source) if isinstance(u, Utterance)), None)
            said.clear()
            began = time.perf_counter()
            command = understander.heard(heard, evening, speaking=False, since_s=1.0) if heard else None
            if heard and not isinstance(command, Reject):
                evening.feed(command)
            decided = time.perf_counter()
            journal.close()
            if heard is None or not said:
                deaf += 1
                continue
            begun = time.perf_counter()
            if not sound_of(said[0]):
                voice._make(said[0].words, 1.0)
            synthesis = time.perf_counter() - begun
            decision = decided - (source.began + end)
            waits.append(Wait(group, heard.handed_s - end, heard.decode_ms / 1e3, decided - began, decision, synthesis, output_s))
    return waits, deaf


def measure_output() -> float | None:
    """What the virtual loudspeaker adds, s: from `say` of a line whose words are made to its first sound on the recording, median of 10."""
    from sound_server import Recorder, SoundServer, missing, now

    if missing():
        return None
    with tempfile.TemporaryDirectory() as folder:
        server = SoundServer(Path(folder))
        os.environ.update(server.env)  # before PortAudio looks at it
        server.start()
        from assistant.clock import SystemClock
        from assistant.speaking.line import Line
        from assistant.speaking.speaker import Speaker
        from assistant.speaking.voices import ToneVoice

        speaker = Speaker(ToneVoice(), SystemClock(), "kitchen_speaker")
        speaker.start()
        delays = []
        for trial in range(10):
            recorder = Recorder(server)
            asked = now()
            speaker.say(Line(f"{trial}"))
            speaker.wait(5)
            sound, times = recorder.stop()
            delays.append(float(times[np.abs(sound) > 0.01][0]) - asked)
        speaker.close()
        server.kill()
        return statistics.median(delays)


def live(trials: int) -> tuple[list[float], int | None]:
    """Whole waits, s, of a question asked of the running program, and the most memory that it held, MB."""
    import signal
    import subprocess

    import soundfile
    from sound_server import RATE, Recorder, SoundServer

    from assistant.speaking.voices import RATE as VOICE_RATE
    from assistant.speaking.voices import EmbeddedVoice, resample

    waits = []
    with tempfile.TemporaryDirectory() as folder:
        server = SoundServer(Path(folder))
        server.start()
        server.hiss()
        settings = Path(server.env["XDG_CONFIG_HOME"], "stovehand", "settings.toml")
        settings.parent.mkdir(parents=True)
        settings.write_text('microphone = "kitchen_mic"\nspeaker = "kitchen_speaker"\nvosk = false\n')
        clip = Path(folder, "question.wav")
        speech = resample(EmbeddedVoice().synthesise("Kitchen, what's next?"), VOICE_RATE, RATE)
        soundfile.write(clip, np.concatenate([np.zeros(RATE // 4, np.float32), speech, np.zeros(RATE // 10, np.float32)]), RATE)
        opening = Recorder(server)
        program = subprocess.Popen(
            [sys.executable, "-c", "from assistant.cli import main; main()", "cook", MEAL, "--data", folder],
            env=server.env,
            stdin=subprocess.PIPE,
            stdout=subprocess.DEVNULL,
        )
        time.sleep(8)
        while not opening.quiet_for(2.5):
            time.sleep(0.2)
        opening.stop()
        for _ in range(trials):
            ear, mouth = Recorder(server, "micfeed.monitor"), Recorder(server)
            server.play_into_microphone(clip)
            time.sleep(2.0)
            while not mouth.quiet_for(0.7):
                time.sleep(0.1)
            asked, asked_at = ear.stop()
            said, said_at = mouth.stop()
            ended = asked_at[np.abs(asked) > np.abs(asked).max() * 10 ** (-25 / 20)][-1]
            sounds = said_at[np.abs(said) > 0.01]
            if sounds.size and sounds[0] > ended:  # else it was speaking of its own accord
                waits.append(float(sounds[0] - ended))
        held = re.search(r"VmHWM:\s*(\d+)", Path(f"/proc/{program.pid}/status").read_text(encoding="ascii"))
        program.send_signal(signal.SIGINT)
        program.wait(timeout=30)
        server.kill()
    return waits, int(held[1]) // 1024 if held else None


def percentiles(values: list[float]) -> tuple[float, float]:
    """p50 and p95, ms."""
    return tuple(round(1e3 * float(x)) for x in np.percentile(values, [50, 95]))  # type: ignore[return-value]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--clips", type=int, default=60)
    parser.add_argument("--live", type=int, default=20)
    parser.add_argument("--no-live", action="store_true")
    args = parser.parse_args()
    output = None if args.no_live else measure_output()
    waits, deaf = recorded(args.clips, ASKED_OUTPUT_S if output is None else output)
    parts_of = ("endpoint", "decode", "decide", "decision", "synthesis", "output", "whole")
    table: dict[str, dict[str, tuple[float, float]]] = {}
    for group in ("commands", "danger"):
        of = [w for w in waits if w.group == group]
        if of:
            table[group] = {part: percentiles([getattr(w, part) for w in of]) for part in parts_of}
    print(f"{'ms, p50 / p95':24}" + "".join(f"{part:>16}" for part in parts_of))
    for group, parts in table.items():
        n = sum(w.group == group for w in waits)
        print(f"{group + f' (n={n})':24}" + "".join(f"{f'{a:.0f} / {b:.0f}':>16}" for a, b in parts.values()))
    print(f"{deaf} clips were not understood, or answered with nothing, and are left out.")
    whole, most = ([], None) if output is None else live(args.live)
    if whole:
        print(f"The program held {most} MB at most.")
        print(f"{f'live, whole (n={len(whole)})':24}" + " " * 96 + f"{'{} / {}'.format(*percentiles(whole)):>16}")
    print("Goals: commands' decision 450 / 800, whole 700 / 1000, danger's p95 900.")
    RESULTS.parent.mkdir(exist_ok=True)
    document = {
        "machine": f"{platform.machine()}, {os.cpu_count()} cores, {platform.python_version()}",
        "load": round(os.getloadavg()[1], 1),
        "parts_ms": table,
        "not_understood": deaf,
        "live_ms": percentiles(whole) if whole else None,
        "live_memory_mb": most,
        "output_measured": output is not None,
    }
    RESULTS.write_text(json.dumps(document, indent=1) + "\n")


if __name__ == "__main__":
    main()
