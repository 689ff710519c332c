"""The command ``scoretools``: where its commands meet, and where errors become one sentence."""

import sys
from typing import Annotated

import typer

from scoretools import __version__
from scoretools.cli.report import report
from scoretools.errors import ScoretoolsError

__all__ = ["app", "run"]

app = typer.Typer(
    add_completion=True,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    help="What a string part asks of the left hand, and what to practise first.\n\n"
    "Begin with: scoretools report SCORE.musicxml --out report",
)


def _show_version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"scoretools {__version__}")
        raise typer.Exit


@app.callback()
def _main(
    version: Annotated[
        bool,
        typer.Option("--version", callback=_show_version, is_eager=True, help="Show the version."),
    ] = False,
) -> None:
    pass


app.command()(report)


def run() -> None:
    """Run the command line; an error the user can mend ends it with code 2 and one sentence."""
    try:
        app()
    except ScoretoolsError as error:
        typer.echo(f"scoretools: {error}", err=True)
        sys.exit(2)
