"""The music and the pictures of a report, made once for the page and for the book.

What cannot be engraved is named, and the rest appears.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from scoretools.errors import WriteError
from scoretools.instrument import Instrument
from scoretools.model import Analysis, DemandKind, Drill, DrillNote, Exercise, Shape
from scoretools.note_names import bare_name_of
from scoretools.write.drillbook import exercise_documents
from scoretools.write.engrave import engraved
from scoretools.write.fingerboard import Spot, fingerboard

__all__ = ["DrillFigures", "Figures", "figures", "spots"]


@dataclass(frozen=True, slots=True)
class DrillFigures:
    """What is drawn for one drill; SVG texts."""

    picture: str
    """The fingerboard."""
    exercises: tuple[tuple[str, ...], ...]
    """For each exercise its systems; none where it could not be engraved."""
    bridge: tuple[str, ...]
    """Systems of the bars of the piece; none where the score could not be engraved."""


@dataclass(frozen=True, slots=True)
class Figures:
    """All that is drawn."""

    drills: tuple[DrillFigures, ...]
    """One for each drill, in order."""
    problems: tuple[str, ...]
    """A sentence for everything that could not be drawn."""


def figures(
    analysis: Analysis,
    instrument: Instrument,
    book: str,
    part_document: str | None,
    width_mm: float,
    staff_mm: float = 7.0,
    in_mm: bool = False,
    say: Callable[[str], None] = lambda _: None,
) -> Figures:
    """Draw the drills of an analysis.

    Parameters
    ----------
    instrument
        With the player's string length.
    book
        What `scoretools.write.drillbook.drill_book` made of the analysis.
    part_document
        The part alone (see `scoretools.write.engrave.single_part`); none where there is no
        MusicXML of it, and so no bars of the piece.
    width_mm, staff_mm
        Width of the music, height of a staff, mm.
    in_mm
        Whether the pictures tell the mm between fingers.
    say
        Called with what is being drawn.

    Returns
    -------
    Figures
        A drill whose music fails has none, and is named.
    """
    problems: list[str] = []
    drawn: list[DrillFigures] = []
    for drill, documents in zip(analysis.drills, exercise_documents(analysis, book), strict=True):
        say(f"Drill {drill.index + 1}")
        what = f"drill {drill.index + 1}"
        exercises = tuple(
            _tried(what, problems, document, width_mm, staff_mm) for document in documents
        )
        bridge: tuple[str, ...] = ()
        if part_document is not None:
            bars = drill.bridge
            bridge = _tried(
                f"the bars of {what}", problems, part_document, width_mm, staff_mm, bars
            )
        picture = fingerboard(
            instrument, drill.position, tuple(spots(instrument, analysis, drill)), in_mm=in_mm
        )
        drawn.append(DrillFigures(picture, exercises, bridge))
    return Figures(tuple(drawn), tuple(dict.fromkeys(problems)))


def _tried(
    what: str,
    problems: list[str],
    document: str,
    width_mm: float,
    staff_mm: float,
    bars: tuple[int, int] | None = None,
) -> tuple[str, ...]:
    try:
        return engraved(document, width_mm, staff_mm, bars)
    except WriteError as error:
        problems.append(f"The music of {what} could not be engraved: {error}.")
        return ()


# ── places on the fingerboard ───────────────────────────────────────────────────────────────────


def spots(instrument: Instrument, analysis: Analysis, drill: Drill) -> Iterator[Spot]:
    """The shape of a drill, else the places of one of its first exercises, the one with most."""
    checks = {check.pitch: check.interval for check in drill.checks}
    if drill.shape is not None and drill.shape.string == drill.string:
        if drill.kind in (DemandKind.SHAPE_CHANGE, DemandKind.CHROMATIC_SLIDE):
            earlier = analysis.demands[drill.demands[0]].stops[0]
            notes = {n.stop: n for exercise in drill.exercises for n in exercise.notes}
            pitch = notes[earlier].pitch
            yield Spot(earlier, bare_name_of(pitch), check=checks.get(pitch, ""))
        yield from _of_shape(instrument, analysis, drill, drill.shape)
        return
    for note in _each_place(max(drill.exercises[:4], key=_places).notes):
        yield Spot(note.stop, bare_name_of(note.pitch), check=checks.get(note.pitch, ""))


def _places(exercise: Exercise) -> tuple[int, int]:
    """How many places an exercise has, and how far apart its positions are."""
    positions = [note.position for note in exercise.notes]
    return len(_each_place(exercise.notes)), max(positions) - min(positions)


def _each_place(notes: Sequence[DrillNote]) -> list[DrillNote]:
    return list({note.stop: note for note in notes}.values())


def _of_shape(
    instrument: Instrument, analysis: Analysis, drill: Drill, shape: Shape
) -> Iterator[Spot]:
    """Fingers of a shape, hollow where they are implied: spelled and checked as in the drill."""
    known = {finger for index in drill.demands for finger in _known(analysis, index, shape)}
    checks = {check.pitch: check.interval for check in drill.checks}
    notes = {n.stop: n for exercise in drill.exercises for n in exercise.notes}
    for stop, note in sorted(notes.items(), key=lambda item: item[0].offset):
        if stop.string == shape.string and (
            stop.finger == 0 or stop.offset == shape.offsets[stop.finger - 1]
        ):
            implied = stop.finger > 0 and stop.finger not in known
            yield Spot(stop, bare_name_of(note.pitch), implied, checks.get(note.pitch, ""))


def _known(analysis: Analysis, demand: int, shape: Shape) -> Sequence[int]:
    found = analysis.demands[demand].shape
    return found.known if found and found.offsets == shape.offsets else ()
