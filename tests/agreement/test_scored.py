"""A part against its printed marks, on notes that lie in one place only.

A3 B3 C4 on the violin's lowest string are fingers 1 2 3 in first position, whatever the weights.
"""

import os
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from scoretools.agreement import Share, added, has_marks, measure_part
from scoretools.agreement.found import fingered, found_in, hand_for, playing
from scoretools.agreement.printed import Printed, printed_on, without_marks
from scoretools.agreement.scored import Difference
from scoretools.agreement.tally import Mistaken
from scoretools.instrument import instrument
from scoretools.model import Certainty, Part
from scoretools.player import Player, Profile
from scoretools.read import read_part

CHECK_DATA = os.environ.get("SCORETOOLS_CHECK_DATA")

needs_check_data = pytest.mark.skipif(
    not CHECK_DATA, reason="SCORETOOLS_CHECK_DATA names no folder of check data"
)

ReadPart = Callable[..., Part]

VIOLIN = instrument("violin")
STUDENT = Player(profile=Profile.FIRST_POSITION_STUDENT)


def printed(part: Part) -> list[Printed]:
    return [printed_on(VIOLIN, event, note) for event in part.events for note in event.notes]


def test_two_of_three_fingers_are_right(small_part: ReadPart) -> None:
    part = small_part("violin", "A3:1 B3:3 C4:3 A3")
    tally = measure_part(part, STUDENT).tally
    assert (tally.notes, tally.marks) == (4, 3)
    assert tally.hits.finger == Share(2, 3)
    assert tally.hits.string == Share(0, 0)
    assert tally.hits.everything == Share(2, 3)


def test_what_is_taken_for_what_is_counted(small_part: ReadPart) -> None:
    part = small_part("violin", "A3:1 B3:3 C4:2 B3:3 A3:2")
    tally = measure_part(part, STUDENT).tally
    assert tally.mistaken == (Mistaken(3, 2, 2), Mistaken(2, 1, 1), Mistaken(2, 3, 1))
    assert added([tally, tally]).mistaken[0] == Mistaken(3, 2, 4)


def test_strings_count_where_they_are_printed(small_part: ReadPart) -> None:
    # A3 can only lie on the lowest string, 4 in print; C4 cannot lie on string 3, the open D.
    part = small_part("violin", "A3:1@4 B3@4 C4:3@3 G3:0")
    tally = measure_part(part, STUDENT).tally
    assert tally.marks == 3
    assert tally.hits.finger == Share(3, 3)
    assert tally.hits.string == Share(3, 4)  # the open string means its string too
    assert tally.hits.everything == Share(2, 3)


def test_of_several_printed_fingers_any_is_right(small_part: ReadPart) -> None:
    part = small_part("violin", "A3:1 B3 C4 r")
    first = part.events[0]
    assert printed(part)[0] == Printed((1,), None, None)
    either = replace(first.notes[0].marks, fingers=(3, 1))
    note = replace(first.notes[0], marks=either)
    both = replace(part, events=(replace(first, notes=(note,)), *part.events[1:]))
    assert measure_part(both, STUDENT).tally.hits.finger == Share(1, 1)


def test_hidden_marks_do_not_guide(small_part: ReadPart) -> None:
    # Printed, the hand goes up to the fifth position; hidden, nothing leaves the first.
    part = small_part("violin", "A3:1@4 B3:2@4 E4:1@4 F4:2@4")
    bare = without_marks(part)
    who = playing(part, Player())
    assert hand_for(who, part.events).ceiling >= 5
    assert hand_for(who, bare.events).ceiling == 1
    assert not has_marks(bare)
    found = found_in(bare.events, fingered(who, bare).steps)
    assert {how.position for how in found.values()} == {1}


def test_the_first_note_after_a_shift(small_part: ReadPart) -> None:
    part = small_part("violin", "A3:1@4 B3:2@4 E4:1@4 F4:2@4")
    tally = measure_part(part, Player()).tally
    # Only E4 begins in the new place; without marks it is the first finger on the D string.
    assert tally.after_shift == Share(1, 1)
    assert tally.hits.finger == Share(4, 4)
    assert tally.hits.string == Share(2, 4)
    assert tally.hits.everything == Share(2, 4)
    assert tally.honoured == Share(4, 4)


def test_fourth_finger_against_open_string(small_part: ReadPart) -> None:
    # G3 has no fourth finger below it, C4 no open string: neither is in the question.
    part = small_part("violin", "G3:0 C4:3 D4:4 D4:0")
    tally = measure_part(part, STUDENT).tally
    assert tally.fourth_or_open.of == 2
    assert tally.fourth_or_open.right in (0, 1)  # a repeated note changes no finger


def test_the_rules_stand_beside(small_part: ReadPart) -> None:
    part = small_part("violin", "A3:1 D4:4 A4:0 C6:4")
    first, lowest = measure_part(part, Player()).tally.rules
    assert first.finger == Share(3, 4)
    assert lowest.finger == Share(3, 4)
    assert first.string == Share(0, 1)
    assert lowest.string == Share(1, 1)


def test_certainty_counts_notes_with_a_choice(small_part: ReadPart) -> None:
    part = small_part("violin", "A3:1 B3:2 C4:3 D4")
    tally = measure_part(part, STUDENT).tally
    bands = {band.certainty: band for band in tally.bands}
    assert set(bands) == set(Certainty)
    assert sum(band.notes for band in tally.bands) == 4
    assert sum(band.finger.of for band in tally.bands) == 3
    alone = measure_part(small_part("violin", "G3:0*4"), STUDENT).tally
    assert [band.notes for band in alone.bands] == [0, 0, 0]


def test_with_other_bars_given(small_part: ReadPart) -> None:
    part = small_part("violin", "A3:1*4 B3:2*4 C4:3*4 B3:4*2 A3:1*2 A3*4")
    assert measure_part(part, STUDENT).tally.given == ()
    given = measure_part(part, STUDENT, given=80).tally.given
    assert len(given) == 5
    for hits in given:
        assert hits.finger.of in (1, 2)
        assert hits.finger.of - hits.finger.right in (0, 1)
    everything = measure_part(part, STUDENT, given=0).tally.given
    assert [hits.finger for hits in everything] == [Share(4, 5)] * 5


def test_differences_are_listed_with_bar_and_price(small_part: ReadPart) -> None:
    part = small_part("violin", "A3:1*4 B3:3*4 C4:3*4")
    assert measure_part(part, STUDENT).differences == ()
    (one,) = measure_part(part, STUDENT, listed=True).differences
    assert (one.bar, one.note, one.printed) == ("2", "B3", "3")
    assert one.found == "2, G string, 1st position"
    assert one.margin is not None
    assert one.dearer is not None
    assert one.dearer >= one.margin > 0
    assert one.not_honoured == ""


def test_a_mark_that_cannot_be_honoured_is_told(small_part: ReadPart) -> None:
    part = small_part("violin", "A3:1 B3:0 C4:3")
    measured = measure_part(part, STUDENT, listed=True)
    assert measured.tally.honoured == Share(2, 3)
    (one,) = measured.differences
    assert isinstance(one, Difference)
    assert one.not_honoured == (
        "a 0 is printed on B3, which no open string sounds, nor a natural harmonic"
    )
    assert one.dearer is None


def test_a_note_left_unfingered_is_wrong(small_part: ReadPart) -> None:
    part = small_part("violin", "A3:1 F3:1 B3:2")
    measured = measure_part(part, STUDENT, listed=True)
    assert measured.tally.hits.finger == Share(2, 3)
    (one,) = measured.differences
    assert (one.found, one.margin) == ("no fingering", None)
    assert one.not_honoured == "F3 is left unfingered"


@needs_check_data
def test_the_first_rule_is_right_on_fingers_and_never_on_open_strings() -> None:
    # In this étude every printed finger is what the rule says, and no open string ever is.
    folder = Path(CHECK_DATA or "") / "fingered" / "students"
    part = read_part(folder / "wohlfahrt_op45_07.musicxml")
    tally = measure_part(part, Player()).tally
    nought = sum(mark.fingers == (0,) for mark in printed(part))
    assert tally.rules[0].finger == Share(tally.marks - nought, tally.marks)


@needs_check_data
def test_marks_of_a_whole_study_are_honoured() -> None:
    folder = Path(CHECK_DATA or "") / "fingered" / "students"
    tally = measure_part(read_part(folder / "kayser_op20_13.musicxml"), given=80).tally
    assert tally.honoured.right >= 0.995 * tally.honoured.of
    assert tally.marks == 48
    assert all(0 < hits.finger.of < tally.marks for hits in tally.given)
