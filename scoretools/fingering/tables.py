"""Tables of step costs, made in bulk.

All steps of a stretch of music that have no table yet are priced together, as one long list of
pairs of states, then cut into tables. Tables are kept while there is room, so that music of any
length runs in bounded memory.
"""

from collections.abc import Callable, Iterable, Iterator
from itertools import groupby

import numpy as np
from numpy.typing import NDArray

from scoretools.fingering.cost import Context, StepCosts, step_costs
from scoretools.fingering.states import IntArray, States, stacked
from scoretools.fingering.step_terms import Pairs
from scoretools.fingering.trellis import Kind, Trellis

__all__ = ["Table", "step_tables"]

CostArray = NDArray[np.int64] | NDArray[np.int32]

Table = Callable[[int], CostArray]
"""Costs of the steps that lead to the moment of that index (from 1): (n, m), states of the moment
before by states of this one, cost units."""

_STRETCH = 2048
"""Moments looked at together."""
_PAIRS_AT_ONCE = 400_000
"""Pairs of states priced in one go."""
_PAIRS_KEPT = 8_000_000
"""Pairs of states kept priced."""
_ENTRIES_KEPT = 40_000_000
"""Costs kept ready in their context, over all tables."""

_Way = tuple[Kind, Kind, tuple[tuple[int, int], ...]]
"""Two kinds of event in a row, and the columns that are one held note."""


def step_tables(trellis: Trellis) -> Table:
    """Give access to the step tables of a graph."""
    priced: dict[_Way, StepCosts] = {}
    numbers: dict[tuple[_Way, Context], int] = {}
    number_of = [-1] + [
        numbers.setdefault((_way(trellis, index), trellis.moments[index].context), len(numbers))
        for index in range(1, len(trellis.moments))
    ]
    tables: list[CostArray | None] = [None] * len(numbers)
    room = _ENTRIES_KEPT

    def leading_to(index: int) -> CostArray:
        nonlocal room
        table = tables[number_of[index]]
        if table is None:
            way = _way(trellis, index)
            if way not in priced:
                _price_stretch(trellis, index, priced)
            table = priced[way].within(trellis.moments[index].context)
            if room > 0:
                room -= table.size
                tables[number_of[index]] = table
        return table

    return leading_to


def _way(trellis: Trellis, index: int) -> _Way:
    after = trellis.moments[index]
    return trellis.moments[index - 1].kind, after.kind, after.kept


def _price_stretch(trellis: Trellis, index: int, priced: dict[_Way, StepCosts]) -> None:
    first = max(1, index // _STRETCH * _STRETCH)
    last = min(first + _STRETCH, len(trellis.moments))
    if sum(costs.always.size for costs in priced.values()) > _PAIRS_KEPT:
        priced.clear()
    missing = {way for way in (_way(trellis, i) for i in range(first, last)) if way not in priced}
    for group in _batches(sorted(missing, key=_like)):
        priced.update(zip(group, _price(trellis, group), strict=True))


def _like(way: _Way) -> tuple[int, int, tuple[tuple[int, int], ...], int, int]:
    before, after, kept = way
    return len(before.pitch), len(after.pitch), kept, before.number, after.number


def _batches(ways: Iterable[_Way]) -> Iterator[list[_Way]]:
    """Cut ways into batches of one number of columns and a bounded number of pairs."""
    for _, alike in groupby(ways, key=lambda way: _like(way)[:3]):
        batch: list[_Way] = []
        pairs = 0
        for way in alike:
            batch.append(way)
            pairs += len(way[0].states) * len(way[1].states)
            if pairs > _PAIRS_AT_ONCE:
                yield batch
                batch, pairs = [], 0
        if batch:
            yield batch


def _price(trellis: Trellis, ways: list[_Way]) -> Iterator[StepCosts]:
    """Price all pairs of states of some ways, as one long list, and cut it."""
    before = _Pile([before for before, _, _ in ways])
    after = _Pile([after for _, after, _ in ways])
    sizes = [(len(a.states), len(b.states)) for a, b, _ in ways]
    rows_before = [
        np.repeat(np.arange(base, base + n), m)
        for base, (n, m) in zip(before.bases, sizes, strict=True)
    ]
    rows_after = [
        np.tile(np.arange(base, base + m), n)
        for base, (n, m) in zip(after.bases, sizes, strict=True)
    ]
    from_rows, to_rows = np.concatenate(rows_before), np.concatenate(rows_after)
    kept = np.zeros((before.pitch.shape[1], after.pitch.shape[1]), dtype=np.bool_)
    for pair in ways[0][2]:
        kept[pair] = True
    pairs = Pairs.between(
        trellis.hand,
        (before.states(from_rows), after.states(to_rows)),
        (before.pitch[from_rows], after.pitch[to_rows]),
        kept,
    )
    costs = step_costs(trellis.weights, pairs)
    start = 0
    for n, m in sizes:
        yield costs.cut(slice(start, start + n * m), (n, m))
        start += n * m


class _Pile:
    """States of several kinds on one pile, each kind once."""

    def __init__(self, kinds: list[Kind]) -> None:
        unique = list(dict.fromkeys(kinds))
        sizes = [len(kind.states) for kind in unique]
        starts = dict(zip(unique, np.cumsum([0, *sizes[:-1]]).tolist(), strict=True))
        self.bases = [starts[kind] for kind in kinds]
        self._all = stacked([kind.states for kind in unique])
        self.pitch: IntArray = np.concatenate(
            [
                np.broadcast_to(kind.pitch, (size, len(kind.pitch)))
                for kind, size in zip(unique, sizes, strict=True)
            ]
        )

    def states(self, rows: NDArray[np.int64]) -> States:
        return self._all.rows(rows)
