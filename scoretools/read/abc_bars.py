"""Bars of a converted tune, numbered as musicians count them.

Convention: where a strain ends short and the next one begins with a pickup that completes it, the
two are one bar (common practice). The converter fills both up with invisible rests and numbers them
apart, so that the time would be too long and every bar of the second strain one too high.
"""

from collections.abc import Sequence
from fractions import Fraction

from scoretools.read.document import Element
from scoretools.read.timing import bar_lengths

__all__ = ["count_divided_bars_once"]


def count_divided_bars_once(root: Element) -> None:
    """Take the invisible rests out of divided bars, do not count their second halves, number on.

    Parameters
    ----------
    root : Element
        A ``score-partwise`` element whose bars are numbered in a row, changed in place.

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
        whole, halves = Fraction(4), 0
        for index, measure in enumerate(measures):
            whole = _whole_of(measure) or whole
            if index and 0 < lengths[index] == whole - lengths[index - 1]:
                halves += 1
                _empty(measures[index - 1])
                _empty(measure)
                measure.set("implicit", "yes")
                measure.set("number", f"X{halves}")
            else:
                number = int(measure.get("number") or index)
                measure.set("number", str(number - halves))


def _lengths(part: Element, measures: Sequence[Element]) -> list[Fraction]:
    """Quarter lengths of the bars without what fills them up."""
    divisions = Fraction(part.findtext("measure/attributes/divisions") or 1)
    fillings = [_filling(measure) for measure in measures]
    filled = [Fraction(0 if rest is None else rest.findtext("duration") or 0) for rest in fillings]
    return [
        length - rest / divisions for length, rest in zip(bar_lengths(part), filled, strict=True)
    ]


def _empty(measure: Element) -> None:
    rest = _filling(measure)
    if rest is not None:
        measure.remove(rest)


def _filling(measure: Element) -> Element | None:
    """Invisible rest at the end of a measure, if there is one."""
    last = next(iter(reversed(measure.findall("note"))), None)
    hidden = last is not None and last.get("print-object") == "no"
    return last if last is not None and hidden and last.find("rest") is not None else None


def _whole_of(measure: Element) -> Fraction | None:
    """Length of a bar in the time signature that a measure sets; none where it sets none."""
    beats = measure.findtext("attributes/time/beats") or ""
    unit = measure.findtext("attributes/time/beat-type") or ""
    if not (beats.isdecimal() and unit.isdecimal() and int(unit)):
        return None
    return Fraction(4 * int(beats), int(unit))
