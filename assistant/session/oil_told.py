"""What the cook tells about oil and burner: temperatures, flame, foam, fresh oil, top-ups, no thermometer, bread, and how a batch came out."""

from __future__ import annotations

import math

from assistant.kitchen.doneness import needs_core
from assistant.kitchen.hazards import Hazard, before_relighting, what_to_change
from assistant.kitchen.meal import Step
from assistant.kitchen.oil import foam, runaway
from assistant.kitchen.oil.bread import GOLDEN_C, NOT_YET, bread_s
from assistant.kitchen.oil.estimate import Doubt
from assistant.kitchen.oil.life import TOP_UP_RULES
from assistant.kitchen.oil.quality import BatchFacts, Change, explain
from assistant.session import agenda, before_drop, oil, oil_care, oil_gate, oven
from assistant.session import events as e
from assistant.session.commands import Command, Intent
from assistant.session.danger import heat_is_off, pot_in_use
from assistant.session.frying import gate, next_n, set_flame
from assistant.session.state import State
from assistant.session.turn import Turn, batches_left, from_pairs, heat_said, in_heat, matches, wanted_next
from assistant.speaking import prompts as p
from assistant.speaking.line import Priority

SENSIBLE_OIL_C = (5.0, 240.0)
JUMP_K = 60.0
JUMP_S = 60.0
UNKNOWN_ROOM_L = 5.0
SAID_S = 8.0  # a smaller change of time is not worth a word


def _pot_named(state: State, command: Command) -> str:
    """The pot that was named, "" for none."""
    return command.item if command.item is not None and command.item in state.pots else ""


def oil_temp(turn: Turn, command: Command) -> None:
    """A reading of the oil, questioned when it makes no sense."""
    assert command.celsius is not None
    pot_id = _pot_named(turn.state, command) or pot_in_use(turn.state)
    pot = turn.state.pots.get(pot_id)
    if pot is None:
        turn.say(p.NOT_NOW)
        return
    jump = pot.oil_c is not None and pot.read_t is not None and turn.t - pot.read_t < JUMP_S and abs(command.celsius - pot.oil_c) > JUMP_K
    if pot.estimate is not None and pot.estimate.readings:
        jump = pot.estimate.doubt(turn.t, command.celsius) in (Doubt.FAHRENHEIT, Doubt.CELSIUS) or jump
    confirmed = any(ev for ev in turn.events if isinstance(ev, e.Answered) and ev.question == f"unsure:{pot_id}")
    if not confirmed and (jump or not SENSIBLE_OIL_C[0] <= command.celsius <= SENSIBLE_OIL_C[1]):
        turn.ask(f"unsure:{pot_id}", p.oil_unsure(command.celsius, turn.state.units), (Intent.YES, Intent.NO, Intent.OIL_TEMP), pending=command)
        return
    turn.close(f"unsure:{pot_id}")
    oil_read(turn, command.celsius, pot_id)


def oil_read(turn: Turn, celsius: float, pot_id: str) -> None:
    """A believed reading: note it and say what it means for the next drop."""
    relight = next((q.pending for q in turn.state.questions if q.id == f"oil:{pot_id}" and q.pending), ())
    turn.close(f"oil:{pot_id}", "value")
    turn.happen(e.OilRead(turn.t, pot_id, celsius))
    if celsius < runaway.WARN_C and turn.state.hazard_pot == pot_id:  # nothing goes in, and nobody is told to turn it up
        turn.say(p.oil_noted(celsius, None, turn.state.units))
        if relight:
            burner(turn, from_pairs(relight))
        return
    step = wanted_next(turn.state, pot_id)
    if oil.watch(turn, pot_id, None if step is None else step.fry):
        return
    state = turn.state
    if celsius >= runaway.WARN_C:  # the burner is off
        turn.say(p.STILL_TOO_HOT)
        return
    inside = next((s for s, _ in state.in_heat() if s.fry is not None and s.fry.pot == pot_id), None)
    if inside is not None and inside.fry is not None:
        cold = celsius < inside.fry.floor_c - 0.3
        turn.say(p.below_floor(celsius, state.units) if cold else p.oil_noted(celsius, None, state.units))
        return
    if step is None or step.fry is None:
        turn.say(p.oil_noted(celsius, None, state.units))
        return
    reasons = gate(state, step, oil_alone=True)
    asked = f"hold:{step.id}:{next_n(state, step)}" in state.told
    if not reasons:
        turn.say(p.oil_go(celsius, state.units) if asked else p.oil_ready(celsius, state.units))
    elif asked:
        turn.say(reasons[0])
        set_flame(turn, step)
    else:
        turn.say(p.oil_noted(celsius, step.fry.oil_c, state.units))
        if words := oil_gate.ready_words(state, pot_id, step.fry.oil_c):
            turn.say(words)


def _may_heat(turn: Turn, command: Command, pot_id: str) -> bool:
    """Whether the burner may be on; then the check first, if it was never spoken."""
    if not may_relight(turn, command):
        return False
    found = before_drop.heat_due(turn.state, pot_id)
    if found is not None:
        before_drop.check_before_heat(turn, pot_id, found[0])
    return True


def burner(turn: Turn, command: Command, of: str | None = None) -> None:
    """The burner was turned: the check first, if it was never spoken. of: the pot, when it was asked about by name."""
    assert command.level is not None
    if of is None and oven.meant(turn, command) and command.level in oven.LEVELS:
        oven.switched(turn, command)
        return
    pot_id = of or _pot_named(turn.state, command) or pot_in_use(turn.state)
    if command.level != "off" and not _may_heat(turn, command, pot_id):
        return
    turn.close("flame:", "value")
    turn.close("turned:", "value")
    if command.level == "off":
        turn.close("off:burner", "value")
        heat_is_off(turn, pot_id)
    elif pot_id in turn.state.pots:  # a meal may have none
        turn.happen(e.BurnerSet(turn.t, pot_id, command.level))
    turn.say(p.burner(command.level))
    if command.level == "off" and "closed" in turn.state.told and pot_id in turn.state.pots and turn.state.pots[pot_id].drops > 0:
        oil_care.set_cold_clock(turn, pot_id)


def turn_burner(turn: Turn, command: Command) -> None:
    """The cook tells us to turn the burner. Nobody but the cook can; and "turned the burner off", a report, sounds all but the same. So it is asked,
    and noted on a yes. The oven likewise."""
    if oven.meant(turn, command) and command.level in oven.LEVELS:
        oven.turn_it(turn, command)
        return
    pot_id = _pot_named(turn.state, command) or pot_in_use(turn.state)
    if command.level != "off" and not _may_heat(turn, command, pot_id):
        return
    done = Command(Intent.BURNER, item=pot_id, level=command.level, words=command.words)
    turn.close("turned")
    turn.ask(
        f"turned:{pot_id}",
        p.cannot_turn(str(command.level)),
        (Intent.YES, Intent.NO, Intent.SWITCHED, Intent.BURNER),
        wait_s=oven.TURNING_S,
        pending=done,
    )


def may_relight(turn: Turn, command: Command) -> bool:
    """Whether the burner may be lit after what happened; asks what is still open, and says what to change when nothing is."""
    state = turn.state
    if not state.hazard or state.hazard_pot not in ("", pot_in_use(state)) or (state.hazard == "oven_fire" and state.script is None):
        return True
    answered = frozenset(k.removeprefix("relight:") for k in state.told if k.startswith("relight:"))
    hazard = Hazard(state.hazard)
    open_question = before_relighting(hazard, answered)
    pot = state.pots.get(pot_in_use(state))
    if open_question is not None and open_question[0] == "never":
        turn.say(open_question[1])
        return False
    if open_question is not None and open_question[0] == "read":
        if pot is None or not state.thermometer or (pot.read_t is not None and turn.t - pot.read_t < before_drop.STALE_OIL_S):
            turn.happen(e.Told(turn.t, "relight:read"))
            return may_relight(turn, command)
        turn.ask(f"oil:{pot_in_use(state)}", open_question[1], (Intent.ANSWER, Intent.OIL_TEMP), wait_s=60.0, pending=command)
        return False
    if open_question is not None:
        turn.ask(f"relight:{open_question[0]}", open_question[1], (Intent.YES, Intent.NO), wait_s=30.0, pending=command)
        return False
    turn.happen(e.HazardCleared(turn.t))
    if pot is None:
        return True
    step = wanted_next(state, pot_in_use(state))
    damp = step is not None and step.fry is not None and (step.fry.wet or step.fry.frozen)
    turn.say_list(what_to_change(hazard, fresh=pot.fresh and pot.drops <= 1, damp=damp, oil_c=pot.oil_c))
    if hazard is Hazard.BOIL_OVER and step is not None:
        turn.happen(e.NextBatch(turn.t, step.id, part=foam.AFTER, why="foam"))
    return True


def foam_settled(turn: Turn, command: Command) -> None:
    """The foam is down."""
    for pot_id, pot in turn.state.pots.items():
        if pot.foaming:
            turn.happen(e.FoamSettled(turn.t, pot_id))
    if turn.state.hazard:
        turn.told("relight:foam")
    turn.say(p.FOAM_DOWN)


def fresh_oil(turn: Turn, command: Command) -> None:
    """Fresh oil is in the pot."""
    turn.happen(e.OilChanged(turn.t, pot_in_use(turn.state)))
    turn.say(p.FRESH_NOTED)


def topped_up(turn: Turn, command: Command) -> None:
    """Oil was added."""
    assert command.litres is not None
    pot_id = pot_in_use(turn.state)
    turn.close("topup:", "value")
    if command.litres > _room_for(turn.state, pot_id):
        turn.ask(f"topup:{pot_id}", p.top_up_unsure(command.litres), (Intent.ANSWER, Intent.TOPPED_UP), wait_s=60.0)
        return
    turn.happen(e.OilToppedUp(turn.t, pot_id, command.litres))
    if any(s.fry is not None and s.fry.pot == pot_id for s, _ in turn.state.in_heat()):
        turn.say(p.TOP_UP_NOT_NOW, Priority.ALARM)
    turn.say(p.topped_up(command.litres))
    run = turn.state.pots[pot_id]
    if run.on or run.drops > 0:
        turn.say_list(TOP_UP_RULES[:-1])  # the last was just said
    oil_care.check_full(turn, pot_id)


def _room_for(state: State, pot_id: str) -> float:
    """Litres that can be added before the pot runs over; five where nobody knows its size."""
    pot = state.pot_now(pot_id)
    if pot.width_m is None or pot.height_m is None:
        return UNKNOWN_ROOM_L
    return 1000.0 * math.pi * pot.width_m**2 / 4.0 * pot.height_m - (pot.oil_litres or 0.0)


def no_thermometer(turn: Turn, command: Command) -> None:
    """There is no thermometer: for the core when that was asked, else for the oil; then batches are halved and bread is the guess."""
    state = turn.state
    if any(q.id.startswith("core:") for q in state.questions):
        turn.happen(e.ThermometerMissing(turn.t, "core"))
        turn.close("core:")
        for clock in [c for c in state.clocks if c.startswith("core-")]:
            turn.happen(e.ClockCancelled(turn.t, clock))
            turn.clear(f"clock:{clock}")
        turn.say(p.NO_THERMOMETER_POULTRY if any(needs_core(d) for d in state.meal.dishes) else p.CUT_OPEN)
        return
    turn.close("oil:")
    turn.close("unsure:")
    turn.close("thermometer", "no")
    if state.thermometer:
        turn.happen(e.ThermometerMissing(turn.t))
        for step in state.meal.steps():
            if step.fry is not None and batches_left(state, step) > 0:
                turn.happen(e.NextBatch(turn.t, step.id, part=0.5, why="no thermometer"))
    turn.say(p.NO_THERMOMETER)
    turn.say(p.BUY_THERMOMETER)
    if any(needs_core(d) for d in state.meal.dishes):
        turn.say(p.NO_THERMOMETER_POULTRY)


def bread(turn: Turn, command: Command) -> None:
    """A bread cube was golden after so many seconds."""
    assert command.seconds is not None
    pot_id = pot_in_use(turn.state)
    step = wanted_next(turn.state, pot_id)
    _bread_tried(turn, pot_id, command.seconds, step)


def _bread_tried(turn: Turn, pot_id: str, seconds: float, step: Step | None) -> None:
    """What the cube says, and the flame that its wait counts on."""
    oil_care.bread_tried(turn, pot_id, seconds, None if step is None else step.fry)
    if step is not None and turn.state.pots[pot_id].on:
        set_flame(turn, step)


def bread_answered(turn: Turn, pot_id: str, command: Command) -> bool:
    """The open question about a bread cube: golden in time, paler, darker, or after how long; False when it is none of these."""
    step = wanted_next(turn.state, pot_id)
    usual = bread_s(step.fry.oil_c if step is not None and step.fry is not None else GOLDEN_C)
    number = command.number if command.number is not None else command.count
    seconds: float | None
    if command.intent is Intent.QUALITY:
        seconds = usual / NOT_YET if command.look == "dark" else usual * NOT_YET
    elif command.intent in (Intent.YES, Intent.NO):
        seconds = usual if command.intent is Intent.YES else usual * NOT_YET
    else:
        seconds = float(number) if number is not None else command.seconds
    if seconds is None:
        return False
    _bread_tried(turn, pot_id, seconds, step)
    return True


def quality(turn: Turn, command: Command) -> None:
    """How the last batch came out; food that burns in the heat is to come out now."""
    assert command.look is not None
    found = in_heat(turn.state, command.item)
    if found is not None and command.words.split()[-1:] == ["burning"]:
        step, batch = found
        key = f"lift:{step.id}:{batch.n}"
        turn.told(key)
        name = heat_said(turn.state, step)
        agenda.call_out(turn, key, step, name, f"{name} burn")
        if step.fry is not None:
            turn.say(p.FLAME["down"])
        return
    asked = next((q.id.partition(":")[2] for q in turn.state.questions if q.id.startswith("bread:")), None)
    if asked is not None and bread_answered(turn, asked, command):
        return
    lifts = [
        (b.lifted_t, s, b)
        for s in turn.state.meal.steps()
        if s.fry and matches(turn.state, s, command.item)
        for b in turn.state.steps[s.id].batches
        if b.lifted_t is not None
    ]
    if not lifts:
        turn.say(p.NO_BATCH_YET)
        return
    _, step, batch = max(lifts, key=lambda x: x[0])
    turn.happen(e.LookedLike(turn.t, step.id, batch.n, command.look))
    run = turn.state.pots[step.fry.pot] if step.fry is not None else None
    if step.fry is None or run is None or run.estimate is None or not run.estimate.readings or batch.lifted_t is None:
        turn.say(p.QUALITY[command.look])
        return
    facts = BatchFacts(
        *(step.fry.oil_c, step.fry.floor_c, run.dropped_c, run.low_c, run.high_c, run.lifted_c),
        seconds=batch.lifted_t - batch.in_t,
        usual_s=step.span.usual_s,
    )
    _change_next(turn, step, command.look, explain(command.look, facts))


def _change_next(turn: Turn, step: Step, look: str, change: Change) -> None:
    """Say why a batch came out so, and change what is left of its lot."""
    turn.say(p.looked_because(look, str(change.cause)))
    before = batches_left(turn.state, step)
    if before > 0 and (change.kg < 1.0 or change.seconds or change.oil_k):
        turn.happen(e.NextBatch(turn.t, step.id, change.kg, change.seconds, change.oil_k, look))
        fry = turn.state.meal.step(step.id).fry
        left = batches_left(turn.state, turn.state.meal.step(step.id))
        if left > before:
            turn.say(p.smaller_next(left))
        if abs(change.seconds) >= SAID_S:
            turn.say(p.next_longer(change.seconds))
        if change.oil_k and fry is not None:
            turn.say(p.next_oil(fry.oil_c, turn.state.units))
    for wanted, words in ((change.drain, p.DRAIN_AT_ONCE), (change.rack, p.ON_A_RACK), (change.skim, p.SKIM)):
        if wanted:
            turn.say(words)
