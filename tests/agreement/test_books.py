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
