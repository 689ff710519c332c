"""Charts of an analysis: hand shapes over the bars, and where on the fingerboard the notes lie.

Every function takes an analysis and returns matplotlib figures made apart from any global state;
`as_svg` turns one into an SVG for a page.

Conventions
-----------
* Nothing depends on colour. A shape is drawn as it lies under the hand: four lines are the four
  fingers, as high above each other as they stand apart on the string. A half step is filled, an
  augmented second is hatched; a finger that does not play is dotted.
* Three inks only. `as_svg` ties them to the style properties ``--ink``, ``--faint`` and
  ``--paper`` of the page around it, so that a chart follows the page into dark mode.
* Along the bars, a place is counted in bars from 0: 2.5 is the middle of the third bar.
"""

import hashlib
import io
import re
from bisect import bisect_right
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import groupby
from math import ceil
from types import MappingProxyType
from xml.etree import ElementTree

from matplotlib import rc_context
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import PathPatch, Rectangle
from matplotlib.path import Path

from scoretools.hand import gap_letters
from scoretools.instrument import ordinal
from scoretools.model import Analysis, Measure, Offset, PositionNumber, Shape, StringIndex

__all__ = ["ShapeRun", "as_svg", "fingerboard_counts", "fingerboard_use", "shape_runs",
           "shapes_over_bars"]  # fmt: skip

_INK, _FAINT, _PAPER = "#1a1a1a", "#8c8c8c", "#ffffff"
_PROPERTIES = MappingProxyType({_INK: "--ink", _FAINT: "--faint", _PAPER: "--paper"})

_WIDTH_IN = 7.4
_LEFT_IN = 0.62
_RIGHT_IN = 0.08
_STRING_IN = 0.46
_LEVEL_IN = 0.16
_NUMBERS_IN = 0.24

_BARS_A_ROW = 40
_FEWEST_BARS = 8

_PITCH = 11.0
"""Height given to one string, in semitones: the hand, and room for the name of the shape."""

_SMALL_PT = 6.5
_TEXT_PT = 8.0


# ── shapes over the bars: what is drawn ─────────────────────────────────────────────────────────


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

    A run also ends where its string rests for more than a bar. Open strings belong to no run.

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
            if choice.stop.finger and shape is not None and passage is not None:
                yield ShapeRun(
                    choice.stop.string,
                    shape,
                    analysis.passages[passage].home,
                    _in_bars(analysis.part.measures, onsets, event.onset_ql),
                    _in_bars(analysis.part.measures, onsets, event.onset_ql + note.duration_ql),
                    1,
                )


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


# ── shapes over the bars: drawing ───────────────────────────────────────────────────────────────


def shapes_over_bars(analysis: Analysis) -> tuple[Figure, ...]:
    """Draw the hand over the bars: its position, and below it its shape on every string.

    Returns
    -------
    tuple of Figure
        One for each row of at most forty bars; a movement begins a new row. Empty for a part
        without bars.
    """
    runs = shape_runs(analysis)
    line = _position_line(analysis)
    levels = sorted({position for _, _, position in line}) or [PositionNumber(1)]
    rows = _rows(analysis.part.measures)
    across = max([_FEWEST_BARS, *(last - first for first, last in rows)])
    return tuple(_row(analysis, runs, line, levels, span, across) for span in rows)


_Line = Sequence[tuple[float, float, PositionNumber]]
"""Stretches of one position: from, to, position."""


def _rows(measures: Sequence[Measure]) -> tuple[tuple[int, int], ...]:
    """Divide the bars into rows as even as can be: first bar, bar after the last."""
    rows = []
    for _, group in groupby(measures, key=lambda measure: measure.movement):
        bars = [measure.index for measure in group]
        size = ceil(len(bars) / ceil(len(bars) / _BARS_A_ROW))
        rows += [(first, min(first + size, bars[-1] + 1)) for first in bars[::size]]
    return tuple(rows)


def _position_line(analysis: Analysis) -> _Line:
    """Where the hand is, from the first stopped note of a passage to that of the next."""
    measures, events = analysis.part.measures, analysis.part.events
    onsets = [measure.onset_ql for measure in measures]
    held = [passage for passage in analysis.passages if passage.shapes]
    starts = [_in_bars(measures, onsets, events[passage.first_event].onset_ql) for passage in held]
    ends = [*starts[1:], float(len(measures))]
    return [
        (start, end, passage.position)
        for start, end, passage in zip(starts, ends, held, strict=True)
    ]


def _row(
    analysis: Analysis,
    runs: Sequence[ShapeRun],
    line: _Line,
    levels: Sequence[PositionNumber],
    span: tuple[int, int],
    across: int,
) -> Figure:
    strings_in = _STRING_IN * len(analysis.string_names)
    levels_in = _LEVEL_IN * (len(levels) + 0.5)
    height_in = _NUMBERS_IN + strings_in + levels_in + 0.04
    figure = Figure(figsize=(_WIDTH_IN, height_in), facecolor=_PAPER)
    left, width = _LEFT_IN / _WIDTH_IN, 1 - (_LEFT_IN + _RIGHT_IN) / _WIDTH_IN
    below = figure.add_axes((left, _NUMBERS_IN / height_in, width, strings_in / height_in))
    above_in = _NUMBERS_IN + strings_in
    above = figure.add_axes((left, above_in / height_in, width, levels_in / height_in))
    for axes in (above, below):
        _plain(axes)
        axes.set_xlim(span[0], span[0] + across)
    _draw_positions(above, line, levels, span)
    _draw_strings(below, analysis, runs, span, across)
    return figure


def _plain(axes: Axes) -> None:
    axes.set_facecolor("none")
    axes.tick_params(length=0, labelsize=_TEXT_PT, labelcolor=_INK, pad=3)
    for spine in axes.spines.values():
        spine.set_visible(False)


def _draw_positions(
    axes: Axes, line: _Line, levels: Sequence[PositionNumber], span: tuple[int, int]
) -> None:
    # Only positions in use get a level, so that one high excursion does not flatten the rest.
    axes.set_ylim(-0.75, len(levels) - 0.25)
    axes.set_yticks(range(len(levels)), [_position_name(level) for level in levels])
    axes.set_xticks([])
    axes.hlines(range(len(levels)), *span, color=_FAINT, linewidth=0.3)
    here = [(*_within(start, end, span), levels.index(place)) for start, end, place in line]
    here = [(start, end, level) for start, end, level in here if start < end]
    _draw(axes, [((a, y), (b, y)) for a, b, y in here], linewidth=2.2, capstyle="butt")
    joints = zip(here, here[1:], strict=False)
    _draw(axes, [((b[0], a[2]), (b[0], b[2])) for a, b in joints], linewidth=0.6)


def _position_name(position: PositionNumber) -> str:
    return "half pos." if position == 0 else f"{ordinal(position)} pos."


def _within(start: float, end: float, span: tuple[int, int]) -> tuple[float, float]:
    return max(start, span[0]), min(end, span[1])


def _draw_strings(
    axes: Axes,
    analysis: Analysis,
    runs: Sequence[ShapeRun],
    span: tuple[int, int],
    across: int,
) -> None:
    count = len(analysis.string_names)
    axes.set_ylim(0, _PITCH * count)
    floors = [_PITCH * string for string in range(count)]
    names = [f"{name} string" for name in analysis.string_names]
    axes.set_yticks([floor + _PITCH / 2 for floor in floors], names)
    axes.hlines([*floors, _PITCH * count], *span, color=_FAINT, linewidth=0.5)
    axes.vlines(range(span[0], span[1] + 1), 0, _PITCH * count, color=_FAINT, linewidth=0.4)
    _number_bars(axes, analysis.part.measures[span[0] : span[1]])
    here = [
        replace(run, start=start, end=end)
        for run in runs
        for start, end in [_within(run.start, run.end, span)]
        if start < end
    ]
    _draw_hands(axes, here)
    _name_shapes(axes, here, across)


def _number_bars(axes: Axes, measures: Sequence[Measure]) -> None:
    every = 1 if len(measures) <= 24 else 5
    shown = [
        measure
        for place, measure in enumerate(measures)
        if (int(measure.number) if measure.number.isdecimal() else place) % every == 0 or not place
    ]
    numbers = ["" if measure.upbeat else measure.number for measure in shown]
    axes.set_xticks([measure.index + 0.5 for measure in shown], numbers)


_Points = Sequence[tuple[float, float]]


def _draw_hands(axes: Axes, runs: Iterable[ShapeRun]) -> None:
    """Draw all runs of a row, each kind of stroke as one path: a page holds thousands."""
    played: list[_Points] = []
    implied: list[_Points] = []
    close: list[_Points] = []
    wide: list[_Points] = []
    for run in runs:
        heights = [_height(run, offset) for offset in run.shape.offsets]
        for finger, height in enumerate(heights, start=1):
            if len(run.shape.known) > 1 or finger in run.shape.known:
                lines = played if finger in run.shape.known else implied
                lines.append(((run.start, height), (run.end, height)))
        for gap, low, high in _named_gaps(run, heights):
            box = ((run.start, low), (run.end, low), (run.end, high), (run.start, high))
            (close if gap == 1 else wide).append(box)
    _draw(axes, close, filled=True, alpha=0.45)
    _draw(axes, wide, hatch="//////")
    _draw(axes, implied, linewidth=0.7, color=_FAINT, linestyle=(0, (1, 1.4)))
    _draw(axes, played, linewidth=1.3, capstyle="butt")


def _height(run: ShapeRun, offset: int) -> float:
    return _PITCH * run.string + 2.0 + offset - run.home


def _named_gaps(run: ShapeRun, heights: Sequence[float]) -> Iterator[tuple[int, float, float]]:
    """Half steps and augmented seconds between neighbouring fingers that both play."""
    for finger, gap in enumerate(run.shape.gaps, start=1):
        if gap in (1, 3) and {finger, finger + 1} <= set(run.shape.known):
            yield gap, heights[finger - 1], heights[finger]


def _draw(
    axes: Axes,
    strokes: Iterable[_Points],
    *,
    filled: bool = False,
    hatch: str | None = None,
    color: str = _INK,
    alpha: float = 1.0,
    linewidth: float = 0.0,
    linestyle: str | tuple[float, Sequence[float]] = "solid",
    capstyle: str = "butt",
) -> None:
    vertices: list[tuple[float, float]] = []
    codes: list[int] = []
    for points in strokes:
        vertices += points
        codes += [int(Path.MOVETO)] + [int(Path.LINETO)] * (len(points) - 1)
    if not vertices:
        return
    axes.add_patch(
        PathPatch(
            Path(vertices, codes),
            facecolor=color if filled else "none",
            edgecolor="none" if filled else color,
            hatch=hatch,
            alpha=alpha,
            linewidth=linewidth,
            linestyle=linestyle,
            capstyle=capstyle,
        )
    )
