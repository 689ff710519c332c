"""Second pass: like is fingered like, within a part.

The first pass looks at each note and its neighbours only. An edition, and a player, finger a
figure that comes back as before, carry its fingers along when it comes at another pitch, and have
their way with open strings. So the second pass makes a note dearer on a finger that such notes do
not take elsewhere in the part: in the printed marks, and, for a figure that comes back, in the
first pass too. The search is exact in each pass.

A *figure* is a note with the two notes before it and the two after it. Only notes struck alone
count. Common practice, no published source.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scoretools.fingering.cost import POINT
from scoretools.fingering.trellis import Moment, Trellis

__all__ = ["HABIT_TERMS", "HabitTerm", "habit_units", "habits"]

IntArray = NDArray[np.int64]
FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

_FINGERS = 5
"""0 to 4."""

_NOTHING = -1000
"""Stands for a pitch where there is no single note."""


@dataclass(frozen=True, slots=True)
class HabitTerm:
    """A price on a finger that such notes do not take elsewhere."""

    name: str
    """Name, as in ``weights.toml`` and in explanations."""
    printed: bool
    """Whether only notes with a printed finger or open string count as elsewhere."""
    doubt: float
    """Notes that must be found elsewhere for half of the weight to count."""
    key: Callable[[IntArray, IntArray], IntArray]
    """From pitches and open strings: (n, m) rows that are equal for notes alike; a row that holds
    `_NOTHING` is like no other."""
    reason: str
    """Why players keep to it."""


def _around(pitch: IntArray) -> IntArray:
    """Lay the two pitches before and the two after beside each pitch: (n, 5)."""
    padded = np.pad(pitch, 2, constant_values=_NOTHING)
    return np.asarray(np.lib.stride_tricks.sliding_window_view(padded, 5))


def _figure(pitch: IntArray, strings: IntArray) -> IntArray:
    return _around(pitch)


def _sequence(pitch: IntArray, strings: IntArray) -> IntArray:
    around = _around(pitch)
    return np.where(around == _NOTHING, _NOTHING, around - pitch[:, None])


def _turn_at_an_open_string(pitch: IntArray, strings: IntArray) -> IntArray:
    before, after = _around(pitch)[:, 1], _around(pitch)[:, 3]
    counts = np.isin(pitch, strings) & (before != _NOTHING) & (after != _NOTHING)
    turn = np.stack([np.sign(before - pitch), np.sign(after - pitch)], axis=1)
    return np.where(counts[:, None], turn, _NOTHING)


HABIT_TERMS: tuple[HabitTerm, ...] = tuple(
    HabitTerm(*row)
    for row in (
        ("figure as printed elsewhere", True, 1.0, _figure,
         "an edition marks a figure once and means it wherever it comes back"),
        ("sequence as printed elsewhere", True, 1.0, _sequence,
         "a figure at another pitch keeps its fingers"),
        ("open string as printed elsewhere", True, 4.0, _turn_at_an_open_string,
         "an edition that takes the fourth finger for the open string does so throughout"),
        ("figure as before", False, 0.0, _figure,
         "a figure that comes back is played as before"),
    )
)  # fmt: skip
"""Prices of the second pass; the unit of each is the share of such notes on another finger."""


def habits(trellis: Trellis, path: Sequence[int]) -> Mapping[str, FloatArray]:
    """Price the fingers of every note by what such notes take elsewhere.

    Parameters
    ----------
    trellis
        The graph of a part.
    path
        The first pass: one row for each moment.

    Returns
    -------
    mapping of (n, 5) arrays
        For each term that has something to say, points by moment and finger.
    """
    pitch, finger, printed = _chosen(trellis.moments, path)
    strings = np.array([string.midi for string in trellis.hand.instrument.strings])
    prices: dict[str, FloatArray] = {}
    for term in HABIT_TERMS:
        weight = trellis.weights.habit[term.name]
        counted = (pitch != _NOTHING) & (printed | (not term.printed))
        if weight and counted.any():
            share = _share_on_other_fingers(term, pitch, strings, finger, counted)
            if share.any():
                prices[term.name] = weight * share
    return prices


def habit_units(prices: Mapping[str, FloatArray]) -> IntArray:
    """Add up the prices of `habits`: (n, 5) cost units by moment and finger.

    Parameters
    ----------
    prices
        At least one term's.
    """
    units = [np.rint(points * POINT).astype(np.int64) for points in prices.values()]
    return np.asarray(np.stack(units).sum(axis=0))


def _chosen(moments: Sequence[Moment], path: Sequence[int]) -> tuple[IntArray, IntArray, BoolArray]:
    """Pitch of each note struck alone, its finger in the first pass, and whether it is printed."""
    alone = [len(moment.kind.pitch) == 1 for moment in moments]
    pitch = [
        int(moment.kind.pitch[0]) if single else _NOTHING
        for moment, single in zip(moments, alone, strict=True)
    ]
    finger = [
        max(int(moment.kind.states.finger[row, 0]), 0)
        for moment, row in zip(moments, path, strict=True)
    ]
    printed = [
        any(mark.fingers or mark.open_string for mark in moment.kind.marks) for moment in moments
    ]
    return np.array(pitch), np.array(finger), np.array(printed, dtype=np.bool_)


def _share_on_other_fingers(
    term: HabitTerm, pitch: IntArray, strings: IntArray, finger: IntArray, counted: BoolArray
) -> FloatArray:
    """Share of the notes alike that take another finger, the note itself left out: (n, 5)."""
    keys = term.key(pitch, strings)
    group = _groups(keys)
    alike = group[counted] * _FINGERS + finger[counted]
    count = (int(group.max()) + 1) * _FINGERS
    tally = np.bincount(alike, minlength=count).astype(np.float64).reshape(-1, _FINGERS)
    elsewhere = tally[group]
    elsewhere[counted, finger[counted]] -= 1
    found = elsewhere.sum(axis=1, keepdims=True)
    share = (found - elsewhere) / np.maximum(found + term.doubt, 1)
    share[(keys == _NOTHING).any(axis=1)] = 0
    return np.asarray(share)


def _groups(keys: IntArray) -> IntArray:
    """Number rows so that equal ones have one number."""
    codes = np.zeros(len(keys), dtype=np.int64)
    for column in keys.T:
        codes = codes * (int(column.max()) - int(column.min()) + 1) + (column - column.min())
    return np.unique(codes, return_inverse=True)[1].reshape(-1)
