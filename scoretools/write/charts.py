"""Charts of an analysis: hand shapes over the bars, and where on the fingerboard the notes lie.

Every function takes an analysis and returns matplotlib figures made without pyplot and its global
state; `as_svg` turns one into an SVG for a page.

Conventions
-----------
* Nothing depends on colour. A shape is drawn as it lies under the hand: four lines are the four
  fingers, as high above each other as they stand apart on the string. A half step is filled, an
  augmented second is hatched; a finger that does not play, its place implied by the key, is dotted.
* Three inks only. `as_svg` ties them to the style properties ``--ink``, ``--faint`` and
  ``--paper`` of the page around it, so that a chart follows the page into dark mode.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import pairwise

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import PathPatch, Rectangle
from matplotlib.path import Path

from scoretools.hand import gap_letters
from scoretools.instrument import ordinal
from scoretools.model import Analysis, Measure, PositionNumber, StringIndex
from scoretools.note_names import said
from scoretools.write.chart_values import (
    PositionLine,
    ShapeRun,
    fingerboard_counts,
    position_line,
    rows_of_bars,
    shape_runs,
)
from scoretools.write.svg import FAINT, INK, PAPER, as_svg

__all__ = ["as_svg", "fingerboard_use", "shapes_over_bars"]

_WIDTH_IN = 7.4
_LEFT_IN = 0.62
_RIGHT_IN = 0.08
_STRING_IN = 0.48
_LEVEL_IN = 0.16
_NUMBERS_IN = 0.24

_FEWEST_BARS = 8

_PITCH = 11.5
"""Height given to one string, in semitones: the hand, and room for the name of the shape."""

_DARKEST = 0.38
"""Opacity of the fullest cell of the fingerboard."""

_SMALL_PT = 6.5
_TEXT_PT = 8.0


# ── shapes over the bars ────────────────────────────────────────────────────────────────────────


def shapes_over_bars(analysis: Analysis) -> tuple[Figure, ...]:
    """Draw the hand over the bars: its position, and below it its shape on every string.

    Returns
    -------
    tuple of Figure
        One for each row of at most forty bars; a movement begins a new row. Empty for a part
        without bars.
    """
    runs = shape_runs(analysis)
    line = position_line(analysis)
    levels = sorted({position for _, _, position in line}) or [PositionNumber(1)]
    rows = rows_of_bars(analysis.part.measures)
    across = max([_FEWEST_BARS, *(last - first for first, last in rows)])
    return tuple(_row(analysis, runs, line, levels, span, across) for span in rows)


def _row(
    analysis: Analysis,
    runs: Sequence[ShapeRun],
    line: PositionLine,
    levels: Sequence[PositionNumber],
    span: tuple[int, int],
    across: int,
) -> Figure:
    strings_in = _STRING_IN * len(analysis.string_names)
    levels_in = _LEVEL_IN * (len(levels) + 0.5)
    height_in = _NUMBERS_IN + strings_in + levels_in + 0.04
    figure = Figure(figsize=(_WIDTH_IN, height_in), facecolor=PAPER)
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
    axes.tick_params(length=0, labelsize=_TEXT_PT, labelcolor=INK, pad=3)
    for spine in axes.spines.values():
        spine.set_visible(False)


def _draw_positions(
    axes: Axes, line: PositionLine, levels: Sequence[PositionNumber], span: tuple[int, int]
) -> None:
    # Only positions in use get a level, so that one high excursion does not flatten the rest.
    axes.set_ylim(-0.75, len(levels) - 0.25)
    axes.set_yticks(range(len(levels)), [_position_name(level) for level in levels])
    axes.set_xticks([])
    axes.hlines(range(len(levels)), *span, color=FAINT, linewidth=0.3, clip_on=False)
    here = [(*_within(start, end, span), levels.index(place)) for start, end, place in line]
    here = [(start, end, level) for start, end, level in here if start < end]
    _draw(axes, [((a, y), (b, y)) for a, b, y in here], linewidth=2.2)
    joints = pairwise(here)
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
    names = [f"{said(name)} string" for name in analysis.string_names]
    axes.set_yticks([floor + _PITCH / 2 for floor in floors], names)
    axes.hlines([*floors, _PITCH * count], *span, color=FAINT, linewidth=0.5, clip_on=False)
    axes.vlines(
        range(span[0], span[1] + 1), 0, _PITCH * count, color=FAINT, linewidth=0.4, clip_on=False
    )
    _number_bars(axes, analysis.part.measures[span[0] : span[1]])
    here = [
        replace(run, start=start, end=end)
        for run in runs
        for start, end in [_within(run.start, run.end, span)]
        if start < end
    ]
    _draw_hands(axes, here)
    _name_shapes(axes, here, span[0], across)


def _number_bars(axes: Axes, measures: Sequence[Measure]) -> None:
    # A bar whose number holds letters (an ending, the second half of a split bar) goes unnumbered.
    bars = [bar for bar in measures if bar.number.isdecimal() and bar.number != "0"]
    every = 1 if len(measures) <= 24 else 5
    shown = bars[:1] + [
        bar
        for bar in bars
        if int(bar.number) % every == 0 and bar.index >= bars[0].index + every / 2
    ]
    axes.set_xticks([bar.index + 0.5 for bar in shown], [bar.number for bar in shown])


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
    _draw(axes, implied, linewidth=0.7, linestyle=(0, (1, 1.8)))
    _draw(axes, played, linewidth=1.3)


def _height(run: ShapeRun, offset: int) -> float:
    return _PITCH * run.string + 1.5 + offset - run.home


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
    alpha: float = 1.0,
    linewidth: float = 0.0,
    linestyle: str | tuple[float, Sequence[float]] = "solid",
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
            facecolor=INK if filled else "none",
            edgecolor="none" if filled else INK,
            hatch=hatch,
            alpha=alpha,
            linewidth=linewidth,
            linestyle=linestyle,
            zorder=3,
            clip_on=False,
        )
    )


def _name_shapes(axes: Axes, runs: Sequence[ShapeRun], first: int, across: int) -> None:
    """Write the name over a run with two fingers or more, once in a while and where it fits."""
    bar_pt = 72 * (_WIDTH_IN - _LEFT_IN - _RIGHT_IN) / across
    before: dict[StringIndex, str] = {}
    written: dict[StringIndex, tuple[float, float]] = {}
    for run in runs:
        if len(run.shape.known) < 2:
            continue
        name = gap_letters(run.shape.gaps)
        start, end = written.get(run.string, (-across, 0.0))
        again = name == before.get(run.string) and run.start - start < across / 4
        before[run.string] = name
        width = 0.75 * _SMALL_PT * len(name) / bar_pt
        place = min(run.start, first + across - width)
        if again or place < end:
            continue
        axes.text(
            place, _PITCH * (run.string + 1) - 0.3, name, fontsize=_SMALL_PT, color=INK,
            va="top", clip_on=False,
        )  # fmt: skip
        written[run.string] = place, place + width


# ── use of the fingerboard ──────────────────────────────────────────────────────────────────────


def fingerboard_use(analysis: Analysis) -> Figure:
    """Draw how many notes lie on each string in each position; the stronger the shade, the more."""
    counts = fingerboard_counts(analysis)
    columns = _columns(counts)
    rows = len(analysis.string_names)
    height_in = 0.36 * rows + 0.3
    figure = Figure(figsize=(_WIDTH_IN, height_in), facecolor=PAPER)
    left, bottom = _LEFT_IN / _WIDTH_IN, 0.02 / height_in
    axes = figure.add_axes(
        (left, bottom, 1 - (_LEFT_IN + _RIGHT_IN) / _WIDTH_IN, 0.36 * rows / height_in)
    )
    _plain(axes)
    axes.set_xlim(0, max(len(columns), 6))
    axes.set_ylim(0, rows)
    axes.xaxis.tick_top()
    heads = ["open" if place is None else _position_name(place) for place in columns]
    axes.set_xticks([column + 0.5 for column in range(len(columns))], heads)
    axes.set_yticks(
        [row + 0.5 for row in range(rows)],
        [f"{said(name)} string" for name in analysis.string_names],
    )
    most = max(counts.values(), default=1)
    for column, place in enumerate(columns):
        for row in range(rows):
            _draw_cell(axes, column, row, counts.get((StringIndex(row), place), 0), most)
    return figure


def _columns(
    counts: Mapping[tuple[StringIndex, PositionNumber | None], int],
) -> list[PositionNumber | None]:
    """Open strings, then every position up to the highest in use; half position only if used."""
    used = {place for _, place in counts if place is not None}
    first = 0 if PositionNumber(0) in used else 1
    return [None, *(PositionNumber(p) for p in range(first, max(used, default=1) + 1))]


def _draw_cell(axes: Axes, column: int, row: int, count: int, most: int) -> None:
    # The square root keeps a few notes in a far corner visible beside hundreds in the middle; the
    # darkest shade still lets the figure be read, on a light page and on a dark one.
    shade = _DARKEST * (count / most) ** 0.5
    axes.add_patch(Rectangle((column, row), 1, 1, facecolor=INK, alpha=shade, linewidth=0))
    axes.add_patch(
        Rectangle(
            (column, row), 1, 1, facecolor="none", edgecolor=FAINT, linewidth=0.5, clip_on=False
        )
    )
    if count:
        axes.text(
            column + 0.5, row + 0.5, str(count), ha="center", va="center", fontsize=_TEXT_PT,
            color=INK,
        )  # fmt: skip
