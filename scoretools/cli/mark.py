"""``scoretools mark``: put fingers, strings and a few words into the player's own score."""

import os
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scoretools.cli.options import (
    HighestPositionOption,
    PartOption,
    PlayerOption,
    ProfileOption,
    Request,
    divisi_choice,
    fingered,
    progress,
    read,
    request_from,
)
from scoretools.errors import WriteError
from scoretools.note_names import naming, said

if TYPE_CHECKING:
    from collections.abc import Callable

    from scoretools.model import Analysis, Part
    from scoretools.read.container import Contents
    from scoretools.write.marks import Amount

__all__ = ["mark"]

_PLAIN = (".musicxml", ".xml")


def mark(
    score: Annotated[Path, typer.Argument(
        help="Score in MusicXML (.musicxml .xml .mxl); it is never changed.",
        metavar="SCORE", show_default=False)],
    out: Annotated[Path | None, typer.Option(
        help="File to write, .mxl where the score is one (or .musicxml for its text); with "
             "--template the marks file.",
        metavar="FILE")] = None,
    part: PartOption = None,
    player: PlayerOption = None,
    highest_position: HighestPositionOption = None,
    profile: ProfileOption = None,
    marks: Annotated[str, typer.Option(
        help="How many marks. sparse: what a player cannot guess (shifts, unexpected strings, "
             "stretches, open string or fourth finger); all: a finger on every note; none: the "
             "score as it is.",
        metavar="AMOUNT", autocompletion=lambda: ["sparse", "all", "none"])] = "sparse",
    marks_file: Annotated[Path | None, typer.Option(
        help="Table of your own fingers and strings (CSV), which go before what is printed; "
             "see --template.",
        metavar="FILE.csv")] = None,
    divisi: Annotated[str, typer.Option(
        help="Where several notes sound: auto, top, bottom or both, as for scoretools report.",
        metavar="WHICH", autocompletion=divisi_choice)] = "auto",
    template: Annotated[bool, typer.Option(
        "--template",
        help="Write a marks file to fill in, to --out or to the screen: a line for each note. "
             "String, finger and position stand where scoretools would put a mark; change them as "
             "you play. An empty cell leaves what is printed, none takes it away.",
    )] = False,
) -> None:  # fmt: skip
    """Put fingers, strings and a few words into a copy of your score.

    Nothing else in it is changed.

    Example: scoretools mark study.musicxml --out study-marked.musicxml
    """
    amount = _known_amount(marks)
    request = request_from(score, part, player, highest_position, profile, marks_file, divisi)
    _check_out(out, template, [score, player, marks_file])
    with naming(request.player.note_names):
        content, kept = _content(request, amount, out, template)
    if out is None:
        typer.echo(content, nl=False)
        return
    for sentence in kept:
        typer.echo(f"{sentence}.")
    what = "a marks file to fill in" if template else "the marked score"
    typer.echo(f"Written into {out}: {what}.")


def _content(
    request: Request, amount: "Amount", out: Path | None, template: bool
) -> tuple[str | bytes, tuple[str, ...]]:
    """Make the marked score or the template, and save it where there is a place for it."""
    from scoretools.cli.files import save_all
    from scoretools.read.container import contents

    again = partial(fingered, request)
    kept: tuple[str, ...] = ()
    with progress() as say:
        say(f"Reading {request.score.name}")
        found = contents(request.score)
        if not template:
            _check_format(found, request.score, out)
        as_printed = read(request)
        say("Fingering")
        analysis = again(as_printed)
        say("Writing")
        if template:
            content: str | bytes = _template(found, analysis, amount, again)
        else:
            content, kept = _marked(request.score, out, found, analysis, amount, again)
        if out is not None:
            save_all(out.parent, {out.name: content})
    return content, kept


# ── checks ──────────────────────────────────────────────────────────────────────────────────────


def _known_amount(text: str) -> "Amount":
    from scoretools.write.marks import Amount

    if text in list(Amount):
        return Amount(text)
    raise WriteError(f"--marks: “{text}” is none of the amounts; choose {', '.join(Amount)}")


def _check_out(out: Path | None, template: bool, inputs: "list[Path | None]") -> None:
    """See that there is a place to write to, and that it is none of the files read."""
    if out is None:
        if template:
            return
        raise WriteError(
            "--out: name the file to write, as in: scoretools mark study.musicxml "
            "--out study-marked.musicxml"
        )
    for path in inputs:
        if path is not None and out.exists() and path.exists() and os.path.samefile(out, path):
            raise WriteError(f"{out}: this file is read here and is never written over; "
                             "choose another name with --out")  # fmt: skip
    if out.is_dir():
        raise WriteError(f"{out}: this is a folder; name a file in it with --out")


def _check_format(found: "Contents", score: Path, out: Path | None) -> None:
    from scoretools.read.convert import format_of
    from scoretools.write.packed import is_container

    if format_of(found) != "musicxml":
        raise WriteError(
            f"{found.name}: marks are put into MusicXML only; export the score as MusicXML from "
            "the notation program and mark that"
        )
    packed = is_container(score.read_bytes())
    if out is not None and out.suffix.lower() == ".mxl" and not packed:
        raise WriteError(f"{out}: the score is no .mxl container; name the file .musicxml")


# ── contents ────────────────────────────────────────────────────────────────────────────────────


def _marked(
    score: Path,
    out: Path | None,
    found: "Contents",
    analysis: "Analysis",
    amount: "Amount",
    again: "Callable[[Part], Analysis]",
) -> tuple[bytes, tuple[str, ...]]:
    from scoretools.write.annotate import annotate_file, marks_kept
    from scoretools.write.summary import bar_ranges

    as_text = out is not None and out.suffix.lower() in _PLAIN
    file = found.data if as_text else score.read_bytes()
    content = annotate_file(file, found.data, analysis, amount, again)
    kept = tuple(
        f"{bar_ranges(analysis, (notice.measure,))}: {said(notice.message)}"
        for notice in marks_kept(found.data, analysis)
        if notice.measure is not None
    )
    return content, kept


def _template(
    found: "Contents",
    analysis: "Analysis",
    amount: "Amount",
    again: "Callable[[Part], Analysis]",
) -> str:
    from scoretools.marks_file import as_marks_file
    from scoretools.read.convert import format_of
    from scoretools.write.annotate import marks_to_write

    if format_of(found) != "musicxml":
        return as_marks_file(analysis.part, {})
    return as_marks_file(analysis.part, marks_to_write(found.data, analysis, amount, again))
