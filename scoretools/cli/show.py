"""How an analysis is printed: wrapped and coloured on a terminal, else a line for each sentence."""

import sys
from collections.abc import Collection, Iterable, Sequence
from pathlib import Path

from rich.console import Console
from rich.text import Text

from scoretools.drills.choose import CAUTIONS
from scoretools.model import Analysis, Drill
from scoretools.write.summary import (
    ceiling_sentence,
    coverage_lines,
    drill_lines,
    drill_lines_in_short,
    hardest_bars,
    heading,
    listed,
    notice_lines,
    what_it_asks,
)

__all__ = [
    "NARROWEST",
    "WIDEST",
    "show_analysis",
    "show_for_student",
    "show_line",
    "show_saved",
    "show_section",
]

DRILLS_FOR_STUDENT = 3
"""Drills a student is told of in the terminal; all of them are in the drill book."""

BARS_FOR_STUDENT = 3
"""Hardest bars a student is told of in the terminal."""

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


def show_for_student(analysis: Analysis) -> None:
    """Print what to practise first, the hardest bars and the cautions."""
    console = Console(highlight=False)
    show_line(console, "", heading(analysis), "bold")
    show_section(console, "Practise first", [])
    if not analysis.drills:
        show_line(console, "", _NO_DRILLS, "")
    for drill in analysis.drills[:DRILLS_FOR_STUDENT]:
        _drill(console, drill, drill_lines_in_short(analysis, drill))
    more = len(analysis.drills) - DRILLS_FOR_STUDENT
    if more > 0:
        drills = "1 more drill" if more == 1 else f"{more} more drills"
        show_line(console, "", f"Then {drills}, all in drills.pdf, which --out writes.", "")
    bars = [sentence for _, sentence in hardest_bars(analysis, BARS_FOR_STUDENT)]
    if bars:
        show_section(console, "Hardest bars first", _listed(bars))
    show_section(console, "Take care", _listed(CAUTIONS))


def show_saved(folder: Path | None, names: Collection[str] = (), listing: bool = False) -> None:
    """Say where the results are; on a terminal, how to keep them where they are not.

    Parameters
    ----------
    folder
        Where they were written; none: they were not.
    names
        The files written.
    listing
        Whether the files are named.
    """
    console = Console(highlight=False)
    if folder is not None:
        console.print()
        files = f": {listed(sorted(names, key=_to_be_read))}" if listing and names else ""
        opened = f"; open {folder / _PAGE} in a browser" if _PAGE in names else ""
        show_line(console, "", f"Written into {folder}{files}{opened}.", "")
    elif sys.stdout.isatty():
        console.print()
        show_line(console, "", "To keep this with its tables and charts, add --out FOLDER.", "dim")


_PAGE = "report.html"
"""What to open first, where it was written."""


def _to_be_read(name: str) -> tuple[bool, bool, str]:
    """Sort what a person reads before what other programs read, the page first."""
    return name != _PAGE, not name.endswith(".pdf"), name


def _drills(console: Console, analysis: Analysis) -> None:
    show_section(console, "Drills, in this order", [])
    if not analysis.drills:
        show_line(console, "", _NO_DRILLS, "")
    for drill in analysis.drills:
        _drill(console, drill, drill_lines(analysis, drill))
    covered = coverage_lines(analysis)
    if covered:
        show_section(console, "Served and left out", _listed(_shortened(covered)))


_NO_DRILLS = "Nothing here that this player does not know already."


def _drill(console: Console, drill: Drill, lines: Sequence[str]) -> None:
    marker = f"{drill.index + 1}. "
    first, *others = lines
    show_line(console, marker, first, _NUMBER)
    for line in others:
        show_line(console, " " * len(marker), line, "")


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
