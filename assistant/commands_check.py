"""`stovehand check`: what works on this computer, and getting acquainted with a kitchen."""

from __future__ import annotations

import sys
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from assistant.cli import EXIT_DIFFERENCE, stop
from assistant.settings import Settings, data_folder, read_settings

if TYPE_CHECKING:
    from assistant.hearing.frames import Source


@click.command()
@click.option("--kitchen", is_flag=True, help="Get acquainted with this kitchen in a minute: its noise, and eight lines by you.")
@click.option("--hear", default="mic", show_default=True, help="With --kitchen: mic, or a sound FILE of such a minute.")
def check(kitchen: bool, hear: str) -> None:
    """Try loudspeaker, voice, microphone and recogniser, one sentence on each and what to do about it."""
    settings = read_settings()
    if kitchen:
        well = get_acquainted(settings, hear)
    elif hear != "mic":
        stop("--hear goes with --kitchen.")
    else:
        well = try_everything(settings)
    if not well:
        sys.exit(EXIT_DIFFERENCE)


def try_everything(settings: Settings) -> bool:
    """Print each finding; whether all is well."""
    from assistant.selfcheck import check_sound

    well = True
    for finding in check_sound(settings):
        click.echo(f"{'well' if finding.ok else 'NOT WELL':8}  {finding.what}: {finding.sentence}")
        well = well and finding.ok
    return well


def get_acquainted(settings: Settings, hear: str) -> bool:
    """The minute, its advice, and what is kept of it; whether all is well."""
    from assistant.acquaint import Acquainting, NotAcquaintedError
    from assistant.ears import NoEarError, build_ear, build_engines, interpreter_for
    from assistant.hearing.frames import SoundFileError
    from assistant.hearing.kitchen_ear import FILE, write_kitchen
    from assistant.hearing.voice_activity import VoiceDetector
    from assistant.kitchen.cards import find_meal, list_meals, read_card
    from assistant.kitchen.meal import StepKind

    meal = read_card(find_meal(list_meals()[0][0]))
    interpreter = interpreter_for(meal, settings)
    try:
        source, close = _source(settings, hear)
        engines = build_engines(interpreter, meal, settings)
    except SoundFileError as error:
        stop(f"{error} --hear takes mic or a sound file.")
    except NoEarError as error:
        stop(str(error), EXIT_DIFFERENCE)
    minute = Acquainting(source, build_ear(interpreter, engines), engines.recogniser, VoiceDetector(), interpreter, click.echo)
    try:
        fried = next(dish for dish in meal.dishes if any(step.kind is StepKind.FRY for step in dish.steps))
        found = minute.run(fried.said[0], date.today().isoformat())
    except NotAcquaintedError as error:
        stop(str(error), EXIT_DIFFERENCE)
    finally:
        close()
    click.echo(found.advice)
    try:
        path = write_kitchen(data_folder(), found.kitchen)
    except OSError as error:
        stop(f"{data_folder() / FILE} cannot be written: {error.strerror}.", EXIT_DIFFERENCE)
    click.echo(f"Kept in {path}: from now on an evening begins with it.")
    return found.well


def _source(settings: Settings, hear: str) -> tuple[Source, Callable[[], None]]:
    """Where the minute comes from, and how to let go of it."""
    from assistant.clock import SystemClock
    from assistant.hearing.microphone import Microphone
    from assistant.hearing.sources import FileSource

    if hear == "mic":
        microphone = Microphone(settings.microphone, SystemClock())
        return microphone, microphone.stop
    return FileSource(Path(hear)), lambda: None
