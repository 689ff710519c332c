"""The reader against music21 and partitura where these two agree, and where it differs from them.

The benchmark ``reading.py libraries`` does the same over all check data.
"""

import importlib.util
import os
import warnings
from pathlib import Path

import pytest

SPEC = importlib.util.spec_from_file_location(
    "reading", Path(__file__).resolve().parents[1] / "benchmarks" / "reading.py"
)
reading = importlib.util.module_from_spec(SPEC)
SPEC.loader.exec_module(reading)


@pytest.fixture
def data():
    pytest.importorskip("partitura", reason="partitura is not installed")
    folder = os.environ.get("SCORETOOLS_CHECK_DATA")
    if not folder or not Path(folder).is_dir():
        pytest.skip("check data absent: SCORETOOLS_CHECK_DATA names no folder")
    return Path(folder)


def readings(path):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return list(reading.readings(path))


APART = [
    # Two voices on one pitch: music21 and partitura list both notes, which is what is written.
    # Both are right; one finger stops both, so here they are one note with the marks of both.
    ("conformance/fixtures/test_string_number_collisions.musicxml", 1, reading.DOUBLED),
    ("plain/bach/bwv1002_mov7_00.mxl", 1, reading.DOUBLED),
    ("plain/bach/bwv1004_mov1_00.mxl", 1, reading.DOUBLED),
    # ``<cue/>`` notes are printed for orientation: MusicXML 4.0 has them silent.
    ("plain/bach/bwv1004_mov5.mxl", 1, reading.CUE),
    # MusicXML 4.0, ``transpose``: what must be added to the written pitch to get the sounding one.
    # Here pitches sound; music21 asked for sounding pitches says the same.
    ("conformance/lilypond_suite/72a-TransposingInstruments.xml", 1, reading.SOUNDING),
    ("conformance/lilypond_suite/72b-TransposingInstruments-Full.xml", 1, reading.SOUNDING),
    ("conformance/lilypond_suite/72c-TransposingInstruments-Change.xml", 1, reading.SOUNDING),
    ("conformance/webern_suite/musuite/testMeasureLength.xml", 2, reading.SOUNDING),
    # Chord notes with shorter durations of their own: the document is read as it stands here.
    ("fingered/fiddle/BuckleysHornpipe.xml", 1, reading.OWN_LENGTH),
    ("fingered/fiddle/MugbyJimsHighlandFling.xml", 1, reading.OWN_LENGTH),
    # ``<accidental>sharp</accidental>`` without ``alter``: MusicXML 4.0 has the pitch say what
    # sounds; the libraries take the printed sign instead. The file contradicts itself.
    ("conformance/lilypond_suite/32c-MultipleNotationChildren.xml", 1, reading.ACCIDENTAL),
    # A note with an unreadable duration: the libraries keep it as a note without length.
    ("conformance/mikuscore/invalid_note_duration.musicxml", 1, reading.NO_LENGTH),
]
"""File, part, and why it is read otherwise."""


# Source: music21 and partitura, their MusicXML readers.
@pytest.mark.parametrize(("name", "number", "reason"), APART)
def test_every_disagreement_has_its_reason(data, name, number, reason):
    path = next(data.rglob(Path(name).name))
    found = {part.number: why for part, _, _, why in readings(path)}
    assert found[number] == reason


# Source: music21 and partitura, their MusicXML readers.
@pytest.mark.parametrize(
    ("folder", "step"),
    [
        ("conformance/lilypond_suite", 12),
        ("conformance/webern_suite", 25),
        ("conformance/fixtures", 2),
        ("plain/bach", 34),
        ("fingered/fiddle", 100),
        ("fingered/students", 40),
    ],
)
def test_notes_are_equal_where_the_libraries_agree(data, folder, step):
    paths = [path for path in reading.files(data / folder) if path.stat().st_size < 300_000]
    known = {Path(name).name for name, _, _ in APART}
    compared = 0
    for path in paths[step // 2 :: step]:
        for part, theirs, others, why in readings(path):
            if theirs == others:
                compared += 1
                assert reading.sounds(part) == theirs or why in REASONS or path.name in known
    assert compared


REASONS = (reading.CUE, reading.DOUBLED, reading.SOUNDING, reading.SHOWN)


# Source: the documents themselves, elements counted.
@pytest.mark.parametrize(
    ("folder", "step"), [("students", 9), ("fiddle", 40), ("other", 5), ("polish", 9)]
)
def test_every_printed_mark_is_read(data, folder, step):
    paths = list(reading.files(data / "fingered" / folder))
    for path in paths[::step]:
        printed, read, part = reading.printed_and_read(path, 1)
        told = sum("fingering" in notice.message for notice in part.notices)
        # A 0 or an open string may be the sign of a harmonic.
        signs = read["harmonic"] - printed["harmonic"]
        # A finger repeated on a tied note is one finger; words may add fingers and strings.
        assert printed["fingering"] - told - 1 <= read["fingering"] + signs
        assert read["fingering"] <= printed["fingering"] + 1
        assert printed["open-string"] - signs <= read["open-string"] <= printed["open-string"]
        assert read["harmonic"] >= printed["harmonic"]
        assert read["string"] >= printed["string"]
