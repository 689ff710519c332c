"""How far the cheapest fingering of marked parts is from their marks, and which way is better.

The objective of `scoretools.fingering.fit`, with its slope. Sums over all fingerings of a part are
taken by the forward and backward passes of the sum-product algorithm on the search's own graph.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from scoretools.fingering.cost import LONGEST_COUNTED_S, Context, scales
from scoretools.fingering.note_terms import NOTE_TERMS
from scoretools.fingering.rows import Hand
from scoretools.fingering.states import States
from scoretools.fingering.step_terms import STEP_TERMS, Pairs, held_note_moves
from scoretools.fingering.trellis import Kind, Moment

__all__ = ["NAMES", "Example", "Labelled", "Measures", "excess"]

FloatArray = NDArray[np.float64]
SmallArray = NDArray[np.float32]

NAMES = (*(term.name for term in NOTE_TERMS), *(term.name for term in STEP_TERMS))
"""Names of the weights, in the order of all arrays here."""

_PER_SECOND = np.array([term.per_second for term in NOTE_TERMS])

_LEAST = -60.0
"""Logarithms below this, counted from the largest of their table, are taken as this: nothing that
matters is lost, and no sum underflows."""


@dataclass(frozen=True, slots=True, eq=False)
class Labelled:
    """A moment of the graph and what its marks say."""

    moment: Moment
    """The moment, built without marks."""
    missed: FloatArray | None
    """(n,) 1 for a state that misses a mark, else 0; none where nothing usable is printed."""


@dataclass(frozen=True, slots=True, eq=False)
class Example:
    """A marked part."""

    hand: Hand
    """The hand that plays it."""
    moments: tuple[Labelled, ...]
    """Its moments."""
    marks: int
    """Fingers and open strings printed in it."""


# ── units of the terms ──────────────────────────────────────────────────────────────────────────

_Way = tuple[int, int, tuple[tuple[int, int], ...]]


class Measures:
    """Units of every term, measured once for each kind of moment and each way between two."""

    def __init__(self) -> None:
        self._keep: dict[int, States] = {}
        self._notes: dict[int, FloatArray] = {}
        self._steps: dict[_Way, tuple[SmallArray, NDArray[np.bool_] | None]] = {}

    def notes(self, hand: Hand, kind: Kind) -> FloatArray:
        """(n, note terms) units of each state."""
        key = id(kind.states)
        if key not in self._notes:
            self._keep[key] = kind.states
            self._notes[key] = np.stack(
                [term.measure(hand, kind.states) for term in NOTE_TERMS], axis=1
            )
        return self._notes[key]

    def steps(
        self, hand: Hand, before: Kind, here: Moment
    ) -> tuple[_Way, SmallArray, NDArray[np.bool_] | None]:
        """(n times m, step terms) units of each pair of states, and the forbidden pairs."""
        way = (id(before.states), id(here.kind.states), here.kept)
        if way not in self._steps:
            pairs = _all_pairs(hand, before, here.kind, here.kept)
            units = np.stack([term.measure(pairs) for term in STEP_TERMS], axis=1)
            forbidden = held_note_moves(pairs) if here.kept else None
            self._steps[way] = units.astype(np.float32), forbidden
        return way, *self._steps[way]


def _all_pairs(hand: Hand, before: Kind, after: Kind, same: tuple[tuple[int, int], ...]) -> Pairs:
    n, m = len(before.states), len(after.states)
    kept = np.zeros((len(before.pitch), len(after.pitch)), dtype=np.bool_)
    for pair in same:
        kept[pair] = True
    rows = np.repeat(np.arange(n), m), np.tile(np.arange(m), n)
    states = before.states.rows(rows[0]), after.states.rows(rows[1])
    pitch = np.tile(before.pitch, (n * m, 1)), np.tile(after.pitch, (n * m, 1))
    return Pairs.between(hand, states, pitch, kept)


# ── the objective ───────────────────────────────────────────────────────────────────────────────


@dataclass(frozen=True, slots=True, eq=False)
class _Table:
    """A step table in its context, scaled so that its largest entry is 1."""

    units: SmallArray
    scale: SmallArray
    table: FloatArray
    log_largest: float


class _Tables:
    """Step tables at one set of weights, and the slope gathered on each."""

    def __init__(self, values: FloatArray, measures: Measures, sharpness: float) -> None:
        self._weights = values[len(NOTE_TERMS) :].astype(np.float32) * sharpness
        self._measures = measures
        self._made: dict[tuple[_Way, Context], _Table] = {}
        self._slopes: dict[tuple[_Way, Context], FloatArray] = {}

    def get(self, hand: Hand, before: Moment, here: Moment) -> tuple[tuple[_Way, Context], _Table]:
        way, units, forbidden = self._measures.steps(hand, before.kind, here)
        key = way, here.context
        if key not in self._made:
            given = scales(here.context)
            scale = np.array([given[term.when] for term in STEP_TERMS], dtype=np.float32)
            logs = -(units @ (self._weights * scale)).astype(np.float64)
            if forbidden is not None:
                logs[forbidden] = -np.inf
            largest = float(logs.max())
            shape = len(before.kind.states), len(here.kind.states)
            table = np.exp(np.maximum(logs - largest, _LEAST)).reshape(shape)
            self._made[key] = _Table(units, scale, table, largest)
        return key, self._made[key]

    def gather(self, key: tuple[_Way, Context], chances: FloatArray) -> None:
        if key in self._slopes:
            self._slopes[key] += chances
        else:
            self._slopes[key] = chances

    def slope(self) -> FloatArray:
        total = np.zeros(len(STEP_TERMS))
        for key, chances in self._slopes.items():
            made = self._made[key]
            total += (chances.ravel().astype(np.float32) @ made.units) * made.scale
        return total


def excess(
    examples: Sequence[Example],
    shares: Sequence[float],
    values: FloatArray,
    measures: Measures,
    sharpness: float,
    margin: float,
) -> tuple[float, FloatArray]:
    """Measure how far marked parts are from being fingered as printed.

    Parameters
    ----------
    examples, shares
        Marked parts, and what each counts.
    values
        Points per unit, in the order of `NAMES`.
    measures
        Units measured so far; filled as need be.
    sharpness, margin
        See `scoretools.fingering.fit`.

    Returns
    -------
    float, (terms,) array
        Points, and their slope by each weight.
    """
    tables = _Tables(values, measures, sharpness)
    note_slope = np.zeros(len(NOTE_TERMS))
    total = 0.0
    for one, share in zip(examples, shares, strict=True):
        points, slope = _excess_of_part(one, share, values, measures, tables, sharpness, margin)
        total += points
        note_slope += slope
    return total, np.concatenate([note_slope, tables.slope()])


def _excess_of_part(
    part: Example,
    share: float,
    values: FloatArray,
    measures: Measures,
    tables: _Tables,
    sharpness: float,
    margin: float,
) -> tuple[float, FloatArray]:
    moments = [labelled.moment for labelled in part.moments]
    units = [_note_units(measures, part.hand, moment) for moment in moments]
    logs = [-sharpness * (u @ values[: len(NOTE_TERMS)]) for u in units]
    steps = [tables.get(part.hand, *pair) for pair in pairwise(moments)]
    made = [table for _, table in steps]
    missed = [labelled.missed for labelled in part.moments]
    free = _Sum(
        made, [_favoured(log, m, sharpness * margin) for log, m in zip(logs, missed, strict=True)]
    )
    marked = _Sum(made, [_held_to(log, m) for log, m in zip(logs, missed, strict=True)])
    slope = np.zeros(len(NOTE_TERMS))
    for index, chances in enumerate(units):
        slope += share * ((marked.chances(index) - free.chances(index)) @ chances)
    for index, (key, _) in enumerate(steps, start=1):
        tables.gather(key, share * (marked.step_chances(index) - free.step_chances(index)))
    return share * (free.log_total - marked.log_total) / sharpness, slope


def _note_units(measures: Measures, hand: Hand, moment: Moment) -> FloatArray:
    seconds = min(moment.seconds, LONGEST_COUNTED_S)
    return measures.notes(hand, moment.kind) * np.where(_PER_SECOND, seconds, 1.0)


def _favoured(logs: FloatArray, missed: FloatArray | None, bonus: float) -> FloatArray:
    """Make states that miss a mark likelier: those the margin must overcome."""
    return logs if missed is None else logs + bonus * missed


def _held_to(logs: FloatArray, missed: FloatArray | None) -> FloatArray:
    return logs if missed is None else np.where(missed > 0, -np.inf, logs)


class _Sum:
    """Sum over all fingerings of a part, by a forward and a backward pass."""

    def __init__(self, steps: Sequence[_Table], logs: Sequence[FloatArray]) -> None:
        self._steps = steps
        self._own = []
        self.log_total = 0.0
        for one in logs:
            largest = float(one.max())
            self.log_total += largest
            floor = np.where(np.isneginf(one), 0.0, np.exp(np.maximum(one - largest, _LEAST)))
            self._own.append(floor)
        self._forward = [self._scaled(self._own[0])]
        for step, own in zip(steps, self._own[1:], strict=True):
            self._forward.append(self._scaled((self._forward[-1] @ step.table) * own))
            self.log_total += step.log_largest
        backward = [np.ones(len(self._own[-1]))]
        for step, own in zip(reversed(steps), reversed(self._own), strict=False):
            ahead = step.table @ (own * backward[-1])
            backward.append(ahead / ahead.sum())
        self._backward = backward[::-1]

    def _scaled(self, values: FloatArray) -> FloatArray:
        total = float(values.sum())
        self.log_total += float(np.log(total))
        return values / total

    def chances(self, index: int) -> FloatArray:
        """(n,) share of each state at a moment."""
        both = self._forward[index] * self._backward[index]
        return np.asarray(both / both.sum())

    def step_chances(self, index: int) -> FloatArray:
        """(n, m) share of each step that leads to a moment."""
        after = self._own[index] * self._backward[index]
        both = self._forward[index - 1][:, None] * self._steps[index - 1].table * after
        return np.asarray(both / both.sum())
