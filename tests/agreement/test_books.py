"""Which files belong together."""

import pytest

from scoretools.agreement.books import book_of


@pytest.mark.parametrize(
    ("name", "book"),
    [
        ("kayser_op20_13.musicxml", "kayser_op20"),
        ("wohlfahrt_op45_01.mxl", "wohlfahrt_op45"),
        ("seitz_op22_mvtIII.musicxml", "seitz_op22"),
        ("pleyel_op_8_mvt04.musicxml", "pleyel_op_8"),
        ("studies_no7.xml", "studies"),
        ("romance-op-11.musicxml", "romance-op-11"),
        ("Sonata No. 2.musicxml", "Sonata No. 2"),
        ("bach1.csv", "bach1"),
        ("bach1", "bach1"),
    ],
)
def test_a_number_or_movement_after_an_underscore_is_no_part_of_the_book(
    name: str, book: str
) -> None:
    assert book_of(name) == book


@pytest.mark.parametrize(
    ("name", "book"),
    [
        ("movement1.mxl", "opus1no1"),
        ("mvt_II.musicxml", "opus1no1"),
        ("03.xml", "opus1no1"),
        ("No. 4.musicxml", "opus1no1"),
        ("romance.musicxml", "romance"),
        ("study_04.musicxml", "study"),
    ],
)
def test_a_movement_or_number_alone_belongs_to_the_book_of_its_folder(name: str, book: str) -> None:
    assert book_of(name, "opus1no1") == book


def test_without_a_folder_a_movement_keeps_its_name() -> None:
    assert book_of("movement1.mxl") == "movement1"
