"""Marks in the player's own score: nothing else changes, and they lead back to their fingering."""

import io
import os
import re
import warnings
import zipfile
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from lxml import etree

from scoretools.analysis import analyse
from scoretools.errors import ScoretoolsError, WriteError
from scoretools.model import NO_MARKS, Address, Analysis, Finger, Marks, Part
from scoretools.read import read_part
from scoretools.read.container import contents
from scoretools.write.annotate import annotate, annotate_both, annotate_file, marks_to_write
from scoretools.write.marks import Amount
from scoretools.write.packed import repacked
from scoretools.write.splice import Insertion, spliced, text_from
from scoretools.write.words import shape_words

SAMPLES = sorted((Path(__file__).resolve().parents[2] / "sample_scores").glob("*.musicxml"))
CHECK_DATA = os.environ.get("SCORETOOLS_CHECK_DATA")
needs_check_data = pytest.mark.skipif(not CHECK_DATA, reason="SCORETOOLS_CHECK_DATA is not set")

TOKEN = re.compile(r"""<!--.*?-->|<(?:"[^"]*"|'[^']*'|[^'">])*>|[^<]+""", re.DOTALL)
OURS = re.compile(
    r"</?(?:notations|technical|direction-type|words|staff|direction(?: placement=\"above\")?)>|"
    r"<open-string/>|</?fingering>|</?string>|[0-4]|[\s\w.,-]+"
)
"""What may be put in: marks, and short words in ASCII."""


def left_over(before: str, after: str) -> list[str]:
    """What was put in: the pieces of a text that remain when the other is taken out of it."""
    waiting = iter(TOKEN.findall(before))
    expected = next(waiting, None)
    more: list[str] = []
    for token in TOKEN.findall(after):
        if expected is not None and token == expected:
            expected = next(waiting, None)
        else:
            more.append(token)
    assert expected is None, f"{expected!r} is gone from the score"
    return more


def assert_only_added(before: bytes, after: bytes, encoding: str = "utf-8") -> list[str]:
    """See that a score has what it had, in its order, and our marks besides."""
    more = left_over(before.decode(encoding), after.decode(encoding))
    for token in more:
        assert OURS.fullmatch(token), token
        assert token.isascii()
    tags = Counter(re.sub(r"[</>]| .*", "", token) for token in more if token[0] == "<")
    closing = Counter(token[2:-1] for token in more if token.startswith("</"))
    for tag, count in tags.items():
        assert count == 2 * closing[tag] or tag == "open-string"
    return more


def analysed(path: Path) -> tuple[bytes, Analysis]:
    return contents(path).data, analyse(read_part(path))


def read_again(tmp_path: Path, data: bytes, part: str | int | None = None) -> Part:
    path = tmp_path / "marked.musicxml"
    path.write_bytes(data)
    return read_part(path, part)


def fingering(analysis: Analysis) -> dict[Address, object]:
    return {
        note.address: (choice.stop, step.placement.position if choice.stop.finger else None)
        for event, step in zip(analysis.part.events, analysis.steps, strict=True)
        for note, choice in zip(event.notes, step.choices, strict=False)
        if step.placement
    }


def marks_of(part: Part) -> dict[Address, Marks]:
    return {note.address: note.marks for event in part.events for note in event.notes}


# ── nothing but marks is put in ─────────────────────────────────────────────────────────────────


@pytest.mark.parametrize("amount", [Amount.SPARSE, Amount.ALL])
@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_the_samples_get_marks_and_nothing_else(path: Path, amount: Amount) -> None:
    data, analysis = analysed(path)
    assert assert_only_added(data, annotate(data, analysis, amount))


def test_none_leaves_the_score_as_it_is() -> None:
    data, analysis = analysed(SAMPLES[0])
    assert annotate(data, analysis, "none") == data
    assert marks_to_write(data, analysis, "none") == {}


def test_a_change_would_be_noticed() -> None:
    data, _ = analysed(SAMPLES[0])
    for spoilt in (
        data.replace(b"<octave>5", b"<octave>4", 1),
        data.replace(b"\n", b"\r\n", 1),
        data.replace(b'"1.0"', b"'1.0'", 1),
        data.replace(b"</work>", b"<opus/></work>", 1),
    ):
        with pytest.raises(AssertionError):
            assert_only_added(data, spoilt)


NOTATIONS = (
    "",
    "<notations/>",
    "<notations></notations>",
    "<notations>{n}</notations>",
    "<notations><technical/></notations>",
    "<notations>{n}<technical></technical>{n}</notations>",
    "<notations><slur type={q}start{q}/><!-- <fingering>1</fingering> --></notations>",
    "<notations><technical><up-bow/></technical></notations>",
    "<notations >{n}<technical >{n}<up-bow attr={q}>{q}/>{n}</technical >{n}</notations >",
    "<notations><technical><fingering>2</fingering></technical></notations>",
    "<notations/>{n}<lyric><text>é</text></lyric>",
    "<lyric><text>für</text></lyric>{n}<play/>",
)
"""What may stand at the end of a note; ``{n}`` is a line end, ``{q}`` a quotation mark."""

PITCHES = ("A4", "B4", "C5", "D5", "E5", "A5", "B5", "C6", "D6", "E6", "G3", "F4", "B3", "G6")


@st.composite
def scores(draw: st.DrawFn) -> str:
    """Draw a score of a few notes in any layout."""
    line = draw(st.sampled_from(("", "\n", "\r\n", "\r", "\n  ", "\r\n\t\t", "\n\n      ")))
    quote = draw(st.sampled_from(("'", '"')))
    notes = ""
    for place, pitch in enumerate(draw(st.lists(st.sampled_from(PITCHES), min_size=1, max_size=9))):
        chord = place > 0 and draw(st.integers(0, 5)) == 0
        end = draw(st.sampled_from(NOTATIONS)).format(n=line, q=quote)
        notes += (
            f"{line}<note{draw(st.sampled_from(('', ' ', ' x=^>^ '))).replace('^', quote)}>{line}"
            f"{'<chord/>' if chord else ''}<pitch><step>{pitch[0]}</step>"
            f"<octave>{pitch[1]}</octave></pitch>{line}<duration>1</duration>{end}{line}</note>"
        )
    return (
        f"<?xml version={quote}1.0{quote} encoding={quote}ENCODING{quote}?>{line}<!-- <note/> -->"
        f"<score-partwise version={quote}4.0{quote}><work><work-title>Élan &amp; Größe</work-title>"
        f"</work>{line}<part-list><score-part id={quote}P1{quote}><part-name>Violin</part-name>"
        f"</score-part></part-list>{line}<part id={quote}P1{quote}><measure number={quote}1{quote}>"
        f"<attributes><divisions>1</divisions></attributes>{notes}{line}</measure></part>{line}"
        "</score-partwise>\n"
    )


ENCODINGS = {
    "utf-8": ("UTF-8", b"", "utf-8"),
    "utf-8 with a mark": ("UTF-8", b"\xef\xbb\xbf", "utf-8"),
    "utf-16 little end": ("UTF-16", b"\xff\xfe", "utf-16-le"),
    "utf-16 big end": ("UTF-16", b"\xfe\xff", "utf-16-be"),
    "utf-16 without a mark": ("UTF-16LE", b"", "utf-16-le"),
    "latin 1": ("ISO-8859-1", b"", "iso-8859-1"),
    "latin 9": ("iso-8859-15", b"", "iso-8859-15"),
    "windows": ("windows-1252", b"", "cp1252"),
    "dos": ("IBM850", b"", "cp850"),
    "declared wrongly": ("UTF-16", b"", "utf-8"),
    "space before": ("UTF-8", b"\r\n ", "utf-8"),
}


@given(
    score=scores(),
    how=st.sampled_from(sorted(ENCODINGS)),
    amount=st.sampled_from(["sparse", "all"]),
)
@settings(
    max_examples=50,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
def test_any_layout_in_any_encoding_stays(
    tmp_path: Path, score: str, how: str, amount: str
) -> None:
    declared, mark, encoding = ENCODINGS[how]
    data = mark + score.replace("ENCODING", declared).encode(encoding)
    path = tmp_path / "any.musicxml"
    path.write_bytes(data)
    analysis = analyse(read_part(path))
    marked = annotate(data, analysis, amount)
    assert marked.startswith(mark)
    assert_only_added(data[len(mark) :], marked[len(mark) :], encoding)
    assert fingering(analyse(read_again(tmp_path, marked))) == fingering(analysis)


@given(data=st.data(), how=st.sampled_from([*sorted(ENCODINGS), "japanese"]))
@settings(max_examples=80, deadline=None, derandomize=True)
def test_insertions_go_where_they_are_meant(data: st.DataObject, how: str) -> None:
    declared, mark, encoding = {"japanese": ("Shift_JIS", b"", "shift_jis"), **ENCODINGS}[how]
    letters = "aé<ß>" if how != "japanese" else "a弓<弦ﾊ>"
    body = data.draw(st.text(letters, min_size=1, max_size=30))
    whole = f"<?xml version='1.0' encoding='{declared}'?>{body}"
    text = text_from("x", mark + whole.encode(encoding))
    at = sorted(data.draw(st.lists(st.integers(0, len(whole)), min_size=1, max_size=4)))
    put = [Insertion(len(whole[:place].encode()), f"[{n}]") for n, place in enumerate(at)]
    expected, last = "", 0
    for n, place in enumerate(at):
        expected += f"{whole[last:place]}[{n}]"
        last = place
    assert spliced("x", text, put) == mark + (expected + whole[last:]).encode(encoding)


def test_bytes_that_break_their_encoding_are_refused() -> None:
    with pytest.raises(WriteError, match="cannot be decoded as utf-8"):
        text_from("x", b"<?xml version='1.0'?><a>\xe9</a>")
    with pytest.raises(WriteError, match="save the score in UTF-8"):
        text_from("x", b"<?xml version='1.0' encoding='no-such'?><a/>")


# ── where marks stand ───────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize("amount", [Amount.SPARSE, Amount.ALL])
@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_our_reader_finds_each_mark_on_its_note(path: Path, amount: Amount, tmp_path: Path) -> None:
    data, analysis = analysed(path)
    written = marks_to_write(data, analysis, amount)
    printed = marks_of(read_part(path))
    found = marks_of(read_again(tmp_path, annotate(data, analysis, amount)))
    assert written
    assert found.keys() == printed.keys()
    for address, before in printed.items():
        put, now = written.get(address, NO_MARKS), found[address]
        assert now.fingers == before.fingers + put.fingers
        assert now.string == (put.string if before.string is None else before.string)
        assert now.open_string == (before.open_string or put.open_string)
        assert now.harmonic == before.harmonic


def one_bar(notes: str, more: str = "") -> bytes:
    return (
        '<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>Violin'
        '</part-name></score-part></part-list><part id="P1"><measure number="1"><attributes>'
        f"<divisions>1</divisions>{more}</attributes>{notes}</measure></part></score-partwise>"
    ).encode()


def note(pitch: str, end: str = "", begin: str = "") -> str:
    return (
        f"<note>{begin}<pitch><step>{pitch[0]}</step><octave>{pitch[1]}</octave></pitch>"
        f"<duration>1</duration>{end}</note>"
    )


Marked = Callable[..., str]


@pytest.fixture
def marked_text(tmp_path: Path) -> Marked:
    """Mark a score given as bytes."""

    def run(data: bytes, amount: str = "all") -> str:
        path = tmp_path / "one.musicxml"
        path.write_bytes(data)
        return annotate(data, analyse(read_part(path)), amount).decode()

    return run


FINGER_1 = "<fingering>1</fingering>"


@pytest.mark.parametrize(
    ("end", "expected"),
    [
        ("", f"<notations><technical>{FINGER_1}<string>2</string></technical></notations>"),
        (
            "<staff>1</staff><lyric><text>a</text></lyric>",
            f"<staff>1</staff><notations><technical>{FINGER_1}<string>2</string></technical>"
            "</notations><lyric><text>a</text></lyric>",
        ),
        (
            "<notations><slur type='start'/></notations>",
            f"<notations><slur type='start'/><technical>{FINGER_1}<string>2</string></technical>"
            "</notations>",
        ),
        (
            "<notations><technical><up-bow/></technical></notations>",
            f"<notations><technical><up-bow/>{FINGER_1}<string>2</string></technical></notations>",
        ),
        (
            "<notations><technical/></notations>",
            f"<notations><technical/><technical>{FINGER_1}<string>2</string></technical>"
            "</notations>",
        ),
        (
            "<notations/>",
            f"<notations/><notations><technical>{FINGER_1}<string>2</string></technical>"
            "</notations>",
        ),
        (
            "<notations></notations>",
            f"<notations><technical>{FINGER_1}<string>2</string></technical></notations>",
        ),
        (
            f"<notations><technical>{FINGER_1}</technical></notations>",
            f"<notations><technical>{FINGER_1}<string>2</string></technical></notations>",
        ),
        (
            "<notations><technical><fingering>T</fingering></technical></notations>",
            "<notations><technical><fingering>T</fingering><string>2</string></technical>"
            "</notations>",
        ),
    ],
)
def test_marks_stand_where_the_format_wants_them(
    marked_text: Marked, end: str, expected: str
) -> None:
    assert note("B4", expected) in marked_text(one_bar(note("B4", end)))


def test_marks_follow_the_layout_around_them(marked_text: Marked) -> None:
    score = one_bar(
        "\r\n\t<note>\r\n\t\t<pitch>\r\n\t\t\t<step>B</step>\r\n\t\t\t<octave>4</octave>"
        "\r\n\t\t</pitch>\r\n\t\t<duration>1</duration>\r\n\t</note>\r\n"
    )
    assert (
        "</duration>\r\n\t\t<notations>\r\n\t\t\t<technical>\r\n\t\t\t\t<fingering>1</fingering>"
        "\r\n\t\t\t\t<string>2</string>\r\n\t\t\t</technical>\r\n\t\t</notations>\r\n\t</note>"
    ) in marked_text(score)


def test_every_note_of_a_chord_has_its_own_finger(marked_text: Marked) -> None:
    text = marked_text(one_bar(note("B4") + note("G5", begin="<chord/>")))
    fingers = [re.findall(r"<fingering>(\d)", one) for one in text.split("<note>")[1:]]
    assert [len(one) for one in fingers] == [1, 1]


def test_words_stand_before_a_chord_not_in_it(marked_text: Marked) -> None:
    high = "".join(note(pitch) for pitch in ("B5", "C6", "D6", "E6", "D6", "C6"))
    chord = note("E6") + note("G5", begin="<chord/>")
    text = marked_text(one_bar(high + chord), "sparse")
    assert "<words>" in text
    assert not re.search(r"</direction>\s*<note><chord/>", text)


def test_words_on_the_second_staff_say_so(marked_text: Marked) -> None:
    notes = "".join(note(f"{p}", "<staff>2</staff>") for p in ("B5", "C6", "D6", "E6", "D6"))
    text = marked_text(one_bar(notes, "<staves>2</staves>"), "sparse")
    assert re.search(r"pos\.[^<]*</words></direction-type><staff>2</staff></direction>", text)


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_printed_marks_are_neither_changed_nor_said_twice(path: Path) -> None:
    data, analysis = analysed(path)
    printed = marks_of(read_part(path))
    for address, added in marks_to_write(data, analysis, Amount.ALL).items():
        before = printed[address]
        if before.fingers or before.open_string:
            assert not added.fingers
            assert not added.open_string
        assert added.string is None or before.string is None
        assert added.position is None or before.position is None


def test_a_time_wise_score_is_marked_in_place(marked_text: Marked) -> None:
    score = (
        '<score-timewise version="4.0"><part-list><score-part id="X"><part-name>Flute</part-name>'
        '</score-part><score-part id="P1"><part-name>Violin</part-name></score-part></part-list>'
        '<measure number="1"><part id="X"><attributes><divisions>1</divisions></attributes>'
        f'{note("D5")}</part><part id="P1"><attributes><divisions>1</divisions></attributes>'
        f'{note("B4")}</part></measure><measure number="2"><part id="P1">{note("C5")}</part>'
        f'<part id="X">{note("E5")}</part></measure></score-timewise>'
    )
    text = marked_text(score.encode())
    assert [bool("<fingering>" in one) for one in text.split("<note>")[1:]] == [
        False, True, True, False,
    ]  # fmt: skip
    assert_only_added(score.encode(), text.encode())


def test_only_the_chosen_part_is_marked(tmp_path: Path) -> None:
    part = '<measure number="1"><attributes><divisions>1</divisions></attributes>{}</measure>'
    data = (
        '<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>Violin I'
        '</part-name></score-part><score-part id="P2"><part-name>Violin II</part-name>'
        f'</score-part></part-list><part id="P1">{part.format(note("B4"))}</part>'
        f'<part id="P2">{part.format(note("C5"))}</part></score-partwise>'
    ).encode()
    path = tmp_path / "two.musicxml"
    path.write_bytes(data)
    marked = annotate(data, analyse(read_part(path, 2)), "all").decode()
    assert [("<fingering>" in one) for one in marked.split("<note>")[1:]] == [False, True]


def test_another_score_is_refused() -> None:
    data, _ = analysed(SAMPLES[0])
    _, analysis = analysed(SAMPLES[1])
    with pytest.raises(WriteError, match="is not the one that was analysed"):
        annotate(data, analysis)


def test_an_unknown_amount_is_refused() -> None:
    data, analysis = analysed(SAMPLES[0])
    with pytest.raises(ValueError, match="some"):
        annotate(data, analysis, "some")


# ── marks lead back to their fingering ──────────────────────────────────────────────────────────


@pytest.mark.parametrize("amount", [Amount.SPARSE, Amount.ALL])
@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_a_marked_sample_is_fingered_the_same(path: Path, amount: Amount, tmp_path: Path) -> None:
    data, analysis = analysed(path)
    again = analyse(read_again(tmp_path, annotate(data, analysis, amount)))
    assert fingering(again) == fingering(analysis)


def check_files() -> list[str]:
    """Ten files of the check data, spread over its folders."""
    if not CHECK_DATA:
        return []
    fingered = Path(CHECK_DATA) / "fingered"
    found = [
        str(path.relative_to(CHECK_DATA))
        for folder, every in (("students", 29), ("polish", 19), ("fiddle", 200))
        for path in sorted((fingered / folder).glob("*.m*"))[::every]
    ]
    bach = sorted((Path(CHECK_DATA) / "plain" / "bach").rglob("*.m*xml"))[:1]
    return [*found, *(str(path.relative_to(CHECK_DATA)) for path in bach)][:10]


@needs_check_data
@pytest.mark.parametrize("name", check_files())
def test_a_marked_check_file_is_fingered_the_same(name: str, tmp_path: Path) -> None:
    path = Path(CHECK_DATA or "") / name
    data, analysis = analysed(path)
    marked = annotate(data, analysis)
    assert fingering(analyse(read_again(tmp_path, marked))) == fingering(analysis)
    assert_only_added(data, marked)


def test_marks_are_added_until_the_fingering_comes_out(tmp_path: Path) -> None:
    path = SAMPLES[2]
    data, analysis = analysed(path)
    with_less = marks_to_write(data, analysis, Amount.SPARSE)
    forgetful: list[int] = []

    def strings(marks: dict[Address, Marks]) -> int:
        return sum(mark.string is not None for mark in marks.values())

    def again(part: Part) -> Analysis:
        """Finger the part without its marks at first, as one who overlooks them."""
        forgetful.append(1)
        return analyse(part, use_marks=len(forgetful) > 2)

    more = marks_to_write(data, analysis, Amount.SPARSE, again)
    assert len(forgetful) == 3
    assert with_less.keys() <= more.keys()
    assert strings(more) > strings(with_less)


# ── which marks ─────────────────────────────────────────────────────────────────────────────────

Words = Callable[..., list[str]]


@pytest.fixture
def sparse(small_part: Callable[..., Part], tmp_path: Path) -> Words:
    """Mark a small score sparsely: a word for each note, as it was written, with what was added."""

    def run(words: str, instrument: str = "violin", **score: object) -> list[str]:
        part = small_part(instrument, words, **score)
        data = (tmp_path / "small.musicxml").read_bytes()
        marked = annotate(data, analyse(part)).decode()
        return [
            "".join(re.findall(r"<fingering>(\d)", one))
            + ("0" if "<open-string/>" in one else "")
            + "".join(f"@{string}" for string in re.findall(r"<string>(\d)", one))
            for one in marked.split("<note>")[1:]
            if "<rest/>" not in one
        ]

    return run


def test_a_scale_in_first_position_needs_no_marks(sparse: Words) -> None:
    assert set(sparse("G4 A4 B4 C5 D5 C5 B4 G4", fifths=1)) <= {"", "0"}


def test_a_shift_is_marked_where_it_arrives(sparse: Words) -> None:
    # Common practice: the finger is printed on the note that a shift reaches.
    marks = sparse("F5:1@1 G5 F5 B5:1@1 C6 B5", fifths=0)
    assert marks[:3] == ["1@1", "", ""]
    assert marks[3] == "1@1"
    assert marks[4:] == ["", ""]


def test_a_run_that_arrives_in_third_position_says_so(
    small_part: Callable[..., Part], tmp_path: Path
) -> None:
    part = small_part("violin", "A4 B4 C#5 D5 D5:1@2 E5 F#5 G5 F#5 E5 D5 r", fifths=2)
    data = (tmp_path / "small.musicxml").read_bytes()
    text = annotate(data, analyse(part)).decode()
    assert "<words>3rd pos." in text


def test_a_person_is_not_shown_what_only_leads_a_program_back() -> None:
    data, analysis = analysed(SAMPLES[2])
    forgetful: list[int] = []

    def again(part: Part) -> Analysis:
        """Finger the part without its marks at first, so that more are put in."""
        forgetful.append(1)
        return analyse(part, use_marks=len(forgetful) > 2)

    def strings(text: bytes) -> int:
        return text.count(b"<string>")

    marked, to_read = annotate_both(data, analysis, again)
    assert strings(data) <= strings(to_read) < strings(marked)
    assert to_read.count(b"<fingering>") == marked.count(b"<fingering>")
    assert_only_added(data, to_read)


def test_a_run_on_a_low_string_says_sul_and_loco(
    small_part: Callable[..., Part], tmp_path: Path
) -> None:
    low = "B4:1@3 C5:2@3 D5:3@3 C5:2@3 B4:1@3 C5:2@3"
    part = small_part("violin", f"D4:0 E4 {low} A4:0@2 E5:0 D5:3 C#5", fifths=1)
    data = (tmp_path / "small.musicxml").read_bytes()
    words = re.findall(r"<words>([^<]*)", annotate(data, analyse(part)).decode())
    assert ["sul D" in one for one in words].count(True) == 1
    assert any("loco" in one for one in words)


def test_low_first_finger_is_marked_and_the_note_after_it(sparse: Words) -> None:
    # Common practice, no published source: B flat on the A string under E with 4 is a low first
    # finger, and the hand must find its place again afterwards.
    assert sparse("D5:3 E5:4 Bb4:1 B4 C5 D5")[3:] == ["1", "", ""]


def test_a_sharpened_open_string_says_which_finger(sparse: Words) -> None:
    # Common practice, no published source: D sharp with 4 on the G string or with 1 on D.
    assert sparse("A3:1 B3 C4 r D#4@4 B3 D#4 B3", fifths=1)[3:6] == ["4@4", "", ""]


def test_a_note_high_on_the_lowest_string_says_so_once(sparse: Words) -> None:
    # Common practice, no published source: in third position C and D lie on the G string.
    marks = sparse("D5:1@2 E5:2@2 F#5:3@2 G5:4@2 G4:1@3 A4:2@3 D4:2@4 E4 F4 E4 D4 G4", fifths=0)
    assert marks[7:10] == ["3@4", "", ""]


def lines_over(text: str) -> list[list[str]]:
    """For each note the lines of words before it."""
    found: list[list[str]] = [[]]
    for words, _ in re.findall(r"<words>([^<]*)|(<note>)", text):
        if words:
            found[-1].append(words)
        else:
            found.append([])
    return found[:-1]


def test_position_and_shape_stand_in_lines_of_their_own(
    small_part: Callable[..., Part], tmp_path: Path
) -> None:
    part = small_part("violin", "D5:1@2 E5 F#5 G5 F#5 E5 D5 r", fifths=2)
    data = (tmp_path / "small.musicxml").read_bytes()
    lines = lines_over(annotate(data, analyse(part)).decode())
    assert lines[0] == ["3rd pos.", "W-W-H, 3 and 4 close"]


@pytest.mark.parametrize(
    ("gaps", "known", "words"),
    [
        ((2, 1, 3), (1, 2, 3), "2 and 3 close"),
        ((2, 2, 3), (1, 2, 3), "whole steps from 1 to 3"),
        ((1, 1, 2), (1, 2, 3), "1, 2 and 3 close"),
        ((3, 1, 2), (1, 2, 4), "1 and 2 wide"),
        ((2, 1, 2), (1, 2, 4), ""),
        ((1, 2, 2), (2, 3, 4), "whole steps from 2 to 4"),
    ],
)
def test_nothing_is_said_of_a_finger_that_does_not_play(
    gaps: tuple[int, int, int], known: tuple[Finger, ...], words: str
) -> None:
    # Common practice, no published source.
    assert shape_words(gaps, known) == words


@pytest.mark.parametrize(
    ("gaps", "words"),
    [
        ((2, 1, 2), "W-H-W, 2 and 3 close"),
        ((1, 2, 2), "H-W-W, 1 and 2 close"),
        ((2, 2, 1), "W-W-H, 3 and 4 close"),
        ((2, 2, 2), "W-W-W, whole steps"),
        ((1, 1, 1), "H-H-H, all close"),
        ((1, 3, 1), "H-A-H, 2 and 3 wide"),
        ((1, 2, 1), "H-W-H, 1-2 and 3-4 close"),
    ],
)
def test_shapes_in_a_few_words(gaps: tuple[int, int, int], words: str) -> None:
    # Common practice, no published source: which fingers are close in a shape.
    assert shape_words(gaps) == words


def test_words_are_short_plain_and_no_bare_numeral() -> None:
    for path in SAMPLES:
        data, analysis = analysed(path)
        for amount in (Amount.SPARSE, Amount.ALL):
            more = assert_only_added(data, annotate(data, analysis, amount))
            said = [token for token in more if re.search(r"[A-Za-z]", token) and token[0] != "<"]
            for words in said:
                assert len(words) <= 50
                assert not re.search(r"\b[IVX]+\b", words)


def test_sparse_is_less_than_all() -> None:
    for path in SAMPLES:
        data, analysis = analysed(path)
        sparse = marks_to_write(data, analysis, Amount.SPARSE)
        every = marks_to_write(data, analysis, Amount.ALL)
        fingers = sum(bool(mark.fingers or mark.open_string) for mark in every.values())
        assert len(sparse) < len(every)
        unprinted = [
            mark
            for mark in marks_of(analysis.part).values()
            if not (mark.fingers or mark.open_string)
        ]
        assert fingers == len(unprinted)


# ── containers ──────────────────────────────────────────────────────────────────────────────────


def container(score: bytes) -> bytes:
    box = io.BytesIO()
    with zipfile.ZipFile(box, "w") as archive:
        kind = zipfile.ZipInfo("mimetype", (2001, 2, 3, 4, 5, 6))
        archive.writestr(kind, b"application/vnd.recordare.musicxml")
        listing = (
            '<container><rootfiles><rootfile full-path="söre.musicxml"/></rootfiles></container>'
        )
        archive.writestr("META-INF/container.xml", listing)
        member = zipfile.ZipInfo("söre.musicxml", (2011, 12, 13, 14, 15, 16))
        member.compress_type, member.comment = zipfile.ZIP_DEFLATED, b"the score"
        member.external_attr = 0o640 << 16
        archive.writestr(member, score)
        picture = zipfile.ZipInfo("cover.png", (1999, 1, 2, 3, 4, 6))
        picture.compress_type, picture.extra = zipfile.ZIP_BZIP2, b"\xfe\xca\x02\x00ab"
        archive.writestr(picture, bytes(range(256)) * 9)
        archive.comment = b"made for a lesson"
    return box.getvalue()


@pytest.mark.parametrize("front", [b"", b"#!something before\n"])
def test_one_member_is_written_anew_and_no_other(front: bytes, tmp_path: Path) -> None:
    data = SAMPLES[1].read_bytes()
    packed = container(data)
    path = tmp_path / "box.mxl"
    path.write_bytes(packed)
    analysis = analyse(read_part(path))
    marked = annotate(data, analysis)
    after = front + annotate_file(packed, data, analysis)
    if front:
        after = repacked("box.mxl", front + packed, data, marked)
    with zipfile.ZipFile(io.BytesIO(packed)) as old, zipfile.ZipFile(io.BytesIO(after)) as new:
        assert new.testzip() is None
        assert new.comment == old.comment
        for was, now in zip(old.infolist(), new.infolist(), strict=True):
            for name in ("filename", "date_time", "comment", "extra", "external_attr",
                         "create_system", "compress_type"):  # fmt: skip
                assert getattr(was, name) == getattr(now, name), name
            if was.filename.endswith(".musicxml"):
                assert new.read(now) == marked
            else:
                stored = packed[was.header_offset :][: 30 + len(was.filename) + was.compress_size]
                assert after[now.header_offset :].startswith(stored)
    path.write_bytes(after)
    if not front:
        assert marks_of(read_part(path)) == marks_of(read_again(tmp_path, marked))


def test_a_container_without_the_score_is_refused() -> None:
    with pytest.raises(WriteError, match="does not hold the score"):
        repacked("box.mxl", container(b"<a/>"), b"<b/>", b"<c/>")


# ── other programs ──────────────────────────────────────────────────────────────────────────────


# Source: MusicXML 4.0 schema, W3C Music Notation Community Group.
@pytest.mark.parametrize("amount", [Amount.SPARSE, Amount.ALL])
@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_a_marked_sample_is_valid(path: Path, amount: Amount, schema: etree.XMLSchema) -> None:
    data, analysis = analysed(path)
    schema.assertValid(etree.fromstring(data))
    schema.assertValid(etree.fromstring(annotate(data, analysis, amount)))


@needs_check_data
@pytest.mark.parametrize("folder", ["conformance", "fingered/students", "fingered/polish"])
def test_what_was_valid_stays_valid(folder: str, schema: etree.XMLSchema) -> None:
    tried = 0
    for path in valid_files(Path(CHECK_DATA or "") / folder, schema):
        data, analysis = analysed(path)
        if len(analysis.part.events) > 800:
            continue
        marked = annotate(data, analysis, Amount.ALL)
        schema.assertValid(etree.fromstring(marked))
        tried += 1
        if tried == 5:
            break
    assert tried >= 3


def valid_files(folder: Path, schema: etree.XMLSchema) -> Iterator[Path]:
    """Yield files that read and are valid, from all over the folder."""
    for path in sorted(folder.rglob("*.*xml"))[::7]:
        try:
            read_part(path)
            root = etree.fromstring(contents(path).data)
        except (ScoretoolsError, etree.XMLSyntaxError):
            continue
        if root.tag == "score-partwise" and schema.validate(root):
            yield path


@pytest.fixture(params=[SAMPLES[1], SAMPLES[4]], ids=lambda path: path.stem)
def before_and_after(request: pytest.FixtureRequest, tmp_path: Path) -> tuple[Path, Path]:
    """A sample and the same with all marks in it."""
    data, analysis = analysed(request.param)
    path = tmp_path / "after.musicxml"
    path.write_bytes(annotate(data, analysis, Amount.ALL))
    return request.param, path


# Source: music21, a toolkit for computational musicology.
def test_music21_reads_the_same_notes(before_and_after: tuple[Path, Path]) -> None:
    from music21 import converter

    def notes(path: Path) -> list[tuple[object, ...]]:
        score = converter.parse(path, forceSource=True)
        return [
            (float(one.getOffsetInHierarchy(score)), one.quarterLength, *map(str, one.pitches))
            for one in score.recurse().notes
        ]

    def fingers(path: Path) -> int:
        score = converter.parse(path, forceSource=True)
        return sum(
            "Fingering" in mark.classes
            for one in score.recurse().notes
            for mark in one.articulations
        )

    before, after = before_and_after
    assert notes(before) == notes(after)
    assert fingers(after) > fingers(before)


# Source: partitura, a package for symbolic music processing.
def test_partitura_reads_the_same_notes(before_and_after: tuple[Path, Path]) -> None:
    partitura = pytest.importorskip("partitura", reason="partitura is not installed")

    def notes(path: Path) -> list[tuple[object, ...]]:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            array = partitura.load_musicxml(path).note_array()
        return [
            (float(n["onset_quarter"]), float(n["duration_quarter"]), int(n["pitch"]))
            for n in array
        ]

    before, after = before_and_after
    assert sorted(notes(before)) == sorted(notes(after))


# Source: Verovio, an engraving library.
def test_verovio_engraves_the_same_notes_and_the_fingers(
    before_and_after: tuple[Path, Path],
) -> None:
    import verovio

    def mei(path: Path) -> etree._Element:
        verovio.enableLog(verovio.LOG_OFF)
        toolkit = verovio.toolkit()
        assert toolkit.loadFile(str(path))
        return etree.fromstring(toolkit.getMEI().encode())

    def notes(root: etree._Element) -> list[tuple[str | None, ...]]:
        return [(n.get("pname"), n.get("oct"), n.get("dur")) for n in root.iter("{*}note")]

    before, after = map(mei, before_and_after)
    assert notes(before) == notes(after)
    marks_before, marks_after = (len(list(root.iter("{*}fing"))) for root in (before, after))
    assert marks_after > marks_before
