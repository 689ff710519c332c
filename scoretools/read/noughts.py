"""What a printed 0 means: an open string, or the sign of a natural harmonic.

Conventions
-----------
* A 0, or the sign of an open string, is an open string where an open string sounds the note.
* Elsewhere it is the small circle of a natural harmonic, if a string has one there: the second to
  the sixth partial where the note sounds, or the place touched a fourth or a fifth above the open
  string. A printed string leaves only its own harmonics.
* A touched third or sixth is no such place under a plain head: 0 over an F-sharp on the D string
  would ask for a tone two octaves higher, and stands there by mistake. Where such harmonics are
  meant, their heads are diamonds.
* Another finger printed beside the 0 is the finger that touches.
* In a chord, a 0 over a note without an open string of its pitch may belong to another: fingers
  that fit the open strings only upside down are read so, and a single 0 is read for the one note of
  the chord that an open string sounds. The octave of an open string stays a harmonic.
* A 0 that fits nothing of this is kept as an open string, and cannot be honoured.

Common practice, no published source: the 0 over harmonics in editions of concert music. Source of
the places: the harmonic series.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import groupby

from scoretools.model import Finger, Harmonic, Marks, Pitch
from scoretools.read.harmonics import PARTIALS
from scoretools.read.notices import Log, count
from scoretools.read.walk import RawNote

__all__ = ["is_nought", "settle_noughts", "settled_nought"]

_OPEN = Finger(0)
_OCTAVE = 12
_PLACES = PARTIALS | {5, 7}
"""Semitones above an open string at which a 0 over a plain head is a harmonic."""

_NATURAL = (Harmonic.NATURAL, Harmonic.NATURAL_TOUCHING)


def is_nought(marks: Marks) -> bool:
    """Tell whether a 0 or the sign of an open string is among the marks of a note.

    Parameters
    ----------
    marks : Marks
        What is printed on it.

    Returns
    -------
    bool
        True for either sign.

    Raises
    ------
    Nothing.
    """
    return marks.open_string or _OPEN in marks.fingers


def settle_noughts(notes: list[RawNote], strings: Sequence[Pitch], log: Log) -> None:
    """Settle what each printed 0 of a part means.

    Parameters
    ----------
    notes : list of RawNote
        Notes in the order of the document, by running number; their marks are changed.
    strings : sequence of Pitch
        Open strings, lowest first.
    log : Log
        Takes remarks.

    Raises
    ------
    Nothing.
    """
    for chord in _chords_with_noughts(notes):
        for note in _dealt_again(chord, strings, log):
            notes[note.number] = settled_nought(note, strings, log)


def settled_nought(note: RawNote, strings: Sequence[Pitch], log: Log) -> RawNote:
    """Return a note whose 0 is an open string or the sign of a harmonic.

    Parameters
    ----------
    note : RawNote
        A note with any marks.
    strings : sequence of Pitch
        Open strings, lowest first.
    log : Log
        Takes remarks.

    Returns
    -------
    RawNote
        The note; a 0 that is the sign of its harmonic is no longer among its fingers.

    Raises
    ------
    Nothing.
    """
    marks = note.marks
    if not is_nought(marks):
        return note
    if marks.harmonic is None and _is_sign(note, strings):
        count(log, "nought", note.measure)
        marks = replace(marks, harmonic=Harmonic.NATURAL)
    if marks.harmonic not in _NATURAL:
        return note
    fingers = tuple(finger for finger in marks.fingers if finger != _OPEN)
    return note._replace(marks=replace(marks, fingers=fingers, open_string=False))


def _is_sign(note: RawNote, strings: Sequence[Pitch]) -> bool:
    """Tell whether a 0 can only be the sign of a harmonic."""
    if note.marks.left_hand_pizzicato or _is_open(note, strings):
        return False
    printed = note.marks.string
    return any(
        note.pitch.midi - pitch.midi in _PLACES
        for index, pitch in enumerate(strings)
        if printed in (None, len(strings) - index)
    )


def _is_open(note: RawNote, strings: Sequence[Pitch]) -> bool:
    return any(note.pitch.midi == pitch.midi for pitch in strings)


# ── chords ──────────────────────────────────────────────────────────────────────────────────────


def _chords_with_noughts(notes: Sequence[RawNote]) -> Iterator[list[RawNote]]:
    for _, together in groupby(notes, key=lambda note: (note.moment, note.voice)):
        chord = list(together)
        if any(is_nought(note.marks) for note in chord):
            yield chord


def _dealt_again(chord: list[RawNote], strings: Sequence[Pitch], log: Log) -> list[RawNote]:
    """Return a chord whose 0 stands with a note that an open string sounds, where there is one."""
    stray = [note for note in chord if _is_stray(note, strings)]
    if not stray:
        return chord
    for dealt in (_upside_down(chord), _moved(chord, stray, strings)):
        if not any(is_nought(note.marks) and not _is_open(note, strings) for note in dealt):
            count(log, "nought in chord", chord[0].measure)
            return dealt
    return chord


def _is_stray(note: RawNote, strings: Sequence[Pitch]) -> bool:
    """Tell whether a 0 stands where neither an open string nor its octave sounds."""
    above = [note.pitch.midi - pitch.midi for pitch in strings]
    plain = is_nought(note.marks) and note.marks.harmonic is None
    return plain and not {0, _OCTAVE} & set(above)


def _upside_down(chord: Sequence[RawNote]) -> list[RawNote]:
    """Return a chord with its fingers in the opposite order."""
    fingered = [note for note in chord if note.marks.fingers or note.marks.open_string]
    fingered.sort(key=lambda note: note.pitch.midi)
    marks = {
        note.number: _with_fingers_of(note, other)
        for note, other in zip(fingered, reversed(fingered), strict=True)
    }
    return [marks.get(note.number, note) for note in chord]


def _moved(
    chord: Sequence[RawNote], stray: Sequence[RawNote], strings: Sequence[Pitch]
) -> list[RawNote]:
    """Return a chord with its only finger, a 0, moved to its only note of an open string."""
    fingered = [note for note in chord if note.marks.fingers or note.marks.open_string]
    sounded = [note for note in chord if _is_open(note, strings)]
    if len(fingered) != 1 or len(sounded) != 1:
        return list(chord)
    swapped = {
        stray[0].number: _with_fingers_of(stray[0], sounded[0]),
        sounded[0].number: _with_fingers_of(sounded[0], stray[0]),
    }
    return [swapped.get(note.number, note) for note in chord]


def _with_fingers_of(note: RawNote, other: RawNote) -> RawNote:
    return note._replace(
        marks=replace(
            note.marks,
            fingers=other.marks.fingers,
            open_string=other.marks.open_string,
            substitute=other.marks.substitute,
        )
    )
