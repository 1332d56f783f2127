"""Where the ports are built and the evening's one loop runs: microphone, file or keyboard in; loudspeaker, file or nothing out.

One writer of state: everything heard, typed or broken arrives on one queue; the loop waits on it until the next deadline, decides, journals,
then speaks. A recording as microphone has its sample count as the clock, so an evening on file runs as fast as it can be decoded.
"""

from __future__ import annotations

import contextlib
import queue
import sys
import threading
import time
from collections import deque
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from assistant.clock import Clock, FakeClock
from assistant.evening import Evening
from assistant.kitchen.meal import Meal
from assistant.memory import give_back, one_heap
from assistant.probe import POLL_S, Follower, Probe, ProbeBack, ProbeFault, ProbeReading
from assistant.session import events as e
from assistant.session import thaw
from assistant.session.commands import Command, Intent, Reject
from assistant.session.state import State, Status
from assistant.settings import Settings, data_folder
from assistant.speaking import prompts
from assistant.speaking.line import Line
from assistant.speaking.mouth import Begun, Mouth, Said, Silent, SpeakerBack, SpeakerEvent, SpeakerLost, VoiceChanged, open_mouth

if TYPE_CHECKING:
    from assistant.hearing.echo import Playback
    from assistant.kitchen.evening import EveningPlan
    from assistant.recordings import Recordings
    from assistant.understander import Understander

IDLE_S = 0.5
LAST_WORDS_S = 5.0
Show = Callable[[str], None]


@dataclass(frozen=True, slots=True)
class Typed:
    """A line from the keyboard (or the touch screen)."""

    words: str


@dataclass(frozen=True, slots=True)
class Planned:
    """The solver found a better plan for the facts up to this many."""

    plan: EveningPlan
    facts: int
    why: str = "a better plan for what has happened"


@dataclass(frozen=True, slots=True)
class Fault:
    """Something of the world broke (ok=False) or came back."""

    part: str
    ok: bool
    sentence: str


class Closed:
    """Nothing more will come."""


def plan_first(
    meal: Meal, people: int, serve_t: float | None, usual_s: Mapping[str, float] = MappingProxyType({}), done: frozenset[str] = frozenset()
) -> EveningPlan:
    """The solver's plan of an evening that begins now, serve_t in kitchen time (None: the soonest); usual_s: this cook's own times, by step; done:
    steps made before. PlanError, one sentence, when there is none."""
    from assistant.kitchen.evening import Setting
    from assistant.kitchen.plan_ahead import thawing
    from assistant.kitchen.plan_live import plan_now
    from assistant.kitchen.plan_safety import safe
    from assistant.kitchen.plan_ways import or_else
    from assistant.kitchen.scale import scaled

    # what has no time to thaw is asked about at the start: it may have thawed since yesterday
    frozen = thawing(scaled(meal, people), list(meal.steps()))
    thawed = frozenset(task for task, seconds in frozen.items() if serve_t is None or seconds > serve_t)
    setting = Setting(people=people, usual_s=dict(usual_s), done=done | thawed)
    with or_else(meal, serve_t, 0.0, setting):
        return safe(plan_now(meal, serve_t, 0.0, setting), scaled(meal, people))


def still_made(state: State) -> frozenset[str]:
    """Steps that the plan takes for done from the start, less those that must be done again; and what it takes for thawed, less what is not."""
    done = state.plan.setting.done if state.plan is not None else frozenset()
    return frozenset(s for s in done if s in state.steps and state.steps[s].status is Status.DONE) | thaw.thawed(state)


class Replanner:
    """Asks the solver for a better plan, in a thread of its own, only ever for the latest facts."""

    def __init__(self, put: Callable[[Planned], None]) -> None:
        self._put = put
        self._jobs: queue.Queue[State] = queue.Queue()
        self._seen: tuple[int, frozenset[str]] = (0, frozenset())
        threading.Thread(target=self._run, name="planner", daemon=True).start()

    def look(self, state: State) -> None:
        """Called after every turn: a job when facts have come since the last, or what was taken for made must be made after all."""
        if state.plan is None:
            return
        gone = state.plan.setting.done - still_made(state)
        if (len(state.facts), gone) != self._seen:
            self._seen = (len(state.facts), gone)
            self._jobs.put(state)

    def _run(self) -> None:
        from assistant.kitchen.evening import PlanError
        from assistant.kitchen.plan_live import plan_again, replan, shift, worth_it

        while True:
            state = self._jobs.get()
            while not self._jobs.empty():
                state = self._jobs.get()
            if state.plan is None:
                continue
            if still_made(state) != state.plan.setting.done:
                with contextlib.suppress(PlanError):  # then the steps are named as they can be begun
                    again = plan_again(state.plan, still_made(state), state.facts, state.t, state.meal)
                    self._put(Planned(again, len(state.facts), "made again"))
                continue
            found = replan(state.plan, state.facts, state.t, state.meal)
            if found is not None and worth_it(shift(state.plan, state.facts, state.t, state.meal), found):
                self._put(Planned(found, len(state.facts)))


class Speech:
    """Remembers when the loudspeaker sounded, because what is heard then may be ourselves. live: whether there is a loudspeaker."""

    def __init__(self, live: bool) -> None:
        self.live = live
        self._spans: deque[tuple[float, float]] = deque(maxlen=32)

    def note(self, event: SpeakerEvent) -> None:
        """From the voice thread: a line began or ended."""
        if isinstance(event, Begun):
            self._spans.append((event.at_s, float("inf")))
        elif isinstance(event, Said) and self._spans:
            self._spans[-1] = (self._spans[-1][0], event.at_s)

    def at(self, t: float) -> tuple[bool, float]:
        """(whether we were speaking at this moment, s since we last ended before it); t on the clock's elapsed time."""
        spans = tuple(self._spans)
        speaking = any(begun <= t <= ended for begun, ended in spans)
        return speaking, t - max((ended for _, ended in spans if ended <= t), default=float("-inf"))


class Kitchen:
    """The loop of one evening. show: prints a line."""

    def __init__(
        self,
        evening: Evening,
        understander: Understander,
        mouth: Mouth,
        speech: Speech,
        faults: queue.Queue[Fault],
        show: Show,
        recordings: Recordings | None = None,
    ) -> None:
        self.evening = evening
        self.inbox: queue.Queue[Any] = queue.Queue()
        self._understander = understander
        self._mouth = mouth
        self._speech = speech
        self._faults = faults
        self._show = show
        self._recordings = recordings
        self._replanner: Replanner | None = None
        self._stop_hearing: Callable[[], None] = lambda: None
        self._hearing = False

    @property
    def listening(self) -> bool:
        """Whether a microphone was opened."""
        return self._hearing

    def typed(self, words: str) -> None:
        """Words from a keyboard or the touch screen, from any thread."""
        self.inbox.put(Typed(words))

    def run(self) -> None:
        """Until the inbox closes."""
        while True:
            wait = self.evening.next_deadline()
            try:
                item = self.inbox.get(timeout=IDLE_S if wait is None else min(IDLE_S, wait))
            except queue.Empty:
                item = None
            while not self._faults.empty():
                self.take(self._faults.get())
            if isinstance(item, Closed):
                return
            if item is not None:
                self.take(item)
            elif self.evening.next_deadline() == 0.0:
                self.evening.feed(None)
                self._look()

    def take(self, item: object) -> None:
        """One thing from the inbox."""
        if isinstance(item, Typed):
            if item.words.strip():
                self._do(item.words, *self._understander.typed(item.words, self.evening))
        elif isinstance(item, Fault):
            self._show(item.sentence)
            self.evening.fault(item.part, item.ok, item.sentence, aloud=item.ok)
        elif isinstance(item, ProbeReading):
            self.evening.probed(item.celsius)
        elif isinstance(item, ProbeFault | ProbeBack):
            back = isinstance(item, ProbeBack)
            if isinstance(item, ProbeFault):
                self._show(item.why)
            self.evening.fault("probe", back, prompts.PROBE_BACK if back else prompts.PROBE_LOST)
        elif isinstance(item, Planned):
            if item.facts == len(self.evening.state.facts):
                self.evening.adopt(item.plan, item.why)
        else:
            self._hear(item)
        self._look()

    def _look(self) -> None:
        if self._replanner is not None:
            self._replanner.look(self.evening.state)

    def _hear(self, item: Any) -> None:
        from assistant.hearing.frames import MicrophoneBack, MicrophoneLost

        if isinstance(item, MicrophoneLost):
            self._show(item.reason)
            self.evening.fault("microphone", False, prompts.MICROPHONE_LOST)
        elif isinstance(item, MicrophoneBack):
            self.evening.fault("microphone", True, prompts.MICROPHONE_BACK)
        else:
            speaking, since = self._speech.at(item.start_s) if self._speech.live else (False, self.evening.kitchen_time() - self.evening.state.said_t)
            command = self._understander.heard(item, self.evening, speaking, since)
            if self._recordings is not None:
                self._recordings.keep(item, command)
            self._do(item.words, command)
            give_back()  # what it took to hear it

    def _do(self, words: str, command: Command | Reject, read_as: str = "") -> None:
        if not (isinstance(command, Reject) and command.reason in ("not_addressed", "speaking")):
            self._show(f"> {words}")
        if isinstance(command, Command) and command.intent is Intent.QUIET:
            self._mouth.quiet(0.0)
        for event in self.evening.feed(command, read_as):
            if isinstance(event, e.VoiceChanged):
                self._mouth.volume({"louder": 1, "softer": -1}.get(event.how, 0))
                self._mouth.speed(-1 if event.how == "slower" else 0)

    def replan(self) -> None:
        """Let the solver look for a better plan whenever facts have come, on a thread of its own."""
        self._replanner = Replanner(self.inbox.put)

    def probe(self, path: Path) -> None:
        """Follow a thermometer that another program reads, from a thread of its own."""
        follower = Follower(Probe(path), self.evening.clock)

        def read() -> None:
            while True:
                for item in follower.step():
                    self.inbox.put(item)
                time.sleep(POLL_S)

        threading.Thread(target=read, name="probe", daemon=True).start()

    def keyboard(self) -> None:
        """Lines typed go onto the inbox, from a thread of their own; where nothing is heard, the end of them ends the evening's run."""

        def read() -> None:
            for line in iter(sys.stdin.readline, ""):
                self.typed(line.rstrip("\n"))
            if not self._hearing:
                self.inbox.put(Closed())

        threading.Thread(target=read, name="keyboard", daemon=True).start()

    def microphone(self, settings: Settings, playback: Playback | None) -> None:
        """Start to listen. Where nothing can hear: one sentence, and the keyboard is left. playback: what our own loudspeaker plays."""
        from assistant.ears import NoEarError, build_ear, build_engines
        from assistant.hearing.echo import WithoutEcho
        from assistant.hearing.kitchen_ear import read_kitchen
        from assistant.hearing.listener import Listener
        from assistant.hearing.microphone import Microphone
        from assistant.understander import moments

        try:
            kitchen = read_kitchen(data_folder())
            engines = build_engines(self._understander.interpreter, self.evening.state.meal, settings, kitchen, moments(self.evening))
        except NoEarError as error:
            self._show(str(error))
            return
        self._show(engines.why)
        source = Microphone(settings.microphone, self.evening.clock)
        ear = build_ear(self._understander.interpreter, engines, keep_sound=self._recordings is not None)
        listener = Listener(ear, source if playback is None else WithoutEcho(source, playback), self.inbox.put)
        listener.start()
        self._hearing = True

        def stop() -> None:
            source.stop()
            listener.join(2.0)

        self._stop_hearing = stop

    def recording(self, path: Path, clock: FakeClock, settings: Settings) -> None:
        """A recording as the microphone: the clock follows its samples, and its end ends the run."""
        from assistant.ears import NoEarError, build_ear, build_engines
        from assistant.hearing.kitchen_ear import read_kitchen
        from assistant.hearing.sources import FileSource
        from assistant.rehearsal import let_time_pass
        from assistant.understander import moments

        try:
            kitchen = read_kitchen(data_folder())
            engines = build_engines(self._understander.interpreter, self.evening.state.meal, settings, kitchen, moments(self.evening))
        except NoEarError as error:
            self._show(str(error))
            self.inbox.put(Closed())
            return
        self._show(engines.why)
        began = self.evening.kitchen_time()
        ear = build_ear(self._understander.interpreter, engines, keep_sound=self._recordings is not None)
        for heard in ear.listen(FileSource(path)):
            let_time_pass(self.evening, clock, began + float(getattr(heard, "end_s", 0.0)))
            self.take(heard)
        self.inbox.put(Closed())

    def close(self) -> bool:
        """Let what is being said be said, stop the ports; whether the evening is over (all its steps done)."""
        self._stop_hearing()
        with contextlib.suppress(KeyboardInterrupt):
            self._mouth.wait(LAST_WORDS_S)
        self._mouth.close()
        over = "dinner" in self.evening.state.told
        if over and not self.evening.state.ended:
            self.evening.end()
        return over


def start_evening(
    make: Callable[[Callable[[tuple[Line, ...]], None]], Evening],
    settings: Settings,
    clock: Clock,
    hear: str,
    say: str,
    show: Show,
    recordings: Recordings | None = None,
) -> Kitchen:
    """Build the ports and begin: a mouth, an evening whose lines are shown and spoken, an ear or the keyboard. recordings: where what is heard is
    kept as sound; None: nowhere."""
    one_heap()  # before there is any thread
    faults: queue.Queue[Fault] = queue.Queue()
    speech = Speech(live=say == "speaker")

    def told(event: SpeakerEvent) -> None:
        speech.note(event)
        if isinstance(event, SpeakerLost):
            faults.put(Fault("speaker", False, event.reason))
        elif isinstance(event, SpeakerBack):
            faults.put(Fault("speaker", True, prompts.SPEAKER_BACK))
        elif isinstance(event, VoiceChanged):
            show(event.reason)

    playback = None
    if hear == "mic" and say == "speaker":
        from assistant.hearing.echo import Playback

        playback = Playback()
    try:
        mouth = open_mouth(say, clock, told, settings.voice, settings.speaker, playback.note if playback else None)
    except OSError as error:
        show(f"{say} cannot be written ({error.strerror}). Going on without sound.")
        mouth = Silent()

    def speak(lines: tuple[Line, ...]) -> None:
        for line in lines:
            show(f"< {line.words}")
        mouth.say(*lines)

    evening = make(speak)
    from assistant.ears import interpreter_for  # the first line is out: time to learn to listen
    from assistant.understander import Understander

    understander = Understander(interpreter_for(evening.state.meal, settings), settings)
    kitchen = Kitchen(evening, understander, mouth, speech, faults, show, recordings)
    if evening.state.plan is not None:
        kitchen.replan()
    if hear == "typed":
        kitchen.keyboard()
    elif hear == "mic":
        kitchen.microphone(settings, playback)
        kitchen.keyboard()
    else:
        assert isinstance(clock, FakeClock)
        kitchen.recording(Path(hear), clock, settings)
    return kitchen


def local_day_s() -> float:
    """The machine's time of day, s after midnight."""
    now = time.localtime()
    return now.tm_hour * 3600.0 + now.tm_min * 60.0 + now.tm_sec
