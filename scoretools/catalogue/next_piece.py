"""Which piece next: what each part of a catalogue would bring that is new to a player.

Conventions
-----------
* New is a hand shape, a position or a kind of double stop that the player file does not name as
  known. Shapes in work are no longer new.
* A part is ranked by how many things are new, then by its level, then by how often in a bar the new
  things are met: the fewest come first, and among equals the easier piece, then the one that lets
  them be met often enough to be learnt.
* Parts beyond the player's highest position, and those for another instrument, are no next piece,
  unless the criteria ask for them.
* A shape with a gap that has no letter (``?``) is a stretch of its own, no shape to be learnt.
"""

import sqlite3
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from scoretools.catalogue.criteria import Criteria, Range
from scoretools.catalogue.query import FoundPart, find
from scoretools.instrument import position_label, position_number
from scoretools.model import PositionNumber
from scoretools.player import Player

__all__ = ["NewThing", "Suggestion", "for_player", "next_pieces", "too_high", "words_of_new"]

_HIGHEST = "highest_position"


@dataclass(frozen=True, slots=True)
class NewThing:
    """Something in a part that is new to the player."""

    words: str
    """What it is: ``shape H-W-W``, ``3rd position``, ``double stops: sixths``."""
    moments: int
    """How often it comes."""
    bars: str
    """Where."""


@dataclass(frozen=True, slots=True)
class Suggestion:
    """A part, and what it would bring."""

    found: FoundPart
    """The part."""
    new: tuple[NewThing, ...]
    """What is new in it, most often met first."""


def for_player(player: Player, criteria: Criteria) -> Criteria:
    """Ask for parts within the player's highest position and for the player's instrument.

    Parameters
    ----------
    player
        Who plays.
    criteria
        What is asked besides; an instrument or a highest position in it goes before the player's.
    """
    features = criteria.features
    if player.highest_position is not None and _HIGHEST not in dict(features):
        most = Range(None, position_number(player.highest_position))
        features = (*features, (_HIGHEST, most))
    instrument = criteria.instrument or player.instrument or ""
    return replace(criteria, features=features, instrument=instrument)


def too_high(connection: sqlite3.Connection, player: Player, criteria: Criteria) -> int:
    """Count the parts that are left out for the player's highest position alone."""
    within = for_player(player, criteria)
    at_any_height = replace(within, features=criteria.features)
    return len(find(connection, at_any_height)) - len(find(connection, within))


def next_pieces(
    connection: sqlite3.Connection, player: Player, criteria: Criteria
) -> tuple[Suggestion, ...]:
    """Rank the parts of a catalogue by what is new for a player.

    Parameters
    ----------
    connection
        An open catalogue.
    player
        Who plays; its known shapes, positions and double stops are not new.
    criteria
        Which parts come into question; see `for_player` for what is left out besides.

    Returns
    -------
    tuple of Suggestion
        Fewest new things first.

    Raises
    ------
    CatalogueError
        As `find`.
    """
    parts = find(connection, for_player(player, criteria))
    new = _new_by_part(connection, player)
    suggestions = (Suggestion(found, tuple(new.get(found.id, ()))) for found in parts)
    return tuple(sorted(suggestions, key=_rank))


def _rank(one: Suggestion) -> tuple[int, float, float, int]:
    met = sum(thing.moments for thing in one.new)
    return len(one.new), one.found.value, -met / max(one.found.bars, 1), one.found.id


def _new_by_part(connection: sqlite3.Connection, player: Player) -> Mapping[int, list[NewThing]]:
    found: dict[int, list[NewThing]] = {}
    for part, thing in _new_things(connection, player):
        found.setdefault(part, []).append(thing)
    for things in found.values():
        things.sort(key=lambda thing: -thing.moments)
    return found


def _new_things(connection: sqlite3.Connection, player: Player) -> Iterator[tuple[int, NewThing]]:
    known = frozenset((*player.known_shapes, *player.shapes_in_work))
    for part, gaps, moments, bars in connection.execute(
        "SELECT part_id, gaps, moments, bars FROM shape"
    ):
        if gaps not in known and "?" not in gaps:
            yield part, NewThing(f"shape {gaps}", moments, bars)
    positions = _known_positions(player)
    for part, position, moments, bars in connection.execute(
        "SELECT part_id, position, moments, bars FROM hand_position"
    ):
        if position not in positions:
            yield part, NewThing(position_label(PositionNumber(position)), moments, bars)
    for part, interval, moments, bars in connection.execute(
        "SELECT part_id, interval, moments, bars FROM double_stop"
    ):
        if interval not in player.known_double_stops:
            yield part, NewThing(f"double stops: {interval}", moments, bars)


def _known_positions(player: Player) -> frozenset[int]:
    if player.known_positions is not None:
        return frozenset(player.known_positions)
    if player.highest_position is None:
        return frozenset((1,))
    return frozenset(range(player.highest_position + 1))


def words_of_new(things: Sequence[NewThing]) -> str:
    """Say what is new, in one line."""
    if not things:
        return "nothing new"
    return "; ".join(f"{one.words} ({one.moments}×, {one.bars})" for one in things)
