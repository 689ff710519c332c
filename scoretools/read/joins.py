"""Where the music does not go on to the next bar printed: repeats, endings, da capo, dal segno.

Conventions
-----------
* Notes stand as written, nothing is played twice; a `Join` tells from the end of which bar to the
  beginning of which other bar the hand must also go.
* A repeat without a beginning goes back to the end of the section repeated before, else to the
  beginning of the movement. Endings after the first are reached from the bar before the first.
* *Da capo* goes to the beginning of the movement, *dal segno* to the last sign before it, else to
  the beginning of the movement. The way to the coda counts where something goes back behind it.
* Repeats and endings are those of the part itself; jumps may be printed over any part.
"""

import re
from collections.abc import Iterable, Sequence
from typing import NamedTuple

from scoretools.model import Join, Measure
from scoretools.read.document import Element, text_of

__all__ = ["BarSign", "Jump", "bar_signs", "joins_of", "jumps_of"]


class BarSign(NamedTuple):
    """A repeat or ending at a bar line."""

    measure: int
    """Index of the measure."""
    kind: str
    """``forward``, ``backward``, ``ending`` (its beginning) or ``ended``."""


class Jump(NamedTuple):
    """A sign or word about going elsewhere."""

    measure: int
    """Index of the measure."""
    kind: str
    """``da capo``, ``dal segno``, ``segno``, ``to coda``, ``coda`` or ``coda sign``."""


_SOUNDS = {
    "dacapo": "da capo",
    "dalsegno": "dal segno",
    "segno": "segno",
    "tocoda": "to coda",
    "coda": "coda",
}
"""Attributes of ``sound`` and what they say."""

_SIGNS = {"segno": "segno", "coda": "coda sign"}
_WORDS = (
    (re.compile(r"\bd\. ?c\b|\bda capo\b", re.IGNORECASE), "da capo"),
    (re.compile(r"\bd\. ?s\b|\bdal segno\b", re.IGNORECASE), "dal segno"),
    (re.compile(r"(?:to|da|alla) coda\b", re.IGNORECASE), "to coda"),
    (re.compile(r"coda\.?$", re.IGNORECASE), "coda"),
    (re.compile(r"\[segno\]$", re.IGNORECASE), "segno"),
)
"""Words and what they say; the last three must begin the text."""


def jumps_of(element: Element, measure: int) -> list[Jump]:
    """Return what an element says about going elsewhere.

    Parameters
    ----------
    element : Element
        A ``sound``, ``segno``, ``coda`` or ``words``.
    measure : int
        Index of its measure.

    Returns
    -------
    list of Jump
        Most often empty.

    Raises
    ------
    Nothing.
    """
    if element.tag == "sound":
        return [
            Jump(measure, kind)
            for name, kind in _SOUNDS.items()
            if element.get(name, "no") not in ("no", "")
        ]
    if element.tag in _SIGNS:
        return [Jump(measure, _SIGNS[str(element.tag)])]
    text = text_of(element)
    for place, (pattern, kind) in enumerate(_WORDS):
        if pattern.search(text) if place < 2 else pattern.match(text):
            return [Jump(measure, kind)]
    return []


def bar_signs(barline: Element, measure: int) -> list[BarSign]:
    """Return the repeats and endings at a bar line.

    Parameters
    ----------
    barline : Element
        The bar line.
    measure : int
        Index of its measure.

    Returns
    -------
    list of BarSign
        Most often empty.

    Raises
    ------
    Nothing.
    """
    signs = []
    for child in barline.iterchildren("repeat", "ending"):
        if child.tag == "repeat":
            if (direction := child.get("direction")) in ("forward", "backward"):
                signs.append(BarSign(measure, direction))
        else:
            signs.append(BarSign(measure, "ending" if child.get("type") == "start" else "ended"))
    return signs


def joins_of(
    signs: Sequence[BarSign], jumps: Iterable[Jump], measures: Sequence[Measure]
) -> tuple[Join, ...]:
    """Return the joins of a part.

    Parameters
    ----------
    signs : sequence of BarSign
        Repeats and endings of the part in the order of the document.
    jumps : iterable of Jump
        Jumps of the score.
    measures : sequence of Measure
        The part's bars.

    Returns
    -------
    tuple of Join
        In the order of the bars they leave.

    Raises
    ------
    Nothing.
    """
    heads = _heads(measures)
    joins = [*_repeats(signs, heads), *_jumped(jumps, heads)]
    joins = [join for join in dict.fromkeys(joins) if join.from_measure + 1 != join.to_measure]
    return tuple(sorted(joins, key=lambda join: (join.from_measure, join.to_measure)))


def _heads(measures: Sequence[Measure]) -> list[int]:
    """Return for each bar the bar that opens its movement."""
    heads: list[int] = []
    for bar in measures:
        same = bar.index and measures[bar.index - 1].movement == bar.movement
        heads.append(heads[-1] if same else bar.index)
    return heads


def _repeats(signs: Sequence[BarSign], heads: Sequence[int]) -> list[Join]:
    joins: list[Join] = []
    begin = 0
    first_ending: int | None = None
    last_ended = 0
    for sign in signs:
        # Endings that follow each other belong together.
        apart = sign.kind == "ending" and sign.measure > last_ended + 1
        if first_ending is not None and (sign.kind == "forward" or apart):
            begin, first_ending = last_ended + 1, None
        begin = max(begin, heads[sign.measure])
        if sign.kind == "forward":
            begin = sign.measure
        elif sign.kind == "ending":
            last_ended = sign.measure
            if first_ending is None:
                first_ending = sign.measure
            elif first_ending > begin:
                joins.append(Join(first_ending - 1, sign.measure, "ending"))
        elif sign.kind == "ended":
            last_ended = sign.measure
        else:
            if first_ending is not None and sign.measure > last_ended:
                begin, first_ending = last_ended + 1, None
            joins.append(Join(sign.measure, begin, "repeat"))
            if first_ending is None:
                begin = sign.measure + 1
    return joins


def _jumped(jumps: Iterable[Jump], heads: Sequence[int]) -> list[Join]:
    places: dict[str, list[int]] = {}
    for measure, kind in sorted(set(jumps)):
        if measure < len(heads):
            places.setdefault(kind, []).append(measure)
    joins: list[Join] = []
    backs = [(bar, "da capo") for bar in places.get("da capo", [])]
    backs += [(bar, "dal segno") for bar in places.get("dal segno", [])]
    for bar, kind in backs:
        to = heads[bar]
        if kind == "dal segno":
            to = max([to, *(segno for segno in places.get("segno", []) if segno <= bar)])
        joins.append(Join(bar, to, kind))
    signs = places.get("coda sign", [])
    aims = places.get("coda") or signs[1:]
    for bar in places.get("to coda") or signs[: len(signs) // 2]:
        aim = next((coda for coda in aims if coda > bar), None)
        if aim is not None and any(back >= bar for back, _ in backs):
            joins.append(Join(bar, aim, "to coda"))
    return joins
