"""Running the flame and asking for a reading: when to say full heat, up a little, turn it down, heat off; and when the estimate is no longer sure
enough."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from assistant.kitchen.oil.estimate import PotEstimate
from assistant.kitchen.oil.runaway import WARN_C

LEAD_S = 25.0
"""Said this long before it matters: a cook needs 10 to 15 s to reach the knob, and hot metal gives on what it holds (common practice)."""

HAND_S = 60.0
"""The flame is not spoken of again so soon after it was touched, s."""

GUESS_S = 180.0
"""The same where nobody can read the oil, s."""

AHEAD_S = 120.0
"""How far a settled flame is looked ahead, s."""

SETTLED_K = 4.0
"""How far a settled flame may be about to drift from the set point, K."""

LOW_FLAME = 0.2
"""A flame below this fraction cannot well be turned down further."""

SURE_FOR_DROP_K = 1.7
"""A near drop wants the oil known to this, K, one sigma: what a reading gives, until the flame is touched or a minute has passed."""

NEAR_S = 20.0
"""A drop is near when it is meant within this, and the oil should be there by then, s: a reading asked for earlier is old when it is wanted."""

NEAR_K = 1.0
"""How far under its set point near oil may still be, K."""

SURE_K = 6.0
"""At any other time to this, K."""

FRESH_S = 60.0
"""A reading younger than this is not asked for again, s."""


class Flame(StrEnum):
    """What to do with the burner; the value is the level that the estimate is told when it is done."""

    FULL = "full"
    UP = "up"
    DOWN = "down"
    OFF = "off"


@dataclass(frozen=True, slots=True)
class Ask:
    """Whether to ask for a reading, and why: `first` (none yet), `drop` (a drop is near), `unsure`."""

    why: str


def flame_advice(
    estimate: PotEstimate,
    t: float,
    set_c: float,
    *,
    drop_in_s: float | None = None,
    lift_in_s: float | None = None,
    done: bool = False,
    unread: bool = False,
) -> Flame | None:
    """What to say about the flame at `t` for oil wanted at `set_c`; None while it is right, was just touched, or a thermostat does it. drop_in_s,
    lift_in_s: when the next batch is meant to go in, and the one in the oil to come out; done: nothing more will be fried;
    unread: nobody can read the oil, so that it is turned down before it could be too hot, which would be an alarm."""
    now = estimate.predict(t)
    if done:
        return Flame.OFF if now.lit else None
    if now.vessel.thermostat_c is not None:
        return None
    soon, later = now.ahead(LEAD_S, lift_in_s), now.ahead(AHEAD_S, lift_in_s)
    # who tries the oil with bread does not chase every guess: up only when it is surely too cold, down as ever, neither of them soon again
    near, rest = (max(SETTLED_K, now.sigma), GUESS_S) if unread else (SETTLED_K, HAND_S)
    if not now.lit:
        return Flame.FULL if now.oil_c < set_c - 2 * near else Flame.UP if soon < set_c else None
    touched = t - now.level_t
    if unread and touched >= HAND_S and now.predict(t + HAND_S).upper95 >= WARN_C:
        return Flame.DOWN if now.part > LOW_FLAME else Flame.OFF
    waits = drop_in_s is not None and drop_in_s <= LEAD_S
    if now.full:
        return Flame.DOWN if soon >= set_c + (SETTLED_K if waits else 0.0) else None
    if later > set_c + 2 * near and soon > set_c + (SETTLED_K if waits else 0.0) and touched >= LEAD_S:
        return Flame.DOWN if now.part > LOW_FLAME else Flame.OFF
    falls = now.batch is not None and lift_in_s is not None and lift_in_s >= AHEAD_S and later < set_c - 2 * near
    if falls and now.burner(t, "full").ahead(AHEAD_S, lift_in_s) < set_c:
        return Flame.FULL  # batches are reckoned at full flame, and food in the oil asks for most at first
    if touched < rest:
        return None
    if now.oil_c < set_c - 2 * near and soon < set_c - near:
        return Flame.FULL
    if drop_in_s is not None and drop_in_s <= HAND_S and soon < set_c + SETTLED_K / 2:
        return Flame.UP
    if later < set_c - near:
        return Flame.UP
    return Flame.DOWN if later > set_c + SETTLED_K and now.part > LOW_FLAME else None


def wants_reading(estimate: PotEstimate, t: float, set_c: float, *, drop_in_s: float | None = None) -> Ask | None:
    """Whether to ask for a reading at `t`: at most once between one lift and the next, never within a minute of the last one, and only when heating
    or hot. drop_in_s: when the next batch is meant to go in; it is near when the oil is nearly there too."""
    now = estimate.predict(t)
    if now.asked or not (now.lit or now.oil_c > 100.0) or now.since_reading(t) < FRESH_S:
        return None
    if now.readings == 0:
        return Ask("first") if now.oil_c >= 90.0 or now.upper95 >= set_c - 20.0 or (now.lit and t - now.level_t >= 300.0) else None
    near = drop_in_s is not None and drop_in_s <= NEAR_S and now.ahead(NEAR_S) >= set_c - NEAR_K
    if near and now.sigma > SURE_FOR_DROP_K:
        return Ask("drop")
    return Ask("unsure") if now.sigma > SURE_K and now.oil_c > 100.0 else None
