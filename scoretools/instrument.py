"""Violin and viola: strings, vibrating length, stop distances, position names.

An instrument is a tuning and a string length, nothing else: another tuning (scordatura) or a
measured length is another value, never a branch.

Sources
-------
Tunings and the rule of the positions are common practice. String lengths: 4/4 328 mm (makers give
325 to 330), 7/8 317, 3/4 307, 1/2 287, 1/4 267; the smaller violins and the violas vary by maker,
and the figures for 1/8, 1/10 and 1/16 are estimates from body length. A stop n semitones above
the open string lies L·(1 − 2^(−n/12)) from the nut (equal temperament, ideal string).
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType

from scoretools.errors import PlayerError
from scoretools.model import Offset, Pitch, PositionNumber, PrintedString, StringIndex
from scoretools.note_names import bare_name_of, name_of

__all__ = [
    "HIGHEST_POSITION",
    "INSTRUMENTS",
    "STRING_LENGTHS_MM",
    "Instrument",
    "from_printed_string",
    "homes_of_position",
    "instrument",
    "natural_offset",
    "ordinal",
    "position_label",
    "position_number",
    "position_of",
    "spacing_mm",
    "stop_distance_mm",
    "string_names",
    "usual_home",
]

HIGHEST_POSITION = PositionNumber(12)
"""The twelfth position: the first finger an octave and a sixth above the open string."""

_MAJOR_OR_PERFECT = (0, 2, 4, 5, 7, 9, 11)
"""Semitones of the major or perfect interval that spans so many letters."""


@dataclass(frozen=True, slots=True)
class Instrument:
    """A bowed string instrument, as the left hand meets it."""

    name: str
    """``violin`` or ``viola``."""
    strings: tuple[Pitch, ...]
    """Open strings, lowest first."""
    string_length_mm: float
    """Vibrating length from nut to bridge, mm."""


INSTRUMENTS: Mapping[str, tuple[Pitch, ...]] = MappingProxyType(
    {
        "violin": (Pitch("G", 0, 3), Pitch("D", 0, 4), Pitch("A", 0, 4), Pitch("E", 0, 5)),
        "viola": (Pitch("C", 0, 3), Pitch("G", 0, 3), Pitch("D", 0, 4), Pitch("A", 0, 4)),
    }
)
"""Ordinary tunings, lowest string first."""

STRING_LENGTHS_MM: Mapping[str, Mapping[str, float]] = MappingProxyType(
    {
        "violin": MappingProxyType(
            {
                "4/4": 328.0,
                "7/8": 317.0,
                "3/4": 307.0,
                "1/2": 287.0,
                "1/4": 267.0,
                "1/8": 240.0,
                "1/10": 221.0,
                "1/16": 212.0,
            }
        ),
        "viola": MappingProxyType(
            {
                "small": 355.0,
                "medium": 368.0,
                "large": 375.0,
                "extra large": 387.0,
            }
        ),
    }
)
"""Vibrating lengths of the named sizes, mm; a measured length is always better."""

_USUAL_SIZE = MappingProxyType({"violin": "4/4", "viola": "medium"})


def instrument(
    name: str,
    size: str | None = None,
    string_length_mm: float | None = None,
    tuning: Sequence[Pitch] | None = None,
) -> Instrument:
    """Make an instrument from its name, and from its size or its measured string length.

    Parameters
    ----------
    name
        ``violin`` or ``viola``.
    size
        A key of ``STRING_LENGTHS_MM[name]``; by default a full-size violin, a medium viola.
    string_length_mm
        Measured vibrating length, 150 to 450 mm; goes before the size.
    tuning
        Open strings, lowest first, for scordatura; by default the ordinary tuning.

    Raises
    ------
    PlayerError
        If the name or size is unknown or the length is out of range.
    """
    if name not in INSTRUMENTS:
        raise PlayerError(
            f"instrument: {name!r} is not known; write one of {', '.join(INSTRUMENTS)}"
        )
    sizes = STRING_LENGTHS_MM[name]
    size = _USUAL_SIZE[name] if size is None else size
    if size not in sizes:
        raise PlayerError(f"size: {size!r} is no {name} size; write one of {', '.join(sizes)}")
    length_mm = sizes[size] if string_length_mm is None else string_length_mm
    if not 150 <= length_mm <= 450:
        raise PlayerError(
            f"string_length_mm: {length_mm:g} is outside 150 to 450 mm; "
            "measure from the nut to the bridge"
        )
    return Instrument(name, tuple(tuning or INSTRUMENTS[name]), length_mm)


@lru_cache(64)
def string_names(instrument: Instrument) -> tuple[str, ...]:
    """Name the strings, lowest first: a letter each, with the octave where two would be alike.

    The names are wordings: `scoretools.note_names.said` gives them to a person.
    """
    bare = [bare_name_of(pitch) for pitch in instrument.strings]
    return tuple(
        name if bare.count(name) == 1 else name_of(pitch)
        for name, pitch in zip(bare, instrument.strings, strict=True)
    )


def from_printed_string(instrument: Instrument, printed: PrintedString) -> StringIndex | None:
    """Turn a printed string number (1 = highest) into an index from the lowest, if there is one."""
    index = len(instrument.strings) - printed
    return StringIndex(index) if 0 <= index < len(instrument.strings) else None


def stop_distance_mm(instrument: Instrument, offset: float) -> float:
    """Distance from the nut to a stop, mm.

    Parameters
    ----------
    offset
        Semitones above the open string.

    Notes
    -----
    L·(1 − 2^(−n/12)): equal temperament on an ideal string.
    """
    return float(instrument.string_length_mm * (1.0 - 2.0 ** (-offset / 12.0)))


def spacing_mm(instrument: Instrument, low: float, high: float) -> float:
    """Distance between two stops of one string, mm; offsets in semitones above the open string."""
    return stop_distance_mm(instrument, high) - stop_distance_mm(instrument, low)


# ── positions ───────────────────────────────────────────────────────────────────────────────────


def natural_offset(string: Pitch, position: PositionNumber) -> Offset:
    """Place of the natural letter that the first finger takes in a position.

    Parameters
    ----------
    string
        The open string.
    position
        1 to 12 (0, half position, names no letter of its own: the open string's letter).

    Returns
    -------
    Offset
        Semitones above the open string.
    """
    octave, step = divmod(string.letter + position, 7)
    return Offset(Pitch("CDEFGAB"[step], 0, octave).midi - string.midi)


def position_of(string: Pitch, pitch: Pitch) -> PositionNumber:
    """Name the position in which the first finger takes this pitch by its letter.

    A letter that is the open string's own (A-sharp on the A string) is half position, 0.
    """
    return PositionNumber(max(0, pitch.letter - string.letter))


@lru_cache(64)
def homes_of_position(position: PositionNumber) -> tuple[Offset, ...]:
    """Homes at which a hand can be said to be in a position, lowest first.

    A letter above the open string makes a minor, major or augmented interval (second, third,
    sixth, seventh), or a diminished, perfect or augmented one (fourth, fifth, octave). Half
    position is one half step above the nut.
    """
    if position == 0:
        return (Offset(1),)
    octaves, letters = divmod(position, 7)
    middle = 12 * octaves + _MAJOR_OR_PERFECT[letters]
    return tuple(Offset(home) for home in range(max(1, middle - 1), middle + 2))


@lru_cache(256)
def usual_home(instrument: Instrument, position: PositionNumber) -> Offset:
    """Home of a position on most strings; of two equally common ones, the higher."""
    if position == 0:
        return Offset(1)
    naturals = [natural_offset(string, position) for string in instrument.strings]
    return max(naturals, key=lambda offset: (naturals.count(offset), offset))


def position_number(position: PositionNumber) -> float:
    """Position as a number for tables: half position is 0.5."""
    return 0.5 if position == 0 else float(position)


def ordinal(number: int) -> str:
    """Write a number as ``1st``, ``2nd``, ``3rd``, ``4th``."""
    if 10 <= number % 100 <= 20:
        return f"{number}th"
    return f"{number}{ {1: 'st', 2: 'nd', 3: 'rd'}.get(number % 10, 'th') }"


def position_label(position: PositionNumber) -> str:
    """Position in words: ``half position``, ``3rd position``."""
    return "half position" if position == 0 else f"{ordinal(position)} position"
