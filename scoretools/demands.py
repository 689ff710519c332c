"""What a fingered part asks of the left hand, moment by moment and gathered.

A `Moment` is one thing asked at one event; moments alike in kind, string, position, shape and
detail gather into a `Demand`. Only fingers known from the music count: a shape whose fourth finger
never plays asks for no stretch.

Load points
-----------
Each moment weighs the base of its kind (`BASE_LOAD`, and for a shape `SHAPE_LOAD`), times a factor
for speed: 1 at rest, 2 at four notes a second. No published weights exist; the order of the bases
follows the usual learning order and what players name as hard (common practice).
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from types import MappingProxyType

from scoretools.hand import FRAME, frame_name, gap_letters
from scoretools.instrument import Instrument, position_label, string_names
from scoretools.model import (
    Certainty,
    Demand,
    DemandKind,
    Event,
    Finger,
    Offset,
    PositionNumber,
    Shape,
    Step,
    Stop,
    StringIndex,
    Tempo,
)
from scoretools.shapes import Span, spell_stop

__all__ = ["BASE_LOAD", "SHAPE_LOAD", "Moment", "gather", "moments"]

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

SHAPE_LOAD: Mapping[str, float] = MappingProxyType(
    {"W-H-W": 1.0, "H-W-W": 1.5, "W-W-H": 2.0, "W-W-W": 2.5, "H-H-H": 4.0}
)
"""Factor on the base of a shape, in the usual learning order; 3 for those not named."""

_FRAME_LOAD: Mapping[str, float] = MappingProxyType(
    {"third": 1.3, "octave": 1.4, "tenth": 2.0, "unison": 1.6, "fifth": 1.2, "sixth": 1.1}
)


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


# ── moments ─────────────────────────────────────────────────────────────────────────────────────


def moments(
    instrument: Instrument, steps: Sequence[Step], spans: Sequence[Span]
) -> tuple[Moment, ...]:
    """List all that a fingering asks of the hand, in order of the events."""
    found: list[Moment] = []
    for before, span in zip((None, *spans), spans, strict=False):
        if before is not None and span.begins_with == "shift":
            found += _shift(instrument, steps, before, span)
        elif before is not None:
            found += _shape_change(instrument, steps, before, span)
        for shape in span.shapes:
            found += _inside_shape(instrument, steps, span, shape)
        found += _at_once(instrument, steps, span)
    return tuple(sorted(found, key=lambda moment: moment.event))


def _stops(steps: Sequence[Step], event: int) -> tuple[Stop, ...]:
    placement = steps[event].placement
    return placement.stops if placement else ()


def _struck(steps: Sequence[Step], event: int) -> tuple[Stop, ...]:
    return tuple(choice.stop for choice in steps[event].choices)


def _last_stopped(steps: Sequence[Step], span: Span) -> tuple[Stop, ...]:
    for event in range(span.last_event, span.first_event - 1, -1):
        down = tuple(stop for stop in _stops(steps, event) if stop.finger)
        if down:
            return down
    return ()


def _shift(
    instrument: Instrument, steps: Sequence[Step], before: Span, span: Span
) -> Iterator[Moment]:
    event = span.first_event
    left, reached = _last_stopped(steps, before), _stops(steps, event)
    arrival = next((stop for stop in reached if stop.finger), None)
    if arrival is None or not left:
        return
    departure = min(left, key=lambda stop: (stop.string != arrival.string, stop.finger))
    start = position_label(before.position).removesuffix(" position")
    detail = (
        f"{start} to {position_label(span.position)}, finger {departure.finger} to {arrival.finger}"
    )
    yield Moment(
        DemandKind.SHIFT,
        event,
        arrival.string,
        span.position,
        detail,
        stops=(departure, arrival),
        from_position=before.position,
        travel=span.home - before.home,
        factor=1.0 + 0.1 * abs(span.home - before.home),
    )


def _shape_change(
    instrument: Instrument, steps: Sequence[Step], before: Span, span: Span
) -> Iterator[Moment]:
    event = span.first_event
    for stop in _struck(steps, event):
        old = next((shape for shape in before.shapes if shape.string == stop.string), None)
        new = next((shape for shape in span.shapes if shape.string == stop.string), None)
        if not stop.finger or old is None or new is None or stop.finger not in old.known:
            continue
        was = old.offsets[stop.finger - 1]
        if was == stop.offset:
            continue
        was_stop = Stop(stop.string, stop.finger, was)
        names = [
            spell_stop(instrument.strings[stop.string], span.position, place).name.rstrip(
                "0123456789"
            )
            for place in (was_stop, stop)
        ]
        slides = stop.finger in {
            last.finger for last in _last_stopped(steps, before) if last.string == stop.string
        } and _follows(steps, before.last_event, event)
        kind = (
            DemandKind.CHROMATIC_SLIDE
            if slides and abs(stop.offset - was) == 1
            else DemandKind.SHAPE_CHANGE
        )
        yield Moment(
            kind,
            event,
            stop.string,
            span.position,
            f"finger {stop.finger} from {names[0]} to {names[1]}",
            shape=new,
            before=old,
            stops=(was_stop, stop),
        )


def _follows(steps: Sequence[Step], last: int, event: int) -> bool:
    return all(steps[index].placement is None for index in range(last + 1, event))


def _inside_shape(
    instrument: Instrument, steps: Sequence[Step], span: Span, shape: Shape
) -> Iterator[Moment]:
    letters = gap_letters(shape.gaps)
    strain = SHAPE_LOAD.get(letters, 3.0) * (len(shape.known) - 1) / 3
    for event, last, stop in _finger_changes(steps, span, shape.string):
        if len(shape.known) > 1:
            yield Moment(
                DemandKind.SHAPE, event, shape.string, span.position, letters,
                shape=shape, factor=strain,
            )  # fmt: skip
        yield from _stretches(span, shape, event, last, stop)


def _finger_changes(
    steps: Sequence[Step], span: Span, string: StringIndex
) -> Iterator[tuple[int, Stop | None, Stop]]:
    """Walk the stops of one string: event, the stop before on this string, the stop."""
    last: Stop | None = None
    for event in range(span.first_event, span.last_event + 1):
        for stop in _struck(steps, event):
            if stop.string == string and stop.finger and not stop.touched:
                if last is None or last.finger != stop.finger:
                    yield event, last, stop
                last = stop


def _stretches(
    span: Span, shape: Shape, event: int, last: Stop | None, stop: Stop
) -> Iterator[Moment]:
    low, high = shape.known[0], shape.known[-1]
    wide = shape.offsets[high - 1] - shape.offsets[low - 1] - _widest_frame(low, high)
    if wide > 0 and stop.finger in (low, high):
        back = stop.finger == 1 and stop.offset < span.home
        up = stop.finger == high and shape.offsets[0] >= span.home
        if back or up:
            kind = DemandKind.REACH_BACK if back else DemandKind.EXTENSION
            detail = "first finger reaches back" if back else f"finger {high} reaches up"
            yield Moment(
                kind, event, shape.string, span.position, detail,
                shape=shape, stops=(stop,), factor=float(wide),
            )  # fmt: skip
    if last and abs(last.finger - stop.finger) == 1 and abs(last.offset - stop.offset) == 3:
        lower, upper = sorted((last, stop), key=lambda stop: stop.finger)
        yield Moment(
                DemandKind.AUGMENTED_SECOND, event, shape.string, span.position,
                f"between fingers {lower.finger} and {upper.finger}",
                shape=shape, stops=(lower, upper),
            )  # fmt: skip


def _widest_frame(low: Finger, high: Finger) -> int:
    """Semitones two fingers span at most without a stretch; neighbours are counted apart."""
    return {1: 3, 2: 4, 3: FRAME}.get(high - low, 0)


def _at_once(instrument: Instrument, steps: Sequence[Step], span: Span) -> Iterator[Moment]:
    for event in range(span.first_event, span.last_event + 1):
        sounding = sorted(_stops(steps, event), key=lambda stop: stop.string)
        down = [stop for stop in sounding if stop.finger]
        if len(sounding) < 2 or not down:
            continue
        if len(sounding) > 2:
            yield _chord(instrument, event, span, sounding)
        else:
            yield _double_stop(instrument, event, span, sounding[0], sounding[1])


def _names_of(instrument: Instrument, stops: Sequence[Stop]) -> str:
    names = string_names(instrument)
    return " and ".join((", ".join(names[s.string] for s in stops[:-1]), names[stops[-1].string]))


def _chord(instrument: Instrument, event: int, span: Span, stops: Sequence[Stop]) -> Moment:
    fingers = tuple(stop.finger for stop in stops)
    detail = f"fingers {' '.join(map(str, fingers))} on the {_names_of(instrument, stops)} strings"
    return Moment(
        DemandKind.CHORD, event, stops[0].string, span.position, detail,
        stops=tuple(stops), factor=len(stops) / 3,
    )  # fmt: skip


def _double_stop(
    instrument: Instrument, event: int, span: Span, lower: Stop, upper: Stop
) -> Moment:
    strings = instrument.strings
    interval = strings[upper.string].midi + upper.offset - strings[lower.string].midi - lower.offset
    name = frame_name(interval)
    where = f"on the {_names_of(instrument, (lower, upper))} strings"
    with_open = not (lower.finger and upper.finger)
    detail = f"{name} with the open string {where}" if with_open else f"{name} {where}"
    return Moment(
        DemandKind.DOUBLE_STOP, event, lower.string, span.position, detail,
        stops=(lower, upper),
        factor=0.4 if with_open else _FRAME_LOAD.get(name, 1.2),
    )  # fmt: skip


# ── demands ─────────────────────────────────────────────────────────────────────────────────────


def notes_per_s(events: Sequence[Event], event: int) -> float:
    """Speed at which an event is reached: one over the time since the event before, in seconds.

    Grace notes and what follows them count as the notes they ornament.
    """
    here = events[event]
    for before in reversed(events[max(0, event - 8) : event]):
        if here.onset_s > before.onset_s and not before.grace:
            return 1.0 / (here.onset_s - before.onset_s)
    return 0.0


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
    fastest = max(group, key=lambda moment: notes_per_s(events, moment.event))
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
        notes_per_s=round(notes_per_s(events, fastest.event), 2),
        speed_assumed=_tempo_at(tempi, events[fastest.event]).assumed,
        certainty=max((_certainty(steps, moment) for moment in group), key=_RANK.index),
        weight=round(sum(load_of(events, moment) for moment in group), 3),
        shape=shape,
        before=fullest.before,
        stops=fullest.stops,
        from_position=fullest.from_position,
        travel=fullest.travel,
    )


_RANK = [Certainty.OPEN, Certainty.LIKELY, Certainty.SURE]


def _certainty(steps: Sequence[Step], moment: Moment) -> Certainty:
    return min((choice.certainty for choice in steps[moment.event].choices), key=_RANK.index)


def _tempo_at(tempi: Sequence[Tempo], event: Event) -> Tempo:
    for tempo, after in pairwise((*tempi, None)):
        if tempo is not None and (after is None or after.onset_ql > event.onset_ql):
            return tempo
    return tempi[-1]
