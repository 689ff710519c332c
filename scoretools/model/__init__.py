"""The values that pass between the stages: frozen, hashable, without behaviour beyond naming.

Conventions
-----------
* Score time is in quarter lengths (``_ql``, `Fraction`); clock time in seconds (``_s``, float).
* Strings are numbered from the lowest, 0 (`StringIndex`). What a score *prints* counts from the
  highest, 1 (`PrintedString`, MusicXML 4.0 ``<string>``). The two never mix.
* An offset is a number of semitones above the open string; a home is an offset too: where the
  first finger's ordinary place lies, the same on all strings.
* Position 0 is half position (shown as 0.5); 1 to 12 are the positions by letter.
* Pitches sound as written here: transposition is applied by the reader.
"""

from scoretools.model.playing import (
    BarLoad,
    Certainty,
    Choice,
    Demand,
    DemandKind,
    Passage,
    Placement,
    Shape,
    Step,
    Stop,
)
from scoretools.model.practice import (
    Analysis,
    Check,
    Drill,
    DrillNote,
    Exercise,
    LeftOut,
)
from scoretools.model.score import (
    NO_MARKS,
    NO_WORDS,
    Address,
    Continuation,
    Divided,
    Event,
    Finger,
    Harmonic,
    Join,
    Key,
    Marks,
    Measure,
    Note,
    NoteRef,
    Notice,
    Offset,
    Ornament,
    OrnamentKind,
    Part,
    Pitch,
    PositionNumber,
    PrintedString,
    StringIndex,
    Tempo,
    Words,
)

__all__ = [
    "NO_MARKS",
    "NO_WORDS",
    "Address",
    "Analysis",
    "BarLoad",
    "Certainty",
    "Check",
    "Choice",
    "Continuation",
    "Demand",
    "DemandKind",
    "Divided",
    "Drill",
    "DrillNote",
    "Event",
    "Exercise",
    "Finger",
    "Harmonic",
    "Join",
    "Key",
    "LeftOut",
    "Marks",
    "Measure",
    "Note",
    "NoteRef",
    "Notice",
    "Offset",
    "Ornament",
    "OrnamentKind",
    "Part",
    "Passage",
    "Pitch",
    "Placement",
    "PositionNumber",
    "PrintedString",
    "Shape",
    "Step",
    "Stop",
    "StringIndex",
    "Tempo",
    "Words",
]
