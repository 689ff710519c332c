"""The tunes of a file in ABC notation, which often is a whole book of them.

Convention: a tune begins at a line ``X:``; what stands before the first one holds for all tunes.
Source: the ABC music standard 2.1, "File structure".
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from scoretools.errors import PartNotFound

__all__ = ["Tune", "chosen_tune", "keeps_its_time", "tunes_of"]

_MOST_LISTED = 12
_MOST_DIGITS = 10


@dataclass(frozen=True, slots=True)
class Tune:
    """One tune of a book."""

    number: int
    """Place in the file, from 1."""
    title: str
    """First title, empty when there is none."""
    text: str
    """Its notation, with what holds for the whole book before it."""


def tunes_of(text: str) -> tuple[Tune, ...]:
    """Return the tunes of a book.

    Parameters
    ----------
    text : str
        A file in ABC notation.

    Returns
    -------
    tuple of Tune
        In order; the whole text as one tune where no line ``X:`` is found.

    Raises
    ------
    Nothing.
    """
    lines = text.replace("\r\n", "\n").replace("\r", "\n")
    # Spaces around the sign of equality are allowed in a tempo, but the converter misreads them.
    lines = re.sub(r"^(Q:[^=\n]*?) *= *", r"\1=", lines, flags=re.M)
    head, *rest = re.split(r"^(?=X:)", lines, flags=re.M)
    if not rest:
        return (Tune(1, _title(head), head),)
    # A comment before the first tune would be taken for a line of music once blank lines are gone.
    fields = "".join(f"{line}\n" for line in head.split("\n") if re.match(r"[A-Za-z]:", line))
    return tuple(
        Tune(number, _title(tune), _first_line_first(fields, tune))
        for number, tune in enumerate(rest, 1)
    )


def keeps_its_time(tune: Tune) -> bool:
    """Tell whether a tune writes one time signature at most.

    Parameters
    ----------
    tune : Tune
        A tune.

    Returns
    -------
    bool
        False where it changes.

    Raises
    ------
    Nothing.
    """
    return len(re.findall(r"^M:|\[M:", tune.text, flags=re.M)) <= 1


def chosen_tune(
    source: str, tunes: Sequence[Tune], part: str | int | None
) -> tuple[Tune, tuple[str, ...]]:
    """Return the tune that is meant.

    Parameters
    ----------
    source : str
        The file's name, for messages.
    tunes : sequence of Tune
        All tunes of the book, more than one.
    part : str, int or None
        A title or its beginning, a number from 1, or none for the first.

    Returns
    -------
    Tune
        The tune.
    tuple of str
        What the user should know about the choice.

    Raises
    ------
    PartNotFound
        No tune fits, or several do.
    """
    if part is None or (isinstance(part, str) and not part.strip()):
        said = f"The file holds {len(tunes)} tunes; the first, “{tunes[0].title}”, is read."
        return tunes[0], (f"{said[:-1]}, another can be chosen by number or title.",)
    if isinstance(part, int) or (part.strip().isdecimal() and len(part) < _MOST_DIGITS):
        if 1 <= int(part) <= len(tunes):
            return tunes[int(part) - 1], ()
        raise PartNotFound(
            f"{source}: there is no tune number {part}; choose one from 1 to {len(tunes)}."
        )
    return _titled(source, tunes, part.strip()), ()


def _titled(source: str, tunes: Sequence[Tune], title: str) -> Tune:
    wanted = title.casefold()
    titles = [tune.title.casefold() for tune in tunes]
    for fits in (str.__eq__, str.startswith, str.__contains__):
        found = [tune for tune, called in zip(tunes, titles, strict=True) if fits(called, wanted)]
        if len(found) == 1:
            return found[0]
        if found:
            shown = ", ".join(f"{tune.number} {tune.title}" for tune in found[:_MOST_LISTED])
            more = ", …" if len(found) > _MOST_LISTED else ""
            raise PartNotFound(
                f"{source}: several tunes fit “{title}”, namely {shown}{more}: "
                "choose one by its number."
            )
    raise PartNotFound(
        f"{source}: no tune fits “{title}”; choose one of {len(tunes)} by its title or number."
    )


def _title(tune: str) -> str:
    found = re.search(r"^T:(.*)$", tune, flags=re.M)
    return " ".join(found.group(1).split()) if found else ""


def _first_line_first(fields: str, tune: str) -> str:
    """Put the fields of the whole book behind the line that opens the tune."""
    opening, _, rest = tune.partition("\n")
    return f"{opening}\n{fields}{rest}"
