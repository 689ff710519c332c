"""Other formats, converted to MusicXML and then read like any other score.

Conventions: the format is told from the content where it shows, else from the suffix; the user is
told that the score was converted, since spelling, voices and printed marks may have suffered.
Bytes are handed over, never paths, so that nothing is fetched, cached or unpickled; MEI is checked
for entities first.
"""

import contextlib
import io
import warnings
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from scoretools.errors import NotMusicXML, ReadError
from scoretools.read.abc_accidentals import drop_needless_accidentals
from scoretools.read.abc_bars import join_overfull_bars, number_bars
from scoretools.read.abc_book import Tune, chosen_tune, keeps_its_time, tunes_of
from scoretools.read.abc_fingers import fingers_as_symbols, symbols_as_fingers
from scoretools.read.container import Contents
from scoretools.read.document import Element, check_xml, document, root_tag
from scoretools.read.parts import score_parts

if TYPE_CHECKING:
    from music21.stream import Stream

__all__ = ["SIGNED_BY_CONVERSION", "Converted", "book_of", "converted", "format_of"]

SIGNED_BY_CONVERSION = "Music21"
"""What the converting library writes for the composer where a score names none."""

_SUFFIXES = {
    ".abc": "abc",
    ".krn": "humdrum",
    ".mei": "mei",
    ".mid": "midi",
    ".midi": "midi",
    ".md": "musedata",
    ".musedata": "musedata",
    ".nwc": "noteworthy",
    ".nwctxt": "noteworthytext",
}
"""Formats that are known by their suffix."""

_BEGINNINGS = (
    (b"MThd", "midi"),
    (b"X:", "abc"),
    (b"%abc", "abc"),
    (b"**kern", "humdrum"),
    (b"!!!", "humdrum"),
)
"""Formats that are known by how they begin."""

_SHOWN_NAMES = {
    "abc": "ABC",
    "humdrum": "Humdrum",
    "mei": "MEI",
    "midi": "MIDI",
    "musedata": "MuseData",
    "noteworthy": "NWC",
    "noteworthytext": "NWC text",
}
_BINARY = ("midi", "noteworthy")
_XML_SUFFIXES = (".xml", ".musicxml", ".mxl")
_SPACE = b"\xef\xbb\xbf \t\r\n"


@dataclass(frozen=True, slots=True)
class Converted:
    """A score in MusicXML that was something else."""

    root: Element
    """The ``score-partwise`` element."""
    part: str | int | None
    """Which part to read of it."""
    title: str
    """Title that the conversion may lose, empty when there is none."""
    told: tuple[str, ...]
    """What the user should know."""


def format_of(found: Contents) -> str:
    """Return the format of a score.

    Parameters
    ----------
    found : Contents
        A file.

    Returns
    -------
    str
        ``musicxml``, or the name of a format that can be converted.

    Raises
    ------
    NotMusicXML
        It is neither.
    """
    data = found.data.lstrip(_SPACE)
    for beginning, name in _BEGINNINGS:
        if data.startswith(beginning):
            return name
    if data[:1] == b"<" or found.data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        tag = root_tag(found.data)
        if tag == "mei":
            return "mei"
        if tag or found.suffix in _XML_SUFFIXES:
            return "musicxml"
    if found.suffix in _XML_SUFFIXES:
        return "musicxml"
    # A text with a heading has the suffix of a MuseData score, which begins otherwise.
    if found.suffix in _SUFFIXES and not data.startswith(b"# "):
        return _SUFFIXES[found.suffix]
    raise NotMusicXML(
        f"{found.name}: this is {_kind(data)}, not a score in MusicXML; export the score as "
        "MusicXML from the notation program."
    )


def book_of(found: Contents) -> tuple[Tune, ...]:
    """Return the tunes of a file in ABC notation.

    Parameters
    ----------
    found : Contents
        A file of the format ``abc``.

    Returns
    -------
    tuple of Tune
        At least one.

    Raises
    ------
    Nothing.
    """
    return tunes_of(_text(found.data))


def converted(found: Contents, name: str, part: str | int | None) -> Converted:
    """Return a score as MusicXML.

    Parameters
    ----------
    found : Contents
        A file.
    name : str
        Its format, as `format_of` tells it.
    part : str, int or None
        Which part is wanted; in a book of tunes, which tune.

    Returns
    -------
    Converted
        The document, and what is left to choose.

    Raises
    ------
    NotMusicXML
        The file is no well-formed XML where it should be, or declares entities.
    PartNotFound
        The book has no such tune.
    ReadError
        The score cannot be converted.
    """
    told: tuple[str, ...] = ()
    title, steady = "", False
    source: str | bytes = found.data if name in _BINARY else _text(found.data)
    if name == "abc":
        tunes = book_of(found)
        tune = tunes[0]
        # In a book the request is for a tune, in a single tune for a voice.
        if len(tunes) > 1:
            tune, told = chosen_tune(found.name, tunes, part)
            part = None
        source, title = fingers_as_symbols(tune.text), tune.title
        steady = keeps_its_time(tune)
    elif name == "mei":
        check_xml(found.name, found.data)
    data, doubts = _through_music21(found.name, source, name)
    shown = _SHOWN_NAMES[name]
    first = f"The score was converted from {shown}; spelling, voices and marks may differ from it."
    root = _numbered(document(found.name, data))
    if name == "abc":
        overfull = join_overfull_bars(root) if steady else []
        number_bars(root)
        drop_needless_accidentals(root)
        told = (*told, *_overfull(overfull), *_fingers_lost(symbols_as_fingers(root)))
        if part is None and (part := _nameless_voice(root)) is not None:
            told = (*told, "The tune has several voices without names; the first is read.")
    return Converted(root, part, title, (first, *told, *doubts))


def _overfull(measures: Sequence[Element]) -> Iterator[str]:
    for measure in measures:
        number = measure.get("number")
        yield f"Bar {number} holds more than its time signature allows; it is read as written."


def _fingers_lost(count: int) -> tuple[str, ...]:
    if not count:
        return ()
    fingers = "A printed finger" if count == 1 else f"{count} printed fingers"
    are = "is" if count == 1 else "are"
    return (f"{fingers} over chords {are} left out, since the note is not told.",)


def _nameless_voice(root: Element) -> int | None:
    """Return the first voice with notes where there are several and none is named."""
    parts = score_parts(root)
    if len(parts) < 2 or any(part.instrument for part in parts):
        return None
    sounding = (part for part in parts if part.element.find(".//pitch") is not None)
    return next((part.number for part in sounding), None)


def _numbered(root: Element) -> Element:
    """Give the parts lasting names, since the conversion makes up new ones each time."""
    names: dict[str, str] = {}
    for number, part in enumerate(root.iterchildren("part"), 1):
        names[part.get("id", "")] = f"P{number}"
        part.set("id", f"P{number}")
    for entry in root.iterfind("part-list/score-part"):
        entry.set("id", names.get(entry.get("id", ""), ""))
    return root


def _through_music21(name: str, source: str | bytes, kind: str) -> tuple[bytes, tuple[str, ...]]:
    """Return MusicXML, and a sentence if the conversion had doubts."""
    silence = io.StringIO()
    try:
        with (
            warnings.catch_warnings(record=True) as caught,
            contextlib.redirect_stdout(silence),
            contextlib.redirect_stderr(silence),
        ):
            warnings.simplefilter("always")
            stream = _stream(source, kind)
            if kind == "abc":
                _beam_under_symbols(stream)
            data = _exported(stream)
    # The converters raise whatever their input makes them stumble over.
    except Exception as fault:
        reason = " ".join(str(fault).split())[:160] or type(fault).__name__
        raise ReadError(
            f"{name}: the {_SHOWN_NAMES[kind]} file cannot be converted ({reason}); "
            "export the score as MusicXML."
        ) from None
    doubts = list(dict.fromkeys(" ".join(str(warning.message).split()) for warning in caught))
    if not doubts:
        return data, ()
    return data, (f"The conversion had doubts, first of all: {doubts[0][:200].rstrip('.')}.",)


def _stream(source: str | bytes, kind: str) -> "Stream[Any]":
    from music21 import converter
    from music21.converter import subConverters

    direct = {
        "noteworthy": subConverters.ConverterNoteworthyBinary,
        "noteworthytext": subConverters.ConverterNoteworthy,
    }
    if kind not in direct:
        return converter.parseData(source, format=kind)
    # The general way hands these two an argument that they do not take.
    reader = direct[kind]()
    reader.parseData(source)
    score: Stream[Any] = reader.stream
    return score


def _beam_under_symbols(score: "Stream[Any]") -> None:
    """Beam the bars with chord symbols, which the library leaves without beams."""
    for measure in score.recurse().getElementsByClass("Measure"):
        symbols = [(one.offset, one) for one in measure.getElementsByClass("ChordSymbol")]
        if symbols:
            measure.remove([symbol for _, symbol in symbols])
            measure.makeBeams(inPlace=True)
            for offset, symbol in symbols:
                measure.insert(offset, symbol)


def _exported(score: "Stream[Any]") -> bytes:
    from music21.musicxml.m21ToXml import GeneralObjectExporter
    from music21.musicxml.xmlObjects import MusicXMLExportException

    try:
        return bytes(GeneralObjectExporter(score).parse())
    except MusicXMLExportException:
        # Lengths that no single note has, such as five quarters, must become tied notes first;
        # in tempo marks they cannot be written at all.
        score.splitAtDurations(recurse=True)
        for mark in list(score.recurse().getElementsByClass("MetronomeMark")):
            if mark.referent.type == "complex":
                mark.activeSite.remove(mark)
        return bytes(GeneralObjectExporter(score).parse())


def _text(data: bytes) -> str:
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return data.decode("utf-16", "replace")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("latin-1")


def _kind(data: bytes) -> str:
    if data.startswith(b"%PDF"):
        return "a PDF"
    if data.startswith((b"\x89PNG", b"\xff\xd8", b"GIF8", b"II*\0", b"MM\0*", b"BM")):
        return "a picture"
    if data.startswith((b"RIFF", b"ID3", b"OggS", b"fLaC")):
        return "a sound recording"
    if b"\0" in data[:4096]:
        return "a binary file, perhaps of a notation program"
    return "text"
