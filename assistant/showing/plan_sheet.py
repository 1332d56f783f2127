"""A plan on paper: the timetable as text, a sheet to print, a calendar. Pure: plan, meal and list in, text out."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from html import escape

from assistant.kitchen.evening import EveningPlan, PlanTask
from assistant.kitchen.meal import Meal, StepKind
from assistant.kitchen.plan_clock import clock, minutes
from assistant.kitchen.plan_figures import OVEN_KEEP_C
from assistant.kitchen.shopping import Shopping
from assistant.speaking.prompts import degrees

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


def rows(meal: Meal, plan: EveningPlan, units: str) -> list[Row]:
    """What the cook does, in order of time; what begins a wait, or goes into a warm oven, takes no time of its own."""
    running = [t for t in plan.tasks if t.action in SILENT - {"keep", "heat", "serve"}]
    found = []
    for task in plan.tasks:
        if (words := put_by(meal, plan, task, units)) or task.action in SILENT:
            found += [Row(task.start_s, task.start_s, words, (), 0.0)] if words else []
            continue
        beside = [t for t in running if t.start_s <= task.start_s < t.end_s and (t.step, t.batch) != (task.step, task.batch)]
        meanwhile = tuple(dict.fromkeys(what(meal, plan, t, units) for t in beside))
        found.append(Row(task.start_s, task.end_s, what(meal, plan, task, units), meanwhile, task.slack_s))
    return sorted(found, key=lambda r: (r.start_s, r.end_s > r.start_s))


def put_by(meal: Meal, plan: EveningPlan, task: PlanTask, units: str) -> str:
    """What is to be done at the beginning of something that then goes by itself: into the fridge, under water, into a warm oven; "" for nothing."""
    if task.action == "keep":
        batch = f", batch {task.batch}," if many(plan, task) else ""
        return f"{_upper(meal.dish(task.dish).name)}{batch} on a rack into the oven, {_warm(meal, task, units)}"
    if task.action != "wait":
        return ""
    return next((s.text.rstrip(".") for s in meal.steps() if s.id == task.step and s.kind is StepKind.WAIT), "")


def what(meal: Meal, plan: EveningPlan, task: PlanTask, units: str) -> str:
    """A task in words of the trade, with the temperature that it wants."""
    step = next((s for s in meal.steps() if s.id == task.step), None)
    text = "" if step is None else step.text.rstrip(".")
    batch = f", batch {task.batch}" if many(plan, task) else ""
    words: dict[str, str] = {
        "fry": f"{task.name}{batch} in the oil",
        "lift": f"Lift {task.name}{batch}, drain, skim",
        "take out": f"{task.name} out of the oven",
        "bake": f"{task.name} in the oven",
        "begin": text or f"Begin {task.name}",
        "do": text or task.name,
        "stove": f"{task.name} on the stove",
        "wait": task.name,
        "keep": f"{task.name} kept warm",
        "heat": f"{task.name} hot",
        "serve": "Serve",
    }
    if task.action == "light":
        begin = "Oven on" if task.name == "oven" else f"Check and light the {task.name}"
        return f"{begin}, {_first(meal, plan, task, units)}"
    if task.action == "drop":
        oil = f", oil at {_degrees(step.fry.oil_c, units)}" if step is not None and step.fry is not None else ""
        return f"Lower {task.name}{batch} ({size_of(task)}){oil}"
    if task.action == "put in":
        oven = f", {_degrees(step.bake.oven_c, units)}" if step is not None and step.bake is not None else ""
        return f"{_upper(text or f'{task.name} into the oven')}{oven}"
    return _upper(words[task.action])


def _first(meal: Meal, plan: EveningPlan, light: PlanTask, units: str) -> str:
    """What a pot or the oven is to be brought to: the temperature of what it is used for first."""
    steps = {s.id: s for s in meal.steps()}
    for task in (t for t in plan.tasks if t.start_s >= light.end_s):
        step = steps.get(task.step)
        if light.name == "oven" and task.action in ("bake", "keep") and step is not None:
            return _degrees(step.bake.oven_c, units) if task.action == "bake" and step.bake is not None else _warm(meal, task, units)
        if task.action == "fry" and light.name in task.resources and step is not None and step.fry is not None:
            return f"oil to {_degrees(step.fry.oil_c, units)}"
    return "hot"


def _warm(meal: Meal, kept: PlanTask, units: str) -> str:
    hold = meal.step(kept.step).hold
    return _degrees(OVEN_KEEP_C if hold is None or hold.oven_c is None else hold.oven_c, units)


def _degrees(celsius: float, units: str) -> str:
    return f"{degrees(celsius, units)} {units}"


def many(plan: EveningPlan, task: PlanTask) -> bool:
    """Whether a task is of one of several batches."""
    return task.batch > 0 and len(plan.batches.get(task.step, ())) > 1


def _upper(words: str) -> str:
    return words[:1].upper() + words[1:]


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


def sessions(meal: Meal, plan: EveningPlan, units: str, today: date) -> list[tuple[str, list[Row]]]:
    """What the cook does, a list for each day; each with a heading ("" when there is but one day, and it is today)."""
    days: dict[date, list[Row]] = {}
    for row in rows(meal, plan, units):
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


def text_sheet(meal: Meal, plan: EveningPlan, shopping: Shopping, remarks: tuple[str, ...], units: str, today: date) -> str:
    """The plan for a terminal."""
    names = {d.id: d.name for d in meal.dishes}
    begin, serve = at_day(plan, plan.begin_s(), today), at_day(plan, 0.0, today)
    lines = [f"{meal.title}, for {plan.people}. Serve {serve}. Begin {begin}.", *remarks]
    for heading, found in sessions(meal, plan, units, today):
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
    line = f"{clock(plan.serve_s + row.start_s):>6}  {row.what}"
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


def html_sheet(meal: Meal, plan: EveningPlan, shopping: Shopping, remarks: tuple[str, ...], units: str, today: date) -> str:
    """The plan as one page to print and pin to the wall: no script, nothing fetched."""
    body = "".join(_html(meal, plan, shopping, remarks, units, today))
    head = f'<meta charset="utf-8"><title>{escape(meal.title)}</title><style>{_STYLE}</style>'
    return f'<!DOCTYPE html>\n<html lang="en"><head>{head}</head>\n<body>\n{body}</body></html>\n'


def _html(meal: Meal, plan: EveningPlan, shopping: Shopping, remarks: tuple[str, ...], units: str, today: date) -> Iterator[str]:
    names = {d.id: d.name for d in meal.dishes}
    yield f"<h1>{escape(meal.title)}</h1>\n"
    yield f"<p>For {plan.people}. Begin {at_day(plan, plan.begin_s(), today)}, serve <b>{at_day(plan, 0.0, today)}</b>.</p>\n"
    yield from (f"<p>{escape(r)}</p>\n" for r in remarks)
    yield "<table><thead><tr><th>At</th><th>Do</th><th>Takes</th><th>Meanwhile</th></tr></thead><tbody>\n"
    for row in _headed(sessions(meal, plan, units, today)):
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
    if plan.ask_s is not None:
        yield f"<p>At {clock(plan.serve_s + plan.ask_s)}: is everyone here?</p>\n"
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


def calendar(meal: Meal, plan: EveningPlan, units: str, midnight: datetime, stamp: datetime) -> bytes:
    """The plan as RFC 5545: an event for each thing to do, and the meal. midnight: where `serve_s` counts from; stamp: when this was made."""
    from icalendar import Calendar, Event

    book = Calendar()
    book.add("prodid", "-//Stovehand//plan//EN")
    book.add("version", "2.0")
    book.add("x-wr-calname", meal.title)  # by which most calendars name what they read

    def event(uid: str, summary: str, start_s: float, end_s: float) -> None:
        entry = Event()
        entry.add("uid", f"{uid}@{_CALENDAR_NAMESPACE}")
        entry.add("dtstamp", stamp.astimezone(UTC))
        entry.add("summary", summary)
        entry.add("dtstart", (midnight + timedelta(seconds=plan.serve_s + start_s)).astimezone(UTC))
        entry.add("dtend", (midnight + timedelta(seconds=plan.serve_s + end_s)).astimezone(UTC))
        book.add_component(entry)

    day = f"{midnight:%Y%m%d}"
    for task in plan.tasks:
        uid = f"{plan.meal}-{day}-{task.id}"
        if words := put_by(meal, plan, task, units):
            event(uid, words, task.start_s, task.start_s + 60.0)
        elif task.action not in SILENT:
            event(uid, what(meal, plan, task, units), task.start_s, max(task.end_s, task.start_s + 60.0))
    event(f"{plan.meal}-{day}-serve", f"Serve {meal.title}", 0.0, 1800.0)
    return bytes(book.to_ical())
