"""Several parts together: what a whole programme needs, and how two parts differ."""

import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from scoretools.catalogue.criteria import Criteria
from scoretools.catalogue.query import FoundPart, PartInFull, find, in_full, place_of
from scoretools.errors import CatalogueError

__all__ = ["Difference", "HardBar", "Needed", "Serving", "Together", "compare", "together"]


@dataclass(frozen=True, slots=True)
class Needed:
    """A shape or position that some of the parts need."""

    name: str
    """Spacing of the shape, or number of the position (0 = half)."""
    moments: int
    """How often it comes in all of them."""
    parts: tuple[int, ...]
    """Numbers of the parts that need it."""


@dataclass(frozen=True, slots=True)
class Serving:
    """A drill, and what it serves of the whole."""

    title: str
    """What is practised."""
    share: float
    """Share of what all parts together ask of the hand, 0 to 1."""
    parts: tuple[int, ...]
    """Numbers of the parts it serves."""


@dataclass(frozen=True, slots=True)
class HardBar:
    """A bar that loads the hand."""

    part: int
    """Number of its part."""
    bar: str
    """Which."""
    load: float
    """Load points a second."""
    reasons: str
    """What makes it."""


@dataclass(frozen=True, slots=True)
class Together:
    """What several parts need together."""

    parts: tuple[FoundPart, ...]
    """The parts, in the order asked for."""
    shapes: tuple[Needed, ...]
    """Hand shapes: those that most parts need first, then those that come most often."""
    positions: tuple[Needed, ...]
    """Positions, lowest first."""
    drills: tuple[Serving, ...]
    """Drills, those that serve most of the whole first."""
    hardest: tuple[HardBar, ...]
    """The hardest bars of all, heaviest first."""


def together(connection: sqlite3.Connection, parts: Sequence[int], hardest: int = 5) -> Together:
    """Sum up what several parts need.

    Parameters
    ----------
    connection
        An open catalogue.
    parts
        Numbers of the parts, at least one.
    hardest
        How many of the hardest bars are named.

    Raises
    ------
    CatalogueError
        No part is named, or one is not there.
    """
    if not parts:
        raise CatalogueError("name at least one part; scoretools catalogue find lists the numbers")
    numbers = tuple(dict.fromkeys(parts))
    for number in numbers:
        place_of(connection, number)
    found = find(connection, Criteria(numbers=numbers, missing=None))
    return Together(
        tuple(sorted(found, key=lambda one: numbers.index(one.id))),
        tuple(sorted(_needed(connection, "shape", "gaps", numbers), key=_most_parts_first)),
        tuple(sorted(_needed(connection, "hand_position", "position", numbers), key=_lowest_first)),
        _drills(connection, numbers),
        _hardest(connection, numbers, hardest),
    )


def _needed(
    connection: sqlite3.Connection, table: str, column: str, numbers: Sequence[int]
) -> list[Needed]:
    rows = connection.execute(
        f"SELECT {column}, sum(moments), group_concat(part_id) FROM {table} "
        f"WHERE part_id IN ({_marks(numbers)}) GROUP BY {column}",
        numbers,
    )
    return [Needed(str(name), moments, _in_order(ids, numbers)) for name, moments, ids in rows]


def _most_parts_first(one: Needed) -> tuple[int, int, str]:
    return -len(one.parts), -one.moments, one.name


def _lowest_first(one: Needed) -> int:
    return int(one.name)


def _drills(connection: sqlite3.Connection, numbers: Sequence[int]) -> tuple[Serving, ...]:
    """Weigh each drill's share of a part with what that part asks among all."""
    whole = connection.execute(
        f"SELECT sum(demand_weight) FROM part WHERE id IN ({_marks(numbers)})", numbers
    ).fetchone()[0]
    rows = connection.execute(
        "SELECT drill.title, sum(share * demand_weight), group_concat(part_id) FROM drill "
        f"JOIN part ON part.id = part_id WHERE part_id IN ({_marks(numbers)}) GROUP BY drill.title",
        numbers,
    )
    found = [
        Serving(title, weight / whole if whole else 0.0, _in_order(ids, numbers))
        for title, weight, ids in rows
    ]
    return tuple(sorted(found, key=lambda one: (-one.share, one.title)))


def _hardest(
    connection: sqlite3.Connection, numbers: Sequence[int], most: int
) -> tuple[HardBar, ...]:
    rows = connection.execute(
        "SELECT part_id, bar, load, reasons FROM hard_bar "
        f"WHERE part_id IN ({_marks(numbers)}) ORDER BY load DESC, part_id, place LIMIT ?",
        (*numbers, most),
    )
    return tuple(HardBar(*row) for row in rows)


def _in_order(ids: str, numbers: Sequence[int]) -> tuple[int, ...]:
    """Put the parts that SQLite lists into the order asked for."""
    return tuple(sorted({int(one) for one in ids.split(",")}, key=numbers.index))


def _marks(values: Sequence[int]) -> str:
    return ", ".join("?" * len(values))


# ── two parts ───────────────────────────────────────────────────────────────────────────────────


@dataclass(frozen=True, slots=True)
class Difference:
    """Two parts side by side."""

    first: PartInFull
    """The one."""
    second: PartInFull
    """The other."""
    features: tuple[tuple[str, float, float], ...]
    """Features that differ, with both figures; what differs most among their figures first."""
    shapes: tuple[tuple[str, ...], tuple[str, ...], tuple[str, ...]]
    """Shapes of both, of the first alone, of the second alone."""
    positions: tuple[tuple[int, ...], tuple[int, ...], tuple[int, ...]]
    """Positions, in the same way."""


def compare(connection: sqlite3.Connection, first: int, second: int) -> Difference:
    """Set two parts side by side.

    Raises
    ------
    CatalogueError
        One of them is not there.
    """
    one, other = in_full(connection, first), in_full(connection, second)
    figures = {row["name"]: row["value"] for row in other.rows["feature"]}
    pairs = [(row["name"], row["value"], figures[row["name"]]) for row in one.rows["feature"]]
    differing = [pair for pair in pairs if pair[1] != pair[2]]
    return Difference(
        one,
        other,
        tuple(sorted(differing, key=lambda pair: -_apart(pair[1], pair[2]))),
        _shared(one, other, "shape", "gaps"),
        _shared(one, other, "hand_position", "position"),
    )


def _apart(first: float, second: float) -> float:
    """How far two figures lie apart, as a share of the larger."""
    return abs(first - second) / max(abs(first), abs(second))


def _shared(
    one: PartInFull, other: PartInFull, table: str, column: str
) -> tuple[tuple[Any, ...], tuple[Any, ...], tuple[Any, ...]]:
    mine = [row[column] for row in one.rows[table]]
    yours = [row[column] for row in other.rows[table]]
    return (
        tuple(name for name in mine if name in yours),
        tuple(name for name in mine if name not in yours),
        tuple(name for name in yours if name not in mine),
    )
