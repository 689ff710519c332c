"""``scoretools level``: how hard a part is for the left hand, by a rubric."""

import json
from dataclasses import asdict
from typing import Annotated

import typer

from scoretools.cli.options import (
    DivisiOption,
    HighestPositionOption,
    PartOption,
    PlayerOption,
    ProfileOption,
    ScoreArgument,
    fingered,
    progress,
    read,
    request_from,
)

__all__ = ["level"]


def level(
    score: ScoreArgument,
    part: PartOption = None,
    player: PlayerOption = None,
    highest_position: HighestPositionOption = None,
    profile: ProfileOption = None,
    divisi: DivisiOption = "auto",
    rubric: Annotated[str, typer.Option(
        help="Rubric: bands (in words), index (one number), or a TOML file of your own.",
        metavar="RUBRIC")] = "bands",
    as_json: Annotated[bool, typer.Option(
        "--json", help="Print it as JSON, for other programs.")] = False,
) -> None:  # fmt: skip
    """Say how hard a part is for the left hand, by what, and where.

    Example: scoretools level study.musicxml --rubric index
    """
    from scoretools.cli.show_level import show_level
    from scoretools.difficulty import level as judged
    from scoretools.difficulty import read_rubric

    goes_by = read_rubric(rubric)
    request = request_from(score, part, player, highest_position, profile, None, divisi)
    with progress() as say:
        say(f"Reading {score.name}")
        as_printed = read(request)
        say("Fingering")
        analysis = fingered(request, as_printed)
    found = judged(analysis, goes_by, divisi)
    if as_json:
        typer.echo(json.dumps(asdict(found), ensure_ascii=False, indent=2))
        return
    show_level(analysis, found)
