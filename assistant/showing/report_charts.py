"""Two pictures of an evening as SVG: the timetable, planned above actual, and each pot's oil with drops, lifts and holds. Values in, text out.

Nothing is told by colour alone: planned is hollow and actual filled, drops point down and lifts up, holds are hatched. Equal evenings make equal
files.
"""

from __future__ import annotations

from io import StringIO
from typing import TYPE_CHECKING, Any

from assistant.session.state import Status
from assistant.showing.report_model import BatchRow, PotLog, Report, StepRow
from assistant.showing.report_words import clock, temperature

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

INK, SOFT, HEAT, OIL, BATCH = "#000000", "#444444", "#9B2423", "#005387", "#F1DFC4"
SIGMAS = 1.645
LABEL_S = 90.0
_PAPER: dict[str, Any] = {"facecolor": "white", "alpha": 0.75, "pad": 0.6, "linewidth": 0}
_RC = {"svg.fonttype": "none", "text.parse_math": False, "font.size": 8.5, "axes.spines.top": False, "axes.spines.right": False}
_NO_DATE: dict[str, Any] = {"Date": None, "Creator": None, "Format": None, "Type": None}


def timetable(report: Report) -> str:
    """Every step, its plan (hollow) over what happened (filled; food in heat red)."""
    rows = [r for r in report.steps if r.status != Status.SKIPPED and (r.began_t is not None or r.planned_start_t is not None)]

    def draw(figure: Figure) -> None:
        ax = figure.subplots()
        for i, row in enumerate(rows):
            _bar(ax, report, row, len(rows) - i - 1)
        ax.set_yticks(range(len(rows) - 1, -1, -1), [r.name for r in rows])
        ax.set_ylim(-0.7, len(rows) - 0.3)
        ax.tick_params(axis="y", length=0)
        for i in range(len(rows)):
            ax.axhline(i, color="#DDDDDD", linewidth=0.4, zorder=0)
        _pauses(ax, report)
        _lines(ax, report)
        _times(ax, report, *_span(report))

    return _svg(draw, 0.75 + 0.21 * len(rows), 1.55, 0.35, "timetable")


def _span(report: Report) -> tuple[float, float]:
    times = [t for r in report.steps for t in (r.planned_start_t, r.planned_end_t, r.began_t, r.done_t) if t is not None]
    begin, end = min((*times, 0.0)), max((*times, 60.0))
    return begin, end + 0.06 * (end - begin)


def _bar(ax: Axes, report: Report, row: StepRow, y: int) -> None:
    if row.planned_start_t is not None and row.planned_end_t is not None:
        ax.broken_barh(
            [(row.planned_start_t, row.planned_end_t - row.planned_start_t)], (y + 0.08, 0.26), facecolor="white", edgecolor=SOFT, linewidth=0.8
        )
    end = row.done_t if row.done_t is not None else report.end_t if row.began_t is not None else None
    if row.began_t is not None and end is not None:
        waits = row.kind == "wait"
        light = waits or bool(row.batches)
        ax.broken_barh([(row.began_t, max(end - row.began_t, 15.0))], (y - 0.36, 0.36), facecolor="#BBBBBB" if light else OIL, linewidth=0)
    for b in row.batches:
        out = b.lifted_t if b.lifted_t is not None else report.end_t
        ax.broken_barh([(b.in_t, max(out - b.in_t, 15.0))], (y - 0.36, 0.36), facecolor=HEAT, edgecolor="white", linewidth=0.6)


def _lines(ax: Axes, report: Report) -> None:
    top = ax.get_ylim()[1]
    begin, end = _span(report)
    as_planned = report.served_t is not None and abs(report.served_t - report.planned_serve_t) < 0.03 * (end - begin)
    if not as_planned:
        ax.axvline(report.planned_serve_t, color=SOFT, linewidth=1.0, linestyle="--")
        ax.text(report.planned_serve_t, top, "dinner, planned ", ha="right", va="bottom", color=SOFT, fontsize=8)
    if report.served_t is not None:
        ax.axvline(report.served_t, color=INK, linewidth=1.2)
        words = "dinner, as planned" if as_planned else "dinner"
        ax.text(report.served_t, top, words, ha="right" if as_planned else "center", va="bottom", color=INK, fontsize=8)


def _pauses(ax: Axes, report: Report) -> None:
    for p in report.pauses:
        end = p.ended_t if p.ended_t is not None else report.end_t
        ax.axvspan(p.began_t, end, facecolor="none", edgecolor="#888888", hatch="////", linewidth=0.0, zorder=0)


def oil(report: Report, pot: PotLog) -> str:
    """The oil of one pot against the clock, in the cook's units."""

    def shown(celsius: float) -> float:
        return celsius * 1.8 + 32.0 if report.units == "F" else celsius

    def draw(figure: Figure) -> None:
        ax = figure.subplots()
        for i, (name, b) in enumerate(pot.fried):
            _batch(ax, report, name, b, shown, first=i == 0)
        if pot.estimate:
            t = [x for x, _, _ in pot.estimate]
            ax.plot(t, [shown(c) for _, c, _ in pot.estimate], color=OIL, linewidth=1.2, label="estimated")
            low, high = ([shown(c + sign * SIGMAS * s) for _, c, s in pot.estimate] for sign in (-1, 1))
            ax.fill_between(t, low, high, color=OIL, alpha=0.15, linewidth=0)
        if pot.readings:
            if not pot.estimate:
                ax.plot([r.t for r in pot.readings], [shown(r.celsius) for r in pot.readings], color=INK, linewidth=0.6, linestyle=":")
            ax.plot([r.t for r in pot.readings], [shown(r.celsius) for r in pot.readings], "o", color=INK, markersize=4, label="read")
            named = [r for i, r in enumerate(pot.readings) if i == 0 or r.t - pot.readings[i - 1].t > LABEL_S]
            for r in named:
                ax.annotate(
                    f"{shown(r.celsius):.0f}", (r.t, shown(r.celsius)), xytext=(4, -10), textcoords="offset points", fontsize=7.5, bbox=_PAPER
                )
        _pauses(ax, report)
        _scale(ax, report, pot, shown)
        _marks(ax, pot)
        figure.legend(loc="lower center", ncols=6, frameon=False, fontsize=8)

    return _svg(draw, 3.5, 0.6, 0.62, f"oil {pot.name}")


def _batch(ax: Axes, report: Report, name: str, b: BatchRow, shown: Any, first: bool) -> None:
    out = b.lifted_t if b.lifted_t is not None else report.end_t
    ax.axvspan(b.begun_t, out, color=BATCH, linewidth=0, zorder=-1)
    if b.wanted_c is None or b.floor_c is None:
        return
    label = ("set point", "floor", "drop", "lift") if first else ("", "", "", "")
    ax.plot([b.begun_t, out], [shown(b.wanted_c)] * 2, color=HEAT, linewidth=1.2, linestyle="--", label=label[0])
    ax.plot([b.begun_t, out], [shown(b.floor_c)] * 2, color=HEAT, linewidth=1.0, linestyle=":", label=label[1])
    ax.plot([b.begun_t], [shown(b.wanted_c)], marker="v", color=HEAT, markersize=6, linestyle="none", label=label[2])
    if b.lifted_t is not None:
        ax.plot([b.lifted_t], [shown(b.wanted_c)], marker="^", color=SOFT, markersize=6, linestyle="none", label=label[3])
    words = "test" if b.test else f"{name}, {b.label.removeprefix('batch ')}"
    ax.text(
        (b.begun_t + out) / 2, 0.99, words, transform=ax.get_xaxis_transform(), rotation=90, ha="center", va="top", fontsize=7, color=INK, bbox=_PAPER
    )


def _scale(ax: Axes, report: Report, pot: PotLog, shown: Any) -> None:
    """The range that matters: a cold start may leave the picture at the bottom."""
    figures = [r.celsius for r in pot.readings] + [c for _, b in pot.fried for c in (b.wanted_c, b.floor_c) if c is not None]
    figures += [c for _, c, _ in pot.estimate if c > 90.0]
    low, high = min(figures, default=100.0), max(figures, default=200.0)
    ax.set_ylim(shown(low - 15.0), shown(high + (high - low + 30.0) * 0.45))
    ax.set_ylabel(f"oil, °{report.units}")
    ax.grid(axis="y", linewidth=0.3, color="#CCCCCC")
    times = [r.t for r in pot.readings] + [m.t for m in pot.marks] + [t for _, b in pot.fried for t in (b.begun_t, b.lifted_t) if t is not None]
    _times(ax, report, min(times, default=0.0) - 120.0, max(times, default=600.0) + 120.0)


def _marks(ax: Axes, pot: PotLog) -> None:
    for m in pot.marks:
        bad = m.what in ("foam", "smoke")
        ax.axvline(m.t, color=HEAT if bad else "#888888", linewidth=1.6 if bad else 0.6)
        words = m.words.removeprefix("burner ")
        ax.text(
            m.t,
            0.01,
            f" {words}",
            transform=ax.get_xaxis_transform(),
            rotation=90,
            va="bottom",
            ha="left",
            fontsize=7,
            color=HEAT if bad else SOFT,
            bbox=_PAPER,
        )


def _times(ax: Axes, report: Report, begin: float, end: float) -> None:
    """Clock times below, at round minutes."""
    step = next((s for s in (300, 600, 900, 1800) if (end - begin) / s <= 11), 3600)
    first = begin + (-(report.day_s + begin)) % step
    ticks = [first + i * step for i in range(int((end - first) // step) + 1)]
    ax.set_xlim(begin, end)
    ax.set_xticks(ticks, [clock(report.day_s + t + 1.0) for t in ticks])


def _svg(draw: Any, height: float, left: float, below: float, salt: str) -> str:
    """Drawn 7.2 inches wide, with so many inches for the labels."""
    from matplotlib import rc_context
    from matplotlib.figure import Figure

    settings: Any = {**_RC, "svg.hashsalt": salt}
    with rc_context(settings):
        figure = Figure(figsize=(7.2, height))
        figure.subplots_adjust(left=left / 7.2, right=0.965, bottom=below / height, top=1.0 - 0.3 / height)
        draw(figure)
        out = StringIO()
        figure.savefig(out, format="svg", metadata=_NO_DATE)
    return out.getvalue()


def oil_words(report: Report, pot: PotLog) -> str:
    """The picture in a sentence."""
    if not pot.readings:
        return f"{pot.name}: nobody read the oil."
    least, most = (temperature(f(r.celsius for r in pot.readings), report.units) for f in (min, max))
    return f"{pot.name}: {len(pot.readings)} readings from {least} to {most}, {sum(not b.test for _, b in pot.fried)} full batches."
