"""``scoretools report``: read a part, say what it asks, write the tables and the page."""

from pathlib import Path
from typing import Annotated

import typer

from scoretools.cli.options import (
    DivisiOption,
    HighestPositionOption,
    IgnoreMarksOption,
    MarksFileOption,
    PaperOption,
    PartOption,
    PlayerOption,
    ProfileOption,
    Request,
    ScoreArgument,
    fingered,
    paper_from,
    progress,
    read,
    request_from,
)
from scoretools.cli.report_files import (
    EDITIONS,
    KINDS,
    Wishes,
    report_files,
    steps_of,
    wishes_from,
)
from scoretools.errors import WriteError
from scoretools.note_names import naming

__all__ = ["report"]


def report(
    score: ScoreArgument,
    part: PartOption = None,
    player: PlayerOption = None,
    highest_position: HighestPositionOption = None,
    profile: ProfileOption = None,
    out: Annotated[Path | None, typer.Option(
        help="Folder to write into: report.html, drills.pdf and drills.musicxml, the part with "
             "marks (part.pdf, and marked.musicxml or .mxl as the score is), tables and "
             "analysis.json; without it nothing is written.",
        metavar="FOLDER")] = None,
    only: Annotated[list[str] | None, typer.Option(
        help=f"Write this alone: {', '.join(KINDS[:-1])} or {KINDS[-1]}; may be given again, as "
             "in --only page --only book.",
        metavar="KIND", autocompletion=lambda: list(KINDS))] = None,
    midi: Annotated[bool, typer.Option(
        "--midi",
        help="Also write the drills and the hardest bars as sound (MIDI): slow, over the open "
             "string that checks them.")] = False,
    edition: Annotated[str, typer.Option(
        "--for", help="Who reads it: teacher (everything) or student (what to practise).",
        metavar="WHOM", autocompletion=lambda: list(EDITIONS))] = "teacher",
    paper: PaperOption = None,
    large: Annotated[bool, typer.Option(
        "--large", help="Large notes and words on paper, for beginners.")] = False,
    note_names: Annotated[bool, typer.Option(
        "--note-names", help="Write the names of the notes under the drills.")] = False,
    mm: Annotated[bool, typer.Option(
        "--mm", help="Write the millimetres between the fingers into the pictures.")] = False,
    marks_file: MarksFileOption = None,
    divisi: DivisiOption = "auto",
    ignore_marks: IgnoreMarksOption = False,
) -> None:  # fmt: skip
    """Say what a part asks of the hand, and what to practise first.

    Example: scoretools report study.musicxml --highest-position 3 --out report
    """
    request = request_from(
        score, part, player, highest_position, profile, marks_file, divisi, ignore_marks
    )
    sheet = paper_from(paper, request.player)
    wishes = wishes_from(only, midi, edition, sheet, large, note_names, mm)
    if out is None and (only or midi):
        raise WriteError("--out: name a folder to write into, as in: --out report")
    with naming(request.player.note_names):
        _report(request, wishes, out)


def _report(request: Request, wishes: Wishes, out: Path | None) -> None:
    """Analyse, write what is wished for, and print the summary."""
    from scoretools.cli.files import prepare_folder, save_all
    from scoretools.cli.show import show_analysis, show_for_student, show_saved

    files: dict[str, str | bytes] = {}
    told: tuple[str, ...] = ()
    if out is not None:
        prepare_folder(out)
    steps = 2 if out is None else 3 + steps_of(wishes)
    with progress(steps) as say:
        say(f"Reading {request.score.name}")
        as_printed = read(request)
        say("Fingering")
        analysis = fingered(request, as_printed)
        if out is not None:
            files, told = report_files(request, analysis, wishes, say)
            say("Saving")
            save_all(out, files)
    for_student = wishes.edition == "student"
    (show_for_student if for_student else show_analysis)(analysis)
    show_saved(out, files, listing=for_student)
    for sentence in told:
        typer.echo(sentence)
