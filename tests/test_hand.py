"""What a hand can do: slots, reach, several fingers at once, names of shapes and frames."""

from itertools import pairwise, product

import pytest
from hypothesis import given
from hypothesis import strategies as st
from music21.interval import Interval

from scoretools.hand import (
    FINGERS,
    FRAME,
    GAP_LETTERS,
    SLOTS,
    Reach,
    SlotKind,
    frame_name,
    gap_letters,
    gap_words,
    hand_reach,
    slots_within,
    stretch_mm,
    together,
)
from scoretools.instrument import instrument, spacing_mm
from scoretools.model import Finger, Offset, Stop, StringIndex
from scoretools.player import Player

VIOLIN = instrument("violin")
VIOLA = instrument("viola", "large")
G, D, A, E = (StringIndex(index) for index in range(4))


def _stops(*written: tuple[StringIndex, int, int]) -> list[Stop]:
    return [Stop(string, Finger(finger), Offset(offset)) for string, finger, offset in written]


# ── slots ───────────────────────────────────────────────────────────────────────────────────────


# Common practice, no published source: semitones above the first finger's ordinary place.
def test_ordinary_slots() -> None:
    ordinary = [(s.finger, s.from_home) for s in SLOTS if s.kind is SlotKind.ORDINARY]
    assert ordinary == [(1, 0), (2, 1), (2, 2), (3, 3), (3, 4), (4, 5)]


@pytest.mark.parametrize(
    ("kind", "slots"),
    [
        (SlotKind.REACH_BACK, [(1, -1)]),
        (SlotKind.LOW_FOURTH, [(4, 4)]),
        (SlotKind.EXTENDED, [(2, 3), (4, 6), (4, 7)]),
        (SlotKind.CONTRACTED, [(2, 0), (3, 2), (4, 3)]),
    ],
)
def test_slots_at_a_price(kind: SlotKind, slots: list[tuple[int, int]]) -> None:
    assert [(slot.finger, slot.from_home) for slot in SLOTS if slot.kind is kind] == slots


def test_every_slot_is_listed_once() -> None:
    places = [(slot.finger, slot.from_home) for slot in SLOTS]
    assert len(places) == len(set(places))
    assert {slot.finger for slot in SLOTS} == set(FINGERS)


# Common practice, no published source: the gaps that ordinary fingers can make, and a first finger
# that reaches back, hold every shape of the diatonic scale.
@pytest.mark.parametrize(
    ("shape", "first"), [("212", 0), ("122", 0), ("221", 0), ("222", -1), ("312", -1)]
)
def test_shapes_that_slots_can_make(shape: str, first: int) -> None:
    places = [first]
    for gap in shape:
        places.append(places[-1] + int(gap))
    slots = {(slot.finger, slot.from_home): slot.kind for slot in SLOTS}
    kinds = [slots[Finger(finger), place] for finger, place in enumerate(places, start=1)]
    assert kinds[0] is (SlotKind.REACH_BACK if first else SlotKind.ORDINARY)
    assert set(kinds[1:]) == {SlotKind.ORDINARY}


# ── reach ───────────────────────────────────────────────────────────────────────────────────────


# Source: d(n) = L·(1 − 2^(−n/12)): a perfect fourth from the ordinary first finger in I.
@pytest.mark.parametrize(
    ("name", "length_mm", "comfortable_mm"),
    [("violin", 328, 73), ("violin", 287, 64), ("violin", 240, 54), ("viola", 375, 84)],
)
def test_a_hand_fits_its_instrument(name: str, length_mm: float, comfortable_mm: int) -> None:
    reach = hand_reach(instrument(name, string_length_mm=length_mm), Player())
    assert reach.comfortable_mm == pytest.approx(comfortable_mm, abs=0.501)
    assert reach.widest_mm > reach.comfortable_mm


def test_a_measured_reach_goes_before() -> None:
    assert hand_reach(VIOLIN, Player(reach_mm=66)).comfortable_mm == 66


def test_stretch_is_what_exceeds_the_comfortable_span() -> None:
    reach = Reach(comfortable_mm=70, widest_mm=90)
    span_mm = spacing_mm(VIOLIN, 2, 8)
    assert stretch_mm(VIOLIN, reach, Offset(2), 0, 6) == pytest.approx(span_mm - 70)
    assert stretch_mm(VIOLIN, reach, Offset(12), 0, 5) == 0


def _kinds(
    reach_mm: float | None, home: int, extensions: bool = True, in_chord: bool = False
) -> set[tuple[int, int]]:
    reach = hand_reach(VIOLIN, Player(reach_mm=reach_mm))
    slots = slots_within(VIOLIN, reach, Offset(home), extensions, in_chord)
    return {(slot.finger, slot.from_home) for slot in slots}


def test_a_fitting_hand_reaches_back_and_up_a_half_step_in_first_position() -> None:
    # Common practice, no published source: low first finger and high fourth are taught to hands
    # that fit their instrument; the fourth finger a whole step up is not.
    assert {(1, -1), (4, 6)} <= _kinds(None, 2)
    assert (4, 7) not in _kinds(None, 2)


def test_the_octave_harmonic_is_reached_from_third_position() -> None:
    # Common practice, no published source: in III the fourth finger stretches to the middle of the
    # string, an octave above the open string, for the harmonic.
    assert (4, 7) in _kinds(None, 5)


def test_a_small_hand_keeps_the_frame_but_not_the_stretch() -> None:
    assert not {(1, -1), (4, 6), (4, 7)} & _kinds(58, 2)
    assert (4, 5) in _kinds(58, 2)
    # Higher up the same hand has room.
    assert (4, 6) in _kinds(58, 9)


def test_without_extensions_no_finger_leaves_the_frame() -> None:
    kept = _kinds(None, 5, extensions=False)
    assert kept == {
        (slot.finger, slot.from_home)
        for slot in SLOTS
        if slot.kind not in (SlotKind.REACH_BACK, SlotKind.EXTENDED, SlotKind.TENTH)
    }


# Source: a tenth needs 8 (minor) or 9 (major) semitones between the first finger on a string and
# the fourth on the next. Common practice: a usual hand has them high on the string, a large one
# in first position.
@pytest.mark.parametrize(("reach_mm", "home"), [(None, 10), (95, 2)])
def test_the_fourth_finger_reaches_a_tenth_where_there_is_room(
    reach_mm: float | None, home: int
) -> None:
    assert {(4, 8), (4, 9)} <= _kinds(reach_mm, home, in_chord=True)
    assert not {(4, 8), (4, 9)} & _kinds(reach_mm, home)


@given(home=st.integers(1, 21), reach_mm=st.floats(30, 130))
def test_slots_lie_on_the_string_and_grow_with_the_hand(home: int, reach_mm: float) -> None:
    smaller, larger = _kinds(reach_mm, home), _kinds(reach_mm + 5, home)
    assert smaller <= larger
    assert all(home + from_home >= 1 for _, from_home in smaller)


# ── several fingers at once ─────────────────────────────────────────────────────────────────────

PLAYABLE = {
    "octave 1 and 4": _stops((D, 1, 2), (A, 4, 7)),
    "octave from the open string": _stops((G, 0, 0), (D, 3, 5)),
    "major sixth 1 and 2": _stops((D, 1, 2), (A, 2, 4)),
    "minor sixth 2 and 3": _stops((D, 2, 4), (A, 3, 5)),
    "major third 3 and 1": _stops((D, 3, 5), (A, 1, 2)),
    "minor third 3 and 1": _stops((D, 3, 6), (A, 1, 2)),
    "third 4 and 2": _stops((G, 4, 7), (D, 2, 4)),
    "fifth under one finger": _stops((D, 1, 2), (A, 1, 2)),
    "unison with the open string": _stops((D, 4, 7), (A, 0, 0)),
    "fourth 2 and 1": _stops((D, 2, 4), (A, 1, 2)),
    "four open strings": _stops((G, 0, 0), (D, 0, 0), (A, 0, 0), (E, 0, 0)),
    "G major chord": _stops((G, 0, 0), (D, 0, 0), (A, 1, 2), (E, 2, 3)),
    "diminished seventh, one finger a string": _stops((G, 1, 2), (D, 2, 4), (A, 3, 5), (E, 4, 7)),
}
UNPLAYABLE = {
    "two notes on one string": _stops((A, 1, 2), (A, 3, 5)),
    "open string and its own note": _stops((A, 0, 0), (A, 3, 5)),
    "one finger at two places": _stops((D, 1, 2), (A, 1, 3)),
    "one finger across a string between": _stops((D, 1, 2), (E, 1, 2)),
    "a higher finger below a lower one": _stops((D, 2, 2), (A, 1, 4)),
    "a tenth too wide": _stops((D, 1, 2), (A, 4, 12)),
}


# Common practice, no published source: double stops and chords of the first lessons in them.
@pytest.mark.parametrize("name", PLAYABLE)
def test_what_one_hand_holds(name: str) -> None:
    assert together(PLAYABLE[name], VIOLIN, hand_reach(VIOLIN, Player()))


@pytest.mark.parametrize("name", UNPLAYABLE)
def test_what_no_hand_holds(name: str) -> None:
    assert not together(UNPLAYABLE[name], VIOLIN, hand_reach(VIOLIN, Player()))


# Common practice, no published source: tenths in first position are for large hands only; high on
# the string they come within reach.
def test_tenths_need_a_large_hand_or_a_high_place() -> None:
    low, high = _stops((G, 1, 2), (D, 4, 10)), _stops((G, 1, 12), (D, 4, 20))
    usual, large = hand_reach(VIOLIN, Player()), hand_reach(VIOLIN, Player(reach_mm=95))
    assert not together(low, VIOLIN, usual)
    assert together(low, VIOLIN, large)
    assert together(high, VIOLIN, usual)


@given(
    stops=st.lists(
        st.tuples(st.integers(0, 3), st.integers(0, 4), st.integers(1, 12)), min_size=1, max_size=4
    )
)
def test_what_holds_together_holds_in_any_order_and_in_part(
    stops: list[tuple[int, int, int]],
) -> None:
    made = _stops(*((StringIndex(s), f, o if f else 0) for s, f, o in stops))
    reach = hand_reach(VIOLIN, Player())
    held = together(made, VIOLIN, reach)
    assert held == together(made[::-1], VIOLIN, reach)
    if held:
        for left_out in range(len(made)):
            rest = made[:left_out] + made[left_out + 1 :]
            assert together(rest, VIOLIN, reach)


def test_a_span_that_fits_the_violin_may_not_fit_the_viola_for_the_same_hand() -> None:
    stops = _stops((G, 1, 2), (D, 4, 8))
    reach = hand_reach(VIOLIN, Player(reach_mm=70))
    assert together(stops, VIOLIN, reach)
    assert not together(stops, VIOLA, reach)


# ── names ───────────────────────────────────────────────────────────────────────────────────────


# Source: music21, the generic interval of so many semitones; six semitones are the tritone. A name
# without its quality, since the fingers make it.
@pytest.mark.parametrize("semitones", range(1, 17))
def test_frames_are_named_by_their_interval(semitones: int) -> None:
    names = {
        1: "unison", 2: "second", 3: "third", 4: "fourth", 5: "fifth", 6: "sixth", 7: "seventh",
        8: "octave", 9: "ninth", 10: "tenth",
    }  # fmt: skip
    expected = "tritone" if semitones == 6 else names[Interval(semitones).generic.undirected]
    assert frame_name(semitones) == frame_name(-semitones) == expected


def test_unison_and_wide_intervals() -> None:
    assert frame_name(0) == "unison"
    assert frame_name(40) == "wide interval"


# Source: interval = 7 + (upper offset − lower offset) semitones on strings a fifth apart.
@pytest.mark.parametrize(
    ("lower", "upper", "name"),
    [
        (2, 7, "octave"),
        (2, 4, "sixth"),
        (4, 5, "sixth"),
        (5, 2, "third"),
        (6, 2, "third"),
        (3, 3, "fifth"),
        (7, 0, "unison"),
        (4, 2, "fourth"),
        (2, 10, "tenth"),
        (2, 11, "tenth"),
    ],
)
def test_frame_from_the_places_of_two_fingers(lower: int, upper: int, name: str) -> None:
    assert frame_name(7 + upper - lower) == name


@pytest.mark.parametrize(
    ("gaps", "letters"),
    [
        ((2, 1, 2), "W-H-W"),
        ((1, 2, 2), "H-W-W"),
        ((2, 2, 1), "W-W-H"),
        ((2, 2, 2), "W-W-W"),
        ((3, 1, 2), "A-H-W"),
        ((1, 3, 1), "H-A-H"),
        ((2, 1, 3), "W-H-A"),
        ((1, 2, 1), "H-W-H"),
        ((1, 1, 1), "H-H-H"),
        ((0, 4, -1), "?-?-?"),
    ],
)
def test_gaps_are_written_with_letters(gaps: tuple[int, int, int], letters: str) -> None:
    assert gap_letters(gaps) == letters


@pytest.mark.parametrize(
    ("gaps", "words"),
    [
        ((2, 1, 2), "2 and 3 close, whole steps outside"),
        ((1, 2, 2), "1 and 2 close, whole steps above"),
        ((2, 2, 1), "3 and 4 close, whole steps below"),
        ((2, 2, 2), "whole steps throughout"),
        ((1, 1, 1), "half steps throughout"),
        ((3, 1, 2), "augmented second 1–2, 2 and 3 close, whole step 3–4"),
        ((1, 3, 1), "1 and 2 close, augmented second 2–3, 3 and 4 close"),
        ((2, 1, 3), "whole step 1–2, 2 and 3 close, augmented second 3–4"),
        ((1, 2, 1), "1 and 2 close, whole step 2–3, 3 and 4 close"),
        ((4, 1, 2), "1 and 2 out of the frame, 2 and 3 close, whole step 3–4"),
    ],
)
def test_shapes_in_words(gaps: tuple[int, int, int], words: str) -> None:
    assert gap_words(gaps) == words


def test_no_two_shapes_share_their_words() -> None:
    shapes = list(product((1, 2, 3), repeat=3))
    assert len({gap_words(gaps) for gaps in shapes}) == len(shapes) == 27
    assert len({gap_letters(gaps) for gaps in shapes}) == 27


def test_letters_name_the_steps() -> None:
    assert GAP_LETTERS == {1: "H", 2: "W", 3: "A"}
    assert Interval("P4").semitones == FRAME
    assert all(higher - lower == 1 for lower, higher in pairwise(FINGERS))


# Common practice, no published source: a low first finger inside a fourth is a lower hand, not a
# reach; beyond a fourth it is a reach back.
