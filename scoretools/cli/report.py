"""``scoretools report``: read a part, say what it asks, write the tables and the page."""

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scoretools.cli.options import (
    DivisiOption,
    HighestPositionOption,
    IgnoreMarksOption,
    MarksFileOption,
    PartOption,
    PlayerOption,
    ProfileOption,
    Request,
    ScoreArgument,
    fingered,
    progress,
    read,
    request_from,
)
from scoretools.errors import WriteError

if TYPE_CHECKING:
    from scoretools.model import Analysis

__all__ = ["report"]


def report(
    score: ScoreArgument,
    part: PartOption = None,
    player: PlayerOption = None,
    highest_position: HighestPositionOption = None,
    profile: ProfileOption = None,
    out: Annotated[Path | None, typer.Option(
        help="Folder to write notes.csv, passages.csv, demands.csv, drills.csv, analysis.json "
             "and report.html into, and the score with marks in it (marked.musicxml, or .mxl as "
             "the score is); without it nothing is written.",
        metavar="FOLDER")] = None,
    marks_file: MarksFileOption = None,
    divisi: DivisiOption = "auto",
    ignore_marks: IgnoreMarksOption = False,
) -> None:  # fmt: skip
    """Say what a part asks of the left hand, and what to practise first.

    Example: scoretools report study.musicxml --highest-position 3 --out report
    """
    from scoretools.cli.files import prepare_folder, save_all
    from scoretools.cli.show import show_analysis, show_saved

    request = request_from(
        score, part, player, highest_position, profile, marks_file, divisi, ignore_marks
    )
    unmarked = ""
    if out is not None:
        prepare_folder(out)
    with progress() as say:
        say(f"Reading {score.name}")
        as_printed = read(request)
        say("Fingering")
        analysis = fingered(request, as_printed)
        if out is not None:
            say("Writing")
            marked, unmarked = _marked(request, analysis)
            save_all(out, {**_files(analysis), **marked})
    show_analysis(analysis)
    show_saved(out)
    if unmarked:
        typer.echo(unmarked)


def _marked(request: Request, analysis: "Analysis") -> tuple[dict[str, bytes], str]:
    """Make the marked score, or say why there is none."""
    from scoretools.read.container import contents
    from scoretools.read.convert import format_of
    from scoretools.write.annotate import annotate_file
    from scoretools.write.packed import is_container

    if not request.use_marks:
        return {}, "There is no marked score: this fingering leaves out what is printed in it."
    found = contents(request.score)
    if format_of(found) != "musicxml":
        return {}, "There is no marked score: marks are put into MusicXML only."
    file = request.score.read_bytes()
    name = "marked.mxl" if is_container(file) else "marked.musicxml"
    again = partial(fingered, request)
    try:
        return {name: annotate_file(file, found.data, analysis, again=again)}, ""
    except WriteError as error:
        return {}, f"There is no marked score: {error}."


def _files(analysis: "Analysis") -> dict[str, str]:
    from scoretools.write.document import analysis_json
    from scoretools.write.page import page
    from scoretools.write.tables import (
        as_csv,
        demands_table,
        drills_table,
        notes_table,
        passages_table,
    )

    return {
        "notes.csv": as_csv(notes_table(analysis)),
        "passages.csv": as_csv(passages_table(analysis)),
        "demands.csv": as_csv(demands_table(analysis)),
        "drills.csv": as_csv(drills_table(analysis)),
        "analysis.json": analysis_json(analysis),
        "report.html": page(analysis),
    }
