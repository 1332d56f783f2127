"""Options that several commands share, so that each has one spelling and one check."""

from __future__ import annotations

from pathlib import Path

import click


def _folder(_ctx: click.Context, _param: click.Parameter, value: str | None) -> Path | None:
    if value is not None and not value.strip():
        raise click.BadParameter("name a folder, or leave the option out.")
    return None if value is None else Path(value)


DATA = click.option("--data", metavar="FOLDER", callback=_folder, help="Folder of the journal.")
