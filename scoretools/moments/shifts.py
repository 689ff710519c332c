"""Shifts, those over a repeat or a jump among them."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from scoretools.instrument import Instrument, position_label, string_names
from scoretools.model import DemandKind, Event, Join, Part, Step, Stop
from scoretools.moments.moment import Moment, stopped_at
from scoretools.note_names import worded
from scoretools.shapes import Span

__all__ = [
    "over_join",
    "shift",
]


def _last_stopped(steps: Sequence[Step], span: Span) -> int | None:
    """Index of the last event of a span with a finger down."""
    back = range(span.last_event, span.first_event - 1, -1)
    return next((event for event in back if stopped_at(steps, event)), None)


def shift(
    instrument: Instrument,
    events: Sequence[Event],
    steps: Sequence[Step],
    before: Span,
    span: Span,
) -> Iterator[Moment]:
    """The shift from one span to the next, if a finger is down on both sides."""
    event = span.first_event
    left = _last_stopped(steps, before)
    arrival = next(iter(stopped_at(steps, event)), None)
    if arrival is None or left is None:
        return
    down = stopped_at(steps, left)
    departure = min(down, key=lambda stop: (stop.string != arrival.string, stop.finger))
    yield Moment(
        DemandKind.SHIFT,
        event,
        arrival.string,
        span.position,
        worded(
            "{}{}{}",
            _shift_in_words(instrument, before, span, departure, arrival),
            "" if stopped_at(steps, before.last_event) else ", over an open string",
            ", under a slur" if events[event].slurred else "",
        ),
        stops=(departure, arrival),
        from_position=before.position,
        travel=span.home - before.home,
        factor=(1.0 + 0.1 * abs(span.home - before.home)) * (1.2 if events[event].slurred else 1.0),
        departure=left,
    )


def over_join(
    instrument: Instrument,
    part: Part,
    steps: Sequence[Step],
    spans: Sequence[Span],
    join: Join,
) -> Iterator[Moment]:
    """A shift that is only seen where a repeat or jump joins two bars."""
    last = _nearest_stopped(part, steps, range(join.from_measure, -1, -1))
    first = _nearest_stopped(part, steps, range(join.to_measure, len(part.measures)))
    if last is None or first is None:
        return
    before = replace(_span_of(spans, last), last_event=last)
    after = replace(_span_of(spans, first), first_event=first)
    if before.position != after.position and before.home != after.home:
        for moment in shift(instrument, part.events, steps, before, after):
            yield replace(moment, detail=worded("{}, at the {}", moment.detail, join.kind))


def _nearest_stopped(part: Part, steps: Sequence[Step], measures: range) -> int | None:
    """Index of the stopped event nearest to the end of bars given backwards, or to their start."""
    for measure in measures:
        inside = [
            event.index
            for event in part.events
            if event.measure == measure and stopped_at(steps, event.index)
        ]
        if inside:
            return inside[-1] if measures.step < 0 else inside[0]
    return None


def _span_of(spans: Sequence[Span], event: int) -> Span:
    return next(span for span in spans if span.first_event <= event <= span.last_event)


def _shift_in_words(
    instrument: Instrument, before: Span, span: Span, departure: Stop, arrival: Stop
) -> str:
    start = position_label(before.position)
    # "1st to 3rd position", but "half position to 2nd position"
    start = start if before.position == 0 else start.removesuffix(" position")
    fingers = f"finger {departure.finger} to {arrival.finger}"
    if departure.string != arrival.string:
        names = string_names(instrument)
        fingers = worded(
            "finger {} on the {} string to {} on the {} string",
            departure.finger,
            names[departure.string],
            arrival.finger,
            names[arrival.string],
        )
    return worded("{} to {}, {}", start, position_label(span.position), fingers)
