"""Joins tied notes: a tied continuation is no new note.

Conventions: a tie joins a note to the one of the same pitch that begins where it ends, in the same
voice if there is one, else in another; the same sound spelled otherwise will do. Durations that
were rounded may miss each other by an eighth of a quarter inside one voice.
"""

from collections.abc import Sequence
from typing import NamedTuple

from scoretools.model import Pitch
from scoretools.read.notices import Log, count
from scoretools.read.walk import RawNote

__all__ = ["Struck", "struck_notes"]

_SLACK = 8
"""Parts of a quarter by which rounded durations may miss each other."""


class Struck(NamedTuple):
    """A note that is struck, and the written notes that prolong it."""

    first: RawNote
    """The note that is struck."""
    others: tuple[RawNote, ...]
    """Its tied continuations, in order."""
    end: int
    """When it ends, ticks from the start of the part."""


class _Open(NamedTuple):
    """A note whose tie has not arrived yet."""

    chain: list[RawNote]
    pitch: Pitch
    voice: str
    end: int


def struck_notes(notes: Sequence[RawNote], ticks: int, log: Log) -> list[Struck]:
    """Return the notes that are struck, in order of time.

    Parameters
    ----------
    notes : sequence of RawNote
        Written notes in any order.
    ticks : int
        Ticks in a quarter note.
    log : Log
        Counts ties that come from nowhere.

    Returns
    -------
    list of Struck
        Each with its continuations.

    Raises
    ------
    Nothing.
    """
    chains: list[list[RawNote]] = []
    waiting: dict[int, list[_Open]] = {}
    for note in sorted(notes, key=lambda note: note.moment):
        onset = note.moment[0]
        chain = None
        if "stop" in note.ties:
            chain = _arrived(waiting.get(note.pitch.midi, []), note, ticks)
            if chain is None:
                count(log, "tie", note.measure)
            else:
                chain.append(note)
        if chain is None:
            chain = [note]
            chains.append(chain)
        if "start" in note.ties:
            opened = _Open(chain, note.pitch, note.voice, onset + note.length)
            waiting.setdefault(note.pitch.midi, []).append(opened)
    return [
        Struck(chain[0], tuple(chain[1:]), max(note.moment[0] + note.length for note in chain))
        for chain in chains
    ]


def _arrived(waiting: list[_Open], note: RawNote, ticks: int) -> list[RawNote] | None:
    """Return the chain that a tie brings to this note, and take it off the list."""
    onset = note.moment[0]
    waiting[:] = [tie for tie in waiting if tie.end > onset - ticks]
    fitting = [
        tie
        for tie in waiting
        if tie.end == onset or (tie.voice == note.voice and abs(tie.end - onset) * _SLACK <= ticks)
    ]
    if not fitting:
        return None
    best = min(
        fitting,
        key=lambda tie: (tie.end != onset, tie.voice != note.voice, tie.pitch != note.pitch),
    )
    waiting.remove(best)
    return best.chain
