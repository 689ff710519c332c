"""Reads one part of a score into a `scoretools.model.Part`.

MusicXML, plain or compressed, is read here; other formats are converted to it first. Everything
that is skipped or assumed is told in `Part.notices`; everything that cannot be read is a
`scoretools.errors.ReadError` of one sentence.
"""

import os
from dataclasses import dataclass, replace

from scoretools.collector import collector_paused
from scoretools.model import Part
from scoretools.read.container import contents
from scoretools.read.convert import SIGNED_BY_CONVERSION, book_of, converted, format_of
from scoretools.read.document import as_text, document
from scoretools.read.musicxml import part_of
from scoretools.read.parts import score_parts
from scoretools.read.timing import ASSUMED_QUARTERS_PER_MINUTE

__all__ = [
    "ASSUMED_QUARTERS_PER_MINUTE",
    "ListedPart",
    "list_parts",
    "musicxml_document",
    "read_part",
]


@dataclass(frozen=True, slots=True)
class ListedPart:
    """A part that can be chosen."""

    number: int
    """Place in the score, from 1."""
    name: str
    """Name as printed, empty when there is none; in a book of tunes, the title."""
    instrument: str
    """``violin``, ``viola``, or empty where the score does not say so."""


@collector_paused()
def read_part(path: str | os.PathLike[str], part: str | int | None = None) -> Part:
    """Read one part of a score.

    Parameters
    ----------
    path : str or os.PathLike
        A score: MusicXML (``.musicxml``, ``.xml``, ``.mxl``), or ABC, Humdrum, MEI or MIDI.
    part : str, int or None
        Name of the part or its number from 1, as `list_parts` gives them; none for the first
        violin or viola part. In a book of tunes, the tune's title or number.

    Returns
    -------
    Part
        The part. Speeds rest on `ASSUMED_QUARTERS_PER_MINUTE` where the score prints no tempo.

    Raises
    ------
    NotMusicXML
        The file is not MusicXML, is damaged, or its container is.
    PartNotFound
        No part fits the request; the message lists the parts.
    ReadError
        The file is missing, cannot be converted, or the part has no notes.
    """
    found = contents(path)
    kind = format_of(found)
    if kind == "musicxml":
        return part_of(found.name, document(found.name, found.data), part)
    score = converted(found, kind, part)
    read = part_of(found.name, score.root, score.part, score.told)
    composer = "" if read.composer == SIGNED_BY_CONVERSION else read.composer
    return replace(read, title=score.title or read.title, composer=composer)


def list_parts(path: str | os.PathLike[str]) -> tuple[ListedPart, ...]:
    """Return the parts of a score, or the tunes of a book of tunes.

    Parameters
    ----------
    path : str or os.PathLike
        A score, as for `read_part`.

    Returns
    -------
    tuple of ListedPart
        In the order of the score.

    Raises
    ------
    NotMusicXML
        The file is not MusicXML, is damaged, or its container is.
    ReadError
        The file is missing or cannot be converted.
    """
    found = contents(path)
    kind = format_of(found)
    if kind == "abc" and len(tunes := book_of(found)) > 1:
        return tuple(ListedPart(tune.number, tune.title, "") for tune in tunes)
    if kind == "musicxml":
        parts = score_parts(document(found.name, found.data))
    else:
        parts = score_parts(converted(found, kind, None).root)
    return tuple(ListedPart(part.number, part.name, part.instrument) for part in parts)


def musicxml_document(
    path: str | os.PathLike[str], part: str | int | None = None
) -> tuple[bytes, bool]:
    """Return the MusicXML document a part is read from.

    Parameters
    ----------
    path, part
        As for `read_part`.

    Returns
    -------
    bytes, bool
        The document, unpacked, and whether it is the file's own; if not, the file was converted.

    Raises
    ------
    NotMusicXML, PartNotFound, ReadError
        As for `read_part`.
    """
    found = contents(path)
    kind = format_of(found)
    if kind == "musicxml":
        return found.data, True
    return as_text(converted(found, kind, part).root), False
