"""``scoretools guide``: a page for a student, a teacher or a librarian, with commands to copy.

The pages lie in ``guides/`` as Markdown of the plainest kind, so that they read as well where they
are printed as they stand. The first line of a page is its title, the first paragraph under it says
what it is for.
"""

import sys
from importlib.resources import files
from typing import Annotated

import typer

from scoretools.errors import PlayerError

__all__ = ["READERS", "guide", "guide_text"]

READERS = ("student", "teacher", "librarian")
"""For whom there is a guide."""

WIDEST = 80
"""Columns of a guide, however wide the terminal."""


def guide(
    reader: Annotated[str | None, typer.Argument(
        help=f"Who reads: {', '.join(READERS[:-1])} or {READERS[-1]}; without it, what each guide "
             "is about.",
        metavar="READER", show_default=False, autocompletion=lambda: list(READERS))] = None,
) -> None:  # fmt: skip
    """Show a page for a student, a teacher or a librarian.

    Example: scoretools guide student
    """
    if reader is None:
        for name in READERS:
            typer.echo(f"scoretools guide {name:{max(map(len, READERS))}}  {_about(name)}")
        return
    name = reader.casefold()
    if name not in READERS:
        raise PlayerError(f"guide: there is none for “{reader}”; choose {', '.join(READERS)}")
    _show(guide_text(name))


def guide_text(reader: str) -> str:
    """Read a guide.

    Parameters
    ----------
    reader
        One of `READERS`.
    """
    page = files("scoretools.cli").joinpath("guides", f"{reader}.md")
    return page.read_text(encoding="utf-8")


def _about(reader: str) -> str:
    """Take the first paragraph of a guide, in one line."""
    _, paragraph, *_ = guide_text(reader).split("\n\n")
    return " ".join(paragraph.split())


def _show(text: str) -> None:
    """Print a guide: laid out on a terminal, elsewhere as it stands."""
    if not sys.stdout.isatty():
        typer.echo(text, nl=False)
        return
    from rich.console import Console
    from rich.markdown import Markdown

    console = Console()
    console.print(Markdown(text), width=min(console.width, WIDEST))
