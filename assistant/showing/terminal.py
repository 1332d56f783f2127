"""The view in a terminal: one live line of clocks and last words, or the whole of it with big digits, above the conversation that scrolls below.

The top rows are kept out of the terminal's scrolling (DECSTBM) and redrawn in place once a second, so that what the cook types is never disturbed.
Drawing is pure: `live_line` and `screen_rows` make text of a view and the time; `Top` puts it on the terminal.
"""

from __future__ import annotations

import io
import threading
from collections.abc import Callable, Sequence
from typing import TextIO

from rich.console import Console
from rich.text import Text

from assistant.showing.view import Countdown, PotView, View

STYLE = {
    "danger": "bold white on red3",
    "alarm": "bold black on gold1",
    "due": "bold white on dodger_blue3",
    "hold": "bold black on gold1",
    "do": "bold",
    "free": "",
}
SIGN = {"danger": "DANGER ", "alarm": "ACT NOW ", "due": "DUE ", "hold": "HOLD "}
BIG = {
    "0": ("█▀▀█", "█  █", "█▄▄█"),
    "1": (" ▄█ ", "  █ ", " ▄█▄"),
    "2": ("▀▀▀█", "█▀▀▀", "█▄▄▄"),
    "3": ("▀▀▀█", " ▀▀█", "▄▄▄█"),
    "4": ("█  █", "▀▀▀█", "   █"),
    "5": ("█▀▀▀", "▀▀▀█", "▄▄▄█"),
    "6": ("█▀▀▀", "█▀▀█", "█▄▄█"),
    "7": ("▀▀▀█", "  ▄▀", "  █ "),
    "8": ("█▀▀█", "█▀▀█", "█▄▄█"),
    "9": ("█▀▀█", "▀▀▀█", "▄▄▄█"),
    ":": (" ▄ ", "   ", " ▀ "),
    "~": ("    ", "▄▀▄▀", "    "),
    "-": ("    ", "▄▄▄▄", "    "),
}
ROWS = 10
"""Rows the whole screen takes."""


def left(seconds: float) -> str:
    """Time left as on a kitchen clock; overdue with a minus.

    >>> left(192.4), left(-20), left(3725)
    ('3:13', '-0:20', '62:05')
    """
    s = int(-(-seconds // 1)) if seconds > 0 else int(-seconds)
    return f"{'-' if seconds < 0 and s else ''}{s // 60}:{s % 60:02d}"


def ago(seconds: float) -> str:
    """How old a reading is.

    >>> ago(12), ago(140)
    ('10 s ago', '2 min ago')
    """
    if seconds < 5:
        return "just now"
    return f"{round(seconds / 10) * 10} s ago" if seconds < 50 else f"{max(1, round(seconds / 60))} min ago"


def big(figures: str) -> tuple[str, str, str]:
    """Figures three rows high; what has no big form is left out.

    >>> big("12")[0]
    ' ▄█  ▀▀▀█'
    """
    found = [BIG[c] for c in figures if c in BIG]
    a, b, c = (" ".join(x[row] for x in found) for row in range(3))
    return a, b, c


def live_line(view: View, t: float) -> Text:
    """Clocks and the last words, in one line."""
    parts = [f"{c.name} {left(c.ends_t - t)}" for c in view.clocks[:4]]
    parts += [oil_words(pot, t) for pot in view.pots[:1]]
    line = Text("  ".join(parts) or view.title)
    line.append(f"   {SIGN.get(view.level, '')}{view.words}", style=STYLE[view.level])
    return line


def oil_words(pot: PotView, t: float) -> str:
    """The oil in figures and words, with the age of the reading."""
    if not pot.figure:
        return f"oil not read, wants {pot.wants}" if pot.wants else "oil not read"
    words = [f"{'about ' if pot.estimate else ''}{pot.figure}", f"wants {pot.wants}" if pot.wants else "", pot.words]
    age = f" ({ago(t - pot.as_of_t)})" if pot.as_of_t is not None else ""
    return f"oil {', '.join(w for w in words if w)}{age}"


def screen_rows(view: View, t: float) -> list[Text]:
    """The whole view: the sentence, the next countdown and the oil in big figures, other clocks, the talk. ROWS rows or fewer."""
    rows = [Text(f" {SIGN.get(view.level, '')}{view.words} ", style=STYLE[view.level])]
    if view.takeover:
        rows += [Text(words) for words in view.before[-5:]]
        rows.append(_others(view.clocks, t))
        return rows[:ROWS]
    figures: list[tuple[str, tuple[str, str, str], str]] = []
    if view.next is not None:
        figures.append((f"then {view.next.words}", big(left(max(0.0, view.next.at_t - t))), ""))
    for pot in view.pots:
        age = ago(t - pot.as_of_t) if pot.as_of_t is not None else ""
        figures.append((f"oil, wants {pot.wants}", big(("~" if pot.estimate else "") + (pot.figure or "-")), f"{pot.words} {age}".strip()))
    rows.append(_side_by_side([name for name, _, _ in figures]))
    rows += [_side_by_side([digits[row] for _, digits, _ in figures]) for row in range(3)]
    rows.append(_side_by_side([below for _, _, below in figures]))
    rows.append(_others(tuple(c for c in view.clocks if view.next is None or c.id != view.next.clock), t))
    ear = "listening" if view.listening else "typing only"
    rows.append(Text(f"{ear}{f'  heard: {view.heard}' if view.heard else ''}  said: {view.said}", style="dim"))
    return rows[:ROWS]


def _others(clocks: tuple[Countdown, ...], t: float) -> Text:
    return Text("   ".join(f"{c.name} {left(c.ends_t - t)}" for c in clocks))


def _side_by_side(cells: list[str]) -> Text:
    return Text("".join(f"{cell:<36}" for cell in cells).rstrip())


class Top:
    """Keeps rows at the top of a terminal. draw: makes them; out: the terminal; size: (columns, rows) of it now."""

    def __init__(self, rows: int, draw: Callable[[], list[Text]], out: TextIO, size: Callable[[], Sequence[int]]) -> None:
        self._rows = rows
        self._draw = draw
        self._out = out
        self._size = size
        self._set_for = (0, 0)
        self._stop = threading.Event()
        self._lock = threading.Lock()
        self._thread = threading.Thread(target=self._run, name="top of the terminal", daemon=True)

    def start(self) -> None:
        """Make room and begin to draw, once a second."""
        self._out.write("\n" * (self._rows + 1))
        self.refresh()
        self._thread.start()

    def _run(self) -> None:
        while not self._stop.wait(1.0):
            self.refresh()

    def refresh(self) -> None:
        """Draw now. A terminal too low for it is left alone."""
        columns, lines = self._size()
        if lines < self._rows + 4:
            return
        text = "".join(f"\x1b[{i + 1};1H\x1b[2K{row}" for i, row in enumerate(self._rendered(columns)))
        with self._lock:
            region = ""
            if self._set_for != (columns, lines):
                self._set_for = (columns, lines)
                region = f"\x1b[{self._rows + 1};{lines}r\x1b[{lines};1H"
            self._out.write(f"{region}\x1b7{text}\x1b8")
            self._out.flush()

    def _rendered(self, columns: int) -> list[str]:
        rows = self._draw()[: self._rows]
        out = io.StringIO()
        console = Console(file=out, force_terminal=True, width=columns, color_system="256", legacy_windows=False, highlight=False)
        for row in [*rows, *([Text()] * (self._rows - len(rows)))]:
            row.truncate(columns, overflow="ellipsis")
            console.print(row, end="\n", markup=False)
        return out.getvalue().split("\n")[: self._rows]

    def close(self) -> None:
        """Give the whole terminal back to scrolling."""
        self._stop.set()
        if self._thread.is_alive():
            self._thread.join(2.0)
        with self._lock:
            if self._set_for != (0, 0):
                self._out.write("\x1b7\x1b[r\x1b8")
                self._out.flush()
