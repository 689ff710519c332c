"""What is done with one score of a library, in whatever process.

A score goes in as its path; plain rows come out, or the sentence that says why there are none.
"""

from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

from scoretools.analysis import analyse
from scoretools.catalogue.faults import sentence_of_scan
from scoretools.catalogue.rows import PartRow, part_row
from scoretools.difficulty import Rubric, level
from scoretools.errors import ScoretoolsError
from scoretools.model import Part
from scoretools.player import Player
from scoretools.read import StringPart, read_string_parts
from scoretools.version import VERSION
from scoretools.voices import Divisi

__all__ = ["ScannedScore", "Wanted", "content_hash", "scanned"]


@dataclass(frozen=True, slots=True)
class Wanted:
    """For whom scores are read, and how they are judged."""

    player: Player
    """Who plays."""
    rubrics: tuple[Rubric, ...]
    """Rubrics to judge by, at least one; the first goes before the others when parts are found."""
    divisi: Divisi = Divisi.AUTO
    """What one player takes where a part is divided."""

    def scan_key(self, content: str) -> str:
        """Return the key of a scan: all that what is found in a file rests on.

        Parameters
        ----------
        content
            Hash of the file's bytes.
        """
        rests_on = (content, VERSION, self.player, self.rubrics, str(self.divisi))
        return sha256(repr(rests_on).encode("utf-8", "backslashreplace")).hexdigest()


@dataclass(frozen=True, slots=True)
class ScannedScore:
    """What was found in one file."""

    path: Path
    """The file."""
    content_hash: str
    """SHA-256 of its bytes; empty where it cannot be opened."""
    tool_version: str
    """Version of the program that read it."""
    parts: tuple[PartRow, ...]
    """Its violin and viola parts that can be read."""
    faults: tuple[str, ...]
    """Why the others cannot, a sentence each, without the file's name."""


def content_hash(path: Path) -> str:
    """Return the SHA-256 of a file's bytes, in hexadecimal; empty where it cannot be opened."""
    digest = sha256()
    try:
        with path.open("rb") as file:
            while piece := file.read(1 << 20):
                digest.update(piece)
    except OSError:
        return ""
    return digest.hexdigest()


def scanned(path: Path, wanted: Wanted) -> ScannedScore:
    """Read, finger and judge every violin and viola part of a score.

    Parameters
    ----------
    path
        A score.
    wanted
        For whom, and by which rubrics.

    Raises
    ------
    Nothing; what goes wrong is in `ScannedScore.faults`.
    """
    # The hash is taken first: should the file change meanwhile, the next scan sees it.
    known_as = content_hash(path)
    parts: list[PartRow] = []
    faults: list[str] = []
    try:
        for found in read_string_parts(path):
            _take(path, found, wanted, parts, faults)
    except ScoretoolsError as fault:
        faults.append(sentence_of_scan(path, fault))
    except Exception as fault:  # one score must not end the scan of a library
        faults.append(_unforeseen(fault))
    return ScannedScore(path, known_as, VERSION, tuple(parts), tuple(dict.fromkeys(faults)))


def _take(
    path: Path, found: StringPart, wanted: Wanted, parts: list[PartRow], faults: list[str]
) -> None:
    """Analyse one part into its rows, or note the sentence that says why it cannot be."""
    try:
        if found.fault is not None:
            raise found.fault
        if found.part is not None and _is_played(found.part, wanted.player, faults):
            parts.append(_row(found.part, found.number, wanted))
    except ScoretoolsError as fault:
        faults.append(sentence_of_scan(path, fault))
    except Exception as fault:  # nor one part the others
        faults.append(_unforeseen(fault))


def _is_played(part: Part, player: Player, faults: list[str]) -> bool:
    """Tell whether the player plays a part's instrument; if not, note it."""
    if player.instrument in (None, part.instrument):
        return True
    faults.append(
        f"the part “{part.name or part.instrument}” is for the {part.instrument}, and the player "
        f"plays the {player.instrument}; to have it too, scan with a player file that names no "
        "instrument"
    )
    return False


def _row(part: Part, number: int, wanted: Wanted) -> PartRow:
    analysis = analyse(part, wanted.player, divisi=wanted.divisi)
    levels = [level(analysis, rubric, wanted.divisi) for rubric in wanted.rubrics]
    return part_row(analysis, levels, str(wanted.divisi), number)


def _unforeseen(fault: Exception) -> str:
    words = " ".join(str(fault).split())
    return (
        f"the score cannot be analysed, which is a fault of the program "
        f"({type(fault).__name__}: {words}); please send the score to its makers"
    )
