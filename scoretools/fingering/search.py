"""The cheapest complete fingering, and by how much every alternative is dearer.

Exact dynamic programming: a forward pass gives the least cost of reaching every state, a backward
pass the least cost of going on from it; their sum is the cost of the best complete fingering
through that state. Printed marks come first: fewest broken, then cost. Where two fingerings cost
the same the earlier row wins (see `scoretools.fingering.states`), from the last event backwards.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scoretools.fingering.cost import POINT, note_items, step_items
from scoretools.fingering.habits import habits, with_habits
from scoretools.fingering.rows import Hand
from scoretools.fingering.states import States, stacked
from scoretools.fingering.step_terms import Pairs
from scoretools.fingering.tables import Table, step_tables
from scoretools.fingering.trellis import Kind, Moment, Trellis, build
from scoretools.fingering.weights import Bounds, Weights
from scoretools.model import (
    NO_MARKS,
    Certainty,
    Choice,
    Event,
    Offset,
    Placement,
    PositionNumber,
    Step,
)

__all__ = [
    "BROKEN_MARK",
    "Fingering",
    "Passes",
    "Solution",
    "finger",
    "items_along",
    "placement_of",
    "run_passes",
    "solve",
]

IntArray = NDArray[np.int64]
FloatArray = NDArray[np.float64]

FIRST_POSITION = PositionNumber(1)
"""Parts that go no higher are the ones on which editions agree most."""

BROKEN_MARK = 10**13
"""Cost units of a printed mark not honoured: more than all else together, so it comes first."""


@dataclass(frozen=True, slots=True)
class Fingering:
    """The result of a search."""

    steps: tuple[Step, ...]
    """One for each event of the part."""
    cost: float
    """Points of the whole fingering, broken marks not counted."""
    marks_broken: tuple[int, ...]
    """For each event, the number of printed marks not honoured."""
    unplayable: tuple[int, ...]
    """Indices of the events no hand can play."""


@dataclass(frozen=True, slots=True, eq=False)
class Passes:
    """Forward and backward pass; one array for each moment."""

    own: tuple[IntArray, ...]
    """Cost of each state by itself, broken marks included."""
    forward: tuple[IntArray, ...]
    """Least cost up to and including each state."""
    backward: tuple[IntArray, ...]
    """Least cost of all that follows each state."""
    path: tuple[int, ...]
    """The cheapest complete fingering: one row for each moment."""


@dataclass(frozen=True, slots=True, eq=False)
class Solution:
    """A graph that has been searched."""

    trellis: Trellis
    """The graph, with the prices of the second pass in it."""
    table: Table
    """Costs of its steps."""
    passes: Passes
    """Forward and backward pass."""
    prices: Mapping[str, FloatArray]
    """Prices of the second pass by term: (n, 5) points by moment and finger."""


def finger(
    hand: Hand, weights: Weights, events: Sequence[Event], use_marks: bool = True
) -> Fingering:
    """Find the cheapest complete fingering of a part.

    Parameters
    ----------
    hand
        Instrument, reach and ceiling.
    weights
        The profile.
    events
        All events of the part.
    use_marks
        Whether printed marks are honoured.
    """
    trellis = build(hand, weights, events, use_marks)
    if not trellis.moments:
        nothing = Step(None, (), ())
        none_broken = (0,) * len(events)
        return Fingering((nothing,) * len(events), 0.0, none_broken, trellis.unplayable)
    found = solve(trellis)
    return _as_fingering(found.trellis, found.passes, found.prices, events)


def solve(trellis: Trellis) -> Solution:
    """Search a graph of at least one moment, in both passes (see `scoretools.fingering.habits`)."""
    table = step_tables(trellis)
    first, path = _forward(trellis, table)
    prices = habits(trellis, path)
    if prices:
        trellis = with_habits(trellis, prices)
        first, path = _forward(trellis, table)
    passes = Passes(*first, _backward(trellis, table, first[0]), path)
    return Solution(trellis, table, passes, prices)


# ── passes ──────────────────────────────────────────────────────────────────────────────────────


def run_passes(trellis: Trellis, table: Table) -> Passes:
    """Run both passes over a graph of at least one moment."""
    (own, forward), path = _forward(trellis, table)
    return Passes(own, forward, _backward(trellis, table, own), path)


_Arrays = tuple[IntArray, ...]


def _forward(trellis: Trellis, table: Table) -> tuple[tuple[_Arrays, _Arrays], tuple[int, ...]]:
    """Cost of each state, least cost up to and including it, and the cheapest rows."""
    least = np.minimum.reduce
    own = tuple(_own(moment) for moment in trellis.moments)
    forward = [own[0]]
    for index in range(1, len(own)):
        forward.append(least(forward[-1][:, None] + table(index), axis=0) + own[index])
    row = int(forward[-1].argmin())
    rows = [row]
    for index in range(len(own) - 1, 0, -1):
        row = int((forward[index - 1] + table(index)[:, row]).argmin())
        rows.append(row)
    return (own, tuple(forward)), tuple(reversed(rows))


def _backward(trellis: Trellis, table: Table, own: _Arrays) -> _Arrays:
    """Least cost of all that follows each state."""
    least = np.minimum.reduce
    ahead = np.zeros(len(own[-1]), dtype=np.int64)
    backward = [ahead]
    for index in range(len(own) - 1, 0, -1):
        ahead = least(table(index) + (own[index] + ahead), axis=1)
        backward.append(ahead)
    return tuple(reversed(backward))


def _own(moment: Moment) -> IntArray:
    return moment.own_costs() + BROKEN_MARK * moment.kind.broken


# ── result ──────────────────────────────────────────────────────────────────────────────────────


def _as_fingering(
    trellis: Trellis, passes: Passes, prices: Mapping[str, FloatArray], events: Sequence[Event]
) -> Fingering:
    path = passes.path
    low = trellis.hand.ceiling <= FIRST_POSITION
    bounds = trellis.weights.in_first_position if low else trellis.weights.higher
    items = items_along(trellis, path, prices)
    steps = [Step(None, (), ())] * len(events)
    broken = [0] * len(events)
    known: dict[tuple[Kind, int], _Chosen] = {}
    for index, (moment, row) in enumerate(zip(trellis.moments, path, strict=True)):
        chosen = known.get((moment.kind, row))
        if chosen is None:
            chosen = known[moment.kind, row] = _chosen(moment.kind, row)
        steps[moment.event] = Step(
            placement=chosen.placement,
            choices=_choices(bounds, passes, index, moment, chosen),
            costs=items[index],
        )
        broken[moment.event] = int(moment.kind.broken[row])
    total = int(passes.forward[-1].min()) - BROKEN_MARK * sum(broken)
    return Fingering(tuple(steps), total / POINT, tuple(broken), trellis.unplayable)


@dataclass(frozen=True, slots=True, eq=False)
class _Chosen:
    """What one row of a kind means; the same wherever it is chosen."""

    row: int
    placement: Placement
    others: tuple[NDArray[np.int64], ...]
    """For each struck note, the rows that give it another string or finger."""
    decided: tuple[bool, ...]
    """For each struck note, whether a printed finger is honoured."""


def _chosen(kind: Kind, row: int) -> _Chosen:
    states = kind.states
    struck = [column for column, pitch in enumerate(kind.pitch.tolist()) if pitch >= 0]
    others = tuple(
        np.flatnonzero(
            (states.string[:, column] != states.string[row, column])
            | (states.finger[:, column] != states.finger[row, column])
        )
        for column in struck
    )
    marks = kind.marks or (NO_MARKS,) * len(struck)
    placement = placement_of(states, row)
    honoured = bool(kind.broken[row] == 0)
    decided = tuple(honoured and bool(mark.fingers or mark.open_string) for mark in marks)
    return _Chosen(row, placement, others, decided)


def placement_of(states: States, row: int) -> Placement:
    """Say what a row means."""
    return Placement(
        home=Offset(int(states.home[row])),
        position=PositionNumber(int(states.position[row])),
        stops=states.stops(row),
        broken=bool(states.broken[row]),
    )


def _choices(
    bounds: Bounds, passes: Passes, index: int, moment: Moment, chosen: _Chosen
) -> tuple[Choice, ...]:
    through = passes.forward[index] + passes.backward[index]
    if moment.kind.marks:
        # The marks printed here are lifted, so that the margin tells what the music alone says.
        through = through - BROKEN_MARK * moment.kind.broken
    here = int(through[chosen.row])
    choices = []
    for stop, others, decided in zip(
        chosen.placement.stops, chosen.others, chosen.decided, strict=False
    ):
        margin = None
        if len(others):
            dearer = int(through[others].min()) - here
            margin = dearer / POINT if dearer < BROKEN_MARK // 2 else None
        choices.append(Choice(stop, margin, _certainty(bounds, margin, decided)))
    return tuple(choices)


def _certainty(bounds: Bounds, margin: float | None, decided: bool) -> Certainty:
    """Put a margin in a word; a finger the edition prints is sure."""
    if decided or margin is None or margin >= bounds.sure:
        return Certainty.SURE
    return Certainty.LIKELY if margin >= bounds.likely else Certainty.OPEN


# ── items ───────────────────────────────────────────────────────────────────────────────────────

_Items = tuple[tuple[str, float], ...]


def items_along(
    trellis: Trellis, path: tuple[int, ...], prices: Mapping[str, FloatArray]
) -> list[_Items]:
    """Itemise a path, all moments of one size at a time.

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
    found: list[list[tuple[str, float]]] = [[] for _ in path]
    if prices:
        rows = zip(trellis.moments, path, strict=True)
        fingers = [max(int(moment.kind.states.finger[row, 0]), 0) for moment, row in rows]
        every = range(len(path))
        chosen = {name: points[every, fingers] for name, points in prices.items()}
        _collect(found, list(every), chosen)
    for indices in _by(lambda i: len(trellis.moments[i].kind.pitch), range(len(path))):
        states = _rows(trellis, path, indices)
        seconds = np.array([trellis.moments[i].seconds for i in indices])
        _collect(found, indices, note_items(trellis.hand, trellis.weights, states, seconds))
    for indices in _by(lambda i: _sizes(trellis, i), range(1, len(path))):
        _collect(found, indices, _step_items(trellis, path, indices))
    return [tuple(items) for items in found]


def _sizes(trellis: Trellis, index: int) -> tuple[int, int]:
    before, after = trellis.moments[index - 1], trellis.moments[index]
    return len(before.kind.pitch), len(after.kind.pitch)


def _by(size: Callable[[int], object], indices: range) -> list[list[int]]:
    groups: dict[object, list[int]] = {}
    for index in indices:
        groups.setdefault(size(index), []).append(index)
    return list(groups.values())


def _collect(
    found: list[list[tuple[str, float]]], indices: list[int], items: Mapping[str, FloatArray]
) -> None:
    for name, points in items.items():
        for place in np.flatnonzero(np.abs(points) * POINT >= 0.5).tolist():
            found[indices[place]].append((name, round(float(points[place]), 3)))


def _rows(trellis: Trellis, path: tuple[int, ...], indices: list[int]) -> States:
    """Put the chosen rows of some moments one below the other."""
    kinds = list(dict.fromkeys(trellis.moments[index].kind for index in indices))
    starts = np.cumsum([0, *(len(kind.states) for kind in kinds)])
    start_of = dict(zip(kinds, starts.tolist(), strict=False))
    rows = [start_of[trellis.moments[index].kind] + path[index] for index in indices]
    return stacked([kind.states for kind in kinds]).rows(np.array(rows))


def _step_items(
    trellis: Trellis, path: tuple[int, ...], indices: list[int]
) -> Mapping[str, FloatArray]:
    moments = trellis.moments
    previous = [index - 1 for index in indices]
    pitch = (
        np.stack([moments[i].kind.pitch for i in previous]),
        np.stack([moments[i].kind.pitch for i in indices]),
    )
    pairs = Pairs.between(
        trellis.hand,
        (_rows(trellis, path, previous), _rows(trellis, path, indices)),
        pitch,
        np.zeros((pitch[0].shape[1], pitch[1].shape[1]), dtype=np.bool_),
    )
    return step_items(trellis.weights, pairs, [moments[i].context for i in indices])
