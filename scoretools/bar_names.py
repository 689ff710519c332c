"""Names of bars as musicians say them, for all that a person reads.

Names of bars are formed here alone; tables, JSON and marks files keep the printed number.

Conventions
-----------
* A bar goes by its printed number: ``bar 12``, ``bars 3–5, 9``.
* The short bar that opens a movement is *the upbeat*. It is no bar and never part of a run:
  ``the upbeat and bars 1–3``. (*Upbeat to bar 3* would be the notes just before bar 3.)
* A short bar further on is the rest of a divided bar and has that bar's name.
* The movement is named where the part has more than one: ``2nd movement bars 3–5``.

Sources: common practice, no published source.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from scoretools.instrument import ordinal
from scoretools.model import Measure

__all__ = [
    "NamedRun",
    "bar_name",
    "bars_counted",
    "bars_in_words",
    "is_upbeat",
    "length_words",
    "named_runs",
]

_UPBEAT = "upbeat"


@dataclass(frozen=True, slots=True)
class NamedRun:
    """Bars that follow each other, and how they are told after those before them."""

    before: str
    """What stands before the name: ``bars ``, ``, ``, `` and bar ``; may be empty."""
    name: str
    """Their name: ``12``, ``3–5``, ``the upbeat``."""
    measures: tuple[int, ...]
    """Indices of the bars."""


def is_upbeat(measures: Sequence[Measure], index: int) -> bool:
    """Tell whether a bar is the upbeat that opens its movement.

    Parameters
    ----------
    measures
        All bars of the part, in order.
    index
        Index of the bar.
    """
    return measures[_owner(measures, index)].upbeat


def bar_name(measures: Sequence[Measure], index: int) -> str:
    """Name a bar: ``12``, or ``upbeat``; the rest of a divided bar has that bar's number."""
    here = measures[_owner(measures, index)]
    return _UPBEAT if here.upbeat else here.number


def _owner(measures: Sequence[Measure], index: int) -> int:
    """Find the bar of which a short bar is the rest; of an upbeat, its first bar."""
    while index and measures[index].upbeat:
        if measures[index - 1].movement != measures[index].movement:
            break
        index -= 1
    return index


def bars_in_words(measures: Sequence[Measure], indices: Iterable[int], words: bool = True) -> str:
    """List bars, runs drawn together: ``the upbeat and bars 3–5, 9``; parameters of `named_runs`.

    Returns
    -------
    str
        ``no bar`` where there is none.
    """
    runs = named_runs(measures, indices, words)
    return "".join(run.before + run.name for run in runs) or "no bar"


def named_runs(
    measures: Sequence[Measure], indices: Iterable[int], words: bool = True
) -> tuple[NamedRun, ...]:
    """Draw bars together into runs and name each, so that joined they can be read aloud.

    Parameters
    ----------
    measures
        All bars of the part, in order.
    indices
        Indices of the bars to be named, in any order.
    words
        Whether the words *the*, *bar* and *bars* stand with them; a column headed so needs none.

    Returns
    -------
    tuple of NamedRun
        In order; bars of one name come once.
    """
    several = len({measure.movement for measure in measures}) > 1
    by_movement: dict[int, list[int]] = {}
    for index in sorted(set(indices)):
        by_movement.setdefault(measures[index].movement, []).append(index)
    found: list[NamedRun] = []
    for movement, here in by_movement.items():
        before = "; " if found else ""
        before += f"{ordinal(movement)} movement " if several else ""
        found += _told(_runs(measures, here), before, words, article=not several)
    return tuple(found)


def _told(
    runs: Sequence[tuple[str, tuple[int, ...]]], before: str, words: bool, article: bool
) -> Iterator[NamedRun]:
    """Put the words before the runs of a movement: ``the upbeat``, `` and bars ``, ``, ``."""
    numbered = [name for name, _ in runs if name != _UPBEAT]
    noun = "bar " if len(numbered) == 1 and "–" not in numbered[0] else "bars "
    told = False
    for place, (name, measures) in enumerate(runs):
        if name == _UPBEAT:
            yield NamedRun(before, f"the {name}" if words and article else name, measures)
        elif words and not told:
            yield NamedRun(f" and {noun}" if place else f"{before}{noun}", name, measures)
        else:
            yield NamedRun(", " if place else before, name, measures)
        told = told or name != _UPBEAT


def _runs(measures: Sequence[Measure], indices: Sequence[int]) -> list[tuple[str, tuple[int, ...]]]:
    """Draw bars of a movement together; the rest of a divided bar breaks no run."""
    runs: list[list[int]] = []
    for index in indices:
        if runs and _follows(measures, runs[-1][-1], index):
            runs[-1].append(index)
        else:
            runs.append([index])
    named: dict[str, tuple[int, ...]] = {}
    for run in runs:
        first, last = bar_name(measures, run[0]), bar_name(measures, run[-1])
        named.setdefault(first if first == last else f"{first}–{last}", tuple(run))
    return list(named.items())


def _follows(measures: Sequence[Measure], before: int, index: int) -> bool:
    if is_upbeat(measures, before) != is_upbeat(measures, index):
        return False
    return all(measures[between].upbeat for between in range(before + 1, index))


# ── how many ────────────────────────────────────────────────────────────────────────────────────


def bars_counted(measures: Sequence[Measure]) -> int:
    """Count bars as musicians do: no upbeat, and the two parts of a divided bar as one."""
    return sum(not measure.upbeat for measure in measures)


def length_words(measures: Sequence[Measure]) -> str:
    """Say how long a part is: ``65 bars and an upbeat``."""
    bars = bars_counted(measures)
    movements = {m.movement for m in measures if is_upbeat(measures, m.index)}
    upbeats = "an upbeat" if len(movements) == 1 else f"{len(movements)} upbeats"
    counted = [f"{bars} bar{'' if bars == 1 else 's'}"] if bars or not movements else []
    return " and ".join([*counted, *([upbeats] if movements else [])])
