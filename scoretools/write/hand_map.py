"""Where on the fingerboard which hand shape is asked for, and how often."""

from dataclasses import dataclass

from scoretools.hand import FINGERS
from scoretools.instrument import Instrument, position_label
from scoretools.model import (
    Analysis,
    Demand,
    DemandKind,
    Finger,
    PositionNumber,
    Shape,
    Stop,
    StringIndex,
)
from scoretools.stop_spelling import Spelling, spelled_in
from scoretools.write.note_words import letter
from scoretools.write.summary import listed

__all__ = ["MapRow", "SetUp", "hand_map"]


@dataclass(frozen=True, slots=True)
class SetUp:
    """One shape in one place."""

    gaps: str
    """Its spacing, such as ``W-H-W``."""
    times: int
    """Notes to which the hand changes finger in it."""
    words: str
    """Where the first finger lies, and which fingers play if not all do."""
    measures: tuple[int, ...]
    """Indices of its bars."""


@dataclass(frozen=True, slots=True)
class MapRow:
    """One position."""

    position: str
    """Its name."""
    cells: tuple[tuple[SetUp, ...], ...]
    """For every string, lowest first, its set-ups, the commonest first."""


def hand_map(analysis: Analysis, played: Instrument) -> tuple[MapRow, ...]:
    """Gather shapes by position and string, the lowest position first.

    Parameters
    ----------
    played
        The instrument, for the names of the notes.
    """
    cells: dict[tuple[PositionNumber, StringIndex], list[SetUp]] = {}
    spelled = spelled_in(analysis.part.events)
    asked = [demand for demand in analysis.demands if demand.kind is DemandKind.SHAPE]
    for demand in sorted(asked, key=lambda demand: -len(demand.moments)):
        if demand.shape is not None:
            here = cells.setdefault((demand.position, demand.string), [])
            spelling = Spelling.of(analysis.part.events, demand.measures, spelled)
            here.append(_set_up(played, demand.shape, demand, spelling))
    strings = [StringIndex(string) for string in range(len(analysis.string_names))]
    return tuple(
        MapRow(
            position_label(position),
            tuple(tuple(cells.get((position, string), ())) for string in strings),
        )
        for position in sorted({position for position, _ in cells})
    )


def _set_up(played: Instrument, shape: Shape, demand: Demand, spelling: Spelling) -> SetUp:
    stop = Stop(shape.string, Finger(1), shape.first_offset)
    first = letter(spelling.pitch(played, stop, shape.position))
    fingers = [str(finger) for finger in shape.known if finger]
    only = f", only {listed(fingers)}" if len(fingers) < len(FINGERS) else ""
    return SetUp(demand.gaps, len(demand.moments), f"1 on {first}{only}", demand.measures)
