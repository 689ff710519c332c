"""What stands at the head of a staff: time, key, transposition and tuning.

Conventions: a signature that is printed once for each staff is taken from the first staff; a
written interval of transposition is applied to pitches and to the key alike.
"""

import re
from fractions import Fraction
from functools import lru_cache
from math import lcm

from scoretools.model import Key, Pitch
from scoretools.read.document import Element, text_of

__all__ = [
    "COMMON_TIME",
    "C_MAJOR",
    "NO_TRANSPOSITION",
    "Transposition",
    "key_of",
    "key_on_circle",
    "number_of",
    "pitch_of",
    "time_of",
    "transposed_key",
    "transposition_of",
    "tuning_of",
]

Transposition = tuple[int, int]
"""Letters and semitones from the written note up to the sounding one."""

NO_TRANSPOSITION: Transposition = (0, 0)
"""The part sounds as written."""

COMMON_TIME = (4, 4)
"""Time signature of a score that prints none."""

_LETTERS = "CDEFGAB"
_NATURAL = (0, 2, 4, 5, 7, 9, 11)
_SHARPS = (3, 0, 4, 1, 5, 2, 6)
"""Letters (C = 0) in the order in which sharps are added; flats go the other way."""

_STRINGS = (4, 5)
"""Number of strings a printed tuning may have."""

_NUMBER = re.compile(r"[+-]?\d{1,9}(?:\.\d{0,9})?")


@lru_cache(maxsize=4096)
def number_of(text: str | None) -> Fraction | None:
    """Return a decimal number of the document.

    Parameters
    ----------
    text : str or None
        Text of an element; at most nine digits before and after the point.

    Returns
    -------
    Fraction or None
        The number, none when the text is no such number.

    Raises
    ------
    Nothing.
    """
    if text is None or not _NUMBER.fullmatch(text := text.strip()):
        return None
    return Fraction(text.removesuffix("."))


def time_of(element: Element) -> tuple[int, int] | None:
    """Return a time signature as one fraction.

    Parameters
    ----------
    element : Element
        A ``time`` element; additive figures (3+2) and several fractions are summed.

    Returns
    -------
    tuple of int or None
        Upper and lower figure; none for music without metre or an unreadable signature.

    Raises
    ------
    Nothing.
    """
    uppers = [re.findall(r"\d{1,3}", text_of(beats)) for beats in element.iterfind("beats")]
    lowers = [text_of(unit) for unit in element.iterfind("beat-type")]
    if not uppers or len(uppers) != len(lowers) or not all(uppers):
        return None
    if not all(re.fullmatch(r"[1-9]\d{0,3}", lower) for lower in lowers):
        return None
    unit = lcm(*map(int, lowers))
    counts = (
        sum(map(int, upper)) * unit // int(lower)
        for upper, lower in zip(uppers, lowers, strict=True)
    )
    count = sum(counts)
    return (count, unit) if count else None


def key_of(element: Element) -> Key:
    """Return a key signature, on the circle of fifths or free.

    Parameters
    ----------
    element : Element
        A ``key`` element.

    Returns
    -------
    Key
        The signature; an unreadable one counts as no accidentals.

    Raises
    ------
    Nothing.
    """
    mode = text_of(element.find("mode")).lower() or None
    if mode == "none":
        mode = None
    if element.find("key-step") is None:
        fifths = number_of(text_of(element.find("fifths"))) or 0
        return key_on_circle(max(-21, min(21, int(fifths))), mode)
    alters = [0] * 7
    step = ""
    for child in element:
        if child.tag == "key-step":
            step = text_of(child).upper()
        elif child.tag == "key-alter" and step and step in _LETTERS:
            alters[_LETTERS.index(step)] = round(number_of(text_of(child)) or 0)
    c, d, e, f, g, a, b = alters
    return Key((c, d, e, f, g, a, b), None, mode)


@lru_cache(maxsize=256)
def key_on_circle(fifths: int, mode: str | None = None) -> Key:
    """Return the key signature of so many sharps, or flats where they are negative.

    Parameters
    ----------
    fifths : int
        Steps on the circle of fifths.
    mode : str or None
        Mode, where one is named.

    Returns
    -------
    Key
        The signature.

    Raises
    ------
    Nothing.
    """
    alters = [0] * 7
    for place, letter in enumerate(_SHARPS):
        alters[letter] = (fifths - place + 6) // 7
    c, d, e, f, g, a, b = alters
    return Key((c, d, e, f, g, a, b), fifths, mode)


C_MAJOR = key_on_circle(0)
"""Key of a score that prints none."""


def transposed_key(key: Key, transposition: Transposition) -> Key:
    """Return the key that sounds where another is written.

    Parameters
    ----------
    key : Key
        The written key.
    transposition : tuple of int
        Letters and semitones upwards.

    Returns
    -------
    Key
        The sounding key; a free signature is returned as it is.

    Raises
    ------
    Nothing.
    """
    if key.fifths is None or transposition == NO_TRANSPOSITION:
        return key
    letters, semitones = transposition
    return key_on_circle(key.fifths + 7 * semitones - 12 * letters, key.mode)


def transposition_of(element: Element) -> Transposition:
    """Return the interval from the written to the sounding note.

    Parameters
    ----------
    element : Element
        A ``transpose`` element; letters that are not given follow from the semitones.

    Returns
    -------
    tuple of int
        Letters and semitones upwards, octaves included.

    Raises
    ------
    Nothing.
    """
    semitones = round(number_of(text_of(element.find("chromatic"))) or 0)
    octaves = round(number_of(text_of(element.find("octave-change"))) or 0)
    given = number_of(text_of(element.find("diatonic")))
    letters = round(given) if given is not None else round(semitones * 7 / 12)
    return letters + 7 * octaves, semitones + 12 * octaves


@lru_cache(maxsize=4096)
def pitch_of(
    step: str | None, alter: str | None, octave: str | None, transposition: Transposition
) -> tuple[Pitch, bool] | None:
    """Return the pitch that sounds.

    Parameters
    ----------
    step, alter, octave : str or None
        Texts of the elements of a ``pitch``.
    transposition : tuple of int
        Letters and semitones upwards.

    Returns
    -------
    tuple of Pitch and bool, or None
        The pitch, and whether a microtone was rounded (a quarter tone towards the natural);
        none when it cannot be read.

    Raises
    ------
    Nothing.
    """
    letter = _LETTERS.find((step or "").strip().upper() or "?")
    height = number_of(octave)
    inflection = number_of(alter) if alter and alter.strip() else Fraction(0)
    if letter < 0 or height is None or not 0 <= height <= 9 or inflection is None:
        return None
    whole = int(abs(inflection) + Fraction(49, 100)) * (1 if inflection > 0 else -1)
    if abs(whole) > 3:
        return None
    letters = 7 * int(height) + letter + transposition[0]
    midi = 12 * int(height) + _NATURAL[letter] + whole + transposition[1]
    sounding = midi - 12 * (letters // 7) - _NATURAL[letters % 7]
    if abs(sounding) > 3:
        return None
    pitch = Pitch(_LETTERS[letters % 7], sounding, letters // 7)
    return pitch, whole != inflection


def tuning_of(element: Element) -> tuple[Pitch, ...] | None:
    """Return the open strings a score prints.

    Parameters
    ----------
    element : Element
        A ``staff-details`` (lines counted from the bottom) or a ``scordatura`` (strings counted
        from the highest).

    Returns
    -------
    tuple of Pitch or None
        Open strings, lowest first; none unless there are four or five that can be read.

    Raises
    ------
    Nothing.
    """
    from_below = element.tag == "staff-details"
    strings = element.findall("staff-tuning" if from_below else "accord")
    numbered = []
    for place, string in enumerate(strings):
        number = number_of(string.get("line" if from_below else "string"))
        read = pitch_of(
            string.findtext("tuning-step"),
            string.findtext("tuning-alter"),
            string.findtext("tuning-octave"),
            NO_TRANSPOSITION,
        )
        if read is None:
            return None
        numbered.append((number if number is not None else Fraction(place + 1), read[0]))
    if len(numbered) not in _STRINGS or len({number for number, _ in numbered}) != len(numbered):
        return None
    numbered.sort(key=lambda pair: pair[0], reverse=not from_below)
    return tuple(pitch for _, pitch in numbered)
