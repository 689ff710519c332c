"""Harmonics in chords. Source of the intervals: the harmonic series."""

import pytest

from scoretools.model import Harmonic

DIAMOND = "<notehead>diamond</notehead>"
BASE, TOUCHED = Harmonic.ARTIFICIAL_BASE, Harmonic.ARTIFICIAL_TOUCHING


@pytest.mark.parametrize(
    ("names", "read_as"),
    [
        (("A4", "D5*", "A6"), [("A4", BASE), ("D5", TOUCHED)]),
        (("A4", "E5*", "E6"), [("A4", BASE), ("E5", TOUCHED)]),
        (("D5*", "A6"), [("D5", Harmonic.NATURAL_TOUCHING)]),
        (("E5*", "E6"), [("E5", Harmonic.NATURAL_TOUCHING)]),
        (("D5*", "F5"), [("D5", Harmonic.NATURAL_TOUCHING), ("F5", None)]),
    ],
)
@pytest.mark.parametrize("voices", [False, True])
def test_notes_that_show_the_sound_are_left_out(read, note, names, read_as, voices):
    bar = ""
    for place, name in enumerate(names):
        last = DIAMOND if name.endswith("*") else ""
        if voices and place:
            bar += "<backup><duration>16</duration></backup>"
        first = "<chord/>" if place and not voices else ""
        bar += note(name.rstrip("*"), 16, first=first, last=last, voice=str(place * voices + 1))
    part = read(bar)
    found = [(one.pitch.name, one.marks.harmonic) for one in part.events[0].notes]
    assert found == read_as
    assert len(part.notices) == len(names) - len(read_as)


def test_notes_after_one_left_out_keep_their_ornaments_and_addresses(read, note):
    trill = "<notations><ornaments><trill-mark/></ornaments></notations>"
    part = read(
        note("A4", 8)
        + note("D5", 8, first="<chord/>", last=DIAMOND)
        + note("A6", 8, first="<chord/>")
        + note("B4", 8, last=trill)
    )
    after = part.events[1].notes[0]
    assert (after.address.note, after.ornament is not None) == (3, True)
