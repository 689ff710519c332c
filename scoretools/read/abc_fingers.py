"""Fingers printed in ABC notation, carried through a conversion that knows none.

Conventions
-----------
* A finger is a decoration ``!0!`` to ``!4!`` or ``+0+`` to ``+4+`` (Source: the ABC music standard
  2.1, "Decorations"), or a text of one digit over or under the note, ``"1"`` or ``"^1"``, as
  transcribers write it (common practice, no published source). ``"04"`` and ``"0""4"`` offer both.
* A finger before grace notes is for the first of them (the standard puts a note's own signs behind
  its grace notes).
* On its way the finger is written as a chord symbol whose root has three sharps or flats, as in no
  music, and is read again from there; other chord symbols are left as they are. Where both stand
  over a note, the chord symbol is given up.
* A finger over a chord is told and left out, since nothing says which note it is for.
"""

import re
from itertools import takewhile

from scoretools.read.document import Element

__all__ = ["fingers_as_symbols", "symbols_as_fingers"]

_ROOTS = "CDEFGAB"
_FINGERS = ("0", "1", "2", "3", "4", "04", "40")
"""What may be printed; the root of the same place stands for it."""

_ON_NOTE, _ON_GRACE = "###", "---"
_ALTERS = ("3", "-3")
"""What these signs are in MusicXML."""

_PRINTED = re.compile(
    r"""(?:"[\^_<]?\s*(?P<text>04|40|[0-4])\s*"|!(?P<sign>[0-4])!|\+(?P<old>[0-4])\+)
        (?P<between>(?:"[^"]*"|![^!\n]*!|\{[^}\n]*\}|\(\d(?::\d*)*|[uvTHLMOPSk.~(\ \\])*)
        (?=[_^=]*[A-Ga-g]|\[(?!\d|"))""",
    re.X,
)
_TWO = re.compile(r'"\s*(?:(4)\s*"\s*"\s*(0)|(0)\s*"\s*"\s*(4))\s*"')
"""Both fingers over one note, each in a text of its own."""

_FIELD = re.compile(r"^(?:[A-Za-z]:|%)")
_BESIDE = re.compile(r'"[<>@][^"\n]*"')
"""A text beside a note; for one that begins with ``>`` the converter would drop the note."""

_CHORD_BEFORE_FINGER = re.compile(r'"[A-G][^"\n]*"(?=\s*"[A-G](?:###|---)")')
_CHORD_SYMBOL = re.compile(r'"[A-G][^"]*"')


def fingers_as_symbols(text: str) -> str:
    """Write printed fingers as chord symbols, each right before its note.

    Parameters
    ----------
    text : str
        A tune in ABC notation.

    Returns
    -------
    str
        The same tune; lines of fields and comments are unchanged.

    Raises
    ------
    Nothing.
    """
    lines = text.split("\n")
    return "\n".join(line if _FIELD.match(line) else _marked(line) for line in lines)


def _marked(line: str) -> str:
    line = _PRINTED.sub(_symbol_before_note, _TWO.sub(_both, line))
    return _BESIDE.sub("", _CHORD_BEFORE_FINGER.sub("", line))


def _both(found: re.Match[str]) -> str:
    return f'"{"".join(filter(None, found.groups()))}"'


def _symbol_before_note(found: re.Match[str]) -> str:
    finger = found["text"] or found["sign"] or found["old"]
    root = _ROOTS[_FINGERS.index(finger)]
    between = _CHORD_SYMBOL.sub("", found["between"])
    sign = _ON_GRACE if "{" in between else _ON_NOTE
    return f'{between}"{root}{sign}"'


def symbols_as_fingers(root: Element) -> int:
    """Write the symbols of `fingers_as_symbols` as fingers of the notes they stand before.

    Parameters
    ----------
    root : Element
        A ``score-partwise`` element, changed in place.

    Returns
    -------
    int
        Fingers left out because they stand over a chord.

    Raises
    ------
    Nothing.
    """
    lost = 0
    for symbol in list(root.iter("harmony")):
        alter = symbol.findtext("root/root-alter")
        if alter in _ALTERS:
            finger = _FINGERS[_ROOTS.index(symbol.findtext("root/root-step") or "C")]
            graced = _first_grace(symbol) if alter == _ALTERS[1] else None
            lost += not _print_finger(symbol, finger, graced)
            parent = symbol.getparent()
            if parent is not None:
                parent.remove(symbol)
    return lost


def _first_grace(symbol: Element) -> Element | None:
    """The first of the grace notes before the next note that is none."""
    measure = symbol.getparent()
    notes = [] if measure is None else measure.findall("note")
    after = next((one for one in symbol.itersiblings("note") if one.find("grace") is None), None)
    before = notes[: notes.index(after)] if after is not None else []
    graces = list(takewhile(lambda one: one.find("grace") is not None, reversed(before)))
    return graces[-1] if graces else None


def _print_finger(symbol: Element, finger: str, graced: Element | None) -> bool:
    """Print a finger on a grace note, else on the next note; return whether it is a single one."""
    notes = (one for one in symbol.itersiblings("note") if one.find("grace") is None)
    note = next(notes, None) if graced is None else graced
    if note is None or note.find("pitch") is None:
        return False
    after = note.getnext()
    if after is not None and after.tag == "note" and after.find("chord") is not None:
        return False
    for place, digit in enumerate(finger):
        printed = _inside(_inside(note, "notations"), "technical")
        sign = printed.makeelement("fingering", {"alternate": "yes"} if place else {})
        sign.text = digit
        printed.append(sign)
    return True


def _inside(parent: Element, tag: str) -> Element:
    found = parent.find(tag)
    if found is None:
        found = parent.makeelement(tag, {})
        parent.append(found)
    return found
