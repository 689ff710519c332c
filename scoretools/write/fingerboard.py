"""The fingerboard under one hand, to true scale: where each finger goes, for this string length.

Conventions
-----------
* The picture looks at the fingerboard from the front, scroll up: the strings run down, the nut is
  at the top, the lowest string is on the left. A hand up the string begins with a broken edge
  instead of the nut.
* Along the strings one millimetre of string is one millimetre of picture, as long as the picture
  is printed at its own size. Across, the strings lie wider apart than they are, to make room for
  words.
* Nothing depends on colour. A finger that plays is a filled circle, one whose place follows from
  the key is hollow; fingers a half step apart are joined by a bar; a note that can be tested
  against an open string has a second ring; one finger across two strings is one lying bar; an
  arrow beside the string is a finger that moves.
* Every ink is written out, for typesetters that know no style properties; a browser takes the
  inks of the page around the picture instead.
"""

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import replace

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Circle, Patch, Polygon, Rectangle

from scoretools.instrument import (
    Instrument,
    ordinal,
    stop_distance_mm,
    string_names,
)
from scoretools.model import PositionNumber, Stop
from scoretools.note_names import said
from scoretools.write.fingerboard_values import (
    Board,
    Spot,
    across,
    board_under,
    close,
    distances,
    moves,
    position_places,
)
from scoretools.write.fingerboard_words import description, title
from scoretools.write.svg import FAINT, INK, PAPER, as_svg

__all__ = ["Spot", "fingerboard"]

_STRING_MM = 14.0
"""From string to string across the picture, mm."""

_LEFT_MM, _RIGHT_MM, _ABOVE_MM, _BELOW_MM = 18.5, 11.5, 11.5, 1.2

_LARGEST_MM = 2.8
"""Radius of a finger where there is room, mm."""

_OF_SPACING = 0.36
"""Radius of a finger as a share of the closest spacing: even second rings do not touch then."""

_RING = 1.26
"""Radius of the second ring, as a multiple of the finger's."""

_LETTER_MM, _POSITION_MM, _SMALL_MM = 2.9, 2.25, 1.85
"""Sizes of letters, mm."""

_CHECK_MM = 9.0
"""Spacing that leaves room for the word of a check, mm."""

_CAPITAL = 0.72
"""Height of a capital or a digit, as a share of the size of its letters."""

_PT = 72 / 25.4
"""Points in a millimetre."""

_FONTS = "'Helvetica Neue', Arial, 'Liberation Sans', 'DejaVu Sans', sans-serif"


def fingerboard(
    instrument: Instrument,
    position: PositionNumber,
    spots: Sequence[Spot],
    *,
    in_mm: bool = False,
    names: Sequence[str] = (),
) -> str:
    """Draw one set-up of the hand on the fingerboard.

    Parameters
    ----------
    instrument
        Strings and string length; the picture has its scale.
    position
        Position of the hand, 0 = half position.
    spots
        Places of the fingers, on one string or several. Two that follow each other with the same
        finger at the same height on neighbouring strings are one finger across both; the same
        finger at two places of a string is drawn as moving from the first to the second.
    in_mm
        Whether to print the distances between neighbouring fingers of a string, mm.
    names
        Names to print beside the fingers instead of their letters, one for each spot.

    Returns
    -------
    str
        One ``<svg>`` element, its width and height in mm, with words for a screen reader.

    Raises
    ------
    ValueError
        If there are names, but not one for each spot.
    """
    board = board_under(instrument, position, spots)
    figure, axes = _empty(board)
    radius_mm = _radius_mm(board)
    _draw_strings(axes, board)
    _draw_positions(axes, board)
    _draw_joins(axes, board, radius_mm)
    _draw_open_strings(axes, board)
    _draw_fingers(axes, board, radius_mm)
    _draw_arrows(axes, board, radius_mm)
    _write_names(axes, board, radius_mm, _names(spots, names))
    _write_checks(axes, board, radius_mm)
    if in_mm:
        _write_distances(axes, board, radius_mm)
    drawing = as_svg(figure, title(board), description(board, in_mm))
    return _at_true_size(drawing, figure)


def _names(spots: Sequence[Spot], names: Sequence[str]) -> Mapping[Spot, str]:
    written = names or [spot.letter for spot in spots]
    return {spot: _typeset(name) for spot, name in zip(spots, written, strict=True)}


def _typeset(name: str) -> str:
    name = said(name)
    return name[:1] + name[1:].replace("#", "♯").replace("b", "♭")


def _radius_mm(board: Board) -> float:
    closest = min((apart for _, _, apart in distances(board)), default=_LARGEST_MM / _OF_SPACING)
    return min(_LARGEST_MM, _OF_SPACING * closest)


# ── the bare fingerboard ────────────────────────────────────────────────────────────────────────


def _empty(board: Board) -> tuple[Figure, Axes]:
    """Make a picture measured in mm: across from the lowest string, down from the nut."""
    left, right = -_LEFT_MM, _STRING_MM * board.strings[-1] + _RIGHT_MM
    top, bottom = board.top_mm - _ABOVE_MM, board.bottom_mm + _BELOW_MM
    figure = Figure(figsize=((right - left) / 25.4, (bottom - top) / 25.4), facecolor=PAPER)
    axes = figure.add_axes((0, 0, 1, 1))
    axes.set_axis_off()
    axes.set_xlim(left, right)
    axes.set_ylim(bottom, top)
    return figure, axes


def _draw_strings(axes: Axes, board: Board) -> None:
    span = -2.0, _STRING_MM * board.strings[-1] + 2.0
    semitones = [stop_distance_mm(board.instrument, semitone) for semitone in range(1, 49)]
    inside = [place for place in semitones if board.top_mm + 1 < place < board.bottom_mm - 1]
    axes.hlines(inside, *span, color=FAINT, linewidth=0.5, zorder=0)
    used = {spot.stop.string for spot in board.spots}
    for string, name in zip(board.strings, string_names(board.instrument), strict=True):
        x, width = _STRING_MM * string, 1.7 if string in used else 0.4
        axes.vlines(x, board.top_mm, board.bottom_mm, color=INK, linewidth=width, zorder=1)
        _write(axes, x, board.top_mm - 9.0, _typeset(name), _LETTER_MM, "center")
    _draw_broken_edge(axes, board.bottom_mm, span)
    if board.top_mm:
        _draw_broken_edge(axes, board.top_mm, span)
    else:
        # The string begins at the lower edge of the nut.
        nut = Rectangle((span[0], -1.3), span[1] - span[0], 1.3, facecolor=INK, linewidth=0)
        axes.add_patch(nut)


def _draw_broken_edge(axes: Axes, y: float, span: tuple[float, float]) -> None:
    """Draw the edge at which the strings go on beyond the picture."""
    teeth = round((span[1] - span[0]) / 2.0)
    xs = [span[0] + (span[1] - span[0]) * tooth / teeth for tooth in range(teeth + 1)]
    ys = [y + (0.6 if tooth % 2 else -0.6) for tooth in range(teeth + 1)]
    axes.plot(xs, ys, color=INK, linewidth=0.6, zorder=2)


def _draw_positions(axes: Axes, board: Board) -> None:
    for position, offset in position_places(board).items():
        name = "half pos." if position == 0 else f"{ordinal(position)} pos."
        y = stop_distance_mm(board.instrument, offset)
        _write(axes, -8.2, y, name, _POSITION_MM, "right")


# ── fingers ─────────────────────────────────────────────────────────────────────────────────────


def _draw_joins(axes: Axes, board: Board, radius_mm: float) -> None:
    for low, high in close(board):
        x, width = _STRING_MM * low.stop.string, 1.1 * radius_mm
        top, bottom = board.from_nut_mm(low), board.from_nut_mm(high)
        join = Rectangle((x - width / 2, top), width, bottom - top, zorder=2)
        hollow = low.implied or high.implied
        join.set(facecolor=PAPER if hollow else INK, edgecolor=INK, linewidth=0.9)
        axes.add_patch(join)


def _draw_open_strings(axes: Axes, board: Board) -> None:
    for spot in board.spots:
        if not spot.stop.finger:
            x, y = _STRING_MM * spot.stop.string, board.top_mm - 4.2
            _draw_finger(axes, x, y, replace(spot, implied=True, check=""), 1.9)


def _draw_fingers(axes: Axes, board: Board, radius_mm: float) -> None:
    lying = across(board)
    for low, high in lying.items():
        both = replace(low, implied=low.implied and high.implied, check=low.check or high.check)
        x = _STRING_MM * low.stop.string
        _draw_finger(axes, x, board.from_nut_mm(low), both, radius_mm, _STRING_MM)
    for spot in board.fingers:
        if spot not in lying and spot not in lying.values():
            x = _across_mm(board, spot, radius_mm)
            _draw_finger(axes, x, board.from_nut_mm(spot), spot, radius_mm)


def _across_mm(board: Board, spot: Spot, radius_mm: float) -> float:
    """Place across the picture, mm; two fingers that meet at one place stand side by side.

    The later one is on the left, where the arrow that brings it ends.
    """
    here = _meeting(board, spot)
    aside = ((len(here) - 1) / 2 - here.index(spot)) * 2.2 * radius_mm
    return _STRING_MM * spot.stop.string + aside


def _meeting(board: Board, spot: Spot) -> list[Spot]:
    """Fingers for the place of a spot, in the order given: several where the hand moves."""
    return [one for one in board.on(spot.stop.string) if one.stop.offset == spot.stop.offset]


def _draw_finger(
    axes: Axes, x: float, y: float, spot: Spot, radius_mm: float, length_mm: float = 0.0
) -> None:
    if spot.check:
        ring = _outline(x, y, _RING * radius_mm, length_mm)
        ring.set(facecolor=PAPER, edgecolor=INK, linewidth=0.8, zorder=3)
        axes.add_patch(ring)
    finger = _outline(x, y, radius_mm, length_mm)
    finger.set(facecolor=PAPER if spot.implied else INK, edgecolor=INK, linewidth=1.1, zorder=4)
    axes.add_patch(finger)
    ink = INK if spot.implied else PAPER
    size_mm = 1.2 * radius_mm
    _write(axes, x + length_mm / 2, y, str(spot.stop.finger), size_mm, "center", ink=ink)


def _outline(x: float, y: float, radius_mm: float, length_mm: float) -> Patch:
    """Outline of a fingertip, or of a finger that lies across strings for a length."""
    if not length_mm:
        return Circle((x, y), radius_mm)
    turns = [math.radians(turn) for turn in range(90, 451, 6)]
    points = [
        (x + radius_mm * math.cos(turn) + (length_mm if turn > 1.5 * math.pi else 0.0),
         y + radius_mm * math.sin(turn))
        for turn in turns
    ]  # fmt: skip
    return Polygon(points)


def _draw_arrows(axes: Axes, board: Board, radius_mm: float) -> None:
    """Draw the moves; where a whole hand moves, the first of its fingers stands for all."""
    drawn: list[tuple[Stop, float, float]] = []
    for here, there in moves(board):
        start, end = board.from_nut_mm(here), board.from_nut_mm(there)
        low, high = sorted((start, end))
        on_string = [arrow for arrow in drawn if arrow[0].string == here.stop.string]
        if all(_clear(stop, here.stop, low - b, a - high) for stop, a, b in on_string):
            drawn.append((here.stop, low, high))
            beside = max(len(_meeting(board, spot)) for spot in board.on(here.stop.string))
            x = _STRING_MM * here.stop.string - (0.6 + 1.1 * beside) * radius_mm
            _draw_arrow(axes, x, start, end)


def _clear(drawn: Stop, new: Stop, below_mm: float, above_mm: float) -> bool:
    """Tell whether two arrows lie apart; those of one finger may touch end to end."""
    apart = max(below_mm, above_mm)
    return apart > 0 or (apart == 0 and drawn.finger == new.finger)


def _draw_arrow(axes: Axes, x: float, start: float, end: float) -> None:
    head = min(2.6, abs(end - start) / 2)
    back = end - head if end > start else end + head
    axes.vlines(x, min(start, back), max(start, back), color=INK, linewidth=1.1, zorder=5)
    points = ((x, end), (x - 0.36 * head, back), (x + 0.36 * head, back))
    axes.add_patch(Polygon(points, facecolor=INK, linewidth=0, zorder=5))


# ── letters and figures ─────────────────────────────────────────────────────────────────────────


def _write(
    axes: Axes, x: float, y: float, words: str, size_mm: float, side: str, ink: str = INK,
    on_paper: bool = False,
) -> None:  # fmt: skip
    """Write words, in height centred on a place; on a slip of paper where lines would cross."""
    text = axes.text(
        x, y + _CAPITAL * size_mm / 2, words, fontsize=_PT * size_mm, ha=side, va="baseline",
        color=ink, zorder=6,
    )  # fmt: skip
    if on_paper:
        text.set_bbox({"facecolor": PAPER, "edgecolor": "none", "pad": 0.6})


def _write_names(axes: Axes, board: Board, radius_mm: float, names: Mapping[Spot, str]) -> None:
    """Write the names of the notes to the right of the fingers; a bar has one at either end."""
    lying = across(board)
    size_mm = min(_LETTER_MM, 1.2 * radius_mm)
    for spot in board.fingers:
        here = _meeting(board, spot)
        name = " ".join(dict.fromkeys(names[one] for one in here))
        x, y = _beside_mm(board, spot, radius_mm)
        if spot in lying:
            x = 2 * _STRING_MM * spot.stop.string - x
        if spot == here[0]:
            side = "right" if spot in lying else "left"
            _write(axes, x, y, name, size_mm, side, on_paper=True)


def _beside_mm(board: Board, spot: Spot, radius_mm: float) -> tuple[float, float]:
    x = _across_mm(board, _meeting(board, spot)[0], radius_mm) + _RING * radius_mm + 0.7
    return x, board.from_nut_mm(spot)


def _write_checks(axes: Axes, board: Board, radius_mm: float) -> None:
    """Write what a note is tested for under its name, where there is room before the next."""
    room = {low: apart for low, _, apart in distances(board)}
    for spot in board.fingers:
        if spot.check and room.get(spot, _CHECK_MM) >= _CHECK_MM and spot not in across(board):
            x, y = _beside_mm(board, spot, radius_mm)
            _write(axes, x, y + 2.6, spot.check, _SMALL_MM, "left", on_paper=True)


def _write_distances(axes: Axes, board: Board, radius_mm: float) -> None:
    for low, high, apart in distances(board):
        x = _STRING_MM * low.stop.string + 0.55 * radius_mm + 0.9
        y = (board.from_nut_mm(low) + board.from_nut_mm(high)) / 2
        size_mm = min(_SMALL_MM, 0.3 * apart)
        _write(axes, x, y, f"{apart:.0f} mm", size_mm, "left", on_paper=True)


# ── true size ───────────────────────────────────────────────────────────────────────────────────


def _at_true_size(svg: str, figure: Figure) -> str:
    """Give the picture its size in mm, its letters a common face, and its inks in plain words."""
    width_mm, height_mm = (25.4 * float(inches) for inches in figure.get_size_inches())
    svg = re.sub(r"var\(--\w+, (#\w+)\)", r"\1", svg)
    svg = re.sub(r"'DejaVu Sans'[^;\"]*", _FONTS, svg)
    size = f'<svg class="fingerboard" width="{width_mm:.3f}mm" height="{height_mm:.3f}mm" '
    return svg.replace("<svg ", size, 1).replace("</desc>", f"</desc>{_PAGE_INKS}", 1)


_PAGE_INKS = (
    "<style>@supports (color: var(--ink)) {"
    + "".join(
        f'.fingerboard [style*="{paint}: {ink}"] {{ {paint}: var({name}, {ink}) !important }}'
        for ink, name in ((INK, "--ink"), (FAINT, "--faint"), (PAPER, "--paper"))
        for paint in ("fill", "stroke")
    )
    + "}</style>"
)
"""A typesetter skips the whole rule; a browser draws in the inks of the page around the picture."""
