"""One piece measured against several players who fingered every note of it.

Conventions
-----------
* The piece is taken as most players' tables have it; each player is laid beside it by pitch, and
  only notes that both have are compared.
* A player's figures are shares of those notes; the piece has their mean over the players, counted
  once for each of its notes.
* *All* is string, position and finger; on open strings the position does not count, and half
  position counts as first, since the tables know none.
"""

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher
from itertools import compress

from scoretools.agreement.found import Found, fingered, found_in, playing
from scoretools.agreement.rules import RULES
from scoretools.agreement.tally import Band, Hits, Share, Tally
from scoretools.collector import collector_paused
from scoretools.instrument import Instrument
from scoretools.model import Address, Certainty, Note, Part
from scoretools.player import Player
from scoretools.read.annotated import AnnotatedPart, PlayedStop

__all__ = ["measure_players"]

_Beside = Sequence[PlayedStop | None]
"""How one player played each note of the piece; none where the player's table lacks it."""


@dataclass(frozen=True, slots=True)
class _Right:
    """Whether one note is played as one player played it."""

    finger: bool
    string: bool
    position: bool

    @property
    def both(self) -> bool:
        return self.finger and self.string


@collector_paused()
def measure_players(tables: Sequence[AnnotatedPart], player: Player | None = None) -> Tally:
    """Measure the tool against the players of one piece.

    Parameters
    ----------
    tables
        The piece as each of its players played it, at least one.
    player
        For whom the tool fingers; by default a developing player with an average hand.

    Returns
    -------
    Tally
        The counts; every note that a player played is a mark.

    Raises
    ------
    PlayerError
        If the player plays another instrument than the violin.
    """
    part = _as_most_have_it(tables).part
    who = playing(part, player or Player())
    notes = [note for event in part.events for note in event.notes]
    beside = [_beside(notes, table) for table in tables]
    found = found_in(part.events, fingered(who, part).steps)
    compared = _compared(notes, found, beside)
    return Tally(
        notes=len(notes),
        marks=sum(any(row) for row in zip(*beside, strict=True)),
        hits=_mean_hits(compared),
        any_player=_any(compared),
        bands=tuple(_band(certainty, notes, found, compared) for certainty in Certainty),
        rules=tuple(
            _mean_hits(_compared(notes, _by_rule(name, who.instrument, notes), beside))
            for name in RULES
        ),
    )


def _as_most_have_it(tables: Sequence[AnnotatedPart]) -> AnnotatedPart:
    """Take the commonest row of pitches; of equally common ones the first."""
    rows = [tuple(_pitches(table.part)) for table in tables]
    counts = Counter(rows)
    return tables[max(range(len(rows)), key=lambda place: (counts[rows[place]], -place))]


def _pitches(part: Part) -> list[int]:
    return [note.pitch.midi for event in part.events for note in event.notes]


def _beside(notes: Sequence[Note], table: AnnotatedPart) -> _Beside:
    """Lay a player's notes beside those of the piece."""
    stops = [stop for chord in table.stops for stop in chord]
    beside: list[PlayedStop | None] = [None] * len(notes)
    ours = [note.pitch.midi for note in notes]
    matcher = SequenceMatcher(None, ours, _pitches(table.part), autojunk=False)
    for block in matcher.get_matching_blocks():
        beside[block.a : block.a + block.size] = stops[block.b : block.b + block.size]
    return beside


def _by_rule(name: str, played: Instrument, notes: Sequence[Note]) -> Mapping[Address, Found]:
    found = {note.address: RULES[name](played, note.pitch) for note in notes}
    return {address: how for address, how in found.items() if how is not None}


_Compared = Sequence[Sequence[_Right | None]]
"""For each player, for each note of the piece: what is right; none where the player lacks it."""


def _compared(
    notes: Sequence[Note], found: Mapping[Address, Found], beside: Sequence[_Beside]
) -> _Compared:
    ours = [found.get(note.address) for note in notes]
    return [
        [
            None if stop is None else _right(how, stop)
            for how, stop in zip(ours, player, strict=True)
        ]
        for player in beside
    ]


def _right(how: Found | None, stop: PlayedStop) -> _Right:
    if how is None:
        return _Right(False, False, False)
    finger = how.finger == stop.finger
    return _Right(
        finger=finger,
        string=how.string == stop.string,
        position=max(1, how.position) == stop.position or (finger and how.finger == 0),
    )


# ── counts ──────────────────────────────────────────────────────────────────────────────────────


def _mean_hits(compared: _Compared) -> Hits:
    return Hits(
        _mean(_told(compared, lambda right: right.finger)),
        _mean(_told(compared, lambda right: right.string)),
        _mean(_told(compared, lambda right: right.both and right.position)),
    )


def _told(compared: _Compared, which: Callable[[_Right], bool]) -> list[list[bool | None]]:
    return [[None if right is None else which(right) for right in row] for row in compared]


def _mean(rows: Sequence[Sequence[bool | None]]) -> Share:
    """Mean share over the players, counted once for each note that any of them has."""
    shares = []
    for row in rows:
        told = [one for one in row if one is not None]
        if told:
            shares.append(sum(told) / len(told))
    of = sum(any(one is not None for one in column) for column in zip(*rows, strict=True))
    return Share(of * sum(shares) / len(shares), of) if shares else Share()


def _any(compared: _Compared) -> Share:
    told = [
        any(right.both for right in column if right)
        for column in zip(*compared, strict=True)
        if any(column)
    ]
    return Share(sum(told), len(told))


def _band(
    certainty: Certainty,
    notes: Sequence[Note],
    found: Mapping[Address, Found],
    compared: _Compared,
) -> Band:
    inside = [
        how is not None and how.margin is not None and how.certainty is certainty
        for how in (found.get(note.address) for note in notes)
    ]
    rows = [list(compress(row, inside)) for row in compared]
    return Band(certainty, _mean(_told(rows, lambda right: right.both)), sum(inside))
