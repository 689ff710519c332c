"""On which string a reader looks for a note, from the position in force and the finger over it.

Conventions (common practice, no published source)
--------------------------------------------------
* Without a finger, a note is looked for under the finger of its letter, or as an open string, on
  the highest string that has it in the position in force.
* A finger is taken on the string where the hand moves least for it.
"""

from collections.abc import Sequence

from scoretools.model import Finger, Pitch, PositionNumber, StringIndex

__all__ = ["string_read"]


def string_read(
    strings: Sequence[Pitch], position: PositionNumber, pitch: Pitch, finger: Finger | None
) -> StringIndex | None:
    """Return the string a reader takes; none where it is not clear.

    Parameters
    ----------
    strings
        Open strings, lowest first.
    position
        Position in force.
    pitch
        The note.
    finger
        What is printed over it, none where nothing is.
    """
    if finger is None:
        return _by_letter(strings, position, pitch)
    moves = sorted(
        (abs(pitch.letter - string.letter - finger + 1 - position), index)
        for index, string in enumerate(strings)
        if pitch.midi > string.midi and pitch.letter - string.letter - finger + 1 >= 0
    )
    if not moves or (len(moves) > 1 and moves[0][0] == moves[1][0]):
        return None
    return StringIndex(moves[0][1])


def _by_letter(
    strings: Sequence[Pitch], position: PositionNumber, pitch: Pitch
) -> StringIndex | None:
    for index, string in reversed(list(enumerate(strings))):
        finger = pitch.letter - string.letter - position + 1
        if pitch == string or (1 <= finger <= 4 and pitch.midi > string.midi):
            return StringIndex(index)
    return None
