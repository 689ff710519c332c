"""The cheapest complete fingering, and by how much every alternative is dearer.

Exact dynamic programming: a forward pass gives the least cost of reaching every state, a backward
pass the least cost of going on from it; their sum is the cost of the best complete fingering
through that state. Printed marks come first: fewest broken, then cost. Where two fingerings cost
the same the earlier row wins (see `scoretools.fingering.states`), from the last event backwards.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from scoretools.fingering.cost import POINT
from scoretools.fingering.habits import habit_units, habits
from scoretools.fingering.items import items_along
from scoretools.fingering.placements import placements
from scoretools.fingering.rows import Hand
from scoretools.fingering.states import States
from scoretools.fingering.tables import Table, step_tables
from scoretools.fingering.trellis import BROKEN_MARK, Course, Kind, Trellis, build, course
from scoretools.fingering.weights import Bounds, Weights
from scoretools.model import (
    NO_MARKS,
    Certainty,
    Choice,
    Event,
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
    "run_passes",
    "solve",
]

IntArray = NDArray[np.int64]
FloatArray = NDArray[np.float64]

FIRST_POSITION = PositionNumber(1)
"""Parts that go no higher are the ones on which editions agree most."""


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

    states: Course
    """The states of all moments, and the cost of each by itself."""
    forward: tuple[IntArray, ...]
    """Least cost up to and including each state."""
    backward: tuple[IntArray, ...]
    """Least cost of all that follows each state."""
    path: tuple[int, ...]
    """The cheapest complete fingering: one row for each moment."""

    @property
    def own(self) -> Sequence[IntArray]:
        """Cost of each state by itself, broken marks included; one array for each moment."""
        return self.states.of_moments(self.states.own)


@dataclass(frozen=True, slots=True, eq=False)
class Solution:
    """A graph that has been searched."""

    trellis: Trellis
    """The graph."""
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
    states = course(trellis)
    forward = _forward(states, table)
    path = _trace(forward, table)
    prices = habits(trellis, path)
    if prices:
        states = _with_habits(trellis, states, habit_units(prices))
        forward = _forward(states, table)
        path = _trace(forward, table)
    passes = Passes(states, forward, _backward(states, table), path)
    return Solution(trellis, table, passes, prices)


# ── passes ──────────────────────────────────────────────────────────────────────────────────────


def run_passes(trellis: Trellis, table: Table) -> Passes:
    """Run both passes over a graph of at least one moment, without habits."""
    states = course(trellis)
    forward = _forward(states, table)
    return Passes(states, forward, _backward(states, table), _trace(forward, table))


def _with_habits(trellis: Trellis, states: Course, units: IntArray) -> Course:
    moment = np.repeat(np.arange(len(units)), states.size)
    return replace(states, own=states.own + units[moment, trellis.first_finger[states.rows]])


def _forward(states: Course, table: Table) -> tuple[IntArray, ...]:
    """Least cost up to and including each state."""
    least, add = np.minimum.reduce, np.add
    costs = states.own.copy()
    forward = states.of_moments(costs)
    upright = states.of_moments(costs.reshape(-1, 1))
    for index in range(1, len(forward)):
        here = forward[index]
        add(here, least(upright[index - 1] + table(index)), here)
    return tuple(forward)


def _trace(forward: Sequence[IntArray], table: Table) -> tuple[int, ...]:
    """Rows of the cheapest way through, from the last moment backwards."""
    row = int(forward[-1].argmin())
    rows = [row]
    for index in range(len(forward) - 1, 0, -1):
        row = int((forward[index - 1] + table(index)[:, row]).argmin())
        rows.append(row)
    rows.reverse()
    return tuple(rows)


def _backward(states: Course, table: Table) -> tuple[IntArray, ...]:
    """Least cost of all that follows each state."""
    least = np.minimum.reduce
    own = states.of_moments(states.own)
    backward = states.of_moments(np.zeros_like(states.own))
    for index in range(len(own) - 1, 0, -1):
        least(table(index) + (own[index] + backward[index]), axis=1, out=backward[index - 1])
    return tuple(backward)


# ── result ──────────────────────────────────────────────────────────────────────────────────────


def _as_fingering(
    trellis: Trellis, passes: Passes, prices: Mapping[str, FloatArray], events: Sequence[Event]
) -> Fingering:
    path = passes.path
    low = trellis.hand.ceiling <= FIRST_POSITION
    bounds = trellis.weights.in_first_position if low else trellis.weights.higher
    items = items_along(trellis, path, prices)
    margins = _margins(trellis, passes)
    steps = [Step(None, (), ())] * len(events)
    broken = [0] * len(events)
    known: dict[tuple[Kind, int], _Honoured] = {}
    places = placements(trellis.moments, path)
    for index, (moment, row) in enumerate(zip(trellis.moments, path, strict=True)):
        honoured = known.get((moment.kind, row))
        if honoured is None:
            honoured = known[moment.kind, row] = _honoured(moment.kind, row)
        choices = _choices(bounds, margins[index], places[index], honoured)
        steps[moment.event] = Step(places[index], choices, items[index])
        broken[moment.event] = honoured.broken
    total = int(passes.forward[-1].min()) - BROKEN_MARK * sum(broken)
    return Fingering(tuple(steps), total / POINT, tuple(broken), trellis.unplayable)


class _Honoured(NamedTuple):
    """How one row of a kind honours the marks; the same wherever it is chosen."""

    broken: int
    """Printed marks it does not honour."""
    decided: tuple[bool, ...]
    """For each struck note, whether a printed finger is honoured."""


def _honoured(kind: Kind, row: int) -> _Honoured:
    marks = kind.marks or (NO_MARKS,) * int((kind.pitch >= 0).sum())
    broken = int(kind.broken[row])
    decided = tuple(broken == 0 and bool(mark.fingers or mark.open_string) for mark in marks)
    return _Honoured(broken, decided)


def _choices(
    bounds: Bounds, margins: Sequence[float | None], place: Placement, honoured: _Honoured
) -> tuple[Choice, ...]:
    """Put the stops of the struck notes and their margins together."""
    return tuple(
        [
            Choice(stop, margin, _certainty(bounds, margin, decided))
            for stop, margin, decided in zip(place.stops, margins, honoured.decided, strict=False)
        ]
    )


def _certainty(bounds: Bounds, margin: float | None, decided: bool) -> Certainty:
    """Put a margin in a word; a finger the edition prints is sure."""
    if decided or margin is None or margin >= bounds.sure:
        return Certainty.SURE
    return Certainty.LIKELY if margin >= bounds.likely else Certainty.OPEN


# ── margins ─────────────────────────────────────────────────────────────────────────────────────


def _margins(trellis: Trellis, passes: Passes) -> list[list[float | None]]:
    """For each struck note of each moment, by how much another string or finger is dearer."""
    kinds = trellis.kinds
    struck = np.array([np.count_nonzero(kind.pitch >= 0) for kind in kinds])
    count = struck[[moment.kind.number for moment in trellis.moments]]
    # The marks printed at a note are lifted, so that the margin tells what the music alone says.
    broken = np.concatenate([kind.broken for kind in kinds])[passes.states.rows]
    through = np.concatenate(passes.forward) + np.concatenate(passes.backward)
    through -= BROKEN_MARK * broken
    margins: list[list[float | None]] = [[] for _ in count]
    for column in range(int(count.max())):
        stops = np.concatenate([_stops(kind.states, column) for kind in kinds])
        with_it = np.flatnonzero(count > column)
        more = _dearer(passes, through, stops, with_it)
        known = {units: units / POINT if units < BROKEN_MARK // 2 else None for units in set(more)}
        for index, units in zip(with_it.tolist(), more, strict=True):
            margins[index].append(known[units])
    return margins


def _stops(states: States, column: int) -> NDArray[np.int16]:
    """A number for string and finger of a note in each state; 0 where there is no such note."""
    if column >= states.string.shape[1]:
        return np.zeros(len(states), dtype=np.int16)
    return np.asarray(states.string[:, column] * 8 + states.finger[:, column])


def _dearer(
    passes: Passes, through: IntArray, stops: NDArray[np.int16], moments: NDArray[np.intp]
) -> list[int]:
    """Tell by how many units the best of the other stops is dearer, at some moments.

    Where there is no other stop it is about `_NEVER`.
    """
    path = np.array(passes.path)[moments]
    rows, size = passes.states.rows, passes.states.size
    if len(moments) < len(size):
        here = np.zeros(len(size), dtype=np.bool_)
        here[moments] = True
        here = np.repeat(here, size)
        rows, size, through = rows[here], size[moments], through[here]
    start = np.cumsum(size) - size
    stop = stops[rows]
    others = stop != np.repeat(stop[start + path], size)
    best = np.minimum.reduceat(np.where(others, through, _NEVER), start)
    more: list[int] = (best - through[start + path]).tolist()
    return more


_NEVER = 2**62
"""Cost units of what there is not."""
