"""Figures as they stand on paper: times of day, durations, temperatures. Pure."""

from __future__ import annotations

from assistant.kitchen.oil.life import DISCARD_TPC, WARN_TPC, OilLife
from assistant.speaking.prompts import degrees


def took(seconds: float) -> str:
    """A duration to read: to 5 s under two minutes, to half a minute under ten, then to the minute; from two days on in days.

    >>> took(42), took(90), took(510), took(2040), took(5400), took(172800)
    ('40 s', '1 min 30 s', '8 min 30 s', '34 min', '1 h 30 min', '2 days')
    """
    s = max(0.0, seconds)
    if s >= 2 * 86400:
        return f"{s / 86400:.0f} days"
    step = 5 if s < 120 else 30 if s < 600 else 60
    whole = max(5, round(s / step) * step)
    hours, minutes, rest = whole // 3600, whole // 60 % 60, whole % 60
    parts = [f"{n} {unit}" for n, unit in ((hours, "h"), (minutes, "min"), (rest, "s")) if n]
    return " ".join(parts[:2])


def temperature(celsius: float, units: str) -> str:
    """A temperature in the cook's units.

    >>> temperature(148.9, "F"), temperature(148.9, "C")
    ('300 °F', '149 °C')
    """
    return f"{degrees(celsius, units)} °{units}"


def apart(kelvin: float, units: str) -> str:
    """A difference of temperatures.

    >>> apart(5.0, "F"), apart(5.0, "C")
    ('9 °F', '5 °C')
    """
    return f"{kelvin * (1.8 if units == 'F' else 1.0):.0f} °{units}"


def clock(day_s: float, seconds: bool = False) -> str:
    """A time of day, to the minute (rounded down, as clocks show it) or the second.

    >>> clock(59400.0 + 45), clock(59400.0 + 45, seconds=True), clock(86400.0)
    ('16:30', '16:30:45', '00:00')
    """
    s = int(day_s + 1e-3) % 86400
    return f"{s // 3600:02d}:{s // 60 % 60:02d}" + (f":{s % 60:02d}" if seconds else "")


def stamp(t: float) -> str:
    """Kitchen time, h:mm:ss.

    >>> stamp(3750.4)
    '1:02:30'
    """
    s = int(max(0.0, t) + 1e-3)
    return f"{s // 3600}:{s // 60 % 60:02d}:{s % 60:02d}"


def grams(kg: float) -> str:
    """A weight.

    >>> grams(0.22), grams(1.25)
    ('220 g', '1.25 kg')
    """
    return f"{kg * 1000:.0f} g" if kg < 0.9995 else f"{kg:.2f}".rstrip("0").rstrip(".") + " kg"


def oil_log(life: OilLife) -> str:
    """An oil's log in two or three sentences, the estimate of its age with its honest band.

    >>> oil_log(OilLife("canola", 2.0).evening().fry("cod", "fish", 1800.0, 180.0, frozenset({"wheat", "fish"})))
    'Canola oil, 2 l: first evening, 0.5 h hot. Polar compounds about 5.0 % (4.5 to 5.6, an estimate; old from 14, 22 ends it). In it: fish, wheat.'
    """
    least, most = life.band
    used = "first evening" if life.uses <= 1 else f"used on {life.uses} evenings"
    age = f"about {life.tpc:.1f} % ({least:.1f} to {most:.1f}, an estimate; old from {WARN_TPC:.0f}, {DISCARD_TPC:.0f} ends it)"
    touched = f" In it: {', '.join(sorted(life.allergens))}." if life.allergens else ""
    signs = f" It is done: {', '.join(sorted(life.signs))}." if life.signs else ""
    return f"{life.kind.capitalize()} oil, {life.litres:.3g} l: {used}, {life.hot_s / 3600:.1f} h hot. Polar compounds {age}.{touched}{signs}"
