"""The bytes of a score: a plain file, or the root file inside a ``.mxl`` container.

Conventions: what a file *is* is told from its content, not from its suffix; nothing is ever
unpacked to disk; limits on size and number of members are fixed here and named in the message.
Source of the container layout: MusicXML 4.0, "Compressed .mxl files" (``META-INF/container.xml``).
"""

import io
import os
import re
import zipfile
import zlib
from dataclasses import dataclass

from scoretools.errors import NotMusicXML, ReadError

__all__ = ["MOST_BYTES", "MOST_MEMBERS", "Contents", "contents", "shown_name"]

MOST_BYTES = 128 * 1024 * 1024
"""Largest score read, in bytes, unpacked."""

MOST_MEMBERS = 1000
"""Largest number of files a container may hold."""

_CONTAINER = "META-INF/container.xml"
_MOST_CONTAINER_BYTES = 65536
_ENTRY = b"PK\x01\x02"
"""How each entry of a zip directory begins."""

_ZIP_FAULTS = (
    zipfile.BadZipFile,
    zlib.error,
    EOFError,
    NotImplementedError,
    RuntimeError,
    ValueError,
    OverflowError,
    OSError,
)
"""What the zip reader raises on damaged, encrypted or exotic members."""


@dataclass(frozen=True, slots=True)
class Contents:
    """A score's bytes and what they are called."""

    name: str
    """The file's name, without its folder, fit for one line."""
    suffix: str
    """Its suffix in small letters, with the dot; of the root file when unpacked."""
    data: bytes
    """The bytes, unpacked."""


def shown_name(path: str | os.PathLike[str]) -> str:
    """Return the name of a file as messages show it.

    Parameters
    ----------
    path : str or os.PathLike
        Where the file is.

    Returns
    -------
    str
        The last part of the path on one line, without characters that cannot be printed.
    """
    name = os.path.basename(os.fsdecode(path).rstrip("/\\")) or os.fsdecode(path)
    return "".join(c if c.isprintable() else "?" for c in name)


def contents(path: str | os.PathLike[str]) -> Contents:
    """Return the bytes of a score file, unpacked if it is a container.

    Parameters
    ----------
    path : str or os.PathLike
        A file of at most `MOST_BYTES` bytes.

    Returns
    -------
    Contents
        Name, suffix and bytes.

    Raises
    ------
    ReadError
        The file is missing, a folder, not readable or too large.
    NotMusicXML
        The file is empty, or its container is damaged, too large or without a root file.
    """
    name = shown_name(path)
    suffix = os.path.splitext(name)[1].lower()
    data = _file_bytes(path, name)
    if not data.strip():
        raise NotMusicXML(f"{name}: the file is empty; export the score again.")
    if data[:4] in (b"PK\x03\x04", b"PK\x05\x06"):
        return _unpacked(name, data)
    if suffix == ".mxl":
        if data.lstrip(b"\xef\xbb\xbf \t\r\n")[:1] == b"<":
            return Contents(name, ".musicxml", data)
        raise NotMusicXML(
            f"{name}: the file is called .mxl but is no zip container; export the score again."
        )
    return Contents(name, suffix, data)


def _file_bytes(path: str | os.PathLike[str], name: str) -> bytes:
    try:
        with open(path, "rb") as file:
            data = file.read(MOST_BYTES + 1)
    except FileNotFoundError:
        raise ReadError(f"{name}: there is no such file; check the path.") from None
    except IsADirectoryError:
        raise ReadError(f"{name}: this is a folder; name a score file inside it.") from None
    except PermissionError:
        raise ReadError(f"{name}: the file may not be read; check its permissions.") from None
    except (OSError, ValueError) as fault:
        reason = getattr(fault, "strerror", None) or "the path is not valid"
        raise ReadError(f"{name}: the file cannot be opened ({reason}); check the path.") from None
    if len(data) > MOST_BYTES:
        raise ReadError(
            f"{name}: the file is larger than {MOST_BYTES // 1024**2} MiB, the most that is read; "
            "export single parts or movements."
        )
    return data


def _unpacked(name: str, data: bytes) -> Contents:
    # Counted before the directory is read, since a hostile one takes much memory.
    if data.count(_ENTRY) > MOST_MEMBERS:
        raise NotMusicXML(
            f"{name}: the container holds more than {MOST_MEMBERS} files, the most that is "
            "allowed; export the score again."
        )
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            members = archive.namelist()
            root = _root_member(name, archive, members)
            return Contents(name, os.path.splitext(root)[1].lower(), _member(name, archive, root))
    except _ZIP_FAULTS as fault:
        reason = " ".join(str(fault).split()) or type(fault).__name__
        raise NotMusicXML(
            f"{name}: the zip container is damaged or locked ({reason}); export the score again."
        ) from None


def _member(name: str, archive: zipfile.ZipFile, member: str) -> bytes:
    with archive.open(member) as file:
        data = file.read(MOST_BYTES + 1)
    if len(data) > MOST_BYTES:
        raise NotMusicXML(
            f"{name}: the container unpacks to more than {MOST_BYTES // 1024**2} MiB, "
            "the most that is read; export single parts or movements."
        )
    return data


def _root_member(name: str, archive: zipfile.ZipFile, members: list[str]) -> str:
    """Return the member the container names, else the only score among the members."""
    if _CONTAINER in members:
        with archive.open(_CONTAINER) as file:
            text = file.read(_MOST_CONTAINER_BYTES).replace(b"\0", b"")
        for path in re.findall(rb"""<rootfile\s[^<>]*?full-path\s*=\s*["']([^"']+)["']""", text):
            if (root := path.decode("utf-8", "replace")) in members:
                return str(root)
    scores = [
        member
        for member in members
        if member.lower().endswith((".xml", ".musicxml"))
        and not member.startswith(("META-INF/", "__MACOSX/"))
    ]
    if len(scores) != 1:
        found = "no score" if not scores else f"{len(scores)} scores and does not say which is it"
        raise NotMusicXML(
            f"{name}: the container names no root file and holds {found}; "
            "export the score as MusicXML again."
        )
    return scores[0]
