"""What a part asks of the left hand, gathered from its moments, and how heavily.

Moments alike in kind, string, position, shape and detail gather into a `Demand`.

Load points
-----------
Each moment weighs the base of its kind (`BASE_LOAD`), times its own factor (see
`scoretools.moments`), times a factor for speed: 1 at rest, 2 at four notes a second. No published
weights exist; the order of the bases follows the usual learning order and what players name as
hard (common practice).
"""

from bisect import bisect_right
from collections.abc import Mapping, Sequence
from operator import attrgetter
from types import MappingProxyType

from scoretools.hand import gap_letters
from scoretools.model import Certainty, Demand, DemandKind, Event, Offset, Step, Tempo
from scoretools.moments import Moment

__all__ = ["BASE_LOAD", "gather", "load_of", "notes_per_s", "pace"]

BASE_LOAD: Mapping[DemandKind, float] = MappingProxyType(
    {
        DemandKind.SHAPE: 0.1,
        DemandKind.SHAPE_CHANGE: 0.8,
        DemandKind.CHROMATIC_SLIDE: 0.8,
        DemandKind.REACH_BACK: 1.0,
        DemandKind.EXTENSION: 1.2,
        DemandKind.AUGMENTED_SECOND: 1.2,
        DemandKind.SHIFT: 1.5,
        DemandKind.DOUBLE_STOP: 1.2,
        DemandKind.CHORD: 2.0,
    }
)
"""Load points of one moment of each kind at rest."""


def notes_per_s(events: Sequence[Event], event: int) -> float:
    """Speed at which an event is reached: one over the time since the event before, in seconds.

    Grace notes and what follows them count as the notes they ornament.
    """
    before = _seconds_since(events, event)
    return 1.0 / before if before else 0.0


def pace(events: Sequence[Event], event: int) -> float:
    """Speed of the notes around an event: two over the seconds from the one before to the next.

    In even notes it is their speed; the short note of a dotted pair, and the long one after it,
    have the speed of the pair. At the ends of the part there is one neighbour only.
    """
    around = [_seconds_since(events, event), _seconds_until(events, event)]
    known = [seconds for seconds in around if seconds]
    return len(known) / sum(known) if known else 0.0


_NEAR = 8
"""Events among which the neighbour of an event is looked for."""


def _seconds_since(events: Sequence[Event], event: int) -> float:
    here = events[event].onset_s
    near = reversed(events[max(0, event - _NEAR) : event])
    return next((here - one.onset_s for one in near if one.onset_s < here and not one.grace), 0.0)


def _seconds_until(events: Sequence[Event], event: int) -> float:
    here = events[event].onset_s
    near = events[event + 1 : event + 1 + _NEAR]
    return next((one.onset_s - here for one in near if one.onset_s > here and not one.grace), 0.0)


def load_of(events: Sequence[Event], moment: Moment) -> float:
    """Load points of a moment: base of its kind, its own factor, and the factor of speed."""
    speed = 1.0 + notes_per_s(events, moment.event) / 4.0
    return BASE_LOAD[moment.kind] * moment.factor * speed


def gather(
    events: Sequence[Event],
    steps: Sequence[Step],
    tempi: Sequence[Tempo],
    found: Sequence[Moment],
) -> tuple[Demand, ...]:
    """Gather moments into demands, heaviest first."""
    groups: dict[tuple[object, ...], list[Moment]] = {}
    for moment in found:
        groups.setdefault(_key(moment), []).append(moment)
    demands = [_demand(events, steps, tempi, group) for group in groups.values()]
    return tuple(
        sorted(
            demands,
            key=lambda demand: (
                -demand.weight,
                demand.kind,
                demand.string,
                demand.position,
                demand.gaps,
                demand.detail,
            ),
        )
    )


def _key(moment: Moment) -> tuple[object, ...]:
    shape = moment.shape
    offsets = shape.offsets if shape else ()
    return moment.kind, moment.string, moment.position, offsets, moment.detail


def _demand(
    events: Sequence[Event], steps: Sequence[Step], tempi: Sequence[Tempo], group: list[Moment]
) -> Demand:
    fullest = max(group, key=lambda moment: len(moment.shape.known) if moment.shape else 0)
    fastest = max(group, key=lambda moment: pace(events, moment.event))
    shape = fullest.shape
    return Demand(
        kind=fullest.kind,
        string=fullest.string,
        position=fullest.position,
        first_offset=shape.first_offset if shape else Offset(0),
        gaps=gap_letters(shape.gaps) if shape else "",
        detail=fullest.detail,
        moments=tuple(moment.event for moment in group),
        measures=tuple(dict.fromkeys(events[moment.event].measure for moment in group)),
        notes_per_s=round(pace(events, fastest.event), 2),
        speed_assumed=_tempo_at(tempi, events[fastest.event]).assumed,
        certainty=max((_certainty(steps, moment) for moment in group), key=_RANK.index),
        weight=round(sum(load_of(events, moment) for moment in group), 3),
        shape=shape,
        before=fullest.before,
        stops=fullest.stops,
        from_position=fullest.from_position,
        travel=fullest.travel,
        departures=tuple(m.departure for m in group if m.departure is not None),
    )


_RANK = [Certainty.OPEN, Certainty.LIKELY, Certainty.SURE]


def _certainty(steps: Sequence[Step], moment: Moment) -> Certainty:
    return min((choice.certainty for choice in steps[moment.event].choices), key=_RANK.index)


def _tempo_at(tempi: Sequence[Tempo], event: Event) -> Tempo:
    place = bisect_right(tempi, event.onset_ql, key=attrgetter("onset_ql"))
    return tempi[max(place - 1, 0)]
