"""The graph the search runs on: for every event its states, between events the costs of all steps.

Events alike in everything that matters share one `Kind`; steps alike share one table. Both are
made once.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from scoretools.fingering.cost import (
    FORBIDDEN,
    Context,
    NoteCosts,
    StepCosts,
    haste,
    note_costs,
    step_costs,
)
from scoretools.fingering.states import (
    Hand,
    Sounding,
    States,
    broken_marks,
    candidates,
    sounding,
)
from scoretools.fingering.step_terms import Pairs
from scoretools.fingering.weights import Weights
from scoretools.model import Event, Marks, NoteRef

__all__ = ["Kind", "Moment", "Table", "Trellis", "build", "step_tables"]

IntArray = NDArray[np.int64]

GRACE_S = 0.08
"""Time a grace note takes, seconds. Common practice, no published source."""

REST_S = 0.05
"""Silence that counts as a rest, seconds."""

_TABLES_KEPT = 4096
_PARTS_KEPT = 1024


@dataclass(frozen=True, slots=True, eq=False)
class Kind:
    """What events of one kind share."""

    number: int
    """Running number of the kind in its graph."""
    states: States
    """All states."""
    costs: NoteCosts
    """Their own costs."""
    broken: IntArray
    """(n,) printed marks each state does not honour."""
    marks: tuple[Marks, ...]
    """Printed marks of the struck notes; empty where there are none, or none are looked at."""
    pitch: IntArray
    """(k,) MIDI numbers of the struck notes, −1 for held ones."""


@dataclass(frozen=True, slots=True, eq=False)
class Moment:
    """A playable event in its surroundings."""

    event: int
    """Index of the event."""
    kind: Kind
    """Its kind."""
    seconds: float
    """How long it lasts."""
    context: Context
    """How it is reached from the moment before."""
    kept: tuple[tuple[int, int], ...]
    """Columns (before, here) that are one held note."""


@dataclass(frozen=True, slots=True, eq=False)
class Trellis:
    """The whole graph."""

    hand: Hand
    """The hand that plays."""
    weights: Weights
    """The profile."""
    moments: tuple[Moment, ...]
    """Playable events, in order."""
    unplayable: tuple[int, ...]
    """Indices of the events no hand can play."""


Table = Callable[[int], IntArray]
"""Costs of the steps that lead to the moment of that index (from 1): (n, m), states of the moment
before by states of this one, cost units."""


def step_tables(trellis: Trellis) -> Table:
    """Give access to the step tables of a graph; alike ones are made once and kept a while."""

    @lru_cache(_PARTS_KEPT)
    def parts(before: Kind, after: Kind, kept: tuple[tuple[int, int], ...]) -> StepCosts:
        columns = np.zeros((len(before.pitch), len(after.pitch)), dtype=np.bool_)
        for pair in kept:
            columns[pair] = True
        pitch = (before.pitch, after.pitch)
        pairs = Pairs.grid(trellis.hand, before.states, after.states, pitch, columns)
        return step_costs(trellis.weights, pairs)

    @lru_cache(_TABLES_KEPT)
    def table(
        before: Kind, after: Kind, kept: tuple[tuple[int, int], ...], context: Context
    ) -> IntArray:
        units = parts(before, after, kept).within(context)
        return units if units.max() >= FORBIDDEN else units.astype(np.int32)

    def leading_to(index: int) -> IntArray:
        after = trellis.moments[index]
        return table(trellis.moments[index - 1].kind, after.kind, after.kept, after.context)

    return leading_to


def build(hand: Hand, weights: Weights, events: Sequence[Event], use_marks: bool) -> Trellis:
    """Build the graph of a part.

    Parameters
    ----------
    use_marks
        Whether printed marks are honoured; without, they are not looked at.
    """
    kinds: dict[tuple[tuple[Sounding, ...], tuple[Marks, ...]], Kind | None] = {}
    moments: list[Moment] = []
    unplayable: list[int] = []
    columns_before: tuple[NoteRef, ...] = ()
    fingered: set[int] = set()
    for event in events:
        held = tuple(ref for ref in event.held if ref.event in fingered)
        notes = (
            *(sounding(note) for note in event.notes),
            *(sounding(events[ref.event].notes[ref.note], held=True) for ref in held),
        )
        marks = tuple(note.marks for note in event.notes) if use_marks else ()
        key = (notes, marks if any(mark != Marks() for mark in marks) else ())
        if key not in kinds:
            kinds[key] = _make_kind(hand, weights, len(kinds), *key)
        kind = kinds[key]
        if kind is None:
            unplayable.append(event.index)
            continue
        fingered.add(event.index)
        columns = (*(NoteRef(event.index, i) for i in range(len(event.notes))), *held)
        kept = tuple(
            (columns_before.index(ref), len(event.notes) + i)
            for i, ref in enumerate(held)
            if ref in columns_before
        )
        before = events[moments[-1].event] if moments else None
        moments.append(Moment(event.index, kind, _seconds(event), _context(before, event), kept))
        columns_before = columns
    return Trellis(hand, weights, tuple(moments), tuple(unplayable))


def _make_kind(
    hand: Hand,
    weights: Weights,
    number: int,
    notes: tuple[Sounding, ...],
    marks: tuple[Marks, ...],
) -> Kind | None:
    states = candidates(hand, notes, marks)
    if states is None:
        return None
    return Kind(
        number=number,
        states=states,
        costs=note_costs(hand, weights, states),
        broken=broken_marks(hand, states, marks),
        marks=marks,
        pitch=np.array([-1 if note.held else note.midi for note in notes], dtype=np.int64),
    )


def _seconds(event: Event) -> float:
    return GRACE_S if event.grace else event.end_s - event.onset_s


def _context(before: Event | None, event: Event) -> Context:
    if before is None:
        return Context(slurred=False, haste=0, rest=True)
    seconds = max(event.onset_s - before.onset_s, GRACE_S)
    silence = event.onset_s - before.end_s > REST_S and not before.grace
    return Context(slurred=event.slurred, haste=haste(seconds), rest=silence and not event.held)
