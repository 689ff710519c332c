"""Spelling from pitch numbers alone."""

import os
from pathlib import Path

import pytest

from scoretools.model import Key, Pitch
from scoretools.read import read_part
from scoretools.read.spelling import estimated_key, spelled

CHECK_DATA = os.environ.get("SCORETOOLS_CHECK_DATA")

needs_check_data = pytest.mark.skipif(
    not CHECK_DATA, reason="SCORETOOLS_CHECK_DATA names no folder of check data"
)


def scale(tonic: int) -> list[int]:
    return [tonic + step for step in (0, 2, 4, 5, 7, 9, 11, 12)]


def names(pitches: list[int]) -> str:
    even = [1.0] * len(pitches)
    return " ".join(pitch.name for pitch in spelled(pitches, even, estimated_key(pitches, even)))


@pytest.mark.parametrize(
    ("tonic", "fifths"), [(60, 0), (67, 1), (62, 2), (71, 5), (65, -1), (58, -2), (56, -4)]
)
def test_a_major_scale_has_its_signature(tonic: int, fifths: int) -> None:
    pitches = scale(tonic)
    assert estimated_key(pitches, [1.0] * 8).fifths == fifths


def test_the_signature_alters_its_letters() -> None:
    assert estimated_key(scale(62), [1.0] * 8) == Key((1, 0, 0, 1, 0, 0, 0), 2, None)
    assert estimated_key(scale(58), [1.0] * 8) == Key((0, 0, -1, 0, 0, 0, -1), -2, None)


def test_of_equals_the_fewest_signs() -> None:
    assert estimated_key([60, 62, 67], [1.0] * 3).fifths == 0


def test_long_notes_weigh_more() -> None:
    # B-flat and B natural in turn: what lasts longer decides.
    pitches = [65, 67, 69, 70, 71, 72, 74, 76]
    assert estimated_key(pitches, [1, 1, 1, 4, 1, 1, 1, 1]).fifths == -1
    assert estimated_key(pitches, [1, 1, 1, 1, 4, 1, 1, 1]).fifths == 0


def test_notes_are_spelled_in_their_key() -> None:
    assert names(scale(64)) == "E4 F#4 G#4 A4 B4 C#5 D#5 E5"
    assert names(scale(63)) == "Eb4 F4 G4 Ab4 Bb4 C5 D5 Eb5"


def test_a_leading_note_is_sharp_in_a_minor_key() -> None:
    assert names([69, 71, 72, 74, 76, 68, 69, 68, 69]) == "A4 B4 C5 D5 E5 G#4 A4 G#4 A4"


def test_the_surroundings_count_more_than_the_signature() -> None:
    in_a, in_b_flat = scale(57) * 8, scale(58) * 8
    flats = ["Bb3", "C4", "D4", "Eb4", "F4", "G4", "A4", "Bb4"]
    sharps = ["A3", "B3", "C#4", "D4", "E4", "F#4", "G#4", "A4"]
    assert names([*in_a, *in_b_flat]).split()[-8:] == flats
    assert names([*in_b_flat, *in_a]).split()[-8:] == sharps


def test_octaves_change_at_c_by_letter() -> None:
    flat = Key((-1, -1, -1, -1, -1, -1, -1), -7, None)
    assert spelled([59, 59], [1.0, 1.0], flat) == (Pitch("C", -1, 4), Pitch("C", -1, 4))
    sharp = Key((1, 1, 1, 1, 1, 1, 1), 7, None)
    assert spelled([60, 60], [1.0, 1.0], sharp) == (Pitch("B", 1, 3), Pitch("B", 1, 3))


def test_every_spelling_sounds_its_pitch() -> None:
    pitches = list(range(55, 101))
    even = [1.0] * len(pitches)
    for fifths in range(-7, 8):
        key = Key((0,) * 7, fifths, None)
        assert [pitch.midi for pitch in spelled(pitches, even, key)] == pitches


@needs_check_data
@pytest.mark.parametrize(
    ("file", "least"),
    [
        ("fingered/students/kayser_op20_09.musicxml", 0.94),
        ("fingered/students/rieding_op_21_mvt01.musicxml", 0.97),
        ("fingered/other/eccles_sonata_01.musicxml", 0.97),
    ],
)
def test_scores_are_spelled_as_printed(file: str, least: float) -> None:
    part = read_part(Path(CHECK_DATA or "") / file)
    notes = [note for event in part.events for note in event.notes]
    pitches = [note.pitch.midi for note in notes]
    lengths = [float(note.duration_ql) for note in notes]
    found = spelled(pitches, lengths, estimated_key(pitches, lengths))
    right = sum(pitch == note.pitch for pitch, note in zip(found, notes, strict=True))
    assert right >= least * len(notes)
