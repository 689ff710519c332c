"""Which files belong to one book."""

import re

__all__ = ["book_of"]

_SUFFIXES = re.compile(r"\.(?:musicxml|xml|mxl|csv|abc|krn|mei|midi?)$", re.IGNORECASE)
_PIECE = re.compile(r"_(?:mvt.*|no?\d+|\d+)$", re.IGNORECASE)


def book_of(name: str) -> str:
    """Tell the book of a file from its name.

    Parameters
    ----------
    name
        The file's name, without its folder.

    Returns
    -------
    str
        The name without its suffix, and without a movement or number that stands at its end after
        an underscore: ``kayser_op20_13.musicxml`` and ``kayser_op20_15.musicxml`` are one book, so
        are ``seitz_op22_mvtI.mxl`` and ``seitz_op22_mvtII.mxl``. Any other file is a book of its
        own.
    """
    return _PIECE.sub("", _SUFFIXES.sub("", name))
