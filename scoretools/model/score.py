"""What is written in a score: pitches, notes, events, bars, a part."""

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from typing import NewType

__all__ = [
    "NO_MARKS",
    "NO_WORDS",
    "Address",
    "Continuation",
    "Divided",
    "Event",
    "Finger",
    "Harmonic",
    "Join",
    "Key",
    "Marks",
    "Measure",
    "Note",
    "NoteRef",
    "Notice",
    "Offset",
    "Ornament",
    "OrnamentKind",
    "Part",
    "Pitch",
    "PositionNumber",
    "PrintedString",
    "StringIndex",
    "Tempo",
    "Words",
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
    position: PositionNumber | None = None
    """Position printed in words at or over the note, such as ``3rd pos.``."""
    substitute: Finger | None = None
    """Finger that takes over while the note sounds."""
    thumb: bool = False
    """Whether the thumb is asked for, which violin and viola do not use."""
    left_hand_pizzicato: bool = False
    """Whether a finger of the left hand plucks the note."""


NO_MARKS = Marks()
"""Nothing printed; shared, since most notes carry nothing."""


class OrnamentKind(StrEnum):
    """What a note does beside sounding its own pitch."""

    TRILL = "trill"
    MORDENT = "mordent"
    TURN = "turn"
    TREMOLO = "tremolo"
    """A tremolo between two written notes; each carries the other."""


@dataclass(frozen=True, slots=True)
class Ornament:
    """A trill, mordent, turn or two-note tremolo: other pitches that must lie under the hand."""

    kind: OrnamentKind
    """Which it is."""
    others: tuple[Pitch, ...]
    """The pitches it uses beside the note's own, lowest first, as they sound."""


class Divided(StrEnum):
    """What words say about several notes in one part."""

    DIVIDED = "div."
    UNISON = "unis."


@dataclass(frozen=True, slots=True)
class Words:
    """Words in force at an event."""

    string: PrintedString | None = None
    """String asked for, such as by ``sul G``, 1 = highest."""
    stay: bool = False
    """Whether the hand is to stay where it is (``restez``)."""
    pizzicato: bool = False
    """Whether the part is plucked here."""
    divided: Divided | None = None
    """Whether several notes are shared among players, as far as words say."""


NO_WORDS = Words()
"""No words in force; shared, since most events stand under none."""


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
    ornament: Ornament | None = None
    """Trill, mordent, turn or two-note tremolo on it."""
    glides: bool = False
    """Whether a glissando or slide leads from it to the next note of its voice."""


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
    words: Words = NO_WORDS
    """Words in force."""


@dataclass(frozen=True, slots=True)
class Join:
    """A place where the music does not go on to the next bar printed: a repeat, ending, da capo."""

    from_measure: int
    """Index of the bar it leaves, at its end."""
    to_measure: int
    """Index of the bar it goes to, at its beginning."""
    kind: str
    """``repeat``, ``ending``, ``da capo``, ``dal segno`` or ``to coda``."""


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
    """Whether the score prints no figure for it: it comes from a word, from playback, or is the
    stated default."""


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
    joins: tuple[Join, ...] = ()
    """Repeats and jumps, in the order of the bars they leave; the notes stand as written."""
