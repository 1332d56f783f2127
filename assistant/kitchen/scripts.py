"""Danger scripts as data: what is said, in which order, how long to wait for an answer. First version of the rules in `hazards`.

A script is a list of short lines (at most 8 words). A line with `ask` waits `gap_s` for yes or no; without an answer it goes on as if the answer
were the worse one. The session runs scripts; nothing here keeps time.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class ScriptLine:
    """words: at most 8; gap_s: silence after the words before the next line; ask: id of the question it asks (None: none);
    on_yes, on_no, on_silence: name of the script to go to (None: go on with the next line; "end": the script is over)."""

    words: str
    gap_s: float = 1.5
    ask: str | None = None
    on_yes: str | None = None
    on_no: str | None = None
    on_silence: str | None = None


@dataclass(frozen=True, slots=True)
class Script:
    """name: `fire`, `oven_fire`, `boil_over`, `smoke`, `spill`, `burn`, ...; source: where the wording comes from."""

    name: str
    lines: tuple[ScriptLine, ...]
    source: str
