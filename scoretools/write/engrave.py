"""MusicXML engraved as SVG, system by system, by verovio.

Conventions: bars are counted from 0 in the order of the file, as in `Analysis.part.measures`, and
have the id ``bar-0``, ``bar-1`` … in the pictures. Music is drawn in ``currentColor``. Signs of the
music font inside words (the note of a metronome mark) stay letters of the font `MUSIC_FONT`, which
`music_font` gives.
"""

import re
from base64 import b64decode
from collections.abc import Callable, Iterator, Sequence
from functools import cache, lru_cache
from importlib.resources import files
from xml.etree import ElementTree

import verovio

from scoretools.errors import WriteError
from scoretools.read.document import as_text, document
from scoretools.write.engraved_words import (
    end_of_words,
    ending_at_their_notes,
    inside,
    padded,
    set_apart,
    too_far_right,
    unpadded,
)
from scoretools.write.engraver_accidentals import print_accidentals
from scoretools.write.engraver_beams import end_beams, type_grace_notes
from scoretools.write.engraver_copy import (
    end_slurs,
    gather_fingers_of_seconds,
    join_notations,
    name_strings,
    number_open_strings,
    take_over_tempi,
)

__all__ = ["MUSIC_FONT", "drawn_width_mm", "engraved", "linked", "music_font", "single_part"]

MUSIC_FONT = "Leipzig"
"""Family of the music font; licence: SIL Open Font License 1.1."""

_SVG = "http://www.w3.org/2000/svg"
_XLINK = "http://www.w3.org/1999/xlink"

_IN_FORCE = ("divisions", "key", "time", "staves", "clef", "staff-details", "transpose")
"""Children of ``attributes`` that hold until the next one, in the order the schema has them."""


# ── one part ────────────────────────────────────────────────────────────────────────────────────


def single_part(score: bytes, part_id: str, measures: int, strings: Sequence[str] = ()) -> str:
    """Take one part out of a score, without titles.

    Parameters
    ----------
    score
        A MusicXML document, unpacked.
    part_id
        The part's ``id``.
    measures
        How many bars the part has.
    strings
        Words for each string, the highest first, such as ``sul A``: they are put over notes that
        are marked with a string, which the engraver does not draw.

    Returns
    -------
    str
        A part-wise document of that part alone, its bars with the ids of this module, changed for
        the engraver and the reader as `scoretools.write.engraver_copy` tells.

    Raises
    ------
    WriteError
        If the score has no such part, or one of another length.
    ReadError
        If the document is no MusicXML.
    """
    root = ElementTree.fromstring(as_text(document("the marked score", score)))
    part = next((part for part in root.iterfind("part") if part.get("id") == part_id), None)
    if part is None or len(part.findall("measure")) != measures:
        raise WriteError(f"the score has no part {part_id!r} of {measures} bars; analyse it again")
    alone = ElementTree.Element("score-partwise", {"version": "4.0"})
    names = ElementTree.SubElement(alone, "part-list")
    ElementTree.SubElement(
        ElementTree.SubElement(names, "score-part", {"id": part_id}), "part-name"
    )
    for index, measure in enumerate(part.iterfind("measure")):
        measure.set("id", f"bar-{index}")
        join_notations(measure)
        number_open_strings(measure)
        gather_fingers_of_seconds(measure)
        end_beams(measure)
        type_grace_notes(measure)
        name_strings(measure, strings)
    end_slurs(part)
    print_accidentals(part)
    take_over_tempi(root, part)
    alone.append(part)
    return ElementTree.tostring(alone, encoding="unicode")


def _excerpt(text: str, first: int, last: int) -> str:
    """Keep some bars of a part, with clef, key and time before the first."""
    root = _parsed(text)
    measures = root.findall("part/measure")
    if not 0 <= first <= last < len(measures):
        raise WriteError(
            f"there are no bars {first} to {last} among {len(measures)}; analyse the score again"
        )
    in_force: dict[tuple[str, str], ElementTree.Element] = {}
    for measure in measures[:first]:
        for child in measure.iterfind("attributes/*"):
            if child.tag in _IN_FORCE:
                in_force[child.tag, child.get("number", "")] = child
    alone = ElementTree.Element(root.tag, root.attrib)
    alone.extend(child for child in root if child.tag != "part")
    part = ElementTree.SubElement(alone, "part", {"id": _part_id(root)})
    part.extend(measures[first : last + 1])
    before = ElementTree.Element("attributes")
    before.extend(sorted(in_force.values(), key=_place))
    opening = ElementTree.Element("measure", measures[first].attrib)
    opening.extend((before, *measures[first]))
    part[0] = opening
    return ElementTree.tostring(alone, encoding="unicode")


def _part_id(root: ElementTree.Element) -> str:
    part = root.find("part")
    return "" if part is None else part.get("id", "")


@lru_cache(maxsize=1)
def _parsed(text: str) -> ElementTree.Element:
    """Parse a part once for all excerpts from it; the tree is only read."""
    return ElementTree.fromstring(text)


def _place(attribute: ElementTree.Element) -> int:
    return _IN_FORCE.index(attribute.tag)


# ── engraving ───────────────────────────────────────────────────────────────────────────────────

_STAFF_MM = 7.2
"""Height of a staff as the engraver draws it; other heights are that drawing enlarged."""

_TENTHS = 10.0
"""Units of the engraver in a millimetre, at that height."""


def engraved(
    text: str,
    width_mm: float,
    staff_mm: float = 7.0,
    bars: tuple[int, int] | None = None,
    prefix: str = "",
) -> tuple[str, ...]:
    """Engrave a document of one part.

    Parameters
    ----------
    text
        MusicXML, part-wise.
    width_mm
        Width of a system, mm.
    staff_mm
        Height of a staff, mm.
    bars
        First and last bar of an excerpt; none for the whole.
    prefix
        Put before every id, so that several pictures can stand in one page.

    Returns
    -------
    tuple of str
        Systems, an SVG each, as wide as asked and as high as needed, in mm.

    Raises
    ------
    WriteError
        If the document cannot be engraved.
    """
    excerpt = _excerpt(text, *bars) if bars is not None else text
    toolkit = _toolkit()
    enlarged = staff_mm / _STAFF_MM
    toolkit.setOptions(
        {
            "pageWidth": round(width_mm / enlarged * _TENTHS),
            "pageHeight": 60000,
            "adjustPageHeight": True,
            "pageMarginLeft": _NUMBER_ROOM,
            "pageMarginRight": 0,
            "pageMarginTop": 10,
            "pageMarginBottom": 10,
            "systemMaxPerPage": 1,
            "unit": _STAFF_MM * _TENTHS / 8,
            "scale": 100,
            "breaks": "auto",
            "header": "none",
            "footer": "none",
            "smuflTextFont": "none",
            "svgViewBox": True,
            "svgFormatRaw": True,
            "xmlIdSeed": 1,
            "fingeringScale": 0.9,
            "minLastJustification": 0.6 if bars is None else 0.8,
        }
    )
    spaced = padded(excerpt)
    pages = _pages(toolkit, spaced)
    if late := {found for svg in pages for found in too_far_right(svg, _right_edge(svg))}:
        pages = _pages(toolkit, ending_at_their_notes(spaced, late))
    if not any('class="measure"' in svg for svg in pages):
        raise WriteError("the engraver finds no bar in it")
    return tuple(_tidied(svg, prefix, enlarged) for svg in pages)


def _pages(toolkit: verovio.toolkit, text: str) -> list[str]:
    if not toolkit.loadData(text):
        raise WriteError(f"the engraver cannot read it ({_last_words(toolkit)})")
    return [unpadded(toolkit.renderToSVG(page)) for page in range(1, toolkit.getPageCount() + 1)]


@cache
def _toolkit() -> verovio.toolkit:
    verovio.enableLog(verovio.LOG_OFF)
    return verovio.toolkit()


def _last_words(toolkit: verovio.toolkit) -> str:
    lines = [line for line in toolkit.getLog().splitlines() if line.strip()]
    return lines[-1].strip() if lines else "without a reason"


_NUMBER_ROOM = 25
"""Room to the left for the bar's number, tenths of a mm."""

_HEAD = re.compile(r'<svg viewBox="0 0 (\d+) (\d+)"')
_STYLED = re.compile(r"#[\w-]+ (?=g\.|ellipse|path|polygon|polyline|rect)")
_ID = re.compile(r' id="([^"]*)"')
_USED = re.compile(r'(href="#)')


def _tidied(svg: str, prefix: str, enlarged: float) -> str:
    """Give a picture its size in mm; keep the ids of bars and signs alone, prefixed."""

    def kept(found: re.Match[str]) -> str:
        name = found[1]
        return f' id="{prefix}{name}"' if name.startswith("bar-") or name in used else ""

    used = set(re.findall(r'href="#([^"]*)"', svg))
    svg = _ID.sub(kept, svg)
    if prefix:
        svg = _USED.sub(rf"\g<1>{prefix}", svg)
    svg = _STYLED.sub(".music ", svg)
    svg = set_apart(inside(svg, _right_edge(svg)))
    return _HEAD.sub(lambda found: _sized(found, enlarged), svg, count=1)


def _right_edge(svg: str) -> float:
    """Return where a system ends on the right, in the units it is drawn in.

    Raises
    ------
    WriteError
        If it has no whole number for a height: the engraver has lost all measure.
    """
    head = _HEAD.match(svg)
    if head is None:
        raise WriteError("the engraver draws something out of all measure")
    return float((int(head[1]) - _NUMBER_ROOM) * _TENTHS)


def _sized(found: re.Match[str], enlarged: float) -> str:
    width, height = (int(size) / _TENTHS * enlarged for size in found.groups())
    size = f'width="{width:.2f}mm" height="{height:.2f}mm"'
    return f'<svg class="music" {size} viewBox="0 0 {found[1]} {found[2]}"'


_LINE = re.compile(r'<path d="M-?[\d.]+ [\d.]+ L([\d.]+) ')
_SIZE = re.compile(r'<svg class="music" width="([\d.]+)mm"[^>]*?viewBox="0 0 (\d+) ')


def drawn_width_mm(svg: str) -> float:
    """Measure how far to the right a system goes, its words included.

    Parameters
    ----------
    svg
        A system, from `engraved`.

    Returns
    -------
    float
        Millimetres from the left edge of the picture; 0 where there is no staff.
    """
    size = _SIZE.match(svg)
    ends = [float(line[1]) for line in _LINE.finditer(svg)]
    if size is None or not ends:
        return 0.0
    return (max(*ends, end_of_words(svg)) / _TENTHS + _NUMBER_ROOM) * float(size[1]) / int(size[2])


@cache
def music_font() -> bytes:
    """Give the music font that signs inside words are set in, as WOFF2."""
    css = files(verovio).joinpath("data", f"{MUSIC_FONT}.css").read_text("utf-8")
    found = re.search(r"base64,([A-Za-z0-9+/=]+)", css)
    if found is None:
        raise WriteError("the engraver's music font is missing; install verovio again")
    return b64decode(found[1])


# ── links ───────────────────────────────────────────────────────────────────────────────────────


def linked(svg: str, target: Callable[[int], str], name: Callable[[int], str]) -> str:
    """Make the bars of a system links that can be clicked anywhere, and reached by the keyboard.

    Parameters
    ----------
    svg
        A system, from `engraved` without a prefix.
    target
        Where the bar of an index leads.
    name
        What the link is called, for a screen reader.
    """
    ElementTree.register_namespace("", _SVG)
    ElementTree.register_namespace("xlink", _XLINK)
    root = ElementTree.fromstring(svg)
    for parent in list(root.iter()):
        for place, child in enumerate(list(parent)):
            bar = re.fullmatch(r"bar-(\d+)", child.get("id", ""))
            if bar:
                index = int(bar[1])
                link = ElementTree.Element(
                    f"{{{_SVG}}}a", {"href": target(index), "class": "bar-link"}
                )
                title = ElementTree.SubElement(link, f"{{{_SVG}}}title")
                title.text = name(index)
                child.set("aria-hidden", "true")
                link.extend([*_surface(child), child])
                parent[place] = link
    return ElementTree.tostring(root, encoding="unicode")


def _surface(measure: ElementTree.Element) -> Iterator[ElementTree.Element]:
    """A transparent rectangle over the staves of a bar, so that all of it can be clicked."""
    ends: list[tuple[float, float]] = []
    for staff in measure.iter(f"{{{_SVG}}}g"):
        if staff.get("class") == "staff":
            for line in staff.iterfind(f"{{{_SVG}}}path"):
                numbers = [float(n) for n in re.findall(r"-?\d+(?:\.\d+)?", line.get("d", ""))]
                ends += [(numbers[0], numbers[1]), (numbers[2], numbers[3])]
    if ends:
        left, right = min(x for x, _ in ends), max(x for x, _ in ends)
        top, bottom = min(y for _, y in ends), max(y for _, y in ends)
        room = (bottom - top) / 2
        yield ElementTree.Element(
            f"{{{_SVG}}}rect",
            {
                "class": "bar-surface",
                "x": f"{left:g}",
                "y": f"{top - room:g}",
                "width": f"{right - left:g}",
                "height": f"{bottom - top + 2 * room:g}",
                "fill": "none",
                "pointer-events": "all",
            },
        )
