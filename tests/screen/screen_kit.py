"""An evening with a page, and a browser to look at it: the clock moves only when a test moves it."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from queue import Queue

from playwright.sync_api import Browser, sync_playwright

from assistant.clock import FakeClock
from assistant.ears import interpreter_for
from assistant.evening import Evening
from assistant.journal import Journal
from assistant.kitchen.cards import find_meal, read_text
from assistant.rehearsal import let_time_pass
from assistant.session import events as e
from assistant.session.state import State
from assistant.settings import Settings
from assistant.showing.server import Screen
from assistant.showing.view import EarView, View, view
from assistant.speaking.line import Line
from assistant.understander import Understander

CHROMIUM = os.environ.get("CHROMIUM", "/usr/bin/chromium")
OPTIONS = (
    *("--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"),
    *("--disable-background-networking", "--disable-component-update", "--disable-sync"),
)
SHOTS = Path("build/screens")
TABLET = {"width": 1280, "height": 800}
"""A 10-inch tablet, held across: 217 x 136 mm."""


def have_browser() -> bool:
    """Whether there is a Chromium to look with."""
    return shutil.which(CHROMIUM) is not None


@contextmanager
def browser() -> Iterator[Browser]:
    """Debian's Chromium, headless, fetching nothing of its own."""
    with sync_playwright() as play:
        found = play.chromium.launch(executable_path=CHROMIUM, args=list(OPTIONS))
        try:
            yield found
        finally:
            found.close()


@dataclass
class ScreenKit:
    """One evening, driven by typed words at kitchen times, and its page."""

    meal: str = "fish-supper"
    card: str | None = None
    lan: bool = False
    units: str = "F"
    evening: Evening = field(init=False)
    screen: Screen = field(init=False)
    clock: FakeClock = field(init=False)
    shown: list[str] = field(init=False, default_factory=list)
    posted: Queue[str] = field(init=False, default_factory=Queue)

    def __post_init__(self) -> None:
        path = find_meal(self.meal)
        card = path.read_text(encoding="utf-8") if self.card is None else self.card
        serves = read_text(card, path.name).serves
        self.clock = FakeClock(wall=16.5 * 3600)
        self.screen = Screen(self.shown.append, lan=self.lan)
        self.screen.listening = True
        first = e.EveningBegan(0.0, card, path.name, 16.5 * 3600, None, serves, self.units, "GB")

        def speak(lines: tuple[Line, ...]) -> None:
            """Nothing sounds."""

        self.evening = Evening.begin(Journal(":memory:"), self.clock, first, self.meal, speak, self.screen.watch)
        settings = Settings()
        self._understander = Understander(interpreter_for(self.evening.state.meal, settings), settings)

    def open(self, port: int = 0) -> str:
        """Serve the page: its address."""
        self.screen.open(self.evening.kitchen_time, self.posted.put, port)
        return f"http://127.0.0.1:{self.screen.port}/"

    def at(self, t: float, words: str = "") -> State:
        """Let time pass until t, then say this; every deadline is met on the way."""
        let_time_pass(self.evening, self.clock, t)
        if words:
            self.evening.feed(*self._understander.typed(words, self.evening))
        return self.evening.state

    def play(self, script: tuple[tuple[float, str], ...], until: Callable[[View], bool]) -> None:
        """A script's words one after the other, until what should be shown is so."""
        for t, words in script:
            self.at(t, words)
            self.at(t + 1.5)
            if until(self.view()):
                return
        raise AssertionError("the script ended before that came")

    def view(self) -> View:
        """What the page should show now."""
        return view(self.evening.state, self.evening.kitchen_time(), EarView(self.screen.listening))

    def take_posted(self) -> list[str]:
        """What the page has sent since last asked (waits for something), done as the evening's loop does it."""
        words = [self.posted.get(timeout=10.0)]
        while not self.posted.empty():
            words.append(self.posted.get())
        for w in words:
            self.evening.feed(*self._understander.typed(w, self.evening))
        return words
