"""Whether a note can be played on a string, as far as its pitch and printed marks say.

Conventions: strings are asked for by their printed number, 1 for the highest. A note lies on a
string from the open string to two octaves above it, a natural harmonic where the string has one; a
printed string or open string leaves only that one. A finger reaches the places that its slots reach
from any home up to the twelfth position, whatever the hand's size.

Source of the slots and homes: `scoretools.hand`, `scoretools.instrument`.
"""

from collections.abc import Sequence
from functools import cache

from scoretools.hand import SLOTS, SlotKind
from scoretools.instrument import HIGHEST_POSITION, homes_of_position
from scoretools.model import Finger, Harmonic, Pitch, PositionNumber, PrintedString
from scoretools.read.harmonics import NODES, PARTIALS
from scoretools.read.walk import RawNote

__all__ = ["finger_reaches", "lies_on", "string_named"]

_REACH = 24
"""Semitones above the open string that are still played on it."""

_HARMONIC_PLACES = {
    Harmonic.NATURAL: PARTIALS | NODES,
    Harmonic.NATURAL_TOUCHING: NODES,
}
"""Semitones above the open string at which its natural harmonics may be printed."""


def lies_on(note: RawNote, strings: Sequence[Pitch], string: PrintedString) -> bool:
    """Tell whether a note may be played on a string by its pitch, string and harmonic.

    Parameters
    ----------
    note : RawNote
        The note.
    strings : sequence of Pitch
        Open strings, lowest first.
    string : PrintedString
        The string, one of these.

    Returns
    -------
    bool
        False where the pitch or a printed mark excludes it.

    Raises
    ------
    Nothing.
    """
    offset, marks = _offset(note, strings, string), note.marks
    if marks.string is not None and marks.string != string:
        return False
    if marks.harmonic in _HARMONIC_PLACES:
        return offset in _HARMONIC_PLACES[marks.harmonic]
    if marks.harmonic is not None:
        return offset >= 0
    if marks.open_string or marks.fingers == (0,):
        return offset == 0
    return 0 <= offset <= _REACH


def finger_reaches(note: RawNote, strings: Sequence[Pitch], string: PrintedString) -> bool:
    """Tell whether one of the fingers printed on a note can stop it on a string.

    Parameters
    ----------
    note : RawNote
        The note.
    strings : sequence of Pitch
        Open strings, lowest first.
    string : PrintedString
        The string, one of these.

    Returns
    -------
    bool
        True also where no finger is printed, and for a harmonic, which any finger may touch.

    Raises
    ------
    Nothing.
    """
    marks = note.marks
    if not marks.fingers or marks.harmonic is not None:
        return True
    offset = _offset(note, strings, string)
    return any(offset in _places_of(finger) for finger in marks.fingers)


def string_named(strings: Sequence[Pitch], value: str) -> PrintedString | None:
    """Return a string by its number or its letter.

    Parameters
    ----------
    strings : sequence of Pitch
        Open strings, lowest first.
    value : str
        A number, 1 for the highest, or a letter.

    Returns
    -------
    PrintedString or None
        None where there is no such string.

    Raises
    ------
    Nothing.
    """
    if value.isdecimal():
        return PrintedString(int(value)) if 1 <= int(value) <= len(strings) else None
    steps = [pitch.step for pitch in strings]
    return PrintedString(len(strings) - steps.index(value)) if value in steps else None


def _offset(note: RawNote, strings: Sequence[Pitch], string: PrintedString) -> int:
    return note.pitch.midi - strings[len(strings) - string].midi


@cache
def _places_of(finger: Finger) -> frozenset[int]:
    """Return where a finger can be, semitones above the open string."""
    if finger == 0:
        return frozenset({0})
    homes = {
        home
        for position in range(HIGHEST_POSITION + 1)
        for home in homes_of_position(PositionNumber(position))
    }
    return frozenset(
        place
        for home in homes
        for slot in SLOTS
        if slot.finger == finger and slot.kind is not SlotKind.TENTH
        for place in [home + slot.from_home]
        if place > 0
    )
