"""Pitches, shapes and the other values that pass between the stages."""

import dataclasses
from fractions import Fraction

import pytest
from music21.pitch import Pitch as Music21Pitch

from scoretools import model
from scoretools.model import Finger, Offset, Pitch, PositionNumber, Shape, StringIndex

SPELLINGS = [
    Pitch(step, alter, octave)
    for step in "CDEFGAB"
    for alter in (-2, -1, 0, 1, 2)
    for octave in (2, 3, 4, 5, 7)
]


# Source: music21, the same spelled pitch. It writes flats with a minus sign.
@pytest.mark.parametrize("pitch", SPELLINGS, ids=lambda pitch: pitch.name)
def test_pitches_with_music21(pitch: Pitch) -> None:
    other = Music21Pitch(pitch.name.replace("b", "-"))
    assert pitch.midi == other.midi == other.ps
    assert pitch.letter == other.diatonicNoteNum - 1
    assert other.nameWithOctave.replace("-", "b") == pitch.name


# Common practice, no published source: middle C is C4 and MIDI 60, the open A is 69.
@pytest.mark.parametrize(
    ("name", "pitch", "midi"),
    [
        ("C4", Pitch("C", 0, 4), 60),
        ("A4", Pitch("A", 0, 4), 69),
        ("G3", Pitch("G", 0, 3), 55),
        ("Cb5", Pitch("C", -1, 5), 71),
        ("B#4", Pitch("B", 1, 4), 72),
        ("F##5", Pitch("F", 2, 5), 79),
        ("Bbb3", Pitch("B", -2, 3), 57),
    ],
)
def test_names_and_numbers(name: str, pitch: Pitch, midi: int) -> None:
    assert (pitch.name, pitch.midi) == (name, midi)


def test_letters_ascend_through_the_octave() -> None:
    letters = [Pitch(step, 0, 4).letter for step in "CDEFGAB"] + [Pitch("C", 0, 5).letter]
    assert letters == list(range(28, 36))


def test_shape_gaps() -> None:
    offsets = (Offset(1), Offset(4), Offset(5), Offset(7))
    shape = Shape(StringIndex(2), PositionNumber(1), offsets, (Finger(1), Finger(4)))
    assert shape.first_offset == 1
    assert shape.gaps == (3, 1, 2)


VALUES = [
    name
    for name in model.__all__
    if isinstance(getattr(model, name), type) and dataclasses.is_dataclass(getattr(model, name))
]


@pytest.mark.parametrize("name", VALUES)
def test_values_are_frozen_and_without_a_dict(name: str) -> None:
    kind = getattr(model, name)
    assert kind.__dataclass_params__.frozen
    assert "__slots__" in vars(kind)
    assert kind.__doc__


def test_values_are_hashable() -> None:
    tempo = model.Tempo(Fraction(0), 96.0, assumed=False)
    assert hash(tempo) == hash(model.Tempo(Fraction(0), 96.0, assumed=False))
    with pytest.raises(dataclasses.FrozenInstanceError):
        tempo.assumed = True


def test_every_public_name_is_there_once() -> None:
    assert len(set(model.__all__)) == len(model.__all__)
    for name in model.__all__:
        assert hasattr(model, name)
