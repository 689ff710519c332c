"""Bars of a converted tune, numbered as musicians count them.

Convention: where a strain ends short and the next one begins with a pickup that completes it, the
two are one bar (common practice). The converter fills both up with invisible rests and numbers them
apart, so that the time would be too long and every bar of the second strain one too high. It also
calls a full first bar 0, and makes a bar of its own of what a bar holds beyond its time.
"""

from collections.abc import Sequence
from fractions import Fraction
from itertools import takewhile

from scoretools.read.document import Element
from scoretools.read.timing import bar_lengths

__all__ = ["join_overfull_bars", "number_bars"]


def join_overfull_bars(root: Element) -> list[Element]:
    """Put what was cut off from overfull bars back where it stood.

    Parameters
    ----------
    root : Element
        A ``score-partwise`` element made of a tune that keeps its time signature, changed in place.

    Returns
    -------
    list of Element
        The measures that are overfull.

    Raises
    ------
    Nothing.
    """
    overfull: list[Element] = []
    for part in root.iterchildren("part"):
        first, *others = part.iterchildren("measure")
        whole, before = _whole_of(first), first
        for measure in others:
            cut_off = _whole_of(measure) not in (None, whole)
            for attributes in measure.iterchildren("attributes"):
                for time in attributes.findall("time"):
                    attributes.remove(time)
            if cut_off:
                before.extend(measure)
                part.remove(measure)
                overfull.append(before)
            else:
                before = measure
    return overfull


def number_bars(root: Element) -> None:
    """Number the bars in a row, from 1 or an upbeat 0; a divided one counts once.

    What fills divided bars up is taken out.

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
        measures = list(part.iterchildren("measure"))
        lengths = _lengths(part, measures)
        whole, halves, number = Fraction(4), 0, 0
        for index, measure in enumerate(measures):
            whole = _whole_of(measure) or whole
            if index and 0 < lengths[index] == whole - lengths[index - 1]:
                halves += 1
                _empty(measures[index - 1])
                _empty(measure)
                measure.set("implicit", "yes")
                measure.set("number", f"X{halves}")
            else:
                number += index > 0 or lengths[index] >= whole
                measure.set("number", str(number))


def _lengths(part: Element, measures: Sequence[Element]) -> list[Fraction]:
    """Quarter lengths of the bars without what fills them up."""
    divisions = Fraction(part.findtext("measure/attributes/divisions") or 1)
    filled = [
        sum(Fraction(rest.findtext("duration") or 0) for rest in _filling(measure))
        for measure in measures
    ]
    return [
        length - rest / divisions for length, rest in zip(bar_lengths(part), filled, strict=True)
    ]


def _empty(measure: Element) -> None:
    for rest in _filling(measure):
        measure.remove(rest)


def _filling(measure: Element) -> list[Element]:
    """Invisible rests at the end of a measure."""
    backwards = reversed(measure.findall("note"))
    return list(takewhile(_is_hidden_rest, backwards))


def _is_hidden_rest(note: Element) -> bool:
    return note.get("print-object") == "no" and note.find("rest") is not None


def _whole_of(measure: Element) -> Fraction | None:
    """Length of a bar in the time signature that a measure sets; none where it sets none."""
    beats = measure.findtext("attributes/time/beats") or ""
    unit = measure.findtext("attributes/time/beat-type") or ""
    if not (beats.isdecimal() and unit.isdecimal() and int(unit)):
        return None
    return Fraction(4 * int(beats), int(unit))
