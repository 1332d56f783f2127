"""Watching for run-away: when oil may be getting too hot with nobody at the stove. By temperature, never at a fixed number of minutes.

The bound that counts is the upper 95 % bound of the estimate: it rises while nothing is read and the heat is on, so silence assumes the worse;
before any reading it is the strongest burner's. Silence during predicted recovery is no alarm: the cook is asked once when the oil should be ready,
and an answer is waited for 60 s. Limits: visible vapour from 220 C and auto-ignition of canola in real pans at 351 to 361 C (Liu et al., National
Research Council Canada, as quoted by Buda-Ortins 2010).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import IntEnum

from assistant.kitchen.oil.estimate import PotEstimate

WARN_C = 200.0
HEAT_OFF_C = 205.0
FIRE_ARMED_C = 230.0
ANSWER_S = 60.0
"""After "is the oil ready?" an answer is waited for this long, s."""

ATTENDED_S = 60.0
"""Whoever read the oil so lately knows how hot it is and is not asked, s."""


class Danger(IntEnum):
    """How bad; a higher one takes precedence."""

    NONE = 0
    WARN = 1  # too hot
    UNATTENDED = 2  # nobody answered when the oil should be ready
    HEAT_OFF = 3  # turn the heat off now
    FIRE_ARMED = 4  # the fire script is ready to run


@dataclass(frozen=True, slots=True)
class Watch:
    """What the watch says at one moment. bound_c: the upper 95 % bound; ask_ready: ask now, once, whether the oil is ready."""

    danger: Danger
    bound_c: float
    ask_ready: bool


def watch(
    estimate: PotEstimate,
    t: float,
    set_c: float,
    *,
    smoke: bool = False,
    asked_at: float | None = None,
    spoke_at: float | None = None,
    answer_s: float = ANSWER_S,
) -> Watch:
    """The danger at kitchen time `t`. set_c: the oil's set point; asked_at: when "ready?" was asked, None while it was not since the burner or the
    food changed; spoke_at: when the cook last said anything at all; answer_s: how long an answer may take. Clears by itself when the bound falls,
    smoke is taken back, or the cook answers."""
    now = estimate.predict(t)
    bound = now.upper95
    answered = asked_at is not None and spoke_at is not None and spoke_at >= asked_at
    should_ask = now.lit and now.batch is None and asked_at is None and now.since_reading(t) >= ATTENDED_S and now.oil_c >= now.ready_c(set_c)
    danger = Danger.NONE
    if now.lit and asked_at is not None and not answered and t - asked_at >= answer_s:
        danger = Danger.UNATTENDED
    danger = max(danger, how_hot(bound), Danger.HEAT_OFF if smoke else Danger.NONE)
    return Watch(danger, bound, should_ask)


def how_hot(bound_c: float) -> Danger:
    """The danger of oil that may be at `bound_c`, by its temperature alone."""
    if bound_c >= FIRE_ARMED_C:
        return Danger.FIRE_ARMED
    if bound_c >= HEAT_OFF_C:
        return Danger.HEAT_OFF
    return Danger.WARN if bound_c >= WARN_C else Danger.NONE


def bound_reaches(estimate: PotEstimate, limit_c: float, within_s: float = 1800.0, step_s: float = 15.0) -> float | None:
    """Seconds until the upper bound reaches `limit_c` if nothing changes and nothing is read, within a step; None when it does not. For the next
    deadline."""
    now, at = estimate, 0.0
    while at <= within_s:
        if now.upper95 >= limit_c:
            return at
        now, at = now.predict(now.t + step_s), at + step_s
    return None


def ready_reaches(estimate: PotEstimate, set_c: float) -> float | None:
    """Seconds until the oil should be ready for `set_c`, for the question whether it is; None with food in, heat off, or when it is not coming."""
    if not estimate.lit or estimate.batch is not None:
        return None
    ready_c = estimate.ready_c(set_c)
    if estimate.oil_c >= ready_c:
        return 0.0
    seconds, _ = estimate.ready_in(ready_c)
    return seconds if math.isfinite(seconds) else None
