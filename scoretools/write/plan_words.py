"""A plan in words: what each block is, what is due on which day, what there is no time for."""

from collections.abc import Iterator, Sequence

from scoretools.model import Analysis
from scoretools.model.plan import Block, BlockKind, Plan, PracticeDay, Task
from scoretools.note_names import said
from scoretools.write.summary import bar_ranges, clicks, percent

__all__ = [
    "GENTLE",
    "block_words",
    "book_name",
    "books_words",
    "day_name",
    "not_fitting_lines",
    "on_the_way_lines",
    "piece_name",
    "plan_values",
    "task_name",
    "week_rows",
]

GENTLE = (
    "The first two days are kept short, so that the load rises gently. A drill that was clean "
    "begins two rungs higher the next time; one that was not begins a rung lower."
)

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
    if block.piece is not None:
        return _whole_piece(pieces, block.piece)
    task = plan.tasks[(block.task or 1) - 1]
    if block.kind is BlockKind.PIECE:
        return f"In the piece: {_bridges(pieces, task)}, slowly"
    again = "" if block.session == 1 else f", session {block.session}"
    aside = clicks(block.per_minute)
    tempo = f"{block.per_minute} notes a minute{f' ({aside})' if aside else ''}"
    return f"{task_name(plan, pieces, task)}{again}: from {tempo}"


def task_name(plan: Plan, pieces: Sequence[Analysis], task: Task) -> str:
    """Name a task by its number and title; of several pieces, with piece and drill of its book."""
    if len(pieces) == 1:
        return f"{task.number}. {said(task.title)}{_elsewhere(task)}"
    where = "; ".join(f"{piece_name(pieces[piece])}, drill {i + 1}" for piece, i in task.drills)
    return f"{task.number}. {said(task.title)} ({where})"


def _elsewhere(task: Task) -> str:
    """Number of a task in the drill book, where it is another one."""
    ((_, index),) = task.drills[:1]
    return "" if index + 1 == task.number else f" (drill {index + 1} of the book)"


def _whole_piece(pieces: Sequence[Analysis], piece: int) -> str:
    analysis = pieces[piece]
    name = "The piece" if len(pieces) == 1 else piece_name(analysis)
    heaviest = sorted(analysis.loads, key=lambda bar: (-bar.load, bar.measure))[:_HARDEST]
    hard = [bar.measure for bar in heaviest if bar.load > 0]
    return f"{name}: {bar_ranges(analysis, hard)} slowly, then through it" if hard else name


_HARDEST = 2
"""Bars of a piece that are played slowly before it is played through."""


def _bridges(pieces: Sequence[Analysis], task: Task) -> str:
    found = []
    for piece, (first, last) in task.bridges:
        name = f"{piece_name(pieces[piece])}, " if len(pieces) > 1 else ""
        found.append(f"{name}{bar_ranges(pieces[piece], range(first, last + 1))}")
    return "; ".join(dict.fromkeys(found))


def piece_name(analysis: Analysis) -> str:
    """Name a piece by its title, or else by its file."""
    return analysis.part.title or analysis.part.source.partition(".")[0]


def not_fitting_lines(plan: Plan, pieces: Sequence[Analysis]) -> tuple[str, ...]:
    """Say what there is no time for, and how many minutes it would need."""
    return tuple(
        f"{task_name(plan, pieces, plan.tasks[one.task - 1])}: {one.minutes} minutes more, for a "
        "first session and one repetition"
        for one in plan.not_fitting
    )


def on_the_way_lines(plan: Plan) -> tuple[str, ...]:
    """Say how far each drill comes that does not reach its goal in time."""
    tasks = ((plan.tasks[one.task - 1], one.per_minute) for one in plan.on_the_way)
    return tuple(
        f"{task.number}. {said(task.title)}: about {per_minute} of {task.ladder[-1]} notes a minute"
        for task, per_minute in tasks
    )


def book_name(pieces: Sequence[Analysis], piece: int) -> str:
    """Name the file of a piece's drill book."""
    return "drills.pdf" if len(pieces) == 1 else f"drills_{piece + 1}.pdf"


def books_words(pieces: Sequence[Analysis]) -> str:
    """Say where the music of the drills is."""
    if len(pieces) == 1:
        return f"The music of the drills is in {book_name(pieces, 0)}."
    books = (f"of {piece_name(one)} in {book_name(pieces, n)}" for n, one in enumerate(pieces))
    return f"The music of the drills: {', '.join(books)}."


def week_rows(plan: Plan) -> Iterator[tuple[Task, tuple[int, ...]]]:
    """For each task that is practised, its minutes on each day of the plan."""
    for task in plan.tasks:
        minutes = tuple(
            sum(b.minutes for b in day.blocks if b.task == task.number and b.kind == "drill")
            for day in plan.days
        )
        if any(minutes):
            yield task, minutes


def plan_values(
    plan: Plan, pieces: Sequence[Analysis], name: str, with_books: bool
) -> dict[str, object]:
    """Put a plan into plain values, for the templates.

    Parameters
    ----------
    pieces
        What was planned, in the same order.
    name
        The player's name, or empty.
    with_books
        Whether the drill books lie beside the plan.
    """
    return {
        "title": " · ".join(dict.fromkeys(map(piece_name, pieces))),
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
                "title": task_name(plan, pieces, task),
                "share": percent(task.share / len(pieces)),
                "minutes": list(minutes),
            }
            for task, minutes in week_rows(plan)
        ],
        "settled": [said(plan.tasks[number - 1].title) for number in plan.settled],
        "not_fitting": list(not_fitting_lines(plan, pieces)),
        "on_the_way": list(on_the_way_lines(plan)),
        "gentle": GENTLE,
        "books": books_words(pieces) if with_books else "",
        "cautions": list(plan.cautions),
    }
