"""Words that mark the single notes they stand over.

Conventions
-----------
* Words stand over the next chord of the document that begins at their moment, else over any that
  does. A position may wait for the next notes in its bar or at the beginning of the next.
* A position marks the notes it stands over; ``à la 5me position`` is also ``restez``.
* A lone numeral (``II``) is a string where it stands over a note that this string can play; then it
  holds for that note alone, or as long as its line. It is the number of a movement, and left out,
  where it is printed like a title or opens a movement or a section. A lone letter is a string only
  under a line of its own, since it may name a section.
* Lone digits over a single note are its fingers, over a chord of as many notes theirs from the top
  down. A lone 0 is an open string or a harmonic, as `scoretools.read.noughts` says.
* What is printed on a note itself goes before words.

Common practice, no published source.
"""

import re
from dataclasses import replace
from operator import attrgetter

from scoretools.model import Finger, Marks, PositionNumber, PrintedString
from scoretools.read.directions import Saying
from scoretools.read.lexicon import Meaning, Sense
from scoretools.read.notices import count
from scoretools.read.noughts import settled_nought
from scoretools.read.playable import lies_on, string_named
from scoretools.read.walk import RawNote
from scoretools.read.words_in_force import (
    Act,
    Reading,
    Scene,
    hold_string,
)

__all__ = ["MARKING"]

_OPEN = Finger(0)


def _position(reading: Reading, one: Saying, meaning: Meaning, place: int) -> None:
    reading.hold.words = replace(reading.hold.words, stay=False)
    for note in _under(reading, one, late=True):
        _mark(reading, note, position=PositionNumber(int(meaning.value)))


def _left_hand(reading: Reading, one: Saying, meaning: Meaning, place: int) -> None:
    chord = _under(reading, one)
    if len(chord) == 1:
        _mark(reading, chord[0], left_hand_pizzicato=True)
    else:
        count(reading.log, "left hand", one.place.measure)


def _glide(reading: Reading, one: Saying, meaning: Meaning, place: int) -> None:
    for note in _under(reading, one):
        reading.notes[note.number] = reading.notes[note.number]._replace(glides=True)


def _harmonics(reading: Reading, one: Saying, meaning: Meaning, place: int) -> None:
    chord = [reading.notes[note.number] for note in _under(reading, one)]
    if not any(note.marks.harmonic for note in chord):
        count(reading.log, "harmonics", one.place.measure)


def _numeral(reading: Reading, one: Saying, meaning: Meaning, place: int) -> None:
    measure = one.place.measure
    if one.title or (one.place.opening and _opens(reading.scene, measure)):
        return
    string = string_named(reading.scene.strings, meaning.value)
    fitting = [n for n in _under(reading, one) if string is not None and _lies(reading, n, string)]
    if string is not None and fitting and (one.line, place) in reading.lines:
        hold_string(reading, one, string, place)
        count(reading.log, "numeral", measure)
    elif string is not None and len(fitting) == 1:
        _mark(reading, fitting[0], string=string)
        count(reading.log, "numeral", measure)
    else:
        count(reading.log, "numeral left out", measure)


def _lies(reading: Reading, note: RawNote, string: PrintedString) -> bool:
    return lies_on(reading.notes[note.number], reading.scene.strings, string)


def _opens(scene: Scene, measure: int) -> bool:
    return (
        measure in scene.movements
        or scene.measures[measure].opens_double
        or scene.measures[measure - 1].double
    )


def _letter(reading: Reading, one: Saying, meaning: Meaning, place: int) -> None:
    string = string_named(reading.scene.strings, meaning.value)
    fitting = any(_lies(reading, n, string) for n in _under(reading, one)) if string else False
    if string and fitting and (one.line, place) in reading.lines:
        hold_string(reading, one, string, place)
    elif not one.title and not (one.place.opening and _opens(reading.scene, one.place.measure)):
        count(reading.log, "letter", one.place.measure)


def _fingers(reading: Reading, one: Saying, meaning: Meaning, place: int) -> None:
    if reading.counting:
        return
    chord = _under(reading, one)
    digits = [Finger(int(digit)) for digit in re.findall(r"\d", meaning.value)]
    if len(chord) == 1:
        _mark_fingers(reading, chord[0], *digits)
    elif len(chord) == len(digits):
        downwards = sorted(chord, key=lambda note: -note.pitch.midi)
        for note, digit in zip(downwards, digits, strict=True):
            _mark_fingers(reading, note, digit)
    else:
        count(reading.log, "digit", one.place.measure)


def _mark_fingers(reading: Reading, note: RawNote, *fingers: Finger) -> None:
    printed = reading.notes[note.number]
    strings, log = reading.scene.strings, reading.log
    if not printed.marks.fingers:
        _mark(reading, note, fingers=fingers)
        reading.notes[note.number] = settled_nought(reading.notes[note.number], strings, log)
    elif _OPEN in fingers:
        # Beside a printed finger, a 0 over the note can only say that it is a harmonic.
        both = (*printed.marks.fingers, _OPEN)
        settled = settled_nought(
            printed._replace(marks=replace(printed.marks, fingers=both)), strings, log
        )
        if _OPEN not in settled.marks.fingers:
            reading.notes[note.number] = settled


MARKING: dict[Sense, Act] = {
    Sense.FINGERS: _fingers,
    Sense.GLIDE: _glide,
    Sense.HARMONICS: _harmonics,
    Sense.LEFT_HAND: _left_hand,
    Sense.LETTER: _letter,
    Sense.NUMERAL: _numeral,
    Sense.POSITION: _position,
}
"""What words do to the notes they stand over."""


def _under(reading: Reading, one: Saying, *, late: bool = False) -> list[RawNote]:
    """Return the chord that words stand over: the next in the document at their moment, else any.

    With `late`, it may begin later in the same bar or at the beginning of the next.
    """
    place = one.place
    after = [
        n for n in reading.notes[place.number : place.number + _NEAR] if n.number >= place.number
    ]
    at_once = [n for n in after if n.moment[0] == place.onset]
    if not at_once:
        near = reading.notes[max(0, place.number - _NEAR) : place.number]
        at_once = [n for n in near if n.moment[0] == place.onset]
    if not at_once and late:
        coming = [n for n in after if n.moment[0] > place.onset and n.measure <= place.measure + 1]
        at_once = sorted(coming, key=attrgetter("moment"))
    if not at_once:
        return []
    first = at_once[0]
    return [n for n in at_once if n.moment == first.moment and n.voice == first.voice]


_NEAR = 200
"""Notes in the document among which the one under the words is looked for."""


def _mark(reading: Reading, note: RawNote, **marks: object) -> None:
    """Add marks to a note; what is printed on the note itself goes before."""
    old = reading.notes[note.number].marks
    new: Marks = replace(old, **{name: value for name, value in marks.items() if _free(old, name)})  # type: ignore[arg-type]
    reading.notes[note.number] = reading.notes[note.number]._replace(marks=new)


def _free(marks: Marks, name: str) -> bool:
    return not getattr(marks, name)
