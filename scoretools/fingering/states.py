"""Candidate states for an event: every way one hand could play it.

A state is a home, a position number, and for every sounding note a string and a finger. All states
of an event are kept as arrays, one row a state, one column a note: struck notes first, then notes
held from before. A held note may be let go (`LET_GO` in its finger column).

Rows are ordered by home, then position, then strings from the highest down, then fingers; where
two fingerings cost the same, the search takes the earlier row.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, fields
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from scoretools.hand import Reach, slots_within, together
from scoretools.instrument import (
    HIGHEST_POSITION,
    Instrument,
    from_printed_string,
    homes_of_position,
)
from scoretools.model import (
    Finger,
    Harmonic,
    Marks,
    Note,
    Offset,
    PositionNumber,
    Stop,
    StringIndex,
)

__all__ = [
    "LET_GO",
    "Hand",
    "IntArray",
    "Sounding",
    "States",
    "broken_marks",
    "candidates",
    "sounding",
    "stacked",
]

LET_GO = -1
"""Finger of a held note that is released before its written end."""

_NODES = {12: (12,), 19: (7, 19), 24: (5, 24), 28: (4, 9, 16)}
"""Where to touch a string (semitones above it) so that it sounds so many semitones above it.
Source: the harmonic series; the touched place of the n-th partial divides the string by n."""

_TOUCHING_PLACES = frozenset(place for places in _NODES.values() for place in places)

IntArray = NDArray[np.int16]


class Sounding(NamedTuple):
    """What the states of an event depend on, of one of its notes."""

    midi: int
    """Pitch."""
    letter: int
    """Letter, in letters above C of octave 0."""
    natural_harmonic: bool
    """Whether it is to be touched, not stopped."""
    held: bool
    """Whether it was struck before."""


@dataclass(frozen=True, slots=True)
class Hand:
    """The hand that plays: instrument, reach, and how high it goes."""

    instrument: Instrument
    """The instrument."""
    reach: Reach
    """How far fingers 1 and 4 span."""
    ceiling: PositionNumber
    """Highest position offered freely; higher ones only for what cannot be played below."""
    extensions: bool = True
    """Whether stretched fingers are offered where there is another way."""


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
    """(n, k) whether the string is touched, not stopped: a natural harmonic."""
    broken: NDArray[np.bool_]
    """(n,) whether a chord is played two and two."""

    def __len__(self) -> int:
        """Count the states."""
        return len(self.home)

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


def stacked(states: Sequence[States]) -> States:
    """Put several sets of states, all of one number of columns, one below the other."""
    return States(
        *(np.concatenate([getattr(one, field.name) for one in states]) for field in fields(States))
    )


def sounding(note: Note, held: bool = False) -> Sounding:
    """Reduce a note to what its states depend on."""
    natural = note.marks.harmonic in (Harmonic.NATURAL, Harmonic.NATURAL_TOUCHING)
    return Sounding(note.pitch.midi, note.pitch.letter, natural, held)


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
    rows = list(_rows(hand, notes, hand.ceiling, hand.extensions))
    if not rows:
        rows = list(_rows(hand, notes, HIGHEST_POSITION, True))
    if rows and any(mark != Marks() for mark in marks):
        states = _as_states(hand, notes, rows)
        if broken_marks(hand, states, marks).min():
            rows += _rows_that_honour(hand, notes, marks, have=set(rows))
    return _as_states(hand, notes, sorted(rows, key=_order)) if rows else None


def broken_marks(hand: Hand, states: States, marks: Iterable[Marks]) -> NDArray[np.int64]:
    """Count, for each state, the printed fingers, strings and open strings it does not honour."""
    broken = np.zeros(len(states), dtype=np.int64)
    for column, mark in enumerate(marks):
        finger = states.finger[:, column]
        if mark.fingers and not (mark.harmonic and 0 in mark.fingers):
            broken += ~np.isin(finger, mark.fingers)
        if mark.open_string and not mark.harmonic:
            broken += finger != 0
        if mark.string is not None:
            broken += states.string[:, column] != _string_or_none(hand, mark)
    return broken


def _string_or_none(hand: Hand, mark: Marks) -> int:
    index = from_printed_string(hand.instrument, mark.string) if mark.string is not None else None
    return -1 if index is None else index


# ── rows ────────────────────────────────────────────────────────────────────────────────────────

_Row = tuple[int, int, tuple[tuple[int, int, int], ...], bool]
"""Home, position, (string, finger, offset) of each column, broken."""


def _order(row: _Row) -> tuple[int, int, tuple[tuple[int, int], ...], bool]:
    home, position, stops, broken = row
    return home, position, tuple((-string, finger) for string, finger, _ in stops), broken


def _rows(
    hand: Hand, notes: tuple[Sounding, ...], ceiling: PositionNumber, extensions: bool
) -> Iterator[_Row]:
    for home, positions, fingers in _places_of(hand, ceiling, extensions, len(notes) > 1):
        columns = [_stops_of(hand, note, fingers) for note in notes]
        for stops, broken in _combined(hand, columns):
            for position in positions:
                yield home, position, stops, broken


@lru_cache(64)
def _places_of(
    hand: Hand, ceiling: PositionNumber, extensions: bool, in_chord: bool
) -> tuple[tuple[Offset, tuple[PositionNumber, ...], dict[int, list[int]]], ...]:
    """List every home with its positions and the fingers that reach each place from it."""
    homes: dict[Offset, list[PositionNumber]] = {}
    for number in range(ceiling + 1):
        position = PositionNumber(number)
        for home in homes_of_position(position):
            homes.setdefault(home, []).append(position)
    return tuple(
        (home, tuple(positions), _fingers_at(hand, home, extensions, in_chord))
        for home, positions in sorted(homes.items())
    )


def _fingers_at(hand: Hand, home: Offset, extensions: bool, in_chord: bool) -> dict[int, list[int]]:
    places: dict[int, list[int]] = {}
    for slot in slots_within(hand.instrument, hand.reach, home, extensions, in_chord):
        places.setdefault(home + slot.from_home, []).append(slot.finger)
    return places


def _stops_of(
    hand: Hand, note: Sounding, fingers: dict[int, list[int]]
) -> list[tuple[int, int, int]]:
    stops = [(0, LET_GO, 0)] if note.held else []
    for string, open_pitch in enumerate(hand.instrument.strings):
        for place in _places(note.midi - open_pitch.midi, note.natural_harmonic):
            if place == 0:
                stops.append((string, 0, 0))
            stops += [(string, finger, place) for finger in fingers.get(place, ())]
    return stops


def _places(interval: int, natural_harmonic: bool) -> tuple[int, ...]:
    if not natural_harmonic:
        return (interval,)
    return _NODES.get(interval, (interval,) if interval in _TOUCHING_PLACES else ())


def _combined(
    hand: Hand, columns: list[list[tuple[int, int, int]]]
) -> Iterator[tuple[tuple[tuple[int, int, int], ...], bool]]:
    if len(columns) == 1:
        yield from (((stop,), False) for stop in columns[0])
        return
    chosen: list[tuple[tuple[int, int, int], ...]] = [()]
    for column in columns:
        chosen = [
            (*stops, stop)
            for stops in chosen
            for stop in column
            if stop[1] == LET_GO
            or all(stop[0] != other[0] or other[1] == LET_GO for other in stops)
        ]
    for stops in chosen:
        how = _how_played(hand, stops)
        if how is not None:
            yield stops, how


def _how_played(hand: Hand, columns: tuple[tuple[int, int, int], ...]) -> bool | None:
    """Tell whether a chord is taken at once (False), broken (True), or not at all (None)."""
    stops = sorted(
        (
            Stop(StringIndex(string), Finger(finger), Offset(offset))
            for string, finger, offset in columns
            if finger != LET_GO
        ),
        key=lambda stop: stop.string,
    )
    if len(stops) > 1 and stops[-1].string - stops[0].string != len(stops) - 1:
        return None  # the bow cannot leave out a string between two others
    if together(stops, hand.instrument, hand.reach):
        return False
    if len(stops) < 3:
        return None
    halves = (stops[:2], stops[-2:])
    if all(together(half, hand.instrument, hand.reach) for half in halves):
        return True
    return None


def _rows_that_honour(
    hand: Hand, notes: tuple[Sounding, ...], marks: tuple[Marks, ...], have: set[_Row]
) -> list[_Row]:
    rows = [row for row in _rows(hand, notes, HIGHEST_POSITION, True) if row not in have]
    if not rows:
        return []
    honoured = broken_marks(hand, _as_states(hand, notes, rows), marks) == 0
    return [row for row, keep in zip(rows, honoured.tolist(), strict=True) if keep]


def _as_states(hand: Hand, notes: tuple[Sounding, ...], rows: list[_Row]) -> States:
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
        touched=np.array([note.natural_harmonic for note in notes]) & (finger > 0),
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
    counts = np.array([not note.natural_harmonic for note in notes])
    expected = letters[None, :] - open_letters[string] - position[:, None] + 1
    # In half position the first finger takes its half step by either letter (A-sharp or B-flat).
    first_in_half = (position[:, None] == 0) & (finger == 1) & (expected == 2)
    expected = np.where(first_in_half, 1, expected)
    return np.where((finger > 0) & counts[None, :], expected, finger)
