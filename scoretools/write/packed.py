"""A ``.mxl`` container with one member written anew.

Conventions: all other members, their names, dates and comments, and the order of everything stay
as they are stored, byte for byte; only their distance from the beginning of the file changes.
Source of the layout: PKWARE, "ZIP File Format Specification" (APPNOTE), sections 4.3 and 4.4.
"""

import io
import struct
import zipfile
import zlib
from itertools import pairwise

from scoretools.errors import WriteError

__all__ = ["is_container", "repacked"]

_LOCAL = struct.Struct("<4sHHHHHLLLHH")
_CENTRAL = struct.Struct("<4sHHHHHHLLLHHHHHLL")
_END = struct.Struct("<4sHHHHLLH")
_END_SIGN = b"PK\x05\x06"
_IN_DESCRIPTOR = 0x08
"""Flag of a member whose sizes stand behind it."""
_FULL = 0xFFFF, 0xFFFFFFFF
"""What stands in the end record where the true figures are elsewhere."""


def is_container(data: bytes) -> bool:
    """Tell whether a file's bytes are a zip container."""
    return data[:4] in (b"PK\x03\x04", _END_SIGN)


def repacked(name: str, container: bytes, before: bytes, after: bytes) -> bytes:
    """Write one member of a container anew.

    Parameters
    ----------
    name
        The file's name, for messages.
    container
        The container.
    before
        What the member holds now, unpacked; tells which it is.
    after
        What it is to hold.

    Returns
    -------
    bytes
        The container with the member in its old place.

    Raises
    ------
    WriteError
        No member holds that, or the container is too large or unusual to be written anew.
    """
    place = _member_with(name, container, before)
    end = container.rfind(_END_SIGN)
    _, *_, count, size, start, _ = _END.unpack_from(container, end)
    shift = end - size - start  # what stands before the first member
    if count == _FULL[0] or start == _FULL[1] or shift < 0:
        raise WriteError(
            f"{name}: the container is too large or unusual to be written anew; "
            "export the score as .musicxml and mark that"
        )
    records = _central_records(container, end - size, count)
    offsets = [_CENTRAL.unpack_from(record)[16] + shift for record in records]
    stored = sorted((*offsets, end - size))
    pieces = {here: container[here:there] for here, there in pairwise(stored)}
    old = _CENTRAL.unpack_from(records[place])
    local, new = _written_anew(pieces[offsets[place]], old, after)
    pieces[offsets[place]] = local
    records[place] = _CENTRAL.pack(*new) + records[place][_CENTRAL.size :]
    return _joined(container[: stored[0]], pieces, records, offsets, container[end:], shift)


def _member_with(name: str, container: bytes, content: bytes) -> int:
    """Return the place of the member that holds this, in the order of the directory."""
    with zipfile.ZipFile(io.BytesIO(container)) as archive:
        for place, member in enumerate(archive.infolist()):
            if member.file_size == len(content) and archive.read(member) == content:
                return place
    raise WriteError(f"{name}: the container does not hold the score that was analysed; try again")


def _central_records(container: bytes, at: int, count: int) -> list[bytes]:
    records = []
    for _ in range(count):
        lengths = _CENTRAL.unpack_from(container, at)[10:13]
        length = _CENTRAL.size + sum(lengths)
        records.append(container[at : at + length])
        at += length
    return records


def _written_anew(
    piece: bytes, old: tuple[bytes | int, ...], content: bytes
) -> tuple[bytes, tuple[bytes | int, ...]]:
    """Return a member's own record with its content, and its record in the directory."""
    local = list(_LOCAL.unpack_from(piece))
    head = piece[_LOCAL.size : _LOCAL.size + int(local[9]) + int(local[10])]
    method = zipfile.ZIP_STORED if local[3] == zipfile.ZIP_STORED else zipfile.ZIP_DEFLATED
    data = content if method == zipfile.ZIP_STORED else _deflated(content)
    figures = (zlib.crc32(content), len(data), len(content))
    local[2] = int(local[2]) & ~_IN_DESCRIPTOR
    local[3] = method
    local[6:9] = figures
    new = list(old)
    new[3] = int(new[3]) & ~_IN_DESCRIPTOR
    new[4] = method
    new[7:10] = figures
    return _LOCAL.pack(*local) + head + data, tuple(new)


def _deflated(content: bytes) -> bytes:
    deflate = zlib.compressobj(9, zlib.DEFLATED, -15)
    return deflate.compress(content) + deflate.flush()


def _joined(
    front: bytes,
    pieces: dict[int, bytes],
    records: list[bytes],
    offsets: list[int],
    end: bytes,
    shift: int,
) -> bytes:
    """Put everything together again, the directory with its new distances."""
    whole, moved = bytearray(front), {}
    for offset, piece in sorted(pieces.items()):
        moved[offset] = len(whole)
        whole += piece
    start = len(whole)
    for record, offset in zip(records, offsets, strict=True):
        *fields, _ = _CENTRAL.unpack_from(record)
        whole += _CENTRAL.pack(*fields, moved[offset] - shift) + record[_CENTRAL.size :]
    figures = list(_END.unpack_from(end))
    figures[5:7] = len(whole) - start, start - shift
    return bytes(whole + _END.pack(*figures) + end[_END.size :])
