"""Prices on one event alone, whatever comes before and after.

Every term measures the states of an event in its own unit; the weight of its profile turns units
into points. Reasons are common practice; no published weights exist.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from scoretools.fingering.rows import LET_GO, Hand
from scoretools.fingering.states import States
from scoretools.hand import FRAME, SLOTS, SlotKind, stretch_mm
from scoretools.instrument import HIGHEST_POSITION, homes_of_position
from scoretools.model import Offset, PositionNumber

__all__ = ["NOTE_TERMS", "NoteTerm"]

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
IntArray = NDArray[np.int16]


@dataclass(frozen=True, slots=True)
class NoteTerm:
    """A price on one event alone."""

    name: str
    """Name, as in ``weights.toml`` and in explanations."""
    unit: str
    """What one unit is."""
    per_second: bool
    """Whether it counts per second of the note (at most two), not per event."""
    measure: Callable[[Hand, States], FloatArray]
    """(n,) units for each state."""
    reason: str
    """Why players avoid it."""


def _stopped(states: States) -> BoolArray:
    return np.asarray(states.finger > 0)


def _slot(states: States) -> IntArray:
    return np.asarray(states.offset - states.home[:, None])


@cache
def _slot_kinds() -> NDArray[np.int64]:
    """Kind of slot by finger and distance from home (shifted by one), as an index."""
    kinds = list(SlotKind)
    table = np.full((5, 11), kinds.index(SlotKind.ORDINARY), dtype=np.int64)
    for slot in SLOTS:
        table[slot.finger, slot.from_home + 1] = kinds.index(slot.kind)
    return table


def _count_kind(*kinds: SlotKind) -> Callable[[Hand, States], FloatArray]:
    wanted = [list(SlotKind).index(kind) for kind in kinds]

    def measure(hand: Hand, states: States) -> FloatArray:
        stopped = _stopped(states)
        slot = np.where(stopped, _slot(states), 0)
        found = _slot_kinds()[np.maximum(states.finger, 0), slot + 1]
        return np.asarray((np.isin(found, wanted) & stopped).sum(axis=1), dtype=np.float64)

    return measure


def _positions_above_first(hand: Hand, states: States) -> FloatArray:
    return np.asarray(np.maximum(states.position - 1, 0) * _stopped(states).any(axis=1), float)


def _half_position(hand: Hand, states: States) -> FloatArray:
    return np.asarray((states.named == 0) & _stopped(states).any(axis=1), dtype=np.float64)


def _even_position(hand: Hand, states: States) -> FloatArray:
    even = (states.position > 0) & (states.position % 2 == 0)
    return np.asarray(even & _stopped(states).any(axis=1), dtype=np.float64)


def _beyond_ceiling(hand: Hand, states: States) -> FloatArray:
    # By place, not by name, so that nothing is gained by naming a high hand low.
    highest = homes_of_position(hand.ceiling)[-1]
    return np.asarray(np.maximum(states.home - highest, 0), dtype=np.float64)


def _hand_off_place(hand: Hand, states: States) -> FloatArray:
    away = _away_from_place(hand)[states.position, states.home]
    return np.asarray(away * _stopped(states).any(axis=1), dtype=np.float64)


@cache
def _away_from_place(hand: Hand) -> FloatArray:
    """Semitones by position and home; both places of a second, third, sixth or seventh are usual.

    A low first finger on flats is as good a place as the one a half step higher.
    """
    table = np.zeros((HIGHEST_POSITION + 1, _HOMES))
    for number in range(HIGHEST_POSITION + 1):
        homes = homes_of_position(PositionNumber(number))
        usual = homes[:2] if number % 7 in (1, 2, 5, 6) else homes[len(homes) // 2 :][:1]
        for home in range(_HOMES):
            table[number, home] = min(abs(home - place) for place in usual)
    return table


def _stretch_cm(hand: Hand, states: States) -> FloatArray:
    stopped = _stopped(states)
    slot = _slot(states)
    low = np.minimum(np.where(stopped, slot, 0).min(axis=1), 0)
    high = np.maximum(np.where(stopped, slot, 0).max(axis=1), FRAME)
    stretches = _stretches_cm(hand)[states.home, low + 1, high - FRAME]
    return np.asarray(stretches * stopped.any(axis=1))


@cache
def _stretches_cm(hand: Hand) -> FloatArray:
    """Stretch by home, lowest slot (from −1) and highest slot (from the frame's end), cm.

    A hand in its ordinary frame is not stretched, wherever it lies.
    """
    table = np.zeros((_HOMES, 2, 5))
    for home, low, high in np.ndindex(*table.shape):
        if (low, high) == (1, 0):
            continue
        span = (Offset(home), low - 1, high + FRAME)
        table[home, low, high] = stretch_mm(hand.instrument, hand.reach, *span) / 10.0
    return table


_HOMES = 36
"""More homes than there are on any fingerboard."""


def _fourth_finger(hand: Hand, states: States) -> FloatArray:
    return np.asarray((states.finger == 4).sum(axis=1), dtype=np.float64)


def _open_string_alone(hand: Hand, states: States) -> FloatArray:
    # In a double stop or a chord the open string is welcome: it blends, and frees a finger.
    alone = (states.finger == 0).any(axis=1) & ((states.finger != LET_GO).sum(axis=1) == 1)
    return np.asarray(alone, dtype=np.float64)


def _second_position(hand: Hand, states: States) -> FloatArray:
    return np.asarray((states.position == 2) & _stopped(states).any(axis=1), dtype=np.float64)


def _above_sixth_position(hand: Hand, states: States) -> FloatArray:
    return np.asarray((states.position > 6) & _stopped(states).any(axis=1), dtype=np.float64)


def _stopped_in_first_position(hand: Hand, states: States) -> FloatArray:
    return np.asarray((states.position <= 1) & _stopped(states).any(axis=1), dtype=np.float64)


def _open_top_string_alone(hand: Hand, states: States) -> FloatArray:
    top = len(hand.instrument.strings) - 1
    on_top = ((states.finger == 0) & (states.string == top)).any(axis=1)
    return np.asarray(on_top * _open_string_alone(hand, states), dtype=np.float64)


def _fingers_in_slot(finger: int, from_home: int) -> Callable[[Hand, States], FloatArray]:
    def measure(hand: Hand, states: States) -> FloatArray:
        there = (states.finger == finger) & (_slot(states) == from_home)
        return np.asarray(there.sum(axis=1), dtype=np.float64)

    return measure


def _high_on_low_string(hand: Hand, states: States) -> FloatArray:
    below_top = len(hand.instrument.strings) - 1 - states.string
    above_second = np.maximum(states.position - 2, 0)
    return np.asarray((below_top * _stopped(states)).max(axis=1) * above_second, dtype=np.float64)


def _letter_against_finger(hand: Hand, states: States) -> FloatArray:
    return np.asarray(np.abs(states.finger - states.letter_finger).sum(axis=1), dtype=np.float64)


def _fourth_finger_for_the_next_string(hand: Hand, states: States) -> FloatArray:
    above = (states.finger == 4) & (states.letter_finger > 4)
    below_top = states.string < len(hand.instrument.strings) - 1
    return np.asarray((above & below_top).sum(axis=1), dtype=np.float64)


def _fifth_under_one_finger(hand: Hand, states: States) -> FloatArray:
    count = states.finger.shape[1]
    total = np.zeros(len(states))
    for a in range(count):
        for b in range(a + 1, count):
            same = (states.finger[:, a] == states.finger[:, b]) & (states.finger[:, a] > 0)
            total += same * np.where(states.finger[:, a] == 4, 4.0, 1.0)
    return total


def _lower_string_above(hand: Hand, states: States) -> FloatArray:
    open_strings = np.array([pitch.midi for pitch in hand.instrument.strings], dtype=np.int16)
    pitch = open_strings[states.string] + states.offset
    counted = (states.finger != LET_GO) & ~states.touched
    total = np.zeros(len(states))
    for a in range(states.string.shape[1]):
        for b in range(a):
            strings = states.string[:, a] - states.string[:, b]
            turned = strings * (pitch[:, a] - pitch[:, b]) < 0
            total += turned & counted[:, a] & counted[:, b]
    return total


def _harmonic_off_the_middle(hand: Hand, states: States) -> FloatArray:
    off = states.touched & (states.offset != 12)
    return np.asarray(off.sum(axis=1), dtype=np.float64)


def _broken_chord(hand: Hand, states: States) -> FloatArray:
    return states.broken.astype(np.float64)


def _released(hand: Hand, states: States) -> FloatArray:
    return np.asarray((states.finger == LET_GO).sum(axis=1), dtype=np.float64)


NOTE_TERMS: tuple[NoteTerm, ...] = tuple(
    NoteTerm(*row)
    for row in (
        ("above first position", "position", False, _positions_above_first,
         "first position is the one the ear and the open strings know best"),
        ("half position", "event", False, _half_position,
         "the half steps are widest there, and few pieces have taught it"),
        ("even position", "event", False, _even_position,
         "second, fourth and sixth position lack the fingering patterns learnt first"),
        ("second position", "event", False, _second_position,
         "neither the first position's places nor the third's are at hand"),
        ("above sixth position", "event", False, _above_sixth_position,
         "the hand must come round the body of the instrument"),
        ("long note in first position", "event, per second", True, _stopped_in_first_position,
         "a long note sounds fuller, and is easier to vibrate, higher on a lower string"),
        ("beyond the ceiling", "semitone", False, _beyond_ceiling,
         "the player does not go there yet"),
        ("hand off its place", "semitone", False, _hand_off_place,
         "a hand a half step away from its usual places has lost its landmarks"),
        ("reach back", "finger", False, _count_kind(SlotKind.REACH_BACK),
         "the first finger leaves the frame while the hand stays"),
        ("extension", "finger", False, _count_kind(SlotKind.EXTENDED, SlotKind.TENTH),
         "a finger leaves the frame upwards"),
        ("stretch", "cm beyond the comfortable span", False, _stretch_cm,
         "small on a high place or a large hand, hard on a low place"),
        ("contraction", "finger", False, _count_kind(SlotKind.CONTRACTED),
         "crowded fingers"),
        ("low fourth finger", "finger", False, _count_kind(SlotKind.LOW_FOURTH),
         "the fourth finger curls back"),
        ("fourth finger", "finger", False, _fourth_finger,
         "the weakest finger"),
        ("fourth finger held", "finger, per second", True, _fourth_finger,
         "the weakest finger has the least vibrato"),
        ("high second finger", "finger", False, _fingers_in_slot(2, 2),
         "the second finger must leave the first"),
        ("high third finger", "finger", False, _fingers_in_slot(3, 4),
         "the third finger must leave the second"),
        ("open string", "event", False, _open_string_alone,
         "another colour, and no vibrato"),
        ("open string rings on", "event, per second", True, _open_string_alone,
         "a long open string stands out"),
        ("open top string rings on", "event, per second", True, _open_top_string_alone,
         "the highest string, open, is the one that sounds hard"),
        ("high on a low string", "strings below the top times positions above second", False,
         _high_on_low_string, "the elbow must come round, and the string speaks late"),
        ("letter against finger", "letter", False, _letter_against_finger,
         "a letter calls for its finger; another one misleads the eye"),
        ("fourth finger for the next string", "note", False, _fourth_finger_for_the_next_string,
         "the next string has that letter under the first finger, without a reach"),
        ("fifth under one finger", "pair of notes, four under the fourth finger", False,
         _fifth_under_one_finger, "one fingertip must stop two strings in tune"),
        ("lower string above", "pair of notes", False, _lower_string_above,
         "of two strings together the lower one is expected to sound the lower note"),
        ("harmonic off the middle", "note", False, _harmonic_off_the_middle,
         "the middle of the string is the harmonic every player finds first"),
        ("broken chord", "chord", False, _broken_chord,
         "fingers must move while the bow turns"),
        ("held note let go", "note, per event", False, _released,
         "the written length is not kept"),
    )
)  # fmt: skip
"""Prices on one event alone."""
