"""Asking the catalogue: ``find``, ``show``, ``compare``, ``next`` and ``programme``."""

import json
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scoretools.cli.catalogue_criteria import (
    ComposerOption,
    DoubleStopsOption,
    FeatureOption,
    HighestOption,
    InstrumentOption,
    KeyOption,
    LengthOption,
    LevelOption,
    OnlyShapesOption,
    PartOption,
    RubricOption,
    ShapeOption,
    SortOption,
    SpeedOption,
    SqlOption,
    TagsOption,
    TitleOption,
    WithoutShapeOption,
    WithoutTagOption,
    known_features,
    known_fifths,
    known_instrument,
    known_shapes,
)
from scoretools.cli.catalogue_options import DatabaseOption, known_range, part_numbers
from scoretools.cli.catalogue_tags import unknown_tags
from scoretools.cli.options import whole_number

if TYPE_CHECKING:
    from sqlite3 import Connection

    from scoretools.catalogue import Criteria

__all__ = ["compare", "find", "next_piece", "programme", "show"]

_SHOWN = "30"

_JsonOption = Annotated[bool, typer.Option(
    "--json", help="Print it as JSON, for other programs.")]  # fmt: skip
_CsvOption = Annotated[bool, typer.Option(
    "--csv", help="Print it as CSV, for spreadsheets.")]  # fmt: skip
_GoneOption = Annotated[bool, typer.Option(
    "--gone", help="Look among the scores that are no longer where they were.")]  # fmt: skip
_Limit = Annotated[str, typer.Option(
    help="Most parts to list; 0: all.", metavar="N")]  # fmt: skip


def find(
    db: DatabaseOption = Path("catalogue.db"),
    title: TitleOption = "",
    composer: ComposerOption = "",
    part: PartOption = "",
    instrument: InstrumentOption = "",
    level: LevelOption = None,
    rubric: RubricOption = "",
    highest_position: HighestOption = None,
    shape: ShapeOption = None,
    without_shape: WithoutShapeOption = None,
    only_shapes: OnlyShapesOption = "",
    key: KeyOption = None,
    double_stops: DoubleStopsOption = None,
    length: LengthOption = None,
    speed: SpeedOption = None,
    feature: FeatureOption = None,
    tag: TagsOption = None,
    without_tag: WithoutTagOption = None,
    gone: _GoneOption = False,
    sort: SortOption = "level",
    limit: _Limit = _SHOWN,
    sql: SqlOption = None,
    as_csv: _CsvOption = False,
    as_json: _JsonOption = False,
) -> None:
    """Find parts by what they ask of the left hand.

    Example: scoretools catalogue find --highest-position 3 --level 2-3
    """
    from scoretools.catalogue import Criteria

    if sql is not None:
        _answer(db, sql, as_csv, as_json)
        return
    criteria = Criteria(
        title=title,
        composer=composer,
        part=part,
        instrument=known_instrument(instrument),
        level=known_range("--level", level),
        rubric=rubric,
        features=tuple(known_features(highest_position, length, speed, feature or ())),
        shapes=known_shapes("--shape", shape or ()),
        without_shapes=known_shapes("--without-shape", without_shape or ()),
        only_shapes=known_shapes("--only-shapes", only_shapes.replace(",", " ").split()),
        keys=tuple(known_fifths(text) for text in key or ()),
        double_stops=double_stops,
        tags=_tags(tag),
        without_tags=_tags(without_tag),
        missing=gone,
        order=sort,
    )
    most = whole_number("--limit", limit, 0)
    if as_csv:
        _csv(db, criteria)
    else:
        _find(db, criteria, most, as_json)


def _tags(texts: Sequence[str] | None) -> tuple[str, ...]:
    """Take tags with single spaces, as they are kept."""
    return tuple(" ".join(text.split()) for text in texts or ())


def _find(db: Path, criteria: "Criteria", most: int, as_json: bool) -> None:
    from scoretools.catalogue import counts, reading
    from scoretools.catalogue import find as found_by
    from scoretools.cli.catalogue_lists import show_found

    with reading(db) as connection:
        found = found_by(connection, criteria)
        total = counts(connection).parts
        _tell_unknown_tags(connection, criteria)
    if as_json:
        _json([asdict(one) for one in found])
    else:
        show_found(found[: most or None], len(found), total)


def _tell_unknown_tags(connection: "Connection", criteria: "Criteria") -> None:
    """Say which tags asked for nobody bears: that may be a slip."""
    for unknown in unknown_tags(connection, (*criteria.tags, *criteria.without_tags)):
        typer.echo(f"scoretools: {unknown}.", err=True)


def _json(value: object) -> None:
    typer.echo(json.dumps(value, ensure_ascii=False, indent=2))


def _csv(db: Path, criteria: "Criteria") -> None:
    from scoretools.catalogue import reading
    from scoretools.catalogue.tables import parts_table
    from scoretools.write.tables import as_csv

    with reading(db) as connection:
        typer.echo(as_csv(parts_table(connection, criteria)), nl=False)
        _tell_unknown_tags(connection, criteria)


def _answer(db: Path, sql: str, as_csv: bool, as_json: bool) -> None:
    from scoretools.catalogue import answer, reading
    from scoretools.catalogue.query import readable
    from scoretools.cli.show_catalogue import show_rows

    with reading(db) as connection:
        found = answer(connection, sql)
    if as_json:
        _json([dict(zip(found.columns, map(readable, row), strict=True)) for row in found.rows])
    elif as_csv:
        from scoretools.catalogue.tables import rows_table
        from scoretools.write.tables import as_csv as written

        typer.echo(written(rows_table(found)), nl=False)
    else:
        show_rows(found)


# ── one part, two parts, several parts ──────────────────────────────────────────────────────────

_PartNumber = Annotated[str, typer.Argument(
    help="Part, by its number in the catalogue.", metavar="PART", show_default=False)]  # fmt: skip


def show(
    part: _PartNumber, db: DatabaseOption = Path("catalogue.db"), as_json: _JsonOption = False
) -> None:
    """Show one part: level, hardest bars, positions, shapes, drills.

    Example: scoretools catalogue show 1
    """
    from scoretools.catalogue import in_full, reading
    from scoretools.cli.show_catalogue import show_part

    (number,) = part_numbers([part])
    with reading(db) as connection:
        full = in_full(connection, number)
    if as_json:
        _json(asdict(full))
    else:
        show_part(full)


def compare(
    first: _PartNumber,
    second: _PartNumber,
    db: DatabaseOption = Path("catalogue.db"),
) -> None:
    """Set two parts side by side: what one asks that the other does not.

    Example: scoretools catalogue compare 1 2
    """
    from scoretools.catalogue import reading
    from scoretools.catalogue.together import compare as compared
    from scoretools.cli.show_catalogue import show_difference

    one, other = part_numbers([first, second])
    with reading(db) as connection:
        difference = compared(connection, one, other)
    show_difference(difference)


def programme(
    parts: Annotated[list[str] | None, typer.Argument(
        help="Parts, by their numbers in the catalogue.", metavar="PART…",
        show_default=False)] = None,
    tag: TagsOption = None,
    hardest: Annotated[str, typer.Option(
        help="How many of the hardest bars to name.", metavar="N")] = "5",
    db: DatabaseOption = Path("catalogue.db"),
    as_json: _JsonOption = False,
) -> None:  # fmt: skip
    """Say what several parts need together: shapes, positions, drills, the hardest bars.

    Example: scoretools catalogue programme 1 2 3
    """
    from scoretools.catalogue import Criteria, reading
    from scoretools.catalogue import find as found_by
    from scoretools.catalogue.together import together
    from scoretools.cli.show_catalogue import show_together

    numbers = part_numbers(parts or ())
    bars = whole_number("--hardest", hardest, 1)
    with reading(db) as connection:
        if tag:
            for unknown in unknown_tags(connection, _tags(tag)):
                raise unknown
            criteria = Criteria(tags=_tags(tag), order="number")
            numbers += [found.id for found in found_by(connection, criteria)]
        whole = together(connection, numbers, bars)
    if as_json:
        _json(asdict(whole))
    else:
        show_together(whole)


def next_piece(
    player: Annotated[Path, typer.Option(
        help="Player file (TOML): known_shapes, shapes_in_work, known_positions, "
             "known_double_stops; scoretools player new writes one.",
        metavar="FILE.toml", show_default=False)],
    new: Annotated[str, typer.Option(
        help="How many new things a piece may bring: a range, such as 1 or 0-2.",
        metavar="RANGE")] = "1-",
    instrument: InstrumentOption = "",
    level: LevelOption = None,
    highest_position: Annotated[str | None, typer.Option(
        help="Highest position, at most; by default the player's.", metavar="NUMBER")] = None,
    tag: TagsOption = None,
    limit: _Limit = "10",
    db: DatabaseOption = Path("catalogue.db"),
    as_json: _JsonOption = False,
) -> None:  # fmt: skip
    """Rank pieces by what is new for a player, fewest new things first.

    Only parts within the player's highest position are listed; those for violin and for viola
    apart, where the player file names no instrument.

    Example: scoretools catalogue next --player mira.toml
    """
    from scoretools.catalogue import Criteria, counts, reading
    from scoretools.catalogue.next_piece import next_pieces, too_high
    from scoretools.cli.catalogue_lists import NextPieces, show_next
    from scoretools.player import read_player

    who = read_player(player)
    bounds = known_range("--new", new)
    most = whole_number("--limit", limit, 0)
    criteria = Criteria(
        instrument=known_instrument(instrument),
        level=known_range("--level", level),
        features=tuple(known_features(highest_position, None, None, ())),
        tags=_tags(tag),
    )
    with reading(db) as connection:
        ranked = next_pieces(connection, who, criteria)
        above = too_high(connection, who, criteria)
        held = counts(connection)
        _tell_unknown_tags(connection, criteria)
    low = bounds.least if bounds and bounds.least is not None else 0
    high = bounds.most if bounds and bounds.most is not None else float("inf")
    fitting = [one for one in ranked if low <= len(one.new) <= high]
    by_instrument = {
        name: [one for one in fitting if one.found.instrument == name][: most or None]
        for name in ("violin", "viola")
    }
    listed = {name: some for name, some in by_instrument.items() if some}
    if as_json:
        _json([asdict(one) for some in listed.values() for one in some])
    else:
        show_next(who, NextPieces(listed, len(fitting), ranked, above), held)
