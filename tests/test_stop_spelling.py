"""How the note under a finger is spelled."""

import pytest
from music21.corpus import getWork

import scoretools
from scoretools.instrument import instrument
from scoretools.model import Finger, Key, Offset, Pitch, PositionNumber, Stop, StringIndex
from scoretools.stop_spelling import Spelling, spelled_in

VIOLIN = instrument("violin")
FIRST = PositionNumber(1)
B_FLAT_MAJOR = Key((0, 0, -1, 0, 0, 0, -1), -2, "major")
F_SHARP_MAJOR = Key((1, 1, 1, 1, 1, 1, 0), 6, "major")
G_FLAT_MAJOR = Key((-1, -1, -1, 0, -1, -1, -1), -6, "major")


def under(finger: int, semitones: int, string: int) -> Stop:
    return Stop(StringIndex(string), Finger(finger), Offset(semitones))


# Common practice, no published source: what stands in an edition in that key.
@pytest.mark.parametrize(
    ("key", "stop", "name"),
    [
        (B_FLAT_MAJOR, under(2, 2, 1), "E4"),
        (B_FLAT_MAJOR, under(4, 8, 3), "C6"),
        (B_FLAT_MAJOR, under(1, 1, 2), "Bb4"),
        (B_FLAT_MAJOR, under(2, 4, 2), "C#5"),
        (F_SHARP_MAJOR, under(2, 3, 1), "E#4"),
        (F_SHARP_MAJOR, under(3, 6, 1), "G#4"),
        (G_FLAT_MAJOR, under(2, 2, 2), "Cb5"),
        (G_FLAT_MAJOR, under(1, 1, 2), "Bb4"),
    ],
)
def test_a_note_the_part_does_not_have_is_spelled_as_its_key_would(
    key: Key, stop: Stop, name: str
) -> None:
    assert Spelling(key).pitch(VIOLIN, stop, FIRST).name == name


def test_what_the_bars_have_goes_before_key_and_finger() -> None:
    low_two = under(2, 2, 1)
    heard = {64: Pitch("F", -1, 4)}
    assert Spelling(B_FLAT_MAJOR, here=heard).pitch(VIOLIN, low_two, FIRST).name == "Fb4"
    assert Spelling(B_FLAT_MAJOR, elsewhere=heard).pitch(VIOLIN, low_two, FIRST).name == "Fb4"
    both = Spelling(B_FLAT_MAJOR, here={64: Pitch("E", 0, 4)}, elsewhere=heard)
    assert both.pitch(VIOLIN, low_two, FIRST).name == "E4"


def test_no_drill_in_a_quartet_in_b_flat_has_a_name_that_the_part_lacks() -> None:
    # Source: Haydn, op. 1 no. 1, in B flat major, first violin, of the music21 corpus.
    rare = {"E#", "B#", "Cb", "Fb"}
    for movement in (1, 4, 5):
        part = scoretools.read_part(getWork(f"haydn/opus1no1/movement{movement}"))
        printed = {pitch.name[:-1] for pitch in spelled_in(part.events).values()}
        drills = scoretools.analyse(part).drills
        drilled = {n.pitch.name[:-1] for d in drills for e in d.exercises for n in e.notes}
        assert drilled & rare <= printed & rare
        assert not any(f" {name} " in f" {drill.title} " for drill in drills for name in rare)
