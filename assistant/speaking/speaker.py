"""Speaking for real: lines in, sound out of a loudspeaker (`Speaker`) or into a file (`Recording`).

Rules:
- An urgent line silences and sounds its tone inside the call of `say`, before any word is made; the one voice thread makes the words meanwhile.
  Everything else happens in that thread: making words, noticing that a line is over, reopening a device, telling events. Nothing raises out of it.
- A run of lines of one urgency gets one tone, not one each; a line that cuts in always has its own.
- A loudspeaker counts as lost when its stream ended or has asked for nothing for a second. Then one `SpeakerLost`, tries with growing pauses, one
  `SpeakerBack`. Meanwhile lines wait by the queue's rules: what is still worth saying then is said.
- Louder and softer move speech by 3 dB and reach the next line; danger and alarms never go below the usual loudness.
"""

from __future__ import annotations

import contextlib
import queue
import threading
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np

from assistant.clock import Clock
from assistant.sound_devices import let_go
from assistant.speaking.line import Line, Priority, Sound
from assistant.speaking.mouth import Begun, Said, SpeakerBack, SpeakerEvent, SpeakerLost, VoiceChanged
from assistant.speaking.player import OUTPUTS, Mixer, NoSpeakerError, Opened, Output, Report, open_first
from assistant.speaking.queue import Entry, SpeechQueue, Verdict, urgent
from assistant.speaking.tones import Samples, lead_length, tone
from assistant.speaking.voices import RATE, Row, Voice, VoiceError, resample

VOLUME_STEP_DB: Final = 3.0
QUIETEST, LOUDEST = -4, 3  # steps of volume
SPEED_STEP: Final = 0.85  # of the pace before
SLOWEST, FASTEST = -3, 2  # steps of pace: outside, the embedded voice drawls or slurs
RUN_S: Final = 8.0  # lines of one urgency this close together are one run
LOST_S: Final = 1.0
FIRST_PAUSE_S, LONGEST_PAUSE_S = 0.5, 10.0  # between tries to open a loudspeaker
GAP_S, LONGEST_GAP_S = 0.35, 0.8  # between the lines of a recording
Played = Callable[[Samples, float, int], None]
"""Samples, when the first of them sounds (s on the clock), and their rate."""
_LOOK_S: Final = 0.4
_LEAVE_S: Final = 10.0  # a voice being loaded cannot be interrupted, and a process that leaves it behind aborts
_OUT_S: Final = 0.1  # what was already handed to the device is out by then


class _Manner:
    """How loud and how fast, in steps from the usual."""

    def __init__(self) -> None:
        self.loud = self.fast = 0

    def volume(self, steps: int) -> None:
        self.loud = min(LOUDEST, max(QUIETEST, self.loud + steps))

    def speed(self, steps: int) -> None:
        self.fast = min(FASTEST, max(SLOWEST, self.fast + steps))

    @property
    def pace(self) -> float:
        return float(SPEED_STEP ** (-self.fast))

    def gain(self, line: Line) -> float:
        steps = max(0, self.loud) if urgent(line) else self.loud
        return float(10 ** (steps * VOLUME_STEP_DB / 20))


def sound_of(line: Line) -> Sound | None:
    """The tone before a line: its own, or that of its urgency."""
    return line.sound or {Priority.DANGER: Sound.DANGER, Priority.ALARM: Sound.ALARM}.get(line.priority)


def loudened(samples: Samples, gain: float) -> Samples:
    """Samples times gain, what would pass 0.7 of full scale bent instead of clipped."""
    if gain <= 1.0:
        return np.asarray(samples * gain, dtype=np.float32)
    level = np.abs(samples) * gain
    bent = np.where(level > 0.7, 0.7 + 0.29 * np.tanh((level - 0.7) / 0.29), level)
    return np.asarray(np.copysign(bent, samples), dtype=np.float32)


class _Tones:
    """Remembers which tone sounded last, so that a run of lines has one."""

    def __init__(self) -> None:
        self._last: tuple[Sound | None, float] = (None, float("-inf"))

    def before(self, line: Line, now: float, cut: bool = False) -> Sound | None:
        """The tone to sound before this line, None for none. A line that cut in always has one."""
        sound = sound_of(line)
        last, until = self._last
        if sound is None or (sound is last and now <= until + RUN_S and not cut):
            return None
        self._last = (sound, now)
        return sound

    def over(self, line: Line, now: float) -> None:
        """A line has ended: its run lasts a while yet."""
        if sound_of(line) is self._last[0] and self._last[0] is not None:
            self._last = (self._last[0], now)


@dataclass(frozen=True, slots=True)
class _Part:
    """What a clip in the mixer is: a line's tone or its words."""

    entry: Entry
    words: bool


@dataclass(slots=True)
class _Progress:
    """The line being said. voiced: its words are in the mixer."""

    entry: Entry
    voiced: bool = False
    begun: bool = False
    words_s: float = 0.0
    made_s: float = 0.0


class _Stream:
    """One opening of a loudspeaker. asked_s: when it last asked for samples, None until it did; ended: it stopped by itself."""

    def __init__(self, clock: Clock, reports: queue.SimpleQueue[tuple[Report, float] | None], played: Played | None) -> None:
        self._clock, self._reports, self._played = clock, reports, played
        self.asked_s: float | None = None
        self.ended = False
        self.stale_looks = 0
        self.opened_s = clock.now().elapsed
        self.mixer: Mixer
        self.opened: Opened

    def make(self, rate: int) -> Callable[[Samples, float], None]:
        def report(what: Report) -> None:
            self._reports.put((what, self._clock.now().elapsed))

        self.mixer = Mixer(rate, report)

        def fill(out: Samples, after_s: float) -> None:
            self.asked_s = self._clock.now().elapsed
            self.mixer.fill(out, after_s)
            if self._played is not None:
                self._played(out, self.asked_s + after_s, rate)

        return fill

    def end(self) -> None:
        self.ended = True
        self._reports.put(None)

    def dead(self, now: float) -> bool:
        """Looked at twice in a row it has asked for nothing for a second (once may be a laptop that has just woken), or it ended."""
        stale = now - (self.opened_s if self.asked_s is None else self.asked_s) > LOST_S
        self.stale_looks = self.stale_looks + 1 if stale else 0
        return self.ended or self.stale_looks >= 2


class Speaker:
    """Speaks through a loudspeaker. device: part of its name, None for the system's default; tell: told what happens, from the voice thread, must not
    raise or wait; played: given all that sounds, from the audio thread. Nothing happens before `start`, which gives it its thread; a test may call
    `step` itself instead."""

    def __init__(
        self,
        voice: Voice,
        clock: Clock,
        device: str | None = None,
        tell: Callable[[SpeakerEvent], None] = lambda _: None,
        outputs: Sequence[Output] | None = None,
        played: Played | None = None,
    ) -> None:
        self._played = played
        self._voice, self._clock, self._device, self._tell = voice, clock, device, tell
        if isinstance(voice, Row):
            voice.on_change = lambda reason: self._happened.append(VoiceChanged(self._now(), reason))
        self._outputs = OUTPUTS if outputs is None else tuple(outputs)
        self._queue, self._manner, self._tones = SpeechQueue(), _Manner(), _Tones()
        self._lock = threading.RLock()
        self._wake: queue.SimpleQueue[tuple[Report, float] | None] = queue.SimpleQueue()
        self._progress: _Progress | None = None
        self._stream: _Stream | None = None
        self._sounds_until = float("-inf")
        self._lost = False
        self._happened: list[SpeakerEvent] = []
        self._pause_s, self._try_at = FIRST_PAUSE_S, float("-inf")
        self._idle = threading.Event()
        self._closing = threading.Event()
        self._thread: threading.Thread | None = None

    # what others call

    def start(self) -> None:
        """Open the loudspeaker and load the voice, in the voice thread."""
        self._thread = threading.Thread(target=self._run, name="voice", daemon=True)
        self._thread.start()

    @property
    def speaking(self) -> bool:
        with self._lock:
            return self._progress is not None or self._now() < self._sounds_until

    @property
    def last_spoke_s(self) -> float:
        with self._lock:
            return self._now() if self.speaking else self._sounds_until

    def say(self, *lines: Line) -> None:
        with self._lock:
            now = self._now()
            self._idle.clear()
            cut = Verdict.CUTS_IN in self._queue.add(lines, now)
            if cut:
                self._silence(now)
            self._begin(now, cut)
        self._wake.put(None)

    def quiet(self, seconds: float) -> None:
        with self._lock:
            now = self._now()
            if self._queue.quiet(seconds, now):
                self._silence(now)
        self._wake.put(None)

    def volume(self, steps: int) -> None:
        self._manner.volume(steps)

    def speed(self, steps: int) -> None:
        self._manner.speed(steps)

    def wait(self, timeout_s: float) -> bool:
        give_up = time.monotonic() + timeout_s
        while not self._idle.wait(min(_LOOK_S, max(0.0, give_up - time.monotonic()))):
            if self._lost or time.monotonic() >= give_up:
                return False  # nothing can be said without a loudspeaker: no use in waiting
        return True

    def close(self) -> None:
        self._closing.set()
        self._wake.put(None)
        if self._thread:
            self._thread.join(timeout=_LEAVE_S)
        self._give_up_stream()

    # what the voice thread does

    def _run(self) -> None:
        self._mind()
        self._flush()
        with contextlib.suppress(VoiceError):  # only to load it before it is needed; one that fails is dealt with at the first line
            self._voice.synthesise("Ready.")
        timeout_s = 0.0
        while not self._closing.is_set():
            timeout_s = self.step(timeout_s)

    def step(self, timeout_s: float = 0.0) -> float:
        """Wait so long for something to happen, then do everything there is to do. Returns how long the next wait may be, s."""
        reports = self._woken(timeout_s)
        with self._lock:
            for report, at in reports:
                self._note(report, at)
            self._begin(self._now())
        self._make_words()
        self._mind()
        with self._lock:
            now = self._now()
            waits = [_LOOK_S]
            if now < self._sounds_until:
                waits.append(self._sounds_until - now)
            if self._stream and (due := self._queue.next_due()) is not None:
                waits.append(max(0.0, due - now))
            idle = self._progress is None and not len(self._queue) and now >= self._sounds_until
        self._flush()
        if idle:
            self._idle.set()
        return min(waits)

    def _flush(self) -> None:
        with self._lock:
            happened, self._happened = self._happened, []
        for event in happened:
            self._tell(event)

    def _woken(self, timeout_s: float) -> list[tuple[Report, float]]:
        items: list[tuple[Report, float] | None] = []
        with contextlib.suppress(queue.Empty):
            items.append(self._wake.get(timeout=timeout_s) if timeout_s > 0 else self._wake.get_nowait())
            while True:
                items.append(self._wake.get_nowait())
        return [item for item in items if item is not None]

    def _now(self) -> float:
        return self._clock.now().elapsed

    def _begin(self, now: float, cut: bool = False) -> None:
        """Take the next line if there is one and nothing is being said; its tone sounds at once. cut: it silenced another. Holds the lock."""
        if self._stream is None or (entry := self._queue.take(now)) is None:
            return
        self._progress = _Progress(entry)
        mixer = self._stream.mixer
        if sound := self._tones.before(entry.line, now, cut):
            samples = loudened(tone(sound, mixer.rate), self._manner.gain(entry.line))
            mixer.play(samples, _Part(entry, words=False), gives_way_at=lead_length(sound, mixer.rate))

    def _silence(self, now: float) -> None:
        """Fade what sounds. Holds the lock."""
        self._sounds_until = max(self._sounds_until, now + _OUT_S)
        self._drop_progress(self._sounds_until)
        if self._stream:
            self._stream.mixer.cut()

    def _drop_progress(self, at: float) -> None:
        """The line being said goes no further. Holds the lock."""
        progress, self._progress = self._progress, None
        if progress and progress.begun:
            self._happened.append(Said(progress.entry.line, at, progress.words_s, progress.made_s, whole=False))

    def _make_words(self) -> None:
        """Make the words of the line that has been begun, unless it is cut meanwhile."""
        with self._lock:
            progress, stream = self._progress, self._stream
            if progress is None or progress.voiced or stream is None:
                return
            line, pace = progress.entry.line, self._manner.pace
        began = time.perf_counter()
        try:
            samples = self._voice.synthesise(line.words, pace)
        except VoiceError:
            samples = tone(sound_of(line) or Sound.READY, RATE)
        samples = loudened(resample(samples, RATE, stream.mixer.rate), self._manner.gain(line))
        with self._lock:
            if self._progress is progress and self._stream is stream:
                progress.voiced, progress.made_s = True, time.perf_counter() - began
                stream.mixer.play(samples, _Part(progress.entry, words=True))

    def _note(self, report: Report, at: float) -> None:
        """A clip began or ended. Holds the lock."""
        progress, part = self._progress, report.tag
        if progress is None or not isinstance(part, _Part) or part.entry is not progress.entry:
            return  # of a line that was cut
        sounds_s, line = at + report.after_s, progress.entry.line
        if report.began:
            if not progress.begun:
                progress.begun = True
                self._happened.append(Begun(line, sounds_s, progress.entry.since))
            if part.words:
                progress.words_s = sounds_s
        elif part.words:
            self._progress, self._sounds_until = None, sounds_s
            self._queue.done(sounds_s)
            self._tones.over(line, sounds_s)
            self._happened.append(Said(line, sounds_s, progress.words_s, progress.made_s))

    def _mind(self) -> None:
        """See to the loudspeaker: open it, notice that it is gone, try again."""
        now = self._now()
        stream = self._stream
        if stream is None:
            if now >= self._try_at:
                self._open(now)
        elif stream.dead(now):
            self._give_up_stream()
            self._is_lost(now, "The loudspeaker stopped: the words are on the screen.")
        elif stream.asked_s is not None:
            self._pause_s = FIRST_PAUSE_S
            if self._lost:
                self._lost = False
                self._happened.append(SpeakerBack(now, stream.opened.name))

    def _open(self, now: float) -> None:
        stream = _Stream(self._clock, self._wake, self._played)
        try:
            stream.opened = open_first(self._device, stream.make, stream.end, self._outputs)
        except NoSpeakerError as error:
            self._is_lost(now, str(error))
        else:
            with self._lock:
                self._stream = stream
            self._wake.put(None)

    def _is_lost(self, now: float, reason: str) -> None:
        self._try_at = now + self._pause_s
        self._pause_s = min(2 * self._pause_s, LONGEST_PAUSE_S)
        if not self._lost:
            self._lost = True
            self._happened.append(SpeakerLost(now, reason))

    def _give_up_stream(self) -> None:
        with self._lock:
            stream, self._stream = self._stream, None
            self._drop_progress(self._now())
            self._queue.put_back()
        if stream:
            stream.mixer.cut()  # should it come to life again before it is closed
            let_go(stream.opened.close)


class Recording:
    """Speaks into a wav file, one line after the other with short gaps, at once: for demonstrations and recorded evenings. The clock only
    serves the queue's rules. Raises OSError where the file cannot be written."""

    speaking = False

    def __init__(self, path: Path, voice: Voice, clock: Clock) -> None:
        import soundfile

        self._voice, self._clock = voice, clock
        self._queue, self._manner, self._tones = SpeechQueue(), _Manner(), _Tones()
        path.touch()  # the system says why not in words, libsndfile does not
        try:
            self._file = soundfile.SoundFile(path, "w", samplerate=RATE, channels=1, subtype="PCM_16", format="WAV")
        except soundfile.LibsndfileError as error:
            raise OSError(f"'{path}' cannot be written: {error.error_string}") from error
        self.last_spoke_s = float("-inf")

    def say(self, *lines: Line) -> None:
        now = self._clock.now().elapsed
        self._queue.add(lines, now)
        while (due := self._queue.next_due()) is not None:
            now = max(now, due)
            if (entry := self._queue.take(now)) is None:
                break
            self._write(entry.line, now)
            self._queue.done(now)
        self.last_spoke_s = now

    def _write(self, line: Line, now: float) -> None:
        gain = self._manner.gain(line)
        if sound := self._tones.before(line, now):
            self._file.write(loudened(tone(sound, RATE)[: lead_length(sound, RATE)], gain))
        try:
            self._file.write(loudened(self._voice.synthesise(line.words, self._manner.pace), gain))
        except VoiceError:
            self._file.write(tone(Sound.READY, RATE))
        self._tones.over(line, now)
        self._file.write(np.zeros(round(RATE * min(GAP_S + line.pause_s, LONGEST_GAP_S)), np.float32))
        self._file.flush()  # a demonstration that is interrupted leaves what was said

    def quiet(self, seconds: float) -> None:
        self._queue.quiet(seconds, self._clock.now().elapsed)

    def volume(self, steps: int) -> None:
        self._manner.volume(steps)

    def speed(self, steps: int) -> None:
        self._manner.speed(steps)

    def wait(self, timeout_s: float) -> bool:
        return True

    def close(self) -> None:
        self._file.close()
