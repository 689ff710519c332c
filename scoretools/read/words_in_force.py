"""Which words are in force over the notes of a part, and what ends them.

Conventions
-----------
* A string asked for in words (``sul G``) holds until its dashed line ends; without a line until
  another string or ``loco``, the first notes that cannot be played on it, a rest of a bar, a double
  bar, a movement, or `LONGEST_STRING` bars, whichever comes first. ``ord.`` and ``nat.`` speak of
  the bow and end nothing.
* Notes cannot be played on a string if none of those struck together can, as
  `scoretools.read.playable` says by their pitches, strings, open strings and harmonics.
* A finger that cannot stop its note on that string, in any position, ends a string without a line
  too: editions print a finger where the hand leaves, and rarely say ``loco`` (4 on C after ``sul
  A``, which only the D string can give; 1 above the twelfth position). On the note at which the
  words themselves stand it ends nothing: there the words are the plainer of the two.
* A chord that wants a second string ends a string that began over single notes and has no line,
  since the line of notes that was to keep one colour is over; an open string sounded beside it,
  a touched harmonic and players who are divided end nothing.
* ``restez`` holds in the same way, for `LONGEST_STAY` bars at most.
* ``pizz.`` holds to ``arco``, ``div.`` to ``unis.``, both to the end of the movement.

Common practice, no published source.
"""

from collections import Counter
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, field, replace
from typing import NamedTuple

from scoretools.model import NO_WORDS, Divided, Pitch, PrintedString, Words
from scoretools.read.directions import Saying
from scoretools.read.harmonics import TOUCHED
from scoretools.read.lexicon import Meaning, Sense
from scoretools.read.notices import Log, count
from scoretools.read.playable import finger_reaches, lies_on, string_named
from scoretools.read.walk import RawMeasure, RawNote

__all__ = [
    "HOLDING",
    "LONGEST_STAY",
    "LONGEST_STRING",
    "Act",
    "Reading",
    "Scene",
    "begin_movement",
    "end_line",
    "end_section",
    "hold_string",
    "meet",
]

LONGEST_STRING = 8
"""Bars for which a string holds when nothing shows its end."""

LONGEST_STAY = 4
"""Bars for which ``restez`` holds when nothing shows its end."""


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
    string_over_chord: bool | None = None
    """Whether it began over a chord, none until its first notes are met."""
    stay_at: tuple[int, int] = (0, 0)
    stay_line: str = ""


@dataclass(slots=True)
class Reading:
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


Act = Callable[[Reading, Saying, Meaning, int], None]
"""What one meaning of words does, given the words and their place in the list of sayings."""


# ── what ends words ─────────────────────────────────────────────────────────────────────────────


def meet(reading: Reading, first: RawNote, struck: Sequence[RawNote], rest: int | None) -> int:
    """End what cannot hold over notes that begin together.

    Parameters
    ----------
    reading : Reading
        The reading; its words in force are changed.
    first : RawNote
        One of the notes.
    struck : sequence of RawNote
        Those that are struck, not tied on.
    rest : int or None
        When the rest of a bar before them began, ticks; none where there is no such rest.

    Returns
    -------
    int
        When they begin, ticks.

    Raises
    ------
    Nothing.
    """
    hold, onset = reading.hold, first.moment[0]
    if hold.words.stay and not hold.stay_line:
        late = first.measure - hold.stay_at[1] >= LONGEST_STAY
        if late or (rest is not None and hold.stay_at[0] < rest):
            hold.words = replace(hold.words, stay=False)
    string = hold.words.string
    if string is None:
        return onset
    strings = reading.scene.strings
    now = [reading.notes[note.number] for note in struck]
    at_odds = bool(now) and not any(lies_on(note, strings, string) for note in now)
    if hold.string_over_chord is None and now:
        hold.string_over_chord = _is_chord(now, strings, string)
    if at_odds or (not hold.string_line and _is_over(reading, first, now, rest)):
        hold.words = replace(hold.words, string=None)
        if at_odds and onset == hold.string_at[0]:
            count(reading.log, "unplayable words", first.measure)
    return onset


def _is_over(reading: Reading, first: RawNote, struck: Sequence[RawNote], rest: int | None) -> bool:
    """Tell whether a string has ended whose end no line shows."""
    hold = reading.hold
    begun, measure = hold.string_at
    if first.measure - measure >= LONGEST_STRING or (rest is not None and begun < rest):
        return True
    string = hold.words.string
    if string is None or not struck or first.moment[0] == begun:
        return False
    strings = reading.scene.strings
    if not any(finger_reaches(note, strings, string) for note in struck):
        return True
    alone = hold.string_over_chord is False and hold.words.divided is not Divided.DIVIDED
    return alone and _is_chord(struck, strings, string)


def _is_chord(struck: Sequence[RawNote], strings: Sequence[Pitch], string: PrintedString) -> bool:
    """Tell whether notes want a second string, other than an open one beside the string."""
    if any(note.marks.harmonic in TOUCHED for note in struck):
        return False
    open_beside = {
        pitch.midi for index, pitch in enumerate(strings) if abs(len(strings) - index - string) == 1
    }
    # Grace notes before one note come one after the other, unless they are one chord.
    stopped = Counter(note.moment for note in struck if note.pitch.midi not in open_beside)
    return any(number > 1 for number in stopped.values())


def end_line(reading: Reading, name: str, onset: int) -> int:
    """End what holds as long as a line.

    Parameters
    ----------
    reading : Reading
        The reading; its words in force are changed.
    name : str
        Name of the line and place of its words in the list of sayings.
    onset : int
        When it ends, ticks.

    Returns
    -------
    int
        The same.

    Raises
    ------
    Nothing.
    """
    hold = reading.hold
    if hold.string_line == name:
        hold.words, hold.string_line = replace(hold.words, string=None), ""
    if hold.stay_line == name:
        hold.words, hold.stay_line = replace(hold.words, stay=False), ""
    return onset


def end_section(reading: Reading, onset: int) -> int:
    """End what holds no longer than its section, at a double bar.

    Parameters
    ----------
    reading : Reading
        The reading; its words in force are changed.
    onset : int
        Where the next section begins, ticks.

    Returns
    -------
    int
        The same.

    Raises
    ------
    Nothing.
    """
    hold = reading.hold
    hold.words = replace(
        hold.words,
        string=hold.words.string if hold.string_line else None,
        stay=hold.words.stay and bool(hold.stay_line),
    )
    return onset


def begin_movement(reading: Reading, onset: int) -> int:
    """End all words.

    Parameters
    ----------
    reading : Reading
        The reading; its words in force are changed.
    onset : int
        Where the movement begins, ticks.

    Returns
    -------
    int
        The same.

    Raises
    ------
    Nothing.
    """
    reading.hold = _Hold()
    return onset


# ── what words put in force ─────────────────────────────────────────────────────────────────────


def hold_string(reading: Reading, one: Saying, string: PrintedString, place: int) -> None:
    """Put a string in force.

    Parameters
    ----------
    reading : Reading
        The reading; its words in force are changed.
    one : Saying
        The words.
    string : PrintedString
        The string they ask for.
    place : int
        Place of the words in the list of sayings.

    Raises
    ------
    Nothing.
    """
    hold = reading.hold
    hold.words = replace(hold.words, string=string, stay=False)
    hold.string_at = (one.place.onset, one.place.measure)
    hold.string_over_chord = None
    hold.string_line = f"{one.line} {place}" if (one.line, place) in reading.lines else ""


def _string(reading: Reading, one: Saying, meaning: Meaning, place: int) -> None:
    string = string_named(reading.scene.strings, meaning.value)
    if string is None:
        count(reading.log, "no such string", one.place.measure)
    else:
        hold_string(reading, one, string, place)


def _strings(reading: Reading, one: Saying, meaning: Meaning, place: int) -> None:
    _loco(reading, one, meaning, place)
    count(reading.log, "several strings", one.place.measure)


def _stay(reading: Reading, one: Saying, meaning: Meaning, place: int) -> None:
    hold = reading.hold
    hold.words = replace(hold.words, stay=True)
    hold.stay_at = (one.place.onset, one.place.measure)
    hold.stay_line = f"{one.line} {place}" if (one.line, place) in reading.lines else ""


def _loco(reading: Reading, one: Saying, meaning: Meaning, place: int) -> None:
    reading.hold.words = replace(reading.hold.words, string=None, stay=False)


def _pizzicato(reading: Reading, one: Saying, meaning: Meaning, place: int) -> None:
    plucked = meaning.sense is Sense.PIZZICATO
    reading.hold.words = replace(reading.hold.words, pizzicato=plucked)


def _divided(reading: Reading, one: Saying, meaning: Meaning, place: int) -> None:
    divided = Divided.DIVIDED if meaning.sense is Sense.DIVIDED else Divided.UNISON
    reading.hold.words = replace(reading.hold.words, divided=divided)


HOLDING: dict[Sense, Act] = {
    Sense.ARCO: _pizzicato,
    Sense.DIVIDED: _divided,
    Sense.LOCO: _loco,
    Sense.PIZZICATO: _pizzicato,
    Sense.STAY: _stay,
    Sense.STRING: _string,
    Sense.STRINGS: _strings,
    Sense.UNISON: _divided,
}
"""What words do that hold over the notes to come."""
