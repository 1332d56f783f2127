"""The way in. `stovehand batch`, which must answer within a second, loads nothing of an evening; all else goes through `cli`."""

from __future__ import annotations

import sys
from typing import NoReturn


def main() -> NoReturn:
    """Entry point of `stovehand`."""
    if sys.argv[1:2] != ["batch"]:
        from assistant.cli import main as whole

        whole()
    import click

    from assistant.commands_batch import batch

    try:
        batch.main(sys.argv[2:], prog_name="stovehand batch", standalone_mode=False)
    except click.exceptions.Abort:
        sys.exit(1)
    except click.ClickException as error:
        click.echo(error.format_message(), err=True)
        sys.exit(error.exit_code)
    except BrokenPipeError:
        sys.exit(0)
    sys.exit(0)
