"""What stands in the tables and lists of the page, row by row."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from scoretools.bar_names import bars_in_words
from scoretools.hand import gap_words
from scoretools.instrument import position_label
from scoretools.model import (
    Analysis,
    BarLoad,
    Demand,
    DemandKind,
    DrillNote,
    Passage,
    Shape,
    StringIndex,
)
from scoretools.note_names import said
from scoretools.write.bars import BarLine, bar_lines, beat_words

__all__ = [
    "Bar",
    "BarTold",
    "Grid",
    "HardBar",
    "PassageRow",
    "bar_names",
    "demand_strings",
    "demand_words",
    "grid",
    "heaviest_first",
    "passage_rows",
    "told_bars",
]


@dataclass(frozen=True, slots=True)
class BarTold:
    """What is said of one bar beyond its fingers."""

    reasons: tuple[str, ...]
    """Why it is fingered so, in sentences."""
    others: tuple[str, ...] = ()
    """Other plans, in sentences."""


@dataclass(frozen=True, slots=True)
class Bar:
    """What is said of one bar."""

    measure: int
    """Index of the bar."""
    lines: tuple[BarLine, ...]
    """How it is fingered."""
    load: float
    """Load points a second."""
    load_reasons: tuple[str, ...]
    """What makes the load."""
    passages: tuple[Passage, ...]
    """Passages that it has a part in."""
    told: BarTold
    """Why, and other plans."""


def told_bars(analysis: Analysis, told: Mapping[int, BarTold]) -> Iterator[Bar]:
    """Say of every bar how it is fingered, what loads it and what was told of it, in order."""
    held: dict[int, list[Passage]] = {}
    for passage in analysis.passages:
        first, last = (
            analysis.part.events[event].measure
            for event in (passage.first_event, passage.last_event)
        )
        for measure in range(first, last + 1):
            held.setdefault(measure, []).append(passage)
    for load in analysis.loads:
        yield Bar(
            load.measure,
            bar_lines(analysis, (load.measure,)),
            load.load,
            tuple(map(said, load.reasons)),
            tuple(held.get(load.measure, ())),
            told.get(load.measure, BarTold(())),
        )


# ── bars ────────────────────────────────────────────────────────────────────────────────────────


@dataclass(frozen=True, slots=True)
class HardBar:
    """A bar with a load."""

    measure: int
    """Index of the bar."""
    load: float
    """Load points a second."""
    tenths: int
    """Load in tenths of the heaviest bar's, 1 to 10."""
    reasons: tuple[str, ...]
    """What makes it, heaviest first."""


def heaviest_first(loads: Sequence[BarLoad]) -> tuple[HardBar, ...]:
    """Give the bars that have a load, heaviest first."""
    loaded = sorted(
        (bar for bar in loads if bar.load > 0), key=lambda bar: (-bar.load, bar.measure)
    )
    return tuple(
        HardBar(
            bar.measure,
            bar.load,
            max(1, round(10 * bar.load / loaded[0].load)),
            tuple(map(said, bar.reasons)),
        )
        for bar in loaded
    )


def bar_names(analysis: Analysis, measures: Sequence[int]) -> str:
    """List bars for a column headed *Bars*, where the word itself would repeat."""
    return bars_in_words(analysis.part.measures, measures, words=False)


# ── drills ──────────────────────────────────────────────────────────────────────────────────────


@dataclass(frozen=True, slots=True)
class Grid:
    """The notes of a form as they are set: a line for each string, a column for each moment."""

    strings: tuple[StringIndex, ...]
    """Strings in use, highest first."""
    columns: tuple[tuple[DrillNote | None, ...], ...]
    """For each moment, one note or none for each of these strings."""


def grid(notes: Sequence[DrillNote]) -> Grid:
    """Set notes in columns, what sounds together with the highest string on top."""
    strings = tuple(sorted({note.stop.string for note in notes}, reverse=True))
    moments: list[dict[StringIndex, DrillNote]] = [{}]
    for note in notes:
        moments[-1][note.stop.string] = note
        if not note.with_next:
            moments.append({})
    columns = tuple(tuple(map(moment.get, strings)) for moment in moments if moment)
    return Grid(strings, columns)


# ── passages and demands ────────────────────────────────────────────────────────────────────────


@dataclass(frozen=True, slots=True)
class PassageRow:
    """One line of the table of passages."""

    measures: tuple[int, ...]
    """Indices of its bars."""
    position: str
    """Position in words."""
    begins: str
    """What begins it, and on which beat."""
    shapes: tuple[Shape | None, ...]
    """One for each string, lowest first; none where no finger plays."""


def passage_rows(analysis: Analysis) -> Iterator[PassageRow]:
    """Give the passages, in order."""
    events = analysis.part.events
    before: Passage | None = None
    for passage in analysis.passages:
        first, last = (events[index] for index in (passage.first_event, passage.last_event))
        unit = analysis.part.measures[first.measure].time[1]
        by_string = {shape.string: shape for shape in passage.shapes}
        yield PassageRow(
            measures=tuple(range(first.measure, last.measure + 1)),
            position=position_label(passage.position) if passage.shapes else "open strings",
            begins=f"{_begins(passage, before)}, {beat_words(first.beat, unit)}",
            shapes=tuple(
                by_string.get(StringIndex(string)) for string in range(len(analysis.string_names))
            ),
        )
        before = passage


def _begins(passage: Passage, before: Passage | None) -> str:
    if passage.begins_with == "shift" and before is not None:
        return f"shift from {position_label(before.position)}"
    return "change of shape" if passage.begins_with == "shape change" else passage.begins_with


_KIND_WORDS: Mapping[DemandKind, str] = MappingProxyType(
    {DemandKind.SHAPE: "hand shape", DemandKind.SHAPE_CHANGE: "change of shape"}
)


def demand_words(demand: Demand) -> tuple[str, str]:
    """Name a demand: what kind, and what exactly."""
    kind = _KIND_WORDS.get(demand.kind, demand.kind.value)
    shape = demand.kind is DemandKind.SHAPE and demand.shape
    return kind, (gap_words(demand.shape.gaps) if shape and demand.shape else said(demand.detail))


def demand_strings(analysis: Analysis, demand: Demand) -> str:
    """Name the strings of a demand: one, or those that sound together."""
    at_once = demand.kind in (DemandKind.DOUBLE_STOP, DemandKind.CHORD)
    strings = sorted({stop.string for stop in demand.stops}) if at_once else [demand.string]
    return " ".join(said(analysis.string_names[string]) for string in strings)
