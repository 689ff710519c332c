"""How a plan and a practice log are printed."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from rich.console import Console

from scoretools.cli.show import show_line, show_section
from scoretools.model import Analysis
from scoretools.model.plan import Plan
from scoretools.write.plan_words import (
    block_words,
    day_name,
    load_words,
    not_fitting_lines,
    on_the_way_lines,
    piece_name,
    settled_lines,
)

if TYPE_CHECKING:
    from scoretools.practice_log import Log

__all__ = ["show_log", "show_plan"]

LINES_SHOWN = 10
"""Lines of a list that are printed; all of them are in the page."""

DAYS_SHOWN = 3
"""Days printed block by block; all of them are in the files."""


def show_plan(
    plan: Plan,
    pieces: Sequence[Analysis],
    folder: Path | None,
    skipped: Sequence[str],
    told: Sequence[str],
) -> None:
    """Print the next days, what there is no time for, and the cautions.

    Parameters
    ----------
    folder
        Where the files are, if any were written.
    skipped
        What could not be read in the log.
    told
        Which parts were taken where the one asked for was not there, and what could not be done.
    """
    console = Console(highlight=False)
    titles = dict.fromkeys(map(piece_name, pieces))
    show_line(console, "", f"Practice plan up to {plan.lesson}: {' · '.join(titles)}", "bold")
    for sentence in told:
        show_line(console, "", f"{sentence}.", "")
    for day in plan.days[:DAYS_SHOWN]:
        show_section(
            console,
            f"{day_name(day)}, {day.minutes} minutes",
            [(f"{b.minutes:>3} min  ", block_words(plan, pieces, b)) for b in day.blocks],
        )
    more = plan.days[DAYS_SHOWN:]
    if more:
        console.print()
        days = ", ".join(f"{day_name(day)} ({day.minutes} min)" for day in more)
        show_line(console, "", f"Then: {days}.", "")
    if not plan.days:
        console.print()
        show_line(console, "", f"Nothing is due before {plan.lesson}.", "")
    console.print()
    show_line(console, "", load_words(plan), "")
    for title, lines in (
        ("Clean at the goal twice, settled", settled_lines(plan, pieces)),
        ("Not at full tempo by the lesson, even if every session is clean",
         on_the_way_lines(plan, pieces)),
        ("No time before the lesson", not_fitting_lines(plan, pieces)),
    ):  # fmt: skip
        _show_lines(console, title, lines, folder)
    if skipped:
        show_section(console, "Skipped in the log", [("- ", line) for line in skipped])
    show_section(console, "Take care", [("- ", caution) for caution in plan.cautions])
    console.print()
    where = f"Written into {folder}." if folder else "To print it, add --out FOLDER."
    show_line(console, "", where, "")


def _show_lines(console: Console, title: str, lines: Sequence[str], folder: Path | None) -> None:
    if not lines:
        return
    shown = [("- ", line) for line in lines[:LINES_SHOWN]]
    if len(lines) > LINES_SHOWN:
        where = f"in {folder / 'plan.html'}" if folder else "with --out FOLDER"
        shown.append(("", f"And {len(lines) - LINES_SHOWN} more, {where}."))
    show_section(console, title, shown)


def show_log(log: "Log") -> None:
    """Print the last sessions of the drills practised last, and which are not begun."""
    console = Console(highlight=False)
    titles = dict.fromkeys((*log.numbers.values(), *(done.title for done in log.done)))
    number = {title: place for place, title in log.numbers.items()}
    last = {done.title: done.day for done in sorted(log.done, key=lambda done: done.day)}
    begun = sorted((one for one in titles if one in last), key=lambda one: last[one], reverse=True)
    for title in begun[:LINES_SHOWN]:
        marks = [
            f"{done.day.isoformat()} {'clean' if done.clean else 'again'}"
            for done in log.done
            if done.title == title
        ]
        marker = f"{number[title]}. " if title in number else "– "
        show_line(console, marker, f"{title}: {', '.join(marks[-3:])}", "")
    if begun[LINES_SHOWN:]:
        show_line(console, "", f"And {len(begun) - LINES_SHOWN} more, in the log.", "")
    waiting = [str(number[title]) for title in titles if title not in last]
    if waiting:
        more = f" and {len(waiting) - LINES_SHOWN} more" if waiting[LINES_SHOWN:] else ""
        show_line(console, "", f"Not practised yet: {', '.join(waiting[:LINES_SHOWN])}{more}.", "")
    if not titles:
        show_line(console, "", "The log is empty.", "")
    for line in log.skipped:
        show_line(console, "", line, "")
