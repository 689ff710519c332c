"""Accidentals of a converted tune, printed only where the notes ask for them.

The converter takes the signs that carry printed fingers for chords, and warns of their sharps with
naturals on notes that nobody has altered.
"""

from collections.abc import Iterator

from scoretools.read.attributes import C_MAJOR, key_of
from scoretools.read.document import Element

__all__ = ["drop_needless_accidentals"]


def drop_needless_accidentals(root: Element) -> None:
    """Take out accidentals that repeat the key where no other one of their letter stands near.

    Near is the same bar or the bar before, in any octave: there a reminder is welcome.

    Parameters
    ----------
    root : Element
        A ``score-partwise`` element, changed in place.

    Returns
    -------
    None

    Raises
    ------
    Nothing.
    """
    for part in root.iterchildren("part"):
        altered_before: set[str] = set()
        key = C_MAJOR
        for measure in part.iterchildren("measure"):
            printed = measure.find("attributes/key")
            key = key if printed is None else key_of(printed)
            altered: set[str] = set()
            for step, alter, note in _pitches(measure):
                sign = note.find("accidental")
                if alter != key.alters["CDEFGAB".index(step)]:
                    altered.add(step)
                elif sign is not None and step not in altered | altered_before:
                    note.remove(sign)
            altered_before = altered


def _pitches(measure: Element) -> Iterator[tuple[str, int, Element]]:
    for note in measure.iterchildren("note"):
        step = note.findtext("pitch/step")
        if step:
            yield step, round(float(note.findtext("pitch/alter") or 0)), note
