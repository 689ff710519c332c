"""How an analysis is printed: wrapped and coloured on a terminal, else a line for each sentence."""

import sys
from collections.abc import Collection, Iterable, Sequence
from pathlib import Path

from rich.console import Console
from rich.text import Text

from scoretools.drills.choose import CAUTIONS
from scoretools.model import Analysis
from scoretools.write.summary import (
    ceiling_sentence,
    coverage_lines,
    drill_lines,
    hardest_bars,
    heading,
    notice_lines,
    what_it_asks,
)

__all__ = ["NARROWEST", "WIDEST", "show_analysis", "show_line", "show_saved", "show_section"]

NOTICES_SHOWN = 8
"""Notices printed; all of them are in analysis.json and on the page."""

WIDEST = 100
"""Columns after which a line is hard to read, however wide the terminal."""

NARROWEST = 20
"""Columns below which a line is not wrapped, however narrow the terminal."""

_TITLE = "bold cyan"
_NUMBER = "bold"


def show_analysis(analysis: Analysis) -> None:
    """Print what a part asks, its hardest bars, the drills, what was assumed, and the cautions."""
    console = Console(highlight=False)
    show_line(console, "", heading(analysis), "bold")
    show_section(
        console, "What it asks of the left hand",
        [("", sentence) for sentence in (*what_it_asks(analysis), ceiling_sentence(analysis))],
    )  # fmt: skip
    bars = [sentence for _, sentence in hardest_bars(analysis)]
    if bars:
        show_section(console, "Hardest bars first", _listed(bars))
    _drills(console, analysis)
    notices = notice_lines(analysis)
    if notices:
        show_section(console, "Skipped, assumed or contradictory", _listed(_shortened(notices)))
    show_section(console, "Take care", _listed(CAUTIONS))


def show_saved(folder: Path | None, names: Collection[str] = ()) -> None:
    """Say where the results are; on a terminal, how to keep them where they are not."""
    console = Console(highlight=False)
    if folder is not None:
        console.print()
        opened = f"; open {folder / _PAGE} in a browser" if _PAGE in names else ""
        show_line(console, "", f"Written into {folder}{opened}.", "")
    elif sys.stdout.isatty():
        console.print()
        show_line(console, "", "To keep this with its tables and charts, add --out FOLDER.", "dim")


_PAGE = "report.html"
"""What to open first, where it was written."""


def _drills(console: Console, analysis: Analysis) -> None:
    show_section(console, "Drills, in this order", [])
    if not analysis.drills:
        show_line(console, "", "Nothing here that this player does not know already.", "")
    for drill in analysis.drills:
        marker = f"{drill.index + 1}. "
        first, *others = drill_lines(analysis, drill)
        show_line(console, marker, first, _NUMBER)
        for line in others:
            show_line(console, " " * len(marker), line, "")
    covered = coverage_lines(analysis)
    if covered:
        show_section(console, "Served and left out", _listed(_shortened(covered)))


def show_section(console: Console, title: str, lines: Iterable[tuple[str, str]]) -> None:
    """Print a title and its sentences, each after its marker."""
    console.print()
    show_line(console, "", title, _TITLE)
    for marker, sentence in lines:
        show_line(console, marker, sentence, "")


def _listed(sentences: Iterable[str]) -> list[tuple[str, str]]:
    return [("- ", sentence) for sentence in sentences]


def _shortened(notices: Sequence[str]) -> list[str]:
    more = len(notices) - NOTICES_SHOWN
    if more <= 1:
        return list(notices)
    return [*notices[:NOTICES_SHOWN], f"and {more} more, all in the report that --out writes"]


def show_line(console: Console, marker: str, sentence: str, style: str) -> None:
    """Print a sentence after its marker; on a terminal, wrapped under itself."""
    lines = [sentence]
    if sys.stdout.isatty():
        width = max(NARROWEST, min(console.width, WIDEST) - len(marker))
        lines = [line.plain.rstrip() for line in Text(sentence).wrap(console, width)]
    for line in lines:
        console.print(f"{marker}{line}", style=style, markup=False, soft_wrap=True)
        marker = " " * len(marker)
