"""``scoretools catalogue``: a library of scores, tagged by what each part asks of the hand."""

import os
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scoretools.cli.catalogue_find import compare, find, next_piece, programme, show
from scoretools.cli.catalogue_options import (
    DatabaseOption,
    PartNumbers,
    counted,
    part_numbers,
    plain,
)
from scoretools.cli.catalogue_tags import tag_app
from scoretools.cli.help import Command, Commands
from scoretools.cli.options import (
    DivisiOption,
    HighestPositionOption,
    PlayerOption,
    ProfileOption,
    request_from,
    whole_number,
)
from scoretools.errors import WriteError

if TYPE_CHECKING:
    from scoretools.catalogue import Summary
    from scoretools.catalogue.score_tags import TaggedScore, UntaggedScore
    from scoretools.difficulty import Rubric

__all__ = ["catalogue_app"]

catalogue_app = typer.Typer(
    cls=Commands,
    rich_markup_mode=None,
    help="Keep a library of scores, and find parts by what they ask.\n\n"
    "Example: scoretools catalogue scan scores\n\n"
    "Then ask for parts, such as those that stay in first position:\n\n"
    "    scoretools catalogue find --highest-position 1",
)


@catalogue_app.command(cls=Command)
def scan(
    folder: Annotated[Path, typer.Argument(
        help="Folder with scores, in it and in the folders below.", metavar="FOLDER",
        show_default=False)],
    db: DatabaseOption = Path("catalogue.db"),
    jobs: Annotated[str, typer.Option(
        help="Scores read at a time; 0: as many as there are processors.", metavar="N")] = "0",
    player: PlayerOption = None,
    highest_position: HighestPositionOption = None,
    profile: ProfileOption = None,
    divisi: DivisiOption = "auto",
    rubric: Annotated[str, typer.Option(
        help="Rubric that parts are found by: bands, index, or a TOML file of your own; the levels "
             "of the first two are kept in any case.",
        metavar="RUBRIC")] = "bands",
    scheduler: Annotated[str | None, typer.Option(
        help="Read the scores on a Dask cluster with this scheduler, such as "
             "tcp://10.0.0.5:8786, instead of here.",
        metavar="ADDRESS")] = None,
) -> None:  # fmt: skip
    """Read every violin and viola part below a folder into the catalogue.

    What has not changed since the last scan is not read again; a scan that was stopped goes on
    where it was.

    Example: scoretools catalogue scan scores --db library.db
    """
    from scoretools.catalogue import Wanted
    from scoretools.catalogue import scan as scanned
    from scoretools.cli.show_catalogue import show_summary

    at_a_time = whole_number("--jobs", jobs, 0) or os.cpu_count() or 1
    who = request_from(folder, None, player, highest_position, profile, None, divisi)
    wanted = Wanted(who.player, tuple(_rubrics(rubric)), who.divisi)
    with _progress(db) as step:
        summary = scanned(folder, db, wanted, at_a_time, scheduler, step)
    show_summary(summary, db)


def _rubrics(wanted: str) -> "Iterator[Rubric]":
    """The rubric asked for, then the others that come with the program."""
    from scoretools.difficulty import SHIPPED, read_rubric

    first = read_rubric(wanted)
    yield first
    for name in SHIPPED:
        rubric = read_rubric(name)
        if rubric.name != first.name:
            yield rubric


@contextmanager
def _progress(db: Path) -> "Iterator[Callable[[Summary], None]]":
    """Show, on a terminal, how far the scan has come, how fast, and how long it will take."""
    latest: list[Summary] = []
    try:
        if not sys.stderr.isatty():
            yield lambda summary: latest.append(summary) if not latest else None
            return
        from rich.console import Console
        from rich.progress import (
            BarColumn,
            MofNCompleteColumn,
            Progress,
            TextColumn,
            TimeRemainingColumn,
        )

        columns = (
            TextColumn("Scanning"),
            BarColumn(),
            MofNCompleteColumn(),
            TextColumn("{task.fields[rate]}"),
            TimeRemainingColumn(),
        )
        with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
            task = bar.add_task("", total=None, rate="")

            def step(summary: Summary) -> None:
                latest[:] = [summary]
                elapsed = bar.tasks[0].elapsed or 0.0
                tried = summary.read + summary.failed
                rate = f"{tried / elapsed:.1f} scores a second" if elapsed > 1 else ""
                bar.update(task, total=summary.scores, completed=summary.done, rate=rate)

            yield step
    except KeyboardInterrupt:
        if latest:
            typer.echo(
                f"scoretools: {latest[0].done} of {latest[0].scores} scores are in {db}; "
                "the same command goes on from there.",
                err=True,
            )
        raise


@catalogue_app.command(cls=Command)
def status(db: DatabaseOption = Path("catalogue.db")) -> None:
    """Say what the catalogue holds, and which scores could not be read.

    Example: scoretools catalogue status --db library.db
    """
    from scoretools.catalogue import counts, reading, unread
    from scoretools.cli.show_catalogue import show_status

    with reading(db) as connection:
        show_status(counts(connection), unread(connection), db)


catalogue_app.add_typer(tag_app, name="tag")
catalogue_app.command(cls=Command)(find)
catalogue_app.command(cls=Command)(show)
catalogue_app.command(cls=Command)(compare)
catalogue_app.command("next", cls=Command)(next_piece)
catalogue_app.command(cls=Command)(programme)


# ── out of the catalogue ────────────────────────────────────────────────────────────────────────


@catalogue_app.command(cls=Command)
def export(
    out: Annotated[Path, typer.Argument(
        help="File to write: .csv for spreadsheets, .parquet for data tools.",
        metavar="FILE", show_default=False)],
    db: DatabaseOption = Path("catalogue.db"),
) -> None:  # fmt: skip
    """Write all parts with their levels, shapes, tags and features into one table.

    Example: scoretools catalogue export library.csv
    """
    from scoretools.catalogue import Criteria, reading
    from scoretools.catalogue.tables import as_parquet, parts_table
    from scoretools.cli.files import save_all
    from scoretools.write.tables import as_csv

    kind = out.suffix.lower()
    if kind not in (".csv", ".parquet"):
        raise WriteError(f"{out}: only .csv and .parquet are written; name the file so")
    with reading(db) as connection:
        table = parts_table(connection, Criteria(order="number"))
    save_all(out.parent, {out.name: as_csv(table) if kind == ".csv" else as_parquet(table)})
    typer.echo(f"Written into {out}: {counted(len(table), 'part')}.")


@catalogue_app.command("write-tags", cls=Command)
def write_tags(
    parts: PartNumbers,
    out: Annotated[Path | None, typer.Option(
        help="Folder for copies of the scores, with level and features in them.",
        metavar="FOLDER")] = None,
    in_place: Annotated[bool, typer.Option(
        "--in-place", help="Write into the scores themselves instead.")] = False,
    db: DatabaseOption = Path("catalogue.db"),
) -> None:  # fmt: skip
    """Put level and features of parts into the head of their MusicXML scores.

    Other programs that keep libraries find them under identification, miscellaneous.

    Example: scoretools catalogue write-tags 1 2 --out tagged
    """
    from scoretools.catalogue import reading
    from scoretools.catalogue.score_tags import TaggedScore, UntaggedScore, tagged_scores

    if (out is None) is not in_place:
        raise WriteError("no place to write, or two; take one of --out FOLDER and --in-place")
    with reading(db) as connection:
        outcomes = list(tagged_scores(connection, part_numbers(parts)))
    tagged = [one for one in outcomes if isinstance(one, TaggedScore)]
    failed = [one for one in outcomes if isinstance(one, UntaggedScore)]
    if out is None:
        failed += _write_in_place(tagged)
    elif tagged:
        _write_copies(out, tagged)
    for one in failed:
        typer.echo(f"scoretools: {plain(one.path)}: {plain(one.sentence)}.", err=True)
    if failed:
        raise WriteError(
            f"nothing is written for {counted(len(failed), 'score')} of {len(outcomes)}; mend what "
            "is said of each and write its tags again"
        )


def _write_in_place(scores: "Sequence[TaggedScore]") -> "Iterator[UntaggedScore]":
    """Write into the scores themselves; give those that cannot be written."""
    from scoretools.catalogue.faults import sentence_of
    from scoretools.catalogue.score_tags import UntaggedScore
    from scoretools.cli.files import save_all

    for score in scores:
        try:
            save_all(score.path.parent, {score.path.name: score.content})
        except WriteError as fault:
            yield UntaggedScore(score.path, sentence_of(score.path, fault))
        else:
            typer.echo(f"Written into {plain(score.path)}: {', '.join(map(plain, score.parts))}.")


def _write_copies(out: Path, scores: "Sequence[TaggedScore]") -> None:
    from scoretools.cli.files import prepare_folder, save_all

    names = [score.path.name for score in scores]
    if len(set(names)) < len(names):
        raise WriteError(
            f"{out}: two of the scores have the same file name and would take one place; "
            "write them into different folders"
        )
    if any(out.resolve() == score.path.parent.resolve() for score in scores):
        raise WriteError(
            f"{out}: the scores themselves are in this folder; choose another, or --in-place"
        )
    prepare_folder(out)
    save_all(out, {score.path.name: score.content for score in scores})
    typer.echo(f"Written into {out}: {', '.join(map(plain, names))}.")
