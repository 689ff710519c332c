"""What is new for a player, what a programme needs, how parts differ, and tables of it all."""

import io
import sqlite3
from collections.abc import Iterator
from pathlib import Path

import pandas as pd
import pytest

from scoretools.catalogue import Criteria, Range, Wanted, catalogue, find, in_full, reading, scan
from scoretools.catalogue.next_piece import next_pieces, too_high
from scoretools.catalogue.query import place_of
from scoretools.catalogue.tables import as_parquet, parts_table
from scoretools.catalogue.together import compare, together
from scoretools.difficulty import FEATURES
from scoretools.errors import CatalogueError
from scoretools.model import PositionNumber
from scoretools.player import Player
from scoretools.write.tables import as_csv
from tests.cli.conftest import SAMPLES


@pytest.fixture(scope="module")
def database(tmp_path_factory: pytest.TempPathFactory, wanted: Wanted) -> Path:
    path = tmp_path_factory.mktemp("together") / "library.db"
    scan(SAMPLES[0].parent, path, wanted)
    return path


@pytest.fixture
def connection(database: Path) -> Iterator[sqlite3.Connection]:
    with reading(database) as opened:
        yield opened


def _new(connection: sqlite3.Connection, player: Player) -> dict[str, set[str]]:
    return {
        one.found.title: {thing.words.split(":")[-1].strip() for thing in one.new}
        for one in next_pieces(connection, player, Criteria())
    }


def test_what_is_new_is_what_is_not_known(connection: sqlite3.Connection) -> None:
    # Worked by hand: First Steps stays in first position with the one shape W-H-W.
    assert _new(connection, Player(known_shapes=("W-H-W",)))["First Steps"] == set()
    assert _new(connection, Player())["First Steps"] == {"shape W-H-W"}
    nothing = _new(connection, Player(known_positions=()))["First Steps"]
    assert nothing == {"shape W-H-W", "1st position"}


def test_shapes_in_work_positions_and_double_stops_are_no_longer_new(
    connection: sqlite3.Connection,
) -> None:
    title = "Study in Two Voices"
    before = _new(connection, Player())[title]
    assert {"shape W-W-H", "3rd position", "sixth"} <= before
    after = _new(
        connection,
        Player(
            shapes_in_work=("W-W-H",),
            highest_position=PositionNumber(3),
            known_double_stops=("sixth",),
        ),
    )[title]
    assert after == before - {"shape W-W-H", "3rd position", "sixth"}


def test_fewest_new_things_come_first(connection: sqlite3.Connection) -> None:
    ranked = next_pieces(connection, Player(known_shapes=("W-H-W",)), Criteria())
    numbers = [len(one.new) for one in ranked]
    assert numbers == sorted(numbers)
    assert ranked[0].found.title == "First Steps"
    only_violas = next_pieces(connection, Player(), Criteria(instrument="viola"))
    assert [one.found.instrument for one in only_violas] == ["viola"]


def test_pieces_beyond_the_highest_position_are_no_next_piece(
    connection: sqlite3.Connection,
) -> None:
    # First Steps, Winter Window and Evening Boat stay in first position, the other three do not.
    beginner = Player(highest_position=PositionNumber(1))
    within = {one.found.title for one in next_pieces(connection, beginner, Criteria())}
    assert within == {"First Steps", "Winter Window", "Evening Boat"}
    assert too_high(connection, beginner, Criteria()) == 3
    asked = Criteria(features=(("highest_position", Range(None, 3)),))
    assert len(next_pieces(connection, beginner, asked)) == 6
    assert too_high(connection, beginner, asked) == 0
    low = Player(highest_position=PositionNumber(0))
    assert next_pieces(connection, low, Criteria()) == ()


def test_pieces_are_for_the_players_instrument(connection: sqlite3.Connection) -> None:
    violist = Player(instrument="viola")
    assert [one.found.title for one in next_pieces(connection, violist, Criteria())] == [
        "Mill Stream"
    ]
    assert len(next_pieces(connection, violist, Criteria(instrument="violin"))) == 5


def test_a_programme_sums_up_its_parts(connection: sqlite3.Connection) -> None:
    whole = together(connection, [4, 2, 4], hardest=3)
    assert [one.id for one in whole.parts] == [4, 2]
    two, four = in_full(connection, 2), in_full(connection, 4)
    for needed in whole.shapes:
        rows = [
            row["moments"]
            for full in (two, four)
            for row in full.rows["shape"]
            if row["gaps"] == needed.name
        ]
        assert needed.moments == sum(rows)
        assert len(needed.parts) == len(rows)
    loads = sorted(row["load"] for full in (two, four) for row in full.rows["hard_bar"])[-3:]
    assert [bar.load for bar in whole.hardest] == loads[::-1]
    served = sum(
        row["share"] * full.facts["demand_weight"] for full in (two, four)
        for row in full.rows["drill"]
    )  # fmt: skip
    every = two.facts["demand_weight"] + four.facts["demand_weight"]
    assert sum(drill.share for drill in whole.drills) == pytest.approx(served / every)
    shares = [drill.share for drill in whole.drills]
    assert shares == sorted(shares, reverse=True)


def test_a_programme_of_nothing_is_one_sentence(connection: sqlite3.Connection) -> None:
    with pytest.raises(CatalogueError, match="name at least one part"):
        together(connection, [])
    with pytest.raises(CatalogueError, match="there is no part 99"):
        together(connection, [1, 99])


def test_two_parts_differ_in_what_they_ask(connection: sqlite3.Connection) -> None:
    difference = compare(connection, 1, 4)
    assert difference.shapes == (("W-H-W",), (), ("W-W-H", "H-W-W", "H-W-H"))
    assert difference.positions[0] == (1,)
    assert 3 in difference.positions[2]
    figures = {name: (mine, yours) for name, mine, yours in difference.features}
    assert figures["highest_position"] == (1.0, 3.0)
    assert compare(connection, 2, 2).features == ()


# Source of the formulas a spreadsheet would run: OWASP, "CSV Injection".
FORMULA = '=HYPERLINK("http://example.org","x")'


def test_tables_are_read_back_equal(tmp_path: Path, wanted: Wanted) -> None:
    path = tmp_path / "library.db"
    scan(SAMPLES[0].parent, path, wanted)
    with reading(path) as connection:
        places = [place_of(connection, 1)]
    with catalogue(path) as kept:
        kept.add_tag(FORMULA, places)
        kept.add_tag('quote " and, comma', places)
    with reading(path) as connection:
        table = parts_table(connection, Criteria(order="number"))
        found = find(connection, Criteria(order="number"))
    assert list(table.columns[-len(FEATURES) :]) == list(FEATURES)
    assert list(table["number"]) == [one.id for one in found]
    packed = pd.read_parquet(io.BytesIO(as_parquet(table)))
    pd.testing.assert_frame_equal(packed, table, check_dtype=False)
    written = pd.read_csv(io.StringIO(as_csv(table)), keep_default_na=False)
    assert written["tags"][0].startswith("'=")
    assert "\n" not in written["tags"][0]
    assert tuple(written["tags"][0].removeprefix("'").split("; ")) == found[0].tags
    pd.testing.assert_frame_equal(
        written.drop(columns="tags"),
        table.drop(columns="tags"),
        check_dtype=False,
        rtol=0,
        atol=0.00005,  # a text has four decimals
    )
