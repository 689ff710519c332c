"""The files of a report: each made from the analysis, none before it is asked for."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from functools import partial
from types import MappingProxyType
from typing import TYPE_CHECKING

from scoretools.cli.options import Request, fingered
from scoretools.errors import PlayerError, WriteError
from scoretools.note_names import NoteNames, names_in_force, naming
from scoretools.player import Paper

if TYPE_CHECKING:
    from scoretools.fingering.search import Solution
    from scoretools.model import Analysis
    from scoretools.write.figures import Figures
    from scoretools.write.page import BarTold

__all__ = ["EDITIONS", "KINDS", "Wishes", "report_files", "steps_of", "wishes_from"]

KINDS = ("page", "book", "music", "part", "tables", "sound")
"""What may be written: the page, the drill book to print, its MusicXML, the part with marks in
MusicXML and to print, the tables, and MIDI."""

_USUAL = frozenset(KINDS) - {"sound"}

EDITIONS = ("teacher", "student")
"""For whom the page is written."""

_SHEET_MM = MappingProxyType({Paper.A4: 210.0, Paper.LETTER: 215.9})
"""Width of a sheet, mm."""

_MARGINS_MM = 40.0
_STAFF_MM, _LARGE_STAFF_MM = 7.0, 9.0


@dataclass(frozen=True, slots=True)
class Wishes:
    """What is written, and how."""

    only: frozenset[str]
    """Some of `KINDS`."""
    edition: str
    """One of `EDITIONS`."""
    paper: Paper
    """What is printed on."""
    large: bool
    """Whether notes are large, for beginners."""
    note_names: bool
    """Whether the names of the notes stand under the drills."""
    in_mm: bool
    """Whether fingerboard pictures tell the mm between fingers."""


def wishes_from(
    only: list[str] | None,
    midi: bool,
    edition: str,
    paper: Paper,
    large: bool,
    note_names: bool,
    in_mm: bool,
) -> Wishes:
    """Check the options.

    Raises
    ------
    PlayerError
        If one of them says what is not known.
    """
    for kind in only or ():
        _known("--only", kind, KINDS)
    _known("--for", edition, EDITIONS)
    kinds = frozenset(only or _USUAL) | (frozenset({"sound"}) if midi else frozenset())
    return Wishes(kinds, edition, paper, large, note_names, in_mm)


def _known(option: str, text: str, choice: tuple[str, ...]) -> None:
    if text not in choice:
        raise PlayerError(f"{option}: “{text}” is not known; choose one of {', '.join(choice)}")


# ── what several files need ─────────────────────────────────────────────────────────────────────


@dataclass(frozen=True, slots=True)
class _Material:
    """What several files are made of."""

    request: Request
    """What was asked."""
    analysis: "Analysis"
    """The analysis."""
    wishes: Wishes
    """What is written."""
    document: bytes
    """The MusicXML document the part was read from."""
    marked: bytes
    """The same with marks in it, or without where marks cannot be put in or nothing needs them."""
    book: str
    """The drills as MusicXML, with letters; empty where nothing needs them."""
    own: bool
    """Whether it is the file's own document; if not, the file was converted."""
    figures: "Figures"
    """What is drawn for the drills."""
    systems: tuple[str, ...]
    """The part as music; none where nothing needs it or it cannot be engraved."""


def report_files(
    request: Request, analysis: "Analysis", wishes: Wishes, say: Callable[[str], None]
) -> tuple[dict[str, str | bytes], tuple[str, ...]]:
    """Make the files of a report.

    Parameters
    ----------
    say
        Called with what is being made.

    Returns
    -------
    dict, tuple of str
        Contents by name, and a sentence for everything that could not be made as wished.
    """
    told: list[str] = []
    material = _material(request, analysis, wishes, told, say)
    told += material.figures.problems
    files: dict[str, str | bytes] = {}
    for kind in (kind for kind in KINDS if kind in wishes.only):
        words, make = _MAKERS[kind]
        say(words)
        files |= make(material, told)
    return files, tuple(dict.fromkeys(told))


def steps_of(wishes: Wishes) -> int:
    """How many steps `report_files` tells of."""
    common = (
        {"page", "book", "part"},
        {"page", "book", "music"},
        {"page", "book"},
        {"page", "part"},
    )
    return len(wishes.only) + sum(bool(wishes.only & needed) for needed in common)


def _material(
    request: Request,
    analysis: "Analysis",
    wishes: Wishes,
    told: list[str],
    say: Callable[[str], None],
) -> _Material:
    from scoretools.read import musicxml_document
    from scoretools.write.drillbook import drill_book
    from scoretools.write.figures import Figures

    document, own = musicxml_document(request.score, request.part)
    marked, sheet, book, drawn = document, document, "", Figures((), ())
    if wishes.only & {"page", "book", "part"}:
        say("Marking the part")
        marked, sheet = _marked(request, analysis, document, told)
    if wishes.only & {"page", "book", "music"}:
        say("Writing the drills")
        with naming(NoteNames.LETTERS):
            book = drill_book(analysis, wishes.note_names)
    if wishes.only & {"page", "book"}:
        say("Engraving the drills")
        by_letters = names_in_force() is NoteNames.LETTERS
        to_read = book if by_letters else drill_book(analysis, wishes.note_names)
        drawn = _figures(request, analysis, wishes, sheet, to_read)
    systems: tuple[str, ...] = ()
    if wishes.only & {"page", "part"}:
        say("Engraving the part")
        systems = _systems(analysis, wishes, sheet, told)
    return _Material(request, analysis, wishes, document, marked, book, own, drawn, systems)


def _systems(
    analysis: "Analysis", wishes: Wishes, sheet: bytes, told: list[str]
) -> tuple[str, ...]:
    from scoretools.write.marked_part import part_systems

    try:
        return part_systems(analysis, sheet, wishes.paper, _staff_mm(wishes))
    except WriteError as error:
        told.append(f"The part is not shown as music: {error}.")
        return ()


def _marked(
    request: Request, analysis: "Analysis", document: bytes, told: list[str]
) -> tuple[bytes, bytes]:
    """Put marks in, for the file and for the sheet.

    Where that cannot be done the document stays as it is, and it is said.
    """
    from scoretools.write.annotate import annotate_both

    if not request.use_marks:
        told.append("The part stays without marks: this fingering leaves out what is printed.")
        return document, document
    try:
        return annotate_both(document, analysis, again=partial(fingered, request))
    except WriteError as error:
        told.append(f"The part stays without marks: {error}.")
        return document, document


def _figures(
    request: Request, analysis: "Analysis", wishes: Wishes, sheet: bytes, book: str
) -> "Figures":
    from scoretools.analysis import instrument_of
    from scoretools.write.figures import figures
    from scoretools.write.marked_part import part_alone

    return figures(
        analysis,
        instrument_of(analysis.part, request.player),
        book,
        part_alone(analysis, sheet),
        _SHEET_MM[wishes.paper] - _MARGINS_MM,
        _staff_mm(wishes),
        wishes.in_mm,
    )


def _staff_mm(wishes: Wishes) -> float:
    return _LARGE_STAFF_MM if wishes.large else _STAFF_MM


# ── files ───────────────────────────────────────────────────────────────────────────────────────

_Files = dict[str, str | bytes]


def _page(material: _Material, told: list[str]) -> _Files:
    from scoretools.drills.plan import plan
    from scoretools.write.page import PageFigures, page

    edition = material.wishes.edition
    drawn = PageFigures(material.systems, material.figures)
    bars = _bars_told(material) if edition == "teacher" else {}
    undated = replace(material.request.player, lesson=None)
    planned = plan([material.analysis], undated, _ANY_DAY)
    return {"report.html": page(material.analysis, drawn, edition, bars, planned)}


_ANY_DAY = date(2000, 1, 3)
"""First day of the plan on the page, which tells no dates."""


_BARS_WITH_PLANS = 4
"""Hardest bars for which the page tells other plans."""

_PLANS = 2
"""Other plans told for a bar."""


def _bars_told(material: _Material) -> "dict[int, BarTold]":
    """Say of every bar why it is fingered so, and of the hardest what else would do."""
    from scoretools.analysis import solution_of
    from scoretools.fingering.plans import runners_up
    from scoretools.write.explain import bar_reasons
    from scoretools.write.page import BarTold

    analysis = material.analysis
    solution = solution_of(analysis, material.request.player, material.request.use_marks)
    if solution is None:
        return {}
    seconds = runners_up(solution, range(len(analysis.part.events)))
    reasons = bar_reasons(analysis, range(len(analysis.part.measures)), seconds)
    hardest = sorted(analysis.loads, key=lambda bar: (-bar.load, bar.measure))[:_BARS_WITH_PLANS]
    others = {bar.measure: _other_plans(analysis, solution, bar.measure) for bar in hardest}
    return {
        measure: BarTold(sentences, others.get(measure, ()))
        for measure, sentences in reasons.items()
    }


def _other_plans(analysis: "Analysis", solution: "Solution", measure: int) -> tuple[str, ...]:
    from scoretools.fingering.plans import plans
    from scoretools.write.reasons import how_much_more, reasons

    events = [event.index for event in analysis.part.events if event.measure == measure]
    if not events:
        return ()
    first, *others = plans(solution, range(events[0], events[-1] + 1), _PLANS)
    return tuple(
        f"{told[:1].upper()}{told[1:]} ({how_much_more(plan.more)})."
        for plan in others
        for told in [reasons(analysis, first, plan).sentence]
    )


def _book(material: _Material, told: list[str]) -> _Files:
    from scoretools.write.book import drill_book_pdf

    wishes, player = material.wishes, material.request.player
    try:
        pdf = drill_book_pdf(
            material.analysis, material.figures, player, paper=wishes.paper, large=wishes.large
        )
    except WriteError as error:
        told.append(f"There is no drills.pdf: {error}.")
        return {}
    return {"drills.pdf": pdf}


def _music(material: _Material, told: list[str]) -> _Files:
    return {"drills.musicxml": material.book}


def _part(material: _Material, told: list[str]) -> _Files:
    """The user's own score with marks, as the file was, and the part to print."""
    from scoretools.write.marked_part import marked_part_pdf

    wishes = material.wishes
    files = _own_score(material, told)
    if not material.systems:
        return files
    try:
        pdf = marked_part_pdf(material.analysis, material.systems, wishes.paper)
    except WriteError as error:
        told.append(f"There is no part.pdf: {error}.")
        return files
    return files | {"part.pdf": pdf}


def _own_score(material: _Material, told: list[str]) -> _Files:
    from scoretools.write.annotate import file_with
    from scoretools.write.packed import is_container

    if not material.own:
        told.append("There is no marked score: marks are put into MusicXML only.")
        return {}
    if not material.request.use_marks:
        return {}
    file = material.request.score.read_bytes()
    name = "marked.mxl" if is_container(file) else "marked.musicxml"
    try:
        content = file_with(material.analysis, file, material.document, material.marked)
    except WriteError as error:
        told.append(f"There is no marked score: {error}.")
        return {}
    return {name: content}


def _tables(material: _Material, told: list[str]) -> _Files:
    from scoretools.write.document import analysis_json
    from scoretools.write.tables import (
        as_csv,
        demands_table,
        drills_table,
        notes_table,
        passages_table,
    )

    analysis = material.analysis
    return {
        "notes.csv": as_csv(notes_table(analysis)),
        "passages.csv": as_csv(passages_table(analysis)),
        "demands.csv": as_csv(demands_table(analysis)),
        "drills.csv": as_csv(drills_table(analysis)),
        "analysis.json": analysis_json(analysis),
    }


def _sound(material: _Material, told: list[str]) -> _Files:
    from scoretools.write.sound import bars_sound, drills_sound

    return {
        "drills.mid": drills_sound(material.analysis),
        "hard_bars.mid": bars_sound(material.analysis),
    }


_MAKERS: Mapping[str, tuple[str, Callable[[_Material, list[str]], _Files]]] = MappingProxyType(
    {
        "page": ("Writing the page", _page),
        "book": ("Setting the drill book", _book),
        "music": ("Writing the drills", _music),
        "part": ("Setting the part", _part),
        "tables": ("Writing the tables", _tables),
        "sound": ("Playing the drills", _sound),
    }
)
"""How each kind of file is made."""
