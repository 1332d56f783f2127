"""The live microphone with every fault that was seen with real ones, on a stand-in driver and a clock that is told the time."""

import threading
from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
import pytest

from assistant import sound_devices
from assistant.clock import FakeClock
from assistant.hearing.frames import Block, MicrophoneBack, MicrophoneLost, Sound
from assistant.hearing.microphone import Chunk, Chunks, Microphone, MiniAudio, NoMicrophoneError, Opened, PortAudio, Watch, source_of
from assistant.hearing.recogniser import RATE

TALK = np.full(320, 0.1, np.float32)
ZEROS = np.zeros(320, np.float32)


@dataclass
class Device:
    """One opening of the stand-in: chunks it gives, and "ended" where its stream stops."""

    steps: list[Chunk | str]
    refuse: str = ""


@dataclass
class Driver:
    """A sound library in a table: each `open` takes the next device."""

    devices: list[Device]
    clock: FakeClock
    deliver: Callable[[Chunk], None] = lambda chunk: None
    ended: Callable[[], None] = lambda: None
    now: Device | None = None
    stuck: threading.Event | None = None
    opened: int = 0
    closed: int = 0
    asked: list[str | None] = field(default_factory=list)
    done: Callable[[], None] = lambda: None

    def open(self, name: str | None, deliver: Callable[[Chunk], None], ended: Callable[[], None]) -> Opened:
        self.asked.append(name)
        if not self.devices:
            self.done()
            raise NoMicrophoneError("There is no microphone: plug one in.")
        self.now = self.devices.pop(0)
        if self.now.refuse:
            raise NoMicrophoneError(self.now.refuse)
        self.opened += 1
        self.deliver, self.ended = deliver, ended
        return Opened("mic", RATE, self._close)

    def pour(self) -> None:
        """Everything the device opened last has to give, at once; the clock moves with every chunk."""
        steps, self.now = (self.now.steps if self.now else []), None
        for what in steps:
            if isinstance(what, str):
                self.ended()
            else:
                self.deliver(what)

    def names(self) -> tuple[str, ...]:
        return ("mic",)

    def _close(self) -> None:
        stuck, self.stuck = self.stuck, None
        if stuck is not None:
            stuck.wait(10)
        self.closed += 1


def hear(*devices: Device, source: Callable[[], str | None] = lambda: None, step_s: float = 0.02) -> tuple[list[Sound], Driver]:
    """Everything a microphone on these devices says until none is left; the clock moves by step_s whenever it is read."""

    class Ticking(FakeClock):
        def now(self):  # type: ignore[no-untyped-def]
            self.advance(step_s)
            return super().now()

    clock = Ticking()
    driver = Driver(list(devices), clock)

    def look() -> str | None:
        driver.pour()
        return source()

    microphone = Microphone(None, clock, [driver], look)
    microphone._stop.wait = lambda timeout=None: False  # type: ignore[method-assign]
    driver.done = microphone.stop
    return list(microphone.sounds()), driver


def kinds(sounds: list[Sound]) -> list[str]:
    """Names of what came, runs of blocks as one."""
    names = [type(s).__name__ for s in sounds]
    return [n for i, n in enumerate(names) if i == 0 or names[i - 1] != n]


def chunks(seconds: float, chunk: Chunk) -> list[Chunk | str]:
    """So many seconds of the same."""
    return [chunk] * round(seconds / 0.02)


def test_sound_becomes_blocks_without_a_gap() -> None:
    """Two seconds of chunks come out as blocks that follow each other, then the end of the stream as one event."""
    sounds, driver = hear(Device([*chunks(2.0, TALK), "ended"]))
    blocks = [s for s in sounds if isinstance(s, Block)]
    assert sum(len(b.samples) for b in blocks) >= 2 * RATE - 512
    assert kinds(sounds) == ["Block", "MicrophoneLost"]
    assert driver.closed == driver.opened == 1


def test_a_sound_server_that_died_and_came_back() -> None:
    """The stream ends, the device is opened again, the first sound says it is back."""
    sounds, driver = hear(Device([*chunks(0.5, TALK), "ended"]), Device([], refuse="No server."), Device([*chunks(0.5, TALK), "ended"]))
    assert kinds(sounds) == ["Block", "MicrophoneLost", "MicrophoneBack", "Block", "MicrophoneLost"]
    assert isinstance(sounds[-1], MicrophoneLost)
    assert driver.closed == driver.opened == 2


def test_a_device_that_never_closes_is_left_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    """A sound server that was killed can leave its stream stuck: the next device is opened while the first still closes, and what the first says when
    it comes to life is nobody's."""
    monkeypatch.setattr(sound_devices, "PATIENCE_S", 0.05)
    clock, stuck = FakeClock(), threading.Event()
    driver = Driver([Device([*chunks(0.5, TALK), "ended"]), Device([*chunks(0.5, TALK), "ended"])], clock, stuck=stuck)
    endings: list[Callable[[], None]] = []

    def look() -> str | None:
        endings.append(driver.ended)
        if len(endings) == 2:
            assert driver.closed == 0
            endings[0]()
            stuck.set()
        driver.pour()
        return None

    microphone = Microphone(None, clock, [driver], look)
    microphone._stop.wait = lambda timeout=None: False  # type: ignore[method-assign]
    driver.done = microphone.stop
    assert kinds(list(microphone.sounds())) == ["Block", "MicrophoneLost", "MicrophoneBack", "Block", "MicrophoneLost"]
    assert driver.opened == 2


def test_nothing_but_zeros_is_a_lost_microphone() -> None:
    """A muted microphone, or a permission refused without an error: zeros for more than 2 s."""
    sounds, _ = hear(Device([*chunks(1.0, TALK), *chunks(4.0, ZEROS)]), Device([*chunks(1.0, ZEROS), *chunks(0.5, TALK), "ended"]))
    lost = [s for s in sounds if isinstance(s, MicrophoneLost)]
    assert "only silence" in lost[0].reason
    assert any(isinstance(s, MicrophoneBack) for s in sounds)


def test_a_short_silence_is_not_a_fault() -> None:
    """Zeros for a second and a half, then sound: nothing is said."""
    sounds, _ = hear(Device([*chunks(1.0, TALK), *chunks(1.4, ZEROS), *chunks(1.0, TALK), "ended"]))
    assert kinds(sounds) == ["Block", "MicrophoneLost"]


def test_our_own_speaker_is_no_microphone() -> None:
    """The stream was moved to the speaker's monitor: lost at once, and opened again until a real source is there."""
    sources = iter(["mic", "speaker.monitor", "speaker.monitor", "mic"])
    sounds, driver = hear(
        Device(chunks(3.0, TALK)),
        Device(chunks(0.5, TALK)),
        Device([*chunks(0.5, TALK), "ended"]),
        source=lambda: next(sources, "mic"),
    )
    lost = [s.reason for s in sounds if isinstance(s, MicrophoneLost)]
    assert lost[0] == "The microphone is gone: the computer listens to its own speaker."
    assert kinds(sounds) == ["Block", "MicrophoneLost", "MicrophoneBack", "Block", "MicrophoneLost"]
    assert driver.opened == 3


def test_no_device_at_all_is_said_once() -> None:
    """Retries do not repeat the sentence."""
    refuse = Device([], refuse="There is no microphone: plug one in.")
    sounds, _ = hear(refuse, Device([], refuse="Another reason."), Device([], refuse="A third."))
    assert [s.reason for s in sounds if isinstance(s, MicrophoneLost)] == ["There is no microphone: plug one in."]


def test_the_second_library_is_tried_when_the_first_cannot() -> None:
    """Without PortAudio, miniaudio opens the device; when neither can, the first one's reason is said."""
    clock = FakeClock()
    first = Driver([Device([], refuse="The PortAudio library is missing: install libportaudio2.")], clock)
    second = Driver([Device([*chunks(0.5, TALK), "ended"])], clock)
    microphone = Microphone("usb", clock, [first, second], second.pour)
    microphone._stop.wait = lambda timeout=None: False  # type: ignore[method-assign]
    second.done = microphone.stop
    assert kinds(list(microphone.sounds())) == ["Block", "MicrophoneLost"]
    assert second.asked[0] == "usb"


def test_an_ear_that_is_too_slow_loses_the_oldest() -> None:
    """Chunks are kept for a minute, then the oldest go: memory has an end."""
    chunks = Chunks(lambda: 0.0)
    for _ in range(5_000):
        chunks.add(TALK)
    assert chunks.qsize() == 3_000


@pytest.mark.parametrize(
    ("watch", "at_s", "source", "words"),
    [
        (Watch(10.0, 10.0), 10.9, None, ""),
        (Watch(10.0, 10.0), 11.1, None, "sends nothing any more"),
        (Watch(12.0, 10.0), 12.1, None, "only silence"),
        (Watch(10.0, 10.0, "mic"), 10.1, "speaker.monitor", "its own speaker"),
        (Watch(10.0, 10.0, None), 10.1, "speaker.monitor", "its own speaker"),
        (Watch(10.0, 10.0, "mic"), 10.1, "webcam", "changed to webcam"),
        (Watch(10.0, 10.0, "mic"), 10.1, "mic", ""),
        (Watch(10.0, 10.0, "mic"), 10.1, None, ""),
    ],
)
def test_when_a_microphone_counts_as_lost(watch: Watch, at_s: float, source: str | None, words: str) -> None:
    """The limits: 1 s without a chunk, 2 s of zeros, any other source than the one opened, our own speaker always."""
    reason = watch.fault(at_s, source)
    assert (words in reason) if words else reason == ""


def test_the_source_of_another_program_is_none_of_ours() -> None:
    """Only the recording of our own process counts; odd listings give none."""
    sources = [{"index": 1, "name": "mic"}, {"index": 2, "name": "speaker.monitor"}]
    outputs = [{"source": 2, "properties": {"application.process.id": "99"}}, {"source": 1, "properties": {"application.process.id": "7"}}]
    assert source_of(outputs, sources, 7) == "mic"
    assert source_of(outputs, sources, 99) == "speaker.monitor"
    assert source_of(outputs, sources, 5) is None
    assert source_of([{}], [], 7) is None


@pytest.mark.parametrize("driver", [PortAudio(), MiniAudio()])
def test_a_device_nobody_has_is_one_sentence(driver: PortAudio | MiniAudio) -> None:
    """Whatever this machine has or lacks, a wrong name is refused in one sentence and no other way."""
    with pytest.raises(NoMicrophoneError) as fault:
        driver.open("no such microphone anywhere", lambda chunk: None, lambda: None)
    assert str(fault.value).endswith(".")
    assert "\n" not in str(fault.value)
    assert isinstance(driver.names(), tuple)
