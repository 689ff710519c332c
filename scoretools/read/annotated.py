"""Reads a played fingering, note by note, from a table: string, position and finger of every note.

The table is CSV with a row of headings and one row for each note::

    pitch,start,duration,beat_type,string,position,finger
    62,-0.25,0.25,5,2,1,0
    66,0.0,1.0,3,2,1,2

=========  =====================================================================================
pitch      MIDI number
start      beats (quarters) inside the bar, from 0; negative in an upbeat
duration   beats
beat_type  the note's head (1 whole … 6 thirty-second); not needed, since the duration says it
string     1 is the lowest, the reverse of MusicXML; 0 where it was not noted down
position   1 to 12
finger     0 open string, 1 to 4
=========  =====================================================================================

Conventions
-----------
* A start smaller than the one before begins a new bar, and so does the first that is not negative
  after an upbeat. Equal starts sound together; a note on a string that is taken already cannot, so
  it begins a new bar (a whole note after a whole note).
* A string not noted down is the one on which finger and position come nearest to the pitch.
* Bars are as long as most bars of the table are. A bar that begins late begins with a rest, and so
  does what is missing between notes; a note ends at the latest where the next begins.
* Times are rounded to the nearest fraction with a denominator of at most `FINEST`.
* Slurs and tempi are not in the table: there are no slurs, and the usual assumed tempo holds.
* The spelling is estimated (`scoretools.read.spelling`).
"""

import csv
import io
import math
import os
import re
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise

from scoretools.errors import ReadError
from scoretools.instrument import HIGHEST_POSITION, INSTRUMENTS, natural_offset
from scoretools.model import (
    NO_MARKS,
    Address,
    Event,
    Finger,
    Key,
    Measure,
    Note,
    Notice,
    Part,
    Pitch,
    PositionNumber,
    StringIndex,
    Tempo,
)
from scoretools.read.container import contents
from scoretools.read.musicxml import MOST_NOTES
from scoretools.read.spelling import estimated_key, spelled
from scoretools.read.timing import ASSUMED_QUARTERS_PER_MINUTE

__all__ = ["COLUMNS", "FINEST", "AnnotatedPart", "PlayedStop", "read_annotated"]

COLUMNS = ("pitch", "start", "duration", "string", "position", "finger")
"""Headings that a table needs, in any order, beside others."""

FINEST = 24
"""Largest denominator of a time, in quarters."""

_INSTRUMENT = "violin"
_STRINGS = INSTRUMENTS[_INSTRUMENT]
_USUAL = {Finger(1): 0, Finger(2): 2, Finger(3): 4, Finger(4): 5}
"""Semitones from the first finger to each, in the middle of what they take."""
_SECONDS_PER_QL = 60 / ASSUMED_QUARTERS_PER_MINUTE
_NAME = re.compile(r"(?P<player>[^_]+)_(?P<work>.+)")
_MOST_BEATS = 1000.0
_PART_ID = "P1"


@dataclass(frozen=True, slots=True)
class PlayedStop:
    """How one note was played."""

    string: StringIndex
    """String, 0 = lowest."""
    position: PositionNumber
    """Position, as the table has it, for open strings too."""
    finger: Finger
    """Finger, 0 = open string."""


@dataclass(frozen=True, slots=True)
class AnnotatedPart:
    """A part without marks, and how one player played it."""

    part: Part
    """The music."""
    player: str
    """The player: what stands before the first underscore of the file's name; else empty."""
    stops: tuple[tuple[PlayedStop, ...], ...]
    """For each event, how each of its notes was played."""


@dataclass(frozen=True, slots=True)
class _Row:
    """One note of the table."""

    midi: int
    start: Fraction
    duration: Fraction
    played: PlayedStop


_Chord = list[_Row]
_Bar = list[_Chord]


def read_annotated(path: str | os.PathLike[str]) -> AnnotatedPart:
    """Read a table of notes with strings, positions and fingers.

    Parameters
    ----------
    path : str or os.PathLike
        A table; see the head of this module. Its name, ``PLAYER_WORK.csv``, gives player and title.

    Returns
    -------
    AnnotatedPart
        The music, for violin, and how it was played.

    Raises
    ------
    ReadError
        The file cannot be read, has no such headings, no notes or too many, or a value that is
        none; the sentence names the line.
    """
    found = contents(path)
    bars = _bars(list(_rows(found.name, found.data)))
    stem = os.path.splitext(found.name)[0]
    named = _NAME.fullmatch(stem)
    chords = [chord for bar in bars for chord in bar]
    return AnnotatedPart(
        part=_part(found.name, named["work"] if named else stem, bars),
        player=named["player"] if named else "",
        stops=tuple(tuple(row.played for row in chord) for chord in chords),
    )


# ── rows ────────────────────────────────────────────────────────────────────────────────────────


def _rows(name: str, data: bytes) -> Iterator[_Row]:
    lines = csv.DictReader(io.StringIO(_text(name, data), newline=""))
    try:
        headings = [(heading or "").strip() for heading in lines.fieldnames or ()]
        missing = [column for column in COLUMNS if column not in headings]
        if missing:
            raise ReadError(
                f"{name}: the first line lacks the heading {missing[0]}; a table of played "
                f"fingerings needs {', '.join(COLUMNS)}"
            )
        lines.fieldnames = headings
        count = 0
        for cells in lines:
            count += 1
            if count > MOST_NOTES:
                raise ReadError(
                    f"{name}: more than {MOST_NOTES:,} notes, the most that is read; "
                    "divide the table by movements"
                )
            yield _row(f"{name}: line {lines.line_num}", cells)
    except csv.Error as fault:
        raise ReadError(f"{name}: line {lines.line_num}: no table ({fault}); mend it") from None
    if not count:
        raise ReadError(f"{name}: there is no note below the headings; add a line for each")


def _text(name: str, data: bytes) -> str:
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise ReadError(f"{name}: not plain text in UTF-8; save the table again as such") from None


def _row(where: str, cells: Mapping[str, str | None]) -> _Row:
    def value(column: str, low: float, high: float, parse: Callable[[str], float]) -> float:
        return _number(where, column, cells[column], (low, high), parse)

    midi = int(value("pitch", 0, 127, int))
    start = value("start", -_MOST_BEATS, _MOST_BEATS, float)
    duration = value("duration", 0, _MOST_BEATS, float)
    string = int(value("string", 0, len(_STRINGS), int)) - 1
    position = PositionNumber(int(value("position", 1, HIGHEST_POSITION, int)))
    finger = Finger(int(value("finger", 0, 4, int)))
    if string < 0:
        string = _likeliest_string(midi, position, finger)
    played = PlayedStop(StringIndex(string), position, finger)
    return _Row(midi, _rounded(start), _rounded(duration), played)


def _likeliest_string(midi: int, position: PositionNumber, finger: Finger) -> int:
    def away(string: int) -> int:
        open_string = _STRINGS[string]
        place = natural_offset(open_string, position) + _USUAL[finger] if finger else 0
        return abs(midi - open_string.midi - place)

    return min(range(len(_STRINGS)), key=away)


def _number(
    where: str,
    column: str,
    text: str | None,
    between: tuple[float, float],
    parse: Callable[[str], float],
) -> float:
    low, high = between
    try:
        number = parse((text or "").strip())
    except ValueError:
        number = math.nan
    if not low <= number <= high:
        kind = "whole number" if parse is int else "number"
        said = f"“{text}”" if text else "nothing"
        raise ReadError(
            f"{where}: {column} is {said}, not a {kind} from {low:g} to {high:g}; mend it"
        )
    return number


def _rounded(beats: float) -> Fraction:
    return Fraction(beats).limit_denominator(FINEST)


# ── bars ────────────────────────────────────────────────────────────────────────────────────────


def _bars(rows: Sequence[_Row]) -> list[_Bar]:
    """Lay rows out in bars and, inside them, in what sounds together, lowest first."""
    bars: list[_Bar] = []
    for row in rows:
        if not bars or _begins_a_bar(bars[-1][-1], row):
            bars.append([[row]])
        elif row.start == bars[-1][-1][0].start:
            bars[-1][-1].append(row)
        else:
            bars[-1].append([row])
    for bar in bars:
        for chord in bar:
            chord.sort(key=lambda row: (row.midi, row.played.string))
    return bars


def _begins_a_bar(before: _Chord, row: _Row) -> bool:
    start = before[0].start
    if row.start == start:
        return any(other.played.string == row.played.string for other in before)
    return row.start < start or start < 0 <= row.start


def _end(bar: _Bar) -> Fraction:
    return max(row.start + row.duration for chord in bar for row in chord)


def _usual_length(bars: Sequence[_Bar]) -> Fraction:
    """How long most bars are; of equally common lengths the longest, at least a beat."""
    counts = Counter(_end(bar) for bar in bars if bar[0][0].start >= 0)
    commonest = max(counts, key=lambda end: (counts[end], end), default=Fraction(1))
    return max(Fraction(1), commonest)


def _measures(bars: Sequence[_Bar]) -> tuple[Measure, ...]:
    usual = _usual_length(bars)
    first_upbeat = bars[0][0][0].start < 0
    measures = []
    onset = Fraction(0)
    for index, bar in enumerate(bars):
        begins = bar[0][0].start
        upbeat = begins < 0
        length = -begins if upbeat else max(usual, _end(bar))
        measures.append(
            Measure(
                index=index,
                number=str(index if first_upbeat else index + 1),
                movement=1,
                rehearsal="",
                onset_ql=onset,
                duration_ql=length,
                time=_time(usual),
                upbeat=upbeat,
            )
        )
        onset += length
    return tuple(measures)


def _time(length: Fraction) -> tuple[int, int]:
    lower = 4
    while (length * lower / 4).denominator != 1 and lower < 64:
        lower *= 2
    return math.ceil(length * lower / 4), lower


# ── the part ────────────────────────────────────────────────────────────────────────────────────


def _part(source: str, title: str, bars: Sequence[_Bar]) -> Part:
    measures = _measures(bars)
    pitches = [row.midi for bar in bars for chord in bar for row in chord]
    lengths = [float(row.duration) for bar in bars for chord in bar for row in chord]
    key = estimated_key(pitches, lengths)
    spelling = iter(spelled(pitches, lengths, key))
    events: list[Event] = []
    for measure, bar in zip(measures, bars, strict=True):
        address = 0
        for chord in bar:
            events.append(_event(len(events), measure, chord, address, spelling, key))
            address += len(chord)
    return Part(
        source=source,
        title=title,
        composer="",
        name="Violin",
        part_id=_PART_ID,
        number=1,
        instrument=_INSTRUMENT,
        tuning=None,
        measures=measures,
        events=_ended(events),
        tempi=(Tempo(Fraction(0), ASSUMED_QUARTERS_PER_MINUTE, True),),
        notices=(
            Notice(
                "The table has neither keys nor slurs nor tempi: the spelling is estimated, and "
                f"{ASSUMED_QUARTERS_PER_MINUTE:g} quarter notes a minute are assumed."
            ),
        ),
    )


def _event(
    index: int,
    measure: Measure,
    chord: _Chord,
    address: int,
    spelling: Iterator[Pitch],
    key: Key,
) -> Event:
    start = chord[0].start
    into = start + measure.duration_ql if measure.upbeat else start
    onset = measure.onset_ql + into
    notes = tuple(
        _note(row, next(spelling), Address(_PART_ID, measure.index, address + place))
        for place, row in enumerate(chord)
    )
    upper, lower = measure.time
    beat_ql = Fraction(4, lower)
    return Event(
        index=index,
        measure=measure.index,
        onset_ql=onset,
        onset_s=float(onset) * _SECONDS_PER_QL,
        end_s=float(onset + max(row.duration for row in chord)) * _SECONDS_PER_QL,
        beat=1 + start / beat_ql + (upper if measure.upbeat else 0),
        notes=notes,
        held=(),
        key=key,
        grace=False,
        slurred=False,
    )


def _note(row: _Row, pitch: Pitch, address: Address) -> Note:
    return Note(
        pitch=pitch,
        duration_ql=row.duration,
        written_ql=row.duration,
        voice="1",
        staff=1,
        grace=row.duration == 0,
        slurred=False,
        marks=NO_MARKS,
        address=address,
    )


def _ended(events: Sequence[Event]) -> tuple[Event, ...]:
    """Let no event last beyond the beginning of the next."""
    cut = (
        replace(before, end_s=min(before.end_s, after.onset_s))
        for before, after in pairwise(events)
    )
    return (*cut, events[-1])
