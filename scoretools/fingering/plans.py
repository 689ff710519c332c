"""Whole different plans for a passage, and what an open note would be played with otherwise.

What makes two plans different
------------------------------
At one event, a plan goes *elsewhere* than another where a struck note lies on another string, or
where hand, position and a finger all are others. The same finger on the same string is the same
place, whatever its position is called; another finger in the same place is a refingering, no plan.

An alternative has a stretch of at least `stretch_of` events of the passage in a row in which it
goes elsewhere than **every** earlier plan, so that two plans put together are no third one. Where
it plays the same open strings as one of them the count neither grows nor ends, since the hand may
be anywhere.

The promise
-----------
Each alternative is the cheapest complete fingering of the whole part of which that is true, in the
prices of the chosen fingering: the ways in and out of the passage are as good as they can be, and
are paid for. It breaks no more printed marks than the chosen one. Alternatives dearer than a bound
are not told.

How
---
Beside the rows of the search (see `scoretools.fingering.search`) a path carries how many events in
a row it has gone elsewhere, up to the stretch asked for: the exact optimum of a graph so many times
as large. What cannot end below a bound, by the backward pass, is dropped; the bound is doubled
until a plan is found.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scoretools.fingering.cost import POINT
from scoretools.fingering.placements import placements, position_alone
from scoretools.fingering.search import BROKEN_MARK, Solution, items_along
from scoretools.fingering.trellis import Kind
from scoretools.model import Placement, PositionNumber, Stop

__all__ = ["WITHIN", "Plan", "RunnerUp", "plans", "runners_up", "stretch_of"]

IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]

WITHIN = 12.0
"""Points more than the chosen plan beyond which an alternative is not told: nobody would play it.
Common practice, no published source."""

_LEAST_STRETCH, _MOST_STRETCH = 4, 8
"""Events in a row that a plan must go elsewhere: a quarter of the passage, within these."""

_NARROWEST = 2 * POINT
"""Bound, in cost units above the chosen plan, that is tried first."""

_NEVER = 2**60
"""Cost units of what has been dropped."""


@dataclass(frozen=True, slots=True)
class Plan:
    """One fingering of a whole part."""

    placements: tuple[Placement | None, ...]
    """Where the hand is at each event; none where no hand can play it."""
    costs: tuple[tuple[tuple[str, float], ...], ...]
    """For each event its cost points by term."""
    more: float
    """Cost points more than the chosen plan, over the whole part."""
    elsewhere: tuple[int, ...]
    """Indices of the events at which it goes elsewhere than the chosen plan, in order."""


@dataclass(frozen=True, slots=True)
class RunnerUp:
    """What a struck note would be played with if not as chosen."""

    stop: Stop
    """String, finger and place."""
    position: PositionNumber
    """Position."""
    more: float
    """Cost points of the best complete fingering with it, above the chosen one; negative where a
    printed mark forces a dearer choice."""


def stretch_of(events: int) -> int:
    """How many events in a row an alternative goes elsewhere, in a passage of so many events."""
    return min(events, max(_LEAST_STRETCH, min(_MOST_STRETCH, -(-events // 4))))


def plans(
    solution: Solution, events: range, count: int, within: float = WITHIN
) -> tuple[Plan, ...]:
    """Find the chosen plan and whole different ones for a passage.

    Parameters
    ----------
    solution
        A part that has been searched.
    events
        Indices of the events of the passage, a run.
    count
        Alternatives wanted.
    within
        Points above the chosen plan up to which alternatives are told.

    Returns
    -------
    tuple of Plan
        The chosen plan, then the alternatives, cheapest first; fewer than wanted where there are
        no more.
    """
    chosen = solution.passes.path
    inside = [i for i, moment in enumerate(solution.trellis.moments) if moment.event in events]
    paths = [chosen]
    while inside and len(paths) <= count:
        path = _next_path(solution, inside, paths, round(within * POINT))
        if path is None:
            break
        paths.append(path)
    return tuple(_plan(solution, chosen, path) for path in paths)


def runners_up(solution: Solution, events: range) -> dict[tuple[int, int], RunnerUp]:
    """Find the second choice of every struck note of a passage that has one.

    Parameters
    ----------
    events
        Indices of events.

    Returns
    -------
    dict
        Second choices by index of the event and of the note in it.
    """
    return {
        (moment.event, column): found
        for index, moment in enumerate(solution.trellis.moments)
        if moment.event in events
        for column in _struck(moment.kind)
        if (found := _runner_up(solution, index, column)) is not None
    }


def _runner_up(solution: Solution, index: int, column: int) -> RunnerUp | None:
    kind, row = solution.trellis.moments[index].kind, solution.passes.path[index]
    states = kind.states
    through = solution.passes.forward[index] + solution.passes.backward[index]
    if kind.marks:  # lifted, as for the margins
        through = through - BROKEN_MARK * kind.broken
    others = np.flatnonzero(
        (states.string[:, column] != states.string[row, column])
        | (states.finger[:, column] != states.finger[row, column])
    )
    if not len(others):
        return None
    other = int(others[through[others].argmin()])
    more = int(through[other]) - int(through[row])
    if more >= BROKEN_MARK // 2:
        return None
    stop = states.stops(other)[column]
    return RunnerUp(stop, position_alone(states, other), more / POINT)


# ── elsewhere ───────────────────────────────────────────────────────────────────────────────────


def _struck(kind: Kind) -> list[int]:
    return [column for column, pitch in enumerate(kind.pitch.tolist()) if pitch >= 0]


def _elsewhere(kind: Kind, row: int) -> BoolArray:
    """Tell which rows of an event go elsewhere than one of them."""
    states, struck = kind.states, _struck(kind)
    string, finger = states.string[:, struck], states.finger[:, struck]
    other_string = (string != string[row]).any(axis=1)
    other_finger = (finger != finger[row]).any(axis=1)
    other_place = (states.home != states.home[row]) & (states.position != states.position[row])
    return np.asarray(other_string | (other_finger & other_place))


def _all_open(kind: Kind) -> BoolArray:
    return np.asarray((kind.states.finger[:, _struck(kind)] == 0).all(axis=1))


# ── the next plan ───────────────────────────────────────────────────────────────────────────────


@dataclass(frozen=True, slots=True, eq=False)
class _Layer:
    """Where paths can be at one moment of the passage."""

    rows: IntArray
    """(m,) rows still worth a look."""
    away: BoolArray
    """(m,) whether a row goes elsewhere than all earlier plans."""
    waits: BoolArray
    """(m,) whether it does not, but plays open strings."""
    cost: IntArray
    """(stretch + 1, m) least cost up to and including each row, by the count of events in a row
    gone elsewhere."""


def _next_path(
    solution: Solution, inside: Sequence[int], paths: Sequence[tuple[int, ...]], most: int
) -> tuple[int, ...] | None:
    """Find the cheapest path that goes elsewhere than all those given; none up to a bound."""
    best = int(solution.passes.forward[-1].min())
    more = _NARROWEST
    while True:
        layers = _layers(solution, inside, paths, best + min(more, most))
        if layers and layers[-1].cost[-1].min(initial=_NEVER) < _NEVER:
            return _read_off(solution, inside, layers)
        if more >= most:
            return None
        more *= 2


def _layers(
    solution: Solution, inside: Sequence[int], paths: Sequence[tuple[int, ...]], bound: int
) -> list[_Layer]:
    """Go through the passage with all paths that can end within a bound."""
    passes = solution.passes
    layers: list[_Layer] = []
    for index in inside:
        rows = np.flatnonzero(passes.forward[index] + passes.backward[index] <= bound)
        if layers:
            steps = solution.table(index)[np.ix_(layers[-1].rows, rows)]
            arrived = (layers[-1].cost[:, :, None] + steps).min(axis=1) + passes.own[index][rows]
        else:
            arrived = np.full((stretch_of(len(inside)) + 1, len(rows)), _NEVER, dtype=np.int64)
            arrived[0] = passes.forward[index][rows]
        kind = solution.trellis.moments[index].kind
        away = np.logical_and.reduce([_elsewhere(kind, path[index]) for path in paths])[rows]
        waits = _all_open(kind)[rows] & ~away
        cost = _counted(arrived, away, waits)
        cost[cost + passes.backward[index][rows] > bound] = _NEVER
        layers.append(_Layer(rows, away, waits, cost))
    return layers


def _counted(arrived: IntArray, away: BoolArray, waits: BoolArray) -> IntArray:
    """Move costs to the counts they have after an event: one more, the same, or none."""
    cost = np.full_like(arrived, _NEVER)
    cost[1:, away] = arrived[:-1, away]
    cost[0] = arrived[:-1].min(axis=0)
    cost[0, away] = _NEVER
    cost[-1] = np.minimum(cost[-1], arrived[-1])
    cost[:, waits] = arrived[:, waits]
    return cost


def _earlier_counts(layer: _Layer, count: int, place: int) -> list[int]:
    """List the counts that `_counted` moves to this one at this place."""
    most = len(layer.cost) - 1
    if layer.waits[place]:
        return [count]
    if count == most:
        return [most - 1, most] if layer.away[place] else [most]
    return [count - 1] if layer.away[place] else list(range(most))


# ── from layers to a path ───────────────────────────────────────────────────────────────────────


def _read_off(
    solution: Solution, inside: Sequence[int], layers: Sequence[_Layer]
) -> tuple[int, ...]:
    """Read off the cheapest path that has gone elsewhere for long enough."""
    last, end = inside[-1], layers[-1]
    count = len(end.cost) - 1
    place = int((end.cost[count] + solution.passes.backward[last][end.rows]).argmin())
    rows = [int(end.rows[place])]
    for depth in range(len(layers) - 1, 0, -1):
        before = layers[depth - 1]
        counts = _earlier_counts(layers[depth], count, place)
        ways = before.cost[counts] + solution.table(inside[depth])[before.rows, rows[-1]]
        chosen, place = (int(i) for i in np.unravel_index(int(ways.argmin()), ways.shape))
        count = counts[chosen]
        rows.append(int(before.rows[place]))
    rows.reverse()
    way_in = _way_in(solution, inside[0], rows[0])
    return (*way_in, *rows, *_way_out(solution, last, rows[-1]))


def _way_in(solution: Solution, first: int, row: int) -> tuple[int, ...]:
    """Rows of the cheapest way to a row of the first moment of a passage."""
    rows: list[int] = []
    for index in range(first, 0, -1):
        forward = solution.passes.forward[index - 1]
        row = int((forward + solution.table(index)[:, row]).argmin())
        rows.append(row)
    return tuple(reversed(rows))


def _way_out(solution: Solution, last: int, row: int) -> tuple[int, ...]:
    """Rows of the cheapest way on from a row of the last moment of a passage."""
    passes = solution.passes
    rows: list[int] = []
    for index in range(last + 1, len(solution.trellis.moments)):
        steps = solution.table(index)[row]
        row = int((steps + passes.own[index] + passes.backward[index]).argmin())
        rows.append(row)
    return tuple(rows)


def _plan(solution: Solution, chosen: tuple[int, ...], path: tuple[int, ...]) -> Plan:
    moments = solution.trellis.moments
    count = len(moments) + len(solution.trellis.unplayable)
    places: list[Placement | None] = [None] * count
    costs: list[tuple[tuple[str, float], ...]] = [()] * count
    items = items_along(solution.trellis, path, solution.prices)
    for moment, place, here in zip(moments, placements(moments, path), items, strict=True):
        places[moment.event] = place
        costs[moment.event] = here
    elsewhere = (
        moment.event
        for moment, row, other in zip(moments, chosen, path, strict=True)
        if _elsewhere(moment.kind, row)[other]
    )
    more = _units(solution, path) - _units(solution, chosen)
    return Plan(tuple(places), tuple(costs), more / POINT, tuple(elsewhere))


def _units(solution: Solution, path: tuple[int, ...]) -> int:
    own = sum(int(costs[row]) for costs, row in zip(solution.passes.own, path, strict=True))
    steps = sum(
        int(solution.table(index)[path[index - 1], path[index]]) for index in range(1, len(path))
    )
    return own + steps
