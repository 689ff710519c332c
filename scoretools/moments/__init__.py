"""What a fingered part asks of the left hand, moment by moment.

A `Moment` is one thing asked at one event. Only fingers known from the music count: a shape whose
fourth finger never plays asks for no stretch.
"""

from collections.abc import Sequence

from scoretools.instrument import Instrument
from scoretools.model import Part, Step
from scoretools.moments.changes import shape_change, spelling_near
from scoretools.moments.moment import LATELY_BARS, LATELY_NOTES, Moment
from scoretools.moments.one_hand import SHAPE_LOAD, UNSTRETCHED_LOAD, inside_shape
from scoretools.moments.shifts import over_join, shift
from scoretools.moments.together import STRUCK_AGAIN, at_once
from scoretools.shapes import Span
from scoretools.stop_spelling import spelled_in

__all__ = [
    "LATELY_BARS",
    "LATELY_NOTES",
    "SHAPE_LOAD",
    "STRUCK_AGAIN",
    "UNSTRETCHED_LOAD",
    "Moment",
    "moments",
]


def moments(
    instrument: Instrument, part: Part, steps: Sequence[Step], spans: Sequence[Span]
) -> tuple[Moment, ...]:
    """List all that a fingering asks of the hand, in order of the events."""
    found: list[Moment] = []
    events, elsewhere = part.events, spelled_in(part.events)
    for before, span in zip((None, *spans), spans, strict=False):
        if before is not None and span.begins_with == "shift":
            found += shift(instrument, events, steps, before, span)
        elif before is not None and span.begins_with == "shape change":
            near = spelling_near(events, before, span, elsewhere)
            found += shape_change(instrument, events, steps, before, span, near)
        for shape in span.shapes:
            found += inside_shape(instrument, events, steps, span, shape)
        found += at_once(instrument, events, steps, span)
    for join in part.joins:
        found += over_join(instrument, part, steps, spans, join)
    return tuple(sorted(found, key=lambda moment: moment.event))
