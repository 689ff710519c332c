"""Words in force over the notes of a part, and words that mark single notes.

Conventions
-----------
* A string asked for in words (``sul G``) holds until its dashed line ends; without a line until
  another string or ``loco``, the first notes of which none lies on it (below the open string, or
  more than two octaves above), a printed finger or string that is at odds with it, a rest of a
  bar, a double bar, a movement, or `LONGEST_STRING` bars, whichever comes first. ``ord.`` and
  ``nat.`` speak of the bow and end nothing.
* ``restez`` holds in the same way, for `LONGEST_STAY` bars at most.
* A position marks the notes it stands over, else the next ones; ``à la 5me position`` is also
  ``restez``.
* A lone numeral (``II``) is a string where it stands over a note that this string can play; then it
  holds for that note alone, or as long as its line. It is the number of a movement, and left out,
  where it is printed like a title or opens a movement or a section. A lone letter is a string only
  under a line of its own, since it may name a section.
* Lone digits over a single note are its fingers, over a chord of as many notes theirs from the top
  down; all of them count bars where the part also counts above four, or where they follow each
  other from bar to bar.
* ``pizz.`` holds to ``arco``, ``div.`` to ``unis.``, both to the end of the movement.

Common practice, no published source.
"""

import re
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from itertools import groupby
from operator import attrgetter
from typing import NamedTuple

from scoretools.model import (
    NO_WORDS,
    Divided,
    Finger,
    Marks,
    Pitch,
    PositionNumber,
    PrintedString,
    Words,
)
from scoretools.read.directions import LineEnd, Saying
from scoretools.read.lexicon import Meaning, Sense, meanings
from scoretools.read.notices import Log, count, remark
from scoretools.read.walk import RawMeasure, RawNote

__all__ = ["LONGEST_STAY", "LONGEST_STRING", "Scene", "under_words"]

LONGEST_STRING = 8
"""Bars for which a string holds when nothing shows its end."""

LONGEST_STAY = 4
"""Bars for which ``restez`` holds when nothing shows its end."""

_REACH = 24
"""Semitones above the open string that are still played on it."""


class Scene(NamedTuple):
    """What the words stand in."""

    strings: tuple[Pitch, ...]
    """Open strings, lowest first."""
    measures: Sequence[RawMeasure]
    """All bars."""
    movements: Collection[int]
    """Indices of the bars that open a movement."""


@dataclass(slots=True)
class _Hold:
    """Words in force, and what may end them."""

    words: Words = NO_WORDS
    string_at: tuple[int, int] = (0, 0)
    """When the string was asked for: ticks and measure."""
    string_line: str = ""
    """The line that shows how long it holds."""
    stay_at: tuple[int, int] = (0, 0)
    stay_line: str = ""


@dataclass(slots=True)
class _Reading:
    """The notes of a part while words are laid over them."""

    scene: Scene
    log: Log
    notes: list[RawNote]
    """Notes by running number; marks are added."""
    order: list[RawNote]
    """The same in order of time."""
    counting: bool
    """Whether lone digits count bars."""
    lines: set[tuple[str, int]] = field(default_factory=set)
    """Lines that end, by name and place in the list of sayings."""
    hold: _Hold = field(default_factory=_Hold)
    changes: list[tuple[int, Words]] = field(default_factory=list)


def under_words(
    notes: list[RawNote], said: Sequence[Saying | LineEnd], scene: Scene, log: Log
) -> list[tuple[int, Words]]:
    """Lay the words of a part over its notes.

    Parameters
    ----------
    notes : list of RawNote
        Notes in the order of the document, by running number; printed marks are added to them.
    said : sequence of Saying or LineEnd
        Words and ends of lines in the order of the document.
    scene : Scene
        Strings and bars.
    log : Log
        Takes remarks about what is doubtful.

    Returns
    -------
    list of (int, Words)
        Words in force and from when, ticks, in order of time.

    Raises
    ------
    Nothing.
    """
    telling = [(one, meanings(one.text)) if isinstance(one, Saying) else (one, ()) for one in said]
    if not any(read for _, read in telling):
        return []
    counting = _counting(telling, log)
    order = sorted(notes, key=attrgetter("moment"))
    reading = _Reading(scene, log, notes, order, counting)
    for _, _, act in sorted(_steps(reading, telling), key=lambda step: step[:2]):
        before = reading.hold.words
        onset = act()
        if reading.hold.words != before:
            reading.changes.append((onset, reading.hold.words))
    return reading.changes


_Telling = Sequence[tuple[Saying | LineEnd, tuple[Meaning, ...]]]
_Step = tuple[int, int, Callable[[], int]]
"""Ticks, order at one moment (ends before words before notes), and what happens."""


def _steps(reading: _Reading, telling: _Telling) -> list[_Step]:
    steps: list[_Step] = []
    open_lines: dict[str, list[int]] = {}
    for place, (one, read) in enumerate(telling):
        onset = one.place.onset
        if isinstance(one, LineEnd):
            for start in open_lines.pop(one.line, ()):
                # A line may end where it began, over a single note.
                after = max(onset, telling[start][0].place.onset + 1)
                ended = f"{one.line} {start}"
                steps.append((after, 0, partial(_end_line, reading, ended, after)))
                reading.lines.add((one.line, start))
        elif read:
            if one.line:
                open_lines.setdefault(one.line, []).append(place)
            steps.append((onset, 2, partial(_say, reading, one, read, place)))
    bars = reading.scene.measures
    for index, bar in enumerate(bars):
        if index in reading.scene.movements:
            steps.append((bar.onset, 1, partial(_begin_movement, reading, bar.onset)))
        elif bars[index - 1].double or bar.opens_double:
            steps.append((bar.onset, 1, partial(_end_both, reading, bar.onset)))
    return steps + _note_steps(reading)


def _note_steps(reading: _Reading) -> list[_Step]:
    """Return a step for all notes that are struck together, with the rest before them."""
    steps: list[_Step] = []
    sounding = 0
    bars = reading.scene.measures
    for (onset, _), together in groupby(reading.order, key=lambda note: note.moment[:2]):
        notes = list(together)
        struck = [note for note in notes if "stop" not in note.ties]
        rested = onset - sounding >= max(bars[notes[0].measure].length, 1)
        rest = sounding if rested else None
        steps.append((onset, 3, partial(_meet, reading, notes[0], struck, rest)))
        sounding = max(sounding, onset + max(note.length for note in notes))
    return steps


def _say(reading: _Reading, one: Saying, read: Sequence[Meaning], place: int) -> int:
    for meaning in read:
        _ACTS[meaning.sense](reading, one, meaning, place)
    return one.place.onset


def _meet(reading: _Reading, first: RawNote, struck: Sequence[RawNote], rest: int | None) -> int:
    """End what cannot hold over these notes."""
    hold, onset = reading.hold, first.moment[0]
    if hold.words.stay and not hold.stay_line:
        late = first.measure - hold.stay_at[1] >= LONGEST_STAY
        if late or (rest is not None and hold.stay_at[0] < rest):
            hold.words = replace(hold.words, stay=False)
    string = hold.words.string
    if string is None:
        return onset
    late = first.measure - hold.string_at[1] >= LONGEST_STRING
    rested = rest is not None and hold.string_at[0] < rest
    at_odds = bool(struck) and not any(_fits(reading, n, string) for n in struck)
    if (not hold.string_line and (late or rested)) or at_odds:
        hold.words = replace(hold.words, string=None)
        if at_odds and onset == hold.string_at[0]:
            count(reading.log, "unplayable words", first.measure)
    return onset


def _fits(reading: _Reading, note: RawNote, string: PrintedString) -> bool:
    """Return whether a note may be played on a string, as far as pitch and marks say."""
    strings = reading.scene.strings
    offset = note.pitch.midi - strings[len(strings) - string].midi
    marks = reading.notes[note.number].marks
    if marks.string is not None and marks.string != string:
        return False
    if marks.harmonic is not None:
        return offset >= 0
    if marks.open_string or marks.fingers == (0,):
        return offset == 0
    return 0 <= offset <= _REACH


def _end_line(reading: _Reading, name: str, onset: int) -> int:
    hold = reading.hold
    if hold.string_line == name:
        hold.words, hold.string_line = replace(hold.words, string=None), ""
    if hold.stay_line == name:
        hold.words, hold.stay_line = replace(hold.words, stay=False), ""
    return onset


def _end_both(reading: _Reading, onset: int) -> int:
    hold = reading.hold
    hold.words = replace(
        hold.words,
        string=hold.words.string if hold.string_line else None,
        stay=hold.words.stay and bool(hold.stay_line),
    )
    return onset


def _begin_movement(reading: _Reading, onset: int) -> int:
    reading.hold = _Hold()
    return onset


def _hold_string(reading: _Reading, one: Saying, string: PrintedString, place: int) -> None:
    hold = reading.hold
    hold.words = replace(hold.words, string=string, stay=False)
    hold.string_at = (one.place.onset, one.place.measure)
    hold.string_line = f"{one.line} {place}" if (one.line, place) in reading.lines else ""


def _string(reading: _Reading, one: Saying, meaning: Meaning, place: int) -> None:
    string = _printed(reading.scene.strings, meaning.value)
    if string is None:
        count(reading.log, "no such string", one.place.measure)
    else:
        _hold_string(reading, one, string, place)


def _printed(strings: Sequence[Pitch], value: str) -> PrintedString | None:
    """Return a string by its number or its letter."""
    if value.isdecimal():
        return PrintedString(int(value)) if 1 <= int(value) <= len(strings) else None
    steps = [pitch.step for pitch in strings]
    return PrintedString(len(strings) - steps.index(value)) if value in steps else None


def _strings(reading: _Reading, one: Saying, meaning: Meaning, place: int) -> None:
    _loco(reading, one, meaning, place)
    count(reading.log, "several strings", one.place.measure)


def _position(reading: _Reading, one: Saying, meaning: Meaning, place: int) -> None:
    reading.hold.words = replace(reading.hold.words, stay=False)
    for note in _under(reading, one, late=True):
        _mark(reading, note, position=PositionNumber(int(meaning.value)))


def _stay(reading: _Reading, one: Saying, meaning: Meaning, place: int) -> None:
    hold = reading.hold
    hold.words = replace(hold.words, stay=True)
    hold.stay_at = (one.place.onset, one.place.measure)
    hold.stay_line = f"{one.line} {place}" if (one.line, place) in reading.lines else ""


def _loco(reading: _Reading, one: Saying, meaning: Meaning, place: int) -> None:
    reading.hold.words = replace(reading.hold.words, string=None, stay=False)


def _pizzicato(reading: _Reading, one: Saying, meaning: Meaning, place: int) -> None:
    plucked = meaning.sense is Sense.PIZZICATO
    reading.hold.words = replace(reading.hold.words, pizzicato=plucked)


def _divided(reading: _Reading, one: Saying, meaning: Meaning, place: int) -> None:
    divided = Divided.DIVIDED if meaning.sense is Sense.DIVIDED else Divided.UNISON
    reading.hold.words = replace(reading.hold.words, divided=divided)


def _left_hand(reading: _Reading, one: Saying, meaning: Meaning, place: int) -> None:
    chord = _under(reading, one)
    if len(chord) == 1:
        _mark(reading, chord[0], left_hand_pizzicato=True)
    else:
        count(reading.log, "left hand", one.place.measure)


def _glide(reading: _Reading, one: Saying, meaning: Meaning, place: int) -> None:
    for note in _under(reading, one):
        reading.notes[note.number] = reading.notes[note.number]._replace(glides=True)


def _harmonics(reading: _Reading, one: Saying, meaning: Meaning, place: int) -> None:
    chord = [reading.notes[note.number] for note in _under(reading, one)]
    if not any(note.marks.harmonic for note in chord):
        count(reading.log, "harmonics", one.place.measure)


def _numeral(reading: _Reading, one: Saying, meaning: Meaning, place: int) -> None:
    measure = one.place.measure
    if one.title or (one.place.opening and _opens(reading.scene, measure)):
        return
    string = _printed(reading.scene.strings, meaning.value)
    fitting = [n for n in _under(reading, one) if string is not None and _fits(reading, n, string)]
    if string is not None and fitting and (one.line, place) in reading.lines:
        _hold_string(reading, one, string, place)
        count(reading.log, "numeral", measure)
    elif string is not None and len(fitting) == 1:
        _mark(reading, fitting[0], string=string)
        count(reading.log, "numeral", measure)
    else:
        count(reading.log, "numeral left out", measure)


def _opens(scene: Scene, measure: int) -> bool:
    return (
        measure in scene.movements
        or scene.measures[measure].opens_double
        or scene.measures[measure - 1].double
    )


def _letter(reading: _Reading, one: Saying, meaning: Meaning, place: int) -> None:
    string = _printed(reading.scene.strings, meaning.value)
    fitting = any(_fits(reading, n, string) for n in _under(reading, one)) if string else False
    if string and fitting and (one.line, place) in reading.lines:
        _hold_string(reading, one, string, place)
    elif not one.title and not (one.place.opening and _opens(reading.scene, one.place.measure)):
        count(reading.log, "letter", one.place.measure)


def _fingers(reading: _Reading, one: Saying, meaning: Meaning, place: int) -> None:
    if reading.counting:
        return
    chord = _under(reading, one)
    digits = [Finger(int(digit)) for digit in re.findall(r"\d", meaning.value)]
    if len(chord) == 1:
        _mark(reading, chord[0], fingers=tuple(digits))
    elif len(chord) == len(digits):
        downwards = sorted(chord, key=lambda note: -note.pitch.midi)
        for note, digit in zip(downwards, digits, strict=True):
            _mark(reading, note, fingers=(digit,))
    else:
        count(reading.log, "digit", one.place.measure)


def _nothing(reading: _Reading, one: Saying, meaning: Meaning, place: int) -> None:
    """Do nothing; a count of bars says nothing to the hand."""


_ACTS: dict[Sense, Callable[[_Reading, Saying, Meaning, int], None]] = {
    Sense.ARCO: _pizzicato,
    Sense.COUNT: _nothing,
    Sense.DIVIDED: _divided,
    Sense.FINGERS: _fingers,
    Sense.GLIDE: _glide,
    Sense.HARMONICS: _harmonics,
    Sense.LEFT_HAND: _left_hand,
    Sense.LETTER: _letter,
    Sense.LOCO: _loco,
    Sense.NUMERAL: _numeral,
    Sense.PIZZICATO: _pizzicato,
    Sense.POSITION: _position,
    Sense.STAY: _stay,
    Sense.STRING: _string,
    Sense.STRINGS: _strings,
    Sense.UNISON: _divided,
}


def _under(reading: _Reading, one: Saying, *, late: bool = False) -> list[RawNote]:
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


def _mark(reading: _Reading, note: RawNote, **marks: object) -> None:
    """Add marks to a note; what is printed on the note itself goes before."""
    old = reading.notes[note.number].marks
    new: Marks = replace(old, **{name: value for name, value in marks.items() if _free(old, name)})  # type: ignore[arg-type]
    reading.notes[note.number] = reading.notes[note.number]._replace(marks=new)


def _free(marks: Marks, name: str) -> bool:
    return not getattr(marks, name)


def _counting(telling: _Telling, log: Log) -> bool:
    """Return whether lone digits count bars."""
    counts: dict[int, int] = {}
    above = False
    for one, read in telling:
        for meaning in read:
            above = above or meaning.sense is Sense.COUNT
            if meaning.sense is Sense.FINGERS and meaning.value.isdecimal():
                counts[one.place.measure] = int(meaning.value)
    running = any(counts.get(bar + 1) == number + 1 == 2 for bar, number in counts.items())
    if counts and (above or running):
        remark(log, "Lone digits among the words count bars and are not taken as fingers.")
    return above or running
