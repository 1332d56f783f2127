"""A program with nothing but an ear: the microphone, real voice activity and endpoints, and a recogniser that says `speech` of everything. Prints
each thing heard as a JSON line; the end of its input ends it. Arguments: part of the microphone's name (`-`: the default one) and libraries
(`all`, or `miniaudio`).
"""

from __future__ import annotations

import json
import sys
from dataclasses import asdict

from assistant.clock import SystemClock
from assistant.hearing.endpoint import Follow
from assistant.hearing.listener import Ear, Heard, Listener
from assistant.hearing.microphone import Microphone, MiniAudio
from assistant.hearing.recogniser import Samples
from assistant.hearing.utterance import Utterance
from assistant.hearing.voice_activity import VoiceDetector


class Speech:
    """Hears that something was said."""

    name = "speech"

    def recognise(self, samples: Samples, start_s: float = 0.0, end_s: float = 0.0) -> Utterance:
        return Utterance("speech", start_s, end_s, engine=self.name)


def tell(heard: Heard) -> None:
    print(json.dumps({"event": type(heard).__name__, **asdict(heard)}), flush=True)


def main() -> None:
    name = None if sys.argv[1] == "-" else sys.argv[1]
    microphone = Microphone(name, SystemClock(), (MiniAudio(),) if sys.argv[2] == "miniaudio" else None)
    listener = Listener(Ear(VoiceDetector(), Speech(), lambda words: Follow.NOTHING, lambda words: False), microphone, tell)
    listener.start()
    print(json.dumps({"event": "Started"}), flush=True)
    sys.stdin.read()
    microphone.stop()
    listener.join(5)
    print(json.dumps({"event": "Ended"}), flush=True)


main()
