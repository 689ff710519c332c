"""The drill book, read back from the PDF."""

import re
from collections.abc import Iterator
from dataclasses import replace
from io import BytesIO
from pathlib import Path

import pypdf
import pytest

import scoretools
from scoretools.analysis import analyse, instrument_of
from scoretools.drills.choose import CAUTIONS
from scoretools.model import Analysis, Drill, LeftOut
from scoretools.player import Player
from scoretools.read import musicxml_document
from scoretools.write.book import drill_book_pdf
from scoretools.write.drillbook import drill_book
from scoretools.write.engrave import single_part
from scoretools.write.figures import DrillFigures, Figures, figures
from scoretools.write.summary import bar_ranges, percent, strings_in_order

SCORES = Path(__file__).resolve().parents[2] / "sample_scores"
MIRA = Player(name="Mira")
NOTHING_DRAWN = Figures((), ())
PT_PER_MM = 72 / 25.4
FOOT_MM = 19
STRANGE = "#let x = 1 $y$ *b* _i_ `c` <l> @ref \\ \"q\" 'a' -- ~ // /* [z] = Ænima ж ♯"

Drawn = tuple[Analysis, Figures]


@pytest.fixture(scope="module", params=["02_winter_window", "05_two_voices"])
def drawn(request: pytest.FixtureRequest) -> Drawn:
    path = SCORES / f"{request.param}.musicxml"
    analysis = analyse(scoretools.read_part(path), MIRA)
    part = analysis.part
    document, _ = musicxml_document(path, None)
    alone = single_part(document, part.part_id, len(part.measures))
    music = drill_book(analysis)
    return analysis, figures(analysis, instrument_of(part, MIRA), music, alone, width_mm=170)


@pytest.fixture(scope="module")
def book(drawn: Drawn) -> bytes:
    """The book of a sample score with all its pictures, as it usually is."""
    return drill_book_pdf(*drawn, MIRA)


def opened(pdf: bytes) -> pypdf.PdfReader:
    return pypdf.PdfReader(BytesIO(pdf))


def plain(text: str) -> str:
    """A text as it reads, wherever its lines were broken."""
    return re.sub(r"\s+", "", text.replace("♯", "#").replace("♭", "b").replace("’", "'"))


def read(pdf: bytes) -> str:
    return plain("".join(page.extract_text() for page in opened(pdf).pages))


def undrawn(analysis: Analysis, player: Player = MIRA) -> str:
    return read(drill_book_pdf(analysis, NOTHING_DRAWN, player))


def titled(analysis: Analysis, title: str) -> Analysis:
    return replace(analysis, part=replace(analysis.part, title=title))


# ── content ─────────────────────────────────────────────────────────────────────────────────────


def test_everything_is_told_in_order(drawn: Drawn, book: bytes) -> None:
    analysis, _ = drawn
    text = read(book)
    said = [
        analysis.part.title,
        "For Mira",
        "The hand map",
        "How to play the drills",
        "The drills in order",
        *(f"{drill.index + 1}. {drill.title}" for drill in analysis.drills),
        "Take care",
        *CAUTIONS,
        "The days to the lesson",
        "What this rests on",
    ]
    places = [text.find(plain(words)) for words in said]
    assert -1 not in places, said[places.index(-1)]
    assert places == sorted(places)


def test_a_drill_is_told_whole(drawn: Drawn, book: bytes) -> None:
    analysis, _ = drawn
    text = read(book)
    for drill in analysis.drills:
        ladder = " · ".join(map(str, drill.ladder))
        bridge = bar_ranges(analysis, range(drill.bridge[0], drill.bridge[1] + 1))
        for words in (
            f"For: {bar_ranges(analysis, drill.measures)}:",
            f"{percent(drill.share)} of the part's load",
            f"{strings_in_order(analysis, drill)}; {drill.minutes} minutes",
            f"{ladder} notes a minute",
            drill.advice,
            *(exercise.name[1:] for exercise in drill.exercises),
            *(exercise.how for exercise in drill.exercises),
            f"In the piece: {bridge}",
        ):
            assert plain(words) in text, words


def test_a_check_is_told_in_words(analysis: Analysis) -> None:
    # Common practice, no published source: D with 3 on the A string, an octave above open D
    assert plain("D, 3rd finger on A: an octave above open D") in undrawn(analysis)


def test_the_hand_map_names_shapes_by_spacing_and_first_finger(analysis: Analysis) -> None:
    shapes = [demand for demand in analysis.demands if demand.kind == "shape"]
    assert shapes, "the small analysis has shapes"
    text = undrawn(analysis)
    for demand in shapes:
        assert f"{demand.gaps}×{len(demand.moments)}" in text


def test_what_is_left_out_is_told_with_its_reason(analysis: Analysis) -> None:
    (left,) = analysis.left_out
    where = bar_ranges(analysis, left.measures)
    assert plain(f"{left.title} ({where}; 54 %): {left.why}.") in undrawn(analysis)


def test_exercises_of_one_name_are_told_apart_by_their_strings(analysis: Analysis) -> None:
    text = undrawn(analysis)
    assert "Upagain,onD" in text
    assert "Upagain,onE" in text


@pytest.mark.parametrize(
    ("days", "last_rows"), [(1, ["1"]), (7, ["1234567"]), (9, ["1234567", "89"])]
)
def test_the_week_has_a_box_for_every_day(
    analysis: Analysis, days: int, last_rows: list[str]
) -> None:
    text = undrawn(analysis, replace(MIRA, days=days))
    assert re.findall(r"DrillDay(\d*?)1W-H-W", text) == last_rows


# ── what may be missing or strange ──────────────────────────────────────────────────────────────


def test_music_that_is_missing_is_told_in_notes_and_fingers(analysis: Analysis) -> None:
    text = undrawn(analysis)
    assert plain("The music could not be drawn. Notes and fingers:") in text
    # Source: the exercise as the fixture has it, B3 alone, then with G4, fingers 2 and 3
    assert plain("B 2, B 2 with G 3") in text
    assert plain("The music could not be drawn: play from your part.") in text


def test_what_could_not_be_drawn_is_named(analysis: Analysis) -> None:
    problem = "The music of drill 2 could not be engraved: no reason."
    text = read(drill_book_pdf(analysis, Figures((), (problem,)), MIRA))
    assert plain(problem) in text


def test_one_drill_without_music_leaves_the_others_theirs(drawn: Drawn) -> None:
    analysis, pictures = drawn
    first, *others = pictures.drills
    bare = DrillFigures(first.picture, tuple(() for _ in first.exercises), ())
    text = read(drill_book_pdf(analysis, replace(pictures, drills=(bare, *others)), MIRA))
    missing = len(first.exercises)
    assert text.count(plain("could not be drawn. Notes and fingers")) == missing
    assert text.count(plain("could not be drawn: play from your part")) == 1


def test_without_drills_there_is_one_page_that_says_so(analysis: Analysis) -> None:
    pdf = drill_book_pdf(replace(analysis, drills=(), left_out=()), NOTHING_DRAWN, MIRA)
    assert len(opened(pdf).pages) == 1
    text = read(pdf)
    assert plain("There are no drills") in text
    assert all(plain(caution) in text for caution in CAUTIONS)
    assert plain("The days to the lesson") not in text


@pytest.mark.parametrize("where", ["title", "composer", "name", "why"])
def test_text_from_a_score_comes_out_literally(analysis: Analysis, where: str) -> None:
    if where == "why":
        left = LeftOut(STRANGE, (0,), (1,), 0.1, "no time")
        strange = replace(analysis, left_out=(left,))
    else:
        strange = replace(analysis, part=replace(analysis.part, **{where: STRANGE}))
    assert plain(STRANGE) in undrawn(strange)


def test_a_name_of_the_player_comes_out_literally(analysis: Analysis) -> None:
    assert plain(f"For {STRANGE}") in undrawn(analysis, replace(MIRA, name=STRANGE))


def test_a_long_title_is_whole_on_the_first_page_and_short_below(analysis: Analysis) -> None:
    title = "A very long title indeed " * 8
    first = plain(opened(drill_book_pdf(titled(analysis, title), NOTHING_DRAWN, MIRA)).pages[0]
                  .extract_text())  # fmt: skip
    assert plain(title) in first
    assert "…1/" in first


def test_a_score_without_a_title_goes_by_its_file(analysis: Analysis) -> None:
    assert undrawn(titled(analysis, "")).startswith("studyA.Player")


# ── pages ───────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(("paper", "size_mm"), [("a4", (210, 297)), ("us-letter", (215.9, 279.4))])
def test_paper(analysis: Analysis, paper: str, size_mm: tuple[float, float]) -> None:
    # Source: ISO 216 and ANSI/ASME Y14.1
    page = opened(drill_book_pdf(analysis, NOTHING_DRAWN, MIRA, paper=paper)).pages[0]
    found = (page.mediabox.width / PT_PER_MM, page.mediabox.height / PT_PER_MM)
    assert found == pytest.approx(size_mm, abs=0.1)


def test_every_page_has_its_number_and_the_title(drawn: Drawn, book: bytes) -> None:
    analysis, _ = drawn
    pages = opened(book).pages
    for number, page in enumerate(pages, start=1):
        assert plain(page.extract_text()).endswith(
            plain(f"{analysis.part.title}{number}/{len(pages)}")
        )


def lines(page: pypdf.PageObject) -> Iterator[tuple[float, str]]:
    """Words of a page with their height above its foot, mm."""
    found: list[tuple[float, str]] = []

    def visit(text: str, at: list[float], *_: object) -> None:
        if text.strip():
            found.append((at[5] / PT_PER_MM, text.strip()))

    page.extract_text(visitor_text=visit)
    yield from found


def systems_mm(systems: tuple[str, ...]) -> float:
    heights = [re.search(r'\sheight="([\d.]+)mm"', svg) for svg in systems]
    return sum(float(found[1]) for found in heights if found)


def under_headings(analysis: Analysis, drill: Drill, drawn: DrillFigures) -> dict[str, float]:
    """Height of what follows each heading of a drill that is there once, mm."""
    bridge = bar_ranges(analysis, range(drill.bridge[0], drill.bridge[1] + 1))
    return {
        f"In the piece: {bridge}": systems_mm(drawn.bridge),
        **{
            one.name[0].upper() + one.name[1:]: systems_mm(systems)
            for one, systems in zip(drill.exercises, drawn.exercises, strict=True)
        },
    }


@pytest.mark.parametrize(("paper", "large"), [("a4", False), ("us-letter", True)])
def test_a_heading_has_its_music_below_it_on_the_same_page(
    drawn: Drawn, paper: str, large: bool
) -> None:
    analysis, pictures = drawn
    pdf = drill_book_pdf(analysis, pictures, MIRA, paper=paper, large=large)
    least: dict[str, float] = {}
    for drill, music in zip(analysis.drills, pictures.drills, strict=True):
        for heading, height in under_headings(analysis, drill, music).items():
            least[heading] = min(least.get(heading, height), height)
    seen = 0
    for page in opened(pdf).pages:
        for height, text in lines(page):
            if text in least:
                seen += 1
                assert height - least[text] >= FOOT_MM - 1, f"{text} stands without its music"
    assert seen >= 2 * len(analysis.drills)


def test_a_drill_begins_where_the_one_before_ended(drawn: Drawn, book: bytes) -> None:
    analysis, _ = drawn
    pages = [plain(page.extract_text()) for page in opened(book).pages]
    titles = [plain(f"{drill.index + 1}. {drill.title}") for drill in analysis.drills[1:]]
    assert any(0 <= text.find("Inthepiece:") < text.find(title)
               for title in titles for text in pages)  # fmt: skip


def test_short_exercises_stand_two_in_a_row(drawn: Drawn, book: bytes) -> None:
    analysis, _ = drawn
    names = {one.name[0].upper() + one.name[1:] for d in analysis.drills for one in d.exercises}
    heights = [
        [round(height, 1) for height, text in lines(page) if text in names]
        for page in opened(book).pages
    ]
    assert any(len(set(page)) < len(page) for page in heights)


def test_large_words_are_larger(analysis: Analysis) -> None:
    def sizes(large: bool) -> set[float]:
        pdf = drill_book_pdf(analysis, NOTHING_DRAWN, MIRA, large=large)
        found: set[float] = set()

        def visit(text: str, at: object, matrix: object, font: object, size: float) -> None:
            if "Warm up" in text:
                found.add(round(size, 1))

        for page in opened(pdf).pages:
            page.extract_text(visitor_text=visit)
        return found

    assert sizes(False) == {12.0}
    assert sizes(True) == {15.0}


def test_a_fingerboard_is_printed_at_its_size_or_says_its_scale(drawn: Drawn, book: bytes) -> None:
    analysis, _ = drawn
    text = read(book)
    told = text.count("Truesizealongthestrings") + len(re.findall(r"At\d+%oftruesize", text))
    assert told == len(analysis.drills)


# ── the file ────────────────────────────────────────────────────────────────────────────────────


def test_the_file_names_title_and_language(analysis: Analysis) -> None:
    found = opened(drill_book_pdf(titled(analysis, STRANGE), NOTHING_DRAWN, MIRA))
    assert found.metadata is not None
    assert found.metadata.title == STRANGE
    assert found.metadata.creation_date is None
    root = found.trailer["/Root"]
    assert root["/Lang"] == "en"
    assert root["/MarkInfo"]["/Marked"]


def test_drills_stand_in_the_outline(drawn: Drawn, book: bytes) -> None:
    analysis, _ = drawn
    outline = opened(book).outline
    (drills,) = [entry for entry in outline if isinstance(entry, list)]
    told = [plain(f"{drill.index + 1}. {drill.title}") for drill in analysis.drills]
    assert [plain(entry.title) for entry in drills] == told


def described(element: object) -> Iterator[str]:
    """Alternative texts of a document's structure, in order."""
    if isinstance(element, pypdf.generic.IndirectObject):
        element = element.get_object()
    if isinstance(element, dict):
        if "/Alt" in element:
            yield str(element["/Alt"])
        yield from described(element.get("/K"))
    elif isinstance(element, list):
        for child in element:
            yield from described(child)


def test_every_picture_is_told_in_words(drawn: Drawn, book: bytes) -> None:
    analysis, pictures = drawn
    told = list(described(opened(book).trailer["/Root"]["/StructTreeRoot"]))
    count = sum(1 + len(drill.bridge) + sum(map(len, drill.exercises)) for drill in pictures.drills)
    assert len(told) == count
    assert all(told)
    assert sum(words.startswith("Notes and fingers: ") for words in told) == sum(
        len(drill.exercises) for drill in analysis.drills
    )
    boards = [words for words in told if not words.startswith(("Notes", "The bars", "The music"))]
    assert len(boards) == len(analysis.drills)
    assert all("position" in words for words in boards)


def test_the_same_input_gives_the_same_bytes(drawn: Drawn, book: bytes) -> None:
    assert drill_book_pdf(*drawn, MIRA) == book
