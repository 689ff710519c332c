"""A fingered part event by event, as a player meets it: where the hand is, whether it has moved.

Conventions: before the first event the hand is taken to wait in first position. An open string
leaves the hand where it is.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from scoretools.model import Analysis, Choice, Event, PositionNumber, Stop

__all__ = ["Moment", "moments"]


@dataclass(frozen=True, slots=True)
class Moment:
    """A fingered event, as a player meets it."""

    event: Event
    """The event."""
    choices: tuple[Choice, ...]
    """What was chosen for its notes."""
    position: PositionNumber
    """Position."""
    home: int
    """Where the first finger's ordinary place lies, semitones above the nut."""
    arrival: bool
    """Whether the hand has just come there."""

    @property
    def down(self) -> tuple[Stop, ...]:
        """Stops with a finger down, of the struck notes."""
        return tuple(choice.stop for choice in self.choices if choice.stop.finger)


def moments(analysis: Analysis) -> Iterator[Moment]:
    """Yield the fingered events; before the first, the hand is taken to wait in first position."""
    position, home = PositionNumber(1), None
    for event, step in zip(analysis.part.events, analysis.steps, strict=True):
        place = step.placement
        if place is None or not step.choices:
            continue
        arrival = False
        if any(choice.stop.finger for choice in step.choices):
            moved = place.position != position and place.home != home
            arrival = moved or (home is not None and abs(place.home - home) > 1)
            position, home = place.position, place.home
        yield Moment(event, step.choices, place.position, place.home, arrival)
