"""A plan in words: what each block is, what is due on which day, what there is no time for."""

from collections.abc import Iterator, Sequence

from scoretools.model import Analysis
from scoretools.model.plan import Block, BlockKind, Plan, PracticeDay, Task
from scoretools.note_names import said
from scoretools.write.summary import bar_ranges, clicks, percent

__all__ = ["block_words", "day_name", "not_fitting_lines", "plan_values", "week_rows"]

WARM_UP = "Warm-up: open strings with long bows, then slow notes with every finger."
REST = "Rest: put the instrument down, shake out both arms."

_WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip


def day_name(day: PracticeDay) -> str:
    """Name a day: ``Mon 4 January``."""
    return f"{_WEEKDAYS[day.day.weekday()]} {day.day.day} {_MONTHS[day.day.month - 1]}"


def block_words(plan: Plan, pieces: Sequence[Analysis], block: Block) -> str:
    """Say what a block is for."""
    if block.kind is BlockKind.WARM_UP:
        return WARM_UP
    if block.kind is BlockKind.REST:
        return REST
    task = plan.tasks[(block.task or 1) - 1]
    if block.kind is BlockKind.PIECE:
        return f"In the piece: {_bridges(pieces, task)}, slowly"
    again = "" if block.session == 1 else f", session {block.session}"
    aside = clicks(block.per_minute)
    tempo = f"{block.per_minute} notes a minute{f' ({aside})' if aside else ''}"
    return f"{task.number}. {said(task.title)}{again}: from {tempo}"


def _bridges(pieces: Sequence[Analysis], task: Task) -> str:
    found = []
    for piece, index in task.drills:
        analysis = pieces[piece]
        first, last = analysis.drills[index].bridge
        name = f"{_piece(analysis)}, " if len(pieces) > 1 else ""
        found.append(f"{name}{bar_ranges(analysis, range(first, last + 1))}")
    return "; ".join(found)


def _piece(analysis: Analysis) -> str:
    return analysis.part.title or analysis.part.source


def not_fitting_lines(plan: Plan) -> tuple[str, ...]:
    """Say what there is no time for, and how many minutes it would need."""
    return tuple(
        f"{said(plan.tasks[one.task - 1].title)}: {one.minutes} minutes more, for a first session "
        "and one repetition"
        for one in plan.not_fitting
    )


def week_rows(plan: Plan) -> Iterator[tuple[Task, tuple[int, ...]]]:
    """For each task that is practised, its minutes on each day of the plan."""
    for task in plan.tasks:
        minutes = tuple(
            sum(b.minutes for b in day.blocks if b.task == task.number and b.kind == "drill")
            for day in plan.days
        )
        if any(minutes):
            yield task, minutes


def plan_values(plan: Plan, pieces: Sequence[Analysis], name: str) -> dict[str, object]:
    """Put a plan into plain values, for the templates.

    Parameters
    ----------
    pieces
        What was planned, in the same order.
    name
        The player's name, or empty.
    """
    return {
        "title": " · ".join(dict.fromkeys(map(_piece, pieces))),
        "name": name,
        "lesson": plan.lesson.isoformat(),
        "days": [
            {
                "name": day_name(day),
                "minutes": day.minutes,
                "blocks": [
                    {
                        "kind": block.kind.value,
                        "minutes": block.minutes,
                        "words": block_words(plan, pieces, block),
                    }
                    for block in day.blocks
                ],
            }
            for day in plan.days
        ],
        "rows": [
            {
                "number": task.number,
                "title": said(task.title),
                "share": percent(task.share / len(pieces)),
                "minutes": list(minutes),
            }
            for task, minutes in week_rows(plan)
        ],
        "settled": [said(plan.tasks[number - 1].title) for number in plan.settled],
        "not_fitting": list(not_fitting_lines(plan)),
        "cautions": list(plan.cautions),
    }
