"""What one set of the hand asks: the shape itself, stretches, augmented seconds."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from scoretools.hand import FINGERS, FRAME, GAP_LETTERS, gap_letters
from scoretools.instrument import Instrument, usual_home
from scoretools.model import DemandKind, Event, Finger, Shape, Step, Stop, StringIndex
from scoretools.moments.moment import LATELY_NOTES, Moment, struck_stops
from scoretools.shapes import Span, fits_the_frame

__all__ = [
    "SHAPE_LOAD",
    "UNSTRETCHED_LOAD",
    "inside_shape",
]

SHAPE_LOAD: Mapping[str, float] = MappingProxyType(
    {"W-H-W": 1.0, "H-W-W": 1.5, "W-W-H": 2.0, "W-W-W": 2.5, "H-H-H": 4.0}
)
"""Factor on the base load of a shape, in the usual learning order; 3 for those not named."""

UNSTRETCHED_LOAD = 1.5
"""The same where the finger that would have to stretch does not play: a low first finger with
whole steps above it, say."""


def inside_shape(
    instrument: Instrument,
    events: Sequence[Event],
    steps: Sequence[Step],
    span: Span,
    shape: Shape,
) -> Iterator[Moment]:
    """What the spacing of the fingers on one string asks."""
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
        for note, stop in zip(events[event].notes, struck_stops(steps, event), strict=False):
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
        for stop in struck_stops(steps, index)
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
