"""Facts about a score in the score's own head, for programs that keep libraries.

MusicXML has a place for them: ``identification/miscellaneous/miscellaneous-field``, each with a
name and a text. Fields of ours bear names that begin with `OURS`; they are made anew, all others
stay. Source of the order of the elements: MusicXML 4.0, ``score-partwise``, ``identification``.

Conventions: as in `scoretools.write.splice`, nothing else in the file is touched; with the fields
cut out again it is what it was, byte for byte.
"""

from collections.abc import Iterator, Mapping
from xml.parsers import expat
from xml.sax.saxutils import escape, quoteattr

from scoretools.errors import WriteError
from scoretools.write.packed import is_container, repacked
from scoretools.write.splice import (
    Content,
    Insertion,
    Place,
    Text,
    lead_of,
    put_into,
    spliced,
    start_tag_end,
    text_from,
)

__all__ = ["OURS", "file_with_fields", "with_fields", "without_fields"]

OURS = "scoretools:"
"""How the names of our fields begin."""

_BEFORE_IDENTIFICATION = frozenset(("work", "movement-number", "movement-title"))
_MUSIC = frozenset(("part", "measure"))
_FIELD = "miscellaneous-field"
_STEP = "  "


def file_with_fields(name: str, file: bytes, document: bytes, fields: Mapping[str, str]) -> bytes:
    """Put fields into a score's file: plain, or a ``.mxl``, of which one member is written anew.

    Parameters
    ----------
    name
        The file's name, for messages.
    file
        The file as it is.
    document
        The MusicXML document in it; the same where the file is plain.
    fields
        As for `with_fields`.

    Raises
    ------
    WriteError
        As `with_fields`, or the container cannot be written anew.
    """
    changed = with_fields(name, document, fields)
    if not is_container(file):
        return changed
    return file if changed == document else repacked(name, file, document, changed)


def with_fields(name: str, document: bytes, fields: Mapping[str, str]) -> bytes:
    """Put fields into a document, in place of those of ours that it has.

    Parameters
    ----------
    name
        The file's name, for messages.
    document
        A MusicXML document.
    fields
        Texts by name; every name begins with `OURS`.

    Raises
    ------
    WriteError
        The document is damaged, or its encoding does not let itself be added to.
    """
    document = without_fields(name, document)
    if not fields:
        return document
    text = text_from(name, document)
    elements = tuple(
        (f"{_FIELD} name={_ascii(quoteattr(_printable(field)))}", _ascii(escape(_printable(words))))
        for field, words in fields.items()
    )
    root, _ = _head(name, text)
    return spliced(name, text, [_insertion(text, root, elements)])


def without_fields(name: str, document: bytes) -> bytes:
    """Cut our fields out of a document, and what stands around them if nothing else is in it.

    Raises
    ------
    WriteError
        As for `with_fields`.
    """
    text = text_from(name, document)
    cuts = list(_cuts(text, *_head(name, text)))
    if not cuts:
        return document
    kept, last = bytearray(), 0
    for begin, end in cuts:
        kept += text.utf8[last:begin]
        last = end
    kept += text.utf8[last:]
    front = document[: text.start]
    if front + text.utf8.decode("utf-8").encode(text.encoding) != document:
        raise WriteError(
            f"{name}: nothing can be cut out of text in {text.encoding} without changing the rest; "
            "save the score in UTF-8 and tag that"
        )
    return front + bytes(kept).decode("utf-8").encode(text.encoding)


def _printable(words: str) -> str:
    """Leave out what no XML may hold."""
    return "".join(sign if sign.isprintable() else " " for sign in words)


def _ascii(words: str) -> str:
    return words.encode("ascii", "xmlcharrefreplace").decode("ascii")


# ── where ───────────────────────────────────────────────────────────────────────────────────────


def _insertion(text: Text, root: Place, fields: tuple[Content, ...]) -> Insertion:
    identification = _child(root, "identification")
    if identification is None:
        before = [one for one in root.children if one.tag in _BEFORE_IDENTIFICATION]
        whole: Content = ("identification", (("miscellaneous", fields),))
        return put_into(text, root, before, (whole,), _STEP)
    miscellaneous = _child(identification, "miscellaneous")
    if miscellaneous is None:
        whole = ("miscellaneous", fields)
        return put_into(text, identification, identification.children, (whole,), _STEP)
    return put_into(text, miscellaneous, miscellaneous.children, fields, _STEP)


def _child(parent: Place, tag: str) -> Place | None:
    return next((one for one in parent.children if one.tag == tag), None)


def _cuts(text: Text, root: Place, ours: frozenset[int]) -> Iterator[tuple[int, int]]:
    """What to cut out: our fields, or the outermost element that holds nothing else."""
    for identification in root.children:
        if identification.tag == "identification":
            yield from _cuts_in(text, identification, ours)


def _cuts_in(text: Text, place: Place, ours: frozenset[int]) -> Iterator[tuple[int, int]]:
    if _only_ours(place, ours):
        yield place.begin - len(lead_of(text, place.begin)), place.end
        return
    for child in place.children:
        yield from _cuts_in(text, child, ours)


def _only_ours(place: Place, ours: frozenset[int]) -> bool:
    if place.begin in ours:
        return True
    return bool(place.children) and all(_only_ours(child, ours) for child in place.children)


# ── the head of a score ─────────────────────────────────────────────────────────────────────────


class _Music(Exception):
    """The head of the score is read."""


class _Head:
    """A pass over the head of a score: its elements, three levels deep, and whose fields are."""

    def __init__(self, name: str, utf8: bytes) -> None:
        self.parser = expat.ParserCreate("utf-8")
        self.parser.StartElementHandler = self._start
        self.parser.EndElementHandler = self._end
        self.parser.EntityDeclHandler = self._refuse
        self.ours: set[int] = set()
        self._name, self._utf8 = name, utf8
        self._open: list[tuple[str, int, list[Place]]] = []

    def read(self) -> Place:
        try:
            self.parser.Parse(self._utf8, True)
        except _Music:
            pass
        except expat.ExpatError as fault:
            raise WriteError(
                f"{self._name}: nothing can be put in, since the XML is damaged ({fault}); "
                "export the score again"
            ) from None
        while len(self._open) > 1:
            self._open.pop()
        tag, begin, children = self._open[0]
        return self._place(tag, begin, len(self._utf8), children)

    def _start(self, tag: str, attributes: dict[str, str]) -> None:
        if len(self._open) == 1 and tag in _MUSIC:
            raise _Music
        begin = self.parser.CurrentByteIndex
        if tag == _FIELD and attributes.get("name", "").startswith(OURS):
            self.ours.add(begin)
        self._open.append((tag, begin, []))

    def _end(self, tag: str) -> None:
        if len(self._open) == 1:
            return
        _, begin, children = self._open.pop()
        at = self.parser.CurrentByteIndex
        end = self._utf8.index(b">", max(at, begin)) + 1
        if self._utf8[at : at + 2] != b"</":
            end = start_tag_end(self._utf8, begin)
        self._open[-1][2].append(self._place(tag, begin, end, children))

    def _place(self, tag: str, begin: int, end: int, children: list[Place]) -> Place:
        inner = start_tag_end(self._utf8, begin)
        empty = self._utf8[inner - 2 : inner] == b"/>"
        return Place(tag, begin, inner, end, empty, tuple(children))

    def _refuse(self, *_: object) -> None:
        raise WriteError(
            f"{self._name}: nothing is put into a file that declares entities; "
            "export the score again"
        )


def _head(name: str, text: Text) -> tuple[Place, frozenset[int]]:
    """Read the head of a score: its root as far as the music, and where our fields begin."""
    head = _Head(name, text.utf8)
    root = head.read()
    return root, frozenset(head.ours)
