"""Bars under a sign that repeats the bars before: they sound though no notes stand in them.

Conventions: an empty bar under the sign gets copies of the notes so many bars before as the sign
says, at the addresses where they are written. A bar that holds notes of its own keeps them, since
some exporters write them under the sign. Signs that repeat a beat are only told.

Source: MusicXML 4.0, ``measure-repeat``: it lasts up to the measure with its stop.
"""

from itertools import takewhile

from scoretools.read.attributes import number_of
from scoretools.read.document import Element, text_of
from scoretools.read.notices import count
from scoretools.read.walk import RawNote, Walk

__all__ = ["fill", "read_style"]

_MOST_BARS = 8


def read_style(walk: Walk, style: Element, measure: int) -> None:
    """Take down a ``measure-style``.

    Parameters
    ----------
    walk : Walk
        Where the reader stands; changed.
    style : Element
        The element.
    measure : int
        Index of its measure.

    Raises
    ------
    Nothing.
    """
    for sign in style.iterchildren("measure-repeat", "beat-repeat"):
        starts = sign.get("type") == "start"
        if sign.tag == "beat-repeat":
            if starts:
                count(walk.log, "beat repeat", measure)
        else:
            bars = number_of(text_of(sign)) or 1
            walk.repeated_bars = min(max(int(bars), 1), _MOST_BARS) if starts else 0


def fill(walk: Walk, measure: int, first: int) -> int:
    """Fill an empty bar under the sign.

    Parameters
    ----------
    walk : Walk
        Where the reader stands; notes are added.
    measure : int
        Index of the bar.
    first : int
        Running number of its first note.

    Returns
    -------
    int
        How far its music reaches, ticks; 0 where nothing was filled in.

    Raises
    ------
    Nothing.
    """
    source = measure - walk.repeated_bars
    if not walk.repeated_bars or len(walk.notes) > first or source < 0:
        return 0
    later = takewhile(lambda note: note.measure >= source, reversed(walk.notes))
    notes = [note for note in later if note.measure == source][::-1]
    if not notes:
        return 0
    count(walk.log, "bar repeat", measure)
    ahead = walk.onset - walk.measures[source].onset
    numbers = {note.number: first + place for place, note in enumerate(notes)}
    walk.notes += [_moved(note, measure, ahead, numbers) for note in notes]
    walk.signs += [(numbers[n], signs) for n, signs in walk.signs if n in numbers]
    walk.slur_ends += [
        end._replace(moment=_later(end.moment, ahead, numbers), measure=measure)
        for end in walk.slur_ends
        if end.measure == source
    ]
    return walk.measures[source].length


def _moved(note: RawNote, measure: int, ahead: int, numbers: dict[int, int]) -> RawNote:
    moment = _later(note.moment, ahead, numbers)
    return note._replace(number=numbers[note.number], measure=measure, moment=moment)


def _later(
    moment: tuple[int, int, int], ahead: int, numbers: dict[int, int]
) -> tuple[int, int, int]:
    onset, phase, number = moment
    return onset + ahead, phase, numbers.get(number, number) if not phase else number
