"""Bars as a user asks for them, by printed numbers: ``12``, ``12-16``, ``12,15-18``."""

from collections.abc import Sequence

from scoretools.bar_names import bar_name, is_upbeat
from scoretools.errors import BarsNotFound
from scoretools.model import Analysis, Measure

__all__ = ["bars_from"]

_DASHES = ("-", "–", "—")
_UPBEAT = ("0", "upbeat", "theupbeat")
"""What the upbeat may be called, spaces left out."""


def bars_from(analysis: Analysis, text: str) -> tuple[range, ...]:
    """Read what ``--bars`` says.

    Parameters
    ----------
    text
        Bars and runs of bars, with commas between them. A number that comes back in each movement
        means the bar in each; ``2:12-16`` means that of the second. The upbeat is 0.

    Returns
    -------
    tuple of range
        For each run the indices of its bars.

    Raises
    ------
    BarsNotFound
        If the text cannot be understood or the part has no such bars.
    """
    measures = analysis.part.measures
    names = [bar_name(measures, measure.index) for measure in measures]
    runs = [
        run
        for item in text.split(",")
        for run in _runs(analysis, names, "".join(item.split()), text)
    ]
    return tuple(dict.fromkeys(runs))


def _runs(analysis: Analysis, names: Sequence[str], item: str, text: str) -> list[range]:
    """Find the runs one item means: one in each movement that has such bars."""
    movement, _, bars = item.rpartition(":")
    movements = dict.fromkeys(measure.movement for measure in analysis.part.measures)
    wanted = [number for number in movements if not movement or str(number) == movement]
    found = [run for number in wanted if (run := _run(analysis, names, number, bars, text))]
    if not found:
        raise BarsNotFound(_not_found(analysis, item, text))
    return found


def _run(
    analysis: Analysis, names: Sequence[str], movement: int, bars: str, text: str
) -> range | None:
    indices = [m.index for m in analysis.part.measures if m.movement == movement]
    first, last = _ends(bars, {_printed(analysis, names, index) for index in indices})
    begins = [i for i in indices if first in _called(analysis, names, i)]
    ends = [i for i in indices if last in _called(analysis, names, i)]
    if not begins or not ends:
        return None
    if ends[-1] < begins[0]:
        raise BarsNotFound(
            f"--bars: {first}-{last} in “{text}” runs backwards; write {last}-{first}"
        )
    return range(begins[0], ends[-1] + 1)


def _ends(bars: str, printed: set[str]) -> tuple[str, str]:
    """Split a run into its ends, unless a bar is called so."""
    if bars not in printed:
        for dash in _DASHES:
            first, found, last = bars.partition(dash)
            if found:
                return first, last
    return bars, bars


def _printed(analysis: Analysis, names: Sequence[str], index: int) -> str:
    return analysis.part.measures[index].number or names[index]


def _called(analysis: Analysis, names: Sequence[str], index: int) -> tuple[str, ...]:
    """All that a bar may be called."""
    upbeat = _UPBEAT if names[index] == "upbeat" else ()
    return names[index], _printed(analysis, names, index), *upbeat


def _not_found(analysis: Analysis, item: str, text: str) -> str:
    part = analysis.part
    has = _to_be_had(part.measures, range(len(part.measures)))
    movements = max(measure.movement for measure in part.measures)
    if movements > 1:
        last = [m.index for m in part.measures if m.movement == movements]
        has = f"{movements} movements, the last with {_to_be_had(part.measures, last)}"
    what = f"there is no bar “{item}”" if item else f"a bar is missing in “{text}”"
    return (
        f"{part.source}: --bars: {what}; the part “{part.name or part.instrument}” has {has}; "
        "write printed bar numbers, as in --bars 12-16 or --bars 12,15-18"
    )


def _to_be_had(measures: Sequence[Measure], indices: Sequence[int]) -> str:
    """Say which bars there are: ``bars 1 to 65 and an upbeat (0)``."""
    bars = [index for index in indices if not is_upbeat(measures, index)]
    upbeat = "an upbeat (0)" if len(bars) < len(indices) else ""
    if not bars:
        return upbeat
    first, last = bar_name(measures, bars[0]), bar_name(measures, bars[-1])
    named = f"bar {first}" if first == last else f"bars {first} to {last}"
    return f"{named} and {upbeat}" if upbeat else named
