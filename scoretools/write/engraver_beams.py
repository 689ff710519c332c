"""Beams and flags that a score leaves out, written before it is engraved.

The engraver draws a beam from its beginning to its end, and none at all where the end is missing;
some programs write ``continue`` up to the last note. A grace note without a note type, inside a
beam, sends it out of all measure.
"""

from collections.abc import Iterator
from itertools import pairwise
from xml.etree import ElementTree

__all__ = ["end_beams", "type_grace_notes"]

_MOST = 8
"""Beams of one note at most. Source: MusicXML 4.0, beam-level."""


def end_beams(measure: ElementTree.Element) -> None:
    """End every beam at its last note; a beam of one note goes.

    Parameters
    ----------
    measure
        A bar; changed in place.
    """
    for notes in _voices(measure):
        for level in map(str, range(1, _MOST + 1)):
            signs = [_beam(note, level) for note in notes]
            for (note, sign), (_, following) in pairwise([*zip(notes, signs, strict=True), _NONE]):
                if sign is None or _says(following, "continue", "end"):
                    continue
                if _says(sign, "begin"):
                    note.remove(sign)
                elif _says(sign, "continue"):
                    sign.text = "end"


_NONE: tuple[ElementTree.Element, None] = (ElementTree.Element("note"), None)
"""Stands behind the last note of a bar."""


def type_grace_notes(measure: ElementTree.Element) -> None:
    """Write a grace note that has no type as an eighth (common practice).

    Parameters
    ----------
    measure
        A bar; changed in place.
    """
    for note in measure.iterfind("note"):
        if note.find("grace") is not None and note.find("type") is None:
            before = [child.tag in _BEFORE_TYPE for child in note]
            kind = ElementTree.Element("type")
            kind.text = "eighth"
            note.insert(before.index(False) if False in before else len(before), kind)


_BEFORE_TYPE = (
    "grace", "cue", "chord", "pitch", "unpitched", "rest", "tie", "instrument", "footnote",
    "level", "voice",
)  # fmt: skip
"""What stands before the type of a grace note. Source: MusicXML 4.0, element note."""


def _voices(measure: ElementTree.Element) -> Iterator[list[ElementTree.Element]]:
    """Notes of each voice that carry beams: no grace notes, the first of each chord."""
    voices: dict[str | None, list[ElementTree.Element]] = {}
    for note in measure.iterfind("note"):
        if note.find("grace") is None and note.find("chord") is None:
            voices.setdefault(note.findtext("voice"), []).append(note)
    yield from voices.values()


def _beam(note: ElementTree.Element, level: str) -> ElementTree.Element | None:
    return next((beam for beam in note.iterfind("beam") if beam.get("number", "1") == level), None)


def _says(beam: ElementTree.Element | None, *texts: str) -> bool:
    return beam is not None and (beam.text or "").strip() in texts
