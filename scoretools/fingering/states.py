"""Candidate states for an event: every way one hand could play it.

A state is a home, a position number, and for every sounding note a string and a finger. All states
of an event are kept as arrays, one row a state, one column a note: struck notes first, then notes
held from before. A held note may be let go (`LET_GO` in its finger column).

Rows are ordered by home, then position, then strings from the highest down, then fingers; where
two fingerings cost the same, the search takes the earlier row.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, fields
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from scoretools.fingering.rows import LET_GO, Hand, How, Row, Sounding, rows_of
from scoretools.instrument import HIGHEST_POSITION, from_printed_string
from scoretools.model import (
    NO_MARKS,
    Finger,
    Harmonic,
    Marks,
    Note,
    Offset,
    OrnamentKind,
    Stop,
    StringIndex,
)

__all__ = [
    "EITHER_AS_FIRST",
    "EITHER_AS_HALF",
    "IntArray",
    "States",
    "Turn",
    "broken_marks",
    "candidates",
    "either",
    "soundings",
    "stacked",
]

IntArray = NDArray[np.int16]
BoolArray = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class States:
    """All states of an event; n rows, k columns (struck notes, then held ones)."""

    home: IntArray
    """(n,) semitones above the nut."""
    position: IntArray
    """(n,) position number, 0 = half position."""
    string: IntArray
    """(n, k) strings from the lowest, 0."""
    finger: IntArray
    """(n, k) fingers, 0 = open, `LET_GO` = released."""
    offset: IntArray
    """(n, k) semitones above the open string."""
    letter_finger: IntArray
    """(n, k) the finger that the note's letter would take in this position; the finger itself
    where no letter counts (open strings, harmonics, released notes)."""
    touched: NDArray[np.bool_]
    """(n, k) whether the string is touched, not stopped: a harmonic."""
    broken: NDArray[np.bool_]
    """(n,) whether a chord is played two and two."""

    def __len__(self) -> int:
        """Count the states."""
        return len(self.home)

    @property
    def named(self) -> IntArray:
        """(n,) position number; `EITHER_AS_HALF` or `EITHER_AS_FIRST` where these are one."""
        first_alone = self.finger.max(axis=1) == 1
        low = first_alone & (self.home == 1) & (self.position <= 1)
        return np.where(low, self.position + EITHER_AS_HALF, self.position)

    def rows(self, rows: NDArray[np.int64]) -> "States":
        """Take some rows, in the order given."""
        return States(
            self.home[rows], self.position[rows], self.string[rows], self.finger[rows],
            self.offset[rows], self.letter_finger[rows], self.touched[rows], self.broken[rows],
        )  # fmt: skip

    def stops(self, row: int) -> tuple[Stop, ...]:
        """Stops of one state; held notes that are let go are left out."""
        columns = zip(
            self.string[row].tolist(),
            self.finger[row].tolist(),
            self.offset[row].tolist(),
            self.touched[row].tolist(),
            strict=True,
        )
        return tuple(
            Stop(StringIndex(string), Finger(finger), Offset(offset), touched)
            for string, finger, offset, touched in columns
            if finger != LET_GO
        )


EITHER_AS_HALF, EITHER_AS_FIRST = 62, 63
"""Stand for the position of a first finger alone on the half step above the nut: a low first
finger in first position and the first finger of half position are one place."""


@dataclass(frozen=True, slots=True)
class Turn:
    """How the position changes on some ways; arrays of one form."""

    renamed: BoolArray
    """Whether it is another one."""
    into_half: BoolArray
    """Whether the hand goes into half position."""

    def rows(self, rows: NDArray[np.intp]) -> "Turn":
        """Take some rows, in the order given."""
        return Turn(self.renamed[rows], self.into_half[rows])

    @classmethod
    def between(cls, before: NDArray[np.integer[Any]], after: NDArray[np.integer[Any]]) -> "Turn":
        """Compare positions given as `States.named`; arrays that fit together."""
        one, other = (either(side) for side in (before, after))
        low = (one | (before <= 1)) & (other | (after <= 1))
        half_before, half_after = ((s == 0) | (s == EITHER_AS_HALF) for s in (before, after))
        return cls(
            np.asarray((before != after) & ~(low & (one | other))),
            np.asarray(half_after & ~half_before),
        )


def either(names: NDArray[np.integer[Any]]) -> BoolArray:
    """Tell where half position and first are one, of positions given as `States.named`."""
    return np.asarray(names >= EITHER_AS_HALF)


def stacked(states: Sequence[States]) -> States:
    """Put several sets of states, all of one number of columns, one below the other."""
    return States(
        *(np.concatenate([getattr(one, field.name) for one in states]) for field in fields(States))
    )


def soundings(notes: Sequence[Note], held: Sequence[Note] = ()) -> tuple[Sounding, ...]:
    """Reduce the notes of an event to what its states depend on.

    Parameters
    ----------
    notes
        Struck notes, lowest first.
    held
        Notes struck before that still sound.
    """
    base = next((note for note in notes if note.marks.harmonic is Harmonic.ARTIFICIAL_BASE), None)
    if base is not None and len(notes) > 1:
        touched = (n for n in notes if n.marks.harmonic in _ARTIFICIAL_ABOVE)
        base = base if any(n.pitch.midi > base.pitch.midi for n in touched) else None
    return (
        *(_sounding(note, base, held=False) for note in notes),
        *(_sounding(note, None, held=True) for note in held),
    )


_TOUCHED_FOURTH = 5
_SOUNDS_ABOVE = 24
"""An artificial harmonic touched a fourth above its stopped note sounds two octaves above it.
Source: the harmonic series, fourth partial."""

_NATURAL = (Harmonic.NATURAL, Harmonic.NATURAL_TOUCHING)
_ARTIFICIAL_ABOVE = (Harmonic.ARTIFICIAL_TOUCHING, Harmonic.ARTIFICIAL_SOUNDING)
_ARTIFICIAL_ALONE = (Harmonic.ARTIFICIAL, Harmonic.ARTIFICIAL_SOUNDING)


def _sounding(note: Note, base: Note | None, held: bool) -> Sounding:
    midi, letter, kind = note.pitch.midi, note.pitch.letter, note.marks.harmonic
    if kind in _NATURAL:
        return Sounding(midi, letter, How.NATURAL_HARMONIC, held)
    if base is not None and midi > base.pitch.midi and kind in _ARTIFICIAL_ABOVE:
        touching = kind is Harmonic.ARTIFICIAL_TOUCHING
        touched = midi if touching else base.pitch.midi + _TOUCHED_FOURTH
        return Sounding(touched, letter, How.ARTIFICIAL_TOUCH, held)
    if note is base:
        return Sounding(midi, letter, How.ARTIFICIAL_BASE, held)
    if kind in _ARTIFICIAL_ALONE:
        return Sounding(midi - _SOUNDS_ABOVE, letter - 14, How.ARTIFICIAL_BASE, held)
    beside: tuple[int, ...] = ()
    if note.ornament and note.ornament.kind is not OrnamentKind.TREMOLO and not held:
        beside = tuple(other.midi for other in note.ornament.others)
    return Sounding(midi, letter, How.STOPPED, held, beside)


@lru_cache(4096)
def candidates(hand: Hand, notes: tuple[Sounding, ...], marks: tuple[Marks, ...]) -> States | None:
    """List every state in which a hand can play an event.

    Parameters
    ----------
    hand
        Instrument, reach and ceiling.
    notes
        Struck notes, then held ones.
    marks
        Printed marks of the struck notes; where no state up to the ceiling honours them, states
        above it that do are added.

    Returns
    -------
    States or None
        None when no hand can play the event: a pitch outside the instrument, or a chord beyond
        reach.
    """
    rows = list(rows_of(hand, notes, hand.ceiling, hand.extensions))
    if not rows:
        rows = list(rows_of(hand, notes, HIGHEST_POSITION, True))
    rows = _without_needless_breaks(rows)
    if not rows and any(note.beside for note in notes):
        # An ornament that does not lie under the hand must not make its note unplayable.
        return candidates(hand, tuple(note._replace(beside=()) for note in notes), marks)
    rows = _named_by_letter(hand, notes, rows)
    if rows and any(mark != NO_MARKS for mark in marks):
        states = _as_states(hand, notes, rows)
        if broken_marks(hand, states, marks).min():
            rows += _rows_that_honour(hand, notes, marks, have=set(rows))
    return _as_states(hand, notes, sorted(rows, key=_order)) if rows else None


def _without_needless_breaks(rows: Sequence[Row]) -> list[Row]:
    """Leave out breaking a chord where the hand, at most a half step away, can hold it."""
    held = {home for home, _, _, broken in rows if not broken}
    near = {home + apart for home in held for apart in (-1, 0, 1)}
    return [row for row in rows if not row[3] or row[0] not in near]


def _named_by_letter(hand: Hand, notes: tuple[Sounding, ...], rows: list[Row]) -> list[Row]:
    """Leave out half position where the letters are first position's, and the other way round."""
    low = [row for row in rows if row[0] == 1 and row[1] <= 1]
    if not low:
        return rows
    states = _as_states(hand, notes, low)
    other = np.where(states.position == 0, 1, 0).astype(np.int16)
    as_other = _letter_fingers(hand, notes, other, states.string, states.finger)
    astray, astray_as_other = (
        np.abs(states.finger - letters).sum(axis=1) for letters in (states.letter_finger, as_other)
    )
    wrong = (astray > astray_as_other).tolist()
    misnamed = {row for row, named_wrong in zip(low, wrong, strict=True) if named_wrong}
    return [row for row in rows if row not in misnamed]


def broken_marks(hand: Hand, states: States, marks: Iterable[Marks]) -> NDArray[np.int64]:
    """Count, for each state, the printed fingers, strings and positions it does not honour."""
    broken = np.zeros(len(states), dtype=np.int64)
    for column, mark in enumerate(marks):
        finger = states.finger[:, column]
        if mark.fingers and not (mark.harmonic and 0 in mark.fingers):
            broken += ~np.isin(finger, mark.fingers)
        if mark.open_string and not mark.harmonic:
            broken += finger != 0
        if mark.string is not None:
            broken += states.string[:, column] != _string_or_none(hand, mark)
        if mark.position is not None:
            broken += (states.position != mark.position) & (finger > 0)
    return broken


def _string_or_none(hand: Hand, mark: Marks) -> int:
    index = from_printed_string(hand.instrument, mark.string) if mark.string is not None else None
    return -1 if index is None else index


_TOUCHED = (How.NATURAL_HARMONIC, How.ARTIFICIAL_TOUCH)


# ── as arrays ───────────────────────────────────────────────────────────────────────────────────


def _order(row: Row) -> tuple[int, int, tuple[tuple[int, int], ...], bool]:
    home, position, stops, broken = row
    return home, position, tuple((-string, finger) for string, finger, _ in stops), broken


def _rows_that_honour(
    hand: Hand, notes: tuple[Sounding, ...], marks: tuple[Marks, ...], have: set[Row]
) -> list[Row]:
    rows = [row for row in rows_of(hand, notes, HIGHEST_POSITION, True) if row not in have]
    if not rows:
        return []
    honoured = broken_marks(hand, _as_states(hand, notes, rows), marks) == 0
    return [row for row, keep in zip(rows, honoured.tolist(), strict=True) if keep]


def _as_states(hand: Hand, notes: tuple[Sounding, ...], rows: list[Row]) -> States:
    stops = np.array([row[2] for row in rows], dtype=np.int16).reshape(len(rows), len(notes), 3)
    position = np.array([row[1] for row in rows], dtype=np.int16)
    string, finger = stops[:, :, 0], stops[:, :, 1]
    return States(
        home=np.array([row[0] for row in rows], dtype=np.int16),
        position=position,
        string=string,
        finger=finger,
        offset=stops[:, :, 2],
        letter_finger=_letter_fingers(hand, notes, position, string, finger),
        touched=np.array([note.how in _TOUCHED for note in notes]) & (finger > 0),
        broken=np.array([row[3] for row in rows], dtype=np.bool_),
    )


def _letter_fingers(
    hand: Hand,
    notes: tuple[Sounding, ...],
    position: IntArray,
    string: IntArray,
    finger: IntArray,
) -> IntArray:
    open_letters = np.array([pitch.letter for pitch in hand.instrument.strings], dtype=np.int16)
    letters = np.array([note.letter for note in notes], dtype=np.int16)
    counts = np.array([note.how not in _TOUCHED for note in notes])
    expected = letters[None, :] - open_letters[string] - position[:, None] + 1
    # Close to the nut the first finger takes its half step by either letter (A-sharp or B-flat).
    half, first = position[:, None] == 0, position[:, None] == 1
    low_first = (finger == 1) & ((half & (expected == 2)) | (first & (expected == 0)))
    expected = np.where(low_first, 1, expected)
    return np.where((finger > 0) & counts[None, :], expected, finger)
