"""What the hand does: stops, placements, shapes, passages, and what they ask."""

from dataclasses import dataclass
from enum import StrEnum

from scoretools.model.score import Finger, Offset, PositionNumber, StringIndex

__all__ = [
    "BarLoad",
    "Certainty",
    "Choice",
    "Demand",
    "DemandKind",
    "Passage",
    "Placement",
    "Shape",
    "Step",
    "Stop",
]


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
    """Whether the string is only touched, for a harmonic."""


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
    """Fingers that play in the music, here or a moment before while the hand stayed; the others
    are implied by accidentals and key."""

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
    """One for each string on which a finger plays, here or a moment before while the hand stayed;
    lowest string first."""
    begins_with: str
    """What sets it apart from the passage before: ``start``, ``shift``, ``shape change``, or
    ``position renamed`` where the hand stays but its place goes by another letter."""


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
    departures: tuple[int, ...] = ()
    """For a shift or a finger that changes: at each of its moments, the index of the event from
    which it sets out."""


@dataclass(frozen=True, slots=True)
class BarLoad:
    """What one bar asks of the left hand."""

    measure: int
    """Index of the bar."""
    load: float
    """Load points a second."""
    reasons: tuple[str, ...]
    """What makes it, heaviest first."""
