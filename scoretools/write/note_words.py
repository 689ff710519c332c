"""Titles, notes, accidentals and checks in a musician's words, for every page."""

import re
from pathlib import PurePath

from scoretools.model import Analysis, Check, Drill, Part, Pitch
from scoretools.note_names import bare_name_of, name_of, said

__all__ = ["check_words", "letter", "signed", "title_of"]

_ACCIDENTAL = re.compile(r"\b([A-G])(#{1,2}|b{1,2})(?=-?\d|\W|$)")
_SIGNS = str.maketrans({"#": "♯", "b": "♭"})
_FINGER_WORDS = ("open", "1st finger", "2nd finger", "3rd finger", "4th finger")


def signed(text: str) -> str:
    """Give words to a reader, sharps and flats of note names as signs."""
    return _ACCIDENTAL.sub(lambda name: name[1] + name[2].translate(_SIGNS), said(text))


def title_of(part: Part) -> str:
    """Give a part's title; without one the name of its file, without the suffix."""
    return part.title or PurePath(part.source).stem


def letter(pitch: Pitch) -> str:
    """Name a note without its octave, as players do when string and finger are known."""
    return said(bare_name_of(pitch))


def check_words(analysis: Analysis, check: Check, drill: Drill) -> str:
    """Say what is tested, and how: ``E, 1st finger on D: a fourth below open A``."""
    stop = next(
        (
            note.stop
            for exercise in drill.exercises
            for note in exercise.notes
            if note.pitch == check.pitch and note.stop.finger
        ),
        None,
    )
    where = (
        f", {_FINGER_WORDS[stop.finger]} on {said(analysis.string_names[stop.string])}"
        if stop
        else ""
    )
    name = bare_name_of(check.against)
    against = said(name if name in analysis.string_names else name_of(check.against))
    return f"{letter(check.pitch)}{where}: {_heard(check)} open {against}"


def _heard(check: Check) -> str:
    if check.interval == "unison":
        return "in unison with"
    article = "an" if check.interval == "octave" else "a"
    side = "above" if check.pitch.midi > check.against.midi else "below"
    return f"{article} {check.interval} {side}"
