from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from lxml import etree

from scoretools.model import Key, Pitch
from scoretools.read.attributes import (
    key_of,
    number_of,
    pitch_of,
    time_of,
    transposed_key,
    transposition_of,
    tuning_of,
)


def key(fifths, mode="major"):
    return key_of(etree.XML(f"<key><fifths>{fifths}</fifths><mode>{mode}</mode></key>"))


# Common practice, no published source: key signatures; order C D E F G A B.
@pytest.mark.parametrize(
    ("fifths", "alters"),
    [
        (0, (0, 0, 0, 0, 0, 0, 0)),
        (1, (0, 0, 0, 1, 0, 0, 0)),
        (3, (1, 0, 0, 1, 1, 0, 0)),
        (-1, (0, 0, 0, 0, 0, 0, -1)),
        (-4, (0, -1, -1, 0, 0, -1, -1)),
        (7, (1, 1, 1, 1, 1, 1, 1)),
        (8, (1, 1, 1, 2, 1, 1, 1)),
        (-9, (-1, -1, -2, -1, -1, -1, -2)),
    ],
)
def test_keys_on_the_circle_of_fifths(fifths, alters):
    assert key(fifths) == Key(alters, fifths, "major")


def test_free_signature_and_missing_figures():
    free = "<key><key-step>B</key-step><key-alter>-1</key-alter><key-step>F</key-step>"
    assert key_of(etree.XML(free + "<key-alter>1</key-alter></key>")) == Key(
        (0, 0, 0, 1, 0, 0, -1), None, None
    )
    assert key_of(etree.XML("<key><mode>none</mode></key>")) == Key((0,) * 7, 0, None)


def test_transposed_keys():
    # Hand-worked: G major a major second up is A major, a minor third up B-flat major.
    assert transposed_key(key(1), (1, 2)) == key(3)
    assert transposed_key(key(1), (2, 3)) == key(-2)
    assert transposed_key(key(1), (7, 12)) == key(1)


@pytest.mark.parametrize(
    ("content", "time"),
    [
        ("<beats>6</beats><beat-type>8</beat-type>", (6, 8)),
        ("<beats>3+2</beats><beat-type>8</beat-type>", (5, 8)),
        (
            "<beats>3</beats><beat-type>8</beat-type><beats>1</beats><beat-type>4</beat-type>",
            (5, 8),
        ),
        ("<senza-misura/>", None),
        ("<beats>x</beats><beat-type>8</beat-type>", None),
        ("<beats>3</beats><beat-type>0</beat-type>", None),
        ("<beats>0</beats><beat-type>4</beat-type>", None),
    ],
)
def test_time_signatures(content, time):
    assert time_of(etree.XML(f"<time>{content}</time>")) == time


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("4", 4),
        (" -2 ", -2),
        ("0.5", Fraction(1, 2)),
        ("4.", 4),
        ("1e999999999", None),
        ("9" * 30, None),
        ("", None),
        (None, None),
        ("nan", None),
    ],
)
def test_numbers(text, value):
    assert number_of(text) == value


def test_pitches_sound_as_transposed():
    # Hand-worked: E4 for an instrument in B-flat sounds D4; F-flat up a minor third, A double flat.
    assert pitch_of("E", None, "4", (-1, -2)) == (Pitch("D", 0, 4), False)
    assert pitch_of("F", "-1", "4", (2, 3)) == (Pitch("A", -2, 4), False)
    assert pitch_of("C", None, "4", (-1, -1)) == (Pitch("B", 0, 3), False)
    assert pitch_of("b", "1", "3", (0, 0)) == (Pitch("B", 1, 3), False)


def test_microtones_are_rounded_and_quarter_tones_towards_the_natural():
    assert pitch_of("A", "0.5", "4", (0, 0)) == (Pitch("A", 0, 4), True)
    assert pitch_of("A", "-1.5", "4", (0, 0)) == (Pitch("A", -1, 4), True)
    assert pitch_of("A", "0.75", "4", (0, 0)) == (Pitch("A", 1, 4), True)


@pytest.mark.parametrize(
    ("step", "alter", "octave"),
    [("H", None, "4"), (None, None, "4"), ("A", None, None), ("A", "x", "4"), ("A", "9", "4")],
)
def test_unreadable_pitches(step, alter, octave):
    assert pitch_of(step, alter, octave, (0, 0)) is None


@given(
    st.sampled_from("CDEFGAB"),
    st.integers(-2, 2),
    st.integers(1, 8),
    st.sampled_from([(0, 0), (1, 2), (-1, -2), (4, 7), (-4, -7), (7, 12), (2, 3)]),
)
def test_transposition_moves_letters_and_semitones(step, alter, octave, interval):
    written, _ = pitch_of(step, str(alter), str(octave), (0, 0))
    read = pitch_of(step, str(alter), str(octave), interval)
    if read is not None:
        assert read[0].midi - written.midi == interval[1]
        assert read[0].letter - written.letter == interval[0]


def test_transposition_elements():
    element = etree.XML(
        "<transpose><diatonic>-1</diatonic><chromatic>-2</chromatic>"
        "<octave-change>-1</octave-change></transpose>"
    )
    assert transposition_of(element) == (-8, -14)
    assert transposition_of(etree.XML("<transpose><chromatic>-3</chromatic></transpose>")) == (
        -2,
        -3,
    )


def tuned(tag, attribute, *strings):
    child = "staff-tuning" if tag == "staff-details" else "accord"
    return etree.XML(
        f"<{tag}>"
        + "".join(
            f'<{child} {attribute}="{number}"><tuning-step>{name[0]}</tuning-step>'
            f"<tuning-octave>{name[1]}</tuning-octave></{child}>"
            for number, name in strings
        )
        + f"</{tag}>"
    )


def test_tunings_are_lowest_first():
    # Source: MusicXML 4.0: staff-tuning counts from the lowest line, accord from the top string.
    lines = ((1, "A3"), (2, "E4"), (3, "A4"), (4, "E5"))
    strings = ((1, "E5"), (2, "A4"), (3, "E4"), (4, "A3"))
    expected = ["A3", "E4", "A4", "E5"]
    for element in (
        tuned("staff-details", "line", *lines[::-1]),
        tuned("scordatura", "string", *strings),
    ):
        assert [pitch.name for pitch in tuning_of(element)] == expected
    assert tuning_of(tuned("staff-details", "line", *lines, (5, "B5"))) is not None
    assert tuning_of(tuned("staff-details", "line", *lines, (5, "B5"), (6, "E6"))) is None
    assert tuning_of(tuned("staff-details", "line", *lines[:3], (4, "X5"))) is None
