"""``scoretools programme``: several scores on one sheet, every string part with its level."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scoretools.cli.options import (
    DivisiOption,
    PaperOption,
    PlayerOption,
    ProfileOption,
    paper_from,
    player_from,
    progress,
    request_from,
)
from scoretools.errors import ReadError, ScoretoolsError
from scoretools.note_names import naming

if TYPE_CHECKING:
    from scoretools.write.programme import Judged

__all__ = ["programme"]


def programme(
    scores: Annotated[list[Path], typer.Argument(
        help="Scores, in the order of the programme.", metavar="SCORE…", show_default=False)],
    out: Annotated[Path, typer.Option(
        help="Folder to write programme.html and programme.pdf into.", metavar="FOLDER",
        show_default=False)],
    player: PlayerOption = None,
    profile: ProfileOption = None,
    divisi: DivisiOption = "auto",
    title: Annotated[str, typer.Option(
        help="What stands at the head of the sheet.", metavar="TEXT")] = "Programme",
    paper: PaperOption = None,
) -> None:  # fmt: skip
    """Put a concert on one sheet: every part's level and hardest bars.

    Every violin and viola part has a row, with its positions and hand shapes.

    Example: scoretools programme overture.mxl suite.mxl --out programme
    """
    from scoretools.cli.files import prepare_folder, save_all
    from scoretools.write.note_words import title_of
    from scoretools.write.programme import programme_page, programme_pdf

    who = player_from(player, None, profile)
    sheet = paper_from(paper, who)
    prepare_folder(out)
    judged: list[Judged] = []
    skipped: list[str] = []
    with naming(who.note_names), progress(len(scores) + 1) as say:
        for score in scores:
            say(f"Reading and fingering {score.name}")
            try:
                judged += _parts(score, player, profile, divisi, skipped)
            except ScoretoolsError as error:
                skipped.append(str(error))
        if not judged:
            raise ReadError(f"there is no part to put on a sheet; {skipped[0]}")
        say("Writing")
        files: dict[str, str | bytes] = {
            "programme.html": programme_page(judged, title),
            "programme.pdf": programme_pdf(judged, title, sheet),
        }
        save_all(out, files)
    for one in judged:
        part = one.analysis.part
        name = part.name or part.instrument.capitalize()
        typer.echo(f"{title_of(part)}, {name}: {one.band.label}, index {one.index.value:.0f}")
    for sentence in skipped:
        typer.echo(f"Skipped: {sentence.rstrip('.')}.")
    typer.echo(f"Written into {out}: {', '.join(files)}.")


def _parts(
    score: Path, player: Path | None, profile: str | None, divisi: str, skipped: list[str]
) -> "list[Judged]":
    """Judge every violin and viola part of a score; a part that will not do is named."""
    from scoretools.cli.options import fingered
    from scoretools.difficulty import level, read_rubric
    from scoretools.read import read_string_parts
    from scoretools.write.programme import Judged

    bands, index = read_rubric("bands"), read_rubric("index")
    request = request_from(score, None, player, None, profile, None, divisi)
    found: list[Judged] = []
    for one in read_string_parts(score):
        if one.part is None:
            skipped.append(str(one.fault))
            continue
        try:
            analysis = fingered(request, one.part)
        except ScoretoolsError as error:
            skipped.append(str(error))
            continue
        found.append(
            Judged(analysis, level(analysis, bands, divisi), level(analysis, index, divisi))
        )
    return found
