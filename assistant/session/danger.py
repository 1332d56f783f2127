"""Running the danger scripts of `kitchen.scripts`: from the word to the first line at once, then line by line without waiting for answers.

Rules: the worse script takes over from the lesser, never the other way round; nothing that physics runs is stopped (clocks of food in heat go on, the
burn's own clock starts by itself); only `false alarm` said twice or confirmed ends a script early; afterwards the evening is on hold until
the cook goes on.
"""

from __future__ import annotations

from assistant.kitchen.scripts import ScriptLine, script
from assistant.session import events as e
from assistant.session.commands import Command, Intent
from assistant.session.state import State
from assistant.session.turn import Turn
from assistant.speaking.line import Priority

WORD_S = 0.4  # time to say one word, s; the voice's own pace measured at 0.33 to 0.4
_SEVERITY = {
    "fire": 3,
    "oven_fire": 3,
    "get_out": 3,
    "get_out_again": 3,
    "get_out_later": 3,
    "fire_out": 3,
    "oven_out": 3,
    "confirm_safe": 3,
    "boil_over": 2,
    "smoke": 2,
    "spill": 2,
    "burn": 1,
    "eye": 1,
}
_NAMES = {
    Intent.FOAMING: "boil_over",
    Intent.BOILING_OVER: "boil_over",
    Intent.SPITTING: "boil_over",
    Intent.SMOKING: "smoke",
    Intent.SPILL: "spill",
    Intent.BURNED: "burn",
}


def pot_in_use(state: State) -> str:
    """The pot that is meant when none is named: the one that is on, else the first."""
    hot = [i for i, pot in state.pots.items() if pot.on]
    return (hot or list(state.pots) or [""])[0]


def danger(turn: Turn, command: Command) -> None:
    """A danger word was heard."""
    if command.intent is Intent.FALSE_ALARM:
        _false_alarm(turn)
        return
    pot = pot_in_use(turn.state)
    if command.intent in (Intent.FOAMING, Intent.BOILING_OVER, Intent.SPITTING):
        turn.happen(e.FoamRose(turn.t, pot, str(command.intent)))
    elif command.intent is Intent.SMOKING:
        turn.happen(e.SmokeSeen(turn.t, pot))
    name = _NAMES.get(command.intent) or ("oven_fire" if command.place == "oven" else "fire")
    running = turn.state.script
    asked_whether_safe = running is not None and running.name == "confirm_safe"  # it is not: whatever is called out now comes first
    if running is not None and not asked_whether_safe and _SEVERITY.get(running.name, 0) >= _SEVERITY[name]:
        if running.name == name:
            begin(turn, name)
        return
    if turn.state.held_t is None:
        turn.happen(e.HoldBegan(turn.t, name))
    begin(turn, name)


def begin(turn: Turn, name: str) -> None:
    """Start a script with its first line."""
    turn.close("script:")
    turn.happen(e.ScriptBegan(turn.t, name))
    clock = script(name, turn.state.region).clock_s
    if clock is not None and "burn" not in turn.state.clocks:
        turn.happen(e.ClockSet(turn.t, "burn", "cool water on the skin", turn.t + clock))
    advance(turn)


def advance(turn: Turn) -> None:
    """Say the line that is due, or end the script after its last."""
    run = turn.state.script
    if run is None:
        return
    lines = script(run.name, turn.state.region).lines
    if run.index >= len(lines):
        turn.happen(e.ScriptEnded(turn.t, "over"))
        return
    line = lines[run.index]
    next_t = turn.t + WORD_S * len(line.words.split()) + line.gap_s
    turn.happen(e.ScriptAdvanced(turn.t, run.index, next_t))
    if line.ask is not None:
        turn.happen(e.Asked(turn.t, f"script:{line.ask}", (str(Intent.YES), str(Intent.NO)), next_t))
    turn.happen(e.Said(turn.t, line.words, int(Priority.DANGER), 0.0))


def answer(turn: Turn, how: str) -> None:
    """The script's open question was answered with yes, no or silence."""
    line = _asking(turn.state)
    turn.close("script:", how)
    if line is None:
        return
    goes = {"yes": line.on_yes, "no": line.on_no, "silence": line.on_silence}[how]
    if goes == "end":
        turn.happen(e.ScriptEnded(turn.t, how))
    elif goes is not None:
        begin(turn, goes)
    else:
        advance(turn)


def _asking(state: State) -> ScriptLine | None:
    if state.script is None or state.script.index == 0:
        return None
    return script(state.script.name, state.region).lines[state.script.index - 1]


def _false_alarm(turn: Turn) -> None:
    run = turn.state.script
    if run is None:
        return
    if run.name == "confirm_safe":
        turn.close("script:")
        begin(turn, "all_clear")
    elif _SEVERITY.get(run.name, 0) <= 1:
        turn.close("script:")
        turn.happen(e.ScriptEnded(turn.t, "false alarm"))
    else:
        turn.happen(e.FalseAlarmSaid(turn.t))
        begin(turn, "confirm_safe")
