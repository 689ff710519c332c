"""Walks the measures of one part and takes down its notes in score time.

Conventions
-----------
* Chord notes begin with the note before them; grace notes take no time and stand at the moment of
  the note they lead to, or at the end of the bar.
* A bar is as long as the furthest moment its voices reach; one without any music is as long as in
  another part, else as its time signature says. Rounding below a 64th of a quarter is mended.
* Cue notes and unpitched notes take their time and are left out.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from fractions import Fraction
from typing import NamedTuple

from scoretools.model import NO_MARKS, Key, Marks, Pitch
from scoretools.read.attributes import (
    C_MAJOR,
    COMMON_TIME,
    NO_TRANSPOSITION,
    Transposition,
    key_of,
    number_of,
    time_of,
    transposed_key,
    transposition_of,
)
from scoretools.read.document import Element, text_of
from scoretools.read.marks import Printed, chord_marks
from scoretools.read.notes import WrittenNote, length_of, written_note
from scoretools.read.notices import Log, count, remark

__all__ = ["Moment", "RawMeasure", "RawNote", "SlurEnd", "Walk", "walk_measure"]

_ROUNDING_QL = Fraction(1, 64)
_ZERO = Fraction(0)

Moment = tuple[Fraction, int, int]
"""Order of what begins: time from the start of the part; 0 for a grace note and 1 for others; and
for a grace note its running number."""


class RawNote(NamedTuple):
    """A note as written, ties not yet joined."""

    number: int
    """Running number in the part."""
    measure: int
    """Index of the measure."""
    place: int
    """Index of the ``note`` element in its measure."""
    moment: Moment
    """When it begins."""
    duration_ql: Fraction
    """Quarter lengths; 0 for a grace note."""
    pitch: Pitch
    """Sounding pitch."""
    voice: str
    """Voice as named."""
    staff: int
    """Staff, from 1."""
    ties: frozenset[str]
    """``start`` and ``stop``, as far as it is tied."""
    marks: Marks
    """What is printed on it."""


class SlurEnd(NamedTuple):
    """One end of a slur."""

    start: bool
    """Whether it is the beginning."""
    number: str
    """The slur's number."""
    voice: str
    """Voice of its note."""
    moment: Moment
    """When its note begins."""
    measure: int
    """Index of the measure."""


class RawMeasure(NamedTuple):
    """A bar as written."""

    element: Element
    """Its element."""
    onset_ql: Fraction
    """Quarter lengths from the start of the part."""
    duration_ql: Fraction
    """How long it is."""
    time: tuple[int, int] | None
    """Time signature, none for music without metre."""
    final: bool
    """Whether it ends with a thin and a thick line."""


@dataclass(slots=True)
class Walk:
    """Where the reader stands in a part, and what it has taken down."""

    log: Log
    """Takes remarks."""
    empty_length: Callable[[int], Fraction | None]
    """Length of a measure in another part, none where no other part has music."""
    divisions: Fraction = Fraction(1)
    """Units of duration in a quarter note."""
    time: tuple[int, int] | None = COMMON_TIME
    """Time signature in force, none for music without metre."""
    key: Key = C_MAJOR
    """Key signature in force, as written."""
    transpositions: dict[int, Transposition] = field(default_factory=dict)
    """Interval to the sounding note by staff, 0 for all staves."""
    onset_ql: Fraction = _ZERO
    """Where the next measure begins."""
    notes: list[RawNote] = field(default_factory=list)
    """Notes in the order of the document."""
    slur_ends: list[SlurEnd] = field(default_factory=list)
    """Ends of slurs in the order of the document."""
    keys: list[tuple[Fraction, Key]] = field(default_factory=list)
    """Sounding keys and when they begin."""
    measures: list[RawMeasure] = field(default_factory=list)
    """Bars so far."""
    skipped: set[str] = field(default_factory=set)
    """Kinds of notes that were left out."""


@dataclass(slots=True)
class _Bar:
    """Where the reader stands in one measure, in quarter lengths from its beginning."""

    index: int
    cursor: Fraction = _ZERO
    furthest: Fraction = _ZERO
    place: int = -1
    chord_onset: Fraction | None = None
    chord_number: int = 0
    chord: list[Printed] = field(default_factory=list)
    marked: bool = False
    final: bool = False


def walk_measure(walk: Walk, element: Element) -> None:
    """Take down one measure and move on to the end of it.

    Parameters
    ----------
    walk : Walk
        Where the reader stands; changed.
    element : Element
        The ``measure``.

    Raises
    ------
    Nothing.
    """
    bar = _Bar(len(walk.measures))
    for child in element:
        handler = _HANDLERS.get(str(child.tag))
        if handler is not None:
            handler(walk, bar, child)
    _mark_chord(walk, bar)
    length = _bar_length(walk, bar)
    walk.measures.append(RawMeasure(element, walk.onset_ql, length, walk.time, bar.final))
    walk.onset_ql += length


def _bar_length(walk: Walk, bar: _Bar) -> Fraction:
    nominal = Fraction(4 * walk.time[0], walk.time[1]) if walk.time else None
    if not bar.furthest:
        return walk.empty_length(bar.index) or nominal or Fraction(4)
    if nominal is not None and abs(bar.furthest - nominal) < _ROUNDING_QL:
        return nominal
    return bar.furthest


def _note(walk: Walk, bar: _Bar, element: Element) -> None:
    bar.place += 1
    note = written_note(element, walk.divisions, walk.transpositions)
    onset = bar.chord_onset
    if not note.chord or onset is None:
        _mark_chord(walk, bar)
        onset = bar.chord_onset = bar.cursor
        bar.chord_number = len(walk.notes)
        _advance(bar, note.duration_ql)
    onset += walk.onset_ql
    moment = (onset, 0, bar.chord_number) if note.grace else (onset, 1, 0)
    for kind, number in note.slurs:
        walk.slur_ends.append(SlurEnd(kind == "start", number, note.voice, moment, bar.index))
    if note.kind == "note":
        _take_down(walk, bar, note, moment)
    elif note.kind != "rest":
        walk.skipped.add(note.kind)
        count(walk.log, note.kind, bar.index)


def _take_down(walk: Walk, bar: _Bar, note: WrittenNote, moment: Moment) -> None:
    if note.pitch is None:
        return
    if note.microtone:
        count(walk.log, "microtone", bar.index)
    walk.notes.append(
        RawNote(
            len(walk.notes),
            bar.index,
            bar.place,
            moment,
            note.duration_ql,
            note.pitch,
            note.voice,
            note.staff,
            note.ties,
            NO_MARKS,
        )
    )
    bar.chord.append(Printed(note.pitch, note.technical, note.diamond))
    bar.marked = bar.marked or note.diamond or bool(note.technical)


def _mark_chord(walk: Walk, bar: _Bar) -> None:
    """Put the printed marks on the notes of the chord that is now complete."""
    if bar.marked:
        first = len(walk.notes) - len(bar.chord)
        for place, marks in enumerate(chord_marks(bar.chord, walk.log, bar.index)):
            walk.notes[first + place] = walk.notes[first + place]._replace(marks=marks)
    bar.chord = []
    bar.marked = False


def _advance(bar: _Bar, length: Fraction) -> None:
    bar.cursor += length
    bar.furthest = max(bar.furthest, bar.cursor)


def _backup(walk: Walk, bar: _Bar, element: Element) -> None:
    length = length_of(element.findtext("duration"), walk.divisions) or _ZERO
    if length - bar.cursor >= _ROUNDING_QL:
        count(walk.log, "backup", bar.index)
    bar.cursor = max(bar.cursor - length, _ZERO)


def _forward(walk: Walk, bar: _Bar, element: Element) -> None:
    _advance(bar, length_of(element.findtext("duration"), walk.divisions) or _ZERO)


def _barline(walk: Walk, bar: _Bar, element: Element) -> None:
    style = text_of(element.find("bar-style"))
    bar.final = style == "light-heavy" and element.get("location", "right") == "right"


def _attributes(walk: Walk, bar: _Bar, element: Element) -> None:
    onset = walk.onset_ql + bar.cursor
    rekeyed = False
    for child in element:
        first_staff = child.get("number", "1") == "1"
        if child.tag == "divisions":
            _divisions(walk, bar, child)
        elif child.tag == "time" and first_staff:
            _time(walk, bar, child)
        elif child.tag == "key" and first_staff:
            walk.key = key_of(child)
            rekeyed = True
        elif child.tag == "transpose":
            staff = int(number_of(child.get("number")) or 0)
            walk.transpositions[staff] = transposition_of(child)
            rekeyed = rekeyed or first_staff
    if rekeyed:
        first = walk.transpositions.get(1, walk.transpositions.get(0, NO_TRANSPOSITION))
        walk.keys.append((onset, transposed_key(walk.key, first)))


def _divisions(walk: Walk, bar: _Bar, element: Element) -> None:
    divisions = number_of(element.text)
    if divisions is not None and divisions > 0:
        walk.divisions = divisions
    else:
        said = f"The divisions “{text_of(element)[:20]}” are no positive number and are"
        remark(walk.log, f"{said} left out.", bar.index)


def _time(walk: Walk, bar: _Bar, element: Element) -> None:
    time = time_of(element)
    if time is not None:
        walk.time = time
    elif element.find("senza-misura") is not None:
        walk.time = None
    else:
        remark(walk.log, "A time signature that cannot be read is left out.", bar.index)


_HANDLERS: dict[str, Callable[[Walk, _Bar, Element], None]] = {
    "attributes": _attributes,
    "backup": _backup,
    "barline": _barline,
    "forward": _forward,
    "note": _note,
}
"""What is done for each child of a measure; the others do not matter here."""
