"""Tags: what may be one, and which are in use.

A tag is one line without semicolons, so that several fit into one cell of a table; a bare number is
none, since parts are called by their numbers.
"""

import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass

from scoretools.errors import CatalogueError, nearest

__all__ = ["BETWEEN_TAGS", "TagInUse", "known_tag", "nearest_tag", "one_line", "tags_in_use"]

BETWEEN_TAGS = "; "
"""What stands between the tags of a part in a table."""

_EXAMPLE = 'scoretools catalogue tag add "spring concert" 1 2'


@dataclass(frozen=True, slots=True)
class TagInUse:
    """A tag that parts bear."""

    tag: str
    """The tag."""
    parts: int
    """Parts that bear it, of scores that are there."""
    gone: int
    """Parts that bear it, of scores that are gone."""


def known_tag(text: str) -> str:
    """Return a tag as it is kept, with single spaces.

    Raises
    ------
    CatalogueError
        It is empty, a bare number, or holds signs that a tag cannot.
    """
    tag = " ".join(text.split())
    if not tag:
        raise CatalogueError("a tag needs at least one letter; write one in quotation marks")
    if tag.isdecimal():
        raise CatalogueError(
            f"“{tag}” is a number, as parts have them, and no tag; write the tag before the "
            f"numbers of the parts, as in: {_EXAMPLE}"
        )
    if ";" in tag or not tag.isprintable():
        raise CatalogueError(
            "a tag holds no semicolon, which stands between tags in tables, and no sign that "
            f"cannot be printed; write several tags one by one, as in: {_EXAMPLE}"
        )
    return tag


def one_line(tag: str) -> str:
    """Return a tag on one line, with commas for semicolons: what becomes of tags once allowed."""
    return " ".join(tag.replace(";", ",").split())


def tags_in_use(connection: sqlite3.Connection) -> tuple[TagInUse, ...]:
    """List the tags that parts bear, those of most parts first."""
    rows = connection.execute(
        "SELECT tag, sum(missing = 0), sum(missing = 1) FROM tag "
        "JOIN part ON part.score_id = tag.score_id AND part.number = tag.number "
        "JOIN score ON score.id = part.score_id GROUP BY tag "
        "ORDER BY 2 DESC, tag COLLATE NOCASE"
    )
    return tuple(TagInUse(*row) for row in rows)


def nearest_tag(tag: str, in_use: Sequence[TagInUse]) -> str:
    """Return the tag in use that was perhaps meant; empty where none is like it or begins so."""
    folded = {one.tag.casefold(): one.tag for one in in_use}
    typed = tag.casefold()
    begun = (name for name in folded if name.startswith(typed))
    return folded.get(nearest(typed, folded) or next(begun, ""), "")
