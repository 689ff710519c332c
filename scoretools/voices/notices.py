"""What is said about notes that were left out: few sentences, each with its first bar."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from scoretools.model import Measure, Note, NoteRef, Notice
from scoretools.note_names import joined, name_of

__all__ = ["MOST_TOLD", "Finding", "Reason", "names", "notices_of"]

MOST_TOLD = 4
"""Places told one by one; more of one kind are summed up in one sentence."""


class Reason(StrEnum):
    """Why notes are left out, in words that take the place and the number of notes or chords."""

    WORDS = (
        "taken as divided{where}, as the score says (div.); the top line is fingered, "
        "--divisi bottom gives the other"
    )
    STAVES = (
        "two staves at once{where} are taken as two players'; the upper is fingered, "
        "--divisi bottom gives the other"
    )
    PERSISTENCE = (
        "taken as divided{where}, since one hand cannot hold these lines together; the top line "
        "is fingered, --divisi bottom gives the other"
    )
    BEYOND = (
        "no hand can hold {chords} chords{where}; as many of their notes are fingered as can be "
        "held, the top one among them"
    )
    LACKING = "{chords} chords{where} have notes the instrument lacks; the others are fingered"
    ASKED = "one line alone{where}, as asked; {notes} left out"


@dataclass(frozen=True, slots=True)
class Finding:
    """Notes to leave out in one place."""

    reason: Reason
    """Why."""
    dropped: frozenset[NoteRef]
    """Which."""
    bars: tuple[int, ...]
    """Indices of the bars in which they are struck, in order."""
    told: str = ""
    """What to say of this place alone, where that is more than can be said of many."""


def notices_of(measures: Sequence[Measure], findings: Sequence[Finding]) -> tuple[Notice, ...]:
    """Put findings in sentences, in order of the bars.

    Parameters
    ----------
    measures
        The part's bars, for their printed numbers.
    """
    notices: list[Notice] = []
    for reason in Reason:
        alike = [finding for finding in findings if finding.reason is reason]
        if len(alike) > MOST_TOLD:
            notices.append(_notice(measures, alike))
        else:
            notices += [_notice(measures, [finding]) for finding in alike]
    return tuple(sorted(notices, key=lambda notice: notice.measure or 0))


def names(notes: Sequence[Note], places: Iterable[int]) -> str:
    """Name some notes of a chord."""
    return joined(" ", (name_of(notes[place].pitch) for place in places))


def _notice(measures: Sequence[Measure], findings: Sequence[Finding]) -> Notice:
    first, last = _ends(findings)
    if len(findings) == 1 and findings[0].told:
        return Notice(findings[0].told, first)
    chords = {ref.event for finding in findings for ref in finding.dropped}
    dropped = sum(len(finding.dropped) for finding in findings)
    several = len(findings) > 1 and not findings[0].told
    where = f" in {len(findings)} places" if several else ""
    where += f" up to bar {measures[last].number}" if last > first else ""
    notes = f"{dropped} note{'s are' if dropped > 1 else ' is'}"
    said = findings[0].reason.format(where=where, chords=len(chords), notes=notes)
    return Notice(said, first)


def _ends(findings: Sequence[Finding]) -> tuple[int, int]:
    bars = [bar for finding in findings for bar in finding.bars]
    return min(bars), max(bars)
