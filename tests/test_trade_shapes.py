"""From a score through the command to the label of the hand: every set-up of first position.

Two tables of the trade are checked cell by cell, on every string of both instruments: the set-ups
that teachers name on one string, and the set-up that each key gives on each string. A cell is
written as first-finger offset above the open string, a colon, and the gaps between neighbouring
fingers in semitones. Every cell becomes a small score without a single printed fingering: the open
string where it belongs to the key, the four notes that lie under the fingers, up and down. The
label is read off ``notes.csv``.

The fourth finger's note may also be taken on the next string, open or by a first finger lying
close to the nut: both are common practice, and the label of the string does not change by it.
"""

import subprocess
import sys
from collections import Counter
from itertools import pairwise
from pathlib import Path
from typing import NamedTuple

import pandas as pd
import pytest
from music21.interval import Interval
from music21.key import KeySignature
from music21.pitch import Pitch
from music21.scale import HarmonicMinorScale, MajorScale, MinorScale

import scoretools
from scoretools.player import Player, Profile
from tests.conftest import ReadPart, Report, read_notes, score_text

OPEN = {"C": "C3", "G": "G3", "D": "D4", "A": "A4", "E": "E5"}
VIOLA, VIOLIN = "CGDA", "GDAE"
ON_BOTH = [*(("viola", string) for string in VIOLA), *(("violin", string) for string in VIOLIN)]
LETTERS = {"1": "H", "2": "W", "3": "A"}

# Common practice, no published source: what each set-up teaches the hand, on the A string. Notes,
# then the cell, then sharps (flats negative) and mode of a key in which it occurs.
SET_UPS = [
    ("A B C# D E", "2:212", 2, "major"),
    ("A B C D E", "2:122", 0, "major"),
    ("A B C# D# E", "2:221", 4, "major"),
    ("A Bb C D E", "1:222", -1, "major"),
    ("A Bb C D Eb", "1:221", -2, "major"),
    ("A Bb C# D E", "1:312", -1, "minor"),
    ("A Bb C Db Eb", "1:212", -4, "major"),
]

# Common practice, no published source: columns are the strings C G D A E.
MAJOR_KEYS = {
    "Db": "1:221 1:221 1:212 1:212 1:122",
    "Ab": "1:222 1:221 1:221 1:212 1:212",
    "Eb": "2:122 1:222 1:221 1:221 1:212",
    "Bb": "2:122 2:122 1:222 1:221 1:221",
    "F": "2:212 2:122 2:122 1:222 1:221",
    "C": "2:212 2:212 2:122 2:122 1:222",
    "G": "2:221 2:212 2:212 2:122 2:122",
    "D": "2:221 2:221 2:212 2:212 2:122",
    "A": "2:222 2:221 2:221 2:212 2:212",
    "E": "3:122 2:222 2:221 2:221 2:212",
    "B": "3:122 3:122 2:222 2:221 2:221",
}
HARMONIC_MINOR_KEYS = {
    "g": "2:131 2:122 1:312 1:221 2:121",
    "d": "2:212 2:131 2:122 1:312 1:221",
    "a": "2:213 2:212 2:131 2:122 1:312",
    "e": "3:121 2:213 2:212 2:131 2:122",
    "b": "2:221 3:121 2:213 2:212 2:131",
}


class Cell(NamedTuple):
    """One cell of the key tables."""

    key: str
    string: str
    first_offset: int
    gaps: str

    @property
    def offsets(self) -> list[int]:
        places = [self.first_offset]
        for gap in self.gaps:
            places.append(places[-1] + int(gap))
        return places


CELLS = [
    Cell(key, string, int(cell[0]), cell[2:])
    for key, row in {**MAJOR_KEYS, **HARMONIC_MINOR_KEYS}.items()
    for string, cell in zip("CGDAE", row.split(), strict=True)
]
ON_INSTRUMENTS = [
    pytest.param(instrument, cell, id=f"{cell.key}-{instrument}-{cell.string}")
    for cell in CELLS
    for instrument, strings in (("viola", VIOLA), ("violin", VIOLIN))
    if cell.string in strings
]
ON_ONE_INSTRUMENT = [
    pytest.param("viola" if cell.string == "C" else "violin", cell, id=f"{cell.key}-{cell.string}")
    for cell in CELLS
]


# ── the tables, a second way ────────────────────────────────────────────────────────────────────


# Source: music21, major and harmonic minor scales; the letters under the fingers are the four
# above the open string's letter.
@pytest.mark.parametrize("cell", CELLS, ids=lambda cell: f"{cell.key}-{cell.string}")
def test_key_tables_with_music21(cell: Cell) -> None:
    kind = HarmonicMinorScale if cell.key.islower() else MajorScale
    tonic = cell.key[0] + cell.key[1:].replace("b", "-")
    names = {pitch.step: pitch for pitch in kind(tonic).pitches}
    open_string = Pitch(OPEN[cell.string])
    under_fingers = []
    for letters in (1, 2, 3, 4):
        plain = Pitch()
        plain.diatonicNoteNum = open_string.diatonicNoteNum + letters
        plain.accidental = names[plain.step].accidental
        under_fingers.append(plain)
    offsets = [Interval(open_string, pitch).semitones for pitch in under_fingers]
    assert offsets == cell.offsets


# Source: music21, the semitones between the named notes.
@pytest.mark.parametrize(("notes", "cell", "fifths", "mode"), SET_UPS)
def test_set_ups_with_music21(notes: str, cell: str, fifths: int, mode: str) -> None:
    pitches = [Pitch(name.replace("b", "-") + ("4" if name[0] in "AB" else "5"))
               for name in notes.split()]  # fmt: skip
    steps = [Interval(*pair).semitones for pair in pairwise(pitches)]
    assert f"{steps[0]}:{''.join(map(str, steps[1:]))}" == cell
    # The key given for a set-up holds its notes, but for the raised seventh of the minor key and
    # the open A under the flats of A-flat major.
    altered = KeySignature(fifths).accidentalByStep
    outside = [pitch.name for pitch in pitches if pitch.accidental != altered(pitch.step)]
    assert outside == {"minor": ["C#"]}.get(mode, ["A"] if fifths == -4 else [])


def test_the_tables_are_whole() -> None:
    assert len(CELLS) == 16 * 5
    assert len(ON_INSTRUMENTS) == 16 * 8
    assert len({cell.key for cell in CELLS}) == 16


def test_an_extra_sharp_moves_every_shape_one_string_higher() -> None:
    for keys in (MAJOR_KEYS, HARMONIC_MINOR_KEYS):
        for fewer, more in pairwise(keys.values()):
            assert more.split()[1:] == fewer.split()[:-1]


def test_how_often_each_shape_comes_on_the_violin() -> None:
    # Source: counted by hand over the eleven major keys.
    counted = Counter(
        cell.gaps for cell in CELLS if cell.key in MAJOR_KEYS and cell.string in VIOLIN
    )
    assert counted == {"221": 15, "212": 13, "122": 10, "222": 6}


# Source: music21; four neighbouring notes of a scale, through all its steps.
@pytest.mark.parametrize(
    ("scale", "shapes"),
    [
        (MajorScale, {"221", "212", "122", "222"}),
        (MinorScale, {"221", "212", "122", "222"}),
        (HarmonicMinorScale, {"212", "122", "221", "213", "131", "312", "121"}),
    ],
)
def test_shapes_a_scale_can_give(scale: type, shapes: set[str]) -> None:
    pitches = scale("d").getPitches("d4", "d6")
    steps = "".join(str(Interval(*pair).semitones) for pair in pairwise(pitches))
    assert {steps[first : first + 3] for first in range(7)} == shapes
    table = HARMONIC_MINOR_KEYS if scale is HarmonicMinorScale else MAJOR_KEYS
    assert {cell.gaps for cell in CELLS if cell.key in table} == shapes


# ── through the command ─────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(("instrument", "cell"), ON_INSTRUMENTS)
def test_every_key_on_every_string(instrument: str, cell: Cell, reported_notes: Report) -> None:
    fifths, mode = _signature(cell.key)
    order = (0, 1, 2, 3, 4, 3, 2, 1, 0) if _open_string_fits(cell) else (1, 2, 3, 4, 3, 2, 1)
    words = _words(cell, order)
    notes = reported_notes(instrument, words, fifths=fifths, mode=mode)
    _check_labels(notes, instrument, cell, order)


@pytest.mark.parametrize(("instrument", "string"), ON_BOTH)
@pytest.mark.parametrize(("notes", "cell", "fifths", "mode"), SET_UPS)
def test_every_set_up_on_every_string(
    notes: str,
    cell: str,
    fifths: int,
    mode: str,
    instrument: str,
    string: str,
    reported_notes: Report,
) -> None:
    on_string = Cell(notes, string, int(cell[0]), cell[2:])
    moved = fifths + "CGDAE".index(string) - "CGDAE".index("A")
    order = (0, 1, 2, 3, 4, 3, 2, 1)
    found = reported_notes(instrument, _words(on_string, order), fifths=moved, mode=mode)
    _check_labels(found, instrument, on_string, order)


# The same for the player who stays in first position, and for one who could go anywhere but is
# asked not to.
@pytest.mark.parametrize(("instrument", "cell"), ON_ONE_INSTRUMENT)
@pytest.mark.parametrize(
    "player",
    [
        Player(profile=Profile.FIRST_POSITION_STUDENT),
        Player(profile=Profile.PROFESSIONAL, highest_position=1),
    ],
    ids=lambda player: player.profile,
)
def test_every_key_for_other_players(
    player: Player, instrument: str, cell: Cell, small_part: ReadPart
) -> None:
    fifths, mode = _signature(cell.key)
    order = (1, 2, 3, 4, 3, 2, 1)
    part = small_part(instrument, _words(cell, order), fifths=fifths, mode=mode)
    _check_labels(scoretools.notes_table(scoretools.analyse(part, player)), instrument, cell, order)


# Speed, direction and order of the notes change nothing. Skipping fingers is left out where the
# first and second finger lie an augmented second apart: there the hand may as well lie in half
# position with 1 and 3 on those two notes, and players differ.
@pytest.mark.parametrize(("instrument", "cell"), ON_ONE_INSTRUMENT)
@pytest.mark.parametrize(
    ("order", "quarters"),
    [
        ((1, 2, 3, 4, 3, 2, 1, 2, 3, 4, 3, 2), "1/2"),
        ((1, 2, 3, 4, 3, 2, 1, 2, 3, 4, 3, 2), "1/4"),
        ((4, 3, 2, 1, 2, 3, 4), "1"),
        ((1, 2, 3, 4, 3, 2, 1), "4"),
        ((1, 3, 2, 4, 3, 1, 4, 2, 1), "1"),
    ],
    ids=["eighths", "sixteenths", "from the fourth finger", "long notes", "skipping"],
)
def test_every_key_in_other_rhythms(
    order: tuple[int, ...], quarters: str, instrument: str, cell: Cell, small_part: ReadPart
) -> None:
    if order[1] == 3 and cell.gaps[0] == "3":
        order = (1, 2, 3, 4, 2, 3, 1)
    fifths, mode = _signature(cell.key)
    words = " ".join(f"{word}*{quarters}" for word in _words(cell, order).split())
    part = small_part(instrument, words, fifths=fifths, mode=mode)
    _check_labels(scoretools.notes_table(scoretools.analyse(part)), instrument, cell, order)


@pytest.mark.parametrize(("instrument", "cell"), [ON_INSTRUMENTS[0], ON_INSTRUMENTS[-1]])
def test_the_installed_command_gives_the_same(instrument: str, cell: Cell, tmp_path: Path) -> None:
    fifths, mode = _signature(cell.key)
    order = (1, 2, 3, 4, 3, 2, 1)
    score, out = tmp_path / "cell.musicxml", tmp_path / "out"
    text = score_text(instrument, _words(cell, order), fifths=fifths, mode=mode)
    score.write_text(text, encoding="utf-8")
    subprocess.run(
        [sys.executable, "-m", "scoretools.cli", "report", str(score), "--out", str(out)],
        check=True,
        capture_output=True,
    )
    _check_labels(read_notes(out / "notes.csv"), instrument, cell, order)


def test_a_wrong_label_would_be_seen(reported_notes: Report) -> None:
    cell = Cell("D", "A", 2, "212")
    order = (1, 2, 3, 4, 3, 2, 1)
    notes = reported_notes("violin", _words(cell, order), fifths=2)
    _check_labels(notes, "violin", cell, order)
    for wrong in (cell._replace(first_offset=1), cell._replace(gaps="122")):
        with pytest.raises(AssertionError):
            _check_labels(notes, "violin", wrong, order)


# ── helpers ─────────────────────────────────────────────────────────────────────────────────────


def _signature(key: str) -> tuple[int, str]:
    if key.islower():
        return list(HARMONIC_MINOR_KEYS).index(key) - 2, "minor"
    return list(MAJOR_KEYS).index(key) - 5, "major"


def _open_string_fits(cell: Cell) -> bool:
    fifths, _ = _signature(cell.key)
    natural = KeySignature(fifths).accidentalByStep(cell.string) is None
    raised = cell.key.islower() and HarmonicMinorScale(cell.key).pitches[6].step == cell.string
    return natural and not raised


def _words(cell: Cell, order: tuple[int, ...]) -> str:
    """Spell the notes under the fingers; 0 is the open string."""
    open_string = Pitch(OPEN[cell.string])
    places = [0, *cell.offsets]
    names = []
    for finger in range(5):
        plain = Pitch()
        plain.diatonicNoteNum = open_string.diatonicNoteNum + finger
        alter = open_string.midi + places[finger] - plain.midi
        names.append(f"{plain.step}{'#' * alter}{'b' * -alter}{plain.octave}")
    return " ".join(names[finger] for finger in order)


def _check_labels(notes: pd.DataFrame, instrument: str, cell: Cell, order: tuple[int, ...]) -> None:
    gaps = "-".join(LETTERS[gap] for gap in cell.gaps)
    assert len(notes) == len(order)
    strings = VIOLA if instrument == "viola" else VIOLIN
    for row, finger in zip(notes.itertuples(), order, strict=True):
        if finger == 4 and row.string != cell.string:
            offset = cell.offsets[3] - 7
            assert row.string == strings[strings.index(cell.string) + 1]
            assert (offset, row.finger, row.offset) in ((0, 0, 0), (1, 1, 1))
            continue
        assert (row.string, row.finger) == (cell.string, finger), row
        assert row.offset == [0, *cell.offsets][finger]
        assert (row.first_offset, row.gaps) == (cell.first_offset, gaps), row
        if finger:
            assert row.position == 1.0, row
            assert row.known.startswith("1 2 3")
