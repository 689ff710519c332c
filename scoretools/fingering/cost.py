"""From terms and weights to cost tables, and back to the items of a chosen path.

Costs are whole thousandths of a point, so that sums do not depend on their order and equal
fingerings are equal to the last digit.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from scoretools.fingering.note_terms import NOTE_TERMS
from scoretools.fingering.rows import Hand
from scoretools.fingering.states import States
from scoretools.fingering.step_terms import STEP_TERMS, Pairs, Units, When, held_note_moves
from scoretools.fingering.weights import Weights

__all__ = [
    "FORBIDDEN",
    "HASTE_STEPS",
    "LONGEST_COUNTED_S",
    "POINT",
    "Context",
    "NoteCosts",
    "StepCosts",
    "haste",
    "joined_costs",
    "note_costs",
    "note_items",
    "scales",
    "step_costs",
    "step_items",
]

IntArray = NDArray[np.int64]
FloatArray = NDArray[np.float64]

POINT = 1000
"""Cost units in a point."""

FORBIDDEN = 10**12
"""Cost units of a step that no hand can take; more than any whole part can cost."""

HASTE_STEPS = 16
"""Haste is counted in sixteenths, so that steps alike in all else share a table."""

LONGEST_COUNTED_S = 2.0
"""A note longer than this counts as this long, seconds."""


class Context(NamedTuple):
    """What surrounds a step, apart from the notes themselves."""

    slurred: bool
    """Whether a slur joins the two events."""
    haste: int
    """Haste in sixteenths, 0 to 16."""
    rest: bool
    """Whether silence comes between."""
    glides: bool = False
    """Whether a slide or glissando is written between them."""
    stays: bool = False
    """Whether a word asks the hand to stay."""
    repeats: bool = False
    """Whether the step lies within a row of repetitions."""


def haste(seconds: float) -> int:
    """Haste of a step that takes so many seconds, in sixteenths.

    A quarter of a second gives one half; a slow step tends to 0, an instant one to 16.
    """
    return round(HASTE_STEPS * 0.25 / (0.25 + seconds))


# ── events ──────────────────────────────────────────────────────────────────────────────────────


@dataclass(frozen=True, slots=True, eq=False)
class NoteCosts:
    """Costs of states by themselves, points."""

    per_event: FloatArray
    """(n,) points whatever the length."""
    per_second: FloatArray
    """(n,) points a second."""

    def rows(self, rows: NDArray[np.intp]) -> "NoteCosts":
        """Take some of the states."""
        return NoteCosts(self.per_event[rows], self.per_second[rows])

    def lasting(self, seconds: float | FloatArray) -> IntArray:
        """(n,) cost units in an event of this length, or for each state in one of its own."""
        points = self.per_second * np.minimum(seconds, LONGEST_COUNTED_S)
        points += self.per_event
        points *= POINT
        return np.rint(points, out=points).astype(np.int64)


def note_costs(hand: Hand, weights: Weights, states: States) -> NoteCosts:
    """Price every state of an event by itself."""
    per_event = np.zeros(len(states))
    per_second = np.zeros(len(states))
    for term in NOTE_TERMS:
        weight = weights.note[term.name]
        if weight:
            into = per_second if term.per_second else per_event
            into += weight * term.measure(hand, states)
    return NoteCosts(per_event, per_second)


def joined_costs(costs: Sequence[NoteCosts]) -> NoteCosts:
    """Put costs one below the other."""
    empty = np.zeros(0)
    return NoteCosts(
        np.concatenate([empty, *(one.per_event for one in costs)]),
        np.concatenate([empty, *(one.per_second for one in costs)]),
    )


def note_items(
    hand: Hand, weights: Weights, states: States, seconds: FloatArray
) -> Mapping[str, FloatArray]:
    """Itemise the note terms of states, one event a row, in points.

    Parameters
    ----------
    seconds
        (n,) lengths of the events.
    """
    lengths = np.minimum(seconds, LONGEST_COUNTED_S)
    return {
        term.name: weights.note[term.name]
        * term.measure(hand, states)
        * (lengths if term.per_second else 1.0)
        for term in NOTE_TERMS
    }


# ── steps ───────────────────────────────────────────────────────────────────────────────────────


@dataclass(frozen=True, slots=True, eq=False)
class StepCosts:
    """Costs of steps between states, points; all arrays of one shape."""

    always: Units
    """Points whatever the context."""
    slurred: Units
    """Points more under a slur."""
    hasty: Units
    """Points more at full haste."""
    unbroken: Units
    """Points more where no rest comes between."""
    gliding: Units
    """Points more where a slide is written."""
    staying: Units
    """Points more where the hand is asked to stay."""
    repeating: Units
    """Points more within a row of repetitions."""
    forbidden: NDArray[np.bool_] | None
    """Where no hand can go; none where every step is open."""

    def within(self, context: Context) -> NDArray[np.int64] | NDArray[np.int32]:
        """Cost units in a context."""
        points = self.always + self.hasty * np.float32(context.haste / HASTE_STEPS)
        if context.slurred:
            points += self.slurred
        if not context.rest:
            points += self.unbroken
        if context.glides:
            points += self.gliding
        if context.stays:
            points += self.staying
        if context.repeats:
            points += self.repeating
        points *= POINT
        units = np.rint(points).astype(np.int32)
        if self.forbidden is None:
            return units
        return np.where(self.forbidden, np.int64(FORBIDDEN), units)

    def cut(self, rows: slice, shape: tuple[int, int]) -> "StepCosts":
        """Take some of the listed steps and lay them out as a table."""
        return StepCosts(
            self.always[rows].reshape(shape),
            self.slurred[rows].reshape(shape),
            self.hasty[rows].reshape(shape),
            self.unbroken[rows].reshape(shape),
            self.gliding[rows].reshape(shape),
            self.staying[rows].reshape(shape),
            self.repeating[rows].reshape(shape),
            None if self.forbidden is None else self.forbidden[rows].reshape(shape),
        )


def step_costs(weights: Weights, pairs: Pairs) -> StepCosts:
    """Price listed steps."""
    sums = {when: np.zeros(len(pairs.home[0]), dtype=np.float32) for when in When}
    torn = held_note_moves(pairs)
    for term in STEP_TERMS:
        weight = weights.step[term.name]
        if weight:
            sums[term.when] += np.float32(weight) * term.measure(pairs)
    return StepCosts(
        always=sums[When.ALWAYS],
        slurred=sums[When.SLURRED],
        hasty=sums[When.HASTE],
        unbroken=sums[When.UNBROKEN],
        gliding=sums[When.GLIDING],
        staying=sums[When.STAYING],
        repeating=sums[When.REPEATING],
        forbidden=torn if torn.any() else None,
    )


def scales(context: Context) -> Mapping[When, float]:
    """Tell what a context makes of the terms of each kind."""
    return {
        When.ALWAYS: 1.0,
        When.SLURRED: float(context.slurred),
        When.HASTE: context.haste / HASTE_STEPS,
        When.UNBROKEN: float(not context.rest),
        When.GLIDING: float(context.glides),
        When.STAYING: float(context.stays),
        When.REPEATING: float(context.repeats),
    }


def step_items(
    weights: Weights, pairs: Pairs, contexts: Sequence[Context]
) -> Mapping[str, FloatArray]:
    """Itemise the step terms of listed pairs, one step a row, in points.

    Parameters
    ----------
    contexts
        The context of each step.
    """
    different = list(dict.fromkeys(contexts))
    number = {context: number for number, context in enumerate(different)}
    which = [number[context] for context in contexts]
    each = [scales(context) for context in different]
    scale = {when: np.array([one[when] for one in each])[which] for when in When}
    return {
        term.name: weights.step[term.name] * term.measure(pairs) * scale[term.when]
        for term in STEP_TERMS
    }
