"""What a printed 0 means. Source of the places: the harmonic series; the sign: common practice."""

import pytest

from scoretools.model import Harmonic, Marks

NOUGHT = "<fingering>0</fingering>"
OPEN = "<open-string/>"
NATURAL = Marks(harmonic=Harmonic.NATURAL)
SIGN = "A 0 over a note that no open string sounds is read as the sign of a natural harmonic"
IN_CHORD = "A 0 in a chord is read for the note that an open string sounds"


def finger(number):
    return f"<fingering>{number}</fingering>"


def string(number):
    return f"<string>{number}</string>"


@pytest.fixture
def marked(read, note):
    """Read notes that begin together, given as (name, technical): marks lowest first, notices."""

    def marked_(*notes, head="", **more):
        bar = head + "".join(
            note(name, 16, first="<chord/>" if place else "", technical=technical)
            for place, (name, technical) in enumerate(notes)
        )
        part = read(bar, **more)
        return [one.marks for one in part.events[0].notes], [n.message for n in part.notices]

    return marked_


@pytest.mark.parametrize(
    "name",
    [
        "G4", "D5", "A5", "E6",  # octaves
        "B6",  # a twelfth above E
        "A6", "E7",  # two octaves above A and E
        "B5", "F#6", "G#7",  # two octaves and a third above G, D and E
        "B7",  # two octaves and a fifth above E
        "C4",  # touched a fourth above G
    ],
)  # fmt: skip
@pytest.mark.parametrize("sign", [NOUGHT, OPEN])
def test_nought_over_a_harmonic_is_its_sign(marked, name, sign):
    # Source: E6, E7, G4, B5 and F-sharp 6 bear a 0 in first editions of Wieniawski (Concerto
    # op. 22, L'école moderne op. 10 no. 6), A5 in Kayser op. 20 no. 17.
    assert marked((name, sign)) == ([NATURAL], [f"{SIGN} in bar 1."])


@pytest.mark.parametrize("name", ["G3", "D4", "A4", "E5"])
def test_open_strings_stay_open(marked, name):
    assert marked((name, NOUGHT)) == ([Marks((0,))], [])
    assert marked((name, OPEN)) == ([Marks(open_string=True)], [])


@pytest.mark.parametrize("name", ["F#4", "F#5", "C#6", "Bb7", "B3", "Ab5"])
def test_nought_that_fits_nothing_stays(marked, name):
    # F-sharp 4 is touched a third above D, but sounds two octaves higher then.
    assert marked((name, NOUGHT)) == ([Marks((0,))], [])


def test_another_finger_beside_it_touches(marked):
    # Source: Ryan's Mammoth Collection (1883), Empress Clog: 0 and 4 over E6.
    both = NOUGHT + finger(4)
    assert marked(("E6", both))[0] == [Marks((4,), harmonic=Harmonic.NATURAL)]
    assert marked(("E5", both)) == ([Marks((0, 4))], [])
    assert marked(("Ab5", both)) == ([Marks((0, 4))], [])


def test_printed_harmonics_need_no_nought(marked):
    assert marked(("A5", f"<harmonic/>{NOUGHT}")) == ([NATURAL], [])
    artificial = "<harmonic><artificial/></harmonic>"
    assert marked(("A5", artificial + NOUGHT))[0] == [Marks((0,), harmonic=Harmonic.ARTIFICIAL)]


@pytest.mark.parametrize(("name", "own", "other"), [("E6", 2, 3), ("A5", 1, 4), ("B5", 4, 2)])
def test_printed_string_leaves_its_own_harmonics(marked, name, own, other):
    read, _ = marked((name, NOUGHT + string(own)))
    assert read == [Marks(string=own, harmonic=Harmonic.NATURAL)]
    assert marked((name, NOUGHT + string(other))) == ([Marks((0,), other)], [])


def test_left_hand_pizzicato_is_of_an_open_string(marked):
    assert marked(("A5", f"{NOUGHT}<stopped/>")) == ([Marks((0,), left_hand_pizzicato=True)], [])


@pytest.mark.parametrize(
    ("name", "meant"),
    [
        ("C3", Marks((0,))),
        ("E5", NATURAL),  # the fifth partial of C
        ("E6", NATURAL),  # the third of A
        ("F#6", NATURAL),  # the fifth of D
        ("B4", Marks((0,))),
    ],
)
def test_strings_are_those_of_the_viola(marked, name, meant):
    assert marked((name, NOUGHT), names=("Viola",))[0] == [meant]


def test_strings_are_those_of_the_printed_tuning(marked):
    tuned = "".join(
        f'<staff-tuning line="{line}"><tuning-step>{name[0]}</tuning-step>'
        f"<tuning-octave>{name[1]}</tuning-octave></staff-tuning>"
        for line, name in enumerate(("A3", "E4", "A4", "E5"), 1)
    )
    head = f"<attributes><staff-details>{tuned}</staff-details></attributes>"
    assert marked(("E4", NOUGHT), head=head)[0] == [Marks((0,))]
    assert marked(("G4", NOUGHT), head=head)[0] == [Marks((0,))]
    assert marked(("C#6", NOUGHT), head=head)[0] == [NATURAL]  # the fifth partial of A3
    assert marked(("C#6", NOUGHT))[0] == [Marks((0,))]


def test_fingers_of_a_chord_that_fit_open_strings_upside_down_are_read_so(marked):
    # Source: Wieniawski, Fantaisie orientale and L'école moderne op. 10 no. 8, first editions.
    assert marked(("C5", NOUGHT), ("E5", finger(2))) == (
        [Marks((2,)), Marks((0,))],
        [f"{IN_CHORD} in bar 1."],
    )
    read, _ = marked(("E5", finger(2)), ("A5", finger(4)), ("C#6", NOUGHT))
    assert [one.fingers for one in read] == [(0,), (4,), (2,)]
    read, told = marked(("C5", NOUGHT), ("F5", finger(2)))
    assert ([one.fingers for one in read], told) == ([(0,), (2,)], [])


def test_a_lone_nought_goes_to_the_note_of_a_chord_that_is_open(marked):
    # Source: Wieniawski, L'école moderne op. 10 no. 8, first edition.
    read, told = marked(("E5", ""), ("G#5", ""), ("B5", NOUGHT))
    assert read == [Marks((0,)), Marks(), Marks()]
    assert told == [f"{IN_CHORD} in bar 1."]
    # Of two open strings none is meant more than the other.
    assert marked(("A4", ""), ("E5", ""), ("C#6", NOUGHT))[0][2] == Marks((0,))


def test_octaves_of_open_strings_stay_harmonics_in_chords(marked):
    # Source: Młynarski, Concerto op. 11, first edition: 0 and 0 over G4 and D5.
    assert marked(("G4", NOUGHT), ("D5", NOUGHT))[0] == [NATURAL, NATURAL]
    assert marked(("E5", ""), ("E6", NOUGHT))[0] == [Marks(), NATURAL]


def test_one_notice_names_all_bars(read, note):
    part = read(*[note("E6", 16, technical=NOUGHT if bar % 2 else "") for bar in range(9)])
    (told,) = part.notices
    assert told.message == (
        "4 times a 0 over a note that no open string sounds is read as the sign of a natural "
        "harmonic in bars 2, 4, 6 and 8."
    )
    assert told.measure == 1


def test_nought_where_a_note_is_tied_on_is_no_change_of_finger(read, note):
    part = read(note("E6", 16, tie="start"), note("E6", 16, tie="stop", technical=NOUGHT))
    assert part.events[0].notes[0].marks.substitute is None
