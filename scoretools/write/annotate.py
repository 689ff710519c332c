"""Marks put into the user's own score: fingers, strings, open strings, a few words.

Conventions
-----------
* The score is only added to: with the insertions cut out again it is what it was, byte for byte
  (`scoretools.write.splice`). What is printed is neither changed nor said twice.
* Marks are chosen so that they lead back to the fingering they come from: the marked score is read
  and fingered again, and where another fingering comes out, the first note of each such place is
  marked too, until none is left. The rounds are limited; in the last ones every note that differs
  is marked.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace

from scoretools.analysis import analyse
from scoretools.model import NO_MARKS, Address, Analysis, Marks, Notice, Part
from scoretools.note_names import name_of, said, worded
from scoretools.write.marks import Amount, bearer, full_mark, suggested
from scoretools.write.packed import is_container, repacked
from scoretools.write.printed_score import (
    PrintedScore,
    marked_score,
    not_printed,
    notes_of,
    printed_score,
    read_again,
)
from scoretools.write.words import words_over

__all__ = [
    "annotate",
    "annotate_both",
    "annotate_file",
    "file_with",
    "marks_kept",
    "marks_to_write",
]

ROUNDS = 8
"""Most times that a marked score is read again."""

PATIENT_ROUNDS = 4
"""Rounds in which only the first note of each place that differs is marked."""

Again = Callable[[Part], Analysis]
"""How a part was analysed."""


def annotate(
    data: bytes,
    analysis: Analysis,
    marks: Amount | str = Amount.SPARSE,
    again: Again = analyse,
) -> bytes:
    """Put the marks of a fingering into the score it was made for.

    Parameters
    ----------
    data
        The MusicXML document the part was read from, unpacked; for a container see
        `annotate_file`.
    analysis
        The fingered part.
    marks
        ``sparse``, ``all`` or ``none``.
    again
        How the part was analysed, for the same player; by default for a `Player` of no
        particulars.

    Returns
    -------
    bytes
        The document with the marks in it, in its own encoding.

    Raises
    ------
    ReadError
        The document is not MusicXML.
    WriteError
        The document is not the one that was analysed, or its encoding cannot be added to.
    """
    amount = Amount(marks)
    score = printed_score(data, analysis)
    if amount is Amount.NONE:
        return data
    marked, _ = _settled(score, analysis, amount, again)
    return marked


def annotate_both(data: bytes, analysis: Analysis, again: Again = analyse) -> tuple[bytes, bytes]:
    """Put sparse marks in, once for other programs and once for a person to read.

    A person needs no more strings and positions than those that tell where the hand is: what the
    marked score was given besides, so that its fingering comes out again, is left at the fingers.

    Parameters
    ----------
    data, analysis, again
        As for `annotate`.

    Returns
    -------
    bytes, bytes
        What `annotate` returns, and the score for a person, its words in the names in force
        (``sul ré``).

    Raises
    ------
    ReadError, WriteError
        As for `annotate`.
    """
    score = printed_score(data, analysis)
    marked, wanted = _settled(score, analysis, Amount.SPARSE, again)
    words = words_over(analysis, Amount.SPARSE)
    told = {event: tuple(_in_ascii(said(line)) for line in lines) for event, lines in words.items()}
    return marked, marked_score(score, analysis, _to_read(score, analysis, wanted), told)


def _to_read(
    score: PrintedScore, analysis: Analysis, wanted: Mapping[Address, Marks]
) -> dict[Address, Marks]:
    """Leave of all marks what a person needs."""
    fingers = {
        address: replace(mark, string=None, position=None) for address, mark in wanted.items()
    }
    return _united(fingers, _chosen(score, analysis, Amount.SPARSE))


def annotate_file(
    file: bytes,
    data: bytes,
    analysis: Analysis,
    marks: Amount | str = Amount.SPARSE,
    again: Again = analyse,
) -> bytes:
    """Put marks into a score's file: plain, or a ``.mxl``, of which one member is written anew.

    Parameters
    ----------
    file
        The file as it is.
    data
        The MusicXML document in it; the same where the file is plain.
    analysis, marks, again
        As for `annotate`.

    Raises
    ------
    ReadError, WriteError
        As for `annotate`.
    """
    return file_with(analysis, file, data, annotate(data, analysis, marks, again))


def file_with(analysis: Analysis, file: bytes, data: bytes, marked: bytes) -> bytes:
    """Put a marked document into its file again.

    Parameters
    ----------
    file, data
        As for `annotate_file`.
    marked
        What `annotate` made of the document.

    Raises
    ------
    WriteError
        The container does not hold the document.
    """
    if not is_container(file):
        return marked
    return file if marked == data else repacked(analysis.part.source, file, data, marked)


def marks_to_write(
    data: bytes, analysis: Analysis, marks: Amount | str, again: Again = analyse
) -> dict[Address, Marks]:
    """Give the marks that `annotate` puts in, as a marks file has them.

    Parameters
    ----------
    data, analysis, marks, again
        As for `annotate`.

    Returns
    -------
    dict
        What is put on each marked note; a position where words tell it.

    Raises
    ------
    ReadError, WriteError
        As for `annotate`.
    """
    amount = Amount(marks)
    score = printed_score(data, analysis)
    if amount is Amount.NONE:
        return {}
    _, wanted = _settled(score, analysis, amount, again)
    return {
        address: mark for address, mark in not_printed(score, wanted).items() if mark != NO_MARKS
    }


def marks_kept(data: bytes, analysis: Analysis) -> tuple[Notice, ...]:
    """Name the printed marks that the player has overruled, and that stay in the score.

    Parameters
    ----------
    data, analysis
        As for `annotate`.

    Raises
    ------
    ReadError, WriteError
        As for `annotate`.
    """
    printed = printed_score(data, analysis).printed
    return tuple(
        Notice(worded(_KEPT, name_of(note.pitch)), note.address.measure)
        for note in notes_of(analysis.part.events)
        if _contradict(printed[note.address], note.marks)
    )


def _in_ascii(words: str) -> str:
    """Write signs that an encoding may lack as references."""
    return words.encode("ascii", "xmlcharrefreplace").decode("ascii")


_KEPT = (
    "the score prints another finger, string or position on {}; what is printed stays, and the "
    "fingering goes by the marks file"
)


def _contradict(printed: Marks, told: Marks) -> bool:
    def finger(marks: Marks) -> object:
        return marks.fingers or marks.open_string

    return any(
        before and before != after
        for before, after in (
            (finger(printed), finger(told)),
            (printed.string, told.string),
            (printed.position is not None and (printed.position,), (told.position,)),
        )
    )


# ── marks that lead back to their fingering ─────────────────────────────────────────────────────


def _settled(
    score: PrintedScore, analysis: Analysis, amount: Amount, again: Again
) -> tuple[bytes, dict[Address, Marks]]:
    """Mark a score so that the fingering comes out again."""
    words = words_over(analysis, amount)
    wanted = _chosen(score, analysis, amount)
    for round_ in range(ROUNDS):
        marked = marked_score(score, analysis, wanted, words)
        other = again(read_again(analysis.part, marked))
        places_apart = _apart(analysis, other)
        if not places_apart or round_ == ROUNDS - 1:
            break
        if round_ < PATIENT_ROUNDS:
            places_apart = [i for i in places_apart if i - 1 not in places_apart]
        wanted = _united(wanted, _in_full(analysis, places_apart, wanted))
    return marked, wanted


def _chosen(score: PrintedScore, analysis: Analysis, amount: Amount) -> dict[Address, Marks]:
    """Return the marks for a reader, with what the player has told."""
    return _united(suggested(analysis, amount), _told(score, analysis))


def _told(score: PrintedScore, analysis: Analysis) -> dict[Address, Marks]:
    """Return what the player has told beyond what is printed."""
    return {
        note.address: note.marks
        for note in notes_of(analysis.part.events)
        if note.marks != score.printed[note.address]
    }


def _united(first: Mapping[Address, Marks], more: Mapping[Address, Marks]) -> dict[Address, Marks]:
    united = dict(first)
    for address, mark in more.items():
        known = united.get(address, NO_MARKS)
        united[address] = Marks(
            fingers=mark.fingers or (() if mark.open_string else known.fingers),
            string=mark.string or known.string,
            open_string=mark.open_string or (known.open_string and not mark.fingers),
            position=known.position if mark.position is None else mark.position,
        )
    return united


def _apart(analysis: Analysis, other: Analysis) -> list[int]:
    """Return the events that are fingered in another way."""
    theirs = dict(_fingering(other))
    return sorted(
        {
            event
            for address, (event, stop) in _fingering(analysis)
            if address not in theirs or theirs[address][1] != stop
        }
    )


def _fingering(analysis: Analysis) -> Iterable[tuple[Address, tuple[int, object]]]:
    for event, step in zip(analysis.part.events, analysis.steps, strict=True):
        position = step.placement.position if step.placement else None
        for note, choice in zip(event.notes, step.choices, strict=False):
            where = position if choice.stop.finger else None
            yield note.address, (event.index, (choice.stop, where))


def _in_full(
    analysis: Analysis, events: Iterable[int], had: Mapping[Address, Marks]
) -> dict[Address, Marks]:
    """Mark events with fingers and strings; with their positions where that was not enough."""
    full: dict[Address, Marks] = {}
    for index in events:
        event, step = analysis.part.events[index], analysis.steps[index]
        for note, choice in zip(event.notes, step.choices, strict=False):
            full[note.address] = full_mark(analysis, choice.stop)
        in_vain = all(
            _united(had, full)[note.address] == had.get(note.address) for note in event.notes
        )
        if in_vain and step.placement:
            address = bearer(event)
            full[address] = replace(full[address], position=step.placement.position)
    return full
