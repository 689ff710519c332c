"""Lays the words of a part over its notes, in the order in which they are met.

Conventions
-----------
* At one moment lines end first, then sections, then words are read, then notes are met.
* Words that hold are kept in `scoretools.read.words_in_force`, words that mark single notes in
  `scoretools.read.words_over_notes`.
* Lone digits count bars where the part also counts above four, or where they follow each other from
  bar to bar; then none of them is a finger.

Common practice, no published source.
"""

from collections.abc import Callable, Sequence
from functools import partial
from itertools import groupby
from operator import attrgetter

from scoretools.model import Words
from scoretools.read.directions import LineEnd, Saying
from scoretools.read.lexicon import Meaning, Sense, meanings
from scoretools.read.notices import Log, remark
from scoretools.read.walk import RawNote
from scoretools.read.words_in_force import (
    HOLDING,
    Act,
    Reading,
    Scene,
    begin_movement,
    end_line,
    end_section,
    meet,
)
from scoretools.read.words_over_notes import MARKING

__all__ = ["under_words"]


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
    reading = Reading(scene, log, notes, order, counting)
    for _, _, act in sorted(_steps(reading, telling), key=lambda step: step[:2]):
        before = reading.hold.words
        onset = act()
        if reading.hold.words != before:
            reading.changes.append((onset, reading.hold.words))
    return reading.changes


_Telling = Sequence[tuple[Saying | LineEnd, tuple[Meaning, ...]]]
_Step = tuple[int, int, Callable[[], int]]
"""Ticks, order at one moment (ends before words before notes), and what happens."""


def _steps(reading: Reading, telling: _Telling) -> list[_Step]:
    steps: list[_Step] = []
    open_lines: dict[str, list[int]] = {}
    for place, (one, read) in enumerate(telling):
        onset = one.place.onset
        if isinstance(one, LineEnd):
            for start in open_lines.pop(one.line, ()):
                # A line may end where it began, over a single note.
                after = max(onset, telling[start][0].place.onset + 1)
                ended = f"{one.line} {start}"
                steps.append((after, 0, partial(end_line, reading, ended, after)))
                reading.lines.add((one.line, start))
        elif read:
            if one.line:
                open_lines.setdefault(one.line, []).append(place)
            steps.append((onset, 2, partial(_say, reading, one, read, place)))
    bars = reading.scene.measures
    for index, bar in enumerate(bars):
        if index in reading.scene.movements:
            steps.append((bar.onset, 1, partial(begin_movement, reading, bar.onset)))
        elif bars[index - 1].double or bar.opens_double:
            steps.append((bar.onset, 1, partial(end_section, reading, bar.onset)))
    return steps + _note_steps(reading)


def _note_steps(reading: Reading) -> list[_Step]:
    """Return a step for all notes that are struck together, with the rest before them."""
    steps: list[_Step] = []
    sounding = 0
    bars = reading.scene.measures
    for (onset, _), together in groupby(reading.order, key=lambda note: note.moment[:2]):
        notes = list(together)
        struck = [note for note in notes if "stop" not in note.ties]
        rested = onset - sounding >= max(bars[notes[0].measure].length, 1)
        rest = sounding if rested else None
        steps.append((onset, 3, partial(meet, reading, notes[0], struck, rest)))
        sounding = max(sounding, onset + max(note.length for note in notes))
    return steps


def _say(reading: Reading, one: Saying, read: Sequence[Meaning], place: int) -> int:
    for meaning in read:
        _ACTS[meaning.sense](reading, one, meaning, place)
    return one.place.onset


def _nothing(reading: Reading, one: Saying, meaning: Meaning, place: int) -> None:
    """Do nothing; a count of bars says nothing to the hand."""


_ACTS: dict[Sense, Act] = {**HOLDING, **MARKING, Sense.COUNT: _nothing}


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
