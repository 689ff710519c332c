"""What the reader takes down while it walks the measures of a part.

Conventions: time is counted in ticks, whole fractions of a quarter note that fit all divisions of
the part.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from fractions import Fraction
from typing import NamedTuple

from scoretools.model import Key, Marks, Pitch
from scoretools.read.attributes import C_MAJOR, COMMON_TIME, Transposition
from scoretools.read.directions import LineEnd, Saying
from scoretools.read.document import Element
from scoretools.read.joins import BarSign
from scoretools.read.notes import Unit
from scoretools.read.notices import Log

__all__ = ["Moment", "RawMeasure", "RawNote", "SlurEnd", "Walk"]

Moment = tuple[int, int, int]
"""Order of what begins: ticks from the start of the part; 0 for a grace note and 1 for others; and
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
    length: int
    """Ticks; 0 for a grace note."""
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
    glides: bool
    """Whether a glissando or slide leads on from it."""
    origin: int
    """Index of the measure it is written in; another one under a sign that repeats a bar."""


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
    onset: int
    """Ticks from the start of the part."""
    length: int
    """How long it is, ticks."""
    time: tuple[int, int] | None
    """Time signature, none for music without metre."""
    final: bool
    """Whether it ends with a thin and a thick line."""
    double: bool
    """Whether it ends with two lines of any kind."""
    opens_double: bool
    """Whether it begins with two lines of any kind."""


@dataclass(slots=True)
class Walk:
    """Where the reader stands in a part, and what it has taken down."""

    log: Log
    """Takes remarks."""
    empty_length: Callable[[int], Fraction | None]
    """Quarter lengths of a measure in another part, none where no other part has music."""
    unit: Unit
    """What durations are counted in."""
    time: tuple[int, int] | None = COMMON_TIME
    """Time signature in force, none for music without metre."""
    key: Key = C_MAJOR
    """Key signature in force, as written."""
    transpositions: dict[int, Transposition] = field(default_factory=dict)
    """Interval to the sounding note by staff, 0 for all staves."""
    onset: int = 0
    """Where the next measure begins, ticks."""
    notes: list[RawNote] = field(default_factory=list)
    """Notes in the order of the document."""
    slur_ends: list[SlurEnd] = field(default_factory=list)
    """Ends of slurs in the order of the document."""
    keys: list[tuple[int, Key]] = field(default_factory=list)
    """Sounding keys and when they begin."""
    measures: list[RawMeasure] = field(default_factory=list)
    """Bars so far."""
    skipped: set[str] = field(default_factory=set)
    """Kinds of notes that were left out."""
    said: list[Saying | LineEnd] = field(default_factory=list)
    """Words and ends of lines in the order of the document."""
    signs: list[tuple[int, tuple[Element, ...]]] = field(default_factory=list)
    """Running numbers of notes with ornaments, and these."""
    bar_signs: list[BarSign] = field(default_factory=list)
    """Repeats and endings."""
    repeated_bars: int = 0
    """How many bars the sign in force repeats, 0 without such a sign."""
