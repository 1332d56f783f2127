"""A minute of getting acquainted with a kitchen: its noise with the hood off and on, and eight lines by the cook. `stovehand check --kitchen`.

Rules. Everything goes by the clock of the sound itself, so a recording of such a minute gives the same as the minute. What to do is told in words
before it is listened for. Whatever makes the minute worthless (nothing but zeros, an overdriven microphone, talk while the noise is measured, no
microphone, a recording that ends early) is one sentence, `NotAcquaintedError`, and nothing is kept. Otherwise one sentence says whether to move the
microphone. Microphones differ by tens of dB, so advice looks at ratios, never at levels.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

import numpy as np

from assistant.hearing.frames import Block, MicrophoneLost, Sound, Source
from assistant.hearing.kitchen_ear import KitchenEar, least_margin, least_pmi, noise_db, speech_db
from assistant.hearing.listener import Detector, Ear
from assistant.hearing.recogniser import RATE, Recogniser, Samples
from assistant.hearing.utterance import Utterance
from assistant.hearing.voice_activity import Voice
from assistant.session.commands import Command
from assistant.understanding.interpreter import Interpreter

NOISE_S = 5.0
TURN_S = 8.0
"""To get to the hood's switch and back, s."""
LINE_S = 10.0
"""For one line, s."""
WINDOW_S = 1.5
"""Noise is decoded in stretches as long as a short command, s."""
TALKING = 0.2
"""Share of the time with speech in it from which on a noise is none."""
OVERDRIVEN = 1e-3
"""Share of samples at full scale in the cook's words. A clean voice has none."""
DEAD_DB = -100.0
"""No microphone is quieter than this, dB below full scale; 16-bit silence with one flickering bit is -90."""
QUIET_SNR_DB, HOOD_SNR_DB = 15.0, 10.0
"""Words should stand out by so much, hood off and on: natural-sounding voices were right in 92 of 100 at 10 dB, in 66 at 5 dB
(bench_recogniser.py)."""
ENOUGH = 7
"""Lines of the eight."""


class NotAcquaintedError(Exception):
    """The minute was worthless: one sentence with the way out."""


@dataclass(frozen=True, slots=True)
class Acquaintance:
    """What came of it. well: nothing needs to be moved; advice: one sentence."""

    kitchen: KitchenEar
    understood: int
    well: bool
    advice: str


def lines_to_say(dish: str) -> tuple[str, ...]:
    """Numbers that are easily confused, a danger word, a dish's name, the address word."""
    return (
        "kitchen, what's next",
        "set a clock for thirty seconds",
        "set a clock for thirty-two seconds",
        "oil is at three fifteen",
        "oil is at three fifty",
        "core is at one sixty-five",
        f"{dish} down",
        "the pan's on fire",
    )


class Acquainting:
    """One such minute. ear: as in an evening; recogniser: the same that is inside it, for noise alone; show: prints a line."""

    def __init__(
        self, source: Source, ear: Ear, recogniser: Recogniser, detector: Detector, interpreter: Interpreter, show: Callable[[str], None]
    ) -> None:
        self._sounds = source.sounds()
        self._ear, self._recogniser, self._detector = ear, recogniser, detector
        self._interpreter, self._show = interpreter, show

    def run(self, dish: str, day: str) -> Acquaintance:
        """From the first instruction to the advice; NotAcquaintedError where it leads to nothing."""
        self._show("Turn the hood off and be quiet for five seconds.")
        quiet = self._noise()
        self._show(f"The kitchen is at {noise_db(quiet):.0f} dB. Turn on the hood, and what else will be loud; in eight seconds I listen again.")
        self._take(TURN_S)
        self._show("Be quiet for five seconds.")
        hood = self._noise()
        self._show(f"With the hood on it is at {noise_db(hood):.0f} dB. Leave it on, stand where you cook, and say each line as it comes.")
        said, misheard, understood = [], 0.0, 0
        lines = lines_to_say(dish)
        for i, line in enumerate(lines, 1):
            self._show(f"{i} of {len(lines)}, say: {line}")
            sound, heard = self._line()
            if heard is None:
                self._show("   nothing was heard")
                continue
            said.append(sound)
            right = self._same(line, heard.words)
            understood += right and heard.sure
            self._show(f"   {_told(heard, right)}")
            if heard.sure and not right:
                misheard = max(misheard, math.inf if heard.scores.margin is None else heard.scores.margin)
        if not said:
            raise NotAcquaintedError("Not one line was heard: move the microphone nearer, raise its input level, and begin again.")
        words = np.concatenate(said)
        if float(np.mean(np.abs(words) >= 0.99)) > OVERDRIVEN:
            raise NotAcquaintedError("The microphone is overdriven: lower its input level, and begin again.")
        kitchen = KitchenEar(
            day,
            quiet_db=round(noise_db(quiet), 1),
            hood_db=round(noise_db(hood), 1),
            speech_db=round(speech_db(words), 1),
            quiet_pmi=round(least_pmi(self._support(quiet)), 2),
            hood_pmi=round(least_pmi(self._support(hood)), 2),
            margin=round(least_margin(misheard), 2),
        )
        well, advice = judge(kitchen, understood, len(lines))
        return Acquaintance(kitchen, understood, well, advice)

    def _take(self, seconds: float) -> Samples:
        """So much sound."""
        found, size = [], 0
        while size < seconds * RATE:
            block = self._next()
            found.append(block.samples)
            size += block.samples.size
        return np.concatenate(found)

    def _next(self) -> Block:
        for sound in self._sounds:
            if isinstance(sound, MicrophoneLost):
                raise NotAcquaintedError(sound.reason)
            if isinstance(sound, Block):
                return sound
        raise NotAcquaintedError("The recording ended before all was heard: record the whole minute.")

    def _noise(self) -> Samples:
        """The kitchen alone."""
        sound = self._take(NOISE_S)
        if noise_db(sound) < DEAD_DB:
            raise NotAcquaintedError("The microphone hears nothing at all: check its mute switch and its permission, and begin again.")
        self._detector.reset()
        voice, speaking = Voice(), []
        for at in range(0, sound.size, 512):
            voice = voice.step(self._detector.probability(sound[at : at + 512]))
            speaking.append(voice.speaking)
        if float(np.mean(speaking)) > TALKING:
            raise NotAcquaintedError("Somebody talked, or a radio plays: begin again when only the kitchen is to be heard.")
        return sound

    def _line(self) -> tuple[Samples, Utterance | None]:
        """The next utterance within LINE_S, and its sound."""
        stretch = _Stretch(self._next, LINE_S)
        for heard in self._ear.listen(stretch):
            if isinstance(heard, Utterance):
                return np.concatenate([b.samples for b in stretch.blocks if b.end_s > heard.start_s and b.start_s < heard.end_s]), heard
        return np.zeros(0, np.float32), None

    def _same(self, line: str, words: str) -> bool:
        meant, got = self._interpreter.interpret(line).result, self._interpreter.interpret(words).result
        return isinstance(meant, Command) and isinstance(got, Command) and replace(meant, words="") == replace(got, words="")

    def _support(self, noise: Samples) -> float:
        """The most that noise alone supports any sentence, nats a token."""
        size = round(WINDOW_S * RATE)
        found = [self._recogniser.recognise(noise[at : at + size]).scores.pmi for at in range(0, noise.size - size + 1, size)]
        return max((pmi for pmi in found if pmi is not None), default=0.0)


class _Stretch(Source):
    """So much of a stream, and what it was."""

    def __init__(self, take: Callable[[], Block], seconds: float) -> None:
        self._take, self._seconds = take, seconds
        self.blocks: list[Block] = []

    def sounds(self) -> Iterator[Sound]:
        while not self.blocks or self.blocks[-1].end_s - self.blocks[0].start_s < self._seconds:
            self.blocks.append(self._take())
            yield self.blocks[-1]


def judge(kitchen: KitchenEar, understood: int, of: int) -> tuple[bool, str]:
    """Whether all is well, and the one sentence.

    >>> judge(KitchenEar("", -60.0, -40.0, -35.0, 0.0, 0.0, 0.0), 8, 8)[1]
    'Move the microphone away from the hood, or nearer to you: with the hood on your words stand out by only 5 dB.'
    """
    over_quiet, over_hood = kitchen.speech_db - kitchen.quiet_db, kitchen.speech_db - kitchen.hood_db
    if over_quiet < QUIET_SNR_DB:
        return False, f"Move the microphone nearer to you: even with the hood off your words stand out by only {over_quiet:.0f} dB."
    if over_hood < HOOD_SNR_DB:
        return False, f"Move the microphone away from the hood, or nearer to you: with the hood on your words stand out by only {over_hood:.0f} dB."
    if understood < min(ENOUGH, of):
        return False, f"Move the microphone nearer to you: {understood} of {of} lines were understood."
    return True, f"All is well where the microphone is: {understood} of {of} lines were understood."


def _told(heard: Utterance, right: bool) -> str:
    scores = heard.scores
    margin = f", margin {scores.margin:.1f}" if scores.margin is not None else ", nothing else near" if scores.pmi is not None else ""
    if right:
        return f"understood{margin}" if heard.sure else f"understood, but not surely enough ({heard.reason}{margin})"
    what = f"'{heard.words}'" if heard.words else "nothing"
    return f"MISHEARD as {what}{margin}" if heard.sure else f"not understood, it might be {what} ({heard.reason}{margin})"
