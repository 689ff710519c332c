import pytest

from scoretools.errors import PartNotFound
from scoretools.read.abc_book import chosen_tune, tunes_of

BOOK = """% a comment
B:The book
M:6/8

X:1
T:First Jig
T:its other name
K:G
GAB
X:2
T:Second  Jig
K:D
DEF
"""


def test_tunes_get_what_holds_for_the_whole_book():
    first, second = tunes_of(BOOK.replace("\n", "\r\n"))
    assert (first.number, first.title, second.title) == (1, "First Jig", "Second Jig")
    assert second.text == "X:2\nB:The book\nM:6/8\nT:Second  Jig\nK:D\nDEF\n"


def test_text_without_a_number_is_one_tune():
    (only,) = tunes_of("T:Air\nK:C\nCDE\n")
    assert (only.title, only.text) == ("Air", "T:Air\nK:C\nCDE\n")


def test_spaces_in_a_tempo_are_taken_out():
    (only,) = tunes_of("X:1\nQ: 1/4 = 50\nK:C\nC = D\n")
    assert only.text == "X:1\nQ: 1/4=50\nK:C\nC = D\n"


@pytest.mark.parametrize(
    ("request_", "number"),
    [(2, 2), ("2", 2), ("second jig", 2), ("First", 1), ("cond", 2), (None, 1), ("", 1)],
)
def test_choosing(request_, number):
    tune, told = chosen_tune("b.abc", tunes_of(BOOK), request_)
    assert tune.number == number
    assert bool(told) == (not request_)


@pytest.mark.parametrize(
    ("request_", "words"),
    [
        (3, "from 1 to 2"),
        (0, "from 1 to 2"),
        ("Reel", "no tune fits “Reel”"),
        ("jig", "several tunes fit “jig”, namely 1 First Jig, 2 Second Jig"),
    ],
)
def test_unclear_requests(request_, words):
    with pytest.raises(PartNotFound, match=words):
        chosen_tune("b.abc", tunes_of(BOOK), request_)
