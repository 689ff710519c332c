"""A fingering as JSON, for other programs: notes, reasons, other plans.

Schema ``scoretools-fingering``, version `VERSION`; the version rises when a field changes its
meaning or goes, not when one is added. Names and units are those of `scoretools.write.document`.
"""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from scoretools.fingering.plans import Plan
from scoretools.instrument import position_number
from scoretools.model import Analysis, Placement, Stop
from scoretools.write.explain import RunnersUp, printed_otherwise
from scoretools.write.reasons import bars_touched, reasons
from scoretools.write.tables import number

__all__ = ["SCHEMA", "VERSION", "Passage", "fingering_json"]

SCHEMA = "scoretools-fingering"
VERSION = 1


@dataclass(frozen=True, slots=True)
class Passage:
    """A run of bars, and the plans for it."""

    measures: range
    """Indices of its bars."""
    plans: tuple[Plan, ...]
    """The chosen plan, then the others; empty where they were not asked for."""


def fingering_json(
    analysis: Analysis,
    passages: Sequence[Passage],
    seconds: RunnersUp,
    sentences: Mapping[int, Sequence[str]],
    against_print: bool,
) -> str:
    """Write the fingering of some passages as JSON text.

    Parameters
    ----------
    seconds
        Second choices, where they are wanted.
    sentences
        What explains the bars, by index, where it is wanted.
    against_print
        Whether the fingering is compared with what is printed.
    """
    document: dict[str, Any] = {
        "schema": SCHEMA,
        "version": VERSION,
        "part": {
            "source": analysis.part.source,
            "name": analysis.part.name,
            "number": analysis.part.number,
            "instrument": analysis.part.instrument,
            "strings": list(analysis.string_names),
        },
        "profile": analysis.profile,
        "ceiling": position_number(analysis.ceiling),
        "passages": [_passage(analysis, passage, seconds, sentences) for passage in passages],
    }
    if against_print:
        measures = [index for passage in passages for index in passage.measures]
        marked, kept, apart = printed_otherwise(analysis, measures)
        document["printed"] = {"marked": marked, "as_printed": kept, "otherwise": list(apart)}
    return json.dumps(document, ensure_ascii=False, indent=1, allow_nan=False) + "\n"


def _passage(
    analysis: Analysis,
    passage: Passage,
    seconds: RunnersUp,
    sentences: Mapping[int, Sequence[str]],
) -> dict[str, Any]:
    return {
        "measures": [
            {
                "measure_index": index + 1,
                "measure": analysis.part.measures[index].number,
                "movement": analysis.part.measures[index].movement,
                "reasons": list(sentences.get(index, ())),
            }
            for index in passage.measures
        ],
        "notes": _notes(analysis, passage.measures, None, seconds),
        "alternatives": [
            _alternative(analysis, passage.plans[0], plan) for plan in passage.plans[1:]
        ],
    }


def _alternative(analysis: Analysis, first: Plan, plan: Plan) -> dict[str, Any]:
    told = reasons(analysis, first, plan)
    bars = bars_touched(analysis, first, plan)
    return {
        "points_more": round(plan.more, 3),
        "sentence": told.sentence,
        "gains": list(told.gains),
        "costs": list(told.costs),
        "points": dict(told.points),
        "elsewhere": list(plan.elsewhere),
        "notes": _notes(analysis, bars, plan.placements, {}),
    }


def _notes(
    analysis: Analysis,
    measures: Sequence[int],
    placements: Sequence[Placement | None] | None,
    seconds: RunnersUp,
) -> list[dict[str, Any]]:
    plan = placements or [step.placement for step in analysis.steps]
    wanted = set(measures)
    rows: list[dict[str, Any]] = []
    for event in analysis.part.events:
        place = plan[event.index]
        if event.measure not in wanted:
            continue
        for column, note in enumerate(event.notes):
            row: dict[str, Any] = {
                "event": event.index,
                "measure_index": event.measure + 1,
                "beat": number(event.beat),
                "pitch": note.pitch.name,
                **_stop(analysis, place.stops[column] if place else None),
                "position": position_number(place.position) if place else None,
            }
            if placements is None:
                row |= _certainty(analysis, event.index, column, seconds)
            rows.append(row)
    return rows


def _stop(analysis: Analysis, stop: Stop | None) -> dict[str, Any]:
    if stop is None:
        return {"string": None, "finger": None}
    return {"string": analysis.string_names[stop.string], "finger": stop.finger}


def _certainty(analysis: Analysis, event: int, column: int, seconds: RunnersUp) -> dict[str, Any]:
    choices = analysis.steps[event].choices
    found: dict[str, Any] = {
        "certainty": choices[column].certainty.value if choices else None,
        "margin": choices[column].margin if choices else None,
    }
    second = seconds.get((event, column))
    if second is not None:
        found["second"] = {
            **_stop(analysis, second.stop),
            "position": position_number(second.position),
            "points_more": round(second.more, 3),
        }
    return found
