"""The lines of a part: which notes belong to its top or bottom one.

Convention: a line is a staff and a voice; where each staff is a line of its own, a staff alone.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from fractions import Fraction
from itertools import combinations, groupby
from typing import NamedTuple

from scoretools.model import Event, Harmonic, Note, NoteRef

__all__ = ["bars_in_voices", "held_notes", "of_artificial_harmonic", "off_line", "several"]

_ARTIFICIAL = frozenset(kind for kind in Harmonic if kind.name.startswith("ARTIFICIAL"))


def several(event: Event) -> bool:
    """Tell whether several notes sound at an event, struck or held."""
    return len(event.notes) + len(event.held) > 1


def of_artificial_harmonic(note: Note) -> bool:
    """Tell whether a note is one of those that print an artificial harmonic."""
    return note.marks.harmonic in _ARTIFICIAL


def held_notes(events: Sequence[Event], event: Event) -> tuple[Note, ...]:
    """Look up the notes that still sound at an event."""
    return tuple(events[ref.event].notes[ref.note] for ref in event.held)


def bars_in_voices(events: Sequence[Event]) -> frozenset[int]:
    """Find the bars, by index, in which two voices sound at once."""
    return frozenset(
        event.measure
        for event in filter(several, events)
        if len({_line(note) for note in (*event.notes, *held_notes(events, event))}) > 1
    )


def off_line(
    events: Sequence[Event], stretch: Sequence[int], top: bool = True, by_staff: bool = False
) -> set[NoteRef]:
    """Find the notes struck in a stretch that do not belong to its top (or bottom) line.

    Parameters
    ----------
    stretch
        Indices of its events, in order.
    by_staff
        Whether each staff is a line with its own double stops.
    """
    pairs = [
        (one, other)
        for one, other in _pairs(events, stretch)
        if not by_staff or one.note.staff != other.note.staff
    ]
    height = _heights(events, pairs, by_staff)
    inside = frozenset(stretch)
    dropped: set[NoteRef] = set()
    second: set[tuple[int, _Line]] = set()
    for pair in pairs:
        low, high = sorted(pair, key=height)
        other, own = (low, high) if top else (high, low)
        if other.ref.event in inside:
            dropped.add(other.ref)
            if _line(other.note, by_staff) != _line(own.note, by_staff):
                second.add((other.measure, _line(other.note, by_staff)))
    return dropped | _alone_in_second(events, stretch, second, by_staff)


_Line = tuple[int, str]
"""Staff and voice."""


class _Placed(NamedTuple):
    """A struck note and where it stands."""

    ref: NoteRef
    note: Note
    measure: int


def _line(note: Note, by_staff: bool = False) -> _Line:
    return note.staff, "" if by_staff else note.voice


def _pairs(events: Sequence[Event], stretch: Sequence[int]) -> Iterator[tuple[_Placed, _Placed]]:
    """Pair every note struck in a stretch with what sounds when it is struck."""
    for index in stretch:
        event = events[index]
        refs = [NoteRef(index, place) for place in range(len(event.notes))]
        for one, other in (*combinations(refs, 2), *((a, b) for a in refs for b in event.held)):
            pair = _placed(events, one), _placed(events, other)
            if one.event != other.event or not all(of_artificial_harmonic(p.note) for p in pair):
                yield pair


def _placed(events: Sequence[Event], ref: NoteRef) -> _Placed:
    event = events[ref.event]
    return _Placed(ref, event.notes[ref.note], event.measure)


def _heights(
    events: Sequence[Event], pairs: Iterable[tuple[_Placed, _Placed]], by_staff: bool
) -> Callable[[_Placed], tuple[int, ...]]:
    """Rank notes from the bottom: by line, then by pitch.

    Lines rank by staff, then by how high they lie where they sound with another.
    """
    pitches: dict[_Line, list[int]] = defaultdict(list)
    for pair in pairs:
        for placed in pair:
            pitches[_line(placed.note, by_staff)].append(placed.note.pitch.midi)
    by_name = sorted(pitches, reverse=True)  # of two lines equally high, voice 1 is the upper
    by_height = sorted(by_name, key=lambda line: (-line[0], _mean(pitches[line])))
    rank = {line: place for place, line in enumerate(by_height)}

    def height(placed: _Placed) -> tuple[int, ...]:
        note, ref = placed.note, placed.ref
        midi = note.pitch.midi
        if of_artificial_harmonic(note):
            chord = filter(of_artificial_harmonic, events[ref.event].notes)
            midi = min(other.pitch.midi for other in chord)
        return rank[_line(note, by_staff)], midi, ref.event, ref.note

    return height


def _mean(numbers: Sequence[int]) -> Fraction:
    return Fraction(sum(numbers), len(numbers))


def _alone_in_second(
    events: Sequence[Event],
    stretch: Sequence[int],
    second: set[tuple[int, _Line]],
    by_staff: bool,
) -> set[NoteRef]:
    """Find all notes of the other player's voices, bar by bar; the bar's first voice is shared."""
    dropped: set[NoteRef] = set()
    for measure, bar in groupby((events[index] for index in stretch), lambda event: event.measure):
        refs = [NoteRef(event.index, i) for event in bar for i in range(len(event.notes))]
        placed = [_placed(events, ref) for ref in refs]
        first = _line(min(placed, key=lambda one: one.note.address.note).note, by_staff)
        dropped |= {
            one.ref
            for one in placed
            if (line := _line(one.note, by_staff)) != first and (measure, line) in second
        }
    return dropped
