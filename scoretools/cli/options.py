"""What several commands share: their options, and what these lead to.

A command's options become a `Request`: which part of which score is read, and for whom it is
fingered.
"""

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scoretools.errors import PlayerError
from scoretools.player import Paper, Profile

if TYPE_CHECKING:
    from scoretools.model import Analysis, Part
    from scoretools.player import Player
    from scoretools.voices import Divisi

__all__ = [
    "DivisiOption",
    "HighestPositionOption",
    "IgnoreMarksOption",
    "MarksFileOption",
    "PaperOption",
    "PartOption",
    "PlayerOption",
    "ProfileOption",
    "Request",
    "ScoreArgument",
    "divisi_choice",
    "fingered",
    "known_profile",
    "paper_from",
    "player_from",
    "progress",
    "read",
    "request_from",
    "whole_number",
]


def _profile_choice() -> str:
    *first, last = Profile
    return f"{', '.join(first)} or {last}"


def divisi_choice() -> list[str]:
    """List what ``--divisi`` may say."""
    return ["auto", "top", "bottom", "both"]


ScoreArgument = Annotated[Path, typer.Argument(
    help="Score in MusicXML (.musicxml .xml .mxl), or in ABC, kern, MEI or MIDI.",
    metavar="SCORE", show_default=False)]  # fmt: skip
"""The score."""

PartOption = Annotated[str | None, typer.Option(
    help="Part by name or number; by default the first violin or viola.",
    metavar="PART")]  # fmt: skip
"""Which part."""

PlayerOption = Annotated[Path | None, typer.Option(
    help="Player file (TOML): size, reach, highest position, known shapes; "
         "scoretools player new writes one.",
    metavar="FILE.toml")]  # fmt: skip
"""Who plays."""

HighestPositionOption = Annotated[str | None, typer.Option(
    help="Highest position the player goes to, 0.5 (half) to 12; by default what the notes ask.",
    metavar="NUMBER")]  # fmt: skip
"""How high."""

ProfileOption = Annotated[str | None, typer.Option(
    help=f"Who plays: {_profile_choice()}; by default {Profile.DEVELOPING_PLAYER}.",
    metavar="PROFILE", autocompletion=lambda: list(Profile))]  # fmt: skip
"""Which weights."""

MarksFileOption = Annotated[Path | None, typer.Option(
    help="Your own marks (CSV), which go before what is printed; "
         "scoretools mark --template writes one to fill in.",
    metavar="FILE.csv")]  # fmt: skip
"""The player's own marks."""

DivisiOption = Annotated[str, typer.Option(
    help="Where several notes sound: auto (double stops, but one line where the part is "
         "divided), top or bottom (that line alone), both (all as written).",
    metavar="WHICH", autocompletion=divisi_choice)]  # fmt: skip
"""What one player takes."""

PaperOption = Annotated[str | None, typer.Option(
    help=f"Paper to print on: {' or '.join(Paper)}; by default as the player file says, else "
         f"{Paper.A4}.",
    metavar="PAPER", autocompletion=lambda: list(Paper))]  # fmt: skip
"""What is printed on."""

IgnoreMarksOption = Annotated[bool, typer.Option(
    "--ignore-marks",
    help="Finger as if no finger or string were printed, to compare.")]  # fmt: skip
"""Whether printed marks are left out."""


@dataclass(frozen=True, slots=True)
class Request:
    """Which part of which score is read, and for whom it is fingered."""

    score: Path
    """The score."""
    part: str | None
    """Part by name or number; none: the first violin or viola."""
    player: "Player"
    """Who plays."""
    divisi: "Divisi"
    """What one player takes where several notes sound."""
    marks_file: Path | None
    """The player's own marks."""
    use_marks: bool = True
    """Whether printed marks, and the player's own, are honoured."""


def request_from(
    score: Path,
    part: str | None,
    player: Path | None,
    highest_position: str | None,
    profile: str | None,
    marks_file: Path | None,
    divisi: str,
    ignore_marks: bool = False,
) -> Request:
    """Make a request of the options.

    Raises
    ------
    PlayerError
        If an option, or the player file, says what is not known.
    """
    if ignore_marks and marks_file is not None:
        raise PlayerError(
            "--ignore-marks: a marks file was given too, and would be left out; "
            "take one of --ignore-marks and --marks-file"
        )
    who = player_from(player, highest_position, profile)
    return Request(score, part, who, _divisi_from(divisi), marks_file, not ignore_marks)


def read(request: Request) -> "Part":
    """Read the part asked for, as it is printed."""
    from scoretools.read import read_part

    return read_part(request.score, request.part)


def fingered(request: Request, part: "Part") -> "Analysis":
    """Analyse a part as asked for; a marks file, if there is one, goes before what is printed."""
    from scoretools.analysis import analyse
    from scoretools.marks_file import apply_marks_file

    if request.marks_file is not None:
        part = apply_marks_file(part, request.marks_file)
    return analyse(part, request.player, request.use_marks, request.divisi)


@contextmanager
def progress(steps: int | None = None) -> Iterator[Callable[[str], None]]:
    """Show, on a terminal, what is being done; where the steps are counted, how far it has come."""
    if not sys.stderr.isatty():
        yield lambda words: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

    if steps is None:
        with Console(stderr=True).status("") as status:
            yield lambda words: status.update(f"{words} …")
        return
    columns = (BarColumn(), TextColumn("{task.description} …"), TimeElapsedColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("", total=steps)
        done = iter(range(steps))
        yield lambda words: bar.update(task, description=words, completed=next(done, steps))


# ── what options say ────────────────────────────────────────────────────────────────────────────


def player_from(path: Path | None, highest: str | None, profile: str | None) -> "Player":
    """Make the player from file and options; an option goes before the file.

    Raises
    ------
    PlayerError
        If one of them says what is not known.
    """
    from dataclasses import replace

    from scoretools.player import Player, highest_position_from, read_player

    who = read_player(path) if path is not None else Player()
    if (number := _known_position(highest)) is not None:
        who = replace(who, highest_position=highest_position_from("--highest-position", number))
    if (known := known_profile(profile)) is not None:
        who = replace(who, profile=known)
    return who


def known_profile(text: str | None) -> Profile | None:
    """Check the name of a profile; none stays none.

    Raises
    ------
    PlayerError
        If there is no such profile.
    """
    if text is None or text in list(Profile):
        return None if text is None else Profile(text)
    raise PlayerError(f"--profile: “{text}” is none of the profiles; choose {_profile_choice()}")


def paper_from(text: str | None, player: "Player") -> Paper:
    """Choose the paper: the option goes before the player file.

    Raises
    ------
    PlayerError
        If the option names no paper that is known.
    """
    if text is None or text in list(Paper):
        return player.paper if text is None else Paper(text)
    raise PlayerError(f"--paper: “{text}” is not known; choose one of {', '.join(Paper)}")


def whole_number(option: str, text: str, least: int, most: int | None = None) -> int:
    """Read an option that counts something.

    Parameters
    ----------
    option
        Its name, as typed.
    text
        What it says.
    least, most
        Ends of its range, inclusive; no most: there is no upper end.

    Raises
    ------
    PlayerError
        If it says no whole number, or one outside the range.
    """
    try:
        number = int(text)
    except ValueError:
        number = least - 1
    if number < least or (most is not None and number > most):
        wanted = f", {least} or more" if most is None else f" from {least} to {most}"
        raise PlayerError(f"{option}: “{text}” will not do; write a whole number{wanted}")
    return number


def _known_position(text: str | None) -> float | None:
    if text is None:
        return None
    try:
        return float(text.replace(",", "."))
    except ValueError:
        raise PlayerError(
            f"--highest-position: “{text}” is not a number; write 0.5 for half position, or 1 to 12"
        ) from None


def _divisi_from(text: str) -> "Divisi":
    from scoretools.voices import Divisi

    if text not in list(Divisi):
        raise PlayerError(f"--divisi: “{text}” is not known; choose auto, top, bottom or both")
    return Divisi(text)
