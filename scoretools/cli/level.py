"""``scoretools level``: how hard a part is for the left hand, by a rubric."""

import json
from dataclasses import asdict
from typing import TYPE_CHECKING, Annotated

import typer

from scoretools.cli.options import (
    DivisiOption,
    HighestPositionOption,
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
from scoretools.note_names import naming

if TYPE_CHECKING:
    from scoretools.difficulty import Rubric

__all__ = ["level"]


def _rubrics() -> list[str]:
    from scoretools.difficulty import SHIPPED

    return list(SHIPPED)


def level(
    score: ScoreArgument,
    part: PartOption = None,
    player: PlayerOption = None,
    highest_position: HighestPositionOption = None,
    profile: ProfileOption = None,
    divisi: DivisiOption = "auto",
    rubric: Annotated[str, typer.Option(
        help="What the level goes by: bands (in words), index (one number), or a rubric of your "
             "own, a TOML file.",
        metavar="RUBRIC", autocompletion=_rubrics)] = "bands",
    as_json: Annotated[bool, typer.Option(
        "--json", help="Print it as JSON, for other programs.")] = False,
) -> None:  # fmt: skip
    """Say how hard a part is for the left hand, why, and where.

    Example: scoretools level study.musicxml --rubric index
    """
    from scoretools.difficulty import read_rubric

    goes_by = read_rubric(rubric)
    request = request_from(score, part, player, highest_position, profile, None, divisi)
    with naming(request.player.note_names):
        _level(request, goes_by, as_json)


def _level(request: Request, goes_by: "Rubric", as_json: bool) -> None:
    """Finger the part, judge it, and print its level."""
    from scoretools.cli.show_level import show_level
    from scoretools.difficulty import level as judged

    with progress() as say:
        say(f"Reading {request.score.name}")
        as_printed = read(request)
        say("Fingering")
        analysis = fingered(request, as_printed)
    found = judged(analysis, goes_by, request.divisi)
    if as_json:
        typer.echo(json.dumps(asdict(found), ensure_ascii=False, indent=2))
        return
    show_level(analysis, found)
