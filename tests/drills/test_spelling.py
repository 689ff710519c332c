"""Key signatures and letters of exercises."""

from dataclasses import replace

import pytest
from music21.interval import Interval
from music21.pitch import Pitch as Music21Pitch
from music21.scale import MajorScale

from scoretools.drills.spelling import carried_spelling, signature
from scoretools.instrument import instrument
from scoretools.model import Finger, Key, Offset, Pitch, PositionNumber, Stop, StringIndex
from scoretools.stop_spelling import Spelling

VIOLIN = instrument("violin")
FIRST = PositionNumber(1)
PLAIN = Spelling(Key((0,) * 7, 0, "major"))


def pitches(words: str) -> list[Pitch]:
    return [
        Pitch(word[0], word.count("#") - word.count("b"), int(word[-1])) for word in words.split()
    ]


# Source: music21's major scales.
@pytest.mark.parametrize("tonic", ["C", "G", "D", "A", "E", "B", "F", "B-", "E-", "A-", "D-"])
def test_a_major_scale_is_written_in_its_own_key(tonic: str) -> None:
    scale = MajorScale(tonic)
    notes = pitches(" ".join(p.name.replace("-", "b") + "4" for p in scale.getPitches()[:7]))
    own = Music21Pitch(tonic)
    fifths = {"C": 0, "G": 1, "D": 2, "A": 3, "E": 4, "B": 5, "F": -1, "B-": -2, "E-": -3,
              "A-": -4, "D-": -5}[tonic]  # fmt: skip
    assert own.name == tonic
    for wanted in (-2, 0, 3):
        assert signature(notes, wanted).fifths == fifths


# Common practice, no published source: what a teacher would write on the board.
@pytest.mark.parametrize(
    ("notes", "wanted", "fifths"),
    [
        ("B4 C5 D5 E5", 0, 0),
        ("B4 C#5 D5 E5", 0, 2),
        ("E4 F#4 G#4 A4", 0, 3),
        ("Bb4 C5 D5 Eb5", 0, -2),
        ("Bb4 C#5 D5 E5", 0, -1),
        ("Ab3 Bb3 C4 Db4", -3, -4),
        ("E4 F4 G#4 A4", 0, 0),
    ],
)
def test_signatures_of_shapes(notes: str, wanted: int, fifths: int) -> None:
    key = signature(pitches(notes), wanted)
    assert key.fifths == fifths
    assert sum(key.alters) == fifths


# Source: music21 transposes by a perfect fifth.
@pytest.mark.parametrize(("offset", "finger"), [(1, 1), (2, 1), (3, 2), (4, 2), (5, 3), (6, 4)])
def test_a_string_up_is_a_perfect_fifth_up(offset: int, finger: int) -> None:
    stop = Stop(StringIndex(1), Finger(finger), Offset(offset))
    here = PLAIN.pitch(VIOLIN, stop, FIRST)
    there = carried_spelling(VIOLIN, PLAIN, [(stop, FIRST)], 2)
    (carried,) = there.here.values()
    low, high = (Music21Pitch(one.name.replace("b", "-")) for one in (here, carried))
    assert Interval(low, high).name == "P5"


def test_what_would_need_a_double_accidental_is_not_carried() -> None:
    stop = Stop(StringIndex(1), Finger(2), Offset(3))
    sharp = replace(PLAIN, here={65: Pitch("E", 1, 4)})
    assert carried_spelling(VIOLIN, sharp, [(stop, FIRST)], 2).here == {72: Pitch("B", 1, 4)}
    doubled = replace(PLAIN, here={66: Pitch("E", 2, 4)})
    higher = Stop(StringIndex(1), Finger(2), Offset(4))
    assert carried_spelling(VIOLIN, doubled, [(higher, FIRST)], 2).here == {}
