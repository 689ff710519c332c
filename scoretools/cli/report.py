"""``scoretools report``: read a part, say what it asks, write the tables and the page."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scoretools.player import Profile

if TYPE_CHECKING:
    from rich.console import Console

    from scoretools.model import Analysis
    from scoretools.player import Player

__all__ = ["report"]

NOTICES_SHOWN = 8
"""Notices printed; all of them are in analysis.json and on the page."""


def report(
    score: Annotated[Path, typer.Argument(help="Score: MusicXML (.musicxml .xml .mxl), or ABC, "
                                               "kern, MEI, MIDI.", show_default=False)],
    part: Annotated[str | None, typer.Option(
        help="Part by name or number; by default the first violin or viola.")] = None,
    player: Annotated[Path | None, typer.Option(
        help="Player file (TOML): size, reach, highest position, known shapes.")] = None,
    highest_position: Annotated[float | None, typer.Option(
        help="Highest position, 0.5 (half) to 12; by default from the notes.")] = None,
    profile: Annotated[Profile | None, typer.Option(
        help=f"Who plays; by default {Profile.DEVELOPING_PLAYER}.", show_default=False)] = None,
    out: Annotated[Path | None, typer.Option(
        help="Folder for notes.csv, passages.csv, demands.csv, drills.csv, analysis.json and "
             "report.html.")] = None,
) -> None:  # fmt: skip
    """Say what a part asks of the left hand, and what to practise first.

    Example: scoretools report study.musicxml --highest-position 3 --out report
    """
    from rich.console import Console

    from scoretools.cli.files import prepare_folder, save_all

    console = Console(highlight=False, soft_wrap=True)
    who = _player(player, highest_position, profile)
    if out is not None:
        prepare_folder(out)
    with _progress() as say:
        say(f"Reading {score.name}")
        from scoretools.read import read_part

        read = read_part(score, part)
        say("Fingering")
        from scoretools.analysis import analyse

        analysis = analyse(read, who)
        if out is not None:
            say("Writing")
            saved = save_all(out, _files(analysis))
    _show(console, analysis)
    if out is not None:
        console.print(f"\nWritten: {', '.join(str(path) for path in saved)}")


@contextmanager
def _progress() -> Iterator[Callable[[str], None]]:
    """Show, on a terminal, what is being done."""
    from rich.console import Console

    with Console(stderr=True).status("") as status:
        yield lambda words: status.update(f"{words} …")


def _player(path: Path | None, highest: float | None, profile: Profile | None) -> "Player":
    """Make the player from file and options; an option goes before the file."""
    from dataclasses import replace

    from scoretools.player import Player, highest_position_from, read_player

    who = read_player(path) if path is not None else Player()
    if highest is not None:
        who = replace(who, highest_position=highest_position_from("--highest-position", highest))
    if profile is not None:
        who = replace(who, profile=profile)
    return who


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


# ── what is printed ─────────────────────────────────────────────────────────────────────────────


def _show(console: "Console", analysis: "Analysis") -> None:
    from scoretools.drills.choose import CAUTIONS
    from scoretools.write.summary import ceiling_sentence, heading, what_it_asks

    console.print(heading(analysis), style="bold", markup=False)
    _section(console, "What it asks of the left hand")
    for sentence in (*what_it_asks(analysis), ceiling_sentence(analysis)):
        console.print(sentence, markup=False)
    _show_bars(console, analysis)
    _show_drills(console, analysis)
    _show_notices(console, analysis)
    _section(console, "Take care")
    for caution in CAUTIONS:
        console.print(f"- {caution}", markup=False)


def _section(console: "Console", title: str) -> None:
    console.print()
    console.print(title, style="bold underline", markup=False)


def _show_bars(console: "Console", analysis: "Analysis") -> None:
    from scoretools.write.summary import hardest_bars

    bars = hardest_bars(analysis)
    if bars:
        _section(console, "Hardest bars first")
        for _, sentence in bars:
            console.print(f"- {sentence}", markup=False)


def _show_drills(console: "Console", analysis: "Analysis") -> None:
    from scoretools.write.summary import drill_lines

    _section(console, "Drills, in this order")
    if not analysis.drills:
        console.print("Nothing here that this player does not know already.", markup=False)
    for drill in analysis.drills:
        first, *others = drill_lines(analysis, drill)
        console.print(f"{drill.index + 1}. {first}", style="bold", markup=False)
        for line in others:
            console.print(f"   {line}", markup=False)


def _show_notices(console: "Console", analysis: "Analysis") -> None:
    from scoretools.write.summary import notice_lines

    lines = notice_lines(analysis)
    if lines:
        _section(console, "Skipped, assumed or contradictory")
        for line in lines[:NOTICES_SHOWN]:
            console.print(f"- {line}", markup=False)
        if len(lines) > NOTICES_SHOWN:
            console.print(f"- and {len(lines) - NOTICES_SHOWN} more, all in the written report")
