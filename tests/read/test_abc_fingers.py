"""Fingers printed in ABC notation come through the conversion."""

import pytest
from music21 import corpus

import scoretools
from scoretools.read import read_part
from scoretools.read.abc_fingers import fingers_as_symbols

HEAD = "X:1\nT:Test\nM:4/4\nL:1/4\nK:G\n"


def fingers(part):
    return [(note.pitch.name, note.marks.fingers) for e in part.events for note in e.notes]


# Source of the signs: the ABC music standard 2.1, "Decorations" and "Annotations".
@pytest.mark.parametrize("sign", ['"1"', '"^1"', '"_1"', "!1!", "+1+", '"1" '])
def test_a_finger_is_printed_on_its_note(write, sign):
    part = read_part(write(f"{HEAD}d{sign}g B2|]\n", "t.abc"))
    assert fingers(part) == [("D5", ()), ("G5", (1,)), ("B4", ())]


@pytest.mark.parametrize(
    "note",
    [
        '"3".^c',
        '"3"u^c',
        'v"3"^c',
        '{d}"3"^c',
        '"3"(^cd)',
        '"3"!trill!^c',
        '"A7""3"^c',
        '"3""A7"^c',
    ],
)
def test_other_signs_may_stand_between(write, note):
    part = read_part(write(f"{HEAD}{note} e2|]\n", "t.abc"))
    main = [one for one, event in zip(fingers(part), part.events, strict=True) if not event.grace]
    assert main[0] == ("C#5", (3,))
    assert all(not found for _, found in main[1:])


@pytest.mark.parametrize("triplet", ['(3"1"d"2"e"3"^f', '"1"(3d"2"e"3"^f'])
def test_a_triplet_has_its_fingers(write, triplet):
    part = read_part(write(f"{HEAD}{triplet} g2|]\n", "t.abc"))
    assert fingers(part)[:3] == [("D5", (1,)), ("E5", (2,)), ("F#5", (3,))]


def test_two_fingers_to_choose_from(write):
    part = read_part(write(f'{HEAD}"04"e e e2|]\n', "t.abc"))
    assert part.events[0].notes[0].marks.fingers in ((0, 4), (0,))


def test_chord_symbols_fields_and_comments_are_left_alone():
    for line in ('T:The "1" and only', '% "1"d', 'w: "2" a', '"Am"d "G7"e', "|1 d :|2 e |]"):
        assert fingers_as_symbols(line) == line


def test_a_finger_over_a_chord_is_told(write):
    part = read_part(write(f'{HEAD}"1"[Bd] "2"e e2|]\n', "t.abc"))
    assert fingers(part)[:3] == [("B4", ()), ("D5", ()), ("E5", (2,))]
    assert any("over chords" in notice.message for notice in part.notices)


def test_a_note_under_an_accent_in_quotes_is_not_lost(write):
    # The converter drops a note whose text begins with this sign.
    assert len(fingers(read_part(write(f'{HEAD}">"d e f g|]\n', "t.abc")))) == 4


def test_a_hornpipe_in_third_position():
    # Source: Ryan's Mammoth Collection, 1883, Admiral's Hornpipe, in the music21 corpus: the first
    # bars print 1 on D, 4 on G, 3 on B, which is third position on the A and the D string.
    part = read_part(corpus.getWork("ryansMammoth/AdmiralsHornpipe.abc"))
    assert fingers(part)[:5] == [
        ("D5", (1,)), ("G5", (4,)), ("D5", (1,)), ("B4", (3,)), ("D5", (1,)),
    ]  # fmt: skip
    analysis = scoretools.analyse(part)
    placed = [step.placement for step in analysis.steps[:5]]
    assert all(placement is not None and placement.position == 3 for placement in placed)
    assert not analysis.marks_broken


# Source: Ryan's Mammoth Collection of Fiddle Tunes, 1883, in the music21 corpus: no space divides
# the notes of a beat.
def test_notes_with_fingers_are_beamed_like_others(write):
    from scoretools.read.container import contents
    from scoretools.read.convert import converted

    bar = "d/e/f/g/ d/e/f/g/"
    tune = f'{HEAD}{bar}|"1"d/"2"e/f/"0"g/ d/e/f/g/|{bar}|{bar}|]\n'
    root = converted(contents(write(tune, "t.abc")), "abc", None).root
    plain, fingered, *_ = (
        [note.findtext("beam") for note in measure.iter("note")] for measure in root.iter("measure")
    )
    assert plain == fingered == ["begin", "end"] * 4


@pytest.mark.parametrize("texts", ['"4""0"', '"0""4"', '"4" "0"', '"04"'])
def test_two_fingers_over_a_note_are_both_offered(write, texts):
    part = read_part(write(f"{HEAD}d{texts}A B2|]\n", "t.abc"))
    assert sorted(fingers(part)[1][1]) == [0, 4]


# Source: Castles in the Air, of Ryan's Mammoth Collection, in the music21 corpus: 4 stands before
# the grace note A, which it fits, and not for the G after it.
def test_a_finger_before_grace_notes_is_for_the_first_of_them(write):
    part = read_part(write(f'{HEAD}d"4"{{A}}G B2|B4|B4|B4|]\n', "t.abc"))
    assert fingers(part)[:4] == [("D5", ()), ("A4", (4,)), ("G4", ()), ("B4", ())]
