"""Times of day and durations as a plan writes them."""

from __future__ import annotations

from assistant.kitchen.plan_figures import DAY_S


def clock(day_s: float) -> str:
    """Seconds after midnight as HH:MM.

    >>> clock(18.5 * 3600)
    '18:30'
    """
    minutes = round(day_s / 60)
    return f"{minutes // 60 % 24:02d}:{minutes % 60:02d}"


def clock_and_day(day_s: float, now_s: float) -> str:
    """HH:MM, with the day when it is a later one.

    >>> clock_and_day(20 * 3600, 17 * 3600), clock_and_day(26 * 3600, 17 * 3600)
    ('20:00', 'tomorrow 02:00')
    """
    days = int(day_s // DAY_S - now_s // DAY_S)
    return ("" if days <= 0 else "tomorrow " if days == 1 else "the day after tomorrow " if days == 2 else f"{days} days from now, ") + clock(day_s)


def minutes(seconds: float) -> str:
    """A duration in words, to the minute, at least one; from two hours on in hours.

    >>> minutes(68 * 60), minutes(20), minutes(26.5 * 3600)
    ('68 minutes', '1 minute', '26 hours 30 minutes')
    """
    n = max(1, round(seconds / 60))
    hours, rest = divmod(n, 60) if n >= 120 else (0, n)
    parts = [f"{n} {unit}{'' if n == 1 else 's'}" for n, unit in ((hours, "hour"), (rest, "minute")) if n]
    return " ".join(parts)
