"""The recorded evening: clips of several voices with kitchen noise under them, through the real ear, the session and the real voice.

An invented fish supper in synthetic speech. The kitchen clock jumps from clip to clip; what is said goes into a sound file, one line after the other.
"""

from __future__ import annotations

import re
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import assistant
from assistant.clock import FakeClock
from assistant.ears import build_ear, build_engines, interpreter_for
from assistant.evening import Evening
from assistant.hearing.noise import kitchen_noise
from assistant.hearing.sources import FileSource
from assistant.hearing.utterance import Utterance
from assistant.journal import Journal
from assistant.kitchen.cards import find_meal, read_card
from assistant.rehearsal import kitchen_stamp, let_time_pass
from assistant.runtime import plan_first
from assistant.session import events as e
from assistant.session.commands import Command
from assistant.session.state import State
from assistant.settings import Settings
from assistant.speaking.line import Line
from assistant.speaking.mouth import open_mouth
from assistant.understander import Understander

MEAL = "fish-supper"
DAY_S = 16.5 * 3600
NOISE_S = 30.0
_LINE = re.compile(r"^(\d+):(\d\d):(\d\d)\s+(\S+)\s+(.*)$")


class DemoError(Exception):
    """The recordings are not there; one clear sentence."""


@dataclass(slots=True)
class Summary:
    """clips: recordings played; understood: utterances acted on; left: utterances not acted on, as meant for somebody else or asked again."""

    clips: int = 0
    understood: int = 0
    left: int = 0
    lines: int = 0
    decode_ms: list[float] = field(default_factory=list)


def recordings() -> Path:
    """The folder of the recorded evening: inside the installed package, or beside it in a working copy."""
    package = Path(assistant.__file__).resolve().parent
    for folder in (package / "_demo", package.parent / "audio_fixtures" / "demo"):
        if (folder / "lines.txt").exists():
            return folder
    raise DemoError("The recorded evening is not here: it comes with the source, in audio_fixtures/demo.")


def clips(folder: Path) -> list[tuple[float, str, Path]]:
    """(kitchen time, what was said, sound file), in order."""
    found = []
    for text in (folder / "lines.txt").read_text(encoding="utf-8").splitlines():
        if line := _LINE.match(text):
            h, m, s, voice, words = line.groups()
            path = folder / f"{h}-{m}-{s}-{voice}.ogg"
            found.append((int(h) * 3600.0 + int(m) * 60 + int(s), words, path))
    return found


def play(out: Path, show: Callable[[str], None]) -> Summary:
    """Run the evening; what is spoken goes into `out`. DemoError when the recordings are missing."""
    folder = recordings()
    began = time.perf_counter()
    path = find_meal(MEAL)
    card = read_card(path)
    settings = Settings()
    understander = Understander(interpreter_for(card, settings), settings)
    engines = build_engines(understander.interpreter, card, settings)
    show(engines.why)
    ear = build_ear(understander.interpreter, engines)
    bed = kitchen_noise(NOISE_S, seed=7)
    clock = FakeClock(wall=DAY_S)
    out.parent.mkdir(parents=True, exist_ok=True)
    mouth = open_mouth(str(out), clock, voice=settings.voice)
    summary = Summary()

    def speak(lines: tuple[Line, ...]) -> None:
        mouth.say(*lines)
        summary.lines += len(lines)

    def watch(happened: Sequence[e.Event], state: State) -> None:
        for event in happened:
            if isinstance(event, e.Said):
                show(f"{kitchen_stamp(event.t)}    says   {event.words}")

    first = e.EveningBegan(0.0, path.read_text(encoding="utf-8"), path.name, DAY_S, None, card.serves, settings.units, settings.region)
    plan = plan_first(card, card.serves, None)
    evening = Evening.begin(Journal(":memory:"), clock, first, MEAL, speak, watch, plan)
    for at, said, sound in clips(folder):
        let_time_pass(evening, clock, at)
        summary.clips += 1
        for heard in ear.listen(FileSource(sound, bed)):
            if isinstance(heard, Utterance):
                _take(heard, said, evening, understander, summary, show)
    mouth.close()
    if summary.decode_ms:
        middle = sorted(summary.decode_ms)[len(summary.decode_ms) // 2]
        show(
            f"\n{summary.clips} recordings with kitchen noise: {summary.understood} acted on, {summary.left} left alone or asked again; "
            f"{summary.lines} lines spoken into {out}; decoding took {middle:.0f} ms in the middle; {time.perf_counter() - began:.0f} s in all."
        )
    return summary


def _take(heard: Utterance, said: str, evening: Evening, understander: Understander, summary: Summary, show: Callable[[str], None]) -> None:
    since = evening.kitchen_time() - evening.state.said_t
    command = understander.heard(heard, evening, speaking=False, since_s=max(since, 1.0))
    stamp = kitchen_stamp(evening.kitchen_time())
    summary.decode_ms.append(heard.decode_ms)
    show(f"{stamp}  said     {said}")
    show(f"{stamp}    heard  {heard.words or '(no command)'}")
    if isinstance(command, Command):
        slots = ", ".join(f"{k} {v:g}" if isinstance(v, float) else f"{k} {v}" for k, v in command.slots().items())
        show(f"{stamp}    takes  {command.intent}{' (' + slots + ')' if slots else ''}")
        summary.understood += 1
    else:
        show(f"{stamp}    leaves it: {_WHY.get(command.reason, command.reason)}")
        summary.left += 1
    evening.feed(command)


_WHY = {
    "not_addressed": "not meant for us",
    "unsure": "heard badly, asked again",
    "unknown": "no such command",
    "speaking": "heard over our own voice",
}
