"""Takes down the words and lines of a direction, with when they hold.

Conventions: words of one direction are read together, since exporters split them by font; a dashed
or bracketed line belongs to the words of its own direction, else to the words before it at the same
moment. Words in large or bold print are titles. ``sound pizzicato`` counts as a word.
"""

from typing import NamedTuple

from scoretools.read.attributes import number_of
from scoretools.read.document import Element, text_of

__all__ = ["LineEnd", "Place", "Saying", "sayings"]

_TITLE_SIZE = 13
"""Points; words of a part are set in 10 to 12, titles in 14 or more."""

_LINES = ("dashes", "bracket")
_PIZZICATO = {"yes": "pizz.", "no": "arco"}


class Place(NamedTuple):
    """Where in a part something stands."""

    onset: int
    """Ticks from the start of the part."""
    measure: int
    """Index of the measure."""
    number: int
    """Running number of the next note in the document."""
    opening: bool
    """Whether the measure begins here."""


class Saying(NamedTuple):
    """Words and where they stand."""

    place: Place
    """Where they stand."""
    text: str
    """The words on one line."""
    title: bool
    """Whether they are printed like a title."""
    line: str
    """Name of the line that shows how long they hold, empty when there is none."""


class LineEnd(NamedTuple):
    """The end of a dashed or bracketed line."""

    place: Place
    """Where it ends."""
    line: str
    """Name of the line."""


def sayings(direction: Element, place: Place, said: list[Saying | LineEnd]) -> None:
    """Take down a ``direction`` or a ``sound``.

    Parameters
    ----------
    direction : Element
        The element.
    place : Place
        Where it stands.
    said : list of Saying or LineEnd
        What was taken down before; changed.

    Raises
    ------
    Nothing.
    """
    words = [word for word in direction.iter("words") if text_of(word)]
    begun = ""
    for tag in _LINES:
        for line in direction.iter(tag):
            name = f"{tag} {line.get('number', '1')}"
            if line.get("type") == "start":
                begun = name
            elif line.get("type") == "stop":
                said.append(LineEnd(place, name))
    if words:
        text = " ".join(text_of(word) for word in words)
        said.append(Saying(place, text, any(map(_large, words)), begun))
    elif begun:
        last = said[-1] if said else None
        if isinstance(last, Saying) and last.place.onset == place.onset and not last.line:
            said[-1] = last._replace(line=begun)
    plucking = (_PIZZICATO.get(sound.get("pizzicato", "")) for sound in direction.iter("sound"))
    said += [Saying(place, text, False, "") for text in plucking if text]


def _large(word: Element) -> bool:
    size = number_of(word.get("font-size"))
    return word.get("font-weight") == "bold" or (size is not None and size > _TITLE_SIZE)
