"""A parsed MusicXML document, always part by part.

Conventions: entities, document type definitions and the network are off; a document that declares
entities is refused; a time-wise score is turned into a part-wise one, so that everything after this
room sees ``<score-partwise>`` only.
Source of the element names here and in the whole room: MusicXML 4.0, W3C Music Notation Community
Group.
"""

import re

from lxml import etree

from scoretools.errors import NotMusicXML

__all__ = ["MOST_TAGS", "Element", "as_text", "check_xml", "document", "root_tag", "text_of"]

Element = etree._Element
"""An element of the document."""

MOST_TAGS = 4_000_000
"""Most tags and attributes read, beginnings and ends counted; more take too much memory."""

_DECLARED_16 = re.compile(rb"""^<\?xml[^>]*encoding\s*=\s*["'](?:utf-?16|ucs|iso-10646)""", re.I)
_MOST_DEPTH = 256
"""Depth at which the parser gives up."""

_SPACE = b"\xef\xbb\xbf \t\r\n"
_ADVICE = "export the score as MusicXML from the notation program"


def text_of(element: Element | None) -> str:
    """Return the text of an element on one line, empty when there is none.

    Parameters
    ----------
    element : Element or None
        Any element.

    Returns
    -------
    str
        Its own text, spaces and line ends run together.

    Raises
    ------
    Nothing.
    """
    return " ".join((element.text or "").split()) if element is not None else ""


def as_text(root: Element) -> bytes:
    """Return a document as a file holds it, in UTF-8.

    Parameters
    ----------
    root : Element
        Its root.

    Returns
    -------
    bytes
        The document with its declaration.

    Raises
    ------
    Nothing.
    """
    return etree.tostring(root, xml_declaration=True, encoding="UTF-8")


def document(name: str, data: bytes) -> Element:
    """Return the root of a MusicXML document, part by part.

    Parameters
    ----------
    name : str
        The file's name, for messages.
    data : bytes
        The document.

    Returns
    -------
    Element
        A ``score-partwise`` element.

    Raises
    ------
    NotMusicXML
        The document is not well formed, declares entities or is not MusicXML.
    """
    root = _parsed(name, data)
    if root.tag == "score-partwise":
        return root
    if root.tag == "score-timewise":
        return _partwise(root)
    tag = etree.QName(root).localname
    raise NotMusicXML(f"{name}: this is XML with the root element {tag}, not MusicXML; {_ADVICE}.")


def check_xml(name: str, data: bytes) -> None:
    """Refuse what is no harmless XML.

    Parameters
    ----------
    name : str
        The file's name, for messages.
    data : bytes
        The document.

    Raises
    ------
    NotMusicXML
        The document is not well formed, or declares or uses entities.
    """
    _parsed(name, data)


def root_tag(data: bytes) -> str:
    """Return the name of the first element, without parsing the rest.

    Parameters
    ----------
    data : bytes
        A document, well formed or not.

    Returns
    -------
    str
        The name without its namespace, empty when none is found near the beginning.

    Raises
    ------
    Nothing.
    """
    head = data[:65536].replace(b"\0", b"")
    while (begin := head.find(b"<!--")) >= 0:
        end = head.find(b"-->", begin)
        head = head[:begin] + (head[end + 3 :] if end >= 0 else b"")
    found = re.search(rb"<(?:[\w.-]+:)?([A-Za-z_][\w.-]*)", head)
    return found.group(1).decode("ascii", "replace") if found else ""


def _parsed(name: str, data: bytes) -> Element:
    if b"<!ENTITY" in data or "<!ENTITY".encode("utf-16-le") in data:
        raise NotMusicXML(f"{name}: the file declares entities, which are not read; {_ADVICE}.")
    if data.count(b"<") + data.count(b"=") > MOST_TAGS:
        raise NotMusicXML(
            f"{name}: the file holds more than {MOST_TAGS:,} tags and attributes, the most that is "
            "read; export single parts or movements."
        )
    encoding = None
    if data[:2] not in (b"\xff\xfe", b"\xfe\xff"):
        data = data.lstrip(_SPACE) if data[:1] != b"<" else data
        # Some exporters declare UTF-16 and then write single bytes.
        encoding = "utf-8" if _DECLARED_16.match(data) else None
    parser = etree.XMLParser(
        encoding=encoding,
        resolve_entities=False,
        no_network=True,
        load_dtd=False,
        dtd_validation=False,
        huge_tree=False,
        recover=False,
        remove_comments=True,
        remove_pis=True,
    )
    try:
        root = etree.fromstring(data, parser)
    except etree.XMLSyntaxError as fault:
        raise _malformed(name, data, fault) from None
    except (ValueError, LookupError) as fault:
        reason = " ".join(str(fault).split())
        raise NotMusicXML(f"{name}: the file cannot be decoded ({reason}); {_ADVICE}.") from None
    entity = next(root.iter(etree.Entity), None) if b"&" in data else None
    if entity is not None:
        raise NotMusicXML(
            f"{name}: the file uses the undefined entity {text_of(entity)}; {_ADVICE}."
        )
    return root


def _malformed(name: str, data: bytes, fault: etree.XMLSyntaxError) -> NotMusicXML:
    line = fault.lineno or 1
    if not data[:64].replace(b"\0", b"").lstrip(_SPACE + b"\xff\xfe").startswith(b"<"):
        return NotMusicXML(f"{name}: this is not XML, so not MusicXML; {_ADVICE}.")
    reason = " ".join(str(fault.msg).split())
    if reason.startswith("Excessive depth"):
        return NotMusicXML(
            f"{name}: the elements are nested deeper than {_MOST_DEPTH}, the most that is read; "
            f"{_ADVICE}."
        )
    tag = root_tag(data)
    if tag and b"</" + tag.encode() not in data[-4096:].replace(b"\0", b""):
        return NotMusicXML(
            f"{name}: the file breaks off in line {line} before its end; get a complete copy."
        )
    return NotMusicXML(f"{name}: the XML is damaged in line {line} ({reason}); {_ADVICE}.")


def _partwise(root: Element) -> Element:
    """Return a part-wise score with the measures of a time-wise one, in place."""
    parts: dict[str, Element] = {}
    for measure in list(root.iterchildren("measure")):
        for slice_ in list(measure.iterchildren("part")):
            part_id = slice_.get("id", "")
            if part_id not in parts:
                parts[part_id] = etree.Element("part", {"id": part_id})
            bar = etree.SubElement(parts[part_id], "measure", dict(measure.attrib))
            bar.extend(list(slice_))
        root.remove(measure)
    root.extend(parts.values())
    root.tag = "score-partwise"
    return root
