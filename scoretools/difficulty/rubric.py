"""Rubrics: how the features of a part become a level, with the reasons.

A rubric is of one of two kinds. *Bands* stand in order, each with the most it allows of some
features; a part belongs to the first band all of whose limits it keeps. An *index* adds points: a
feature counts ``points · x / (x + half)``, where x is what it has above ``above``, so that it
counts half at ``half`` and no single feature runs away.

A level is of the left hand only, for one profile, and rests on the tempo and on who plays what of
a divided part; it carries all that, the features and the hardest bars with it.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from scoretools.bar_names import bars_in_words
from scoretools.difficulty.features import Feature, features, unit_of
from scoretools.instrument import position_label
from scoretools.model import Analysis, Part, PositionNumber
from scoretools.note_names import worded

__all__ = [
    "ABOUT",
    "Band",
    "Level",
    "Rubric",
    "Term",
    "figure_in_words",
    "index_of",
    "level",
    "tempo_is_assumed",
]

ABOUT = "of the left hand only: bow, rhythm, ensemble and expression are not in it"
"""What every level says of itself."""

_MOST_REASONS = 5
_HARDEST_BARS = 5


@dataclass(frozen=True, slots=True)
class Band:
    """One step of a rubric of bands."""

    label: str
    """Its name."""
    limits: Mapping[str, float]
    """The most it allows, by name of the feature; empty for the last band."""


@dataclass(frozen=True, slots=True)
class Term:
    """What one feature counts in an index."""

    feature: str
    """Name of the feature."""
    above: float
    """The figure up to which it counts nothing, in the feature's unit."""
    half: float
    """How far above that it counts half its points, in the feature's unit."""
    points: float
    """Most points it can add."""


@dataclass(frozen=True, slots=True)
class Rubric:
    """How features become a level; it has bands or terms, never both."""

    name: str
    """Its name."""
    about: str
    """What it is, in a sentence or two."""
    bands: tuple[Band, ...] = ()
    """Bands, easiest first; the last has no limits."""
    terms: tuple[Term, ...] = ()
    """Terms of an index."""


@dataclass(frozen=True, slots=True)
class Level:
    """How hard a part is by one rubric, with all it rests on."""

    rubric: str
    """Name of the rubric."""
    value: float
    """Number of the band, from 1; or points of the index."""
    label: str
    """The level in words."""
    reasons: tuple[str, ...]
    """What lifts the part above the band below, or adds most points; with bars as printed."""
    profile: str
    """Profile of the player that the fingering suits."""
    tempo_assumed: bool
    """Whether some of the tempo is assumed, since the score prints none."""
    divisi: str
    """What one player takes where the part is divided."""
    about: str
    """Says that it is of the left hand only."""
    hardest_bars: tuple[int, ...]
    """Indices of the bars that load the hand most, heaviest first, five at most."""
    features: tuple[Feature, ...]
    """All features of the part."""


def level(analysis: Analysis, rubric: Rubric, divisi: str = "auto") -> Level:
    """Judge a part by a rubric.

    Parameters
    ----------
    analysis
        The part, analysed.
    rubric
        As `read_rubric` reads it.
    divisi
        What the analysis was told to take where the part is divided.
    """
    counted = features(analysis)
    judge = _by_bands if rubric.bands else _by_index
    value, label, reasons = judge(analysis.part, rubric, counted)
    return Level(
        rubric=rubric.name,
        value=value,
        label=label,
        reasons=reasons,
        profile=analysis.profile,
        tempo_assumed=tempo_is_assumed(analysis.part),
        divisi=divisi,
        about=ABOUT,
        hardest_bars=_hardest(analysis),
        features=counted,
    )


def tempo_is_assumed(part: Part) -> bool:
    """Tell whether any tempo of a part is assumed, in bars where something is played."""
    bounds = [tempo.onset_ql for tempo in part.tempi[1:]]
    spans = zip(part.tempi, [*bounds, None], strict=True)
    return any(
        tempo.assumed
        and any(
            event.onset_ql >= tempo.onset_ql and (end is None or event.onset_ql < end)
            for event in part.events
        )
        for tempo, end in spans
    )


def _hardest(analysis: Analysis) -> tuple[int, ...]:
    loads = sorted(analysis.loads, key=lambda bar: (-bar.load, bar.measure))
    return tuple(bar.measure for bar in loads[:_HARDEST_BARS] if bar.load > 0)


# ── bands ───────────────────────────────────────────────────────────────────────────────────────


def _by_bands(
    part: Part, rubric: Rubric, counted: Sequence[Feature]
) -> tuple[float, str, tuple[str, ...]]:
    number = next(
        number for number, band in enumerate(rubric.bands, 1) if not list(_beyond(band, counted))
    )
    label = rubric.bands[number - 1].label
    if number == 1:
        return 1.0, label, (f"all of it keeps within the limits of “{label}”, the lowest band",)
    below = rubric.bands[number - 2]
    reasons = tuple(
        worded(
            "{}; “{}” allows {}",
            _told(part, feature),
            below.label,
            figure_in_words(feature.name, below.limits[feature.name]),
        )
        for feature in _beyond(below, counted)
    )
    return float(number), label, reasons


def _beyond(band: Band, counted: Sequence[Feature]) -> Iterator[Feature]:
    """Features that exceed what a band allows."""
    return (one for one in counted if one.value > band.limits.get(one.name, one.value))


# ── index ───────────────────────────────────────────────────────────────────────────────────────


def index_of(terms: Sequence[Term], counted: Sequence[Feature]) -> Mapping[str, float]:
    """Points that each term of an index adds, by name of the feature."""
    values = {feature.name: feature.value for feature in counted}
    return {term.feature: _points(term, values[term.feature]) for term in terms}


def _points(term: Term, value: float) -> float:
    over = max(0.0, value - term.above)
    return term.points * over / (over + term.half)


def _by_index(
    part: Part, rubric: Rubric, counted: Sequence[Feature]
) -> tuple[float, str, tuple[str, ...]]:
    points = index_of(rubric.terms, counted)
    value = round(sum(points.values()), 1)
    most = sum(term.points for term in rubric.terms)
    heaviest = sorted(counted, key=lambda one: -points.get(one.name, 0.0))[:_MOST_REASONS]
    reasons = tuple(
        worded("{}: {:.1f} points", _told(part, one), points[one.name])
        for one in heaviest
        if points.get(one.name, 0.0) >= 0.05
    )
    return value, f"{value:g} of {most:g} points", reasons


# ── words ───────────────────────────────────────────────────────────────────────────────────────


def figure_in_words(name: str, value: float) -> str:
    """Write a figure of a feature with its unit: ``3rd position``, ``12 % of stopped notes``."""
    unit = unit_of(name)
    if unit == "position":
        return _position_words(value)
    if unit.startswith("share "):
        return f"{100 * value:.{0 if value >= 0.1 or not value else 1}f} %{unit[5:]}"
    return f"{value:.3g} {unit.removesuffix('s') if value == 1 and ' ' not in unit else unit}"


def _position_words(value: float) -> str:
    if value == 0:
        return "open strings only"
    return position_label(PositionNumber(int(value)))


def _told(part: Part, feature: Feature) -> str:
    bars = f" ({bars_in_words(part.measures, feature.peak)})" if feature.peak else ""
    figure = figure_in_words(feature.name, feature.value)
    return worded("{}, {}{}", feature.words, figure, bars)
