"""The drill book to print: what the part asks, the drills with their music, the week's check list.

Conventions
-----------
* Words are made here, the layout is in ``templates/book.typ``; values reach it as data, so a title
  may hold any sign.
* Sharps and flats are set as signs in our own words, never in a text that comes from the score.
* Pictures keep their size in mm. A fingerboard is as large as it is in life; where it would then
  take more than three tenths of the page, it says by how much it is reduced.
* Drills follow each other closely: short exercises stand two in a row, and only a heading and the
  music below it are kept on one page.
* Music that could not be drawn is told in notes and fingers, and the book appears.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from xml.etree import ElementTree

from scoretools.analysis import instrument_of
from scoretools.bar_names import length_words
from scoretools.drills.choose import CAUTIONS, WARM_UP_MINUTES
from scoretools.model import (
    Analysis,
    Certainty,
    Drill,
    DrillNote,
    Exercise,
    Pitch,
)
from scoretools.note_names import bare_name_of, said
from scoretools.player import Player
from scoretools.write.engrave import drawn_width_mm
from scoretools.write.figures import DrillFigures, Figures
from scoretools.write.hand_map import hand_map
from scoretools.write.note_words import check_words, letter, signed, title_of
from scoretools.write.summary import (
    assumptions,
    bar_ranges,
    ceiling_sentence,
    clicks,
    coverage_lines,
    listed,
    notice_lines,
    percent,
    strings_in_order,
    what_it_asks,
)
from scoretools.write.typeset import pdf_from

__all__ = ["drill_book_pdf"]

_RULES = (
    "Say the name of every note aloud before you play it.",
    "Stop at the first note out of tune, and mend it.",
    "Go back one note and pass it again.",
    "Go up a rung of the tempo ladder when all of it was in tune.",
)
"""How every drill is played (common practice)."""

_DAYS_IN_A_ROW = 7

_LONGEST_FOOT = 70
"""Letters of a title that the foot of a page has room for."""


def drill_book_pdf(
    analysis: Analysis,
    figures: Figures,
    player: Player,
    *,
    paper: str = "a4",
    large: bool = False,
) -> bytes:
    """Set the drills of an analysis as a book to print.

    Parameters
    ----------
    analysis
        As `scoretools.analyse` returns it.
    figures
        What `scoretools.write.figures.figures` drew for the same analysis.
    player
        Who plays: the name, the days to the lesson and the minutes a day are printed.
    paper
        ``a4`` or ``us-letter``.
    large
        Whether the words are large, for beginners; the music is as large as it was drawn.

    Returns
    -------
    bytes
        The PDF; the same input always gives the same bytes.

    Raises
    ------
    WriteError
        If the book cannot be set.
    """
    pictures = _pictures(figures)
    values = {
        **_front(analysis, player),
        "large": large,
        "map": _map_values(analysis, player),
        "drills": [_drill(analysis, drill, pictures) for drill in analysis.drills],
        "together": _together(analysis),
        "left_out": list(_left_out(analysis)),
        "rules": _RULES,
        "cautions": CAUTIONS,
        "week": _week(player),
        "week_words": _week_words(player),
        "assumptions": [signed(line) for line in assumptions(analysis)],
        "notices": [*notice_lines(analysis), *figures.problems],
    }
    return pdf_from("book.typ", values, {name: one.svg for name, one in pictures.items()}, paper)


def _map_values(analysis: Analysis, player: Player) -> dict[str, object]:
    rows = hand_map(analysis, instrument_of(analysis.part, player))
    return {
        "strings": [said(name) for name in analysis.string_names],
        "example": said(bare_name_of(Pitch("B", 0, 4))),
        "rows": [
            {
                "position": row.position.capitalize(),
                "cells": [
                    [
                        {"gaps": s.gaps, "times": f"× {s.times}", "words": signed(s.words)}
                        for s in cell
                    ]
                    for cell in row.cells
                ],
            }
            for row in rows
        ],
    }


def _front(analysis: Analysis, player: Player) -> dict[str, object]:
    """Title and what stands below it; all of it may come from the score."""
    part = analysis.part
    title = title_of(part)
    return {
        "title": title,
        "foot": title if len(title) <= _LONGEST_FOOT else f"{title[:_LONGEST_FOOT].rstrip()}…",
        "composer": part.composer,
        "part": f"{part.name or part.instrument.capitalize()}, {length_words(part.measures)}",
        "player": player.name,
        "asks": signed(" ".join((*what_it_asks(analysis), ceiling_sentence(analysis)))),
    }


# ── drills ──────────────────────────────────────────────────────────────────────────────────────


def _drill(
    analysis: Analysis, drill: Drill, pictures: "Mapping[str, _Picture]"
) -> dict[str, object]:
    """Everything the page of a drill says; pictures by the names they are handed over with."""
    return {
        "number": drill.index + 1,
        "title": signed(drill.title),
        "bars": bar_ranges(analysis, drill.measures),
        "minutes": drill.minutes,
        "share": percent(drill.share),
        "strings": strings_in_order(analysis, drill),
        "after": _after_words(drill),
        "ladder": " · ".join(map(str, drill.ladder)),
        "tempo": _tempo_words(drill),
        "advice": signed(drill.advice),
        "checks": [signed(check_words(analysis, check, drill)) for check in drill.checks],
        "settle": _is_open(analysis, drill),
        "fingerboard": _fingerboard(drill, pictures),
        "exercises": [
            _exercise(analysis, drill, place, pictures) for place in range(len(drill.exercises))
        ],
        "bridge": {
            "bars": bar_ranges(analysis, range(drill.bridge[0], drill.bridge[1] + 1)),
            "systems": _systems(f"{drill.index}-bridge", pictures),
            "alt": "The bars as they stand in the part, with fingers.",
        },
    }


def _after_words(drill: Drill) -> str:
    if not drill.after:
        return ""
    numbers = listed([str(index + 1) for index in drill.after])
    return f"Prepared by drill{'s' if len(drill.after) > 1 else ''} {numbers}"


def _tempo_words(drill: Drill) -> str:
    """What stands beside the ladder: how to set a metronome for its top, and what is assumed."""
    metronome = clicks(drill.goal_per_minute)
    top = (
        f"at {drill.goal_per_minute}: {metronome}" if metronome and drill.ladder[1:] else metronome
    )
    assumed = "the goal rests on an assumed tempo" if drill.goal_assumed else ""
    return "; ".join(words for words in (top, assumed) if words)


def _is_open(analysis: Analysis, drill: Drill) -> bool:
    """Tell whether other players would finger everything the drill serves otherwise."""
    served = [analysis.demands[index] for index in drill.demands]
    return all(demand.certainty is Certainty.OPEN for demand in served)


def _exercise(
    analysis: Analysis, drill: Drill, place: int, pictures: "Mapping[str, _Picture]"
) -> dict[str, object]:
    exercise = drill.exercises[place]
    return {
        "name": _exercise_name(analysis, drill, exercise),
        "how": exercise.how,
        "systems": _systems(f"{drill.index}-{place}", pictures),
        "notes": signed(_notes_and_fingers(exercise.notes)),
    }


def _exercise_name(analysis: Analysis, drill: Drill, exercise: Exercise) -> str:
    """Name an exercise, with its strings where another of the drill has the same name."""
    name = exercise.name[:1].upper() + exercise.name[1:]
    if [one.name for one in drill.exercises].count(exercise.name) == 1:
        return name
    strings = sorted({note.stop.string for note in exercise.notes})
    return f"{name}, on {listed([said(analysis.string_names[string]) for string in strings])}"


def _notes_and_fingers(notes: Sequence[DrillNote]) -> str:
    """Tell an exercise without its staff: ``D 0, E 1, B 1 with G 2``."""
    told = ""
    for note in notes:
        told += f"{letter(note.pitch)} {note.stop.finger}{' with ' if note.with_next else ', '}"
    return told.removesuffix(", ")


# ── pictures ────────────────────────────────────────────────────────────────────────────────────


@dataclass(frozen=True, slots=True)
class _Picture:
    """A picture as it is handed over."""

    svg: str
    """SVG text."""
    size_mm: tuple[float, float]
    """Width and height, mm."""


def _pictures(figures: Figures) -> Mapping[str, _Picture]:
    """All pictures by file name: drill, exercise and system are counted from 0."""
    return {
        f"{name}.svg": _Picture(svg, _size_mm(svg))
        for number, drill in enumerate(figures.drills)
        for name, svg in _named(number, drill)
        if svg
    }


def _named(number: int, drill: DrillFigures) -> Iterator[tuple[str, str]]:
    yield f"{number}-fingerboard", drill.picture
    for place, systems in enumerate((*drill.exercises, drill.bridge)):
        name = place if place < len(drill.exercises) else "bridge"
        for system, svg in enumerate(systems):
            yield f"{number}-{name}-{system}", svg


_SIZE = re.compile(r'\s(width|height)="([\d.]+)mm"')


def _size_mm(svg: str) -> tuple[float, float]:
    sizes = {found[1]: float(found[2]) for found in _SIZE.finditer(svg, 0, svg.index(">"))}
    return sizes["width"], sizes["height"]


def _systems(name: str, pictures: Mapping[str, _Picture]) -> list[dict[str, object]]:
    systems: list[dict[str, object]] = []
    while (file := f"{name}-{len(systems)}.svg") in pictures:
        picture = pictures[file]
        width_mm = picture.size_mm[0]
        drawn_mm = min(drawn_width_mm(picture.svg), width_mm)
        systems.append({"file": file, "width_mm": width_mm, "drawn_mm": drawn_mm})
    return systems


def _fingerboard(drill: Drill, pictures: Mapping[str, _Picture]) -> dict[str, object] | None:
    file = f"{drill.index}-fingerboard.svg"
    if file not in pictures:
        return None
    picture = pictures[file]
    width_mm, height_mm = picture.size_mm
    alt = _description(picture.svg)
    return {"file": file, "width_mm": width_mm, "height_mm": height_mm, "alt": alt}


def _description(svg: str) -> str:
    """What a screen reader says instead of a picture of ours."""
    root = ElementTree.fromstring(svg)
    texts = (element.text for element in root if element.tag.rpartition("}")[2] == "desc")
    return next((text for text in texts if text), "The fingerboard.")


# ── the list and the week ───────────────────────────────────────────────────────────────────────


def _together(analysis: Analysis) -> str:
    """Say how long the drills take and how much of what is asked they serve."""
    drills = analysis.drills
    minutes = sum(drill.minutes for drill in drills)
    count = f"{len(drills)} drills" if drills[1:] else "One drill"
    served = " ".join(coverage_lines(replace(analysis, left_out=())))
    return f"{count}, {minutes} minutes. {served}"


def _left_out(analysis: Analysis) -> Iterator[str]:
    for left in analysis.left_out:
        where = f"{bar_ranges(analysis, left.measures)}; {percent(left.share)}"
        yield f"{signed(left.title)} ({where}): {left.why}."


def _week(player: Player) -> list[list[str]]:
    """Days to the lesson, a list for each table of at most seven."""
    days = [str(day) for day in range(1, player.days + 1)]
    return [days[first : first + _DAYS_IN_A_ROW] for first in range(0, player.days, _DAYS_IN_A_ROW)]


def _week_words(player: Player) -> str:
    return (
        f"{player.minutes_per_day} minutes a day, of which {WARM_UP_MINUTES} or more are for the "
        "warm-up and for the bars themselves. Tick a box when the drill was clean, every note in "
        "tune; what was not clean comes back the next day."
    )
