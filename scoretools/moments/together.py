"""What sounds together: double stops and chords."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType

from scoretools.hand import frame_name
from scoretools.instrument import Instrument, string_names
from scoretools.model import DemandKind, Event, Step, Stop
from scoretools.moments.moment import Moment, sounding_stops, stopped_at
from scoretools.note_names import joined, worded
from scoretools.shapes import Span

__all__ = [
    "STRUCK_AGAIN",
    "at_once",
]

STRUCK_AGAIN = 0.1
"""Factor where fingers that lie are only struck again."""


_FRAME_LOAD: Mapping[str, float] = MappingProxyType(
    {"third": 1.3, "octave": 1.4, "tenth": 2.0, "unison": 1.6, "fifth": 1.2, "sixth": 1.1}
)


def at_once(
    instrument: Instrument, events: Sequence[Event], steps: Sequence[Step], span: Span
) -> Iterator[Moment]:
    """Double stops and chords, lightly weighed where they are only struck again."""
    for event in range(span.first_event, span.last_event + 1):
        sounding = sorted(sounding_stops(steps, event), key=lambda stop: stop.string)
        if len(sounding) < 2 or not stopped_at(steps, event):
            continue
        moment = (
            _chord(instrument, event, span, sounding)
            if len(sounding) > 2
            else _double_stop(instrument, event, span, sounding[0], sounding[1])
        )
        again = event > span.first_event and set(sounding) == set(sounding_stops(steps, event - 1))
        lies = again and events[event - 1].end_s >= events[event].onset_s
        yield replace(moment, factor=moment.factor * STRUCK_AGAIN) if lies else moment


def _names_of(instrument: Instrument, stops: Sequence[Stop]) -> str:
    names = string_names(instrument)
    before = joined(", ", (names[stop.string] for stop in stops[:-1]))
    return joined(" and ", (before, names[stops[-1].string]))


def _chord(instrument: Instrument, event: int, span: Span, stops: Sequence[Stop]) -> Moment:
    fingers = tuple(stop.finger for stop in stops)
    detail = worded(
        "fingers {} on the {} strings", " ".join(map(str, fingers)), _names_of(instrument, stops)
    )
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
    with_open = not (lower.finger and upper.finger)
    detail = worded(
        "{} with the open string on the {} strings" if with_open else "{} on the {} strings",
        name,
        _names_of(instrument, (lower, upper)),
    )
    return Moment(
        DemandKind.DOUBLE_STOP, event, lower.string, span.position, detail,
        stops=(lower, upper),
        factor=0.4 if with_open else _FRAME_LOAD.get(name, 1.2),
    )  # fmt: skip
