"""Two dumb rules for comparison: what they find by themselves is no merit of the search.

Each looks at one note alone and goes by its letter, so that accidentals make low and high fingers.
"""

from collections.abc import Callable, Mapping
from types import MappingProxyType

from scoretools.agreement.found import Found
from scoretools.instrument import HIGHEST_POSITION, Instrument
from scoretools.model import Finger, Pitch, PositionNumber, StringIndex

__all__ = ["FIRST_POSITION", "LOWEST_POSITION", "RULES", "first_position", "lowest_position"]

FIRST_POSITION = "first position, never an open string"
LOWEST_POSITION = "always the lowest position"

_FIRST = PositionNumber(1)
_EXTENDED = 5
"""Letters above the open string of the extended fourth finger in first position."""


def first_position(played: Instrument, pitch: Pitch) -> Found | None:
    """Play a note in first position with a finger, never on an open string.

    Parameters
    ----------
    played
        The instrument.
    pitch
        The note.

    Returns
    -------
    Found or None
        On the highest string above whose letter it lies one to four letters: that is the finger.
        Five letters above the top string, the extended fourth finger. The lowest open string,
        which nothing else sounds, is open. None for notes above and below that.
    """
    for string in reversed(range(len(played.strings))):
        letters = pitch.letter - played.strings[string].letter
        if 1 <= letters <= 4:
            return Found(StringIndex(string), _FIRST, Finger(letters))
    if pitch.midi == played.strings[0].midi:
        return Found(StringIndex(0), _FIRST, Finger(0))
    if pitch.letter - played.strings[-1].letter == _EXTENDED:
        return Found(StringIndex(len(played.strings) - 1), _FIRST, Finger(4))
    return None


def lowest_position(played: Instrument, pitch: Pitch) -> Found | None:
    """Play a note as low on the fingerboard as it goes, on an open string where one sounds it.

    Parameters
    ----------
    played
        The instrument.
    pitch
        The note.

    Returns
    -------
    Found or None
        The open string; else first position, on the highest string above whose letter it lies one
        to four letters; above that the fourth finger on the top string. None for notes below the
        instrument and above the twelfth position.
    """
    for string, open_pitch in enumerate(played.strings):
        if pitch.midi == open_pitch.midi:
            return Found(StringIndex(string), _FIRST, Finger(0))
    letters = pitch.letter - played.strings[-1].letter
    if letters > 4:
        position = PositionNumber(letters - 3)
        top = StringIndex(len(played.strings) - 1)
        return Found(top, position, Finger(4)) if position <= HIGHEST_POSITION else None
    return first_position(played, pitch)


RULES: Mapping[str, Callable[[Instrument, Pitch], Found | None]] = MappingProxyType(
    {FIRST_POSITION: first_position, LOWEST_POSITION: lowest_position}
)
"""The rules by their names, in the order of every table."""
