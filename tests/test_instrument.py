"""Strings, positions, distances: against tables of the trade, recomputed with music21."""

from itertools import pairwise
from math import inf, isclose, nan

import pytest
from music21.interval import GenericInterval, Interval
from music21.pitch import Pitch as Music21Pitch

from scoretools.errors import PlayerError
from scoretools.instrument import (
    HIGHEST_POSITION,
    INSTRUMENTS,
    STRING_LENGTHS_MM,
    Instrument,
    from_printed_string,
    homes_of_position,
    instrument,
    natural_offset,
    ordinal,
    position_label,
    position_number,
    position_of,
    spacing_mm,
    stop_distance_mm,
    string_names,
    usual_home,
)
from scoretools.model import Pitch, PositionNumber, PrintedString

STRINGS = {
    "C": Pitch("C", 0, 3),
    "G": Pitch("G", 0, 3),
    "D": Pitch("D", 0, 4),
    "A": Pitch("A", 0, 4),
    "E": Pitch("E", 0, 5),
}

# Common practice, no published source: the natural letter under the first finger in positions
# I to XII, and the semitones of that note above the open string.
POSITIONS = {
    "C": "D2 E4 F5 G7 A9 B11 C12 D14 E16 F17 G19 A21",
    "G": "A2 B4 C5 D7 E9 F10 G12 A14 B16 C17 D19 E21",
    "D": "E2 F3 G5 A7 B9 C10 D12 E14 F15 G17 A19 B21",
    "A": "B2 C3 D5 E7 F8 G10 A12 B14 C15 D17 E19 F20",
    "E": "F1 G3 A5 B7 C8 D10 E12 F13 G15 A17 B19 C20",
}

CELLS = [
    (string, number, cell[0], int(cell[1:]))
    for string, row in POSITIONS.items()
    for number, cell in enumerate(row.split(), start=1)
]


# ── strings ─────────────────────────────────────────────────────────────────────────────────────


# Common practice, no published source: violin G3 D4 A4 E5, viola C3 G3 D4 A4.
@pytest.mark.parametrize(
    ("name", "midi", "names"),
    [("violin", (55, 62, 69, 76), "G D A E"), ("viola", (48, 55, 62, 69), "C G D A")],
)
def test_open_strings(name: str, midi: tuple[int, ...], names: str) -> None:
    played = instrument(name)
    assert tuple(pitch.midi for pitch in played.strings) == midi
    assert string_names(played) == tuple(names.split())


@pytest.mark.parametrize("name", ["violin", "viola"])
def test_ordinary_strings_lie_a_perfect_fifth_apart(name: str) -> None:
    pitches = [Music21Pitch(pitch.name) for pitch in INSTRUMENTS[name]]
    for lower, upper in pairwise(pitches):
        assert Interval(lower, upper).name == "P5"


# Source: MusicXML 4.0, <string>: strings are counted from the highest, which is 1.
@pytest.mark.parametrize(
    ("name", "from_the_highest"), [("violin", "E A D G"), ("viola", "A D G C")]
)
def test_printed_strings_count_from_the_highest(name: str, from_the_highest: str) -> None:
    played = instrument(name)
    for printed, letter in enumerate(from_the_highest.split(), start=1):
        index = from_printed_string(played, PrintedString(printed))
        assert index is not None
        assert string_names(played)[index] == letter


@pytest.mark.parametrize("printed", [-1, 0, 5, 99])
def test_a_printed_string_that_is_not_there_is_none(printed: int) -> None:
    assert from_printed_string(instrument("violin"), PrintedString(printed)) is None


# Common practice, no published source: cross tunings of the fiddle, lowest string first.
@pytest.mark.parametrize(
    ("tuning", "names"),
    [
        ("A3 E4 A4 E5", ("A3", "E4", "A4", "E5")),
        ("A3 D4 A4 E5", ("A3", "D", "A4", "E")),
        ("G3 D4 A4 D5", ("G", "D4", "A", "D5")),
        ("A3 E4 A4 C#5", ("A3", "E", "A4", "C#")),
        ("Ab3 Eb4 Bb4 F5", ("Ab", "Eb", "Bb", "F")),
    ],
)
def test_scordatura_is_data(tuning: str, names: tuple[str, ...]) -> None:
    strings = tuple(_pitch(name) for name in tuning.split())
    played = instrument("violin", tuning=strings)
    assert played.strings == strings
    assert string_names(played) == names


def test_positions_follow_a_changed_tuning() -> None:
    # From memory: on a C-sharp string the first finger's natural letter in I, D, is a half step
    # above the open string; on a B-flat string, C, a whole step.
    assert natural_offset(_pitch("C#5"), PositionNumber(1)) == 1
    assert natural_offset(_pitch("Bb4"), PositionNumber(1)) == 2
    # On a C-flat string D lies an augmented second up.
    assert natural_offset(_pitch("Cb5"), PositionNumber(1)) == 3


# ── positions ───────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(("string", "number", "letter", "semitones"), CELLS)
def test_position_table(string: str, number: int, letter: str, semitones: int) -> None:
    position = PositionNumber(number)
    assert natural_offset(STRINGS[string], position) == semitones
    octaves = (STRINGS[string].letter + number) // 7
    assert position_of(STRINGS[string], Pitch(letter, 0, octaves)) == position
    assert semitones in homes_of_position(position)


@pytest.mark.parametrize(("string", "number", "letter", "semitones"), CELLS)
def test_position_table_with_music21(string: str, number: int, letter: str, semitones: int) -> None:
    # Source: music21, a generic interval of one letter for every position above the open string,
    # accidentals left out.
    open_string = Music21Pitch(STRINGS[string].name)
    above = GenericInterval(number + 1).transposePitch(open_string)
    assert above.step == letter
    assert above.accidental is None
    assert Interval(open_string, above).semitones == semitones
    assert natural_offset(STRINGS[string], PositionNumber(number)) == above.midi - open_string.midi


def test_the_table_is_whole() -> None:
    assert len(CELLS) == 5 * HIGHEST_POSITION == 60


# Common practice, no published source: one letter may have several places and keeps its position;
# one place may have two letters and then lies in two positions.
@pytest.mark.parametrize(
    ("pitch", "offset", "position"),
    [("F4", 3, 2), ("F#4", 4, 2), ("Gb4", 4, 3), ("G4", 5, 3), ("Eb4", 1, 1), ("D#4", 1, 0)],
)
def test_letter_decides_the_position_on_the_d_string(
    pitch: str, offset: int, position: int
) -> None:
    named = _pitch(pitch)
    assert named.midi - STRINGS["D"].midi == offset
    assert position_of(STRINGS["D"], named) == position


# Source: music21, semitones of every interval that spans the position's letters, from diminished
# or minor to augmented. Half position lies one half step above the nut (common practice).
@pytest.mark.parametrize("number", range(1, HIGHEST_POSITION + 1))
def test_homes_of_a_position_are_the_intervals_of_its_letters(number: int) -> None:
    size = number + 1
    perfect = (size - 1) % 7 in (0, 3, 4)
    qualities = "dPA" if perfect else "mMA"
    semitones = [Interval(f"{quality}{size}").semitones for quality in qualities]
    assert homes_of_position(PositionNumber(number)) == tuple(semitones)


def test_half_position() -> None:
    half = PositionNumber(0)
    assert homes_of_position(half) == (1,)
    assert position_number(half) == 0.5
    assert position_label(half) == "half position"
    for played in (instrument("violin"), instrument("viola")):
        assert usual_home(played, half) == 1
    # Common practice, no published source: on the A string it is A-sharp or B-flat.
    assert position_of(STRINGS["A"], Pitch("A", 1, 4)) == half
    assert position_of(STRINGS["A"], Pitch("B", -1, 4)) == PositionNumber(1)


# Common practice, no published source: the place most strings of the table share.
@pytest.mark.parametrize(
    ("name", "homes"),
    [
        ("violin", (1, 2, 3, 5, 7, 9, 10, 12, 14, 15, 17, 19, 21)),
        ("viola", (1, 2, 4, 5, 7, 9, 10, 12, 14, 16, 17, 19, 21)),
    ],
)
def test_usual_home_is_that_of_most_strings(name: str, homes: tuple[int, ...]) -> None:
    played = instrument(name)
    found = [usual_home(played, PositionNumber(number)) for number in range(13)]
    assert found == list(homes)
    for number in range(1, 13):
        column = [int(POSITIONS[letter].split()[number - 1][1:]) for letter in string_names(played)]
        best = max(column.count(offset) for offset in column)
        assert column.count(found[number]) == best


# Common practice, no published source.
@pytest.mark.parametrize(
    ("number", "words"),
    [
        (1, "1st"), (2, "2nd"), (3, "3rd"), (4, "4th"), (5, "5th"), (6, "6th"), (7, "7th"),
        (8, "8th"), (9, "9th"), (10, "10th"), (11, "11th"), (12, "12th"), (13, "13th"),
        (21, "21st"), (22, "22nd"), (111, "111th"), (112, "112th"), (101, "101st"),
    ],
)  # fmt: skip
def test_ordinals(number: int, words: str) -> None:
    assert ordinal(number) == words


def test_positions_are_labelled_and_numbered() -> None:
    assert position_label(PositionNumber(1)) == "1st position"
    assert position_label(PositionNumber(3)) == "3rd position"
    assert position_label(PositionNumber(12)) == "12th position"
    assert [position_number(PositionNumber(number)) for number in (0, 1, 12)] == [0.5, 1.0, 12.0]


# ── distances ───────────────────────────────────────────────────────────────────────────────────

# Source: d(n) = L·(1 − 2^(−n/12)), equal temperament on an ideal string, worked out by hand to the
# digits printed. Length; nut to 2; half step, whole step, augmented second above 2; span of a
# perfect fourth with the first finger at 2, 5, 7 and 12.
GEOMETRY = [
    (328.0, 35.8, (16.4, 31.9, 46.5), (73, 62, 55, 41)),
    (287.0, 31.3, (14.4, 27.9, 40.7), (64, 54, 48, 36)),
    (240.0, 26.2, (12.0, 23.3, 34.0), (54, 45, 40, 30)),
    (375.0, 40.9, (18.8, 36.4, 53.2), (84, 70, 63, 47)),
]


@pytest.mark.parametrize(("length_mm", "to_two_mm", "gaps_mm", "frames_mm"), GEOMETRY)
def test_geometry_table(
    length_mm: float,
    to_two_mm: float,
    gaps_mm: tuple[float, ...],
    frames_mm: tuple[int, ...],
) -> None:
    played = instrument("violin", string_length_mm=length_mm)
    assert stop_distance_mm(played, 2) == pytest.approx(to_two_mm, abs=0.0501)
    for semitones, gap_mm in zip((1, 2, 3), gaps_mm, strict=True):
        assert spacing_mm(played, 2, 2 + semitones) == pytest.approx(gap_mm, abs=0.0501)
    for home, frame_mm in zip((2, 5, 7, 12), frames_mm, strict=True):
        assert spacing_mm(played, home, home + 5) == pytest.approx(frame_mm, abs=0.501)


# Source: the length that sounds is to the whole string as the frequencies are inverse (ideal
# string); frequencies by music21.
@pytest.mark.parametrize("string", "CGDAE")
@pytest.mark.parametrize("semitones", range(25))
def test_distance_by_frequency(string: str, semitones: int) -> None:
    played = instrument("violin")
    open_string = Music21Pitch(STRINGS[string].name)
    stopped = open_string.transpose(semitones)
    sounding = played.string_length_mm * open_string.frequency / stopped.frequency
    assert stop_distance_mm(played, semitones) == pytest.approx(
        played.string_length_mm - sounding, abs=1e-6
    )


def test_distances_of_the_harmonic_series() -> None:
    # Source: the octave halves the string; the fifth and the fourth stop a third and a quarter of
    # it in pure tuning, 2 and 2 cents off equal temperament.
    played = instrument("viola", string_length_mm=360)
    assert stop_distance_mm(played, 0) == 0
    assert isclose(stop_distance_mm(played, 12), 180)
    assert isclose(stop_distance_mm(played, 24), 270)
    assert stop_distance_mm(played, 7) == pytest.approx(120, abs=0.3)
    assert stop_distance_mm(played, 5) == pytest.approx(90, abs=0.4)


def test_a_half_step_on_a_large_viola_and_high_on_a_violin() -> None:
    # Source: the formula above; 19 mm in first position on a large viola, 9 mm on a violin at the
    # octave.
    viola, violin = instrument("viola", "large"), instrument("violin")
    assert spacing_mm(viola, 2, 3) == pytest.approx(19, abs=0.5)
    assert spacing_mm(violin, 12, 13) == pytest.approx(9, abs=0.5)


def test_the_comma_between_two_checks() -> None:
    # Source: the syntonic comma 81/80, 21.5 cents, is 3.6 mm at E on the D string of a full-size
    # violin.
    played = instrument("violin")
    assert spacing_mm(played, 2, 2.2151) == pytest.approx(3.6, abs=0.05)


# From memory: vibrating lengths in use; makers differ by a few millimetres.
@pytest.mark.parametrize(
    ("size", "length_mm"),
    [
        ("4/4", 328), ("7/8", 317), ("3/4", 307), ("1/2", 287), ("1/4", 267), ("1/8", 240),
        ("1/10", 221), ("1/16", 212),
    ],
)  # fmt: skip
def test_violin_sizes(size: str, length_mm: float) -> None:
    assert instrument("violin", size).string_length_mm == length_mm


def test_viola_sizes_lie_where_violas_lie() -> None:
    # From memory: 355 to 387 mm, commonly 360 to 375.
    lengths = list(STRING_LENGTHS_MM["viola"].values())
    assert lengths == sorted(lengths)
    assert lengths[0] == 355
    assert lengths[-1] == 387
    assert 360 <= instrument("viola").string_length_mm <= 375


def test_usual_sizes_and_measured_lengths() -> None:
    assert instrument("violin").string_length_mm == 328
    assert instrument("violin", "1/2", 290).string_length_mm == 290
    assert instrument("violin", string_length_mm=150).string_length_mm == 150
    assert instrument("viola", string_length_mm=450).string_length_mm == 450


# ── mistakes ────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    ("wrong", "field", "value"),
    [
        ({"name": "cello"}, "instrument", "cello"),
        ({"name": ""}, "instrument", "''"),
        ({"name": "violin", "size": "5/4"}, "size", "5/4"),
        ({"name": "viola", "size": "4/4"}, "size", "4/4"),
        ({"name": "violin", "size": "large"}, "size", "large"),
        ({"name": "violin", "string_length_mm": 149.9}, "string_length_mm", "149.9"),
        ({"name": "violin", "string_length_mm": 451.0}, "string_length_mm", "451"),
        ({"name": "violin", "string_length_mm": 0.0}, "string_length_mm", "0"),
        ({"name": "violin", "string_length_mm": -328.0}, "string_length_mm", "-328"),
        ({"name": "violin", "string_length_mm": nan}, "string_length_mm", "nan"),
        ({"name": "violin", "string_length_mm": inf}, "string_length_mm", "inf"),
    ],
)
def test_mistakes_are_one_sentence(wrong: dict[str, object], field: str, value: str) -> None:
    with pytest.raises(PlayerError) as caught:
        instrument(**wrong)
    sentence = str(caught.value)
    assert sentence.startswith(f"{field}: ")
    assert value in sentence
    assert "\n" not in sentence


@pytest.mark.parametrize("name", sorted(STRING_LENGTHS_MM))
def test_an_unknown_size_is_answered_with_the_sizes(name: str) -> None:
    with pytest.raises(PlayerError) as caught:
        instrument(name, "huge")
    for size in STRING_LENGTHS_MM[name]:
        assert size in str(caught.value)


def test_an_instrument_is_a_value() -> None:
    assert instrument("violin") == Instrument("violin", INSTRUMENTS["violin"], 328.0)
    assert len({instrument("violin"), instrument("violin"), instrument("viola")}) == 2


def _pitch(name: str) -> Pitch:
    accidentals = name[1:-1]
    return Pitch(name[0], accidentals.count("#") - accidentals.count("b"), int(name[-1]))
