"""The part for the stand: a PDF of the right size, with its words, always the same."""

import shutil
import subprocess
from dataclasses import replace
from pathlib import Path

import pytest

import scoretools
from scoretools.errors import WriteError
from scoretools.model import Analysis
from scoretools.read import musicxml_document
from scoretools.write.annotate import annotate
from scoretools.write.marked_part import marked_part_pdf, part_systems
from scoretools.write.typeset import pdf_from

SAMPLES = sorted((Path(__file__).parents[2] / "sample_scores").glob("*.musicxml"))


def engraved_part(paper: str = "a4", staff_mm: float = 7) -> tuple[Analysis, tuple[str, ...]]:
    analysis = scoretools.analyse(scoretools.read_part(SAMPLES[1]))
    data, _ = musicxml_document(SAMPLES[1])
    return analysis, part_systems(analysis, annotate(data, analysis), paper, staff_mm)


@pytest.fixture(scope="module")
def marked() -> tuple[Analysis, tuple[str, ...]]:
    return engraved_part()


def told(pdf: bytes, program: str, tmp_path: Path) -> str:
    """What a general PDF program reads in it."""
    if shutil.which(program) is None:
        pytest.skip(f"{program} (Debian: poppler-utils) is not installed")
    path = tmp_path / "part.pdf"
    path.write_bytes(pdf)
    command = [program, str(path)] if program == "pdfinfo" else [program, str(path), "-"]
    return subprocess.run(command, capture_output=True, text=True, check=True).stdout


# Source: poppler reads the PDF; ISO 216 and ANSI sizes in points.
@pytest.mark.parametrize(
    ("paper", "size"), [("a4", "595.276 x 841.89"), ("us-letter", "612 x 792")]
)
def test_the_paper_is_the_one_asked_for(paper: str, size: str, tmp_path: Path) -> None:
    info = told(marked_part_pdf(*engraved_part(paper), paper), "pdfinfo", tmp_path)
    assert size in info
    assert "Winter Window: Violin" in info


def test_title_words_and_the_note_on_marks_are_there(
    marked: tuple[Analysis, tuple[str, ...]], tmp_path: Path
) -> None:
    text = told(marked_part_pdf(*marked), "pdftotext", tmp_path)
    for words in ("Winter Window", "Violin", "1 and 2 close", "espressivo", "suggestions"):
        assert words in text


def test_any_sign_may_stand_in_a_title(
    marked: tuple[Analysis, tuple[str, ...]], tmp_path: Path
) -> None:
    analysis, data = marked
    title = 'Étude #1 $x_2$ *no* "quote" \\ <b> @ref'
    renamed = replace(analysis, part=replace(analysis.part, title=title))
    assert title in told(marked_part_pdf(renamed, data), "pdftotext", tmp_path)


def test_without_a_title_the_part_goes_by_its_file_without_the_suffix(
    marked: tuple[Analysis, tuple[str, ...]], tmp_path: Path
) -> None:
    analysis, systems = marked
    part = replace(analysis.part, title="", source="op.18_no.1.mxl")
    text = told(marked_part_pdf(replace(analysis, part=part), systems), "pdftotext", tmp_path)
    assert "op.18_no.1" in text
    assert ".mxl" not in text


def test_large_notes_take_more_systems() -> None:
    usual, large = (engraved_part(staff_mm=size)[1] for size in (7, 9))
    assert len(large) > len(usual)


def test_the_same_part_gives_the_same_bytes(marked: tuple[Analysis, tuple[str, ...]]) -> None:
    assert marked_part_pdf(*marked) == marked_part_pdf(*marked)


def test_what_cannot_be_set_is_said_in_one_sentence() -> None:
    with pytest.raises(WriteError, match=r"part\.typ cannot be set"):
        pdf_from("part.typ", {"title": "x"}, {})
