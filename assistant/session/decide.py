"""A command and the time in, events out. The heart of the program; pure.

`decide` handles one command, lets time pass up to now, and returns every event in order, words included. Rules: a batch's clock starts when the
last piece is in; what the cook says about the world is believed, except numbers that make no sense, which are questioned once; a step left out or a
clock cleared is asked once; yes and no answer only the question spoken last; the last command can be taken back for ten seconds; a
hold stops nothing that physics runs.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from assistant.kitchen.card_names import kept_word
from assistant.kitchen.doneness import without_thermometer
from assistant.session import (
    agenda,
    ahead,
    asking,
    clocks,
    closing,
    danger,
    frying,
    guests,
    helping,
    leaving,
    oil_care,
    oil_probe,
    oil_told,
    oven,
    plan,
    telling,
    thaw,
)
from assistant.session import events as e
from assistant.session.commands import DANGER, Command, Intent, Reject
from assistant.session.said_back import ask_whether
from assistant.session.state import BY_HAND, COOLING, Question, State, Status
from assistant.session.turn import UNDO_S, Turn, as_pairs, from_pairs, present, spoken
from assistant.speaking import prompts as p
from assistant.speaking.line import Priority

QUIET_S = 600.0


def decide(state: State, command: Command | Reject | None, t: float) -> tuple[e.Event, ...]:
    """What happens when this is said (None: nothing, only time passes) at kitchen time t."""
    turn = Turn(state, t)
    facts = len(state.facts)
    if isinstance(command, Reject):
        _refuse(turn, command)
    elif command is not None:
        undoable = command.intent not in NOT_UNDOABLE and command.intent not in DANGER and state.script is None
        turn.happen(e.Heard(turn.t, command.words, as_pairs(command), undoable=undoable))
        act(turn, command)
    spoken_before = _lines(turn)
    agenda.pass_time(turn)
    if command is None or not isinstance(command, Reject):
        plan.follow(turn, facts)
        agenda.pass_time(turn)
    follows = isinstance(command, Command) and turn.state.held_t is None and _lines(turn) == spoken_before
    if follows and isinstance(command, Command) and command.intent in _AND_THEN[spoken_before > 0]:
        asking.whats_next(turn, command)
    return tuple(turn.events)


# commands after which a cook who hears nothing more wants to know what comes: (when nothing was said to them, whatever was said)
_AND_THEN = (frozenset({Intent.DONE, Intent.LIFT, Intent.CARRY_ON}), frozenset({Intent.CARRY_ON}))


def _lines(turn: Turn) -> int:
    return sum(isinstance(event, e.Said) for event in turn.events)


def probed(state: State, celsius: float, t: float) -> tuple[e.Event, ...]:
    """What happens when a thermometer that another program reads says this at kitchen time t."""
    turn = Turn(state, t)
    oil_probe.read(turn, celsius)
    agenda.pass_time(turn)
    return tuple(turn.events)


def start(state: State, t: float) -> tuple[e.Event, ...]:
    """The first words of an evening."""
    turn = Turn(state, t)
    turn.say(p.AID_ONLY, pause_s=0.5)
    turn.say(p.LOCAL_ADVICE, pause_s=0.5)
    turn.ask("time", p.good_evening(state.day_at(turn.t)), (Intent.YES, Intent.NO, Intent.ANSWER), wait_s=60.0)
    turn.say(p.plan_in_brief(state.day_at(state.serve_t), state.days_until(state.serve_t)))
    for found in without_thermometer(state.meal, state.instead):
        turn.say_list(found.say)
    agenda.pass_time(turn)
    return tuple(turn.events)


def resume(state: State, t: float) -> tuple[e.Event, ...]:
    """The first words after the program was away: what ran out meanwhile, the most urgent first."""
    turn = Turn(state, t)
    away = max(0.0, turn.t - state.t)
    turn.happen(e.Resumed(turn.t, away))
    turn.say(p.welcome_back(away))
    agenda.pass_time(turn)
    return tuple(turn.events)


def act(turn: Turn, command: Command) -> None:
    """Do what one command asks."""
    if command.intent in DANGER:
        danger.danger(turn, command)
        return
    if danger.meant(turn, command):
        return
    if command.intent in OF_OIL and not turn.state.pots:
        turn.say(p.NOT_NOW)
        return
    HANDLERS[command.intent](turn, command)


def _refuse(turn: Turn, reject: Reject) -> None:
    turn.happen(e.Heard(turn.t, reject.words, (), reject.reason))
    if reject.reason in ("not_addressed", "speaking"):
        return
    if reject.reason == "unknown_item" and reject.guess is None:
        turn.say(p.unknown_item(reject.item) if reject.item and kept_word(reject.item) is None else p.SAY_AGAIN)
    if reject.guess is not None:
        ask_whether(turn, reject.guess)
    elif reject.reason == "value":
        turn.say(p.odd_value(reject.words, reject.slot, turn.state.units))
    elif reject.reason != "unknown_item":
        turn.say(p.SAY_AGAIN)


# --- steering


def _yes(turn: Turn, command: Command) -> None:
    _answer_last(turn, command, "yes")


def _no(turn: Turn, command: Command) -> None:
    _answer_last(turn, command, "no")


def _switched(turn: Turn, command: Command) -> None:
    """ "It's off": the answer to what was asked last of burner or oven. Other than what was to be done it is noted all the same."""
    asked = next((q for q in reversed(turn.state.questions) if str(Intent.SWITCHED) in q.accepts), None)
    if danger.how_bad(turn.state) > 0:
        return
    if asked is None:
        turn.say(p.SAY_AGAIN)
    elif asked.id.startswith(closing.ASK):
        _answer(turn, asked, command, "yes" if command.level == "off" else "no")
    else:
        turn.close(asked.id, "value")
        of_oven = asked.id == oven.TURNED
        done = Command(Intent.OVEN if of_oven else Intent.BURNER, level=command.level, words=command.words)
        act(turn, done if of_oven else replace(done, item=asked.id.partition(":")[2] or None))


_ANSWERS_ONLY = {"foam": ("foam:",), "flame": ("script:any_flame", "armed:")}
"""A yes or no about one of these answers only a question whose id begins so."""


def _answer_last(turn: Turn, command: Command, how: str) -> None:
    in_danger = danger.how_bad(turn.state) > 0  # then yes and no belong to the script alone
    questions = [q for q in turn.state.questions if str(Intent.YES) in q.accepts and (not in_danger or q.id.startswith("script:"))]
    only = _ANSWERS_ONLY.get(command.sign or "")
    questions = [q for q in questions if only is None or q.id.startswith(only)]
    if not questions and (in_danger or only is not None):
        return
    if not questions:
        for alert in list(turn.state.alerts):
            if alert.startswith("clock:"):
                clocks.clear(turn, alert.removeprefix("clock:"))
        return
    _answer(turn, questions[-1], command, how)


def _answer(turn: Turn, q: Question, command: Command, how: str) -> None:
    """One question is answered with yes or no."""
    kind, _, rest = q.id.partition(":")
    if kind == "script":
        danger.answer(turn, how)
        return
    if kind == "foam" and command.sign in ("out", "later"):  # of the test batch, and nothing of its foam
        step = rest.rpartition(":")[0]
        if command.sign == "out" and turn.state.steps[step].current is not None:
            frying.lift(turn, Command(Intent.LIFT, item=step, words=command.words))
        return
    turn.happen(e.Answered(turn.t, q.id, how))
    if kind == "relight" and how == "yes":
        turn.told(q.id)
    if q.pending and how == "yes":
        act(turn, from_pairs(q.pending))
    elif kind == "time" and how == "no":
        turn.ask("time", p.ASK_TIME, (Intent.ANSWER, Intent.SERVE_AT), wait_s=60.0)
    elif kind == "flame" and how == "yes":
        pot_id, _, level = rest.rpartition(":")
        oil_told.burner(turn, Command(Intent.BURNER, level=level, words=command.words), pot_id)
    elif kind == "unsure" and how == "no":
        turn.ask(f"oil:{rest}", p.ask_oil(), (Intent.ANSWER, Intent.OIL_TEMP), wait_s=60.0)
    elif kind == "armed" and how == "yes":
        danger.danger(turn, Command(Intent.FIRE, place="pan", words=command.words))
    elif kind == "off":
        closing.answered(turn, rest, how)
    elif kind == "signs":
        oil_care.ask_which(turn, rest) if how == "yes" else oil_care.signs_answered(turn, rest, None)
    elif kind == "probe" and how == "yes":
        turn.happen(e.Told(turn.t, f"probe-in:{rest}"))
    elif kind == "bread":
        oil_told.bread_answered(turn, rest, command)
    elif kind == "full" and how == "yes":
        oil_care.taken_out(turn, rest)
    elif kind == "thermometer" and how == "no":
        oil_told.no_thermometer(turn, command)
    elif kind == "everyone" and how == "no":
        guests.ask_how_many(turn)
    elif kind == "guests":
        guests.here(turn) if how == "yes" else guests.not_yet(turn)
    elif kind == "thawed":
        thaw.answer(turn, rest, good=how == "yes")
    elif kind == "made":
        ahead.answer(turn, rest, good=how == "yes")
    elif kind == "look":
        step_id, _, n = rest.rpartition(":")
        frying.looked(turn, step_id, int(n), ok=how == "yes")
    elif kind == "foam":
        frying.test_foam(turn, rest.rpartition(":")[0], low=how == "yes")
    elif kind == "skip" and how == "yes":
        leaving.step_goes(turn, rest)
    elif kind == "leave" and how == "yes":
        leaving.dish_goes(turn, rest)
    elif kind == "rest" and how == "yes":
        leaving.rest_goes(turn, rest)
    elif kind == "cancel" and how == "yes":
        clock = turn.state.clocks.get(rest)
        clocks.clear(turn, rest)
        turn.say(p.cancelled(clock.name if clock is not None and clock.name else "that"))
    elif kind == "passed" and how == "yes":
        telling.move_serving(turn, float(rest) - turn.state.serve_t, "the cook asked")
        turn.say(p.serve_tomorrow(turn.state.day_at(float(rest))))
    elif how == "no" and kind in ("skip", "leave", "rest", "cancel", "guess", "passed"):
        turn.say(p.KEPT)


def _undo(turn: Turn, command: Command) -> None:
    state = turn.state
    if state.before is None or turn.t - state.before_t > UNDO_S:
        turn.say(p.TOO_LATE_TO_UNDO)
        return
    turn.happen(e.Undone(turn.t))
    turn.say(p.UNDONE)


def _go_back(turn: Turn, command: Command) -> None:
    state = turn.state
    finished = [
        (done, s)
        for s in state.meal.steps()
        if s.kind in BY_HAND and state.steps[s.id].status in (Status.DONE, Status.SKIPPED) and (done := state.steps[s.id].done_t) is not None
    ]
    if not finished:
        turn.say(p.NOT_NOW)
        return
    step = max(finished, key=lambda x: x[0])[1]
    if state.focus and state.steps[state.focus].status is Status.RUNNING:
        turn.happen(e.StepReopened(turn.t, state.focus))
    turn.happen(e.StepReopened(turn.t, step.id))
    turn.say(p.back_to(step.said[0]))
    present(turn, step)


def _hold(turn: Turn, command: Command) -> None:
    state = turn.state
    if any(pot.on for pot in state.pots.values()):
        turn.say(p.BURNER_OFF_FIRST, Priority.ALARM)
    inside = [spoken(state, s.dish) for s, _ in state.in_heat()]
    if inside:
        turn.say(p.still_in(inside), Priority.ALARM)
    if state.held_t is None:
        turn.happen(e.HoldBegan(turn.t, "asked"))
    turn.say(p.HELD)


def _carry_on(turn: Turn, command: Command) -> None:
    state = turn.state
    if state.held_t is None:
        turn.say(p.NOT_HELD)
        return
    if not danger.stop(turn):
        if danger.how_bad(turn.state) >= 2:
            turn.say(p.DANGER_FIRST, Priority.DANGER)
        return
    if any(pot.foaming for pot in state.pots.values()):
        turn.say(p.FOAM_FIRST)
        return
    turn.happen(e.HoldEnded(turn.t))
    turn.say(p.CARRYING_ON)
    danger.off_tonight(turn)
    cooling = turn.state.clocks.get(COOLING)
    if cooling is not None:
        turn.say(p.time_left(cooling.name, cooling.ends_t - turn.t))


def _quiet(turn: Turn, command: Command) -> None:
    turn.happen(e.Quieted(turn.t, turn.t + QUIET_S))
    turn.say(p.QUIETLY)


def _voice(turn: Turn, command: Command) -> None:
    turn.happen(e.VoiceChanged(turn.t, str(command.intent)))
    turn.say(p.VOICE[str(command.intent)])


HANDLERS: dict[Intent, Callable[[Turn, Command], None]] = {
    Intent.WHATS_NEXT: asking.whats_next,
    Intent.REPEAT: asking.repeat,
    Intent.WHICH_STEP: asking.which_step,
    Intent.HOW_LONG: asking.how_long,
    Intent.WHEN_DROP: asking.when_drop,
    Intent.WHATS_RUNNING: asking.whats_running,
    Intent.WHAT_FORGOTTEN: asking.what_forgotten,
    Intent.OIL_READY: asking.oil_ready,
    Intent.OVEN_READY: oven.how_is_it,
    Intent.BATCHES_LEFT: asking.batches,
    Intent.HOW_MANY: asking.how_many,
    Intent.WHEN_EAT: asking.when_eat,
    Intent.KEEPS: asking.keeps,
    Intent.WHAT_TIME: asking.what_time,
    Intent.HOW_DOING: asking.how_doing,
    Intent.CAN_SIT: asking.can_sit,
    Intent.WHO_CAN_EAT: asking.who_can_eat,
    Intent.WHAT_TEMP: asking.what_temp,
    Intent.WHAT_IF: asking.what_if,
    Intent.HELP: asking.help_me,
    Intent.WHAT_TO_SAY: asking.what_to_say,
    Intent.BEGIN: telling.begin,
    Intent.DONE: telling.done,
    Intent.EVERYONE_HERE: telling.everyone,
    Intent.LATE_GUESTS: telling.late_guests,
    Intent.DROPPING: frying.dropping,
    Intent.DROP: frying.drop,
    Intent.LIFT: frying.lift,
    Intent.MORE_TIME: frying.more_time,
    Intent.CORE: frying.core,
    Intent.OIL_TEMP: oil_told.oil_temp,
    Intent.BURNER: oil_told.burner,
    Intent.TURN_BURNER: oil_told.turn_burner,
    Intent.OVEN: oven.switched,
    Intent.OVEN_TEMP: oven.told_temp,
    Intent.TEST_BATCH: frying.test_batch,
    Intent.FOAM_SETTLED: oil_told.foam_settled,
    Intent.FRESH_OIL: oil_told.fresh_oil,
    Intent.TOPPED_UP: oil_told.topped_up,
    Intent.PLACE: telling.place,
    Intent.NO_THERMOMETER: oil_told.no_thermometer,
    Intent.BREAD: oil_told.bread,
    Intent.OUT_OF: telling.out_of,
    Intent.HELPER_HERE: helping.changed,
    Intent.HELPER_LEFT: helping.changed,
    Intent.RUNNING_LATE: telling.running_late,
    Intent.HEADCOUNT: telling.headcount,
    Intent.SERVE_AT: telling.serve_at,
    Intent.DROP_ANYWAY: frying.drop_anyway,
    Intent.QUALITY: oil_told.quality,
    Intent.SERVED: telling.served,
    Intent.NOTE: telling.note,
    Intent.GO_BACK: _go_back,
    Intent.SKIP: leaving.skip,
    Intent.SET_CLOCK: clocks.set_one,
    Intent.CANCEL_CLOCK: clocks.cancel,
    Intent.HOLD: _hold,
    Intent.CARRY_ON: _carry_on,
    Intent.QUIET: _quiet,
    Intent.LOUDER: _voice,
    Intent.SOFTER: _voice,
    Intent.SLOWER: _voice,
    Intent.YES: _yes,
    Intent.NO: _no,
    Intent.UNDO: _undo,
    Intent.ANSWER: telling.answer,
    Intent.SWITCHED: _switched,
}

OF_OIL = frozenset(
    {
        *(Intent.OIL_READY, Intent.OIL_TEMP, Intent.FRESH_OIL, Intent.TOPPED_UP, Intent.FOAM_SETTLED, Intent.TEST_BATCH),
        *(Intent.NO_THERMOMETER, Intent.BREAD, Intent.DROP_ANYWAY),
    }
)
"""What can only be said of oil: a meal without a pot has none."""

NOT_UNDOABLE = frozenset(
    {
        *(Intent.WHATS_NEXT, Intent.REPEAT, Intent.WHICH_STEP, Intent.HOW_LONG, Intent.WHATS_RUNNING, Intent.WHAT_FORGOTTEN, Intent.OIL_READY),
        Intent.OVEN_READY,
        *(
            Intent.BATCHES_LEFT,
            Intent.HOW_MANY,
            Intent.WHEN_EAT,
            Intent.KEEPS,
            Intent.WHAT_TIME,
            Intent.WHEN_DROP,
            Intent.HOW_DOING,
            Intent.CAN_SIT,
            Intent.WHO_CAN_EAT,
            Intent.WHAT_TEMP,
            Intent.WHAT_IF,
            Intent.HELP,
            Intent.WHAT_TO_SAY,
        ),
        *(Intent.UNDO, Intent.LOUDER, Intent.SOFTER, Intent.SLOWER, Intent.QUIET, Intent.NOTE),
    }
)
