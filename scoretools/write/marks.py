"""Which marks a part needs: the few that cannot be guessed, or all of them.

Conventions
-----------
A player who reads a part without marks expects this; where the fingering does otherwise, it is
marked (common practice, no published source):

* the part begins in first position, and the hand stays where it is;
* the finger is the one of the note's letter, and the next note is in reach without a stretch;
* a finger goes with the highest string on which it finds the note;
* a note that was marked in the same bar is played as it was there.

So these are marked: the finger of arrival after a shift; the string, where that finger would also
find the note on a higher one (as words where the hand goes on there); stretched fingers and the
note after them; a finger that takes another letter or slides by a half step; an open string or a
fourth finger where the other is likely too; fingers of a double stop unless the one before has the
same. Words tell the position where the hand settles in another one, and the shape of the hand where
it is first needed.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from enum import StrEnum

from scoretools.hand import FINGERS, SLOTS, SlotKind
from scoretools.instrument import instrument
from scoretools.model import (
    NO_MARKS,
    Address,
    Analysis,
    Certainty,
    Choice,
    Event,
    Finger,
    Marks,
    Note,
    Pitch,
    PositionNumber,
    PrintedString,
    Stop,
    StringIndex,
)

__all__ = [
    "SETTLED",
    "Amount",
    "Moment",
    "bearer",
    "full_mark",
    "moments",
    "suggested",
]


class Amount(StrEnum):
    """How many marks are put in."""

    SPARSE = "sparse"
    """What a player could not guess."""
    ALL = "all"
    """A finger on every note, and every change of string."""
    NONE = "none"
    """Nothing."""


SETTLED = 4
"""Stopped events in one position, or on one string, from which on words are worth their place."""

_STRETCHED = (SlotKind.REACH_BACK, SlotKind.EXTENDED, SlotKind.TENTH)
_SLOT_KINDS = {(slot.finger, slot.from_home): slot.kind for slot in SLOTS}
_NEAREST = {
    finger: 1 + min(s.from_home for s in SLOTS if (s.finger, s.kind) == (finger, SlotKind.ORDINARY))
    for finger in FINGERS
}
"""For each finger the lowest place, semitones above the open string, where one looks for it."""


def full_mark(analysis: Analysis, stop: Stop) -> Marks:
    """Mark a note with its finger and, unless it is an open string, its string."""
    if stop.finger == 0:
        return Marks(open_string=True)
    printed = PrintedString(len(analysis.string_names) - stop.string)
    return Marks(fingers=(stop.finger,), string=printed)


def bearer(event: Event) -> Address:
    """Address of the note over which words about an event stand: its first in the document."""
    return min((note.address for note in event.notes), key=lambda address: address.note)


# ── walking through the events ──────────────────────────────────────────────────────────────────


@dataclass(frozen=True, slots=True)
class Moment:
    """A fingered event, as a player meets it."""

    event: Event
    """The event."""
    choices: tuple[Choice, ...]
    """What was chosen for its notes."""
    position: PositionNumber
    """Position."""
    home: int
    """Where the first finger's ordinary place lies, semitones above the nut."""
    arrival: bool
    """Whether the hand has just come there."""

    @property
    def down(self) -> tuple[Stop, ...]:
        """Stops with a finger down, of the struck notes."""
        return tuple(choice.stop for choice in self.choices if choice.stop.finger)


def moments(analysis: Analysis) -> Iterator[Moment]:
    """Yield the fingered events; before the first, the hand is taken to wait in first position."""
    position, home = PositionNumber(1), None
    for event, step in zip(analysis.part.events, analysis.steps, strict=True):
        place = step.placement
        if place is None or not step.choices:
            continue
        arrival = False
        if any(choice.stop.finger for choice in step.choices):
            moved = place.position != position and place.home != home
            arrival = moved or (home is not None and abs(place.home - home) > 1)
            position, home = place.position, place.home
        yield Moment(event, step.choices, place.position, place.home, arrival)


# ── fingers and strings ─────────────────────────────────────────────────────────────────────────


def suggested(analysis: Analysis, amount: Amount) -> dict[Address, Marks]:
    """Choose fingers, strings and positions to be marked, whatever is printed already.

    Parameters
    ----------
    analysis
        A fingered part.
    amount
        How many.
    """
    if amount is Amount.NONE:
        return {}
    marked = _all(analysis) if amount is Amount.ALL else _sparse(analysis)
    for event, position in _settled(analysis, SETTLED if amount is Amount.SPARSE else 1):
        address = bearer(event)
        marked[address] = replace(marked.get(address, NO_MARKS), position=position)
    return marked


def _settled(analysis: Analysis, least: int) -> Iterator[tuple[Event, PositionNumber]]:
    """Yield the events at which the hand comes to another position, and stays for a while.

    Where the score itself says so there or a few notes later, it is left to that.
    """
    stopped = [moment for moment in moments(analysis) if moment.down]
    told = PositionNumber(1)
    for place, moment in enumerate(stopped):
        ahead = stopped[place : place + least]
        if _says_position(moment):
            told = moment.position
        elif moment.arrival and moment.position != told:
            stays = all(one.position == moment.position for one in ahead)
            said_soon = any(map(_says_position, stopped[place : place + 2 * SETTLED]))
            if len(ahead) == least and stays and not said_soon:
                told = moment.position
                yield moment.event, told


def _says_position(moment: Moment) -> bool:
    return any(note.marks.position is not None for note in moment.event.notes)


def _all(analysis: Analysis) -> dict[Address, Marks]:
    marked: dict[Address, Marks] = {}
    before: tuple[StringIndex, ...] = ()
    for moment in moments(analysis):
        strings = tuple(choice.stop.string for choice in moment.choices)
        for note, choice in zip(moment.event.notes, moment.choices, strict=True):
            mark = full_mark(analysis, choice.stop)
            marked[note.address] = replace(mark, string=None) if strings == before else mark
        before = strings
    return marked


@dataclass(slots=True)
class _Known:
    """What a player who reads the part knows so far."""

    strings: tuple[Pitch, ...]
    """Open strings, lowest first."""
    shown: dict[int, tuple[int, StringIndex, Finger]] = field(default_factory=dict)
    """For each MIDI number the bar, string and finger it was last marked with."""
    stretched: bool = False
    """Whether a finger was stretched for the event before."""
    last: tuple[Stop, ...] = ()
    """Stops of the event before, unless the hand has moved since."""
    pair: tuple[tuple[StringIndex, Finger], ...] = ()
    """Strings and fingers of the last double stop."""


def _sparse(analysis: Analysis) -> dict[Address, Marks]:
    marked: dict[Address, Marks] = {}
    known = _Known(_open_strings(analysis))
    for moment in moments(analysis):
        if moment.arrival:
            known.last = ()
        pairs = list(zip(moment.event.notes, moment.choices, strict=True))
        needed = [_needs_finger(moment, note, choice, known) for note, choice in pairs]
        for (note, choice), here in zip(pairs, needed, strict=True):
            stop = choice.stop
            # Fingers of a chord are read together: all of them and its open strings, or none.
            if here or (any(needed) and not note.marks.harmonic):
                mark = full_mark(analysis, stop)
                hidden = moment.arrival and _hidden_string(known.strings, moment, stop)
                marked[note.address] = mark if hidden else replace(mark, string=None)
            if note.address in marked or note.marks.fingers or note.marks.open_string:
                known.shown[note.pitch.midi] = (moment.event.measure, stop.string, stop.finger)
        _take_in(moment, known)
    return marked


def _open_strings(analysis: Analysis) -> tuple[Pitch, ...]:
    """Open strings of the part's instrument, lowest first."""
    return instrument(analysis.part.instrument, tuning=analysis.part.tuning).strings


def _needs_finger(moment: Moment, note: Note, choice: Choice, known: _Known) -> bool:
    stop = choice.stop
    if note.marks.harmonic and stop.finger == 0:
        return False
    if moment.arrival and stop.finger:
        return True
    if known.shown.get(note.pitch.midi) == (moment.event.measure, stop.string, stop.finger):
        return False
    if stop.finger == 0 or _is_an_open_string(known.strings, note):
        return _open_or_fourth(moment, note, choice, known)
    return (
        known.stretched
        or _stretched(moment, stop)
        or _slides(known, stop)
        or not _finger_of_letter(known.strings, moment, note, stop)
        or (len(moment.down) > 1 and _pair(moment) != known.pair)
    )


def _open_or_fourth(moment: Moment, note: Note, choice: Choice, known: _Known) -> bool:
    """Tell whether a note of an open string's pitch must say how it is taken.

    In first position an open string is what one looks for, unless the note was last marked with a
    finger; elsewhere the hand may have it under a finger as well.
    """
    low = moment.position <= 1
    if choice.stop.finger == 0 and low:
        _, _, before = known.shown.get(note.pitch.midi, (0, choice.stop.string, Finger(0)))
        return before != 0 or choice.certainty is Certainty.OPEN
    return low or choice.certainty is not Certainty.SURE


def _take_in(moment: Moment, known: _Known) -> None:
    if moment.down:
        known.stretched = any(_stretched(moment, stop) for stop in moment.down)
        known.last = moment.down
    if len(moment.down) > 1:
        known.pair = _pair(moment)


def _pair(moment: Moment) -> tuple[tuple[StringIndex, Finger], ...]:
    return tuple((stop.string, stop.finger) for stop in moment.down)


def _is_an_open_string(strings: tuple[Pitch, ...], note: Note) -> bool:
    return any(note.pitch.midi == string.midi for string in strings)


def _stretched(moment: Moment, stop: Stop) -> bool:
    kind = _SLOT_KINDS.get((stop.finger, stop.offset - moment.home))
    return not stop.touched and kind in _STRETCHED


def _slides(known: _Known, stop: Stop) -> bool:
    return any(
        one.string == stop.string and one.finger == stop.finger and one.offset != stop.offset
        for one in known.last
    )


def _finger_of_letter(strings: tuple[Pitch, ...], moment: Moment, note: Note, stop: Stop) -> bool:
    """Tell whether the note's letter lies under its finger in this position."""
    if stop.touched or note.marks.harmonic:
        return True
    expected = note.pitch.letter - strings[stop.string].letter - moment.position + 1
    # In half position the first finger takes its half step by either letter.
    return stop.finger == expected or (moment.position == 0 and stop.finger == 1 and expected == 2)


def _hidden_string(strings: tuple[Pitch, ...], moment: Moment, stop: Stop) -> bool:
    """Tell whether a finger would also find its note on a higher string, where one looks first.

    A double stop shows its strings by itself.
    """
    if stop.finger == 0 or len(moment.down) > 1:
        return False
    midi = strings[stop.string].midi + stop.offset
    nearest = _NEAREST[stop.finger]
    return any(midi - higher.midi >= nearest for higher in strings[stop.string + 1 :])
