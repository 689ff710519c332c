"""How each feature is counted: one function for each, from the facts of a part.

`scoretools.difficulty.features` names them and says in which unit they are; for rates, shares and
peaks see `scoretools.difficulty.facts`.
"""

from collections.abc import Callable, Iterator
from itertools import pairwise

from scoretools.bar_names import bars_counted
from scoretools.demands import pace
from scoretools.difficulty.facts import (
    Facts,
    Measured,
    Struck,
    distinct,
    fastest,
    highest,
    hits_of,
    rate,
    share,
    unpeaked,
)
from scoretools.hand import frame_name
from scoretools.instrument import position_number
from scoretools.model import Demand, DemandKind, Event, Harmonic, Key, OrnamentKind

__all__ = [
    "abrupt_changes",
    "against_key",
    "artificial_harmonics",
    "bars",
    "chords",
    "double_stops",
    "double_stops_per_second",
    "flatward",
    "hardest_load",
    "highest_on_low_strings",
    "highest_position",
    "longest_shift",
    "mean_load",
    "moments_per_minute",
    "notes_per_second",
    "positions_used",
    "seconds",
    "shapes",
    "sharpward",
    "signature",
    "slurred_shifts",
    "stopped_where",
    "weak_trills",
]

# ── positions and shifts ────────────────────────────────────────────────────────────────────────


def highest_position(facts: Facts) -> Measured:
    """The highest position in which a finger stops a note; the half position is 0.5."""
    return highest((position_number(one.position), one.event.measure) for one in facts.stopped)


def highest_on_low_strings(facts: Facts) -> Measured:
    """The same on the two lowest strings, where the hand has to come round."""
    return highest(
        (position_number(one.position), one.event.measure)
        for one in facts.stopped
        if one.stop.string < 2
    )


def positions_used(facts: Facts) -> Measured:
    """How many positions fingers stop notes in."""
    return distinct((one.position, one.event.measure) for one in facts.stopped)


def stopped_where(is_one: Callable[[Struck], bool]) -> Callable[[Facts], Measured]:
    """Share of the stopped notes of which something is true."""

    def count(facts: Facts) -> Measured:
        return share(
            (one.event.measure for one in facts.stopped if is_one(one)),
            (one.event.measure for one in facts.stopped),
        )

    return count


def longest_shift(facts: Facts) -> Measured:
    """Semitones the hand moves in its longest shift."""
    return highest((float(abs(travel)), bar) for travel, bar in _travels(facts))


def _travels(facts: Facts) -> Iterator[tuple[int, int]]:
    """Semitones the hand moves in each shift, with the bar of arrival.

    Shifts alike in words differ in length (from B or B-flat to D), so the passages tell; a shift
    over a repeat is seen in no passage, and its demand does.
    """
    analysis = facts.analysis
    moved = {
        after.first_event: after.home - before.home
        for before, after in pairwise(analysis.passages)
        if after.begins_with == "shift"
    }
    for demand in analysis.demands:
        if demand.kind is DemandKind.SHIFT:
            for moment in demand.moments:
                yield moved.get(moment, demand.travel), analysis.part.events[moment].measure


def slurred_shifts(facts: Facts) -> Measured:
    """Shifts that a slur leads over, as a share of all."""
    events = facts.analysis.part.events
    shifts = [
        events[moment]
        for demand in facts.analysis.demands
        if demand.kind is DemandKind.SHIFT
        for moment in demand.moments
    ]
    return share(
        (event.measure for event in shifts if event.slurred), (event.measure for event in shifts)
    )


# ── shapes ──────────────────────────────────────────────────────────────────────────────────────


def moments_per_minute(*kinds: DemandKind) -> Callable[[Facts], Measured]:
    """Moments of some kinds, per minute of playing."""

    def count(facts: Facts) -> Measured:
        return rate(hits_of(facts, *kinds), facts.playing_s)

    return count


def abrupt_changes(facts: Facts) -> Measured:
    """Changes of shape right after another note on the same string."""
    events = facts.analysis.part.events
    hits = [
        events[moment].measure
        for demand in facts.analysis.demands
        if demand.kind is DemandKind.SHAPE_CHANGE
        for moment in demand.moments
        if moment and _straight_on(facts, demand, moment)
    ]
    return rate(hits, facts.playing_s)


def _straight_on(facts: Facts, demand: Demand, moment: int) -> bool:
    """Whether the note before lies on the same string and sounds up to this one."""
    before, here = facts.analysis.part.events[moment - 1 : moment + 1]
    strings = {choice.stop.string for choice in facts.analysis.steps[moment - 1].choices}
    return demand.string in strings and before.end_s >= here.onset_s - _SAME_MOMENT_S


_SAME_MOMENT_S = 0.001


def shapes(facts: Facts) -> Measured:
    """How many spacings of the hand the music itself asks for, wherever they lie."""
    events = facts.analysis.part.events
    return distinct(
        (demand.gaps, events[moment].measure)
        for demand in facts.analysis.demands
        if demand.kind is DemandKind.SHAPE
        for moment in demand.moments
    )


# ── several strings ─────────────────────────────────────────────────────────────────────────────


def double_stops(*frames: str, fingers: int = 1) -> Callable[[Facts], Measured]:
    """Double stops of some intervals (all, where none is named), as a share of all events."""

    def count(facts: Facts) -> Measured:
        def is_one(demand: Demand) -> bool:
            down = sum(stop.finger > 0 for stop in demand.stops)
            return down >= fingers and (not frames or _frame(facts, demand) in frames)

        return share(hits_of(facts, DemandKind.DOUBLE_STOP, only=is_one), _event_bars(facts))

    return count


def _frame(facts: Facts, demand: Demand) -> str:
    lower, upper = (facts.strings[stop.string].midi + stop.offset for stop in demand.stops)
    return frame_name(upper - lower)


def chords(facts: Facts) -> Measured:
    """Chords on three or four strings, as a share of all events."""
    return share(hits_of(facts, DemandKind.CHORD), _event_bars(facts))


def _event_bars(facts: Facts) -> list[int]:
    return [event.measure for event in facts.played]


# ── speed ───────────────────────────────────────────────────────────────────────────────────────


def notes_per_second(facts: Facts) -> Measured:
    """Speed of the fast notes, where the left hand moves."""
    return fastest(list(_speeds(facts, fingers=0)))


def double_stops_per_second(facts: Facts) -> Measured:
    """Speed of the fast double stops, both fingers down."""
    return fastest(list(_speeds(facts, fingers=2)))


def _speeds(facts: Facts, fingers: int) -> Iterator[tuple[float, int]]:
    """Speed of every event at which the left hand moves, grace notes left out."""
    events, steps = facts.analysis.part.events, facts.analysis.steps
    last: object = None
    for event in facts.played:
        placement = steps[event.index].placement
        stops = placement.stops if placement else ()
        moves, last = stops != last, stops
        speed = pace(events, event.index)
        down = sum(stop.finger > 0 for stop in stops)
        if moves and speed > 0 and not event.grace and down >= fingers:
            yield speed, event.measure


# ── keys ────────────────────────────────────────────────────────────────────────────────────────

_MIDDLE_KEY = {"violin": 2, "viola": 1}
"""Sharps of the key that learners meet first: D on the violin, G on the viola."""


def signature(facts: Facts) -> Measured:
    """Sharps or flats of the fullest key signature."""
    return highest((float(abs(_fifths(event.key))), event.measure) for event in facts.played)


def flatward(facts: Facts) -> Measured:
    """Steps from the middle key to the flattest key."""
    middle = _MIDDLE_KEY[facts.analysis.part.instrument]
    return highest((float(middle - _fifths(event.key)), event.measure) for event in facts.played)


def sharpward(facts: Facts) -> Measured:
    """Steps from the middle key to the sharpest key."""
    middle = _MIDDLE_KEY[facts.analysis.part.instrument]
    return highest((float(_fifths(event.key) - middle), event.measure) for event in facts.played)


def _fifths(key: Key) -> int:
    return sum(key.alters) if key.fifths is None else key.fifths


def against_key(facts: Facts) -> Measured:
    """Notes that the key signature has otherwise, as a share of all."""
    notes = [(one.note.pitch, one.event) for one in facts.struck]
    return share(
        (
            event.measure
            for pitch, event in notes
            if pitch.alter != event.key.alters[pitch.letter % 7]
        ),
        (event.measure for _, event in notes),
    )


# ── ornaments, harmonics, load, length ──────────────────────────────────────────────────────────


def weak_trills(facts: Facts) -> Measured:
    """Trills that the fourth finger beats, or begins, a minute."""
    hits = [one.event.measure for one in facts.stopped if _weak_trill(one)]
    return rate(hits, facts.playing_s)


def _weak_trill(one: Struck) -> bool:
    """A trill on the third finger is beaten by the fourth, one on the fourth by a stretch."""
    ornament = one.note.ornament
    return ornament is not None and ornament.kind is OrnamentKind.TRILL and one.stop.finger >= 3


_ARTIFICIAL = frozenset(
    {
        Harmonic.ARTIFICIAL,
        Harmonic.ARTIFICIAL_BASE,
        Harmonic.ARTIFICIAL_SOUNDING,
        Harmonic.ARTIFICIAL_TOUCHING,
    }
)


def artificial_harmonics(facts: Facts) -> Measured:
    """Artificial harmonics a minute, as the score marks them."""
    hits = [event.measure for event in facts.played if _is_artificial(event)]
    return rate(hits, facts.playing_s)


def _is_artificial(event: Event) -> bool:
    return any(note.marks.harmonic in _ARTIFICIAL for note in event.notes)


def hardest_load(facts: Facts) -> Measured:
    """Load of the hardest bar."""
    return highest((bar.load, bar.measure) for bar in facts.analysis.loads)


def mean_load(facts: Facts) -> Measured:
    """Load points over the seconds of all bars in which a note begins."""
    playing_s = sum(facts.playing_s.values())
    points = sum(demand.weight for demand in facts.analysis.demands)
    return unpeaked(points / playing_s if playing_s else 0.0)


def bars(facts: Facts) -> Measured:
    """Bars as musicians count them."""
    return unpeaked(float(bars_counted(facts.analysis.part.measures)))


def seconds(facts: Facts) -> Measured:
    """Length of all bars, rests included, each once."""
    return unpeaked(sum(facts.bar_s))
