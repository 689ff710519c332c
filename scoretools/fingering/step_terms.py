"""Prices on the way from one event to the next.

Every term measures pairs of states in its own unit; the weight of its profile turns units into
points. What the fingers do from stops to stops is worked out in `scoretools.fingering.moves`; the
functions here add where the hand goes. Reasons are common practice; no published weights exist.
"""

from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum
from functools import cache, cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from scoretools.fingering.moves import Columns, FingerMoves, finger_moves
from scoretools.fingering.rows import Hand
from scoretools.fingering.states import IntArray, States, Turn
from scoretools.instrument import stop_distance_mm

__all__ = ["STEP_TERMS", "Pairs", "StepTerm", "Units", "When", "held_note_moves"]

Units = NDArray[np.float32]
BoolArray = NDArray[np.bool_]
SmallArray = NDArray[np.integer[Any]]


class When(Enum):
    """What scales a step term, beside its weight."""

    ALWAYS = "always"
    SLURRED = "under a slur"
    HASTE = "with the haste of the step"
    UNBROKEN = "unless a rest comes between"
    GLIDING = "where a slide is written"
    STAYING = "where the hand is asked to stay"
    REPEATING = "within a row of repetitions"


@dataclass(frozen=True)
class Pairs:
    """Steps from states to states, one a row.

    Facts that several terms need are worked out once, on first use.
    """

    hand: Hand
    """The hand that plays."""
    home: tuple[SmallArray, SmallArray]
    """(n,) homes before and after."""
    turn: Turn
    """(n,) how the position changes."""
    moves: FingerMoves
    """What the fingers do."""

    @classmethod
    def between(
        cls, hand: Hand, states: tuple[States, States], pitch: tuple[IntArray, IntArray],
        kept: BoolArray,
    ) -> "Pairs":  # fmt: skip
        """Pair states row by row.

        Parameters
        ----------
        states
            States before (n rows, k columns) and after (n rows, l columns).
        pitch
            (n, k) and (n, l) MIDI numbers, −1 for held notes.
        kept
            (k, l) whether a column after is the same held note as a column before.
        """
        before, after = states
        one, other = (
            Columns(side.string, side.finger, side.offset, pitches)
            for side, pitches in zip(states, pitch, strict=True)
        )
        return cls(
            hand,
            (before.home, after.home),
            Turn.between(before.named, after.named),
            finger_moves(one, other, kept, hand.shapes),
        )

    @cached_property
    def travel(self) -> SmallArray:
        """Semitones the hand moves."""
        return np.asarray(self.home[1] - self.home[0])

    @cached_property
    def shifts(self) -> BoolArray:
        """Whether the hand goes to another position."""
        return np.asarray(self.turn.renamed & (self.travel != 0))

    @cached_property
    def goes_up(self) -> BoolArray:
        """Whether the hand shifts away from the scroll."""
        return np.asarray(self.shifts & (self.travel > 0))

    @cached_property
    def sounds_through(self) -> BoolArray:
        """Whether a finger is down on both sides of a shift, so that the hand is not free."""
        down = (self.moves.highest_before > 0) & (self.moves.highest_after > 0)
        return np.asarray(self.shifts & down)

    @cached_property
    def ease_in_chords(self) -> Units:
        """Factor on hops and rolls: in double stops the fingers of all strings move together."""
        return np.where(self.moves.in_chord, np.float32(0.4), np.float32(1))


def _as_units(found: BoolArray) -> Units:
    return found.astype(np.float32)


@dataclass(frozen=True, slots=True)
class StepTerm:
    """A price on the way from one event to the next."""

    name: str
    """Name, as in ``weights.toml`` and in explanations."""
    unit: str
    """What one unit is."""
    when: When
    """What scales it."""
    measure: Callable[[Pairs], Units]
    """(n,) units for each pair."""
    reason: str
    """Why players avoid it."""


def _shift(pairs: Pairs) -> Units:
    # A hand that moves by a half step is halfway between a shift and a change of shape; one that
    # carries a double stop must find two places at once.
    size = np.where(np.abs(pairs.travel) == 1, np.float32(0.5), np.float32(1))
    burden = np.where(pairs.moves.in_chord, np.float32(1.5), np.float32(1))
    return _as_units(pairs.shifts) * size * burden


def _shift_cm(pairs: Pairs) -> Units:
    distances = _nut_distances_cm(pairs.hand)
    return np.asarray(np.abs(distances[pairs.home[1]] - distances[pairs.home[0]]))


@cache
def _nut_distances_cm(hand: Hand) -> Units:
    distances = [stop_distance_mm(hand.instrument, home) / 10.0 for home in range(36)]
    return np.array(distances, dtype=np.float32)


def _shift_on_a_finger_down(pairs: Pairs) -> Units:
    return _as_units(pairs.sounds_through)


def _shift_to_another_finger(pairs: Pairs) -> Units:
    return _as_units(pairs.sounds_through & ~pairs.moves.guided)


def _far_shift(pairs: Pairs) -> Units:
    return _as_units(pairs.shifts & (np.abs(pairs.travel) >= _FAR))


_FAR = 5
"""Semitones of travel beyond which no finger can feel for its new place: a whole frame."""


def _shift_up_to_a_higher_finger(pairs: Pairs) -> Units:
    return _as_units(pairs.goes_up & (pairs.moves.highest_after > 1))


def _shift_up_from_a_higher_finger(pairs: Pairs) -> Units:
    return _as_units(pairs.goes_up & (pairs.moves.highest_before > 1))


def _shift_down_to_a_lower_finger(pairs: Pairs) -> Units:
    arrival = pairs.moves.highest_after
    return _as_units(pairs.shifts & (pairs.travel < 0) & (arrival > 0) & (arrival < 4))


def _shift_up_while_the_line_falls(pairs: Pairs) -> Units:
    return _as_units(pairs.goes_up & pairs.moves.falls)


def _hand_moves_a_little(pairs: Pairs) -> Units:
    return np.abs(pairs.travel).astype(np.float32) * ~pairs.shifts


def _position_renamed(pairs: Pairs) -> Units:
    return _as_units((pairs.travel == 0) & pairs.turn.renamed)


def _into_half_position(pairs: Pairs) -> Units:
    return _as_units(pairs.turn.into_half)


def _strings_crossed(pairs: Pairs) -> Units:
    return pairs.moves.crossed.astype(np.float32)


def _stops_crossed(pairs: Pairs) -> Units:
    stopped = (pairs.moves.highest_before > 0) & (pairs.moves.highest_after > 0)
    return _strings_crossed(pairs) * stopped


def _crossing_from_the_fourth_finger(pairs: Pairs) -> Units:
    fourth = (pairs.moves.highest_before == 4) & (pairs.moves.highest_after > 0)
    return _as_units(fourth & (pairs.moves.crossed > 0) & ~pairs.shifts)


def _finger_hops(pairs: Pairs) -> Units:
    return _as_units(pairs.moves.hops & ~pairs.shifts) * pairs.ease_in_chords


def _finger_rolls(pairs: Pairs) -> Units:
    return _as_units(pairs.moves.rolls) * pairs.ease_in_chords


def _finger_slides(pairs: Pairs) -> Units:
    return _SLIDE[pairs.moves.slides] * ~pairs.shifts


_SLIDE = np.array([0, 1, 3], dtype=np.float32)
"""A half step is one; more than that, which smears, is three."""


def _shape_strain(pairs: Pairs) -> Units:
    return pairs.moves.strain.astype(np.float32) * ~pairs.shifts


def _spacing_not_known_yet(pairs: Pairs) -> Units:
    return _as_units(pairs.moves.unknown & ~pairs.shifts)


def _fingers_out_of_order(pairs: Pairs) -> Units:
    return _as_units(pairs.moves.out_of_order & ~pairs.shifts)


def _repeated_note_changes(pairs: Pairs) -> Units:
    return _as_units(pairs.moves.refingers)


def _not_one_finger(pairs: Pairs) -> Units:
    return _as_units(~pairs.moves.guided)


def held_note_moves(pairs: Pairs) -> BoolArray:
    """Tell where a note that sounds on would change its finger or string: no hand can do that."""
    return pairs.moves.tears


_SHIFTS = "shift, half for a half step, half more with a double stop"

STEP_TERMS: tuple[StepTerm, ...] = tuple(
    StepTerm(*row)
    for row in (
        ("shift", _SHIFTS, When.ALWAYS, _shift,
         "a place must be found again"),
        ("shift distance", "cm along the string", When.ALWAYS, _shift_cm,
         "the further, the less sure; the same interval is shorter higher up"),
        ("shift under a slur", _SHIFTS, When.SLURRED, _shift,
         "it is heard"),
        ("hasty shift", _SHIFTS, When.HASTE, _shift,
         "a shift needs time"),
        ("shift on a sounding finger", "shift", When.UNBROKEN, _shift_on_a_finger_down,
         "an open string or a rest would hide it"),
        ("shift to another finger", "shift", When.ALWAYS, _shift_to_another_finger,
         "no finger leads the way"),
        ("far shift", "shift of a fourth or more", When.ALWAYS, _far_shift,
         "the hand leaves all it can feel"),
        ("shift up to a higher finger", "shift", When.ALWAYS, _shift_up_to_a_higher_finger,
         "arriving on the first finger leaves the others for the line to go on"),
        ("shift up from a higher finger", "shift", When.ALWAYS, _shift_up_from_a_higher_finger,
         "the first finger, which carries the frame, should lead"),
        ("shift down to a lower finger", "shift", When.ALWAYS, _shift_down_to_a_lower_finger,
         "arriving on the fourth finger leaves the others for the line to go on"),
        ("shift up while the line falls", "shift", When.ALWAYS, _shift_up_while_the_line_falls,
         "the hand goes against the ear"),
        ("hand moves a little", "semitone", When.ALWAYS, _hand_moves_a_little,
         "the frame is set anew inside the position"),
        ("position renamed", "step", When.ALWAYS, _position_renamed,
         "the same place is thought of in another position"),
        ("into half position", "step", When.ALWAYS, _into_half_position,
         "the hand leaves its rest against the neck's end"),
        ("string crossing", "string", When.ALWAYS, _strings_crossed,
         "the bow arm changes level"),
        ("string crossing under a slur", "string", When.SLURRED, _strings_crossed,
         "the slur shows the change of string"),
        ("hasty string crossing", "string", When.HASTE, _strings_crossed,
         "the bow needs time"),
        ("string crossing between stops", "string", When.ALWAYS, _stops_crossed,
         "two fingers must be in place on two strings; an open string needs none"),
        ("crossing from the fourth finger", "step", When.ALWAYS, _crossing_from_the_fourth_finger,
         "the fourth finger was not worth its trouble if the next string comes at once"),
        ("finger hops", "step", When.UNBROKEN, _finger_hops,
         "one finger must jump to another string"),
        ("hasty hop", "step", When.HASTE, _finger_hops,
         "the jump leaves a gap"),
        ("finger rolls across a fifth", "step", When.UNBROKEN, _finger_rolls,
         "the fingertip must cover both strings"),
        ("finger slides", "half step; three for more", When.ALWAYS, _finger_slides,
         "the slide is heard"),
        ("hasty slide", "half step; three for more", When.HASTE, _finger_slides,
         "the slide smears"),
        ("shape strained", "semitone", When.ALWAYS, _shape_strain,
         "two neighbouring notes ask for a spacing outside the hand's ordinary ones"),
        ("spacing not known yet", "step", When.ALWAYS, _spacing_not_known_yet,
         "no shape that the player knows puts these two fingers so far apart"),
        ("fingers out of order", "step", When.ALWAYS, _fingers_out_of_order,
         "a higher finger would have to lie at or below a lower one"),
        ("slide by another finger", "step", When.GLIDING, _not_one_finger,
         "one finger draws a slide, along one string"),
        ("shift against restez", _SHIFTS, When.STAYING, _shift,
         "the edition asks the hand to stay"),
        ("repeated note changes", "step", When.ALWAYS, _repeated_note_changes,
         "a repeated note is kept under its finger"),
        ("change among repetitions", "step", When.REPEATING, _repeated_note_changes,
         "within a row of one note it would be heard as a slip"),
    )
)  # fmt: skip
"""Prices on the way from one event to the next."""
