"""What parts are found by, beside what the score says of itself.

Conventions
-----------
* A score without a title goes by its file's name.
* In the name of a part, instruments and ordinals stand in one form, so that *violin 2* is also
  *Violino II*, *2nd Violin* and *Vl. II* (see `scoretools.read.instruments`); a part without a name
  goes by its instrument.
"""

from scoretools.catalogue.tags import one_line
from scoretools.read.instruments import ordinal_words

__all__ = ["MIGRATIONS", "name_words", "shown_title"]


def shown_title(title: str, path: str) -> str:
    """Return what a piece is called: its title, or the name of its file.

    Parameters
    ----------
    title
        Title of the piece; empty when the score gives none.
    path
        The file, as the catalogue holds it.
    """
    return title or path.rpartition("/")[2].rpartition("\\")[2]


def name_words(name: str, instrument: str) -> str:
    """Return the words of a part's name in the form they are found by, such as ``violin 2``.

    Parameters
    ----------
    name
        Name of the part as printed; may be empty.
    instrument
        ``violin`` or ``viola``.
    """
    return " ".join(ordinal_words(name)) or instrument


MIGRATIONS = (
    ("shown_title_of", 2, shown_title),
    ("name_words_of", 2, name_words),
    ("one_line_of", 1, one_line),
)
"""Functions that the steps of `scoretools.catalogue.schema` call: name, arguments, function."""
