"""A finger that takes another place while the hand stays."""

from collections.abc import Iterator, Mapping, Sequence

from scoretools.instrument import Instrument
from scoretools.model import DemandKind, Event, Pitch, Step, Stop
from scoretools.moments.moment import (
    LATELY_BARS,
    LATELY_NOTES,
    Moment,
    sounding_stops,
    struck_stops,
)
from scoretools.note_names import bare_name_of, worded
from scoretools.shapes import Span
from scoretools.stop_spelling import Spelling, spelled_in

__all__ = [
    "shape_change",
    "spelling_near",
]


def spelling_near(
    events: Sequence[Event], before: Span, span: Span, elsewhere: Mapping[int, Pitch]
) -> Spelling:
    """How the notes of two spans are spelled."""
    near = events[before.first_event : span.last_event + 1]
    return Spelling(events[span.first_event].key, spelled_in(near), elsewhere)


def shape_change(
    instrument: Instrument,
    events: Sequence[Event],
    steps: Sequence[Step],
    before: Span,
    span: Span,
    spelling: Spelling,
) -> Iterator[Moment]:
    """Fingers that come down elsewhere than not long before."""
    event = span.first_event
    for stop in struck_stops(steps, event):
        old = next((shape for shape in before.shapes if shape.string == stop.string), None)
        new = next((shape for shape in span.shapes if shape.string == stop.string), None)
        if not stop.finger or old is None or new is None or stop.finger not in old.known:
            continue
        was = old.offsets[stop.finger - 1]
        if was == stop.offset:
            continue
        was_stop = Stop(stop.string, stop.finger, was)
        departure = _lately(events, steps, was_stop, event)
        if departure is None:
            continue
        names = [
            bare_name_of(spelling.pitch(instrument, place, span.position))
            for place in (was_stop, stop)
        ]
        slides = was_stop in sounding_stops(steps, before.last_event)
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
            worded("finger {} from {} to {}", stop.finger, *names),
            shape=new,
            before=old,
            stops=(was_stop, stop),
            departure=departure,
        )


def _lately(events: Sequence[Event], steps: Sequence[Step], stop: Stop, event: int) -> int | None:
    """Index of the last event with a stop, not long before another event; none where it is.

    A place that the finger took longer ago is forgotten: it is set down anew.
    """
    first = max(0, event - LATELY_NOTES)
    return next(
        (
            index
            for index in range(event - 1, first - 1, -1)
            if stop in sounding_stops(steps, index)
            and events[event].measure - events[index].measure <= LATELY_BARS
        ),
        None,
    )
