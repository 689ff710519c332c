"""What a catalogue says of a score, put into the score's own file."""

import sqlite3
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from scoretools.catalogue.query import PartInFull, in_full
from scoretools.catalogue.work import content_hash
from scoretools.errors import CatalogueError, WriteError
from scoretools.read.container import contents
from scoretools.read.convert import format_of
from scoretools.write.score_fields import OURS, file_with_fields

__all__ = ["TaggedScore", "tagged_scores"]


@dataclass(frozen=True, slots=True)
class TaggedScore:
    """A score's file with what the catalogue says of it."""

    path: Path
    """Where the score is."""
    content: bytes
    """The file with the fields in it."""
    parts: tuple[str, ...]
    """Names of the parts they are about."""


def tagged_scores(connection: sqlite3.Connection, parts: Sequence[int]) -> tuple[TaggedScore, ...]:
    """Put level and features of parts into their scores.

    Parameters
    ----------
    connection
        An open catalogue.
    parts
        Numbers of the parts; those of one score go into one file.

    Raises
    ------
    CatalogueError
        A part is not there, or its score has changed since it was scanned.
    ReadError
        A score cannot be read.
    WriteError
        A score is no MusicXML, or nothing can be put into it.
    """
    by_path: dict[str, list[PartInFull]] = {}
    for part in dict.fromkeys(parts):
        full = in_full(connection, part)
        by_path.setdefault(full.found.path, []).append(full)
    return tuple(_tagged(Path(path), of_score) for path, of_score in by_path.items())


def _tagged(path: Path, parts: Sequence[PartInFull]) -> TaggedScore:
    if content_hash(path) != parts[0].facts["content_hash"]:
        raise CatalogueError(
            f"{path}: the score has changed or gone since it was scanned; scan its folder once more"
        )
    found = contents(path)
    if format_of(found) != "musicxml":
        raise WriteError(
            f"{found.name}: levels are put into MusicXML only; export the score as MusicXML from "
            "the notation program and scan that"
        )
    fields = {
        f"{OURS}{part.facts['number']}:{name}": text
        for part in parts
        for name, text in _fields(part).items()
    }
    content = file_with_fields(found.name, path.read_bytes(), found.data, fields)
    return TaggedScore(path, content, tuple(part.found.part for part in parts))


def _fields(part: PartInFull) -> Mapping[str, str]:
    """Name, level and features of a part, as texts."""
    facts = part.facts
    return {
        "part": part.found.part,
        "profile": facts["profile"],
        "divisi": facts["divisi"],
        "tempo": "assumed" if facts["tempo_assumed"] else "printed",
        "version": facts["tool_version"],
        **{
            f"level:{level['rubric']}": f"{level['label']} ({level['value']:g}), {level['about']}"
            for level in part.rows["level"]
        },
        "shapes": " ".join(part.found.shapes),
        **{
            f"feature:{feature['name']}": f"{feature['value']:.6g} {feature['unit']}"
            for feature in part.rows["feature"]
        },
    }
