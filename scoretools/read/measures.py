"""Walks the measures of one part and takes down its notes in score time.

Conventions
-----------
* Time is counted in ticks, whole fractions of a quarter note that fit all divisions of the part.
* Chord notes begin with the note before them; grace notes take no time and stand at the moment of
  the note they lead to, or at the end of the bar.
* A bar is as long as the furthest moment its voices reach; one without any music is as long as in
  another part, else as its time signature says. A bar that misses its time signature by a mere
  rounding, or exceeds it by what is no note value, is taken as full.
* Cue notes and unpitched notes take their time and are left out.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from math import lcm

from scoretools.model import NO_MARKS, Marks
from scoretools.read.attributes import (
    COMMON_TIME,
    NO_TRANSPOSITION,
    key_of,
    number_of,
    time_of,
    transposed_key,
    transposition_of,
)
from scoretools.read.bar_repeats import fill, read_style
from scoretools.read.directions import Place, sayings
from scoretools.read.document import Element, text_of
from scoretools.read.joins import bar_signs
from scoretools.read.marks import Printed, chord_marks
from scoretools.read.notes import WrittenNote, length_of, written_note
from scoretools.read.notices import count, remark
from scoretools.read.walk import Moment, RawMeasure, RawNote, SlurEnd, Walk

__all__ = ["ticks_of", "walk_measure"]

_USUAL_TICKS = 1024 * 9 * 5 * 7
_MOST_TICKS = 10**18
_FINEST = 64
_EXCESS = 2
_DOUBLE_LINES = ("light-light", "light-heavy", "heavy-heavy", "heavy-light")
_VALUES = (16, 12)
"""Parts of a quarter: least that is no rounding, most that may be an error, note values."""


@dataclass(slots=True)
class _Bar:
    """Where the reader stands in one measure, in ticks from its beginning."""

    index: int
    cursor: int = 0
    furthest: int = 0
    place: int = -1
    chord_onset: int | None = None
    chord_number: int = 0
    chord: list[Printed] = field(default_factory=list)
    marked: bool = False
    final: bool = False
    double: bool = False
    opens_double: bool = False


def ticks_of(part: Element) -> int:
    """Return how many ticks a quarter note has in a part.

    Parameters
    ----------
    part : Element
        A part.

    Returns
    -------
    int
        A multiple of every division of the part, and of common note values and tuplets.

    Raises
    ------
    Nothing.
    """
    ticks = _USUAL_TICKS
    for text in {element.text for element in part.iter("divisions")}:
        divisions = number_of(text)
        if divisions and divisions > 0 and ticks < _MOST_TICKS:
            ticks = lcm(ticks, divisions.numerator)
    return ticks


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
    first = len(walk.notes)
    for child in element:
        handler = _HANDLERS.get(str(child.tag))
        if handler is not None:
            handler(walk, bar, child)
    _mark_chord(walk, bar)
    bar.furthest = max(bar.furthest, fill(walk, bar.index, first))
    length = _bar_length(walk, bar)
    walk.measures.append(
        RawMeasure(element, walk.onset, length, walk.time, bar.final, bar.double, bar.opens_double)
    )
    walk.onset += length


def _bar_length(walk: Walk, bar: _Bar) -> int:
    ticks = walk.unit.ticks
    upper, lower = walk.time or COMMON_TIME
    nominal = 4 * ticks * upper // lower
    if not bar.furthest:
        elsewhere = walk.empty_length(bar.index)
        return round(elsewhere * ticks) if elsewhere else nominal
    excess = bar.furthest - nominal
    no_value = all(excess * parts % ticks for parts in _VALUES)
    if walk.time and (abs(excess) * _FINEST < ticks or (0 < excess * _EXCESS < ticks and no_value)):
        return nominal
    return bar.furthest


def _note(walk: Walk, bar: _Bar, element: Element) -> None:
    bar.place += 1
    note = written_note(element, walk.unit, walk.transpositions)
    onset = bar.chord_onset
    if not note.chord or onset is None:
        _mark_chord(walk, bar)
        onset = bar.chord_onset = bar.cursor
        bar.chord_number = len(walk.notes)
        _advance(bar, note.length)
    onset += walk.onset
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
    if note.misprinted:
        count(walk.log, "accidental", bar.index)
    walk.notes.append(
        RawNote(
            len(walk.notes),
            bar.index,
            bar.place,
            moment,
            note.length,
            note.pitch,
            note.voice,
            note.staff,
            note.ties,
            NO_MARKS,
            note.glides,
            bar.index,
        )
    )
    if note.ornaments:
        walk.signs.append((len(walk.notes) - 1, note.ornaments))
    bar.chord.append(Printed(note.pitch, note.technical, note.diamond))
    bar.marked = bar.marked or note.diamond or bool(note.technical)


def _mark_chord(walk: Walk, bar: _Bar) -> None:
    """Put the printed marks on the notes of the chord that is now complete."""
    if bar.marked:
        first = len(walk.notes) - len(bar.chord)
        marks = chord_marks(bar.chord, walk.log, bar.index)
        if None in marks:
            _leave_out(walk, first, marks)
        for place, mark in enumerate(mark for mark in marks if mark is not None):
            walk.notes[first + place] = walk.notes[first + place]._replace(marks=mark)
    bar.chord = []
    bar.marked = False


def _leave_out(walk: Walk, first: int, marks: Sequence[Marks | None]) -> None:
    """Take out the notes of the last chord that have no marks and number the others anew."""
    kept = [first + place for place, mark in enumerate(marks) if mark is not None]
    numbers = {number: first + place for place, number in enumerate(kept)}
    walk.notes[first:] = [walk.notes[old]._replace(number=new) for old, new in numbers.items()]
    walk.signs = [
        (numbers.get(number, number), elements)
        for number, elements in walk.signs
        if number < first or number in numbers
    ]


def _advance(bar: _Bar, length: int) -> None:
    bar.cursor += length
    if bar.cursor > bar.furthest:
        bar.furthest = bar.cursor


def _backup(walk: Walk, bar: _Bar, element: Element) -> None:
    length = length_of(element.findtext("duration"), walk.unit) or 0
    if (length - bar.cursor) * _FINEST >= walk.unit.ticks:
        count(walk.log, "backup", bar.index)
    bar.cursor = max(bar.cursor - length, 0)


def _forward(walk: Walk, bar: _Bar, element: Element) -> None:
    _advance(bar, length_of(element.findtext("duration"), walk.unit) or 0)


def _barline(walk: Walk, bar: _Bar, element: Element) -> None:
    style = text_of(element.find("bar-style"))
    right = element.get("location", "right") == "right"
    bar.final = style == "light-heavy" and right
    walk.bar_signs += bar_signs(element, bar.index)
    if style in _DOUBLE_LINES:
        bar.double = bar.double or right
        bar.opens_double = bar.opens_double or element.get("location") == "left"


def _direction(walk: Walk, bar: _Bar, element: Element) -> None:
    moved = number_of(element.findtext("offset")) or 0
    cursor = bar.cursor
    if moved:
        cursor = max(0, cursor + round(moved * walk.unit.ticks / walk.unit.divisions))
    place = Place(walk.onset + cursor, bar.index, len(walk.notes), cursor == 0)
    sayings(element, place, walk.said)


def _attributes(walk: Walk, bar: _Bar, element: Element) -> None:
    onset = walk.onset + bar.cursor
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
        elif child.tag == "measure-style":
            read_style(walk, child, bar.index)
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
        walk.unit = walk.unit._replace(divisions=divisions)
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
    "direction": _direction,
    "forward": _forward,
    "note": _note,
    "sound": _direction,
}
"""What is done for each child of a measure; the others do not matter here."""
