"""An analysis as pandas tables: notes, passages, demands, drills.

Column names and their order are fixed; new columns go to the end. Bars are given as printed
(`measure`) and by running index from 1 (`measure_index`); several bars are separated by spaces.
Notes and strings are called by letters, whatever names are in force for a person (see
`scoretools.note_names`).
"""

from collections.abc import Iterable, Sequence
from fractions import Fraction

import pandas as pd

from scoretools.hand import gap_letters
from scoretools.instrument import position_number
from scoretools.model import Analysis, Choice, Drill, Event, Exercise, Note, Shape, Step

__all__ = [
    "as_csv",
    "bars",
    "demands_table",
    "drills_table",
    "notes_table",
    "number",
    "passages_table",
    "strings_of",
]

NOTES_COLUMNS = (
    "event", "movement", "measure", "measure_index", "rehearsal", "beat", "onset_ql",
    "duration_ql", "onset_s", "pitch", "midi", "string", "finger", "offset", "position",
    "first_offset", "gaps", "known", "certainty", "margin", "printed_finger", "printed_string",
    "passage",
)  # fmt: skip
PASSAGES_COLUMNS = (
    "passage", "begins_with", "first_measure", "last_measure", "first_measure_index",
    "last_measure_index", "first_event", "last_event", "position", "string", "first_offset",
    "gaps", "known",
)  # fmt: skip
DEMANDS_COLUMNS = (
    "demand", "kind", "string", "position", "first_offset", "gaps", "detail", "measures", "count",
    "notes_per_s", "speed_assumed", "certainty", "weight",
)  # fmt: skip
DRILLS_COLUMNS = (
    "drill", "title", "kind", "strings", "position", "gaps", "form", "notes",
    "fingers", "checks", "measures", "share", "start_per_minute", "goal_per_minute",
    "goal_assumed", "minutes", "after", "advice",
)  # fmt: skip


def notes_table(analysis: Analysis) -> pd.DataFrame:
    """One row for each struck note, in order; a tied continuation has none.

    Returns
    -------
    pandas.DataFrame
        Columns `NOTES_COLUMNS`. `pitch` and `midi` sound; `offset` is where the finger lies,
        semitones above the open string; `position` is 0.5 in half position and empty on an open
        string with no hand yet; `gaps` and `first_offset` tell the hand's shape on that string;
        `known` lists the fingers that play, the others being implied; `margin` is what the best
        alternative with another string or finger would cost more, in points; `printed_string`
        counts as the score prints it, 1 = highest.
    """
    hand_from = _first_event_with_a_finger_down(analysis)
    rows = [
        _note_row(analysis, event, step, place, hand_from)
        for event, step in zip(analysis.part.events, analysis.steps, strict=True)
        for place in range(len(event.notes))
    ]
    table = pd.DataFrame(rows, columns=list(NOTES_COLUMNS))
    whole = ("finger", "offset", "first_offset", "printed_string", "passage")
    return table.astype(dict.fromkeys(whole, "Int64"))


def _note_row(
    analysis: Analysis, event: Event, step: Step, place: int, hand_from: int
) -> tuple[object, ...]:
    note = event.notes[place]
    choice = step.choices[place] if step.choices else None
    shape = analysis.shapes[event.index][place] if step.choices else None
    passage = analysis.passage_of[event.index]
    measure = analysis.part.measures[event.measure]
    return (
        event.index,
        measure.movement,
        measure.number,
        measure.index + 1,
        measure.rehearsal,
        number(event.beat),
        number(event.onset_ql),
        number(note.duration_ql),
        round(event.onset_s, 4),
        note.pitch.name,
        note.pitch.midi,
        *_stop_cells(analysis, choice),
        _position_cell(analysis, passage) if event.index >= hand_from else None,
        *_shape_cells(shape),
        choice.certainty.value if choice else "",
        choice.margin if choice else None,
        " ".join(map(str, _printed_fingers(note))),
        note.marks.string,
        passage,
    )


def _stop_cells(analysis: Analysis, choice: Choice | None) -> tuple[object, ...]:
    if choice is None:
        return "", None, None
    stop = choice.stop
    return str(analysis.string_names[stop.string]), stop.finger, stop.offset


def _first_event_with_a_finger_down(analysis: Analysis) -> int:
    for index, step in enumerate(analysis.steps):
        if step.placement and any(stop.finger for stop in step.placement.stops):
            return index
    return len(analysis.steps)


def _position_cell(analysis: Analysis, passage: int | None) -> float | None:
    return None if passage is None else position_number(analysis.passages[passage].position)


def _shape_cells(shape: Shape | None) -> tuple[object, ...]:
    if shape is None:
        return None, "", ""
    return shape.first_offset, gap_letters(shape.gaps), " ".join(map(str, shape.known))


def _printed_fingers(note: Note) -> tuple[int, ...]:
    return note.marks.fingers or ((0,) if note.marks.open_string else ())


def passages_table(analysis: Analysis) -> pd.DataFrame:
    """One row for each passage and string on which a finger plays; columns `PASSAGES_COLUMNS`.

    A passage of open strings alone has one row without a string.
    """
    measures, events = analysis.part.measures, analysis.part.events
    rows = []
    for passage in analysis.passages:
        first = measures[events[passage.first_event].measure]
        last = measures[events[passage.last_event].measure]
        head = (
            passage.index, passage.begins_with, first.number, last.number, first.index + 1,
            last.index + 1, passage.first_event, passage.last_event,
        )  # fmt: skip
        position = position_number(passage.position) if passage.shapes else None
        for shape in passage.shapes or (None,):
            string = str(analysis.string_names[shape.string]) if shape else ""
            rows.append((*head, position, string, *_shape_cells(shape)))
    table = pd.DataFrame(rows, columns=list(PASSAGES_COLUMNS))
    return table.astype({"first_offset": "Int64"})


def demands_table(analysis: Analysis) -> pd.DataFrame:
    """One row for each demand, heaviest first; columns `DEMANDS_COLUMNS`.

    `weight` is in load points; `notes_per_s` is the speed of its fastest moment, assumed where the
    score prints no tempo.
    """
    rows = [
        (
            index,
            demand.kind.value,
            str(analysis.string_names[demand.string]),
            position_number(demand.position),
            demand.first_offset if demand.shape else None,
            demand.gaps,
            str(demand.detail),
            bars(analysis, demand.measures),
            len(demand.moments),
            demand.notes_per_s,
            demand.speed_assumed,
            demand.certainty.value,
            demand.weight,
        )
        for index, demand in enumerate(analysis.demands)
    ]
    table = pd.DataFrame(rows, columns=list(DEMANDS_COLUMNS))
    return table.astype({"first_offset": "Int64"})


def drills_table(analysis: Analysis) -> pd.DataFrame:
    """One row for each exercise of each drill, in order of practice; columns `DRILLS_COLUMNS`.

    `position` is where it begins; `notes` and `fingers` run side by side, ``+`` joining what
    sounds together; `share` is the part of the whole demand weight the drill serves; speeds are
    in notes a minute.
    """
    rows = [
        _exercise_row(analysis, drill, exercise)
        for drill in analysis.drills
        for exercise in drill.exercises
    ]
    return pd.DataFrame(rows, columns=list(DRILLS_COLUMNS))


def _exercise_row(analysis: Analysis, drill: Drill, exercise: Exercise) -> tuple[object, ...]:
    notes = exercise.notes
    joins = ["+" if note.with_next else " " for note in notes]
    return (
        drill.index + 1,
        str(drill.title),
        drill.kind.value,
        " ".join(strings_of(analysis, exercise)),
        position_number(notes[0].position),
        drill.gaps,
        exercise.name,
        _joined([note.pitch.name for note in notes], joins),
        _joined([str(note.stop.finger) for note in notes], joins),
        "; ".join(
            f"{check.pitch.name} {check.interval} with open {check.against.name}"
            for check in drill.checks
        ),
        bars(analysis, drill.measures),
        round(drill.share, 4),
        drill.start_per_minute,
        drill.goal_per_minute,
        drill.goal_assumed,
        drill.minutes,
        " ".join(str(index + 1) for index in drill.after),
        drill.advice,
    )


def strings_of(analysis: Analysis, exercise: Exercise) -> tuple[str, ...]:
    """Name the strings of an exercise, in the order in which they come in."""
    strings = dict.fromkeys(note.stop.string for note in exercise.notes)
    return tuple(str(analysis.string_names[string]) for string in strings)


def as_csv(table: pd.DataFrame) -> str:
    """Write a table as CSV, figures with the decimals that mean something.

    A text that a spreadsheet would take for a formula stays a text.
    """
    return table.map(_as_written).to_csv(index=False, lineterminator="\n")


_DECIMALS = 4
"""Decimals of a figure: tenths of a millisecond, hundredths of a per cent."""


def _as_written(cell: object) -> object:
    if isinstance(cell, float):
        return round(cell, _DECIMALS) + 0.0  # no minus before nothing
    return _harmless(cell) if isinstance(cell, str) else cell


def _harmless(cell: str) -> str:
    """Put an apostrophe before what a spreadsheet would take for a formula; end lines one way."""
    text = cell.replace("\r\n", "\n").replace("\r", "\n")
    return f"'{text}" if text.startswith(("=", "+", "-", "@", "\t", "\n")) else text


def _joined(words: Sequence[str], joins: Sequence[str]) -> str:
    return "".join(word + join for word, join in zip(words, joins, strict=True)).strip()


def bars(analysis: Analysis, measures: Iterable[int]) -> str:
    """List bars as printed."""
    return " ".join(analysis.part.measures[index].number for index in measures)


def number(value: Fraction) -> float | int:
    """Write an exact number as plainly as it goes."""
    return int(value) if value.denominator == 1 else round(float(value), 6)
