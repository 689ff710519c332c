"""What the edition prints about the left hand: fingers, strings, harmonics.

Conventions
-----------
* Digits 0 to 4 are fingers, in printed order; several on one note are alternatives, but two joined
  by a dash, and one marked as a ``substitution``, are a change of finger while the note sounds.
  So is another finger printed where a note is tied on. Anything else printed as a fingering is
  told to the user and left out.
* ``stopped`` and a ``+`` are a pizzicato of the left hand; ``snap-pizzicato`` is the right hand's.
* Fingers of a whole chord printed on its first note are dealt out when there are as many as notes
  and the other notes have none: by their height on the page where it is given (``default-y``),
  else from the top note down, as they are read off the page. The same holds for strings.
* Harmonics are settled for the whole chord; a note that only shows how they sound is left out.

Source of the order from the top down: fingerings over double stops in *Ryan's Mammoth Collection*
(1883), transcribed in ABC, of which 17 of 18 fit the hand only so; of ``default-y``: MusicXML 4.0.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import NamedTuple

from scoretools.model import NO_MARKS, Finger, Marks, Pitch, PrintedString
from scoretools.read.attributes import number_of
from scoretools.read.document import Element, text_of
from scoretools.read.harmonics import Bearer, harmonic_kind, harmonics
from scoretools.read.notices import Log, count, remark

__all__ = ["Printed", "chord_marks", "prolonged", "united"]

_FINGERS = re.compile(r"[(\[]?[0-4](?:[-–—/,. ]*[0-4])*[)\]]?")
_CHANGE = re.compile(r"([0-4]) ?[-–—] ?([0-4])")
_UNREAD = ("bend", "hammer-on", "other-technical", "pull-off", "tap")
_STRINGS = 5
_LONGEST_TEXT = 20


@dataclass(frozen=True, slots=True)
class Printed:
    """One note of a chord and the elements printed on it."""

    pitch: Pitch
    """The pitch."""
    technical: tuple[Element, ...]
    """Its ``technical`` elements."""
    diamond: bool
    """Whether its head is a diamond."""


def chord_marks(chord: Sequence[Printed], log: Log, measure: int) -> tuple[Marks | None, ...]:
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
    tuple of Marks or None
        One for each note, in the same order; none for a note that is not to be played.

    Raises
    ------
    Nothing.
    """
    fingers = _dealt(chord, [_fingerings(note, log, measure) for note in chord])
    strings = _dealt(chord, [_strings(note, log, measure) for note in chord])
    kinds, shown = harmonics([_bearer(note) for note in chord])
    for place, note in enumerate(chord):
        _count_unread(note, log, measure)
        if place in shown:
            count(log, "shown harmonic", measure)
    return tuple(
        None
        if place in shown
        else Marks(
            tuple(dict.fromkeys(Finger(f) for sign in fingers[place] for f in sign.numbers)),
            next((PrintedString(sign.numbers[0]) for sign in strings[place]), None),
            _has(note, "open-string"),
            kinds[place],
            substitute=next((sign.change for sign in fingers[place] if sign.change), None),
            thumb=_has(note, "thumb-position"),
            left_hand_pizzicato=_has(note, "stopped") or _has_plus(note),
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
        first.position if first.position is not None else second.position,
        first.substitute if first.substitute is not None else second.substitute,
        first.thumb or second.thumb,
        first.left_hand_pizzicato or second.left_hand_pizzicato,
    )


def prolonged(first: Marks, second: Marks) -> Marks:
    """Return the marks of a note that is tied on and marked anew where it goes on.

    Parameters
    ----------
    first : Marks
        Marks of the note as it is struck.
    second : Marks
        Marks of its continuation.

    Returns
    -------
    Marks
        Those of the note; another finger on the continuation takes over from the first.

    Raises
    ------
    Nothing.
    """
    if second == NO_MARKS:
        return first
    others = [finger for finger in second.fingers if finger not in first.fingers]
    rest = replace(second, fingers=(), string=None, open_string=False, harmonic=None)
    both = united(first, rest)
    if others and both.substitute is None:
        return replace(both, substitute=others[0])
    return both


class _Item(NamedTuple):
    """One printed sign."""

    height: Fraction | None
    """Its height on the page, where given."""
    numbers: tuple[int, ...]
    """Its numbers."""
    change: Finger | None = None
    """The finger that takes over."""


def _has(note: Printed, tag: str) -> bool:
    return any(element.find(tag) is not None for element in note.technical)


def _others(note: Printed) -> list[str]:
    return [text_of(one) for element in note.technical for one in element.iter("other-technical")]


def _has_plus(note: Printed) -> bool:
    return "+" in _others(note)


def _count_unread(note: Printed, log: Log, measure: int) -> None:
    for technical in note.technical:
        for element in technical.iterchildren(*_UNREAD):
            text = text_of(element)
            read = text == "+" or bool(_FINGERS.fullmatch(text))
            if element.get("type") != "stop" and not read:
                count(log, "technical", measure)


def _fingerings(note: Printed, log: Log, measure: int) -> list[_Item]:
    items: list[_Item] = []
    for technical in note.technical:
        for element in technical.iterchildren("fingering", "other-technical"):
            text = text_of(element)
            if _FINGERS.fullmatch(text):
                _add_fingers(items, element, text)
            elif text and element.tag == "fingering":
                said = f"The fingering “{text[:_LONGEST_TEXT]}” is no finger from 0 to 4 and is"
                remark(log, f"{said} left out.", measure)
    return items


def _add_fingers(items: list[_Item], element: Element, text: str) -> None:
    """Add a sign; a substitution or alternative belongs to the sign before it."""
    fingers = tuple(int(digit) for digit in re.findall(r"\d", text))
    change = None
    if dashed := _CHANGE.fullmatch(text):
        fingers, change = fingers[:1], Finger(int(dashed[2]))
    before = items[-1] if items else None
    if before and element.get("substitution") == "yes":
        items[-1] = before._replace(change=Finger(fingers[0]))
    elif before and element.get("alternate") == "yes":
        items[-1] = before._replace(numbers=before.numbers + fingers)
    else:
        items.append(_Item(number_of(element.get("default-y")), fingers, change))


def _strings(note: Printed, log: Log, measure: int) -> list[_Item]:
    items: list[_Item] = []
    for technical in note.technical:
        for element in technical.iterchildren("string"):
            number = number_of(text_of(element))
            if number is not None and number.denominator == 1 and 1 <= number <= _STRINGS:
                items.append(_Item(number_of(element.get("default-y")), (int(number),)))
            else:
                count(log, "string", measure)
    return items


def _dealt(chord: Sequence[Printed], items: list[list[_Item]]) -> list[list[_Item]]:
    """Deal out the signs of a whole chord that are printed on one of its notes."""
    bearers = [place for place, printed in enumerate(items) if printed]
    if len(chord) < 2 or len(bearers) != 1 or len(items[bearers[0]]) != len(chord):
        return items
    heights = {sign.height for sign in items[bearers[0]]}
    signs = items[bearers[0]]
    if None not in heights and len(heights) == len(chord):
        signs = sorted(signs, key=lambda sign: -(sign.height or 0))
    downwards = sorted(range(len(chord)), key=lambda place: -chord[place].pitch.midi)
    dealt: list[list[_Item]] = [[] for _ in chord]
    for place, sign in zip(downwards, signs, strict=True):
        dealt[place] = [sign]
    return dealt


def _bearer(note: Printed) -> Bearer:
    found = (technical.find("harmonic") for technical in note.technical)
    element = next((one for one in found if one is not None), None)
    kind = harmonic_kind(element) if element is not None else None
    return Bearer(note.pitch.midi, kind, note.diamond)
