"""Prices on the way from one event to the next.

Every term measures pairs of states in its own unit; the weight of its profile turns units into
points. The same functions serve the search (every state against every state) and the explanation
(the chosen path): they take arrays whose last two axes are the columns (notes) of the state before
and of the state after, and reduce over them. Reasons are common practice; no published weights
exist.
"""

from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum
from functools import cache, cached_property

import numpy as np
from numpy.typing import NDArray

from scoretools.fingering.states import LET_GO, Hand, States
from scoretools.instrument import stop_distance_mm

__all__ = ["STEP_TERMS", "Pairs", "StepTerm", "When", "held_note_moves"]

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
IntArray = NDArray[np.int64]


class When(Enum):
    """What scales a step term, beside its weight."""

    ALWAYS = "always"
    SLURRED = "under a slur"
    HASTE = "with the haste of the step"
    UNBROKEN = "unless a rest comes between"


@dataclass(frozen=True)
class Pairs:
    """Steps from states to states: arrays of any leading shape, columns on the last two axes.

    Use `grid` for every state against every state, `listed` for state after state.
    """

    hand: Hand
    """The hand that plays."""
    home: tuple[IntArray, IntArray]
    """Homes before and after; leading shape."""
    position: tuple[IntArray, IntArray]
    """Positions before and after; leading shape."""
    string: tuple[IntArray, IntArray]
    """Strings before (…, k, 1) and after (…, 1, l)."""
    finger: tuple[IntArray, IntArray]
    """Fingers, likewise."""
    offset: tuple[IntArray, IntArray]
    """Offsets, likewise."""
    pitch: tuple[IntArray, IntArray]
    """Pitches of the columns, likewise; −1 for held ones, which are not struck again."""
    kept: BoolArray
    """(k, l) whether a column after is the same held note as a column before."""

    @classmethod
    def grid(
        cls, hand: Hand, before: States, after: States, pitch: tuple[IntArray, IntArray],
        kept: BoolArray,
    ) -> "Pairs":  # fmt: skip
        """Pair every state before (n) with every state after (m): leading shape (n, m)."""
        return cls(
            hand,
            (before.home[:, None], after.home[None, :]),
            (before.position[:, None], after.position[None, :]),
            (before.string[:, None, :, None], after.string[None, :, None, :]),
            (before.finger[:, None, :, None], after.finger[None, :, None, :]),
            (before.offset[:, None, :, None], after.offset[None, :, None, :]),
            (pitch[0][:, None], pitch[1][None, :]),
            kept,
        )

    @classmethod
    def listed(
        cls, hand: Hand, before: States, after: States, pitch: tuple[IntArray, IntArray]
    ) -> "Pairs":
        """Pair the states row by row (n each): leading shape (n,)."""
        return cls(
            hand,
            (before.home, after.home),
            (before.position, after.position),
            (before.string[:, :, None], after.string[:, None, :]),
            (before.finger[:, :, None], after.finger[:, None, :]),
            (before.offset[:, :, None], after.offset[:, None, :]),
            (pitch[0][:, :, None], pitch[1][:, None, :]),
            np.zeros((before.finger.shape[1], after.finger.shape[1]), dtype=np.bool_),
        )

    @cached_property
    def shifts(self) -> BoolArray:
        """Whether the hand goes to another position."""
        return np.asarray((self.position[0] != self.position[1]) & (self.home[0] != self.home[1]))

    @cached_property
    def stays(self) -> BoolArray:
        """Whether the hand stays where it is."""
        return np.asarray(self.home[0] == self.home[1])

    @cached_property
    def both_stopped(self) -> BoolArray:
        """Whether a finger stops before and one after, for each pair of columns."""
        return np.asarray((self.finger[0] > 0) & (self.finger[1] > 0))

    @cached_property
    def same_string(self) -> BoolArray:
        """Whether two stopped columns lie on one string."""
        return np.asarray((self.string[0] == self.string[1]) & self.both_stopped)

    @cached_property
    def same_finger(self) -> BoolArray:
        """Whether two stopped columns use one finger."""
        return np.asarray((self.finger[0] == self.finger[1]) & self.both_stopped)

    @cached_property
    def rise(self) -> IntArray:
        """Semitones from the place before to the place after, for each pair of columns."""
        return np.asarray(self.offset[1] - self.offset[0])

    @cached_property
    def through_open_string(self) -> BoolArray:
        """Whether no finger is down on one side of the step, so that the hand is free."""
        down = [(finger > 0).any(axis=(-2, -1)) for finger in self.finger]
        return np.asarray(~(down[0] & down[1]))


def _any(found: BoolArray) -> FloatArray:
    return np.asarray(found.any(axis=(-2, -1)), dtype=np.float64)


def _sum(found: NDArray[np.generic]) -> FloatArray:
    return np.asarray(found.sum(axis=(-2, -1)), dtype=np.float64)


@dataclass(frozen=True, slots=True)
class StepTerm:
    """A price on the way from one event to the next."""

    name: str
    """Name, as in ``weights.toml`` and in explanations."""
    unit: str
    """What one unit is."""
    when: When
    """What scales it."""
    measure: Callable[[Pairs], FloatArray]
    """Units for each pair."""
    reason: str
    """Why players avoid it."""


def _shift(pairs: Pairs) -> FloatArray:
    # A hand that moves by a half step is halfway between a shift and a change of shape.
    near = np.abs(pairs.home[1] - pairs.home[0]) == 1
    return np.asarray(pairs.shifts * np.where(near, 0.5, 1.0), dtype=np.float64)


def _shift_cm(pairs: Pairs) -> FloatArray:
    distances = _nut_distances_cm(pairs.hand)
    return np.asarray(np.abs(distances[pairs.home[1]] - distances[pairs.home[0]]), dtype=np.float64)


@cache
def _nut_distances_cm(hand: Hand) -> FloatArray:
    return np.array([stop_distance_mm(hand.instrument, home) / 10.0 for home in range(30)])


def _shift_on_a_finger_down(pairs: Pairs) -> FloatArray:
    return np.asarray(pairs.shifts & ~pairs.through_open_string, dtype=np.float64)


def _shift_to_another_finger(pairs: Pairs) -> FloatArray:
    guided = (pairs.same_finger & pairs.same_string).any(axis=(-2, -1))
    return np.asarray(pairs.shifts & ~pairs.through_open_string & ~guided, dtype=np.float64)


def _hand_moves_a_little(pairs: Pairs) -> FloatArray:
    moved = np.abs(pairs.home[1] - pairs.home[0]) * ~pairs.shifts
    return np.asarray(moved, dtype=np.float64)


def _position_renamed(pairs: Pairs) -> FloatArray:
    return np.asarray(pairs.stays & (pairs.position[0] != pairs.position[1]), dtype=np.float64)


def _strings_crossed(pairs: Pairs) -> FloatArray:
    sounding = (pairs.finger[0] != LET_GO) & (pairs.finger[1] != LET_GO)
    apart = np.abs(pairs.string[1] - pairs.string[0])
    nearest = np.where(sounding, apart, 9).min(axis=(-2, -1))
    return np.asarray(np.where(nearest == 9, 0, nearest), dtype=np.float64)


def _finger_hops(pairs: Pairs) -> FloatArray:
    other_string = (pairs.string[0] != pairs.string[1]) & pairs.same_finger
    across_fifth = (pairs.rise == 0) & (np.abs(pairs.string[1] - pairs.string[0]) == 1)
    return _any(other_string & ~across_fifth)


def _finger_rolls(pairs: Pairs) -> FloatArray:
    across_fifth = (pairs.rise == 0) & (np.abs(pairs.string[1] - pairs.string[0]) == 1)
    return _any(pairs.same_finger & across_fifth)


def _finger_slides(pairs: Pairs) -> FloatArray:
    moved = pairs.same_finger & pairs.same_string & (pairs.rise != 0)
    return np.asarray(_any(moved) * ~pairs.shifts, dtype=np.float64)


def _shape_strain(pairs: Pairs) -> FloatArray:
    """Semitones by which two fingers on one string leave the ordinary spacing.

    Fingers that are neighbours lie one or two semitones apart, 1 and 3 or 2 and 4 three or four,
    1 and 4 five.
    """
    apart = np.abs(pairs.finger[1] - pairs.finger[0])
    direction = np.sign(pairs.finger[1] - pairs.finger[0])
    distance = pairs.rise * direction
    strain = np.maximum(_LEAST[apart] - distance, 0) + np.maximum(distance - _MOST[apart], 0)
    counted = pairs.same_string & (apart > 0)
    return np.asarray((strain * counted).max(axis=(-2, -1)) * ~pairs.shifts, dtype=np.float64)


_LEAST = np.array([0, 1, 3, 5, 0, 0])
_MOST = np.array([0, 2, 4, 5, 0, 0])


def _fingers_out_of_order(pairs: Pairs) -> FloatArray:
    direction = np.sign(pairs.finger[1] - pairs.finger[0])
    crossed = pairs.same_string & (direction != 0) & (pairs.rise * direction <= 0)
    return np.asarray(_any(crossed) * ~pairs.shifts, dtype=np.float64)


def _repeated_note_changes(pairs: Pairs) -> FloatArray:
    same_pitch = (pairs.pitch[0] == pairs.pitch[1]) & (pairs.pitch[0] >= 0)
    other = (pairs.string[0] != pairs.string[1]) | (pairs.finger[0] != pairs.finger[1])
    return _any(same_pitch & other)


def held_note_moves(pairs: Pairs) -> BoolArray:
    """Tell where a note that sounds on would change its finger or string: no hand can do that."""
    held = pairs.kept & (pairs.finger[1] != LET_GO)
    moved = (
        (pairs.finger[0] != pairs.finger[1])
        | (pairs.string[0] != pairs.string[1])
        | (pairs.offset[0] != pairs.offset[1])
    )
    return np.asarray((held & moved).any(axis=(-2, -1)))


STEP_TERMS: tuple[StepTerm, ...] = tuple(
    StepTerm(*row)
    for row in (
        ("shift", "shift", When.ALWAYS, _shift,
         "a place must be found again"),
        ("shift distance", "cm along the string", When.ALWAYS, _shift_cm,
         "the further, the less sure; the same interval is shorter higher up"),
        ("shift under a slur", "shift", When.SLURRED, _shift,
         "it is heard"),
        ("hasty shift", "shift", When.HASTE, _shift,
         "a shift needs time"),
        ("shift on a sounding finger", "shift", When.UNBROKEN, _shift_on_a_finger_down,
         "an open string or a rest would hide it"),
        ("shift to another finger", "shift", When.ALWAYS, _shift_to_another_finger,
         "no finger leads the way"),
        ("hand moves a little", "semitone", When.ALWAYS, _hand_moves_a_little,
         "the frame is set anew inside the position"),
        ("position renamed", "step", When.ALWAYS, _position_renamed,
         "the same place is thought of in another position"),
        ("string crossing", "string", When.ALWAYS, _strings_crossed,
         "the bow arm changes level"),
        ("string crossing under a slur", "string", When.SLURRED, _strings_crossed,
         "the slur shows the change of string"),
        ("hasty string crossing", "string", When.HASTE, _strings_crossed,
         "the bow needs time"),
        ("finger hops", "step", When.ALWAYS, _finger_hops,
         "one finger must jump to another string"),
        ("hasty hop", "step", When.HASTE, _finger_hops,
         "the jump leaves a gap"),
        ("finger rolls across a fifth", "step", When.ALWAYS, _finger_rolls,
         "the fingertip must cover both strings"),
        ("finger slides", "step", When.ALWAYS, _finger_slides,
         "the slide is heard"),
        ("hasty slide", "step", When.HASTE, _finger_slides,
         "the slide smears"),
        ("shape strained", "semitone", When.ALWAYS, _shape_strain,
         "two neighbouring notes ask for a spacing outside the hand's ordinary ones"),
        ("fingers out of order", "step", When.ALWAYS, _fingers_out_of_order,
         "a higher finger would have to lie at or below a lower one"),
        ("repeated note changes", "step", When.ALWAYS, _repeated_note_changes,
         "a repeated note is kept under its finger"),
    )
)  # fmt: skip
"""Prices on the way from one event to the next."""
