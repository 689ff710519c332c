"""Passages, and how heavily each bar loads the left hand.

A passage is a span of the hand (see `scoretools.shapes`): a run of events under one hand place
with one shape on each string, however short, since what is short may be what is hard. The load of
a bar is the sum of its demands' load points over its length in seconds.
"""

from collections.abc import Sequence
from fractions import Fraction

from scoretools.demands import load_of
from scoretools.instrument import Instrument, position_label, string_names
from scoretools.model import BarLoad, DemandKind, Event, Measure, Passage, Shape, StringIndex
from scoretools.moments import Moment
from scoretools.note_names import worded
from scoretools.shapes import Span

__all__ = ["as_passages", "bar_loads", "passage_of_events", "shapes_of_notes"]


def as_passages(spans: Sequence[Span]) -> tuple[Passage, ...]:
    """Number the spans."""
    return tuple(
        Passage(
            index=index,
            first_event=span.first_event,
            last_event=span.last_event,
            home=span.home,
            position=span.position,
            shapes=span.shapes,
            begins_with=span.begins_with,
        )
        for index, span in enumerate(spans)
    )


def passage_of_events(
    passages: Sequence[Passage], placed: Sequence[bool]
) -> tuple[int | None, ...]:
    """Give, for each event, the index of its passage; none where the event has no placement."""
    found: list[int | None] = [None] * len(placed)
    for passage in passages:
        for event in range(passage.first_event, passage.last_event + 1):
            found[event] = passage.index if placed[event] else None
    return tuple(found)


def shapes_of_notes(
    passages: Sequence[Passage],
    passage_of: Sequence[int | None],
    strings: Sequence[Sequence[StringIndex]],
) -> tuple[tuple[Shape | None, ...], ...]:
    """Give, for each event and struck note, the shape of the hand on its string.

    Parameters
    ----------
    strings
        For each event the strings of its struck notes.
    """
    by_string = [{shape.string: shape for shape in passage.shapes} for passage in passages]
    return tuple(
        tuple(None if index is None else by_string[index].get(string) for string in played)
        for index, played in zip(passage_of, strings, strict=True)
    )


def bar_loads(
    instrument: Instrument,
    measures: Sequence[Measure],
    bar_seconds: Sequence[float],
    events: Sequence[Event],
    found: Sequence[Moment],
) -> tuple[BarLoad, ...]:
    """Weigh every bar.

    Parameters
    ----------
    bar_seconds
        Length of each bar, seconds.
    found
        All moments of the part.

    Returns
    -------
    tuple of BarLoad
        One for each bar, in order; an empty bar weighs nothing. A short bar, such as an upbeat, is
        weighed as if its bar were whole: one shift in a beat is no harder than one in a bar.
    """
    reasons: list[dict[str, float]] = [{} for _ in measures]
    for moment in found:
        here = reasons[events[moment.event].measure]
        words = _in_words(instrument, moment)
        here[words] = here.get(words, 0.0) + load_of(events, moment)
    whole = [_whole(*one) for one in zip(measures, bar_seconds, strict=True)]
    return tuple(
        BarLoad(
            measure=measure.index,
            load=round(sum(points.values()) / seconds, 3) if seconds > 0 else 0.0,
            reasons=_heaviest_first(points),
        )
        for measure, seconds, points in zip(measures, whole, reasons, strict=True)
    )


def _whole(measure: Measure, seconds: float) -> float:
    """Seconds of a bar, of a short one those of a whole bar in its time."""
    upper, lower = measure.time
    missing = Fraction(4 * upper, lower) / measure.duration_ql if measure.duration_ql else 1
    return seconds * float(max(missing, 1))


def _heaviest_first(points: dict[str, float]) -> tuple[str, ...]:
    return tuple(sorted(points, key=lambda words: (-points[words], words)))


def _in_words(instrument: Instrument, moment: Moment) -> str:
    string = string_names(instrument)[moment.string]
    if moment.kind is DemandKind.SHAPE:
        return worded("{} on {}", moment.detail, string)
    if moment.kind is DemandKind.SHIFT:
        return worded("shift from {}", moment.detail)
    if moment.kind is DemandKind.SHAPE_CHANGE:
        where = position_label(moment.position)
        return worded("change of shape on {} ({}, {})", string, moment.detail, where)
    if moment.kind in (DemandKind.DOUBLE_STOP, DemandKind.CHORD):
        return worded("{}: {}", moment.kind, moment.detail)
    position = position_label(moment.position)
    return worded("{} on {} ({}, {})", moment.kind, string, moment.detail, position)
