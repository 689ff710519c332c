"""Tables of step costs, made in bulk.

What a step costs depends on where the hand was and will be, and on what the fingers do, which
depends on the stops alone. An event has far fewer sets of stops than states, and a part far fewer
different steps than pairs of states. So the moves of the fingers are worked out for sets of stops,
every different step is priced once, and a table holds the price of each pair of states by looking
up its step. Tables are kept while there is room, so that music of any length runs in bounded
memory.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise

import numpy as np
from numpy.typing import NDArray

from scoretools.fingering.cost import Context, StepCosts, step_costs
from scoretools.fingering.moves import Columns, FingerMoves, distinct, distinct_moves, finger_moves
from scoretools.fingering.states import Turn
from scoretools.fingering.step_terms import Pairs
from scoretools.fingering.trellis import Kind, Size, Trellis

__all__ = ["Table", "step_tables"]

CostArray = NDArray[np.int64]
Numbers = NDArray[np.intp]

Table = Callable[[int], CostArray]
"""Costs of the steps that lead to the moment of that index (from 1): (n, m), states of the moment
before by states of this one, cost units."""

_STRETCH = 2048
"""Moments looked at together."""
_PAIRS_AT_ONCE = 2_000_000
"""Pairs of states priced in one go."""
_PAIRS_KEPT = 8_000_000
"""Pairs of states kept priced."""
_ENTRIES_KEPT = 20_000_000
"""Costs kept ready in their context, over all tables."""

_Kept = tuple[tuple[int, int], ...]
_Way = tuple[Kind, Kind, _Kept]
"""Two kinds of event in a row, and the columns that are one held note."""


@dataclass(frozen=True, slots=True, eq=False)
class _Prices:
    """Different steps, and their prices in the contexts asked for so far."""

    costs: StepCosts
    within: dict[Context, CostArray]

    def units(self, context: Context) -> CostArray:
        units = self.within.get(context)
        if units is None:
            units = self.within[context] = self.costs.within(context).astype(np.int64)
        return units


_Priced = tuple[_Prices, Numbers]
"""Prices, and which of them each pair of states pays: (n, m)."""


def step_tables(trellis: Trellis) -> Table:
    """Give access to the step tables of a graph."""
    ways = _ways(trellis)
    numbers: dict[tuple[_Way, Context], int] = {}
    number_of = [-1] + [
        numbers.setdefault((way, moment.context), len(numbers))
        for way, moment in zip(ways, trellis.moments[1:], strict=True)
    ]
    tables: list[CostArray | None] = [None] * len(numbers)
    hands = _hands(trellis)
    priced: dict[_Way, _Priced] = {}
    room = _ENTRIES_KEPT

    def leading_to(index: int) -> CostArray:
        nonlocal room
        table = tables[number_of[index]]
        if table is None:
            way = ways[index - 1]
            if way not in priced:
                _price_stretch(trellis, hands, ways, index - 1, priced)
            prices, which = priced[way]
            table = prices.units(trellis.moments[index].context).take(which)
            if room > 0:
                room -= table.size
                tables[number_of[index]] = table
        return table

    return leading_to


def _ways(trellis: Trellis) -> list[_Way]:
    return [(before.kind, after.kind, after.kept) for before, after in pairwise(trellis.moments)]


# ── hands and stops ─────────────────────────────────────────────────────────────────────────────


@dataclass(frozen=True, slots=True, eq=False)
class _Grips:
    """Different sets of stops of a kind: a run of a longer list."""

    columns: Columns
    """The longer list, of all kinds of this size."""
    first: int
    """Where the run begins in it."""
    count: int
    """How many there are."""
    grip: Numbers
    """(n,) place in the run of the stops of each state."""
    hand: Numbers
    """(n,) number of the hand's place in each state."""


@dataclass(frozen=True, slots=True, eq=False)
class _Hands:
    """Places of the hand in a part, the ways between them, and the stops of every kind."""

    home: tuple[NDArray[np.int16], NDArray[np.int16]]
    """Homes before and after of every different way of the hand."""
    turn: Turn
    """How the position changes on each of them."""
    way: Numbers
    """(h, h) number of the way from each place of the hand to each."""
    grips: Mapping[Kind, _Grips]
    """Sets of stops by kind."""

    @property
    def count(self) -> int:
        """How many different ways there are."""
        return len(self.home[0])


_POSITIONS = 64
"""More positions, and more homes, than there are."""


_STOPS = 2**16
"""More numbers than there are stops: string, finger and place, at 8 fingers and 64 places."""


def _hands(trellis: Trellis) -> _Hands:
    codes = np.concatenate(
        [size.states.home.astype(np.intp) * _POSITIONS + size.states.named
         for size in trellis.sizes]
    )  # fmt: skip
    places, hand = distinct(codes, _POSITIONS * _POSITIONS)
    home, position = places // _POSITIONS, places % _POSITIONS
    turn = Turn.between(position[:, None], position)
    ways = (home[:, None] * _POSITIONS + home) * 4 + turn.into_half * 2 + turn.renamed
    found, way = distinct(ways.reshape(-1), 4 * _POSITIONS * _POSITIONS)
    homes = (found // (4 * _POSITIONS)).astype(np.int16), (found // 4 % _POSITIONS).astype(np.int16)
    grips = {kind: grips for size in trellis.sizes for kind, grips in _grips(size, hand)}
    turns = Turn(found % 2 > 0, found // 2 % 2 > 0)
    return _Hands(homes, turns, way.reshape(turn.renamed.shape), grips)


def _grips(size: Size, hand: Numbers) -> Iterator[tuple[Kind, _Grips]]:
    """Find the different sets of stops of each kind of a size."""
    states, kinds = size.states, size.kinds
    kind_of = np.repeat(np.arange(len(kinds)), [len(kind.rows) for kind in kinds])
    found, grip = kind_of, kind_of
    for column in range(states.string.shape[1]):
        stop = (states.string[:, column] * 8 + states.finger[:, column] + 1) * 64
        codes = grip * _STOPS + stop + states.offset[:, column]
        found, grip = distinct(codes.astype(np.intp), len(found) * _STOPS)
    row = np.empty(len(found), dtype=np.intp)
    row[grip] = np.arange(len(grip))
    columns = Columns(
        states.string[row].astype(np.int8),
        states.finger[row].astype(np.int8),
        states.offset[row].astype(np.int8),
        size.pitch[row],
    )
    bounds = np.searchsorted(kind_of[row], np.arange(len(kinds) + 1)).tolist()
    for kind, (start, end) in zip(kinds, pairwise(bounds), strict=True):
        first = kind.rows[0] - size.first
        own = grip[first : first + len(kind.rows)] - start
        yield kind, _Grips(columns, start, end - start, own, hand[kind.rows])


# ── prices ──────────────────────────────────────────────────────────────────────────────────────


def _price_stretch(
    trellis: Trellis, hands: _Hands, ways: list[_Way], index: int, priced: dict[_Way, _Priced]
) -> None:
    """Price all ways of a stretch of music that have no price yet."""
    first = index // _STRETCH * _STRETCH
    if sum(which.size for _, which in priced.values()) > _PAIRS_KEPT:
        priced.clear()
    missing = (way for way in dict.fromkeys(ways[first : first + _STRETCH]) if way not in priced)
    for batch in _batches(sorted(missing, key=_size)):
        _price(trellis, hands, batch, priced)


def _size(way: _Way) -> tuple[int, int, _Kept]:
    before, after, kept = way
    return len(before.pitch), len(after.pitch), kept


def _batches(ways: Iterable[_Way]) -> Iterator[list[_Way]]:
    """Cut ways into batches of a bounded number of pairs."""
    batch: list[_Way] = []
    pairs = 0
    for way in ways:
        batch.append(way)
        pairs += len(way[0].states) * len(way[1].states)
        if pairs > _PAIRS_AT_ONCE:
            yield batch
            batch, pairs = [], 0
    if batch:
        yield batch


def _price(trellis: Trellis, hands: _Hands, ways: list[_Way], priced: dict[_Way, _Priced]) -> None:
    """Price all pairs of states of some ways: find the different steps, and price those."""
    grips = [(hands.grips[before], hands.grips[after]) for before, after, _ in ways]
    moves, number = distinct_moves(
        [
            _moves_of(trellis, list(group), size[2])
            for size, group in groupby(zip(ways, grips, strict=True), key=lambda one: _size(one[0]))
        ]
    )
    codes = _step_codes(hands, grips, number)
    found, which = distinct(codes, hands.count * len(moves.crossed))
    move, hand = np.divmod(found, hands.count)
    homes = hands.home[0][hand], hands.home[1][hand]
    pairs = Pairs(trellis.hand, homes, hands.turn.rows(hand), moves.rows(move))
    prices = _Prices(step_costs(trellis.weights, pairs), {})
    start = 0
    for way in ways:
        shape = len(way[0].states), len(way[1].states)
        end = start + shape[0] * shape[1]
        priced[way] = prices, which[start:end].reshape(shape)
        start = end


def _moves_of(
    trellis: Trellis, ways: Sequence[tuple[_Way, tuple[_Grips, _Grips]]], kept: _Kept
) -> FingerMoves:
    """Work out the moves of the fingers for all pairs of sets of stops of ways of one size."""
    before, after = (np.array([(g[i].first, g[i].count) for _, g in ways]) for i in (0, 1))
    sizes = before[:, 1] * after[:, 1]
    inside = np.arange(sizes.sum()) - np.repeat(np.cumsum(sizes) - sizes, sizes)
    row, column = np.divmod(inside, np.repeat(after[:, 1], sizes))
    rows = np.repeat(before[:, 0], sizes) + row, np.repeat(after[:, 0], sizes) + column
    lists = ways[0][1][0].columns, ways[0][1][1].columns
    same = np.zeros((lists[0].pitch.shape[1], lists[1].pitch.shape[1]), dtype=np.bool_)
    for pair in kept:
        same[pair] = True
    one, other = (
        Columns(*(c[chosen] for c in columns)) for columns, chosen in zip(lists, rows, strict=True)
    )
    return finger_moves(one, other, same, trellis.hand.shapes)


def _step_codes(hands: _Hands, grips: Sequence[tuple[_Grips, _Grips]], number: Numbers) -> Numbers:
    """For all pairs of states, in order: the moves of the fingers and the way of the hand."""
    codes = np.empty(sum(len(a.grip) * len(b.grip) for a, b in grips), dtype=np.intp)
    number = number * hands.count
    start = first = 0
    for a, b in grips:
        size = len(a.grip) * len(b.grip)
        moves = number[first : first + a.count * b.count].reshape(a.count, b.count)
        table = moves[a.grip[:, None], b.grip]
        table += hands.way[a.hand[:, None], b.hand]
        codes[start : start + size] = table.reshape(-1)
        start += size
        first += a.count * b.count
    return codes
