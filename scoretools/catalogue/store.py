"""The catalogue's file: opened, brought to the tables of today, written by one writer.

Conventions
-----------
* Every change is one transaction: it is there as a whole or not at all, whatever ends the program.
* Text from scores, names and tags is always a bound parameter, never part of a statement.
* Whoever scans holds a lock beside the file; tags can be given meanwhile, between two scores.
"""

import json
import os
import sqlite3
from collections.abc import Iterable, Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import dataclass, fields
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from scoretools.catalogue.faults import told
from scoretools.catalogue.found_by import MIGRATIONS, name_words, shown_title
from scoretools.catalogue.rows import PartRow
from scoretools.catalogue.schema import APPLICATION_ID, STEPS
from scoretools.catalogue.tags import known_tag
from scoretools.catalogue.work import ScannedScore, Wanted
from scoretools.errors import CatalogueError

__all__ = [
    "Catalogue",
    "Known",
    "Place",
    "catalogue",
    "only_writer",
    "reading",
    "stored_path",
]

_PATIENCE_S = 30.0
"""How long a change waits for another writer, seconds."""


@dataclass(frozen=True, slots=True)
class Known:
    """What a catalogue holds of a file."""

    score: int
    """Number of the score."""
    scan_key: str
    """Key of the scan it comes from."""
    missing: bool
    """Whether it is marked as gone."""
    faulty: bool
    """Whether some of it could not be read."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where a part is found again."""

    score: int
    """Number of the score."""
    number: int
    """Place of the part in it, from 1."""


class Catalogue:
    """An open catalogue that can be changed; made by `catalogue`."""

    def __init__(self, path: Path, connection: sqlite3.Connection) -> None:
        self.path = path
        self.connection = connection

    # ── scores ──

    def known(self, path: Path) -> Known | None:
        """Tell what is held of a file."""
        row = self._one(
            "SELECT id, scan_key, missing, fault <> '' FROM score WHERE path = ?",
            (stored_path(path),),
        )
        return Known(row[0], row[1], bool(row[2]), bool(row[3])) if row else None

    def put(self, found: ScannedScore, wanted: Wanted) -> None:
        """Keep what was found in a file, in place of what was held of it before."""
        path = stored_path(found.path)
        with self._change():
            self._take_over_moved(path, found.content_hash)
            score = self._put_score(path, found, wanted)
            numbers = json.dumps([part.number for part in found.parts])
            self.connection.execute(
                "DELETE FROM part WHERE score_id = ? "
                "AND number NOT IN (SELECT value FROM json_each(?))",
                (score, numbers),
            )
            for part in found.parts:
                self._put_part(score, path, part)

    def found_again(self, score: int) -> None:
        """Take back the mark that a score is gone."""
        with self._change():
            self.connection.execute("UPDATE score SET missing = 0 WHERE id = ?", (score,))

    def holds_some_of(self, folder: Path) -> bool:
        """Tell whether scores of a folder are held that are not marked as gone."""
        return bool(self._there(folder))

    def mark_missing(self, folder: Path, seen: Iterable[Path], unread: Iterable[Path]) -> int:
        """Mark the scores of a folder that are gone.

        Parameters
        ----------
        folder
            The folder that was walked.
        seen
            Every score that was there.
        unread
            Folders in it that could not be opened, of which nothing is known.

        Returns
        -------
        int
            Scores newly marked.
        """
        here = {stored_path(path) for path in seen}
        closed = tuple(_inside(path) for path in unread)
        gone = [
            (score,)
            for score, path in self._there(folder)
            if path not in here and not path.startswith(closed)
        ]
        with self._change():
            self.connection.executemany("UPDATE score SET missing = 1 WHERE id = ?", gone)
        return len(gone)

    def count_rows(self) -> None:
        """Let SQLite count what its indexes hold, so that it asks the one that narrows most."""
        with told(self.path):
            self.connection.execute("PRAGMA analysis_limit = 1000")
            self.connection.execute("ANALYZE")

    # ── tags ──

    def add_tag(self, tag: str, places: Sequence[Place]) -> int:
        """Give parts a tag; return how many had it not yet.

        Raises
        ------
        CatalogueError
            It is no tag; see `known_tag`.
        """
        rows = [(place.score, place.number, known_tag(tag)) for place in places]
        with self._change():
            return self.connection.executemany(
                "INSERT OR IGNORE INTO tag (score_id, number, tag) VALUES (?, ?, ?)", rows
            ).rowcount

    def remove_tag(self, tag: str, places: Sequence[Place]) -> int:
        """Take a tag from parts; return how many had it."""
        rows = [(place.score, place.number, tag) for place in places]
        with self._change():
            return self.connection.executemany(
                "DELETE FROM tag WHERE score_id = ? AND number = ? AND tag = ?", rows
            ).rowcount

    # ── how it is done ──

    @contextmanager
    def _change(self) -> Iterator[None]:
        """Make one change of all that is done inside."""
        with told(self.path):
            self.connection.execute("BEGIN IMMEDIATE")
            try:
                yield
            except BaseException:
                if self.connection.in_transaction:
                    self.connection.execute("ROLLBACK")
                raise
            self.connection.execute("COMMIT")

    def _one(self, statement: str, values: Sequence[object]) -> tuple[Any, ...] | None:
        row: tuple[Any, ...] | None = self.connection.execute(statement, values).fetchone()
        return row

    def _there(self, folder: Path) -> list[tuple[int, str]]:
        """List the scores of a folder that are not marked as gone."""
        beginning = _inside(folder)
        return self.connection.execute(
            "SELECT id, path FROM score WHERE missing = 0 AND substr(path, 1, ?) = ?",
            (len(beginning), beginning),
        ).fetchall()

    def _take_over_moved(self, path: str, content: str) -> None:
        """Let a score that was moved or renamed keep its number, and so its tags."""
        if not content or self._one("SELECT id FROM score WHERE path = ?", (path,)):
            return
        same = self.connection.execute(
            "SELECT id, path FROM score WHERE content_hash = ? ORDER BY id", (content,)
        ).fetchall()
        gone = [score for score, was in same if not os.path.exists(was)]
        if gone:
            self.connection.execute("UPDATE score SET path = ? WHERE id = ?", (path, gone[0]))

    def _put_score(self, path: str, found: ScannedScore, wanted: Wanted) -> int:
        row = self._one(
            "INSERT INTO score (path, content_hash, scan_key, tool_version, profile, player, "
            "rubric, scanned_at, fault) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?) "
            "ON CONFLICT (path) DO UPDATE SET content_hash = excluded.content_hash, "
            "scan_key = excluded.scan_key, tool_version = excluded.tool_version, "
            "profile = excluded.profile, player = excluded.player, rubric = excluded.rubric, "
            "scanned_at = excluded.scanned_at, fault = excluded.fault, missing = 0 RETURNING id",
            (
                path,
                found.content_hash,
                wanted.scan_key(found.content_hash),
                found.tool_version,
                str(wanted.player.profile),
                wanted.player.name,
                wanted.rubrics[0].name,
                datetime.now(UTC).isoformat(timespec="seconds"),
                " ".join(f"{fault.rstrip('.')}." for fault in found.faults),
            ),
        )
        return int(row[0]) if row else 0

    def _put_part(self, score: int, path: str, part: PartRow) -> None:
        values = {
            **{field.name: getattr(part, field.name) for field in fields(part)},
            "shown_title": shown_title(part.title, path),
            "name_words": name_words(part.name, part.instrument),
        }
        del values["children"]
        columns = ["score_id", *values]
        row = self._one(
            f"INSERT INTO part ({', '.join(columns)}) VALUES ({_marks(columns)}) "
            f"ON CONFLICT (score_id, number) DO UPDATE SET "
            f"{', '.join(f'{name} = excluded.{name}' for name in values)} RETURNING id",
            (score, *values.values()),
        )
        for table, rows in part.children.items():
            self._put_rows(table, int(row[0]) if row else 0, rows)

    def _put_rows(self, table: str, part: int, rows: Sequence[Any]) -> None:
        self.connection.execute(f"DELETE FROM {table} WHERE part_id = ?", (part,))
        if not rows:
            return
        names = [field.name for field in fields(rows[0])]
        columns = ["part_id", *names]
        self.connection.executemany(
            f"INSERT INTO {table} ({', '.join(columns)}) VALUES ({_marks(columns)})",
            [(part, *(getattr(row, name) for name in names)) for row in rows],
        )


def _marks(columns: Sequence[str]) -> str:
    return ", ".join("?" * len(columns))


def stored_path(path: Path) -> str:
    """Write a path as it stands in a catalogue; bytes that are no text stand in hexadecimal."""
    return os.fsencode(os.path.abspath(path)).decode("utf-8", "backslashreplace")


def _inside(folder: Path) -> str:
    """How the paths in a folder begin."""
    return stored_path(folder).rstrip(os.sep) + os.sep


# ── opening ─────────────────────────────────────────────────────────────────────────────────────


@contextmanager
def catalogue(path: Path, steps: Sequence[str] = STEPS) -> Iterator[Catalogue]:
    """Open a catalogue to change it; make it where there is none, and bring an old one to today.

    Parameters
    ----------
    path
        Its file.
    steps
        Scripts that make its tables.

    Raises
    ------
    CatalogueError
        The file is something else, of a newer version, locked, full or not to be written.
    """
    with told(path), closing(_connected(path)) as connection:
        connection.execute("PRAGMA foreign_keys = ON")
        _refuse_others(path, connection, len(steps))
        if _pragma(connection, "user_version") < len(steps):
            with only_writer(path):
                connection.execute("PRAGMA journal_mode = WAL")
                _bring_to_today(connection, steps)
        yield Catalogue(path, connection)


@contextmanager
def only_writer(path: Path) -> Iterator[None]:
    """Hold the lock of a catalogue; the system frees it when this process ends, however it ends.

    Raises
    ------
    CatalogueError
        Another process holds it.
    """
    from filelock import FileLock, Timeout

    lock = FileLock(f"{path}.lock", timeout=0, is_singleton=True)
    try:
        lock.acquire()
    except Timeout:
        raise CatalogueError(
            f"{path}: another scan is writing into this catalogue; "
            "wait until it is done, or choose another file with --db"
        ) from None
    except OSError as fault:
        raise CatalogueError(
            f"{path}: it cannot be written ({(fault.strerror or str(fault)).lower()}); "
            "choose another file with --db"
        ) from fault
    try:
        yield
    finally:
        lock.release()


def _connected(path: Path) -> sqlite3.Connection:
    return sqlite3.connect(path, timeout=_PATIENCE_S, isolation_level=None)


def _refuse_others(path: Path, connection: sqlite3.Connection, steps: int) -> None:
    version = _pragma(connection, "user_version")
    tables = connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()[0]
    if tables and _pragma(connection, "application_id") != APPLICATION_ID:
        raise CatalogueError(
            f"{path}: this is a database, but no catalogue; choose another file with --db"
        )
    if version > steps:
        raise CatalogueError(
            f"{path}: the catalogue was made by a newer version of scoretools; "
            "bring the program up to date"
        )


def _bring_to_today(connection: sqlite3.Connection, steps: Sequence[str]) -> None:
    """Run the steps a file has not seen, each with its number in one transaction."""
    for name, arguments, function in MIGRATIONS:
        connection.create_function(name, arguments, function, deterministic=True)
    for number in range(_pragma(connection, "user_version"), len(steps)):
        connection.executescript(
            f"BEGIN IMMEDIATE; PRAGMA application_id = {APPLICATION_ID}; {steps[number]}; "
            f"PRAGMA user_version = {number + 1}; COMMIT;"
        )


def _pragma(connection: sqlite3.Connection, name: str) -> int:
    return int(connection.execute(f"PRAGMA {name}").fetchone()[0])


@contextmanager
def reading(path: Path, steps: Sequence[str] = STEPS) -> Iterator[sqlite3.Connection]:
    """Open a catalogue to read it; nothing can be changed through it.

    Raises
    ------
    CatalogueError
        There is none, or the file is something else or of another version.
    """
    if not os.path.isfile(path):
        raise CatalogueError(
            f"{path}: there is no catalogue here; make one with: "
            f"scoretools catalogue scan FOLDER --db {path}"
        )
    with told(path), closing(sqlite3.connect(_address(path), uri=True)) as connection:
        connection.execute("PRAGMA query_only = ON")
        _refuse_others(path, connection, len(steps))
        if _pragma(connection, "user_version") < len(steps):
            raise CatalogueError(
                f"{path}: the catalogue was made by an older version of scoretools; "
                "scan its folder once more"
            )
        yield connection


def _address(path: Path) -> str:
    """Open for reading only; on a medium that cannot be written, without looking for a writer."""
    address = f"{path.absolute().as_uri()}?mode=ro"
    writable = os.access(path.parent, os.W_OK) or Path(f"{path}-wal").exists()
    return address if writable else f"{address}&immutable=1"


# ── what goes wrong ─────────────────────────────────────────────────────────────────────────────
