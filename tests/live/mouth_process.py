"""A program with nothing but a mouth: reads commands from standard input, one JSON list a line, and prints every event as a JSON line.

["say", priority, words], ["quiet", s], ["volume", steps], ["wait", s]; the end of input closes it. Arguments: voice (`embedded`, or `hum` for
a steady 200 Hz) and outputs (`all`, or `miniaudio`).
"""

from __future__ import annotations

import json
import sys
from dataclasses import asdict

import numpy as np

from assistant.clock import SystemClock
from assistant.speaking.line import Line, Priority
from assistant.speaking.mouth import SpeakerEvent
from assistant.speaking.player import OUTPUTS, MiniAudio
from assistant.speaking.speaker import Speaker
from assistant.speaking.voices import RATE, Samples, Voice, row_of_voices


class Hum:
    """A voice whose words are 1 s of 200 Hz: easy to tell from every tone."""

    name = "hum"

    def synthesise(self, words: str, speed: float = 1.0) -> Samples:
        return (0.3 * np.sin(2 * np.pi * 200 * np.arange(RATE) / RATE)).astype(np.float32)


def put(event: str, **what: object) -> None:
    """One line, in one write: two threads speak here."""
    sys.stdout.write(json.dumps({"event": event, **what}) + "\n")
    sys.stdout.flush()


def tell(event: SpeakerEvent) -> None:
    put(type(event).__name__, **asdict(event))


def main() -> None:
    voice: Voice = Hum() if sys.argv[1] == "hum" else row_of_voices("embedded")
    outputs = (MiniAudio(),) if sys.argv[2] == "miniaudio" else OUTPUTS
    clock = SystemClock()
    speaker = Speaker(voice, clock, "kitchen_speaker", tell, outputs)
    speaker.start()
    for text in sys.stdin:
        what, *rest = json.loads(text)
        at = clock.now().elapsed
        if what == "say":
            speaker.say(Line(rest[1], Priority[rest[0]]))
        elif what == "quiet":
            speaker.quiet(rest[0])
        elif what == "volume":
            speaker.volume(rest[0])
        elif what == "wait":
            put("waited", all=speaker.wait(rest[0]))
        put("did", what=what, at_s=at)
    speaker.close()


main()
