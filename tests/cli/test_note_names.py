"""Names of notes on every road to a person: none stays a letter, and other programs keep letters.

What is said by letters is put into the other names here, word by word, and must be what the
program itself says in them. A test can do that, since its score has no rehearsal marks; in the
program it would be guesswork.
"""

import html
import re
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path

import pytest
from icalendar import Calendar
from pypdf import PdfReader

from scoretools.model import Pitch
from scoretools.note_names import NoteNames, bare_name_of, names_in_force, naming, said
from tests.cli.conftest import SAMPLES, Command
from tests.conftest import score_text

LANGUAGES = (NoteNames.SOLFEGE, NoteNames.GERMAN)

WORDS = (
    "A4 B4 Bb4 C5 D5 E5 F#5 G5 F#5 E5 D5 C#5 A4+F#5 G4+B4 A4 r "
    "D4:0 E4 B4:1@3 C5:2@3 D5:3@3 C5:2@3 B4:1@3 C5:2@3 A4:0@2 E5:0 D5:3 C#5 "
    "G3 A3 Bb3 C#4 D4 Eb4 F#4 G4 C3 r D5 r E5:1@1 G5 A5 B5 A5 G5 E5 r*1"
)
"""Slides, a shape with an augmented second, double stops, a run high on D, a note too low."""

MACHINES = ("notes.csv", "passages.csv", "demands.csv", "drills.csv", "analysis.json",
            "drills.musicxml", "marked.musicxml", "drills.mid", "hard_bars.mid")  # fmt: skip
"""What other programs read."""

NAME = re.compile(
    r"(?<![\w♯♭#–-])([A-G])([#♯]{1,2}|[b♭]{1,2}| flat| sharp|)(\d?)(?![\w♯♭#-])"
    r"(?! (?:finger|fingering|shape|passage)\b)(?!(?<=[A-G]) an\b)"
)
"""A note or string by letters; not a shape such as W-H-A, nor the article *A*."""


def translated(text: str, names: NoteNames) -> str:
    """Put every name by letters into other names."""

    def name(found: re.Match[str]) -> str:
        step, signs, octave = found.groups()
        aloud = signs.strip().isalpha() and signs != "b" * len(signs)
        signs = {" sharp": "♯", " flat": "♭"}.get(signs, signs)
        alter = len(signs) if signs[:1] in ("#", "♯") else -len(signs)
        with naming(names):
            name = said(bare_name_of(Pitch(step, alter, 4))) + octave
        return name.replace("♯", " sharp").replace("♭", " flat") if aloud else name

    return NAME.sub(name, text)


def words_of(text: str) -> str:
    return " ".join(text.replace("#", "♯").split())


@pytest.fixture
def score(tmp_path: Path) -> Path:
    path = tmp_path / "small.musicxml"
    path.write_text(score_text("violin", WORDS, fifths=0, tempo=90), encoding="utf-8")
    return path


def player(folder: Path, names: NoteNames, *more: str) -> Path:
    path = folder / f"{names.name}.toml"
    path.write_text("\n".join((f'note_names = "{names}"', *more)), encoding="utf-8")
    return path


def assert_translated(by_letters: str, told: str, names: NoteNames) -> None:
    wanted = words_of(translated(by_letters, names))
    assert words_of(told) == wanted
    assert names is NoteNames.GERMAN or wanted != words_of(by_letters)


# ── the terminal ────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize("names", LANGUAGES)
@pytest.mark.parametrize(
    "words",
    [
        ("report",),
        ("finger",),
        ("finger", "--explain", "--alternatives", "3", "--ignore-marks"),
        ("plan", "--today", "2027-01-04"),
        ("level",),
    ],
    ids=" ".join,
)
def test_the_terminal_names_notes_as_the_player_does(
    words: tuple[str, ...], names: NoteNames, score: Path, tmp_path: Path, command: Command
) -> None:
    first, *options = words
    by_letters = command(first, score, *options)
    told = command(first, score, *options, "--player", player(tmp_path, names))
    assert (by_letters.code, told.code) == (0, 0), told.err
    assert_translated(by_letters.out, told.out, names)
    assert names_in_force() is NoteNames.LETTERS


@pytest.mark.parametrize("words", [("finger", "--explain", "--json"), ("level", "--json"),
                                   ("mark", "--template")])  # fmt: skip
def test_what_is_printed_for_programs_keeps_letters(
    words: tuple[str, ...], score: Path, tmp_path: Path, command: Command
) -> None:
    first, *options = words
    by_letters = command(first, score, *options)
    who = player(tmp_path, NoteNames.SOLFEGE)
    assert command(first, score, *options, "--player", who) == by_letters


def test_an_error_about_the_part_names_notes_so_too(tmp_path: Path, command: Command) -> None:
    path = tmp_path / "low.musicxml"
    path.write_text(score_text("violin", "C3 D3 E3 F3"), encoding="utf-8")
    ended = command("report", path, "--player", player(tmp_path, NoteNames.SOLFEGE))
    assert ended.code == 2
    assert "open sol3" in ended.err
    assert names_in_force() is NoteNames.LETTERS


# ── files ───────────────────────────────────────────────────────────────────────────────────────


def page_words(page: str) -> str:
    """What a page says, and what it says to those who do not see it."""
    page = re.sub(r"(?s)<(style|script)\b.*?</\1>", " ", page)
    # Bar numbers stand at the heads of systems, which break where the words leave room.
    page = re.sub(r'(?s)<g class="mNum\b.*?</g>', " ", page)
    said_aloud = re.findall(r'(?:aria-label|alt|title)="([^"]*)"', page)
    page = re.sub(r"</?tspan\b[^>]*>", "", page)
    texts = re.sub(r"<[^>]*>", " ", page)
    return html.unescape(" ".join((texts, *said_aloud)))


def pdf_words(data: bytes) -> str:
    return " ".join(page.extract_text() for page in PdfReader(BytesIO(data)).pages)


def counted(text: str) -> dict[str, int]:
    """Names of notes, by how often they stand in a text whose lines break differently."""
    found: dict[str, int] = {}
    for name in NAME.finditer(text):
        found[name[0]] = found.get(name[0], 0) + 1
    return found


@pytest.mark.parametrize("edition", ["teacher", "student"])
@pytest.mark.parametrize("names", LANGUAGES)
def test_the_files_of_a_report(
    names: NoteNames, edition: str, score: Path, tmp_path: Path, command: Command
) -> None:
    options = ("--note-names", "--midi", "--for", edition)
    for out, who in ((tmp_path / "letters", NoteNames.LETTERS), (tmp_path / "names", names)):
        ended = command("report", score, "--player", player(tmp_path, who), "--out", out, *options)
        assert ended.code == 0, ended.err
    letters, told = (
        {file.name: file.read_bytes() for file in (tmp_path / folder).iterdir()}
        for folder in ("letters", "names")
    )
    assert letters.keys() == told.keys()
    for name in MACHINES:
        assert told[name] == letters[name], name
    pages = (page_words(files["report.html"].decode()) for files in (letters, told))
    assert_translated(*pages, names)
    assert_no_letters(pdf_words(told["drills.pdf"]), names)
    assert_no_letters(pdf_words(told["part.pdf"]), names)
    if names is NoteNames.GERMAN:
        assert "1 on H" in words_of(pdf_words(told["drills.pdf"]))
    else:
        assert "sul ré" in pdf_words(told["part.pdf"])
        for words in ("on the la string", "sul la", "fa♯", "with mi", "open ré", "1 on si"):
            assert words in " ".join(pdf_words(told["drills.pdf"]).split()), words


def assert_no_letters(text: str, names: NoteNames) -> None:
    """See that no note is called by a letter that these names do not have."""
    found = counted(text)
    if names is NoteNames.SOLFEGE:
        # H, W and A explain the shapes on the first page: no note.
        assert set(found) <= {"A"}, found
    else:
        assert not {name for name in found if name.startswith(("B♭", "B♯"))}, found


@pytest.mark.parametrize("names", LANGUAGES)
def test_the_files_of_a_plan(
    names: NoteNames, score: Path, tmp_path: Path, command: Command
) -> None:
    for out, who in (("letters", NoteNames.LETTERS), ("names", names)):
        words = ("plan", score, "--player", player(tmp_path, who), "--out", tmp_path / out)
        assert command(*words, "--today", "2027-01-04", "--log", tmp_path / f"{out}.txt").code == 0
    letters, told = tmp_path / "letters", tmp_path / "names"
    for name in ("plan.html", "plan.pdf", "plan.ics"):
        assert_translated(*(_plan_words(folder / name) for folder in (letters, told)), names)
    # The log is read again by the program, whoever plans: it keeps letters.
    assert (tmp_path / "names.txt").read_text() == (tmp_path / "letters.txt").read_text()


def _plan_words(path: Path) -> str:
    if path.suffix == ".html":
        return page_words(path.read_text("utf-8"))
    if path.suffix == ".pdf":
        return pdf_words(path.read_bytes())
    events = Calendar.from_ical(path.read_bytes()).walk("VEVENT")
    return " ".join(f"{event['summary']} {event['description']}" for event in events)


def test_a_log_is_understood_in_any_language(score: Path, tmp_path: Path, command: Command) -> None:
    log = tmp_path / "practice.txt"
    for names in NoteNames:
        who = player(tmp_path, names)
        words = ("plan", score, "--player", who, "--today", "2027-01-04", "--log", log)
        told = command(*words).out
        assert "Skipped in the log" not in told
        if names is NoteNames.LETTERS:
            command("plan", "log", log, "--clean", "1", "--date", "2027-01-02")
            command("plan", "log", log, "--clean", "1", "--date", "2027-01-03")
            without = told
        else:
            assert words_of(told) != words_of(translated(without, names))  # one drill is settled


def test_every_student_has_names_and_paper_of_their_own(tmp_path: Path, command: Command) -> None:
    studio, out = tmp_path / "studio", tmp_path / "out"
    studio.mkdir()
    player(studio, NoteNames.SOLFEGE, 'name = "Ana"', 'paper = "Letter"')
    player(studio, NoteNames.GERMAN, 'name = "Uli"')
    ended = command("sheets", SAMPLES[1], "--studio", studio, "--out", out)
    assert ended.code == 0, ended.err
    ana, uli, overview = ((out / f"{name}.pdf").read_bytes() for name in ("Ana", "Uli", "overview"))
    assert "si♭ and si on la" in words_of(pdf_words(ana))
    assert "B and H on A" in words_of(pdf_words(uli))
    # The two differ: the teacher's overview goes by letters.
    assert "B♭ and B on A" in words_of(pdf_words(overview)).replace("Bb", "B♭")
    assert "Bb and B on A" in (out / "overview.csv").read_text("utf-8")
    assert [round(_width_mm(data)) for data in (ana, uli, overview)] == [216, 210, 210]


def test_a_programme_is_for_its_player(score: Path, tmp_path: Path, command: Command) -> None:
    for out, names in (("letters", NoteNames.LETTERS), ("names", NoteNames.SOLFEGE)):
        who = player(tmp_path, names)
        assert command("programme", score, "--player", who, "--out", tmp_path / out).code == 0
    for name in ("programme.html", "programme.pdf"):
        letters, told = (_plan_words(tmp_path / folder / name) for folder in ("letters", "names"))
        assert_translated(letters, told, NoteNames.SOLFEGE)


# ── paper ───────────────────────────────────────────────────────────────────────────────────────


def _width_mm(data: bytes) -> float:
    box = PdfReader(BytesIO(data)).pages[0].mediabox
    return min(float(box.width), float(box.height)) / 72 * 25.4


@pytest.mark.parametrize(
    ("written", "option", "wide"),
    [
        ((), (), 210),
        (('paper = "A4"',), (), 210),
        (('paper = "Letter"',), (), 216),
        (('paper = "Letter"',), ("--paper", "a4"), 210),
        ((), ("--paper", "us-letter"), 216),
    ],
)
@pytest.mark.parametrize("first", ["report", "plan", "programme"])
def test_paper_is_the_players_where_no_option_says_otherwise(
    first: str, written: tuple[str, ...], option: tuple[str, ...], wide: int, score: Path,
    tmp_path: Path, command: Command,
) -> None:  # fmt: skip
    who, out = player(tmp_path, NoteNames.LETTERS, *written), tmp_path / "out"
    only = ("--only", "part") if first == "report" else ()
    ended = command(first, score, "--player", who, "--out", out, *only, *option)
    assert ended.code == 0, ended.err
    pdfs: Iterator[Path] = out.glob("*.pdf")
    assert {round(_width_mm(path.read_bytes())) for path in pdfs} == {wide}
