"""How agreement is printed: a table of shares, and the notes on which edition and tool differ."""

import sys
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from statistics import fmean

from rich.box import ASCII2, SIMPLE_HEAD
from rich.console import Console
from rich.table import Table

from scoretools.agreement import SEEDS, Entry, Share, Tally, headline, share_of, total
from scoretools.agreement.report import by_book
from scoretools.agreement.rules import FIRST_POSITION, LOWEST_POSITION

__all__ = ["show_agreement", "show_differences"]

WIDEST_NAME = 44
"""Letters of a file's name that are shown; of longer ones the end."""

MOST_MISTAKEN = 6
"""Pairs of fingers that are named."""

NARROWEST = 80
"""Columns that a table takes at least."""

_PIPED = 200
"""Columns where there is no terminal."""


@dataclass(frozen=True, slots=True)
class _Column:
    """A column of shares."""

    heading: str
    """What stands above it."""
    share: Callable[[Tally], Share]
    """The share of a file or book."""
    mean: str
    """The name of its mean over books."""


_COLUMNS = (
    _Column("finger", lambda tally: tally.hits.finger, "finger"),
    _Column("string", lambda tally: tally.hits.string, "string"),
    _Column("all", lambda tally: tally.hits.everything, "all"),
    _Column("any\nplayer", lambda tally: tally.any_player, "any"),
    _Column("4 or\nopen", lambda tally: tally.fourth_or_open, "fourth_or_open"),
    _Column("after\nshift", lambda tally: tally.after_shift, "after_shift"),
    _Column("rule:\nfirst", lambda tally: tally.rules[0].finger, FIRST_POSITION),
    _Column("rule:\nlowest", lambda tally: tally.rules[1].finger, LOWEST_POSITION),
)

_LEGEND = (
    ("finger, string, all", "share right with the marks hidden, of the marked notes"),
    ("any player", "share of notes with string and finger of at least one player"),
    ("4 or open", "of the marks for fourth finger or open string"),
    ("after shift", "of the marks on the first stopped note after a shift"),
    ("rule: first", f"finger, by the rule “{FIRST_POSITION}”"),
    ("rule: lowest", f"finger, by the rule “{LOWEST_POSITION}”"),
)


def show_agreement(entries: Sequence[Entry]) -> None:
    """Print shares by file and by book, the mean over books, certainty, and marks honoured.

    A file in which nothing is printed has no shares: it is named below the tables.
    """
    console = _console()
    marked = [entry for entry in entries if entry.tally.marks]
    books = by_book(marked)
    everything = total(marked)
    groups = _groups(marked)
    columns = [column for column in _COLUMNS if column.share(everything).of]
    console.print(_shares("File", {_shown(entry.file): entry.tally for entry in marked}, columns))
    if len(books) < len(marked):
        heading = "Book or piece" if "and" in groups else "Book"
        console.print(_shares(heading, books, columns))
    console.print(_totals(books, everything, columns, groups))
    _legend(console, columns)
    _without_marks(console, [entry for entry in entries if not entry.tally.marks])
    _certainty(console, everything)
    _mistaken(console, everything)
    _given(console, books, everything, groups)
    if everything.honoured.of:
        right, of = everything.honoured.right, everything.honoured.of
        share = _share(everything.honoured)
        console.print(f"Given all marks: {share} honoured ({right:.0f} of {of:.0f}).")


def show_differences(entries: Sequence[Entry]) -> None:
    """Print every note on which edition and tool differ."""
    console = _console()
    console.print()
    console.print("Where edition and tool differ:", style="bold")
    table = _empty_table()
    for heading in ("File", "Where", "Note", "Printed", "Found"):
        table.add_column(heading, overflow="fold")
    for heading in ("Margin", "As printed\ncosts more"):
        table.add_column(heading, justify="right")
    for entry in entries:
        for one in entry.differences:
            table.add_row(
                _shown(entry.file), one.where, one.note, one.printed, one.found,
                _points(one.margin), _points(one.dearer),
            )  # fmt: skip
    console.print(table)
    for entry in entries:
        for one in entry.differences:
            if one.not_honoured:
                console.print(f"{_shown(entry.file)}, {one.where}: {one.not_honoured}.")


# ── tables ──────────────────────────────────────────────────────────────────────────────────────


def _shares(heading: str, rows: Mapping[str, Tally], columns: Sequence[_Column]) -> Table:
    table = _table(heading, columns)
    for name, tally in rows.items():
        shares = (_share(column.share(tally)) for column in columns)
        table.add_row(name, str(tally.notes), str(tally.marks), *shares)
    return table


def _totals(
    books: Mapping[str, Tally], everything: Tally, columns: Sequence[_Column], groups: str
) -> Table:
    table = _table("In all", columns)
    notes, marks = str(everything.notes), str(everything.marks)
    if len(books) > 1:
        means = headline(books)
        figures = (_number(means[column.mean]) for column in columns)
        table.add_row(f"mean over {groups}", notes, marks, *figures, style="bold")
    shares = (_share(column.share(everything)) for column in columns)
    table.add_row("all notes together", notes, marks, *shares)
    return table


def _groups(entries: Sequence[Entry]) -> str:
    """Count what the mean is taken over: ``3 books and 4 pieces``; a piece is a file alone."""
    files = Counter(entry.book for entry in entries)
    pieces = sum(count == 1 for count in files.values())
    counts = ((len(files) - pieces, "book"), (pieces, "piece"))
    return " and ".join(
        f"{count} {word}{'' if count == 1 else 's'}" for count, word in counts if count
    )


def _table(heading: str, columns: Sequence[_Column]) -> Table:
    table = _empty_table()
    table.add_column(heading, overflow="fold", min_width=12)
    for name in ("notes", "marks", *(column.heading for column in columns)):
        table.add_column(name, justify="right", no_wrap=True)
    return table


def _legend(console: Console, columns: Sequence[_Column]) -> None:
    shown = {column.heading.replace("\n", " ") for column in columns}
    for name, meaning in _LEGEND:
        if name.partition(",")[0] in shown:
            console.print(f"{name}: {meaning}.", style="dim")


def _without_marks(console: Console, entries: Sequence[Entry]) -> None:
    if entries:
        names = ", ".join(_shown(entry.file) for entry in entries)
        console.print(f"Left out, since no fingers are printed there: {names}.")


def _certainty(console: Console, everything: Tally) -> None:
    notes = sum(band.notes for band in everything.bands)
    if not notes:
        return
    console.print()
    console.print(f"Of {notes} note{'' if notes == 1 else 's'} with a choice:")
    for band in everything.bands:
        share = f"{band.notes / notes:.2f}"
        right = _share(band.finger)
        console.print(
            f"  {band.certainty.value:6} {share} of the notes, right on {right} of "
            f"{band.finger.of:.0f} mark{'' if band.finger.of == 1 else 's'}"
        )


def _mistaken(console: Console, everything: Tally) -> None:
    if not everything.mistaken:
        return
    words = (
        f"{_finger(one.printed)} printed, {_finger(one.found)} found: {one.marks}"
        for one in everything.mistaken[:MOST_MISTAKEN]
    )
    console.print(f"Most often mistaken: {'; '.join(words)}.")


def _finger(finger: int | None) -> str:
    return "open" if finger == 0 else "nothing" if finger is None else str(finger)


def _given(console: Console, books: Mapping[str, Tally], everything: Tally, groups: str) -> None:
    if everything.given:
        marks = fmean(hits.finger.of for hits in everything.given)
        mean = _number(headline(books)["given"])
        over = f"{groups} and " if len(books) > 1 else ""
        console.print(
            f"With the marks of the other bars given: {mean} of the hidden fingers right (mean "
            f"over {over}{len(SEEDS)} draws, {marks:.0f} marks in each)."
        )


# ── words and numbers ───────────────────────────────────────────────────────────────────────────


def _console() -> Console:
    """Make a console on which no column is lost: a narrow terminal wraps the lines itself."""
    console = Console(highlight=False, markup=False, emoji=False)
    console.width = max(console.width, NARROWEST) if sys.stdout.isatty() else _PIPED
    return console


def _empty_table() -> Table:
    """Make a table: lean on a terminal, with every line drawn where there is none."""
    if sys.stdout.isatty():
        return Table(box=SIMPLE_HEAD, padding=0, pad_edge=False)
    return Table(box=ASCII2)


def _shown(file: str) -> str:
    name = Path(file).name
    return name if len(name) <= WIDEST_NAME else f"…{name[1 - WIDEST_NAME :]}"


def _share(share: Share) -> str:
    return _number(share_of(share))


def _number(share: float | None) -> str:
    return "–" if share is None else f"{share:.3f}"


def _points(points: float | None) -> str:
    return "–" if points is None else f"{points:.2f}"
