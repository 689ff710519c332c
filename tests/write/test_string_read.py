"""On which string a reader looks for a note."""

import pytest

from scoretools.instrument import instrument
from scoretools.model import Finger, Pitch, PositionNumber
from scoretools.write.string_read import string_read

VIOLIN = instrument("violin").strings
NAMES = "GDAE"


def read(name: str, position: int, finger: int | None = None) -> str | None:
    pitch = Pitch(name[0], name.count("#") - name[1:].count("b"), int(name[-1]))
    string = string_read(
        VIOLIN, PositionNumber(position), pitch, None if finger is None else Finger(finger)
    )
    return None if string is None else NAMES[string]


# Common practice, no published source: the fingerboard chart of each position.
@pytest.mark.parametrize(
    ("name", "position", "string"),
    [
        ("B4", 1, "A"),
        ("A4", 1, "A"),  # open, rather than the fourth finger on D
        ("G#4", 1, "D"),
        ("D5", 3, "A"),
        ("E4", 3, "G"),
        ("C#4", 3, "G"),
        ("G5", 3, "A"),
        ("A5", 3, "E"),
        ("A5", 5, "A"),
        ("Bb4", 0, "A"),
    ],
)
def test_a_note_without_a_finger_lies_in_the_position(
    name: str, position: int, string: str
) -> None:
    assert read(name, position) == string


# Common practice, no published source.
@pytest.mark.parametrize(
    ("name", "position", "finger", "string"),
    [
        ("A5", 1, 3, "E"),  # the fifth position on A must be named
        ("A5", 5, 3, "A"),
        ("D#4", 1, 4, "G"),
        ("D#4", 1, 1, "D"),
        ("Bb4", 1, 4, "D"),
        ("B4", 1, 4, "D"),
    ],
)
def test_a_finger_is_taken_where_the_hand_moves_least(
    name: str, position: int, finger: int, string: str
) -> None:
    assert read(name, position, finger) == string


def test_a_finger_that_lies_as_near_on_two_strings_is_not_clear() -> None:
    # 1 on A5 is in third position on E and in seventh on A: from fifth position both are two away.
    assert read("A5", 5, 1) is None


def test_a_note_below_the_position_is_not_guessed() -> None:
    assert read("A3", 5) is None
