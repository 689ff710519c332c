"""Notes tested against open strings."""

import pytest
from music21.interval import Interval
from music21.pitch import Pitch as Music21Pitch

from scoretools.drills.checks import checks
from scoretools.instrument import instrument
from scoretools.model import (
    Analysis,
    DrillNote,
    Finger,
    Offset,
    Pitch,
    PositionNumber,
    Stop,
    StringIndex,
)
from tests.conftest import Analyse
from tests.drills.conftest import open_midi


def test_check_notes_are_true_intervals(sample: Analysis) -> None:
    # Source: music21; the note against an open string named beside it. A fourth is tested below the
    # open string, a sixth above it.
    names = {"unison": "P1", "octave": "P8", "fourth": "P4", "sixth": "M6"}
    opens = open_midi(sample)
    for drill in sample.drills:
        stopped = {
            (note.pitch, note.stop.string)
            for exercise in drill.exercises
            for note in exercise.notes
            if note.stop.finger
        }
        for check in drill.checks:
            assert check.against.midi in opens
            strings = {string for pitch, string in stopped if pitch == check.pitch}
            assert strings
            pitch, against = (
                Music21Pitch(one.name.replace("b", "-")) for one in (check.pitch, check.against)
            )
            assert Interval(pitch, against).semitones in {
                "unison": (0,), "octave": (-12, 12), "fourth": (5,), "sixth": (-9,)
            }[check.interval]  # fmt: skip
            assert Interval(*sorted((pitch, against))).name == names[check.interval]
            assert strings - {opens.index(check.against.midi)}


# Source: music21 spells A4–G-flat-5 a diminished seventh, F-flat-4–A4 an augmented third: they
# sound like a sixth and a fourth on the piano, and are no check for a string player's ear.
@pytest.mark.parametrize(
    ("pitch", "string", "offset"), [(Pitch("G", -1, 5), 3, 2), (Pitch("F", -1, 4), 1, 2)]
)
def test_a_check_is_an_interval_by_its_letters_too(pitch: Pitch, string: int, offset: int) -> None:
    stop = Stop(StringIndex(string), Finger(1), Offset(offset))
    note = DrillNote(pitch, stop, PositionNumber(1), 1)
    assert checks(instrument("violin"), [note]) == ()


# Common practice, no published source: how W-H-W in first position on the D string is tested.
def test_the_checks_of_the_first_shape(small_analysis: Analyse) -> None:
    analysis = small_analysis("violin", "D4 E4 F#4 G4 A4:4 G4 F#4 E4", fifths=2)
    found = {(c.pitch.name, c.interval, c.against.name) for c in analysis.drills[0].checks}
    assert found >= {
        ("E4", "fourth", "A4"),
        ("G4", "octave", "G3"),
        ("A4", "unison", "A4"),
    }
