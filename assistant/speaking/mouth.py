"""What the rest of the program sees of speaking: a `Mouth`, and the events it tells. Imports no sound library and no numpy.

`open_mouth` builds the one asked for: the loudspeaker, a wav file, or silence.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Protocol

from assistant.clock import Clock
from assistant.speaking.line import Line


@dataclass(frozen=True, slots=True)
class Begun:
    """The first sound of a line (its tone, or its first word) comes out of the loudspeaker. at_s: when, on the clock; asked_s: when the line was
    handed in."""

    line: Line
    at_s: float
    asked_s: float


@dataclass(frozen=True, slots=True)
class Said:
    """A line that had begun is over: its last word is out, or (whole is False) it was silenced. at_s: when; words_s: when its first word sounded, 0
    if none did; made_s: s that making the words took."""

    line: Line
    at_s: float
    words_s: float
    made_s: float
    whole: bool = True


@dataclass(frozen=True, slots=True)
class SpeakerLost:
    """Nothing can be heard any more. reason: one sentence for the screen."""

    at_s: float
    reason: str


@dataclass(frozen=True, slots=True)
class SpeakerBack:
    """Lines can be heard again."""

    at_s: float
    device: str


@dataclass(frozen=True, slots=True)
class VoiceChanged:
    """Another voice speaks from here on. reason: one sentence."""

    at_s: float
    reason: str


SpeakerEvent = Begun | Said | SpeakerLost | SpeakerBack | VoiceChanged


class Mouth(Protocol):
    """What can be done with any way of speaking. All calls return at once except `wait`; none raises."""

    @property
    def speaking(self) -> bool:
        """Whether sound is coming out, or about to."""
        ...

    @property
    def last_spoke_s(self) -> float:
        """When the last sound was out, s on the clock (minus infinity before the first)."""
        ...

    def say(self, *lines: Line) -> None:
        """Hand in the lines of one decision; they are one batch for `quiet`."""
        ...

    def quiet(self, seconds: float) -> None:
        """Stop what is being said and leave remarks out for so long; danger and alarms go on."""
        ...

    def volume(self, steps: int) -> None:
        """Louder (1) or softer (-1)."""
        ...

    def speed(self, steps: int) -> None:
        """Faster (1) or slower (-1), from the next line on."""
        ...

    def wait(self, timeout_s: float) -> bool:
        """Until everything handed in has been said, or the time is over: whether all was."""
        ...

    def close(self) -> None:
        """Stop at once and give the device back."""
        ...


class Silent:
    """Says nothing, at once: typed sessions without sound, and tests."""

    speaking = False
    last_spoke_s = float("-inf")

    def say(self, *lines: Line) -> None:
        """Nothing: the screen has the words."""

    def quiet(self, seconds: float) -> None:
        """Nothing to stop."""

    def volume(self, steps: int) -> None:
        """Nothing to change."""

    def speed(self, steps: int) -> None:
        """Nothing to change."""

    def wait(self, timeout_s: float) -> bool:
        return True

    def close(self) -> None:
        """Nothing to close."""


def open_mouth(
    say: str,
    clock: Clock,
    tell: Callable[[SpeakerEvent], None] = lambda _: None,
    voice: str = "auto",
    device: str | None = None,
    played: Callable[[Any, float, int], None] | None = None,
) -> Mouth:
    """A way of speaking. say: `speaker`, `silent` or the name of a wav file to write; voice: auto, embedded, system or tone; device: part of the
    name of a loudspeaker; played: given all that it plays (samples, when the first sounds, rate). The live one starts at once and tells by events
    what is wrong; for a file that cannot be written OSError is raised."""
    if say == "silent":
        return Silent()
    from assistant.speaking.speaker import Recording, Speaker
    from assistant.speaking.voices import row_of_voices

    if say != "speaker":
        return Recording(Path(say), row_of_voices(voice), clock)
    speaker = Speaker(row_of_voices(voice), clock, device, tell, played=played)
    speaker.start()
    return speaker
