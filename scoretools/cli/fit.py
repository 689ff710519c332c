"""``scoretools fit``: weights of the search from marked scores."""

import sys
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scoretools.cli.files import scores_in
from scoretools.cli.options import ProfileOption, known_profile, whole_number
from scoretools.errors import MissingLibrary, ReadError, ScoretoolsError
from scoretools.player import Player

if TYPE_CHECKING:
    from scoretools.fingering.excess import Example
    from scoretools.fingering.fit import Fit

__all__ = ["fit"]

_FEW_MARKS = 40
"""A book with fewer marks than this counts for no more than one with this many do."""


def fit(
    paths: Annotated[
        list[Path],
        typer.Argument(
            help="Scores with printed fingerings, or folders of them.",
            metavar="PATH…",
            show_default=False,
        ),
    ],
    profile: ProfileOption = None,
    rounds: Annotated[
        str,
        typer.Option(
            help="Stop after so many rounds of the search for better weights.", metavar="NUMBER"
        ),
    ] = "60",
) -> None:
    """Fit the weights of a profile to the fingers that editions print.

    Needs the extra “fit” (scipy). The weights are printed as they stand in weights.toml; each book
    counts by the root of its marks.

    Example: scoretools fit marked_scores > fitted.toml
    """
    _need_scipy()
    most = whole_number("--rounds", rounds, 1)
    player = Player(profile=known_profile(profile) or Player().profile)
    examples, shares = _examples(scores_in(paths, (".musicxml", ".xml", ".mxl")), player)
    typer.echo(_as_toml(player.profile, _fitted(examples, shares, player, most)), nl=False)


def _need_scipy() -> None:
    from importlib.util import find_spec

    if find_spec("scipy") is None:
        raise MissingLibrary(
            "fitting needs scipy, which is not installed; install scoretools with its extra “fit”"
        )


def _examples(files: Sequence[Path], player: Player) -> tuple[list["Example"], list[float]]:
    from scoretools.agreement import book_of

    found: list[tuple[str, Example]] = []
    with _progress("reading", len(files)) as step:
        for file in files:
            found += ((book_of(file.name), example) for example in _of_file(file, player))
            step("")
    if not found:
        raise ReadError(
            f"{files[0]}: neither this nor any other score carries usable fingerings; name scores "
            "with printed fingers for violin or viola"
        )
    marks: Counter[str] = Counter()
    for book, example in found:
        marks[book] += example.marks
    shares = [max(_FEW_MARKS, marks[book]) ** -0.5 for book, _ in found]
    return [example for _, example in found], shares


def _of_file(file: Path, player: Player) -> Iterator["Example"]:
    """Make an example of a score's first violin or viola part; what cannot be read is told."""
    from dataclasses import replace

    from scoretools import read_part
    from scoretools.agreement.found import hand_for, one_line, playing
    from scoretools.fingering.fit import example
    from scoretools.model import NO_MARKS

    try:
        part = read_part(file)
        who = playing(part, player)
        part = one_line(who, part)
        bare = [
            replace(event, notes=tuple(replace(note, marks=NO_MARKS) for note in event.notes))
            for event in part.events
        ]
        made = example(hand_for(who, bare), who.weights, part.events)
    except ScoretoolsError as error:
        typer.echo(f"scoretools: {str(error).rstrip('.')}; it is left out.", err=True)
        return
    if made is not None:
        yield made


def _fitted(
    examples: Sequence["Example"], shares: Sequence[float], player: Player, rounds: int
) -> "Fit":
    from scoretools.fingering import fit as fitting
    from scoretools.fingering.weights import weights_for

    marks = sum(example.marks for example in examples)
    parts = "1 part" if len(examples) == 1 else f"{len(examples)} parts"
    typer.echo(f"{parts}, {marks} marked note{'' if marks == 1 else 's'}", err=True)
    with _progress("fitting", rounds) as step:
        return fitting.fit(
            examples, shares, weights_for(player), rounds,
            lambda count, objective: step(f"evaluation {count}, objective {objective:.3f}"),
        )  # fmt: skip


def _as_toml(profile: str, found: "Fit") -> str:
    lines = [
        f"# objective {found.objective_before:.3f} before, {found.objective:.3f} after "
        f"{found.evaluations} evaluations",
    ]
    for table, weights in (("note", found.note), ("step", found.step)):
        lines += ["", f"[{profile}.{table}]"]
        lines += [f'"{name}" = {weight:.3f}' for name, weight in weights.items()]
    return "\n".join(lines) + "\n"


@contextmanager
def _progress(what: str, steps: int) -> Iterator[Callable[[str], None]]:
    """Show on the error stream how far it is; lines where that is no terminal."""
    from rich.console import Console
    from rich.progress import Progress

    console = Console(stderr=True)
    if not sys.stderr.isatty():
        yield lambda words: typer.echo(f"{what}: {words}", err=True) if words else None
        return
    with Progress(console=console, transient=True) as bar:
        task = bar.add_task(what, total=steps)
        yield lambda words: bar.update(task, advance=1, description=words or what)
