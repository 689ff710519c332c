"""``scoretools agreement``: how far the tool agrees with printed or played fingerings."""

import json
import os
import re
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scoretools.cli.options import PlayerOption, ProfileOption, request_from, whole_number
from scoretools.errors import PlayerError, ReadError, ScoretoolsError

if TYPE_CHECKING:
    from scoretools.agreement import Entry
    from scoretools.model import Part
    from scoretools.player import Player

__all__ = ["agreement"]

_SUFFIXES = (".musicxml", ".xml", ".mxl", ".csv", ".abc", ".krn", ".mei", ".mid", ".midi")
"""Files that are taken from a folder."""

_OF_A_PLAYER = re.compile(r"vio\d+_(?P<piece>.+)\.csv", re.IGNORECASE)
"""A table of one of several players of a piece."""


@dataclass(frozen=True, slots=True)
class _Task:
    """What makes one line of the table."""

    name: str
    """How it is called."""
    files: tuple[Path, ...]
    """One file, or the tables of all players of a piece."""
    played: bool
    """Whether these are tables of played fingerings."""


@dataclass(frozen=True, slots=True)
class _Wanted:
    """What is asked of every task."""

    player: "Player"
    part: str | None
    given: float | None
    listed: bool


@dataclass(frozen=True, slots=True)
class _Done:
    """What a task gave: an entry, or what went wrong in a sentence."""

    entry: "Entry | None"
    fault: str = ""


def agreement(
    paths: Annotated[list[Path], typer.Argument(
        help="Scores with printed fingerings, or tables of played ones (vioN_PIECE.csv; all "
             "players of a piece in a folder count as one), or folders of them.",
        metavar="PATH…", show_default=False)],
    part: Annotated[str | None, typer.Option(
        help="Part by name or number; by default every violin or viola part with marks.",
        metavar="PART")] = None,
    player: PlayerOption = None,
    highest_position: Annotated[str, typer.Option(
        help="Highest position, 0.5 (half) to 12; auto: the player's or the profile's, else from "
             "the notes, never from the hidden marks.",
        metavar="NUMBER")] = "auto",
    profile: ProfileOption = None,
    given: Annotated[str | None, typer.Option(
        help="Let so many per cent of the marked bars keep their fingers (such as 80), and say how "
             "often those of the others are found; mean of five draws.",
        metavar="PERCENT")] = None,
    listed: Annotated[bool, typer.Option(
        "--list",
        help="List every note on which edition and scoretools differ, by how much, and the marks "
             "that no hand can follow.")] = False,
    as_json: Annotated[bool, typer.Option(
        "--json", help="Print it as JSON, for other programs.")] = False,
    jobs: Annotated[str, typer.Option(
        help="How many files are measured at a time; 0: as many as the computer can.",
        metavar="N")] = "0",
) -> None:  # fmt: skip
    """Say how often it finds the fingers that an edition prints.

    The printed fingers are hidden, the part is fingered, and the two are compared.

    Example: scoretools agreement studies/ --given 80
    """
    from scoretools.agreement import as_data
    from scoretools.cli.show_agreement import show_agreement, show_differences

    at_a_time = whole_number("--jobs", jobs, 0) or os.cpu_count() or 1
    wanted = _Wanted(_player(player, highest_position, profile), part, _percent(given), listed)
    entries = _measured(_tasks(paths), wanted, at_a_time)
    if not any(entry.tally.marks for entry in entries):
        raise ReadError(_nothing_printed(paths, part))
    if as_json:
        typer.echo(json.dumps(as_data(entries, listed), ensure_ascii=False, indent=2))
        return
    show_agreement(entries)
    if listed:
        show_differences(entries)


def _player(path: Path | None, highest: str, profile: str | None) -> "Player":
    position = None if highest.casefold() == "auto" else highest
    return request_from(Path(), None, path, position, profile, None, "auto").player


def _percent(text: str | None) -> float | None:
    if text is None:
        return None
    try:
        percent = float(text.rstrip("%").strip().replace(",", "."))
    except ValueError:
        percent = -1.0
    if not 0 <= percent < 100:
        raise PlayerError(f"--given: “{text}” is no share of bars; write 0 to 99, such as 80")
    return percent


def _nothing_printed(paths: Sequence[Path], part: str | None) -> str:
    where = ", ".join(map(str, paths))
    within = f" in part “{part}”" if part else ""
    return (
        f"{where}: no fingers are printed{within}, so there is nothing to compare; name scores "
        "with printed fingers, or tables of played ones (to see the fingering of scoretools, write "
        "scoretools finger SCORE)"
    )


# ── files ───────────────────────────────────────────────────────────────────────────────────────


def _tasks(paths: Sequence[Path]) -> list[_Task]:
    files = list(dict.fromkeys(file for path in paths for file in _files(path)))
    if not files:
        where = ", ".join(map(str, paths))
        raise ReadError(f"{where}: there are no scores here; name scores or folders of them")
    tasks: dict[Path, list[Path]] = {}
    for file in files:
        of_player = _OF_A_PLAYER.fullmatch(file.name)
        name = file.with_name(of_player["piece"]) if of_player else file
        tasks.setdefault(name, []).append(file)
    return [
        _Task(str(name), tuple(sorted(group, key=_in_order)), _is_table(group[0]))
        for name, group in tasks.items()
    ]


def _files(path: Path) -> list[Path]:
    """List a file, or the scores and tables of a folder and the folders in it, in order."""
    if not path.is_dir():
        return [path]
    inside = (file for file in path.rglob("*") if file.suffix.lower() in _SUFFIXES)
    return sorted(file for file in inside if file.is_file() and not file.name.startswith("."))


def _in_order(file: Path) -> tuple[int, str]:
    number = re.search(r"\d+", file.name)
    return int(number[0]) if number else 0, file.name


def _is_table(file: Path) -> bool:
    return file.suffix.lower() == ".csv"


# ── measuring ───────────────────────────────────────────────────────────────────────────────────


def _measured(tasks: Sequence[_Task], wanted: _Wanted, jobs: int) -> list["Entry"]:
    """Measure everything; what cannot be read is told, and is the end only if it is all."""
    entries, faults = [], []
    with _progress(len(tasks)) as step:
        for done in _results(tasks, wanted, min(jobs, len(tasks))):
            step()
            if done.entry is None:
                faults.append(done.fault)
            else:
                entries.append(done.entry)
    if not entries:
        others = len(faults) - 1
        more = f" (and {others} more that cannot be measured)" if others else ""
        raise ReadError(f"{faults[0].rstrip('.')}{more}")
    for fault in faults:
        typer.echo(f"scoretools: {fault.rstrip('.')}; it is left out.", err=True)
    return entries


def _results(tasks: Sequence[_Task], wanted: _Wanted, jobs: int) -> Iterator[_Done]:
    from functools import partial

    one = partial(_done, wanted)
    if jobs == 1:
        yield from map(one, tasks)
        return
    import signal
    from concurrent.futures import ProcessPoolExecutor

    # Ctrl-C ends this process, which then ends the others; they say nothing of their own.
    with ProcessPoolExecutor(
        jobs, initializer=signal.signal, initargs=(signal.SIGINT, signal.SIG_IGN)
    ) as pool:
        try:
            yield from pool.map(one, tasks)
        except BaseException:
            pool.shutdown(wait=False, cancel_futures=True)
            raise


def _done(wanted: _Wanted, task: _Task) -> _Done:
    """Do one task, in whatever process."""
    try:
        return _Done(_of_players(wanted, task) if task.played else _of_score(wanted, task))
    except ScoretoolsError as error:
        return _Done(None, " ".join(str(error).split()))


def _of_players(wanted: _Wanted, task: _Task) -> "Entry":
    from scoretools.agreement import Entry, measure_players
    from scoretools.read.annotated import read_annotated

    tables = [read_annotated(file) for file in task.files]
    tally = measure_players(tables, wanted.player)
    return Entry(task.name, _book(Path(task.name)), tally)


def _of_score(wanted: _Wanted, task: _Task) -> "Entry":
    from scoretools.agreement import Entry, added, has_marks, measure_part

    (file,) = task.files
    parts = _parts(file, wanted)
    marked = [part for part in parts if has_marks(part)] or parts[:1]
    measured = [measure_part(part, wanted.player, wanted.given, wanted.listed) for part in marked]
    return Entry(
        task.name,
        _book(file),
        added([one.tally for one in measured]),
        tuple(difference for one in measured for difference in one.differences),
    )


def _book(file: Path) -> str:
    from scoretools.agreement import book_of

    return book_of(file.name, file.parent.name)


def _parts(file: Path, wanted: _Wanted) -> "list[Part]":
    """Read the part asked for, else all for the player's instrument."""
    from scoretools.read import read_part, read_string_parts

    if wanted.part is not None:
        return [read_part(file, wanted.part)]
    parts = []
    for found in read_string_parts(file):
        if found.fault is not None:
            raise found.fault
        if found.part and wanted.player.instrument in (None, found.part.instrument):
            parts.append(found.part)
    return parts or [read_part(file)]


@contextmanager
def _progress(tasks: int) -> Iterator[Callable[[], None]]:
    """Show, on a terminal, how many files are done."""
    if not sys.stderr.isatty():
        yield lambda: None
        return
    from rich.console import Console
    from rich.progress import Progress

    with Progress(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("Fingering", total=tasks)
        yield lambda: bar.advance(task)
