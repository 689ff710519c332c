"""What the fingers do on the way from some stops to others, wherever the hand goes meanwhile.

Step terms read these facts, and where the hand was and will be, and nothing else of the stops: so
steps that agree in them cost the same, and are priced once (see `scoretools.fingering.tables`).
"""

from collections.abc import Sequence
from dataclasses import dataclass, fields
from functools import cache
from itertools import combinations
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from scoretools.fingering.rows import LET_GO
from scoretools.hand import GAP_LETTERS

__all__ = ["Columns", "FingerMoves", "distinct", "distinct_moves", "finger_moves", "joined"]

BoolArray = NDArray[np.bool_]
SmallArray = NDArray[np.integer[Any]]
Numbers = NDArray[np.intp]


class Columns(NamedTuple):
    """Stops, one set a row, one note a column: arrays (n, k)."""

    string: SmallArray
    """Strings from the lowest, 0."""
    finger: SmallArray
    """Fingers, 0 = open, `LET_GO` = released."""
    offset: SmallArray
    """Semitones above the open string."""
    pitch: SmallArray
    """MIDI numbers; −1 for held notes, which are not struck again."""


@dataclass(frozen=True, slots=True, eq=False)
class FingerMoves:
    """Facts about the way from some stops to others; arrays (n,), one step a row.

    “Guided”, “hops” and the like say what holds for any pair of notes, one before and one after.
    """

    crossed: SmallArray
    """Strings the bow crosses at least."""
    highest_before: SmallArray
    """The highest finger down before; 0 where none is."""
    highest_after: SmallArray
    """The highest finger down after; 0 where none is."""
    strain: SmallArray
    """Semitones by which two fingers on one string leave the ordinary spacing (see `_strain`)."""
    guided: BoolArray
    """Whether one finger stays on its string."""
    hops: BoolArray
    """Whether one finger goes to another string, a fifth's roll apart."""
    rolls: BoolArray
    """Whether one finger lies at one place on neighbouring strings, before and after."""
    slides: SmallArray
    """How one finger moves along its string: 0 not at all, 1 by a half step, 2 by more."""
    unknown: BoolArray
    """Whether two fingers of one string take a spacing that the player does not know yet; never
    where the player lists no shapes."""
    out_of_order: BoolArray
    """Whether a higher finger lies at or below a lower one of its string."""
    refingers: BoolArray
    """Whether a repeated note changes its string or finger."""
    tears: BoolArray
    """Whether a note that sounds on would change its string, finger or place."""
    falls: BoolArray
    """Whether the top line goes down."""
    in_chord: BoolArray
    """Whether several notes sound before or after."""

    def rows(self, rows: Numbers) -> "FingerMoves":
        """Take some rows, in the order given."""
        return FingerMoves(*(getattr(self, field.name)[rows] for field in fields(self)))


def finger_moves(
    before: Columns, after: Columns, kept: BoolArray, shapes: tuple[str, ...]
) -> FingerMoves:
    """Work out the facts, row by row.

    Parameters
    ----------
    before, after
        Stops (n, k) before and (n, l) after.
    kept
        (k, l) whether a column after is the same held note as a column before.
    shapes
        Shapes the player knows, such as ``W-H-W``; none where that is not asked.
    """
    a = Columns(*(column[:, :, None] for column in before))
    b = Columns(*(column[:, None, :] for column in after))
    finger_rise, rise = b.finger - a.finger, b.offset - a.offset
    apart = np.abs(b.string - a.string)
    one_string, other_place, other_finger = apart == 0, rise != 0, finger_rise != 0
    both = (a.finger > 0) & (b.finger > 0)
    same_finger, spaced = both & ~other_finger, both & one_string & other_finger
    fifth = (apart == 1) & ~other_place
    same_pitch = (a.pitch == b.pitch) & (a.pitch >= 0)
    distance = np.where(finger_rise < 0, -rise, rise)
    moved = other_finger | ~one_string | other_place
    return FingerMoves(
        crossed=_crossed(a, b, apart),
        highest_before=_most(np.maximum(a.finger, 0)),
        highest_after=_most(np.maximum(b.finger, 0)),
        strain=_most(_strain(np.abs(finger_rise), distance) * spaced),
        guided=_any(same_finger & one_string),
        hops=_any(same_finger & ~one_string & ~fifth),
        rolls=_any(same_finger & fifth),
        slides=_most(np.minimum(np.abs(rise), 2) * (same_finger & one_string)),
        unknown=_any(spaced & ~_known(a.finger, b.finger, distance, shapes)),
        out_of_order=_any(spaced & (distance <= 0)),
        refingers=_any(same_pitch & (other_finger | ~one_string)),
        tears=_any(kept & (b.finger != LET_GO) & moved),
        falls=_most(b.pitch) < _most(a.pitch),
        in_chord=np.full(len(rise), rise.shape[1:] != (1, 1)),
    )


def _crossed(a: Columns, b: Columns, apart: SmallArray) -> SmallArray:
    sounding = (a.finger != LET_GO) & (b.finger != LET_GO)
    nearest = -_most(-np.where(sounding, apart, _SILENT))
    return np.where(nearest == _SILENT, 0, nearest)


_SILENT = np.int8(99)
"""Stands for strings apart where a note is let go."""


def _strain(apart: SmallArray, distance: SmallArray) -> SmallArray:
    """Semitones by which two fingers on one string leave the ordinary spacing.

    Fingers that are neighbours lie one or two semitones apart, 1 and 3 or 2 and 4 three or four,
    1 and 4 five.

    Parameters
    ----------
    apart
        By how many fingers they differ.
    distance
        Semitones by which the higher finger lies above the lower one.
    """
    less, more = _LEAST[apart] - distance, distance - _MOST[apart]
    return np.asarray(np.maximum(less, 0) + np.maximum(more, 0))


_LEAST = np.array([0, 1, 3, 5, 0, 0], dtype=np.int8)
_MOST = np.array([0, 2, 4, 5, 0, 0], dtype=np.int8)


def _known(
    before: SmallArray, after: SmallArray, distance: SmallArray, shapes: tuple[str, ...]
) -> BoolArray:
    """Tell which spacings of two fingers, 1 to 4, some shape has."""
    if not shapes:
        return np.ones(1, dtype=np.bool_)
    within = (distance > 0) & (distance < _WIDEST)
    low, high = np.maximum(np.minimum(before, after), 0), np.maximum(np.maximum(before, after), 0)
    return np.asarray(_known_spacings(shapes)[low, high, np.where(within, distance, 0)])


_WIDEST = 10
"""Semitones; more than any hand spans on one string."""


@cache
def _known_spacings(shapes: tuple[str, ...]) -> BoolArray:
    """Whether some shape puts two fingers so far apart: lower finger, higher one, semitones."""
    table = np.zeros((5, 5, _WIDEST), dtype=np.bool_)
    for shape in shapes:
        places = np.cumsum([0, *(_GAPS[letter] for letter in shape.split("-"))])
        for low, high in combinations(range(4), 2):
            table[low + 1, high + 1, places[high] - places[low]] = True
    return table


_GAPS = {letter: semitones for semitones, letter in GAP_LETTERS.items()}


def _any(found: BoolArray) -> BoolArray:
    if found.shape[1:] == (1, 1):
        return found[:, 0, 0]
    return np.asarray(found.any(axis=(1, 2)))


def _most(values: SmallArray) -> SmallArray:
    if values.shape[1:] == (1, 1):
        return values[:, 0, 0]
    return np.asarray(values.max(axis=(1, 2)))


# ── each once ───────────────────────────────────────────────────────────────────────────────────


def distinct(codes: Numbers, size: int) -> tuple[Numbers, Numbers]:
    """Number different codes.

    Parameters
    ----------
    codes
        Any number of codes, 0 to `size` - 1.

    Returns
    -------
    array, array
        The different codes in order, and for each of the given ones its place among them.
    """
    if size > _ROOMY * (len(codes) + 1000):
        found, places = np.unique(codes, return_inverse=True)
        return found, places.reshape(-1)
    used = np.zeros(size, dtype=np.bool_)
    used[codes] = True
    found = np.flatnonzero(used)
    number = np.empty(size, dtype=np.intp)
    number[found] = np.arange(len(found))
    return found, number[codes]


_ROOMY = 16
"""Possible codes for each one given beyond which they are sorted rather than looked up."""


def joined(groups: Sequence[FingerMoves]) -> FingerMoves:
    """Put groups of moves one below the other."""
    return FingerMoves(
        *(
            np.concatenate([getattr(group, field.name) for group in groups])
            for field in fields(FingerMoves)
        )
    )


def distinct_moves(groups: Sequence[FingerMoves]) -> tuple[FingerMoves, Numbers]:
    """Find the different moves.

    Parameters
    ----------
    groups
        Moves, in any number of groups.

    Returns
    -------
    FingerMoves, (n,) array
        The different ones, and for each of the given ones, in order, its place among them.
    """
    every = joined(groups)
    facts = [getattr(every, field.name) for field in fields(FingerMoves)]
    codes, size = np.zeros(len(facts[0]), dtype=np.intp), 1
    for fact in facts:
        values = int(fact.max()) + 1
        if values > 1:
            codes = codes * values + fact
            size *= values
    found, places = distinct(codes, size)
    first = np.empty(len(found), dtype=np.intp)
    first[places] = np.arange(len(places))
    return every.rows(first), places
