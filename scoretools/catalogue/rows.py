"""What a catalogue keeps of a score: plain rows, made where the score is read.

Each class is a table of `scoretools.catalogue.schema` and each field a column of it, in letters and
figures that travel between processes.
"""

import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from scoretools.difficulty import Level
from scoretools.hand import gap_letters
from scoretools.model import Analysis, Demand, DemandKind, Pitch
from scoretools.write.summary import bar_ranges

__all__ = [
    "HARD_BARS",
    "WITH_OPEN_STRING",
    "DemandRow",
    "DoubleStopRow",
    "DrillRow",
    "FeatureRow",
    "HandPositionRow",
    "HardBarRow",
    "KeySignatureRow",
    "LevelRow",
    "PartRow",
    "PassageRow",
    "ShapeRow",
    "WarningRow",
    "part_row",
]

HARD_BARS = 10
"""The heaviest bars of a part that are kept."""

WITH_OPEN_STRING = "with an open string"
"""Any double stop with an open string."""


@dataclass(frozen=True, slots=True)
class FeatureRow:
    """A feature of a part; see `scoretools.difficulty.Feature`."""

    name: str
    """Its name."""
    value: float
    """Its figure."""
    unit: str
    """The figure's unit."""
    peak_value: float | None
    """The figure in the bars where it peaks."""
    peak_bars: str
    """These bars."""


@dataclass(frozen=True, slots=True)
class LevelRow:
    """A level of a part by one rubric."""

    rubric: str
    """Name of the rubric."""
    value: float
    """Number of the band, or points."""
    label: str
    """The level in words."""
    reasons: str
    """The reasons, as a JSON list of sentences."""
    about: str
    """What the level is of."""


@dataclass(frozen=True, slots=True)
class HandPositionRow:
    """A position in which a finger is down."""

    position: int
    """Position by letter, 0 = half."""
    moments: int
    """Notes and chords in it."""
    bars: str
    """Where."""


@dataclass(frozen=True, slots=True)
class ShapeRow:
    """A hand shape, on whatever string and in whatever position."""

    gaps: str
    """Its spacing, such as ``W-H-W``."""
    moments: int
    """How often the hand takes it."""
    weight: float
    """Load points."""
    bars: str
    """Where."""


@dataclass(frozen=True, slots=True)
class DoubleStopRow:
    """A kind of double stop."""

    interval: str
    """The interval by number where both fingers are down (``third``, ``sixth``, ``octave`` …), else
    `WITH_OPEN_STRING`."""
    moments: int
    """How often it comes."""
    bars: str
    """Where."""


@dataclass(frozen=True, slots=True)
class KeySignatureRow:
    """A key signature in force where something is played."""

    fifths: int
    """Sharps, or flats as negative numbers."""
    bars: str
    """Where."""


@dataclass(frozen=True, slots=True)
class DemandRow:
    """Something asked of the hand; see `scoretools.model.Demand`."""

    place: int
    """From 0, heaviest first."""
    kind: str
    """What is asked."""
    string: str
    """The string, by name."""
    position: int
    """Position by letter, 0 = half."""
    gaps: str
    """The shape, if it is tied to one."""
    detail: str
    """What exactly."""
    moments: int
    """How often."""
    bars: str
    """Where."""
    notes_per_s: float
    """Notes a second at its fastest."""
    certainty: str
    """How sure the fingering is there."""
    weight: float
    """Load points."""


@dataclass(frozen=True, slots=True)
class PassageRow:
    """A run of notes under one set-up of the hand."""

    place: int
    """From 0, in order."""
    bars: str
    """Where."""
    position: int
    """Position by letter, 0 = half."""
    begins_with: str
    """What sets it apart from the one before."""
    shapes: str
    """String and shape of each string, such as ``A W-H-W, E H-W-W``."""


@dataclass(frozen=True, slots=True)
class HardBarRow:
    """A bar that loads the hand."""

    place: int
    """From 0, heaviest first."""
    bar: str
    """Which."""
    load: float
    """Load points a second."""
    reasons: str
    """What makes it."""


@dataclass(frozen=True, slots=True)
class DrillRow:
    """A drill for the part."""

    place: int
    """From 0, in order of practice."""
    title: str
    """What is practised."""
    gaps: str
    """Its shape, if it is tied to one."""
    minutes: int
    """Minutes in one session."""
    share: float
    """Share of what the part asks that it serves."""
    bars: str
    """The bars it serves."""


@dataclass(frozen=True, slots=True)
class WarningRow:
    """What was skipped, assumed or contradictory."""

    place: int
    """From 0."""
    bar: str
    """Where; empty for the whole part."""
    message: str
    """One sentence."""


@dataclass(frozen=True, slots=True)
class PartRow:
    """One part, and all rows that belong to it."""

    number: int
    """Place of the part in the score, or of the tune in the book, from 1."""
    title: str
    """Title of the piece; empty when the score gives none."""
    composer: str
    """Composer; empty when the score gives none."""
    name: str
    """Name of the part as printed."""
    instrument: str
    """``violin`` or ``viola``."""
    profile: str
    """Profile of the player it was fingered for."""
    ceiling: int
    """Highest position offered freely."""
    divisi: str
    """What one player takes where the part is divided."""
    tempo_assumed: bool
    """Whether some of the tempo is assumed."""
    notes: int
    """Notes struck."""
    lowest: str
    """Lowest note."""
    highest: str
    """Highest note."""
    demand_weight: float
    """Load points of all demands together."""
    children: Mapping[str, tuple[object, ...]]
    """By name of the table, the rows that belong to the part."""


def part_row(analysis: Analysis, levels: Sequence[Level], divisi: str, number: int) -> PartRow:
    """Put what an analysis says into rows.

    Parameters
    ----------
    analysis
        The part, analysed.
    levels
        Its level by each rubric, at least one.
    divisi
        What the analysis was told to take where the part is divided.
    number
        Place of the part in its score, or of the tune in its book.
    """
    part = analysis.part
    pitches = sorted(
        (note.pitch for event in part.events for note in event.notes),
        key=lambda pitch: pitch.midi,
    )
    return PartRow(
        number=number,
        title=part.title,
        composer=part.composer,
        name=part.name,
        instrument=part.instrument,
        profile=str(analysis.profile),
        ceiling=analysis.ceiling,
        divisi=divisi,
        tempo_assumed=levels[0].tempo_assumed,
        notes=len(pitches),
        lowest=_named(pitches[:1]),
        highest=_named(pitches[-1:]),
        demand_weight=round(sum(demand.weight for demand in analysis.demands), 3),
        children={
            "feature": tuple(_features(analysis, levels[0])),
            "level": tuple(_level(level) for level in levels),
            "hand_position": tuple(_hand_positions(analysis)),
            "shape": tuple(_shapes(analysis)),
            "double_stop": tuple(_double_stops(analysis)),
            "key_signature": tuple(_key_signatures(analysis)),
            "demand": tuple(_demands(analysis)),
            "passage": tuple(_passages(analysis)),
            "hard_bar": tuple(_hard_bars(analysis)),
            "drill": tuple(_drills(analysis)),
            "warning": tuple(_warnings(analysis)),
        },
    )


def _named(pitches: Iterable[Pitch]) -> str:
    return " ".join(pitch.name for pitch in pitches)


# ── the rows of a part ──────────────────────────────────────────────────────────────────────────


def _features(analysis: Analysis, level: Level) -> Iterator[FeatureRow]:
    for one in level.features:
        bars = bar_ranges(analysis, one.peak) if one.peak else ""
        yield FeatureRow(one.name, one.value, one.unit, one.peak_value, bars)


def _level(level: Level) -> LevelRow:
    reasons = json.dumps(level.reasons, ensure_ascii=False)
    return LevelRow(level.rubric, level.value, level.label, reasons, level.about)


def _hand_positions(analysis: Analysis) -> Iterator[HandPositionRow]:
    found: dict[int, list[int]] = {}
    for event, step in zip(analysis.part.events, analysis.steps, strict=True):
        if step.placement and any(stop.finger for stop in step.placement.stops):
            found.setdefault(step.placement.position, []).append(event.measure)
    for position, measures in sorted(found.items()):
        yield HandPositionRow(position, len(measures), bar_ranges(analysis, sorted({*measures})))


def _shapes(analysis: Analysis) -> Iterator[ShapeRow]:
    found: dict[str, list[Demand]] = {}
    for demand in _of_kind(analysis, DemandKind.SHAPE):
        found.setdefault(demand.gaps, []).append(demand)
    for gaps, demands in sorted(found.items()):
        weight = round(sum(demand.weight for demand in demands), 3)
        yield ShapeRow(gaps, _moments(demands), weight, _where(analysis, demands))


def _double_stops(analysis: Analysis) -> Iterator[DoubleStopRow]:
    found: dict[str, list[Demand]] = {}
    for demand in _of_kind(analysis, DemandKind.DOUBLE_STOP):
        stopped = all(stop.finger for stop in demand.stops)
        interval = demand.detail.split(" on ")[0] if stopped else WITH_OPEN_STRING
        found.setdefault(interval, []).append(demand)
    for interval, demands in sorted(found.items()):
        yield DoubleStopRow(interval, _moments(demands), _where(analysis, demands))


def _of_kind(analysis: Analysis, kind: DemandKind) -> Iterator[Demand]:
    return (demand for demand in analysis.demands if demand.kind is kind)


def _moments(demands: Sequence[Demand]) -> int:
    return len({moment for demand in demands for moment in demand.moments})


def _where(analysis: Analysis, demands: Sequence[Demand]) -> str:
    return bar_ranges(analysis, sorted({bar for demand in demands for bar in demand.measures}))


def _key_signatures(analysis: Analysis) -> Iterator[KeySignatureRow]:
    found: dict[int, list[int]] = {}
    for event in analysis.part.events:
        fifths = sum(event.key.alters) if event.key.fifths is None else event.key.fifths
        found.setdefault(fifths, []).append(event.measure)
    for fifths, measures in sorted(found.items()):
        yield KeySignatureRow(fifths, bar_ranges(analysis, sorted({*measures})))


def _demands(analysis: Analysis) -> Iterator[DemandRow]:
    for place, demand in enumerate(analysis.demands):
        yield DemandRow(
            place=place,
            kind=str(demand.kind),
            string=analysis.string_names[demand.string],
            position=demand.position,
            gaps=demand.gaps,
            detail=demand.detail,
            moments=len(demand.moments),
            bars=bar_ranges(analysis, demand.measures),
            notes_per_s=round(demand.notes_per_s, 3),
            certainty=str(demand.certainty),
            weight=round(demand.weight, 3),
        )


def _passages(analysis: Analysis) -> Iterator[PassageRow]:
    events = analysis.part.events
    for place, passage in enumerate(analysis.passages):
        measures = range(
            events[passage.first_event].measure, events[passage.last_event].measure + 1
        )
        shapes = ", ".join(
            f"{analysis.string_names[shape.string]} {gap_letters(shape.gaps)}"
            for shape in passage.shapes
        )
        yield PassageRow(
            place, bar_ranges(analysis, measures), passage.position, passage.begins_with, shapes
        )


def _hard_bars(analysis: Analysis) -> Iterator[HardBarRow]:
    heaviest = sorted(analysis.loads, key=lambda bar: (-bar.load, bar.measure))
    for place, bar in enumerate(heaviest[:HARD_BARS]):
        if bar.load > 0:
            name = bar_ranges(analysis, (bar.measure,))
            yield HardBarRow(place, name, round(bar.load, 3), "; ".join(bar.reasons))


def _drills(analysis: Analysis) -> Iterator[DrillRow]:
    for place, drill in enumerate(analysis.drills):
        bars = bar_ranges(analysis, drill.measures)
        yield DrillRow(place, drill.title, drill.gaps, drill.minutes, round(drill.share, 4), bars)


def _warnings(analysis: Analysis) -> Iterator[WarningRow]:
    for place, notice in enumerate(analysis.notices):
        bar = "" if notice.measure is None else bar_ranges(analysis, (notice.measure,))
        yield WarningRow(place, bar, notice.message)
