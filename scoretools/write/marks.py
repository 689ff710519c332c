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
find the note on a higher one (as words where the hand goes on there), or where the position in
force leads to another (`scoretools.write.string_read`); stretched fingers and the note after them;
a finger that takes another letter or slides by a half step; an open string or a fourth finger where
the other is likely too, and a sharpened open string, which a high fourth finger and a low first one
may both take; fingers of a double stop unless the one before has the same. Words tell the position
after a shift (`scoretools.write.named_positions`), and the shape of the hand where it is first
needed.
"""

from collections.abc import Mapping
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
from scoretools.write.hand_walk import Moment, moments
from scoretools.write.named_positions import SETTLED, named_positions
from scoretools.write.string_read import string_read

__all__ = [
    "ON_NEXT_STRING",
    "Amount",
    "bearer",
    "full_mark",
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


ON_NEXT_STRING = 8
"""Semitones above an open string from which on a stopped note is looked for on the next one."""

_FIRST = PositionNumber(1)
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
    least = SETTLED if amount is Amount.SPARSE else 1
    named = {event.index: (event, at) for event, at in named_positions(analysis, least)}
    told = {index: position for index, (_, position) in named.items()}
    marked = _all(analysis) if amount is Amount.ALL else _sparse(analysis, told)
    for event, position in named.values():
        address = bearer(event)
        marked[address] = replace(marked.get(address, NO_MARKS), position=position)
    return marked


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
    position: PositionNumber = _FIRST
    """Where the hand is, as far as the marks tell."""
    low: bool = False
    """Whether a note high on the lowest string was marked since the hand came there."""
    shown: dict[int, tuple[int, StringIndex, Finger]] = field(default_factory=dict)
    """For each MIDI number the bar, string and finger it was last marked with."""
    stretched: bool = False
    """Whether a finger was stretched for the event before."""
    last: tuple[Stop, ...] = ()
    """Stops of the event before, unless the hand has moved since."""
    pair: tuple[tuple[StringIndex, Finger], ...] = ()
    """Strings and fingers of the last double stop."""


def _sparse(analysis: Analysis, told: Mapping[int, PositionNumber]) -> dict[Address, Marks]:
    """Mark what a player could not guess who reads the positions told, by index of the event."""
    marked: dict[Address, Marks] = {}
    known = _Known(_open_strings(analysis))
    for moment in moments(analysis):
        if moment.arrival:
            known.last = ()
        known.position = told.get(moment.event.index, known.position)
        pairs = list(zip(moment.event.notes, moment.choices, strict=True))
        needed = [_needs_finger(moment, note, choice, known) for note, choice in pairs]
        misread = [
            _misread(moment, note, choice, known) or _climbs_low(moment, choice, known)
            for note, choice in pairs
        ]
        for (note, choice), here, elsewhere in zip(pairs, needed, misread, strict=True):
            stop = choice.stop
            # Fingers of a chord are read together: all of them and its open strings, or none.
            if here or elsewhere or (any(needed) and not note.marks.harmonic):
                mark = full_mark(analysis, stop)
                hidden = moment.arrival and _hidden_string(known.strings, moment, stop)
                marked[note.address] = mark if hidden or elsewhere else replace(mark, string=None)
            if note.address in marked or note.marks.fingers or note.marks.open_string:
                known.shown[note.pitch.midi] = (moment.event.measure, stop.string, stop.finger)
        _take_in(moment, known)
    return marked


def _misread(moment: Moment, note: Note, choice: Choice, known: _Known) -> bool:
    """Tell whether a player would look for a note on another string, finger printed or not."""
    stop = choice.stop
    alone = len(moment.choices) == 1 and stop.finger and not stop.touched
    again = known.shown.get(note.pitch.midi) == (moment.event.measure, stop.string, stop.finger)
    if not alone or note.marks.harmonic or (again and not moment.arrival):
        return False
    shown = bool(note.marks.fingers) or _needs_finger(moment, note, choice, known)
    finger = stop.finger if shown else None
    return string_read(known.strings, known.position, note.pitch, finger) != stop.string


def _climbs_low(moment: Moment, choice: Choice, known: _Known) -> bool:
    """Tell whether a note high on the lowest string is the first there: few expect that."""
    stop = choice.stop
    alone = len(moment.choices) == 1 and not stop.touched
    return alone and not known.low and stop.string == 0 and stop.offset >= ON_NEXT_STRING


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
        or _is_sharpened_open_string(known.strings, moment, note)
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
    if moment.arrival:
        known.position = moment.position
        known.low = False
    known.low = known.low or any(
        stop.string == 0 and stop.offset >= ON_NEXT_STRING for stop in moment.down
    )
    if moment.down:
        known.stretched = any(_stretched(moment, stop) for stop in moment.down)
        known.last = moment.down
    if len(moment.down) > 1:
        known.pair = _pair(moment)


def _pair(moment: Moment) -> tuple[tuple[StringIndex, Finger], ...]:
    return tuple((stop.string, stop.finger) for stop in moment.down)


def _is_an_open_string(strings: tuple[Pitch, ...], note: Note) -> bool:
    return any(note.pitch.midi == string.midi for string in strings)


def _is_sharpened_open_string(strings: tuple[Pitch, ...], moment: Moment, note: Note) -> bool:
    """Tell whether a high fourth finger and a low first one on the next string are both likely."""
    return moment.position == 1 and any(
        (note.pitch.letter, note.pitch.midi) == (string.letter, string.midi + 1)
        for string in strings[1:]
    )


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
