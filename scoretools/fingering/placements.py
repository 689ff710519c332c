"""What the rows of a complete fingering mean, and the position each goes by.

A first finger alone on the half step above the nut costs the same by either name. It goes by half
position only beside other fingers of half position, else it is first position's low first finger.
"""

from collections.abc import Iterator, Sequence
from itertools import accumulate

from scoretools.fingering.states import EITHER_AS_HALF, States
from scoretools.fingering.trellis import Kind, Moment
from scoretools.model import Offset, Placement, PositionNumber

__all__ = ["placements", "position_alone"]

_HALF = PositionNumber(0)
_FIRST = PositionNumber(1)


def placements(moments: Sequence[Moment], path: Sequence[int]) -> tuple[Placement, ...]:
    """Say where the hand is at every moment of a complete fingering.

    Parameters
    ----------
    moments
        Playable events, in order.
    path
        One row for each.
    """
    names = [_name(moment.kind, row) for moment, row in zip(moments, path, strict=True)]
    known: dict[tuple[Kind, int, PositionNumber], Placement] = {}
    found = []
    for moment, row, position in zip(moments, path, _positions(names), strict=True):
        key = moment.kind, row, position
        if key not in known:
            known[key] = _placement(moment.kind.states, row, position)
        found.append(known[key])
    return tuple(found)


def position_alone(states: States, row: int) -> PositionNumber:
    """Position of a row looked at by itself."""
    name = int(states.named[row])
    return _FIRST if name >= EITHER_AS_HALF else PositionNumber(name)


def _placement(states: States, row: int, position: PositionNumber) -> Placement:
    return Placement(
        home=Offset(int(states.home[row])),
        position=position,
        stops=states.stops(row),
        broken=bool(states.broken[row]),
    )


# ── names ───────────────────────────────────────────────────────────────────────────────────────


def _name(kind: Kind, row: int) -> int:
    """Position of a row; no finger down in half position is no reason to name it."""
    if any(mark.position is not None for mark in kind.marks):
        return int(kind.states.position[row])
    down = int(kind.states.finger[row].max()) > 0
    name = int(kind.states.named[row])
    return name if down or name != _HALF else EITHER_AS_HALF


def _positions(names: Sequence[int]) -> Iterator[PositionNumber]:
    """Name what goes by either name after the hand's place before and behind it."""
    before = list(accumulate(names, _last_named))
    behind = list(accumulate(reversed(names), _last_named))[::-1]
    for name, *beside in zip(names, before, behind, strict=True):
        if name < EITHER_AS_HALF:
            yield PositionNumber(name)
        else:
            yield _HALF if _HALF in beside else _FIRST


def _last_named(last: int, name: int) -> int:
    return last if name >= EITHER_AS_HALF else name
