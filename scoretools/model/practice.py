"""What to practise, and everything the program says about a part."""

from dataclasses import dataclass, field

from scoretools.model.playing import BarLoad, Demand, DemandKind, Passage, Shape, Step, Stop
from scoretools.model.score import Notice, Part, Pitch, PositionNumber, StringIndex

__all__ = [
    "Analysis",
    "Check",
    "Drill",
    "DrillNote",
]


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
    """Where the ceiling comes from: ``notes``, ``player`` (file or option) or ``profile``."""
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
