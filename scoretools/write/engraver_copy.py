"""What is changed in a copy of a part before it is engraved; the user's own file stays as it is.

Conventions
-----------
* All notations of a note stand in one element, of which alone the engraver reads the fingers.
* The open string of a chord, its notes in one voice or in several, is written 0, in the order of
  the notes.
* Fingers of a second, whose heads stand side by side, go to one head and so stand in a column.
* Strings, which the engraver does not draw, are named in words.
* A slur that never ends is ended where `scoretools.read.slurs` takes it to end: at the end of its
  bar, before the next rest of its voice or the next beginning, whichever comes first; where it then
  reaches no other note it is left out.
* Tempo words and metronome marks that stand over the top part alone hold for all, and are taken
  over.
"""

import re
from collections.abc import Iterator, Sequence
from copy import deepcopy
from fractions import Fraction
from itertools import pairwise
from xml.etree import ElementTree

from scoretools.read.lexicon import plain
from scoretools.read.tempo_words import beats_of

__all__ = [
    "end_slurs",
    "gather_fingers_of_seconds",
    "join_notations",
    "name_strings",
    "number_open_strings",
    "placed",
    "take_over_tempi",
]

# ── fingers and strings ─────────────────────────────────────────────────────────────────────────


def join_notations(measure: ElementTree.Element) -> None:
    """Gather the notations of each note, and their technical marks, in one element.

    Parameters
    ----------
    measure
        A bar; changed in place.
    """
    for note in measure.iterfind("note"):
        _join(note, "notations")
        for notations in note.iterfind("notations"):
            _join(notations, "technical")


def _join(parent: ElementTree.Element, tag: str) -> None:
    first, *others = parent.findall(tag) or [parent]
    for other in others:
        first.extend(list(other))
        parent.remove(other)


def number_open_strings(measure: ElementTree.Element) -> None:
    """Write the open string of a chord as 0, for a circle would not stand in the notes' order.

    Parameters
    ----------
    measure
        A bar; changed in place.
    """
    struck: dict[Fraction, list[ElementTree.Element]] = {}
    for at, note in _onsets(measure):
        if note.find("rest") is None and note.find("grace") is None:
            struck.setdefault(at, []).append(note)
    for together in struck.values():
        for note in together if len(together) > 1 else ():
            for sign in note.iterfind("notations/technical/open-string"):
                sign.tag, sign.text = "fingering", "0"


def gather_fingers_of_seconds(measure: ElementTree.Element) -> None:
    """Write the fingers of a chord with a second at its lowest note, from below.

    Parameters
    ----------
    measure
        A bar; changed in place.
    """
    for together in _chords(measure):
        in_order = sorted(together, key=_letter)
        seconds = any(_letter(b) - _letter(a) == 1 for a, b in pairwise(in_order))
        technical = in_order[0].find("notations/technical")
        if not seconds or technical is None:
            continue
        for note in in_order[1:]:
            for marks in note.iterfind("notations/technical"):
                for sign in marks.findall("fingering"):
                    marks.remove(sign)
                    technical.append(sign)


def _chords(measure: ElementTree.Element) -> Iterator[list[ElementTree.Element]]:
    """Yield the notes of each chord of one voice."""
    chords: list[list[ElementTree.Element]] = []
    for note in measure.iterfind("note"):
        if note.find("chord") is None or not chords:
            chords.append([])
        chords[-1].append(note)
    return (chord for chord in chords if all(note.find("pitch") is not None for note in chord))


def _letter(note: ElementTree.Element) -> int:
    octave = int(note.findtext("pitch/octave") or 0)
    return 7 * octave + "CDEFGAB".index(note.findtext("pitch/step") or "C")


def _onsets(measure: ElementTree.Element) -> Iterator[tuple[Fraction, ElementTree.Element]]:
    """Yield the notes of a bar with when they begin, notes of a chord with its first."""
    begun = Fraction(0)
    for at, element in placed(measure, Fraction(1)):
        if element.tag == "note":
            begun = begun if element.find("chord") is not None else at
            yield begun, element


def name_strings(measure: ElementTree.Element, strings: Sequence[str]) -> None:
    """Put words over single notes that are marked with a string, once while it stays.

    Parameters
    ----------
    measure
        A bar; changed in place.
    strings
        Words for each string, the highest first.
    """
    told = ""
    notes = measure.findall("note")
    for note, after in zip(notes, [*notes[1:], None], strict=True):
        in_chord = note.find("chord") is not None or _begins_chord(after)
        number = (note.findtext("notations/technical/string") or "").strip()
        if in_chord or not number.isdecimal() or not 1 <= int(number) <= len(strings):
            continue
        words = strings[int(number) - 1]
        place = list(measure).index(note)
        if words != told and not _is_named(measure, place, words):
            measure.insert(place, _direction(words))
        told = words


def _begins_chord(after: ElementTree.Element | None) -> bool:
    return after is not None and after.find("chord") is not None


def _is_named(measure: ElementTree.Element, place: int, words: str) -> bool:
    """Tell whether words right before a note name a string, as ``3rd pos., sul D`` does."""
    for before in reversed(measure[:place]):
        if before.tag != "direction":
            return False
        lines = (said.text or "" for said in before.iterfind("direction-type/words"))
        if any(words in line.split(", ") for line in lines):
            return True
    return False


def _direction(words: str) -> ElementTree.Element:
    direction = ElementTree.Element("direction", {"placement": "above"})
    kind = ElementTree.SubElement(direction, "direction-type")
    ElementTree.SubElement(kind, "words").text = words
    return direction


# ── slurs ───────────────────────────────────────────────────────────────────────────────────────

_Start = tuple[ElementTree.Element, ElementTree.Element, ElementTree.Element]
"""The bar, the note and the beginning of a slur."""


def end_slurs(part: ElementTree.Element) -> None:
    """End slurs that never end, which would be drawn over all that follows.

    Parameters
    ----------
    part
        A part; changed in place.
    """
    begun: dict[str, _Start] = {}
    endless: list[tuple[_Start, ElementTree.Element | None]] = []
    for measure in part.iterfind("measure"):
        for note in measure.iterfind("note"):
            slurs = note.findall("notations/slur")
            for slur in sorted(slurs, key=lambda one: one.get("type") != "stop"):
                number = slur.get("number", "1")
                before = begun.pop(number, None)
                if slur.get("type") == "start":
                    endless += [(before, note)] if before else []
                    begun[number] = measure, note, slur
                elif slur.get("type") == "continue" and before:
                    begun[number] = before
    for start, limit in (*endless, *((start, None) for start in begun.values())):
        _end_slur(start, limit)


def _end_slur(start: _Start, limit: ElementTree.Element | None) -> None:
    measure, first, slur = start
    last = None
    for note in _after(measure, first):
        if note is limit or note.find("rest") is not None:
            break
        last = note
    if last is None:
        for notations in first.findall("notations"):
            if slur in list(notations):
                notations.remove(slur)
        return
    end = {"type": "stop", "number": slur.get("number", "1")}
    ElementTree.SubElement(_notations(last), "slur", end)


def _after(
    measure: ElementTree.Element, first: ElementTree.Element
) -> Iterator[ElementTree.Element]:
    """Yield what follows a note in its voice and bar, the first note of each chord."""
    notes = measure.findall("note")
    for note in notes[notes.index(first) + 1 :]:
        if note.findtext("voice") == first.findtext("voice") and note.find("chord") is None:
            yield note


def _notations(note: ElementTree.Element) -> ElementTree.Element:
    found = note.find("notations")
    return ElementTree.SubElement(note, "notations") if found is None else found


# ── tempi ───────────────────────────────────────────────────────────────────────────────────────

_CHANGING = re.compile(
    r"(?:poco |molto )*(?:rit|rall|accel|string|allarg|a tempo|tempo|piu mosso|meno mosso)\b"
)
"""How words on a change of tempo begin, without accents."""


def take_over_tempi(score: ElementTree.Element, part: ElementTree.Element) -> None:
    """Copy tempo words and metronome marks from the top part into a bar that has none.

    Parameters
    ----------
    score
        The whole score, part-wise.
    part
        One of its parts; changed in place.
    """
    top = score.find("part")
    if top is None or top is part:
        return
    there, here = Fraction(1), Fraction(1)
    for above, measure in zip(top.iterfind("measure"), part.iterfind("measure"), strict=False):
        there, here = _divisions(above, there), _divisions(measure, here)
        if any(map(_is_tempo, measure.iterfind("direction"))):
            continue
        found = [
            (at, deepcopy(element))
            for at, element in placed(above, there)
            if element.tag == "direction" and _is_tempo(element)
        ]
        for at, direction in reversed(found):
            for name in ("voice", "staff"):
                for child in direction.findall(name):
                    direction.remove(child)
            measure.insert(_place_at(measure, here, at), direction)


def _divisions(measure: ElementTree.Element, before: Fraction) -> Fraction:
    """Return how many units a quarter note has."""
    told = (measure.findtext("attributes/divisions") or "").strip()
    return Fraction(told) if told.isdecimal() and int(told) else before


def _is_tempo(direction: ElementTree.Element) -> bool:
    if direction.find("direction-type/metronome") is not None:
        return True
    words = [(one.text or "").strip() for one in direction.iterfind("direction-type/words")]
    sounding = direction.find("sound[@tempo]") is not None
    return any(
        text and (sounding or beats_of(text) or _CHANGING.match(plain(text))) for text in words
    )


def placed(
    measure: ElementTree.Element, divisions: Fraction
) -> Iterator[tuple[Fraction, ElementTree.Element]]:
    """Yield what stands in a bar, each with its quarter notes after the bar line.

    Parameters
    ----------
    divisions
        How many units of its durations a quarter note has.
    """
    at = Fraction(0)
    for element in measure:
        yield at, element
        length = (element.findtext("duration") or "").strip()
        if length.isdecimal() and element.find("chord") is None:
            step = int(length) / divisions
            at += -step if element.tag == "backup" else step


def _place_at(measure: ElementTree.Element, divisions: Fraction, wanted: Fraction) -> int:
    """Return where in a bar a direction belongs: before the first note from there on."""
    for place, (at, element) in enumerate(placed(measure, divisions)):
        begins = element.tag == "note" and element.find("chord") is None
        if element.tag == "backup" or (begins and at >= wanted):
            return place
    return len(measure)
