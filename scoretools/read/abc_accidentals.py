"""Accidentals of a converted tune, printed only where the notes ask for them.

The converter takes the signs that carry printed fingers for chords, and warns of their sharps with
naturals on notes that nobody has altered.
"""

from collections.abc import Iterator

from scoretools.read.document import Element

__all__ = ["drop_needless_accidentals"]

_SHARPS = "FCGDAEB"


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
        key: dict[str, int] = {}
        for measure in part.iterchildren("measure"):
            fifths = measure.findtext("attributes/key/fifths")
            key = key if fifths is None else _key(int(fifths))
            altered: set[str] = set()
            for step, alter, note in _pitches(measure):
                sign = note.find("accidental")
                if alter != key.get(step, 0):
                    altered.add(step)
                elif sign is not None and step not in altered | altered_before:
                    note.remove(sign)
            altered_before = altered


def _key(fifths: int) -> dict[str, int]:
    """How a key alters the letters."""
    if fifths >= 0:
        return dict.fromkeys(_SHARPS[:fifths], 1)
    return dict.fromkeys(_SHARPS[fifths:], -1)


def _pitches(measure: Element) -> Iterator[tuple[str, int, Element]]:
    for note in measure.iterchildren("note"):
        step = note.findtext("pitch/step")
        if step:
            yield step, round(float(note.findtext("pitch/alter") or 0)), note
