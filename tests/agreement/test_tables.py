"""Sums, means over books, and the data for other programs."""

import json

import pytest

from scoretools.agreement import Entry, Hits, Share, Tally, added, as_data, headline, total
from scoretools.agreement.report import by_book
from scoretools.agreement.rules import FIRST_POSITION
from scoretools.agreement.tally import Band, added_hits, share_of
from scoretools.model import Certainty


def tally(right: int, of: int, notes: int = 10) -> Tally:
    share = Share(right, of)
    return Tally(notes=notes, marks=of, hits=Hits(share, Share(), share), honoured=Share(of, of))


ENTRIES = [
    Entry("a/kayser_op20_01.musicxml", "kayser_op20", tally(1, 4)),
    Entry("a/kayser_op20_03.musicxml", "kayser_op20", tally(5, 6)),
    Entry("a/seitz.musicxml", "seitz", tally(9, 10)),
    Entry("a/plain.musicxml", "plain", tally(0, 0)),
]


def test_a_share_of_nothing_is_none() -> None:
    assert share_of(Share()) is None
    assert share_of(Share(1, 4)) == 0.25


def test_sums_are_by_notes() -> None:
    assert total(ENTRIES).hits.finger == Share(15, 20)
    assert total(ENTRIES).notes == 40
    assert added([]) == Tally()


def test_the_headline_is_the_mean_over_books() -> None:
    books = by_book(ENTRIES)
    assert {name: share_of(one.hits.finger) for name, one in books.items()} == {
        "kayser_op20": 0.6,
        "seitz": 0.9,
        "plain": None,
    }
    means = headline(books)
    assert means["finger"] == pytest.approx(0.75)
    assert means["string"] is None
    assert means[FIRST_POSITION] is None


def test_bands_and_rules_add_up() -> None:
    sure = Band(Certainty.SURE, Share(2, 3), 5)
    rest = (Band(Certainty.LIKELY), Band(Certainty.OPEN))
    one = Tally(bands=(sure, *rest), rules=(Hits(Share(1, 2)), Hits()))
    both = added([one, one])
    assert both.bands[0] == Band(Certainty.SURE, Share(4, 6), 10)
    assert both.rules[0].finger == Share(2, 4)
    assert added_hits([Hits(string=Share(1, 1)), Hits()]).string == Share(1, 1)


def test_given_marks_are_means_over_seeds() -> None:
    seeds = tuple(Hits(finger=Share(right, 4)) for right in (4, 3, 2, 3, 3))
    with_given = Entry("a.musicxml", "a", Tally(marks=8, given=seeds))
    other = Entry("b.musicxml", "b", Tally(marks=2, given=(Hits(finger=Share(1, 2)),) * 5))
    table = Entry("c.csv", "c", Tally(marks=1))
    assert headline(by_book([with_given, table]))["given"] == pytest.approx(0.75)
    assert headline(by_book([with_given, other]))["given"] == pytest.approx((0.75 + 0.5) / 2)
    assert headline(by_book([table]))["given"] is None
    data = as_data([with_given])["total"]
    assert isinstance(data, dict)
    assert data["given"]["finger"] == pytest.approx(0.75)
    assert data["given"]["marks"] == 4


def test_the_data_has_its_keys_and_is_json() -> None:
    data = json.loads(json.dumps(as_data(ENTRIES)))
    first = data["files"][0]
    assert first["file"] == "a/kayser_op20_01.musicxml"
    assert (first["notes"], first["marks"]) == (10, 4)
    assert (first["finger"], first["string"], first["all"]) == (0.25, None, 0.25)
    assert "any" not in first
    assert data["files"][3]["finger"] is None
    assert (data["total"]["finger"], data["total"]["marks"]) == (0.75, 20)
    assert data["macro"]["finger"] == pytest.approx(0.75)
    assert data["books"]["kayser_op20"]["finger"] == 0.6
    assert {"notes", "marks", "finger", "string", "all"} <= data["total"].keys()


def test_any_stands_where_players_were_measured() -> None:
    entry = Entry("piece.csv", "piece", Tally(notes=4, marks=4, any_player=Share(3, 4)))
    data = as_data([entry])
    assert isinstance(data["total"], dict)
    assert data["total"]["any"] == 0.75
    assert headline(by_book([entry]))["any"] == 0.75
