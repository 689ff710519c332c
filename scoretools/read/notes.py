"""Reads one ``note`` element, wherever it stands.

Conventions: lengths come from the durations of the document, not from note types; a note without a
duration takes it from its type, dots and tuplet. Ties are those that sound (``tie``), or those
that are drawn (``tied``) where a note has only these. Hidden notes sound and are read.
"""

from collections.abc import Mapping
from fractions import Fraction
from functools import lru_cache
from typing import NamedTuple

from scoretools.model import Pitch
from scoretools.read.attributes import NO_TRANSPOSITION, Transposition, number_of, pitch_of
from scoretools.read.document import Element, text_of

__all__ = ["TYPE_QL", "Unit", "WrittenNote", "length_of", "written_note"]

TYPE_QL = {
    "maxima": Fraction(32),
    "long": Fraction(16),
    "breve": Fraction(8),
    "whole": Fraction(4),
    "half": Fraction(2),
    "quarter": Fraction(1),
    "eighth": Fraction(1, 2),
    "16th": Fraction(1, 4),
    "32nd": Fraction(1, 8),
    "64th": Fraction(1, 16),
    "128th": Fraction(1, 32),
    "256th": Fraction(1, 64),
    "512th": Fraction(1, 128),
    "1024th": Fraction(1, 256),
}
"""Quarter lengths of the note types."""

_ACCIDENTALS = {
    "natural": 0, "sharp": 1, "flat": -1, "double-sharp": 2, "sharp-sharp": 2, "flat-flat": -2,
}  # fmt: skip
"""Semitones by the name of a printed accidental."""

_NO_TIES: frozenset[str] = frozenset()


class Unit(NamedTuple):
    """What durations are counted in."""

    divisions: Fraction
    """Units of the document in a quarter note."""
    ticks: int
    """Units of the reader in a quarter note, a multiple of all divisions of the part."""


class WrittenNote(NamedTuple):
    """What one ``note`` element says."""

    kind: str
    """``note``, ``rest``, or why it is skipped: ``cue``, ``unpitched``, ``pitch``, ``duration``."""
    chord: bool
    """Whether it begins with the note before it."""
    grace: bool
    """Whether it is a grace note."""
    length: int
    """Ticks; 0 for a grace note and where it cannot be told."""
    voice: str
    """Voice as named."""
    staff: int
    """Staff, from 1."""
    pitch: Pitch | None
    """Sounding pitch; none unless it is a note."""
    microtone: bool
    """Whether the pitch was rounded to a semitone."""
    ties: frozenset[str]
    """``start`` and ``stop``, as far as it is tied."""
    slurs: tuple[tuple[str, str], ...]
    """``start`` or ``stop``, and the number, of each slur; ends before beginnings."""
    technical: tuple[Element, ...]
    """Its ``technical`` elements."""
    diamond: bool
    """Whether its head is a diamond."""
    ornaments: tuple[Element, ...]
    """Its ``ornaments`` elements."""
    glides: bool
    """Whether a glissando or slide begins on it."""
    misprinted: bool
    """Whether the printed accidental says otherwise than the pitch."""


def written_note(
    element: Element, unit: Unit, transpositions: Mapping[int, Transposition]
) -> WrittenNote:
    """Return what a ``note`` element says.

    Parameters
    ----------
    element : Element
        The element.
    unit : Unit
        What durations are counted in.
    transpositions : mapping of int to tuple
        Interval to the sounding note by staff, 0 for all staves.

    Returns
    -------
    WrittenNote
        Its content.

    Raises
    ------
    Nothing.
    """
    children = {str(child.tag): child for child in element}
    grace = "grace" in children
    length = 0 if grace else _length(children, element, unit)
    staff = _staff(children)
    read = _pitch(children, transpositions, staff)
    notations = _notations(children, element)
    tied = notations.tied
    if "tie" in children:
        tied = frozenset(tie.get("type", "") for tie in element.iterchildren("tie"))
    return WrittenNote(
        kind=_kind(children, length, read),
        chord="chord" in children,
        grace=grace,
        length=length or 0,
        voice=text_of(children["voice"]) or "1" if "voice" in children else "1",
        staff=staff,
        pitch=read[0] if read else None,
        microtone=read is not None and read[1],
        ties=tied,
        slurs=notations.slurs,
        technical=notations.technical,
        diamond="notehead" in children and text_of(children["notehead"]) == "diamond",
        ornaments=notations.ornaments,
        glides=notations.glides,
        misprinted="accidental" in children and _misprinted(children),
    )


@lru_cache(maxsize=4096)
def length_of(text: str | None, unit: Unit) -> int | None:
    """Return a duration in ticks.

    Parameters
    ----------
    text : str or None
        Text of a ``duration``.
    unit : Unit
        What it is counted in.

    Returns
    -------
    int or None
        Ticks; none unless the text is a number that is not negative.

    Raises
    ------
    Nothing.
    """
    number = number_of(text)
    if number is None or number < 0:
        return None
    return round(number * unit.ticks / unit.divisions)


def _kind(
    children: Mapping[str, Element], length: int | None, read: tuple[Pitch, bool] | None
) -> str:
    if "rest" in children:
        return "rest"
    if "cue" in children:
        return "cue"
    if "unpitched" in children:
        return "unpitched"
    if read is None:
        return "pitch"
    return "note" if length is not None else "duration"


def _staff(children: Mapping[str, Element]) -> int:
    if "staff" not in children:
        return 1
    return int(number_of(children["staff"].text) or 1)


def _pitch(
    children: Mapping[str, Element], transpositions: Mapping[int, Transposition], staff: int
) -> tuple[Pitch, bool] | None:
    if "pitch" not in children:
        return None
    texts = {str(child.tag): child.text for child in children["pitch"]}
    transposition = NO_TRANSPOSITION
    if transpositions:
        transposition = transpositions.get(staff, transpositions.get(0, NO_TRANSPOSITION))
    return pitch_of(texts.get("step"), texts.get("alter"), texts.get("octave"), transposition)


def _misprinted(children: Mapping[str, Element]) -> bool:
    if "pitch" not in children:
        return False
    printed = _ACCIDENTALS.get(text_of(children["accidental"]))
    return printed is not None and printed != (number_of(children["pitch"].findtext("alter")) or 0)


def _length(children: Mapping[str, Element], element: Element, unit: Unit) -> int | None:
    if "duration" in children:
        given = length_of(children["duration"].text, unit)
        if given:
            return given
    length = TYPE_QL.get(text_of(children.get("type")))
    if length is None:
        return None
    dots = sum(1 for _ in element.iterchildren("dot"))
    length *= 2 - Fraction(1, 2 ** min(dots, 8))
    tuplet = children.get("time-modification")
    if tuplet is not None:
        actual = number_of(tuplet.findtext("actual-notes"))
        normal = number_of(tuplet.findtext("normal-notes"))
        if actual and normal and actual > 0 and normal > 0:
            length = length * normal / actual
    return round(length * unit.ticks)


class _Notations(NamedTuple):
    """What stands in the ``notations`` of a note."""

    slurs: tuple[tuple[str, str], ...] = ()
    technical: tuple[Element, ...] = ()
    tied: frozenset[str] = _NO_TIES
    ornaments: tuple[Element, ...] = ()
    glides: bool = False


_NOTHING = _Notations()


def _notations(children: Mapping[str, Element], element: Element) -> _Notations:
    if "notations" not in children:
        return _NOTHING
    slurs: list[tuple[str, str]] = []
    found: dict[str, list[Element]] = {"technical": [], "ornaments": []}
    tied: set[str] = set()
    glides = False
    for notations in element.iterchildren("notations"):
        for child in notations:
            if child.tag == "slur":
                slurs.append((child.get("type", ""), child.get("number", "1")))
            elif child.tag in found:
                found[str(child.tag)].append(child)
            elif child.tag == "tied":
                tied.add(child.get("type", ""))
            elif child.tag in ("glissando", "slide"):
                glides = glides or child.get("type") == "start"
    # An end and a beginning of the same number may stand on one note in either order.
    slurs = sorted((slur for slur in slurs if slur[0] in ("start", "stop")), reverse=True)
    technical, ornaments = tuple(found["technical"]), tuple(found["ornaments"])
    return _Notations(tuple(slurs), technical, frozenset(tied), ornaments, glides)
