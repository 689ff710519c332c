"""``scoretools plan``: when to practise what; ``scoretools plan log``: what was clean."""

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from typer.core import TyperGroup

from scoretools.cli.options import (
    HighestPositionOption,
    PartOption,
    PlayerOption,
    ProfileOption,
    fingered,
    progress,
    read,
    request_from,
)
from scoretools.cli.report_files import PAPERS
from scoretools.errors import PlayerError, ReadError, WriteError

if TYPE_CHECKING:
    from scoretools.model import Analysis
    from scoretools.practice_log import Log

__all__ = ["plan_app"]


class _ScoresOrLog(TyperGroup):
    """``plan log …`` goes to the log; anything else names scores."""

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        wanted = ("log", "for", "--help")
        if args and not any(args[0] == word for word in wanted):
            args = ["for", *args]
        return list(super().parse_args(ctx, args))


plan_app = typer.Typer(
    cls=_ScoresOrLog,
    no_args_is_help=True,
    rich_markup_mode=None,
    help="Plan the practice of one piece or several, day by day.\n\n"
    "    scoretools plan study.musicxml --player mira.toml --out plan\n\n"
    "    scoretools plan log practice.txt --clean 1 --again 2",
)


@plan_app.command("for")
def plan_for(
    scores: Annotated[list[Path], typer.Argument(
        help="One score or several, in the order of the programme.", metavar="SCORE…",
        show_default=False)],
    part: PartOption = None,
    player: PlayerOption = None,
    highest_position: HighestPositionOption = None,
    profile: ProfileOption = None,
    out: Annotated[Path | None, typer.Option(
        help="Folder to write plan.pdf, plan.html and plan.ics into.",
        metavar="FOLDER")] = None,
    today: Annotated[str | None, typer.Option(
        help="First day of the plan, such as 2027-01-04; by default today.",
        metavar="DATE")] = None,
    log: Annotated[Path | None, typer.Option(
        help="Practice log: what was clean is planned accordingly, and the plan's numbers are "
             "noted in it; made where there is none.",
        metavar="FILE.txt")] = None,
    paper: Annotated[str, typer.Option(
        help=f"Paper to print on: {' or '.join(PAPERS)}.", metavar="PAPER")] = "a4",
) -> None:  # fmt: skip
    """Plan the practice of one piece or several; the same as scoretools plan SCORE.

    Example: scoretools plan study.musicxml --player mira.toml --out plan
    """
    from scoretools.cli.files import prepare_folder, save_all
    from scoretools.cli.show_plan import show_plan
    from scoretools.drills.plan import plan
    from scoretools.practice_log import log_header
    from scoretools.write.calendar import plan_calendar
    from scoretools.write.plan_sheets import plan_page, plan_pdf

    if paper not in PAPERS:
        raise PlayerError(f"--paper: “{paper}” is not known; choose one of {', '.join(PAPERS)}")
    first = _date("--today", today) if today else date.today()
    written, found = _log(log)
    if out is not None:
        prepare_folder(out)
    pieces: list[Analysis] = []
    with progress() as say:
        for score in scores:
            say(f"Reading and fingering {score.name}")
            request = request_from(score, part, player, highest_position, profile, None, "auto")
            pieces.append(fingered(request, read(request)))
        who = request.player
        planned = plan(pieces, who, first, found.done)
        if out is not None:
            say("Writing")
            save_all(
                out,
                {
                    "plan.pdf": plan_pdf(planned, pieces, who.name, paper),
                    "plan.html": plan_page(planned, pieces, who.name),
                    "plan.ics": plan_calendar(planned, pieces, who.name),
                },
            )
        if log is not None:
            save_all(log.parent, {log.name: log_header(planned, written)})
    show_plan(planned, pieces, out, found.skipped)


@plan_app.command("log")
def log(
    file: Annotated[Path, typer.Argument(help="The practice log.", metavar="FILE.txt",
                                         show_default=False)],
    clean: Annotated[list[str] | None, typer.Option(
        help="A drill that was clean: its number in the plan, or how its title begins; may be "
             "given again.", metavar="DRILL")] = None,
    again: Annotated[list[str] | None, typer.Option(
        help="A drill that was not clean yet; may be given again.", metavar="DRILL")] = None,
    day: Annotated[str | None, typer.Option(
        "--date", help="The day, such as 2027-01-04; by default today.", metavar="DATE")] = None,
) -> None:  # fmt: skip
    """Record what was clean and what was not; without options, say how things stand.

    Example: scoretools plan log practice.txt --clean 1 --clean 3 --again 2
    """
    from scoretools.cli.files import save_all
    from scoretools.cli.show_plan import show_log
    from scoretools.model.plan import Done
    from scoretools.practice_log import log_line, read_log, title_of

    when = _date("--date", day) if day else date.today()
    written, found = _log(file)
    if not written and not file.exists():
        raise ReadError(
            f"{file}: there is no such file; scoretools plan SCORE --log {file} makes it"
        )
    lines = [
        log_line(Done(when, title_of(found, words), was_clean))
        for words, was_clean in (
            *((words, True) for words in clean or ()),
            *((words, False) for words in again or ()),
        )
    ]
    if lines:
        text = "\n".join([written.rstrip("\n"), *lines, ""])
        save_all(file.parent, {file.name: text})
        found = read_log(file.name, text)
    show_log(found)


def _date(option: str, text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise PlayerError(f"{option}: “{text}” is not a date such as 2027-01-15") from None


def _log(file: Path | None) -> "tuple[str, Log]":
    """Read a log; a file that is not there is an empty one."""
    from scoretools.practice_log import read_log

    if file is None or not file.exists():
        return "", read_log("", "")
    try:
        text = file.read_text(encoding="utf-8-sig")
    except OSError as error:
        raise ReadError(f"{file}: the log cannot be read ({error.strerror or error})") from error
    except UnicodeDecodeError as error:
        raise WriteError(f"{file}: the log is not plain text in UTF-8; save it as that") from error
    return text, read_log(file.name, text)
