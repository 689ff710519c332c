"""One part of a MusicXML document, read into a `Part`.

Conventions: bars are counted as printed; a movement begins where bar numbers start again after a
final bar line; an upbeat is the short first bar of a movement, or any short bar that is not counted
in print. Repeats are left as written and told as joins.
"""

from collections.abc import Callable, Sequence
from fractions import Fraction
from functools import cache

from scoretools.errors import PartNotFound, ReadError
from scoretools.instrument import INSTRUMENTS
from scoretools.model import Measure, Notice, Part, Pitch
from scoretools.read.attributes import number_of, tuning_of
from scoretools.read.document import Element, text_of
from scoretools.read.events import Setting, events_of, quarters
from scoretools.read.joins import joins_of
from scoretools.read.measures import ticks_of, walk_measure
from scoretools.read.notes import Unit
from scoretools.read.notices import Log, closed, remark
from scoretools.read.noughts import settle_noughts
from scoretools.read.ornaments import ornamented
from scoretools.read.parts import ScorePart, chosen, listing, score_parts
from scoretools.read.slurs import slurred_notes
from scoretools.read.ties import struck_notes
from scoretools.read.timing import (
    ScoreMarks,
    assumed_tempo,
    bar_lengths,
    clock_of,
    score_marks,
    tempi_of,
)
from scoretools.read.walk import RawMeasure, Walk
from scoretools.read.words import under_words
from scoretools.read.words_in_force import Scene

__all__ = ["MOST_MEASURES", "MOST_NOTES", "part_of"]

MOST_NOTES = 200_000
"""Most notes of a part that are read, several times those of the longest operas."""

MOST_MEASURES = 50_000
"""Most measures of a part that are read."""


def part_of(source: str, root: Element, part: str | int | None, told: Sequence[str] = ()) -> Part:
    """Return one part of a document.

    Parameters
    ----------
    source : str
        The file's name.
    root : Element
        A ``score-partwise`` element.
    part : str, int or None
        Which part: a name, a number from 1, or none for the first violin or viola.
    told : sequence of str
        Sentences the user should read first.

    Returns
    -------
    Part
        The part as read.

    Raises
    ------
    PartNotFound
        No part fits the request, or it has only unpitched notes.
    ReadError
        The part has no notes, or more than `MOST_NOTES` notes or `MOST_MEASURES` measures.
    """
    parts = score_parts(root)
    taken, assumed = chosen(source, parts, part)
    log = Log([Notice(said) for said in (*told, *assumed)])
    if taken.staves > 1:
        remark(log, f"The part has {taken.staves} staves, which are read together.")
    ticks = ticks_of(taken.element)
    walk = Walk(log, _elsewhere(parts, taken), Unit(Fraction(1), ticks))
    for element in taken.element.iterchildren("measure"):
        walk_measure(walk, element)
        _require_less(source, walk)
    _require_notes(source, parts, taken, walk)
    marks = score_marks([one.element for one in parts], taken.number - 1, log)
    measures = _measures(walk, marks, _first_movement(root))
    tempi = tempi_of(marks, measures, _unmarked(walk, measures), log)
    tuning = _tuning(taken.element)
    keys = tuple(sorted(walk.keys, key=lambda pair: pair[0]))
    scene = Scene(tuning or INSTRUMENTS[taken.instrument], walk.measures, _openings(measures))
    settle_noughts(walk.notes, scene.strings, log)
    setting = Setting(
        taken.part_id,
        measures,
        _beat_origins(walk.measures, measures, ticks),
        keys,
        ticks,
        clock_of(tempi),
        slurred_notes(walk.notes, walk.slur_ends, log),
        tuple(under_words(walk.notes, walk.said, scene, log)),
        ornamented(walk.notes, walk.signs, keys, log),
    )
    return Part(
        source=source,
        title=_title(root),
        composer=_composer(root),
        name=taken.name,
        part_id=taken.part_id,
        number=taken.number,
        instrument=taken.instrument,
        tuning=tuning,
        measures=measures,
        events=events_of(struck_notes(walk.notes, ticks, log), setting, log),
        tempi=tempi,
        notices=closed(log, measures),
        joins=joins_of(walk.bar_signs, marks.jumps, measures),
    )


def _unmarked(walk: Walk, measures: Sequence[Measure]) -> dict[int, float]:
    """Tempo of every movement, should it print none."""
    lengths: dict[int, list[Fraction]] = {}
    for note in walk.notes:
        movement = measures[note.measure].movement
        lengths.setdefault(movement, []).append(Fraction(note.length) / walk.unit.ticks)
    return {movement: assumed_tempo(notes) for movement, notes in lengths.items()}


def _elsewhere(parts: Sequence[ScorePart], taken: ScorePart) -> Callable[[int], Fraction | None]:
    """Return a function that looks up how long a measure is in the other parts."""

    @cache
    def lengths(place: int) -> list[Fraction]:
        return bar_lengths(parts[place].element)

    def length(index: int) -> Fraction | None:
        for place, part in enumerate(parts):
            if part.number != taken.number:
                found = lengths(place)
                if index < len(found) and found[index]:
                    return found[index]
        return None

    return length


def _require_less(source: str, walk: Walk) -> None:
    for things, number, most in (
        ("notes", len(walk.notes), MOST_NOTES),
        ("measures", len(walk.measures), MOST_MEASURES),
    ):
        if number > most:
            raise ReadError(
                f"{source}: the part holds more than {most:,} {things}, the most that is read; "
                "export single movements."
            )


def _require_notes(source: str, parts: Sequence[ScorePart], taken: ScorePart, walk: Walk) -> None:
    if walk.notes:
        return
    name = f"part {taken.number} “{taken.name}”" if taken.name else f"part {taken.number}"
    if "unpitched" in walk.skipped:
        raise PartNotFound(
            f"{source}: {name} is for unpitched percussion; the score has {listing(parts)}: "
            "choose a violin or viola part."
        )
    found = "only cue notes" if "cue" in walk.skipped else "no notes"
    advice = "export the score again with its notes"
    if len(parts) > 1:
        advice = f"choose another part among {listing(parts)}"
    raise ReadError(f"{source}: {name} holds {found}; {advice}.")


def _measures(walk: Walk, marks: ScoreMarks, movement: int) -> tuple[Measure, ...]:
    measures: list[Measure] = []
    rehearsal = ""
    opening = len(walk.measures) > 1
    for index, bar in enumerate(walk.measures):
        number = (bar.element.get("text") or bar.element.get("number") or "").strip()
        if index and walk.measures[index - 1].final and _restarts(number):
            movement += 1
            rehearsal = ""
            opening = True
        rehearsal = marks.rehearsals.get(index, rehearsal)
        length = quarters(bar.length, walk.unit.ticks)
        time = bar.time or _as_time(length)
        short = length < Fraction(4 * time[0], time[1])
        measures.append(
            Measure(
                index=index,
                number=number or str(index + 1),
                movement=movement,
                rehearsal=rehearsal,
                onset_ql=quarters(bar.onset, walk.unit.ticks),
                duration_ql=length,
                time=time,
                upbeat=short and (opening or bar.element.get("implicit") == "yes"),
            )
        )
        opening = False
    return tuple(measures)


def _openings(measures: Sequence[Measure]) -> frozenset[int]:
    """Return the indices of the bars that open a movement."""
    return frozenset(
        bar.index
        for bar in measures
        if bar.index == 0 or measures[bar.index - 1].movement != bar.movement
    )


def _beat_origins(
    bars: Sequence[RawMeasure], measures: Sequence[Measure], ticks: int
) -> tuple[int, ...]:
    """Return where the first beat of each bar is, or would be if an upbeat were a whole bar."""
    origins = []
    for bar, measure in zip(bars, measures, strict=True):
        upper, lower = measure.time
        missing = 4 * ticks * upper // lower - bar.length if measure.upbeat else 0
        origins.append(bar.onset - missing)
    return tuple(origins)


def _restarts(number: str) -> bool:
    value = number_of(number)
    return value is not None and value <= 1


def _as_time(duration_ql: Fraction) -> tuple[int, int]:
    """Return a bar without metre as a fraction of whole notes with a usual lower figure."""
    lower = 4
    while (duration_ql * lower / 4).denominator != 1 and lower < 1024:
        lower *= 2
    return max(1, -(-duration_ql * lower // 4)), lower


def _first_movement(root: Element) -> int:
    text = text_of(root.find("movement-number"))
    return int(text) if text.isdecimal() and 0 < len(text) < 4 and int(text) else 1


def _title(root: Element) -> str:
    work, movement = text_of(root.find("work/work-title")), text_of(root.find("movement-title"))
    if work and movement and work.casefold() not in movement.casefold():
        return f"{work}, {movement}"
    return movement or work


def _composer(root: Element) -> str:
    creators = root.iterfind("identification/creator")
    names = (text_of(one) for one in creators if one.get("type", "").lower() == "composer")
    return ", ".join(name for name in names if name)


def _tuning(part: Element) -> tuple[Pitch, ...] | None:
    tunings = (tuning_of(found) for found in part.iter("staff-details", "scordatura"))
    return next((tuning for tuning in tunings if tuning is not None), None)
