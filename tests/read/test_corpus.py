"""The reader against the scores that music21 ships, and against check data."""

import os
import warnings
from collections import Counter
from fractions import Fraction
from pathlib import Path

import pytest
from music21 import common, converter, stream

from scoretools.errors import ScoretoolsError
from scoretools.read import list_parts, read_part

CORPUS = common.getCorpusFilePath()
SUFFIXES = (".mxl", ".xml", ".musicxml")


def ours(part):
    """Return written notes by bar and place, tied ones included."""
    notes = Counter()
    for event in part.events:
        for note in event.notes:
            written = [(note.address.measure, event.onset_ql, note.written_ql)]
            written += [(c.address.measure, c.onset_ql, c.duration_ql) for c in note.continuations]
            for bar, onset, length in written:
                place = onset - part.measures[bar].onset_ql
                notes[bar, place, length, note.pitch.midi] += 1
    return notes


def theirs(part):
    notes = Counter()
    for bar, measure in enumerate(part.getElementsByClass(stream.Measure)):
        for element in measure.recurse().notes:
            place = exact(element.getOffsetInHierarchy(measure))
            length = Fraction(0) if element.duration.isGrace else exact(element.quarterLength)
            for pitch in element.pitches:
                notes[bar, place, length, pitch.midi] += 1
    return notes


def exact(value):
    return Fraction(value).limit_denominator(10080)


MISTAKEN = {
    # The written durations add up to half a quarter and to two quarters; music21 lets a dynamic
    # that is moved behind the end of the bar make the upbeat longer.
    "mozart/k155/movement3.mxl": {
        (1, "0"): (Fraction(1, 2), Fraction(3, 2)),
        (3, "0"): (Fraction(1, 2), Fraction(5, 3)),
    },
    "mozart/k80/movement4.mxl": {
        (1, "0"): (Fraction(2), Fraction(4)),
        (3, "0"): (Fraction(2), Fraction(4)),
    },
    # The durations add up to the whole bar; music21 makes a rest of a quarter of a <forward> of 0.
    "haydn/opus1no1/movement4.mxl": {
        (1, "35"): (Fraction(3), Fraction(95, 24)),
        (1, "43"): (Fraction(3), Fraction(95, 24)),
    },
}
"""Bars whose length music21 reads otherwise, by part and number: ours, theirs."""


# Source: music21, its MusicXML reader and corpus.
@pytest.mark.parametrize(
    "name",
    [
        "haydn/opus1no1/movement4.mxl",
        "haydn/opus74no1/movement2.mxl",
        "mozart/k155/movement3.mxl",
        "mozart/k156/movement2.mxl",
        "mozart/k458/movement2.mxl",
        "mozart/k80/movement4.mxl",
        "beethoven/opus18no1/movement3.mxl",
    ],
)
def test_quartets_are_equal_note_by_note(name):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        score = converter.parse(CORPUS / name, forceSource=True)
    apart = {}
    for number in (1, 3):
        part = read_part(CORPUS / name, number)
        # A pitch that two voices strike together is one note here.
        assert set(ours(part)) <= set(theirs(score.parts[number - 1]))
        doubled = theirs(score.parts[number - 1]) - ours(part)
        assert {(bar, place, midi) for bar, place, _, midi in doubled} <= {
            (bar, place, midi) for bar, place, _, midi in ours(part)
        }
        bars = score.parts[number - 1].getElementsByClass(stream.Measure)
        onsets = [exact(bar.offset) for bar in bars]
        for bar, begin, end in zip(part.measures, onsets, onsets[1:], strict=False):
            if end - begin != bar.duration_ql:
                apart[number, bar.number] = (bar.duration_ql, end - begin)
    assert apart == MISTAKEN.get(name, {})


# Source: the corpus of music21; a tenth of the files that name a violin or viola part.
def test_string_parts_of_the_corpus_are_read():
    read = 0
    for path in sorted(CORPUS.rglob("*"))[::10]:
        if path.suffix in SUFFIXES:
            for listed in list_parts(path):
                if listed.instrument:
                    part = read_part(path, listed.number)
                    assert part.instrument == listed.instrument
                    assert part.events
                    read += 1
    assert read > 5


# Source: James Aird, A Selection of Scotch, English, Irish and Foreign Airs (1778), and Ryan's
# Mammoth Collection (1883), in the corpus of music21; some of the tunes.
def test_fiddle_tunes_are_read():
    for number in range(1, 200, 50):
        part = read_part(CORPUS / "airdsAirs" / "book1.abc", number)
        assert (part.instrument, bool(part.events)) == ("violin", True)
    for path in sorted((CORPUS / "ryansMammoth").glob("*.abc"))[::100]:
        assert read_part(path).events


def checked(part):
    """Check what holds for every part."""
    assert part.tempi[0].onset_ql == 0
    previous = (Fraction(0), False)
    for index, event in enumerate(part.events):
        assert event.index == index
        assert (event.onset_ql, not event.grace) >= previous
        previous = (event.onset_ql, not event.grace)
        assert event.end_s >= event.onset_s >= 0
        assert event.beat >= 1
        midi = [note.pitch.midi for note in event.notes]
        assert midi == sorted(midi)
        assert midi
        for ref in event.held:
            before = part.events[ref.event]
            end = before.onset_ql + before.notes[ref.note].duration_ql
            assert ref.event < index
            assert end > event.onset_ql
    for before, after in zip(part.measures, part.measures[1:], strict=False):
        assert before.onset_ql + before.duration_ql == after.onset_ql


def attempted(path):
    """Return the part and its notices, or none and why it is refused."""
    try:
        part = read_part(path)
    except ScoretoolsError as refusal:
        return None, str(refusal)
    return part, " ".join(notice.message for notice in part.notices)


def check_data():
    folder = os.environ.get("SCORETOOLS_CHECK_DATA")
    if not folder or not Path(folder).is_dir():
        pytest.skip("check data absent: SCORETOOLS_CHECK_DATA names no folder")
    return Path(folder)


# Source: conformance files and editions described in the README of the check data.
@pytest.mark.parametrize(
    ("folder", "step"),
    [("conformance", 3), ("fingered/students", 6), ("fingered/polish", 8), ("plain/bach", 6)],
)
def test_check_data_is_read_or_refused_in_one_sentence(folder, step):
    paths = [p for p in sorted((check_data() / folder).rglob("*")) if p.suffix in SUFFIXES]
    assert paths
    for path in paths[::step]:
        part, said = attempted(path)
        assert "\n" not in said
        if part is None:
            assert said.startswith(path.name)
        else:
            checked(part)


# Source: conformance/fixtures of the check data, fingerings and strings as engraved.
def test_printed_fingerings_and_strings():
    fixtures = check_data() / "conformance" / "fixtures"
    part = read_part(fixtures / "test_string_number_collisions.musicxml")
    assert [[(n.marks.string, n.marks.fingers) for n in e.notes] for e in part.events[:2]] == [
        [(3, (3,)), (2, (0,))],
        [(4, (1,)), (3, (3,)), (2, (3,)), (1, (3,))],
    ]
    dealt = read_part(fixtures / "test_fingerings_multiple_per_note_sibelius.musicxml").events
    assert [note.marks.fingers for note in dealt[0].notes] == [(1,), (3,)]
