"""The plan as a picture: hands, each pot with its temperature, oven and burners against the clock. SVG, PNG or PDF by the file's ending."""

from __future__ import annotations

from io import BytesIO
from typing import TYPE_CHECKING

from assistant.kitchen.evening import EveningPlan, PlanTask
from assistant.kitchen.meal import Meal
from assistant.kitchen.plan_clock import clock
from assistant.kitchen.plan_figures import ROOM_C, heating

if TYPE_CHECKING:
    from matplotlib.axes import Axes

WIDE_IN_LETTERS = 175  # letters of the small type across the whole chart
COLOURS = ("#005387", "#9B5A00", "#3F6B2A", "#7A2E6B", "#9B2423", "#3B6E75", "#5E5E5E")


def chart(meal: Meal, plan: EveningPlan, ending: str) -> bytes:
    """The picture, in the format of this ending: .svg, .png or .pdf."""
    from matplotlib import rc_context
    from matplotlib.figure import Figure

    pots = [p for p in meal.equipment.pots if any(p.name in t.resources for t in plan.tasks)]
    lanes = ["hands", "helper", *(p.name for p in pots), "oven", "burner"]
    lanes = [lane for lane in lanes if any(lane in t.resources for t in plan.tasks)]
    figure = Figure(figsize=(11.0, 1.5 + 0.75 * len(lanes) + 1.6 * len(pots)), layout="constrained")
    axes = figure.subplots(1 + len(pots), 1, sharex=True, squeeze=False, height_ratios=[len(lanes), *[2] * len(pots)])[:, 0]
    colours = {d.id: COLOURS[i % len(COLOURS)] for i, d in enumerate(meal.dishes)}
    evening = [t for t in plan.tasks if t.start_s > -12 * 3600]
    _lanes(axes[0], lanes, evening, colours)
    for ax, pot in zip(axes[1:], pots, strict=True):
        curve = pot_curve(meal, plan, pot.id)
        ax.plot([s / 60 for s, _ in curve], [c for _, c in curve], color="#9B2423")
        ax.set_ylabel(f"{pot.name}, °C")
        ax.grid(axis="y", linewidth=0.3)
    begin = min(t.start_s for t in evening)
    ticks = [s for s in range(-12 * 3600, 1, 900) if s >= begin - 900]
    axes[-1].set_xticks([s / 60 for s in ticks], [clock(plan.serve_s + s) for s in ticks], rotation=45)
    dishes = [d for d in meal.dishes if any(t.dish == d.id for t in evening)]
    handles = [axes[0].barh([0], [0], color=colours[d.id], label=d.name) for d in dishes]
    axes[0].legend(handles=handles, loc="upper left", bbox_to_anchor=(1.0, 1.0), frameon=False)
    axes[0].set_title(f"{meal.title}, serve at {clock(plan.serve_s)}")
    out = BytesIO()
    # equal plans make equal files
    with rc_context({"svg.hashsalt": meal.id}):
        stamp = {} if ending == ".png" else {"Date" if ending == ".svg" else "CreationDate": None}
        figure.savefig(out, format=ending.removeprefix("."), dpi=120, metadata=stamp)
    return out.getvalue()


def _lanes(ax: Axes, lanes: list[str], tasks: list[PlanTask], colours: dict[str, str]) -> None:
    whole_s = -min(t.start_s for t in tasks)
    level = {lane: len(lanes) - i - 1 for i, lane in enumerate(lanes)}
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
            if (task.end_s - task.start_s) / whole_s * WIDE_IN_LETTERS > len(task.name):
                ax.text(
                    (task.start_s + task.end_s) / 120, y + height / 2, task.name, ha="center", va="center", fontsize=6.5, color="white", clip_on=True
                )
    ax.set_yticks(list(level.values()), list(level))
    ax.set_ylim(-0.6, len(lanes) - 0.4)


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
