"""One thing asked of the hand at one event, and what all that look for it share."""

from collections.abc import Sequence
from dataclasses import dataclass

from scoretools.model import DemandKind, PositionNumber, Shape, Step, Stop, StringIndex

__all__ = [
    "LATELY_BARS",
    "LATELY_NOTES",
    "Moment",
    "sounding_stops",
    "stopped_at",
    "struck_stops",
]

LATELY_NOTES, LATELY_BARS = 8, 2
"""Notes, and bars, after which a finger that comes down elsewhere no longer changes its place, but
is set down anew (common practice, no published source)."""


@dataclass(frozen=True, slots=True)
class Moment:
    """One thing asked of the hand at one event."""

    kind: DemandKind
    """What is asked."""
    event: int
    """Index of the event."""
    string: StringIndex
    """String (the lower of two)."""
    position: PositionNumber
    """Position by letter."""
    detail: str
    """What exactly, in words."""
    shape: Shape | None = None
    """The shape, where there is one."""
    before: Shape | None = None
    """For a change of shape: the shape it comes from."""
    stops: tuple[Stop, ...] = ()
    """Stops that carry it."""
    from_position: PositionNumber | None = None
    """For a shift: the position it leaves."""
    travel: int = 0
    """For a shift: semitones the hand moves."""
    factor: float = 1.0
    """Factor on the base load of its kind."""
    departure: int | None = None
    """For a shift or a finger that changes: index of the event from which it sets out."""


def sounding_stops(steps: Sequence[Step], event: int) -> tuple[Stop, ...]:
    """All stops of an event, those that are held included."""
    placement = steps[event].placement
    return placement.stops if placement else ()


def struck_stops(steps: Sequence[Step], event: int) -> tuple[Stop, ...]:
    """Stops of the notes that an event strikes."""
    return tuple(choice.stop for choice in steps[event].choices)


def stopped_at(steps: Sequence[Step], event: int) -> tuple[Stop, ...]:
    """Stops of an event with a finger down."""
    return tuple(stop for stop in sounding_stops(steps, event) if stop.finger)
