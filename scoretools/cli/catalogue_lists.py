"""How lists of the catalogue's parts are printed: what was found, what comes next, the tags."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

from rich.box import SIMPLE_HEAD
from rich.cells import cell_len
from rich.console import Console
from rich.table import Table

from scoretools.catalogue import FoundPart
from scoretools.catalogue.next_piece import Suggestion, words_of_new
from scoretools.catalogue.query import Counts
from scoretools.catalogue.tags import BETWEEN_TAGS, TagInUse
from scoretools.cli.catalogue_options import counted, plain
from scoretools.cli.show import WIDEST, show_line
from scoretools.instrument import ordinal, position_label
from scoretools.model import PositionNumber
from scoretools.player import Player

__all__ = [
    "ASSUMED",
    "NextPieces",
    "console_for",
    "level_words",
    "position_words",
    "profiles_of",
    "show_found",
    "show_next",
    "show_tags",
    "show_tempo",
    "table_of",
]

_PIPED = 160
"""Columns where there is no terminal."""

_SHAPES = 2
"""Shapes of a part that are listed; ``show`` names all."""

ASSUMED = " *"
"""Mark of a figure that rests on an assumed tempo."""


def console_for() -> Console:
    """Open the terminal, or what stands for one."""
    console = Console(highlight=False, markup=False)
    if not console.is_terminal:
        console.width = _PIPED
    return console


def table_of(*headings: str, right: Sequence[str] = ()) -> Table:
    """Begin a table; `right` are the headings of columns of figures."""
    table = Table(box=SIMPLE_HEAD, pad_edge=False, show_edge=False)
    for heading in headings:
        table.add_column(heading, justify="right" if heading in right else "left", overflow="fold")
    return table


def level_words(one: FoundPart) -> str:
    """Write a part's level with its number or points, marked where the tempo is assumed."""
    points = one.level.startswith(f"{one.value:g} of ")
    number = "" if points else f" ({one.value:g})"
    return plain(f"{one.level}{number}{ASSUMED if one.tempo_assumed else ''}")


def position_words(number: int) -> str:
    """Write a position briefly: ``3rd``, ``half``."""
    return ordinal(PositionNumber(number)) if number else "half"


def profiles_of(counts: Counts) -> str:
    """Say for whom a catalogue was fingered."""
    names = [*(profile.replace("-", " ") for profile in counts.profiles), *counts.players]
    return ", ".join(plain(name) for name in names) or "nobody yet"


def show_tempo(console: Console, found: Iterable[FoundPart]) -> None:
    """Say what the mark of an assumed tempo means, where one of these parts bears it."""
    if any(one.tempo_assumed for one in found):
        show_line(console, "", f"{ASSUMED.strip()} The score prints no tempo, or not throughout: "
                  "what hangs on speed rests on an assumed one.", "")  # fmt: skip


# ── what was found ──────────────────────────────────────────────────────────────────────────────


@dataclass(frozen=True, slots=True)
class _Column:
    heading: str
    cell: Callable[[FoundPart], str]
    figure: bool = False
    whole: bool = False


_TITLE = "Title"
_COLUMNS = (
    _Column("No.", lambda one: str(one.id), figure=True, whole=True),
    _Column(_TITLE, lambda one: plain(one.title)),
    _Column("Composer", lambda one: plain(one.composer)),
    _Column("Part", lambda one: _name(one)),
    _Column("Level", lambda one: level_words(one).replace(" points", ""), whole=True),
    _Column("Pos.", lambda one: _highest(one), whole=True),
    _Column("Bars", lambda one: str(one.bars), figure=True, whole=True),
    _Column("Shapes", lambda one: _some(one.shapes), whole=True),
    _Column("Tags", lambda one: plain(BETWEEN_TAGS.join(one.tags))),
)

_GIVEN_UP = ("Shapes", "Tags", "Composer")
"""What is left out where there is no room, in this order; shapes before anything is broken."""

_IN_NEED = ("Part", "Composer", "Tags", "No.", "Level", "Pos.", "Bars", "Shapes")
"""Who is given room first, beside titles."""

_BETWEEN = 2
"""Columns of the terminal between two of a table."""

_KEPT_WHOLE = 14
"""A name no longer than this, such as *Violin II*, is broken only where it must be."""

_LEAST_FOR_TITLES = 0.28
"""Share of the width that titles have, however much the others need."""


def show_found(found: Sequence[FoundPart], fitting: int, total: int) -> None:
    """List parts, no wider than is read with ease.

    Parameters
    ----------
    found
        The parts to list.
    fitting
        How many fit in all.
    total
        How many the catalogue holds.
    """
    console = console_for()
    if not found:
        show_line(console, "", f"None of {counted(total, 'part')} fits.", "")
        return
    console.width = min(console.width, WIDEST)
    columns = [one for one in _COLUMNS if any(one.cell(part) for part in found)]
    widths = _widths(columns, found, console.width)
    console.print(_parts_table(columns, widths, found))
    more = f", {len(found)} of them listed (--limit 0 lists all)" if fitting > len(found) else ""
    show_line(console, "", f"{fitting:,} of {counted(total, 'part')} fit{more}.", "")
    given_up = [one.heading.lower() for one in columns if one.heading not in widths]
    if given_up:
        show_line(console, "", f"No room here for {' and '.join(given_up)}; --csv and scoretools "
                  "catalogue show give them.", "")  # fmt: skip
    show_tempo(console, found)


def _parts_table(
    columns: Sequence[_Column], widths: Mapping[str, int], found: Sequence[FoundPart]
) -> Table:
    table = Table(box=SIMPLE_HEAD, pad_edge=False, show_edge=False, padding=(0, _BETWEEN - 1, 0, 0))
    shown = [one for one in columns if one.heading in widths]
    for one in shown:
        table.add_column(
            one.heading,
            justify="right" if one.figure else "left",
            overflow="fold",
            width=widths[one.heading],
        )
    for part in found:
        table.add_row(*(one.cell(part) for one in shown))
    return table


def _widths(columns: Sequence[_Column], found: Sequence[FoundPart], most: int) -> dict[str, int]:
    """Share the width out: what must not be broken first, then names, then titles."""
    texts = {one.heading: [one.heading, *map(one.cell, found)] for one in columns}
    natural = {heading: max(map(cell_len, cells)) for heading, cells in texts.items()}
    widths = {
        one.heading: natural[one.heading] if one.whole else _longest_word(texts[one.heading])
        for one in columns
    }
    widths[_TITLE] = min(natural[_TITLE], int(_LEAST_FOR_TITLES * most))
    first, *others = _GIVEN_UP
    if _total(natural) > most:
        widths.pop(first, None)
    for heading in others:
        if _total(widths) > most:
            widths.pop(heading, None)
    names = sorted(widths.keys() - {_TITLE}, key=_IN_NEED.index)
    for heading in (*names, _TITLE):
        wanted = natural[heading] if heading == _TITLE else min(natural[heading], _KEPT_WHOLE)
        _widen(widths, heading, wanted, most)
    for heading in names:
        _widen(widths, heading, natural[heading], most)
    return widths


def _widen(widths: dict[str, int], heading: str, wanted: int, most: int) -> None:
    widths[heading] += max(0, min(wanted - widths[heading], most - _total(widths)))


def _longest_word(cells: Iterable[str]) -> int:
    return min(_KEPT_WHOLE, max(cell_len(word) for cell in cells for word in cell.split()))


def _total(widths: Mapping[str, int]) -> int:
    return sum(widths.values()) + _BETWEEN * (len(widths) - 1)


def _name(one: FoundPart) -> str:
    return plain(one.part or one.instrument.capitalize())


def _highest(one: FoundPart) -> str:
    return position_words(int(one.highest_position)) if one.highest_position else "open"


def _some(shapes: Sequence[str]) -> str:
    more = f" +{len(shapes) - _SHAPES}" if len(shapes) > _SHAPES else ""
    return " ".join(shapes[:_SHAPES]) + more


# ── what comes next ─────────────────────────────────────────────────────────────────────────────


@dataclass(frozen=True, slots=True)
class NextPieces:
    """Pieces for a player, and how many others there are."""

    listed: Mapping[str, Sequence[Suggestion]]
    """By instrument, the pieces to list, in order; none empty."""
    fitting: int
    """Pieces that bring as many new things as was asked for."""
    ranked: Sequence[Suggestion]
    """All pieces that come into question."""
    too_high: int
    """Pieces left out since they go beyond the player's highest position."""


def show_next(player: Player, pieces: NextPieces, counts: Counts) -> None:
    """List pieces with what is new in them, the instruments apart.

    Parameters
    ----------
    player
        For whom.
    pieces
        The pieces.
    counts
        What the catalogue holds.
    """
    console = console_for()
    who = plain(player.name) or "this player"
    if not pieces.listed:
        show_line(console, "", f"No part{_within(player)} brings that many new things for {who}.",
                  "")  # fmt: skip
    for instrument, listed in pieces.listed.items():
        if len(pieces.listed) > 1:
            show_line(console, "", f"For {instrument}", "bold cyan")
        for place, one in enumerate(listed, 1):
            _show_suggestion(console, place, one)
        console.print()
    _show_rest(console, player, who, pieces)
    show_tempo(console, (one.found for listed in pieces.listed.values() for one in listed))
    if str(player.profile) not in counts.profiles or player.name not in ("", *counts.players):
        show_line(console, "", f"The catalogue was fingered for: {profiles_of(counts)}; scanned "
                  "with --player it tells more exactly what this player meets.", "")  # fmt: skip


def _show_suggestion(console: Console, place: int, one: Suggestion) -> None:
    found = one.found
    show_line(console, f"{place}. ", plain(f"No. {found.id}, {found.title}, {_name(found)}: "
              f"{level_words(found)}"), "bold")  # fmt: skip
    show_line(console, "   ", f"New: {words_of_new(one.new)}", "")


def _show_rest(console: Console, player: Player, who: str, pieces: NextPieces) -> None:
    """Say how many pieces are not listed, and why."""
    known = sum(not one.new for one in pieces.ranked)
    listed = sum(map(len, pieces.listed.values()))
    show_line(console, "", f"{counted(pieces.fitting, 'part')} of {len(pieces.ranked):,} bring "
              f"that many new things, {listed} listed; {known:,} bring nothing new for {who} "
              "(--new 0 lists them).", "")  # fmt: skip
    if pieces.too_high:
        show_line(console, "", f"Left out: {counted(pieces.too_high, 'part')} above "
                  f"{_highest_of(player)}, the highest this player takes "
                  "(--highest-position lists higher ones).", "")  # fmt: skip
    if len(pieces.listed) > 1:
        show_line(console, "", "The player file names no instrument; --instrument violin or viola "
                  "lists one alone.", "")  # fmt: skip


def _within(player: Player) -> str:
    return "" if player.highest_position is None else f" within {_highest_of(player)}"


def _highest_of(player: Player) -> str:
    return position_label(player.highest_position or PositionNumber(0))


# ── tags ────────────────────────────────────────────────────────────────────────────────────────


def show_tags(found: Sequence[TagInUse]) -> None:
    """List the tags in use."""
    console = console_for()
    if not found:
        show_line(console, "", "There are no tags yet; scoretools catalogue tag add gives them.",
                  "")  # fmt: skip
        return
    gone = any(one.gone for one in found)
    headings = ("Tag", "Parts", *(["Gone"] if gone else []))
    table = table_of(*headings, right=headings[1:])
    for one in found:
        table.add_row(plain(one.tag), str(one.parts), *([str(one.gone)] if gone else []))
    console.print(table)
