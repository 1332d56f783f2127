"""The plan as a picture: hands, each pot with its temperature, oven and burners against the clock. SVG, PNG or PDF by the file's ending."""

from __future__ import annotations

from datetime import date
from io import BytesIO
from typing import TYPE_CHECKING

from assistant.kitchen.evening import EveningPlan, PlanTask
from assistant.kitchen.meal import Meal
from assistant.kitchen.plan_clock import clock
from assistant.kitchen.plan_figures import ROOM_C, heating
from assistant.showing.plan_sheet import at_day, day_of, many
from assistant.speaking.prompts import degrees

if TYPE_CHECKING:
    from matplotlib.axes import Axes

WIDE_IN_LETTERS = 175  # letters of the small type across the whole chart
MOST_LINES = 4  # lines of it in a lane
FEW = 4  # bars in a lane that leave room for names beside them
HOUR_S = 3600.0
EVENING_S = 12 * HOUR_S
COLOURS = ("#005387", "#9B5A00", "#3F6B2A", "#7A2E6B", "#9B2423", "#3B6E75", "#5E5E5E")


def chart(meal: Meal, plan: EveningPlan, ending: str, units: str, today: date) -> bytes:
    """The picture, in the format of this ending: .svg, .png or .pdf; days before the evening each in a strip of their own. today: the date that
    `serve_s` counts from."""
    from matplotlib import rc_context
    from matplotlib.figure import Figure

    pots = [p for p in meal.equipment.pots if any(p.name in t.resources for t in plan.tasks)]
    order = ["hands", "helper", *(p.name for p in pots), "oven", "burner"]
    evening = [t for t in plan.tasks if t.start_s > -EVENING_S]
    before: dict[date, list[PlanTask]] = {}
    for task in (t for t in plan.tasks if t.start_s <= -EVENING_S and t.resources):
        before.setdefault(day_of(plan, task.start_s, today), []).append(task)
    strips = [(f"{day:%A}", tasks) for day, tasks in before.items()]
    strips.append((f"{meal.title}, serve {at_day(plan, 0.0, today)}", evening))
    lanes = [[lane for lane in order if any(lane in t.resources for t in tasks)] for _, tasks in strips]
    heights = [*(len(x) + 0.4 for x in lanes), *[2.0] * len(pots)]
    figure = Figure(figsize=(11.0, 1.5 + 0.8 * sum(heights)), layout="constrained")
    axes = figure.subplots(len(heights), 1, squeeze=False, height_ratios=heights)[:, 0]
    colours = {d.id: COLOURS[i % len(COLOURS)] for i, d in enumerate(meal.dishes)}
    for ax, (title, tasks), names in zip(axes, strips, lanes, strict=False):
        begin, end = min(t.start_s for t in tasks), max(t.end_s for t in tasks if t.resources)
        end = 0.0 if tasks is evening else max(end, begin + HOUR_S)
        _lanes(ax, plan, names, tasks, colours, end - begin)
        _clock(ax, plan, begin, end)
        ax.set_title(title)
    top = axes[len(strips) - 1]
    for ax, pot in zip(axes[len(strips) :], pots, strict=True):
        curve = pot_curve(meal, plan, pot.id)
        ax.plot([s / 60 for s, _ in curve], [float(degrees(c, units)) for _, c in curve], color="#9B2423")
        ax.set_ylabel(f"{pot.name}, °{units}")
        ax.grid(axis="y", linewidth=0.3)
        _clock(ax, plan, min(t.start_s for t in evening), 0.0)
    dishes = [d for d in meal.dishes if any(t.dish == d.id for t in plan.tasks)]
    handles = [top.barh([0], [0], color=colours[d.id], label=d.name) for d in dishes]
    top.legend(handles=handles, loc="upper left", bbox_to_anchor=(1.0, 1.0), frameon=False)
    out = BytesIO()
    # equal plans make equal files
    with rc_context({"svg.hashsalt": meal.id}):
        stamp = {} if ending == ".png" else {"Date" if ending == ".svg" else "CreationDate": None}
        figure.savefig(out, format=ending.removeprefix("."), dpi=120, metadata=stamp)
    return out.getvalue()


def _clock(ax: Axes, plan: EveningPlan, begin: float, end: float) -> None:
    """Times of day below, every quarter of an hour, or half hour where that would crowd."""
    every = 900 if end - begin <= 3 * HOUR_S else 1800
    first = -(-(plan.serve_s + begin) // every) * every - plan.serve_s
    ticks = [first + n * every for n in range(int((end - first) // every) + 1)]
    ax.set_xticks([s / 60 for s in ticks], [clock(plan.serve_s + s) for s in ticks])
    ax.set_xlim((begin - 60) / 60, (end + 60) / 60)


def _lanes(ax: Axes, plan: EveningPlan, lanes: list[str], tasks: list[PlanTask], colours: dict[str, str], whole_s: float) -> None:
    level = {lane: len(lanes) - i - 1 for i, lane in enumerate(lanes)}
    end_s = max((t.end_s for t in tasks), default=0.0)
    for lane in lanes:
        ends: list[float] = []
        users = [t for t in tasks if lane in t.resources and (t.action != "heat" or lane != "burner" or t.end_s > t.start_s)]
        rows = []
        for task in users:
            row = next((i for i, end in enumerate(ends) if end <= task.start_s), len(ends))
            ends[row : row + 1] = [task.end_s]
            rows.append(row)
        height = 0.8 / max(1, len(ends))
        for task, row in zip(users, rows, strict=True):
            y = level[lane] - 0.4 + row * height
            colour = colours.get(task.dish, "#767676")
            ax.barh(y, (task.end_s - task.start_s) / 60, left=task.start_s / 60, height=height * 0.92, align="edge", color=colour, edgecolor="white")
            lines = label(task, many(plan, task), (task.end_s - task.start_s) / whole_s * WIDE_IN_LETTERS, int(MOST_LINES * height / 0.8))
            beside = not lines and len(users) <= FEW
            letter_s = whole_s / WIDE_IN_LETTERS
            after = task.end_s + len(task.name) * letter_s <= end_s  # else its name goes before it
            at_s = (task.end_s + letter_s if after else task.start_s - letter_s) if beside else (task.start_s + task.end_s) / 2
            words, across, ink = (task.name, "left" if after else "right", "black") if beside else (lines, "center", "white")
            ax.text(at_s / 60, y + height / 2, words, ha=across, va="center", fontsize=6.5, color=ink, linespacing=1.1, clip_on=True)
    ax.set_yticks(list(level.values()), list(level))
    ax.set_ylim(-0.6, len(lanes) - 0.4)


def label(task: PlanTask, batched: bool, letters: float, most_lines: int) -> str:
    """The name of a task, with its batch where there are several, broken into lines of so many letters; "" where it does not fit."""
    name = f"{task.dish.replace('-', ' ')} kept warm" if task.action == "keep" else task.name
    lines: list[str] = []
    for word in f"{name} {task.batch if batched else ''}".split():
        if lines and len(lines[-1]) + 1 + len(word) < letters:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    return "\n".join(lines) if len(lines) <= most_lines and all(len(line) < letters for line in lines) else ""


def pot_curve(meal: Meal, plan: EveningPlan, pot_id: str) -> list[tuple[float, float]]:
    """(s relative to serving, °C): the oil's set points, reached as late as each batch allows."""
    pot = next(p for p in meal.equipment.pots if p.id == pot_id)
    light = next(t for t in plan.tasks if t.id == f"{pot_id}:light")
    at, curve = ROOM_C, [(light.end_s, ROOM_C)]
    for task in plan.tasks:
        step = next((s for s in meal.steps() if s.id == task.step), None)
        if task.action != "fry" or step is None or step.fry is None or step.fry.pot != pot_id:
            continue
        wanted = step.fry.oil_c
        change = task.start_s - heating(pot, at, wanted)
        curve += [(max(change, curve[-1][0]), at), (task.start_s, wanted), (task.end_s, wanted)]
        at = wanted
    return curve
