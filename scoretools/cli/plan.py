"""``scoretools plan``: when to practise what; ``scoretools plan log``: what was clean."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from scoretools.cli.help import Command, Commands, rows_of, write_rows
from scoretools.cli.options import (
    HighestPositionOption,
    PaperOption,
    PartOption,
    PlayerOption,
    ProfileOption,
    Request,
    fingered,
    paper_from,
    player_from,
    progress,
    read,
)
from scoretools.errors import PartNotFound, PlayerError, ReadError, ScoretoolsError, WriteError
from scoretools.note_names import naming

if TYPE_CHECKING:
    from scoretools.model import Analysis
    from scoretools.model.plan import Done, Plan
    from scoretools.player import Paper, Player
    from scoretools.practice_log import Log

__all__ = ["plan_app"]


_FOR = "for"
"""The command that plans; its name is understood where none is typed."""


class _ScoresOrLog(Commands):
    """``plan log …`` goes to the log; anything else names scores."""

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        """Put in the name of the command that plans, unless another is named or nearly so."""
        if args and args[0] not in (*self.commands, "--help") and not _is_slip(args[0]):
            args = [_FOR, *args]
        return super().parse_args(ctx, args)

    def format_options(self, ctx: Any, formatter: Any) -> None:
        """Write the options of planning too, since they follow the scores at once."""
        self.format_commands(ctx, formatter)
        write_rows(formatter, rows_of(self.commands[_FOR], ctx))

    def shell_complete(self, ctx: Any, incomplete: str) -> list[Any]:
        """Propose the options of planning too."""
        planning = self.commands[_FOR]
        if incomplete.startswith("-"):
            return list(planning.shell_complete(ctx, incomplete))
        return list(super().shell_complete(ctx, incomplete))


def _is_slip(word: str) -> bool:
    """Tell a misspelt ``log`` from a score."""
    return 1 < len(word) <= 4 and set("log") <= set(word) and not Path(word).exists()


plan_app = typer.Typer(
    cls=_ScoresOrLog,
    rich_markup_mode=None,
    subcommand_metavar="SCORE… | log FILE.txt",
    help="Plan the practice of one piece or several, day by day.\n\n"
    "Example: scoretools plan study.musicxml --out plan --log practice.txt\n\n"
    "After practice say what was clean, and what to take again; the next plan follows from it:\n\n"
    "    scoretools plan log practice.txt --clean 1 --again 2",
)


@plan_app.command(_FOR, cls=Command, hidden=True)
def plan_for(
    scores: Annotated[list[Path], typer.Argument(
        help="One score or several, in the order of the programme.", metavar="SCORE…",
        show_default=False)],
    part: PartOption = None,
    player: PlayerOption = None,
    highest_position: HighestPositionOption = None,
    profile: ProfileOption = None,
    out: Annotated[Path | None, typer.Option(
        help="Folder to write plan.pdf, plan.html, plan.ics and the drill books into.",
        metavar="FOLDER")] = None,
    today: Annotated[str | None, typer.Option(
        help="First day of the plan, such as 2027-01-04; by default today.",
        metavar="DATE")] = None,
    log: Annotated[Path | None, typer.Option(
        help="Practice log: what was clean is planned accordingly, and the plan's numbers are "
             "noted in it; made where there is none.",
        metavar="FILE.txt")] = None,
    paper: PaperOption = None,
) -> None:  # fmt: skip
    """Plan the practice of one piece or several, day by day.

    Example: scoretools plan study.musicxml --player mira.toml --out plan
    """
    from scoretools.cli.files import prepare_folder, save_all
    from scoretools.cli.show_plan import show_plan
    from scoretools.drills.plan import plan
    from scoretools.practice_log import log_header
    from scoretools.voices import Divisi

    who = player_from(player, highest_position, profile)
    sheet = paper_from(paper, who)
    first = _date("--today", today) if today else date.today()
    written, found = _log(log)
    if out is not None:
        prepare_folder(out)
    with naming(who.note_names):
        requests = [Request(score, part, who, Divisi.AUTO, None) for score in scores]
        requests, pieces, told = _analysed(requests)
        planned = plan(pieces, who, first, found.done)
        if out is not None:
            books = _books(requests, pieces, sheet, told)
            save_all(out, _files(planned, pieces, who, sheet) | books)
        if log is not None:
            save_all(log.parent, {log.name: log_header(planned, written)})
        show_plan(planned, pieces, out, found.skipped, told)


def _analysed(requests: "list[Request]") -> "tuple[list[Request], list[Analysis], list[str]]":
    """Finger the part asked for of every score, or else one for the player's instrument.

    Returns
    -------
    list, list, list of str
        What was read and its analyses, in order; which parts were taken instead, and which scores
        have none.

    Raises
    ------
    PartNotFound, PlayerError
        If no score has the part that is asked for, or none has one for the player.
    """
    found, told = [], []
    with progress() as say:
        tried = [_as_asked(request, say) for request in requests]
        faults = [one for one in tried if isinstance(one, ScoretoolsError)]
        if faults and requests[0].part and len(faults) == len(requests):
            raise faults[0]
        for request, one in zip(requests, tried, strict=True):
            if not isinstance(one, ScoretoolsError):
                found.append((request, one))
            elif own := _own_part(request):
                found.append(own)
                part = own[1].part
                told.append(f"{request.score.name}: the part “{part.name}” is taken")
            else:
                instrument = request.player.instrument or "violin or viola"
                told.append(f"{request.score.name} is left out: it has no part for {instrument}")
    if not found:
        raise faults[0]
    return [request for request, _ in found], [piece for _, piece in found], told


def _as_asked(
    request: Request, say: Callable[[str], None]
) -> "Analysis | PartNotFound | PlayerError":
    say(f"Reading and fingering {request.score.name}")
    try:
        return fingered(request, read(request))
    except (PartNotFound, PlayerError) as fault:
        return fault


def _own_part(request: Request) -> "tuple[Request, Analysis] | None":
    """Finger the first part that is for the player's instrument, if there is one."""
    from scoretools.read import read_string_parts

    for one in read_string_parts(request.score):
        if one.part is not None and request.player.instrument in (None, one.part.instrument):
            taken = replace(request, part=str(one.number))
            return taken, fingered(taken, one.part)
    return None


def _files(
    planned: "Plan", pieces: "list[Analysis]", who: "Player", paper: "Paper"
) -> dict[str, str | bytes]:
    """Write a plan to print, to read on screen and for a calendar."""
    from scoretools.write.calendar import plan_calendar
    from scoretools.write.plan_sheets import plan_page, plan_pdf

    with progress() as say:
        say("Writing")
        return {
            "plan.pdf": plan_pdf(planned, pieces, who.name, paper, with_books=True),
            "plan.html": plan_page(planned, pieces, who.name, with_books=True),
            "plan.ics": plan_calendar(planned, pieces, who.name),
        }


def _books(
    requests: "list[Request]", pieces: "list[Analysis]", paper: "Paper", told: list[str]
) -> dict[str, str | bytes]:
    """Write the drill book of every piece, as the report does; what cannot be done is told."""
    from scoretools.cli.report_files import EDITIONS, Wishes, report_files
    from scoretools.write.plan_words import book_name

    wishes = Wishes(frozenset({"book"}), EDITIONS[0], paper, False, False, False)
    books: dict[str, str | bytes] = {}
    with progress() as say:
        for place, (request, piece) in enumerate(zip(requests, pieces, strict=True)):
            say(f"Writing the drills of {request.score.name}")
            files, problems = report_files(request, piece, wishes, lambda _words: None)
            told += [f"{request.score.name}: {problem.rstrip('.')}" for problem in problems]
            if "drills.pdf" in files:
                books[book_name(pieces, place)] = files["drills.pdf"]
    return books


@plan_app.command("log", cls=Command)
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
    """Record what was clean and what was not.

    Without options it says how things stand.

    Example: scoretools plan log practice.txt --clean 1 --clean 3 --again 2
    """
    from scoretools.cli.files import save_all
    from scoretools.cli.show_plan import show_log
    from scoretools.practice_log import log_line, read_log

    when = _date("--date", day) if day else date.today()
    written, found = _log(file)
    if not written and not file.exists():
        raise ReadError(
            f"{file}: there is no such file; scoretools plan SCORE --log {file} makes it"
        )
    lines = [log_line(done) for done in _told(found, when, clean or (), again or ())]
    if lines:
        text = "\n".join([written.rstrip("\n"), *lines, ""])
        save_all(file.parent, {file.name: text})
        found = read_log(file.name, text)
    show_log(found)


def _told(log: "Log", day: date, clean: Sequence[str], again: Sequence[str]) -> "list[Done]":
    """Make of each drill that is named one line for the day; what is told twice is refused."""
    from scoretools.model.plan import Done
    from scoretools.practice_log import title_of

    written = {done.title: done for done in log.done if done.day == day}
    told: dict[str, Done] = {}
    for words, was_clean in (*((one, True) for one in clean), *((one, False) for one in again)):
        done = Done(day, title_of(log, words), was_clean)
        if told.setdefault(done.title, done) != done:
            raise PlayerError(f"“{words}” is told both clean and again; name it once")
        if before := written.get(done.title):
            raise PlayerError(
                f"“{words}” stands in the log as {'clean' if before.clean else 'again'} on {day} "
                "already; change that line if it is wrong"
            )
    return list(told.values())


def _date(option: str, text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise PlayerError(
            f"{option}: “{text}” is not a date; write one such as 2027-01-15"
        ) from None


def _log(file: Path | None) -> "tuple[str, Log]":
    """Read a log; a file that is not there is an empty one."""
    from scoretools.practice_log import read_log

    if file is None or not file.exists():
        return "", read_log("", "")
    try:
        text = file.read_text(encoding="utf-8-sig")
    except OSError as error:
        raise ReadError(
            f"{file}: the log cannot be read ({error.strerror or error}); name a text file"
        ) from error
    except UnicodeDecodeError as error:
        raise WriteError(f"{file}: the log is not plain text in UTF-8; save it as that") from error
    return text, read_log(file.name, text)
