"""Options that several commands share, so that each has one spelling and one check."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

import click

from assistant.kitchen.scale import MOST_PEOPLE, how_many_wrong

DAY_S = 86400.0
WEEK = 7
DAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
_TIME = re.compile(r"(?:(?P<day>[a-z]+|\d{4}-\d\d-\d\d)\s+)?(?P<h>[01]?\d|2[0-3])[:.](?P<m>[0-5]\d)")


def _folder(_ctx: click.Context, _param: click.Parameter, value: str | None) -> Path | None:
    if value is not None and not value.strip():
        raise click.BadParameter("name a folder, or leave the option out.")
    return None if value is None else Path(value)


DATA = click.option("--data", metavar="FOLDER", callback=_folder, help="Folder of the journal.")


@dataclass(frozen=True, slots=True)
class When:
    """A time of day, s after midnight, and the day where one was written: today, tomorrow, a weekday (the next, today included), or a date."""

    clock_s: float
    day: str = ""

    def on(self, today: date) -> date | None:
        """The date that is meant; None when no day was written."""
        if self.day in ("", "today", "tomorrow"):
            return {"": None, "today": today}.get(self.day, today + timedelta(days=1))
        if self.day in DAYS:
            return today + timedelta(days=(DAYS.index(self.day) - today.weekday()) % WEEK)
        return date.fromisoformat(self.day)

    def serve_s(self, today: date, now_s: float) -> float:
        """Serving at this time, s after today's midnight: on its day, else the next such time after `now_s`."""
        on = self.on(today)
        if on is not None:
            return (on - today).days * DAY_S + self.clock_s
        return self.clock_s + (DAY_S if self.clock_s <= now_s else 0.0)


def wrong_serving(serve_s: float, now_s: float) -> str:
    """Why a meal is not served then, one sentence with the way out; "" when it can be. Both s after one midnight."""
    if serve_s <= now_s:
        clock = f"{int(serve_s % DAY_S // 3600)}:{int(serve_s % 3600 // 60):02d}"
        return f"Serving at {clock} has passed; name a later time, or its day: --serve 'tomorrow {clock}'."
    if serve_s - now_s > (WEEK + 1) * DAY_S:
        return f"That is {int((serve_s - now_s) // DAY_S)} days away, and a meal is planned a week ahead at most."
    return ""


class _WhenType(click.ParamType[When]):
    name = "HH:MM"

    def convert(self, value: object, param: click.Parameter | None, ctx: click.Context | None) -> When:
        if isinstance(value, When):
            return value
        found = _TIME.fullmatch(" ".join(str(value).lower().split()))
        day = (found["day"] or "") if found else ""
        known = [d for d in (*DAYS, "today", "tomorrow") if d == day or (len(day) == 3 and d.startswith(day) and d in DAYS)]
        if found is None or (day and not known and not day[0].isdigit()):
            self.fail(f"'{value}' is no time of day; write it like 18:30, or with its day: 'saturday 18:30'.", param, ctx)
        when = When(int(found["h"]) * 3600.0 + int(found["m"]) * 60.0, known[0] if known else day)
        try:
            when.on(date(2000, 1, 1))
        except ValueError:
            self.fail(f"'{day}' is no date; write it like 2027-01-31.", param, ctx)
        return when


class _PeopleType(click.ParamType[int]):
    name = "number"

    def convert(self, value: object, param: click.Parameter | None, ctx: click.Context | None) -> int:
        text = str(value).strip()
        if not text.isdecimal() or not 1 <= int(text) <= MOST_PEOPLE:
            self.fail(how_many_wrong(text), param, ctx)
        return int(text)


SERVE = click.option(
    "--serve", type=_WhenType(), metavar="[DAY] HH:MM", help="When all of it is to be on the table, 'saturday 18:30' too. Left out: the soonest."
)
NOW = click.option("--now", type=_WhenType(), metavar="[DAY] HH:MM", help="The present. Left out: the clock's.")
PEOPLE = click.option("--for", "people", type=_PeopleType(), metavar="N", help="How many eat. Left out: as the card says.")
