"""The one error tree, and what was perhaps meant where a word is not known.

Every message is a single sentence that names the file, the part, the bar and the value that was
wrong, as far as they are known, and says what to do next::

    ScoretoolsError
    ├── CatalogueError       a catalogue of scores cannot be opened, changed or asked
    ├── ReadError            a score cannot be read
    │   ├── BarsNotFound     the part has no such bars
    │   ├── NotMusicXML      the file is not the format it should be, or is damaged
    │   └── PartNotFound     the score holds no part that fits the request
    ├── MissingLibrary       a library that only this task needs is not installed
    ├── PlayerError          a player file, or an option that stands for one, is wrong
    └── WriteError           a result cannot be written
"""

from collections.abc import Collection
from difflib import get_close_matches

__all__ = [
    "BarsNotFound",
    "CatalogueError",
    "MissingLibrary",
    "NotMusicXML",
    "PartNotFound",
    "PlayerError",
    "ReadError",
    "ScoretoolsError",
    "WriteError",
    "nearest",
]


class ScoretoolsError(Exception):
    """Anything the user can mend; its text is one sentence for the user."""


class CatalogueError(ScoretoolsError):
    """A catalogue of scores cannot be opened, changed or asked; the message names its file."""


class ReadError(ScoretoolsError):
    """A score cannot be read."""


class BarsNotFound(ReadError):
    """The part has no bars of these numbers; the message says which it has."""


class NotMusicXML(ReadError):
    """The file is not MusicXML, is damaged, or its container is."""


class PartNotFound(ReadError):
    """The score holds no part that fits the request; the message lists the parts it has."""


class PlayerError(ScoretoolsError):
    """A player file is wrong; the message names the field."""


class MissingLibrary(ScoretoolsError):
    """A library that only this task needs is not installed; the message names the extra."""


class WriteError(ScoretoolsError):
    """A result cannot be written."""


_FEWEST_LETTERS_SHARED = 0.55
"""From how alike two words are called a slip of one for the other, 0 to 1."""


def nearest(typed: str, names: Collection[str]) -> str:
    """Return the name that was perhaps meant; empty where none is like what was typed."""
    return next(iter(get_close_matches(typed, names, 1, _FEWEST_LETTERS_SHARED)), "")
