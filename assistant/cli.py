"""The command line. Every command is a thin layer over the rooms; nothing is decided here.

Exit codes: 0 done; 1 a difference (a rehearsal did not go as its script, a check failed); 2 usage (bad options, a card, script or file that is
wrong); 3 the meal cannot be cooked as asked. Heavy libraries load only in the commands that need them.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

import click

from assistant import __version__
from assistant.clock import Clock, FakeClock, SystemClock
from assistant.evening import Evening, total_length
from assistant.journal import Journal, JournalError
from assistant.kitchen.cards import MealCardError, find_meal, list_meals, new_card, read_card
from assistant.kitchen.meal import OPEN_FLAME, Meal, at_altitude
from assistant.kitchen.plan_safety import instead_of_poultry
from assistant.options import DATA, PEOPLE, SERVE, When, wrong_serving
from assistant.session import events as e
from assistant.settings import Settings, SettingsError, data_folder, read_settings
from assistant.speaking.line import Line

if TYPE_CHECKING:
    from assistant.kitchen.evening import EveningPlan
    from assistant.runtime import Kitchen
    from assistant.screens import Screens

EXIT_DIFFERENCE = 1
EXIT_USAGE = 2
EXIT_CANNOT = 3
ELSEWHERE = {
    "batch": "assistant.commands_batch:batch",
    "check": "assistant.commands_check:check",
    "evenings": "assistant.commands_report:evenings",
    "handout": "assistant.commands_report:handout",
    "hear": "assistant.commands_rehearse:hear",
    "plan": "assistant.commands_plan:plan",
    "rehearse": "assistant.commands_rehearse:rehearse_command",
    "report": "assistant.commands_report:report",
    "safety": "assistant.commands_safety:safety",
    "times": "assistant.commands_plan:times",
}


class Lazy(click.Group):
    """A group whose bigger commands live in modules of their own, imported when they are called."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return sorted([*super().list_commands(ctx), *ELSEWHERE])

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name in ELSEWHERE:
            from importlib import import_module

            module, _, name = ELSEWHERE[cmd_name].partition(":")
            command = getattr(import_module(module), name)
            assert isinstance(command, click.Command)
            return command
        return super().get_command(ctx, cmd_name)


def main() -> NoReturn:
    """Entry point; every fault of the author's is one sentence on standard error."""
    try:
        stovehand.main(standalone_mode=False)
    except click.exceptions.Abort:
        sys.exit(EXIT_DIFFERENCE)
    except click.ClickException as error:
        click.echo(error.format_message(), err=True)
        sys.exit(error.exit_code)
    except (MealCardError, SettingsError, JournalError) as error:
        click.echo(str(error), err=True)
        sys.exit(EXIT_USAGE)
    except BrokenPipeError:
        sys.exit(0)
    sys.exit(0)


@click.group(cls=Lazy, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 110})
@click.version_option(__version__, "--version", prog_name="stovehand")
def stovehand() -> None:
    """Walks one cook through deep-frying a whole meal, by voice. An aid, not a safety device: stay with hot oil."""


def stop(sentence: str, code: int = EXIT_USAGE) -> NoReturn:
    """End with one sentence."""
    click.echo(sentence, err=True)
    sys.exit(code)


# --- meals


@stovehand.group(invoke_without_command=True)
@click.pass_context
def meals(ctx: click.Context) -> None:
    """List the meals; `check` a card, or begin a `new` one."""
    if ctx.invoked_subcommand is None:
        for name, title in list_meals():
            click.echo(f"{name}  {title}")


@meals.command("check")
@click.argument("file")
def meals_check(file: str) -> None:
    """Read a card and say everything that is wrong with it, each mistake with its line."""
    meal = read_card(find_meal(file))
    click.echo(f"{meal.title}: {len(meal.dishes)} dishes and components, {len(list(meal.steps()))} steps. Nothing wrong.")
    flames = [pot.name for pot in meal.equipment.pots if pot.heat in OPEN_FLAME]
    if flames:
        click.echo(f"A hint: over an open flame ({', '.join(flames)}) oil that spills catches; induction or a fryer with a thermostat is safer.")


@meals.command("new")
@click.argument("name")
def meals_new(name: str) -> None:
    """Write NAME.yaml in this folder: a card with comments, to start from."""
    text = new_card(name)
    path = Path(f"{name}.yaml")
    if path.exists():
        stop(f"{path} exists already: choose another name, or move it away.")
    path.write_text(text, encoding="utf-8")
    click.echo(f"{path} written. Change it, then: stovehand meals check {path}")


# --- cooking


def _serve_t(serve: When | None, day_s: float, meal: Meal, people: int, done: frozenset[str]) -> float | None:
    """The wanted serving in kitchen time; ends the program when the meal cannot be ready by then."""
    if serve is None:
        return None
    serve_s = serve.serve_s(datetime.now().astimezone().date(), day_s)
    if wrong := wrong_serving(serve_s, day_s):
        stop(wrong, EXIT_CANNOT)
    in_s = serve_s - day_s
    length = total_length(meal, people, done)
    if in_s + 60.0 < length:
        from assistant.speaking.prompts import day_time

        stop(f"Cannot be ready before {day_time(day_s + length)}: its steps take {length / 60:.0f} minutes. Serve later.", EXIT_CANNOT)
    return in_s


def settings_with(units: str | None) -> Settings:
    """The cook's settings, with these units where they were named."""
    settings = read_settings()
    return settings if units is None else replace(settings, units=units)


def first_event(
    path: Path, meal: Meal, day_s: float, serve: When | None, people: int, settings: Settings, done: frozenset[str] = frozenset()
) -> e.EveningBegan:
    """What an evening begins with; ends the program when the meal cannot be ready by the wanted time."""
    serve_t = _serve_t(serve, day_s, meal, people, done)
    text = path.read_text(encoding="utf-8")
    said = settings.units, settings.region
    return e.EveningBegan(0.0, text, path.name, day_s, serve_t, people, *said, instead=instead_of_poultry(meal), altitude_m=settings.altitude)


@stovehand.command()
@click.argument("meal", required=False)
@click.option("--hear", default="mic", show_default=True, help="mic, typed, or a sound FILE.")
@click.option("--say", default="speaker", show_default=True, help="speaker, silent, or FILE.wav.")
@click.option("--units", type=click.Choice(["F", "C"]), help="For temperatures said without a unit.")
@SERVE
@PEOPLE
@click.option("--resume", is_flag=True, help="Go on with the evening that was under way.")
@click.option("--afresh", is_flag=True, help="Begin anew although an evening is under way: it is left as it is.")
@click.option("--keep-recordings", is_flag=True, help="Keep what is heard as sound, in the data folder, to measure it later.")
@DATA
@click.option(
    "--screen",
    is_flag=False,
    flag_value="page",
    type=click.Choice(["page", "lan", "terminal"]),
    help="Show a page on this machine (page), to paired devices too (lan), or in the terminal.",
)
@click.option("--probe", metavar="PATH", type=click.Path(path_type=Path), help="File or pipe where another program writes the oil's temperature.")
@click.option("--port", type=click.IntRange(1, 65535), default=8737, show_default=True, help="Of the page.")
def cook(
    meal: str | None,
    hear: str,
    say: str,
    units: str | None,
    serve: When | None,
    people: int | None,
    resume: bool,
    afresh: bool,
    keep_recordings: bool,
    data: Path | None,
    screen: str | None,
    port: int,
    probe: Path | None,
) -> None:
    """Cook MEAL: start it, talk, and be walked through."""
    from assistant.screens import Screens

    settings = settings_with(units)
    if meal is None and not resume:
        raise click.UsageError("Say which meal: one of " + ", ".join(n for n, _ in list_meals()) + ".")
    if keep_recordings and hear == "typed":
        stop("Nothing is heard when you type: leave out --keep-recordings.")
    if probe is not None and hear not in ("mic", "typed"):
        stop("--probe goes with --hear mic or typed: a recording has a clock of its own.")
    if hear not in ("mic", "typed"):
        from assistant.hearing.frames import SoundFileError
        from assistant.hearing.sources import check_sound_file

        try:
            check_sound_file(Path(hear))
        except SoundFileError as error:
            stop(f"{error} --hear takes mic, typed or a sound file.")
    if say not in ("speaker", "silent") and Path(say).suffix.lower() != ".wav":
        stop(f"--say takes speaker, silent or a FILE.wav, and '{say}' is none of them.")
    clock: Clock = SystemClock() if hear in ("mic", "typed") else FakeClock(wall=SystemClock().now().wall)
    journal = Journal((data or data_folder()) / "journal.sqlite")
    try:
        if not (resume or afresh) and (left := journal.under_way(clock.now().wall)) is not None:
            begun = datetime.fromtimestamp(left.began).strftime("%H:%M")
            stop(f"{left.meal}, begun at {begun}, is not over: go on with 'stovehand cook --resume', or leave it and begin anew with --afresh.")
        screens = Screens(screen, port, click.echo)
        kitchen = _kitchen(meal, settings, clock, journal, hear, say, serve, people, resume, screens, data or data_folder(), keep_recordings)
        if probe is not None:
            kitchen.probe(probe)
        screens.open(kitchen.evening.kitchen_time, lambda: kitchen.listening, kitchen.typed)
        try:
            kitchen.run()
        except KeyboardInterrupt:
            click.echo("")
        finally:
            screens.close()
        over = kitchen.close()
        if over:
            from assistant.keeping import keep_what_it_taught

            click.echo(keep_what_it_taught(data or data_folder(), journal, kitchen.evening.state))
        click.echo("The evening is in the journal." if over else "Go on with: stovehand cook --resume")
    finally:
        journal.close()


def _kitchen(
    meal: str | None,
    settings: Settings,
    clock: Clock,
    journal: Journal,
    hear: str,
    say: str,
    serve: When | None,
    people: int | None,
    resume: bool,
    screens: Screens,
    folder: Path,
    keep_recordings: bool,
) -> Kitchen:
    from assistant import runtime
    from assistant.keeping import as_first, leftovers, made_ahead, still_good, what_pots_taught
    from assistant.speaking.prompts import RECORDING

    before = RECORDING if keep_recordings else ""

    def make(speak: Callable[[tuple[Line, ...]], None]) -> Evening:
        if resume:
            row = journal.unfinished()
            if row is None:
                stop("No evening is under way: begin one with 'stovehand cook MEAL'.")
            return Evening.resume(journal, clock, row.id, speak, screens.watch, before)
        path = find_meal(meal or "")
        card = at_altitude(read_card(path), settings.altitude)
        wall, day_s = clock.now().wall, runtime.local_day_s()
        in_s = 0.0 if serve is None else serve.serve_s(datetime.fromtimestamp(wall).date(), day_s) - day_s
        ahead = made_ahead(journal, card, people or card.serves, wall, wall + in_s)
        first = first_event(path, card, day_s, serve, people or card.serves, settings, still_good(ahead))
        first = replace(first, kept=what_pots_taught(folder, card), **as_first(ahead, wall, leftovers(journal, wall)))
        plan = None if hear == "typed" and say == "silent" else _plan(card, first, folder)
        return Evening.begin(journal, clock, first, path.stem, speak, screens.watch, plan, before)

    recordings = None
    if keep_recordings:
        from assistant.recordings import Recordings

        recordings = Recordings(folder, meal or (row.meal if (row := journal.unfinished()) else ""), click.echo)
    return runtime.start_evening(make, settings, clock, hear, say, click.echo, recordings)


def _plan(card: Meal, first: e.EveningBegan, folder: Path) -> EveningPlan:
    """The plan of the evening; ends the program when the meal cannot be ready by the time that was asked for."""
    from assistant.kitchen.evening import PlanError
    from assistant.kitchen.my_times import read_times
    from assistant.runtime import plan_first
    from assistant.speaking.prompts import day_time

    try:
        done = frozenset(step for *_, steps in first.made for step in steps)
        plan = plan_first(card, first.people, first.serve_t, read_times(folder).for_meal(card), done)
    except PlanError as error:
        stop(str(error), EXIT_CANNOT)
    if first.serve_t is not None and plan.serve_s > first.serve_t + 60.0:
        stop(f"Cannot be ready before {day_time(first.day_s + plan.serve_s)}: see 'stovehand plan' for what would help.", EXIT_CANNOT)
    return plan


@stovehand.command()
@click.option("--out", type=click.Path(path_type=Path), default=Path("demo.wav"), show_default=True, help="Where the spoken side goes.")
def demo(out: Path) -> None:
    """Play a recorded evening through the real ear and the real voice, the clock jumping between utterances."""
    from assistant.demo import DemoError, play
    from assistant.ears import NoEarError

    try:
        play(out, click.echo)
    except (DemoError, NoEarError, OSError) as error:
        stop(str(error), EXIT_DIFFERENCE)
