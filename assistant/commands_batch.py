"""`stovehand batch`: how much may go into this pot, and what the oil does then. Prints a table, or one JSON object; exit 2 for bad input, 3 when it
cannot be done."""

from __future__ import annotations

import json
import math
import re
from pathlib import Path

import click

from assistant.kitchen.meal import OPEN_FLAME, Heat
from assistant.kitchen.oil.batch import RATIO_LEAST, BatchLimit, LargestBatch, largest_batch
from assistant.kitchen.oil.foods import Cut, UnknownCutError
from assistant.kitchen.oil.foods import cut as find_cut
from assistant.kitchen.oil.headroom import SWELL, SWELL_FOAMY, Headroom, food_that_fits, headroom
from assistant.kitchen.oil.life import OILS
from assistant.kitchen.oil.pot import UNSTATED_W, Curve, Load, Vessel, effective_power, fry_curve, load
from assistant.settings import SettingsError, read_settings

CRISP_K = 15.0
"""Without a floor: the oil may fall this far below its set point and still crisp, K (common practice)."""

HEATS = ("gas", "induction", "coil", "fryer", "outdoor")


class _BadInputError(click.ClickException):
    exit_code = 2


class _CannotError(click.ClickException):
    exit_code = 3


def _within(name: str, value: float | None, least: float, most: float, unit: str) -> None:
    if value is not None and not (math.isfinite(value) and least <= value <= most):
        raise _BadInputError(f"{name} is {value:g} {unit}; it must be from {least:g} to {most:g} {unit}.")


def _altitude() -> float:
    try:
        return read_settings().altitude
    except SettingsError as wrong:
        raise _BadInputError(str(wrong)) from wrong


def _pot(text: str) -> tuple[float, float]:
    found = re.fullmatch(r"\s*(\d+(?:\.\d+)?)\s*[xX×]\s*(\d+(?:\.\d+)?)\s*(?:cm)?\s*", text)
    if found is None:
        raise _BadInputError(f"'{text}' is no pot: write inner width x height in cm, like --pot 26x15.")
    width, height = float(found[1]), float(found[2])
    _within("The pot's width", width, 10, 80, "cm")
    _within("The pot's height", height, 5, 80, "cm")
    return width / 100.0, height / 100.0


@click.command()
@click.option("--pot", "pot", required=True, metavar="WxH", help="Inner diameter x height, cm: 26x15.")
@click.option("--oil", "oil_l", required=True, type=float, metavar="L", help="Oil, litres, measured cold.")
@click.option("--oil-kind", default="blend", show_default=True, help="What oil it is.")
@click.option("--oil-temp", type=float, default=175.0, show_default=True, metavar="C", help="Oil when the food goes in.")
@click.option("--heat", type=click.Choice(HEATS), default="gas", show_default=True, help="What heats the pot.")
@click.option("--power", type=float, metavar="W", help="Nominal power of the burner.")
@click.option("--power-effective", type=float, metavar="W", help="Power that reaches the oil. Neither given: 1000.")
@click.option("--food", "food", required=True, metavar="CUT", help="Food, shape and size: 'potato sticks 10 mm'.")
@click.option("--mass", type=float, metavar="KG", help="Weight of the batch. Left out: the largest.")
@click.option("--food-temp", type=float, default=20.0, show_default=True, metavar="C", help="Food as it goes in; below 0: frozen.")
@click.option("--room", type=float, default=25.0, show_default=True, metavar="C", help="Room.")
@click.option("--floor", "floor_c", type=float, metavar="C", help="The oil must stay above. Left out: 15 below the oil.")
@click.option("--fresh-oil", is_flag=True, help="The first drop into fresh oil.")
@click.option("--wet", is_flag=True, help="Food not patted dry, or starch not rinsed off.")
@click.option("--chart", type=click.Path(dir_okay=False, path_type=Path), metavar="FILE", help="Draw the curve: .svg or .png.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object instead of a table.")
def batch(
    pot: str,
    oil_l: float,
    oil_kind: str,
    oil_temp: float,
    heat: str,
    power: float | None,
    power_effective: float | None,
    food: str,
    mass: float | None,
    food_temp: float,
    room: float,
    floor_c: float | None,
    fresh_oil: bool,
    wet: bool,
    chart: Path | None,
    as_json: bool,
) -> None:
    """How much may go into this pot at once, and what the oil does then."""
    width, height = _pot(pot)
    kind = Heat(heat)
    _within("The oil", oil_l, 0.2, 40, "l")
    _within("The oil's temperature", oil_temp, 110, 200, "C")
    _within("The power", power, 200, 30000, "W")
    _within("The effective power", power_effective, 100, 15000, "W")
    _within("The batch", mass, 0.005, 10, "kg")
    _within("The food's temperature", food_temp, -40, 90, "C")
    _within("The room", room, -10, 50, "C")
    _within("The floor", floor_c, 100, oil_temp, "C")
    if power is not None and power_effective is not None:
        raise _BadInputError("Give --power or --power-effective, not both.")
    if oil_kind not in OILS:
        raise _BadInputError(f"'{oil_kind}' is no oil of the table: one of {', '.join(sorted(OILS))}.")
    if oil_temp > OILS[oil_kind].most_c:
        raise _CannotError(f"{oil_kind.capitalize()} oil may smoke above {OILS[oil_kind].most_c:g} C; it cannot fry at {oil_temp:g}.")
    try:
        cut = find_cut(food)
    except UnknownCutError as wrong:
        raise _BadInputError(str(wrong)) from wrong
    watts = power_effective or (UNSTATED_W if power is None else effective_power(kind, power))
    vessel = Vessel(oil_l, power_w=watts, room_c=room, altitude_m=_altitude(), thermostat_c=oil_temp if kind is Heat.FRYER else None)
    floor = oil_temp - CRISP_K if floor_c is None else floor_c
    foamy, flame, marks = fresh_oil or wet or food_temp < 0, kind in OPEN_FLAME, kind is Heat.FRYER
    swell = SWELL_FOAMY if foamy else SWELL

    def make(kg: float) -> Load:
        return load(cut, kg, food_c=food_temp, wet=wet, frozen=food_temp < 0)

    fits = math.inf if marks else food_that_fits(width, height, oil_l, oil_temp, cut.food.density, swell=swell, open_flame=flame)
    largest = largest_batch(vessel, make, oil_temp, floor, fits, fresh_oil=fresh_oil)
    kg = largest.kg if mass is None else mass
    room_left = headroom(width, height, oil_l, oil_temp, kg, cut.food.density, swell=swell, open_flame=flame, marks=marks)
    if kg < 0.005:
        why = (
            f"{room_left.limit} allows {room_left.cold_l_max:.2f} l, measured cold"
            if largest.limited_by is BatchLimit.HEADROOM
            else largest.limited_by
        )
        raise _CannotError(f"Nothing may go in: {why}.")
    curve = fry_curve(vessel, make(kg), oil_temp, row_s=5.0)
    if chart is not None:
        _draw(curve, floor, f"{kg * 1000:.0f} g {cut.name} in {oil_l:g} l at {oil_temp:g} °C", chart)
    click.echo(json.dumps(_json(curve, room_left, largest)) if as_json else _table(curve, room_left, largest, kg, cut, vessel))
    if not room_left.ok:
        raise _CannotError(f"Too full for {kg * 1000:.0f} g: {room_left.limit} allows {room_left.cold_l_max:.2f} l, measured cold.")


def _draw(curve: Curve, floor_c: float, title: str, file: Path) -> None:
    from assistant.kitchen.oil.chart import draw

    try:
        draw(curve, floor_c, title, file)
    except ValueError as wrong:
        raise _BadInputError(str(wrong)) from wrong
    except OSError as wrong:
        raise _BadInputError(f"The chart cannot be written to {file}: {wrong.strerror or wrong}.") from wrong


def _json(curve: Curve, room: Headroom, largest: LargestBatch) -> dict[str, object]:
    return {
        "lowest_c": round(curve.lowest_c, 2),
        "lowest_at_s": round(curve.lowest_at_s, 1),
        "recovered_at_s": None if curve.recovered_at_s is None else round(curve.recovered_at_s, 1),
        "evaporated_g": round(1000.0 * curve.evaporated_kg, 1),
        "curve": [[round(s, 1), round(c, 2), round(1000.0 * kg, 2)] for s, c, kg in curve.rows],
        "headroom": {
            "cold_l_max": None if room.cold_l_max is None else round(room.cold_l_max, 3),
            "limit": str(room.limit),
            "level_mm": round(room.level_mm, 1),
            "rim_mm": round(room.rim_mm, 1),
        },
        "largest_batch_kg": round(largest.kg, 3),
        "limited_by": str(largest.limited_by),
    }


def _table(curve: Curve, room: Headroom, largest: LargestBatch, kg: float, cut: Cut, vessel: Vessel) -> str:
    back = "not in half an hour" if curve.recovered_at_s is None else f"{curve.recovered_at_s:.0f} s"
    most = "between the marks" if room.cold_l_max is None else f"{room.cold_l_max:.2f} l"
    rows = [
        ("batch", f"{kg * 1000:.0f} g {cut.name}"),
        ("lowest", f"{curve.lowest_c:.1f} °C after {curve.lowest_at_s:.0f} s"),
        ("recovered", back),
        ("water driven off", f"{curve.evaporated_kg * 1000:.0f} g in {curve.rows[-1][0] / 60:.0f} min"),
        ("level with food", f"{room.level_mm:.0f} mm"),
        ("rim above foam", f"{room.rim_mm:.0f} mm"),
        ("most oil, cold", f"{most} ({room.limit})"),
        ("largest batch", f"{largest.kg * 1000:.0f} g, {largest.words} ({largest.limited_by})"),
    ]
    if kg > vessel.oil_kg / RATIO_LEAST:
        rows.append(("too much", "more than one part food to four of oil"))
    elif kg > largest.kg + 0.001:
        rows.append(("note", "more than the largest batch"))
    lines = [f"{name:<18}{value}" for name, value in rows] + ["", "    s     °C  g gone"]
    return "\n".join(lines + [f"{s:5.0f}  {c:5.1f}  {w * 1000:6.1f}" for s, c, w in curve.rows if s % 30 == 0])
