"""Which demands one drill serves: a hand place, a finger that changes, a way between positions.

Demands in one group are alike enough for one drill; demands in one `item` of it are alike enough
for one exercise: the same fingers at the same places, on whichever string.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from scoretools.drills.forms import LEARNING_ORDER
from scoretools.hand import FINGERS
from scoretools.model import Demand, DemandKind
from scoretools.shapes import fits_the_frame

__all__ = ["OF_ONE_HAND", "Group", "groups", "lead", "rank"]

OF_ONE_HAND = (
    DemandKind.REACH_BACK,
    DemandKind.EXTENSION,
    DemandKind.AUGMENTED_SECOND,
    DemandKind.SHAPE,
)
"""What is asked while the hand keeps one shape, and is practised in one drill: the stretch first,
then the shape."""

ITEMS_AT_MOST: Mapping[DemandKind, int] = MappingProxyType(
    {
        DemandKind.SHIFT: 4,
        DemandKind.SHAPE_CHANGE: 4,
        DemandKind.CHROMATIC_SLIDE: 4,
        DemandKind.DOUBLE_STOP: 4,
        DemandKind.CHORD: 4,
    }
)
"""Items of one drill; what goes beyond is a drill of its own."""


@dataclass(frozen=True, slots=True)
class Group:
    """Demands that one drill serves."""

    items: tuple[tuple[int, ...], ...]
    """Indices of demands, those of one exercise together; heaviest item first, and in it the
    heaviest demand."""
    weight: float
    """Load points of all of them."""

    @property
    def demands(self) -> tuple[int, ...]:
        """Indices of all its demands."""
        return tuple(index for item in self.items for index in item)


def groups(demands: Sequence[Demand], known_shapes: Sequence[str]) -> list[Group]:
    """Group demands, heaviest group first; shapes the player knows are left out."""
    together: dict[tuple[object, ...], dict[object, list[int]]] = {}
    for index, demand in enumerate(demands):
        if demand.kind is DemandKind.SHAPE and demand.gaps in known_shapes:
            continue
        items = together.setdefault(_alike(demand), {})
        items.setdefault(_item(demand), []).append(index)
    found = [
        Group(tuple(map(tuple, items)), _weight(demands, items))
        for members in together.values()
        for items in _cut(demands, list(members.values()))
    ]
    return sorted(found, key=lambda group: (-group.weight, group.items))


def _weight(demands: Sequence[Demand], items: Sequence[Sequence[int]]) -> float:
    return sum(demands[index].weight for item in items for index in item)


def _cut(demands: Sequence[Demand], items: list[list[int]]) -> list[list[list[int]]]:
    """Cut items, heaviest first, into as many as one drill holds."""
    most = ITEMS_AT_MOST.get(demands[items[0][0]].kind, len(items))
    items = sorted(items, key=lambda item: (-_weight(demands, [item]), item))
    return [items[start : start + most] for start in range(0, len(items), most)]


def _alike(demand: Demand) -> tuple[object, ...]:
    """What demands have in common that one drill can serve."""
    if demand.kind in OF_ONE_HAND:
        return "hand", demand.position, demand.first_offset, demand.gaps, _stretch_not_asked(demand)
    if demand.kind is DemandKind.SHIFT and demand.from_position is not None:
        departure, arrival = demand.stops
        skips = abs(departure.string - arrival.string) > 1
        return "shift", skips, *sorted((demand.from_position, demand.position))
    if demand.kind is DemandKind.DOUBLE_STOP:
        with_open = "with the open string" in demand.detail
        interval = "" if with_open else demand.detail.split(" on the ")[0]
        return "double stop", with_open, interval
    if demand.kind is DemandKind.CHORD:
        return "chord", len(demand.stops)
    return "finger", demand.position, demand.stops[0].finger


def _stretch_not_asked(demand: Demand) -> bool:
    """Tell whether a plain shape would need a stretch, of which the music asks none."""
    shape = demand.shape
    if demand.kind is not DemandKind.SHAPE or shape is None:
        return False
    return not fits_the_frame(shape) and not {FINGERS[0], FINGERS[-1]} <= set(shape.known)


def _item(demand: Demand) -> object:
    """What demands of one group have in common that one exercise can serve."""
    if demand.kind in OF_ONE_HAND:
        return ""  # the drill goes through its hand as a whole
    fingers = tuple(stop.finger for stop in demand.stops)
    if demand.kind is DemandKind.SHIFT:
        across = demand.stops[0].string != demand.stops[1].string
        upwards = demand.from_position is None or demand.from_position <= demand.position
        return fingers if upwards else fingers[::-1], across
    places = tuple(stop.offset for stop in demand.stops)
    if demand.kind is DemandKind.DOUBLE_STOP:
        return demand.position, fingers
    if demand.kind is DemandKind.CHORD:
        return demand.string, fingers, places
    return demand.kind, tuple(sorted(places))


def lead(served: Sequence[Demand]) -> Demand:
    """Give the demand that names a drill: of one hand the heaviest stretch, else the foremost."""
    kinds = {demand.kind for demand in served}
    kind = next((kind for kind in OF_ONE_HAND if kind in kinds), None)
    if kind is None:
        return served[0]
    return max((d for d in served if d.kind is kind), key=lambda demand: demand.weight)


def rank(gaps: str) -> int:
    """Place of a shape in the usual learning order; shapes without one come last."""
    return LEARNING_ORDER.index(gaps) if gaps in LEARNING_ORDER else len(LEARNING_ORDER)
