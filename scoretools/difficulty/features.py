"""Features of a part: what it asks of the left hand, in figures.

Every feature is one row of a table here: name, words, unit, and how it is counted. What makes a
part hard is common practice, and no published weights exist: the features are shown as they are,
and a rubric (see `scoretools.difficulty.rubric`) makes a level of them.

Conventions
-----------
See `scoretools.difficulty.facts` for rates, shares and peaks. Only fingers known from the music
count. Speeds, rates and lengths in seconds rest on the tempo, which may be assumed. Repeats count
once, as printed. The half position is 0.5; a part of open strings only has position 0.
"""

from collections.abc import Callable
from dataclasses import dataclass

from scoretools.difficulty import counts
from scoretools.difficulty.facts import Facts, Measured, facts_of
from scoretools.model import Analysis, DemandKind, Pitch
from scoretools.note_names import bare_name_of, worded

__all__ = ["FEATURES", "Feature", "features", "unit_of", "words_of"]


@dataclass(frozen=True, slots=True)
class Feature:
    """One figure of a part."""

    name: str
    """Name for tables and rubrics, such as ``shifts_per_minute``."""
    words: str
    """Name in a musician's words."""
    unit: str
    """Unit, such as ``per minute`` or ``share of stopped notes`` (0 to 1)."""
    value: float
    """The figure."""
    peak: tuple[int, ...]
    """Indices of the bars where it peaks, five at most; empty where it has none."""
    peak_value: float | None
    """The figure in those bars; none where there are none."""


def features(analysis: Analysis) -> tuple[Feature, ...]:
    """Count the features of a part.

    Returns
    -------
    tuple of Feature
        Always those of `FEATURES`, in that order.
    """
    facts = facts_of(analysis)
    return tuple(_feature(row, row.count(facts)) for row in _ROWS)


def words_of(name: str) -> str:
    """Name of a feature in a musician's words."""
    return _BY_NAME[name].words


def unit_of(name: str) -> str:
    """Unit of a feature."""
    return _BY_NAME[name].unit


@dataclass(frozen=True, slots=True)
class _Row:
    name: str
    words: str
    unit: str
    count: Callable[[Facts], Measured]


_DECIMALS = 6
"""Decimals kept: 10 shifts a minute are 10, and no limit of 10 is passed by a rounding error."""


def _feature(row: _Row, found: Measured) -> Feature:
    peak = None if found.peak_value is None else round(found.peak_value, _DECIMALS)
    value = round(found.value, _DECIMALS)
    return Feature(row.name, row.words, row.unit, value, found.peak, peak)


# ── the table ───────────────────────────────────────────────────────────────────────────────────

_STOPPED = "share of stopped notes"
_EVENTS = "share of notes and chords"
_MINUTE = "per minute of playing"

_HOME_KEYS = (bare_name_of(Pitch("D", 0, 4)), bare_name_of(Pitch("G", 0, 3)))
"""Keys that lie best on the violin and on the viola (see `scoretools.difficulty.counts`)."""

_ROWS: tuple[_Row, ...] = tuple(
    _Row(*row)
    for row in (
        ("highest_position", "highest position", "position", counts.highest_position),
        ("highest_position_on_low_strings", "highest position on the two lowest strings",
         "position", counts.highest_on_low_strings),
        ("above_first_position", "notes above first position", _STOPPED,
         counts.stopped_where(lambda one: one.position > 1)),
        ("above_third_position", "notes above third position", _STOPPED,
         counts.stopped_where(lambda one: one.position > 3)),
        ("half_position", "notes in half position", _STOPPED,
         counts.stopped_where(lambda one: one.position == 0)),
        ("second_position", "notes in second position", _STOPPED,
         counts.stopped_where(lambda one: one.position == 2)),
        ("fourth_position", "notes in fourth position", _STOPPED,
         counts.stopped_where(lambda one: one.position == 4)),
        ("sixth_position", "notes in sixth position", _STOPPED,
         counts.stopped_where(lambda one: one.position == 6)),
        ("positions_used", "different positions", "positions", counts.positions_used),
        ("shifts_per_minute", "shifts", _MINUTE, counts.moments_per_minute(DemandKind.SHIFT)),
        ("longest_shift", "longest shift", "semitones", counts.longest_shift),
        ("slurred_shifts", "shifts under a slur", "share of shifts", counts.slurred_shifts),
        ("reaches_back_per_minute", "first finger reaching back", _MINUTE,
         counts.moments_per_minute(DemandKind.REACH_BACK)),
        ("extensions_per_minute", "fingers reaching up", _MINUTE,
         counts.moments_per_minute(DemandKind.EXTENSION)),
        ("shapes", "different hand shapes", "shapes", counts.shapes),
        ("shape_changes_per_minute", "changes of shape", _MINUTE,
         counts.moments_per_minute(DemandKind.SHAPE_CHANGE)),
        ("abrupt_changes_per_minute", "changes of shape on one string without a rest", _MINUTE,
         counts.abrupt_changes),
        ("chromatic_slides_per_minute", "chromatic slides", _MINUTE,
         counts.moments_per_minute(DemandKind.CHROMATIC_SLIDE)),
        ("augmented_seconds_per_minute", "augmented seconds", _MINUTE,
         counts.moments_per_minute(DemandKind.AUGMENTED_SECOND)),
        ("fourth_finger", "fourth finger", _STOPPED,
         counts.stopped_where(lambda one: one.stop.finger == 4)),
        ("weak_trills_per_minute", "trills on the third or fourth finger", _MINUTE,
         counts.weak_trills),
        ("double_stops", "double stops, open strings counted", _EVENTS, counts.double_stops()),
        ("stopped_double_stops", "double stops with both fingers down", _EVENTS,
         counts.double_stops(fingers=2)),
        ("thirds", "thirds with both fingers down", _EVENTS,
         counts.double_stops("third", fingers=2)),
        ("octaves", "octaves with both fingers down", _EVENTS,
         counts.double_stops("octave", fingers=2)),
        ("tenths", "tenths with both fingers down", _EVENTS,
         counts.double_stops("tenth", fingers=2)),
        ("chords", "chords on three or four strings", _EVENTS, counts.chords),
        ("artificial_harmonics_per_minute", "artificial harmonics", _MINUTE,
         counts.artificial_harmonics),
        ("notes_per_second", "speed of the fast notes", "notes a second", counts.notes_per_second),
        ("double_stops_per_second", "speed of the fast double stops", "double stops a second",
         counts.double_stops_per_second),
        ("key_signature", "key signature", "accidentals", counts.signature),
        ("flatward_keys", worded("key on the flat side of {} major (viola: {} major)", *_HOME_KEYS),
         "steps", counts.flatward),
        ("sharpward_keys", worded("key on the sharp side of {} major (viola: {} major)",
         *_HOME_KEYS), "steps", counts.sharpward),
        ("accidentals", "accidentals against the key", "share of notes", counts.against_key),
        ("hardest_bar", "load of the hardest bar", "points a second", counts.hardest_load),
        ("mean_load", "mean load", "points a second of playing", counts.mean_load),
        ("bars", "length", "bars", counts.bars),
        ("seconds", "length in time", "seconds", counts.seconds),
    )
)  # fmt: skip

_BY_NAME = {row.name: row for row in _ROWS}

FEATURES: tuple[str, ...] = tuple(_BY_NAME)
"""Names of all features, in order."""
