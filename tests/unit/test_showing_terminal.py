"""The view in a terminal: what the live line and the big rows say, and that the rest of the terminal is left to scroll."""

from __future__ import annotations

import io

import pytest
from kitchen_kit import Kit
from rich.text import Text

from assistant.showing.terminal import BIG, ROWS, Top, big, left, live_line, screen_rows
from assistant.showing.view import EarView, view


def test_big_figures_are_all_there_and_even() -> None:
    """Every figure that a clock or a temperature can need has three rows of one width."""
    assert set("0123456789:~-") <= set(BIG)
    assert all(len({len(row) for row in rows}) == 1 and len(rows) == 3 for rows in BIG.values())
    assert len(set(BIG.values())) == len(BIG), "no two figures look alike"
    assert len(big("12:30")) == 3


@pytest.mark.parametrize(("seconds", "shown"), [(59.2, "1:00"), (0.0, "0:00"), (-0.4, "0:00"), (-75.0, "-1:15"), (5999.0, "99:59")])
def test_time_left_rounds_up_and_shows_what_is_late(seconds: float, shown: str) -> None:
    """A clock never says less than there is; overdue counts on with a minus."""
    assert left(seconds) == shown


def test_the_live_line_has_clocks_oil_and_the_sentence() -> None:
    """One line: the clock of the dish, the oil against what is wanted, what to do now."""
    kit = Kit()
    t = kit.reach_first_fry()
    kit.say(t, "chips down")
    line = live_line(view(kit.state, t + 1, EarView()), t + 1).plain
    assert "chips 5:59" in line
    assert "wants 300" in line
    assert view(kit.state, t + 1, EarView()).words in line


def test_the_whole_screen_keeps_to_its_rows() -> None:
    """The big screen never takes more rows than it was given, alarms included, and leads with the sentence."""
    kit = Kit()
    t = kit.reach_first_fry()
    kit.say(t, "chips down")
    for words in ("what's next", "it's foaming up"):
        kit.say(t + 1, words)
        seen = view(kit.state, t + 1, EarView(True, words))
        rows = screen_rows(seen, t + 1)
        assert len(rows) <= ROWS
        assert seen.words in rows[0].plain
    assert rows[0].plain.startswith(" DANGER")


def test_what_the_cook_types_is_not_disturbed() -> None:
    """Drawing saves the cursor, writes only the top rows, puts the cursor back; at the end the whole terminal scrolls again."""
    out = io.StringIO()
    top = Top(2, lambda: [Text("chips 3:10"), Text("<script>" * 40)], out, lambda: (60, 24))
    top.refresh()
    first = out.getvalue()
    assert "\x1b[3;24r" in first, "rows below the top scroll"
    drawn = first[first.index("\x1b7") :]
    assert drawn.endswith("\x1b8")
    assert drawn.count("\x1b7") == 1
    assert "chips 3:10" in drawn
    assert "\n" not in drawn
    assert "…" in drawn
    top.refresh()
    assert out.getvalue().count("\x1b[3;24r") == 1, "room is made once for a size"
    top.close()
    assert out.getvalue().endswith("\x1b[r\x1b8")


def test_a_terminal_too_low_is_left_alone() -> None:
    """Where there is no room for the rows, nothing is drawn at all."""
    out = io.StringIO()
    top = Top(ROWS, lambda: [Text("x")], out, lambda: (80, ROWS + 3))
    top.refresh()
    top.close()
    assert out.getvalue() == ""
