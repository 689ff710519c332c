"""Accidentals that a score leaves to its reader's program: written out before it is engraved.

MusicXML tells the sounding alteration of every note, and the printed sign apart from it; a file may
leave the signs out. The engraver draws printed signs alone, so a sharp would be read as a natural.
"""

from collections.abc import Iterator
from fractions import Fraction
from itertools import takewhile
from xml.etree import ElementTree

from scoretools.model import Key
from scoretools.read.attributes import C_MAJOR, key_on_circle
from scoretools.write.engraver_copy import placed

__all__ = ["print_accidentals"]

_SIGNS = {-2: "flat-flat", -1: "flat", 0: "natural", 1: "sharp", 2: "double-sharp"}
"""Names in MusicXML."""

_BEFORE = (
    "grace", "cue", "chord", "pitch", "duration", "tie", "instrument", "footnote", "level",
    "voice", "type", "dot",
)  # fmt: skip
"""What stands before the accidental of a note. Source: MusicXML 4.0, element note."""

_Place = tuple[str, str]
"""Letter and octave of a note: its line or space."""


def print_accidentals(part: ElementTree.Element) -> None:
    """Give a sign to every note that has none and would be read as another one without.

    A sign holds for its line or space to the end of the bar, else the key signature does; a note
    tied to the one before needs none (common practice).

    Parameters
    ----------
    part
        A part; changed in place.
    """
    key = C_MAJOR
    for measure in part.iterfind("measure"):
        read: dict[_Place, int] = {}
        for element in _in_time(measure):
            fifths = (element.findtext("key/fifths") or "").strip()
            if element.tag == "attributes" and fifths.lstrip("-").isdecimal():
                key, read = key_on_circle(int(fifths)), {}
            elif element.tag == "note" and element.find("pitch") is not None:
                _sign(element, key, read)


def _in_time(measure: ElementTree.Element) -> list[ElementTree.Element]:
    begun = Fraction(0)
    found: list[tuple[Fraction, ElementTree.Element]] = []
    for at, element in placed(measure, Fraction(1)):
        begun = begun if element.find("chord") is not None else at
        found.append((begun, element))
    return [element for _, element in sorted(found, key=lambda one: one[0])]


def _sign(note: ElementTree.Element, key: Key, read: dict[_Place, int]) -> None:
    step = (note.findtext("pitch/step") or "").strip()
    place = step, (note.findtext("pitch/octave") or "").strip()
    sounds = float(note.findtext("pitch/alter") or 0)
    tied = any(tie.get("type") == "stop" for tie in note.iterfind("tie"))
    printed = note.find("accidental") is not None
    if printed or (sounds != read.get(place, key.alters["CDEFGAB".index(step)]) and not tied):
        read[place] = round(sounds)
        if not printed and sounds in _SIGNS:
            sign = ElementTree.Element("accidental")
            sign.text = _SIGNS[round(sounds)]
            note.insert(len(list(_before(note))), sign)


def _before(note: ElementTree.Element) -> Iterator[ElementTree.Element]:
    return takewhile(lambda child: child.tag in _BEFORE, note)
