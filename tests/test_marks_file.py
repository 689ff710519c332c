"""The marks file: which notes its lines name, what they change, and what is wrong with them."""

from collections.abc import Callable
from pathlib import Path

import pytest

from scoretools.errors import ScoretoolsError
from scoretools.marks_file import COLUMNS, MarksFileError, apply_marks_file, as_marks_file
from scoretools.model import Marks, Note, Part
from scoretools.read import read_part

HEAD = ",".join(COLUMNS)
TWO_BARS = "A4:0 B4 C#5:2@2 D5 E5:4 F#5*1/2 G5*1/2 A5 D4+B4"

Apply = Callable[..., Part]


@pytest.fixture
def part(small_part: Callable[..., Part]) -> Part:
    """Bar 1: A4 (open) B4 C#5 (2 on A) D5; bar 2: E5 (4), F#5 and G5 on beat 2, A5, D4 with B4."""
    return small_part("violin", TWO_BARS, fifths=2)


@pytest.fixture
def applied(part: Part, tmp_path: Path) -> Apply:
    """Apply a marks file given as text or bytes."""

    def run(content: str | bytes, to: Part | None = None) -> Part:
        path = tmp_path / "marks.csv"
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
        return apply_marks_file(to or part, path)

    return run


def notes(part: Part) -> list[Note]:
    return [note for event in part.events for note in event.notes]


def marks(part: Part, name: str) -> Marks:
    (found,) = (note.marks for note in notes(part) if note.pitch.name == name)
    return found


# ── what lines do ───────────────────────────────────────────────────────────────────────────────


def test_a_line_adds_a_finger_a_string_and_a_position(applied: Apply) -> None:
    found = marks(applied(f"{HEAD}\n1,1,4,D5,D,3,3\n"), "D5")
    assert (found.fingers, found.string, found.position) == ((3,), 3, 3)


def test_a_line_overrules_what_is_printed(applied: Apply) -> None:
    found = marks(applied(f"{HEAD}\n1,1,3,C#5,,3,\n"), "C#5")
    assert (found.fingers, found.string) == ((3,), 2)


def test_none_lifts_what_is_printed(applied: Apply) -> None:
    read = applied(f"{HEAD}\n1,1,3,C#5,none,none,\n1,1,1,A4,,None,\n")
    assert marks(read, "C#5") == Marks()
    assert marks(read, "A4") == Marks()


def test_finger_nought_is_the_open_string(applied: Apply) -> None:
    found = marks(applied(f"{HEAD}\n1,2,1,E5,,0,\n"), "E5")
    assert found == Marks(open_string=True)


def test_other_notes_stay_as_they_are(applied: Apply, part: Part) -> None:
    read = applied(f"{HEAD}\n1,2,3,A5,,1,5\n")
    changed = [
        now.pitch.name for now, was in zip(notes(read), notes(part), strict=True) if now != was
    ]
    assert changed == ["A5"]
    assert read.measures == part.measures


def test_a_note_of_a_double_stop_is_named_by_its_pitch(applied: Apply) -> None:
    read = applied(f"{HEAD}\n1,2,4,B4,,1,\n")
    assert marks(read, "D4") == Marks()
    assert notes(read)[-1].marks.fingers == (1,)


@pytest.mark.parametrize(
    "line",
    [
        "1,2,2.5,G5,,1,",
        "1,2,5/2,G5,,1,",
        "1,2,2.50,G5,,1,",
        ",2,2.5,G5,,1,",
        ",2,,G5,,1,",
        ",2,,g,,1st,",
        ",2,2.5,,,1,",
        "1,2.0,2.5,G5,,1.0,",
        "1st,2,2.5, G 5 ,,1,",
        "'1,'2,'2.5,'G5,,'1,",
    ],
)
def test_a_note_may_be_named_in_many_ways(applied: Apply, line: str) -> None:
    assert marks(applied(f"{HEAD}\n{line}\n"), "G5").fingers == (1,)


def test_signs_for_accidentals_are_read(applied: Apply) -> None:
    assert marks(applied(f"{HEAD}\n1,1,3,C♯5,,4,\n"), "C#5").fingers == (4,)


@pytest.mark.parametrize(
    ("text", "printed"), [("G", 4), ("e", 1), ("2", 2), ("III", 3), ("4th", 4)]
)
def test_a_string_by_letter_or_printed_number(applied: Apply, text: str, printed: int) -> None:
    # Source: MusicXML 4.0, string: 1 is the highest.
    assert marks(applied(f"{HEAD}\n1,1,4,D5,{text},,\n"), "D5").string == printed


@pytest.mark.parametrize(
    ("text", "position"), [("0.5", 0), ("half", 0), ("½", 0), ("3", 3), ("3rd", 3), ("12", 12)]
)
def test_positions(applied: Apply, text: str, position: int) -> None:
    assert marks(applied(f"{HEAD}\n1,1,4,D5,,,{text}\n"), "D5").position == position


@pytest.mark.parametrize(
    "content",
    [
        f"\ufeff{HEAD}\r\n1,2,2.5,G5,,1,\r\n".encode(),
        f"{HEAD}\n1,2,2.5,G5,,1,\n".encode("utf-16"),
        f"{HEAD}\n1,2,2.5,G5,,1,\n".replace(",", ";").encode(),
        f"{HEAD}\n1,2,X,G5,,1,\n".replace(",", ";").replace("X", "2,5").encode(),
        f"{HEAD}\n1,2,2.5,G5,,1,\n".replace(",", "\t").encode(),
        f'{HEAD}\n"1","2","2.5","G5","","1",""\n'.encode(),
        f"{HEAD.upper()}\r1,2,2.5,G5,,1,\r".encode(),
        f"\n{HEAD}\n\n,,,,,,\n1,2,2.5,G5,,1\n".encode(),
        b"finger,note,bar\n1,G5,2",
    ],
)
def test_what_spreadsheets_write_is_read(applied: Apply, content: bytes) -> None:
    assert marks(applied(content), "G5").fingers == (1,)


def test_equal_notes_take_equal_lines_in_order(
    small_part: Callable[..., Part], applied: Apply
) -> None:
    unison = small_part("violin", "A4+A4 B4")
    read = applied(f"{HEAD}\n1,1,1,A4,D,4,\n1,1,1,A4,A,0,\n", unison)
    first, second, _ = notes(read)
    assert (first.marks.fingers, first.marks.string) == ((4,), 3)
    assert (second.marks.open_string, second.marks.string) == (True, 2)


# ── what is wrong ───────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("1,9,1,A4,,1,", "line 2: no note fits (movement 1, bar 9, beat 1, note A4); no such bar"),
        ("1,1,1,B4,,1,", "line 2: no note fits (movement 1, bar 1, beat 1, note B4); the bar has "
                         "A4 on beat 1, B4 on beat 2"),
        ("2,1,1,A4,,1,", "no note fits"),
        ("1,2,4,,,1,", "line 2: 2 notes fit (movement 1, bar 2, beat 4); give movement"),
        ("1,,1,A4,,1,", "line 2: no bar is given"),
        ("1,1,1,H4,,1,", "note “H4” is no name; write it as C#5"),
        ("1,1,one,A4,,1,", "beat “one” is no number"),
        ("I,1,1,A4,,1,", "movement “I” is no number"),
        ("1,1,1,A4,,5,", "finger “5” is no finger; write 0 (open) to 4"),
        ("1,1,1,A4,F,,", "string “F” is no string; write G, D, A, E"),
        ("1,1,1,A4,,,13", "position “13” is no position; write 0.5 (half) or 1 to 12"),
        ("1,1,1,A4,,1,\n1,1,1,A4,,2,", "line 3: the same note as in line 2"),
        ("1,1,1,A4,,1,\n,1,1,A4,,2,", "line 3: the same note as in line 2"),
    ],
)  # fmt: skip
def test_a_wrong_line_is_named(applied: Apply, line: str, words: str) -> None:
    with pytest.raises(MarksFileError) as caught:
        applied(f"{HEAD}\n{line}\n")
    assert "marks.csv: line" in str(caught.value)
    assert words in str(caught.value)


def test_all_wrong_lines_are_named_at_once(applied: Apply) -> None:
    lines = "1,9,1,A4,,1,\n1,1,1,A4,,0,\n1,1,2,B4,X,,\n1,1,9,B4,,1,\n1,1,1,B4,,7,"
    with pytest.raises(MarksFileError) as caught:
        applied(f"{HEAD}\n{lines}\n")
    said = str(caught.value)
    assert [f"line {line}:" in said for line in range(1, 7)] == [
        False, True, False, True, True, True,
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("content", "words"),
    [
        ("1,1,1,A4,,1,\n", "the first line is no row of headings; write movement,bar,beat"),
        (f"{HEAD},bow\n", "the heading “bow” is unknown"),
        (f"{HEAD},bar\n", "stands there twice"),
        ("bar,note\n1,A4\n", "no row of headings"),
        ("", "is empty"),
        (f'{HEAD}\n1,1,1,"A4,,1,\n', "quotation marks"),
        (b"\xff\x00\xfe\xfa", "UTF-8"),
    ],
)
def test_a_file_that_is_no_table(applied: Apply, content: str | bytes, words: str) -> None:
    with pytest.raises(MarksFileError, match=r"marks\.csv") as caught:
        applied(content)
    assert words in str(caught.value)


def test_a_missing_file(part: Part, tmp_path: Path) -> None:
    with pytest.raises(ScoretoolsError, match=r"lost\.csv: the marks file cannot be read"):
        apply_marks_file(part, tmp_path / "lost.csv")


# ── the table written ───────────────────────────────────────────────────────────────────────────


def test_a_table_has_a_line_for_each_note(part: Part) -> None:
    some = {notes(part)[1].address: Marks(fingers=(1,), string=2, position=0)}
    lines = as_marks_file(part, some).splitlines()
    assert lines == [
        HEAD, "1,1,1,A4,,,", "1,1,2,B4,A,1,0.5", "1,1,3,C#5,,,", "1,1,4,D5,,,",
        "1,2,1,E5,,,", "1,2,2,F#5,,,", "1,2,2.5,G5,,,", "1,2,3,A5,,,", "1,2,4,D4,,,", "1,2,4,B4,,,",
    ]  # fmt: skip


def test_an_empty_table_changes_nothing(applied: Apply, part: Part) -> None:
    assert applied(as_marks_file(part, {})) == part


SAMPLES = sorted((Path(__file__).parent.parent / "sample_scores").glob("*.musicxml"))


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_every_line_of_a_table_fits_its_note(applied: Apply, path: Path) -> None:
    read = read_part(path)
    wanted = {
        note.address: Marks(fingers=(1 + place % 4,)) for place, note in enumerate(notes(read))
    }
    found = notes(applied(as_marks_file(read, wanted), read))
    assert [note.marks.fingers for note in found] == [
        wanted[note.address].fingers for note in found
    ]


def test_a_bar_number_is_no_formula(part: Part) -> None:
    from dataclasses import replace

    first, *others = part.measures
    odd = replace(part, measures=(replace(first, number="=1+1"), *others))
    assert "1,'=1+1,1,A4" in as_marks_file(odd, {})


def test_blank_lines_before_the_headings_do_not_hide_the_separator(applied: Apply) -> None:
    content = f"\n\n{HEAD}\n1,2,2.5,G5,,1,\n".replace(",", ";")
    assert marks(applied(content), "G5").fingers == (1,)
