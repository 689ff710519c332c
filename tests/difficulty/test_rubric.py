"""Levels and their reasons, the shipped rubrics, and rubrics that users bring."""

import os
import re
from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest

import scoretools
from scoretools.difficulty import FEATURES, SHIPPED, level, read_rubric
from scoretools.difficulty.rubric import figure_in_words
from scoretools.errors import ReadError
from scoretools.model import Analysis, Part
from scoretools.player import Player, Profile

Analyse = Callable[..., Analysis]
ReadPart = Callable[..., Part]

ROOT = Path(__file__).resolve().parents[2]
RUBRICS = ROOT / "scoretools" / "difficulty" / "rubrics"
SCALE = "D4 E4 F#4 G4 A4 B4 C#5 D5 D5 C#5 B4 A4 G4 F#4 E4 D4"
BANDS = """\
kind = "bands"

[[bands]]
label = "low"
[bands.limits]
highest_position = 1
shifts_per_minute = 0

[[bands]]
label = "high"
"""
INDEX = """\
kind = "index"
name = "mine"
[terms]
highest_position = { above = 1, half = 2, points = 10 }
shifts_per_minute = { half = 15, points = 20 }
"""


def write(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "mine.toml"
    path.write_text(text, encoding="utf-8")
    return path


# ── what a level carries ────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize("name", SHIPPED)
def test_a_level_carries_what_it_rests_on(small_analysis: Analyse, name: str) -> None:
    player = Player(profile=Profile.PROFESSIONAL)
    analysis = small_analysis("violin", SCALE, player=player, fifths=2)
    found = level(analysis, read_rubric(name), divisi="top")
    assert found.rubric == name
    assert found.profile == "professional"
    assert found.tempo_assumed
    assert found.divisi == "top"
    assert "of the left hand only" in found.about
    assert tuple(feature.name for feature in found.features) == FEATURES
    assert found.reasons
    loads = [analysis.loads[bar].load for bar in found.hardest_bars]
    assert 0 < len(loads) <= 5
    assert loads == sorted(loads, reverse=True)
    assert loads[0] == max(bar.load for bar in analysis.loads)


def test_a_printed_tempo_is_not_called_assumed(small_analysis: Analyse) -> None:
    analysis = small_analysis("violin", SCALE, fifths=2, tempo=80)
    assert not level(analysis, read_rubric("bands")).tempo_assumed


@pytest.mark.parametrize("name", SHIPPED)
def test_a_part_without_a_note_has_the_lowest_level(small_part: ReadPart, name: str) -> None:
    part = replace(small_part("violin", SCALE), events=())
    found = level(scoretools.analyse(part), read_rubric(name))
    assert found.value == (1 if name == "bands" else 0)
    assert found.hardest_bars == ()
    assert not found.tempo_assumed


# ── bands ───────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    ("words", "fifths", "label"),
    [
        (SCALE, 2, "first steps"),
        ("G3 A3 B3 C4 D4 E4 F#4 G4", 1, "first steps"),
        ("F4 G4 A4 Bb4 C5 Bb4 A4 G4", -1, "easy"),
        ("Ab4 Bb4 C5 Db5 Eb5 Db5 C5 Bb4", -4, "fairly easy"),
        ("D5:1@2 E5:2@2 F#5:3@2 G5:4@2 A5:1@1 B5:2@1 C#6:3@1 D6:4@1", 2, "middling"),
        ("F#5:1@2 G5:2@2 A5:3@2 B5:4@2 C#6:1@1 D6:2@1 E6:3@1 F#6:4@1", 2, "fairly hard"),
        ("A6:4@1 B6:4@1 A6:4@1 G6:3@1 B6:4@1 C#7:4@1 D7:4@1 E7:4@1", 2, "very hard"),
    ],
    ids=["D major", "G major", "F major", "A-flat major", "third", "fifth", "near the twelfth"],
)
def test_scales_belong_where_syllabuses_have_them(
    small_analysis: Analyse, words: str, fifths: int, label: str
) -> None:
    # Source: criteria common to public syllabuses, as named in rubrics/bands.toml.
    analysis = small_analysis("violin", words, fifths=fifths, tempo=72)
    assert level(analysis, read_rubric("bands")).label == label


def test_a_viola_begins_a_fifth_lower(small_analysis: Analyse) -> None:
    # Source: criteria common to public syllabuses: the viola's first keys are G, D and C major.
    bands = read_rubric("bands")
    c_major = "C3 D3 E3 F3 G3 A3 B3 C4"
    assert level(small_analysis("viola", c_major, tempo=72), bands).label == "first steps"
    e_flat = "Eb3 F3 G3 Ab3 Bb3 C4 D4 Eb4"
    assert level(small_analysis("viola", e_flat, fifths=-3, tempo=72), bands).value > 1


def test_reasons_say_what_lifted_the_part_and_where(
    small_analysis: Analyse, tmp_path: Path
) -> None:
    words = "A4 B4:1@2 C5:2@2 D5:3@2 D5:1@2 E5:2@2 F5:3@2 E5:2@2"
    found = level(small_analysis("violin", words, tempo=60), read_rubric(write(tmp_path, BANDS)))
    assert found.rubric == "mine"
    assert (found.value, found.label) == (2, "high")
    assert found.reasons == (
        "highest position, 3rd position (bar 2); “low” allows 1st position",
        "shifts, 7.5 per minute of playing (bar 2); “low” allows 0 per minute of playing",
    )


def test_the_lowest_band_says_so(small_analysis: Analyse, tmp_path: Path) -> None:
    found = level(small_analysis("violin", SCALE, fifths=2), read_rubric(write(tmp_path, BANDS)))
    assert (found.value, found.label) == (1, "low")
    assert found.reasons == ("all of it keeps within the limits of “low”, the lowest band",)


def test_every_criterion_of_the_bands_names_its_source() -> None:
    text = (RUBRICS / "bands.toml").read_text("utf-8")
    limits = re.findall(r"^[a-z_]+ = [\d.]+.*$", text, re.MULTILINE)
    assert len(limits) == sum(len(band.limits) for band in read_rubric("bands").bands)
    for line in limits:
        assert re.search(r"# (syllabuses|common practice)", line), line


def test_a_higher_band_never_allows_less() -> None:
    for below, above in pairwise(read_rubric("bands").bands):
        for feature, limit in above.limits.items():
            assert limit >= below.limits[feature]


# ── index ───────────────────────────────────────────────────────────────────────────────────────


def test_an_index_adds_points(small_analysis: Analyse, tmp_path: Path) -> None:
    # Counted by hand: third position is 2 above 1, half of 10; 15 shifts a minute, half of 20.
    analysis = small_analysis("violin", "B4:1@2 D5:1@2 E5:2@2 F5:3@2", tempo=60)
    found = level(analysis, read_rubric(write(tmp_path, INDEX)))
    assert found.rubric == "mine"
    assert found.value == pytest.approx(15)
    assert found.label == "15 of 30 points"
    assert found.reasons == (
        "shifts, 15 per minute of playing (bar 1): 10.0 points",
        "highest position, 3rd position (bar 1): 5.0 points",
    )


def test_the_shipped_index_has_a_hundred_points() -> None:
    assert sum(term.points for term in read_rubric("index").terms) == pytest.approx(100)


# ── words ───────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    ("name", "value", "words"),
    [
        ("highest_position", 3.0, "3rd position"),
        ("highest_position", 0.5, "half position"),
        ("highest_position", 0.0, "open strings only"),
        ("fourth_finger", 0.123, "12 % of stopped notes"),
        ("fourth_finger", 0.0, "0 % of stopped notes"),
        ("tenths", 0.004, "0.4 % of notes and chords"),
        ("longest_shift", 1.0, "1 semitone"),
        ("shapes", 4.0, "4 shapes"),
        ("shifts_per_minute", 12.345, "12.3 per minute of playing"),
    ],
)
def test_figures_in_words(name: str, value: float, words: str) -> None:
    assert figure_in_words(name, value) == words


# ── rubrics of the user's own ───────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    ("text", "line", "says"),
    [
        (BANDS.replace("highest_position = 1", "highest_positon = 1"), 6, "no such feature"),
        (BANDS.replace("highest_position = 1", 'highest_position = "1st"'), 6, "not a number"),
        (BANDS.replace("highest_position = 1", "highest_position = true"), 6, "not a number"),
        (BANDS.replace("highest_position = 1", "highest_position = -1"), 6, "0 or more"),
        (BANDS.replace("highest_position = 1", "highest_position = nan"), 6, "0 or more"),
        (BANDS.replace("highest_position = 1", f"highest_position = 1{'0' * 400}"), 6, "0 or more"),
        (BANDS.replace('label = "low"', "label = 1"), 4, "quotation marks"),
        (BANDS.replace('label = "low"\n', ""), 3, "label: missing"),
        (BANDS.replace('label = "low"', 'name = "low"'), 4, "no such field"),
        (BANDS.replace('"high"', '"low"'), 10, "stands twice"),
        (BANDS.replace('"bands"', '"band"', 1), 1, "no kind of rubric"),
        (BANDS.replace('kind = "bands"\n', ""), 1, "no kind of rubric"),
        (BANDS.replace('kind = "bands"', 'kind = "bands"\ncolour = 1'), 2, "no such field"),
        (BANDS.replace('[[bands]]\nlabel = "high"\n', ""), 3, "a last band without limits"),
        (BANDS + "limits.highest_position = 3\n", 9, "a last band without limits"),
        (BANDS + '[[bands]]\nlabel = "top"\n', 9, "“high” has none"),
        (BANDS + 'limits.tenths = 3\n[[bands]]\nlabel = "top"\n', 11, "limit it there too"),
        (
            BANDS + 'limits.highest_position = 0\n[[bands]]\nlabel = "top"\n',
            11,
            "limits may not fall",
        ),
        ('kind = "bands"\n', 1, "bands: missing"),
        ('kind = "bands"\nbands = 3\n', 2, "not a list"),
        ('kind = "bands"\nbands = []\n', 1, "a last band without limits"),
        ('kind = "index"\nname = 3\n[terms]\n', 2, "not a text"),
        ('kind = "index"\n[terms]\n', 2, "no feature has points"),
        ('kind = "index"\nterms = 3\n', 2, "not a table"),
        (INDEX.replace("half = 15, ", ""), 5, "half is missing"),
        (INDEX.replace("half = 15", "half = 0"), 5, "more than 0"),
        (INDEX.replace("half = 15", "halve = 15, half = 15"), 5, "no field halve"),
        (INDEX.replace("{ half = 15, points = 20 }", "20"), 5, "will not do"),
        (INDEX.replace("shifts_per_minute", "shifts"), 5, "no such feature"),
    ],
)
def test_a_bad_rubric_names_its_line(tmp_path: Path, text: str, line: int, says: str) -> None:
    path = write(tmp_path, text)
    with pytest.raises(ReadError) as told:
        read_rubric(path)
    sentence = str(told.value)
    assert sentence.startswith(f"{path}, line {line}: ")
    assert says in sentence
    assert "\n" not in sentence


def test_what_is_no_toml_names_its_line(tmp_path: Path) -> None:
    path = write(tmp_path, 'kind = "bands"\nlabel = \n')
    with pytest.raises(ReadError, match=r"not a TOML file.*line 2"):
        read_rubric(path)


def test_a_missing_or_unreadable_rubric_is_told_in_one_sentence(tmp_path: Path) -> None:
    with pytest.raises(ReadError, match=r"cannot be read.*take one of bands, index"):
        read_rubric(tmp_path / "none.toml")
    binary = tmp_path / "binary.toml"
    binary.write_bytes(b"\xff\xfe\x00")
    with pytest.raises(ReadError, match="not plain text"):
        read_rubric(binary)
    with pytest.raises(ReadError, match="cannot be read"):
        read_rubric(tmp_path)


@pytest.mark.parametrize("name", SHIPPED)
def test_a_shipped_rubric_reads_the_same_from_a_path(name: str) -> None:
    assert read_rubric(RUBRICS / f"{name}.toml") == read_rubric(name)


# ── pieces whose demands are known ──────────────────────────────────────────────────────────────


def studies(pattern: str) -> list[Path]:
    folder = os.environ.get("SCORETOOLS_CHECK_DATA")
    if not folder:
        pytest.skip("SCORETOOLS_CHECK_DATA is not set: there are no studies to check against")
    return sorted(Path(folder).glob(pattern))


def band_of(path: Path) -> float:
    return level(scoretools.analyse(scoretools.read_part(path)), read_rubric("bands")).value


def test_studies_for_first_position_never_leave_its_bands() -> None:
    # Source: Wohlfahrt op. 45, whose first book (Nos. 1 to 30) stays in first position.
    first_book = [
        path
        for path in studies("fingered/students/wohlfahrt_op45_*.musicxml")
        if int(path.stem[-2:]) <= 30
    ]
    assert len(first_book) == 15
    found = {path.stem: band_of(path) for path in first_book}
    assert {stem: band for stem, band in found.items() if band > 3} == {}


def test_studies_for_higher_positions_lie_above_them() -> None:
    # Source: Wohlfahrt op. 45, whose second book goes to third position (printed fingers; No. 45
    # has none that leaves first position).
    second_book = [
        path
        for path in studies("fingered/students/wohlfahrt_op45_*.musicxml")
        if int(path.stem[-2:]) > 30 and not path.stem.endswith("45_45")
    ]
    assert all(4 <= band_of(path) <= 5 for path in second_book)


def test_concert_studies_are_at_the_top() -> None:
    # Source: Wieniawski op. 10 Nos. 2, 3 and 4, whose passages climb beyond the eighth position.
    paths = studies("fingered/polish/*op-10-[234]-*.musicxml")
    assert len(paths) == 3
    assert [band_of(path) for path in paths] == [7, 7, 7]
