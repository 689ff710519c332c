"""What to practise, and everything the program says about a part."""

from dataclasses import dataclass, field
from fractions import Fraction

from scoretools.model.playing import BarLoad, Demand, DemandKind, Passage, Shape, Step, Stop
from scoretools.model.score import Key, Notice, Part, Pitch, PositionNumber, StringIndex

__all__ = [
    "Analysis",
    "Check",
    "Drill",
    "DrillNote",
    "Exercise",
    "LeftOut",
]


@dataclass(frozen=True, slots=True)
class DrillNote:
    """One note of an exercise."""

    pitch: Pitch
    """Spelled pitch."""
    stop: Stop
    """String, finger and place."""
    position: PositionNumber
    """Position of the hand; 0 = half position."""
    length_ql: Fraction
    """Written length, quarter lengths; notes that sound together are equally long."""
    with_next: bool = False
    """Whether it sounds together with the note after it."""
    silent: bool = False
    """Whether the finger is placed without the bow."""
    accent: bool = False
    """Whether it is accented."""
    show_finger: bool = True
    """Whether its finger is printed: it cannot be guessed from the notes before."""


@dataclass(frozen=True, slots=True)
class Exercise:
    """One form of a drill, written out."""

    name: str
    """Name of the form in the trade's words."""
    how: str
    """How to go about it, a sentence; empty where the name says it all."""
    key: Key
    """Signature it is written in."""
    beats: int
    """Quarter notes in a bar."""
    notes: tuple[DrillNote, ...]
    """Its notes; they fill their last bar."""


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
    """Position it begins in."""
    gaps: str
    """Shape, as `W-H-W`; empty when the drill is not tied to one."""
    shape: Shape | None
    """The shape on its first string, where it is tied to one."""
    exercises: tuple[Exercise, ...]
    """How it goes, in order; the piece's own string first."""
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
    ladder: tuple[int, ...]
    """Notes a minute, rung by rung, from the start to the goal."""
    minutes: int
    """Minutes to give it in one session."""
    bridge: tuple[int, int]
    """Indices of the first and the last of the bars of the piece that end it."""


@dataclass(frozen=True, slots=True)
class LeftOut:
    """Something asked that no drill of the list serves."""

    title: str
    """What it is."""
    demands: tuple[int, ...]
    """Indices of the demands."""
    measures: tuple[int, ...]
    """Indices of the bars."""
    share: float
    """Share of the part's whole demand weight, 0 to 1."""
    why: str
    """Why there is no drill: no time, too little of it, or nothing that can be written."""


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
    """Where the ceiling comes from: ``notes``, ``player`` (file or option) or ``profile``."""
    string_names: tuple[str, ...]
    """Names of the open strings, lowest first; letters, for a person see
    `scoretools.note_names.said`."""
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
    left_out: tuple[LeftOut, ...]
    """What is asked and not drilled, heaviest first; what the player knows is not counted."""
    notices: tuple[Notice, ...]
    """All that was skipped, assumed or contradictory."""
    cost: float
    """Cost points of the whole fingering."""
    marks_broken: int = field(default=0)
    """Printed marks the fingering could not honour."""
