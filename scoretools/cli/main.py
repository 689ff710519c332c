"""The command ``scoretools``: where its commands meet, and where errors become one sentence."""

import io
import sys
from collections.abc import Sequence
from typing import Annotated, NoReturn, cast

import typer

from scoretools import __version__
from scoretools.cli.agreement import agreement
from scoretools.cli.finger import finger
from scoretools.cli.fit import fit
from scoretools.cli.level import level
from scoretools.cli.mark import mark
from scoretools.cli.plan import plan_app
from scoretools.cli.player import player_app
from scoretools.cli.programme import programme
from scoretools.cli.report import report
from scoretools.cli.sheets import sheets
from scoretools.errors import ScoretoolsError

__all__ = ["app", "run"]

WRONG = 2
"""Exit code for what the user can mend."""

INTERRUPTED = 130
"""Exit code after Ctrl-C, as shells have it."""

_USAGE_ERROR = cast(type[Exception], typer.BadParameter.__base__)
"""What is raised for a command line that cannot be understood; it has no public name."""

_WORDINGS = (
    ("Missing argument", "name a score, as in: scoretools report study.musicxml --out report"),
    (
        "Got unexpected extra argument",
        "there are more words than one score; put a name with spaces in quotation marks",
    ),
)
"""What to say for what the library says, by its first words."""

app = typer.Typer(
    add_completion=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    help="What a string part asks of the left hand, and what to practise first.\n\n"
    "Begin with a score in MusicXML, as notation programs export it:\n\n"
    "    scoretools report study.musicxml --out report\n\n"
    "Then open report/report.html in a browser.",
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


app.command()(report)
app.command()(mark)
app.add_typer(plan_app, name="plan")
app.add_typer(player_app, name="player")
app.command()(level)
app.command()(programme)
app.command()(sheets)
app.command()(finger)
app.command()(agreement)
app.command()(fit)


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
    try:
        code = app(args=arguments, prog_name="scoretools", standalone_mode=False)
    except ScoretoolsError as error:
        _end(str(error), WRONG)
    except _USAGE_ERROR as error:
        _end(f"{_wording(error)}; see {_help_for(error)}", WRONG)
    except (KeyboardInterrupt, typer.Abort):
        code = INTERRUPTED
    if code == INTERRUPTED:
        _end("stopped; no file was left half-written", INTERRUPTED)


def _print_what_can_be_printed() -> None:
    """Let signs that a terminal lacks appear as question marks."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")


def _wording(error: Exception) -> str:
    words = str(getattr(error, "format_message", error.__str__)()).rstrip(". ")
    ours = (wording for beginning, wording in _WORDINGS if words.startswith(beginning))
    return next(ours, words[:1].lower() + words[1:])


def _help_for(error: Exception) -> str:
    context = getattr(error, "ctx", None)
    return f"{context.command_path if context else 'scoretools'} --help"


def _end(sentence: str, code: int) -> NoReturn:
    """End with one sentence on one line of the error stream."""
    line = " ".join(sentence.split()).rstrip(".")
    typer.echo(f"scoretools: {line}.", err=True)
    sys.exit(code)
