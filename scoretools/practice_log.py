"""The practice log: a plain text file of the player's own, one line for each drill practised.

A line holds a date, ``clean`` or ``again``, and the drill's title::

    2027-01-04 clean H-W-W on the A string, 1st position (1 and 2 close, whole steps above)
    2027-01-04 again Shifts between 1st and 3rd position, finger 1 to 1

Empty lines and lines that begin with ``#`` are left alone. Lines ``# 3. TITLE`` say which drill of
the plan has which number, so that numbers will do when something is recorded.
"""

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date

from scoretools.errors import PlayerError
from scoretools.model.plan import Done, Plan

__all__ = ["Log", "log_header", "log_line", "read_log", "title_of"]

_LINE = re.compile(r"(\S+)\s+(\S+)\s+(.+)")
_NUMBERED = re.compile(r"#\s*(\d+)\.\s+(.+)")


@dataclass(frozen=True, slots=True)
class Log:
    """What a log holds."""

    done: tuple[Done, ...]
    """Lines that could be read, in their order."""
    numbers: Mapping[int, str]
    """Titles by the number they have in the last plan."""
    skipped: tuple[str, ...]
    """A sentence for every line that could not be read."""


def read_log(name: str, text: str) -> Log:
    """Read a log; a line that is spoiled is named and skipped.

    Parameters
    ----------
    name
        The file's name, for messages.
    text
        Its content.
    """
    done: list[Done] = []
    numbers: dict[int, str] = {}
    skipped: list[str] = []
    for number, line in enumerate(text.lstrip("\ufeff").splitlines(), start=1):
        line = line.strip()
        told = _NUMBERED.fullmatch(line)
        if told:
            numbers[int(told[1])] = told[2].strip()
        elif line and not line.startswith("#"):
            found = _done(line)
            if isinstance(found, Done):
                done.append(found)
            else:
                skipped.append(f"{name}, line {number}: {found}; the line is skipped")
    return Log(tuple(done), numbers, tuple(skipped))


def _done(line: str) -> Done | str:
    """Read one line, or say what is wrong with it."""
    parts = _LINE.fullmatch(line)
    if parts is None:
        return f"“{line}” is not a date, clean or again, and a drill"
    day, word, title = parts.groups()
    if word not in ("clean", "again"):
        return f"“{word}” is neither clean nor again"
    try:
        return Done(date.fromisoformat(day), title.strip(), word == "clean")
    except ValueError:
        return f"“{day}” is not a date such as 2027-01-15"


def title_of(log: Log, words: str) -> str:
    """Find the drill that a number, or the beginning of a title, stands for.

    Raises
    ------
    PlayerError
        If no drill of the log fits, or several do.
    """
    titles = dict.fromkeys((*log.numbers.values(), *(done.title for done in log.done)))
    if words.isdecimal():
        if int(words) in log.numbers:
            return log.numbers[int(words)]
        raise PlayerError(f"drill {words}: the log has no such number; {_numbers_of(log)}")
    fitting = [title for title in titles if title.casefold().startswith(words.casefold())]
    if len(fitting) == 1:
        return fitting[0]
    what = "several drills begin so" if fitting else "no drill of the log begins so"
    raise PlayerError(f"“{words}”: {what}; write its number; {_numbers_of(log)}")


def _numbers_of(log: Log) -> str:
    if not log.numbers:
        return "write the plan first, with scoretools plan SCORE --log FILE"
    return f"it has 1 to {max(log.numbers)}, as in the plan"


def log_line(done: Done) -> str:
    """Write one line."""
    return f"{done.day.isoformat()} {'clean' if done.clean else 'again'} {done.title}"


def log_header(plan: Plan, text: str) -> str:
    """Put the numbers of a plan into a log, in the place of older ones; all else stays.

    Parameters
    ----------
    text
        The log so far; empty for a new one.
    """
    kept = [line for line in text.splitlines() if not _NUMBERED.fullmatch(line.strip())]
    head = [] if text else list(_HEAD)
    numbered = (f"# {task.number}. {task.title}" for task in plan.tasks)
    return "\n".join([*_without_end(kept), *head, *numbered, ""])


_HEAD = (
    "# Practice log. One line for each drill practised: date, clean or again, and the drill.",
    "# 2027-01-04 clean H-W-W on the A string, 1st position",
    "# The drills of the last plan:",
)


def _without_end(lines: Iterable[str]) -> Iterator[str]:
    """Leave out empty lines at the end."""
    held: list[str] = []
    for line in lines:
        held.append(line)
        if line.strip():
            yield from held
            held = []
