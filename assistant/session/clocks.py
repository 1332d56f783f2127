"""Clocks that the cook sets and clears; each is asked about before it goes."""

from __future__ import annotations

from assistant.session import events as e
from assistant.session.commands import Command, Intent
from assistant.session.turn import Turn, spoken
from assistant.speaking import prompts as p


def set_one(turn: Turn, command: Command) -> None:
    """A clock for so long, on something or on nothing; without a time it is asked for how long."""
    if command.seconds is None:
        turn.ask(f"how-long:{command.item or ''}", p.FOR_HOW_LONG, (Intent.ANSWER, Intent.SET_CLOCK), pending=command)
        return
    turn.close("how-long:", "value")
    name = spoken(turn.state, command.item) if command.item else ""
    id = command.item or f"clock-{len(turn.state.clocks) + 1}"
    turn.happen(e.ClockSet(turn.t, id, name, turn.t + command.seconds))
    turn.say(p.clock_set(name, command.seconds))


def cancel(turn: Turn, command: Command) -> None:
    """A clock is not wanted any more: asked once, unless it has run out."""
    running = turn.state.clocks
    id = command.item if command.item in running else None
    if command.item is None and running:
        id = max(running.values(), key=lambda c: c.ends_t).id
    if id is None:
        turn.say(p.NO_CLOCK)
        return
    if f"clock:{id}" in turn.state.alerts:
        clear(turn, id)
        turn.say(p.cancelled(running[id].name or "that"))
        return
    turn.ask(f"cancel:{id}", p.cancel_sure(running[id].name or "that"), (Intent.YES, Intent.NO))


def clear(turn: Turn, id: str) -> None:
    """A clock and its ringing are over."""
    if id in turn.state.clocks:
        turn.happen(e.ClockCancelled(turn.t, id))
    turn.clear(f"clock:{id}")
