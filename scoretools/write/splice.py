"""Where notes stand in the user's own text, and how something is put in without touching the rest.

Conventions
-----------
* A text is only ever added to: with the insertions cut out again it is what it was, byte for byte.
* Places are found by an expat pass over the text in UTF-8; they are turned back into bytes of the
  file at the end, so that every encoding Python knows is served alike.
* What is put in follows the layout around it: on lines of its own with the same line end and
  indentation where the neighbours stand so, else without any space.
* Notes are known as in `scoretools.model.Address`: place of the part, index of the measure, index
  of the ``note`` in its measure.

Source of the order of elements inside a note: MusicXML 4.0, ``note``.
"""

import codecs
import re
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from xml.parsers import expat

from scoretools.errors import WriteError

__all__ = [
    "Content",
    "Insertion",
    "Place",
    "Text",
    "before_note",
    "lead_of",
    "on_note",
    "places",
    "put_into",
    "spliced",
    "start_tag_end",
    "text_from",
]

_BOMS = (
    (codecs.BOM_UTF32_LE, "utf-32-le"),
    (codecs.BOM_UTF32_BE, "utf-32-be"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)
_BARE = ((b"<\0", "utf-16-le"), (b"\0<", "utf-16-be"))
_SPACE = b"\xef\xbb\xbf \t\r\n"
_DECLARED = re.compile(rb"""^<\?xml[^>]*?\sencoding\s*=\s*["']([\w.:-]+)""", re.ASCII)
_WIDE = ("utf16", "utf32", "ucs", "iso10646")
_START_TAG = re.compile(rb"""<[^\s/>"']+(?:"[^"]*"|'[^']*'|[^"'>])*>""")
_LINE = re.compile(rb"(?:\r\n|\r|\n)[ \t]*\Z")
_TAIL = frozenset(("lyric", "play", "listen"))
"""What follows the notations of a note."""

_LONGEST_LINE = 1024
_USUAL_STEP = "  "

Content = tuple[str, "str | tuple[Content, ...]"]
"""An element to put in: its start tag without brackets, and its text or its elements, in ASCII."""


@dataclass(frozen=True, slots=True)
class Text:
    """A document, and how its bytes are meant."""

    data: bytes
    """The file."""
    encoding: str
    """Python's name of its encoding."""
    start: int
    """Bytes before the document proper."""
    utf8: bytes
    """The document proper in UTF-8."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where an element stands, in bytes of the text in UTF-8."""

    tag: str
    """Its name."""
    begin: int
    """Beginning of its start tag."""
    inner: int
    """End of its start tag."""
    end: int
    """End of the element."""
    empty: bool
    """Whether its start tag is all of it (``<notations/>``)."""
    children: tuple["Place", ...]
    """Elements in it."""


@dataclass(frozen=True, slots=True)
class Insertion:
    """Something to put in."""

    at: int
    """Where, in bytes of the text in UTF-8."""
    words: str
    """What, in ASCII."""


# ── bytes and text ──────────────────────────────────────────────────────────────────────────────


def text_from(name: str, data: bytes) -> Text:
    """Tell how the bytes of a document are meant.

    Parameters
    ----------
    name
        The file's name, for messages.
    data
        The file's bytes.

    Raises
    ------
    WriteError
        The encoding is not known, or the bytes do not keep to it.
    """
    encoding, start = _encoding_of(data)
    try:
        utf8 = data[start:].decode(encoding).encode("utf-8")
    except (LookupError, UnicodeError) as fault:
        raise WriteError(
            f"{name}: the text cannot be decoded as {encoding} ({' '.join(str(fault).split())}); "
            "save the score in UTF-8 and mark that"
        ) from None
    return Text(data, encoding, start, utf8)


def _encoding_of(data: bytes) -> tuple[str, int]:
    """Return the encoding and the bytes before the document, as the reader takes them."""
    for sign, encoding in _BOMS:
        if data.startswith(sign):
            return encoding, len(sign)
    for sign, encoding in _BARE:
        if data.startswith(sign):
            return encoding, 0
    start = len(data) - len(data.lstrip(_SPACE))
    declared = _DECLARED.match(data[start : start + 1024])
    encoding = declared[1].decode("ascii") if declared else "utf-8"
    # Some exporters declare UTF-16 and then write single bytes.
    wide = re.sub(r"[-_]", "", encoding.lower()).startswith(_WIDE)
    return ("utf-8" if wide else encoding), start


def spliced(name: str, text: Text, insertions: Iterable[Insertion]) -> bytes:
    """Put insertions into a text.

    Parameters
    ----------
    name
        The file's name, for messages.
    insertions
        In any order; those of one place follow each other as given.

    Returns
    -------
    bytes
        The file's bytes with the insertions among them.

    Raises
    ------
    WriteError
        The encoding does not let itself be added to.
    """
    ordered = sorted(insertions, key=lambda insertion: insertion.at)
    pieces, expected = [text.data[: text.start]], []
    last_byte, last = text.start, 0
    for insertion in ordered:
        between = text.utf8[last : insertion.at].decode("utf-8")
        byte = last_byte + len(between.encode(text.encoding))
        pieces += [text.data[last_byte:byte], insertion.words.encode(text.encoding)]
        expected += [between, insertion.words]
        last_byte, last = byte, insertion.at
    pieces.append(text.data[last_byte:])
    expected.append(text.utf8[last:].decode("utf-8"))
    whole = b"".join(pieces)
    try:
        faithful = whole[text.start :].decode(text.encoding) == "".join(expected)
    except UnicodeError:
        faithful = False
    if not faithful:  # an encoding with several ways to write one character
        raise WriteError(
            f"{name}: nothing can be put into text in {text.encoding} without changing the rest; "
            "save the score in UTF-8 and mark that"
        )
    return whole


# ── places ──────────────────────────────────────────────────────────────────────────────────────

_Key = tuple[int, int]
"""Index of the measure, index of the note in it."""


def places(
    name: str, text: Text, number: int, part_id: str, measures: Collection[int]
) -> dict[_Key, Place]:
    """Find the notes of some measures of a part.

    Parameters
    ----------
    name
        The file's name, for messages.
    number
        Place of the part in a part-wise score, from 1.
    part_id
        Its ``id``, which tells it in a time-wise score.
    measures
        Indices of the measures to look into.

    Raises
    ------
    WriteError
        The text is not well formed, or declares entities.
    """
    walk = _Walk(text.utf8, number, part_id, measures)
    parser = expat.ParserCreate("utf-8")
    walk.parser = parser
    parser.StartElementHandler = walk.start
    parser.EndElementHandler = walk.end
    parser.EntityDeclHandler = walk.refuse
    try:
        parser.Parse(text.utf8, True)
    except (expat.ExpatError, _Refused) as fault:
        raise WriteError(
            f"{name}: no marks can be put in, since the XML is damaged ({fault}); "
            "export the score again"
        ) from None
    return walk.found


class _Refused(Exception):
    """The text holds what is not read."""


class _Walk:
    """A pass over the text: where it stands, and the notes found so far."""

    def __init__(self, utf8: bytes, number: int, part_id: str, measures: Collection[int]) -> None:
        self.parser: expat.XMLParserType
        self.found: dict[_Key, Place] = {}
        self._utf8, self._number, self._part_id = utf8, number, part_id
        self._measures = frozenset(measures)
        self._timewise = self._in_part = self._in_measure = False
        self._depth = self._parts = 0
        self._measure = self._note = -1
        self._open: list[tuple[str, int, list[Place]]] = []

    def start(self, tag: str, attributes: dict[str, str]) -> None:
        self._depth += 1
        if self._depth > 3:
            if self._in_measure:
                self._start_inside(tag)
        elif self._depth == 1:
            self._timewise = tag == "score-timewise"
        elif self._depth == 2:
            self._parts += tag == "part"
            self._in_part = self._timewise or (tag == "part" and self._parts == self._number)
        else:
            self._start_third(tag, attributes)

    def _start_third(self, tag: str, attributes: dict[str, str]) -> None:
        """A measure of a part, or in a time-wise score a part of a measure."""
        here = self._in_part and tag == ("part" if self._timewise else "measure")
        if self._timewise:
            here = here and attributes.get("id", "") == self._part_id
        self._measure += here
        self._note = -1
        self._in_measure = here

    def _start_inside(self, tag: str) -> None:
        if self._depth == 4:
            if tag != "note":
                return
            self._note += 1
            if self._measure not in self._measures:
                return
        elif not self._open:
            return
        self._open.append((tag, self.parser.CurrentByteIndex, []))

    def end(self, tag: str) -> None:
        self._depth -= 1
        if self._open:
            self._close(tag)
        elif self._depth == 2:
            self._in_measure = False

    def _close(self, tag: str) -> None:
        _, begin, children = self._open.pop()
        inner = start_tag_end(self._utf8, begin)
        empty = self._utf8[inner - 2 : inner] == b"/>"
        end = inner if empty else self._utf8.index(b">", self.parser.CurrentByteIndex) + 1
        place = Place(tag, begin, inner, end, empty, tuple(children))
        if self._open:
            self._open[-1][2].append(place)
        else:
            self.found[self._measure, self._note] = place

    def refuse(self, *_: object) -> None:
        raise _Refused("the file declares entities")


def start_tag_end(utf8: bytes, begin: int) -> int:
    """Return where the start tag that begins here ends."""
    opening = _START_TAG.match(utf8, begin)
    return opening.end() if opening else begin


# ── insertions ──────────────────────────────────────────────────────────────────────────────────


def on_note(text: Text, note: Place, marks: tuple[Content, ...]) -> Insertion:
    """Put elements of ``technical`` on a note.

    Elements without content are left as they are and get a neighbour, since they have no end tag
    to write before.

    Parameters
    ----------
    note
        A note with a pitch.
    marks
        Elements of ``technical``, at least one.
    """
    step = _step(text, note)
    notations = _with_content(note, "notations")
    if notations is None:
        whole: Content = ("notations", (("technical", marks),))
        before_tail = [child for child in note.children if child.tag not in _TAIL]
        return put_into(text, note, before_tail, (whole,), step)
    technical = _with_content(notations, "technical")
    if technical is None:
        return put_into(text, notations, notations.children, (("technical", marks),), step)
    return put_into(text, technical, technical.children, marks, step)


def before_note(text: Text, note: Place, element: Content) -> Insertion:
    """Put an element into the measure, before a note."""
    lead = lead_of(text, note.begin)
    # The note's own line break and indentation serve what is put in; it gets the same again.
    return Insertion(note.begin, _laid_out(element, lead, _step(text, note))[len(lead) :] + lead)


def _with_content(parent: Place, tag: str) -> Place | None:
    return next((one for one in parent.children if one.tag == tag and not one.empty), None)


def put_into(
    text: Text,
    parent: Place,
    before: Sequence[Place],
    elements: tuple[Content, ...],
    step: str,
) -> Insertion:
    """Put elements behind the last of those that go before them, or first into their parent.

    Parameters
    ----------
    parent
        An element with an end tag.
    before
        Those of its elements that go before, in order.
    elements
        What to put in.
    step
        By how much an element is indented against the one it stands in.
    """
    if before:
        at, lead = before[-1].end, lead_of(text, before[-1].begin)
    else:
        own = lead_of(text, parent.begin)
        at, lead = parent.inner, own + step if own else ""
    return Insertion(at, "".join(_laid_out(element, lead, step) for element in elements))


def _laid_out(element: Content, lead: str, step: str) -> str:
    """Write an element; each start tag after its line break and indentation, if there is one."""
    opening, content = element
    tag = opening.partition(" ")[0]
    if not content:
        return f"{lead}<{opening}/>"
    if isinstance(content, str):
        return f"{lead}<{opening}>{content}</{tag}>"
    deeper = lead + step if lead else ""
    inner = "".join(_laid_out(child, deeper, step) for child in content)
    return f"{lead}<{opening}>{inner}{lead}</{tag}>"


def lead_of(text: Text, at: int) -> str:
    """Return the line break and indentation right before a place; empty where there is none."""
    found = _LINE.search(text.utf8, max(0, at - _LONGEST_LINE), at)
    return found[0].decode("ascii") if found else ""


def _step(text: Text, note: Place) -> str:
    """Return by how much an element is indented against the one it stands in."""
    outer, inner = lead_of(text, note.begin), lead_of(text, note.children[0].begin)
    if outer and inner.startswith(outer) and len(inner) > len(outer):
        return inner[len(outer) :]
    return "" if inner and inner == outer else _USUAL_STEP
