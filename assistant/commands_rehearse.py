"""`stovehand rehearse`: an evening from a text file, the clock jumping; `stovehand hear`: what is heard in recordings."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import click

from assistant.cli import EXIT_DIFFERENCE, EXIT_USAGE, first_event, settings_with, stop
from assistant.ears import interpreter_for
from assistant.evening import Evening
from assistant.kitchen.cards import find_meal, read_card
from assistant.kitchen.meal import Meal
from assistant.rehearsal import Outcome, Script, ScriptError, kitchen_stamp, read_script, rehearse
from assistant.session import events as e
from assistant.session.commands import Command, Reject
from assistant.settings import Settings
from assistant.understander import Understander


@click.command("rehearse")
@click.argument("meal")
@click.argument("script", type=click.Path(path_type=Path))
@click.option("--json", "as_json", is_flag=True, help="Print every event as a JSON line.")
@click.option("--units", type=click.Choice(["F", "C"]))
def rehearse_command(meal: str, script: Path, as_json: bool, units: str | None) -> None:
    """Run MEAL by a SCRIPT that a cook can read, the kitchen clock jumping from line to line."""
    try:
        read = read_script(script)
        outcome = _rehearsed(meal, read, units, (lambda line: None) if as_json else click.echo)
    except ScriptError as error:
        stop(str(error))
    if as_json:
        for event in outcome.events:
            kind, body = e.to_json(event)
            click.echo(json.dumps({"event": kind, **json.loads(body)}, ensure_ascii=False))
    for cue in outcome.missed:
        click.echo(f"{read.file.name}, line {cue.line}: '{cue.words}' was not said at {kitchen_stamp(cue.t)}.", err=True)
    for t, words in outcome.extra:
        click.echo(f"{read.file.name}: '{words}' was said at {kitchen_stamp(t)} and is not in the script.", err=True)
    if not outcome.ok:
        sys.exit(EXIT_DIFFERENCE)


def _rehearsed(meal: str, read: Script, units: str | None, show: Callable[[str], None]) -> Outcome:
    settings = settings_with(units or read.units)
    if read.region:
        settings = replace(settings, region=read.region)
    path = find_meal(meal)
    card = read_card(path)
    first = first_event(path, card, read.day_s, None, read.people or card.serves, settings)
    if read.serve_day_s is not None:
        first = replace(first, serve_t=(read.serve_day_s - read.day_s) % 86400.0)
    understander = Understander(interpreter_for(card, settings), settings)
    return rehearse(read, first, path.stem, understander.typed, _hearing(card, settings, understander), show=show)


def _hearing(card: Meal, settings: Settings, understander: Understander) -> Callable[[Path, Evening], Iterator[tuple[str, Command | Reject]]]:
    """Hears a clip of a rehearsal with the real recogniser, loaded at the first clip."""
    ears: list[object] = []

    def hear(path: Path, evening: Evening) -> Iterator[tuple[str, Command | Reject]]:
        from assistant.ears import build_ear, build_engines
        from assistant.hearing.frames import SoundFileError
        from assistant.hearing.listener import Ear
        from assistant.hearing.sources import FileSource
        from assistant.hearing.utterance import Utterance

        if not ears:
            ears.append(build_ear(understander.interpreter, build_engines(understander.interpreter, card, settings)))
        ear = ears[0]
        assert isinstance(ear, Ear)
        try:
            for heard in ear.listen(FileSource(path)):
                if isinstance(heard, Utterance):
                    yield heard.words, understander.heard(heard, evening, speaking=False, since_s=0.0)
        except SoundFileError as error:
            raise ScriptError(str(error)) from None

    return hear


@click.command()
@click.option("--meal", required=True, help="The meal whose names are in the grammar.")
@click.option("--units", type=click.Choice(["F", "C"]))
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path))
def hear(meal: str, units: str | None, files: tuple[Path, ...]) -> None:
    """Print one JSON line for every utterance heard in FILES.

    \b
    Reasons why it would not be acted on:
      unknown, unknown_item, value   no such sentence, name or sensible number
      not_addressed                  nothing that is meant for the assistant
      pmi                            the sound speaks little more for it than noise would
      token, slot                    one of its words, or a dish's name, is hardly in the sound
      margin                         another meaning is nearly as likely
      end                            it breaks off
      ears disagree, too long        Vosk and the embedded recogniser differ; no end in sight
    """
    from assistant.ears import NoEarError, build_ear, build_engines
    from assistant.hearing.frames import SoundFileError
    from assistant.hearing.report import hear_file

    settings = settings_with(units)
    card = read_card(find_meal(meal))
    interpreter = interpreter_for(card, settings)
    try:
        engines = build_engines(interpreter, card, settings)
        ear = build_ear(interpreter, engines)
    except NoEarError as error:
        stop(str(error), EXIT_DIFFERENCE)
    click.echo(engines.why, err=True)
    bad = False
    for path in files:
        try:
            for row in hear_file(path, ear, interpreter):
                click.echo(json.dumps(row, ensure_ascii=False))
        except SoundFileError as error:
            click.echo(str(error), err=True)
            bad = True
    if bad:
        sys.exit(EXIT_USAGE)
