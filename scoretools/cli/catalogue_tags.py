"""Tags of the catalogue's parts: ``tag add``, ``tag remove`` and ``tag list``."""

import json
from collections.abc import Iterator, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scoretools.cli.catalogue_options import (
    DatabaseOption,
    PartNumbers,
    counted,
    part_numbers,
    plain,
)
from scoretools.cli.help import Command, Commands
from scoretools.errors import CatalogueError

if TYPE_CHECKING:
    from sqlite3 import Connection

    from scoretools.catalogue.store import Place

__all__ = ["tag_app", "unknown_tags"]

tag_app = typer.Typer(
    cls=Commands,
    rich_markup_mode=None,
    help="Give parts tags of your own, take them away, or list them.\n\n"
    'Example: scoretools catalogue tag add "spring concert" 1 2',
)

_Tag = Annotated[str, typer.Argument(
    help="The tag, in quotation marks where it has spaces.", metavar="TAG",
    show_default=False)]  # fmt: skip


@tag_app.command(cls=Command)
def add(tag: _Tag, parts: PartNumbers, db: DatabaseOption = Path("catalogue.db")) -> None:
    """Give parts a tag.

    Example: scoretools catalogue tag add "spring concert" 1 2
    """
    from scoretools.catalogue import catalogue, reading
    from scoretools.catalogue.tags import known_tag

    words = known_tag(tag)
    with reading(db) as connection:
        places = _places(connection, parts)
    with catalogue(db) as kept:
        changed = kept.add_tag(words, places)
    typer.echo(f"Newly tagged “{plain(words)}”: {counted(changed, 'part')}.")


@tag_app.command(cls=Command)
def remove(tag: _Tag, parts: PartNumbers, db: DatabaseOption = Path("catalogue.db")) -> None:
    """Take a tag from parts.

    Example: scoretools catalogue tag remove "spring concert" 2
    """
    from scoretools.catalogue import catalogue, reading

    words = " ".join(tag.split())
    with reading(db) as connection:
        places = _places(connection, parts)
        for unknown in unknown_tags(connection, [words]):
            raise unknown
    with catalogue(db) as kept:
        changed = kept.remove_tag(words, places)
    if not changed:
        raise CatalogueError(
            f"none of the parts {', '.join(parts)} bears the tag “{plain(words)}”; scoretools "
            "catalogue find --tag lists those that do"
        )
    typer.echo(f"No longer tagged “{plain(words)}”: {counted(changed, 'part')}.")


def _places(connection: "Connection", parts: Sequence[str]) -> "list[Place]":
    from scoretools.catalogue.query import place_of

    return [place_of(connection, number) for number in dict.fromkeys(part_numbers(parts))]


@tag_app.command("list", cls=Command)
def list_tags(
    db: DatabaseOption = Path("catalogue.db"),
    as_json: Annotated[bool, typer.Option(
        "--json", help="Print it as JSON, for other programs.")] = False,
) -> None:  # fmt: skip
    """List the tags in use, with how many parts bear each.

    Example: scoretools catalogue tag list
    """
    from scoretools.catalogue import reading
    from scoretools.catalogue.tags import tags_in_use
    from scoretools.cli.catalogue_lists import show_tags

    with reading(db) as connection:
        found = tags_in_use(connection)
    if as_json:
        typer.echo(json.dumps([asdict(one) for one in found], ensure_ascii=False, indent=2))
    else:
        show_tags(found)


def unknown_tags(connection: "Connection", tags: Sequence[str]) -> Iterator[CatalogueError]:
    """Say of each tag that no part bears what was perhaps meant; the caller may raise it.

    Parameters
    ----------
    connection
        An open catalogue.
    tags
        Tags asked for.

    Yields
    ------
    CatalogueError
        A sentence for each.
    """
    from scoretools.catalogue.tags import nearest_tag, tags_in_use

    in_use = tags_in_use(connection) if tags else ()
    for tag in tags:
        if tag not in {one.tag for one in in_use}:
            near = nearest_tag(tag, in_use)
            advice = (
                f"perhaps “{plain(near)}” was meant"
                if near
                else "scoretools catalogue tag list shows the tags in use"
            )
            yield CatalogueError(f"no part bears the tag “{plain(tag)}”; {advice}")
