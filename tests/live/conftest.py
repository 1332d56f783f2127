"""What every live test shares: the sound server, the children on it, and the rule that nothing is skipped in silence."""

from __future__ import annotations

import json
import os
import queue
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from sound_server import PACKAGES, RATE, Recorder, Samples, SoundServer, missing, utterances

HERE = Path(__file__).parent


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Everything in this folder is live; without what it needs it is skipped with the reason, and in CI it fails."""
    absent = missing()
    for item in items:
        if HERE in Path(item.path).parents:
            item.add_marker(pytest.mark.live)
            if absent and not os.environ.get("CI"):
                item.add_marker(pytest.mark.skip(reason=f"no {', '.join(absent)} here: apt-get install {PACKAGES}"))


@pytest.fixture
def server(tmp_path: Path) -> Iterator[SoundServer]:
    """A running sound server."""
    if absent := missing():
        pytest.fail(f"no {', '.join(absent)} here: apt-get install {PACKAGES}")
    one = SoundServer(tmp_path / "sound")
    one.start()
    yield one
    one.kill()


class Child:
    """A program under test that prints JSON lines (`json_lines`) or plain ones; what it prints is read all the time."""

    def __init__(self, command: list[str], env: dict[str, str]) -> None:
        self.process = subprocess.Popen(command, env=env, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        self._lines: queue.SimpleQueue[str | None] = queue.SimpleQueue()
        self.seen: list[str] = []
        self.errors: list[str] = []
        self._readers = [threading.Thread(target=self._read, daemon=True), threading.Thread(target=self._read_errors, daemon=True)]
        for reader in self._readers:
            reader.start()

    def _read(self) -> None:
        assert self.process.stdout
        for line in self.process.stdout:
            self._lines.put(line.rstrip("\n"))
        self._lines.put(None)

    def _read_errors(self) -> None:
        assert self.process.stderr
        self.errors.extend(self.process.stderr)

    def write(self, text: str) -> None:
        """A line to its standard input."""
        assert self.process.stdin
        self.process.stdin.write(text + "\n")
        self.process.stdin.flush()

    def tell(self, *what: Any) -> dict[str, Any]:
        """A JSON command to a mouth process; returns its echo."""
        self.write(json.dumps(what))
        return self.event("did")

    def until(self, wanted: Callable[[str], bool], timeout_s: float = 15.0) -> str:
        """The next line that is wanted."""
        give_up = time.monotonic() + timeout_s
        while True:
            try:
                line = self._lines.get(timeout=max(0.01, give_up - time.monotonic()))
            except queue.Empty:
                line = None
            if line is None:
                raise AssertionError(f"waited for a line in vain; seen: {self.seen[-30:]}; errors: {''.join(self.errors[-20:])}")
            self.seen.append(line)
            if wanted(line):
                return line

    def event(self, name: str, timeout_s: float = 15.0) -> dict[str, Any]:
        """The next event of this name."""
        found: dict[str, Any] = json.loads(self.until(lambda line: json.loads(line)["event"] == name, timeout_s))
        return found

    def whole(self, timeout_s: float = 15.0) -> dict[str, Any]:
        """The next line that was said to its end."""
        while not (said := self.event("Said", timeout_s))["whole"]:
            pass
        return said

    def end(self) -> int:
        """Close its input and wait for it."""
        assert self.process.stdin
        if not self.process.stdin.closed:
            self.process.stdin.close()
        return self.process.wait(timeout=20)

    def stop(self) -> None:
        """Kill it if it still runs, and leave no pipe open."""
        if self.process.poll() is None:
            self.process.kill()
            self.process.wait()
        for reader in self._readers:
            reader.join()
        for pipe in (self.process.stdin, self.process.stdout, self.process.stderr):
            if pipe:
                pipe.close()


Start = Callable[..., Child]


@pytest.fixture
def start() -> Iterator[Start]:
    """Starts children; none outlives the test."""
    children: list[Child] = []

    def run(command: list[str], env: dict[str, str]) -> Child:
        children.append(Child(command, env))
        return children[-1]

    yield run
    for child in children:
        child.stop()


@pytest.fixture
def mouth(start: Start) -> Callable[..., Child]:
    """Starts a mouth process on a sound server."""

    def run(server: SoundServer, voice: str = "embedded", outputs: str = "all") -> Child:
        return start([sys.executable, str(HERE / "mouth_process.py"), voice, outputs], server.env)

    return run


@pytest.fixture
def record() -> Iterator[Callable[[SoundServer], Recorder]]:
    """Starts recordings of the loudspeaker; none outlives the test."""
    recorders: list[Recorder] = []

    def run(server: SoundServer) -> Recorder:
        recorders.append(Recorder(server))
        return recorders[-1]

    yield run
    for recorder in recorders:
        recorder.stop()


@pytest.fixture(scope="session")
def read_words() -> Callable[[Samples], list[str]]:
    """An independent reader: free decodes, lower case without marks, of each stretch of a recording of the loudspeaker. It shares nothing
    with the voice, and no grammar tells it what to expect."""
    from assistant.hearing.model import Moonshine, seconds
    from assistant.speaking.voices import resample

    model = Moonshine()

    def read(sound: Samples) -> list[str]:
        texts = []
        for first, last in utterances(sound):
            pad = np.zeros(RATE // 5, np.float32)
            clip = resample(np.concatenate([pad, sound[first:last], pad]), RATE, 16000)
            tokens, _ = model.free(model.listen(clip), seconds(clip))
            text = model.tokenizer.decode(tokens).lower()
            texts.append("".join(c for c in text if c.isalnum() or c in " '").strip())
        return texts

    return read
