"""The ceiling comes out of the notes, both ways: neither too high nor too low."""

import os
import re
from collections.abc import Callable
from pathlib import Path

import pytest

from scoretools.analysis import analyse
from scoretools.fingering.ceiling import ceiling_from_notes
from scoretools.hand import hand_reach
from scoretools.instrument import instrument
from scoretools.model import Analysis, Marks, Part
from scoretools.player import Player
from scoretools.read import read_part

CHECK_DATA = os.environ.get("SCORETOOLS_CHECK_DATA")

needs_check_data = pytest.mark.skipif(
    not CHECK_DATA, reason="SCORETOOLS_CHECK_DATA names no folder of check data"
)

OPEN_STRINGS = (55, 62, 69, 76)
FIRST_POSITION = {0: (0,), 1: (1, 2, 3), 2: (2, 3, 4, 5), 3: (4, 5, 6), 4: (6, 7, 8)}
"""Semitones above an open violin string that each finger takes in first position, low and high
places included. Common practice, no published source."""


def studies(first: int, last: int) -> list[Path]:
    folder = Path(CHECK_DATA or "") / "fingered" / "students"
    numbered = {
        int(found[1]): path
        for path in folder.glob("wohlfahrt_op45_*.musicxml")
        if (found := re.search(r"_(\d+)\.musicxml$", path.name))
    }
    return [numbered[number] for number in sorted(numbered) if first <= number <= last]


def printed_fingers(marks: Marks) -> tuple[int, ...]:
    return marks.fingers or ((0,) if marks.open_string else ())


def fits_first_position(midi: int, marks: Marks) -> bool:
    return any(
        midi - string in FIRST_POSITION[finger]
        for string in OPEN_STRINGS
        for finger in printed_fingers(marks)
    )


def above_first(analysis: Analysis, marked: bool) -> list[bool]:
    """For each note (or each marked one that cannot be first position): is it above first?"""
    return [
        bool(choice.stop.finger and step.placement and step.placement.position > 1)
        for event, step in zip(analysis.part.events, analysis.steps, strict=True)
        for note, choice in zip(event.notes, step.choices, strict=False)
        if not marked
        or (printed_fingers(note.marks) and not fits_first_position(note.pitch.midi, note.marks))
    ]


@needs_check_data
@pytest.mark.parametrize("use_marks", [True, False])
def test_first_position_studies_stay_in_first_position(use_marks: bool) -> None:
    # Source: Wohlfahrt op. 45, Nos. 1–29, first position throughout (engraved edition, CC BY-SA).
    analyses = [analyse(read_part(path), Player(), use_marks) for path in studies(1, 29)]
    found = [above for analysis in analyses for above in above_first(analysis, marked=False)]
    assert len(found) > 4000
    assert found.count(False) / len(found) >= 0.98


@needs_check_data
def test_third_position_studies_leave_first_position() -> None:
    # Source: the printed fingerings of Wohlfahrt op. 45, Nos. 31–59, studies with third position.
    analyses = [analyse(read_part(path), Player()) for path in studies(31, 59)]
    found = [above for analysis in analyses for above in above_first(analysis, marked=True)]
    assert len(found) > 300
    assert found.count(True) / len(found) >= 0.9


@pytest.mark.parametrize(
    ("top", "rung"),
    [
        ("B5", 1),  # the fourth finger in first position
        ("C6", 1),  # its extension
        ("D6", 3),  # the fourth finger in third position
        ("E6", 3),  # its extension
        ("F6", 5),
        ("A6", 7),
        ("E7", 12),
    ],
)
def test_rungs_on_a_full_size_violin(top: str, rung: int) -> None:
    # Common practice, no published source.
    from fractions import Fraction

    from scoretools.model import Address, Event, Key, Note, Pitch

    pitch = Pitch(top[0], 0, int(top[1]))
    quarter = Fraction(1)
    note = Note(pitch, quarter, quarter, "1", 1, False, False, Marks(), Address("P1", 0, 0))
    event = Event(
        0, 0, Fraction(0), 0.0, 0.5, Fraction(1), (note,), (), Key((0,) * 7, 0, None), False, False
    )
    violin = instrument("violin")
    assert ceiling_from_notes(violin, hand_reach(violin, Player()), (event,)) == rung


# Common practice, no published source: E4 under the fourth finger on the G string is third
# position's, or a slip of the engraver's.
def test_a_lone_printed_finger_lifts_no_ceiling(small_part: Callable[..., Part]) -> None:
    def ceiling(words: str) -> int:
        violin = instrument("violin")
        part = small_part("violin", words, fifths=2)
        return ceiling_from_notes(violin, hand_reach(violin, Player()), part.events)

    long = "D4 E4 F#4 G4 " * 15
    assert ceiling(f"{long} B4:4 A4 G4 F#4") == 1
    assert ceiling(f"{long} B4:4 A4 G4 B4:4") == 3
    assert ceiling("B4:4 A4 G4 F#4") == 3


def test_a_long_note_is_not_held_by_a_stretched_finger(small_part: Callable[..., Part]) -> None:
    # Common practice, no published source. Four beats of C6 at 60 a minute, then one in passing.
    violin = instrument("violin")
    for words, tempo, rung in (
        ("C6*4 B5*4", 60, 3), ("G5 C6 B5 A5", 120, 1), ("B5*4 A5*4", 60, 1),
    ):  # fmt: skip
        part = small_part("violin", words, tempo=tempo)
        assert ceiling_from_notes(violin, hand_reach(violin, Player()), part.events) == rung
