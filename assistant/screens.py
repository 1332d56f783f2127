"""What is shown of an evening beside its words: the page, the top of the terminal. Built here, fed by `watch`, never in the way of the voice."""

from __future__ import annotations

import shutil
import sys
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from assistant.session import events as e
from assistant.session.state import State

if TYPE_CHECKING:
    from rich.text import Text

    from assistant.showing.server import Screen
    from assistant.showing.terminal import Top

PAGES = ("page", "lan")


class Screens:
    """where: `page` (this machine only), `lan`, `terminal`, or None for the live line alone; show: prints a line."""

    def __init__(self, where: str | None, port: int, show: Callable[[str], None]) -> None:
        self._port = port
        self._show = show
        self._state: State | None = None
        self._heard = ""
        self._kitchen_time: Callable[[], float] = lambda: 0.0
        self._listening: Callable[[], bool] = lambda: False
        self._page: Screen | None = None
        self._top: Top | None = None
        if where in PAGES:
            from assistant.showing.server import Screen

            self._page = Screen(show, lan=where == "lan")
        if where == "terminal" and not sys.stdout.isatty():
            show("No screen: this is not a terminal. Going on by voice.")
        if sys.stdout.isatty():
            from assistant.showing.terminal import ROWS, Top

            whole = where == "terminal"
            self._top = Top(ROWS if whole else 1, self._rows if whole else self._line, sys.stdout, shutil.get_terminal_size)

    def watch(self, events: Sequence[e.Event], state: State) -> None:
        """Called after every turn of the evening."""
        self._state = state
        if self._top is not None:
            from assistant.showing.view import heard_in

            self._heard = heard_in(events, self._heard)
        if self._page is not None:
            self._page.watch(events, state)

    def open(self, kitchen_time: Callable[[], float], listening: Callable[[], bool], say: Callable[[str], None]) -> None:
        """Begin to show; say: takes words from the page. A page that cannot be served is one sentence, and the evening goes on."""
        self._kitchen_time, self._listening = kitchen_time, listening
        if self._page is not None:
            from assistant.showing.server import ScreenError

            self._page.listening = listening()
            try:
                self._page.open(kitchen_time, say, self._port)
            except ScreenError as error:
                self._show(str(error))
        if self._top is not None:
            self._top.start()

    def _rows(self) -> list[Text]:
        from assistant.showing.terminal import screen_rows
        from assistant.showing.view import EarView, view

        t = self._kitchen_time()
        return [] if self._state is None else screen_rows(view(self._state, t, EarView(self._listening(), self._heard)), t)

    def _line(self) -> list[Text]:
        from assistant.showing.terminal import live_line
        from assistant.showing.view import EarView, view

        t = self._kitchen_time()
        return [] if self._state is None else [live_line(view(self._state, t, EarView(self._listening(), self._heard)), t)]

    def close(self) -> None:
        """Stop showing."""
        if self._top is not None:
            self._top.close()
        if self._page is not None:
            self._page.close()
