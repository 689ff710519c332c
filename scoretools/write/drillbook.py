"""Drills as music: one MusicXML score that any notation program opens.

Every drill begins with a rehearsal mark and its title; every exercise begins a system, stands
between repeat signs, and has its strings and positions in words and the fingers that cannot be
guessed; where strings take turns, the string of every note stands in the file as well. Checks
against an open string stand under the notes of a drill's first exercise: ``= A`` is a unison, and
``with A`` the interval that the list of checks names. Notes are called by the names in force (see
`scoretools.note_names`); for other programs that is by letters.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from itertools import islice
from xml.etree import ElementTree

from music21 import (
    articulations,
    bar,
    chord,
    clef,
    defaults,
    duration,
    expressions,
    instrument,
    key,
    layout,
    metadata,
    meter,
    note,
    pitch,
    stream,
    tempo,
)
from music21.musicxml.m21ToXml import GeneralObjectExporter

from scoretools.instrument import ordinal
from scoretools.model import (
    Analysis,
    Drill,
    DrillNote,
    Exercise,
    Key,
    Pitch,
    PositionNumber,
    StringIndex,
)
from scoretools.note_names import bare_name_of, said
from scoretools.write.note_words import title_of

__all__ = ["drill_book", "exercise_documents"]

Sounding = tuple[DrillNote, ...]
"""Notes that sound together, lowest string first."""


def drill_book(analysis: Analysis, note_names: bool = False) -> str:
    """Write the drills of an analysis as one MusicXML document.

    Parameters
    ----------
    note_names
        Whether the names of the notes stand under them.

    Returns
    -------
    str
        MusicXML 4.0; where there is no drill, a bar of rest that says so.
    """
    part = stream.Part(id="P1")
    part.partName = analysis.part.instrument.capitalize()
    played = instrument.Viola() if _is_viola(analysis) else instrument.Violin()
    played.partId, played.instrumentId = "P1", "I1"
    part.insert(0, played)
    drills = analysis.drills
    measures = [
        measure
        for before, drill in zip((None, *drills), drills, strict=False)
        for measure in _of_drill(analysis, drill, note_names, before)
    ]
    if not measures:
        measures = [_bar_of_rest()]
    measures[0].insert(0, clef.AltoClef() if _is_viola(analysis) else clef.TrebleClef())
    for number, measure in enumerate(measures, start=1):
        measure.number = number
        part.append(measure)
    score = stream.Score([_heading(analysis), part])
    exporter = GeneralObjectExporter(score)
    exporter.makeNotation = False
    return _DAY.sub("", exporter.parse().decode("utf-8"))


_DAY = re.compile(r"\s*<encoding-date>[^<]*</encoding-date>")
"""The day of writing, left out so that the same drills always give the same text."""


def _bar_of_rest() -> stream.Measure:
    measure = stream.Measure()
    measure.insert(0, meter.TimeSignature("4/4"))
    measure.insert(0, _above("No drill: nothing here that this player does not know already."))
    measure.append(note.Rest(quarterLength=4))
    return measure


def _is_viola(analysis: Analysis) -> bool:
    return analysis.part.instrument == "viola"


def _heading(analysis: Analysis) -> metadata.Metadata:
    heading = metadata.Metadata()
    heading.title = f"Drills for {title_of(analysis.part)}"
    if analysis.part.composer:
        heading.composer = analysis.part.composer
    return heading


def _of_drill(
    analysis: Analysis, drill: Drill, note_names: bool, before: Drill | None
) -> Iterator[stream.Measure]:
    written = before.exercises[-1] if before else None
    for place, exercise in enumerate(drill.exercises):
        under = _names(exercise) if note_names else {}
        checked = _checks(analysis, drill, exercise) if place == 0 else {}
        measures = _measures(analysis, exercise, under, checked)
        first = measures[0]
        first.insert(0, layout.SystemLayout(isNew=True))
        first.insert(0, _above(exercise.name.capitalize(), size=9))
        if written is None or exercise.key != written.key:
            first.insert(0, key.KeySignature(exercise.key.fifths or 0))
        if written is None or exercise.beats != written.beats:
            first.insert(0, meter.TimeSignature(f"{exercise.beats}/4"))
        written = exercise
        if place == 0:
            first.insert(0, expressions.RehearsalMark(str(drill.index + 1)))
            first.insert(0, _above(_dose(drill), size=9))
            first.insert(0, _above(said(drill.title), bold=True))
            first.insert(0, tempo.MetronomeMark(number=drill.start_per_minute))
        yield from measures


def _dose(drill: Drill) -> str:
    """Say how long, and how fast."""
    tempi = f"{drill.goal_per_minute} notes a minute"
    if drill.start_per_minute < drill.goal_per_minute:
        tempi = f"from {drill.start_per_minute} to {tempi}"
    return f"{drill.minutes} minutes, {tempi}"


def _above(words: str, size: float | None = None, bold: bool = False) -> expressions.TextExpression:
    text = expressions.TextExpression(words)
    text.placement = "above"
    if bold:
        text.style.fontWeight = "bold"
        text.style.fontStyle = "normal"
    if size is not None:
        text.style.fontSize = size
    return text


# ── bars ────────────────────────────────────────────────────────────────────────────────────────


def _measures(
    analysis: Analysis,
    exercise: Exercise,
    under: Mapping[int, str],
    checked: Mapping[int, str],
) -> list[stream.Measure]:
    measures: list[stream.Measure] = []
    filled = Fraction(0)
    words = _words_over(analysis, exercise)
    several = len({one.stop.string for one in exercise.notes}) > 1
    for place, sounding in enumerate(_soundings(exercise.notes)):
        if filled == 0:
            measures.append(stream.Measure())
        element = _element(sounding)
        if several and len(sounding) == 1:
            printed = len(analysis.string_names) - sounding[0].stop.string
            element.articulations.append(articulations.StringIndication(printed))
        for number, line in enumerate((under, checked), start=1):
            if place in line:
                element.lyrics.append(note.Lyric(line[place], number=number))
        measures[-1].insert(filled, element)
        if place in words:
            measures[-1].insert(filled, _above(words[place]))
        filled = (filled + sounding[0].length_ql) % exercise.beats
    measures[0].leftBarline = bar.Repeat("start")
    measures[-1].rightBarline = bar.Repeat("end")
    for measure in measures:
        _sign(measure, exercise.key)
        _beam(measure, exercise)
    return measures


def _soundings(notes: Sequence[DrillNote]) -> Iterator[Sounding]:
    together: list[DrillNote] = []
    for one in notes:
        together.append(one)
        if not one.with_next:
            yield tuple(together)
            together = []


def _beam(measure: stream.Measure, exercise: Exercise) -> None:
    elements = list(measure.notes)
    beams = meter.TimeSignature(f"{exercise.beats}/4").getBeams(elements)
    for element, beam in zip(elements, beams, strict=True):
        if beam is not None:
            element.beams = beam


# ── notes ───────────────────────────────────────────────────────────────────────────────────────


def _element(sounding: Sounding) -> note.GeneralNote:
    notes = [_note(one) for one in sounding]
    if len(notes) == 1:
        element: note.GeneralNote = notes[0]
    else:
        element = chord.Chord(notes)
        element.quarterLength = notes[0].quarterLength
    for one in sounding:
        element.articulations += _fingers(one, alone=len(notes) == 1)
    if sounding[0].accent:
        element.articulations.append(articulations.Accent())
    return element


def _note(one: DrillNote) -> note.Note:
    written = note.Note(_pitch(one.pitch), duration=duration.Duration(one.length_ql))
    if one.silent:
        written.notehead = "x"
    return written


def _pitch(spelled: Pitch) -> pitch.Pitch:
    made = pitch.Pitch(step=spelled.step, octave=spelled.octave)
    if spelled.alter:
        made.accidental = pitch.Accidental(spelled.alter)
    return made


def _fingers(one: DrillNote, *, alone: bool) -> list[articulations.Articulation]:
    """Print a finger; in a double stop the open string is 0, so that both stand in order."""
    if not one.show_finger:
        return []
    if one.stop.finger == 0 and alone:
        return [articulations.OpenString()]
    return [articulations.Fingering(int(one.stop.finger))]


def _sign(measure: stream.Measure, signature: Key) -> None:
    """Print accidentals where they differ from the signature or from what the bar had before."""
    heard: dict[tuple[str, int], int] = {}
    for element in measure.notes:
        for one in element.pitches:
            alter = int(one.alter)
            before = heard.get((one.step, one.octave), signature.alters["CDEFGAB".index(one.step)])
            heard[one.step, one.octave] = alter
            if alter != before and not alter:
                one.accidental = pitch.Accidental(0)
            if one.accidental is not None:
                one.accidental.displayStatus = alter != before


# ── words ───────────────────────────────────────────────────────────────────────────────────────


def _words_over(analysis: Analysis, exercise: Exercise) -> dict[int, str]:
    """Every string and every position once, where it comes in: by place of the sound."""
    found: dict[int, str] = {}
    strings: set[StringIndex] = set()
    positions: set[PositionNumber] = set()
    for place, sounding in enumerate(_soundings(exercise.notes)):
        words = []
        string = sounding[0].stop.string
        if len(sounding) == 1 and string not in strings:
            words.append(f"sul {said(analysis.string_names[string])}")
            strings.add(string)
        stopped = any(one.stop.finger for one in sounding)
        if (stopped or place == 0) and sounding[0].position not in positions:
            words.append(_position(sounding[0].position))
            positions.add(sounding[0].position)
        if words:
            found[place] = ", ".join(words)
    return found


def _position(position: PositionNumber) -> str:
    return f"{ordinal(position)} pos." if position else "half pos."


def _names(exercise: Exercise) -> dict[int, str]:
    return {
        place: " ".join(said(bare_name_of(one.pitch)) for one in sounding)
        for place, sounding in enumerate(_soundings(exercise.notes))
    }


def _checks(analysis: Analysis, drill: Drill, exercise: Exercise) -> dict[int, str]:
    """Say under a note, once, which open string it is checked with and how."""
    left = {check.pitch: check for check in drill.checks}
    found: dict[int, str] = {}
    for place, sounding in enumerate(_soundings(exercise.notes)):
        for one in sounding:
            check = left.pop(one.pitch, None) if one.stop.finger and len(sounding) == 1 else None
            if check:
                against = said(bare_name_of(check.against))
                found[place] = f"{'=' if check.interval == 'unison' else 'with'} {against}"
    return found


# ── single exercises ────────────────────────────────────────────────────────────────────────────


def exercise_documents(analysis: Analysis, book: str) -> tuple[tuple[str, ...], ...]:
    """Cut a drill book into one small document for each exercise, without titles and tempi.

    Parameters
    ----------
    book
        What `drill_book` made of the same analysis.

    Returns
    -------
    tuple
        For each drill the documents of its exercises.
    """
    root = ElementTree.fromstring(book)
    part = root.find("part")
    if part is None:
        return ()
    measures = iter(list(part))
    for child in list(root):
        if child.tag not in ("part-list", "part"):
            root.remove(child)
    for name in (*root.iter("part-name"), *root.iter("part-abbreviation")):
        name.text = None
    return tuple(
        tuple(
            _document(analysis, exercise, root, list(islice(measures, _bars(exercise))))
            for exercise in drill.exercises
        )
        for drill in analysis.drills
    )


def _bars(exercise: Exercise) -> int:
    length = sum(sounding[0].length_ql for sounding in _soundings(exercise.notes))
    return int(length / exercise.beats)


def _document(
    analysis: Analysis,
    exercise: Exercise,
    root: ElementTree.Element,
    measures: list[ElementTree.Element],
) -> str:
    """Put bars into the frame of the book, with clef, key and time before the first."""
    part = root.find("part")
    if part is not None:
        part[:] = [_untitled(measure, number) for number, measure in enumerate(measures, start=1)]
        part[0].insert(0, _attributes(analysis, exercise))
    return ElementTree.tostring(root, encoding="unicode")


def _untitled(measure: ElementTree.Element, number: int) -> ElementTree.Element:
    """Leave out what the page says itself, and what stands before the first bar anyhow."""
    kept = ElementTree.Element("measure", {"number": str(number)})
    kept[:] = [child for child in measure if not _is_heading(child)]
    return kept


def _attributes(analysis: Analysis, exercise: Exercise) -> ElementTree.Element:
    clef_sign, line = ("C", 3) if _is_viola(analysis) else ("G", 2)
    return ElementTree.fromstring(
        f"<attributes><divisions>{defaults.divisionsPerQuarter}</divisions>"
        f"<key><fifths>{exercise.key.fifths or 0}</fifths></key>"
        f"<time><beats>{exercise.beats}</beats><beat-type>4</beat-type></time>"
        f"<clef><sign>{clef_sign}</sign><line>{line}</line></clef></attributes>"
    )


def _is_heading(element: ElementTree.Element) -> bool:
    if element.tag in ("attributes", "print", "sound"):
        return True
    return element.tag == "direction" and any(
        element.find(f"direction-type/{name}") is not None
        for name in ("rehearsal", "metronome", "words[@font-weight]", "words[@font-size]")
    )
