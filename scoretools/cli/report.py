"""``scoretools report``: read a part, say what it asks, write the tables and the page."""

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scoretools.errors import PlayerError, WriteError
from scoretools.player import Profile

if TYPE_CHECKING:
    from scoretools.model import Analysis, Part
    from scoretools.player import Player
    from scoretools.voices import Divisi

__all__ = ["divisi_from", "given_marks", "player_from", "profile_choice", "progress", "report"]


def _known_profile(text: str | None) -> Profile | None:
    if text is None or text in list(Profile):
        return None if text is None else Profile(text)
    raise PlayerError(f"--profile: “{text}” is none of the profiles; choose {profile_choice()}")


def profile_choice() -> str:
    """List the profiles."""
    *first, last = Profile
    return f"{', '.join(first)} or {last}"


def _known_position(text: str | None) -> float | None:
    if text is None:
        return None
    try:
        return float(text.replace(",", "."))
    except ValueError:
        raise PlayerError(
            f"--highest-position: “{text}” is not a number; write 0.5 for half position, or 1 to 12"
        ) from None


def report(
    score: Annotated[Path, typer.Argument(
        help="Score in MusicXML (.musicxml .xml .mxl), or in ABC, kern, MEI or MIDI.",
        metavar="SCORE", show_default=False)],
    part: Annotated[str | None, typer.Option(
        help="Part by name or number; by default the first violin or viola.",
        metavar="PART")] = None,
    player: Annotated[Path | None, typer.Option(
        help="Player file (TOML): size, reach, highest position, known shapes.",
        metavar="FILE.toml")] = None,
    highest_position: Annotated[str | None, typer.Option(
        help="Highest position, 0.5 (half) to 12; by default from the notes.",
        metavar="NUMBER")] = None,
    profile: Annotated[str | None, typer.Option(
        help=f"Who plays: {profile_choice()}; by default {Profile.DEVELOPING_PLAYER}.",
        metavar="PROFILE", autocompletion=lambda: list(Profile))] = None,
    out: Annotated[Path | None, typer.Option(
        help="Folder to write notes.csv, passages.csv, demands.csv, drills.csv, analysis.json "
             "and report.html into, and the score with marks in it (marked.musicxml, or .mxl as "
             "the score is); without it nothing is written.",
        metavar="FOLDER")] = None,
    marks_file: Annotated[Path | None, typer.Option(
        help="Your own marks (CSV), which go before what is printed; "
             "scoretools mark --template writes one to fill in.",
        metavar="FILE.csv")] = None,
    divisi: Annotated[str, typer.Option(
        help="Where several notes sound: auto (double stops, but one line where the part is "
             "divided), top or bottom (that line alone), both (all as written).",
        metavar="WHICH", autocompletion=lambda: ["auto", "top", "bottom", "both"])] = "auto",
) -> None:  # fmt: skip
    """Say what a part asks of the left hand, and what to practise first.

    Example: scoretools report study.musicxml --highest-position 3 --out report
    """
    from scoretools.cli.files import prepare_folder, save_all
    from scoretools.cli.show import show_analysis, show_saved

    who = player_from(player, highest_position, profile)
    line = divisi_from(divisi)
    unmarked = ""
    if out is not None:
        prepare_folder(out)
    with progress() as say:
        say(f"Reading {score.name}")
        from scoretools.read import read_part

        read = read_part(score, part)
        say("Fingering")
        from scoretools.analysis import analyse

        def again(part: "Part") -> "Analysis":
            return analyse(given_marks(part, marks_file), who, divisi=line)

        analysis = again(read)
        if out is not None:
            say("Writing")
            marked, unmarked = _marked(score, analysis, again)
            save_all(out, {**_files(analysis), **marked})
    show_analysis(analysis)
    show_saved(out)
    if unmarked:
        typer.echo(unmarked)


def divisi_from(text: str) -> "Divisi":
    """Read what ``--divisi`` says."""
    from scoretools.voices import Divisi

    if text not in list(Divisi):
        raise PlayerError(f"--divisi: “{text}” is not known; choose auto, top, bottom or both")
    return Divisi(text)


def given_marks(part: "Part", path: Path | None) -> "Part":
    """Let a marks file, if there is one, overrule and add to what is printed."""
    from scoretools.marks_file import apply_marks_file

    return part if path is None else apply_marks_file(part, path)


def _marked(
    score: Path, analysis: "Analysis", again: "Callable[[Part], Analysis]"
) -> tuple[dict[str, bytes], str]:
    """Make the marked score, or say why there is none."""
    from scoretools.read.container import contents
    from scoretools.read.convert import format_of
    from scoretools.write.annotate import annotate_file
    from scoretools.write.packed import is_container

    found = contents(score)
    if format_of(found) != "musicxml":
        return {}, "There is no marked score: marks are put into MusicXML only."
    file = score.read_bytes()
    name = "marked.mxl" if is_container(file) else "marked.musicxml"
    try:
        return {name: annotate_file(file, found.data, analysis, again=again)}, ""
    except WriteError as error:
        return {}, f"There is no marked score: {error}."


@contextmanager
def progress() -> Iterator[Callable[[str], None]]:
    """Show, on a terminal, what is being done."""
    if not sys.stderr.isatty():
        yield lambda words: None
        return
    from rich.console import Console

    with Console(stderr=True).status("") as status:
        yield lambda words: status.update(f"{words} …")


def player_from(path: Path | None, highest: str | None, profile: str | None) -> "Player":
    """Make the player from file and options; an option goes before the file."""
    from dataclasses import replace

    from scoretools.player import Player, highest_position_from, read_player

    who = read_player(path) if path is not None else Player()
    if (number := _known_position(highest)) is not None:
        who = replace(who, highest_position=highest_position_from("--highest-position", number))
    if (known := _known_profile(profile)) is not None:
        who = replace(who, profile=known)
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
