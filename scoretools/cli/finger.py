"""``scoretools finger``: the fingering bar by bar, its reasons, and other plans for a passage."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Annotated

import typer

from scoretools.cli.options import (
    DivisiOption,
    HighestPositionOption,
    IgnoreMarksOption,
    MarksFileOption,
    PartOption,
    PlayerOption,
    ProfileOption,
    Request,
    ScoreArgument,
    fingered,
    progress,
    read,
    request_from,
    whole_number,
)
from scoretools.note_names import NoteNames, naming

if TYPE_CHECKING:
    from scoretools.fingering.search import Solution
    from scoretools.model import Analysis
    from scoretools.write.explain import RunnersUp
    from scoretools.write.fingering_document import Passage

__all__ = ["finger"]

MOST_ALTERNATIVES = 9
"""Other plans that can be asked for."""


def finger(
    score: ScoreArgument,
    bars: Annotated[str | None, typer.Option(
        help="Bars as printed: 12, 12-16 or 12,15-18 (2:12-16 in the 2nd movement, 0 for the "
             "upbeat); by default all.",
        metavar="BARS")] = None,
    alternatives: Annotated[str, typer.Option(
        help="Show so many other fingerings of these bars (of the part without --bars): on other "
             "strings or in another position for a whole stretch, the handiest first, with what "
             f"each gains and costs; at most {MOST_ALTERNATIVES}.",
        metavar="COUNT", show_default=False)] = "0",
    explain: Annotated[bool, typer.Option(
        "--explain",
        help="Say for each bar where the hand lies, what makes it hard, how sure the fingers are, "
             "and how a doubtful note would be played otherwise.")] = False,
    part: PartOption = None,
    player: PlayerOption = None,
    highest_position: HighestPositionOption = None,
    profile: ProfileOption = None,
    marks_file: MarksFileOption = None,
    divisi: DivisiOption = "auto",
    ignore_marks: IgnoreMarksOption = False,
    as_json: Annotated[bool, typer.Option(
        "--json", help="Print it as JSON, for other programs.")] = False,
) -> None:  # fmt: skip
    """Show string, position and fingers bar by bar, and other ways.

    With --explain it says why they are chosen, and how sure each note is.

    Example: scoretools finger study.musicxml --bars 12-16 --alternatives 3
    """
    request = request_from(
        score, part, player, highest_position, profile, marks_file, divisi, ignore_marks
    )
    count = whole_number("--alternatives", alternatives, 0, MOST_ALTERNATIVES)
    with naming(NoteNames.LETTERS if as_json else request.player.note_names):
        _finger(request, bars, count, explain, as_json)


def _finger(request: Request, bars: str | None, count: int, explain: bool, as_json: bool) -> None:
    """Finger the part, compare, and print it all."""
    with progress() as say:
        say(f"Reading {request.score.name}")
        as_printed = read(request)
        say("Fingering")
        analysis = fingered(request, as_printed)
        runs = _runs(analysis, bars)
        say("Comparing")
        solution = _solution(request, analysis, bool(count or explain))
        passages = _passages(analysis, solution, runs, count)
        seconds = _seconds(analysis, solution, runs) if explain else None
    _show(analysis, passages, seconds, count, not request.use_marks, as_json)


def _show(
    analysis: "Analysis",
    passages: Sequence["Passage"],
    seconds: "RunnersUp | None",
    alternatives: int,
    ignore_marks: bool,
    as_json: bool,
) -> None:
    """Print it all, the reasons where there are second choices to go with them."""
    from scoretools.write.explain import bar_reasons

    measures = [index for passage in passages for index in passage.measures]
    sentences = {} if seconds is None else bar_reasons(analysis, measures, seconds)
    if as_json:
        from scoretools.write.fingering_document import fingering_json

        document = fingering_json(analysis, passages, seconds or {}, sentences, ignore_marks)
        typer.echo(document, nl=False)
        return
    from scoretools.cli.show_fingering import show_fingering

    show_fingering(analysis, passages, sentences, alternatives, ignore_marks)


def _runs(analysis: "Analysis", bars: str | None) -> tuple[range, ...]:
    """Find the runs of bars asked for; all bars by default."""
    from scoretools.cli.bars import bars_from

    if bars is None:
        return (range(len(analysis.part.measures)),)
    return bars_from(analysis, bars)


def _solution(request: Request, analysis: "Analysis", wanted: bool) -> "Solution | None":
    from scoretools.analysis import solution_of

    return solution_of(analysis, request.player, request.use_marks) if wanted else None


def _passages(
    analysis: "Analysis", solution: "Solution | None", runs: Sequence[range], count: int
) -> tuple["Passage", ...]:
    from scoretools.fingering.plans import plans
    from scoretools.write.fingering_document import Passage

    if solution is None or not count:
        return tuple(Passage(run, ()) for run in runs)
    return tuple(Passage(run, plans(solution, _events(analysis, run), count)) for run in runs)


def _seconds(
    analysis: "Analysis", solution: "Solution | None", runs: Sequence[range]
) -> "RunnersUp":
    from scoretools.fingering.plans import runners_up

    if solution is None:
        return {}
    return {
        note: second
        for run in runs
        for note, second in runners_up(solution, _events(analysis, run)).items()
    }


def _events(analysis: "Analysis", measures: range) -> range:
    """Indices of the events of a run of bars."""
    found = [event.index for event in analysis.part.events if event.measure in measures]
    return range(found[0], found[-1] + 1) if found else range(0)
