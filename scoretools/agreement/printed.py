"""What is printed on a note about the left hand, and a part without it."""

from collections.abc import Collection
from dataclasses import dataclass, replace

from scoretools.instrument import Instrument, from_printed_string, position_label, string_names
from scoretools.model import (
    NO_MARKS,
    Event,
    Finger,
    Marks,
    Note,
    Part,
    PositionNumber,
    StringIndex,
)

__all__ = ["Printed", "has_marks", "printed_on", "say_printed", "without_marks"]

_OPEN = Finger(0)


@dataclass(frozen=True, slots=True)
class Printed:
    """What is printed on a note, or holds there in words."""

    fingers: tuple[Finger, ...]
    """Fingers that are right; empty where the note carries no mark."""
    string: StringIndex | None
    """The string, printed, asked for in words or meant by an open string; 0 = lowest."""
    position: PositionNumber | None
    """The position in words; it says nothing where an open string is printed."""


def printed_on(played: Instrument, event: Event, note: Note) -> Printed:
    """Gather what is printed on a note of an event.

    Notes
    -----
    A nought on a harmonic is the sign of the harmonic, no open string. Words such as *sul G* count
    as far as the search counts them: on single notes that the string can play.
    """
    marks = note.marks
    fingers = tuple(finger for finger in marks.fingers if finger or not marks.harmonic)
    if marks.open_string and not marks.harmonic and _OPEN not in fingers:
        fingers += (_OPEN,)
    string = _string(played, event, note)
    if string is None and fingers == (_OPEN,):
        string = _open_string(played, note)
    return Printed(fingers, string, None if fingers == (_OPEN,) else marks.position)


def _string(played: Instrument, event: Event, note: Note) -> StringIndex | None:
    if note.marks.string is not None:
        return from_printed_string(played, note.marks.string)
    if event.words.string is None or len(event.notes) > 1:
        return None
    string = from_printed_string(played, event.words.string)
    if string is None or note.pitch.midi < played.strings[string].midi:
        return None
    return string


def _open_string(played: Instrument, note: Note) -> StringIndex | None:
    for index, string in enumerate(played.strings):
        if string.midi == note.pitch.midi:
            return StringIndex(index)
    return None


def has_marks(part: Part) -> bool:
    """Tell whether an edition prints fingers, open strings, strings or positions in a part."""
    return any(
        event.words.string is not None or any(_told(note.marks) for note in event.notes)
        for event in part.events
    )


def _told(marks: Marks) -> bool:
    """Whether anything is printed apart from what says which note is meant."""
    return marks is not NO_MARKS and marks != _bare(marks)


def without_marks(part: Part, bars: Collection[int] | None = None) -> Part:
    """Hide what is printed about the left hand.

    Parameters
    ----------
    bars
        Indices of the bars in which it is hidden; by default in all.
    """
    events = (
        _hidden(event) if bars is None or event.measure in bars else event for event in part.events
    )
    return replace(part, events=tuple(events))


def _hidden(event: Event) -> Event:
    return replace(
        event,
        notes=tuple(replace(note, marks=_bare(note.marks)) for note in event.notes),
        words=replace(event.words, string=None, stay=False),
    )


def _bare(marks: Marks) -> Marks:
    if marks.harmonic is None and not marks.left_hand_pizzicato:
        return NO_MARKS
    return Marks(harmonic=marks.harmonic, left_hand_pizzicato=marks.left_hand_pizzicato)


def say_printed(played: Instrument, printed: Printed) -> str:
    """Say what is printed, such as ``2 or 3, A string``."""
    said = [" or ".join(map(str, printed.fingers))] if printed.fingers else []
    if printed.string is not None:
        said.append(f"{string_names(played)[printed.string]} string")
    if printed.position is not None:
        said.append(position_label(printed.position))
    return ", ".join(said)
