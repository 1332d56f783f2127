"""A batch's curve as a picture, SVG or PNG by the file's ending. Loads matplotlib when called."""

from __future__ import annotations

from pathlib import Path

from assistant.kitchen.oil.pot import Curve

ENDINGS = (".svg", ".png")


def draw(curve: Curve, floor_c: float, title: str, file: Path) -> None:
    """Write oil temperature and evaporated water over time, with the floor, to `file`. ValueError for another ending; OSError as it comes."""
    if file.suffix.lower() not in ENDINGS:
        raise ValueError(f"A chart is written as {' or '.join(ENDINGS)}, not '{file.name}'.")
    from matplotlib.figure import Figure

    seconds = [row[0] for row in curve.rows]
    figure = Figure(figsize=(7.0, 4.0), layout="constrained")
    oil = figure.add_subplot()
    oil.plot(seconds, [row[1] for row in curve.rows], color="#005387", label="oil")
    oil.axhline(floor_c, color="#9B2423", linestyle="--", linewidth=1.0, label="floor")
    oil.plot([curve.lowest_at_s], [curve.lowest_c], "o", color="#005387")
    oil.annotate(f"{curve.lowest_c:.0f} °C at {curve.lowest_at_s:.0f} s", (curve.lowest_at_s, curve.lowest_c), (6, 10), textcoords="offset points")
    oil.set(xlabel="seconds after the drop", ylabel="oil, °C", title=title)
    water = oil.twinx()
    water.plot(seconds, [1000.0 * row[2] for row in curve.rows], color="#767676", linestyle=":", label="water driven off")
    water.set_ylabel("water driven off, g")
    lines = oil.get_lines()[:2] + water.get_lines()
    oil.legend(lines, [str(line.get_label()) for line in lines], loc="upper center")
    figure.savefig(file, dpi=120)
