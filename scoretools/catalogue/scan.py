"""A folder of scores into a catalogue: many files, many processes, one writer.

A scan can be ended at any moment and goes on where it stopped: every score is kept in a transaction
of its own, and what is already there under the same key is not read again. The key is made of the
file's bytes, the version of the program, the player and profile, the rubrics, and what is taken
of divided parts.
"""

import os
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path

from scoretools.catalogue.processes import on_cluster, side_by_side
from scoretools.catalogue.store import Catalogue, catalogue, only_writer
from scoretools.catalogue.work import ScannedScore, Wanted, content_hash
from scoretools.errors import CatalogueError

__all__ = ["SUFFIXES", "Fault", "Folder", "Summary", "scan", "scores_below"]

SUFFIXES = frozenset((".musicxml", ".xml", ".mxl", ".abc", ".krn", ".mei", ".mid", ".midi"))
"""Files of a folder that are taken for scores."""


@dataclass(frozen=True, slots=True)
class Folder:
    """What a folder holds, and the folders below it."""

    scores: tuple[Path, ...]
    """Scores, in order of their paths."""
    closed: tuple[Path, ...]
    """Folders that could not be opened."""


@dataclass(frozen=True, slots=True)
class Fault:
    """A score of which not every part could be read."""

    path: Path
    """The file."""
    parts: int
    """Parts of it that could."""
    sentence: str
    """Why the others could not; it does not name the file."""


@dataclass(slots=True)
class Summary:
    """What a scan did; it grows while the scan goes on."""

    scores: int = 0
    """Scores that are there."""
    unchanged: int = 0
    """Scores of which nothing changed since they were scanned last."""
    faulty_before: int = 0
    """Scores among these of which not every part could be read."""
    read: int = 0
    """Scores read anew, wholly or in part."""
    failed: int = 0
    """Scores tried anew of which nothing could be read."""
    parts: int = 0
    """Parts that were fingered anew."""
    faults: list[Fault] = field(default_factory=list)
    """Scores with a part that could not be."""
    gone: int = 0
    """Scores newly marked as gone."""
    closed: tuple[Path, ...] = ()
    """Folders that could not be opened; of what is in them nothing is changed."""

    @property
    def done(self) -> int:
        """Scores that are dealt with."""
        return self.unchanged + self.read + self.failed


def scores_below(folder: Path) -> Folder:
    """Find the scores of a folder and of the folders below it; hidden ones are left out.

    Raises
    ------
    CatalogueError
        The folder itself is not there, or cannot be opened.
    """
    if not os.path.isdir(folder):
        raise CatalogueError(f"{folder}: there is no such folder; name one that holds scores")
    closed: list[Path] = []
    scores: list[Path] = []
    for here, folders, files in os.walk(folder, onerror=lambda fault: closed.append(_of(fault))):
        folders[:] = sorted(name for name in folders if not name.startswith("."))
        scores += [Path(here, name) for name in sorted(files) if _is_score(name)]
    if folder in closed:
        raise CatalogueError(f"{folder}: the folder cannot be opened; check who may read it")
    return Folder(tuple(scores), tuple(closed))


def _of(fault: OSError) -> Path:
    return Path(os.fsdecode(fault.filename))


def _is_score(name: str) -> bool:
    return not name.startswith(".") and os.path.splitext(name)[1].lower() in SUFFIXES


def scan(
    folder: Path,
    database: Path,
    wanted: Wanted,
    jobs: int = 1,
    scheduler: str | None = None,
    step: Callable[[Summary], None] = lambda summary: None,
) -> Summary:
    """Bring a catalogue to the state of a folder.

    Parameters
    ----------
    folder
        Folder with scores, in it and below.
    database
        The catalogue's file; made where there is none.
    wanted
        For whom, and by which rubrics.
    jobs
        Scores worked at at a time.
    scheduler
        Address of a Dask cluster's scheduler, to work there instead.
    step
        Called with the summary so far: once when the scores are counted, then after each.

    Raises
    ------
    CatalogueError
        The folder or the catalogue cannot be opened, the catalogue cannot be written, another scan
        is writing into it, or there is no score in the folder and none of it in the catalogue. What
        was kept before stays, and no catalogue is made.
    MissingLibrary
        A scheduler is named, and the extra ``cluster`` is not installed.
    """
    found = scores_below(folder)
    if not found.scores and not _holds_some_of(database, folder):
        raise CatalogueError(
            f"{folder}: there is no score here or in the folders below; export scores as MusicXML "
            "into it, or name another folder"
        )
    summary = Summary(scores=len(found.scores), closed=found.closed)
    with only_writer(database), catalogue(database) as kept:
        step(summary)
        changed = _changed(found.scores, kept, wanted, summary, step)
        results = (
            on_cluster(changed, wanted, scheduler)
            if scheduler
            else side_by_side(changed, wanted, jobs)
        )
        with closing(results):
            for result in results:
                kept.put(result, wanted)
                _count(result, summary)
                step(summary)
        summary.gone = kept.mark_missing(folder, found.scores, found.closed)
        if summary.read or summary.failed:
            kept.count_rows()
    return summary


def _holds_some_of(database: Path, folder: Path) -> bool:
    """Tell whether a catalogue is there, and holds scores of a folder that may have gone."""
    if not database.exists():
        return False
    with catalogue(database) as kept:
        return kept.holds_some_of(folder)


def _count(result: ScannedScore, summary: Summary) -> None:
    parts = len(result.parts)
    summary.read += parts > 0
    summary.failed += not parts
    summary.parts += parts
    summary.faults += [Fault(result.path, parts, sentence) for sentence in result.faults]


def _changed(
    scores: Sequence[Path],
    kept: Catalogue,
    wanted: Wanted,
    summary: Summary,
    step: Callable[[Summary], None],
) -> Iterator[Path]:
    """Give the scores that have to be read; the others are counted."""
    for path in scores:
        held = kept.known(path)
        if held is None or held.scan_key != wanted.scan_key(content_hash(path)):
            yield path
            continue
        if held.missing:
            kept.found_again(held.score)
        summary.unchanged += 1
        summary.faulty_before += held.faulty
        step(summary)
