"""What the edition prints about the left hand: fingers, strings, harmonics.

Conventions
-----------
* Digits 0 to 4 are fingers, in printed order; several on one note are alternatives or a change of
  finger. Anything else printed as a fingering is told to the user and left out.
* Fingers of a whole chord printed on its first note are dealt out when there are as many as notes
  and the other notes have none: by their height on the page where it is given (``default-y``),
  else from the top note down, as they are read off the page. The same holds for strings.
* A harmonic without a word on its kind is a natural one. A diamond note alone is the touched place
  of a natural harmonic; above a stopped note it is the touched place of an artificial one.

Source of the order from the top down: fingerings over double stops in *Ryan's Mammoth Collection*
(1883), transcribed in ABC, of which 17 of 18 fit the hand only so; of ``default-y``: MusicXML 4.0.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from scoretools.model import NO_MARKS, Finger, Harmonic, Marks, Pitch, PrintedString
from scoretools.read.attributes import number_of
from scoretools.read.document import Element, text_of
from scoretools.read.notices import Log, count, remark

__all__ = ["Printed", "chord_marks", "united"]

_FINGERS = re.compile(r"[(\[]?[0-4](?:[-–—/,. ]*[0-4])*[)\]]?")
_STRINGS = 5
_LONGEST_TEXT = 20

_HARMONICS = {
    ("natural", "touching-pitch"): Harmonic.NATURAL_TOUCHING,
    ("artificial", ""): Harmonic.ARTIFICIAL,
    ("artificial", "base-pitch"): Harmonic.ARTIFICIAL_BASE,
    ("artificial", "touching-pitch"): Harmonic.ARTIFICIAL_TOUCHING,
    ("artificial", "sounding-pitch"): Harmonic.ARTIFICIAL_SOUNDING,
    ("", "base-pitch"): Harmonic.ARTIFICIAL_BASE,
    ("", "touching-pitch"): Harmonic.NATURAL_TOUCHING,
}
"""Kind of harmonic by its kind and pitch elements; any other pair is a natural harmonic."""


@dataclass(frozen=True, slots=True)
class Printed:
    """One note of a chord and the elements printed on it."""

    pitch: Pitch
    """The pitch."""
    technical: tuple[Element, ...]
    """Its ``technical`` elements."""
    diamond: bool
    """Whether its head is a diamond."""


def chord_marks(chord: Sequence[Printed], log: Log, measure: int) -> tuple[Marks, ...]:
    """Return the marks of each note of a chord.

    Parameters
    ----------
    chord : sequence of Printed
        Notes of one chord in the order of the document; a single note is a chord of one.
    log : Log
        Takes remarks about what cannot be read.
    measure : int
        Index of the measure.

    Returns
    -------
    tuple of Marks
        One for each note, in the same order.

    Raises
    ------
    Nothing.
    """
    fingers = _dealt(chord, [_fingerings(note, log, measure) for note in chord])
    strings = _dealt(chord, [_strings(note, log, measure) for note in chord])
    harmonics = _harmonics(chord)
    return tuple(
        Marks(
            tuple(dict.fromkeys(Finger(f) for _, digits in fingers[place] for f in digits)),
            next((PrintedString(numbers[0]) for _, numbers in strings[place]), None),
            any(element.find("open-string") is not None for element in note.technical),
            harmonics[place],
        )
        for place, note in enumerate(chord)
    )


def united(first: Marks, second: Marks) -> Marks:
    """Return the marks of a note that is printed twice.

    Parameters
    ----------
    first, second : Marks
        Marks of the two; the first goes before where they contradict each other.

    Returns
    -------
    Marks
        Marks of both.

    Raises
    ------
    Nothing.
    """
    if second == NO_MARKS:
        return first
    return Marks(
        tuple(dict.fromkeys(first.fingers + second.fingers)),
        first.string if first.string is not None else second.string,
        first.open_string or second.open_string,
        first.harmonic or second.harmonic,
    )


_Item = tuple[Fraction | None, tuple[int, ...]]
"""One printed sign: its height on the page, where given, and its numbers."""


def _fingerings(note: Printed, log: Log, measure: int) -> list[_Item]:
    items: list[_Item] = []
    for technical in note.technical:
        for element in technical.iterchildren("fingering"):
            text = text_of(element)
            if _FINGERS.fullmatch(text):
                fingers = tuple(int(digit) for digit in re.findall(r"\d", text))
                items.append((number_of(element.get("default-y")), fingers))
            elif text:
                said = f"The fingering “{text[:_LONGEST_TEXT]}” is no finger from 0 to 4 and is"
                remark(log, f"{said} left out.", measure)
    return items


def _strings(note: Printed, log: Log, measure: int) -> list[_Item]:
    items: list[_Item] = []
    for technical in note.technical:
        for element in technical.iterchildren("string"):
            number = number_of(text_of(element))
            if number is not None and number.denominator == 1 and 1 <= number <= _STRINGS:
                items.append((number_of(element.get("default-y")), (int(number),)))
            else:
                count(log, "string", measure)
    return items


def _dealt(chord: Sequence[Printed], items: list[list[_Item]]) -> list[list[_Item]]:
    """Deal out the signs of a whole chord that are printed on one of its notes."""
    bearers = [place for place, printed in enumerate(items) if printed]
    if len(chord) < 2 or len(bearers) != 1 or len(items[bearers[0]]) != len(chord):
        return items
    heights = {height for height, _ in items[bearers[0]]}
    signs = items[bearers[0]]
    if None not in heights and len(heights) == len(chord):
        signs = sorted(signs, key=lambda sign: -(sign[0] or 0))
    downwards = sorted(range(len(chord)), key=lambda place: -chord[place].pitch.midi)
    dealt: list[list[_Item]] = [[] for _ in chord]
    for place, sign in zip(downwards, signs, strict=True):
        dealt[place] = [sign]
    return dealt


def _harmonics(chord: Sequence[Printed]) -> list[Harmonic | None]:
    printed = [_harmonic(note) for note in chord]
    if any(printed) or not any(note.diamond for note in chord):
        return printed
    if all(note.diamond for note in chord):
        return [Harmonic.NATURAL_TOUCHING for _ in chord]
    return [
        Harmonic.ARTIFICIAL_TOUCHING if note.diamond else Harmonic.ARTIFICIAL_BASE for note in chord
    ]


def _harmonic(note: Printed) -> Harmonic | None:
    for technical in note.technical:
        element = technical.find("harmonic")
        if element is not None:
            tags = [child.tag for child in element]
            kind = next((tag for tag in tags if tag in ("natural", "artificial")), "")
            pitch = next((str(tag) for tag in tags if str(tag).endswith("-pitch")), "")
            return _HARMONICS.get((str(kind), pitch), Harmonic.NATURAL)
    return None
