"""Which note of a chord is stopped, which is touched, and which only shows how a harmonic sounds.

Conventions: a diamond note, or one marked as a touching pitch, is touched. With a plain note a
third to a sixth below it, it makes an artificial harmonic; without one, a natural harmonic. A plain
note above that sounds as the touched one does is no note to play and is left out. A harmonic
without a word on its kind is a natural one.

Source of the intervals: the harmonic series (a string touched at a fourth, a fifth or a major third
above the stopped note sounds two octaves, an octave and a fifth, two octaves and a third above it);
the n-th partial is touched where a whole number of n-ths of the string lie behind the finger.
"""

from collections.abc import Sequence
from typing import NamedTuple

from scoretools.model import Harmonic
from scoretools.read.document import Element

__all__ = ["NODES", "PARTIALS", "TOUCHED", "Bearer", "harmonic_kind", "harmonics"]

PARTIALS = frozenset({12, 19, 24, 28, 31})
"""Semitones above the open string at which its second to sixth partials sound."""

NODES = frozenset({3, 4, 5, 7, 9, 12, 16, 19, 24, 28, 31})
"""Semitones above the open string at which these partials are touched, each at the nearest."""

_KINDS = {
    ("natural", "touching-pitch"): Harmonic.NATURAL_TOUCHING,
    ("artificial", ""): Harmonic.ARTIFICIAL,
    ("artificial", "base-pitch"): Harmonic.ARTIFICIAL_BASE,
    ("artificial", "touching-pitch"): Harmonic.ARTIFICIAL_TOUCHING,
    ("artificial", "sounding-pitch"): Harmonic.ARTIFICIAL_SOUNDING,
    ("", "base-pitch"): Harmonic.ARTIFICIAL_BASE,
    ("", "touching-pitch"): Harmonic.NATURAL_TOUCHING,
}
"""Kind of harmonic by its kind and pitch elements; any other pair is a natural harmonic."""

_STOPPED_BELOW = range(3, 10)
"""Semitones from the stopped note up to the touched one."""

_SOUNDS_ABOVE_STOPPED = {3: 31, 4: 28, 5: 24, 7: 19, 8: 36, 9: 28}
"""Semitones from the stopped note up to the sounding one, by those up to the touched one."""

_SOUNDS_ABOVE_TOUCHED = (12, 19, 24, 28)
"""Semitones from the touched note of a natural harmonic up to the sounding one: the string beyond
the finger sounds in two, three, four or five parts."""

TOUCHED = (Harmonic.NATURAL_TOUCHING, Harmonic.ARTIFICIAL_TOUCHING)
"""Kinds whose note is touched."""


class Bearer(NamedTuple):
    """One note of a chord, as far as harmonics go."""

    midi: int
    """Its pitch."""
    kind: Harmonic | None
    """What its ``harmonic`` element says, none where it has none."""
    diamond: bool
    """Whether its head is a diamond."""


def harmonic_kind(element: Element) -> Harmonic:
    """Return what a ``harmonic`` element says.

    Parameters
    ----------
    element : Element
        The element.

    Returns
    -------
    Harmonic
        A natural harmonic where it says nothing.

    Raises
    ------
    Nothing.
    """
    tags = [str(child.tag) for child in element]
    kind = next((tag for tag in tags if tag in ("natural", "artificial")), "")
    pitch = next((tag for tag in tags if tag.endswith("-pitch")), "")
    return _KINDS.get((kind, pitch), Harmonic.NATURAL)


def harmonics(chord: Sequence[Bearer]) -> tuple[list[Harmonic | None], set[int]]:
    """Return the harmonics of a chord and its notes that are not to be played.

    Parameters
    ----------
    chord : sequence of Bearer
        Notes in any order.

    Returns
    -------
    list of Harmonic or None
        One for each note.
    set of int
        Indices of notes that only show how a harmonic sounds.

    Raises
    ------
    Nothing.
    """
    kinds = [
        Harmonic.NATURAL_TOUCHING if one.diamond and one.kind in _VAGUE else one.kind
        for one in chord
    ]
    shown: set[int] = set()
    for place, one in enumerate(chord):
        if kinds[place] in TOUCHED:
            shown |= _around(chord, kinds, place, one.midi)
    return kinds, shown


_VAGUE = (None, Harmonic.NATURAL)


def _around(
    chord: Sequence[Bearer], kinds: list[Harmonic | None], place: int, touched: int
) -> set[int]:
    """Settle the notes round a touched one; return those that show how it sounds."""
    plain = {at: one.midi for at, one in enumerate(chord) if at != place and not one.diamond}
    below = [at for at, midi in plain.items() if touched - midi in _STOPPED_BELOW]
    below = [at for at in below if kinds[at] in (None, Harmonic.ARTIFICIAL_BASE)]
    sounding: set[int] = set()
    if below:
        base = max(below, key=lambda at: plain[at])
        kinds[base], kinds[place] = Harmonic.ARTIFICIAL_BASE, Harmonic.ARTIFICIAL_TOUCHING
        sounding.add(plain[base] + _SOUNDS_ABOVE_STOPPED.get(touched - plain[base], 0))
    elif kinds[place] is Harmonic.NATURAL_TOUCHING:
        sounding.update(touched + above for above in _SOUNDS_ABOVE_TOUCHED)
    unplayed = (None, Harmonic.NATURAL, Harmonic.ARTIFICIAL_SOUNDING)
    return {
        at
        for at, midi in plain.items()
        if midi > touched and midi in sounding and kinds[at] in unplayed
    }
