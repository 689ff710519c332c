"""Tells which notes a slur joins to the note before.

Conventions
-----------
* A slur covers the notes of the voices of its two ends, from after its first note to its last.
* Ends are matched by number in the order of the document; an end may stand before its beginning
  inside one bar, where a later voice is written after an earlier one.
* A slur that never ends, or whose number begins anew in its voice, reaches to the end of its bar,
  the next rest of its voice or the next beginning, whichever comes first.
"""

from bisect import bisect_right
from collections.abc import Sequence

from scoretools.read.measures import Moment, RawNote, SlurEnd
from scoretools.read.notices import Log, count

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
    spans, endless = _matched(ends, log)
    slurred: set[int] = set()
    for first, last in spans:
        for voice in {first.voice, last.voice}:
            line = moments.get(voice, [])
            begin, end = bisect_right(line, first.moment), bisect_right(line, last.moment)
            slurred.update(note.number for note in voices[voice][begin:end] if line)
    for start, stop in endless:
        line = moments.get(start.voice, [])
        begin = bisect_right(line, start.moment)
        slurred.update(_reach(voices.get(start.voice, []), begin, start, stop))
    return frozenset(slurred)


def _matched(
    ends: Sequence[SlurEnd], log: Log
) -> tuple[list[_Span], list[tuple[SlurEnd, Moment | None]]]:
    """Return whole slurs, and beginnings without an end with what breaks them off."""
    spans: list[_Span] = []
    endless: list[tuple[SlurEnd, Moment | None]] = []
    opened: dict[str, list[SlurEnd]] = {}
    early: list[SlurEnd] = []
    for end in ends:
        for lost in [stop for stop in early if stop.measure != end.measure]:
            early.remove(lost)
            count(log, "slur end", lost.measure)
        same = opened.setdefault(end.number, [])
        if not end.start:
            begin = _best(same, end)
            if begin is None:
                early.append(end)
            else:
                same.remove(begin)
                spans.append((begin, end))
            continue
        stop = next((s for s in early if s.number == end.number and s.moment > end.moment), None)
        if stop is not None:
            early.remove(stop)
            spans.append((end, stop))
            continue
        for old in [s for s in same if s.voice == end.voice and s.moment[0] != end.moment[0]]:
            same.remove(old)
            endless.append((old, end.moment))
        same.append(end)
    for lost in early:
        count(log, "slur end", lost.measure)
    endless.extend((start, None) for same in opened.values() for start in same)
    for start, _ in endless:
        count(log, "slur", start.measure)
    return spans, endless


def _best(opened: Sequence[SlurEnd], end: SlurEnd) -> SlurEnd | None:
    """Return the beginning an end belongs to: the latest of its voice, else of any voice."""
    before = [start for start in opened if start.moment < end.moment]
    return max(before, key=lambda start: (start.voice == end.voice, start.moment), default=None)


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
