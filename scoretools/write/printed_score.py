"""The user's own score as it stands: its notes, what is printed on them, and what is put in.

Nothing that is printed is said twice, and nothing else in the score is touched
(`scoretools.write.splice`).
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from scoretools.errors import WriteError
from scoretools.model import NO_MARKS, Address, Analysis, Event, Marks, Note, Part
from scoretools.note_names import name_of, said
from scoretools.read.document import document
from scoretools.read.musicxml import part_of
from scoretools.write.marks import bearer
from scoretools.write.splice import (
    Content,
    Insertion,
    Place,
    Text,
    before_note,
    on_note,
    places,
    spliced,
    text_from,
)
from scoretools.write.words import position_words

__all__ = [
    "PrintedScore",
    "marked_score",
    "not_printed",
    "notes_of",
    "printed_score",
    "read_again",
]


@dataclass(frozen=True, slots=True)
class PrintedScore:
    """The user's score, and what is printed in it."""

    name: str
    """The file's name."""
    text: Text
    """Its text."""
    places: Mapping[tuple[int, int], Place]
    """Its notes by measure and place in it."""
    printed: Mapping[Address, Marks]
    """Marks of the struck notes."""


def printed_score(data: bytes, analysis: Analysis) -> PrintedScore:
    """Look through a score for its notes and what is printed on them.

    Parameters
    ----------
    data
        The MusicXML document the part was read from.
    analysis
        The part, analysed.

    Raises
    ------
    ReadError
        The document is not MusicXML.
    WriteError
        The document is not the one that was analysed.
    """
    part = analysis.part
    read = read_again(part, data)
    printed = {note.address: note for note in notes_of(read.events)}
    for note in notes_of(part.events):
        same = printed.get(note.address)
        if same is None or same.pitch != note.pitch:
            raise WriteError(
                f"{part.source}: the score is not the one that was analysed (bar "
                f"{part.measures[note.address.measure].number} has no "
                f"{said(name_of(note.pitch))} in its place); analyse it again"
            )
    text = text_from(part.source, data)
    measures = {note.address.measure for note in printed.values()}
    found = places(part.source, text, part.number, part.part_id, measures)
    marks = {address: note.marks for address, note in printed.items()}
    return PrintedScore(part.source, text, found, marks)


def read_again(part: Part, data: bytes) -> Part:
    """Read the same part of a document once more."""
    return part_of(part.source, document(part.source, data), part.number)


def notes_of(events: Iterable[Event]) -> Iterable[Note]:
    """Go through the struck notes of events."""
    return (note for event in events for note in event.notes)


# ── putting in ──────────────────────────────────────────────────────────────────────────────────


def marked_score(
    score: PrintedScore,
    analysis: Analysis,
    wanted: Mapping[Address, Marks],
    words: Mapping[int, Sequence[str]],
) -> bytes:
    """Put marks, and words over events, into a score.

    Parameters
    ----------
    score
        The score as it stands.
    analysis
        The fingered part.
    wanted
        Marks by address of the note; what is printed is not said twice.
    words
        Words over events, by index of the event, in ASCII: those that stand beside the position,
        then those in a line of their own.

    Raises
    ------
    WriteError
        The score's encoding cannot be added to.
    """
    missing = not_printed(score, wanted)
    insertions: list[Insertion] = []
    for address, mark in missing.items():
        if elements := _elements(mark):
            note = score.places[address.measure, address.note]
            insertions.append(on_note(score.text, note, elements))
    for event in analysis.part.events:
        for line in _words_over(event, missing, words.get(event.index, ())):
            note = _leader(score, bearer(event))
            insertions.append(before_note(score.text, note, _direction(note, line, score.text)))
    return spliced(score.name, score.text, insertions)


def not_printed(score: PrintedScore, wanted: Mapping[Address, Marks]) -> dict[Address, Marks]:
    """Return what is wanted and not printed."""
    return {address: _left(score, address, mark) for address, mark in wanted.items()}


def _left(score: PrintedScore, address: Address, mark: Marks) -> Marks:
    printed = score.printed[address]
    tags = _technical_tags(score.places[address.measure, address.note])
    fingered = bool(printed.fingers) or printed.open_string or bool(tags & _FINGERING)
    stringed = printed.string is not None or printed.open_string or "string" in tags
    return Marks(
        fingers=() if fingered else mark.fingers,
        string=None if stringed else mark.string,
        open_string=mark.open_string and not fingered,
        position=mark.position if printed.position is None else None,
    )


_FINGERING = frozenset(("fingering", "open-string", "thumb-position"))


def _technical_tags(note: Place) -> frozenset[str]:
    return frozenset(
        mark.tag
        for notations in note.children
        if notations.tag == "notations"
        for technical in notations.children
        if technical.tag == "technical"
        for mark in technical.children
    )


def _elements(mark: Marks) -> tuple[Content, ...]:
    fingers: tuple[Content, ...] = tuple(("fingering", str(finger)) for finger in mark.fingers)
    open_string: tuple[Content, ...] = (("open-string", ()),) if mark.open_string else ()
    string: tuple[Content, ...] = () if mark.string is None else (("string", str(mark.string)),)
    return (*fingers, *open_string, *string)


# ── words ───────────────────────────────────────────────────────────────────────────────────────


def _words_over(
    event: Event, missing: Mapping[Address, Marks], words: Sequence[str]
) -> Iterator[str]:
    """Yield the lines over an event, the one with its position first: it stands by the note."""
    marks = (missing.get(note.address, NO_MARKS) for note in event.notes)
    position = next((mark.position for mark in marks if mark.position is not None), None)
    beside, *lines = words or ("",)
    named = "" if position is None else position_words(position)
    yield from filter(None, (", ".join(filter(None, (named, beside))), *lines))


def _leader(score: PrintedScore, address: Address) -> Place:
    """Return the note with which a chord begins: nothing may stand between its notes."""
    index = address.note
    while index > 0 and _is_in_chord(score.places[address.measure, index]):
        index -= 1
    return score.places[address.measure, index]


def _is_in_chord(note: Place) -> bool:
    return any(child.tag == "chord" for child in note.children)


def _direction(note: Place, words: str, text: Text) -> Content:
    staff = next((child for child in note.children if child.tag == "staff"), None)
    content: Sequence[Content] = (("direction-type", (("words", words),)),)
    if staff is not None:
        number = text.utf8[staff.inner : text.utf8.rindex(b"<", staff.inner, staff.end)]
        content = (*content, ("staff", number.decode("utf-8").strip()))
    return 'direction placement="above"', tuple(content)
