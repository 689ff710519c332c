"""Every way one hand could play the notes of an event, one by one.

A row is a home, a position, and for every note a string, a finger and a place. A held note may be
let go (`LET_GO` in its finger's stead). Notes on several strings are combined as far as one hand
can hold them and the bow can reach them; a chord of three or four may be broken two and two.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from enum import IntEnum
from functools import lru_cache
from typing import NamedTuple

from scoretools.hand import Reach, slots_within, together
from scoretools.instrument import Instrument, homes_of_position
from scoretools.model import Finger, Offset, PositionNumber, Stop, StringIndex

__all__ = ["LET_GO", "Hand", "How", "Row", "RowStop", "Sounding", "rows_of"]

LET_GO = -1
"""Finger of a held note that is released before its written end."""

_NODES = {12: (12,), 19: (7, 19), 24: (5, 24), 28: (4, 9, 16)}
"""Where to touch a string (semitones above it) so that it sounds so many semitones above it.
Source: the harmonic series; the touched place of the n-th partial divides the string by n."""

_TOUCHING_PLACES = frozenset(place for places in _NODES.values() for place in places)


_TOUCHED_FOURTH = 5
"""Semitones of the fourth that the little finger touches above the first; a third is the third
finger's (common practice)."""


class How(IntEnum):
    """How a note is made to sound."""

    STOPPED = 0
    NATURAL_HARMONIC = 1
    """A finger touches a node of an open string."""
    ARTIFICIAL_BASE = 2
    """The stopped note under an artificial harmonic, taken by the first finger."""
    ARTIFICIAL_TOUCH = 3
    """A finger touches above the stopped note of the same string."""


class Sounding(NamedTuple):
    """What the rows of an event depend on, of one of its notes."""

    midi: int
    """Pitch: the one that is stopped or touched, for artificial harmonics, else as printed."""
    letter: int
    """Letter, in letters above C of octave 0."""
    how: How
    """How it is made to sound."""
    held: bool
    """Whether it was struck before."""
    beside: tuple[int, ...] = ()
    """Pitches that an ornament wants under the hand too, MIDI."""


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
    shapes: tuple[str, ...] = ()
    """Shapes the player knows, such as ``W-H-W``; none where that is not asked."""


RowStop = tuple[int, int, int]
"""String, finger, offset of one note."""

Row = tuple[int, int, tuple[RowStop, ...], bool]
"""Home, position, the stops of the notes in their order, and whether the chord is broken."""

_Fingers = dict[int, list[int]]
"""Fingers that reach each place from a home."""

_Played = dict[tuple[RowStop, ...], bool | None]
"""How sets of stops are played (see `_how_played`); the same from every home."""


def rows_of(
    hand: Hand, notes: tuple[Sounding, ...], ceiling: PositionNumber, extensions: bool
) -> Iterator[Row]:
    """List every row for the notes of an event, up to a position.

    Parameters
    ----------
    notes
        Struck notes, lowest first, then held ones.
    ceiling
        Highest position.
    extensions
        Whether reach back and extensions are offered.
    """
    if sum(not note.held for note in notes) > 2 * len(hand.instrument.strings):
        return
    known: _Played = {}
    for home, positions, fingers in _places_of(hand, ceiling, extensions, len(notes) > 1):
        columns = _columns(hand, notes, fingers)
        for stops, broken in _combined(hand, notes, columns, fingers, known):
            for position in positions:
                yield home, position, stops, broken


def _columns(hand: Hand, notes: tuple[Sounding, ...], fingers: _Fingers) -> list[list[RowStop]]:
    """List the stops of every note; none at all where one of them has none."""
    columns = []
    for note in notes:
        column = _stops_of(hand, note, fingers)
        if not column and note.how is not How.ARTIFICIAL_TOUCH:
            return []
        columns.append(column)
    return columns


@lru_cache(64)
def _places_of(
    hand: Hand, ceiling: PositionNumber, extensions: bool, in_chord: bool
) -> tuple[tuple[Offset, tuple[PositionNumber, ...], _Fingers], ...]:
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


def _fingers_at(hand: Hand, home: Offset, extensions: bool, in_chord: bool) -> _Fingers:
    places: _Fingers = {}
    for slot in slots_within(hand.instrument, hand.reach, home, extensions, in_chord):
        places.setdefault(home + slot.from_home, []).append(slot.finger)
    return places


def _stops_of(hand: Hand, note: Sounding, fingers: _Fingers) -> list[RowStop]:
    if note.how is How.ARTIFICIAL_TOUCH:
        return []  # follows from the stopped note below it
    stops = [(0, LET_GO, 0)] if note.held else []
    for string, open_pitch in enumerate(hand.instrument.strings):
        for place in _places(note.midi - open_pitch.midi, note.how):
            if place == 0:
                stops.append((string, 0, 0))
            stops += [(string, finger, place) for finger in fingers.get(place, ())]
    if note.how is How.ARTIFICIAL_BASE:
        stops = [stop for stop in stops if stop[1] in (1, LET_GO)]
    if note.beside:
        stops = [stop for stop in stops if _ornament_lies(hand, note, stop, fingers)]
    return stops


def _places(interval: int, how: How) -> tuple[int, ...]:
    if how is not How.NATURAL_HARMONIC:
        return (interval,)
    return _NODES.get(interval, (interval,) if interval in _TOUCHING_PLACES else ())


def _ornament_lies(hand: Hand, note: Sounding, stop: RowStop, fingers: _Fingers) -> bool:
    """Tell whether every note of an ornament has a finger of its own on the same string."""
    string, finger, place = stop
    for midi in note.beside:
        other = midi - hand.instrument.strings[string].midi
        if other < 0:
            return False
        free = [f for f in fingers.get(other, ()) if (f - finger) * (other - place) > 0]
        if other > 0 and not free:
            return False
    return True


def _combined(
    hand: Hand,
    notes: tuple[Sounding, ...],
    columns: list[list[RowStop]],
    fingers: _Fingers,
    known: _Played,
) -> Iterator[tuple[tuple[RowStop, ...], bool]]:
    if not columns:
        return
    if len(columns) == 1:
        yield from (((stop,), False) for stop in columns[0])
        return
    chosen: list[tuple[RowStop, ...]] = [()]
    for note, column in zip(notes, columns, strict=True):
        touching = note.how is How.ARTIFICIAL_TOUCH
        chosen = [
            (*stops, stop)
            for stops in chosen
            for stop in (_touches(notes, note, stops, fingers) if touching else column)
            if touching or _string_free(stops, stop)
        ]
    real = [place for place, note in enumerate(notes) if note.how is not How.ARTIFICIAL_TOUCH]
    for stops in chosen:
        if stops not in known:
            known[stops] = _how_played(hand, [stops[place] for place in real])
        how = known[stops]
        if how is not None:
            yield stops, how


def _string_free(stops: tuple[RowStop, ...], stop: RowStop) -> bool:
    taken = [string for string, finger, _ in stops if finger != LET_GO]
    return stop[1] == LET_GO or stop[0] not in taken


def _touches(
    notes: tuple[Sounding, ...],
    note: Sounding,
    stops: tuple[RowStop, ...],
    fingers: _Fingers,
) -> list[RowStop]:
    """Where a finger touches above the stopped note that lies below on the same string."""
    base = next(i for i, other in enumerate(notes) if other.how is How.ARTIFICIAL_BASE)
    string, _, place = stops[base]
    apart = note.midi - notes[base].midi
    touching = 4 if apart >= _TOUCHED_FOURTH else 3
    reached = touching in fingers.get(place + apart, ())
    return [(string, touching, place + apart)] if reached else []


def _how_played(hand: Hand, columns: list[RowStop]) -> bool | None:
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
