"""What goes wrong with a catalogue's file or with a score in a scan, in sentences for its user.

Conventions
-----------
* A sentence about a score does not name its file: that stands before it, in the catalogue and in
  what is printed.
* In a scan nobody chooses among parts: where the reader of scores advises to choose, something that
  can be done for a scan is advised instead.
"""

import re
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from scoretools.errors import CatalogueError, PartNotFound, ScoretoolsError
from scoretools.read.container import shown_name

__all__ = ["sentence_of", "sentence_of_scan", "told"]

# ── a score ─────────────────────────────────────────────────────────────────────────────────────

_CHOOSE = re.compile(r"[;:] choose .*")
"""Advice to choose, at the end of a sentence."""

_NAME_IT = (
    "where a part is for violin or viola, name it so in the notation program, export the score "
    "again and scan once more"
)


def sentence_of(path: Path, fault: ScoretoolsError) -> str:
    """Return the sentence of a fault on one line, without the file's name before it.

    Parameters
    ----------
    path
        The score.
    fault
        What went wrong with it.
    """
    words = " ".join(str(fault).split()).rstrip(".")
    return words.removeprefix(f"{shown_name(path)}: ").removeprefix(f"{path}: ")


def sentence_of_scan(path: Path, fault: ScoretoolsError) -> str:
    """Return the sentence of a fault with advice that can be followed in a scan.

    Parameters
    ----------
    path, fault
        As for `sentence_of`.
    """
    advice = _NAME_IT if isinstance(fault, PartNotFound) else "it is left out"
    return _CHOOSE.sub(f"; {advice}", sentence_of(path, fault))


# ── the catalogue's file ────────────────────────────────────────────────────────────────────────

_ADVICE = {
    "readonly": ("it cannot be written", "choose another file with --db, or allow writing"),
    "full": ("the disk is full", "free some room and scan once more, what was done is kept"),
    "locked": ("another program is writing into it", "wait until it is done and try again"),
    "not a database": ("this is no catalogue", "choose another file with --db"),
    "malformed": ("the file is damaged", "scan into a new one with --db"),
    "unable to open": ("it cannot be opened", "check the folder's name and who may write there"),
    "disk i/o": ("the disk reports a fault", "check it, what was done is kept"),
}
"""What is wrong and what to do, by words of SQLite's messages."""


@contextmanager
def told(path: Path) -> Iterator[None]:
    """Say in a sentence what goes wrong with a catalogue's file."""
    try:
        yield
    except sqlite3.DatabaseError as fault:
        words = str(fault).lower()
        said = next((said for key, said in _ADVICE.items() if key in words), None)
        if said is None:
            raise
        raise CatalogueError(f"{path}: {said[0]}; {said[1]}") from fault
