"""Trills, mordents, turns and two-note tremolos: which other pitches they use.

Conventions
-----------
* A neighbour is the next letter; its accidental is the one printed at the sign
  (``accidental-mark``), else the whole or half step the sign states (``trill-step``), else the last
  accidental of that pitch earlier in the bar, else the key's.
* A plain ``mordent`` uses the lower neighbour, an ``inverted-mordent`` the upper one, a turn of any
  kind both. Under a wavy line every note of its voice trills, up to the note where it stops.
* In a two-note tremolo each note carries the pitches of the other chord. A tremolo on one note
  repeats it and asks nothing more of the hand.

Source of the meaning of the signs: MusicXML 4.0; of the neighbours: common practice.
"""

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from scoretools.model import Key, Ornament, OrnamentKind, Pitch
from scoretools.read.attributes import C_MAJOR
from scoretools.read.document import Element, text_of
from scoretools.read.notices import Log, count
from scoretools.read.walk import RawNote

__all__ = ["ornamented"]

_LETTERS = "CDEFGAB"
_UPPER, _LOWER = 1, -1

_SIGNS = {
    "trill-mark": (OrnamentKind.TRILL, (_UPPER,)),
    "shake": (OrnamentKind.TRILL, (_UPPER,)),
    "mordent": (OrnamentKind.MORDENT, (_LOWER,)),
    "inverted-mordent": (OrnamentKind.MORDENT, (_UPPER,)),
    "turn": (OrnamentKind.TURN, (_LOWER, _UPPER)),
    "delayed-turn": (OrnamentKind.TURN, (_LOWER, _UPPER)),
    "vertical-turn": (OrnamentKind.TURN, (_LOWER, _UPPER)),
    "inverted-turn": (OrnamentKind.TURN, (_LOWER, _UPPER)),
    "delayed-inverted-turn": (OrnamentKind.TURN, (_LOWER, _UPPER)),
    "inverted-vertical-turn": (OrnamentKind.TURN, (_LOWER, _UPPER)),
    "haydn": (OrnamentKind.TURN, (_LOWER, _UPPER)),
}
"""Kind and neighbours of each sign."""

_UNREAD = ("schleifer", "other-ornament")
_STEPS = {"whole": 2, "half": 1, "unison": 0}
_ALTERS = {
    "natural": 0, "sharp": 1, "flat": -1, "double-sharp": 2, "sharp-sharp": 2, "flat-flat": -2,
    "double-flat": -2, "natural-sharp": 1, "natural-flat": -1,
}  # fmt: skip


class _Bars(NamedTuple):
    """What accidentals hang on."""

    notes: Sequence[RawNote]
    """Notes of the part in the order of the document."""
    firsts: list[int]
    """For each note, the index of its measure, to look up where a measure begins."""
    key_onsets: list[int]
    """When each key begins."""
    keys: list[Key]
    """Keys in order."""


def ornamented(
    notes: Sequence[RawNote],
    signs: Sequence[tuple[int, tuple[Element, ...]]],
    keys: Sequence[tuple[int, Key]],
    log: Log,
) -> dict[int, Ornament]:
    """Return the ornaments of a part.

    Parameters
    ----------
    notes : sequence of RawNote
        Notes in the order of the document, by running number.
    signs : sequence of (int, tuple of Element)
        Running number of a note and its ``ornaments`` elements, in the order of the document.
    keys : sequence of (int, Key)
        Sounding keys and when they begin, in order of time.
    log : Log
        Counts signs that are left out.

    Returns
    -------
    dict of int to Ornament
        By running number of the note.

    Raises
    ------
    Nothing.
    """
    if not signs:
        return {}
    bars = _Bars(
        notes, [note.measure for note in notes], [o for o, _ in keys], [k for _, k in keys]
    )
    found: dict[int, Ornament] = {}
    waves: dict[tuple[str, str], int] = {}
    trembling: dict[str, int] = {}
    for number, elements in signs:
        note = notes[number]
        for sign, marks in _in_order(elements):
            tag = str(sign.tag)
            if tag in _SIGNS:
                kind, sides = _SIGNS[tag]
                found.setdefault(
                    number, Ornament(kind, _neighbours(bars, note, sides, sign, marks))
                )
            elif tag == "wavy-line":
                _wave(bars, found, waves, note, sign)
            elif tag == "tremolo":
                _tremolo(bars, found, trembling, note, sign)
            elif tag in _UNREAD:
                count(log, "ornament", note.measure)
    return found


def _in_order(elements: Sequence[Element]) -> Iterator[tuple[Element, list[Element]]]:
    """Yield each sign with the accidental marks that follow it."""
    for ornaments in elements:
        children = list(ornaments)
        for place, child in enumerate(children):
            marks = []
            for after in children[place + 1 :]:
                if after.tag != "accidental-mark":
                    break
                marks.append(after)
            if child.tag != "accidental-mark":
                yield child, marks


def _neighbours(
    bars: _Bars, note: RawNote, sides: Sequence[int], sign: Element, marks: Sequence[Element]
) -> tuple[Pitch, ...]:
    return tuple(
        _neighbour(bars, note, side, sign, _accidental(marks, side, sides)) for side in sides
    )


def _accidental(marks: Sequence[Element], side: int, sides: Sequence[int]) -> int | None:
    """Return what an accidental mark does to a neighbour; below the sign means the lower one."""
    for mark in marks:
        meant = _LOWER if mark.get("placement") == "below" else _UPPER
        if len(sides) == 1 or meant == side:
            return _ALTERS.get(text_of(mark))
    return None


def _neighbour(
    bars: _Bars, note: RawNote, side: int, sign: Element, accidental: int | None
) -> Pitch:
    letters = note.pitch.letter + side
    step, octave = _LETTERS[letters % 7], letters // 7
    if accidental is None and (width := _STEPS.get(sign.get("trill-step", ""))) is not None:
        stated = note.pitch.midi + side * width - Pitch(step, 0, octave).midi
        accidental = stated if abs(stated) <= 2 else None
    if accidental is None:
        accidental = _in_the_bar(bars, note, step, octave)
    if accidental is None:
        place = bisect_right(bars.key_onsets, note.moment[0]) - 1
        key = bars.keys[place] if place >= 0 else C_MAJOR
        accidental = key.alters[letters % 7]
    return Pitch(step, accidental, octave)


def _in_the_bar(bars: _Bars, note: RawNote, step: str, octave: int) -> int | None:
    """Return what the last note of that letter and octave earlier in the bar bears."""
    begin = bisect_right(bars.firsts, note.measure - 1)
    end = bisect_right(bars.firsts, note.measure)
    before = [
        other
        for other in bars.notes[begin:end]
        if other.pitch.step == step and other.pitch.octave == octave and other.moment < note.moment
    ]
    return max(before, key=lambda other: other.moment).pitch.alter if before else None


def _wave(
    bars: _Bars,
    found: dict[int, Ornament],
    waves: dict[tuple[str, str], int],
    note: RawNote,
    sign: Element,
) -> None:
    """Make the notes under a wavy line trill."""
    line = (note.voice, sign.get("number", "1"))
    if sign.get("type") == "start":
        waves[line] = note.number
        first = note.number
    elif sign.get("type") == "stop" and line in waves:
        first = waves.pop(line)
    else:
        return
    for number in range(first, note.number + 1):
        other = bars.notes[number]
        if other.voice == note.voice and number not in found and other.moment <= note.moment:
            trill = _neighbours(bars, other, (_UPPER,), sign, ())
            found[number] = Ornament(OrnamentKind.TRILL, trill)


def _tremolo(
    bars: _Bars, found: dict[int, Ornament], trembling: dict[str, int], note: RawNote, sign: Element
) -> None:
    """Give each note of a two-note tremolo the pitches of the other chord."""
    if sign.get("type") == "start":
        trembling[note.voice] = note.number
    elif sign.get("type") == "stop" and note.voice in trembling:
        first = _chord(bars, trembling.pop(note.voice))
        second = _chord(bars, note.number)
        for chord, others in ((first, second), (second, first)):
            pitches = sorted({other.pitch for other in others}, key=lambda pitch: pitch.midi)
            for one in chord:
                found[one.number] = Ornament(OrnamentKind.TREMOLO, tuple(pitches))


def _chord(bars: _Bars, number: int) -> list[RawNote]:
    """Return the notes of a note's chord, which follow and precede it in the document."""
    note = bars.notes[number]
    near = bars.notes[max(0, number - _WIDEST) : number + _WIDEST]
    return [one for one in near if one.moment == note.moment and one.voice == note.voice]


_WIDEST = 8
"""Notes before and after a note among which its chord is looked for."""
