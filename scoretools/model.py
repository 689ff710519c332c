"""The values that pass between the stages: frozen, hashable, without behaviour beyond naming.

Conventions
-----------
* Score time is in quarter lengths (``_ql``, `Fraction`); clock time in seconds (``_s``, float).
* Strings are numbered from the lowest, 0 (`StringIndex`). What a score *prints* counts from the
  highest, 1 (`PrintedString`, MusicXML 4.0 ``<string>``). The two never mix.
* An offset is a number of semitones above the open string; a home is an offset too: where the
  first finger's ordinary place lies, the same on all strings.
* Position 0 is half position (shown as 0.5); 1 to 12 are the positions by letter.
* Pitches sound as written here: transposition is applied by the reader.
"""

from dataclasses import dataclass, field
from enum import StrEnum
from fractions import Fraction
from typing import NewType

__all__ = [
    "NO_MARKS",
    "Address",
    "Analysis",
    "BarLoad",
    "Certainty",
    "Check",
    "Choice",
    "Continuation",
    "Demand",
    "DemandKind",
    "Drill",
    "DrillNote",
    "Event",
    "Finger",
    "Harmonic",
    "Key",
    "Marks",
    "Measure",
    "Note",
    "NoteRef",
    "Notice",
    "Offset",
    "Part",
    "Passage",
    "Pitch",
    "Placement",
    "PositionNumber",
    "PrintedString",
    "Shape",
    "Step",
    "Stop",
    "StringIndex",
    "Tempo",
]

StringIndex = NewType("StringIndex", int)
"""A string counted from the lowest, which is 0."""

PrintedString = NewType("PrintedString", int)
"""A string as MusicXML prints it: 1 is the highest."""

Finger = NewType("Finger", int)
"""0 open string, 1 index finger … 4 little finger."""

Offset = NewType("Offset", int)
"""Semitones above the open string."""

PositionNumber = NewType("PositionNumber", int)
"""0 half position, 1 to 12 the positions by letter."""

_SEMITONES = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
_LETTERS = "CDEFGAB"


# ── what is written in the score ────────────────────────────────────────────────────────────────


@dataclass(frozen=True, slots=True)
class Pitch:
    """A spelled pitch, as it sounds."""

    step: str
    """Letter, ``A`` to ``G``."""
    alter: int
    """Semitones added by accidentals, −3 to 3."""
    octave: int
    """Octave number; middle C opens octave 4."""

    @property
    def midi(self) -> int:
        """MIDI note number; middle C is 60."""
        return 12 * (self.octave + 1) + _SEMITONES[self.step] + self.alter

    @property
    def letter(self) -> int:
        """Letters above C of octave 0, accidentals left out; middle C is 28."""
        return 7 * self.octave + _LETTERS.index(self.step)

    @property
    def name(self) -> str:
        """Letter, accidentals (``#`` or ``b``) and octave, such as ``F#5`` or ``Bb3``."""
        accidentals = "#" * self.alter if self.alter > 0 else "b" * -self.alter
        return f"{self.step}{accidentals}{self.octave}"


@dataclass(frozen=True, slots=True)
class Key:
    """A key signature."""

    alters: tuple[int, int, int, int, int, int, int]
    """What the signature does to C, D, E, F, G, A, B, in semitones."""
    fifths: int | None
    """Sharps (positive) or flats (negative); none where the signature is no such row."""
    mode: str | None
    """``major``, ``minor`` … as the score says, else none."""


class Harmonic(StrEnum):
    """What a note printed as a harmonic stands for."""

    NATURAL = "natural"
    """A natural harmonic; the note's pitch is the one that sounds, unless it fits no node."""
    NATURAL_TOUCHING = "natural touching"
    """A natural harmonic; the note's pitch is where the finger touches."""
    ARTIFICIAL_BASE = "artificial base"
    """The stopped note under an artificial harmonic."""
    ARTIFICIAL_TOUCHING = "artificial touching"
    """The touched note of an artificial harmonic."""
    ARTIFICIAL_SOUNDING = "artificial sounding"
    """The sounding note of an artificial harmonic."""
    ARTIFICIAL = "artificial"
    """An artificial harmonic without a word on which of its pitches is printed."""


@dataclass(frozen=True, slots=True)
class Marks:
    """What the edition prints on one note about the left hand."""

    fingers: tuple[Finger, ...] = ()
    """Fingers allowed, in printed order; more than one when alternatives are printed."""
    string: PrintedString | None = None
    """Printed string, 1 = highest."""
    open_string: bool = False
    """Whether the open string is asked for."""
    harmonic: Harmonic | None = None
    """Kind of harmonic, none for an ordinary note."""


NO_MARKS = Marks()
"""Nothing printed; shared, since most notes carry nothing."""


@dataclass(frozen=True, slots=True)
class Address:
    """Where a note stands in the user's own document."""

    part_id: str
    """The part's ``id``."""
    measure: int
    """Index of the measure in its part, from 0."""
    note: int
    """Index of the ``<note>`` element in its measure, from 0."""


@dataclass(frozen=True, slots=True)
class Continuation:
    """A tied note that goes on sounding without being struck."""

    address: Address
    """Where it stands."""
    onset_ql: Fraction
    """When it is reached, quarter lengths from the start of the part."""
    duration_ql: Fraction
    """How long it is written, quarter lengths."""


@dataclass(frozen=True, slots=True)
class Note:
    """A note that is struck."""

    pitch: Pitch
    """The pitch that sounds (for a harmonic: see `Harmonic`)."""
    duration_ql: Fraction
    """How long it sounds, ties included, quarter lengths; 0 for a grace note."""
    written_ql: Fraction
    """How long its first written note is, quarter lengths; 0 for a grace note."""
    voice: str
    """Voice as the score names it; ``1`` when it names none."""
    staff: int
    """Staff inside the part, from 1."""
    grace: bool
    """Whether it is a grace note."""
    slurred: bool
    """Whether a slur joins it to the note before it in its voice."""
    marks: Marks
    """What is printed on it."""
    address: Address
    """Where it stands in the document."""
    continuations: tuple[Continuation, ...] = ()
    """Tied notes that prolong it, in order."""


@dataclass(frozen=True, slots=True)
class NoteRef:
    """A note of another event."""

    event: int
    """Index of the event in which the note is struck."""
    note: int
    """Index of the note in that event."""


@dataclass(frozen=True, slots=True)
class Event:
    """All notes that begin together, and those that go on from before."""

    index: int
    """Running index, from 0."""
    measure: int
    """Index of the measure it begins in."""
    onset_ql: Fraction
    """Quarter lengths from the start of the part."""
    onset_s: float
    """Seconds from the start of the part."""
    end_s: float
    """Seconds at which the last of its struck notes ends."""
    beat: Fraction
    """Beat in the bar, from 1, in units of the lower figure of the time signature."""
    notes: tuple[Note, ...]
    """Struck notes, lowest first."""
    held: tuple[NoteRef, ...]
    """Notes struck earlier that still sound."""
    key: Key
    """Key signature in force."""
    grace: bool
    """Whether its notes are grace notes."""
    slurred: bool
    """Whether a slur joins it to the event before."""


@dataclass(frozen=True, slots=True)
class Measure:
    """One bar as printed."""

    index: int
    """Running index, from 0."""
    number: str
    """Printed bar number; may carry letters."""
    movement: int
    """Movement, from 1."""
    rehearsal: str
    """Rehearsal mark in force, empty before the first."""
    onset_ql: Fraction
    """Quarter lengths from the start of the part."""
    duration_ql: Fraction
    """Length as written, quarter lengths."""
    time: tuple[int, int]
    """Time signature, such as (6, 8)."""
    upbeat: bool
    """Whether the bar is an upbeat, shorter than its time signature and not counted in print."""


@dataclass(frozen=True, slots=True)
class Tempo:
    """A tempo in force from a moment on."""

    onset_ql: Fraction
    """Quarter lengths from the start of the part."""
    quarters_per_minute: float
    """Quarter notes a minute."""
    assumed: bool
    """Whether the score prints no tempo here and the stated default stands in."""


@dataclass(frozen=True, slots=True)
class Notice:
    """Something skipped, assumed or contradictory, told to the user."""

    message: str
    """One sentence."""
    measure: int | None = None
    """Index of the measure it is about; none for the whole part."""


@dataclass(frozen=True, slots=True)
class Part:
    """One part of a score, as read."""

    source: str
    """The file's name, without its folder."""
    title: str
    """Title of the work or movement; empty when the score gives none."""
    composer: str
    """Composer; empty when the score gives none."""
    name: str
    """Part name as printed."""
    part_id: str
    """The part's ``id`` in the document."""
    number: int
    """Place of the part in the score, from 1."""
    instrument: str
    """``violin`` or ``viola``."""
    tuning: tuple[Pitch, ...] | None
    """Open strings, lowest first, when the score prints its own tuning; else none."""
    measures: tuple[Measure, ...]
    """All bars, in order."""
    events: tuple[Event, ...]
    """All events, in order."""
    tempi: tuple[Tempo, ...]
    """Tempi in order; the first stands at 0."""
    notices: tuple[Notice, ...]
    """What the reader skipped or assumed."""


# ── what the hand does ──────────────────────────────────────────────────────────────────────────


@dataclass(frozen=True, slots=True)
class Stop:
    """One finger on one string, or an open string."""

    string: StringIndex
    """String, 0 = lowest."""
    finger: Finger
    """0 for an open string (and for a string that does not take part)."""
    offset: Offset
    """Where the finger lies, semitones above the open string; 0 when open."""
    touched: bool = False
    """Whether the string is only touched, for a natural harmonic."""


@dataclass(frozen=True, slots=True)
class Placement:
    """Where the hand is, and what it does, at one event."""

    home: Offset
    """Semitones above the nut of the first finger's ordinary place."""
    position: PositionNumber
    """Position by letter; 0 = half position."""
    stops: tuple[Stop, ...]
    """One stop for each struck note, then one for each held note that is kept."""
    broken: bool
    """Whether a chord is played two and two, lower strings first."""


class Certainty(StrEnum):
    """How sure a fingering is."""

    SURE = "sure"
    LIKELY = "likely"
    OPEN = "open"


@dataclass(frozen=True, slots=True)
class Choice:
    """What was chosen for one struck note, and how firmly."""

    stop: Stop
    """String, finger and place."""
    margin: float | None
    """Cost points by which the best complete fingering rises if this note takes another string
    or finger; none when there is no other; negative where a printed mark forces a dearer one."""
    certainty: Certainty
    """The margin in a word."""


@dataclass(frozen=True, slots=True)
class Step:
    """The fingering of one event."""

    placement: Placement | None
    """None when no hand can play the event; it was reported."""
    choices: tuple[Choice, ...]
    """One for each struck note; empty when there is no placement."""
    costs: tuple[tuple[str, float], ...]
    """Cost points by term, terms that cost nothing left out."""


@dataclass(frozen=True, slots=True)
class Shape:
    """The spacing of the hand on one string while it stays in one place."""

    string: StringIndex
    """String, 0 = lowest."""
    position: PositionNumber
    """Position by letter."""
    offsets: tuple[Offset, Offset, Offset, Offset]
    """Places of fingers 1 to 4, semitones above the open string."""
    known: tuple[Finger, ...]
    """Fingers that play in the music; the others are implied by accidentals and key."""

    @property
    def first_offset(self) -> Offset:
        """Place of the first finger, semitones above the open string."""
        return self.offsets[0]

    @property
    def gaps(self) -> tuple[int, int, int]:
        """Semitones between fingers 1–2, 2–3 and 3–4."""
        one, two, three, four = self.offsets
        return two - one, three - two, four - three


@dataclass(frozen=True, slots=True)
class Passage:
    """A run of events under one hand place with one shape on each string."""

    index: int
    """Running index, from 0."""
    first_event: int
    """Index of its first event."""
    last_event: int
    """Index of its last event."""
    home: Offset
    """Where the hand is."""
    position: PositionNumber
    """Position by letter."""
    shapes: tuple[Shape, ...]
    """One for each string on which a finger plays, lowest string first."""
    begins_with: str
    """What sets it apart from the passage before: ``start``, ``shift`` or ``shape change``."""


class DemandKind(StrEnum):
    """What a moment asks of the left hand."""

    SHAPE = "shape"
    SHAPE_CHANGE = "shape change"
    REACH_BACK = "reach back"
    EXTENSION = "extension"
    AUGMENTED_SECOND = "augmented second"
    SHIFT = "shift"
    DOUBLE_STOP = "double stop"
    CHORD = "chord"
    CHROMATIC_SLIDE = "chromatic slide"


@dataclass(frozen=True, slots=True)
class Demand:
    """One thing asked of the hand, wherever it occurs; counted on known fingers only."""

    kind: DemandKind
    """What is asked."""
    string: StringIndex
    """String (the lower of two), 0 = lowest."""
    position: PositionNumber
    """Position by letter (of arrival, for a shift)."""
    first_offset: Offset
    """Place of the first finger, semitones above the open string."""
    gaps: str
    """The shape, as `W-H-W`; empty for a demand that is not tied to one shape."""
    detail: str
    """What exactly, in words, such as ``1st to 3rd position, finger 1 to 1``."""
    moments: tuple[int, ...]
    """Indices of the events at which it occurs, in order."""
    measures: tuple[int, ...]
    """Indices of the bars in which it occurs, in order, each once."""
    notes_per_s: float
    """Speed at its fastest moment, notes a second."""
    speed_assumed: bool
    """Whether that speed rests on an assumed tempo."""
    certainty: Certainty
    """The least sure of the notes that make its surest moment."""
    weight: float
    """Load points, summed over its moments."""
    shape: Shape | None = None
    """The shape, where the demand is tied to one."""
    before: Shape | None = None
    """For a change of shape: the shape it comes from."""
    stops: tuple[Stop, ...] = ()
    """Stops that carry it at its first moment: both places of a finger that changes, the notes of
    a double stop from the lowest string, departure and arrival of a shift."""
    from_position: PositionNumber | None = None
    """For a shift: the position it leaves."""
    travel: int = 0
    """For a shift: semitones the hand moves, negative towards the scroll."""


@dataclass(frozen=True, slots=True)
class BarLoad:
    """What one bar asks of the left hand."""

    measure: int
    """Index of the bar."""
    load: float
    """Load points a second."""
    reasons: tuple[str, ...]
    """What makes it, heaviest first."""


# ── what to practise ────────────────────────────────────────────────────────────────────────────


@dataclass(frozen=True, slots=True)
class DrillNote:
    """One note of a drill."""

    pitch: Pitch
    """Spelled pitch."""
    stop: Stop
    """String, finger and place."""
    with_next: bool = False
    """Whether it sounds together with the note after it."""


@dataclass(frozen=True, slots=True)
class Check:
    """A stopped note that can be tested against an open string."""

    pitch: Pitch
    """The stopped note."""
    against: Pitch
    """The open string."""
    interval: str
    """``unison``, ``octave``, ``fourth`` or ``sixth``."""


@dataclass(frozen=True, slots=True)
class Drill:
    """One thing to practise."""

    index: int
    """Place in the order of practice, from 0."""
    title: str
    """What is practised."""
    kind: DemandKind
    """The kind of demand it serves."""
    string: StringIndex
    """String it is played on first."""
    position: PositionNumber
    """Position."""
    gaps: str
    """Shape, as `W-H-W`; empty when the drill is not tied to one."""
    forms: tuple[tuple[str, tuple[DrillNote, ...]], ...]
    """How it goes: name of the form and its notes."""
    checks: tuple[Check, ...]
    """Notes to test, and against which open string."""
    advice: str
    """The usual fault and the player's own check; empty when none is known."""
    measures: tuple[int, ...]
    """Indices of the bars it serves."""
    demands: tuple[int, ...]
    """Indices of the demands it serves."""
    share: float
    """Share of the part's whole demand weight that it serves, 0 to 1."""
    after: tuple[int, ...]
    """Indices of the drills that prepare it and come before it."""
    start_per_minute: int
    """Notes a minute to begin with."""
    goal_per_minute: int
    """Notes a minute to reach."""
    goal_assumed: bool
    """Whether the goal rests on an assumed tempo."""
    minutes: int
    """Minutes to give it in one session."""
    then_strings: tuple[StringIndex, ...] = ()
    """Strings to carry it to afterwards."""


@dataclass(frozen=True, slots=True)
class Analysis:
    """Everything the program says about one part for one player."""

    part: Part
    """The part as read."""
    profile: str
    """Profile of weights."""
    ceiling: PositionNumber
    """Highest position offered freely."""
    ceiling_from: str
    """Where the ceiling comes from: ``notes``, ``player`` or ``option``."""
    string_names: tuple[str, ...]
    """Names of the open strings, lowest first."""
    steps: tuple[Step, ...]
    """The fingering, one step for each event."""
    shapes: tuple[tuple[Shape | None, ...], ...]
    """For each event and struck note the shape of the hand on its string; none where no hand is."""
    passages: tuple[Passage, ...]
    """Passages in order."""
    passage_of: tuple[int | None, ...]
    """For each event the index of its passage; none where nothing is fingered."""
    demands: tuple[Demand, ...]
    """Demands, heaviest first."""
    loads: tuple[BarLoad, ...]
    """Loads of the bars, in order of the bars."""
    drills: tuple[Drill, ...]
    """Drills in order of practice."""
    notices: tuple[Notice, ...]
    """All that was skipped, assumed or contradictory."""
    cost: float
    """Cost points of the whole fingering."""
    marks_broken: int = field(default=0)
    """Printed marks the fingering could not honour."""
