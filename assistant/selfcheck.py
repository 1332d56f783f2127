"""What works on this computer, tried one thing after the other: loudspeaker, voice, microphone, recogniser, and a sentence from mouth to ear.

Rules: every finding is one sentence, and one that is not well says what to do; each thing is tried even when an earlier one failed, as far as it
can be; nothing raises and nothing waits longer than a few seconds. The sentence is tried inside the computer (voice to recogniser, no device)
and, where both devices work, through the air.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from assistant.clock import Clock, SystemClock
from assistant.ears import NoEarError, build_engines, interpreter_for
from assistant.hearing.frames import Block, MicrophoneLost
from assistant.hearing.kitchen_ear import read_kitchen
from assistant.hearing.microphone import Microphone
from assistant.hearing.recogniser import RATE as EAR_RATE
from assistant.hearing.recogniser import Recogniser, Samples
from assistant.kitchen.cards import MealCardError, find_meal, list_meals, read_card
from assistant.settings import Settings, data_folder
from assistant.speaking.line import Line
from assistant.speaking.mouth import Said, SpeakerEvent, SpeakerLost
from assistant.speaking.speaker import Speaker
from assistant.speaking.voices import RATE, ToneVoice, Voice, VoiceError, best_voice, resample

SENTENCE: Final = "Kitchen, what's next?"
HEARD: Final = "kitchen what's next"
LISTEN_S: Final = 2.0
WAIT_S: Final = 6.0
LOUD_DB, FAINT_DB = -30.0, -75.0
"""Between these levels of noise, dB under full scale, speech at arm's length stands out. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Finding:
    """what: voice, loudspeaker, microphone, recogniser, sentence or air; sentence: what was found, and what to do when it is not ok."""

    what: str
    ok: bool
    sentence: str


def check_sound(settings: Settings, clock: Clock | None = None) -> Iterator[Finding]:
    """Findings as they are made, about ten seconds in all."""
    clock = clock or SystemClock()
    voice, why = best_voice(settings.voice)
    can_say = voice.name != ToneVoice.name
    yield Finding("voice", can_say, why)
    loudspeaker = try_loudspeaker(voice, clock, settings.speaker)
    yield loudspeaker
    blocks, microphone = try_microphone(lambda: Microphone(settings.microphone, clock), LISTEN_S)
    yield microphone
    recogniser, finding = try_recogniser(settings)
    yield finding
    if recogniser is None or not can_say:
        return
    yield say_inside(voice, recogniser)
    if loudspeaker.ok and len(blocks):
        yield say_through_the_air(voice, clock, settings, recogniser)


def try_loudspeaker(voice: Voice, clock: Clock, device: str | None) -> Finding:
    """One line through the loudspeaker."""
    lost, said = _speak(voice, clock, device, "Sound check.")
    if lost:
        return Finding("loudspeaker", False, f"{lost} Until then the words are on the screen.")
    if not said:
        return Finding("loudspeaker", False, "The loudspeaker opens but plays nothing: name another one in the settings.")
    return Finding("loudspeaker", True, "The loudspeaker plays; if you heard nothing, turn it up.")


def _speak(voice: Voice, clock: Clock, device: str | None, words: str) -> tuple[str, bool]:
    """Say a line; the reason why no loudspeaker could, and whether all of it went out."""
    events: list[SpeakerEvent] = []
    over = threading.Event()

    def tell(event: SpeakerEvent) -> None:
        events.append(event)
        if isinstance(event, (Said, SpeakerLost)):
            over.set()

    speaker = Speaker(voice, clock, device, tell)
    speaker.start()
    speaker.say(Line(words))
    over.wait(WAIT_S)
    speaker.wait(0.5)  # the last samples are still in the device
    speaker.close()
    return next((e.reason for e in events if isinstance(e, SpeakerLost)), ""), any(isinstance(e, Said) for e in events)


def try_microphone(make: Callable[[], Microphone], seconds: float) -> tuple[Samples, Finding]:
    """Listen for a while: the sound (empty when there is none), and how it is."""
    with _Recorder(make()) as recorder:
        recorder.wait(seconds)
    if recorder.lost:
        return np.zeros(0, np.float32), Finding("microphone", False, f"{recorder.lost} Until then, type.")
    if not len(recorder.sound):
        return recorder.sound, Finding("microphone", False, "The microphone sends nothing: check its plug and its permission. Until then, type.")
    return recorder.sound, judge_noise(recorder.sound)


def judge_noise(sound: Samples) -> Finding:
    """Whether speech will stand out in a room that sounds like this.

    >>> judge_noise(np.full(16000, 0.003, dtype=np.float32)).sentence
    'The microphone hears the room at -50 dB: good.'
    """
    level = 20 * np.log10(max(float(np.sqrt(np.mean(sound.astype(np.float64) ** 2))), 1e-6))
    hears = f"The microphone hears the room at {level:.0f} dB:"
    if level > LOUD_DB:
        return Finding("microphone", False, f"{hears} too loud. Lower its input level, or move it away from fan and pan.")
    if level < FAINT_DB:
        return Finding("microphone", False, f"{hears} nearly nothing. Raise its input level, or check its mute switch.")
    return Finding("microphone", True, f"{hears} good.")


def try_recogniser(settings: Settings) -> tuple[Recogniser | None, Finding]:
    """Build the ear for the first meal there is."""
    try:
        meal = read_card(find_meal(list_meals()[0][0]))
        engines = build_engines(interpreter_for(meal, settings), meal, settings, read_kitchen(data_folder()))
    except (NoEarError, MealCardError) as error:
        return None, Finding("recogniser", False, str(error))
    return engines.recogniser, Finding("recogniser", True, engines.why)


def say_inside(voice: Voice, recogniser: Recogniser) -> Finding:
    """The voice's own samples given to the recogniser: no device between."""
    try:
        sound = resample(voice.synthesise(SENTENCE), RATE, EAR_RATE)
    except VoiceError as error:
        return Finding("sentence", False, str(error))
    pad = np.zeros(EAR_RATE // 4, np.float32)
    heard = recogniser.recognise(np.concatenate([pad, sound, pad])).words
    if heard == HEARD:
        return Finding("sentence", True, "A spoken sentence is understood inside the computer.")
    return Finding("sentence", False, f"'{HEARD}' was understood as '{heard}' inside the computer: install the package again.")


def say_through_the_air(voice: Voice, clock: Clock, settings: Settings, recogniser: Recogniser) -> Finding:
    """The same sentence from the loudspeaker to the microphone."""
    with _Recorder(Microphone(settings.microphone, clock)) as recorder:
        recorder.wait(0.3)
        _speak(voice, clock, settings.speaker, SENTENCE)
        recorder.wait(0.5)
    heard = recogniser.recognise(recorder.sound).words
    if heard == HEARD:
        return Finding("air", True, "A spoken sentence is understood from loudspeaker to microphone.")
    said = f"heard as '{heard}'" if heard else "not heard"
    return Finding("air", False, f"The loudspeaker's sentence was {said}: with headphones that is expected, else move the microphone nearer.")


class _Recorder:
    """Collects what a microphone hears, in a thread, from entering to leaving. lost: why it went, empty while it is there."""

    def __init__(self, microphone: Microphone) -> None:
        self._microphone = microphone
        self._blocks: list[Samples] = []
        self.lost = ""
        self._over = threading.Event()
        self._thread = threading.Thread(target=self._run, name="check", daemon=True)

    def _run(self) -> None:
        for sound in self._microphone.sounds():
            if isinstance(sound, Block):
                self._blocks.append(sound.samples)
            elif isinstance(sound, MicrophoneLost):
                self.lost = sound.reason
                self._over.set()

    @property
    def sound(self) -> Samples:
        return np.concatenate([*self._blocks, np.zeros(0, np.float32)])

    def wait(self, seconds: float) -> None:
        """Go on collecting for so long, or until the microphone is lost."""
        self._over.wait(seconds)

    def __enter__(self) -> _Recorder:
        self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._microphone.stop()
        self._thread.join(2.0)
