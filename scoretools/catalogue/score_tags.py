"""What a catalogue says of a score, put into the score's own file."""

import sqlite3
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from scoretools.catalogue.faults import sentence_of
from scoretools.catalogue.query import PartInFull, in_full
from scoretools.catalogue.work import content_hash
from scoretools.errors import CatalogueError, ReadError, WriteError
from scoretools.read.container import contents
from scoretools.read.convert import format_of
from scoretools.write.score_fields import OURS, file_with_fields

__all__ = ["TaggedScore", "UntaggedScore", "tagged_scores"]


@dataclass(frozen=True, slots=True)
class TaggedScore:
    """A score's file with what the catalogue says of it."""

    path: Path
    """Where the score is."""
    content: bytes
    """The file with the fields in it."""
    parts: tuple[str, ...]
    """Names of the parts they are about."""


@dataclass(frozen=True, slots=True)
class UntaggedScore:
    """A score that nothing can be put into."""

    path: Path
    """Where the score is."""
    sentence: str
    """Why; it does not name the file."""


def tagged_scores(
    connection: sqlite3.Connection, parts: Sequence[int]
) -> Iterator[TaggedScore | UntaggedScore]:
    """Put level and features of parts into their scores, one by one.

    Parameters
    ----------
    connection
        An open catalogue.
    parts
        Numbers of the parts; those of one score go into one file.

    Yields
    ------
    TaggedScore or UntaggedScore
        The latter where a score cannot be read, has changed since it was scanned, is no MusicXML,
        or nothing can be put into it; the others are not stopped by that.

    Raises
    ------
    CatalogueError
        A part is not there.
    """
    by_path: dict[str, list[PartInFull]] = {}
    for part in dict.fromkeys(parts):
        full = in_full(connection, part)
        by_path.setdefault(full.found.path, []).append(full)
    for path, of_score in by_path.items():
        yield _outcome(Path(path), of_score)


def _outcome(path: Path, parts: Sequence[PartInFull]) -> TaggedScore | UntaggedScore:
    try:
        return _tagged(path, parts)
    except (CatalogueError, ReadError, WriteError) as fault:
        return UntaggedScore(path, sentence_of(path, fault))


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
