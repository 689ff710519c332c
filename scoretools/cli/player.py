"""``scoretools player``: write a player file after a few questions, and check one."""

import json
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Annotated

import typer

from scoretools.cli.help import Command, Commands
from scoretools.errors import PlayerError, WriteError
from scoretools.player import DOUBLE_STOPS, OPEN_STRING_WISHES, Profile, checked, read_player

__all__ = ["player_app"]

player_app = typer.Typer(
    cls=Commands,
    rich_markup_mode=None,
    help="Write or check a player file: hand, positions, shapes, time.\n\n"
    "Example: scoretools player new mira.toml",
)


@dataclass(frozen=True, slots=True)
class _Question:
    """One question, and the field its answer goes to."""

    field: str
    """Field of the player file."""
    words: str
    """The question."""
    value: Callable[[str], object]
    """From what is typed to what TOML holds."""


def _text(answer: str) -> object:
    return answer


def _number(answer: str) -> object:
    try:
        number = float(answer.replace(",", "."))
    except ValueError:
        return answer
    return int(number) if number == int(number) else number


def _yes(answer: str) -> object:
    return {"yes": True, "y": True, "no": False, "n": False}.get(answer.lower(), answer)


def _words(answer: str) -> object:
    return answer.replace(",", " ").upper().split()


def _numbers(answer: str) -> object:
    return [_number(word) for word in answer.replace(",", " ").split()]


def _phrases(answer: str) -> object:
    return [phrase.strip().lower() for phrase in answer.split(",") if phrase.strip()]


def _day(answer: str) -> object:
    try:
        return date.fromisoformat(answer)
    except ValueError:
        return answer


_QUESTIONS = (
    _Question("name", "Name", _text),
    _Question("instrument", "Instrument: violin or viola", _text),
    _Question("size", "Size, such as 4/4 or 1/2 (viola: small, medium, large …)", _text),
    _Question("highest_position", "Highest position, 0.5 (half) to 12", _number),
    _Question("profile", f"Who plays: {', '.join(Profile)}", _text),
    _Question("known_shapes", "Hand shapes known already, such as W-H-W H-W-W", _words),
    _Question("shapes_in_work", "Hand shapes begun, not yet sure, such as W-W-H", _words),
    _Question("known_positions", "Positions known, such as 1 3 (half position: 0.5)", _numbers),
    _Question(
        "known_double_stops",
        f"Double stops known, with commas between: {', '.join(DOUBLE_STOPS)}",
        _phrases,
    ),
    _Question("weak_fourth_finger", "Spare the fourth finger: yes or no", _yes),
    _Question("open_strings", f"Open strings: {', '.join(OPEN_STRING_WISHES)}", _text),
    _Question("minutes_per_day", "Minutes for the drills a day", _number),
    _Question("days_per_week", "Days with practice in a week", _number),
    _Question("lesson", "Date of the next lesson or performance, such as 2027-01-15", _day),
    _Question("note_names", "Names of notes: letters, solfège (do ré mi) or german (H)", _text),
    _Question("paper", "Paper to print on: A4 or Letter", _text),
    _Question("left_handed", "Left-handed instrument, strung in mirror order: yes or no", _yes),
)


@player_app.command("new", cls=Command)
def new(
    file: Annotated[Path, typer.Argument(help="The file to write.", metavar="FILE.toml",
                                         show_default=False)],
) -> None:  # fmt: skip
    """Write a player file after a few questions.

    Press Enter where you do not know: the line is left out.

    Example: scoretools player new mira.toml
    """
    from scoretools.cli.files import save_all

    if file.exists():
        raise WriteError(
            f"{file}: there is such a file already; choose another name, or edit that one"
        )
    typer.echo("Press Enter where you do not know or do not mind.")
    lines = [line for question in _QUESTIONS if (line := _asked(question))]
    save_all(file.parent, {file.name: "\n".join(["# Player file of scoretools.", *lines, ""])})
    read_player(file)
    typer.echo(f"Written: {file}. Use it with --player {file}.")


def _asked(question: _Question) -> str:
    """Ask until the answer will do, and write its line; empty where there is no answer."""
    while True:
        answer = typer.prompt(question.words, default="", show_default=False).strip()
        if not answer:
            return ""
        value = question.value(answer)
        try:
            checked(question.field, value)
        except PlayerError as error:
            typer.echo(f"  {error}.")
        else:
            return f"{question.field} = {_as_toml(value)}"


def _as_toml(value: object) -> str:
    """Write a value; for texts, lists of them, numbers and yes or no TOML writes what JSON does."""
    return value.isoformat() if isinstance(value, date) else json.dumps(value, ensure_ascii=False)


@player_app.command("check", cls=Command)
def check(
    file: Annotated[Path, typer.Argument(help="A player file.", metavar="FILE.toml",
                                         show_default=False)],
) -> None:  # fmt: skip
    """Check a player file, and say how it is understood.

    Example: scoretools player check mira.toml
    """
    from scoretools.cli.show_player import show_player

    player = read_player(file)
    typer.echo(f"{file} is in order.")
    show_player(player)
