"""The catalogue's file: of today, of yesterday, of tomorrow, and files that are none."""

import sqlite3
from pathlib import Path

import pytest

from scoretools.catalogue import Criteria, Wanted, catalogue, counts, find, reading, scan
from scoretools.catalogue.schema import STEPS
from scoretools.catalogue.work import scanned
from scoretools.errors import CatalogueError
from tests.cli.conftest import SAMPLES


def test_a_catalogue_of_yesterday_is_brought_to_today(tmp_path: Path, wanted: Wanted) -> None:
    path = tmp_path / "old.db"
    with catalogue(path, STEPS[:1]) as kept:  # before words could be found
        kept.put(scanned(SAMPLES[0], wanted), wanted)
    with pytest.raises(CatalogueError, match="older version"), reading(path):
        pass
    with catalogue(path):
        pass
    with reading(path) as connection:
        (found,) = find(connection, Criteria(title="first"))
        assert found.title == "First Steps"
        assert connection.execute("PRAGMA user_version").fetchone() == (len(STEPS),)
        assert connection.execute("PRAGMA journal_mode").fetchone() == ("wal",)


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
