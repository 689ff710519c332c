"""What the charts draw, as values: runs of one shape, the line of positions, counts.

Along the bars, a place is counted in bars from 0: 2.5 is the middle of the third bar.
"""

from bisect import bisect_right
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import groupby
from math import ceil

from scoretools.model import Analysis, Measure, Offset, PositionNumber, Shape, Stop, StringIndex

__all__ = [
    "BARS_A_ROW",
    "PositionLine",
    "ShapeRun",
    "fingerboard_counts",
    "position_line",
    "rows_of_bars",
    "shape_runs",
]

BARS_A_ROW = 40
"""Most bars set side by side."""

_SHORTEST_QL = Fraction(1, 8)
"""Length given to a grace note, so that it can be seen."""


# ── shapes ────────────────────────────────────────────────────────────────────────────────────────


@dataclass(frozen=True, slots=True)
class ShapeRun:
    """Notes in a row on one string, under one shape of the hand."""

    string: StringIndex
    """String, 0 = lowest."""
    shape: Shape
    """The shape; its known fingers are those of the whole run."""
    home: Offset
    """Where the hand is, semitones above the nut."""
    start: float
    """Where its first note begins, in bars from 0."""
    end: float
    """Where its last note ends, in bars from 0."""
    notes: int
    """Struck notes in it."""


def shape_runs(analysis: Analysis) -> tuple[ShapeRun, ...]:
    """Gather stopped notes that follow each other on a string under one shape.

    A run also ends where its string rests for more than a bar. Open strings and harmonics belong to
    no run.

    Returns
    -------
    tuple of ShapeRun
        By beginning, then by string.
    """
    running: dict[StringIndex, ShapeRun] = {}
    done: list[ShapeRun] = []
    for run in _single_notes(analysis):
        last = running.get(run.string)
        if last is not None and _goes_on(last, run):
            running[run.string] = _joined(last, run)
            continue
        if last is not None:
            done.append(last)
        running[run.string] = run
    return tuple(sorted((*done, *running.values()), key=lambda run: (run.start, run.string)))


def _single_notes(analysis: Analysis) -> Iterator[ShapeRun]:
    onsets = [measure.onset_ql for measure in analysis.part.measures]
    for event, step, shapes in zip(
        analysis.part.events, analysis.steps, analysis.shapes, strict=True
    ):
        passage = analysis.passage_of[event.index]
        for note, choice, shape in zip(event.notes, step.choices, shapes, strict=False):
            if _stopped(choice.stop) and shape is not None and passage is not None:
                yield ShapeRun(
                    choice.stop.string,
                    shape,
                    analysis.passages[passage].home,
                    _in_bars(analysis.part.measures, onsets, event.onset_ql),
                    _in_bars(
                        analysis.part.measures,
                        onsets,
                        event.onset_ql + max(note.duration_ql, _SHORTEST_QL),
                    ),
                    1,
                )


def _stopped(stop: Stop) -> bool:
    return stop.finger > 0 and not stop.touched


def _in_bars(measures: Sequence[Measure], onsets: Sequence[Fraction], moment: Fraction) -> float:
    index = max(0, bisect_right(onsets, moment) - 1)
    length = measures[index].duration_ql
    return index + min(1.0, float((moment - onsets[index]) / length)) if length else float(index)


def _goes_on(last: ShapeRun, run: ShapeRun) -> bool:
    return (
        last.shape.offsets == run.shape.offsets
        and last.shape.position == run.shape.position
        and last.home == run.home
        and run.start - last.end <= 1.0
    )


def _joined(last: ShapeRun, run: ShapeRun) -> ShapeRun:
    known = tuple(sorted({*last.shape.known, *run.shape.known}))
    return replace(
        last,
        shape=replace(last.shape, known=known),
        end=max(last.end, run.end),
        notes=last.notes + run.notes,
    )


# ── rows, positions, counts ───────────────────────────────────────────────────────────────────────


PositionLine = Sequence[tuple[float, float, PositionNumber]]
"""Stretches of one position: from, to, position."""


def rows_of_bars(measures: Sequence[Measure]) -> tuple[tuple[int, int], ...]:
    """Divide the bars into rows as even as can be: first bar, bar after the last."""
    rows = []
    for _, group in groupby(measures, key=lambda measure: measure.movement):
        bars = [measure.index for measure in group]
        size = ceil(len(bars) / ceil(len(bars) / BARS_A_ROW))
        rows += [(first, min(first + size, bars[-1] + 1)) for first in bars[::size]]
    return tuple(rows)


def position_line(analysis: Analysis) -> PositionLine:
    """Where the hand is, from the first note of each passage with a finger down to the next."""
    measures, events = analysis.part.measures, analysis.part.events
    onsets = [measure.onset_ql for measure in measures]
    held = [passage for passage in analysis.passages if passage.shapes]
    starts = [_in_bars(measures, onsets, events[passage.first_event].onset_ql) for passage in held]
    ends = [*starts, float(len(measures))][1:]
    return [
        (start, end, passage.position)
        for start, end, passage in zip(starts, ends, held, strict=True)
    ]


def fingerboard_counts(
    analysis: Analysis,
) -> Mapping[tuple[StringIndex, PositionNumber | None], int]:
    """Count the fingered notes by string and position.

    Returns
    -------
    mapping
        From string and position (none: the open string) to the number of struck notes.
    """
    counts: Counter[tuple[StringIndex, PositionNumber | None]] = Counter()
    for step in analysis.steps:
        for choice in step.choices:
            if step.placement is not None:
                stopped = choice.stop.finger > 0
                place = step.placement.position if stopped else None
                counts[choice.stop.string, place] += 1
    return counts
