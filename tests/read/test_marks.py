import pytest

from scoretools.model import NO_MARKS, Harmonic, Marks
from scoretools.read.marks import united


@pytest.fixture
def marks(read, note):
    """Read notes that begin together, given as (name, technical, last); marks lowest first."""

    def marks_(*notes):
        bar = "".join(
            note(
                name,
                16,
                first="<chord/>" if place else "",
                last=last,
                technical=technical,
            )
            for place, (name, technical, last) in enumerate(notes)
        )
        part = read(bar)
        return [one.marks for one in part.events[0].notes], [n.message for n in part.notices]

    return marks_


def fingering(*texts):
    return "".join(f"<fingering>{text}</fingering>" for text in texts)


@pytest.mark.parametrize(
    ("texts", "fingers"),
    [
        (("1",), (1,)),
        (("0",), (0,)),
        (("2", "3"), (2, 3)),
        (("1/2",), (1, 2)),
        (("23",), (2, 3)),
        (("4 3",), (4, 3)),
        (("(3)",), (3,)),
        (("2", "2"), (2,)),
    ],
)
def test_fingers_in_printed_order(marks, texts, fingers):
    assert marks(("A4", fingering(*texts), "")) == ([Marks(fingers=fingers)], [])


@pytest.mark.parametrize("text", ["5", "o", "x4", "thumb", "1-5"])
def test_other_fingerings_are_told_and_left_out(marks, text):
    read, told = marks(("A4", fingering(text), ""))
    assert read == [NO_MARKS]
    assert told == [f"The fingering “{text}” is no finger from 0 to 4 and is left out."]


@pytest.mark.parametrize(
    ("technical", "wanted"),
    [
        (fingering("1-2"), Marks(fingers=(1,), substitute=2)),
        (
            '<fingering>3</fingering><fingering substitution="yes">1</fingering>',
            Marks(fingers=(3,), substitute=1),
        ),
        (
            '<fingering>3</fingering><fingering alternate="yes">2</fingering>',
            Marks(fingers=(3, 2)),
        ),
        ("<thumb-position/>", Marks(thumb=True)),
        ("<stopped/>", Marks(left_hand_pizzicato=True)),
        ("<other-technical>+</other-technical>", Marks(left_hand_pizzicato=True)),
        ("<other-technical>2</other-technical>", Marks(fingers=(2,))),
        ("<snap-pizzicato/><up-bow/>", NO_MARKS),
    ],
)
def test_substitutions_alternatives_and_other_signs(marks, technical, wanted):
    assert marks(("A4", technical, "")) == ([wanted], [])


def test_substitution_and_chord_fingers_do_not_mix(marks):
    technical = fingering("3") + '<fingering substitution="yes">1</fingering>' + fingering("2")
    read, _ = marks(("A4", technical, ""), ("C#5", "", ""))
    assert [(one.fingers, one.substitute) for one in read] == [((2,), None), ((3,), 1)]


@pytest.mark.parametrize("tag", ["hammer-on", "bend", "other-technical"])
def test_unknown_signs_are_told(marks, tag):
    read, told = marks(("A4", f'<{tag} type="start">x</{tag}>', ""))
    assert read == [NO_MARKS]
    assert told == ["A technical sign that is not known here is left out in bar 1."]


def test_finger_printed_where_a_note_is_tied_on_takes_over(read, note):
    # Source: Kątski, Conte de jeune fille op. 15, first edition, fingers on tied notes.
    part = read(
        note("E5", 16, tie="start", technical=fingering("2")),
        note("E5", 16, tie="stop", technical=fingering("4")),
    )
    assert part.events[0].notes[0].marks == Marks(fingers=(2,), substitute=4)


def test_empty_fingering_is_nothing(marks):
    assert marks(("A4", "<fingering/>", "")) == ([NO_MARKS], [])


def test_strings_and_open_string(marks):
    assert marks(("A4", "<string>2</string><open-string/>", "")) == (
        [Marks(string=2, open_string=True)],
        [],
    )
    read, told = marks(("A4", "<string>IV</string>", ""))
    assert read == [NO_MARKS]
    assert told == ["A string mark that is no number from 1 to 5 is ignored in bar 1."]


def test_each_note_of_a_chord_keeps_its_own_marks(marks):
    read, _ = marks(("F#5", fingering("1"), ""), ("A4", fingering("3"), ""))
    assert [one.fingers for one in read] == [(3,), (1,)]


def test_fingers_of_a_chord_on_its_first_note_go_from_the_top_down(marks):
    # Source: Ryan's Mammoth Collection (1883), Statue Clog: "32" over C-sharp and A in first
    # position, where C-sharp 5 takes the second finger and A 5 the third.
    read, _ = marks(("C#5", fingering("3", "2"), ""), ("A5", "", ""))
    assert [one.fingers for one in read] == [(2,), (3,)]


def test_fingers_of_a_chord_go_by_their_height_where_it_is_given(marks):
    # Source: MusicXML 4.0, default-y: greater is higher.
    technical = '<fingering default-y="1">1</fingering><fingering default-y="15">3</fingering>'
    read, _ = marks(("A4", technical, ""), ("C#5", "", ""))
    assert [one.fingers for one in read] == [(1,), (3,)]


def test_fingers_that_do_not_fit_the_chord_stay_where_they_are(marks):
    read, _ = marks(("A4", fingering("1", "2"), ""), ("C#5", "", ""), ("E5", "", ""))
    assert [one.fingers for one in read] == [(1, 2), (), ()]


@pytest.mark.parametrize(
    ("content", "harmonic"),
    [
        ("", Harmonic.NATURAL),
        ("<natural/>", Harmonic.NATURAL),
        ("<natural/><touching-pitch/>", Harmonic.NATURAL_TOUCHING),
        ("<natural/><sounding-pitch/>", Harmonic.NATURAL),
        ("<artificial/>", Harmonic.ARTIFICIAL),
        ("<artificial/><base-pitch/>", Harmonic.ARTIFICIAL_BASE),
        ("<artificial/><touching-pitch/>", Harmonic.ARTIFICIAL_TOUCHING),
        ("<artificial/><sounding-pitch/>", Harmonic.ARTIFICIAL_SOUNDING),
    ],
)
def test_harmonics(marks, content, harmonic):
    read, _ = marks(("A5", f"<harmonic>{content}</harmonic>", ""))
    assert read == [Marks(harmonic=harmonic)]


def test_diamond_notes(marks):
    diamond = "<notehead>diamond</notehead>"
    alone, _ = marks(("A5", "", diamond))
    assert alone[0].harmonic is Harmonic.NATURAL_TOUCHING
    pair, _ = marks(("A4", "", ""), ("D5", "", diamond))
    assert [one.harmonic for one in pair] == [
        Harmonic.ARTIFICIAL_BASE,
        Harmonic.ARTIFICIAL_TOUCHING,
    ]


def test_marks_of_a_note_printed_twice_are_united():
    first, second = Marks(fingers=(1, 2)), Marks(fingers=(2, 3), string=3, open_string=True)
    assert united(first, second) == Marks((1, 2, 3), 3, True, None)
    assert united(first, NO_MARKS) is first
