"""``scoretools sheets``: one piece for a whole studio, a sheet for each player and an overview."""

import re
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scoretools.cli.options import PaperOption, PartOption, ScoreArgument, paper_from, progress
from scoretools.errors import PlayerError, ReadError, ScoretoolsError
from scoretools.note_names import NoteNames, naming, said

if TYPE_CHECKING:
    from scoretools.model import Analysis
    from scoretools.player import Player

__all__ = ["sheets"]


def sheets(
    score: ScoreArgument,
    studio: Annotated[Path, typer.Option(
        help="Folder of player files (TOML), one for each student; see scoretools player new.",
        metavar="FOLDER", show_default=False)],
    out: Annotated[Path, typer.Option(
        help="Folder to write a plan for each player (PDF) and the overview (PDF and CSV) into.",
        metavar="FOLDER", show_default=False)],
    part: PartOption = None,
    paper: PaperOption = None,
) -> None:  # fmt: skip
    """Plan a piece for every student of a studio, and compare them.

    Each student gets a plan to print; the overview says which drills serve most of them.

    Example: scoretools sheets study.musicxml --studio players --out sheets
    """
    from scoretools.cli.files import prepare_folder, save_all
    from scoretools.drills.choose import CAUTIONS
    from scoretools.drills.plan import plan
    from scoretools.player import Player
    from scoretools.write.overview import overview_pdf, overview_table, shared_drills
    from scoretools.write.plan_sheets import plan_pdf
    from scoretools.write.tables import as_csv

    paper_from(paper, Player())
    prepare_folder(out)
    files: dict[str, str | bytes] = {}
    with progress() as say:
        say(f"Reading {score.name}")
        analyses, players, skipped = _analyses(score, part, studio)
        for name, analysis in analyses.items():
            say(f"Writing the sheet of {name}")
            who = players[name]
            planned = plan([analysis], who, date.today())
            with naming(who.note_names):
                pdf = plan_pdf(planned, [analysis], name, paper_from(paper, who))
            files[f"{_file_name(name)}.pdf"] = pdf
        studio_like = _in_common(list(players.values()))
        with naming(studio_like.note_names):
            files["overview.pdf"] = overview_pdf(analyses, paper_from(paper, studio_like))
        files["overview.csv"] = as_csv(overview_table(analyses))
        save_all(out, files)
    with naming(studio_like.note_names):
        for one in shared_drills(analyses):
            names = ", ".join(one.shares)
            typer.echo(f"{len(one.shares)} of {len(analyses)}: {said(one.title)} ({names})")
    typer.echo(f"Take care. {' '.join(CAUTIONS)}")
    for sentence in skipped:
        typer.echo(f"Skipped: {sentence}.")
    typer.echo(f"Written into {out}: {', '.join(files)}.")


def _in_common(players: "list[Player]") -> "Player":
    """Make a player of the names and the paper that all share, for the overview."""
    from scoretools.player import Paper, Player

    names = {player.note_names for player in players}
    papers = {player.paper for player in players}
    return Player(
        note_names=names.pop() if len(names) == 1 else NoteNames.LETTERS,
        paper=papers.pop() if len(papers) == 1 else Paper.A4,
    )


def _analyses(
    score: Path, part: str | None, studio: Path
) -> "tuple[dict[str, Analysis], dict[str, Player], list[str]]":
    """Analyse a part for every player of a studio; a file that will not do is named and skipped."""
    from scoretools.analysis import analyse
    from scoretools.player import read_player
    from scoretools.read import read_part

    files = sorted(studio.glob("*.toml")) if studio.is_dir() else []
    if not files:
        raise ReadError(
            f"{studio}: there are no player files (.toml) in this folder; write one with "
            f"scoretools player new {studio / 'name.toml'}"
        )
    read = read_part(score, part)
    analyses: dict[str, Analysis] = {}
    players: dict[str, Player] = {}
    skipped: list[str] = []
    for file in files:
        try:
            player = read_player(file)
            name = player.name if player.name and player.name not in analyses else file.stem
            with naming(player.note_names):
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
