"""Asking the catalogue: ``find``, ``show``, ``compare``, ``next`` and ``programme``."""

import json
import re
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scoretools.cli.catalogue_options import (
    DatabaseOption,
    known_range,
    part_numbers,
    plain,
)
from scoretools.cli.options import whole_number
from scoretools.errors import CatalogueError

if TYPE_CHECKING:
    from scoretools.catalogue import Criteria, Range

__all__ = ["compare", "find", "next_piece", "programme", "show"]

_SHOWN = "30"

_JsonOption = Annotated[bool, typer.Option(
    "--json", help="Print it as JSON, for other programs.")]  # fmt: skip
_Instrument = Annotated[str, typer.Option(
    help="violin or viola.", metavar="NAME",
    autocompletion=lambda: ["violin", "viola"])]  # fmt: skip
_Level = Annotated[str | None, typer.Option(
    help="Level by the rubric: a number or a range, such as 2-4.", metavar="RANGE")]  # fmt: skip
_Highest = Annotated[str | None, typer.Option(
    help="Highest position, at most: 1 for first position alone, 0.5 for half position.",
    metavar="NUMBER")]  # fmt: skip
_Tags = Annotated[list[str] | None, typer.Option(
    help="Tag the part bears; may be given several times.", metavar="TAG")]  # fmt: skip
_Limit = Annotated[str, typer.Option(
    help="Most parts to list; 0: all.", metavar="N")]  # fmt: skip


def find(
    db: DatabaseOption = Path("catalogue.db"),
    title: Annotated[str, typer.Option(
        help="Words of the title, or their beginnings.", metavar="WORDS")] = "",
    composer: Annotated[str, typer.Option(
        help="Words of the composer's name.", metavar="WORDS")] = "",
    part: Annotated[str, typer.Option(
        help="Words of the part's name, such as “violin II”.", metavar="WORDS")] = "",
    instrument: _Instrument = "",
    level: _Level = None,
    rubric: Annotated[str, typer.Option(
        help="Rubric of the level: bands, index or your own; by default the one of the scan.",
        metavar="NAME")] = "",
    highest_position: _Highest = None,
    shape: Annotated[list[str] | None, typer.Option(
        help="Hand shape that is used, such as W-H-W; may be given several times.",
        metavar="SHAPE")] = None,
    without_shape: Annotated[list[str] | None, typer.Option(
        help="Hand shape that is not used; may be given several times.",
        metavar="SHAPE")] = None,
    only_shapes: Annotated[str, typer.Option(
        help="Hand shapes beside which none is used, such as “W-H-W H-W-W”.",
        metavar="SHAPES")] = "",
    key: Annotated[list[str] | None, typer.Option(
        help="Key beside whose signature none is used, such as “D major”, “G minor” or "
             "“2 sharps”; may be given several times.",
        metavar="KEY")] = None,
    double_stops: Annotated[bool | None, typer.Option(
        help="With or without double stops.", show_default=False)] = None,
    length: Annotated[str | None, typer.Option(
        help="Length in bars: a range, such as 16-64.", metavar="RANGE")] = None,
    speed: Annotated[str | None, typer.Option(
        help="Fast notes a second: a range, such as -4.", metavar="RANGE")] = None,
    feature: Annotated[list[str] | None, typer.Option(
        help="Any feature that scoretools level names, with its range, such as "
             "shifts_per_minute=-5; may be given several times.",
        metavar="NAME=RANGE")] = None,
    tag: _Tags = None,
    without_tag: Annotated[list[str] | None, typer.Option(
        help="Tag the part does not bear; may be given several times.", metavar="TAG")] = None,
    gone: Annotated[bool, typer.Option(
        "--gone", help="Look among the scores that are no longer where they were.")] = False,
    sort: Annotated[str, typer.Option(
        help="What to sort by: level, title, composer, length or number.",
        metavar="NAME")] = "level",
    limit: _Limit = _SHOWN,
    sql: Annotated[str | None, typer.Option(
        help="Ask in SQL instead; it can only read. The tables: part, score, feature, level, "
             "shape, hand_position, double_stop, key_signature, demand, passage, hard_bar, drill, "
             "warning, tag.",
        metavar="SELECT")] = None,
    as_csv: Annotated[bool, typer.Option(
        "--csv", help="Print it as CSV, for spreadsheets.")] = False,
    as_json: _JsonOption = False,
) -> None:  # fmt: skip
    """Find parts by what they ask of the left hand.

    Example: scoretools catalogue find --highest-position 3 --level 2-3
    """
    from scoretools.catalogue import Criteria
    from scoretools.cli.show_catalogue import show_found

    if sql is not None:
        _answer(db, sql, as_csv, as_json)
        return
    criteria = Criteria(
        title=title,
        composer=composer,
        part=part,
        instrument=_known_instrument(instrument),
        level=known_range("--level", level),
        rubric=rubric,
        features=tuple(_features(highest_position, length, speed, feature or ())),
        shapes=_shapes("--shape", shape or ()),
        without_shapes=_shapes("--without-shape", without_shape or ()),
        only_shapes=_shapes("--only-shapes", only_shapes.replace(",", " ").split()),
        keys=tuple(_fifths(text) for text in key or ()),
        double_stops=double_stops,
        tags=tuple(tag or ()),
        without_tags=tuple(without_tag or ()),
        missing=gone,
        order=sort,
    )
    most = whole_number("--limit", limit, 0)
    if as_csv:
        _csv(db, criteria)
        return
    from scoretools.catalogue import counts, reading
    from scoretools.catalogue import find as found_by

    with reading(db) as connection:
        found = found_by(connection, criteria)
        total = counts(connection).parts
    if as_json:
        _json([asdict(one) for one in found])
        return
    show_found(found[: most or None], len(found), total)


def _json(value: object) -> None:
    typer.echo(json.dumps(value, ensure_ascii=False, indent=2))


def _csv(db: Path, criteria: "Criteria") -> None:
    from scoretools.catalogue import reading
    from scoretools.catalogue.tables import parts_table
    from scoretools.write.tables import as_csv

    with reading(db) as connection:
        typer.echo(as_csv(parts_table(connection, criteria)), nl=False)


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


# ── what options say ────────────────────────────────────────────────────────────────────────────


def _known_instrument(text: str) -> str:
    if text not in ("", "violin", "viola"):
        raise CatalogueError(f"--instrument: “{plain(text)}” is not known; write violin or viola")
    return text


def _features(
    highest: str | None, length: str | None, speed: str | None, others: Sequence[str]
) -> "list[tuple[str, Range]]":
    from scoretools.catalogue import Range
    from scoretools.player import highest_position_from

    found: list[tuple[str, Range]] = []
    if highest is not None:
        try:
            number = float(highest.replace(",", "."))
        except ValueError:
            raise CatalogueError(
                f"--highest-position: “{plain(highest)}” is no number; write 0.5 to 12"
            ) from None
        highest_position_from("--highest-position", number)
        found.append(("highest_position", Range(None, number)))
    for name, option, text in (
        ("bars", "--length", length),
        ("notes_per_second", "--speed", speed),
    ):
        if (wanted := known_range(option, text)) is not None:
            found.append((name, wanted))
    for text in others:
        name, _, figures = text.partition("=")
        found.append((name.strip(), known_range(f"--feature {plain(name)}", figures) or Range()))
    return found


def _shapes(option: str, texts: Sequence[str]) -> tuple[str, ...]:
    shapes = tuple(text.upper() for text in texts)
    for shape in shapes:
        if not re.fullmatch(r"[HWA?](-[HWA?]){2}", shape):
            raise CatalogueError(
                f"{option}: “{plain(shape)}” is no shape; write three gaps such as W-H-W "
                "(H half step, W whole step, A augmented second)"
            )
    return shapes


_NATURALS = {"F": -1, "C": 0, "G": 1, "D": 2, "A": 3, "E": 4, "B": 5}
"""Sharps of the major keys on the white keys, flats negative."""

_KEY = re.compile(r"(?P<letter>[A-Ga-g])(?P<sign>[#♯b♭]|-?sharp|-?flat)?\s*(?P<mode>major|minor)?")
_SIGNATURE = re.compile(r"(?P<count>[0-7])\s*(?P<kind>sharps?|flats?)")


def _fifths(text: str) -> int:
    """Read a key as the number of its sharps, flats negative."""
    if signature := _SIGNATURE.fullmatch(text.strip()):
        count = int(signature["count"])
        return count if signature["kind"].startswith("sharp") else -count
    found = _KEY.fullmatch(text.strip().replace(" sharp", "#").replace(" flat", "♭"))
    if found:
        sign = (found["sign"] or "").lstrip("-")
        turn = 7 if sign in ("#", "♯", "sharp") else -7 if sign else 0
        fifths = _NATURALS[found["letter"].upper()] + turn - 3 * (found["mode"] == "minor")
        if -7 <= fifths <= 7:
            return fifths
    raise CatalogueError(
        f"--key: “{plain(text)}” is no key; write it as “D major”, “B flat major”, “F# minor”, "
        "“2 sharps” or “1 flat”"
    )


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
    tag: _Tags = None,
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
            criteria = Criteria(tags=tuple(tag), order="number")
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
    instrument: _Instrument = "",
    level: _Level = None,
    highest_position: _Highest = None,
    tag: _Tags = None,
    limit: _Limit = "10",
    db: DatabaseOption = Path("catalogue.db"),
    as_json: _JsonOption = False,
) -> None:  # fmt: skip
    """Rank pieces by what is new for a player, fewest new things first.

    Example: scoretools catalogue next --player mira.toml
    """
    from scoretools.catalogue import Criteria, counts, reading
    from scoretools.catalogue.next_piece import next_pieces
    from scoretools.cli.show_catalogue import show_next
    from scoretools.player import read_player

    who = read_player(player)
    bounds = known_range("--new", new)
    most = whole_number("--limit", limit, 0)
    criteria = Criteria(
        instrument=_known_instrument(instrument) or who.instrument or "",
        level=known_range("--level", level),
        features=tuple(_features(highest_position, None, None, ())),
        tags=tuple(tag or ()),
    )
    with reading(db) as connection:
        ranked = next_pieces(connection, who, criteria)
        held = counts(connection)
    low = bounds.least if bounds and bounds.least is not None else 0
    high = bounds.most if bounds and bounds.most is not None else float("inf")
    fitting = [one for one in ranked if low <= len(one.new) <= high]
    if as_json:
        _json([asdict(one) for one in fitting[: most or None]])
        return
    show_next(who, fitting[: most or None], len(fitting), ranked, held)
