"""Tells which notes a slur joins to the note before.

Conventions
-----------
* A slur covers the notes of the voices of its two ends, from after its first note to its last.
* Ends are matched by number in the order of the document; an end may stand before its beginning
  inside one bar, where a later voice is written after an earlier one.
* A slur that never ends, or whose number begins anew in its voice, reaches to the end of its bar,
  the next rest of its voice or the next beginning, whichever comes first. A slur from a grace note
  may stand inside another of the same number.
"""

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, field

from scoretools.read.notices import Log, count
from scoretools.read.walk import Moment, RawNote, SlurEnd

__all__ = ["slurred_notes"]

_Span = tuple[SlurEnd, SlurEnd]


def slurred_notes(notes: Sequence[RawNote], ends: Sequence[SlurEnd], log: Log) -> frozenset[int]:
    """Return the notes to which a slur leads from the note before.

    Parameters
    ----------
    notes : sequence of RawNote
        Written notes of the part.
    ends : sequence of SlurEnd
        Beginnings and ends of slurs in the order of the document.
    log : Log
        Counts slurs that lack one end.

    Returns
    -------
    frozenset of int
        Running numbers of the notes.

    Raises
    ------
    Nothing.
    """
    if not ends:
        return frozenset()
    voices: dict[str, list[RawNote]] = {}
    for note in sorted(notes, key=lambda note: note.moment):
        voices.setdefault(note.voice, []).append(note)
    moments = {voice: [note.moment for note in line] for voice, line in voices.items()}
    matching = _matched(ends, log)
    slurred: set[int] = set()
    for first, last in matching.spans:
        for voice in {first.voice, last.voice}:
            line = moments.get(voice, [])
            begin, end = bisect_right(line, first.moment), bisect_right(line, last.moment)
            slurred.update(note.number for note in voices.get(voice, [])[begin:end])
    for start, stop in matching.endless:
        line = moments.get(start.voice, [])
        begin = bisect_right(line, start.moment)
        slurred.update(_reach(voices.get(start.voice, []), begin, start, stop))
    return frozenset(slurred)


@dataclass(slots=True)
class _Matching:
    """Slurs while their ends are matched."""

    spans: list[_Span] = field(default_factory=list)
    """Whole slurs."""
    endless: list[tuple[SlurEnd, Moment | None]] = field(default_factory=list)
    """Beginnings without an end, and what breaks them off."""
    opened: dict[str, list[SlurEnd]] = field(default_factory=dict)
    """Beginnings by number that still wait for their end."""
    early: list[SlurEnd] = field(default_factory=list)
    """Ends of this bar that still wait for a beginning in a later voice."""


def _matched(ends: Sequence[SlurEnd], log: Log) -> _Matching:
    matching = _Matching()
    measure = -1
    for end in ends:
        if end.measure != measure:
            measure = end.measure
            _give_up_early(matching, log)
        if end.start:
            _begin(matching, end)
        else:
            _finish(matching, end)
    _give_up_early(matching, log)
    for waiting in matching.opened.values():
        matching.endless.extend((start, None) for start in waiting)
    for start, _ in matching.endless:
        count(log, "slur", start.measure)
    return matching


def _give_up_early(matching: _Matching, log: Log) -> None:
    for lost in matching.early:
        count(log, "slur end", lost.measure)
    matching.early.clear()


def _begin(matching: _Matching, start: SlurEnd) -> None:
    for stop in matching.early:
        if stop.number == start.number and stop.moment > start.moment:
            matching.early.remove(stop)
            matching.spans.append((start, stop))
            return
    waiting = matching.opened.setdefault(start.number, [])
    for old in _superseded(waiting, start):
        waiting.remove(old)
        matching.endless.append((old, start.moment))
    waiting.append(start)


def _finish(matching: _Matching, stop: SlurEnd) -> None:
    """Match an end with the latest beginning of its voice, else of any voice."""
    waiting = matching.opened.get(stop.number, [])
    before = [start for start in waiting if start.moment < stop.moment]
    if not before:
        matching.early.append(stop)
        return
    start = max(before, key=lambda start: (start.voice == stop.voice, start.moment))
    waiting.remove(start)
    matching.spans.append((start, stop))


def _superseded(opened: Sequence[SlurEnd], start: SlurEnd) -> list[SlurEnd]:
    """Return the slurs that a new beginning of their number breaks off."""
    if not start.moment[1]:
        return []
    return [old for old in opened if old.voice == start.voice and old.moment[0] != start.moment[0]]


def _reach(line: Sequence[RawNote], begin: int, start: SlurEnd, stop: Moment | None) -> list[int]:
    """Return the notes a slur without an end is taken to cover."""
    covered: list[int] = []
    end: int | None = None
    for note in reversed(line[:begin]):
        if note.moment != start.moment:
            break
        end = note.moment[0] + note.length
    for note in line[begin:]:
        onset = note.moment[0]
        if note.measure != start.measure or end is None or onset > end:
            break
        if stop is not None and note.moment >= stop:
            break
        covered.append(note.number)
        end = max(end, onset + note.length)
    return covered
