"""The catalogue's file: of today, of yesterday, of tomorrow, and files that are none."""

import sqlite3
from dataclasses import replace
from pathlib import Path

import pytest

from scoretools.catalogue import Criteria, Wanted, catalogue, counts, find, reading, scan
from scoretools.catalogue.schema import STEPS
from scoretools.catalogue.store import Place
from scoretools.catalogue.work import scanned
from scoretools.errors import CatalogueError
from tests.cli.conftest import SAMPLES


def _of_yesterday(path: Path, today: Path, steps: int) -> None:
    """Copy a catalogue into the tables that the first steps made, as far as they held it."""
    with catalogue(path, STEPS[:steps]) as kept:
        kept.connection.execute("ATTACH DATABASE ? AS today", (str(today),))
        for table in ("score", "part", "feature", "level", "tag"):
            rows = kept.connection.execute(f"SELECT name FROM pragma_table_info('{table}')")
            columns = ", ".join(name for (name,) in rows)
            kept.connection.execute(
                f"INSERT INTO {table} ({columns}) SELECT {columns} FROM today.{table}"
            )


@pytest.mark.parametrize("steps", range(1, len(STEPS)))
def test_a_catalogue_of_yesterday_is_brought_to_today(
    tmp_path: Path, wanted: Wanted, steps: int
) -> None:
    today, path = tmp_path / "today.db", tmp_path / "old.db"
    made = scanned(SAMPLES[0], wanted)
    with catalogue(today) as kept:
        kept.put(made, wanted)
        unnamed = replace(made.parts[0], title="", name="Violino II")
        other = replace(made, path=Path("/folder/mill_stream.xml"), parts=(unnamed,))
        kept.put(replace(other, content_hash="other"), wanted)
    _of_yesterday(path, today, steps)
    with pytest.raises(CatalogueError, match="older version"), reading(path):
        pass
    with catalogue(path):
        pass
    with reading(path) as connection:
        (found,) = find(connection, Criteria(title="first"))
        assert found.title == "First Steps"
        (second,) = find(connection, Criteria(title="mill", part="2nd violin"))
        assert (second.title, second.part) == ("mill_stream.xml", "Violino II")
        assert connection.execute("PRAGMA user_version").fetchone() == (len(STEPS),)
        assert connection.execute("PRAGMA journal_mode").fetchone() == ("wal",)


def test_tags_that_a_table_could_not_keep_apart_are_written_anew(
    tmp_path: Path, wanted: Wanted
) -> None:
    today, path = tmp_path / "today.db", tmp_path / "old.db"
    with catalogue(today) as kept:
        kept.put(scanned(SAMPLES[0], wanted), wanted)
        rows = [(1, 1, "duo; slow"), (1, 1, "duo, slow"), (1, 1, "two\nlines"), (1, 1, "2024")]
        kept.connection.executemany("INSERT INTO tag VALUES (?, ?, ?)", rows)
    _of_yesterday(path, today, 3)
    with catalogue(path):
        pass
    with reading(path) as connection:
        (found,) = find(connection, Criteria())
    assert found.tags == ("2024", "duo, slow", "two lines")


@pytest.mark.parametrize(
    ("tag", "said"),
    [
        ("1", "no tag; write the tag before the numbers"),
        ("duo; slow", "holds no semicolon"),
        ("bell\x07", "cannot be printed"),
        (" \n", "at least one letter"),
    ],
)
def test_what_is_no_tag_is_one_sentence(
    tmp_path: Path, wanted: Wanted, tag: str, said: str
) -> None:
    path = tmp_path / "library.db"
    with catalogue(path) as kept:
        kept.put(scanned(SAMPLES[0], wanted), wanted)
        with pytest.raises(CatalogueError, match=said):
            kept.add_tag(tag, [Place(1, 1)])
        kept.add_tag(" two  words ", [Place(1, 1)])
    with reading(path) as connection:
        assert find(connection, Criteria())[0].tags == ("two words",)


def test_a_catalogue_of_tomorrow_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "new.db"
    with catalogue(path, (*STEPS, "CREATE TABLE hologram (x);")):
        pass
    for opened in (catalogue, reading):
        with pytest.raises(CatalogueError, match="newer version"), opened(path):
            pass


@pytest.mark.parametrize("content", [b"no database at all, but a text" * 40, b""])
def test_other_files_are_refused(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "other.db"
    path.write_bytes(content)
    if content:
        for opened in (catalogue, reading):
            with pytest.raises(CatalogueError, match="this is no catalogue"), opened(path):
                pass
        assert path.read_bytes() == content
    else:
        with pytest.raises(CatalogueError), reading(path):
            pass


def test_another_programs_database_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "address-book.db"
    connection = sqlite3.connect(path)
    connection.execute("CREATE TABLE friend (name)")
    connection.commit()
    connection.close()
    for opened in (catalogue, reading):
        with pytest.raises(CatalogueError, match="but no catalogue"), opened(path):
            pass


def test_where_there_is_none_the_next_step_is_told(tmp_path: Path) -> None:
    with (
        pytest.raises(CatalogueError, match="scoretools catalogue scan FOLDER"),
        reading(tmp_path / "none.db"),
    ):
        pass


def test_nothing_can_be_changed_while_reading(tmp_path: Path, wanted: Wanted) -> None:
    path = tmp_path / "library.db"
    scan(SAMPLES[0].parent, path, wanted)
    with reading(path) as connection:
        assert counts(connection).parts == 6
        with pytest.raises(sqlite3.OperationalError):
            connection.execute("DELETE FROM part")
