"""The spacing of the hand, read from a fingering.

While the hand stays, each string gathers the places of the fingers that play on it: these are
*known*. A finger that does not play is *implied* by the accidentals of the bars at hand, then by
the key: it takes the letter that stands under it in the position. The hand changes where it goes
to another position, or where a finger on a string takes a second place (or crosses another one):
there a new `Span` begins. Where only a finger moved, the hand itself stayed, so the other fingers'
places stay known if they played among the last `REMEMBERED` notes since the last shift. A finger
that only touches a harmonic takes no part in the shape.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import count

from scoretools.hand import FINGERS, FRAME, GAP_LETTERS
from scoretools.instrument import Instrument
from scoretools.model import (
    Event,
    Finger,
    Key,
    Offset,
    Pitch,
    Placement,
    PositionNumber,
    Shape,
    Step,
    Stop,
    StringIndex,
)

__all__ = ["REMEMBERED", "Span", "fits_the_frame", "letter_under", "spans", "spell_stop"]

REMEMBERED = 4
"""Stopped notes for which the hand keeps a finger's place in mind while another finger changes."""


@dataclass(frozen=True, slots=True)
class Span:
    """A run of events during which the hand keeps one place and one shape on each string."""

    first_event: int
    """Index of its first event."""
    last_event: int
    """Index of its last event."""
    home: Offset
    """Where the hand is, semitones above the nut."""
    position: PositionNumber
    """Position by letter."""
    shapes: tuple[Shape, ...]
    """One for each string on which a finger plays, lowest string first."""
    begins_with: str
    """``start``, ``shift``, ``shape change``, or ``position renamed`` where the hand stays but its
    place goes by another letter."""


def spans(
    instrument: Instrument, events: Sequence[Event], steps: Sequence[Step]
) -> tuple[Span, ...]:
    """Divide a fingered part into spans.

    Parameters
    ----------
    events, steps
        The part and its fingering, one step for each event.

    Returns
    -------
    tuple of Span
        In order; together they hold every event that has a placement. Open strings belong to the
        span that is under way.
    """
    return tuple(_finish(instrument, events, draft) for draft in _drafts(steps))


# ── dividing ────────────────────────────────────────────────────────────────────────────────────

_Places = dict[StringIndex, dict[Finger, Offset]]


@dataclass(slots=True)
class _Draft:
    """A span that is still growing."""

    first_event: int
    last_event: int
    home: Offset
    position: PositionNumber
    places: _Places
    begins_with: str
    stopped_from: int | None


def _drafts(steps: Sequence[Step]) -> Iterator[_Draft]:
    draft: _Draft | None = None
    recent: list[Stop] = []
    for index, step in enumerate(steps):
        if step.placement is None:
            continue
        stopped = [stop for stop in step.placement.stops if stop.finger]
        change = _change(draft, step.placement, stopped, recent)
        if change == "shift":
            recent = []
        if change and draft is not None:
            yield draft
        if change or draft is None:
            draft = _Draft(
                index, index, step.placement.home, step.placement.position,
                _still_known(recent, stopped) if change == "shape change" else {},
                change or "start", index if stopped else None,
            )  # fmt: skip
        draft.last_event = index
        if stopped and draft.stopped_from is None:
            draft.stopped_from = index
            draft.home, draft.position = step.placement.home, step.placement.position
        down = [stop for stop in stopped if not stop.touched]
        for stop in down:
            draft.places.setdefault(stop.string, {})[stop.finger] = stop.offset
        recent = [*recent, *down][-REMEMBERED:]
    if draft is not None:
        yield draft


def _still_known(recent: Iterable[Stop], stopped: Sequence[Stop]) -> _Places:
    """Keep the places of fingers that played a moment ago and agree with what plays now."""
    places: _Places = {}
    for stop in stopped:
        if not stop.touched:
            places.setdefault(stop.string, {})[stop.finger] = stop.offset
    for stop in reversed(list(recent)):
        on_string = places.setdefault(stop.string, {})
        if _fits(on_string, stop):
            on_string[stop.finger] = stop.offset
    return places


def _change(
    draft: _Draft | None, placement: Placement, stopped: Sequence[Stop], recent: Sequence[Stop]
) -> str:
    """Say what sets a placement apart from the span under way; empty when it fits."""
    if draft is None or not stopped or draft.stopped_from is None:
        return ""
    if placement.position != draft.position:
        lies_still = len(stopped) == 1 and list(recent[-1:]) == list(stopped)
        return "position renamed" if lies_still or placement.home == draft.home else "shift"
    if abs(placement.home - draft.home) > 1:
        return "shape change"
    fits = all(stop.touched or _fits(draft.places.get(stop.string, {}), stop) for stop in stopped)
    return "" if fits else "shape change"


def _fits(places: Mapping[Finger, Offset], stop: Stop) -> bool:
    if stop.finger in places:
        return places[stop.finger] == stop.offset
    return all(
        (finger < stop.finger) == (offset < stop.offset) and offset != stop.offset
        for finger, offset in places.items()
    )


# ── implied fingers ─────────────────────────────────────────────────────────────────────────────


def _finish(instrument: Instrument, events: Sequence[Event], draft: _Draft) -> Span:
    heard = _accidentals(events, draft) if draft.places else {}
    key = events[draft.first_event].key
    shapes = tuple(
        Shape(
            string=string,
            position=draft.position,
            offsets=_offsets(instrument, string, draft.position, places, heard, key),
            known=tuple(sorted(places)),
        )
        for string, places in sorted(draft.places.items())
    )
    return Span(
        draft.first_event, draft.last_event, draft.home, draft.position, shapes,
        draft.begins_with,
    )  # fmt: skip


def _accidentals(events: Sequence[Event], draft: _Draft) -> dict[int, int]:
    """Gather how each letter (with its octave) is altered in the bars of a span.

    What is heard later in the bars goes before what is heard earlier.
    """
    first = draft.first_event
    while first and events[first - 1].measure == events[draft.first_event].measure:
        first -= 1
    heard: dict[int, int] = {}
    for event in events[first : draft.last_event + 1]:
        for note in event.notes:
            heard[note.pitch.letter] = note.pitch.alter
    return heard


def _offsets(
    instrument: Instrument,
    string: StringIndex,
    position: PositionNumber,
    places: Mapping[Finger, Offset],
    heard: Mapping[int, int],
    key: Key,
) -> tuple[Offset, Offset, Offset, Offset]:
    def place(finger: Finger) -> Offset:
        if finger in places:
            return places[finger]
        if position == 0 and finger == 1:
            return Offset(1)  # half position: close to the nut, whichever letter that is
        letter = letter_under(instrument.strings[string], position, finger)
        alter = heard.get(letter, key.alters[letter % 7])
        return Offset(_pitch(letter, alter).midi - instrument.strings[string].midi)

    one, two, three, four = (place(finger) for finger in FINGERS)
    return one, two, three, four


def fits_the_frame(shape: Shape) -> bool:
    """Tell whether all four fingers of a shape, played or not, lie together without a stretch."""
    return all(gap in GAP_LETTERS for gap in shape.gaps) and sum(shape.gaps) <= FRAME


def letter_under(string: Pitch, position: PositionNumber, finger: Finger) -> int:
    """Letter (counted from C of octave 0) that lies under a finger in a position."""
    return string.letter + position + finger - 1


def _pitch(letter: int, alter: int) -> Pitch:
    octave, step = divmod(letter, 7)
    return Pitch("CDEFGAB"[step], alter, octave)


def spell_stop(string: Pitch, position: PositionNumber, stop: Stop) -> Pitch:
    """Spell a stopped note by the letter under its finger.

    The nearest letter is taken where that one would need a double accidental.
    """
    midi = string.midi + stop.offset
    if stop.finger == 0:
        return string
    letter = letter_under(string, position, stop.finger)
    spellings = (_pitch(near, midi - _pitch(near, 0).midi) for near in _nearest(letter))
    return next(pitch for pitch in spellings if abs(pitch.alter) <= 1)


def _nearest(letter: int) -> Iterator[int]:
    """Letters, the one given first, then those around it."""
    yield letter
    for away in count(1):
        yield letter + away
        yield letter - away
