"""Asking a catalogue: parts that fit, one part in full, and anything else in SQL.

All functions take a connection from `scoretools.catalogue.store.reading`, which cannot change the
file.
"""

import json
import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from typing import Any

from scoretools.catalogue.criteria import Criteria, statement
from scoretools.catalogue.store import Place
from scoretools.difficulty import FEATURES
from scoretools.errors import CatalogueError

__all__ = [
    "Counts",
    "FoundPart",
    "PartInFull",
    "Rows",
    "Unread",
    "answer",
    "counts",
    "find",
    "in_full",
    "place_of",
    "question",
    "readable",
    "unread",
]


@dataclass(frozen=True, slots=True)
class FoundPart:
    """A part that fits."""

    id: int
    """Its number in the catalogue."""
    title: str
    """Title of the piece; where it has none, the file's name."""
    composer: str
    """Composer; empty when the score gives none."""
    part: str
    """Name of the part."""
    instrument: str
    """``violin`` or ``viola``."""
    level: str
    """Level in words."""
    value: float
    """Number of the level's band, or its points."""
    rubric: str
    """Rubric of the level."""
    tempo_assumed: bool
    """Whether some of the tempo is assumed, since the score prints none."""
    highest_position: float
    """Highest position; 0.5 is half position, 0 open strings only."""
    bars: int
    """Length in bars."""
    seconds: float
    """Length in seconds."""
    shapes: tuple[str, ...]
    """Hand shapes, heaviest first."""
    tags: tuple[str, ...]
    """Tags."""
    path: str
    """The file."""


def find(connection: sqlite3.Connection, criteria: Criteria) -> tuple[FoundPart, ...]:
    """Find parts.

    Parameters
    ----------
    connection
        An open catalogue.
    criteria
        What is looked for.

    Raises
    ------
    CatalogueError
        A feature or an order is not known.
    """
    text, values = question(connection, criteria)
    with _interruptible(connection):
        return tuple(_found(row) for row in connection.execute(text, values))


def question(connection: sqlite3.Connection, criteria: Criteria) -> tuple[str, tuple[object, ...]]:
    """Write the statement that `find` asks, and what is bound to it; see `statement`."""
    if not criteria.rubric:
        criteria = replace(criteria, rubric=_only_rubric(connection))
    return statement(criteria)


def _only_rubric(connection: sqlite3.Connection) -> str:
    """Name the rubric that all scores were scanned with: the index of levels goes by names."""
    first, last = connection.execute(
        "SELECT (SELECT min(rubric) FROM score), (SELECT max(rubric) FROM score)"
    ).fetchone()
    return str(first) if first is not None and first == last else ""


def _found(row: Sequence[Any]) -> FoundPart:
    *plain, assumed, highest, bars, seconds, shapes, tags, path = row
    number, title, composer, part, instrument, level, value, rubric = plain
    return FoundPart(
        number,
        title,
        composer,
        part,
        instrument,
        level,
        value,
        rubric,
        bool(assumed),
        highest,
        int(bars),
        seconds,
        tuple((shapes or "").split()),
        tuple(json.loads(tags)),
        path,
    )


# ── one part ────────────────────────────────────────────────────────────────────────────────────


@dataclass(frozen=True, slots=True)
class PartInFull:
    """All that a catalogue holds of a part."""

    found: FoundPart
    """The part."""
    facts: dict[str, Any]
    """Columns of ``part`` and of its ``score``."""
    rows: dict[str, list[dict[str, Any]]]
    """By name of the table, the rows that belong to the part, in order."""


_TABLES = {
    "level": "rubric",
    "feature": "name",
    "hand_position": "position",
    "shape": "weight DESC",
    "double_stop": "moments DESC",
    "key_signature": "fifths",
    "demand": "place",
    "passage": "place",
    "hard_bar": "place",
    "drill": "place",
    "warning": "place",
}
"""Tables that belong to a part, and what their rows are ordered by."""


def in_full(connection: sqlite3.Connection, part: int) -> PartInFull:
    """Return all that is held of a part.

    Parameters
    ----------
    part
        Its number in the catalogue.

    Raises
    ------
    CatalogueError
        There is no such part.
    """
    place_of(connection, part)
    (facts,) = _dicts(
        connection,
        "SELECT score.path, content_hash, scanned_at, tool_version, player, fault, missing, part.* "
        "FROM part JOIN score ON score.id = part.score_id WHERE part.id = ?",
        (part,),
    )
    rows = {
        table: _dicts(
            connection, f"SELECT * FROM {table} WHERE part_id = ? ORDER BY {order}", (part,)
        )
        for table, order in _TABLES.items()
    }
    rows["feature"].sort(key=lambda row: FEATURES.index(row["name"]))
    (found,) = find(connection, Criteria(numbers=(part,), missing=None))
    return PartInFull(found, facts, rows)


def place_of(connection: sqlite3.Connection, part: int) -> Place:
    """Tell to which score a part belongs, and where in it.

    Raises
    ------
    CatalogueError
        There is no such part.
    """
    row = connection.execute("SELECT score_id, number FROM part WHERE id = ?", (part,)).fetchone()
    if row is None:
        raise CatalogueError(
            f"there is no part {part} in the catalogue; scoretools catalogue find lists the numbers"
        )
    return Place(*row)


def _dicts(
    connection: sqlite3.Connection, text: str, values: Sequence[object]
) -> list[dict[str, Any]]:
    rows = connection.execute(text, values)
    names = [column[0] for column in rows.description]
    return [
        {name: cell for name, cell in zip(names, row, strict=True) if name != "part_id"}
        for row in rows
    ]


# ── the whole catalogue ─────────────────────────────────────────────────────────────────────────


@dataclass(frozen=True, slots=True)
class Counts:
    """How much a catalogue holds."""

    scores: int
    """Scores that are there."""
    parts: int
    """Their parts."""
    unread: int
    """Scores of which not every part could be read."""
    missing: int
    """Scores that are gone."""
    profiles: tuple[str, ...]
    """Profiles they were fingered for."""
    players: tuple[str, ...]
    """Names of the players they were fingered for."""


def counts(connection: sqlite3.Connection) -> Counts:
    """Count what a catalogue holds."""

    def one(text: str) -> int:
        return int(connection.execute(text).fetchone()[0])

    def names(column: str) -> tuple[str, ...]:
        text = f"SELECT DISTINCT {column} FROM score WHERE {column} <> '' ORDER BY 1"
        return tuple(row[0] for row in connection.execute(text))

    return Counts(
        one("SELECT count(*) FROM score WHERE missing = 0"),
        one("SELECT count(*) FROM part JOIN score ON score.id = score_id WHERE missing = 0"),
        one("SELECT count(*) FROM score WHERE missing = 0 AND fault <> ''"),
        one("SELECT count(*) FROM score WHERE missing = 1"),
        names("profile"),
        names("player"),
    )


@dataclass(frozen=True, slots=True)
class Unread:
    """A score of which not every part could be read."""

    path: str
    """The file."""
    parts: int
    """Parts of it that could."""
    fault: str
    """Why the others could not."""


def unread(connection: sqlite3.Connection) -> tuple[Unread, ...]:
    """List the scores of which not every part could be read."""
    rows = connection.execute(
        "SELECT path, (SELECT count(*) FROM part WHERE score_id = score.id), fault "
        "FROM score WHERE missing = 0 AND fault <> '' ORDER BY path"
    )
    return tuple(Unread(*row) for row in rows)


# ── SQL ─────────────────────────────────────────────────────────────────────────────────────────


@dataclass(frozen=True, slots=True)
class Rows:
    """The answer to a question in SQL."""

    columns: tuple[str, ...]
    """Names of the columns."""
    rows: tuple[tuple[object, ...], ...]
    """The rows."""


_ALLOWED = frozenset(
    (sqlite3.SQLITE_SELECT, sqlite3.SQLITE_READ, sqlite3.SQLITE_FUNCTION, sqlite3.SQLITE_RECURSIVE)
)
"""What a question in SQL may do."""

_FORBIDDEN_FUNCTIONS = frozenset(("load_extension", "fts3_tokenizer"))
"""Functions that reach beyond the file."""


def answer(connection: sqlite3.Connection, sql: str) -> Rows:
    """Answer a question in SQL; it can read, and do nothing else.

    Parameters
    ----------
    connection
        An open catalogue.
    sql
        One SELECT.

    Raises
    ------
    CatalogueError
        It is not one SELECT that can be answered.
    """
    connection.set_authorizer(_may)
    try:
        with _interruptible(connection):
            found = connection.execute(sql)
            names = tuple(column[0] for column in found.description or ())
            return Rows(names, tuple(found))
    except (sqlite3.Error, sqlite3.Warning, ValueError, OverflowError) as fault:
        words = " ".join(str(fault).split()).rstrip(".")
        raise CatalogueError(
            f"--sql: {words}; write one SELECT that reads the tables part, score, feature, level, "
            "shape, demand, hard_bar and the like"
        ) from fault
    finally:
        connection.set_authorizer(None)


def readable(cell: object) -> object:
    """Write bytes, which neither JSON nor a table can hold, in hexadecimal."""
    return cell.hex() if isinstance(cell, bytes) else cell


def _may(action: int, first: str | None, second: str | None, *_: object) -> int:
    if action == sqlite3.SQLITE_FUNCTION and second in _FORBIDDEN_FUNCTIONS:
        return sqlite3.SQLITE_DENY
    return sqlite3.SQLITE_OK if action in _ALLOWED else sqlite3.SQLITE_DENY


_STEPS = 100_000
"""Steps of the database's machine between two looks whether Ctrl-C was pressed."""


@contextmanager
def _interruptible(connection: sqlite3.Connection) -> Iterator[None]:
    """Let Ctrl-C end a question that takes long."""
    # A call of anything in Python is where Ctrl-C is noticed; raised there, it ends the question.
    connection.set_progress_handler(lambda: 0, _STEPS)
    try:
        yield
    except sqlite3.OperationalError as fault:
        if "interrupted" in str(fault):
            raise KeyboardInterrupt from fault
        raise
    finally:
        connection.set_progress_handler(None, 0)
