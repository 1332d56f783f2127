"""`stovehand evenings`, `report` and `handout`: what an evening came to, to read, to keep and to pass on.

Exit 2 for an evening, a journal or a file that is wrong; then nothing is written.
"""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import click

from assistant.journal import EveningRow, Journal, JournalError
from assistant.options import DATA
from assistant.session.events import Event
from assistant.settings import data_folder


class _BadInputError(click.ClickException):
    exit_code = 2


_OUT = click.option("-o", "--out", type=click.Path(dir_okay=False, path_type=Path), required=True, metavar="FILE.html", help="Where the page goes.")


def _journal(data: Path | None) -> Journal:
    path = (data or data_folder()) / "journal.sqlite"
    if not path.is_file():
        raise _BadInputError(f"There is no journal in {path.parent}: cook an evening first, or name its folder with --data.")
    try:
        return Journal(path, cooking=False)
    except JournalError as wrong:
        raise _BadInputError(str(wrong)) from wrong


def _evening(data: Path | None, number: int | None) -> tuple[EveningRow, tuple[Event, ...]]:
    """The evening of this number (None: the last) and its events."""
    journal = _journal(data)
    try:
        rows = journal.evenings()
        if not rows:
            raise _BadInputError("The journal holds no evening yet: cook one first.")
        row = rows[-1] if number is None else next((r for r in rows if r.id == number), None)
        if row is None:
            raise _BadInputError(f"There is no evening {number}: 'stovehand evenings' lists those from {rows[0].id} to {rows[-1].id}.")
        return row, tuple(event for event, _ in journal.events(row.id))
    except ValueError as wrong:
        raise _BadInputError(f"Evening {number or 'last'} cannot be read: {wrong}.") from wrong
    finally:
        journal.close()


def _write(files: list[tuple[Path, str]]) -> None:
    """All of them, or a sentence."""
    for file, text in files:
        try:
            file.write_text(text, encoding="utf-8", newline="")
        except OSError as wrong:
            raise _BadInputError(f"{file} cannot be written: {wrong.strerror or wrong}.") from wrong


@click.command()
@DATA
def evenings(data: Path | None) -> None:
    """List the evenings in the journal: number, date, meal, and whether it was brought to its end."""
    journal = _journal(data)
    try:
        for row in journal.evenings():
            began = datetime.fromtimestamp(row.began)
            click.echo(f"{row.id:>4}  {began:%Y-%m-%d %H:%M}  {row.meal}  {'ended' if row.ended else 'not ended'}")
    finally:
        journal.close()


@click.command()
@click.argument("evening", type=click.IntRange(1), required=False)
@_OUT
@DATA
def report(evening: int | None, out: Path, data: Path | None) -> None:
    """Write the report of an EVENING (left out: the last): one page that stands alone, with the same figures as .csv and .json beside it."""
    from assistant.showing.report import csv_report, html_report, json_report
    from assistant.showing.report_advice import advise
    from assistant.showing.report_model import evening_report

    row, events = _evening(data, evening)
    made = evening_report(events)
    found = advise(made)
    day = f"{datetime.fromtimestamp(row.began):%A, %d %B %Y}"
    files = [(out, html_report(made, found, day)), (out.with_suffix(".csv"), csv_report(made))]
    _write([*files, (out.with_suffix(".json"), json_report(made, found, row.id, row.began))])
    click.echo(f"Evening {row.id}, {made.meal.title}: {', '.join(str(f) for f in (out, out.with_suffix('.csv'), out.with_suffix('.json')))} written.")


@click.command()
@click.argument("evening", type=click.IntRange(1), required=False)
@_OUT
@click.option("--card", type=click.Path(dir_okay=False, path_type=Path), metavar="FILE.yaml", help="Write the evening back as a card, too.")
@DATA
def handout(evening: int | None, out: Path, card: Path | None, data: Path | None) -> None:
    """Write an EVENING (left out: the last) as a page that another cook can follow. The cook's notes are left out of it."""
    from assistant.kitchen.card_writer import learnt_card
    from assistant.showing.handout import html_handout
    from assistant.showing.report_advice import advise
    from assistant.showing.report_model import durations, evening_report

    row, events = _evening(data, evening)
    made = evening_report(events)
    files = [(out, html_handout(made, advise(made)))]
    if card is not None:
        remark = f"Times as learnt on the evening of {datetime.fromtimestamp(row.began):%Y-%m-%d}, cooked for {made.people}."
        files.append((card, learnt_card(made.card, str(card), made.people, durations(made), remark)))
    _write(files)
    click.echo(f"Evening {row.id}, {made.meal.title}: {', '.join(str(f) for f, _ in files)} written.")
