"""Why a printed mark could not be honoured, in words."""

from scoretools.instrument import (
    Instrument,
    from_printed_string,
    string_names,
)
from scoretools.model import Note, PositionNumber, Stop

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
    name, marks = note.pitch.name, note.marks
    if (marks.open_string or marks.fingers == (0,)) and stop.finger:
        if all(note.pitch.midi != string.midi for string in instrument.strings):
            return f"a 0 is printed on {name}, which no open string sounds, nor a natural harmonic"
        return f"the open string printed on {name} is not free"
    if marks.string is not None:
        index = from_printed_string(instrument, marks.string)
        if index is None:
            return f"string {marks.string} is printed on {name}, which this instrument has not"
        if note.pitch.midi < instrument.strings[index].midi:
            return f"{name} lies below the {string_names(instrument)[index]} string printed on it"
        if stop.string != index:
            return f"{name} cannot be reached on the {string_names(instrument)[index]} string here"
    if marks.fingers and stop.finger not in marks.fingers:
        printed = " or ".join(map(str, marks.fingers))
        return f"finger {printed} is printed on {name}, where it cannot reach"
    if marks.position not in (None, position) and stop.finger:
        return f"{name} cannot be taken in the position printed there"
    return ""
