"""What a picture of the fingerboard shows: places, neighbours, moves, and where they lie in mm."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from scoretools.hand import FRAME
from scoretools.instrument import (
    Instrument,
    natural_offset,
    position_of,
    spacing_mm,
    stop_distance_mm,
    usual_home,
)
from scoretools.model import Offset, Pitch, PositionNumber, Stop, StringIndex

__all__ = [
    "Board",
    "Spot",
    "across",
    "board_under",
    "close",
    "distances",
    "moves",
    "position_places",
]


@dataclass(frozen=True, slots=True)
class Spot:
    """One place on the fingerboard."""

    stop: Stop
    """String, finger, and semitones above the open string; offset 0 is the open string."""
    letter: str
    """Name of the note without its octave, such as ``F#``, ``F♯`` or ``Bb``, or a wording of it."""
    implied: bool = False
    """Whether the finger does not play in the music and its place follows from the key."""
    check: str = ""
    """``unison``, ``octave``, ``fourth`` or ``sixth`` where the note is tested against an open
    string, else empty."""


@dataclass(frozen=True, slots=True)
class Board:
    """A hand on the fingerboard, and the stretch of the strings around it."""

    instrument: Instrument
    """Strings and string length."""
    position: PositionNumber
    """Position of the hand; 0 = half position."""
    spots: tuple[Spot, ...]
    """Every place once, in the order given."""
    top_mm: float
    """Where the picture of the strings begins, mm from the nut; 0 where the nut is shown."""
    bottom_mm: float
    """Where it ends, mm from the nut."""

    @property
    def fingers(self) -> tuple[Spot, ...]:
        """Spots that are no open string."""
        return tuple(spot for spot in self.spots if spot.stop.finger)

    @property
    def strings(self) -> tuple[StringIndex, ...]:
        """All strings, lowest first."""
        return tuple(StringIndex(string) for string in range(len(self.instrument.strings)))

    def on(self, string: StringIndex) -> list[Spot]:
        """Fingers on a string, from the nut; at one place in the order given."""
        found = (spot for spot in self.fingers if spot.stop.string == string)
        return sorted(found, key=lambda spot: spot.stop.offset)

    def from_nut_mm(self, spot: Spot) -> float:
        """Distance of a spot from the nut, mm."""
        return stop_distance_mm(self.instrument, spot.stop.offset)


_NUT_UP_TO = 4
"""A hand whose lowest finger lies no higher, in semitones, is shown with the nut."""

_MARGIN_MM = 7.0
"""String shown before the first finger and after the last, mm."""


def board_under(instrument: Instrument, position: PositionNumber, spots: Sequence[Spot]) -> Board:
    """Choose the stretch of the strings around a hand: its position and all its fingers."""
    usual = _usual_place(instrument, position, spots)
    offsets = [usual, *(spot.stop.offset for spot in spots if spot.stop.finger)]
    if len(offsets) == 1:
        offsets.append(Offset(usual + FRAME))
    lowest, highest = (stop_distance_mm(instrument, end(offsets)) for end in (min, max))
    top = 0.0 if min(offsets) <= _NUT_UP_TO else lowest - _MARGIN_MM
    return Board(instrument, position, _each_once(spots), top, highest + _MARGIN_MM)


def _each_once(spots: Sequence[Spot]) -> tuple[Spot, ...]:
    """Keep one spot for each stop, the one that plays before the one that is implied."""
    kept: dict[Stop, Spot] = {}
    for spot in spots:
        if spot.stop not in kept or kept[spot.stop].implied:
            kept[spot.stop] = spot
    return tuple(kept.values())


# ── between the fingers ─────────────────────────────────────────────────────────────────────────


def distances(board: Board) -> Iterator[tuple[Spot, Spot, float]]:
    """Neighbouring fingers of a string that lie apart, the lower first, and how far, mm."""
    for string in board.strings:
        for low, high in pairwise(board.on(string)):
            if low.stop.offset < high.stop.offset:
                apart = spacing_mm(board.instrument, low.stop.offset, high.stop.offset)
                yield low, high, apart


def close(board: Board) -> list[tuple[Spot, Spot]]:
    """Pairs of neighbouring fingers a half step apart on one string, the lower first."""
    return [
        (low, high)
        for low in board.fingers
        for high in board.on(low.stop.string)
        if high.stop.offset - low.stop.offset == 1 and high.stop.finger - low.stop.finger == 1
    ]


def across(board: Board) -> dict[Spot, Spot]:
    """Spots of one finger across two strings, the lower string's first: a stopped fifth.

    The two follow each other in the order given: the frames of a hand on two strings, listed
    string by string, have fingers at one height too, and are no fifths.
    """
    found: dict[Spot, Spot] = {}
    for one, other in pairwise(board.fingers):
        low, high = sorted((one, other), key=lambda spot: spot.stop.string)
        level = replace(low.stop, string=high.stop.string) == high.stop
        if level and high.stop.string - low.stop.string == 1 and low not in found.values():
            found[low] = high
    return found


def moves(board: Board) -> Iterator[tuple[Spot, Spot]]:
    """Moves of a finger along a string, in the order given."""
    for place, there in enumerate(board.fingers):
        before = [
            spot
            for spot in board.fingers[:place]
            if (spot.stop.string, spot.stop.finger) == (there.stop.string, there.stop.finger)
        ]
        yield from ((here, there) for here in before[-1:])


# ── positions ───────────────────────────────────────────────────────────────────────────────────


def position_places(board: Board) -> dict[PositionNumber, Offset]:
    """Say where each position is named, semitones above the nut: at its first finger.

    The position of the hand is named at its usual place where it has no first finger, and others
    where a first finger moves to them. The open string's own letter, as in A-sharp on the A
    string, names half position, or a first finger that reaches back from where the hand is.
    """
    places: dict[PositionNumber, Offset] = {}
    firsts = (spot for spot in board.fingers if spot.stop.finger == 1)
    for spot in sorted(firsts, key=lambda first: first.stop.offset, reverse=True):
        places.setdefault(_by_letter(board, spot) or board.position, spot.stop.offset)
    usual = _usual_place(board.instrument, board.position, board.spots)
    return places if board.position in places else {**places, board.position: usual}


def _by_letter(board: Board, spot: Spot) -> PositionNumber:
    string = board.instrument.strings[spot.stop.string]
    if board.position == 0 and spot.stop.offset == 1:
        return board.position
    octave = round((string.midi + spot.stop.offset - Pitch(spot.letter[0], 0, 0).midi) / 12)
    return position_of(string, Pitch(spot.letter[0], 0, octave))


def _usual_place(instrument: Instrument, position: PositionNumber, spots: Sequence[Spot]) -> Offset:
    """Place of the first finger: on the one string in use, else on most strings."""
    strings = {spot.stop.string for spot in spots}
    if position == 0 or len(strings) != 1:
        return usual_home(instrument, position)
    return natural_offset(instrument.strings[strings.pop()], position)
