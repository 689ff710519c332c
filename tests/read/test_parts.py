import pytest

from scoretools.errors import PartNotFound, ReadError
from scoretools.read import ListedPart, list_parts, read_part

ALTO_CLEF = "<attributes><clef><sign>C</sign><line>3</line></clef></attributes>"
QUARTET = ("Violin I", "Violin II", "Viola", "Violoncello")


@pytest.fixture
def quartet(write, document, note):
    pitches = ("A4", "D4", "G3", "C3")
    return write(document(names=QUARTET, parts=tuple([note(pitch, 16)] for pitch in pitches)))


def messages(part):
    return [notice.message for notice in part.notices]


def test_first_string_part_is_the_default_and_is_named(quartet):
    part = read_part(quartet)
    assert (part.name, part.number, part.instrument, part.part_id) == (
        "Violin I",
        1,
        "violin",
        "P1",
    )
    assert messages(part) == ["The part read is Violin I (part 1 of 4)."]


@pytest.mark.parametrize(
    ("request_", "name"),
    [
        ("Violin II", "Violin II"),
        ("violin ii", "Violin II"),
        ("violin 2", "Violin II"),
        ("Violino secondo", "Violin II"),
        ("VIOLA", "Viola"),
        ("viola", "Viola"),
        ("P3", "Viola"),
        ("cello", "Violoncello"),
        (2, "Violin II"),
        ("3", "Viola"),
        (" ", "Violin I"),
    ],
)
def test_parts_are_chosen_by_name_or_number(quartet, request_, name):
    assert read_part(quartet, request_).name == name


@pytest.mark.parametrize("request_", [0, 5, "99", "9" * 5000, -1, "Harp", "violin", "viol"])
def test_unclear_requests_list_the_parts(quartet, request_):
    with pytest.raises(PartNotFound, match=r"\(1\) Violin I, \(2\) Violin II") as refusal:
        read_part(quartet, request_)
    assert str(refusal.value).startswith("score.musicxml: ")
    assert "\n" not in str(refusal.value)


def test_parts_are_listed(quartet):
    assert list_parts(quartet) == (
        ListedPart(1, "Violin I", "violin"),
        ListedPart(2, "Violin II", "violin"),
        ListedPart(3, "Viola", "viola"),
        ListedPart(4, "Violoncello", ""),
    )


def test_other_part_that_is_asked_for_is_taken_as_a_string_part(read, note):
    bars = {"names": ("Flute", "Horn"), "parts": ([note("A4")], [ALTO_CLEF + note("A4")])}
    flute, horn = read(part="Flute", **bars), read(part=2, **bars)
    assert (flute.instrument, horn.instrument) == ("violin", "viola")
    assert messages(flute) == ["The part “Flute” is taken as a violin part."]


def test_single_part_without_a_name_is_taken_as_violin_or_viola(read, note):
    assert read(note("A4"), names=("",)).instrument == "violin"
    viola = read(ALTO_CLEF + note("A4"), names=("",))
    assert viola.instrument == "viola"
    assert messages(viola) == ["The part has no name and is taken as a viola part."]


def test_score_without_string_parts_lists_what_it_has(read, note):
    with pytest.raises(PartNotFound, match=r"\(1\) Flute, \(2\) Piano"):
        read(names=("Flute", "Piano"), parts=([note("A4")], [note("A4")]))


def test_piano_alone_must_be_asked_for(read, note):
    two_staves = "<attributes><staves>2</staves></attributes>" + note("A4")
    with pytest.raises(PartNotFound, match=r"\(1\) Piano"):
        read(two_staves, names=("Piano",))
    part = read(two_staves, names=("Piano",), part=1)
    assert "The part has 2 staves, which are read together." in messages(part)


def test_percussion_is_refused_with_the_list(read, note):
    drum = "<note><unpitched/><duration>4</duration></note>"
    with pytest.raises(
        PartNotFound, match=r"unpitched percussion; the score has \(1\) Violin, \(2\) Drum"
    ):
        read(names=("Violin", "Drum"), parts=([note("A4")], [drum]), part="Drum")


def test_empty_part_is_refused(read, note):
    with pytest.raises(ReadError, match="part 1 “Violin” holds no notes; export") as refusal:
        read(note("rest", 16))
    assert not isinstance(refusal.value, PartNotFound)
    with pytest.raises(ReadError, match="holds only cue notes"):
        read(note("A4", 16, first="<cue/>"))


def test_score_without_parts_is_refused(write):
    with pytest.raises(PartNotFound, match="holds no parts"):
        read_part(write("<score-partwise><part-list/></score-partwise>"))


def test_group_name_and_display_name_help(write, document, note):
    data = document(names=("I", "II"), parts=([note("A4")], [note("D4")]))
    start = '<part-list><part-group type="start" number="1"><group-name>Violins</group-name>'
    stop = '<part-group type="stop" number="1"/></part-list>'
    data = data.replace("<part-list>", f"{start}</part-group>").replace("</part-list>", stop)
    assert [part.instrument for part in list_parts(write(data))] == ["violin", "violin"]
    shown = "<part-name-display><display-text>Bratsche</display-text></part-name-display>"
    data = document(note("A4"), names=("",), entry=shown)
    assert list_parts(write(data)) == (ListedPart(1, "Bratsche", "viola"),)
