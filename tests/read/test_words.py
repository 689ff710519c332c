"""Words in force. Common practice, no published source, unless one is named."""

import pytest

from scoretools.model import Divided, Words


def words(text, *, more="", **attributes):
    given = "".join(f' {name.replace("_", "-")}="{value}"' for name, value in attributes.items())
    said = f"<direction-type><words{given}>{text}</words></direction-type>"
    return f"<direction>{said}{more}</direction>"


def line(kind, number=1, tag="dashes"):
    return f'<direction-type><{tag} type="{kind}" number="{number}"/></direction-type>'


def end(number=1, tag="dashes"):
    return f"<direction>{line('stop', number, tag)}</direction>"


@pytest.fixture
def four(note):
    """Return a bar of four quarters, with something before some of them."""

    def four_(name="A4", **before):
        return "".join(before.get(f"at{beat}", "") + note(name) for beat in range(1, 5))

    return four_


def strings(part):
    return [event.words.string for event in part.events]


def told(part):
    return [notice.message for notice in part.notices]


def test_string_holds_until_the_next_and_loco(read, four):
    part = read(
        four(at2=words("sul G"), at4=words("sul D")) + "", four(at3=words("loco")), four("E5")
    )
    assert strings(part) == [None, 4, 4, 3, 3, 3, None, None, None, None, None, None]


def test_string_holds_as_long_as_its_line(read, four):
    begun = words("sul G", more=line("start"))
    part = read(four(at1=begun, at4=end()), four())
    assert strings(part) == [4, 4, 4, None, None, None, None, None]
    separate = words("IV") + f"<direction>{line('start', 2, 'bracket')}</direction>"
    part = read(four(at2=separate), four(at2=end(2, "bracket")))
    assert strings(part) == [None, 4, 4, 4, 4, None, None, None]


@pytest.mark.parametrize("after", ["F3", "B6"])
def test_string_ends_where_no_note_lies_on_it(read, four, note, after):
    part = read(four(at1=words("sul G")), note(after) + note("A4", 12))
    assert strings(part) == [4, 4, 4, 4, None, None]


def test_string_ends_at_a_printed_string_and_at_an_open_one(read, four, note):
    for technical in ("<string>2</string>", "<open-string/>", "<fingering>0</fingering>"):
        part = read(four(at1=words("sul G")), note("A4", 16, technical=technical))
        assert strings(part)[4] is None


def test_string_ends_at_a_rest_of_a_bar_a_double_bar_and_eight_bars(read, four, note):
    begun = four(at1=words("sul G"))
    assert strings(read(begun, note("rest", 16), note("A4", 16)))[4] is None
    assert strings(read(begun, note("rest", 8) + note("A4", 8)))[4] == 4
    double = "<barline><bar-style>light-light</bar-style></barline>"
    assert strings(read(begun + double, four()))[4:] == [None] * 4
    assert strings(read(begun, *[four()] * 9))[28:36] == [4] * 4 + [None] * 4
    # Words over the rest hold for what follows it.
    assert strings(read(four(), words("sul G") + note("rest", 16), note("A4", 16)))[4] == 4


def test_strings_of_the_viola_and_of_a_printed_tuning(read, four):
    assert strings(read(four(at1=words("sul C")), names=("Viola",)))[0] == 4
    part = read(four(at1=words("sul C")))
    assert strings(part)[0] is None
    assert told(part) == [
        "Words ask for a string that the instrument does not have and are left out in bar 1."
    ]


def test_unplayable_words_and_several_strings_are_told(read, four):
    assert told(read(four("A3", at1=words("sul E")))) == [
        "Words ask for a string that cannot play the notes under them and are left out in bar 1."
    ]
    assert told(read(four(at1=words("Sul D e A")))) == [
        "Words about several strings, or one not named, are left out in bar 1."
    ]


def test_words_split_by_font_are_read_together(read, four):
    # Source: a string quartet among the OpenScore String Quartets writes "4", "e", "Corde" so.
    parts = "</words></direction-type><direction-type><words>"
    assert strings(read(four(at1=words(f"4{parts}e{parts}Corde"))))[0] == 4


def test_lone_numeral_is_the_string_of_its_note(read, four):
    # Source: Gounod, Ave Maria, ed. Mutopia Project, "II" over single notes.
    part = read(four(), four(at2=words("II")))
    assert [event.notes[0].marks.string for event in part.events[4:]] == [None, 2, None, None]
    assert strings(part) == [None] * 8
    assert told(part) == ["A lone numeral is taken as a string in bar 2."]


@pytest.mark.parametrize(
    "numeral", [words("II."), words("II", font_size="16"), words("II", font_weight="bold")]
)
def test_numerals_of_movements_are_no_strings(read, four, numeral):
    part = read(four(at1=numeral))
    assert part.events[0].notes[0].marks.string is None
    assert told(part) == []


def test_numeral_over_no_fitting_note_is_told(read, four):
    part = read(four(), four("G3", at2=words("I")))
    assert told(part) == [
        "A lone numeral that fits no single note as a string is left out in bar 2."
    ]


def test_letters_are_strings_under_a_line_only(read, four):
    part = read(four(), four(at2=words("D", more=line("start")), at3=end()))
    assert strings(part)[4:] == [None, 3, None, None]
    part = read(four(), four(at2=words("D")))
    assert strings(part)[4:] == [None] * 4
    assert told(part) == [
        "A lone letter, which may name a string or a section, is left out in bar 2."
    ]


def test_position_marks_the_notes_it_stands_over(read, four, note):
    part = read(four(at2=words("3rd pos.")), words("½ pos.") + note("rest", 8) + note("Bb4", 8))
    assert [event.notes[0].marks.position for event in part.events] == [None, 3, None, None, 0]
    chord = note("A4") + note("C5", first="<chord/>")
    part = read(words("III. Lage") + chord)
    assert [one.marks.position for one in part.events[0].notes] == [3, 3]


def test_stay_holds_for_four_bars_or_to_loco(read, four):
    part = read(four(at1=words("à la 5me position")), four(at3=words("loco")))
    assert part.events[0].notes[0].marks.position == 5
    assert [event.words.stay for event in part.events] == [True] * 6 + [False] * 2
    part = read(four(at1=words("restez")), *[four()] * 5)
    assert [event.words.stay for event in part.events] == [True] * 16 + [False] * 8


def test_pizzicato_and_divisi_hold_to_their_opposites_and_movements(read, four):
    part = read(
        four(at2=words("pizz."), at4=words("div.")),
        four(at2=words("arco"), at3=words("unis.")),
    )
    assert [event.words.pizzicato for event in part.events] == [0, 1, 1, 1, 1, 0, 0, 0]
    divided = [None] * 3 + [Divided.DIVIDED] * 3 + [Divided.UNISON] * 2
    assert [event.words.divided for event in part.events] == divided
    final = "<barline><bar-style>light-heavy</bar-style></barline>"
    second = f'<measure number="1">{four()}</measure>'
    assert read(four(at1=words("pizz.")) + final, second).events[4].words == Words()


def test_sound_tells_pizzicato_too(read, four):
    part = read(four(at2='<direction><sound pizzicato="yes"/></direction>'))
    assert [event.words.pizzicato for event in part.events] == [False, True, True, True]


def test_plus_and_words_pluck_with_the_left_hand(read, four, note):
    # Source: Wieniawski, L'école moderne op. 10, first edition: "+ pizzicato main gauche".
    part = read(four(at2=words("+"), at4=words("+ pizzicato main gauche.")))
    plucked = [event.notes[0].marks.left_hand_pizzicato for event in part.events]
    assert plucked == [False, True, False, True]
    assert not any(event.words.pizzicato for event in part.events)
    chord = read(words("+") + note("A4", 16) + note("C5", 16, first="<chord/>"))
    assert told(chord)[0].startswith("A sign for the left hand's pizzicato")


def test_lone_digits_over_single_notes_are_fingers(read, four, note):
    part = read(four(at2=words("3"), at3=words("1-2")))
    assert [event.notes[0].marks.fingers for event in part.events] == [(), (3,), (1, 2), ()]
    chord = note("A4", 16) + note("C5", 16, first="<chord/>")
    part = read(words("1, 3") + chord)
    assert [one.marks.fingers for one in part.events[0].notes] == [(3,), (1,)]
    assert told(read(words("2") + chord)) == [
        "A digit over several notes is left out, since it fits more than one in bar 1."
    ]


def test_printed_marks_go_before_words(read, note):
    part = read(words("3") + note("A4", 16, technical="<fingering>1</fingering>"))
    assert part.events[0].notes[0].marks.fingers == (1,)


def test_digits_that_count_bars_are_no_fingers(read, four):
    # Source: a string quartet among the OpenScore String Quartets counts repeated bars so.
    for texts in (("1", "2", "3"), ("4", "5", "6")):
        part = read(*(four(at1=words(text)) for text in texts))
        assert not any(event.notes[0].marks.fingers for event in part.events)
        assert told(part) == [
            "Lone digits among the words count bars and are not taken as fingers."
        ]


def test_glides_and_harmonics_in_words(read, four):
    part = read(four(at2=words("gliss."), at3=words("Flag.")))
    assert [event.notes[0].glides for event in part.events] == [False, True, False, False]
    assert told(part) == [
        "Words about harmonics are left out, since only signs on notes are read in bar 1."
    ]


def test_offset_moves_words(read, four, note):
    moved = words("sul G", more="<offset>4</offset>")
    assert strings(read(four(at1=moved))) == [None, 4, 4, 4]
