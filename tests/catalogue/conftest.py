"""A small library of scores, and what a catalogue holds of it."""

import shutil
import sqlite3
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from scoretools.catalogue import Wanted
from scoretools.difficulty import read_rubric
from scoretools.player import Player
from tests.cli.conftest import QUARTET, SAMPLES
from tests.conftest import score_text

BOOK = """X:1
T:First tune
M:4/4
L:1/4
K:D
D E F G | A B c d |

X:2
T:Second tune
M:4/4
L:1/4
K:G
G A B c | d e f g |
"""
"""Two tunes in ABC notation."""

TABLES = (
    "score", "part", "feature", "level", "hand_position", "shape", "double_stop", "key_signature",
    "demand", "passage", "hard_bar", "drill", "warning", "tag",
)  # fmt: skip

_BY_CHANCE = {"scanned_at"}
"""Columns that differ from scan to scan."""


@pytest.fixture(scope="session")
def wanted() -> Wanted:
    return Wanted(Player(), (read_rubric("bands"), read_rubric("index")))


@pytest.fixture
def library(tmp_path: Path) -> Path:
    """Three sample scores, a score of three parts, a book of two tunes, and a damaged file."""
    folder = tmp_path / "scores"
    (folder / "trios").mkdir(parents=True)
    for sample in SAMPLES[:3]:
        shutil.copy(sample, folder)
    (folder / "trios" / "three.musicxml").write_text(QUARTET, encoding="utf-8")
    (folder / "book.abc").write_text(BOOK, encoding="utf-8")
    (folder / "damaged.musicxml").write_text("<score-partwise><part", encoding="utf-8")
    (folder / "notes.txt").write_text("no score", encoding="utf-8")
    (folder / ".hidden.musicxml").write_text("no score", encoding="utf-8")
    return folder


@pytest.fixture
def shelf(tmp_path: Path) -> Path:
    """Thirty short scores, quickly read."""
    folder = tmp_path / "shelf"
    folder.mkdir()
    for number in range(30):
        words = " ".join(f"{'ABCDEFG'[(number + step) % 7]}4" for step in range(4 + number % 5))
        text = score_text("violin", words)
        (folder / f"{number:02}.musicxml").write_text(text, encoding="utf-8")
    return folder


Rows = dict[str, list[tuple[Any, ...]]]


@pytest.fixture
def rows_of() -> Callable[[Path], Rows]:
    """All rows of a catalogue, without numbers given in the order of arrival."""
    return _rows_of


def _rows_of(database: Path) -> Rows:
    with sqlite3.connect(database) as connection:
        connection.row_factory = sqlite3.Row
        paths = dict(connection.execute("SELECT id, path FROM score").fetchall())
        parts = {
            row["id"]: (paths[row["score_id"]], row["number"])
            for row in connection.execute("SELECT id, score_id, number FROM part")
        }
        found: Rows = {}
        for table in TABLES:
            rows = connection.execute(f"SELECT * FROM {table}").fetchall()
            found[table] = sorted(
                (
                    tuple(
                        _plain(table, name, value, paths, parts)
                        for name, value in dict(row).items()
                    )
                    for row in rows
                ),
                key=repr,
            )
    connection.close()
    return found


def _plain(table: str, name: str, value: Any, paths: Any, parts: Any) -> Any:
    if name in _BY_CHANCE or (name == "id" and table in ("score", "part")):
        return None
    if name == "part_id":
        return parts[value]
    return paths[value] if name == "score_id" else value
