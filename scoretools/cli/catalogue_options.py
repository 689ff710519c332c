"""What the commands of the catalogue share: its file, numbers of parts, ranges."""

from collections.abc import Sequence
from math import isfinite
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scoretools.errors import CatalogueError

if TYPE_CHECKING:
    from scoretools.catalogue import Range

__all__ = ["DatabaseOption", "PartNumbers", "counted", "known_range", "part_numbers", "plain"]

DatabaseOption = Annotated[Path, typer.Option(
    "--db", help="The catalogue's file.", metavar="FILE.db",
    envvar="SCORETOOLS_CATALOGUE", show_envvar=True)]  # fmt: skip
"""Which catalogue."""

PartNumbers = Annotated[list[str], typer.Argument(
    help="Parts, by their numbers in the catalogue.", metavar="PART…",
    show_default=False)]  # fmt: skip
"""Parts of the catalogue."""

_MOST_DIGITS = 18


def part_numbers(texts: Sequence[str]) -> list[int]:
    """Read numbers of parts.

    Raises
    ------
    CatalogueError
        If one is no number.
    """
    for text in texts:
        if not (text.isdecimal() and len(text) <= _MOST_DIGITS):
            raise CatalogueError(
                f"“{plain(text)}” is no number of a part; scoretools catalogue find lists them"
            )
    return [int(text) for text in texts]


def known_range(option: str, text: str | None) -> "Range | None":
    """Read a range of figures: ``3``, ``2-4``, ``2-`` or ``-4``.

    Raises
    ------
    CatalogueError
        If it is none, or one that nothing is in.
    """
    from scoretools.catalogue import Range

    if text is None:
        return None
    low, dash, high = text.replace("–", "-").replace(",", ".").partition("-")
    try:
        least = _finite(low) if low.strip() else None
        most = _finite(high) if high.strip() else None
    except ValueError:
        least = most = None
    if least is None and most is None:
        raise CatalogueError(
            f"{option}: “{plain(text)}” is no range; write 3, 2-4, 2- (2 or more) or -4 (up to 4)"
        )
    if least is not None and most is not None and least > most:
        raise CatalogueError(
            f"{option}: there is nothing in the range “{plain(text)}”; write the smaller figure "
            f"first, as in {most:g}-{least:g}"
        )
    return Range(least, most if dash else least)


def _finite(text: str) -> float:
    value = float(text)
    if not isfinite(value):
        raise ValueError(text)
    return value


def plain(text: object) -> str:
    """Write a text from a score so that it cannot steer a terminal."""
    return "".join(sign if sign.isprintable() else " " for sign in str(text))


def counted(number: int, one: str) -> str:
    """Write a number with its noun: ``1 part``, ``1,059 parts``."""
    return f"{number:,} {one}{'' if number == 1 else 's'}"
