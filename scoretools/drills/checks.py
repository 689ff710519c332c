"""Which stopped notes can be tested against a neighbouring open string, and how."""

from collections.abc import Iterable

from scoretools.instrument import Instrument
from scoretools.model import Check, DrillNote, Pitch, StringIndex

__all__ = ["checks"]

_CHECKS = (
    (0, 0, "unison"),
    (12, 7, "octave"),
    (-12, -7, "octave"),
    (-5, -3, "fourth"),
    (9, 5, "sixth"),
)
"""Semitones and letters above a neighbouring open string, and the interval; the surest first."""


def checks(instrument: Instrument, notes: Iterable[DrillNote]) -> tuple[Check, ...]:
    """List the stopped notes that can be tested against a neighbouring open string.

    A unison, an octave or a fourth goes before a sixth, and only one check is named for a note:
    a note tuned to two checks at once is a comma apart.
    """
    stopped = {
        (note.stop.string, note.stop.offset, note.pitch) for note in notes if note.stop.finger
    }
    in_order = sorted(stopped, key=lambda note: note[:2])
    found = (_check(instrument, string, pitch) for string, _, pitch in in_order)
    return tuple(dict.fromkeys(check for check in found if check is not None))


def _check(instrument: Instrument, string: StringIndex, pitch: Pitch) -> Check | None:
    neighbours = [
        instrument.strings[near]
        for near in (string + 1, string - 1)
        if 0 <= near < len(instrument.strings)
    ]
    for semitones, letters, interval in _CHECKS:
        for against in neighbours:
            if (pitch.midi - against.midi, pitch.letter - against.letter) == (semitones, letters):
                return Check(pitch, against, interval)
    return None
