"""Why a printed mark could not be honoured, in words."""

from scoretools.instrument import (
    Instrument,
    from_printed_string,
    string_names,
)
from scoretools.model import Note, PositionNumber, Stop
from scoretools.note_names import name_of, worded

__all__ = ["why_not_honoured"]


def why_not_honoured(
    instrument: Instrument, note: Note, stop: Stop, position: PositionNumber
) -> str:
    """Say which mark of a note is not honoured, and why as far as the note tells.

    Parameters
    ----------
    stop, position
        How the note is played.

    Returns
    -------
    str
        Half a sentence; empty where every mark of the note is honoured.
    """
    name, marks = name_of(note.pitch), note.marks
    if (marks.open_string or marks.fingers == (0,)) and stop.finger:
        if all(note.pitch.midi != string.midi for string in instrument.strings):
            return worded(
                "a 0 is printed on {}, which no open string sounds, nor a natural harmonic", name
            )
        return worded("the open string printed on {} is not free", name)
    if marks.string is not None:
        index = from_printed_string(instrument, marks.string)
        if index is None:
            return worded(
                "string {} is printed on {}, which this instrument has not", marks.string, name
            )
        string = string_names(instrument)[index]
        if note.pitch.midi < instrument.strings[index].midi:
            return worded("{} lies below the {} string printed on it", name, string)
        if stop.string != index:
            return worded("{} cannot be reached on the {} string here", name, string)
    if marks.fingers and stop.finger not in marks.fingers:
        printed = " or ".join(map(str, marks.fingers))
        return worded("finger {} is printed on {}, where it cannot reach", printed, name)
    if marks.position not in (None, position) and stop.finger:
        return worded("{} cannot be taken in the position printed there", name)
    return ""
