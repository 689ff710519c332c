"""Which files belong to one book."""

import re

__all__ = ["book_of"]

_SUFFIXES = re.compile(r"\.(?:musicxml|xml|mxl|csv|abc|krn|mei|midi?)$", re.IGNORECASE)
_PIECE = re.compile(r"_(?:mvt.*|no?\d+|\d+)$", re.IGNORECASE)
_PIECE_ALONE = re.compile(
    r"(?:movement|mvt|mov|satz|no|nr)?[ ._-]*(?:\d+|[ivx]+)", flags=re.IGNORECASE
)


def book_of(name: str, folder: str = "") -> str:
    """Tell the book of a file from its name.

    Parameters
    ----------
    name
        The file's name, without its folder.
    folder
        Name of its folder: the book of a file that is called by its movement or number alone.

    Returns
    -------
    str
        The name without its suffix, and without a movement or number that stands at its end after
        an underscore: ``kayser_op20_13.musicxml`` and ``kayser_op20_15.musicxml`` are one book, so
        are ``seitz_op22_mvtI.mxl`` and ``seitz_op22_mvtII.mxl``, and ``movement1.mxl`` and
        ``movement2.mxl`` of one folder. Any other file is a piece alone, and counts like a book.
    """
    bare = _SUFFIXES.sub("", name)
    if folder and _PIECE_ALONE.fullmatch(bare):
        return folder
    return _PIECE.sub("", bare)
