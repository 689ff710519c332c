"""What can be asked of the parts of a catalogue: the options of ``find``, and what they say."""

import re
from collections.abc import Sequence
from typing import TYPE_CHECKING, Annotated

import typer

from scoretools.cli.catalogue_options import known_range, plain
from scoretools.errors import CatalogueError

if TYPE_CHECKING:
    from scoretools.catalogue import Range

__all__ = [
    "ComposerOption",
    "DoubleStopsOption",
    "FeatureOption",
    "HighestOption",
    "InstrumentOption",
    "KeyOption",
    "LengthOption",
    "LevelOption",
    "OnlyShapesOption",
    "PartOption",
    "RubricOption",
    "ShapeOption",
    "SortOption",
    "SpeedOption",
    "SqlOption",
    "TagsOption",
    "TitleOption",
    "WithoutShapeOption",
    "WithoutTagOption",
    "known_features",
    "known_fifths",
    "known_instrument",
    "known_shapes",
]

# ── options ─────────────────────────────────────────────────────────────────────────────────────

TitleOption = Annotated[str, typer.Option(
    help="Words of the title, or their beginnings; of the file's name where there is no title.",
    metavar="WORDS")]  # fmt: skip
"""Words of the title."""

ComposerOption = Annotated[str, typer.Option(
    help="Words of the composer's name.", metavar="WORDS")]  # fmt: skip
"""Words of the composer's name."""

PartOption = Annotated[str, typer.Option(
    help="Words of the part's name, such as “violin II”, which also finds Violino 2 or 2nd Violin.",
    metavar="WORDS")]  # fmt: skip
"""Words of the part's name."""

InstrumentOption = Annotated[str, typer.Option(
    help="violin or viola.", metavar="NAME",
    autocompletion=lambda: ["violin", "viola"])]  # fmt: skip
"""Which instrument."""

LevelOption = Annotated[str | None, typer.Option(
    help="Level by the rubric: a number or a range, such as 2-4; the bands go from 1 to 7, the "
         "index from 0 to 100.", metavar="RANGE")]  # fmt: skip
"""Which levels."""

RubricOption = Annotated[str, typer.Option(
    help="Rubric of the level: bands, index or your own; by default the one of the scan.",
    metavar="NAME")]  # fmt: skip
"""By which rubric."""

HighestOption = Annotated[str | None, typer.Option(
    help="Highest position, at most: 1 for first position alone, 0.5 for half position.",
    metavar="NUMBER")]  # fmt: skip
"""Highest position."""

ShapeOption = Annotated[list[str] | None, typer.Option(
    help="Hand shape that is used, such as W-H-W; may be given several times.",
    metavar="SHAPE")]  # fmt: skip
"""Shapes that are used."""

WithoutShapeOption = Annotated[list[str] | None, typer.Option(
    help="Hand shape that is not used; may be given several times.", metavar="SHAPE")]  # fmt: skip
"""Shapes that are not used."""

OnlyShapesOption = Annotated[str, typer.Option(
    help="Hand shapes beside which none is used, such as “W-H-W H-W-W”.",
    metavar="SHAPES")]  # fmt: skip
"""The only shapes."""

KeyOption = Annotated[list[str] | None, typer.Option(
    help="Key signature the part keeps to from beginning to end: a key, as in --key \"B flat "
         "major\" or --key \"F# minor\", or its signs, as in --key \"2 sharps\" or --key \"1 "
         "flat\". Given several times, the part may change among these keys.",
    metavar="KEY")]  # fmt: skip
"""The only key signatures."""

DoubleStopsOption = Annotated[bool | None, typer.Option(
    help="With or without double stops.", show_default=False)]  # fmt: skip
"""Whether there are double stops."""

LengthOption = Annotated[str | None, typer.Option(
    help="Length in bars: a range, such as 16-64.", metavar="RANGE")]  # fmt: skip
"""Length."""

SpeedOption = Annotated[str | None, typer.Option(
    help="Fast notes a second: a range, such as -4.", metavar="RANGE")]  # fmt: skip
"""Speed."""

FeatureOption = Annotated[list[str] | None, typer.Option(
    help="Any feature that scoretools level names, with its range, such as "
         "shifts_per_minute=-5; may be given several times.",
    metavar="NAME=RANGE")]  # fmt: skip
"""Any feature."""

TagsOption = Annotated[list[str] | None, typer.Option(
    help="Tag the part bears; may be given several times.", metavar="TAG")]  # fmt: skip
"""Tags."""

WithoutTagOption = Annotated[list[str] | None, typer.Option(
    help="Tag the part does not bear; may be given several times.", metavar="TAG")]  # fmt: skip
"""Tags that are not borne."""

SortOption = Annotated[str, typer.Option(
    help="What to sort by: level, title, composer, length or number.", metavar="NAME")]  # fmt: skip
"""The order."""

SqlOption = Annotated[str | None, typer.Option(
    help="Ask in SQL instead; it can only read. The tables: part, score, feature, level, "
         "shape, hand_position, double_stop, key_signature, demand, passage, hard_bar, drill, "
         "warning, tag.",
    metavar="SELECT")]  # fmt: skip
"""A question in SQL."""

# ── what options say ────────────────────────────────────────────────────────────────────────────


def known_instrument(text: str) -> str:
    """Read an instrument.

    Raises
    ------
    CatalogueError
        If it is neither violin nor viola.
    """
    if text not in ("", "violin", "viola"):
        raise CatalogueError(f"--instrument: “{plain(text)}” is not known; write violin or viola")
    return text


def known_features(
    highest: str | None, length: str | None, speed: str | None, others: Sequence[str]
) -> "list[tuple[str, Range]]":
    """Read what is asked of features: highest position, length, speed, and any other by its name.

    Raises
    ------
    CatalogueError, PlayerError
        If one is no number or range.
    """
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


def known_shapes(option: str, texts: Sequence[str]) -> tuple[str, ...]:
    """Read hand shapes.

    Raises
    ------
    CatalogueError
        If one is none.
    """
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


def known_fifths(text: str) -> int:
    """Read a key as the number of its sharps, flats negative.

    Raises
    ------
    CatalogueError
        If it is none.
    """
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
