"""Strings that can play a note. Source of the places: the harmonic series, `scoretools.hand`."""

import pytest

from scoretools.instrument import INSTRUMENTS
from scoretools.model import NO_MARKS, Finger, Harmonic, Marks, Pitch
from scoretools.read.playable import finger_reaches, lies_on, string_named
from scoretools.read.walk import RawNote

VIOLIN, VIOLA = INSTRUMENTS["violin"], INSTRUMENTS["viola"]


def raw(name, marks=NO_MARKS):
    alter = {"#": 1, "b": -1}.get(name[1], 0)
    pitch = Pitch(name[0], alter, int(name[-1]))
    return RawNote(0, 0, 0, (0, 1, 0), 4, pitch, "1", 1, frozenset(), marks, False, 0)


@pytest.mark.parametrize(
    ("name", "marks", "on"),
    [
        ("A4", NO_MARKS, [2, 3, 4]),
        ("F#3", NO_MARKS, []),
        ("G5", NO_MARKS, [1, 2, 3, 4]),
        ("G#5", NO_MARKS, [1, 2, 3]),
        ("A4", Marks(string=3), [3]),
        ("A4", Marks(open_string=True), [2]),
        ("A4", Marks((0,)), [2]),
        ("A4", Marks((0, 4)), [2, 3, 4]),
        ("A5", Marks(harmonic=Harmonic.NATURAL), [1, 2, 3]),
        ("E6", Marks(harmonic=Harmonic.NATURAL), [1, 2]),
        ("B5", Marks(harmonic=Harmonic.NATURAL), [1, 4]),
        ("B5", Marks(harmonic=Harmonic.ARTIFICIAL_SOUNDING), [1, 2, 3, 4]),
    ],
)
def test_strings_on_which_a_note_lies(name, marks, on):
    # A5 is a fourth above E, an octave above A, an octave and a fifth above D.
    assert [s for s in (1, 2, 3, 4) if lies_on(raw(name, marks), VIOLIN, s)] == on


@pytest.mark.parametrize(
    ("name", "finger", "on"),
    [
        ("F4", 4, [4]),  # a minor third above D is too low for it, a minor seventh above G is not
        ("F4", 2, [3, 4]),
        ("Bb4", 3, [3, 4]),
        ("C5", 4, [3, 4]),
        ("F#5", 1, [1, 2, 3]),  # a diminished fourteenth above G lies past the twelfth position
        ("A4", 0, [2]),
    ],
)
def test_strings_on_which_a_finger_reaches(name, finger, on):
    note = raw(name, Marks((Finger(finger),)))
    found = [s for s in (1, 2, 3, 4) if finger_reaches(note, VIOLIN, s)]
    assert [s for s in found if lies_on(note, VIOLIN, s)] == on


def test_any_finger_touches_a_harmonic_and_one_of_several_is_enough():
    assert finger_reaches(raw("Bb4", Marks((3,), harmonic=Harmonic.NATURAL)), VIOLIN, 2)
    assert finger_reaches(raw("Bb4", Marks((3, 1))), VIOLIN, 2)
    assert not finger_reaches(raw("Bb4", Marks((3, 4))), VIOLIN, 2)
    assert finger_reaches(raw("Bb4"), VIOLIN, 2)


def test_strings_by_number_and_letter():
    assert [string_named(VIOLIN, value) for value in ("G", "E", "4")] == [4, 1, 4]
    assert [string_named(VIOLIN, value) for value in ("5", "0", "C")] == [None] * 3
    assert string_named(VIOLA, "C") == 4
