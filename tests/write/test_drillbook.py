"""The drill book: valid, the same music in every reader, played by our search as it claims."""

import importlib
import warnings
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
import verovio
from lxml import etree
from music21 import converter

import scoretools
from scoretools.drills.groups import OF_ONE_HAND
from scoretools.model import NO_MARKS, Analysis, Drill, Exercise, Part
from scoretools.player import Player
from scoretools.write.drillbook import drill_book, exercise_documents
from tests.conftest import Analyse

SAMPLES = sorted((Path(__file__).parents[2] / "sample_scores").glob("*.musicxml"))
DIVISIONS = 10080
"""Of a quarter note, as music21 writes them."""

PATIENT = Player(minutes_per_day=300)


@pytest.fixture(scope="module", params=SAMPLES, ids=lambda path: path.stem)
def sample(request: pytest.FixtureRequest) -> Analysis:
    return scoretools.analyse(scoretools.read_part(request.param), PATIENT)


def written(analysis: Analysis) -> list[tuple[Fraction, int, Fraction]]:
    """Onset, MIDI number and length of every note of all drills, in quarter notes."""
    found = []
    onset = Fraction(0)
    for drill in analysis.drills:
        for exercise in drill.exercises:
            for note in exercise.notes:
                found.append((onset, note.pitch.midi, note.length_ql))
                onset += 0 if note.with_next else note.length_ql
    return sorted(found)


def midi_of(note: etree._Element) -> int:
    """MIDI number of a printed note."""
    step = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}[note.findtext("pitch/step")]
    alter = int(note.findtext("pitch/alter") or 0)
    return step + alter + 12 * (int(note.findtext("pitch/octave")) + 1)


# ── other programs ──────────────────────────────────────────────────────────────────────────────


# Source: MusicXML 4.0 schema, W3C Music Notation Community Group.
def test_the_book_is_valid(sample: Analysis, schema: etree.XMLSchema) -> None:
    for note_names in (False, True):
        schema.assertValid(etree.fromstring(drill_book(sample, note_names).encode("utf-8")))


# Source: music21's own reader.
def test_music21_reads_the_same_notes(sample: Analysis) -> None:
    score = converter.parse(drill_book(sample), format="musicxml")
    found = sorted(
        (Fraction(element.getOffsetInHierarchy(score)), pitch.midi, Fraction(element.quarterLength))
        for element in score.recurse().notes
        for pitch in element.pitches
    )
    assert found == written(sample)


# Common practice, no published source: F under 2 on the D string, the open A above it.
def test_fingers_of_double_stops_stand_in_the_order_of_the_notes(sample: Analysis) -> None:
    fingers = {
        tuple(sorted((one.pitch.midi, str(one.stop.finger)) for one in exercise.notes[:2]))
        for drill in sample.drills
        for exercise in drill.exercises
        if exercise.notes[0].with_next and not exercise.notes[1].with_next
    }
    root = etree.fromstring(drill_book(sample).encode("utf-8"))
    printed = set()
    for upper in root.findall("part/measure/note[chord]"):
        lower = upper.getprevious()
        assert upper.find("notations/technical/open-string") is None
        assert lower.find("notations/technical/open-string") is None
        printed.add(tuple((midi_of(one), one.findtext("notations/technical/fingering"))
                          for one in (lower, upper)))  # fmt: skip
    assert fingers <= printed
    assert all(low < high for (low, _), (high, _) in printed)


# Source: partitura's reader.
def test_partitura_reads_the_same_notes(sample: Analysis, tmp_path: Path) -> None:
    path = tmp_path / "book.musicxml"
    path.write_text(drill_book(sample), encoding="utf-8")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        part = importlib.import_module("partitura").load_musicxml(path).parts[0]
    found = sorted(
        (
            Fraction(note.start.t, DIVISIONS),
            note.midi_pitch,
            Fraction(note.end.t - note.start.t, DIVISIONS),
        )
        for note in part.notes
    )
    assert found == written(sample)


# Source: verovio's MEI.
def test_verovio_reads_the_same_notes(sample: Analysis) -> None:
    verovio.enableLog(verovio.LOG_OFF)
    toolkit = verovio.toolkit()
    assert toolkit.loadData(drill_book(sample))
    mei = etree.fromstring(toolkit.getMEI().encode("utf-8"))
    names = {"mei": "http://www.music-encoding.org/ns/mei"}
    found = [
        (note.get("pname"), int(note.get("oct")), note.get("accid") or note.get("accid.ges"))
        for note in mei.iterfind(".//mei:note", names)
        for note in [_with_accidental(note, names)]
    ]
    signs = {None: 0, "n": 0, "s": 1, "f": -1}
    assert [(name, octave, signs[sign]) for name, octave, sign in found] == [
        (note.pitch.step.lower(), note.pitch.octave, note.pitch.alter)
        for drill in sample.drills
        for exercise in drill.exercises
        for note in exercise.notes
    ]


def _with_accidental(note: Any, names: dict[str, str]) -> Any:
    sign = note.find("mei:accid", names)
    if sign is not None:
        note.set("accid", sign.get("accid") or sign.get("accid.ges"))
    return note


# ── our own reader and search ───────────────────────────────────────────────────────────────────


def exercises(analysis: Analysis) -> Iterator[tuple[Drill, Exercise, str]]:
    documents = exercise_documents(analysis, drill_book(analysis))
    for drill, texts in zip(analysis.drills, documents, strict=True):
        for exercise, text in zip(drill.exercises, texts, strict=True):
            yield drill, exercise, text


def read_back(text: str, tmp_path: Path) -> Part:
    path = tmp_path / "exercise.musicxml"
    path.write_text(text, encoding="utf-8")
    return scoretools.read_part(path)


def with_first_mark_only(part: Part) -> Part:
    """Leave the finger and the words of the first note, and the string they ask for."""
    first = part.events[0]
    bare = [
        replace(
            event,
            notes=tuple(replace(note, marks=NO_MARKS) for note in event.notes),
            words=first.words,
        )
        for event in part.events[1:]
    ]
    return replace(part, events=(first, *bare))


def fingered(part: Part, analysis: Analysis) -> list[tuple[int, int, int]]:
    again = scoretools.analyse(part, Player(highest_position=max(analysis.ceiling, 1)))
    return [(c.stop.string, c.stop.finger, c.stop.offset) for s in again.steps for c in s.choices]


def claimed(exercise: Exercise) -> list[tuple[int, int, int]]:
    return [(note.stop.string, note.stop.finger, note.stop.offset) for note in exercise.notes]


def test_a_shape_is_played_as_claimed_from_its_first_mark_alone(
    sample: Analysis, tmp_path: Path
) -> None:
    """Half position is left out: from one mark the search goes up to first position at once."""
    tried = 0
    for drill, exercise, text in exercises(sample):
        strings = {note.stop.string for note in exercise.notes}
        if drill.kind not in OF_ONE_HAND or drill.position < 1 or len(strings) > 1:
            continue
        if "reach" in exercise.name:
            continue
        part = with_first_mark_only(read_back(text, tmp_path))
        assert fingered(part, sample) == claimed(exercise), (drill.title, exercise.name)
        tried += 1
    assert tried or not any(drill.kind in OF_ONE_HAND for drill in sample.drills)


def test_every_exercise_is_played_as_claimed_from_its_printed_marks(
    sample: Analysis, tmp_path: Path
) -> None:
    for drill, exercise, text in exercises(sample):
        part = read_back(text, tmp_path)
        assert fingered(part, sample) == claimed(exercise), (drill.title, exercise.name)


# ── what is written ─────────────────────────────────────────────────────────────────────────────


def test_every_drill_is_a_titled_section_with_a_rehearsal_mark(sample: Analysis) -> None:
    root = etree.fromstring(drill_book(sample).encode("utf-8"))
    marks = [mark.text for mark in root.iterfind(".//rehearsal")]
    assert marks == [str(drill.index + 1) for drill in sample.drills]
    words = [word.text for word in root.iterfind(".//words")]
    assert all(drill.title in words for drill in sample.drills)
    assert all(
        any(
            f"{drill.minutes} minutes, " in word and f"{drill.goal_per_minute} notes" in word
            for word in words
        )
        for drill in sample.drills
    )
    systems = root.findall(".//print[@new-system='yes']")
    assert len(systems) == sum(len(drill.exercises) for drill in sample.drills)


def test_strings_positions_and_checks_are_told_in_words(small_analysis: Analyse) -> None:
    # Common practice, no published source.
    analysis = small_analysis("violin", "A4:0 B4 C#5 D5 E5:4 D5 C#5 B4", fifths=3, player=PATIENT)
    root = etree.fromstring(drill_book(analysis).encode("utf-8"))
    words = [word.text for word in root.iterfind(".//words")]
    assert "sul A, 1st pos." in words
    under = {text.text for text in root.iterfind(".//lyric/text")}
    assert {"with D", "= E", "with E"} <= under
    assert not {"C#", "B"} & under
    named = etree.fromstring(drill_book(analysis, note_names=True).encode("utf-8"))
    assert {"A", "B", "C#"} <= {text.text for text in named.iterfind(".//lyric/text")}


def test_accidentals_are_printed_once_in_a_bar(small_analysis: Analyse) -> None:
    analysis = small_analysis("violin", "A4:0 B4 C5 D5 B4 C#5 D5 E5:0", player=PATIENT)
    for _, exercise, text in exercises(analysis):
        for measure in etree.fromstring(text.encode("utf-8")).iterfind(".//measure"):
            heard = dict(zip("CDEFGAB", exercise.key.alters, strict=True))
            for note in measure.iterfind("note"):
                step, alter = note.findtext("pitch/step"), int(note.findtext("pitch/alter") or 0)
                printed = note.findtext("accidental")
                assert (printed is not None) == (heard[step] != alter)
                heard[step] = alter


def test_no_drill_gives_a_bar_of_rest_that_says_so(
    sample: Analysis, schema: etree.XMLSchema
) -> None:
    empty = replace(sample, drills=())
    root = etree.fromstring(drill_book(empty).encode("utf-8"))
    schema.assertValid(root)
    assert len(root.findall(".//measure")) == len(root.findall(".//rest")) == 1
    assert [words.text for words in root.iterfind(".//words")] == [
        "No drill: nothing here that this player does not know already."
    ]
    assert exercise_documents(empty, drill_book(empty)) == ()


def test_the_same_drills_give_the_same_text(sample: Analysis) -> None:
    assert drill_book(sample) == drill_book(sample)


def test_without_a_title_the_book_goes_by_its_file_without_the_suffix(sample: Analysis) -> None:
    part = replace(sample.part, title="", source="quartet_2.mxl")
    root = etree.fromstring(drill_book(replace(sample, part=part)).encode("utf-8"))
    titles = [one.text for one in root.iter("movement-title", "work-title")]
    assert set(titles) == {"Drills for quartet_2"}
