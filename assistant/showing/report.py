"""The report of an evening: one page that stands alone, and the same figures as CSV and JSON. Values in, text out; nothing is decided here.

The cook's notes and what was misheard are free text: they are shown as text, never as markup, here and nowhere else.
"""

from __future__ import annotations

import csv
import json
from collections.abc import Iterable, Iterator
from dataclasses import asdict, fields
from io import StringIO
from typing import Any

from assistant.session.state import Status
from assistant.showing import report_charts
from assistant.showing.report_advice import Advice
from assistant.showing.report_html import AID, LOCAL, Html, bullets, el, join, page, svg, table, table_row
from assistant.showing.report_incidents import Incident
from assistant.showing.report_model import BatchRow, Report, StepRow
from assistant.showing.report_words import clock, stamp, temperature, took
from assistant.speaking.prompts import upper

REASONS = {
    "unknown": "no such sentence",
    "unsure": "heard badly, asked again",
    "not_addressed": "not meant for the assistant",
    "speaking": "said while the assistant spoke",
    "unknown_item": "names nothing of this meal",
    "value": "a number that makes no sense",
}
NO_NEWS_S = 60.0
COLUMNS = (
    *("step", "name", "dish", "kind", "status", "batch", "planned_start_s", "planned_end_s", "start_s", "end_s", "took_s"),
    *("oil_c", "wanted_c", "floor_c", "lowest_c", "looks"),
)


def html_report(report: Report, advice: Iterable[Advice], day: str = "") -> str:
    """The page. day: the date in words, where it is known."""
    sections = (_next_time(tuple(advice)), _timetable(report), _oil(report), _alarms(report), _waits(report), _food(report), _notes(report))
    body = [part for section in (*sections, _misheard(report)) for part in section]
    foot = el("footer", f"{AID} {LOCAL}")
    return page(f"{report.meal.title}: how the evening went", *_head(report, day), *body, foot)


def _at(report: Report, t: float | None, seconds: bool = False) -> str:
    return "" if t is None else clock(report.day_s + t, seconds)


def _head(report: Report, day: str) -> Iterator[Html]:
    yield el("h1", report.meal.title)
    when = f"{day}, " if day else ""
    begun = f"{when}for {report.people}. Begun at {_at(report, 0.0)}, planned to serve at {_at(report, report.planned_serve_t)}"
    if report.served_t is None:
        yield el("p", f"{begun}; nobody said that dinner was up.", cls="lead")
    else:
        late = report.served_t - report.planned_serve_t
        how = "on time" if abs(late) < 5 * NO_NEWS_S else f"{took(abs(late))} {'late' if late > 0 else 'early'}"
        yield el("p", f"{begun}; dinner was up at {_at(report, report.served_t)}, {how}.", cls="lead")
    if not report.ended:
        yield el("p", f"This evening was not brought to its end; the last that is known is from {_at(report, report.end_t)}.", cls="soft")
    bad = [i for i in report.incidents if i.kind == "danger"]
    for i in bad:
        yield el("p", el("b", f"{_at(report, i.t)} "), _cause(i), cls="warn")


def _next_time(advice: tuple[Advice, ...]) -> Iterator[Html]:
    yield el("h2", "Next time")
    if not advice:
        yield el("p", "Nothing that a figure of this evening speaks for.")
        return
    yield bullets(*(join(el("b", a.say), " ", el("span", a.because, cls="soft")) for a in advice))


def _timetable(report: Report) -> Iterator[Html]:
    yield el("h2", "Planned and actual")
    words = "Each step: hollow above as planned, filled below as it went; red is food in heat, light grey a wait, hatched the evening on hold."
    if any(r.planned_start_t is not None or r.began_t is not None for r in report.steps):
        yield el("figure", svg(report_charts.timetable(report), "t", words), el("figcaption", words))
    rows = [row for step in report.steps for row in _step_rows(report, step)]
    yield table(("Step", "Planned", "Actual", "Began, against plan", "Took", "Planned to take"), *rows)


def _step_rows(report: Report, row: StepRow) -> Iterator[Html]:
    planned = f"{_at(report, row.planned_start_t)} – {_at(report, row.planned_end_t)}" if row.planned_start_t is not None else ""
    length = took(row.planned_end_t - row.planned_start_t) if row.planned_start_t is not None and row.planned_end_t is not None else ""
    actual = f"{_at(report, row.began_t) or '?'} – {_at(report, row.done_t) or '?'}" if row.began_t is not None or row.done_t is not None else ""
    actual = {Status.SKIPPED: "left out", Status.TODO: "not begun"}.get(Status(row.status), actual)
    moved = ""
    if row.began_t is not None and row.planned_start_t is not None:
        late = row.began_t - row.planned_start_t
        moved = "on time" if abs(late) < NO_NEWS_S else f"{took(abs(late))} {'late' if late > 0 else 'early'}"
    yield table_row((upper(row.name), planned, actual, moved, took(row.took_s) if row.took_s is not None else "", length), frozenset({1, 2}))
    for b in row.batches:
        inside = f"{_at(report, b.in_t)} – {_at(report, b.lifted_t) or 'still in'}"
        card = took(min(b.usual_s, 60.0) if b.test else b.usual_s)
        yield table_row((b.label, "", inside, "", took(b.heat_s) if b.heat_s is not None else "", card), frozenset({1, 2}), cls="sub")


def _oil(report: Report) -> Iterator[Html]:
    if not report.pots:
        return
    yield el("h2", "The oil")
    for i, pot in enumerate(report.pots):
        words = report_charts.oil_words(report, pot)
        note = "Down is a drop, up a lift; shaded: food in the oil; hatched: on hold."
        yield el("figure", svg(report_charts.oil(report, pot), f"o{i}", words), el("figcaption", f"{upper(words)} {note}"))
        rows = [_oil_row(report, name, b) for name, b in pot.fried]
        if rows:
            yield table(("Batch", "In at", "Oil", "Wanted", "Lowest read", "In for", "Card", "Came out"), *rows, narrow=frozenset({1, 2, 3, 4, 5, 6}))
        if pot.oil:
            yield el("p", pot.oil)


def _oil_row(report: Report, name: str, b: BatchRow) -> tuple[str, ...]:
    def degrees(c: float | None, none: str = "") -> str:
        return none if c is None else temperature(c, report.units)

    card = took(min(b.usual_s, 60.0) if b.test else b.usual_s)
    looks = ", ".join((*b.looks, *(("dropped all the same",) if b.overruled else ())))
    heat = took(b.heat_s) if b.heat_s is not None else "still in"
    return (
        f"{upper(name)}, {b.label}",
        _at(report, b.begun_t),
        degrees(b.oil_c, "not read"),
        degrees(b.wanted_c),
        degrees(b.lowest_c),
        heat,
        card,
        looks,
    )


def _alarms(report: Report) -> Iterator[Html]:
    yield el("h2", "Alarms and near misses")
    serious = [i for i in report.incidents if not i.routine]
    if words := _acted_on(report):
        yield el("p", words)
    if not serious:
        yield el("p", "None.")
    else:
        rows = [_incident(report, i) for i in serious]
        yield table(("When", "What", "Cause", "Said", "What was done"), *rows, narrow=frozenset({0, 1}))
    calls = [i for i in report.incidents if i.routine]
    if calls:
        yield el("h3", "Called and answered at once")
        yield bullets(*(f"{_at(report, i.t)} {i.words} Answered after {took((i.end_t or i.t) - i.t)}." for i in calls))


def _acted_on(report: Report) -> str:
    """How many of the calls and alarms led to something: whoever is warned of nothing too often stops listening. Empty where there were none."""
    alarms = [i for i in report.incidents if i.kind == "alarm"]
    acted = sum(i.acted for i in alarms)
    if not alarms:
        return ""
    if acted == len(alarms):
        return f"You acted on every one of {len(alarms)} calls and alarms." if acted > 1 else "You acted on the one call there was."
    idle = len(alarms) - acted
    rest = "one was not acted on: if nothing had" if idle == 1 else f"{idle} were not acted on: where nothing had"
    return f"You acted on {acted} of {len(alarms)} calls and alarms; {rest} to be done, it was one warning too many."


def _cause(i: Incident) -> str:
    return f"{i.cause.rstrip('.')}." + (f" Heard: “{i.heard}”." if i.heard else "")


def _incident(report: Report, i: Incident) -> tuple[str, ...]:
    kind = f"{upper(i.kind)}, {i.priority}" if i.kind == "alarm" else upper(i.kind)
    said = i.words + (f" ({i.times} times)" if i.times > 1 else "")
    over = f" Over after {took(i.end_t - i.t)}." if i.kind == "alarm" and i.end_t is not None else ""
    return _at(report, i.t, seconds=True), kind, _cause(i), said, f"{i.done.rstrip('.')}.{over}"


def _waits(report: Report) -> Iterator[Html]:
    if not report.waits:
        return
    yield el("h2", "What each dish waited before serving")
    rows = []
    for w in report.waits:
        verdict = ""
        if w.best_s is not None and w.most_s is not None:
            verdict = "at its best" if w.seconds <= w.best_s else "past its best" if w.seconds <= w.most_s else "longer than it keeps"
        limits = ("" if s is None else took(s) for s in (w.best_s, w.most_s))
        rows.append((upper(w.name), _at(report, w.ready_t), _at(report, w.served_t), took(w.seconds), *limits, verdict))
    yield table(("Dish", "Ready", "Plated", "Waited", "Best for", "At most", ""), *rows)


def _food(report: Report) -> Iterator[Html]:
    if not report.clocks:
        return
    yield el("h2", "Perishable food")
    rows = []
    for c in report.clocks:
        used = f"{c.used:.0%}" + (f" of {took(c.limit_s)}" if c.used > 0 else "")
        out = took(c.out_s) if c.out_s > 0 else "never"
        state = f"discard: {c.over}" if c.over and c.ended != "discarded" else c.ended or "still there"
        rows.append((upper(c.name), c.kind, c.place, out, used, state))
    yield table(("What", "Kind", "Last place", "Out of the cold or heat", "Time used up", "In the end"), *rows)


def _notes(report: Report) -> Iterator[Html]:
    yield el("h2", "Notes")
    if not report.notes:
        yield el("p", "None. Say “make a note”, and what it is.")
        return
    rows = [(f"{_at(report, n.t)} ({stamp(n.t)})", n.text, n.during) for n in report.notes]
    yield table(("When (kitchen time)", "Note", "While"), *rows)


def _misheard(report: Report) -> Iterator[Html]:
    yield el("h2", "What was misheard")
    if not report.misheard:
        yield el("p", f"Nothing; {report.heard} sentences were heard.")
        return
    yield el("p", f"{len(report.misheard)} of {report.heard} sentences: not acted on.", cls="keep")
    yield table(("When", "Heard", "Why not"), *((_at(report, m.t, True), m.words, REASONS.get(m.reason, m.reason)) for m in report.misheard))


def csv_report(report: Report) -> str:
    """The timetable, a line a step and a line a batch: kitchen time in s, temperatures in C."""
    out = StringIO()
    lines = csv.writer(out)
    lines.writerow(COLUMNS)

    def figures(*values: float | None) -> list[str]:
        return ["" if v is None else f"{v:.1f}" for v in values]

    for r in report.steps:
        head = [r.step, r.name, r.dish, r.kind, r.status]
        lines.writerow([*head, "", *figures(r.planned_start_t, r.planned_end_t, r.began_t, r.done_t, r.took_s), "", "", "", "", ""])
        for b in r.batches:
            times = figures(b.in_t, b.lifted_t, b.heat_s, b.oil_c, b.wanted_c, b.floor_c, b.lowest_c)
            lines.writerow([*head, b.label, "", "", *times, " ".join(b.looks)])
    return out.getvalue()


def json_report(report: Report, advice: Iterable[Advice], evening: int, began: float) -> str:
    """Everything the page shows, for programs: kitchen time in s, temperatures in C. evening: its number; began: s since the epoch."""
    data: dict[str, Any] = {"evening": evening, "began": began, "meal": report.meal.id, "title": report.meal.title}
    for f in fields(report):
        if f.name not in ("meal", "card", "file"):
            value = getattr(report, f.name)
            data[f.name] = [asdict(x) if hasattr(x, "__dataclass_fields__") else x for x in value] if isinstance(value, tuple) else value
    data["advice"] = [asdict(a) for a in advice]
    return json.dumps(data, ensure_ascii=True, indent=1) + "\n"
