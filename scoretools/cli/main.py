"""The command ``scoretools``: where its commands meet, and where errors become one sentence."""

import io
import sys
from collections.abc import Sequence
from typing import Annotated, NoReturn, cast

import typer

from scoretools import __version__
from scoretools.cli.agreement import agreement
from scoretools.cli.catalogue import catalogue_app
from scoretools.cli.finger import finger
from scoretools.cli.fit import fit
from scoretools.cli.guide import guide
from scoretools.cli.help import Command, Commands
from scoretools.cli.level import level
from scoretools.cli.mark import mark
from scoretools.cli.plan import plan_app
from scoretools.cli.player import player_app
from scoretools.cli.programme import programme
from scoretools.cli.report import report
from scoretools.cli.sheets import sheets
from scoretools.cli.wordings import usage_sentence
from scoretools.errors import ScoretoolsError

__all__ = ["app", "run"]

WRONG = 2
"""Exit code for what the user can mend."""

INTERRUPTED = 130
"""Exit code after Ctrl-C, as shells have it."""

_USAGE_ERROR = cast(type[Exception], typer.BadParameter.__base__)
"""What is raised for a command line that cannot be understood; it has no public name."""

app = typer.Typer(
    cls=Commands,
    add_completion=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    help="What a violin or viola part asks of the left hand, and how to practise it.\n\n"
    "To begin, export a score from your notation program as MusicXML. Then type this, with "
    "your own file's name in it:\n\n"
    "Example: scoretools report study.musicxml --out report\n\n"
    "Open report/report.html in a browser. There is a page for you, with more lines to copy: "
    "scoretools guide student, scoretools guide teacher or scoretools guide librarian.",
)


def _show_version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"scoretools {__version__}")
        raise typer.Exit


@app.callback(invoke_without_command=True)
def _main(
    context: typer.Context,
    version: Annotated[
        bool,
        typer.Option("--version", callback=_show_version, is_eager=True, help="Show the version."),
    ] = False,
) -> None:
    if context.invoked_subcommand is None:
        typer.echo(context.get_help())


app.command(cls=Command)(report)
app.command(cls=Command)(mark)
app.add_typer(plan_app, name="plan")
app.add_typer(player_app, name="player")
app.command(cls=Command)(level)
app.command(cls=Command)(programme)
app.add_typer(catalogue_app, name="catalogue")
app.command(cls=Command)(sheets)
app.command(cls=Command)(finger)
app.command(cls=Command)(agreement)
app.command(cls=Command)(fit)
app.command(cls=Command)(guide)


def run(arguments: Sequence[str] | None = None) -> None:
    """Run the command line; an error the user can mend ends it with code 2 and one sentence.

    Parameters
    ----------
    arguments
        What follows the command's name; by default what the shell was given.

    Raises
    ------
    SystemExit
        With code 2 for what the user can mend, 130 after Ctrl-C.
    """
    _print_what_can_be_printed()
    words = sys.argv[1:] if arguments is None else list(arguments)
    try:
        code = app(args=words, prog_name="scoretools", standalone_mode=False)
    except ScoretoolsError as error:
        _end(str(error), WRONG)
    except _USAGE_ERROR as error:
        _end(usage_sentence(error, words, typer.main.get_command(app)), WRONG)
    except (KeyboardInterrupt, typer.Abort):
        code = INTERRUPTED
    if code == INTERRUPTED:
        _end("stopped; no file was left half-written", INTERRUPTED)


def _print_what_can_be_printed() -> None:
    """Let signs that a terminal lacks appear as question marks."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")


def _end(sentence: str, code: int) -> NoReturn:
    """End with one sentence on one line of the error stream."""
    line = " ".join(sentence.split()).rstrip(".")
    typer.echo(f"scoretools: {line}.", err=True)
    sys.exit(code)
