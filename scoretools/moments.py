"""What a fingered part asks of the left hand, moment by moment.

A `Moment` is one thing asked at one event. Only fingers known from the music count: a shape whose
fourth finger never plays asks for no stretch.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType

from scoretools.hand import FINGERS, FRAME, GAP_LETTERS, frame_name, gap_letters
from scoretools.instrument import Instrument, position_label, string_names, usual_home
from scoretools.model import (
    DemandKind,
    Event,
    Finger,
    Join,
    Part,
    Pitch,
    PositionNumber,
    Shape,
    Step,
    Stop,
    StringIndex,
)
from scoretools.note_names import bare_name_of, joined, worded
from scoretools.shapes import Span, fits_the_frame
from scoretools.stop_spelling import Spelling, spelled_in

__all__ = [
    "LATELY_BARS",
    "LATELY_NOTES",
    "SHAPE_LOAD",
    "STRUCK_AGAIN",
    "UNSTRETCHED_LOAD",
    "Moment",
    "moments",
]

SHAPE_LOAD: Mapping[str, float] = MappingProxyType(
    {"W-H-W": 1.0, "H-W-W": 1.5, "W-W-H": 2.0, "W-W-W": 2.5, "H-H-H": 4.0}
)
"""Factor on the base load of a shape, in the usual learning order; 3 for those not named."""

UNSTRETCHED_LOAD = 1.5
"""The same where the finger that would have to stretch does not play: a low first finger with
whole steps above it, say."""

STRUCK_AGAIN = 0.1
"""Factor where fingers that lie are only struck again."""

LATELY_NOTES, LATELY_BARS = 8, 2
"""Notes, and bars, after which a finger that comes down elsewhere no longer changes its place, but
is set down anew (common practice, no published source)."""

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
    departure: int | None = None
    """For a shift or a finger that changes: index of the event from which it sets out."""


# ── moments ─────────────────────────────────────────────────────────────────────────────────────


def moments(
    instrument: Instrument, part: Part, steps: Sequence[Step], spans: Sequence[Span]
) -> tuple[Moment, ...]:
    """List all that a fingering asks of the hand, in order of the events."""
    found: list[Moment] = []
    events, elsewhere = part.events, spelled_in(part.events)
    for before, span in zip((None, *spans), spans, strict=False):
        if before is not None and span.begins_with == "shift":
            found += _shift(instrument, events, steps, before, span)
        elif before is not None and span.begins_with == "shape change":
            near = _spelling(events, before, span, elsewhere)
            found += _shape_change(instrument, events, steps, before, span, near)
        for shape in span.shapes:
            found += _inside_shape(instrument, events, steps, span, shape)
        found += _at_once(instrument, events, steps, span)
    for join in part.joins:
        found += _over_join(instrument, part, steps, spans, join)
    return tuple(sorted(found, key=lambda moment: moment.event))


def _stops(steps: Sequence[Step], event: int) -> tuple[Stop, ...]:
    placement = steps[event].placement
    return placement.stops if placement else ()


def _struck(steps: Sequence[Step], event: int) -> tuple[Stop, ...]:
    return tuple(choice.stop for choice in steps[event].choices)


def _last_stopped(steps: Sequence[Step], span: Span) -> int | None:
    """Index of the last event of a span with a finger down."""
    back = range(span.last_event, span.first_event - 1, -1)
    return next((event for event in back if _stopped(steps, event)), None)


def _shift(
    instrument: Instrument,
    events: Sequence[Event],
    steps: Sequence[Step],
    before: Span,
    span: Span,
) -> Iterator[Moment]:
    event = span.first_event
    left = _last_stopped(steps, before)
    arrival = next(iter(_stopped(steps, event)), None)
    if arrival is None or left is None:
        return
    down = _stopped(steps, left)
    departure = min(down, key=lambda stop: (stop.string != arrival.string, stop.finger))
    yield Moment(
        DemandKind.SHIFT,
        event,
        arrival.string,
        span.position,
        worded(
            "{}{}{}",
            _shift_in_words(instrument, before, span, departure, arrival),
            "" if _stopped(steps, before.last_event) else ", over an open string",
            ", under a slur" if events[event].slurred else "",
        ),
        stops=(departure, arrival),
        from_position=before.position,
        travel=span.home - before.home,
        factor=(1.0 + 0.1 * abs(span.home - before.home)) * (1.2 if events[event].slurred else 1.0),
        departure=left,
    )


def _over_join(
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
        for moment in _shift(instrument, part.events, steps, before, after):
            yield replace(moment, detail=worded("{}, at the {}", moment.detail, join.kind))


def _nearest_stopped(part: Part, steps: Sequence[Step], measures: range) -> int | None:
    """Index of the stopped event nearest to the end of bars given backwards, or to their start."""
    for measure in measures:
        inside = [
            event.index
            for event in part.events
            if event.measure == measure and _stopped(steps, event.index)
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


def _stopped(steps: Sequence[Step], event: int) -> tuple[Stop, ...]:
    return tuple(stop for stop in _stops(steps, event) if stop.finger)


def _spelling(
    events: Sequence[Event], before: Span, span: Span, elsewhere: Mapping[int, Pitch]
) -> Spelling:
    near = events[before.first_event : span.last_event + 1]
    return Spelling(events[span.first_event].key, spelled_in(near), elsewhere)


def _shape_change(
    instrument: Instrument,
    events: Sequence[Event],
    steps: Sequence[Step],
    before: Span,
    span: Span,
    spelling: Spelling,
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
        departure = _lately(events, steps, was_stop, event)
        if departure is None:
            continue
        names = [
            bare_name_of(spelling.pitch(instrument, place, span.position))
            for place in (was_stop, stop)
        ]
        slides = was_stop in _stops(steps, before.last_event)
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
            if stop in _stops(steps, index)
            and events[event].measure - events[index].measure <= LATELY_BARS
        ),
        None,
    )


def _inside_shape(
    instrument: Instrument,
    events: Sequence[Event],
    steps: Sequence[Step],
    span: Span,
    shape: Shape,
) -> Iterator[Moment]:
    letters = gap_letters(shape.gaps)
    unstretched = len(shape.known) < len(FINGERS) and not fits_the_frame(shape)
    load = UNSTRETCHED_LOAD if unstretched else SHAPE_LOAD.get(letters, 3.0)
    strain = load * (len(shape.known) - 1) / 3
    for change in _finger_changes(events, steps, span, shape.string):
        if _is_asked(shape):
            yield Moment(
                DemandKind.SHAPE, change.event, shape.string, span.position, letters,
                shape=shape, factor=strain,
            )  # fmt: skip
        near = _fingers_near(steps, span, shape, change.event)
        yield from _stretch(instrument, span, shape, near, change)
        yield from _augmented_second(span, shape, change)


def _is_asked(shape: Shape) -> bool:
    """Tell whether the music itself asks for a shape, not only the key behind it.

    Every half step and every wider gap must lie between fingers that play; of whole steps
    throughout, three fingers must.
    """
    known = set(shape.known)
    marked = [
        {finger, finger + 1}
        for finger, gap in enumerate(shape.gaps, start=1)
        if GAP_LETTERS.get(gap) != "W"
    ]
    return all(pair <= known for pair in marked) if marked else len(known) >= 3


@dataclass(frozen=True, slots=True)
class _FingerChange:
    """A finger goes down on a string after another one."""

    event: int
    last: Stop | None
    stop: Stop
    letters: int
    """Letters between the two notes."""


def _finger_changes(
    events: Sequence[Event], steps: Sequence[Step], span: Span, string: StringIndex
) -> Iterator[_FingerChange]:
    last: Stop | None = None
    last_letter = 0
    for event in range(span.first_event, span.last_event + 1):
        for note, stop in zip(events[event].notes, _struck(steps, event), strict=False):
            if stop.string == string and stop.finger and not stop.touched:
                if last is None or last.finger != stop.finger:
                    apart = abs(note.pitch.letter - last_letter)
                    yield _FingerChange(event, last, stop, apart)
                last, last_letter = stop, note.pitch.letter


def _fingers_near(
    steps: Sequence[Step], span: Span, shape: Shape, event: int
) -> tuple[Finger, ...]:
    """Fingers that play on the string of a shape not long before or after an event."""
    first = max(span.first_event, event - LATELY_NOTES)
    last = min(span.last_event, event + LATELY_NOTES)
    played = {
        stop.finger
        for index in range(first, last + 1)
        for stop in _struck(steps, index)
        if stop.string == shape.string and not stop.touched
    }
    return tuple(finger for finger in shape.known if finger in played)


def _stretch(
    instrument: Instrument,
    span: Span,
    shape: Shape,
    near: Sequence[Finger],
    change: _FingerChange,
) -> Iterator[Moment]:
    """A finger at either end that leaves the frame of the usual hand, so that the span is wider.

    The first finger reaches back only from fingers near; a higher one reaches up from the hand.
    """
    low, high = shape.known[0], near[-1] if change.stop.finger == 1 else shape.known[-1]
    wide = shape.offsets[high - 1] - shape.offsets[low - 1] - _widest_frame(low, high)
    finger = change.stop.finger
    if wide <= 0 or finger not in (low, high):
        return
    home = usual_home(instrument, span.position)
    back = home - shape.offsets[low - 1]
    up = shape.offsets[high - 1] - home - _HIGHEST_SLOT[high]
    if finger == 1 and back > 0:
        kind, detail, far = DemandKind.REACH_BACK, "first finger reaches back", min(back, wide)
    elif finger == high and (up > 0 or back <= 0):
        far = min(up, wide) if up > 0 else wide
        kind, detail = DemandKind.EXTENSION, f"finger {high} reaches up"
    else:
        return
    yield Moment(
        kind, change.event, shape.string, span.position, detail,
        shape=shape, stops=(change.stop,), factor=float(far),
    )  # fmt: skip


_HIGHEST_SLOT = {1: 0, 2: 2, 3: 4, 4: FRAME}
"""Semitones above the first finger's usual place to which each finger goes without a stretch."""


def _augmented_second(span: Span, shape: Shape, change: _FingerChange) -> Iterator[Moment]:
    """Three semitones between neighbouring fingers and neighbouring letters."""
    last, stop = change.last, change.stop
    if last is None or abs(last.finger - stop.finger) != 1 or change.letters != 1:
        return
    if abs(last.offset - stop.offset) == 3:
        lower, upper = sorted((last, stop), key=lambda stop: stop.finger)
        yield Moment(
            DemandKind.AUGMENTED_SECOND, change.event, shape.string, span.position,
            f"between fingers {lower.finger} and {upper.finger}",
            shape=shape, stops=(lower, upper),
        )  # fmt: skip


def _widest_frame(low: Finger, high: Finger) -> int:
    """Semitones two fingers span at most without a stretch; neighbours are counted apart."""
    return {1: 3, 2: 4, 3: FRAME}.get(high - low, 0)


def _at_once(
    instrument: Instrument, events: Sequence[Event], steps: Sequence[Step], span: Span
) -> Iterator[Moment]:
    for event in range(span.first_event, span.last_event + 1):
        sounding = sorted(_stops(steps, event), key=lambda stop: stop.string)
        if len(sounding) < 2 or not _stopped(steps, event):
            continue
        moment = (
            _chord(instrument, event, span, sounding)
            if len(sounding) > 2
            else _double_stop(instrument, event, span, sounding[0], sounding[1])
        )
        again = event > span.first_event and set(sounding) == set(_stops(steps, event - 1))
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
