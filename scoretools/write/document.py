"""An analysis as JSON: the whole of it, for other programs.

Schema ``scoretools-analysis``, version `VERSION`; the version rises when a field changes its
meaning or goes, not when one is added. Field names and units are those of `scoretools.model`
(``_ql`` quarter lengths, ``_s`` seconds, offsets in semitones above the open string, strings by
name, half position 0.5). ``notes``, ``passages`` and ``demands`` hold the rows of the tables of
`scoretools.write.tables`; ``drills`` hold their notes; ``costs`` of an event itemise its cost
points by term.
"""

import json
from typing import Any

import pandas as pd

from scoretools.instrument import position_number
from scoretools.model import Analysis, Drill, DrillNote, Exercise, LeftOut
from scoretools.write.tables import demands_table, notes_table, number, passages_table, strings_of

__all__ = ["SCHEMA", "VERSION", "analysis_json"]

SCHEMA = "scoretools-analysis"
VERSION = 1


def analysis_json(analysis: Analysis) -> str:
    """Write an analysis as JSON text."""
    return json.dumps(_document(analysis), ensure_ascii=False, indent=1, allow_nan=False) + "\n"


def _document(analysis: Analysis) -> dict[str, Any]:
    return {
        "schema": SCHEMA,
        "version": VERSION,
        "part": _part(analysis),
        "fingering": {
            "profile": analysis.profile,
            "ceiling": position_number(analysis.ceiling),
            "ceiling_from": analysis.ceiling_from,
            "cost": analysis.cost,
            "marks_broken": analysis.marks_broken,
        },
        "measures": _measures(analysis),
        "notes": _records(notes_table(analysis)),
        "events": _events(analysis),
        "passages": _records(passages_table(analysis)),
        "demands": _records(demands_table(analysis)),
        "drills": [_drill(analysis, drill) for drill in analysis.drills],
        "left_out": [_left_out(analysis, left) for left in analysis.left_out],
        "notices": [
            {"measure_index": _one_based(notice.measure), "message": notice.message}
            for notice in analysis.notices
        ],
    }


def _part(analysis: Analysis) -> dict[str, Any]:
    part = analysis.part
    return {
        "source": part.source,
        "title": part.title,
        "composer": part.composer,
        "name": part.name,
        "number": part.number,
        "instrument": part.instrument,
        "strings": list(analysis.string_names),
        "tempi": [
            {
                "onset_ql": number(tempo.onset_ql),
                "quarters_per_minute": tempo.quarters_per_minute,
                "assumed": tempo.assumed,
            }
            for tempo in part.tempi
        ],
    }


def _measures(analysis: Analysis) -> list[dict[str, Any]]:
    return [
        {
            "measure_index": measure.index + 1,
            "measure": measure.number,
            "movement": measure.movement,
            "rehearsal": measure.rehearsal,
            "onset_ql": number(measure.onset_ql),
            "duration_ql": number(measure.duration_ql),
            "load": load.load,
            "reasons": list(load.reasons),
        }
        for measure, load in zip(analysis.part.measures, analysis.loads, strict=True)
    ]


def _events(analysis: Analysis) -> list[dict[str, Any]]:
    return [
        {
            "event": index,
            "home": step.placement.home if step.placement else None,
            "position": position_number(step.placement.position) if step.placement else None,
            "broken_chord": step.placement.broken if step.placement else None,
            "costs": dict(step.costs),
        }
        for index, step in enumerate(analysis.steps)
    ]


def _drill(analysis: Analysis, drill: Drill) -> dict[str, Any]:
    return {
        "drill": drill.index + 1,
        "title": drill.title,
        "kind": drill.kind.value,
        "string": analysis.string_names[drill.string],
        "position": position_number(drill.position),
        "gaps": drill.gaps,
        "exercises": [_exercise(analysis, exercise) for exercise in drill.exercises],
        "checks": [
            {
                "pitch": check.pitch.name,
                "against": check.against.name,
                "interval": check.interval,
            }
            for check in drill.checks
        ],
        "advice": drill.advice,
        "measures": [analysis.part.measures[index].number for index in drill.measures],
        "demands": list(drill.demands),
        "share": round(drill.share, 4),
        "after": [index + 1 for index in drill.after],
        "start_per_minute": drill.start_per_minute,
        "goal_per_minute": drill.goal_per_minute,
        "goal_assumed": drill.goal_assumed,
        "ladder": list(drill.ladder),
        "minutes": drill.minutes,
        "bridge": [analysis.part.measures[index].number for index in drill.bridge],
    }


def _exercise(analysis: Analysis, exercise: Exercise) -> dict[str, Any]:
    return {
        "form": exercise.name,
        "how": exercise.how,
        "strings": list(strings_of(analysis, exercise)),
        "fifths": exercise.key.fifths,
        "notes": [_drill_note(analysis, note) for note in exercise.notes],
    }


def _drill_note(analysis: Analysis, note: DrillNote) -> dict[str, Any]:
    return {
        "pitch": note.pitch.name,
        "string": analysis.string_names[note.stop.string],
        "finger": note.stop.finger,
        "offset": note.stop.offset,
        "position": position_number(note.position),
        "length_ql": number(note.length_ql),
        "with_next": note.with_next,
        "silent": note.silent,
    }


def _left_out(analysis: Analysis, left: LeftOut) -> dict[str, Any]:
    return {
        "title": left.title,
        "demands": list(left.demands),
        "measures": [analysis.part.measures[index].number for index in left.measures],
        "share": round(left.share, 4),
        "why": left.why,
    }


def _one_based(index: int | None) -> int | None:
    return None if index is None else index + 1


def _records(table: pd.DataFrame) -> list[dict[str, Any]]:
    plain = table.astype(object).where(table.notna(), None)
    return [{str(name): value for name, value in row.items()} for row in plain.to_dict("records")]
