"""What a complete fingering costs, event by event and term by term.

States, and steps, that come again are itemised once.
"""

from collections.abc import Mapping, Sequence
from itertools import groupby

import numpy as np
from numpy.typing import NDArray

from scoretools.fingering.cost import POINT, note_items, step_items
from scoretools.fingering.moves import Columns, FingerMoves, distinct, finger_moves, joined
from scoretools.fingering.states import Turn
from scoretools.fingering.step_terms import Pairs
from scoretools.fingering.trellis import Size, Trellis

__all__ = ["items_along"]

FloatArray = NDArray[np.float64]
Numbers = NDArray[np.intp]

Items = tuple[tuple[str, float], ...]


def items_along(
    trellis: Trellis, path: Sequence[int], prices: Mapping[str, FloatArray]
) -> list[Items]:
    """Itemise a complete fingering.

    Parameters
    ----------
    path
        One row for each moment.
    prices
        Prices of the second pass.

    Returns
    -------
    list
        For each moment its cost points by term.
    """
    first = np.array([kind.rows[0] for kind in trellis.kinds])
    state = first[[moment.kind.number for moment in trellis.moments]] + np.array(path)
    notes = _of_notes(trellis, state)
    steps = _of_steps(trellis, state)
    if not prices:
        return [note + step for note, step in zip(notes, steps, strict=True)]
    habits = _of_habits(trellis, state, prices)
    return [a + note + step for a, note, step in zip(habits, notes, steps, strict=True)]


def _of_habits(trellis: Trellis, state: Numbers, prices: Mapping[str, FloatArray]) -> list[Items]:
    finger = trellis.first_finger[state]
    every = np.arange(len(state))
    return _listed({name: points[every, finger] for name, points in prices.items()}, len(state))


def _of_notes(trellis: Trellis, state: Numbers) -> list[Items]:
    seconds = np.array([moment.seconds for moment in trellis.moments])
    lengths, length = np.unique(seconds, return_inverse=True)
    codes = state * len(lengths) + length.reshape(-1)
    found, which = distinct(codes, trellis.count * len(lengths))
    states, length = np.divmod(found, len(lengths))
    listed: list[Items] = []
    for size, rows in _runs(trellis, states):
        chosen = size.states.rows(states[rows] - size.first)
        items = note_items(trellis.hand, trellis.weights, chosen, lengths[length[rows]])
        listed += _listed(items, len(chosen))
    return [listed[place] for place in which.tolist()]


def _runs(trellis: Trellis, states: Numbers) -> list[tuple[Size, slice]]:
    """Cut states, in order, into those of each size."""
    bounds = np.searchsorted(states, [size.first for size in trellis.sizes]).tolist()
    ends = [*bounds[1:], len(states)]
    return [
        (size, slice(start, end))
        for size, start, end in zip(trellis.sizes, bounds, ends, strict=True)
        if end > start
    ]


def _of_steps(trellis: Trellis, state: Numbers) -> list[Items]:
    if len(state) == 1:
        return [()]
    contexts = {moment.context: 0 for moment in trellis.moments[1:]}
    contexts = {context: number for number, context in enumerate(contexts)}
    context = np.array([contexts[moment.context] for moment in trellis.moments[1:]])
    size = np.searchsorted([size.first for size in trellis.sizes], state, side="right") - 1
    codes = size[:-1] * len(trellis.sizes) + size[1:]
    for more, count in ((state[:-1], trellis.count), (state[1:], trellis.count)):
        codes = codes * count + more
    found, which = np.unique(codes * len(contexts) + context, return_inverse=True)
    found, context = np.divmod(found, len(contexts))
    sizes, states = np.divmod(found, trellis.count**2)
    before, after = np.divmod(states, trellis.count)
    pairs = _pairs(trellis, sizes, before, after)
    different = list(contexts)
    items = step_items(trellis.weights, pairs, [different[one] for one in context.tolist()])
    listed = _listed(items, len(found))
    return [(), *(listed[place] for place in which.reshape(-1).tolist())]


def _pairs(trellis: Trellis, sizes: Numbers, before: Numbers, after: Numbers) -> Pairs:
    """Pair states, in order of their sizes."""
    groups: list[FingerMoves] = []
    hands: list[tuple[NDArray[np.int16], ...]] = []
    start = 0
    for number, alike in groupby(sizes.tolist()):
        rows = slice(start, start + len(list(alike)))
        start = rows.stop
        one, other = (trellis.sizes[i] for i in divmod(number, len(trellis.sizes)))
        a, b = before[rows] - one.first, after[rows] - other.first
        kept = np.zeros((one.pitch.shape[1], other.pitch.shape[1]), dtype=np.bool_)
        groups.append(finger_moves(_columns(one, a), _columns(other, b), kept, trellis.hand.shapes))
        states = one.states, other.states
        hands.append((states[0].home[a], states[1].home[b], states[0].named[a], states[1].named[b]))
    home_before, home_after, *positions = (np.concatenate(one) for one in zip(*hands, strict=True))
    turn = Turn.between(*positions)
    return Pairs(trellis.hand, (home_before, home_after), turn, joined(groups))


def _columns(size: Size, rows: Numbers) -> Columns:
    states = size.states
    return Columns(states.string[rows], states.finger[rows], states.offset[rows], size.pitch[rows])


def _listed(items: Mapping[str, FloatArray], count: int) -> list[Items]:
    """List by row what counts, to three places."""
    listed: list[list[tuple[str, float]]] = [[] for _ in range(count)]
    for name, points in items.items():
        places = np.flatnonzero(np.abs(points) * POINT >= 0.5)
        values = points[places].tolist()
        known = {value: (name, round(value, 3)) for value in set(values)}
        for place, value in zip(places.tolist(), values, strict=True):
            listed[place].append(known[value])
    return [tuple(one) for one in listed]
