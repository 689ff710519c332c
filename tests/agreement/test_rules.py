"""The dumb rules, note by note."""

import pytest

from scoretools.agreement.rules import first_position, lowest_position
from scoretools.instrument import INSTRUMENTS, instrument
from scoretools.model import Pitch

VIOLIN = instrument("violin")


def pitch(name: str) -> Pitch:
    step, octave = name[0], int(name[-1])
    return Pitch(step, name.count("#") - name[1:].count("b"), octave)


@pytest.mark.parametrize(
    ("name", "string", "finger"),
    [
        ("A3", 0, 1),
        ("D4", 0, 4),  # never the open D
        ("D#4", 0, 4),  # its letter is the open string's
        ("Eb4", 1, 1),
        ("A4", 1, 4),
        ("C#5", 2, 2),
        ("E5", 2, 4),
        ("B5", 3, 4),
        ("C6", 3, 4),  # extended
        ("G3", 0, 0),  # nothing else sounds it
    ],
)
def test_first_position_never_an_open_string(name: str, string: int, finger: int) -> None:
    found = first_position(VIOLIN, pitch(name))
    assert found is not None
    assert (found.string, found.position, found.finger) == (string, 1, finger)


@pytest.mark.parametrize("name", ["D6", "F3"])
def test_first_position_has_an_end(name: str) -> None:
    assert first_position(VIOLIN, pitch(name)) is None


@pytest.mark.parametrize(
    ("name", "string", "position", "finger"),
    [
        ("G3", 0, 1, 0),
        ("D4", 1, 1, 0),
        ("E5", 3, 1, 0),
        ("E#5", 2, 1, 4),
        ("F5", 3, 1, 1),
        ("B5", 3, 1, 4),
        ("C6", 3, 2, 4),
        ("E6", 3, 4, 4),
        ("F#7", 3, 12, 4),
    ],
)
def test_always_the_lowest_position(name: str, string: int, position: int, finger: int) -> None:
    found = lowest_position(VIOLIN, pitch(name))
    assert found is not None
    assert (found.string, found.position, found.finger) == (string, position, finger)


@pytest.mark.parametrize("name", ["G7", "F3"])
def test_the_lowest_position_has_an_end(name: str) -> None:
    assert lowest_position(VIOLIN, pitch(name)) is None


def test_the_viola_has_its_own_strings() -> None:
    viola = instrument("viola")
    assert INSTRUMENTS["viola"][0].name == "C3"
    found = first_position(viola, pitch("G3"))
    assert found is not None
    assert (found.string, found.finger) == (0, 4)
