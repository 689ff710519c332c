"""Reads one part of a score into a `scoretools.model.Part`.

MusicXML, plain or compressed, is read here; other formats are converted to it first. Everything
that is skipped or assumed is told in `Part.notices`; everything that cannot be read is a
`scoretools.errors.ReadError` of one sentence.
"""

import os

from scoretools.model import Part
from scoretools.read.container import contents
from scoretools.read.document import document
from scoretools.read.musicxml import part_of

__all__ = ["read_part"]


def read_part(path: str | os.PathLike[str], part: str | int | None = None) -> Part:
    """Read one part of a score."""
    found = contents(path)
    return part_of(found.name, document(found.name, found.data), part)
