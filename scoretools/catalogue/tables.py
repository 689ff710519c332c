"""A catalogue as one table: a row for each part, a column for each feature."""

import io
import sqlite3

import pandas as pd

from scoretools.catalogue.criteria import Criteria
from scoretools.catalogue.query import FoundPart, Rows, find, readable
from scoretools.catalogue.tags import BETWEEN_TAGS
from scoretools.difficulty import FEATURES
from scoretools.errors import MissingLibrary

__all__ = ["as_parquet", "parts_table", "rows_table"]


def parts_table(connection: sqlite3.Connection, criteria: Criteria) -> pd.DataFrame:
    """Return the parts that fit, each with its level, shapes, tags and all features.

    Parameters
    ----------
    connection
        An open catalogue.
    criteria
        Which parts.

    Returns
    -------
    pandas.DataFrame
        One row for each part, in the order of the criteria; shapes separated by spaces, tags by
        semicolons, which no tag holds.
    """
    found = find(connection, criteria)
    table = pd.DataFrame([_row(one) for one in found], columns=_COLUMNS)
    features = pd.read_sql_query("SELECT part_id, name, value FROM feature", connection)
    wide = features.pivot(index="part_id", columns="name", values="value")
    return table.join(wide.reindex(columns=list(FEATURES)), on="number")


_COLUMNS = [
    "number",
    "title",
    "composer",
    "part",
    "instrument",
    "rubric",
    "level",
    "level_value",
    "tempo",
    "hand_shapes",
    "tags",
    "path",
]


def _row(one: FoundPart) -> tuple[object, ...]:
    return (
        one.id,
        one.title,
        one.composer,
        one.part,
        one.instrument,
        one.rubric,
        one.level,
        one.value,
        "assumed" if one.tempo_assumed else "printed",
        " ".join(one.shapes),
        BETWEEN_TAGS.join(one.tags),
        one.path,
    )


def rows_table(found: Rows) -> pd.DataFrame:
    """Return the answer to a question in SQL as a table."""
    rows = [[readable(cell) for cell in row] for row in found.rows]
    return pd.DataFrame(rows, columns=list(found.columns), dtype=object)


def as_parquet(table: pd.DataFrame) -> bytes:
    """Write a table as Parquet.

    Raises
    ------
    MissingLibrary
        The extra ``parquet`` is not installed.
    """
    written = io.BytesIO()
    try:
        table.to_parquet(written, engine="pyarrow", index=False)
    except ImportError as error:
        raise MissingLibrary(
            "Parquet needs the library pyarrow; install it with: "
            "pip install 'scoretools[parquet]', or write a .csv file"
        ) from error
    return written.getvalue()
