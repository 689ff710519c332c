"""How a plan and a practice log are printed."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from rich.console import Console

from scoretools.cli.show import show_line, show_section
from scoretools.model import Analysis
from scoretools.model.plan import Plan
from scoretools.write.plan_words import (
    GENTLE,
    block_words,
    day_name,
    not_fitting_lines,
    on_the_way_lines,
    piece_name,
    task_name,
)

if TYPE_CHECKING:
    from scoretools.practice_log import Log

__all__ = ["show_log", "show_plan"]

LINES_SHOWN = 10
"""Lines of a list that are printed; all of them are in the page."""

DAYS_SHOWN = 3
"""Days printed block by block; all of them are in the files."""


def show_plan(
    plan: Plan, pieces: Sequence[Analysis], folder: Path | None, skipped: Sequence[str]
) -> None:
    """Print the next days, what there is no time for, and the cautions."""
    console = Console(highlight=False)
    titles = dict.fromkeys(map(piece_name, pieces))
    show_line(console, "", f"Practice plan up to {plan.lesson}: {' · '.join(titles)}", "bold")
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
    show_line(console, "", GENTLE, "")
    settled = [task_name(plan, pieces, plan.tasks[number - 1]) for number in plan.settled]
    _show_lines(console, "Clean at the goal twice, settled", settled, folder)
    _show_lines(console, "Not at the goal by then", on_the_way_lines(plan), folder)
    _show_lines(console, "No time before the lesson", not_fitting_lines(plan, pieces), folder)
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
    """Print, for every drill, its last sessions."""
    console = Console(highlight=False)
    titles = dict.fromkeys((*log.numbers.values(), *(done.title for done in log.done)))
    number = {title: place for place, title in log.numbers.items()}
    begun = {done.title for done in log.done}
    for title in (one for one in titles if one in begun):
        marks = [
            f"{done.day.isoformat()} {'clean' if done.clean else 'again'}"
            for done in log.done
            if done.title == title
        ]
        marker = f"{number[title]}. " if title in number else "– "
        show_line(console, marker, f"{title}: {', '.join(marks[-3:])}", "")
    waiting = [number[title] for title in titles if title not in begun]
    if waiting:
        show_line(console, "", f"Not practised yet: {', '.join(map(str, waiting))}.", "")
    if not titles:
        show_line(console, "", "The log is empty.", "")
    for line in log.skipped:
        show_line(console, "", line, "")
