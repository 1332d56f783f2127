"""A thermometer that another program reads: its readings are noted without a word, and something is said only when they change what is to be done.

What it says hotter than thought is believed at once. Much colder than any burner or food explains, it may hang in the air: that is asked once, and
until somebody says it is in the oil such readings count for nothing.
"""

from __future__ import annotations

from assistant.session import events as e
from assistant.session import oil
from assistant.session.commands import Intent
from assistant.session.danger import pot_in_use
from assistant.session.frying import gate, next_n
from assistant.session.turn import Turn, wanted_next
from assistant.speaking import prompts as p

SENSIBLE_C = (0.0, 400.0)
BELIEVED_S = 120.0
"""For so long after "it is in the oil" it is believed whatever it says, s."""
ASK_AGAIN_S = 300.0


def read(turn: Turn, celsius: float) -> None:
    """One reading, of the pot in use."""
    pot_id = pot_in_use(turn.state)
    run = turn.state.pots.get(pot_id)
    if run is None or not SENSIBLE_C[0] <= celsius <= SENSIBLE_C[1]:
        return
    if run.estimate is not None and run.estimate.readings and turn.t - turn.state.told.get(f"probe-in:{pot_id}", -1e9) > BELIEVED_S:
        doubt = run.estimate.doubt(turn.t, celsius)
        if doubt is not None and celsius < run.estimate.predict(turn.t).oil_c:
            _ask(turn, pot_id, celsius)
            return
    turn.close(f"oil:{pot_id}", "value")
    turn.close(f"probe:{pot_id}", "value")
    turn.happen(e.OilRead(turn.t, pot_id, celsius, "probe"))
    step = wanted_next(turn.state, pot_id)
    if not oil.watch(turn, pot_id, None if step is None else step.fry):
        _say_ready(turn, pot_id, celsius)


def _ask(turn: Turn, pot_id: str, celsius: float) -> None:
    if turn.t - turn.state.told.get(f"probe-asked:{pot_id}", -1e9) > ASK_AGAIN_S:
        turn.happen(e.Told(turn.t, f"probe-asked:{pot_id}"))
        turn.ask(f"probe:{pot_id}", p.probe_unsure(celsius, turn.state.units), (Intent.YES, Intent.NO), wait_s=60.0)


def _say_ready(turn: Turn, pot_id: str, celsius: float) -> None:
    """Once a batch, when the oil is where the next one wants it."""
    state = turn.state
    step = wanted_next(state, pot_id)
    inside = any(s.fry is not None and s.fry.pot == pot_id for s, _ in state.in_heat())
    calm = state.held_t is None and state.script is None and state.hazard_pot != pot_id
    if step is None or inside or not calm or not state.pots[pot_id].on:
        return
    key = f"ready:{step.id}:{next_n(state, step)}"
    if key not in state.told and not gate(state, step, oil_alone=True):
        turn.happen(e.Told(turn.t, key))
        turn.say(p.oil_ready(celsius, state.units))
