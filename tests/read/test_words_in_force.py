"""How long words hold. Common practice, no published source, unless one is named."""

import pytest

from scoretools.model import Divided, Words


def strings(part):
    return [event.words.string for event in part.events]


def test_string_holds_until_the_next_and_loco(read, four, words):
    part = read(
        four(at2=words("sul G"), at4=words("sul D")) + "", four(at3=words("loco")), four("E5")
    )
    assert strings(part) == [None, 4, 4, 3, 3, 3, None, None, None, None, None, None]


def test_string_holds_as_long_as_its_line(read, four, words, line, end):
    begun = words("sul G", more=line("start"))
    part = read(four(at1=begun, at4=end()), four())
    assert strings(part) == [4, 4, 4, None, None, None, None, None]
    separate = words("IV") + f"<direction>{line('start', 2, 'bracket')}</direction>"
    part = read(four(at2=separate), four(at2=end(2, "bracket")))
    assert strings(part) == [None, 4, 4, 4, 4, None, None, None]


@pytest.mark.parametrize("after", ["F3", "B6"])
def test_string_ends_where_no_note_lies_on_it(read, four, note, after, words):
    part = read(four(at1=words("sul G")), note(after) + note("A4", 12))
    assert strings(part) == [4, 4, 4, 4, None, None]


def test_string_ends_at_a_printed_string_and_at_an_open_one(read, four, note, words):
    for technical in ("<string>2</string>", "<open-string/>", "<fingering>0</fingering>"):
        part = read(four(at1=words("sul G")), note("A4", 16, technical=technical))
        assert strings(part)[4] is None


def test_string_ends_at_a_rest_of_a_bar_a_double_bar_and_eight_bars(read, four, note, words):
    begun = four(at1=words("sul G"))
    assert strings(read(begun, note("rest", 16), note("A4", 16)))[4] is None
    assert strings(read(begun, note("rest", 8) + note("A4", 8)))[4] == 4
    double = "<barline><bar-style>light-light</bar-style></barline>"
    assert strings(read(begun + double, four()))[4:] == [None] * 4
    assert strings(read(begun, *[four()] * 9))[28:36] == [4] * 4 + [None] * 4
    # Words over the rest hold for what follows it.
    assert strings(read(four(), words("sul G") + note("rest", 16), note("A4", 16)))[4] == 4


def test_strings_of_the_viola_and_of_a_printed_tuning(read, four, words, told):
    assert strings(read(four(at1=words("sul C")), names=("Viola",)))[0] == 4
    part = read(four(at1=words("sul C")))
    assert strings(part)[0] is None
    assert told(part) == [
        "Words ask for a string that the instrument does not have and are left out in bar 1."
    ]


def test_unplayable_words_and_several_strings_are_told(read, four, words, told):
    assert told(read(four("A3", at1=words("sul E")))) == [
        "Words ask for a string that cannot play the notes under them and are left out in bar 1."
    ]
    assert told(read(four(at1=words("Sul D e A")))) == [
        "Words about several strings, or one not named, are left out in bar 1."
    ]


def test_stay_holds_for_four_bars_or_to_loco(read, four, words):
    part = read(four(at1=words("à la 5me position")), four(at3=words("loco")))
    assert part.events[0].notes[0].marks.position == 5
    assert [event.words.stay for event in part.events] == [True] * 6 + [False] * 2
    part = read(four(at1=words("restez")), *[four()] * 5)
    assert [event.words.stay for event in part.events] == [True] * 16 + [False] * 8


def test_pizzicato_and_divisi_hold_to_their_opposites_and_movements(read, four, words):
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


def fingered(note, names):
    """Return quarters given as ``A4`` or ``A4:3``."""
    made = []
    for name in names.split():
        pitch, _, finger = name.partition(":")
        made.append(note(pitch, technical=f"<fingering>{finger}</fingering>" if finger else ""))
    return "".join(made)


@pytest.mark.parametrize(
    ("said", "before", "leaving"),
    [
        # Source: Wieniawski, Dudziarz op. 19, first edition: "sul A", then 4 on C.
        ("sul A", "F#5", "C5:4"),
        # Source: Wieniawski, Concerto op. 22, first edition: "sul D", then 4 on F.
        ("sul D", "F#4", "F4:4"),
        # Source: Wieniawski, L'école moderne op. 10 no. 6, first edition: 1 beyond the twelfth
        # position of the G string.
        ("sul G", "E5", "F#5:1"),
        ("sul G", "A4", "A4:0"),
    ],
)
def test_string_ends_at_a_finger_that_cannot_stop_it(read, note, words, said, before, leaving):
    bar = words(said) + fingered(note, f"{before} {before} {leaving} {before}")
    held = strings(read(bar))
    assert held[0] == held[1] is not None
    assert held[2:] == [None, None]


@pytest.mark.parametrize("stays", ["A4:4", "D5:1", "G4:1", "G5:2", "E4:2 A4:14"])
def test_string_holds_over_fingers_that_can_stop_it(read, note, words, stays):
    part = read(words("sul D") + fingered(note, f"F4 {stays} F4"))
    assert set(strings(part)) == {3}


def test_a_finger_under_the_words_or_under_their_line_ends_nothing(read, note, words, line, end):
    assert strings(read(words("sul A") + fingered(note, "Bb4:3 C5"))) == [2, 2]
    begun = words("sul A", more=line("start"))
    part = read(begun + fingered(note, "B4 Bb4:3 C5") + end() + note("C5"))
    assert strings(part) == [2, 2, 2, None]


def chord(note, names):
    return "".join(
        note(name, first="<chord/>" if place else "") for place, name in enumerate(names.split())
    )


def test_string_over_single_notes_ends_at_a_chord(read, four, note, words, line, end):
    # Source: Wieniawski, L'école moderne op. 10 no. 3, first edition: "Sul D" over one bar of
    # single notes, then double stops.
    double = chord(note, "G4 Bb4")
    assert strings(read(words("sul D") + note("A4") + double + note("A4"))) == [3, None, None]
    assert strings(read(words("sul D") + double + note("A4") + double)) == [3, 3, 3]
    begun = words("sul D", more=line("start"))
    assert strings(read(begun + note("A4") + double, four() + end())) == [3] * 6


def test_open_strings_beside_it_end_no_string(read, note, words):
    # Source: a string quartet among the OpenScore String Quartets: "sul G" over D and F.
    beside = chord(note, "D4 F4")
    assert strings(read(words("sul G") + note("E4") + beside + note("E4"))) == [4, 4, 4]
    apart = chord(note, "G4 E5")
    assert strings(read(words("sul G") + note("E4") + apart + note("E4"))) == [4, None, None]


def test_divided_players_and_grace_notes_end_no_string(read, note, words):
    double = chord(note, "G4 Bb4")
    part = read(words("div.") + words("sul D") + note("A4") + double + note("A4"))
    assert strings(part) == [3, 3, 3]
    graces = note("G4", first="<grace/>") + note("Bb4", first="<grace/>")
    assert strings(read(words("sul D") + note("A4") + graces + note("A4"))) == [3] * 4


def test_string_goes_on_over_its_own_harmonics_only(read, note, words):
    nought = "<fingering>0</fingering>"
    for name, held in (("B5", 4), ("G5", 4), ("E6", None), ("A5", None)):
        part = read(words("sul G") + note("D5") + note(name, technical=nought) + note("D5"))
        assert strings(part) == [4, held, held], name
