"""Which bars keep their marks when a share of them is given.

Conventions
-----------
* Only bars that carry a mark are dealt out. Bars with the same notes in the same rhythm are one
  group and stay together, so that no hidden bar is given away by its like.
* For each seed the groups are shuffled, and hidden one after another until at least the share that
  is not given is hidden, and at least one bar.
"""

import math
from collections import defaultdict
from collections.abc import Collection, Sequence
from random import Random

from scoretools.model import Event, Measure

__all__ = ["SEEDS", "hidden_bars"]

SEEDS = (1, 2, 3, 4, 5)
"""Seeds of the shuffles; figures are means over them."""


def hidden_bars(
    measures: Sequence[Measure],
    events: Sequence[Event],
    marked: Collection[int],
    percent: float,
    seed: int,
) -> frozenset[int]:
    """Choose the bars whose marks are hidden.

    Parameters
    ----------
    measures, events
        The part.
    marked
        Indices of the bars that carry a mark.
    percent
        Share of them that keep their marks, 0 to less than 100.
    seed
        Seed of the shuffle.

    Returns
    -------
    frozenset of int
        Indices of bars, all of them marked.
    """
    groups = _groups(measures, events, marked)
    Random(seed).shuffle(groups)
    wanted = max(1, math.ceil(len(marked) * (100 - percent) / 100 - 1e-9))
    hidden: set[int] = set()
    for group in groups:
        if len(hidden) >= wanted:
            break
        hidden |= group
    return frozenset(hidden)


def _groups(
    measures: Sequence[Measure], events: Sequence[Event], marked: Collection[int]
) -> list[set[int]]:
    """Put marked bars of the same notes and rhythm together, in the order of the music."""
    content: dict[int, list[object]] = defaultdict(list)
    for event in events:
        into = event.onset_ql - measures[event.measure].onset_ql
        notes = tuple((note.pitch.midi, note.duration_ql) for note in event.notes)
        content[event.measure].append((into, event.grace, notes))
    alike: dict[tuple[object, ...], set[int]] = defaultdict(set)
    for bar in sorted(marked):
        alike[tuple(content[bar])].add(bar)
    return list(alike.values())
