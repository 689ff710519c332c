"""Prices on the way from one event to the next.

Every term measures pairs of states in its own unit; the weight of its profile turns units into
points. The functions take arrays of any leading shape whose last two axes are the columns (notes)
of the state before and of the state after, and reduce over these two. Reasons are common practice;
no published weights exist.
"""

from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum
from functools import cache, cached_property
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from scoretools.fingering.rows import LET_GO, Hand
from scoretools.fingering.states import IntArray, States
from scoretools.hand import GAP_LETTERS
from scoretools.instrument import stop_distance_mm

__all__ = ["STEP_TERMS", "Pairs", "StepTerm", "Units", "When", "held_note_moves"]

Units = NDArray[np.float32]
BoolArray = NDArray[np.bool_]


class When(Enum):
    """What scales a step term, beside its weight."""

    ALWAYS = "always"
    SLURRED = "under a slur"
    HASTE = "with the haste of the step"
    UNBROKEN = "unless a rest comes between"
    GLIDING = "where a slide is written"
    STAYING = "where the hand is asked to stay"


@dataclass(frozen=True)
class Pairs:
    """Steps from states to states, columns on the last two axes.

    Facts that several terms need are worked out once, on first use.
    """

    hand: Hand
    """The hand that plays."""
    home: tuple[IntArray, IntArray]
    """(n,) homes before and after."""
    position: tuple[IntArray, IntArray]
    """(n,) positions before and after."""
    string: tuple[IntArray, IntArray]
    """Strings before (n, k, 1) and after (n, 1, l)."""
    finger: tuple[IntArray, IntArray]
    """Fingers, likewise."""
    offset: tuple[IntArray, IntArray]
    """Offsets, likewise."""
    pitch: tuple[IntArray, IntArray]
    """Pitches of the columns, likewise; −1 for held ones, which are not struck again."""
    kept: BoolArray
    """(k, l) whether a column after is the same held note as a column before."""

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
        return cls(
            hand,
            (before.home, after.home),
            (before.position, after.position),
            (before.string[:, :, None], after.string[:, None, :]),
            (before.finger[:, :, None], after.finger[:, None, :]),
            (before.offset[:, :, None], after.offset[:, None, :]),
            (pitch[0][:, :, None], pitch[1][:, None, :]),
            kept,
        )

    @cached_property
    def travel(self) -> IntArray:
        """Semitones the hand moves."""
        return np.asarray(self.home[1] - self.home[0])

    @cached_property
    def shifts(self) -> BoolArray:
        """Whether the hand goes to another position."""
        return np.asarray((self.position[0] != self.position[1]) & (self.travel != 0))

    @cached_property
    def both_stopped(self) -> BoolArray:
        """Whether a finger stops before and one after, for each pair of columns."""
        return np.asarray((self.finger[0] > 0) & (self.finger[1] > 0))

    @cached_property
    def strings_apart(self) -> IntArray:
        """Strings between two columns."""
        return np.asarray(np.abs(self.string[1] - self.string[0]))

    @cached_property
    def same_string(self) -> BoolArray:
        """Whether two stopped columns lie on one string."""
        return np.asarray((self.strings_apart == 0) & self.both_stopped)

    @cached_property
    def same_finger(self) -> BoolArray:
        """Whether two stopped columns use one finger."""
        return np.asarray((self.finger[0] == self.finger[1]) & self.both_stopped)

    @cached_property
    def rise(self) -> IntArray:
        """Semitones from the place before to the place after, for each pair of columns."""
        return np.asarray(self.offset[1] - self.offset[0])

    @cached_property
    def finger_rise(self) -> IntArray:
        """How many fingers higher the column after is."""
        return np.asarray(self.finger[1] - self.finger[0])

    @cached_property
    def across_fifth(self) -> BoolArray:
        """Whether two columns lie at one place on neighbouring strings."""
        return np.asarray((self.rise == 0) & (self.strings_apart == 1))

    @cached_property
    def through_open_string(self) -> BoolArray:
        """Whether no finger is down on one side of the step, so that the hand is free."""
        down = [_any(finger > 0) for finger in self.finger]
        return np.asarray(~(down[0] & down[1]))

    @cached_property
    def crossed(self) -> Units:
        """Strings the bow crosses at least."""
        sounding = (self.finger[0] != LET_GO) & (self.finger[1] != LET_GO)
        nearest = np.where(sounding, self.strings_apart, 99)
        nearest = nearest[..., 0, 0] if _single(nearest) else nearest.min(axis=(-2, -1))
        return np.where(nearest == 99, 0, nearest).astype(np.float32)

    @cached_property
    def highest_finger(self) -> tuple[IntArray, IntArray]:
        """The highest finger down before and after; 0 where none is."""
        return tuple(_highest(np.maximum(finger, 0)) for finger in self.finger)  # type: ignore[return-value]

    @cached_property
    def line(self) -> IntArray:
        """Semitones from the top note before to the top note after."""
        return np.asarray(_highest(self.pitch[1]) - _highest(self.pitch[0]))

    @cached_property
    def goes_up(self) -> BoolArray:
        """Whether the hand shifts away from the scroll."""
        return np.asarray(self.shifts & (self.travel > 0))

    @cached_property
    def hops(self) -> Units:
        """Whether one finger goes to another string, a fifth's roll apart, while the hand stays."""
        found = _any(self.same_finger & (self.strings_apart > 0) & ~self.across_fifth)
        return _as_units(found & ~self.shifts) * self.ease_in_chords

    @property
    def ease_in_chords(self) -> np.float32:
        """Factor on hops and rolls: in double stops the fingers of all strings move together."""
        return np.float32(1.0 if _single(self.finger_rise) else 0.4)

    @cached_property
    def slides(self) -> Units:
        """How far one finger slides along its string while the hand stays in position.

        A half step is one; more than that, which smears, is three.
        """
        slid = self.same_finger & self.same_string & ~self.shifts[..., None, None]
        half = _as_units(_any(slid & (self.rise != 0)))
        return half + np.float32(2) * _as_units(_any(slid & (np.abs(self.rise) > 1)))


def _single(found: NDArray[np.generic]) -> bool:
    """Tell whether there is but one column before and after."""
    return found.shape[-2:] == (1, 1)


def _highest(values: IntArray) -> IntArray:
    return np.asarray(values[..., 0, 0] if _single(values) else values.max(axis=(-2, -1)))


def _any(found: BoolArray) -> BoolArray:
    return np.asarray(found[..., 0, 0] if _single(found) else found.any(axis=(-2, -1)))


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
    return _as_units(pairs.shifts) * size * np.float32(1 if _single(pairs.finger_rise) else 1.5)


def _shift_cm(pairs: Pairs) -> Units:
    distances = _nut_distances_cm(pairs.hand)
    return np.asarray(np.abs(distances[pairs.home[1]] - distances[pairs.home[0]]))


@cache
def _nut_distances_cm(hand: Hand) -> Units:
    distances = [stop_distance_mm(hand.instrument, home) / 10.0 for home in range(36)]
    return np.array(distances, dtype=np.float32)


def _shift_on_a_finger_down(pairs: Pairs) -> Units:
    return _as_units(pairs.shifts & ~pairs.through_open_string)


def _shift_to_another_finger(pairs: Pairs) -> Units:
    guided = _any(pairs.same_finger & pairs.same_string)
    return _as_units(pairs.shifts & ~pairs.through_open_string & ~guided)


def _far_shift(pairs: Pairs) -> Units:
    return _as_units(pairs.shifts & (np.abs(pairs.travel) >= _FAR))


_FAR = 5
"""Semitones of travel beyond which no finger can feel for its new place: a whole frame."""


def _shift_up_to_a_higher_finger(pairs: Pairs) -> Units:
    return _as_units(pairs.goes_up & (pairs.highest_finger[1] > 1))


def _shift_up_from_a_higher_finger(pairs: Pairs) -> Units:
    return _as_units(pairs.goes_up & (pairs.highest_finger[0] > 1))


def _shift_down_to_a_lower_finger(pairs: Pairs) -> Units:
    arrival = pairs.highest_finger[1]
    return _as_units(pairs.shifts & (pairs.travel < 0) & (arrival > 0) & (arrival < 4))


def _shift_up_while_the_line_falls(pairs: Pairs) -> Units:
    return _as_units(pairs.goes_up & (pairs.line < 0))


def _stops_crossed(pairs: Pairs) -> Units:
    stopped = (pairs.highest_finger[0] > 0) & (pairs.highest_finger[1] > 0)
    return np.asarray(pairs.crossed * stopped)


def _crossing_from_the_fourth_finger(pairs: Pairs) -> Units:
    fourth = (pairs.highest_finger[0] == 4) & (pairs.highest_finger[1] > 0)
    return _as_units(fourth & (pairs.crossed > 0) & ~pairs.shifts)


def _hand_moves_a_little(pairs: Pairs) -> Units:
    return np.abs(pairs.travel).astype(np.float32) * ~pairs.shifts


def _position_renamed(pairs: Pairs) -> Units:
    return _as_units((pairs.travel == 0) & (pairs.position[0] != pairs.position[1]))


def _strings_crossed(pairs: Pairs) -> Units:
    return pairs.crossed


def _finger_hops(pairs: Pairs) -> Units:
    return pairs.hops


def _finger_rolls(pairs: Pairs) -> Units:
    return _as_units(_any(pairs.same_finger & pairs.across_fifth)) * pairs.ease_in_chords


def _finger_slides(pairs: Pairs) -> Units:
    return pairs.slides


def _shape_strain(pairs: Pairs) -> Units:
    """Semitones by which two fingers on one string leave the ordinary spacing.

    Fingers that are neighbours lie one or two semitones apart, 1 and 3 or 2 and 4 three or four,
    1 and 4 five.
    """
    apart = np.abs(pairs.finger_rise)
    distance = np.where(pairs.finger_rise < 0, -pairs.rise, pairs.rise)
    strain = np.maximum(_LEAST[apart] - distance, 0) + np.maximum(distance - _MOST[apart], 0)
    strain = strain * (pairs.same_string & (apart > 0))
    most = strain[..., 0, 0] if _single(strain) else strain.max(axis=(-2, -1))
    return np.asarray(most * ~pairs.shifts, dtype=np.float32)


_LEAST = np.array([0, 1, 3, 5, 0, 0], dtype=np.int16)
_MOST = np.array([0, 2, 4, 5, 0, 0], dtype=np.int16)


def _spacing_not_known_yet(pairs: Pairs) -> Units:
    if not pairs.hand.shapes:
        return np.zeros(len(pairs.shifts), dtype=np.float32)
    upwards = pairs.finger_rise > 0
    low = np.where(upwards, pairs.finger[0], pairs.finger[1])
    distance = np.where(upwards, pairs.rise, -pairs.rise)
    within = (distance > 0) & (distance < _WIDEST)
    apart = np.abs(pairs.finger_rise)
    asked = pairs.same_string & (apart > 0)
    known = _known_spacings(pairs.hand.shapes)[
        np.where(asked, low, 0), np.where(asked, apart, 0), np.where(within, distance, 0)
    ]
    return _as_units(_any(asked & ~known) & ~pairs.shifts)


_WIDEST = 10
"""Semitones; more than any hand spans on one string."""


@cache
def _known_spacings(shapes: tuple[str, ...]) -> BoolArray:
    """Whether some shape puts two fingers so far apart: lower finger, fingers apart, semitones."""
    table = np.zeros((5, 5, _WIDEST), dtype=np.bool_)
    for shape in shapes:
        places = np.cumsum([0, *(_GAPS[letter] for letter in shape.split("-"))])
        for low, high in combinations(range(4), 2):
            table[low + 1, high - low, places[high] - places[low]] = True
    return table


_GAPS = {letter: semitones for semitones, letter in GAP_LETTERS.items()}


def _fingers_out_of_order(pairs: Pairs) -> Units:
    ahead = ((pairs.finger_rise > 0) & (pairs.rise <= 0)) | (
        (pairs.finger_rise < 0) & (pairs.rise >= 0)
    )
    return _as_units(_any(ahead & pairs.same_string) & ~pairs.shifts)


def _repeated_note_changes(pairs: Pairs) -> Units:
    same_pitch = (pairs.pitch[0] == pairs.pitch[1]) & (pairs.pitch[0] >= 0)
    other = (pairs.strings_apart != 0) | (pairs.finger_rise != 0)
    return _as_units(_any(same_pitch & other))


def _not_one_finger(pairs: Pairs) -> Units:
    return _as_units(~_any(pairs.same_finger & pairs.same_string))


def held_note_moves(pairs: Pairs) -> BoolArray:
    """Tell where a note that sounds on would change its finger or string: no hand can do that."""
    held = pairs.kept & (pairs.finger[1] != LET_GO)
    moved = (pairs.finger_rise != 0) | (pairs.strings_apart != 0) | (pairs.rise != 0)
    return _any(held & moved)


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
    )
)  # fmt: skip
"""Prices on the way from one event to the next."""
