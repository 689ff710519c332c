"""Reads one part of a score into a `scoretools.model.Part`.

MusicXML, plain or compressed, is read here; other formats are converted to it first. Everything
that is skipped or assumed is told in `Part.notices`; everything that cannot be read is a
`scoretools.errors.ReadError` of one sentence.
"""

import os
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import partial

from scoretools.collector import collector_paused
from scoretools.errors import ReadError
from scoretools.model import Part
from scoretools.read.container import Contents, contents
from scoretools.read.convert import (
    SIGNED_BY_CONVERSION,
    Converted,
    book_of,
    converted,
    format_of,
)
from scoretools.read.document import as_text, document
from scoretools.read.musicxml import part_of
from scoretools.read.parts import score_parts
from scoretools.read.timing import ASSUMED_QUARTERS_PER_MINUTE

__all__ = [
    "ASSUMED_QUARTERS_PER_MINUTE",
    "ListedPart",
    "StringPart",
    "list_parts",
    "musicxml_document",
    "read_part",
    "read_string_parts",
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
    return _part_of_converted(found, converted(found, kind, part))


def _part_of_converted(found: Contents, score: Converted, part: int | None = None) -> Part:
    read = part_of(found.name, score.root, part or score.part, score.told)
    composer = "" if read.composer == SIGNED_BY_CONVERSION else read.composer
    return replace(read, title=score.title or read.title, composer=composer)


@dataclass(frozen=True, slots=True)
class StringPart:
    """One of the violin and viola parts of a score, read, or why it cannot be."""

    number: int
    """Place in the score, or of the tune in its book, from 1."""
    name: str
    """Name as printed; in a book of tunes, the title."""
    part: Part | None
    """The part."""
    fault: ReadError | None
    """Why there is none."""


def read_string_parts(path: str | os.PathLike[str]) -> Iterator[StringPart]:
    """Read every violin and viola part of a score, or every tune of a book of tunes.

    Where nothing says which instrument a part is for, the part that `read_part` takes by default is
    the only one.

    Parameters
    ----------
    path : str or os.PathLike
        A score, as for `read_part`.

    Yields
    ------
    StringPart
        In the order of the score; a part that cannot be read does not stop the others.

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
        for tune in tunes:
            yield _string_part(tune.number, tune.title, partial(read_part, path, tune.number))
        return
    if kind == "musicxml":
        root = document(found.name, found.data)
        read: Callable[[int | None], Part] = partial(part_of, found.name, root)
    else:
        score = converted(found, kind, None)
        root, read = score.root, partial(_part_of_converted, found, score)
    fitting = [part for part in score_parts(root) if part.instrument]
    for part in fitting:
        yield _string_part(part.number, part.name, partial(read, part.number))
    if not fitting:
        yield _string_part(1, "", partial(read, None))


def _string_part(number: int, name: str, read: Callable[[], Part]) -> StringPart:
    with collector_paused():
        try:
            return StringPart(number, name, read(), None)
        except ReadError as fault:
            return StringPart(number, name, None, fault)


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
