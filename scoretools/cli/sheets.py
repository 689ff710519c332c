"""``scoretools sheets``: one piece for a whole studio, a sheet for each player and an overview."""

import re
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scoretools.cli.options import PartOption, ScoreArgument, progress
from scoretools.cli.report_files import PAPERS
from scoretools.errors import PlayerError, ReadError, ScoretoolsError

if TYPE_CHECKING:
    from scoretools.model import Analysis
    from scoretools.player import Player

__all__ = ["sheets"]


def sheets(
    score: ScoreArgument,
    studio: Annotated[Path, typer.Option(
        help="Folder of player files (TOML), one for each student.", metavar="FOLDER",
        show_default=False)],
    out: Annotated[Path, typer.Option(
        help="Folder to write a plan for each player (PDF) and the overview (PDF and CSV) into.",
        metavar="FOLDER", show_default=False)],
    part: PartOption = None,
    paper: Annotated[str, typer.Option(
        help=f"Paper to print on: {' or '.join(PAPERS)}.", metavar="PAPER")] = "a4",
) -> None:  # fmt: skip
    """Write each student's sheet for one piece, and an overview of who needs which drill.

    Example: scoretools sheets study.musicxml --studio players --out sheets
    """
    from scoretools.cli.files import prepare_folder, save_all
    from scoretools.drills.plan import plan
    from scoretools.write.overview import overview_pdf, overview_table, shared_drills
    from scoretools.write.plan_sheets import plan_pdf
    from scoretools.write.tables import as_csv

    if paper not in PAPERS:
        raise PlayerError(f"--paper: “{paper}” is not known; choose one of {', '.join(PAPERS)}")
    prepare_folder(out)
    files: dict[str, str | bytes] = {}
    with progress() as say:
        say(f"Reading {score.name}")
        analyses, players, skipped = _analyses(score, part, studio)
        for name, analysis in analyses.items():
            say(f"Writing the sheet of {name}")
            planned = plan([analysis], players[name], date.today())
            files[f"{_file_name(name)}.pdf"] = plan_pdf(planned, [analysis], name, paper)
        files["overview.pdf"] = overview_pdf(analyses, paper)
        files["overview.csv"] = as_csv(overview_table(analyses))
        save_all(out, files)
    for one in shared_drills(analyses):
        typer.echo(f"{len(one.shares)} of {len(analyses)}: {one.title} ({', '.join(one.shares)})")
    for sentence in skipped:
        typer.echo(f"Skipped: {sentence}.")
    typer.echo(f"Written into {out}: {', '.join(files)}.")


def _analyses(
    score: Path, part: str | None, studio: Path
) -> "tuple[dict[str, Analysis], dict[str, Player], list[str]]":
    """Analyse a part for every player of a studio; a file that will not do is named and skipped."""
    from scoretools.analysis import analyse
    from scoretools.player import read_player
    from scoretools.read import read_part

    files = sorted(studio.glob("*.toml")) if studio.is_dir() else []
    if not files:
        raise ReadError(f"{studio}: there are no player files (.toml) in this folder")
    read = read_part(score, part)
    analyses: dict[str, Analysis] = {}
    players: dict[str, Player] = {}
    skipped: list[str] = []
    for file in files:
        try:
            player = read_player(file)
            name = player.name if player.name and player.name not in analyses else file.stem
            analyses[name] = analyse(read, player)
            players[name] = player
        except ScoretoolsError as error:
            skipped.append(str(error) if str(file) in str(error) else f"{file}: {error}")
    if not analyses:
        raise PlayerError(f"{studio}: no player file will do; {skipped[0]}")
    return analyses, players, skipped


def _file_name(name: str) -> str:
    """A name that every file system takes; ``overview`` is taken already."""
    plain = re.sub(r"[^\w-]+", "_", name).strip("_") or "player"
    return f"{plain}_" if plain.casefold() == "overview" else plain
