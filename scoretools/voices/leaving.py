"""A part without some of its notes."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from scoretools.model import Event, NoteRef, Part
from scoretools.read.timing import Clock, clock_of, seconds

__all__ = ["without"]


def without(part: Part, dropped: frozenset[NoteRef]) -> Part:
    """Leave notes out of a part.

    Events without notes go; the others are numbered anew, and what they hold with them. A note
    left out takes its tied continuations, its marks and its part in a slur along.

    Parameters
    ----------
    dropped
        The notes to leave out; where there are none, the part itself is returned.
    """
    if not dropped:
        return part
    clock = clock_of(part.tempi)
    events: list[Event] = []
    moved: dict[NoteRef, NoteRef] = {}
    for event in part.events:
        places = range(len(event.notes))
        kept = [place for place in places if NoteRef(event.index, place) not in dropped]
        if not kept:
            continue
        index = len(events)
        events.append(_thinned(event, kept, index, moved, clock))
        for new, old in enumerate(kept):
            moved[NoteRef(event.index, old)] = NoteRef(index, new)
    return replace(part, events=tuple(events))


def _thinned(
    event: Event, kept: Sequence[int], index: int, moved: Mapping[NoteRef, NoteRef], clock: Clock
) -> Event:
    held = tuple(moved[ref] for ref in event.held if ref in moved)
    if len(kept) == len(event.notes):
        return replace(event, index=index, held=held)
    notes = tuple(event.notes[place] for place in kept)
    end_ql = event.onset_ql + max(note.duration_ql for note in notes)
    return replace(
        event,
        index=index,
        held=held,
        notes=notes,
        end_s=min(event.end_s, seconds(clock, end_ql)),
        slurred=any(note.slurred for note in notes),
    )
