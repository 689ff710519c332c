"""Where words such as ``3rd pos.`` stand, so that a reader always knows where the hand is.

Conventions (common practice, no published source)
--------------------------------------------------
* The part begins in first position; every shift to another position is named.
* Not named are a few notes a half step away, there and back, which their fingers show, and a short
  stay that was named no more than `FRESH` bars before with the same first notes, unless another
  position was named in its bar.
* Away from first position the name is said again after `RESTED` bars in which no finger plays, and
  every `REMINDER` bars.
* Where the score itself names the position there or a few notes later, it is left to that.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field

from scoretools.model import Analysis, Event, PositionNumber, Stop
from scoretools.write.hand_walk import Moment, moments

__all__ = ["FRESH", "REMINDER", "RESTED", "SETTLED", "named_positions"]

SETTLED = 4
"""Stopped events in one position, or on one string, from which on words are worth their place."""

FRESH = 2
"""Bars for which the name of a short stay is remembered when it comes again."""

REMINDER = 8
"""Bars after which a position other than the first is named again."""

RESTED = 2
"""Bars without a finger down after which a reader no longer takes the hand to be where it was."""

_FIRST = PositionNumber(1)

_Stay = list[Moment]
"""Stopped events from one shift to the next."""


@dataclass(slots=True)
class _Told:
    """What a reader knows so far."""

    position: PositionNumber = _FIRST
    """Position in force."""
    measure: int = 0
    """Bar in which it was last said."""
    fresh: dict[tuple[PositionNumber, tuple[Stop, ...]], int] = field(default_factory=dict)
    """For each position and the stops it was reached with, the bar in which that was last met."""


def named_positions(
    analysis: Analysis, settled: int = SETTLED
) -> Iterator[tuple[Event, PositionNumber]]:
    """Yield the events over which a position is named.

    Parameters
    ----------
    analysis
        A fingered part.
    settled
        Stopped events in one position from which on it is always named; 1 names every shift.
    """
    told = _Told()
    stays = _stays(analysis)
    for place, stay in enumerate(stays):
        first = stay[0]
        if any(map(_says_position, stay[: 2 * SETTLED])):
            told.position, told.measure = first.position, first.event.measure
        elif first.position != told.position:
            another_said = told.measure == first.event.measure and told.position != _FIRST
            remembered = _is_fresh(told, first) and not another_said
            if len(stay) < settled and (_is_aside(stays, place) or remembered):
                continue
            told.position, told.measure = first.position, first.event.measure
            yield first.event, first.position
        told.fresh[first.position, first.down] = first.event.measure
        yield from _reminders(told, stay)


def _stays(analysis: Analysis) -> list[_Stay]:
    stays: list[_Stay] = []
    position = _FIRST
    for moment in moments(analysis):
        if not moment.down:
            continue
        if not stays or (moment.arrival and moment.position != position):
            stays.append([])
            position = moment.position
        stays[-1].append(moment)
    return stays


def _says_position(moment: Moment) -> bool:
    return any(note.marks.position is not None for note in moment.event.notes)


def _is_aside(stays: list[_Stay], place: int) -> bool:
    """Tell whether a stay lies a half step away from those around it."""
    here = stays[place][0]
    before = stays[place - 1][-1] if place else None
    after = stays[place + 1][0] if place + 1 < len(stays) else None
    came_from = before.position if before else _FIRST
    return (
        abs(here.position - came_from) == 1
        and (after is None or after.position == came_from)
        and all(abs(here.home - near.home) <= 1 for near in (before, after) if near)
    )


def _is_fresh(told: _Told, first: Moment) -> bool:
    measure = first.event.measure
    met = told.fresh.get((first.position, first.down), measure - FRESH - 1)
    if measure - met > FRESH:
        return False
    told.fresh[first.position, first.down] = measure
    return True


def _reminders(told: _Told, stay: _Stay) -> Iterator[tuple[Event, PositionNumber]]:
    """Yield later events of a stay at which the position is said again."""
    measure = stay[0].event.measure
    for moment in stay:
        now = moment.event.measure
        if _says_position(moment):
            told.measure = now
        rested, long_ago = now - measure > RESTED, now - told.measure >= REMINDER
        if told.position > 1 and (rested or long_ago):
            told.measure = now
            yield moment.event, told.position
        measure = now
