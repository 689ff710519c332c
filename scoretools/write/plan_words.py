"""A plan in words: what each block is, what is due on which day, what there is no time for."""

from collections.abc import Iterator, Sequence

from scoretools.model import Analysis
from scoretools.model.plan import Block, BlockKind, Plan, PracticeDay, Task
from scoretools.note_names import said
from scoretools.write.note_words import title_of
from scoretools.write.summary import bar_ranges, clicks, percent

__all__ = [
    "block_words",
    "book_name",
    "books_words",
    "day_name",
    "load_words",
    "not_fitting_lines",
    "on_the_way_lines",
    "piece_name",
    "plan_values",
    "settled_lines",
    "task_name",
    "week_rows",
]

CLIMBING = (
    "What was clean begins two rungs of its tempo ladder higher the next time; what was not begins "
    "one rung lower."
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
        return _piece_words(pieces, block.piece, block.bars)
    name = task_name(pieces, plan.tasks[(block.task or 1) - 1])
    if block.half == _SECOND:
        return f"{name}, second half: go on where you stopped"
    again = "" if block.session == 1 else f", session {block.session}"
    return f"{name}{again}: {_tempo_words(block)}"


_SECOND = 2


def _tempo_words(block: Block) -> str:
    """Say where the tempo begins that day, and how far it goes up."""
    metronome = clicks(block.per_minute)
    aside = f" ({metronome})" if metronome else ""
    if block.up_to > block.per_minute:
        return f"from {block.per_minute}{aside} up to {block.up_to} notes a minute"
    return f"at {block.per_minute} notes a minute{aside}"


def task_name(pieces: Sequence[Analysis], task: Task) -> str:
    """Name a task by its number and title; of several pieces, with piece and drill of its book."""
    name = f"{task.number}. {said(task.title)}"
    if len(pieces) == 1:
        return name
    where = "; ".join(f"{piece_name(pieces[piece])}, drill {i + 1}" for piece, i in task.drills)
    return f"{name} [{where}]"


def _piece_words(pieces: Sequence[Analysis], piece: int, bars: tuple[int, int] | None) -> str:
    """Say which bars of a piece end the drills of the day, or how the piece itself is played."""
    analysis = pieces[piece]
    if bars is not None:
        name = "the piece" if len(pieces) == 1 else piece_name(analysis)
        return f"In {name}: {bar_ranges(analysis, range(bars[0], bars[1] + 1))}, slowly"
    name = "The piece" if len(pieces) == 1 else piece_name(analysis)
    heaviest = sorted(analysis.loads, key=lambda bar: (-bar.load, bar.measure))[:_HARDEST]
    hard = [bar.measure for bar in heaviest if bar.load > 0]
    return f"{name}: {bar_ranges(analysis, hard)} slowly, then through it" if hard else name


_HARDEST = 2
"""Bars of a piece that are played slowly before it is played through."""


def piece_name(analysis: Analysis) -> str:
    """Name a piece by its title, or else by its file."""
    return title_of(analysis.part)


def not_fitting_lines(plan: Plan, pieces: Sequence[Analysis]) -> tuple[str, ...]:
    """Say what there is no time for, and how many minutes it would need."""
    return tuple(
        f"{task_name(pieces, plan.tasks[one.task - 1])}: {one.minutes} minutes more, for a first "
        "session and one repetition"
        for one in plan.not_fitting
    )


def on_the_way_lines(plan: Plan, pieces: Sequence[Analysis]) -> tuple[str, ...]:
    """Say how far each drill comes that does not reach its goal in time."""
    tasks = ((plan.tasks[one.task - 1], one.per_minute) for one in plan.on_the_way)
    return tuple(
        f"{task_name(pieces, task)}: comes to {per_minute} of {task.ladder[-1]} notes a minute"
        for task, per_minute in tasks
    )


def settled_lines(plan: Plan, pieces: Sequence[Analysis]) -> tuple[str, ...]:
    """Name every settled drill, and say when it comes back."""
    return tuple(
        f"{task_name(pieces, plan.tasks[number - 1])}: {_comes_back(plan, number)}"
        for number in plan.settled
    )


def _comes_back(plan: Plan, number: int) -> str:
    days = [day for day in plan.days if number in (block.task for block in day.blocks)]
    return f"comes back on {day_name(days[0])}" if days else "does not come back before the lesson"


def book_name(pieces: Sequence[Analysis], piece: int) -> str:
    """Name the file of a piece's drill book."""
    return "drills.pdf" if len(pieces) == 1 else f"drills_{piece + 1}.pdf"


def books_words(pieces: Sequence[Analysis]) -> str:
    """Say where the music of the drills is."""
    if len(pieces) == 1:
        return f"The music of the drills is in {book_name(pieces, 0)}."
    books = (f"of {piece_name(one)} in {book_name(pieces, n)}" for n, one in enumerate(pieces))
    return f"The music of the drills: {', '.join(books)}."


_HOW_TO_GET_BOOKS = (
    "The music of the drills, with the same numbers, is in the drills.pdf that scoretools report "
    "writes."
)


def load_words(plan: Plan) -> str:
    """Say why the first days are short, where they are, and how the tempo climbs."""
    if not plan.kept_short:
        return CLIMBING
    days = "day is" if plan.kept_short == 1 else f"{plan.kept_short} days are"
    return f"The first {days} kept short, so that the load rises gently. {CLIMBING}"


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
                        "tick": block.kind is BlockKind.DRILL and block.half != 1,
                        "drill": block.kind is BlockKind.DRILL,
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
                "title": task_name(pieces, task),
                "share": percent(task.share / len(pieces)),
                "minutes": list(minutes),
            }
            for task, minutes in week_rows(plan)
        ],
        "settled": list(settled_lines(plan, pieces)),
        "not_fitting": list(not_fitting_lines(plan, pieces)),
        "on_the_way": list(on_the_way_lines(plan, pieces)),
        "load": load_words(plan),
        "books": books_words(pieces) if with_books else _HOW_TO_GET_BOOKS,
        "with_books": with_books,
        "cautions": list(plan.cautions),
    }
