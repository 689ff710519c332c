"""Tempo marks and rehearsal marks of a score, and the clock they make.

Conventions
-----------
* Marks are taken from all parts, since they are often printed over the top one only; where two
  stand at one moment, the part that is read goes before the others, the higher before the lower,
  and a stated tempo (``sound``) before a printed figure (``metronome``).
* Where a score, or a later movement of it, begins without a figure, `ASSUMED_QUARTERS_PER_MINUTE`
  holds, or as much less as lets its short notes be played, and the tempo is marked as assumed. So
  is the speed that words such as *Allegro* set where no figure stands in their bar, and the speed
  of a ``sound`` that nobody sees in print: one where no figure has been printed in the movement so
  far, or by words without a figure. Swing is ignored.
"""

import re
from bisect import bisect_right
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import pairwise
from typing import NamedTuple

from scoretools.model import Measure, Tempo
from scoretools.read.attributes import number_of
from scoretools.read.document import Element, text_of
from scoretools.read.joins import Jump, jumps_of
from scoretools.read.notes import TYPE_QL
from scoretools.read.notices import Log, count, remark
from scoretools.read.tempo_words import beats_of

__all__ = [
    "ASSUMED_QUARTERS_PER_MINUTE",
    "Clock",
    "ScoreMarks",
    "assumed_tempo",
    "bar_lengths",
    "clock_of",
    "score_marks",
    "seconds",
    "tempi_of",
]

ASSUMED_QUARTERS_PER_MINUTE = 100.0
"""Tempo where a score prints none: a middling speed, so that figures in seconds are of use."""

_FAST_ENOUGH = 8.0
"""Notes a second that an assumed tempo asks for at most, but for one note in twenty: sixteenths of
a lively allegro (common practice, no published source)."""

_FASTEST = 2000
_MARK_TAGS = (
    "coda", "divisions", "metronome", "rehearsal", "segno", "sound", "swing", "words",
)  # fmt: skip
_COMPOUND = 3


class _TempoMark(NamedTuple):
    """A tempo and where it stands; sorts by place, then by which goes before."""

    measure: int
    offset_ql: Fraction
    rank: tuple[int, int]
    quarters_per_minute: float
    printed: bool


@dataclass(frozen=True, slots=True)
class ScoreMarks:
    """Marks of the whole score."""

    tempi: list[_TempoMark] = field(default_factory=list)
    """Tempo marks in the order of the score."""
    rehearsals: dict[int, str] = field(default_factory=dict)
    """Rehearsal mark by index of measure."""
    jumps: list[Jump] = field(default_factory=list)
    """Signs and words about going elsewhere."""
    words: dict[tuple[int, Fraction], tuple[str, int]] = field(default_factory=dict)
    """Tempo words and their beats a minute, by measure and place in it."""


class Clock(NamedTuple):
    """Tempi ready for reckoning."""

    onsets_ql: tuple[float, ...]
    """Where each tempo begins, quarter lengths."""
    onsets_s: tuple[float, ...]
    """Where each tempo begins, seconds."""
    seconds_per_ql: tuple[float, ...]
    """Seconds a quarter takes."""


def score_marks(parts: Sequence[Element], read: int, log: Log) -> ScoreMarks:
    """Return the tempo and rehearsal marks of a score.

    Parameters
    ----------
    parts : sequence of Element
        All parts, from the top.
    read : int
        Index of the part that is read; its marks go before the others.
    log : Log
        Counts marks that are ignored.

    Returns
    -------
    ScoreMarks
        Marks by measure, tempi sorted.

    Raises
    ------
    Nothing.
    """
    marks = ScoreMarks()
    for place in sorted(range(len(parts)), key=lambda index: index != read):
        rank = -1 if place == read else place
        divisions = Fraction(1)
        for index, measure in enumerate(parts[place].iterchildren("measure")):
            before = divisions
            marked = False
            for element in measure.iter(*_MARK_TAGS):
                if element.tag == "divisions":
                    divisions = number_of(element.text) or divisions
                elif element.tag == "swing":
                    count(log, "swing", index)
                else:
                    marked = _tells(marks, element, index) or marked
            if marked:
                _take_marks(marks, index, measure, before, rank, log)
    marks.tempi.sort()
    return marks


def _tells(marks: ScoreMarks, element: Element, index: int) -> bool:
    """Keep what goes elsewhere; return whether the place in the measure matters too."""
    if element.tag not in ("metronome", "rehearsal"):
        marks.jumps.extend(jumps_of(element, index))
    if element.tag == "sound":
        return "tempo" in element.attrib
    if element.tag == "words":
        return beats_of(text_of(element)) is not None
    return element.tag in ("metronome", "rehearsal")


def bar_lengths(part: Element) -> list[Fraction]:
    """Return how far the music of each measure of a part reaches.

    Parameters
    ----------
    part : Element
        A part.

    Returns
    -------
    list of Fraction
        Quarter lengths, 0 for a measure without music.

    Raises
    ------
    Nothing.
    """
    divisions = Fraction(1)
    lengths = []
    for measure in part.iterchildren("measure"):
        furthest, after = Fraction(0), divisions
        for _, cursor, now in _steps(measure, divisions):
            furthest = max(furthest, cursor)
            after = now
        lengths.append(furthest)
        divisions = after
    return lengths


def assumed_tempo(lengths_ql: Sequence[Fraction]) -> float:
    """Return the tempo of a movement that prints none.

    Parameters
    ----------
    lengths_ql : sequence of Fraction
        Quarter lengths of its notes; grace notes, of length 0, are passed over.

    Returns
    -------
    float
        Quarter notes a minute.

    Raises
    ------
    Nothing.
    """
    lengths = sorted(length for length in lengths_ql if length)
    if not lengths:
        return ASSUMED_QUARTERS_PER_MINUTE
    short = float(lengths[len(lengths) // 20])
    return min(ASSUMED_QUARTERS_PER_MINUTE, float(round(60 * _FAST_ENOUGH * short)) or 1.0)


def tempi_of(
    marks: ScoreMarks, measures: Sequence[Measure], unmarked: Mapping[int, float], log: Log
) -> tuple[Tempo, ...]:
    """Return the tempi that hold in a part.

    Parameters
    ----------
    marks : ScoreMarks
        Marks of the score.
    measures : sequence of Measure
        The part's bars.
    unmarked : mapping of int to float
        Tempo of each movement, should it print none: see `assumed_tempo`.
    log : Log
        Takes remarks about tempo words without figures.

    Returns
    -------
    tuple of Tempo
        In order, the first at 0; assumed where words or a playback speed stand without a figure,
        and at the head of a movement that has neither.

    Raises
    ------
    Nothing.
    """
    found: dict[Fraction, Tempo] = {}
    _take_figures(found, marks, measures, log)
    _take_words(found, marks, measures, log)
    movement = 0
    for bar in measures:
        if bar.movement != movement:
            movement = bar.movement
            speed = unmarked.get(movement, ASSUMED_QUARTERS_PER_MINUTE)
            found.setdefault(bar.onset_ql, Tempo(bar.onset_ql, speed, True))
    return tuple(found[onset] for onset in sorted(found))


def _onset(bar: Measure, offset_ql: Fraction) -> Fraction:
    return bar.onset_ql + min(offset_ql, bar.duration_ql)


def _take_figures(
    found: dict[Fraction, Tempo], marks: ScoreMarks, measures: Sequence[Measure], log: Log
) -> None:
    """Take printed figures and stated tempi; those that nobody sees in print are assumed."""
    printed = {mark.measure for mark in marks.tempi if mark.printed}
    worded = {index for index, _ in marks.words}
    in_print: dict[int, bool] = {}
    for mark in marks.tempi:
        if mark.measure >= len(measures):
            continue
        bar = measures[mark.measure]
        if mark.measure in printed:
            in_print[bar.movement] = True
        elif mark.measure in worded:
            in_print[bar.movement] = False
        seen = in_print.setdefault(bar.movement, False)
        onset = _onset(bar, mark.offset_ql)
        if onset not in found and not seen:
            _tell_of_playback(found, mark, log)
        found.setdefault(onset, Tempo(onset, mark.quarters_per_minute, not seen))


def _tell_of_playback(found: Mapping[Fraction, Tempo], mark: _TempoMark, log: Log) -> None:
    """Say once that tempi come from how the file is played back."""
    if not any(tempo.assumed for tempo in found.values()):
        said = (
            f"No tempo figure is printed; the speed at which the file plays itself, "
            f"{mark.quarters_per_minute:g} quarter notes a minute, is taken."
        )
        remark(log, said, mark.measure)


def _take_words(
    found: dict[Fraction, Tempo], marks: ScoreMarks, measures: Sequence[Measure], log: Log
) -> None:
    """Take the usual speed of tempo words in whose bar no tempo is stated."""
    told: set[str] = set()
    stated = {mark.measure for mark in marks.tempi}
    for (index, offset), (word, beats) in marks.words.items():
        if index < len(measures) and index not in stated:
            onset = _onset(measures[index], offset)
            # A dotted beat takes half as long again, so that the quarters go as in simple time.
            found.setdefault(onset, Tempo(onset, float(beats), True))
            if word not in told:
                beats = round(beats / float(_beat_ql(measures[index].time)))
                said = f"“{word}” stands without a figure and is taken as {beats} beats a minute."
                remark(log, said, index)
            told.add(word)


def _beat_ql(time: tuple[int, int]) -> Fraction:
    upper, lower = time
    if lower >= 8 and upper > _COMPOUND and upper % _COMPOUND == 0:
        return Fraction(4 * _COMPOUND, lower)
    return Fraction(1)


def clock_of(tempi: Sequence[Tempo]) -> Clock:
    """Return the clock of a part.

    Parameters
    ----------
    tempi : sequence of Tempo
        In order, the first at 0.

    Returns
    -------
    Clock
        For `seconds`.

    Raises
    ------
    Nothing.
    """
    onsets = tuple(float(tempo.onset_ql) for tempo in tempi)
    rates = tuple(60.0 / tempo.quarters_per_minute for tempo in tempi)
    elapsed = [0.0]
    for (begin, end), rate in zip(pairwise(onsets), rates, strict=False):
        elapsed.append(elapsed[-1] + (end - begin) * rate)
    return Clock(onsets, tuple(elapsed), rates)


def seconds(clock: Clock, moment_ql: Fraction | float) -> float:
    """Return when a moment of the score sounds.

    Parameters
    ----------
    clock : Clock
        The part's clock.
    moment_ql : Fraction or float
        Quarter lengths from the start of the part, not negative.

    Returns
    -------
    float
        Seconds from the start of the part.

    Raises
    ------
    Nothing.
    """
    moment = float(moment_ql)
    index = bisect_right(clock.onsets_ql, moment) - 1
    since = moment - clock.onsets_ql[index]
    return clock.onsets_s[index] + since * clock.seconds_per_ql[index]


def _steps(measure: Element, divisions: Fraction) -> Iterator[tuple[Element, Fraction, Fraction]]:
    """Walk a measure lightly: each child with the time and the divisions after it."""
    cursor = Fraction(0)
    for child in measure:
        if child.tag == "note":
            if child.find("chord") is None and child.find("grace") is None:
                cursor += _length(child, divisions)
        elif child.tag == "backup":
            cursor = max(cursor - _length(child, divisions), Fraction(0))
        elif child.tag == "forward":
            cursor += _length(child, divisions)
        elif child.tag == "attributes":
            given = number_of(text_of(child.find("divisions")))
            divisions = given if given and given > 0 else divisions
        yield child, cursor, divisions


def _length(element: Element, divisions: Fraction) -> Fraction:
    length = number_of(text_of(element.find("duration")))
    return length / divisions if length and length > 0 else Fraction(0)


def _take_marks(
    marks: ScoreMarks, index: int, measure: Element, divisions: Fraction, part: int, log: Log
) -> None:
    for child, cursor, now in _steps(measure, divisions):
        if child.tag not in ("direction", "sound"):
            continue
        for words in child.iter("words"):
            if (speed_of_words := beats_of(text_of(words))) is not None:
                marks.words.setdefault((index, cursor), speed_of_words)
        for rehearsal in child.iter("rehearsal"):
            if text := text_of(rehearsal):
                marks.rehearsals.setdefault(index, text)
        for rank, element in enumerate((*child.iter("sound"), *child.iter("metronome"))):
            if element.tag == "sound":
                speed = number_of(element.get("tempo"))
            else:
                speed = _printed_tempo(element, index, log)
            if speed is not None and 0 < speed <= _FASTEST:
                offset = max(cursor + _shifted(child, element, now), Fraction(0))
                marks.tempi.append(
                    _TempoMark(
                        index, offset, (part, rank), float(speed), element.tag == "metronome"
                    )
                )


def _shifted(direction: Element, element: Element, divisions: Fraction) -> Fraction:
    """Return how far a sound is moved from where its direction stands."""
    offset = element.find("offset")
    if offset is None:
        offset = direction.find("offset")
        if offset is None or offset.get("sound") != "yes":
            return Fraction(0)
    return (number_of(text_of(offset)) or Fraction(0)) / divisions


def _printed_tempo(metronome: Element, index: int, log: Log) -> Fraction | None:
    """Return quarter notes a minute; the first figure where words or a range are printed."""
    units = [child for child in metronome if child.tag == "beat-unit"]
    per_minute = metronome.find("per-minute")
    if per_minute is None or len(units) != 1:
        count(log, "modulation", index)
        return None
    length = TYPE_QL.get(text_of(units[0]))
    figure = re.search(r"\d{1,4}(?:\.\d{1,4})?", text_of(per_minute))
    if length is None or figure is None:
        return None
    dots = sum(1 for child in metronome if child.tag == "beat-unit-dot")
    return Fraction(figure.group()) * length * (2 - Fraction(1, 2 ** min(dots, 8)))
