"""Words over single notes. Common practice, no published source, unless one is named."""

import pytest

from scoretools.model import Harmonic, Marks


def strings(part):
    return [event.words.string for event in part.events]


def test_lone_numeral_is_the_string_of_its_note(read, four, words, told):
    # Source: Gounod, Ave Maria, ed. Mutopia Project, "II" over single notes.
    part = read(four(), four(at2=words("II")))
    assert [event.notes[0].marks.string for event in part.events[4:]] == [None, 2, None, None]
    assert strings(part) == [None] * 8
    assert told(part) == ["A lone numeral is taken as a string in bar 2."]


@pytest.mark.parametrize(
    ("numeral", "print_"),
    [("II.", {}), ("II", {"font_size": "16"}), ("II", {"font_weight": "bold"})],
)
def test_numerals_of_movements_are_no_strings(read, four, numeral, print_, words, told):
    part = read(four(at1=words(numeral, **print_)))
    assert part.events[0].notes[0].marks.string is None
    assert told(part) == []


def test_numeral_over_no_fitting_note_is_told(read, four, words, told):
    part = read(four(), four("G3", at2=words("I")))
    assert told(part) == [
        "A lone numeral that fits no single note as a string is left out in bar 2."
    ]


def test_letters_are_strings_under_a_line_only(read, four, words, line, end, told):
    part = read(four(), four(at2=words("D", more=line("start")), at3=end()))
    assert strings(part)[4:] == [None, 3, None, None]
    part = read(four(), four(at2=words("D")))
    assert strings(part)[4:] == [None] * 4
    assert told(part) == [
        "A lone letter, which may name a string or a section, is left out in bar 2."
    ]


def test_position_marks_the_notes_it_stands_over(read, four, note, words):
    part = read(four(at2=words("3rd pos.")), words("½ pos.") + note("rest", 8) + note("Bb4", 8))
    assert [event.notes[0].marks.position for event in part.events] == [None, 3, None, None, 0]
    chord = note("A4") + note("C5", first="<chord/>")
    part = read(words("III. Lage") + chord)
    assert [one.marks.position for one in part.events[0].notes] == [3, 3]


def test_plus_and_words_pluck_with_the_left_hand(read, four, note, words, told):
    # Source: Wieniawski, L'école moderne op. 10, first edition: "+ pizzicato main gauche".
    part = read(four(at2=words("+"), at4=words("+ pizzicato main gauche.")))
    plucked = [event.notes[0].marks.left_hand_pizzicato for event in part.events]
    assert plucked == [False, True, False, True]
    assert not any(event.words.pizzicato for event in part.events)
    chord = read(words("+") + note("A4", 16) + note("C5", 16, first="<chord/>"))
    assert told(chord)[0].startswith("A sign for the left hand's pizzicato")


def test_lone_digits_over_single_notes_are_fingers(read, four, note, words, told):
    part = read(four(at2=words("3"), at3=words("1-2")))
    assert [event.notes[0].marks.fingers for event in part.events] == [(), (3,), (1, 2), ()]
    chord = note("A4", 16) + note("C5", 16, first="<chord/>")
    part = read(words("1, 3") + chord)
    assert [one.marks.fingers for one in part.events[0].notes] == [(3,), (1,)]
    assert told(read(words("2") + chord)) == [
        "A digit over several notes is left out, since it fits more than one in bar 1."
    ]


def test_printed_marks_go_before_words(read, note, words):
    part = read(words("3") + note("A4", 16, technical="<fingering>1</fingering>"))
    assert part.events[0].notes[0].marks.fingers == (1,)


def test_glides_and_harmonics_in_words(read, four, words, told):
    part = read(four(at2=words("gliss."), at3=words("Flag.")))
    assert [event.notes[0].glides for event in part.events] == [False, True, False, False]
    assert told(part) == [
        "Words about harmonics are left out, since only signs on notes are read in bar 1."
    ]


def test_a_nought_in_words_is_an_open_string_or_a_harmonic(read, note, words):
    part = read(words("0") + note("A4") + words("0") + note("A5") + words("0") + note("B4"))
    marks = [event.notes[0].marks for event in part.events]
    assert marks == [Marks((0,)), Marks(harmonic=Harmonic.NATURAL), Marks((0,))]


def test_a_nought_in_words_beside_a_printed_finger_is_a_harmonic_at_most(read, note, words):
    three = "<fingering>3</fingering>"
    part = read(words("0") + note("A5", technical=three) + words("0") + note("A4", technical=three))
    marks = [event.notes[0].marks for event in part.events]
    assert marks == [Marks((3,), harmonic=Harmonic.NATURAL), Marks((3,))]
