"""A plan on paper: the timetable as text, a sheet to print, a calendar. Pure: plan, meal and list in, text out."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from html import escape

from assistant.kitchen.evening import EveningPlan, PlanTask
from assistant.kitchen.meal import Meal, StepKind
from assistant.kitchen.plan_clock import clock, minutes
from assistant.kitchen.shopping import Shopping

SILENT = frozenset({"wait", "heat", "keep", "fry", "bake", "stove", "serve"})
"""What runs by itself: shown beside what the cook does, not as a line to do."""

ANOTHER_SESSION_S = 6 * 3600.0

_CALENDAR_NAMESPACE = "stovehand.local"


@dataclass(frozen=True, slots=True)
class Row:
    """One line to do: when (s relative to serving), what, how long it takes, what runs meanwhile, how much it may slip."""

    start_s: float
    end_s: float
    what: str
    meanwhile: tuple[str, ...]
    slack_s: float


def rows(meal: Meal, plan: EveningPlan) -> list[Row]:
    """What the cook does, in order of time; what begins a wait takes no time of its own."""
    running = [t for t in plan.tasks if t.action in SILENT - {"keep", "heat", "serve"}]
    found = []
    said = {s.id: s.text for s in meal.steps() if s.kind is StepKind.WAIT}
    for task in plan.tasks:
        begins = task.action == "wait" and bool(said.get(task.step))  # into the fridge, under water: that is something to do
        if task.action in SILENT and not begins:
            continue
        if begins:
            found.append(Row(task.start_s, task.start_s, said[task.step], (), 0.0))
            continue
        meanwhile = tuple(
            dict.fromkeys(what(meal, t) for t in running if t.start_s <= task.start_s < t.end_s and (t.step, t.batch) != (task.step, task.batch))
        )
        found.append(Row(task.start_s, task.end_s, what(meal, task), meanwhile, task.slack_s))
    return sorted(found, key=lambda r: (r.start_s, r.end_s > r.start_s))


def what(meal: Meal, task: PlanTask) -> str:
    """A task in words of the trade."""
    size = f" ({size_of(task)})" if task.kg is not None else ""
    batch = f", batch {task.batch}" if task.batch else ""
    words: dict[str, str] = {
        "drop": f"Lower {task.name}{batch}{size}",
        "fry": f"{task.name}{batch} in the oil",
        "lift": f"Lift {task.name}{batch}, drain, skim",
        "put in": f"{task.name} into the oven",
        "take out": f"{task.name} out of the oven",
        "bake": f"{task.name} in the oven",
        "begin": f"Begin {task.name}",
        "stove": f"{task.name} on the stove",
        "light": f"{task.name.capitalize()} on" if task.name == "oven" else f"Check and light the {task.name}",
        "wait": f"{task.name}",
        "keep": f"{task.name} kept warm",
        "heat": f"{task.name} hot",
        "serve": "Serve",
    }
    if task.action == "do":
        text = next((s.text for s in meal.steps() if s.id == task.step), "")
        return text or task.name.capitalize()
    text = words[task.action]
    return text[:1].upper() + text[1:]


def size_of(task: PlanTask) -> str:
    """How much a batch is."""
    if task.pieces is not None:
        return f"{task.pieces} piece{'' if task.pieces == 1 else 's'}"
    return f"{(task.kg or 0.0) * 1000:.0f} g"


def day_of(plan: EveningPlan, rel_s: float, today: date) -> date:
    """The date of an instant. today: the date that `serve_s` counts from."""
    return today + timedelta(days=int((plan.serve_s + rel_s) // 86400))


def at_day(plan: EveningPlan, rel_s: float, today: date) -> str:
    """When an instant is: with its weekday, `today` where serving is on another day, the time alone when all of it is today."""
    day, at = day_of(plan, rel_s, today), f"at {clock(plan.serve_s + rel_s)}"
    if day == today:
        return at if day_of(plan, 0.0, today) == today else f"today {at}"
    return f"on {day:%A} {at}"


def sessions(meal: Meal, plan: EveningPlan, today: date) -> list[tuple[str, list[Row]]]:
    """What the cook does, a list for each day; each with a heading ("" when there is but one day, and it is today)."""
    days: dict[date, list[Row]] = {}
    for row in rows(meal, plan):
        days.setdefault(day_of(plan, row.start_s, today), []).append(row)
    if list(days) == [today]:
        return [("", days[today])]
    return [(_heading(plan, day, found, today), found) for day, found in days.items()]


def _heading(plan: EveningPlan, day: date, found: list[Row], today: date) -> str:
    hour = (plan.serve_s + found[0].start_s) % 86400 / 3600
    part = "morning" if hour < 12 else "afternoon" if hour < 17 else "evening"
    before = (day_of(plan, 0.0, today) - day).days
    when = "" if before == 0 else ", the day before" if before == 1 else f", {before} days before"
    return f"{day:%A} {part}{when}"


def text_sheet(meal: Meal, plan: EveningPlan, shopping: Shopping, remarks: tuple[str, ...], today: date) -> str:
    """The plan for a terminal."""
    names = {d.id: d.name for d in meal.dishes}
    begin, serve = at_day(plan, plan.begin_s(), today), at_day(plan, 0.0, today)
    lines = [f"{meal.title}, for {plan.people}. Serve {serve}. Begin {begin}.", *remarks]
    for heading, found in sessions(meal, plan, today):
        lines += ["", *([f"{heading}:"] if heading else [])]
        lines += [_line(plan, row) for row in found]
    lines.append(f"{clock(plan.serve_s):>6}  Serve")
    if plan.ask_s is not None:
        lines.append(f"\nAt {clock(plan.serve_s + plan.ask_s)}: is everyone here?")
    lines.append(
        "\nWaiting before serving: " + "; ".join(f"{names[w.dish]} {minutes(w.seconds)} of at most {minutes(w.most_s)}" for w in plan.waits) + "."
    )
    lines.append("\nTo buy:")
    lines += [f"  {n.buy:>8}  {n.name}" + (f" ({n.note})" if n.note else "") for n in shopping.needs if n.buy]
    lines.append("Have out: " + "; ".join(shopping.equipment) + ".")
    return "\n".join(lines)


def slip_of(row: Row) -> str:
    """How much later it may begin, "" when that is hardly anything."""
    if row.slack_s >= ANOTHER_SESSION_S:
        return "at any hour of that day"
    return f"may slip {minutes(row.slack_s)}" if row.slack_s >= 120 else ""


def _line(plan: EveningPlan, row: Row) -> str:
    line = f"{clock(plan.serve_s + row.start_s):>6}  {row.what.rstrip('.')}"
    line += f", {minutes(row.end_s - row.start_s)}" if row.end_s > row.start_s else ""
    line += f" ({slip})" if (slip := slip_of(row)) else ""
    return line + (f"   | {'; '.join(row.meanwhile)}" if row.meanwhile else "")


_STYLE = """
@page { margin: 14mm } body { font: 12pt/1.35 Georgia, serif; color: #000; max-width: 190mm; margin: 0 auto }
h1 { font-size: 20pt; margin: 0 } h2 { font-size: 13pt; border-bottom: 1px solid #000; margin: 6mm 0 2mm }
table { border-collapse: collapse; width: 100% } td, th { text-align: left; vertical-align: top; padding: 1.2mm 2mm; border-bottom: .3pt solid #999 }
td:nth-child(3) { white-space: nowrap }
td:first-child { white-space: nowrap; font-weight: bold } .soft { color: #444; font-size: 10.5pt } ul { columns: 2; padding-left: 5mm }
tr { break-inside: avoid }
"""


def html_sheet(meal: Meal, plan: EveningPlan, shopping: Shopping, remarks: tuple[str, ...], today: date) -> str:
    """The plan as one page to print and pin to the wall: no script, nothing fetched."""
    body = "".join(_html(meal, plan, shopping, remarks, today))
    head = f'<meta charset="utf-8"><title>{escape(meal.title)}</title><style>{_STYLE}</style>'
    return f'<!DOCTYPE html>\n<html lang="en"><head>{head}</head>\n<body>\n{body}</body></html>\n'


def _html(meal: Meal, plan: EveningPlan, shopping: Shopping, remarks: tuple[str, ...], today: date) -> Iterator[str]:
    names = {d.id: d.name for d in meal.dishes}
    yield f"<h1>{escape(meal.title)}</h1>\n"
    yield f"<p>For {plan.people}. Begin {at_day(plan, plan.begin_s(), today)}, serve <b>{at_day(plan, 0.0, today)}</b>.</p>\n"
    yield from (f"<p>{escape(r)}</p>\n" for r in remarks)
    yield "<table><thead><tr><th>At</th><th>Do</th><th>Takes</th><th>Meanwhile</th></tr></thead><tbody>\n"
    for row in _headed(sessions(meal, plan, today)):
        if isinstance(row, str):
            yield f"<tr><th colspan=4>{escape(row)}</th></tr>\n"
            continue
        slack = f"<br><span class=soft>{slip}</span>" if (slip := slip_of(row)) else ""
        meanwhile = escape("; ".join(row.meanwhile))
        cells = (
            clock(plan.serve_s + row.start_s),
            escape(row.what) + slack,
            minutes(row.end_s - row.start_s) if row.end_s > row.start_s else "",
            f"<span class=soft>{meanwhile}</span>",
        )
        yield "<tr>" + "".join(f"<td>{cell}</td>" for cell in cells) + "</tr>\n"
    yield f"<tr><td>{clock(plan.serve_s)}</td><td>Serve</td><td></td><td></td></tr>\n</tbody></table>\n"
    yield "<h2>Waiting before serving</h2>\n<ul>"
    yield "".join(f"<li>{escape(names[w.dish])}: {minutes(w.seconds)}, at most {minutes(w.most_s)}</li>" for w in plan.waits)
    yield "</ul>\n<h2>To buy</h2>\n<ul>"
    yield "".join(f"<li>{escape(n.buy)} {escape(n.name)}</li>" for n in shopping.needs if n.buy)
    yield "</ul>\n<h2>Have out</h2>\n<ul>" + "".join(f"<li>{escape(x)}</li>" for x in shopping.equipment) + "</ul>\n"
    yield "<p class=soft>An aid, not a safety device. Stay with hot oil.</p>\n"


def _headed(days: list[tuple[str, list[Row]]]) -> Iterator[str | Row]:
    for heading, found in days:
        yield from ([heading] if heading else [])
        yield from found


def calendar(meal: Meal, plan: EveningPlan, midnight: datetime, stamp: datetime) -> bytes:
    """The plan as RFC 5545: an event for each thing to do, and the meal. midnight: where `serve_s` counts from; stamp: when this was made."""
    from icalendar import Calendar, Event

    book = Calendar()
    book.add("prodid", "-//Stovehand//plan//EN")
    book.add("version", "2.0")

    def event(uid: str, summary: str, start_s: float, end_s: float) -> None:
        entry = Event()
        entry.add("uid", f"{uid}@{_CALENDAR_NAMESPACE}")
        entry.add("dtstamp", stamp.astimezone(UTC))
        entry.add("summary", summary)
        entry.add("dtstart", (midnight + timedelta(seconds=plan.serve_s + start_s)).astimezone(UTC))
        entry.add("dtend", (midnight + timedelta(seconds=plan.serve_s + end_s)).astimezone(UTC))
        book.add_component(entry)

    day = f"{midnight:%Y%m%d}"
    said = {s.id: s.text for s in meal.steps() if s.kind is StepKind.WAIT}
    for task in plan.tasks:
        if task.action not in SILENT:
            event(f"{plan.meal}-{day}-{task.id}", what(meal, task), task.start_s, max(task.end_s, task.start_s + 60.0))
        elif task.action == "wait" and said.get(task.step):
            event(f"{plan.meal}-{day}-{task.id}", said[task.step], task.start_s, task.start_s + 60.0)
    event(f"{plan.meal}-{day}-serve", f"Serve {meal.title}", 0.0, 1800.0)
    return bytes(book.to_ical())
