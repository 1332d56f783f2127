"""Rehearsals: an evening from a text file, with the kitchen clock jumping from line to line.

A script is lines a cook can read. `1:02:30 > chips down` is said at kitchen time 1 h 2 min 30 s (`> clip.wav` is heard by the recogniser instead);
`1:02:30 < Six minutes, chips.` must be spoken then, in this order; other lines may come between unless the script says `# strict`. `#` starts a
comment; `# time 16:30` (time of day at the start), `# serve 18:30`, `# for 4`, `# units C` and `# region GB` set the evening. Times never go back.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from assistant.clock import FakeClock
from assistant.evening import Evening
from assistant.journal import Journal
from assistant.kitchen.scale import MOST_PEOPLE, how_many_wrong
from assistant.session import events as e
from assistant.session.commands import Command, Reject
from assistant.session.evolve import first_state
from assistant.session.state import State
from assistant.settings import known_region
from assistant.speaking.line import Line

_LINE = re.compile(r"^(?P<h>\d+):(?P<m>[0-5]\d):(?P<s>[0-5]\d)\s*(?P<way>[<>])\s?(?P<words>.*)$")
_SETTING = re.compile(r"^#\s*(?P<key>strict|time|serve|for|units|region)\b\s*(?P<value>\S*)\s*$")
_SOUND = (".wav", ".flac", ".ogg")


class ScriptError(Exception):
    """A mistake in a rehearsal script: one sentence with file and line."""


@dataclass(frozen=True, slots=True)
class Cue:
    """One line of a script. t: kitchen time, s; said: by the cook (otherwise expected from the assistant); line: in the file."""

    t: float
    said: bool
    words: str
    line: int

    @property
    def clip(self) -> bool:
        """Whether the words name a recording to be heard."""
        return self.said and self.words.lower().endswith(_SOUND)


@dataclass(frozen=True, slots=True)
class Script:
    """A script as read."""

    cues: tuple[Cue, ...]
    file: Path
    strict: bool = False
    day_s: float = 16.5 * 3600
    serve_day_s: float | None = None
    people: int | None = None
    units: str | None = None
    region: str | None = None


def read_script(path: Path) -> Script:
    """Read a script; ScriptError names every line that is wrong."""
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        why = error.strerror if isinstance(error, OSError) else "it is no text in UTF-8"
        raise ScriptError(f"{path} cannot be read as a rehearsal script: {why}.") from None
    cues: list[Cue] = []
    settings: dict[str, str] = {}
    wrong: list[str] = []
    for number, raw in enumerate(text.splitlines(), 1):
        line = raw.strip()
        if setting := _SETTING.match(line):
            settings[setting["key"]] = setting["value"]
        elif not line or line.startswith("#"):
            continue
        elif found := _LINE.match(line):
            t = int(found["h"]) * 3600 + int(found["m"]) * 60 + int(found["s"])
            if cues and t < cues[-1].t:
                wrong.append(f"{path.name}, line {number}: the time goes back; lines must follow the clock.")
            cues.append(Cue(float(t), found["way"] == ">", found["words"].strip(), number))
            if cues[-1].clip and not (path.parent / cues[-1].words).is_file():
                wrong.append(f"{path.name}, line {number}: there is no recording {cues[-1].words} beside the script.")
        else:
            wrong.append(f"{path.name}, line {number}: write it as '1:02:30 > words' or '1:02:30 < words'.")
    try:
        day_s = clock_time(settings["time"]) if "time" in settings else 16.5 * 3600
        serve = clock_time(settings["serve"]) if "serve" in settings else None
        people = _people(settings["for"]) if "for" in settings else None
        units = _units(settings["units"]) if "units" in settings else None
        region = known_region(settings["region"]) if "region" in settings else None
    except ValueError as error:
        wrong.append(f"{path.name}: {error}.")
        raise ScriptError("\n".join(wrong)) from None
    if wrong:
        raise ScriptError("\n".join(wrong))
    return Script(tuple(cues), path, "strict" in settings, day_s, serve, people, units, region)


def _people(text: str) -> int:
    if not text.isdecimal() or not 1 <= int(text) <= MOST_PEOPLE:
        raise ValueError(how_many_wrong(f"# for {text}"))
    return int(text)


def _units(text: str) -> str:
    if text not in ("F", "C"):
        raise ValueError(f"'# units {text}' is no unit: write F or C")
    return text


def clock_time(text: str) -> float:
    """`18:30` as s after midnight; ValueError in plain words.

    >>> clock_time("18:30")
    66600.0
    """
    found = re.fullmatch(r"(\d{1,2}):(\d\d)", text)
    if not found or int(found[1]) > 23 or int(found[2]) > 59:
        raise ValueError(f"'{text}' is no time of day: write it as 18:30")
    return int(found[1]) * 3600.0 + int(found[2]) * 60.0


def kitchen_stamp(t: float) -> str:
    """Kitchen time as h:mm:ss, rounded down.

    >>> kitchen_stamp(3750)
    '1:02:30'
    """
    s = int(t + 1e-6)
    return f"{s // 3600}:{s // 60 % 60:02d}:{s % 60:02d}"


@dataclass(slots=True)
class Outcome:
    """What a rehearsal came to. start, state: before the first event and after the last; missed: expected lines that were not spoken; extra: spoken
    lines a strict script does not have."""

    start: State
    state: State
    events: list[e.Event] = field(default_factory=list)
    said: list[tuple[float, str]] = field(default_factory=list)
    missed: list[Cue] = field(default_factory=list)
    extra: list[tuple[float, str]] = field(default_factory=list)

    @property
    def ok(self) -> bool:
        """Whether all was as the script wants it."""
        return not self.missed and not self.extra


Interpret = Callable[[str, Evening], tuple[Command | Reject, str]]
Hear = Callable[[Path, Evening], Iterator[tuple[str, Command | Reject]]]
Show = Callable[[str], None]


def _silent(line: str) -> None:
    """Print nothing."""


def rehearse(script: Script, first: e.EveningBegan, meal_id: str, interpret: Interpret, hear: Hear | None = None, show: Show = _silent) -> Outcome:
    """Run a script from its first line to its last. interpret: words to (command, sentence as its slip was read); hear: sound to words and command;
    show: prints a line."""
    clock = FakeClock(wall=first.day_s)
    events: list[e.Event] = []
    said: list[tuple[float, str]] = []

    def watch(happened: Sequence[e.Event], state: State) -> None:
        events.extend(happened)
        for event in happened:
            if isinstance(event, e.Said):
                said.append((event.t, event.words))
                show(f"{kitchen_stamp(event.t)} < {event.words}")

    def speak(lines: tuple[Line, ...]) -> None:
        """Lines are shown by `watch`, with their time."""

    evening = Evening.begin(Journal(":memory:"), clock, first, meal_id, speak, watch)
    for cue in script.cues:
        let_time_pass(evening, clock, cue.t)
        if not cue.said:
            continue
        if cue.clip:
            if hear is None:
                raise ScriptError(f"{script.file.name}, line {cue.line}: this rehearsal cannot hear sound.")
            for words, command in hear(script.file.parent / cue.words, evening):
                show(f"{kitchen_stamp(cue.t)} > {words}")
                evening.feed(command)
        else:
            show(f"{kitchen_stamp(cue.t)} > {cue.words}")
            evening.feed(*interpret(cue.words, evening))
    missed, extra = compare([c for c in script.cues if not c.said], said, script.strict)
    return Outcome(first_state(first), evening.state, events, said, missed, extra)


def let_time_pass(evening: Evening, clock: FakeClock, until: float) -> None:
    """Move the clock on to kitchen time `until`, stopping at every deadline on the way."""
    while (wait := evening.next_deadline()) is not None and evening.kitchen_time() + wait <= until:
        clock.advance(wait + 1e-6)
        evening.feed(None)
    clock.advance(max(0.0, until - evening.evening_clock.kitchen_time(clock.now())))
    evening.feed(None)


def compare(expected: Sequence[Cue], said: Sequence[tuple[float, str]], strict: bool) -> tuple[list[Cue], list[tuple[float, str]]]:
    """(expected lines that did not come in order at their second, spoken lines that a strict script lacks)."""
    missed: list[Cue] = []
    extra: list[tuple[float, str]] = []
    at = 0
    for cue in expected:
        found = next((i for i in range(at, len(said)) if said[i][1] == cue.words and abs(said[i][0] - cue.t) < 1.0), None)
        if found is None:
            missed.append(cue)
            continue
        extra.extend(said[at:found])
        at = found + 1
    extra.extend(said[at:])
    return missed, extra if strict else []
