"""The player: what this hand reaches, how high it goes, which shapes it knows already.

A player file is TOML; every field may be left out::

    name = "Mira"
    instrument = "violin"          # violin or viola; by default the part's own
    size = "3/4"                   # or string_length_mm = 305
    reach_mm = 70                  # first to fourth finger, comfortably, in first position
    highest_position = 3           # 0.5 (half position) to 12
    profile = "developing-player"
    known_shapes = ["W-H-W", "H-W-W"]
    shapes_in_work = ["W-W-H"]     # begun, not yet sure: no longer new, still drilled
    known_positions = [1, 3]       # 0.5 (half position) to 12
    known_double_stops = ["third"] # by interval, or "with an open string"
    only_known_shapes = true       # other shapes only where there is no way round them
    weak_fourth_finger = true
    short_fourth_finger = true     # no reaching up with the fourth finger where it can be helped
    open_strings = "avoid"         # welcome, as usual or avoid
    extensions = false             # keep to hand shapes without a stretched finger
    minutes_per_day = 20
    days = 7                       # to the next lesson
    days_per_week = 6              # with practice
    lesson = 2027-01-15            # date of the lesson or performance; goes before days
    note_names = "letters"         # letters, solfège (do ré mi) or german (H, B, Fis, Es)
    paper = "A4"                   # A4 or Letter, where --paper says nothing
    left_handed = false            # only false: mirrored pictures are not drawn yet

The names of notes are those of everything a person reads: words in the terminal, pages, sheets,
calendars. Tables, JSON, MusicXML and the practice log keep letters.
"""

import os
import re
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields
from datetime import date, datetime
from enum import StrEnum
from math import inf
from pathlib import Path
from types import MappingProxyType
from typing import Any

from scoretools.errors import PlayerError
from scoretools.instrument import HIGHEST_POSITION, STRING_LENGTHS_MM
from scoretools.model import PositionNumber
from scoretools.note_names import NoteNames, note_names_from

__all__ = [
    "DOUBLE_STOPS",
    "OPEN_STRING_WISHES",
    "Paper",
    "Player",
    "Profile",
    "checked",
    "highest_position_from",
    "read_player",
]


class Profile(StrEnum):
    """Who plays: a profile of weights."""

    FIRST_POSITION_STUDENT = "first-position-student"
    DEVELOPING_PLAYER = "developing-player"
    PROFESSIONAL = "professional"


class Paper(StrEnum):
    """Paper to print on, by the name that ``--paper`` takes."""

    A4 = "a4"
    LETTER = "us-letter"


OPEN_STRING_WISHES = ("welcome", "as usual", "avoid")
"""How gladly open strings are taken."""


DOUBLE_STOPS = (
    "with an open string",
    "unison",
    "second",
    "third",
    "fourth",
    "tritone",
    "fifth",
    "sixth",
    "seventh",
    "octave",
    "ninth",
    "tenth",
    "wide interval",
)
"""Double stops that are learnt one by one: with an open string, else by the interval."""


@dataclass(frozen=True, slots=True)
class Player:
    """A player; the defaults suit an average hand on an instrument of its own size."""

    name: str = ""
    """For the page's heading."""
    instrument: str | None = None
    """``violin`` or ``viola``; none: the part's own."""
    size: str | None = None
    """Named size; none: full-size violin, medium viola."""
    string_length_mm: float | None = None
    """Measured vibrating length, mm; goes before the size."""
    reach_mm: float | None = None
    """Comfortable span from first to fourth finger in first position, mm; none: a hand that fits
    its instrument, that is, the perfect fourth above the usual first finger."""
    highest_position: PositionNumber | None = None
    """Highest position the player goes to; a part that asks for less is fingered lower. None: as
    high as the notes ask."""
    profile: Profile = Profile.DEVELOPING_PLAYER
    """Profile of weights."""
    known_shapes: tuple[str, ...] = ()
    """Shapes known already, such as ``W-H-W``: they need no drill, and are preferred."""
    shapes_in_work: tuple[str, ...] = ()
    """Shapes begun and not yet sure: no longer new when pieces are chosen, but still drilled."""
    known_positions: tuple[PositionNumber, ...] | None = None
    """Positions known, 0 = half; none: all up to the highest position, or first position only where
    that is not given either."""
    known_double_stops: tuple[str, ...] = ()
    """Double stops known, each one of `DOUBLE_STOPS`."""
    only_known_shapes: bool = False
    """Whether other shapes are taken only where there is no way round them."""
    weak_fourth_finger: bool = False
    """Whether fingerings light on the fourth finger are wanted."""
    short_fourth_finger: bool = False
    """Whether fingers that leave the frame upwards are to be avoided."""
    open_strings: str = "as usual"
    """One of `OPEN_STRING_WISHES`."""
    extensions: bool = True
    """Whether stretched fingers are offered where there is another way."""
    minutes_per_day: int = 20
    """Practice time for the drills, minutes a day."""
    days: int = 7
    """Days to the next lesson."""
    days_per_week: int = 7
    """Days with practice in a week."""
    lesson: date | None = None
    """Date of the lesson or performance; goes before the days."""
    note_names: NoteNames = NoteNames.LETTERS
    """How notes are called in all that a person reads."""
    paper: Paper = Paper.A4
    """Paper to print on where no option says otherwise."""
    left_handed: bool = False
    """Always false: an instrument strung in mirror order has the same fingerings, but its pictures
    would be mirrored, and are not drawn yet."""


def read_player(path: str | os.PathLike[str]) -> Player:
    """Read a player file.

    Parameters
    ----------
    path
        A TOML file; its fields are those of `Player`.

    Raises
    ------
    PlayerError
        If the file cannot be read, is not TOML, or a field is unknown or has a wrong value; the
        sentence names the file, the line and the field.
    """
    path = Path(path)
    try:
        text = path.read_text(encoding="utf-8-sig")
        data = tomllib.loads(text)
    except OSError as error:
        raise PlayerError(
            f"{path}: the player file cannot be read ({error.strerror or error}); check the name"
        ) from error
    except UnicodeDecodeError as error:
        raise PlayerError(
            f"{path}: the player file is not plain text in UTF-8; save it again as UTF-8"
        ) from error
    except (ValueError, RecursionError) as error:
        raise PlayerError(f"{path}: not a TOML file ({error}); mend that line") from error
    try:
        return _player_from(data)
    except PlayerError as error:
        line = _line_of(str(error).partition(":")[0], text)
        where = f"{path}, line {line}" if line else path
        raise PlayerError(f"{where}: {error}") from None


def _line_of(field: str, text: str) -> int:
    """Find the line in which a field stands; 0 where it is written in an unusual way."""
    begins = re.compile(rf"""\s*\[*\s*["']?{re.escape(field)}["']?\s*[.=\]]""")
    lines = enumerate(text.splitlines(), start=1)
    return next((number for number, line in lines if begins.match(line)), 0)


def checked(name: str, value: object) -> Any:
    """Check the value of one field of a player file.

    Parameters
    ----------
    name
        A field of `Player`.
    value
        As TOML gives it.

    Raises
    ------
    PlayerError
        If the value will not do; the sentence names the field.
    """
    return _FIELDS[name](name, value)


def _player_from(data: Mapping[str, Any]) -> Player:
    known = [field.name for field in fields(Player)]
    for name in data:
        if name not in known:
            raise PlayerError(f"{name}: no such field; the fields are {', '.join(known)}")
    player = Player(**{name: _FIELDS[name](name, value) for name, value in data.items()})
    if player.only_known_shapes and not player.known_shapes:
        raise PlayerError("only_known_shapes: no shape is known yet; list some in known_shapes")
    return player


def _text(name: str, value: object) -> str:
    if not isinstance(value, str):
        raise PlayerError(f"{name}: {value!r} is not a text in quotation marks")
    return value


def _one_of(*words: str) -> Callable[[str, object], str]:
    def check(name: str, value: object) -> str:
        if value not in words:
            raise PlayerError(f"{name}: {value!r} is not one of {', '.join(words)}")
        return str(value)

    return check


def _between(low: float, high: float, unit: str) -> Callable[[str, object], float]:
    def check(name: str, value: object) -> float:
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise PlayerError(f"{name}: {value!r} is not a number")
        number = _as_float(value)
        if not low <= number <= high:
            raise PlayerError(f"{name}: {number:g} is outside {low:g} to {high:g}{unit}")
        return number

    return check


def _as_float(value: float) -> float:
    try:
        return float(value)
    except OverflowError:  # a whole number of hundreds of digits
        return inf if value > 0 else -inf


def _whole(most: int, unit: str) -> Callable[[str, object], int]:
    def check(name: str, value: object) -> int:
        number = _between(1, most, f" {unit}")(name, value)
        if number != int(number):
            raise PlayerError(f"{name}: {number:g} is not a whole number of {unit}")
        return int(number)

    return check


def highest_position_from(name: str, value: object) -> PositionNumber:
    """Check a highest position, 0.5 (half position) or 1 to 12.

    Parameters
    ----------
    name
        Field or option, for the message.

    Raises
    ------
    PlayerError
        If the value is no position.
    """
    number = _between(0.5, HIGHEST_POSITION, "")(name, value)
    if number != 0.5 and number != int(number):
        raise PlayerError(f"{name}: {number:g} is no position; write 0.5 or a whole number")
    return PositionNumber(int(number))


def _yes_or_no(name: str, value: object) -> bool:
    if not isinstance(value, bool):
        raise PlayerError(f"{name}: {value!r} is not true or false")
    return value


def _note_names(name: str, value: object) -> NoteNames:
    found = note_names_from(value) if isinstance(value, str) else None
    if found is None:
        raise PlayerError(
            f'{name}: {value!r} is not known; write "letters" (C D E), "solfège" (do ré mi) or '
            '"german" (C D E, with H for B and B for B flat)'
        )
    return found


def _paper(name: str, value: object) -> Paper:
    found = _PAPERS.get(_plain(value))
    if found is None:
        raise PlayerError(f'{name}: {value!r} is not known; write "A4" or "Letter"')
    return found


def _plain(value: object) -> str:
    return value.strip().casefold() if isinstance(value, str) else ""


_PAPERS: Mapping[str, Paper] = MappingProxyType(
    {
        "a4": Paper.A4,
        "letter": Paper.LETTER,
        "us letter": Paper.LETTER,
        "us-letter": Paper.LETTER,
    }
)


def _not_left_handed(name: str, value: object) -> bool:
    if value is True or _plain(value) == "yes":
        raise PlayerError(
            f"{name}: left-handed instruments are strung in mirror order, with the same "
            "fingerings; their pictures would be mirrored, which is not drawn yet, so write false"
        )
    if value is not False and _plain(value) != "no":
        raise PlayerError(f"{name}: {value!r} is not false, which is all it can be")
    return False


def _date(name: str, value: object) -> date:
    if isinstance(value, datetime) or not isinstance(value, date):
        raise PlayerError(f"{name}: {value!r} is not a date; write it as 2027-01-15, no quotes")
    return value


def _shapes(name: str, value: object) -> tuple[str, ...]:
    if not isinstance(value, list) or not all(isinstance(shape, str) for shape in value):
        raise PlayerError(f"{name}: {value!r} is not a list of shapes in quotation marks")
    for shape in value:
        letters = shape.split("-")
        if len(letters) != 3 or not set(letters) <= {"H", "W", "A"}:
            raise PlayerError(
                f"{name}: {shape!r} is no shape; write three gaps such as W-H-W "
                "(H half step, W whole step, A augmented second)"
            )
    return tuple(value)


def _positions(name: str, value: object) -> tuple[PositionNumber, ...]:
    if not isinstance(value, list):
        raise PlayerError(f"{name}: {value!r} is not a list of positions, such as [1, 3]")
    return tuple(sorted({highest_position_from(name, position) for position in value}))


def _double_stops(name: str, value: object) -> tuple[str, ...]:
    if not isinstance(value, list):
        raise PlayerError(f'{name}: {value!r} is not a list of double stops, such as ["third"]')
    return tuple(_one_of(*DOUBLE_STOPS)(name, interval) for interval in value)


_FIELDS: Mapping[str, Callable[[str, object], Any]] = MappingProxyType(
    {
        "name": _text,
        "instrument": _one_of(*STRING_LENGTHS_MM),
        "size": _one_of(*(size for sizes in STRING_LENGTHS_MM.values() for size in sizes)),
        "string_length_mm": _between(150, 450, " mm"),
        "reach_mm": _between(20, 150, " mm"),
        "highest_position": highest_position_from,
        "profile": lambda name, value: Profile(_one_of(*Profile)(name, value)),
        "known_shapes": _shapes,
        "shapes_in_work": _shapes,
        "known_positions": _positions,
        "known_double_stops": _double_stops,
        "only_known_shapes": _yes_or_no,
        "weak_fourth_finger": _yes_or_no,
        "short_fourth_finger": _yes_or_no,
        "open_strings": _one_of(*OPEN_STRING_WISHES),
        "extensions": _yes_or_no,
        "minutes_per_day": _whole(300, "minutes"),
        "days": _whole(366, "days"),
        "days_per_week": _whole(7, "days"),
        "lesson": _date,
        "note_names": _note_names,
        "paper": _paper,
        "left_handed": _not_left_handed,
    }
)
"""How each field of a player file is checked."""
