"""Words over engraved music, kept apart from their neighbours and inside the page.

Conventions
-----------
* The engraver measures words in another font than they are set in; padding behind them makes up for
  that.
* The engraver moves words up from one neighbour at a time, and so into another; what still
  overlaps above the staff is moved up again, and the picture made higher where it must be.
* Short words that would run over the right edge end at their note; longer ones move to the left.
"""

import re
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from xml.etree import ElementTree
from xml.sax.saxutils import unescape

__all__ = [
    "end_of_words",
    "ending_at_their_notes",
    "inside",
    "padded",
    "set_apart",
    "too_far_right",
    "unpadded",
]

_LETTER_EM = 0.45
"""Width of an average letter, as a share of its size."""

_PADDING = "\N{NO-BREAK SPACE}" * 2
"""Put behind words, so that the engraver keeps them apart from what stands beside them."""

_WORDS_END = re.compile(r"(?<=\S)</words>")

_MOVABLE = 18
"""Letters up to which words at the right edge end at their note, and do not begin there."""

_WORDS = re.compile(
    r'(<g class="(?:dir|tempo)"><text x=")(\d+)("[^>]*><tspan class="text"><tspan[^>]*'
    r'font-size="(\d+)px"[^>]*>)([^<]*)'
)
_ENDING = re.compile(r'(<g class="(?:dir|tempo)"><text x=")(\d+)(" y="\d+" text-anchor="end")')
_OVER_THE_NOTE = 300
"""By how much words that end at a note reach over it."""

_BAR_OR_WORDS = re.compile(
    r'<g id="(?P<bar>[^"]*)" class="measure">|'
    r'<g id="[^"]*" class="(?:dir|tempo)"><text x="(?P<x>\d+)"[^>]*>(?:<tspan[^>]*>)*?'
    r'<tspan[^>]*font-size="(?P<size>\d+)px"[^>]*>(?P<words>[^<]*)'
)


def padded(text: str) -> str:
    """Put padding behind all words of a MusicXML document."""
    return _WORDS_END.sub(_PADDING + r"\g<0>", text)


def unpadded(svg: str) -> str:
    """Take the padding out of a picture."""
    return svg.replace(_PADDING, "")


def too_far_right(svg: str, edge: float) -> Iterator[tuple[str, str]]:
    """Yield the id of the bar and the words, where short words run over the right edge.

    Parameters
    ----------
    svg
        A system, as the engraver gives it.
    edge
        Where the right edge is, in the units the words are placed in.
    """
    bar = ""
    for found in _BAR_OR_WORDS.finditer(svg):
        if found["bar"]:
            bar = found["bar"]
            continue
        words = unescape(found["words"])
        width = len(words) * _LETTER_EM * int(found["size"])
        x = int(found["x"])
        if bar and len(words) <= _MOVABLE and x + width > edge and x > width:
            yield bar, words


def ending_at_their_notes(text: str, late: Collection[tuple[str, str]]) -> str:
    """Let some words of some bars end where they would begin.

    Parameters
    ----------
    text
        MusicXML, as `padded` gives it.
    late
        What `too_far_right` found.
    """
    root = ElementTree.fromstring(text)
    for measure in root.iterfind("part/measure"):
        for words in measure.iterfind("direction/direction-type/words"):
            said = (words.text or "").strip().strip(_PADDING)
            if (measure.get("id", ""), said) in late:
                words.set("halign", "right")
    return ElementTree.tostring(root, encoding="unicode")


def inside(svg: str, edge: float) -> str:
    """Move words to the left that would run over the right edge, and short ones over their notes.

    Parameters
    ----------
    svg
        A system without ids of words.
    edge
        Where the right edge is, in the units the words are placed in.
    """
    svg = _WORDS.sub(lambda found: _moved(found, edge), svg)
    return _ENDING.sub(lambda end: f"{end[1]}{int(end[2]) + _OVER_THE_NOTE}{end[3]}", svg)


def _moved(found: re.Match[str], edge: float) -> str:
    before, x, between, size, words = found.groups()
    most = edge - len(words) * _LETTER_EM * int(size)
    return f"{before}{max(min(int(x), round(most)), 0)}{between}{words}"


def end_of_words(svg: str) -> float:
    """Return where the last words of a picture of `inside` end, 0 where there are none."""
    ends = (
        int(x) + len(words) * _LETTER_EM * int(letters)
        for _, x, _, letters, words in (found.groups() for found in _WORDS.finditer(svg))
    )
    return max(ends, default=0)


# ── lines over each other ───────────────────────────────────────────────────────────────────────

_ABOVE = re.compile(
    r'<g class="(?P<kind>dir|tempo|fing)"><text x="(?P<x>-?\d+)" y="(?P<y>-?\d+)"'
    r'(?: text-anchor="(?P<anchor>\w+)")?[^>]*>(?:<tspan[^>]*>)*?'
    r'<tspan[^>]*font-size="(?P<size>\d+)px"[^>]*>(?P<words>[^<]*)'
)
_STAFF = re.compile(r'class="staff"><path d="M-?\d+ (\d+) ')
_HEIGHTS = re.compile(
    r'(?P<outer>^<svg viewBox="0 0 \d+ )(?P<height>\d+)|'
    r'(?P<inner><svg class="definition-scale"[^>]* viewBox="0 0 \d+ )(?P<scaled>\d+)|'
    r'(?P<margin><g class="page-margin" transform="translate\(\d+, )(?P<top>\d+)'
)
_ROOM_EM = 0.25
"""Room between words of one line, as a share of their size."""
_CAPITAL_EM = 0.75
"""How high a line reaches above its foot."""
_LINE_EM = 0.9
"""Nearer to each other lines overlap."""
_TENFOLD = 10


@dataclass(slots=True)
class _Line:
    """Words or a finger over the music, in the units they are placed in."""

    left: float
    right: float
    foot: int
    size: int
    place: tuple[int, int]
    """Where in the text of the picture its height stands."""
    fixed: bool
    """Whether it stays where it is."""


def set_apart(svg: str) -> str:
    """Move words up that lie over other words or fingers.

    Parameters
    ----------
    svg
        A system without ids of words, before it has its size in mm.
    """
    staff = _STAFF.search(svg)
    lines = list(_lines(svg, int(staff[1]) if staff else 0))
    before = [line.foot for line in lines]
    _raise(lines)
    moved = [line for line, foot in zip(lines, before, strict=True) if line.foot != foot]
    if not moved:
        return svg
    for line in sorted(moved, key=lambda line: -line.place[0]):
        start, end = line.place
        svg = f"{svg[:start]}{line.foot}{svg[end:]}"
    return _with_room(svg, min(round(line.foot - _CAPITAL_EM * line.size) for line in moved))


def _lines(svg: str, staff: int) -> Iterator[_Line]:
    for found in _ABOVE.finditer(svg):
        size, x, foot = int(found["size"]), int(found["x"]), int(found["y"])
        width = len(unescape(found["words"])) * _LETTER_EM * size
        left = x - {"end": width, "middle": width / 2}.get(found["anchor"] or "", 0)
        fixed = found["kind"] == "fing" or foot > staff
        yield _Line(left, left + width, foot, size, found.span("y"), fixed)


def _raise(lines: Sequence[_Line]) -> None:
    """Let each line that may move find room above those that are in its way, the lowest first."""
    placed = [line for line in lines if line.fixed]
    for line in sorted((line for line in lines if not line.fixed), key=lambda line: -line.foot):
        while in_the_way := [other for other in placed if _overlap(line, other)]:
            line.foot = min(other.foot - max(other.size, line.size) for other in in_the_way)
        placed.append(line)


def _overlap(one: _Line, other: _Line) -> bool:
    size = min(one.size, other.size)
    beside = one.left < other.right + _ROOM_EM * size and other.left < one.right + _ROOM_EM * size
    return beside and abs(one.foot - other.foot) < _LINE_EM * size


def _with_room(svg: str, top: int) -> str:
    """Make a picture higher where words reach above it."""
    margin = next((int(found["top"]) for found in _HEIGHTS.finditer(svg) if found["top"]), 0)
    more = -(min(0, top + margin) // _TENFOLD)
    return _HEIGHTS.sub(lambda found: _higher(found, more), svg) if more else svg


def _higher(found: re.Match[str], more: int) -> str:
    if found["outer"]:
        return f"{found['outer']}{int(found['height']) + more}"
    if found["inner"]:
        return f"{found['inner']}{int(found['scaled']) + more * _TENFOLD}"
    return f"{found['margin']}{int(found['top']) + more * _TENFOLD}"
