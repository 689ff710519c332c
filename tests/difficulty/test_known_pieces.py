"""The bands' verdict on pieces whose demands are known without the program.

A row of the table says what is known of a piece, from where, and what the verdict must then be: in
which bands (numbers from 1, “first steps”, to 7, “very hard”), with which figures, and which
feature the reasons must name. What a row says of its score (highest note, printed fingers) is
checked against the score first.

How a fact follows from a row:

*edition*
    what the book or the concerto is for, as its title or its teachers say (from memory: the scores
    do not print it);
*print*
    a printed finger. A finger lies in some position on every string that has the note below it;
    the lowest of these is the least the piece needs. So a first finger on A5 is in third position
    on the E string, and in none lower;
*range*
    arithmetic of the letters. On the E string the fourth finger of first position plays B, of
    second C, and so on, and may reach one letter further: F6 is played in fourth position at the
    lowest, with that reach, and in fifth without;
*count*
    notes that begin together, counted in the MusicXML itself, apart from this program.
"""

import os
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

import pytest
from music21 import corpus

import scoretools
from scoretools.difficulty import Level, level, read_rubric
from scoretools.model import Note, Part

CHECK_DATA = os.environ.get("SCORETOOLS_CHECK_DATA")
MOST = float("inf")

Range = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Known:
    """A piece with what is known of it."""

    title: str
    """Composer, work and number."""
    file: str
    """Path in the check data; or, after ``corpus:``, a work of the corpus that music21 brings."""
    fact: str
    """What is known."""
    source: str
    """From where: edition, print, range or count, as the head of this module tells."""
    highest: str
    """Highest note that is no harmonic and no open string, with ``:`` and a finger if printed."""
    bands: tuple[int, int]
    """Lowest and highest band that agree with the fact."""
    figures: Mapping[str, Range] = field(default_factory=dict)
    """Lowest and highest value of features that agree with it."""
    reason: str = ""
    """Words that one of the reasons must begin with, where the fact alone lifts the piece."""
    printed: tuple[str, ...] = ()
    """Printed fingers that the fact rests on, such as ``A5:1``."""
    peaks: Mapping[str, frozenset[str]] = field(default_factory=dict)
    """Bars, as printed, in which alone a feature may peak."""


STUDENTS, CONCERT, BACH = "fingered/students/", "fingered/polish/*", "plain/bach/"
FIRST: Mapping[str, Range] = {"highest_position": (1, 1), "above_first_position": (0, 0)}
THIRD: Mapping[str, Range] = {"highest_position": (3, 3)}
FIFTH: Mapping[str, Range] = {"highest_position": (5, 5)}
ONE_LINE: Mapping[str, Range] = {"chords": (0, 0), "double_stops": (0, 0)}
STRETCH = "extensions_per_minute"
STRETCHED: Mapping[str, Range] = {**FIRST, STRETCH: (0.01, MOST)}

WOHLFAHRT_1 = "edition: Book I (Nos. 1–30) of the Sixty Studies op. 45 is in first position"
WOHLFAHRT_2 = "edition: Book II (Nos. 31–60) of op. 45 is for third position and changing to it"
KAYSER_1 = (
    "edition: Book I (Nos. 1–12) of op. 20 is in first position; print: a fourth finger on C6"
)
CONCERTO_1 = "edition: published for first position; range: nothing above B5"

# ── first position ──────────────────────────────────────────────────────────────────────────────

PIECES = (
    Known(
        "Wohlfahrt op. 45 No. 1", STUDENTS + "wohlfahrt_op45_01.musicxml",
        "first position, C major, one line", WOHLFAHRT_1,
        "B5", (2, 3), {**FIRST, **ONE_LINE},
    ),
    Known(
        "Wohlfahrt op. 45 No. 5", STUDENTS + "wohlfahrt_op45_05.musicxml",
        "first position, F major, one line", WOHLFAHRT_1,
        "Bb5", (2, 3), {**FIRST, **ONE_LINE},
    ),
    Known(
        "Wohlfahrt op. 45 No. 11", STUDENTS + "wohlfahrt_op45_11.musicxml",
        "first position, E-flat major: among the later keys of the syllabuses", WOHLFAHRT_1,
        "Bb5", (3, 3), {**FIRST, **ONE_LINE}, "key on the flat side",
    ),
    Known(
        "Wohlfahrt op. 45 No. 29", STUDENTS + "wohlfahrt_op45_29.musicxml",
        "first position, A major, one line", WOHLFAHRT_1,
        "B5", (1, 3), {**FIRST, **ONE_LINE},
    ),
    Known(
        "Kayser op. 20 No. 1", STUDENTS + "kayser_op20_01.musicxml",
        "first position, the fourth finger reaching up to C6, twice", KAYSER_1,
        "C6:4", (2, 3), STRETCHED, peaks={STRETCH: frozenset({"9", "30"})},
    ),
    Known(
        "Kayser op. 20 No. 9", STUDENTS + "kayser_op20_09.musicxml",
        "first position, the fourth finger reaching up to C6, again and again", KAYSER_1,
        "C6:4", (2, 3), STRETCHED, "fingers reaching up",
        peaks={STRETCH: frozenset({"8", "20", "75", "82", "83", "101"})},
    ),
    Known(
        "Rieding op. 34, 1st movement", STUDENTS + "rieding_op_34_mvt01.musicxml",
        "first position", CONCERTO_1, "B5", (1, 3), FIRST,
    ),
    Known(
        "Rieding op. 36, 1st movement", STUDENTS + "rieding_op36_mvtI.musicxml",
        "first position", CONCERTO_1, "B5", (1, 3), FIRST,
    ),
    Known(
        "Küchler op. 11, 1st movement", STUDENTS + "kuchler_op_11_mvt01.musicxml",
        "first position", CONCERTO_1, "B5", (1, 3), FIRST,
    ),
    Known(
        "Seitz op. 22, 3rd movement", STUDENTS + "seitz_op22_mvtIII.musicxml",
        "first position, about a quarter of it double stops",
        CONCERTO_1 + "; count: 24 % of all beginnings",
        "B5", (2, 4), {**FIRST, "double_stops": (0.2, 0.28)},
    ),
    Known(
        "Kalliwoda op. 178, 2nd movement", STUDENTS + "kalliwoda_op_178_mvt02.musicxml",
        "first position", "edition: Three Easy Duos; range: nothing above A5", "A5", (1, 3), FIRST,
    ),
    Known(
        "Castles in the Air (jig)", "corpus:ryansMammoth/CastlesInTheAirJig",
        "first position on the D and the A string, G major, one line",
        "range: D4 to E5", "E5", (1, 2), {**FIRST, **ONE_LINE},
    ),
    Known(
        "Green Forever (jig)", "corpus:ryansMammoth/GreenForeverJig",
        "first position on the D and the A string, G major, one line",
        "range: D4 to E5", "E5", (1, 2), {**FIRST, **ONE_LINE},
    ),
    # ── third position ──────────────────────────────────────────────────────────────────────────
    Known(
        "Wohlfahrt op. 45 No. 31", STUDENTS + "wohlfahrt_op45_31.musicxml",
        "third position from the first note on",
        WOHLFAHRT_2 + "; print: first fingers on C4, G4 and D5",
        "D6", (4, 4), {**THIRD, "above_first_position": (0.5, 1)}, "highest position, 3rd",
        ("C4:1", "G4:1", "D5:1"),
    ),
    Known(
        "Wohlfahrt op. 45 No. 37", STUDENTS + "wohlfahrt_op45_37.musicxml",
        "first and third position", WOHLFAHRT_2 + "; print: first fingers on G4 and D5",
        "D6", (4, 4), THIRD, "highest position, 3rd", ("G4:1", "D5:1"),
    ),
    Known(
        "Wohlfahrt op. 45 No. 41", STUDENTS + "wohlfahrt_op45_41.musicxml",
        "first and third position, shifting", WOHLFAHRT_2 + "; print: first fingers on A5",
        "D6:4", (4, 5), {**THIRD, "shifts_per_minute": (1, MOST)}, printed=("A5:1",),
    ),
    Known(
        "Wohlfahrt op. 45 No. 43", STUDENTS + "wohlfahrt_op45_43.musicxml",
        "third position, the fourth finger reaching up to E-flat 6 or playing it in fourth",
        WOHLFAHRT_2 + "; print: fourth finger on E-flat 6", "Eb6:4", (4, 5),
        {"highest_position": (3, 4)},
    ),
    Known(
        "Wohlfahrt op. 45 No. 53", STUDENTS + "wohlfahrt_op45_53.musicxml",
        "up to third position, nearly all of it double stops",
        WOHLFAHRT_2 + "; count: 83 % of all beginnings, held notes left out",
        "D6:4", (4, 5), {**THIRD, "double_stops": (0.75, 1)}, printed=("A5:1",),
    ),
    Known(
        "Kayser op. 20 No. 13", STUDENTS + "kayser_op20_13.musicxml",
        "first and third position", "print: first fingers on A5; range: nothing above D6",
        "D6", (4, 4), THIRD, "highest position, 3rd", ("A5:1", "D5:1"),
    ),
    Known(
        "Küchler op. 12, 2nd movement", STUDENTS + "kuchler_op_12_mvt02.musicxml",
        "first and third position",
        "edition: published for first and third position; print: first fingers on C4 and D5",
        "D6", (4, 4), THIRD, "highest position, 3rd", ("C4:1", "D5:1"),
    ),
    Known(
        "Golden Wedding (hornpipe)", "fingered/fiddle/GoldenWeddingHornpipe.xml",
        "up to third position", "print: first fingers on A5, fourth on D6",
        "D6:4", (4, 4), THIRD, "highest position, 3rd", ("A5:1", "D5:1"),
    ),
    # ── fourth to seventh position ──────────────────────────────────────────────────────────────
    Known(
        "Bach and Gounod, Ave Maria", "fingered/other/gounod_avemaria_02.musicxml",
        "seventh position on the A string, once",
        "print: “II” over the third finger on C6; first finger on A4, in fourth position",
        "E6", (6, 6), {"highest_position": (7, 7)}, "highest position, 7th", ("C6:3", "A4:1"),
    ),
    Known(
        "Kayser op. 20 No. 31", STUDENTS + "kayser_op20_31.musicxml",
        "fifth position", "print: first finger on C6; range: nothing above F6",
        "F6", (5, 5), FIFTH, "highest position, 5th", ("C6:1",),
    ),
    Known(
        "Kayser op. 20 No. 33", STUDENTS + "kayser_op20_33.musicxml",
        "fifth position", "print: first finger on C6, fourth on F6",
        "F6:4", (5, 5), FIFTH, "highest position, 5th", ("C6:1",),
    ),
    Known(
        "Kayser op. 20 No. 35", STUDENTS + "kayser_op20_35.musicxml",
        "fifth position", "print: first finger on C-sharp 6; range: nothing above F-sharp 6",
        "F#6", (5, 5), FIFTH, "highest position, 5th", ("C#6:1",),
    ),
    Known(
        "Kayser op. 20 No. 29", STUDENTS + "kayser_op20_29.musicxml",
        "sixth position at the lowest, seventh without a reach", "print: fourth finger on A6",
        "A6:4", (6, 6), {"highest_position": (6, 7)}, "highest position",
    ),
    # ── unaccompanied Bach ──────────────────────────────────────────────────────────────────────
    Known(
        "Bach BWV 1001, Fuga", BACH + "bwv1001_mov2.mxl",
        "double stops and chords throughout, fourth position at the lowest",
        "count: chords 14 % of all beginnings; range: F6",
        "F6", (5, 7), {"highest_position": (4, 8), "chords": (0.09, 0.2)},
    ),
    Known(
        "Bach BWV 1002, Sarabande", BACH + "bwv1002_mov5.mxl",
        "chords nearly every third time", "count: chords 29 % of all beginnings",
        "C6", (5, 7), {"chords": (0.2, 0.4)}, "chords",
    ),
    Known(
        "Bach BWV 1004, Giga", BACH + "bwv1004_mov4.mxl",
        "one line, above first position", "count: hardly a double stop; range: D6",
        "D6", (4, 5), {"highest_position": (2, 5), "chords": (0, 0), "double_stops": (0, 0.01)},
    ),
    Known(
        "Bach BWV 1004, Ciaccona", BACH + "bwv1004_mov5.mxl",
        "the hardest of the six works, fifth position at the lowest",
        "count: chords 10 % of all beginnings; range: G6; common practice: a concert work",
        "G6", (6, 7), {"highest_position": (5, 9), "chords": (0.05, 0.2)},
    ),
    # ── quartets and concert works ──────────────────────────────────────────────────────────────
    Known(
        "Haydn op. 1 No. 1, 1st movement", "corpus:haydn/opus1no1/movement1",
        "above first position, hardly above third", "range: D6",
        "D6", (4, 5), {"highest_position": (2, 4)},
    ),
    Known(
        "Mozart K. 458, 1st movement", "corpus:mozart/k458/movement1",
        "fifth position at the lowest", "range: G6", "G6", (5, 7), {"highest_position": (5, 8)},
        "highest position",
    ),
    Known(
        "Beethoven op. 59 No. 1, 1st movement", "corpus:beethoven/opus59no1/movement1",
        "eighth position at the lowest", "range: C7", "C7", (6, 7), {"highest_position": (8, 12)},
        "highest position",
    ),
    Known(
        "Wieniawski, Concerto No. 2, Romance", CONCERT + "concerto-no-2-romance.musicxml",
        "ninth position", "print: second finger on A6; range: C7",
        "C7", (7, 7), {"highest_position": (9, 12)}, "highest position", ("A6:2", "Eb6:1"),
    ),
    Known(
        "Wieniawski op. 10 No. 5", CONCERT + "op-10-5-alla-saltarella.musicxml",
        "to the end of the fingerboard, one line", "range: B-flat 7",
        "Bb7:4", (7, 7), {"highest_position": (9, 15), "double_stops": (0, 0.01)},
        "highest position",
    ),
    Known(
        "Wieniawski op. 10 No. 8", CONCERT + "op-10-8-le-chant-du-bivouac.musicxml",
        "to the end of the fingerboard, three quarters of it double stops and chords",
        "range: G-sharp 7; count: double stops 36 %, chords 38 % of all beginnings",
        "G#7", (7, 7), {"highest_position": (9, 15), "chords": (0.25, 0.5)}, "highest position",
    ),
)  # fmt: skip


# ── checks ──────────────────────────────────────────────────────────────────────────────────────


def path_of(piece: Known) -> Path:
    if piece.file.startswith("corpus:"):
        return Path(corpus.getWork(piece.file.removeprefix("corpus:")))
    if not CHECK_DATA:
        pytest.skip("SCORETOOLS_CHECK_DATA names no folder of check data")
    (path,) = Path(CHECK_DATA).glob(piece.file)
    return path


@cache
def judged(path: Path) -> tuple[Part, Level]:
    analysis = scoretools.analyse(scoretools.read_part(path))
    return analysis.part, level(analysis, read_rubric("bands"))


def with_fingers(note: Note) -> set[str]:
    """A note's name, alone and with each of its printed fingers."""
    name = note.pitch.name
    return {name, *(f"{name}:{finger}" for finger in note.marks.fingers)}


def bars_of(part: Part, found: Level, name: str) -> set[str]:
    """The printed bars in which a feature peaks."""
    feature = next(feature for feature in found.features if feature.name == name)
    return {part.measures[index].number for index in feature.peak}


every_piece = pytest.mark.parametrize("piece", PIECES, ids=lambda piece: piece.title)


def test_there_are_pieces_of_every_kind() -> None:
    assert len({piece.title for piece in PIECES}) == len(PIECES) >= 20
    assert {band for piece in PIECES for band in piece.bands} == set(range(1, 8))
    assert all(piece.fact and piece.source for piece in PIECES)


# Source: each row's own, in `PIECES`.
@every_piece
def test_the_fact_stands_in_the_score(piece: Known) -> None:
    part, _ = judged(path_of(piece))
    notes = [
        note
        for event in part.events
        for note in event.notes
        if note.marks.harmonic is None and not note.marks.open_string
    ]
    top = max(note.pitch.midi for note in notes)
    assert piece.highest in set().union(*(with_fingers(n) for n in notes if n.pitch.midi == top))
    assert set(piece.printed) <= set().union(*map(with_fingers, notes))


# Source: each row's own, in `PIECES`.
@every_piece
def test_the_verdict_agrees_with_the_fact(piece: Known) -> None:
    part, found = judged(path_of(piece))
    values = {feature.name: feature.value for feature in found.features}
    outside = {
        name: values[name]
        for name, (least, most) in piece.figures.items()
        if not least <= values[name] <= most
    }
    assert outside == {}
    for name, bars in piece.peaks.items():
        assert bars_of(part, found, name) <= bars
    assert piece.bands[0] <= found.value <= piece.bands[1], found.reasons
    assert any(reason.startswith(piece.reason) for reason in found.reasons), found.reasons
