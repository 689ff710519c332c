"""What the features are counted from, and the four ways of counting.

Conventions
-----------
* Everything is known bar by bar. A *rate* is hits over minutes of playing, where only bars in which
  a note begins count; a *share* is hits over what could have been one.
* A rate or share peaks in the bars with most hits, a highest value in the bars that reach it; at
  most `MOST_PEAKS` bars are named, from the first. The peak value is the same figure counted in
  those bars alone.
"""

from collections import Counter
from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import ceil

from scoretools.instrument import instrument
from scoretools.model import (
    Analysis,
    Demand,
    DemandKind,
    Event,
    Note,
    Pitch,
    PositionNumber,
    Stop,
)
from scoretools.read.timing import clock_of, seconds

__all__ = [
    "MOST_PEAKS",
    "Facts",
    "Measured",
    "Struck",
    "distinct",
    "facts_of",
    "fastest",
    "highest",
    "hits_of",
    "rate",
    "share",
    "unpeaked",
]

MOST_PEAKS = 5
"""No more bars than this are named where a feature peaks."""

_FAST_SHARE = 0.95
"""A speed is *sustained* when at most one note in twenty is faster."""


@dataclass(frozen=True, slots=True)
class Struck:
    """A struck note and how it is played."""

    event: Event
    """The event it belongs to."""
    note: Note
    """The note."""
    stop: Stop
    """String, finger and place."""
    position: PositionNumber
    """Position of the hand."""


@dataclass(frozen=True, slots=True)
class Facts:
    """An analysis, made ready for counting."""

    analysis: Analysis
    """The analysis."""
    strings: tuple[Pitch, ...]
    """Open strings, lowest first."""
    bar_s: tuple[float, ...]
    """Length of each bar, seconds."""
    playing_s: Mapping[int, float]
    """Length of each bar in which a note begins, seconds, by index of the bar."""
    struck: tuple[Struck, ...]
    """Every struck note that could be fingered."""
    stopped: tuple[Struck, ...]
    """Those that are not open strings."""
    played: tuple[Event, ...]
    """Every event that could be fingered."""


@dataclass(frozen=True, slots=True)
class Measured:
    """A figure and where it peaks."""

    value: float
    """The figure."""
    peak: tuple[int, ...] = ()
    """Indices of the bars where it peaks."""
    peak_value: float | None = None
    """The figure in those bars; none where there are none."""


def facts_of(analysis: Analysis) -> Facts:
    """Gather what the features are counted from."""
    part = analysis.part
    bar_s = _bar_seconds(analysis)
    struck = tuple(
        Struck(event, note, choice.stop, step.placement.position)
        for event, step in zip(part.events, analysis.steps, strict=True)
        if step.placement is not None
        for note, choice in zip(event.notes, step.choices, strict=True)
    )
    return Facts(
        analysis=analysis,
        strings=instrument(part.instrument, tuning=part.tuning).strings,
        bar_s=bar_s,
        playing_s={
            bar: bar_s[bar] for bar in dict.fromkeys(event.measure for event in part.events)
        },
        struck=struck,
        stopped=tuple(one for one in struck if one.stop.finger),
        played=tuple(
            event
            for event, step in zip(part.events, analysis.steps, strict=True)
            if step.placement is not None
        ),
    )


def _bar_seconds(analysis: Analysis) -> tuple[float, ...]:
    clock = clock_of(analysis.part.tempi)
    return tuple(
        seconds(clock, bar.onset_ql + bar.duration_ql) - seconds(clock, bar.onset_ql)
        for bar in analysis.part.measures
    )


def hits_of(
    facts: Facts, *kinds: DemandKind, only: Callable[[Demand], bool] | None = None
) -> list[int]:
    """Bars of all moments at which demands of some kinds occur, one entry for each moment."""
    events = facts.analysis.part.events
    return [
        events[moment].measure
        for demand in facts.analysis.demands
        if demand.kind in kinds and (only is None or only(demand))
        for moment in demand.moments
    ]


# ── counting ────────────────────────────────────────────────────────────────────────────────────


def rate(hits: Iterable[int], playing_s: Mapping[int, float]) -> Measured:
    """Count hits a minute.

    Parameters
    ----------
    hits
        Index of the bar of each hit.
    playing_s
        Seconds of each bar that counts.
    """
    counted = Counter(hits)
    return _ratio(counted, {bar: length_s / 60.0 for bar, length_s in playing_s.items()})


def share(hits: Iterable[int], base: Iterable[int]) -> Measured:
    """Count hits as a share of what could have been one; index of the bar of each."""
    return _ratio(Counter(hits), Counter(base))


def _ratio(hits: Mapping[int, int], base: Mapping[int, float]) -> Measured:
    whole = sum(base.values())
    if not hits or not whole:
        return Measured(0.0)
    most = max(hits.values())
    peak = tuple(sorted(bar for bar, count in hits.items() if count == most)[:MOST_PEAKS])
    there = sum(base.get(bar, 0.0) for bar in peak)
    return Measured(sum(hits.values()) / whole, peak, most * len(peak) / there if there else None)


def highest(found: Iterable[tuple[float, int]]) -> Measured:
    """Take the highest of figures, each with the index of its bar; 0 where there are none."""
    pairs = list(found)
    most = max((figure for figure, _ in pairs), default=0.0)
    if most <= 0:
        return Measured(0.0)
    peak = tuple(sorted({bar for figure, bar in pairs if figure == most})[:MOST_PEAKS])
    return Measured(most, peak, most)


def distinct(found: Iterable[tuple[Hashable, int]]) -> Measured:
    """Count how many different things there are, each with the index of its bar."""
    by_bar: dict[int, set[Hashable]] = {}
    for thing, bar in found:
        by_bar.setdefault(bar, set()).add(thing)
    in_bars = highest((float(len(things)), bar) for bar, things in by_bar.items())
    return Measured(float(len(set().union(*by_bar.values()))), in_bars.peak, in_bars.peak_value)


def fastest(speeds: Sequence[tuple[float, int]]) -> Measured:
    """Take the speed that one note in twenty exceeds, each speed with the index of its bar.

    It peaks in the bars with most notes at least as fast.
    """
    if not speeds:
        return Measured(0.0)
    bound = _percentile([speed for speed, _ in speeds])
    hits = Counter(bar for speed, bar in speeds if speed >= bound)
    most = max(hits.values())
    peak = tuple(sorted(bar for bar, count in hits.items() if count == most)[:MOST_PEAKS])
    return Measured(bound, peak, _percentile([speed for speed, bar in speeds if bar in peak]))


def _percentile(figures: Sequence[float]) -> float:
    """Nearest rank (the usual definition): no figure is made up between two."""
    ordered = sorted(figures)
    return ordered[ceil(_FAST_SHARE * len(ordered)) - 1]


def unpeaked(value: float) -> Measured:
    """Make a figure that belongs to the whole part and peaks nowhere."""
    return Measured(value)
