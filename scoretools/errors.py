"""The one error tree.

Every message is a single sentence that names the file, the part, the bar and the value that was
wrong, as far as they are known, and says what to do next::

    ScoretoolsError
    ├── ReadError            a score cannot be read
    │   ├── NotMusicXML      the file is not the format it should be, or is damaged
    │   └── PartNotFound     the score holds no part that fits the request
    ├── PlayerError          a player file, or an option that stands for one, is wrong
    └── WriteError           a result cannot be written
"""

__all__ = [
    "NotMusicXML",
    "PartNotFound",
    "PlayerError",
    "ReadError",
    "ScoretoolsError",
    "WriteError",
]


class ScoretoolsError(Exception):
    """Anything the user can mend; its text is one sentence for the user."""


class ReadError(ScoretoolsError):
    """A score cannot be read."""


class NotMusicXML(ReadError):
    """The file is not MusicXML, is damaged, or its container is."""


class PartNotFound(ReadError):
    """The score holds no part that fits the request; the message lists the parts it has."""


class PlayerError(ScoretoolsError):
    """A player file is wrong; the message names the field."""


class WriteError(ScoretoolsError):
    """A result cannot be written."""
