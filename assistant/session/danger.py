"""Running the danger scripts of `kitchen.scripts`: from the word to the first line at once, then line by line without waiting for answers.

Rules
- The worse script takes over from the lesser, never the other way round; a burn goes before a pot in trouble, because cooling must not wait, and
  only a fire goes before a burn. What was cut short, or told of during a fire, comes when the worse is over.
- The same word shouted again does not begin again what is being said; while a question is open it is the answer that things are no better.
- While a fire or a pot in trouble is dealt with nothing else is said (`agenda`); clocks go on, the burn's own clock starts by itself. What the cook
  tells is noted, in a fire without a word (`Turn.say`); what would go on with the evening is put off.
- Only `false alarm` said twice or confirmed ends such a script early; what it had taken from the evening comes back. Afterwards the evening is on
  hold until the cook goes on, without what a fire took (`lost`).
"""

from __future__ import annotations

from collections.abc import Iterator

from assistant.kitchen.meal import Heat, Step
from assistant.kitchen.scripts import HEAT_OFF, Script, ScriptLine, script, severity, whom_to_call
from assistant.session import events as e
from assistant.session import food, oil_alarm, oven
from assistant.session.commands import Command, Intent
from assistant.session.state import COOLING, State, Status
from assistant.session.turn import Turn, about_pot
from assistant.speaking import prompts as p
from assistant.speaking.line import Priority

WORD_S = 0.4  # time to say one word, s; the voice's own pace measured at 0.33 to 0.4
WHOLE_LINES = 7  # of a fire script are whole advice, from the heat to the call; then it says them again
LATE_S = 15.0  # a no that comes so long after "Any flame?" may be its answer, s: it is asked again
_NAMES = {
    Intent.FOAMING: "boil_over",
    Intent.BOILING_OVER: "boil_over",
    Intent.SPITTING: "boil_over",
    Intent.SMOKING: "smoke",
    Intent.SPILL: "spill",
    Intent.BURNED: "burn",
}
_CLOCK_NAMES = {"burn": "cool water", "eye": "rinsing"}
_WHERE_ARE_WE = frozenset(
    {
        *(
            Intent.WHATS_NEXT,
            Intent.WHICH_STEP,
            Intent.WHATS_RUNNING,
            Intent.WHAT_FORGOTTEN,
            Intent.HELP,
            Intent.REPEAT,
            Intent.HOW_DOING,
            Intent.WHAT_IF,
        )
    }
)

_NOTED_MEANWHILE = frozenset(
    {
        *(Intent.YES, Intent.NO, Intent.ANSWER, Intent.CARRY_ON, Intent.UNDO, Intent.HOLD, Intent.QUIET, Intent.LOUDER, Intent.SOFTER, Intent.SLOWER),
        *(Intent.BURNER, Intent.OVEN, Intent.FOAM_SETTLED, Intent.OIL_TEMP, Intent.CORE, Intent.LIFT, Intent.PLACE, Intent.NOTE),
        *(Intent.HELPER_HERE, Intent.HELPER_LEFT),
    }
)


def hot_pot(state: State) -> str:
    """The pot that is on, else the first."""
    hot = [i for i, pot in state.pots.items() if pot.on]
    return (hot or list(state.pots) or [""])[0]


def pot_in_use(state: State) -> str:
    """The pot that is meant when none is named: of several the one that was asked about last, or is to be lit since; else the one that is on."""
    asked = [(q.asked_t, pot) for q in state.questions if (pot := about_pot(q.id)) in state.pots]
    unlit = [(t, i) for i, pot in state.pots.items() if not pot.on and pot.drops == 0 and (t := state.told.get(f"check:{i}")) is not None]
    return max([*asked, *unlit])[1] if len(state.pots) > 1 and (asked or unlit) else hot_pot(state)


def how_bad(state: State) -> int:
    """The severity of the script under way, 0 without one."""
    return 0 if state.script is None else severity(state.script.name)


def danger(turn: Turn, command: Command) -> None:
    """A danger word was heard."""
    if command.intent is Intent.FALSE_ALARM:
        _false_alarm(turn)
        return
    pot = hot_pot(turn.state)
    if command.intent in (Intent.FOAMING, Intent.BOILING_OVER, Intent.SPITTING):
        turn.happen(e.FoamRose(turn.t, pot, str(command.intent)))
    elif command.intent is Intent.SMOKING:
        turn.happen(e.SmokeSeen(turn.t, pot))
    name = _NAMES.get(command.intent) or _which_fire(turn.state, command.place)
    running = turn.state.script
    if (
        running is None or running.name == "confirm_safe" or severity(running.name) == 0
    ):  # what is called out while asked whether all is safe comes first
        _take_over(turn, name)
    elif severity(name) == 3:
        _fire_again(turn, name, running.name)
    elif severity(running.name) == 3:
        if name == "burn" and name not in turn.state.scripts_waiting:
            turn.happen(e.ScriptWaits(turn.t, name))
            turn.say(p.OUT_FIRST, Priority.DANGER)
    elif name != running.name or _asking(turn.state) is not None:
        _take_over(turn, name)


def _which_fire(state: State, place: str | None) -> str:
    """A fire that nobody places is the one that is burning already."""
    if place == "oven" or (place is None and how_bad(state) == 3 and state.hazard == "oven_fire"):
        return "oven_fire"
    return "fire"


def _take_over(turn: Turn, name: str) -> None:
    """Begin a script; a burn's that is cut short, or that cuts one short, leaves the other waiting."""
    if turn.state.held_t is None:
        turn.happen(e.HoldBegan(turn.t, name))
    cut = turn.state.script
    if cut is not None and cut.name != name and 1 in (severity(cut.name), severity(name)) and severity(cut.name) > 0:
        turn.happen(e.ScriptWaits(turn.t, cut.name))
    begin(turn, name)


def _fire_again(turn: Turn, name: str, running: str) -> None:
    """A fire is called out while a script runs."""
    run = turn.state.script
    if severity(running) < 3:
        _take_over(turn, name)
    elif name != running and running in ("fire", "oven_fire"):
        begin(turn, name)  # it is said where: the other script
    elif _asking(turn.state) is not None or running in ("fire_out", "oven_out"):
        begin(turn, "get_out")  # it was to be out, and is not
    elif run is not None and run.unanswered and name == running:
        begin(turn, name, run.index)  # feared until now, and seen: no late answer ends it any more


def begin(turn: Turn, name: str, line: int = 0, unanswered: str = "") -> None:
    """Start a script with its first line, or go on with one. unanswered: the script whose question nobody answered."""
    turn.close("script:")
    for q in turn.state.questions:  # whatever is answered from now on was not meant for what was asked at the stove
        if severity(name) > 0 and str(Intent.YES) in q.accepts and not q.id.startswith(("made:", "thawed:")):
            turn.happen(e.Answered(turn.t, q.id, "dropped"))
    bad = severity(name)
    same = line > 0 or how_bad(turn.state) >= 2
    pot = "" if name == "oven_fire" or bad < 2 else (turn.state.hazard_pot if same else "") or hot_pot(turn.state)
    turn.happen(e.ScriptBegan(turn.t, name, pot, line, unanswered))
    clock = _script_of(turn.state, name).clock_s
    if clock is not None:  # a new burn has its own twenty minutes
        turn.happen(e.ClockSet(turn.t, COOLING, _CLOCK_NAMES[name], turn.t + clock))
    if name == "all_clear":
        _nothing_was(turn)
    elif name in ("after_fire", "after_oven"):
        _lose(turn)
    advance(turn)


def advance(turn: Turn) -> None:
    """Say the line that is due, or end the script after its last."""
    run = turn.state.script
    if run is None:
        return
    lines = _script_of(turn.state, run.name).lines
    if run.index >= len(lines):
        _over(turn, "over")
        return
    line = lines[run.index]
    next_t = turn.t + WORD_S * len(line.words.split()) + line.gap_s
    turn.happen(e.ScriptAdvanced(turn.t, run.index, next_t))
    if line.ask is not None:
        turn.happen(e.Asked(turn.t, f"script:{line.ask}", (str(Intent.YES), str(Intent.NO)), next_t))
    turn.say(line.words, Priority.DANGER)


def _over(turn: Turn, how: str) -> None:
    """The script under way is over; what waited for that goes on: a pot in trouble with its question, a burn from its first line."""
    turn.happen(e.ScriptEnded(turn.t, how))
    if turn.state.scripts_waiting:
        name = turn.state.scripts_waiting[0]
        begin(turn, name, len(_script_of(turn.state, name).lines) - 1 if severity(name) == 2 else 0)


def comes_after(turn: Turn, name: str) -> None:
    """Begin a script as soon as none is under way."""
    if turn.state.script is None:
        begin(turn, name)
    else:
        turn.happen(e.ScriptWaits(turn.t, name))


def answer(turn: Turn, how: str) -> None:
    """The script's open question was answered with yes, no or silence."""
    line = _asking(turn.state)
    turn.close("script:", how)
    if line is None:
        return
    if line.ask == HEAT_OFF and how == "yes":
        heat_is_off(turn, turn.state.hazard_pot)
    goes = {"yes": line.on_yes, "no": line.on_no, "silence": line.on_silence}[how]
    if goes == "end":
        _over(turn, how)
    elif goes is not None:
        before = turn.state.script.name if turn.state.script is not None and how == "silence" else ""
        begin(turn, _for_what_burns(turn.state, goes), unanswered=before)
    else:
        advance(turn)


def heat_is_off(turn: Turn, pot: str) -> None:
    """The burner was turned off: what warned of its heat is over."""
    if pot in turn.state.pots:
        turn.happen(e.BurnerSet(turn.t, pot, "off"))
        turn.clear(f"full:{pot}")
        oil_alarm.heat_off(turn, pot)


def meant(turn: Turn, command: Command) -> bool:
    """Whether something said in danger is dealt with: an answer that came early or late ("it's out"), a question where to go on, which is answered
    with the line of the script that was said last, or what must wait."""
    run = turn.state.script
    if run is None or severity(run.name) == 0:
        return False
    if command.hazard == "call":
        turn.say(whom_to_call(turn.state.region), Priority.DANGER)
        return True
    if command.intent in _WHERE_ARE_WE:
        turn.say(_script_of(turn.state, run.name).lines[max(0, run.index - 1)].words, Priority.DANGER)
        return True
    if command.intent is Intent.TURN_BURNER and command.level in ("off", "down") and not run.name.startswith("get_out"):
        # told to us or called to a helper: never "not yet"; but nobody is sent back in
        turn.say(p.OVEN_OFF_FIRST if oven.meant(turn, command) else p.BURNER_OFF_FIRST, Priority.DANGER)
        return True
    if severity(run.name) >= 2 and command.intent not in _NOTED_MEANWHILE and not _is_about_flames(command):
        turn.say(p.DANGER_FIRST, Priority.DANGER)
        return True
    if severity(run.name) == 3 and command.intent is Intent.NO and command.sign == "flame":
        _nothing_burns(turn)
        return True
    if severity(run.name) < 3 or _asking(turn.state) is not None:
        return False
    last = command.words.split()[-1:]
    late = run.name.startswith("get_out") and command.intent is Intent.YES
    if late or (command.intent in (Intent.YES, Intent.LIFT) and command.item is None and last == ["out"]):
        begin(turn, _for_what_burns(turn.state, "fire_out"))
        return True
    if command.intent is Intent.NO and severity(run.unanswered) == 2 and turn.t - run.began_t <= LATE_S:
        begin(turn, run.unanswered, len(_script_of(turn.state, run.unanswered).lines) - 1)  # "Any flame?" once more
        return True
    if _is_about_flames(command):
        if run.index >= WHOLE_LINES:  # before, what to do about it has not been said yet
            begin(turn, "get_out")
        return True
    return False


def _nothing_burns(turn: Turn) -> None:
    """ "No flames", in a fire: the answer that a pot in trouble was asked for and gave none; else that it is out."""
    run = turn.state.script
    assert run is not None
    lines = _script_of(turn.state, run.unanswered).lines if severity(run.unanswered) == 2 else ()
    if lines and (after := lines[-1].on_no) is not None:
        turn.happen(e.ScriptBegan(turn.t, run.unanswered, turn.state.hazard_pot, len(lines) - 1, ""))  # it was that, and no fire
        begin(turn, after)
    elif _asking(turn.state) is not None:
        answer(turn, "yes")
    else:
        begin(turn, _for_what_burns(turn.state, "fire_out"))


def _is_about_flames(command: Command) -> bool:
    """ "It's not out", "it's burning"."""
    return command.intent in (Intent.NO, Intent.QUALITY) and command.words.split()[-1:] in (["out"], ["burning"])


def stop(turn: Turn) -> bool:
    """The cook goes on: whether the script under way may end for that. A fire or a pot in trouble is not ended so."""
    if how_bad(turn.state) >= 2:
        return False
    if turn.state.script is not None:
        turn.close("script:")
        _over(turn, "carried on")
    return turn.state.script is None


def _for_what_burns(state: State, name: str) -> str:
    """The script of this kind for what is burning; whoever is not sure that all is safe goes back to what it was about."""
    if state.script is not None and state.script.name == "confirm_safe" and name == "fire":
        return state.hazard or name
    return "oven_out" if name == "fire_out" and state.hazard == "oven_fire" else name


def _script_of(state: State, name: str) -> Script:
    coil = state.hazard_pot in state.pots and state.pot_now(state.hazard_pot).heat is Heat.COIL
    return script(name, state.region, coil=coil)


def _asking(state: State) -> ScriptLine | None:
    """The line of the script whose question is open; None when none is."""
    if state.script is None or state.script.index == 0 or not any(q.id.startswith("script:") for q in state.questions):
        return None
    return _script_of(state, state.script.name).lines[state.script.index - 1]


def _false_alarm(turn: Turn) -> None:
    run = turn.state.script
    if run is not None and run.name == "confirm_safe":
        begin(turn, "all_clear")
    elif how_bad(turn.state) >= 2:
        turn.happen(e.FalseAlarmSaid(turn.t))
        begin(turn, "confirm_safe")
    elif run is not None or COOLING in turn.state.clocks:
        turn.close("script:")
        if run is not None:
            _over(turn, "false alarm")
        if turn.state.script is None and turn.state.held_why in _CLOCK_NAMES:
            turn.happen(e.HoldEnded(turn.t))
        if COOLING in turn.state.clocks:
            turn.ask(f"cancel:{COOLING}", p.STOP_COOLING, (Intent.YES, Intent.NO))
    elif turn.state.thermometer and (hot := oil_alarm.sounding(turn.state)) is not None:  # a reading ends that alarm
        turn.ask(f"oil:{hot}", p.ask_oil(), (Intent.ANSWER, Intent.OIL_TEMP), wait_s=60.0)


def _nothing_was(turn: Turn) -> None:
    """A false alarm: the pot is as it was."""
    if turn.state.hazard_pot in turn.state.pots:
        turn.happen(e.FoamSettled(turn.t, turn.state.hazard_pot))
    turn.happen(e.HazardCleared(turn.t))


def burned_here(state: State, step: Step) -> bool:
    """Whether a step's food is in what burned, or goes there."""
    if state.hazard == "oven_fire":
        return step.bake is not None
    return state.hazard == "fire" and step.fry is not None and step.fry.pot == state.hazard_pot


def lost(state: State) -> Iterator[Step]:
    """What a fire takes from the evening: every step that is left of the dishes that still need what burned."""
    left = (Status.TODO, Status.RUNNING)
    dishes = {s.dish for s in state.meal.steps() if burned_here(state, s) and state.steps[s.id].status in left}
    yield from (s for s in state.meal.steps() if s.dish in dishes and state.steps[s.id].status in left)


def _lose(turn: Turn) -> None:
    """The fire is out. What burned stays off, its dishes are left out and their open food is not eaten, its oil has ended; heat off was said, and
    twice that it is out."""
    steps = list(lost(turn.state))
    pot = turn.state.hazard_pot
    for item in list(food.reached(turn.state, turn.state.hazard == "oven_fire", {s.dish for s in steps})):
        turn.happen(e.FoodReached(turn.t, item))
    for id in [a for a in turn.state.alerts if set(a.split(":")) & {pot, *(s.id for s in steps)}]:
        turn.clear(id)
    for step in steps:
        for q in [q.id for q in turn.state.questions if step.id in q.id.split(":")]:
            turn.happen(e.Answered(turn.t, q, "dropped"))
        turn.happen(e.StepSkipped(turn.t, step.id))
    if pot in turn.state.pots:
        turn.happen(e.FoamSettled(turn.t, pot))
        turn.happen(e.SignsSeen(turn.t, pot))
        turn.told(f"signs:{pot}")
        heat_is_off(turn, pot)


def off_tonight(turn: Turn) -> None:
    """Going on after a fire: which dishes are left out, said once."""
    state = turn.state
    gone = [s.dish for s in state.meal.steps() if burned_here(state, s) and state.steps[s.id].status is Status.SKIPPED]
    if gone and not turn.told("off"):
        turn.say(p.off_tonight([state.meal.dish(d).said[0] for d in dict.fromkeys(gone)]))
