"""`stovehand plan`: when to begin and what to do when, so that all of it is hot at one time; and what to buy for it.

Exit 2 for bad input, 3 when the meal cannot be ready at that time; then nothing is written.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path
from statistics import median

import click

from assistant.clock import SystemClock
from assistant.keeping import with_what_there_was
from assistant.kitchen.cards import MealCardError, find_meal, read_card
from assistant.kitchen.doneness import without_thermometer
from assistant.kitchen.evening import EveningPlan, PlanError, Setting
from assistant.kitchen.meal import Meal, at_altitude
from assistant.kitchen.my_times import forget, read_times, write_times
from assistant.kitchen.plan_chance import WANTED, Sturdy, sturdy_plan
from assistant.kitchen.plan_clock import clock, minutes
from assistant.kitchen.plan_laid import too_long
from assistant.kitchen.plan_safety import instead_of_poultry
from assistant.kitchen.plan_soonest import earliest
from assistant.kitchen.plan_ways import or_else
from assistant.kitchen.scale import scaled
from assistant.kitchen.shopping import HaveError, Shopping, read_have, shopping
from assistant.options import DATA, NOW, PEOPLE, SERVE, When, wrong_serving
from assistant.session.earlier import Made
from assistant.settings import SettingsError, data_folder, read_settings
from assistant.showing.plan_sheet import calendar, html_sheet, text_sheet
from assistant.speaking.prompts import when_made

CHART_ENDINGS = (".svg", ".png", ".pdf")


class _BadInputError(click.ClickException):
    exit_code = 2


class _CannotError(click.ClickException):
    exit_code = 3


@click.command()
@click.argument("meal")
@SERVE
@PEOPLE
@NOW
@click.option("--json", "as_json", is_flag=True, help="One JSON object, times in seconds relative to serving.")
@click.option("--chart", type=click.Path(dir_okay=False, path_type=Path), metavar="FILE", help="Draw the plan: .svg, .png or .pdf.")
@click.option("--print", "sheet", type=click.Path(dir_okay=False, path_type=Path), metavar="FILE.html", help="Write a sheet to print.")
@click.option("--calendar", "ics", type=click.Path(dir_okay=False, path_type=Path), metavar="FILE.ics", help="Write the plan for a calendar.")
@click.option(
    "--have", type=click.Path(exists=True, dir_okay=False, path_type=Path), metavar="FILE", help="What is in the house, a line each: 'flour: 500 g'."
)
@DATA
def plan(
    meal: str,
    serve: When | None,
    people: int | None,
    now: When | None,
    as_json: bool,
    chart: Path | None,
    sheet: Path | None,
    ics: Path | None,
    have: Path | None,
    data: Path | None,
) -> None:
    """When to begin, and what to do when, so that the whole of MEAL is hot at one time."""
    try:
        settings = read_settings()
        units = settings.units
        card = at_altitude(read_card(find_meal(meal)), settings.altitude)
    except (MealCardError, SettingsError) as wrong:
        raise _BadInputError(str(wrong)) from wrong
    folder = data or data_folder()
    wall = datetime.fromtimestamp(SystemClock().now().wall).astimezone()
    midnight = wall.replace(hour=0, minute=0, second=0, microsecond=0)
    if now is not None and (day := now.on(wall.date())) is not None:
        midnight += timedelta(days=(day - wall.date()).days)
    present = now.clock_s if now is not None else wall.hour * 3600.0 + wall.minute * 60.0
    serve_s = None if serve is None else serve.serve_s(midnight.date(), -1.0 if now is not None and _just_passed(serve, present) else present)
    if serve_s is not None and (wrong_time := wrong_serving(serve_s, present)):
        raise _CannotError(wrong_time)
    eaters = people or card.serves
    if chart is not None and chart.suffix.lower() not in CHART_ENDINGS:
        raise _BadInputError(f"A chart is written as {', '.join(CHART_ENDINGS[:-1])} or {CHART_ENDINGS[-1]}, not '{chart.name}'.")
    bought = _shopping(with_what_there_was(folder, scaled(card, eaters)), have)
    ahead = _made_ahead(folder, card, eaters, midnight.timestamp() + present, midnight.timestamp() + (serve_s or present))
    done = frozenset(step for thing in ahead for step in thing.steps)
    setting = Setting(people=eaters, usual_s=read_times(folder).for_meal(card), done=done)
    try:
        reason = ""
        if serve_s is None:
            with or_else(card, None, present, setting):
                soonest = earliest(card, setting, present)
            serve_s, reason = soonest.serve_s, f"It cannot be sooner: {soonest.reason}."
        found = sturdy_plan(card, serve_s, eaters, present, setting)
    except PlanError as wrong:
        raise _CannotError(str(wrong)) from wrong
    undone = [words for dish in without_thermometer(card, instead_of_poultry(card)) for words in dish.say]
    remarks = tuple(r for r in (*undone, reason, *_remarks(found, card, setting, ahead)) if r)
    today = midnight.date()
    written: list[tuple[Path, bytes]] = []
    if chart is not None:
        from assistant.showing.plan_chart import chart as draw

        written.append((chart, draw(card, found.plan, chart.suffix.lower(), units, today)))
    if sheet is not None:
        written.append((sheet, html_sheet(card, found.plan, bought, remarks, units, today).encode()))
    if ics is not None:
        written.append((ics, calendar(card, found.plan, units, midnight, wall)))
    _write(written)
    click.echo(json.dumps(as_dict(found.plan)) if as_json else text_sheet(card, found.plan, bought, remarks, units, today))


def as_dict(plan: EveningPlan) -> dict[str, object]:
    """The plan for programs: no present time, no solver seconds."""
    return {
        "meal": plan.meal,
        "serve": clock(plan.serve_s),
        "for": plan.people,
        "cost": plan.cost,
        "bound": plan.bound,
        "optimal": plan.optimal,
        "tasks": [
            {
                "id": t.id,
                "dish": t.dish,
                "action": t.action,
                "start": round(t.start_s),
                "end": round(t.end_s),
                "resources": list(t.resources),
            }
            for t in plan.tasks
        ],
    }


def _just_passed(serve: When, present: float) -> bool:
    """Whether a time without a day is one of the last half day: with the present given, today's is meant."""
    return not serve.day and 0.0 <= present - serve.clock_s < 43200.0


def _made_ahead(folder: Path, card: Meal, people: int, wall: float, serve_wall: float) -> tuple[Made, ...]:
    """What earlier evenings made and is still good; a journal that cannot be read counts as none."""
    path = folder / "journal.sqlite"
    if not path.is_file():
        return ()
    from assistant.journal import Journal, JournalError
    from assistant.keeping import made_ahead

    try:
        journal = Journal(path, cooking=False)
    except JournalError:
        return ()
    try:
        return tuple(m for m in made_ahead(journal, card, people, wall, serve_wall) if not m.over)
    finally:
        journal.close()


def _shopping(meal: Meal, have: Path | None) -> Shopping:
    names = [i.name for i in meal.ingredients()] + ["oil for frying", *(f"{p.oil_kind} oil for frying" for p in meal.equipment.pots)]
    try:
        stock = read_have(have.read_text(encoding="utf-8"), names) if have is not None else None
    except HaveError as wrong:
        raise _BadInputError(f"{have}, {wrong}") from wrong
    except (OSError, UnicodeDecodeError) as wrong:
        raise _BadInputError(f"{have} cannot be read: {wrong}.") from wrong
    return shopping(meal, stock)


def _remarks(found: Sturdy, meal: Meal, setting: Setting, ahead: tuple[Made, ...]) -> Iterator[str]:
    if ahead:
        things = "; ".join(f"{m.name} ({when_made(m.days)})" for m in ahead)
        yield f"Made already and left out, if still good: {things}. What it took is on the list all the same."
    if found.chance < WANTED or found.before < WANTED:
        air = f" ({found.before:.0%} without the air planned in)" if found.chance > found.before else ""
        yield f"It lands in {found.chance:.0%} of simulated evenings{air}."
    else:
        yield f"It lands in {found.chance:.0%} of simulated evenings."
    yield from (f"{words[:1].upper()}{words[1:]}." for words in too_long(found.plan))
    yield from (f"{p.words}: {p.chance:.0%}." for p in found.proposals)
    if setting.usual_s:
        own = "; ".join(f"{meal.step(s).name} {minutes(t)} (card {minutes(meal.step(s).span.usual_s)})" for s, t in setting.usual_s.items())
        yield f"Planned with your own times: {own}."


def _write(files: list[tuple[Path, bytes]]) -> None:
    """All of them, or a sentence."""
    for file, content in files:
        try:
            file.write_bytes(content)
        except OSError as wrong:
            raise _BadInputError(f"{file} cannot be written: {wrong.strerror or wrong}.") from wrong


@click.command()
@click.option("--forget", "reset", is_flag=True, help="Forget them: plans go by the cards again.")
@click.argument("meal", required=False)
@DATA
def times(meal: str | None, reset: bool, data: Path | None) -> None:
    """How long you took for each step, as the next plan takes it; of MEAL, or of every meal."""
    folder = data or data_folder()
    known = read_times(folder)
    if reset:
        write_times(folder, forget(known, meal))
        return
    for key, seen in sorted(known.seen.items()):
        if meal is None or key.startswith(f"{meal}/"):
            click.echo(f"{key}  {minutes(median(seen))} in {len(seen)} evening{'' if len(seen) == 1 else 's'}")
