"""The ear put together: source, voice detector, endpointer and recogniser in, utterances out.

Rules: `Ear.listen` is a generator that moves at the pace of its source, exact for recordings because their sample count is the clock;
`Listener` runs it in a thread for the live microphone. Sound is kept only as long as an utterance may still need it, and handed on
with one only where the cook asked for recordings. A sentence decoded at
the first short silence is not decoded again when the silence lasts. Danger words inside speech that does not end are handed out at once,
the same words once in DANGER_AGAIN_S. Nothing that happens here raises out of the thread.
"""

from __future__ import annotations

import threading
from collections import deque
from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Protocol

import numpy as np

from assistant.hearing.endpoint import LEAD_S, WINDOW_S, Ended, Endpointer, Follow, Probe, Window
from assistant.hearing.frames import BLOCK_S, Block, MicrophoneBack, MicrophoneLost, Source
from assistant.hearing.recogniser import RATE, Recogniser, Samples
from assistant.hearing.utterance import Utterance
from assistant.hearing.voice_activity import USUAL, Thresholds, Voice

Heard = Utterance | MicrophoneLost | MicrophoneBack

JUMP_S = 0.1
"""A gap between two blocks longer than this, s, is another place in the evening."""
DANGER_AGAIN_S = 4.0
"""The same danger words within this time, s, are the same shout."""


class Detector(Protocol):
    """What `listen` needs of a voice detector."""

    def probability(self, samples: Samples) -> float: ...

    def reset(self) -> None: ...


class Grammar(Protocol):
    """What endpointing needs of a grammar; an `Interpreter` is one."""

    def complete(self, sentence: str) -> bool: ...

    def can_continue(self, sentence: str) -> bool: ...


def follows_in(grammar: Grammar) -> Callable[[str], Follow]:
    """What may follow words of this grammar."""

    def follows(words: str) -> Follow:
        if not grammar.complete(words):
            return Follow.UNFINISHED
        return Follow.MORE if grammar.can_continue(words) else Follow.NOTHING

    return follows


class Ear:
    """One listening: how sound becomes utterances. follows: what may come after these words (`understanding` knows); danger: these are danger
    words; danger_ear: decodes the short windows of speech that does not end (None: `recogniser` does); keep_sound: utterances carry their samples."""

    def __init__(
        self,
        detector: Detector,
        recogniser: Recogniser,
        follows: Callable[[str], Follow],
        danger: Callable[[str], bool],
        danger_ear: Recogniser | None = None,
        thresholds: Thresholds = USUAL,
        keep_sound: bool = False,
    ) -> None:
        self._detector, self._recogniser, self._follows, self._danger = detector, recogniser, follows, danger
        self._danger_ear = danger_ear or recogniser
        self._thresholds, self._keep_sound = thresholds, keep_sound
        self._start_over()
        self._said_danger: tuple[str, float] = ("", -DANGER_AGAIN_S)

    def listen(self, source: Source) -> Iterator[Heard]:
        """Everything heard from this source until it ends."""
        self._said_danger = ("", -DANGER_AGAIN_S)
        for sound in source.sounds():
            if not isinstance(sound, Block):
                yield from self._flush()
                yield sound
                continue
            if self._sound and abs(sound.start_s - self._sound[-1].end_s) > JUMP_S:
                yield from self._flush()
            yield from self._block(sound)
        yield from self._flush()

    def _start_over(self) -> None:
        self._detector.reset()
        self._voice, self._rising_s = Voice(), 0.0
        self._endpointer = Endpointer()
        self._sound: deque[Block] = deque()
        self._probe: Utterance | None = None

    def _flush(self) -> Iterator[Heard]:
        end_s = self._sound[-1].end_s if self._sound else 0.0
        for verdict in self._endpointer.flush():
            yield from self._act(verdict, end_s)
        self._start_over()

    def _block(self, block: Block) -> Iterator[Heard]:
        self._sound.append(block)
        before = self._voice
        self._voice = before.step(self._detector.probability(block.samples), self._thresholds)
        verdicts = self._endpointer.step(block.start_s, block.end_s, self._voice.speaking, before.rising * BLOCK_S)
        for verdict in verdicts:
            yield from self._act(verdict, block.end_s)
        self._forget(block.end_s)

    def _act(self, verdict: Probe | Window | Ended, now_s: float) -> Iterator[Heard]:
        match verdict:
            case Probe(from_s, to_s):
                self._probe = self._recogniser.recognise(self._cut(from_s, to_s), from_s, to_s)
                self._endpointer.hint(self._follows(self._probe.words) if self._probe.sure else Follow.MORE)
            case Window(from_s, to_s):
                heard = self._shout(from_s, to_s)
                if heard is not None and self._first_time(heard.words, to_s):
                    yield replace(heard, handed_s=now_s, sound=self._kept(from_s, to_s))
            case Ended():
                heard = self._probe if verdict.probed and self._probe is not None else self._decode(verdict)
                if not (heard.sure and self._danger(heard.words)) or self._first_time(heard.words, verdict.end_s):
                    sound = self._kept(verdict.from_s, verdict.to_s)
                    yield replace(heard, start_s=verdict.start_s, end_s=verdict.end_s, handed_s=now_s, sound=sound)

    def _shout(self, from_s: float, to_s: float) -> Utterance | None:
        """Danger words in the middle of speech. An ear for danger alone finds "oil fire" in "oil is at one sixty": the other must hear danger too."""
        sound = self._cut(from_s, to_s)
        heard = self._danger_ear.recognise(sound, from_s, to_s)
        if not heard.sure or not self._danger(heard.words):
            return None
        sure = self._danger_ear is self._recogniser or self._danger(self._recogniser.recognise(sound, from_s, to_s).words)
        return heard if sure else None

    def _decode(self, ended: Ended) -> Utterance:
        return self._recogniser.recognise(self._cut(ended.from_s, ended.to_s), ended.start_s, ended.end_s)

    def _kept(self, from_s: float, to_s: float) -> Samples | None:
        return self._cut(from_s, to_s) if self._keep_sound else None

    def _first_time(self, words: str, at_s: float) -> bool:
        said, said_s = self._said_danger
        if words == said and at_s - said_s < DANGER_AGAIN_S:
            return False
        self._said_danger = (words, at_s)
        return True

    def _cut(self, from_s: float, to_s: float) -> Samples:
        if not self._sound:
            return np.zeros(0, np.float32)
        origin = self._sound[0].start_s
        row = np.concatenate([block.samples for block in self._sound])
        return row[max(0, round((from_s - origin) * RATE)) : max(0, round((to_s - origin) * RATE))]

    def _forget(self, now_s: float) -> None:
        keep = self._endpointer.keeps_from_s
        oldest = min(now_s - WINDOW_S, keep) if keep is not None else now_s - LEAD_S - 4 * BLOCK_S
        while self._sound and self._sound[0].end_s <= oldest:
            self._sound.popleft()


class Listener:
    """An ear in a thread of its own. Everything heard is put on `heard`; a fault inside the ear itself becomes a `MicrophoneLost` with its reason."""

    def __init__(self, ear: Ear, source: Source, heard: Callable[[Heard], None]) -> None:
        self._ear, self._source, self._heard = ear, source, heard
        self._thread = threading.Thread(target=self._run, name="listener", daemon=True)

    def start(self) -> None:
        """Begin to listen."""
        self._thread.start()

    def join(self, timeout_s: float | None = None) -> None:
        """Wait until the source has ended (stop it first if it is a microphone)."""
        self._thread.join(timeout_s)

    def _run(self) -> None:
        try:
            for heard in self._ear.listen(self._source):
                self._heard(heard)
        except Exception as fault:
            self._heard(MicrophoneLost(0.0, f"Hearing stopped: {fault}."))
